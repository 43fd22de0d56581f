//! What is allowed and looks like a slip: a pump that is named after another zone or boiler than the one that uses it. A note, since
//! names are free.

use super::{checked::Plant, cursor::Cursor};
use crate::finding::Finding;
use heatwright_core::{
    BoilerId, PumpId, Severity, Subject, ZoneId,
    config::{BoilerPump, ZoneDrive},
};

/// True when the words of `inner` stand one behind the other among those of `outer`.
fn holds(outer: &str, inner: &str) -> bool {
    let outer: Vec<&str> = outer.split('-').collect();
    let inner: Vec<&str> = inner.split('-').collect();
    outer.windows(inner.len()).any(|w| w == inner)
}

/// Tells each.
pub(super) fn odd(root: &Cursor<'_>, p: &Plant) {
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
    fn the_examples_have_nothing_odd() {
        for file in [
            WORKSHOP,
            include_str!("../../docs/examples/library.toml"),
            include_str!("../../docs/examples/mill.toml"),
            include_str!("../../docs/examples/terrace.toml"),
            include_str!("../../docs/examples/chapel.toml"),
        ] {
            assert_eq!(told(file, "P78"), [""; 0]);
        }
    }
}
