//! Heated floors and the water that may reach them: a floor without a mixing valve on a plant that makes hotter water than a floor
//! bears, and a mixing valve that is allowed as much.
//!
//! What reaches an unmixed floor is the hottest of: the curve with `boost` and `demand-trim-max`, held to `supply-max`; the tank's
//! `target` while it calls; the boilers' `fixed-target` where they hold it by themselves, without a controller or while it is dead.
//! A floor bears 140 °F (60 °C) of water: common practice, no source; screed and covering often less (EN 1264-4 names 55 °C for the
//! screed round the tubes, from memory). Where the surface stays below what feet bear is the study of the curve's to say (floor-hot).
//!
//! It does not look for the hard-wired limit: HW505 does.

use super::{
    Loaded,
    checked::{Emitter, Fallback, Zone},
    quantity::{Quantity as _, Temp},
};
use crate::finding::Finding;
use heatwright_core::{Severity, Subject, ZoneId};

/// Water that a heated floor bears: 140 °F, and a hair for rounding.
const BEARS_C: f64 = 108.0 / 1.8 + 0.01;

/// All of it.
pub(crate) fn all(l: &Loaded) -> Vec<Finding> {
    let floors = l.plant.zones.iter().enumerate().filter(|(_, z)| matches!(z.emitter, Emitter::Floor(_)));
    floors.filter_map(|(i, z)| unmixed(l, i, z).or_else(|| mixed(i, z))).collect()
}

/// The hottest water that the plant lets reach an unmixed zone, in degrees Celsius, and what makes it so.
fn hottest(l: &Loaded) -> (f64, &'static str) {
    let (p, r) = (&l.plant, &l.plant.reset);
    let own_c = p.boilers.iter().map(|b| b.fixed_target.c).fold(f64::NEG_INFINITY, f64::max);
    if !l.controlled() {
        return (own_c, "what the boilers hold by themselves (fixed-target)");
    }
    let curve_c = l.curve.points.iter().map(|p| p.1).fold(r.supply_min.c, f64::max) + r.boost.k + r.demand_trim_max.k;
    let list = [
        (curve_c.min(r.supply_max.c), "the hottest that the curve asks for"),
        (p.tank.as_ref().map_or(f64::NEG_INFINITY, |t| t.target.c), "what the tank asks for (tank.target)"),
        (
            if p.fallback == Fallback::None { f64::NEG_INFINITY } else { own_c },
            "what the boilers hold by themselves while the controller is dead (fixed-target)",
        ),
    ];
    list.into_iter().max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((f64::NEG_INFINITY, ""))
}

/// A floor without a mixing valve that hotter water than it bears may reach.
fn unmixed(l: &Loaded, i: usize, z: &Zone) -> Option<Finding> {
    let (c, why) = hottest(l);
    if z.mixing.is_some() || c <= BEARS_C {
        return None;
    }
    let about = Subject::Zone(ZoneId(i as u8));
    let sentence = format!(
        "{} is a heated floor without a mixing valve, and water of {} may reach it: {why}; a floor bears 140 °F (60 °C)",
        l.names.title(about),
        Temp { c }.show_both()
    );
    let f = if l.controlled() {
        Finding::new("C15", Severity::Error, about, sentence).hint(
            "give the zone a mixing valve (its table `mixing`); or, where the whole plant is floors, hold supply-max and all else that \
             heats its water to what the floor bears",
        )
    } else {
        // The file knows motor-driven mixing valves only.
        Finding::new("C15", Severity::Warning, about, sentence).hint(
            "see that a self-acting mixing valve stands before the floor, or that the boilers' own setting is no hotter than the floor \
             bears (fixed-target)",
        )
    };
    Some(f.field("emitter"))
}

/// A mixing valve that may let through more than a floor bears.
fn mixed(i: usize, z: &Zone) -> Option<Finding> {
    let m = z.mixing.as_ref().filter(|m| m.mixed_max.c > BEARS_C)?;
    let sentence = format!(
        "its floor may get water of {} (`mixed-max`); a floor bears 140 °F (60 °C), and 120 °F is usual",
        m.mixed_max.show_both()
    );
    let f = Finding::new("C16", Severity::Warning, Subject::Zone(ZoneId(i as u8)), sentence);
    Some(f.field("mixing.mixed-max").hint("lower it to what floor and covering were laid out for"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::load;

    const LIBRARY: &str = include_str!("../../docs/examples/library.toml");

    fn told(file: &str) -> Vec<(String, Severity, String)> {
        let l = load("plant.toml", file.as_bytes()).unwrap_or_else(|e| panic!("{:?}", e.findings));
        all(&l).into_iter().map(|f| (f.code.to_string(), f.severity, f.sentence)).collect()
    }

    /// The library without what protects its floor: its mixing valve, limit and sensor.
    fn unprotected() -> String {
        let mut out = LIBRARY.to_owned();
        for heading in ["[zone.lobby.mixing]", "[safety.floor-limit]", "[sensor.lobby-mixed]"] {
            let from = out.find(&format!("\n{heading}")).unwrap_or_else(|| panic!("{heading}")) + 1;
            let length = out[from..].find("\n[").unwrap_or(out.len() - from - 1);
            out.replace_range(from..from + length + 1, "");
        }
        out
    }

    #[test]
    fn a_floor_that_boiler_water_reaches_is_an_error() {
        assert_eq!(told(LIBRARY), []);
        let list = told(&unprotected());
        assert!(matches!(&list[..], [(c, Severity::Error, _)] if c == "C15"), "{list:?}");
    }

    /// The whole plant on floor water: what the curve asks for, the tank and the boilers' own target all count.
    #[test]
    fn what_heats_the_water_is_named() {
        let l = load("plant.toml", unprotected().as_bytes()).unwrap();
        let cool = |mut l: Loaded| {
            l.plant.reset.supply_max = Temp::from_f(120.0);
            l.plant.tank = None;
            l.plant.fallback = Fallback::None;
            l
        };
        assert_eq!(all(&cool(l.clone())), [], "120 °F at most");
        let mut dead = cool(l.clone());
        dead.plant.fallback = Fallback::FixedTarget;
        assert!(all(&dead)[0].sentence.contains("while the controller is dead"));
        let mut tank = cool(l.clone());
        tank.plant.tank = l.plant.tank.clone();
        assert!(all(&tank)[0].sentence.contains("tank.target"));
        let mut relays = cool(l);
        relays.plant.panel.control = crate::plant::checked::Control::ZoneRelays;
        assert_eq!(all(&relays)[0].severity, Severity::Warning, "a self-acting valve may stand there");
    }

    #[test]
    fn a_mixing_valve_that_lets_boiler_water_through_is_told() {
        let max = |f: &str| {
            let mut l = load("plant.toml", LIBRARY.as_bytes()).unwrap();
            let zone = l.plant.zones.iter_mut().find(|z| z.mixing.is_some()).unwrap();
            zone.mixing.as_mut().unwrap().mixed_max = Temp::from_f(f.parse().unwrap());
            all(&l).into_iter().map(|f| f.code.to_string()).collect::<Vec<_>>()
        };
        assert_eq!((max("140"), max("150")), (vec![], vec!["C16".to_owned()]));
    }
}
