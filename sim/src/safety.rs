//! Safety devices as switches: what the model opens, and how they come back.
//!
//! An automatic one closes again once its cause is gone; for temperatures that is below its closing temperature. A hand-reset
//! one stays open until it is reset while its cause is gone. What opens by an event (a door switch) is opened by an
//! injected fault. Flow and damper switches are made while there is flow or an open damper; hand reset applies to
//! temperatures only, since those two stand open at rest. Common practice.

use crate::plant::{Safety, Trip};
use heatwright_core::{SafetyId, config::Reset, limits::BOILERS};

/// What the switches look at in one step.
pub(crate) trait Look {
    fn boiler_c(&self, boiler: usize) -> f64;
    fn boiler_flow(&self, boiler: usize) -> bool;
    fn damper_open(&self) -> bool;
    fn zone_supply_c(&self, zone: usize) -> f64;
    fn tank_c(&self) -> f64;
}

/// True when the switch is made after this step.
#[inline]
pub(crate) fn made(s: &Safety, was: bool, reset: bool, look: &impl Look) -> bool {
    let by_temperature = |now_c: f64, open_c: f64, close_c: f64| {
        if now_c > open_c { false } else { was || (now_c < close_c && (s.reset == Reset::Automatic || reset)) }
    };
    match s.trip {
        Trip::Event => true,
        Trip::BoilerAbove { boiler, open_c, close_c } => by_temperature(look.boiler_c(boiler.index()), open_c, close_c),
        Trip::BoilerFlow(boiler) => look.boiler_flow(boiler.index()),
        Trip::DamperClosed => look.damper_open(),
        Trip::ZoneSupplyAbove { zone, open_c, close_c } => {
            by_temperature(look.zone_supply_c(zone.index()), open_c, close_c)
        }
        Trip::TankAbove { open_c, close_c } => by_temperature(look.tank_c(), open_c, close_c),
    }
}

/// The switches of a plant, sorted by what opens them; one bit a `SafetyId`.
#[derive(Clone, Debug)]
pub(crate) struct Switches {
    flow: [u64; BOILERS],
    damper: u64,
    /// Limits that open on temperature: their bit, where they open in degrees Celsius, and the safety.
    by_temperature: Vec<(u64, f64, Safety)>,
}

impl Switches {
    pub(crate) fn new(safeties: &[Safety]) -> Self {
        let mut all = Self { flow: [0; BOILERS], damper: 0, by_temperature: Vec::new() };
        for (i, s) in safeties.iter().enumerate() {
            let bit = SafetyId(i as u8).bit();
            match s.trip {
                Trip::Event => {}
                Trip::BoilerFlow(b) => all.flow[b.index() % BOILERS] |= bit,
                Trip::DamperClosed => all.damper |= bit,
                Trip::BoilerAbove { open_c, .. }
                | Trip::ZoneSupplyAbove { open_c, .. }
                | Trip::TankAbove { open_c, .. } => {
                    all.by_temperature.push((bit, open_c, *s));
                }
            }
        }
        all
    }

    /// True while none stands open that opens on temperature.
    pub(crate) fn all_made(&self, made: u64) -> bool {
        self.by_temperature.iter().all(|(bit, _, _)| made & bit != 0)
    }

    /// Where each of those that open on temperature opens, in degrees Celsius, and on what.
    pub(crate) fn by_temperature(&self) -> impl Iterator<Item = (f64, Trip)> {
        self.by_temperature.iter().map(|(_, open_c, s)| (*open_c, s.trip))
    }

    /// The switches that are made after this step; `was` before it, `reset` whose hand reset is pressed.
    pub(crate) fn made(&self, was: u64, reset: u64, look: &impl Look) -> u64 {
        let mut made = u64::MAX;
        for (b, switches) in self.flow.iter().enumerate() {
            if *switches != 0 && !look.boiler_flow(b) {
                made &= !switches;
            }
        }
        if self.damper != 0 && !look.damper_open() {
            made &= !self.damper;
        }
        for (bit, open_c, s) in &self.by_temperature {
            let now_c = match s.trip {
                Trip::BoilerAbove { boiler, .. } => look.boiler_c(boiler.index()),
                Trip::ZoneSupplyAbove { zone, .. } => look.zone_supply_c(zone.index()),
                Trip::TankAbove { .. } => look.tank_c(),
                Trip::Event | Trip::BoilerFlow(_) | Trip::DamperClosed => continue,
            };
            // A limit that is made and no hotter than it bears stays made.
            if (was & bit == 0 || now_c > *open_c) && !self::made(s, was & bit != 0, reset & bit != 0, look) {
                made &= !bit;
            }
        }
        made
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_core::{
        BoilerId,
        config::{SafetyCircuit, SafetyKind, SafetyScope},
    };

    struct At(f64);
    impl Look for At {
        fn boiler_c(&self, _: usize) -> f64 {
            self.0
        }
        fn boiler_flow(&self, _: usize) -> bool {
            true
        }
        fn damper_open(&self) -> bool {
            true
        }
        fn zone_supply_c(&self, _: usize) -> f64 {
            self.0
        }
        fn tank_c(&self) -> f64 {
            self.0
        }
    }

    #[test]
    fn hand_reset_waits_for_the_hand_and_for_the_cause_to_go() {
        let trip = Trip::BoilerAbove { boiler: BoilerId(0), open_c: 95.0, close_c: 85.0 };
        let b = SafetyScope::Boiler(BoilerId(0));
        let s = |reset| Safety { kind: SafetyKind::HighLimit, circuit: SafetyCircuit::Limit, scope: b, reset, trip };
        let (auto, hand) = (s(Reset::Automatic), s(Reset::Manual));
        assert!(!made(&auto, true, false, &At(96.0)));
        assert!(made(&auto, true, false, &At(90.0)));
        assert!(!made(&auto, false, false, &At(90.0)));
        assert!(made(&auto, false, false, &At(84.0)));
        assert!(!made(&hand, false, false, &At(84.0)));
        assert!(!made(&hand, false, true, &At(90.0)));
        assert!(made(&hand, false, true, &At(84.0)));
    }
}
