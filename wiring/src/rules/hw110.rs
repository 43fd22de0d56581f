//! HW110 row-lands-nowhere: a row or a part that names something that does not exist.
//!
//! The network's own rebuilding is asked; what it refuses is reported one by one. Our choice.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    net::Network,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW110",
    name: "row-lands-nowhere",
    severity: Severity::Error,
    source: Source { standard: "our choice", section: "a schedule names devices and terminals that exist", editions: "none", status: Status::Checked, remark: "" },
    doc: "What it finds\n\
        A row of the schedule that lands on an unknown device or terminal, two devices with one tag, or a \
        contact whose coil does not exist.\n\nWhy it matters\n\
        Such a wire cannot be pulled, and everything that is concluded from the rest of the schedule may be \
        wrong.\n\nHow to mend it\n\
        Correct the mark in the plant file where the user's own equipment is meant; otherwise it is a fault of \
        the planner: report it.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for e in Network::rebuild(&plan.devices, &plan.rows).err().unwrap_or_default() {
        let text = e.to_string();
        let text = text.trim_end_matches('.');
        out.add(Subject::Plant, format!("The schedule does not hold together: {text}."))
            .hint("Compare the marks typed for the equipment with the schedule.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_an_unknown_terminal_and_a_tag_twice() {
        let list = after(&RULE, |_, plan| plan.rows[0].to.terminal = "nowhere".into());
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("nowhere"));
        let list = after(&RULE, |_, plan| {
            let twin = plan.devices[1].clone();
            plan.devices.push(twin);
        });
        assert!(!list.is_empty());
    }
}
