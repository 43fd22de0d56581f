//! HW102 drop-over-limit: voltage drop over the limits that the job sets.
//!
//! The drop of each conductor's own length is computed anew (Chapter 9 Table 8 at 75 °C, out and back), and the larger of that
//! and the row's own figure is held against the limits: branch, branch plus feeder, 24 V. Source: informational notes, guidance only.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    pass::boards::Board,
    plan::{Circuit, Duty, Feed, Plan},
    row::{Class, Row},
    tables::{Awg, Status, drop, motor::Phases},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW102",
    name: "drop-over-limit",
    severity: Severity::Warning,
    source: nec(
        "210.19(A), 215.2(A), informational notes",
        Status::Memory,
        "3 % and 5 % are advice, not a rule; the limit of 24 V circuits is the job's own",
    ),
    doc: "What it finds\n\
        A circuit that loses more volts on its way than the job allows: 3 % on the branch circuit and 5 % with the feeder unless the \
        job says otherwise, and the job's own limit on 24 V circuits.\n\nWhy it matters\n\
        Coils and actuators are made for 85 % of their voltage; a motor on low volts draws more current and starts badly. On 24 V a long \
        thin pair loses a tenth quickly.\n\nHow to mend it\n\
        Use the next larger conductor (and the larger equipment ground that goes with it), a shorter way, or a higher voltage with a \
        relay or transformer near the load.",
    check,
};

/// The drop of a row's own length and its stated one: the larger, per cent.
fn worst_percent(row: &Row, circuit: &Circuit) -> f64 {
    let phases = if circuit.phases == 3 { Phases::Three } else { Phases::One };
    let own = row
        .awg
        .parse::<Awg>()
        .ok()
        .and_then(|a| drop::percent(drop::volts(phases, a, row.amps, row.length_ft, 75.0), circuit.volts))
        .unwrap_or(0.0);
    own.max(row.drop_percent)
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let worst = |c: &Circuit| {
        let rows = plan.rows.iter().filter(|r| r.circuit == c.name && r.class != Class::Ground);
        rows.map(|r| worst_percent(r, c)).fold(0.0, f64::max)
    };
    // Behind a transformer its own circuit and its secondary conductors are the feeder.
    let derived: f64 = plan.circuits.iter().filter(|c| matches!(c.duty, Duty::Transformer | Duty::Feeder)).map(worst).sum();
    for c in &plan.circuits {
        let rows = plan.rows.iter().filter(|r| r.circuit == c.name && r.class != Class::Ground);
        let Some((percent, row)) =
            rows.map(|r| (worst_percent(r, c), r)).max_by(|a, b| a.0.total_cmp(&b.0))
        else {
            continue;
        };
        let s = &job.settings;
        let second = matches!(&c.feed, Feed::Panelboard { panel, .. } if panel == Board::Second.tag());
        let ahead = if second { derived } else { 0.0 };
        let total = percent + ahead + job.service.feeder_drop_percent;
        let (limit, got, of) = if c.class == Class::Class2 || c.volts <= 30.0 {
            (s.drop_class2_max_percent, percent, "24 V circuit")
        } else if percent > s.drop_branch_max_percent {
            (s.drop_branch_max_percent, percent, "branch circuit")
        } else {
            (s.drop_total_max_percent, total, "feeder and branch circuit together")
        };
        if got > limit + 1e-9 {
            out.add(
                c.subject.unwrap_or(Subject::Plant),
                format!(
                    "{} loses {got:.1} % of {:.0} V on the way to {}, over the limit of {limit:.1} % for {of}.",
                    c.label, c.volts, row.to.device
                ),
            )
            .fact("drop", got, "%")
            .fact("limit", limit, "%")
            .fact("current", row.amps, "A")
            .fact("length one way", row.length_ft, "ft")
            .fact("conductor", row.awg.clone(), "AWG")
            .hint("Use a larger conductor, and a larger equipment ground in proportion.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, after_mill, clean, found};

    #[test]
    fn passes_short_runs() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_a_long_run_whatever_the_row_says() {
        // 4.4 A over 300 ft of 12 AWG: 2 * 4.4 * 0.3 * 1.98 = 5.2 V of 120 V = 4.4 %.
        let list = after(&RULE, |_, plan| plan.rows[10].length_ft = 300.0);
        assert_eq!(list.len(), 1, "{list:#?}");
        assert!(list[0].sentence.contains("4.4 %"), "{}", list[0].sentence);
    }

    #[test]
    fn fails_with_the_feeder() {
        let list = after(&RULE, |job, _| job.service.feeder_drop_percent = 4.5);
        assert_eq!(list.len(), 3, "three branch circuits at 1 % each");
        assert!(list[0].sentence.contains("together"));
    }

    /// 1.5 % to the transformer, 1.5 % behind it and 2.5 % on the branch are 5.5 %.
    #[test]
    fn fails_with_the_transformer_ahead() {
        let with = |ahead: f64| {
            after_mill(&RULE, |job, plan| {
                job.service.feeder_drop_percent = 0.0;
                for r in plan.rows.iter_mut().filter(|r| r.class != Class::Ground) {
                    let Some(c) = plan.circuits.iter().find(|c| c.name == r.circuit) else { continue };
                    r.length_ft = 0.0;
                    r.drop_percent = match c.duty {
                        Duty::Transformer | Duty::Feeder => ahead,
                        _ if c.name == "A3-1" || c.name == "A2-5" => 2.5,
                        _ => 0.0,
                    };
                }
            })
        };
        assert!(with(1.0).is_empty(), "{:?}", with(1.0));
        let list = with(1.5);
        assert!(list.len() == 1 && list[0].sentence.contains("5.5 %"), "{list:?}");
    }

    #[test]
    fn fails_a_low_voltage_circuit_at_its_own_limit() {
        let list = after(&RULE, |_, plan| {
            for r in plan.rows.iter_mut().filter(|r| r.circuit == "T1") {
                r.drop_percent = 11.0;
            }
        });
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("limit of 10.0 %"));
    }
}
