//! HW607 panelboard-too-small: more breakers than the largest usual panelboard has spaces for.
//!
//! Spaces are counted to the last breaker of each directory. 84 spaces: common practice, no source.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    kinds::panelboard::SPACE_MAX,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject};
use std::collections::BTreeMap;

pub(super) const RULE: Rule = Rule {
    code: "HW607",
    name: "panelboard-too-small",
    severity: Severity::Error,
    source: Source {
        standard: "common practice, no source",
        section: "84 spaces",
        editions: "none",
        status: Status::Memory,
        remark: "panelboards of more spaces are hardly made",
    },
    doc: "What it finds\n\
        A panelboard whose directory has breakers beyond space 84.\n\nWhy it matters\n\
        Such a panelboard is hardly to be had: on the day it arrives the last circuits have no place.\n\nHow to mend it\n\
        Take loads off it: fractional-horsepower motors at 120 V to a panelboard behind a transformer, a fan group on one circuit, \
        or part of the pumps to a panelboard that is planned apart.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let mut last: BTreeMap<&str, u8> = BTreeMap::new();
    for e in plan.directory.iter().filter(|e| e.poles > 0) {
        let at = last.entry(&e.panel).or_default();
        *at = e.space.max(*at);
    }
    for (panel, space) in last.into_iter().filter(|(_, s)| *s > SPACE_MAX) {
        out.add(Subject::Plant, format!("Panelboard {panel} has a breaker in space {space}; the usual ones end at {SPACE_MAX}."))
            .fact("panelboard", panel, "")
            .hint("Take loads off it, to a second panelboard.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_a_breaker_past_the_last_space_and_no_spare_one() {
        let last = |p: &mut Plan| p.directory.iter().rposition(|e| e.panel == "A2" && e.poles > 0).unwrap();
        let list = after_mill(&RULE, |_, p| {
            let k = last(p);
            p.directory[k].space = 85;
        });
        assert!(list.len() == 1 && list[0].sentence.contains("A2 has a breaker in space 85"), "{list:?}");
        let edge = after_mill(&RULE, |_, p| {
            let k = last(p);
            p.directory[k].space = 84;
        });
        assert!(edge.is_empty());
    }
}
