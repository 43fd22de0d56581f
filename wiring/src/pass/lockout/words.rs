//! The words of a lockout sheet: cautions, restart, what else stops. Steps are in `steps`, stored energy in `energy`.
//!
//! Waiting time for capacitors where the plate names none: 5 minutes, our choice. Kinds of restart: common practice.

use super::{Item, Stops};
use crate::{
    device::Kind,
    job::{Control, Job, Selector},
    part::{Actuator, LoadUse},
    pass::movers::Movers,
};
use heatwright_core::{BoilerId, RelayUse, Subject, config::BoilerPump};

/// What holds for every sheet.
pub(super) fn cautions(job: &Job) -> Vec<&'static str> {
    vec![
        "This is a planning aid. The local code, the authority having jurisdiction, the instructions of the equipment and licensed \
         practice govern.",
        "Lock out and test before touch. A sheet made from a plan is only as good as the plan: look for what was added since.",
        match job.control {
            Control::Controller => {
                "Door switches, selectors, thermostats, aquastats and the controller are not lockout points."
            }
            Control::ZoneRelays => "Door switches, thermostats, aquastats and zone relays are not lockout points.",
        },
        "One lock and one tag a person; nobody removes another's.",
        "A limit or safety is never bridged for testing. Count jumpers in and out.",
        "Energized work, boundaries and protective clothing are outside this sheet.",
    ]
}

/// The calls that start this load through relays alone, by the names of their zones; those that only the controller passes on are
/// not among them.
pub(super) fn callers(job: &Job, movers: &Movers<'_>, what: LoadUse) -> Vec<String> {
    let name = |by: Actuator| match by {
        Actuator::Call(z) => Some(job.names.of(Subject::Zone(z))),
        Actuator::TankCall => Some(job.names.of(Subject::Tank)),
        _ => None,
    };
    movers.load(what).into_iter().filter_map(|(by, _)| name(by)).collect()
}

/// The calls that ask any boiler through relays alone.
pub(super) fn all_callers(job: &Job, movers: &Movers<'_>) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for i in 0..job.boilers.len() {
        let more = callers(job, movers, LoadUse::Demand(BoilerId(i as u8)));
        list.extend(more.into_iter().filter(|m| !list.contains(m)).collect::<Vec<_>>());
    }
    list
}

