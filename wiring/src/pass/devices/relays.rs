//! Control relays: those that end and tap safety chains, and those that isolate what is not dry.

use super::{CONTROL_V, Inventory, Role, Twin, name};
use crate::{
    job::{BoilerContact, EndSwitch, Job, Shown, ThermostatKind},
    kinds::{relay, transformer},
    pass::choose::{
        ChainOf, Choices, Look,
        calls::{self, Caller, Gate},
    },
};
use heatwright_core::{BoilerId, ContactUse, Subject, ZoneId, config::BoilerPump};

/// Relays by which calls act without the controller.
fn call_relays(inv: &mut Inventory, job: &Job, gate: Gate) {
    let here = job.panel.place;
    for c in calls::callers(job) {
        let ending = calls::ending(c);
        let subject = match c {
            Caller::Zone(z) => Subject::Zone(z),
            Caller::Tank => Subject::Tank,
        };
        let of = name(job, subject);
        let low = calls::class2_poles(job, c);
        if low > 0 {
            let label = format!("call of {of}, Class 2 contacts");
            let d = relay::relay(&format!("KT{ending}"), here, &label, transformer::SECONDARY_V, low);
            inv.add(Role::CallRelay(c), Some(subject), d);
        }
        let label = format!("call of {of}, line-voltage contacts");
        let poles = calls::line_poles(job, c);
        let d = relay::relay(&format!("KU{ending}"), here, &label, transformer::SECONDARY_V, poles);
        inv.add(Role::CallLineRelay(c), Some(subject), d);
    }
    let mut bank = |role: fn(u8) -> Role, letters: &str, label: &str, volts: f64, contacts: usize| {
        for n in 0..calls::relays(contacts) {
            let d = relay::relay(&format!("{letters}{}", n + 1), here, label, volts, calls::poles_of(n, contacts));
            inv.add(role(n as u8), None, d);
        }
    };
    bank(Role::AnyCall, "KX", "any call, line-voltage contacts", CONTROL_V, calls::asks(job).len());
    bank(Role::AnyCall24, "KXV", "any call, Class 2 contacts", CONTROL_V, calls::asks_24(job).len());
    let first = "tank first: opens the paths of zones that wait";
    bank(Role::TankFirst, "KQ", first, transformer::SECONDARY_V, calls::waiting(job).len());
    let first = "tank first, Class 2 contacts: shuts the valves of zones that wait";
    bank(Role::TankFirst24, "KQV", first, transformer::SECONDARY_V, calls::waiting_24(job).len());
    if gate == Gate::Health {
        bank(Role::HandOver, "KH", "controller healthy: hands over when it drops", CONTROL_V, calls::paths(job).len());
        bank(
            Role::HandOver24,
            "KHV",
            "controller healthy, Class 2 contacts: hands over when it drops",
            CONTROL_V,
            calls::paths_24(job).len(),
        );
    }
}

pub(super) fn relays(inv: &mut Inventory, job: &Job, choices: &Choices) {
    if let Some(gate) = calls::gate(job) {
        call_relays(inv, job, gate);
    }
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
        if zone.thermostat.kind == ThermostatKind::Powered && calls::gate(job).is_none() {
            let label = format!("call of {}", name(job, subject));
            let d = relay::relay(&format!("KT{}", i + 1), here, &label, transformer::SECONDARY_V, 1);
            inv.add(Role::CallRelay(Caller::Zone(z)), Some(subject), d);
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
