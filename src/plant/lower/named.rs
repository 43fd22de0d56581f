//! The names that stand on labels, tags and sheets: one thing a name.
//!
//! Two of one kind with one name are refused (P58). A zone and its pump may both be called "hall": ids of different kinds often coincide, and a name left
//! out is the id. On a disconnect's label or a lockout sheet that would be two machines under one word, so that all but one get their kind behind the name:
//! "hall" is the zone, "hall (pump)" its pump, "hall (sensor)" its sensor. Who keeps the bare name: zone, boiler, tank, damper, pump, safety, sensor, in
//! this order.

use crate::plant::checked::Plant;
use heatwright_core::{BoilerId, PumpId, SafetyId, SensorId, Subject, ZoneId};
use heatwright_wiring::job;

/// All names of the plant, each of one thing alone.
pub(super) fn names(p: &Plant) -> job::Names {
    // In the order in which they keep their bare name.
    let mut list: Vec<(Subject, String)> = Vec::new();
    list.extend(p.zones.iter().enumerate().map(|(i, z)| (Subject::Zone(ZoneId(i as u8)), z.name.clone())));
    list.extend(p.boilers.iter().enumerate().map(|(i, b)| (Subject::Boiler(BoilerId(i as u8)), b.name.clone())));
    list.extend(p.tank.iter().map(|t| (Subject::Tank, t.name.clone())));
    list.extend(p.damper.iter().map(|d| (Subject::Damper, d.name.clone())));
    list.extend(p.pumps.iter().enumerate().map(|(i, u)| (Subject::Pump(PumpId(i as u8)), u.name.clone())));
    list.extend(p.safeties.iter().enumerate().map(|(i, s)| (Subject::Safety(SafetyId(i as u8)), s.name.clone())));
    list.extend(p.sensors.iter().enumerate().map(|(i, s)| (Subject::Sensor(SensorId(i as u8)), s.name.clone())));
    let bare: Vec<String> = list.iter().map(|(_, n)| n.to_lowercase()).collect();
    for n in 1..list.len() {
        if bare[..n].contains(&bare[n])
            && let Some(kind) = kind(list[n].0)
        {
            list[n].1 = format!("{} ({kind})", list[n].1);
        }
    }
    list.insert(0, (Subject::Plant, p.site.name.clone()));
    job::Names { list }
}

fn kind(s: Subject) -> Option<&'static str> {
    Some(match s {
        Subject::Boiler(_) => "boiler",
        Subject::Tank => "tank",
        Subject::Damper => "damper",
        Subject::Pump(_) => "pump",
        Subject::Safety(_) => "safety",
        Subject::Sensor(_) => "sensor",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::names;
    use crate::plant::read::read;
    use std::collections::BTreeSet;

    const LIBRARY: &str = include_str!("../../../docs/examples/library.toml");

    fn list(changes: &[(&str, &str)]) -> Vec<String> {
        let text = changes.iter().fold(LIBRARY.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replacen(from, to, 1)
        });
        let Ok(read) = read("plant.toml", text.as_bytes()) else { panic!("{changes:?}") };
        names(&read.plant).list.into_iter().map(|(_, name)| name).collect()
    }

    /// A zone, its pump, a limit and a sensor of one name are four things on paper; where all differ nothing is added.
    #[test]
    fn one_name_is_one_thing() {
        assert!(!list(&[]).iter().any(|n| n.ends_with("(pump)") || n.ends_with("(sensor)")));
        let all = list(&[
            ("name = \"Garage pump\"", "name = \"bookmobile garage\""),
            ("name = \"Floor supply limit\"", "name = \"Bookmobile garage\""),
            ("name = \"Supply sensor\"", "name = \"Bookmobile garage\""),
            ("name = \"Tank pump\"", "name = \"Hot-water tank\""),
        ]);
        for name in [
            "Bookmobile garage",
            "bookmobile garage (pump)",
            "Bookmobile garage (safety)",
            "Bookmobile garage (sensor)",
            "Hot-water tank",
            "Hot-water tank (pump)",
        ] {
            assert_eq!(all.iter().filter(|n| *n == name).count(), 1, "{name}: {all:?}");
        }
        let different: BTreeSet<String> = all.iter().map(|n| n.to_lowercase()).collect();
        assert_eq!(different.len(), all.len());
    }
}