/// Why the item may start without anybody near it.
pub(super) fn starts(job: &Job, movers: &Movers<'_>, (item, kind): (Item, Kind), subject: Subject) -> Vec<String> {
    let mut list = Vec::new();
    let controller = job.control == Control::Controller;
    match (item, subject) {
        (Item::Boiler, _) => {
            if controller {
                list.push("Starts by itself on a demand of the controller, and again after a power cut.".into());
            }
            if let Subject::Boiler(b) = subject {
                let calls = callers(job, movers, LoadUse::Demand(b));
                if !calls.is_empty() {
                    let after = if controller {
                        ": its relay asks the boiler without the controller"
                    } else {
                        ", and again after a power cut"
                    };
                    list.push(format!("Starts by itself on a call of {}{after}.", either(&calls)));
                }
            }
            list.push("Its own frost protection or tank input can fire it without any demand of ours.".into());
            let pump = |b: &crate::job::Boiler| b.pump != BoilerPump::None;
            if matches!(subject, Subject::Boiler(b) if job.boilers.get(b.index()).is_some_and(pump)) {
                let when = if controller { "frost, weekly exercise" } else { "overrun, frost" };
                list.push(format!("Its pump starts by itself too ({when}): a point of this sheet."));
            }
        }
        (Item::Pump, Subject::Pump(p)) => {
            let hand = job.pumps.get(p.index()).is_some_and(|pump| pump.selector == Selector::HandOffAuto);
            let motor = [LoadUse::PumpStart(p), LoadUse::Pump(p)];
            let calls = motor.into_iter().map(|m| callers(job, movers, m)).find(|c| !c.is_empty()).unwrap_or_default();
            if !calls.is_empty() {
                list.push(format!("Starts by itself on a call of {}.", either(&calls)));
            }
            if job.points.relay(RelayUse::Pump(p)).is_some() {
                let in_auto = if hand { " in AUTO" } else { "" };
                list.push(format!("Starts by itself{in_auto}: calls, overrun, heat purge, frost, weekly exercise."));
            }
            let boilers = job.boilers.iter().enumerate();
            for (i, _) in
                boilers.filter(|(_, b)| matches!(b.pump, BoilerPump::Boiler(q) | BoilerPump::Either(q) if q == p))
            {
                let boiler = job.names.of(Subject::Boiler(heatwright_core::BoilerId(i as u8)));
                let whatever =
                    if controller { ", whatever the controller does" } else { ": on a call, for overrun, for frost" };
                list.push(format!("Starts when {boiler} asks for its pump{whatever}."));
            }
            if hand {
                list.push("HAND in the relay panel's door starts it. OFF there is not a lockout.".into());
            }
        }
        (Item::Fan, _) => list.push("Starts by itself when its aquastat meets hot water.".into()),
        (Item::Valve, _) => list.push(match kind {
            Kind::ZoneValve => "Opens by itself on a call of its zone; its spring closes it when power goes.".into(),
            _ => "Moves by itself as the controller asks, and stands where it is when power goes.".into(),
        }),
        (Item::Damper, _) => {
            list.push("Moves by itself with the first call for heat, and by its spring when power goes.".into())
        }
        (Item::Tank, _) => {
            let pump = job.tank.as_ref().map_or("its pump".to_owned(), |t| job.names.of(Subject::Pump(t.pump)));
            let purge = if controller { ", and for heat purge" } else { "" };
            list.push(format!(
                "Its pump ({pump}) starts by itself on a call of the aquastat{purge}: a point of this sheet."
            ));
        }
        (Item::CondensatePump, _) => list.push("Starts by itself on its float.".into()),
        (Item::RelayPanel | Item::StarterPanel, _) => {
            list.push("Every contactor in it can close by itself when its circuit is live.".into());
        }
        (Item::Panelboard, _) => list.push("Whatever it feeds starts by itself when its breakers are closed.".into()),
        (Item::Other, _) => list.push("It can be energized at any time by its own circuit.".into()),
        (Item::Pump, _) => {}
    }
    list
}

/// "A", "A or B", "A, B or C".
pub(super) fn either(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// What stops, in sentences; empty where nothing else does.
pub fn stops(s: &Stops) -> String {
    told(s, true)
}

/// The same for a test of some minutes: nobody drains a building for it.
pub fn stops_for_a_test(s: &Stops) -> String {
    told(s, false)
}

fn told(s: &Stops, lasting: bool) -> String {
    let lists = [("Cannot fire", &s.boilers), ("Cannot run", &s.pumps), ("Without power", &s.others)];
    let mut list: Vec<String> = lists
        .into_iter()
        .filter(|l| !l.1.is_empty())
        .map(|(what, names)| format!("{what}: {}.", names.join(", ")))
        .collect();
    if !s.zones.is_empty() {
        let frost = match (lasting, s.zones.len()) {
            (false, _) => "",
            (true, 1) => " In frost watch its water, or drain it.",
            (true, _) => " In frost watch their water, or drain it.",
        };
        list.push(format!("Without heat: {}.{frost}", s.zones.join(", ")));
    }
    if !s.watchers.is_empty() {
        list.push(format!("Building automation sees trouble: {}. Tell whoever watches it.", s.watchers.join(", ")));
    }
    list.extend(s.later.iter().cloned());
    if s.no_heat {
        list.push(match lasting {
            true => {
                "NO BOILER CAN FIRE: the whole building is without heat. In frost watch all water, or drain it.".into()
            }
            false => "NO BOILER CAN FIRE.".into(),
        });
    }
    list.join(" ")
}
