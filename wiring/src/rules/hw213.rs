//! HW213 contact-over-rating: a load on a relay contact that may not make, break or carry it.
//!
//! Looked at: what the controller's relays and relays of the same kind switch that is no motor (those are HW206's): the alarm
//! beacon, each boiler's demand pair, the combustion-air damper, zone valves; and the contact of a boiler that switches its own
//! pump, by the current its plate allows. Make and break by the control-circuit rating code. Source: NEMA ICS 5, see the table.

use super::Rule;
use crate::{
    finding::Findings,
    job::{Job, PilotDuty},
    part::LoadUse,
    plan::{MotorSwitch, Plan},
    tables::{
        Source, Status,
        pilot::{Code, Duty},
    },
};
use heatwright_core::{BoilerId, Severity, Subject, ZoneId};

pub(super) const RULE: Rule = Rule {
    code: "HW213",
    name: "contact-over-rating",
    severity: Severity::Error,
    source: Source {
        standard: "NEMA ICS 5",
        section: "contact rating codes",
        editions: "2000 and later",
        status: Status::Checked,
        remark: "",
    },
    doc: "What it finds\n\
        A beacon, a boiler's demand pair, a damper or a zone valve that asks more of a relay contact than its control-circuit \
        rating; a boiler's own pump contact with a pump of more current than the boiler's plate allows.\n\nWhy it matters\n\
        A contact over its rating welds: the valve stays open, the boiler stays called, whatever the controller says.\n\nHow to mend it\n\
        Let the contact drive a relay or contactor that may switch the load, or take a smaller load.",
    check,
};

fn code(p: PilotDuty) -> Code {
    let duty = match p {
        PilotDuty::A300 => Duty::A,
        PilotDuty::B300 => Duty::B,
        PilotDuty::C300 => Duty::C,
        PilotDuty::D300 => Duty::D,
    };
    Code { duty, volts_max: 300 }
}

/// What relay contacts switch: whose, in words, volts, volt-amperes held and on closing.
fn loads(job: &Job) -> Vec<(Subject, &'static str, f64, f64, f64)> {
    let mut list = Vec::new();
    if let Some(b) = &job.beacon {
        list.push((Subject::Plant, "the alarm beacon", 120.0, b.va, b.va));
    }
    for (i, b) in job.boilers.iter().enumerate() {
        list.push((Subject::Boiler(BoilerId(i as u8)), "its demand pair", b.control_volts, b.pair_va, b.pair_va));
    }
    if let Some(d) = &job.damper {
        list.push((Subject::Damper, "the damper", d.volts, d.va, d.va));
    }
    for (i, z) in job.zones.iter().enumerate() {
        if let Some(v) = &z.valve {
            list.push((Subject::Zone(ZoneId(i as u8)), "its valve", v.volts, v.va, v.inrush_va));
        }
    }
    list
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let relay = code(job.panel.relay.pilot);
    for (about, what, volts, held_va, closing_va) in loads(job) {
        if relay.drives(volts, held_va, closing_va) {
            continue;
        }
        let r = relay.at(volts);
        let name = job.names.of(about);
        out.add(
            about,
            format!(
                "{name}: {what} takes {:.2} A at {volts:.0} V, {:.2} A on closing; a {:?} contact may break {:.2} A and make {:.2} A there.",
                held_va / volts,
                closing_va / volts,
                job.panel.relay.pilot,
                r.map_or(0.0, |r| r.break_amps),
                r.map_or(0.0, |r| r.make_amps)
            ),
        )
        .fact("current", held_va / volts, "A")
        .hint("Put a relay or contactor between that may switch it.");
    }
    for m in plan.motors.iter().filter(|m| m.switch == MotorSwitch::BoilerContact) {
        let LoadUse::Pump(p) = m.what else { continue };
        for (i, b) in job.boilers.iter().enumerate() {
            let most = b.marks.pump.as_ref().and_then(|c| c.amps_max);
            let owns = matches!(b.pump, heatwright_core::config::BoilerPump::Boiler(own) if own == p);
            if let Some(most) = most.filter(|most| owns && m.nameplate_a > *most) {
                let about = Subject::Boiler(BoilerId(i as u8));
                out.add(
                    about,
                    format!(
                        "{} takes {:.2} A; the pump contact of {} carries {most:.2} A at most.",
                        job.names.of(Subject::Pump(p)),
                        m.nameplate_a,
                        job.names.of(about)
                    ),
                )
                .fact("current", m.nameplate_a, "A")
                .fact("largest", most, "A")
                .hint("Let the contact ask the controller or a contactor for the pump.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after_mill, found};

    /// B300: 360 VA break at 120 V; the thermal current, 5 A, at 24 V.
    #[test]
    fn fails_a_beacon_and_a_pair_over_the_rating() {
        let beacon = |va| after_mill(&RULE, |job, _| job.beacon.as_mut().unwrap().va = va);
        assert!(beacon(360.0).is_empty());
        assert!(beacon(361.0)[0].sentence.contains("may break 3.00 A"), "{:?}", beacon(361.0));
        let pair = |va| {
            after_mill(&RULE, |job, _| {
                job.boilers[0].control_volts = 24.0;
                job.boilers[0].pair_va = va;
            })
        };
        assert!(pair(120.0).is_empty());
        assert_eq!(pair(121.0).len(), 1);
    }

    #[test]
    fn fails_a_pump_over_its_boilers_contact() {
        let mut job = crate::fixtures::library();
        let mut plan = crate::plan::plan(&job).unwrap();
        let m = plan.motors.iter_mut().find(|m| matches!(m.what, LoadUse::Pump(_))).unwrap();
        m.switch = MotorSwitch::BoilerContact;
        let LoadUse::Pump(pump) = m.what else { unreachable!() };
        let m = m.clone();
        let b = job.boilers.iter_mut().find(|b| b.marks.pump.is_some()).unwrap();
        b.pump = heatwright_core::config::BoilerPump::Boiler(pump);
        let with = |amps_max| {
            let mut job = job.clone();
            job.boilers.iter_mut().filter_map(|b| b.marks.pump.as_mut()).for_each(|c| c.amps_max = Some(amps_max));
            found(&RULE, &job, &plan)
        };
        assert!(with(m.nameplate_a).is_empty());
        assert_eq!(with(m.nameplate_a - 0.1).len(), 1);
    }
}
