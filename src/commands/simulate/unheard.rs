//! What a fault that no alarm told of lacks: only what is not there already.

use crate::plant::Loaded;
use heatwright_core::{
    BoilerId, PumpId, Subject,
    config::{BoilerPump, SafetyKind, SafetyScope},
};
use heatwright_sim::fault::Fault;

const ROOMS: &str = "what only the rooms show is found late";

/// What would tell of it.
pub(super) fn hint(l: &Loaded, fault: Fault) -> String {
    if !l.controlled() {
        return format!("{ROOMS}: zone relays have no alarm; see it on the round");
    }
    match fault {
        Fault::NoGas(b) => boiler(l, b, false),
        Fault::BoilerSwitchOff(b) => boiler(l, b, true),
        Fault::PumpDead(p) | Fault::Overload(p) => match of_boiler(l, p) {
            Some(b) if !flow_switch(l, b) => format!(
                "{ROOMS}: a flow switch in the safeties (scope = \"{}\") would tell of it",
                l.names.id(Subject::Boiler(b))
            ),
            Some(_) => "its flow switch is there and tells once its boiler is called; it was not called for long enough".into(),
            None => format!("{ROOMS}: nothing proves the flow of a zone or of the tank; see it on the round"),
        },
        Fault::Safety(s, _) => match l.plant.safeties.get(s.index()) {
            Some(s) if s.aux => "its contact is read; nothing that it stops was called".into(),
            _ => format!("{ROOMS}: where it has a second contact, aux = true lets the controller read it"),
        },
        Fault::SensorFrozen(_) => {
            "a sensor is found to stand still once what should move it has run for guard.frozen-after; that was not so here".into()
        }
        _ => format!("{ROOMS}: see it on the round"),
    }
}

/// The boiler whose pump this is.
fn of_boiler(l: &Loaded, p: PumpId) -> Option<BoilerId> {
    let owns = |pump| matches!(pump, BoilerPump::Controller(own) | BoilerPump::Boiler(own) | BoilerPump::Either(own) if own == p);
    (0u8..).map(BoilerId).zip(&l.plant.boilers).find(|(_, b)| owns(b.pump)).map(|(id, _)| id)
}

fn flow_switch(l: &Loaded, b: BoilerId) -> bool {
    let own = |s: &crate::plant::checked::Safety| s.kind == SafetyKind::FlowSwitch && s.scope == SafetyScope::Boiler(b);
    l.plant.safeties.iter().any(own)
}

fn boiler(l: &Loaded, b: BoilerId, switched_off: bool) -> String {
    let Some(p) = l.plant.boilers.get(b.index()) else { return ROOMS.into() };
    if switched_off && p.service_switch {
        return "its service switch is read: one that is off is taken for meant and raises no alarm; whoever turns it off hangs a note at the \
                panel"
            .into();
    }
    let contacts = [("status-contact", p.status_contact), ("alarm-contact", p.alarm_contact)];
    let missing: Vec<String> = contacts.iter().filter(|c| !c.1).map(|c| format!("{} = true", c.0)).collect();
    if missing.is_empty() {
        "its status and alarm contacts are there and read; they tell once it is called, and it was not called for long enough".into()
    } else {
        format!("{ROOMS}: {} would tell of it", missing.join(" and "))
    }
}
