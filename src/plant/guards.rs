//! Protections that are switched off or set where they no longer protect, each told once. Allowed, since plants differ: who wants it so
//! leaves it so.
//!
//! * `frozen-after` of 0 s, `hot-cuts` of 0, pumps that run on in low water.
//! * `frost-water` below 39 °F (4 °C): a sensor may be a degree or two off, and the coldest pipe is elsewhere. `frost-outdoor` more than
//!   18 °F (10 K) below the design temperature: no weather gets there. Neither where glycol fills the pipes. Bounds are our choice.
//! * A `room-setback` below 45 °F (7 °C): pipes in outer walls freeze before the room does (common practice, no source: 55 °F is what
//!   insurers ask for).
//! * A panel of relays that stops a boiler's pump with its demand.

use super::{
    checked::{Control, Glycol, Plant},
    cursor::Cursor,
    quantity::Quantity as _,
};
use crate::finding::Finding;
use heatwright_core::{
    BoilerId, Severity, Subject, ZoneId,
    config::{BoilerPump, SafetyKind},
};

/// Water that is to start the plant is at least so warm, in degrees Celsius.
const FROST_WATER_C: f64 = 4.0;
/// An outdoor frost setting is no further below the design temperature, in kelvin.
const FROST_UNDER_K: f64 = 10.0;
/// A room is set back to no less, in degrees Celsius: 45 °F, and a hair for rounding.
const SETBACK_C: f64 = 13.0 / 1.8 - 0.01;
/// Water and metal below so many litres a kilowatt of input are little: our choice, between finned copper and cast iron.
const LOW_MASS_L_KW: f64 = 1.0;

/// Tells each.
pub(super) fn check(root: &Cursor<'_>, p: &Plant) {
    let tell = |f: Finding| root.ctx.tell(f);
    if p.panel.control == Control::ZoneRelays {
        stops_hot(p).into_iter().for_each(tell);
    } else {
        guard(p).into_iter().for_each(tell);
    }
    setback(p).into_iter().for_each(tell);
}

fn guard(p: &Plant) -> Vec<Finding> {
    let g = &p.guard;
    let water = p.fluid.glycol == Glycol::None;
    let mut out = Vec::new();
    let mut warn = |field: &'static str, sentence: String, hint: &str| {
        out.push(Finding::new("P87", Severity::Warning, Subject::Plant, sentence).field(field).hint(hint));
    };
    if g.frozen_after.s <= 0.0 {
        let sentence = "`guard.frozen-after` is 0 s: a sensor that stands still is believed for ever";
        warn("guard.frozen-after", sentence.into(), "leave it out: 30 min is taken");
    }
    if water && g.frost_water.c < FROST_WATER_C {
        let sentence = format!(
            "`guard.frost-water` is {}: a sensor a little off, or a pipe colder than its place, is ice before the plant heats",
            g.frost_water.show_both()
        );
        warn("guard.frost-water", sentence, "leave it out: 45 °F is taken");
    }
    if water && g.frost_outdoor.c < p.site.outdoor_design.c - FROST_UNDER_K {
        let sentence = format!(
            "`guard.frost-outdoor` is {}, and the design temperature {}: no weather starts the pumps against frost",
            g.frost_outdoor.show_both(),
            p.site.outdoor_design.show_both()
        );
        warn(
            "guard.frost-outdoor",
            sentence,
            "leave it out: 9 °F (5 K) below the design temperature is taken; higher where pipes are exposed",
        );
    }
    let low_water = p.safeties.iter().any(|s| s.kind == SafetyKind::LowWater);
    let own_pumps = p.boilers.iter().any(|b| b.pump != BoilerPump::None);
    if !g.low_water_stops_pumps && low_water && own_pumps {
        let sentence =
            "`guard.low-water-stops-pumps` is false: pumps of boilers run on without water, and wear out their seals";
        warn("guard.low-water-stops-pumps", sentence.into(), "leave it out: they stop");
    }
    if g.hot_cuts == 0 {
        let sentence = "`guard.hot-cuts` is 0: a boiler that is cut by its own hot water all day raises no alarm";
        out.push(
            Finding::new("P87", Severity::Note, Subject::Plant, sentence)
                .field("guard.hot-cuts")
                .hint("leave it out: 3 within an hour is taken"),
        );
    }
    out
}

