//! Under which conditions a row's conductor carries its current.

use crate::{
    job::Job,
    plan::Plan,
    row::{Class, Row},
    tables::{
        Awg, Insulation, adjustment,
        ampacity::{Column, amps},
        conductor::Conditions,
    },
};

/// The column that the job's terminals are marked for.
pub(super) fn terminals(job: &Job) -> Column {
    if job.settings.terminal_c >= 75 { Column::C75 } else { Column::C60 }
}

/// Ambient and company of a row's conductor: every conductor of its run that is no equipment ground counts, but control conductors
/// beside power that carry a tenth of their ampacity at most.
pub(super) fn conditions(job: &Job, plan: &Plan, row: &Row, awg: Awg) -> Conditions {
    let run = plan.runs.iter().find(|r| r.name == row.run);
    let nipple = run.is_none_or(|r| r.length_ft <= adjustment::NIPPLE_MAX_FT);
    let power = plan.rows.iter().any(|r| r.run == row.run && r.class == Class::Power);
    let idle = |r: &Row| {
        let may = r.awg.parse().ok().and_then(|a: Awg| amps(a, Column::C60)).unwrap_or(0.0);
        power && r.class == Class::Control && !adjustment::control_counts(r.amps, may)
    };
    let mates = plan.rows.iter().filter(|r| r.run == row.run && r.class != Class::Ground && !idle(r)).count();
    Conditions {
        insulation: Insulation::from_mark(&row.insulation).map_or(Column::C60, Insulation::column),
        // 18 and 16 AWG stand in the 90 °C column only.
        terminals: if awg < Awg::A14 { Column::C90 } else { terminals(job) },
        ambient_c: run.map_or(30.0, |r| r.ambient_c),
        current_carrying: if nipple { 3 } else { mates },
    }
}
