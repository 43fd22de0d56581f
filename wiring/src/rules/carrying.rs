//! Under which conditions a row's conductor carries its current.

use crate::{
    job::Job,
    plan::Plan,
    row::{Class, Row},
    tables::{Awg, Insulation, adjustment, ampacity::Column, conductor::Conditions},
};

/// The column that the job's terminals are marked for.
pub(super) fn terminals(job: &Job) -> Column {
    if job.settings.terminal_c >= 75 { Column::C75 } else { Column::C60 }
}

/// Ambient and company of a row's conductor: every conductor of its run that is no equipment ground counts.
pub(super) fn conditions(job: &Job, plan: &Plan, row: &Row, awg: Awg) -> Conditions {
    let run = plan.runs.iter().find(|r| r.name == row.run);
    let nipple = run.is_none_or(|r| r.length_ft <= adjustment::NIPPLE_MAX_FT);
    let mates = plan.rows.iter().filter(|r| r.run == row.run && r.class != Class::Ground).count();
    Conditions {
        insulation: Insulation::from_mark(&row.insulation).map_or(Column::C60, Insulation::column),
        // 18 and 16 AWG stand in the 90 °C column only.
        terminals: if awg < Awg::A14 { Column::C90 } else { terminals(job) },
        ambient_c: run.map_or(30.0, |r| r.ambient_c),
        current_carrying: if nipple { 3 } else { mates },
    }
}
