//! Keys that only our controller works by: with zone relays in its place they would do nothing. Written, each is a fault; left out,
//! none is listed as assumed, or somebody counts on a pump that stops, a sensor that is watched, an exercise that nobody runs.

use super::{checked::Assumption, cursor::Cursor};
use crate::finding::Finding;
use heatwright_core::{Severity, Subject};

/// Tables with the keys of them that only a controller works by; `*` for all of a table's.
const IDLE: &[(&str, &[&str])] = &[
    (
        "boiler",
        &[
            "on-min",
            "off-min",
            "flow-proof-max",
            "flame-proof-max",
            "pump-overrun",
            "retry-after",
            "status-contact",
            "alarm-contact",
            "service-switch",
            "relay",
        ],
    ),
    ("zone", &["overrun", "circulation", "no-shed", "debounce", "call-min", "relay"]),
    ("pump", &["on-min", "off-min", "exercise-every", "exercise-for", "relay"]),
    ("safety", &["aux"]),
    ("tank", &["purge-max", "priority-max", "priority-above", "debounce", "overrun"]),
    ("damper", &["proof-max", "relay"]),
    ("panel", &["spare-relays", "spare-contacts", "spare-sensors", "spare-analogs", "alarm-relay", "health-relay"]),
    (
        "reset",
        &[
            "outdoor-filter",
            "warm-weather-differential",
            "setback",
            "boost",
            "boost-for",
            "schedule",
            "header-trim-max",
            "demand-trim-max",
        ],
    ),
    (
        "staging",
        &[
            "up-error",
            "down-error",
            "up-rate",
            "down-rate",
            "rate-hold",
            "start-spacing",
            "rate-band",
            "rate-integral",
            "modulation",
            "stage-by",
            "plant-enable",
            "plant-ignored-calls",
            "plant-off-min",
            "plant-on-min",
            "plant-few-for",
            "low-load-run",
            "low-load-band",
        ],
    ),
    ("rotation", &["*"]),
    ("purge", &["*"]),
    (
        "guard",
        &["frost-outdoor", "frost-water", "frozen-after", "low-water-stops-pumps", "hot-cuts", "hot-cuts-within"],
    ),
];

/// True for a key of this table that only a controller works by.
fn idle(table: &str, key: &str) -> bool {
    IDLE.iter().any(|(t, keys)| *t == table && (keys.contains(&key) || keys.contains(&"*")))
}

/// Table and key of a path in full: `boiler.b1.on-min`, `guard.frost-water`. Deeper ones are none of these.
fn split(full: &str) -> Option<(&str, &str)> {
    match full.split('.').collect::<Vec<_>>().as_slice() {
        [table, key] | [table, _, key] => Some((table, key)),
        _ => None,
    }
}

/// What is told of a key that is written.
pub(super) fn told(root: &Cursor<'_>) {
    let written: Vec<(Subject, String)> = {
        let places = root.ctx.places.borrow();
        let table = |s: Subject| match s {
            Subject::Boiler(_) => Some("boiler"),
            Subject::Zone(_) => Some("zone"),
            Subject::Pump(_) => Some("pump"),
            Subject::Safety(_) => Some("safety"),
            Subject::Tank => Some("tank"),
            Subject::Damper => Some("damper"),
            _ => None,
        };
        let only = |(s, path): &(Subject, &str)| match (table(*s), path.split_once('.')) {
            (Some(table), None) => idle(table, path),
            (None, Some((table, key))) => *s == Subject::Plant && idle(table, key),
            _ => false,
        };
        places.written_fields().filter(only).map(|(s, path)| (s, path.to_owned())).collect()
    };
    for (about, path) in written {
        let key = path.rsplit('.').next().unwrap_or(&path);
        let sentence = format!("`{key}` has no effect: zone relays stand in place of the controller (`panel.control`)");
        root.ctx.tell(
            Finding::new("P45", Severity::Error, about, sentence)
                .field(path.clone())
                .hint("take it out, so that nobody relies on it"),
        );
    }
}

/// Leaves of what was assumed only what acts without a controller.
pub(super) fn without_controller(list: &mut Vec<Assumption>) {
    list.retain(|a| split(&a.key).is_none_or(|(table, key)| !idle(table, key)));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::schema::schema;

    /// Every key of the table exists in the plant file.
    #[test]
    fn the_keys_exist() {
        let schema = schema();
        for (table, keys) in IDLE {
            let t = &schema["properties"][table];
            let inner =
                if t["properties"].is_object() { &t["properties"] } else { &t["additionalProperties"]["properties"] };
            for key in keys.iter().filter(|k| **k != "*") {
                assert!(inner[key].is_object(), "{table}.{key}");
            }
        }
    }

    /// Zone relays: such a key is refused where it is written, and none is listed as assumed; a key that acts stays.
    #[test]
    fn keys_of_a_controller_are_refused_and_not_assumed() {
        let path = "docs/examples/terrace.toml";
        let text = std::fs::read_to_string(path).unwrap();
        let read = |text: &str| crate::plant::read::read(path, text.as_bytes());
        let plain = read(&text).unwrap();
        let assumed = |key: &str| plain.plant.assumptions.iter().any(|a| a.key.ends_with(key));
        for key in ["low-water-stops-pumps", "exercise-every", "frozen-after", "rotation.policy", "up-rate", "call-min"]
        {
            assert!(!assumed(key), "{key}");
        }
        assert!(assumed("staging.band") && assumed("service-factor"));
        for (line, key) in [
            ("[guard]\nlow-water-stops-pumps = true\n", "low-water-stops-pumps"),
            ("[rotation]\npolicy = \"fixed\"\n", "policy"),
            ("[purge]\ntime-max = \"5 min\"\n", "time-max"),
        ] {
            let wrong = read(&format!("{text}\n{line}")).unwrap_err();
            let found: Vec<_> =
                wrong.findings.iter().map(|f| (f.code.as_ref(), f.sentence.as_str(), f.span.is_some())).collect();
            assert!(found.len() == 1 && found[0].0 == "P45" && found[0].1.contains(key) && found[0].2, "{found:?}");
        }
        // With a controller the same lines are well.
        let library = std::fs::read_to_string("docs/examples/library.toml").unwrap();
        let with = crate::plant::read::read("library", library.as_bytes()).unwrap();
        assert!(with.plant.assumptions.iter().any(|a| a.key.ends_with("exercise-every")));
    }
}
