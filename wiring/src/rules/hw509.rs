//! HW509 limit-of-another-boiler: a boiler holds a safety that its sister lacks, or a boiler's own limit stops the whole plant.
//!
//! Sisters are boilers of equal input. A slip of one digit in `scope` gives one boiler two limits and the
//! next none; each file line reads right by itself. Source: common practice, no source.

use super::Rule;
use crate::{
    finding::Findings,
    job::{Boiler, Job},
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{
    BoilerId, SafetyId, Severity, Subject,
    config::{SafetyKind, SafetyScope},
};

pub(super) const RULE: Rule = Rule {
    code: "HW509",
    name: "limit-of-another-boiler",
    severity: Severity::Warning,
    source: Source { standard: "common practice", section: "each boiler has its own limits", editions: "none", status: Status::Memory, remark: "no standard; two safeties of one kind on a boiler are allowed, and compared with its sisters only" },
    doc: "What it finds\n\
        Two safeties of one kind on a boiler while a sister (a boiler of equal input) has none; a note where the sister \
        has fewer. A boiler without a high limit, low-water cutoff, flow switch or gas-pressure switch that a sister has. And a high limit whose scope is the whole plant, or, with several boilers, a low-water cutoff or flow switch.\n\n\
        Why it matters\n\
        A limit that is mounted on one boiler and wired to another stops the wrong burner, and its own boiler runs without it. One limit \
        for the plant leaves the boiler where it does not sit unwatched, and its trip stops the boilers that could have gone on.\n\n\
        How to mend it\n\
        Write the boiler on which it sits in `scope`. Where the second device is meant, give the sister one too.",
    check,
};

const ONE_A_BOILER: [(SafetyKind, &str); 4] = [
    (SafetyKind::HighLimit, "high limits that come back by themselves"),
    (SafetyKind::HighLimitManual, "high limits with hand reset"),
    (SafetyKind::LowWater, "low-water cutoffs"),
    (SafetyKind::FlowSwitch, "flow switches"),
];

/// The same, where the jurisdiction wants them.
const GAS: [(SafetyKind, &str); 2] = [(SafetyKind::GasLow, "low gas-pressure switches"), (SafetyKind::GasHigh, "high gas-pressure switches")];

fn sister(n: usize) -> &'static str {
    if n == 1 { "sister" } else { "sisters" }
}

/// Of one size, within a hundredth: what limits a boiler wants hangs on its input.
fn sisters(a: &Boiler, b: &Boiler) -> bool {
    (a.input_btu_h - b.input_btu_h).abs() <= 0.01 * a.input_btu_h.abs()
}