fn setback(p: &Plant) -> Vec<Finding> {
    let cold = |(i, z): (usize, &super::checked::Zone)| {
        (z.schedule.is_some() && z.room_setback.c < SETBACK_C).then(|| {
            let sentence = format!(
                "it is set back to {}: pipes in its outer walls freeze before the room does",
                z.room_setback.show_both()
            );
            Finding::new("P87", Severity::Warning, Subject::Zone(ZoneId(i as u8)), sentence)
                .field("room-setback")
                .hint("55 °F or more is what insurers ask for (common practice, no source); where nothing can freeze, leave it")
        })
    };
    p.zones.iter().enumerate().filter_map(cold).collect()
}

/// A panel of relays that switches a boiler's pump ends its flow with the call.
fn stops_hot(p: &Plant) -> Vec<Finding> {
    let stops = |(i, b): (usize, &super::checked::Boiler)| {
        let little = (b.water.l + b.metal.l) * 1000.0 < LOW_MASS_L_KW * b.input.w;
        let panels = matches!(b.pump, BoilerPump::Controller(_));
        (panels && little).then(|| {
            let sentence = "the panel stops its pump in the second in which the last call ends, and it holds little water: what its fire left \
                            in the metal boils there or trips its limit";
            Finding::new("P88", Severity::Warning, Subject::Boiler(BoilerId(i as u8)), sentence)
                .field("pump-owner")
                .hint("let the boiler run its own pump (pump-owner = \"boiler\"), which runs on, or add a relay with off-delay by its instructions")
        })
    };
    p.boilers.iter().enumerate().filter_map(stops).collect()
}

#[cfg(test)]
mod tests {
    use crate::plant::read::read;

    const LIBRARY: &str = include_str!("../../docs/examples/library.toml");
    const TERRACE: &str = include_str!("../../docs/examples/terrace.toml");

    fn told(file: &str, code: &str) -> Vec<String> {
        let read = read("plant.toml", file.as_bytes()).unwrap_or_else(|e| panic!("{:?}", e.findings));
        assert!(read.notes.iter().filter(|f| f.code == code).all(|f| f.span.is_some()));
        read.notes.iter().filter(|f| f.code == code).map(|f| f.sentence.clone()).collect()
    }

    #[test]
    fn each_protection_that_is_switched_off_is_told_once() {
        for file in ["library", "workshop", "chapel", "terrace", "mill"] {
            let text = std::fs::read_to_string(format!("docs/examples/{file}.toml")).unwrap();
            assert_eq!(told(&text, "P87"), [""; 0], "{file}");
        }
        let guard = |line: &str| told(&LIBRARY.replace("\n[guard]\n", &format!("\n[guard]\n{line}\n")), "P87");
        for line in [
            "frozen-after = \"0 s\"",
            "frost-water = \"36 °F\"",
            "frost-outdoor = \"-30 °F\"",
            "hot-cuts = 0",
            "low-water-stops-pumps = false",
        ] {
            let key = line.split(' ').next().unwrap();
            assert!(matches!(&guard(line)[..], [one] if one.contains(key)), "{line}: {:?}", guard(line));
        }
        for line in
            ["frozen-after = \"20 min\"", "frost-water = \"40 °F\"", "frost-outdoor = \"35 °F\"", "hot-cuts = 2"]
        {
            assert_eq!(guard(line), [""; 0], "{line}");
        }
        let back =
            |to: &str| told(&LIBRARY.replace("room-setback = \"66 °F\"", &format!("room-setback = \"{to}\"")), "P87");
        assert_eq!((back("36 °F").len(), back("45 °F").len()), (1, 0));
    }

    #[test]
    fn a_panel_that_stops_the_pump_of_a_small_boiler_is_told() {
        assert_eq!(told(TERRACE, "P88"), [""; 0]);
        let panels = TERRACE.replace("pump-owner = \"boiler\"", "pump-owner = \"controller\"");
        let panels =
            panels.lines().filter(|l| !l.starts_with("pump = [") && !l.starts_with("pump-contact")).collect::<Vec<_>>();
        assert_eq!(told(&panels.join("\n"), "P88").len(), 2);
        // Cast iron has the water to cool it.
        let heavy = panels.join("\n").replace("water = \"2.5 gal\"", "water = \"22 gal\"");
        assert_eq!(told(&heavy, "P88"), [""; 0]);
    }
}
