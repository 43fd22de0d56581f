//! What is said to be in sight and cannot be: its run is too long, or it stands at another place.
//!
//! In sight is visible and within 50 ft (NEC Article 100, checked). The plan takes it only where one place and the run agree with
//! the word: on the safe side, since a disconnect too many harms nobody. That is told here, never done in silence.

use super::{checked::Plant, cursor::Cursor, quantity::Quantity as _};
use crate::finding::Finding;
use heatwright_core::{PumpId, Severity, Subject};
use heatwright_wiring::tables::disconnect::IN_SIGHT_FT;

/// One statement with what stands against it.
struct Said<'a> {
    about: Subject,
    key: &'static str,
    run_key: &'static str,
    run: super::quantity::Length,
    /// What it is, where it stands, and what it shall be in sight of.
    what: &'static str,
    place: &'a str,
    of: &'static str,
    of_place: Vec<&'a str>,
    then: &'static str,
}

/// Tells each contradiction.
pub(super) fn in_sight(root: &Cursor<'_>, p: &Plant) {
    let mut all = Vec::new();
    let line = "a line disconnect is planned ahead of each contactor, starter and relay contact of a motor there";
    if p.power.panel_in_sight {
        all.push(Said {
            about: Subject::Plant,
            key: "power.panel-in-sight",
            run_key: "power.panel-run",
            run: p.power.panel_run,
            what: "the distribution panel",
            place: &p.power.panel_place,
            of: "the control panel",
            of_place: vec![&p.panel.place],
            then: line,
        });
    }
    if let Some(t) = p.power.transformer.as_ref().filter(|t| t.panel_in_sight) {
        all.push(Said {
            about: Subject::Plant,
            key: "power.transformer.panel-in-sight",
            run_key: "power.transformer.panel-run",
            run: t.panel_run,
            what: "the second panelboard",
            place: &t.panel_place,
            of: "the control panel",
            of_place: vec![&p.panel.place],
            then: line,
        });
    }
    if let Some(s) = p.starter_panel.as_ref().filter(|s| s.panel_in_sight) {
        all.push(Said {
            about: Subject::Plant,
            key: "starter-panel.panel-in-sight",
            run_key: "starter-panel.panel-run",
            run: s.panel_run,
            what: "the distribution panel",
            place: &p.power.panel_place,
            of: "the starter panel",
            of_place: vec![&s.place],
            then: "the breaker does not serve as a starter's disconnect",
        });
    }
    for (i, pump) in p.pumps.iter().enumerate().filter(|(_, pump)| pump.in_sight) {
        // Its starter may stand in the panel of its own.
        let starters = p.starter_panel.as_ref().map(|s| s.place.as_str());
        all.push(Said {
            about: Subject::Pump(PumpId(i as u8)),
            key: "in-sight",
            run_key: "run",
            run: pump.run,
            what: "the pump",
            place: &pump.place,
            of: "the control panel",
            of_place: std::iter::once(p.panel.place.as_str()).chain(starters).collect(),
            then: "a disconnect of its own is planned at the pump",
        });
    }
    for f in all.iter().flat_map(Said::contradictions) {
        root.ctx.tell(f);
    }
}

impl Said<'_> {
    fn contradictions(&self) -> Vec<Finding> {
        let new = |sentence: String| Finding::new("P63", Severity::Warning, self.about, sentence).field(self.key);
        let mut list = Vec::new();
        if self.run.m / 0.3048 > IN_SIGHT_FT + 1e-9 {
            list.push(
                new(format!(
                    "`{}` says that {} is in sight of {}, and `{}` is {}: over {IN_SIGHT_FT:.0} ft nothing counts as in sight. The run \
                     wins, which is safer: {}",
                    self.key,
                    self.what,
                    self.of,
                    self.run_key,
                    self.run.show_both(),
                    self.then
                ))
                .hint("correct the one that is wrong: measure the run, or take the word out"),
            );
        }
        if !self.of_place.contains(&self.place) {
            let of: Vec<String> = self.of_place.iter().map(|p| format!("\"{p}\"")).collect();
            list.push(
                new(format!(
                    "`{}` says that {} is in sight of {}, and it stands at \"{}\", that one at {}. The place wins, which is safer: {}",
                    self.key,
                    self.what,
                    self.of,
                    self.place,
                    of.join(" or "),
                    self.then
                ))
                .hint("write the same place where both stand in one room, or take the word out"),
            );
        }
        list
    }
}

#[cfg(test)]
mod tests {
    use crate::plant::load;
    use heatwright_core::Severity;

    /// The workshop with one line changed; what is told, each with the line that it points at.
    fn told(from: &str, to: &str) -> Vec<String> {
        let text = include_str!("../../docs/examples/workshop.toml");
        assert!(text.contains(from), "{from}");
        let loaded = load("workshop.toml", text.replacen(from, to, 1).as_bytes()).expect("a plant");
        let list = loaded.notes.iter().filter(|f| f.code == "P63");
        list.map(|f| {
            assert_eq!(f.severity, Severity::Warning);
            let span = f.span.clone().expect("a place in the file");
            format!("{} @ {}", f.sentence, loaded.source.text[span].trim())
        })
        .collect()
    }

    #[test]
    fn a_run_or_a_place_against_the_word_is_told() {
        let same = "panel-in-sight = true";
        assert_eq!(told(same, same), [""; 0]);
        let run = "panel-run = \"12 ft\"";
        let far = told(run, "panel-run = \"51 ft\"");
        assert!(far.len() == 1 && far[0].contains("The run wins") && far[0].ends_with("@ true"), "{far:?}");
        assert_eq!(told(run, "panel-run = \"50 ft\""), [""; 0]);
        let place = "panel-place = \"boiler room\"";
        let other = told(place, "panel-place = \"cellar\"");
        assert!(other.len() == 1 && other[0].contains("at \"cellar\""), "{other:?}");
        assert!(other[0].contains("The place wins"), "{other:?}");
        let pump = told("[pump.p-shop]\n", "[pump.p-shop]\nin-sight = true\nplace = \"attic\"\n");
        assert!(pump.len() == 1 && pump[0].contains("at the pump"), "{pump:?}");
    }
}
