//! The words of a lockout sheet: cautions, restart, what else stops. Steps are in `steps`, stored energy in `energy`.
//!
//! Waiting time for capacitors where the plate names none: 5 minutes, our choice. Kinds of restart: common practice.

use super::{Item, Stops};
use crate::job::{Job, Selector};
use heatwright_core::{RelayUse, Subject, config::BoilerPump};

/// What holds for every sheet.
pub(super) const CAUTIONS: [&str; 6] = [
    "This is a planning aid. The local code, the authority having jurisdiction, the instructions of the equipment and licensed \
     practice govern.",
    "Lock out and test before touch. A sheet made from a plan is only as good as the plan: look for what was added since.",
    "Door switches, selectors, thermostats, aquastats and the controller are not lockout points.",
    "One lock and one tag a person; nobody removes another's.",
    "A limit or safety is never bridged for testing. Count jumpers in and out.",
    "Energized work, boundaries and protective clothing are outside this sheet.",
];

/// Why the item may start without anybody near it.
pub(super) fn starts(job: &Job, item: Item, subject: Subject) -> Vec<String> {
    let mut list = Vec::new();
    match (item, subject) {
        (Item::Boiler, _) => {
            list.push("Starts by itself on a demand of the controller, and again after a power cut.".into());
            list.push("Its own frost protection or tank input can fire it without any demand of ours.".into());
            list.push("Its pump starts by itself too (frost, weekly exercise): a point of this sheet.".into());
        }
        (Item::Pump, Subject::Pump(p)) => {
            let hand = job.pumps.get(p.index()).is_some_and(|pump| pump.selector == Selector::HandOffAuto);
            if job.points.relay(RelayUse::Pump(p)).is_some() {
                let in_auto = if hand { " in AUTO" } else { "" };
                list.push(format!("Starts by itself{in_auto}: calls, overrun, heat purge, frost, weekly exercise."));
            }
            let boilers = job.boilers.iter().enumerate();
            for (i, _) in
                boilers.filter(|(_, b)| matches!(b.pump, BoilerPump::Boiler(q) | BoilerPump::Either(q) if q == p))
            {
                let boiler = job.names.of(Subject::Boiler(heatwright_core::BoilerId(i as u8)));
                list.push(format!("Starts when {boiler} asks for its pump, whatever the controller does."));
            }
            if hand {
                list.push("HAND in the relay panel's door starts it. OFF there is not a lockout.".into());
            }
        }
        (Item::Fan, _) => list.push("Starts by itself when its aquastat meets hot water.".into()),
        (Item::Damper, _) => {
            list.push("Moves by itself with the first call for heat, and by its spring when power goes.".into())
        }
        (Item::Tank, _) => {
            let pump = job.tank.as_ref().map_or("its pump".to_owned(), |t| job.names.of(Subject::Pump(t.pump)));
            list.push(format!(
                "Its pump ({pump}) starts by itself on a call of the aquastat, and for heat purge: a point of this sheet."
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

/// What stops, in sentences; empty where nothing else does.
pub fn stops(s: &Stops) -> String {
    let lists = [("Cannot fire", &s.boilers), ("Cannot run", &s.pumps), ("Without power", &s.others)];
    let mut list: Vec<String> = lists
        .into_iter()
        .filter(|l| !l.1.is_empty())
        .map(|(what, names)| format!("{what}: {}.", names.join(", ")))
        .collect();
    if !s.zones.is_empty() {
        list.push(format!(
            "Without heat: {}. In frost watch {} water, or drain it.",
            s.zones.join(", "),
            if s.zones.len() == 1 { "its" } else { "their" }
        ));
    }
    if !s.watchers.is_empty() {
        list.push(format!("Building automation sees trouble: {}. Tell whoever watches it.", s.watchers.join(", ")));
    }
    list.extend(s.later.iter().cloned());
    if s.no_heat {
        list.push(
            "NO BOILER CAN FIRE: the whole building is without heat. In frost watch all water, or drain it.".into(),
        );
    }
    list.join(" ")
}
