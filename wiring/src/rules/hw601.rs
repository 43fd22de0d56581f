//! HW601 receptacle-missing: no service receptacle near a boiler.
//!
//! The job knows rooms, not distances: a receptacle at the same place counts. Source: NFPA 70 210.63 (within 25 ft, same level), checked.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::Status,
};
use heatwright_core::BoilerId;
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW601",
    name: "receptacle-missing",
    severity: Severity::Warning,
    source: nec("210.63", Status::Checked, "that 25 ft means the same room is our reading"),
    doc: "What it finds\n\
        A boiler with no receptacle at the place where it stands.\n\nWhy it matters\n\
        Whoever services it will run a cord across the building, or plug into something that is not protected.\n\nHow to mend it\n\
        Add a 125 V receptacle with ground-fault protection within 25 ft of the equipment, on the same level, \
        not on the load side of its disconnect.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    let mut told = Vec::new();
    for (i, b) in job.boilers.iter().enumerate() {
        if told.contains(&b.place) || job.receptacles.iter().any(|r| r.place == b.place) {
            continue;
        }
        told.push(b.place);
        let place = job.places.get(usize::from(b.place.0)).map_or("its room", |p| p.name.as_str());
        let about = Subject::Boiler(BoilerId(i as u8));
        out.add(about, format!("No service receptacle is planned in {place}, where {} stands.", job.names.of(about)))
            .field("receptacles")
            .hint("Add one within 25 ft, with ground-fault protection.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_without_one_and_with_one_elsewhere() {
        assert_eq!(after(&RULE, |job, _| job.receptacles.clear()).len(), 1);
        assert_eq!(after(&RULE, |job, _| job.receptacles[0].place = crate::device::PlaceId(1)).len(), 1);
    }
}
