//! HW313 transformer-overloaded: more connected load on a transformer between panelboards than its nameplate.
//!
//! Sum of all branch circuits of the second panelboard in volt-amperes against the nameplate, and of each leg's poles against half
//! of it, since each half of the secondary has half the copper; no demand factor is taken. Source: common practice; NFPA 70 gives demand factors in Article 220, which a designer may use.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    kinds::derived::SECONDARY,
    plan::{Duty, Plan},
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW313",
    name: "transformer-overloaded",
    severity: Severity::Warning,
    source: Source {
        standard: "common practice",
        section: "connected load of a transformer",
        editions: "none",
        status: Status::Memory,
        remark: "no standard cited; Article 220 allows demand factors",
    },
    doc: "What it finds\n\
        A transformer whose panelboard has more connected load than the nameplate of the transformer, or on one leg more \
        than half of it.\n\nWhy it matters\n\
        A dry-type transformer that runs hot loses its insulation; its main breaker opens on the coldest day, when \
        everything runs.\n\nHow to mend it\n\
        Move breakers to the other leg (`space`), take the next larger transformer, or show by a load calculation that not all of it runs at once.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for c in plan.circuits.iter().filter(|c| c.duty == Duty::Feeder) {
        let Some(t) = plan.transformers.iter().find(|t| t.tag == c.name) else { continue };
        if t.sealed_va > t.va {
            out.add(
                Subject::Plant,
                format!("{} is rated {:.0} VA and {:.0} VA hang on it.", t.tag, t.va, t.sealed_va),
            )
            .fact("nameplate", t.va, "VA")
            .fact("connected load", t.sealed_va, "VA")
            .hint("Take a larger transformer.");
            continue;
        }
        // Behind the main breaker stands one panelboard; phase 1 of it is X1, phase 2 the other end.
        let fed = |panel: &str| plan.rows.iter().any(|r| r.circuit == c.name && r.to.device == panel);
        for (leg, mark) in (1..).zip(SECONDARY) {
            let on_leg = plan.directory.iter().filter(|e| e.phase == leg && e.amps > 0 && fed(&e.panel));
            let va: f64 = on_leg.map(|e| e.va).sum();
            if va > t.va / 2.0 {
                out.add(
                    Subject::Plant,
                    format!("{}, half {mark}, gives {:.0} VA and {va:.0} VA hang on its leg.", t.tag, t.va / 2.0),
                )
                .fact("half of the nameplate", t.va / 2.0, "VA")
                .fact("connected load of the leg", va, "VA")
                .hint("Move breakers to the other leg, or take a larger transformer.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_more_load_than_the_plate() {
        let list = after_mill(&RULE, |_, p| {
            let t = p.transformers.iter_mut().find(|t| t.tag == "TP1").unwrap();
            t.sealed_va = t.va + 1.0;
        });
        assert!(list.len() == 1 && list[0].sentence.contains("rated 10000 VA"), "{list:#?}");
    }

    /// Whole load within the plate, and all of it on one leg.
    #[test]
    fn fails_a_leg_over_half_of_the_plate() {
        let list = after_mill(&RULE, |_, p| {
            let plate = p.transformers.iter().find(|t| t.tag == "TP1").unwrap().va;
            let e = p.directory.iter_mut().find(|e| e.panel == "A3" && e.phase == 2 && e.amps > 0).unwrap();
            e.va = plate / 2.0 + 1.0;
        });
        assert!(list.len() == 1 && list[0].sentence.contains("half X4, gives 5000 VA"), "{list:#?}");
    }
}
