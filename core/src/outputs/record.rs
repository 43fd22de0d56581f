//! The record form of `Outputs`: fixed size, for byte comparison and for links.
//!
//! Little endian, in this order: two bytes a relay (bit 7 of the first: on; the rest of it: number of the reason; the second:
//! what the reason is about, 0 when it is about nothing), four bytes a signal (thousandths, reason, about), the target in
//! hundredths of a degree (the lowest 16-bit value: none), lead and first-out (255: none). The numbers of the reasons never
//! change and are never used again.

use super::{Outputs, Signal, Stated};
use crate::{
    ids::{BoilerId, SafetyId, SensorId, ZoneId},
    limits::{ANALOGS, RELAYS},
    reason::Reason,
    units::{Permille, Temp},
};

impl Reason {
    /// Number of the reason, and the index of what it is about.
    pub const fn code(self) -> (u8, u8) {
        match self {
            Reason::Unused => (0, 0),
            Reason::NoCall => (1, 0),
            Reason::WarmWeather => (2, 0),
            Reason::Call(ZoneId(about)) => (3, about),
            Reason::TankCall => (4, 0),
            Reason::ConstantCirculation => (5, 0),
            Reason::Overrun => (6, 0),
            Reason::HeatPurge => (7, 0),
            Reason::BoilerOverrun(BoilerId(about)) => (8, about),
            Reason::BoilerCall(BoilerId(about)) => (9, about),
            Reason::Exercise => (10, 0),
            Reason::Frost => (11, 0),
            Reason::MinimumOn => (12, 0),
            Reason::MinimumOff => (13, 0),
            Reason::Stagger => (14, 0),
            Reason::EndSwitch(ZoneId(about)) => (15, about),
            Reason::FlowProof => (16, 0),
            Reason::DamperProof => (17, 0),
            Reason::FlameProof => (18, 0),
            Reason::PostPurge => (19, 0),
            Reason::Shed => (20, 0),
            Reason::Lead => (21, 0),
            Reason::StagedUp => (22, 0),
            Reason::NotNeeded => (23, 0),
            Reason::Satisfied => (25, 0),
            Reason::LeadChange => (26, 0),
            Reason::Retry => (27, 0),
            Reason::FlowFailed => (28, 0),
            Reason::FlameFailed => (29, 0),
            Reason::BoilerFault => (30, 0),
            Reason::SwitchedOff => (31, 0),
            Reason::Safety(SafetyId(about)) => (32, about),
            Reason::DamperFailed => (33, 0),
            Reason::OutletHigh => (34, 0),
            Reason::NoZoneFlow => (35, 0),
            Reason::Hand => (36, 0),
            Reason::Law => (37, 0),
            Reason::Fallback(SensorId(about)) => (38, about),
            Reason::Healthy => (39, 0),
            Reason::Alarm => (40, 0),
            Reason::StuckEndSwitch(ZoneId(about)) => (41, about),
            Reason::StuckFlow(BoilerId(about)) => (42, about),
            Reason::StuckDamper => (43, 0),
            Reason::LowLoad => (44, 0),
            Reason::HotCuts(BoilerId(about)) => (45, about),
            Reason::FewCalls => (46, 0),
            Reason::Frozen(SensorId(about)) => (47, about),
            Reason::NotItsTurn => (48, 0),
            Reason::Lull => (49, 0),
            Reason::FlowMissed(BoilerId(about)) => (50, about),
            Reason::FlameMissed(BoilerId(about)) => (51, about),
        }
    }

    /// The reason with this number; nothing for a number that was never given, or one that names what it is not about.
    pub const fn from_code(code: u8, about: u8) -> Option<Self> {
        Some(match (code, about) {
            (0, 0) => Reason::Unused,
            (1, 0) => Reason::NoCall,
            (2, 0) => Reason::WarmWeather,
            (3, about) => Reason::Call(ZoneId(about)),
            (4, 0) => Reason::TankCall,
            (5, 0) => Reason::ConstantCirculation,
            (6, 0) => Reason::Overrun,
            (7, 0) => Reason::HeatPurge,
            (8, about) => Reason::BoilerOverrun(BoilerId(about)),
            (9, about) => Reason::BoilerCall(BoilerId(about)),
            (10, 0) => Reason::Exercise,
            (11, 0) => Reason::Frost,
            (12, 0) => Reason::MinimumOn,
            (13, 0) => Reason::MinimumOff,
            (14, 0) => Reason::Stagger,
            (15, about) => Reason::EndSwitch(ZoneId(about)),
            (16, 0) => Reason::FlowProof,
            (17, 0) => Reason::DamperProof,
            (18, 0) => Reason::FlameProof,
            (19, 0) => Reason::PostPurge,
            (20, 0) => Reason::Shed,
            (21, 0) => Reason::Lead,
            (22, 0) => Reason::StagedUp,
            (23, 0) => Reason::NotNeeded,
            (25, 0) => Reason::Satisfied,
            (26, 0) => Reason::LeadChange,
            (27, 0) => Reason::Retry,
            (28, 0) => Reason::FlowFailed,
            (29, 0) => Reason::FlameFailed,
            (30, 0) => Reason::BoilerFault,
            (31, 0) => Reason::SwitchedOff,
            (32, about) => Reason::Safety(SafetyId(about)),
            (33, 0) => Reason::DamperFailed,
            (34, 0) => Reason::OutletHigh,
            (35, 0) => Reason::NoZoneFlow,
            (36, 0) => Reason::Hand,
            (37, 0) => Reason::Law,
            (38, about) => Reason::Fallback(SensorId(about)),
            (39, 0) => Reason::Healthy,
            (40, 0) => Reason::Alarm,
            (41, about) => Reason::StuckEndSwitch(ZoneId(about)),
            (42, about) => Reason::StuckFlow(BoilerId(about)),
            (43, 0) => Reason::StuckDamper,
            (44, 0) => Reason::LowLoad,
            (45, about) => Reason::HotCuts(BoilerId(about)),
            (46, 0) => Reason::FewCalls,
            (47, about) => Reason::Frozen(SensorId(about)),
            (48, 0) => Reason::NotItsTurn,
            (49, 0) => Reason::Lull,
            (50, about) => Reason::FlowMissed(BoilerId(about)),
            (51, about) => Reason::FlameMissed(BoilerId(about)),
            _ => return None,
        })
    }
}

