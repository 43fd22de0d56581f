//! HW602 receptacle-without-ground-fault-protection: a service receptacle without ground-fault protection for personnel.
//!
//! Either the outlet itself trips on a ground fault (two contacts that open both conductors) or the breaker of its circuit does.
//! The rule looks at the devices that are ordered, not at what the job wished. Source: NFPA 70 210.8(B) and (E), checked.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    kinds::appliance::trips_on_ground_fault,
    plan::Plan,
    row::Class,
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW602",
    name: "receptacle-without-ground-fault-protection",
    severity: Severity::Error,
    source: nec("210.8(B), 210.8(E)", Status::Checked, ""),
    doc: "What it finds\n\
        A receptacle that neither has ground-fault protection itself nor hangs on a breaker that has it.\n\nWhy it matters\n\
        Boiler-room floors are wet when something is being repaired.\n\nHow to mend it\n\
        Use an outlet or a breaker with ground-fault protection for personnel.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let by_breaker = |tag: &str| {
        let fed = plan.rows.iter().filter(|r| r.from.device == tag || r.to.device == tag);
        let mut circuits: Vec<&str> = fed.filter(|r| r.class == Class::Power).map(|r| r.circuit.as_str()).collect();
        circuits.sort_unstable();
        circuits.dedup();
        let protects = |c: &&str| plan.breakers.iter().any(|b| b.circuit == **c && b.ground_fault);
        !circuits.is_empty() && circuits.iter().all(protects)
    };
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Receptacle) {
        if trips_on_ground_fault(d) || by_breaker(&d.tag) {
            continue;
        }
        let place = plan.places.get(usize::from(d.place.0)).map_or("an unknown place", String::as_str);
        out.add(Subject::Plant, format!("The receptacle {} in {place} has no ground-fault protection.", d.tag))
            .field("receptacles")
            .fact("receptacle", d.tag.as_str(), "")
            .hint("Order a ground-fault receptacle, or a ground-fault breaker for its circuit.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        device::PlaceId,
        fixtures::workshop,
        kinds::appliance::receptacle,
        plan,
        rules::fixture::{after, found},
    };

    #[test]
    fn fails_a_device_that_does_not_trip() {
        let with = |trips| after(&RULE, |_, p| p.devices.push(receptacle("XR1", PlaceId(0), "outlet", 180.0, trips)));
        assert!(with(true).is_empty());
        let list = with(false);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("XR1 in boiler room"));
    }

    #[test]
    fn what_is_ordered_is_what_the_rule_sees() {
        let mut job = workshop();
        job.receptacles = vec![crate::job::ReceptacleOutlet { place: PlaceId(0), run_ft: 9.0, ground_fault_protected: true }];
        for outlet in [true, false] {
            job.receptacles[0].ground_fault_protected = outlet;
            let mut p = plan::plan(&job).unwrap();
            assert!(found(&RULE, &job, &p).is_empty());
            let ordered = |p: &Plan, word: &str| p.materials.iter().any(|m| m.item.contains(word));
            assert_eq!(ordered(&p, "ground-fault (GFCI) receptacle"), outlet);
            assert_eq!(ordered(&p, "1 pole, 120 V, ground-fault protection"), !outlet);
            // A plain outlet, or a plain breaker, is bought instead: the rule sees the device, not what the job wished.
            p.breakers.iter_mut().for_each(|b| b.ground_fault = false);
            let d = p.devices.iter_mut().find(|d| d.tag == "XR1").unwrap();
            d.parts.retain(|x| !matches!(x, crate::part::Part::Contact { .. }));
            assert_eq!(found(&RULE, &job, &p).len(), 1);
        }
    }
}
