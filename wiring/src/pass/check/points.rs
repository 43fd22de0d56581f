//! Whether every point of the controller has its thing, and every input that wants a safety's own switch a free one.

use super::{Check, Problem};
use crate::{
    job::{EndSwitch, Selector},
    pass::choose::{Look, choose, find},
};
use heatwright_core::{
    AnalogUse, BoilerId, ContactUse, PumpId, RelayUse, SensorUse, Subject, Tap,
    config::{SafetyKind, SafetyScope},
};

impl Check<'_> {
    /// Every point must have its thing.
    pub(super) fn points(&mut self) {
        let job = self.job;
        let (boilers, pumps, zones) = (job.boilers.len(), job.pumps.len(), job.zones.len());
        for u in &job.points.relays {
            let there = match *u {
                RelayUse::Demand(b) => b.index() < boilers,
                RelayUse::Pump(p) => p.index() < pumps,
                RelayUse::Valve(z) => job.zones.get(z.index()).is_some_and(|z| z.valve.is_some()),
                RelayUse::Damper => job.damper.is_some(),
                RelayUse::Spare | RelayUse::Alarm | RelayUse::Health => true,
            };
            self.there(there, &format!("{u:?}"));
        }
        for u in &job.points.contacts {
            self.contact(*u, zones);
        }
        for u in &job.points.sensors {
            let there = match *u {
                SensorUse::BoilerOutlet(b) => b.index() < boilers,
                SensorUse::Mixed(z) => z.index() < zones,
                _ => true,
            };
            self.there(there, &format!("{u:?}"));
        }
        for u in &job.points.analogs {
            let signal = |b: BoilerId| job.boilers.get(b.index()).is_some_and(|b| b.marks.signal.is_some());
            let there = match *u {
                AnalogUse::Spare => true,
                AnalogUse::Target(b) | AnalogUse::Rate(b) => signal(b),
                AnalogUse::Mixing(z) => job.zones.get(z.index()).is_some_and(|z| z.mixing.is_some()),
            };
            self.there(there, &format!("{u:?}"));
        }
    }

    fn there(&mut self, there: bool, point: &str) {
        if !there {
            self.say(Subject::Plant, Problem::NoSuchThing { point: point.to_owned() });
        }
    }

    fn contact(&mut self, u: ContactUse, zones: usize) {
        let job = self.job;
        let boiler = |b: BoilerId| job.boilers.get(b.index());
        let selector = |p: PumpId| job.pumps.get(p.index()).is_some_and(|p| p.selector == Selector::HandOffAuto);
        let there = match u {
            ContactUse::Spare | ContactUse::Acknowledge => true,
            ContactUse::Call(z) => z.index() < zones,
            ContactUse::TankCall => job.tank.is_some(),
            ContactUse::EndSwitch(z) => {
                job.zones.get(z.index()).and_then(|z| z.valve).is_some_and(|v| v.end_switch != EndSwitch::None)
            }
            ContactUse::Flow(b) => {
                find(job, |k, scope| k == SafetyKind::FlowSwitch && scope == SafetyScope::Boiler(b)).is_some()
            }
            ContactUse::DamperOpen => find(job, |k, _| k == SafetyKind::DamperSwitch).is_some(),
            ContactUse::Flame(b) => boiler(b).is_some_and(|b| b.marks.flame.is_some()),
            ContactUse::BoilerFault(b) => boiler(b).is_some_and(|b| b.marks.fault.is_some()),
            ContactUse::Safety(s, _) => s.index() < job.safeties.len(),
            ContactUse::Hand(p) | ContactUse::Auto(p) => selector(p),
            ContactUse::BoilerSwitch(b) => boiler(b).is_some_and(|b| b.switch.aux),
        };
        self.there(there, &format!("{u:?}"));
    }

    /// An input that wants a safety's own switch needs one that is free.
    pub(super) fn looks(&mut self) {
        for seen in choose(self.job).seen {
            let wanted = self.job.points.contacts.get(seen.contact.index()).copied();
            if let Some(ContactUse::Safety(s, Tap::Aux)) = wanted
                && !matches!(seen.look, Look::Aux | Look::Main)
            {
                let needs = "an auxiliary contact of that safety which no other input uses";
                self.say(Subject::Safety(s), Problem::PointNeeds { point: format!("Safety({}, Aux)", s.0), needs });
            }
        }
    }
}
