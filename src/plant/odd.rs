//! What is allowed and looks like a slip: a boiler's flow that gives a rise no boiler is laid out for, a pump that is named after another
//! zone or boiler than the one that uses it. Notes, since names are free and plants differ.

use super::{
    checked::Plant,
    cursor::Cursor,
    quantity::{Quantity as _, TempDelta},
};
use crate::finding::Finding;
use heatwright_core::{
    BoilerId, PumpId, Severity, Subject, ZoneId,
    config::{BoilerPump, ZoneDrive},
};

/// Usual rise of the water through a boiler at full input, °F (common practice, no source: 20 to 40 °F by most instructions).
const RISE_F: [f64; 2] = [5.0, 60.0];
/// Heat that a litre of water takes up, J/K, at 60 °C (4185 J/(kg K), 0.983 kg/L).
const WATER_J_LK: f64 = 4_114.0;

/// Tells each.
pub(super) fn odd(root: &Cursor<'_>, p: &Plant) {
    rises(root, p);
    named_for_another(root, p);
}

fn rises(root: &Cursor<'_>, p: &Plant) {
    let places = root.ctx.places.borrow();
    for (i, b) in p.boilers.iter().enumerate() {
        let about = Subject::Boiler(BoilerId(i as u8));
        let rise = TempDelta::from_k(b.input.w / (b.flow.l_s * WATER_J_LK));
        let rise_f = rise.k * 1.8;
        if !places.written(about, "flow") || (RISE_F[0]..=RISE_F[1]).contains(&rise_f) {
            continue;
        }
        let names = root.ctx.names.borrow();
        let sentence = format!(
            "with {} through `{}` its full input of {} warms the water by {}; usual is 20 °F to 40 °F (11 K to 22 K)",
            b.flow.show_both(),
            names.id(about),
            b.input.show_both(),
            rise.show_both()
        );
        root.ctx.tell(Finding::new("P77", Severity::Note, about, sentence).field("flow").hint(if rise_f < RISE_F[0] {
            "see that `flow` and its unit are meant, and that `input` is in MBH and not in thousands too few"
        } else {
            "see that `flow` and its unit are meant; such a rise wants the maker's word"
        }));
    }
}

/// True when the words of `inner` stand one behind the other among those of `outer`.
fn holds(outer: &str, inner: &str) -> bool {
    let outer: Vec<&str> = outer.split('-').collect();
    let inner: Vec<&str> = inner.split('-').collect();
    outer.windows(inner.len()).any(|w| w == inner)
}

fn named_for_another(root: &Cursor<'_>, p: &Plant) {
    let names = root.ctx.names.borrow();
    let zones = p.zones.iter().enumerate().filter_map(|(i, z)| match z.drive {
        ZoneDrive::Pump(pump) | ZoneDrive::Valve { pump: Some(pump) } => Some((Subject::Zone(ZoneId(i as u8)), pump)),
        ZoneDrive::Valve { pump: None } => None,
    });
    let boilers = p.boilers.iter().enumerate().filter_map(|(i, b)| match b.pump {
        BoilerPump::Controller(pump) | BoilerPump::Boiler(pump) | BoilerPump::Either(pump) => {
            Some((Subject::Boiler(BoilerId(i as u8)), pump))
        }
        BoilerPump::None => None,
    });
    let users: Vec<(Subject, PumpId)> = zones.chain(boilers).collect();
    // The user whose name a pump bears: the longest that fits.
    let namesake = |pump: PumpId| {
        let id = names.pump(pump);
        users.iter().filter(|(s, _)| holds(&id, &names.id(*s))).max_by_key(|(s, _)| names.id(*s).len()).copied()
    };
    for (user, pump) in &users {
        let Some((other, others_pump)) = namesake(*pump) else { continue };
        // Shared pumps bear one name of several.
        if other == *user || others_pump == *pump || holds(&names.pump(*pump), &names.id(*user)) {
            continue;
        }
        let back = namesake(others_pump).is_some_and(|(s, _)| s == *user);
        if back && user > &other {
            // Told once, from the first of the two.
            continue;
        }
        let sentence = if back {
            format!(
                "`{}` runs the pump `{}` and `{}` runs `{}`: the two may be swapped",
                names.id(*user),
                names.pump(*pump),
                names.id(other),
                names.pump(others_pump)
            )
        } else {
            format!(
                "`{}` runs the pump `{}`, which bears the name of `{}`",
                names.id(*user),
                names.pump(*pump),
                names.id(other)
            )
        };
        root.ctx.tell(
            Finding::new("P78", Severity::Note, *user, sentence).field("pump").hint(
                "correct `pump` where it is a slip, or rename the pump, so that crew and paper speak of one thing",
            ),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::read::read;

    const WORKSHOP: &str = include_str!("../../docs/examples/workshop.toml");

    fn told(file: &str, code: &str) -> Vec<String> {
        let read = read("plant.toml", file.as_bytes()).unwrap_or_else(|e| panic!("{:?}", e.findings));
        read.notes.iter().filter(|f| f.code == code).map(|f| f.sentence.clone()).collect()
    }

    #[test]
    fn pumps_that_are_swapped_are_told_once() {
        let swap = WORKSHOP
            .replace("pump = \"p-shop\"", "pump = \"p-x\"")
            .replace("pump = \"p-office\"", "pump = \"p-shop\"")
            .replace("pump = \"p-x\"", "pump = \"p-office\"");
        let list = told(&swap, "P78");
        assert_eq!(list, ["`shop` runs the pump `p-office` and `office` runs `p-shop`: the two may be swapped"]);
        // A third pump with a name of its own: one of the two is named for another.
        let one = WORKSHOP.replace("\"p-office\"", "\"p-north\"").replace("[pump.p-office]", "[pump.p-north]");
        assert_eq!(told(&one, "P78"), [""; 0]);
        assert!(holds("p-flat-1", "flat-1") && !holds("p-flat-11", "flat-1") && !holds("p-flat", "flat-1"));
    }

    #[test]
    fn a_rise_that_no_boiler_is_laid_out_for_is_told() {
        assert_eq!(told(WORKSHOP, "P77"), [""; 0]);
        // 80 MBH in 40 gal/min: 80,000 / (40 x 8.2 lb/gal x 60 min) is 4.1 °F; in 2 gal/min it is 81 °F.
        let file = |flow: &str| {
            WORKSHOP
                .replace("flow = \"8 gal/min\"", &format!("flow = \"{flow}\""))
                .replace("flow-min = \"3 gal/min\"\nflow-max = \"12 gal/min\"\n", "flow-min = \"1 gal/min\"\n")
        };
        let low = told(&file("40 gal/min"), "P77");
        assert!(low.len() == 1 && low[0].contains("warms the water by 4."), "{low:?}");
        let high = told(&file("2 gal/min"), "P77");
        assert!(high.len() == 1 && high[0].contains("warms the water by 81"), "{high:?}");
    }

    #[test]
    fn the_examples_have_nothing_odd() {
        for file in [
            WORKSHOP,
            include_str!("../../docs/examples/library.toml"),
            include_str!("../../docs/examples/mill.toml"),
            include_str!("../../docs/examples/terrace.toml"),
            include_str!("../../docs/examples/chapel.toml"),
        ] {
            assert_eq!(told(file, "P77"), [""; 0]);
            assert_eq!(told(file, "P78"), [""; 0]);
        }
    }
}
