//! Control relays: those that end and tap safety chains, and those that isolate what is not dry.

use super::{CONTROL_V, Inventory, Role, Twin, name};
use crate::{
    job::{BoilerContact, EndSwitch, Job, Shown, ThermostatKind},
    kinds::{relay, transformer},
    pass::choose::{ChainOf, Choices, Look},
};
use heatwright_core::{BoilerId, ContactUse, Subject, ZoneId, config::BoilerPump};

pub(super) fn relays(inv: &mut Inventory, job: &Job, choices: &Choices) {
    let here = job.panel.place;
    for chain in choices.chains.iter().filter(|c| c.relayed) {
        let seen_at_end =
            choices.seen.iter().filter(|s| s.look == Look::End && chain.safeties.contains(&s.safety)).count();
        let (name, label, serves) = match chain.of {
            ChainOf::Common => ("KS".to_owned(), "common safeties".to_owned(), job.boilers.len()),
            ChainOf::CommonProving => ("KD".to_owned(), "common proofs".to_owned(), job.boilers.len()),
            ChainOf::Limit(b) => (format!("KL{}.", b.0 + 1), format!("limits of {}", name(job, Subject::Boiler(b))), 1),
            ChainOf::Proving(b) => {
                (format!("KW{}.", b.0 + 1), format!("proofs of {}", name(job, Subject::Boiler(b))), 1)
            }
            ChainOf::Own(s) => (format!("KZ{}.", s.0 + 1), name(job, Subject::Safety(s)), 1),
        };
        for (twin, n) in [(Twin::First, 1), (Twin::Second, 2)] {
            let extra = if twin == Twin::First { seen_at_end } else { 0 };
            let label = format!("{label}, relay {n} of 2 in series");
            let d = relay::relay(&format!("{name}{n}"), here, &label, CONTROL_V, (serves + extra) as u8);
            inv.add(Role::ChainEnd(chain.of, twin), None, d);
        }
    }
    for seen in choices.seen.iter().filter(|s| s.look == Look::Node) {
        let s = seen.safety;
        let role = Role::ChainTap(s);
        if inv.id(role).is_none() {
            let n = choices.seen.iter().filter(|o| o.look == Look::Node && o.safety == s).count() as u8;
            let label = format!("reading of the chain at {}", name(job, Subject::Safety(s)));
            let d = relay::relay(&format!("KC{}", s.0 + 1), here, &label, CONTROL_V, n);
            inv.add(role, Some(Subject::Safety(s)), d);
        }
    }
    // Energised by what it shows, so that a dead relay, a dead circuit and a cut wire all read as trouble.
    for (shows, tag, what) in [(Shown::Alarm, "KG1", "no alarm"), (Shown::Health, "KG2", "controller healthy")] {
        let n = job.automation.iter().filter(|a| a.shows == shows).count() as u8;
        if n > 0 {
            let label = format!("{what}, to building automation");
            inv.add(Role::StatusRelay(shows), None, relay::relay(tag, here, &label, CONTROL_V, n));
        }
    }
    for (i, zone) in job.zones.iter().enumerate() {
        let z = ZoneId(i as u8);
        let subject = Subject::Zone(z);
        if zone.thermostat.kind == ThermostatKind::Powered {
            let label = format!("call of {}", name(job, subject));
            let d = relay::relay(&format!("KT{}", i + 1), here, &label, transformer::SECONDARY_V, 1);
            inv.add(Role::ThermostatRelay(z), Some(subject), d);
        }
        let end_seen = job.points.contact(ContactUse::EndSwitch(z)).is_some();
        if end_seen && zone.valve.is_some_and(|v| v.end_switch == EndSwitch::Joined) {
            let label = format!("end switch of {}", name(job, subject));
            let d = relay::relay(&format!("KE{}", i + 1), here, &label, transformer::SECONDARY_V, 1);
            inv.add(Role::EndSwitchRelay(z), Some(subject), d);
        }
    }
    for (i, b) in job.boilers.iter().enumerate() {
        let id = BoilerId(i as u8);
        let subject = Subject::Boiler(id);
        let wet = |c: &Option<BoilerContact>| c.as_ref().is_some_and(|c| !c.dry);
        let seen = |u: ContactUse| job.points.contact(u).is_some();
        let asks = matches!(b.pump, BoilerPump::Boiler(_) | BoilerPump::Either(_));
        let list = [
            (Role::FlameRelay(id), "KF", "flame", wet(&b.marks.flame) && seen(ContactUse::Flame(id)), b.control_volts),
            (
                Role::FaultRelay(id),
                "KB",
                "fault",
                wet(&b.marks.fault) && seen(ContactUse::BoilerFault(id)),
                b.control_volts,
            ),
            (
                Role::PumpRequestRelay(id),
                "KP",
                "pump request",
                asks,
                if wet(&b.marks.pump) { b.control_volts } else { CONTROL_V },
            ),
        ];
        for (role, letters, what, wanted, volts) in list {
            if wanted {
                let label = format!("{what} of {}", name(job, subject));
                inv.add(role, Some(subject), relay::relay(&format!("{letters}{}", i + 1), here, &label, volts, 1));
            }
        }
    }
}
