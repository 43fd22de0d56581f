//! 24 V loads dealt out to listed Class 2 transformers.

use super::{
    Load24, Supply24,
    calls::{self, Caller},
};
use crate::{
    job::{Control, EndSwitch, Job, ThermostatKind},
    kinds::relay::RELAY_COIL_VA,
    tables::{class2, transformer},
};
use heatwright_core::{SafetyId, ZoneId};

pub(super) fn supplies(job: &Job) -> Vec<Supply24> {
    let controller = (Load24::Controller, job.panel.controller_va, 0.0);
    let mut out = match job.control {
        Control::Controller => vec![sized(vec![controller])],
        Control::ZoneRelays => Vec::new(),
    };
    let mut group: Vec<(Load24, f64, f64)> = Vec::new();
    for load in loads24(job) {
        let alone = match load.0 {
            Load24::Mixing(z) => job.zones.get(z.index()).and_then(|z| z.mixing).is_some_and(|m| !m.signal_isolated),
            _ => false,
        };
        if alone {
            out.push(sized(vec![load]));
            continue;
        }
        let with: Vec<_> = group.iter().copied().chain([load]).collect();
        if !group.is_empty() && class2_va(&with).is_none() {
            out.push(sized(std::mem::take(&mut group)));
        }
        group.push(load);
    }
    if !group.is_empty() {
        out.push(sized(group));
    }
    out
}

/// 24 V loads in the order of zones, then damper, then safeties.
fn loads24(job: &Job) -> Vec<(Load24, f64, f64)> {
    let mut out = Vec::new();
    for (i, zone) in job.zones.iter().enumerate() {
        let z = ZoneId(i as u8);
        let powered = zone.thermostat.kind == ThermostatKind::Powered;
        let coils = call_va(job, Caller::Zone(z));
        if powered || coils > 0.0 {
            let va = if powered { zone.thermostat.va } else { 0.0 };
            out.push((Load24::Thermostat(z), va + coils, 0.0));
        }
        if let Some(v) = zone.valve {
            let pulls = v.end_switch == EndSwitch::Joined || calls::pulled_by_end_switch(job, z).is_some();
            let relay = if pulls { RELAY_COIL_VA } else { 0.0 };
            out.push((Load24::Valve(z), v.va + relay, v.inrush_va));
        }
        if let Some(m) = zone.mixing {
            out.push((Load24::Mixing(z), m.va, 0.0));
        }
    }
    let coils = call_va(job, Caller::Tank);
    if job.tank.is_some() && coils > 0.0 {
        out.push((Load24::Tank, coils, 0.0));
    }
    if let Some(d) = job.damper.filter(|d| d.volts < 60.0) {
        out.push((Load24::Damper, d.va, 0.0));
    }
    for (i, s) in job.safeties.iter().enumerate() {
        if let Some(own) = s.supply.filter(|s| s.volts < 60.0) {
            out.push((Load24::Safety(SafetyId(i as u8)), own.va, 0.0));
        }
    }
    out
}

/// Volt-amperes of the 24 V coils that a call pulls: 0 for a two-wire thermostat that only the controller reads.
pub fn call_va(job: &Job, c: Caller) -> f64 {
    let powered = matches!(c, Caller::Zone(z)
        if job.zones.get(z.index()).is_some_and(|z| z.thermostat.kind == ThermostatKind::Powered));
    match calls::gate(job) {
        None if powered => RELAY_COIL_VA,
        None => 0.0,
        Some(_) => calls::coils_va(job, c),
    }
}

/// The smallest Class 2 nameplate for these loads, with every valve pulling in at once.
fn class2_va(loads: &[(Load24, f64, f64)]) -> Option<f64> {
    let (sealed, inrush) = loads.iter().fold((0.0, 0.0), |(s, i), l| (s + l.1, i + l.2));
    transformer::smallest_class2_va(sealed, inrush)
}

/// One transformer; the Class 2 bound where a single load is past it, which a rule reports.
fn sized(loads: Vec<(Load24, f64, f64)>) -> Supply24 {
    Supply24 { va: class2_va(&loads).unwrap_or(class2::VA_MAX), loads }
}
