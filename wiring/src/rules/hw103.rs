//! HW103 raceway-overfilled: more conductors in a raceway than it may hold.
//!
//! The rows of each run are counted anew by size and type. Source: NFPA 70 Chapter 9 Tables 1, 4, 5; see the tables.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Plan, RunForm},
    tables::{
        Awg, Insulation, Status, adjustment,
        raceway::{Emt, Fill, filled_in2, fits, smallest_emt},
    },
};
use heatwright_core::{Severity, Subject};
use std::collections::BTreeMap;

pub(super) const RULE: Rule = Rule {
    code: "HW103",
    name: "raceway-overfilled",
    severity: Severity::Error,
    source: nec("Chapter 9 Tables 1, 4, 5", Status::Partly, "nipples, Note 7 and 18 and 16 AWG are from memory"),
    doc: "What it finds\n\
        A raceway whose conductors, equipment grounds included, fill more of it than is allowed: 53 % for one conductor, 31 % for two, \
        40 % for more, 60 % in a nipple up to 24 in.\n\nWhy it matters\n\
        Conductors that are forced in lose their insulation on the way, and heat cannot leave a packed raceway.\n\nHow to mend it\n\
        Use the next trade size, or split the run. Splitting also helps where many current-carrying conductors cost ampacity.",
    check,
};

/// The conductors of a run by size and type; `Err` names a conductor that is not in the tables.
fn fills(plan: &Plan, run: &str) -> Result<Vec<Fill>, String> {
    let mut by = BTreeMap::<(Awg, Insulation), usize>::new();
    for r in plan.rows.iter().filter(|r| r.run == run) {
        let unknown = || format!("{} AWG {}", r.awg, r.insulation);
        let awg: Awg = r.awg.parse().map_err(|_| unknown())?;
        let insulation = Insulation::from_mark(&r.insulation).ok_or_else(unknown)?;
        *by.entry((awg, insulation)).or_default() += 1;
    }
    Ok(by.into_iter().map(|((awg, insulation), count)| Fill { awg, insulation, count }).collect())
}

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for run in &plan.runs {
        let RunForm::Emt(size) = &run.form else { continue };
        let Some(emt) = Emt::from_mark(size) else {
            out.add(Subject::Plant, format!("Raceway {} has trade size {size}, which is not in the tables.", run.name))
                .severity(Severity::Warning)
                .hint("Check its fill by hand.");
            continue;
        };
        let list = match fills(plan, &run.name) {
            Ok(list) => list,
            Err(what) => {
                out.add(Subject::Plant, format!("Raceway {} holds {what}, whose area is not in the tables.", run.name))
                    .severity(Severity::Warning)
                    .hint("Check its fill by hand.");
                continue;
            }
        };
        let nipple = run.length_ft <= adjustment::NIPPLE_MAX_FT;
        if fits(emt, &list, nipple) == Some(true) {
            continue;
        }
        let n: usize = list.iter().map(|f| f.count).sum();
        let area = filled_in2(&list);
        let finding = out.add(
            Subject::Plant,
            match area {
                Some(a) => format!(
                    "Raceway {} ({size} in) holds {n} conductors of {a:.3} in² together; {:.3} in² is allowed.",
                    run.name,
                    emt.usable_in2(n, nipple)
                ),
                None => format!("Raceway {} ({size} in) holds a conductor that is not made in its size and type.", run.name),
            },
        );
        finding.fact("conductors", n, "").fact("area allowed", emt.usable_in2(n, nipple), "in²");
        if let Some(a) = area {
            finding.fact("area", a, "in²");
        }
        match smallest_emt(&list, nipple) {
            Some(larger) => finding.hint(format!("Use {larger} in.")),
            None => finding.hint("Split the run over several raceways."),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found};

    #[test]
    fn passes_three_of_12_in_a_half_inch() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_ten_of_12_in_a_half_inch() {
        let more = |extra: usize| {
            after(&RULE, |_, plan| {
                let row = plan.rows[0].clone();
                plan.rows.extend(std::iter::repeat_n(row, extra));
            })
        };
        // Run P1 holds three of 12 AWG; nine fit, ten do not.
        assert!(more(6).is_empty());
        let list = more(7);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("10 conductors"));
        assert_eq!(list[0].hints, ["Use 3/4 in."]);
    }

    #[test]
    fn fails_what_it_cannot_measure_with_a_warning() {
        let list = after(&RULE, |_, plan| plan.rows[0].insulation = "rubber".into());
        assert_eq!(list[0].severity, Severity::Warning);
    }
}
