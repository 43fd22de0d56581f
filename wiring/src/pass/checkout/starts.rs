//! How each motor is started while burners are still shut off: by its selector where it has one, else by the call that the network
//! shows. A call asks boilers too, so that their gas stays shut until the limits are tried (common practice, no source).

use crate::{
    job::Job,
    part::{Actuator, LoadUse},
    pass::movers::Movers,
    plan::MotorProtection,
};
use heatwright_core::{
    BoilerId, PumpId, RelayUse, Subject,
    config::{BoilerPump, ZoneDrive},
};

/// What a person does to start this motor.
pub(super) fn start(job: &Job, movers: &Movers<'_>, m: &MotorProtection) -> String {
    let uses = match m.what {
        LoadUse::Pump(p) | LoadUse::PumpSupply(p) => vec![LoadUse::PumpStart(p), m.what],
        what => vec![what],
    };
    let found = uses.into_iter().map(|u| movers.load(u)).find(|f| !f.is_empty()).unwrap_or_default();
    let hand = found.iter().find(|(by, _)| matches!(by, Actuator::Hand(_)));
    if let Some((_, tag)) = hand {
        return format!("{tag} at HAND");
    }
    let mut list: Vec<String> = Vec::new();
    for (by, tag) in &found {
        let more = match *by {
            Actuator::Call(z) => vec![format!("call of {}", job.names.of(Subject::Zone(z)))],
            Actuator::TankCall => vec![format!("call of {}", job.names.of(Subject::Tank))],
            Actuator::BoilerPump(b) => {
                vec![format!("call for heat: {} asks for it", job.names.of(Subject::Boiler(b)))]
            }
            Actuator::FanAquastat(..) => vec![format!("{tag} set below its water; cold: in part 6")],
            Actuator::Relay(r) => match job.points.relays.get(r.index()) {
                Some(RelayUse::Pump(p)) => vec![by_controller(job, *p)],
                _ => Vec::new(),
            },
            _ => Vec::new(),
        };
        list.extend(more.into_iter().filter(|m| !list.contains(m)).collect::<Vec<_>>());
    }
    if list.is_empty() {
        return match m.what {
            LoadUse::CondensatePump(_) => "its float: water into the sump".into(),
            _ => "its disconnect: it runs with its supply".into(),
        };
    }
    list.join(", or ")
}

/// Whose call makes the controller start this pump.
fn by_controller(job: &Job, p: PumpId) -> String {
    let zones = job.zones.iter().enumerate().filter(|(_, z)| match z.drive {
        ZoneDrive::Pump(q) => q == p,
        ZoneDrive::Valve { pump } => pump == Some(p),
    });
    let mut calls: Vec<String> =
        zones.map(|(i, _)| job.names.of(Subject::Zone(heatwright_core::ZoneId(i as u8)))).collect();
    if job.tank.as_ref().is_some_and(|t| t.pump == p) {
        calls.push(job.names.of(Subject::Tank));
    }
    if !calls.is_empty() {
        return format!("call of {}", calls.join(" or "));
    }
    let of = |b: &crate::job::Boiler| matches!(b.pump, BoilerPump::Controller(q) | BoilerPump::Either(q) if q == p);
    match job.boilers.iter().position(of) {
        Some(i) => format!("call for heat that brings {}", job.names.of(Subject::Boiler(BoilerId(i as u8)))),
        None => "any call for heat".into(),
    }
}