const NO_TARGET: i16 = i16::MIN;
const NONE: u8 = 255;
const ON: u8 = 0x80;

impl Outputs {
    /// Bytes of the record form.
    pub const RECORD_BYTES: usize = 2 * RELAYS + 4 * ANALOGS + 4;

    /// The record form.
    pub fn encode(&self) -> [u8; Self::RECORD_BYTES] {
        let relays = self.relays.iter().flat_map(|r| {
            let (code, about) = r.why.code();
            [code | if r.on { ON } else { 0 }, about]
        });
        let analogs = self.analogs.iter().flat_map(|a| {
            let ([low, high], (code, about)) = (a.at.get().to_le_bytes(), a.why.code());
            [low, high, code, about]
        });
        let target = self.target.map_or(NO_TARGET, |t| t.centi_c().max(NO_TARGET.saturating_add(1))).to_le_bytes();
        let tail = [self.lead.map_or(NONE, |b| b.0), self.first_out.map_or(NONE, |s| s.0)];
        let mut out = [0; Self::RECORD_BYTES];
        for (slot, byte) in out.iter_mut().zip(relays.chain(analogs).chain(target).chain(tail)) {
            *slot = byte;
        }
        out
    }

    /// Reads the record form back; nothing when a reason is not known.
    pub fn decode(bytes: &[u8; Self::RECORD_BYTES]) -> Option<Self> {
        let mut it = bytes.iter().copied();
        let mut out = Self::default();
        for slot in &mut out.relays {
            let (code, about) = (it.next()?, it.next()?);
            *slot = Stated { on: code & ON != 0, why: Reason::from_code(code & !ON, about)? };
        }
        for slot in &mut out.analogs {
            let at = u16::from_le_bytes([it.next()?, it.next()?]);
            *slot = Signal { at: Permille::new(at), why: Reason::from_code(it.next()?, it.next()?)? };
        }
        let target = i16::from_le_bytes([it.next()?, it.next()?]);
        out.target = (target != NO_TARGET).then_some(Temp::from_centi_c(target));
        out.lead = Some(it.next()?).filter(|b| *b != NONE).map(BoilerId);
        out.first_out = Some(it.next()?).filter(|s| *s != NONE).map(SafetyId);
        Some(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reason_has_a_number_of_its_own_and_comes_back() {
        let mut known = 0;
        for code in 0..=127u8 {
            let Some(reason) = Reason::from_code(code, 3).or(Reason::from_code(code, 0)) else { continue };
            known += 1;
            assert_eq!(reason.code().0, code);
            assert_eq!(Reason::from_code(reason.code().0, reason.code().1), Some(reason));
        }
        assert_eq!(known, 51);
        assert_eq!(Reason::from_code(24, 0), None, "given once to what was never stated, and not again");
        assert_eq!(Reason::from_code(127, 0), None);
    }

    #[test]
    fn a_record_comes_back_as_it_was() {
        let mut o = Outputs::default();
        o.relays[3] = Stated { on: true, why: Reason::Call(ZoneId(7)) };
        o.relays[39] = Stated { on: false, why: Reason::Safety(SafetyId(31)) };
        o.analogs[7] = Signal { at: Permille::new(733), why: Reason::Fallback(SensorId(2)) };
        o.target = Some(Temp::from_centi_c(-5));
        o.lead = Some(BoilerId(2));
        assert_eq!(Outputs::decode(&o.encode()), Some(o));
        assert_eq!(Outputs::decode(&Outputs::default().encode()), Some(Outputs::default()));
        let mut bytes = o.encode();
        bytes[0] = 0x7f;
        assert_eq!(Outputs::decode(&bytes), None);
    }

    /// The coldest target that there is looks like none in a record: it is written as the next one.
    #[test]
    fn the_coldest_target_is_written_as_the_next_one() {
        let back = |centi_c: i16| {
            let o = Outputs { target: Some(Temp::from_centi_c(centi_c)), ..Outputs::default() };
            Outputs::decode(&o.encode()).unwrap().target.map(Temp::centi_c)
        };
        assert_eq!(
            [i16::MIN, i16::MIN + 1, -1, i16::MAX].map(back),
            [i16::MIN + 1, i16::MIN + 1, -1, i16::MAX].map(Some)
        );
    }
}
