//! Safety devices as switches: what the model opens, and how they come back.
//!
//! An automatic one closes again once its cause is gone; for temperatures that is below its closing temperature. A hand-reset
//! one stays open until it is reset while its cause is gone. What opens by an event (a door switch) is opened by an
//! injected fault. Flow and damper switches are made while there is flow or an open damper; hand reset applies to
//! temperatures only, since those two stand open at rest. Common practice.

use crate::plant::{Safety, Trip};
use heatwright_core::config::Reset;

/// What the switches look at in one step.
pub(crate) trait Look {
    fn boiler_c(&self, boiler: usize) -> f64;
    fn boiler_flow(&self, boiler: usize) -> bool;
    fn damper_open(&self) -> bool;
    fn zone_supply_c(&self, zone: usize) -> f64;
    fn tank_c(&self) -> f64;
}

/// True when the switch is made after this step.
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