/// The safeties of one kind on one boiler.
fn of(job: &Job, kind: SafetyKind, id: BoilerId) -> Vec<SafetyId> {
    let mine = |s: &crate::job::Safety| s.config.kind == kind && s.config.scope == SafetyScope::Boiler(id);
    job.safeties.iter().enumerate().filter(|(_, s)| mine(s)).map(|(i, _)| SafetyId(i as u8)).collect()
}

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    let boilers = || job.boilers.iter().enumerate().map(|(i, b)| (BoilerId(i as u8), b));
    for (kind, words) in ONE_A_BOILER {
        for (id, boiler) in boilers() {
            let held = of(job, kind, id);
            let Some(last) = held.last().filter(|_| held.len() >= 2) else { continue };
            let fewer: Vec<(String, usize)> = boilers()
                .filter(|(other, b)| *other != id && sisters(boiler, b))
                .map(|(other, _)| (job.names.of(Subject::Boiler(other)), of(job, kind, other).len()))
                .filter(|(_, n)| *n < held.len())
                .collect();
            let none = fewer.iter().any(|(_, n)| *n == 0);
            if fewer.is_empty() {
                continue;
            }
            let names: Vec<String> = held.iter().map(|s| job.names.of(Subject::Safety(*s))).collect();
            let theirs: Vec<String> = fewer
                .iter()
                .map(|(name, n)| format!("{name} has {}", if *n == 0 { "none".to_owned() } else { n.to_string() }))
                .collect();
            out.add(
                Subject::Safety(*last),
                format!(
                    "{} has {} {words} ({}), while of its sisters {}: one of them may be meant for a sister.",
                    job.names.of(Subject::Boiler(id)),
                    held.len(),
                    names.join(", "),
                    theirs.join(", "),
                ),
            )
            .severity(if none { Severity::Warning } else { Severity::Note })
            .field("safeties.scope")
            .hint("Write the boiler on which it sits as `scope`; where two are meant, give the sisters the second one too.");
        }
    }
    for (kind, words) in ONE_A_BOILER.iter().chain(&GAS).copied() {
        for (id, boiler) in boilers().filter(|(id, _)| of(job, kind, *id).is_empty()) {
            let with = boilers().filter(|(_, b)| sisters(boiler, b)).map(|(other, _)| (other, of(job, kind, other).len()));
            // Where a sister has two, or one is the plant's, that is told of.
            let with: Vec<(BoilerId, usize)> = with.filter(|(_, n)| *n > 0).collect();
            let plants = job.safeties.iter().any(|s| s.config.kind == kind && s.config.scope == SafetyScope::Plant);
            if with.is_empty() || plants || with.iter().any(|(_, n)| *n > 1) {
                continue;
            }
            let names: Vec<String> = with.iter().map(|(b, _)| job.names.of(Subject::Boiler(*b))).collect();
            let about = Subject::Boiler(id);
            let verb = if names.len() == 1 { "has" } else { "have" };
            out.add(
                about,
                format!("{} has none of the {words} that its {} {} {verb}.", job.names.of(about), sister(names.len()), names.join(", ")),
            )
            .severity(if GAS.iter().any(|g| g.0 == kind) { Severity::Note } else { Severity::Warning })
            .hint("Enter its own, with this boiler as `scope`; where it needs none, let this stand.");
        }
    }
    for (i, s) in job.safeties.iter().enumerate() {
        let high = matches!(s.config.kind, SafetyKind::HighLimit | SafetyKind::HighLimitManual);
        let own = high
            || job.boilers.len() > 1 && matches!(s.config.kind, SafetyKind::LowWater | SafetyKind::FlowSwitch);
        if s.config.scope != SafetyScope::Plant || !own {
            continue;
        }
        let about = Subject::Safety(SafetyId(i as u8));
        let why = if job.boilers.len() > 1 {
            "it watches the boiler on which it sits and stops all of them"
        } else {
            "it does not count as the limit of the boiler on which it sits"
        };
        out.add(about, format!("{} is a boiler's own safety, and its scope is the whole plant: {why}.", job.names.of(about)))
            .field("safeties.scope")
            .hint("Write the boiler on which it sits as `scope`, and enter one for each boiler.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found, safety};
    use heatwright_core::config::{Reset, SafetyCircuit};

    /// Two sisters with these high limits each, by boiler.
    fn with(limits: &[SafetyScope], same: bool) -> Vec<(Severity, String)> {
        let list = after(&RULE, |job, _| {
            let mut second = job.boilers[0].clone();
            if !same {
                second.input_btu_h *= 2.0;
            }
            job.boilers.push(second);
            job.safeties.clear();
            for scope in limits {
                job.safeties.push(safety(SafetyKind::HighLimit, *scope, SafetyCircuit::Limit, Reset::Automatic));
            }
        });
        list.into_iter().map(|f| (f.severity, f.sentence)).collect()
    }

    const A: SafetyScope = SafetyScope::Boiler(BoilerId(0));
    const B: SafetyScope = SafetyScope::Boiler(BoilerId(1));

    #[test]
    fn passes_one_each_two_each_and_boilers_that_are_no_sisters() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
        assert_eq!(with(&[A, B], true), []);
        assert_eq!(with(&[A, A, B, B], true), []);
        assert_eq!(with(&[A, A], false), []);
        assert_eq!(with(&[A], false), []);
    }

    #[test]
    fn fails_for_a_boiler_without_what_its_sister_has() {
        let list = with(&[A], true);
        assert_eq!(list.len(), 1, "{list:?}");
        assert_eq!(list[0].0, Severity::Warning);
        assert!(list[0].1.contains("none of the high limits that come back by themselves that its sister"), "{list:?}");
        // Gas-pressure switches are what the jurisdiction wants: a note.
        let gas = after(&RULE, |job, _| {
            job.boilers.push(job.boilers[0].clone());
            job.safeties = vec![safety(SafetyKind::GasLow, B, SafetyCircuit::Limit, Reset::Manual)];
        });
        assert_eq!(gas.iter().map(|f| (f.severity, f.about)).collect::<Vec<_>>(), [(Severity::Note, Subject::Boiler(BoilerId(0)))]);
    }

    #[test]
    fn fails_two_on_one_and_none_on_its_sister() {
        let list = with(&[A, A], true);
        assert_eq!(list.len(), 1);
        assert_eq!(list[0].0, Severity::Warning);
        assert!(list[0].1.contains("has 2 high limits") && list[0].1.contains("boiler 2 has none"), "{}", list[0].1);
        let list = with(&[A, B, A], true);
        assert_eq!((list.len(), list[0].0), (1, Severity::Note), "{list:?}");
        assert!(list[0].1.contains("boiler 2 has 1"), "{}", list[0].1);
    }

    #[test]
    fn fails_a_boilers_limit_for_the_whole_plant() {
        let list = with(&[SafetyScope::Plant, B], true);
        assert_eq!((list.len(), list[0].0), (1, Severity::Warning), "{list:?}");
        assert!(list[0].1.contains("whole plant"), "{}", list[0].1);
        // With one boiler a low-water cutoff of the plant is its own; a high limit is not counted for it.
        let one = |kind| {
            after(&RULE, |job, _| {
                job.safeties = vec![safety(kind, SafetyScope::Plant, SafetyCircuit::Limit, Reset::Automatic)];
            })
            .len()
        };
        assert_eq!((one(SafetyKind::LowWater), one(SafetyKind::HighLimit)), (0, 1));
    }
}
