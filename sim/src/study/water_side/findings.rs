//! What is wrong with the answers of the water side's study, and how much it matters.
//!
//! An error is what bursts, boils, leaks or leaves a boiler without flow; a warning what works badly; a note what somebody must look
//! up. The bounds stand beside the parts that compute the answers; those here are our choice: a charge within 7 kPa (1 psi) of
//! the fill pressure, boilers within a tenth of even flow.

use super::{
    Given, WaterIssue, WaterSide,
    balance::{Layout, uneven},
    flow::{RISE_LEAST_K, RISE_MAX_K},
    relief::SECTION_IV_KPA,
};
use crate::{
    plant::Plant,
    study::{Finding, Issue, curve::FAILS_SHARE},
};
use heatwright_core::{Severity, Subject};

/// A gauge is read to this, in kilopascals: 1 psi.
const READ_KPA: f64 = 6.894_757;
/// Flows this far from even are worth a warning.
const UNEVEN_SHARE: f64 = 0.1;
/// Figures that agree to this share agree.
const SAME: f64 = 1e-6;

pub(super) fn findings(plant: &Plant, given: &Given, w: &WaterSide) -> Vec<Finding> {
    let mut out = Vec::new();
    let mut tell = |about: Subject, severity: Severity, issue: WaterIssue| {
        out.push(Finding::new(about, severity, Issue::Water(issue)));
    };
    let p = &w.pressure;
    if p.fill_kpa < p.fill_needed_kpa - READ_KPA {
        let issue = WaterIssue::FillLow { fill_kpa: p.fill_kpa, needed_kpa: p.fill_needed_kpa };
        tell(Subject::Plant, Severity::Warning, issue);
    }
    if p.top_abs_kpa < p.boils_abs_kpa {
        let issue =
            WaterIssue::Boils { hottest_c: given.hottest_c, boils_kpa: p.boils_abs_kpa, top_kpa: p.top_abs_kpa };
        tell(Subject::Plant, Severity::Error, issue);
    }
    match (w.expansion.tank_l, given.tank_l) {
        (None, _) => {
            let issue = WaterIssue::NoRoom {
                fill_kpa: p.fill_kpa,
                needed_kpa: p.fill_needed_kpa,
                max_kpa: p.max_kpa,
                relief_kpa: p.relief_kpa,
            };
            tell(Subject::Plant, Severity::Error, issue);
        }
        // The charge that is given counts; one that leaves no tank any room is told as such.
        (Some(filled_l), Some(tank_l)) if tank_l < w.expansion.charged_l.unwrap_or(filled_l) * (1.0 - SAME) => {
            let needed_l = w.expansion.charged_l.unwrap_or(filled_l);
            let hot_kpa = w.expansion.hot_kpa;
            let issue = WaterIssue::TankSmall { tank_l, needed_l, hot_kpa, relief_kpa: p.relief_kpa };
            // Where the valve itself opens it is an error; a margin that is used up is a warning.
            let opens = hot_kpa.is_none_or(|h| h + given.pump_rise_kpa >= p.relief_kpa);
            tell(Subject::Plant, if opens { Severity::Error } else { Severity::Warning }, issue);
        }
        (Some(filled_l), None) => {
            let needed_l = w.expansion.charged_l.unwrap_or(filled_l);
            tell(Subject::Plant, Severity::Note, WaterIssue::TankUnsaid { needed_l });
        }
        _ => {}
    }
    let needed_l = w.expansion.acceptance_l;
    if let Some(accepts_l) = given.acceptance_l.filter(|l| *l < needed_l * (1.0 - SAME)) {
        tell(Subject::Plant, Severity::Error, WaterIssue::AcceptanceSmall { accepts_l, needed_l });
    }
    if let Some(precharge_kpa) = given.precharge_kpa
        && (precharge_kpa - p.fill_kpa).abs() > READ_KPA
    {
        let issue = WaterIssue::PrechargeOff { precharge_kpa, fill_kpa: p.fill_kpa };
        tell(Subject::Plant, Severity::Warning, issue);
    }
    for r in &w.reliefs {
        let about = Subject::Boiler(r.boiler);
        let most_kpa = r.working_kpa.unwrap_or(SECTION_IV_KPA).min(SECTION_IV_KPA);
        if r.set_kpa > most_kpa * (1.0 + SAME) {
            tell(about, Severity::Error, WaterIssue::ReliefHigh { set_kpa: r.set_kpa, most_kpa });
        }
        match r.rated_w {
            Some(rated_w) if rated_w < r.needed_w * (1.0 - SAME) => {
                tell(about, Severity::Error, WaterIssue::ReliefSmall { rated_w, needed_w: r.needed_w });
            }
            Some(_) => {}
            None => tell(about, Severity::Note, WaterIssue::ReliefUnknown { needed_w: r.needed_w }),
        }
    }
    for f in &w.flows {
        let about = Subject::Boiler(f.boiler);
        if f.least_kg_s < f.min_kg_s * (1.0 - SAME) {
            let alone = f.design_kg_s >= f.min_kg_s * (1.0 - SAME);
            let flow_kg_s = if alone { f.least_kg_s } else { f.design_kg_s };
            let issue = WaterIssue::FlowLow { flow_kg_s, min_kg_s: f.min_kg_s, alone };
            tell(about, if alone { Severity::Warning } else { Severity::Error }, issue);
        }
        if let Some(max_kg_s) = f.max_kg_s
            && f.design_kg_s > max_kg_s * (1.0 + SAME)
        {
            tell(about, Severity::Warning, WaterIssue::FlowHigh { flow_kg_s: f.design_kg_s, max_kg_s });
        }
        let said = given.boilers.get(f.boiler.index());
        let most_k = said.and_then(|g| g.rise_max_k).unwrap_or(RISE_MAX_K);
        let fails = f.carried_share < 1.0 - FAILS_SHARE;
        if f.rise_k > most_k * (1.0 + SAME) || fails {
            let issue = WaterIssue::RiseLarge {
                rise_k: f.rise_k,
                most_k,
                entering_c: f.entering_c,
                outlet_max_c: said.map_or(f64::INFINITY, |g| g.outlet_max_c),
                carried_share: f.carried_share,
            };
            tell(about, if fails { Severity::Error } else { Severity::Warning }, issue);
        }
        if f.rise_k < RISE_LEAST_K * (1.0 - SAME) {
            tell(about, Severity::Note, WaterIssue::RiseSmall { rise_k: f.rise_k, flow_kg_s: f.design_kg_s });
        }
    }
    if let (Some(b), Some(layout)) = (&w.balance, given.layout) {
        let rated: Vec<f64> = plant.boilers.iter().map(|b| b.flow_kg_s).collect();
        let reverse_share = uneven(&b.reverse_kg_s, &rated);
        let uneven_share = match layout {
            Layout::Direct => uneven(&b.direct_kg_s, &rated),
            Layout::Reverse => reverse_share,
        };
        if uneven_share > UNEVEN_SHARE {
            tell(Subject::Header, Severity::Warning, WaterIssue::Uneven { uneven_share, reverse_share });
        }
    }
    out
}
