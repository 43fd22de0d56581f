//! HW608 enclosure-too-open: a panel whose enclosure lets in the water of its place.
//!
//! Types as in NEMA 250. Damp: 12, 3R, 4 or 4X; wet (outdoors, hosed down): 3R, 4 or 4X. Source: NFPA 70 312.2 and
//! Table 110.28, from memory.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::{EnclosureType, Job, Moisture},
    plan::Plan,
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW608",
    name: "enclosure-too-open",
    severity: Severity::Error,
    source: nec("312.2, Table 110.28", Status::Memory, "from memory"),
    doc: "What it finds\n\
        A control panel or starter panel of type 1 at a damp place, or of type 1 or 12 at a wet one.\n\nWhy it matters\n\
        Water gets in from above or condenses inside: contacts corrode, relays stick, and line voltage tracks over wet \
        strips.\n\nHow to mend it\n\
        Hang it where it is dry; or buy type 12 for a damp place, 3R, 4 or 4X for a wet one, raceways into its side or \
        bottom with hubs for that type.",
    check,
};

/// True where an enclosure keeps out what its place brings.
fn keeps_out(enclosure: EnclosureType, moisture: Moisture) -> bool {
    match moisture {
        Moisture::Dry => true,
        Moisture::Damp => enclosure != EnclosureType::Type1,
        Moisture::Wet => !matches!(enclosure, EnclosureType::Type1 | EnclosureType::Type12),
    }
}

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    let panel = Some(("control panel", job.panel.enclosure, job.panel.moisture, "panel.enclosure"));
    let starters =
        job.starter_panel.as_ref().map(|s| ("starter panel", s.enclosure, s.moisture, "starter_panel.enclosure"));
    for (what, enclosure, moisture, field) in panel.into_iter().chain(starters) {
        if !keeps_out(enclosure, moisture) {
            let fits = if moisture == Moisture::Wet { "3R, 4 or 4X" } else { "12, 3R, 4 or 4X" };
            out.add(
                Subject::Plant,
                format!("The {what} is of type {enclosure} at a {moisture} place, which asks for type {fits}."),
            )
            .field(field)
            .hint(format!("Give it an enclosure of type {fits}, or hang it where it is dry."));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn passes_what_keeps_the_water_out() {
        assert!(after_mill(&RULE, |_, _| ()).is_empty());
        for (enclosure, moisture) in [
            (EnclosureType::Type12, Moisture::Damp),
            (EnclosureType::Type3R, Moisture::Damp),
            (EnclosureType::Type3R, Moisture::Wet),
            (EnclosureType::Type4, Moisture::Wet),
            (EnclosureType::Type4X, Moisture::Wet),
        ] {
            let list = after_mill(&RULE, |j, _| (j.panel.enclosure, j.panel.moisture) = (enclosure, moisture));
            assert!(list.is_empty(), "{enclosure} {moisture}");
        }
    }

    #[test]
    fn fails_an_enclosure_that_lets_it_in() {
        for (enclosure, moisture) in [
            (EnclosureType::Type1, Moisture::Damp),
            (EnclosureType::Type1, Moisture::Wet),
            (EnclosureType::Type12, Moisture::Wet),
        ] {
            let list = after_mill(&RULE, |j, _| (j.panel.enclosure, j.panel.moisture) = (enclosure, moisture));
            assert_eq!(list.len(), 1, "{enclosure} {moisture}");
            let list = after_mill(&RULE, |j, _| {
                let s = j.starter_panel.as_mut().unwrap();
                (s.enclosure, s.moisture) = (enclosure, moisture);
            });
            assert!(list.len() == 1 && list[0].sentence.contains("starter panel"), "{list:?}");
        }
    }
}
