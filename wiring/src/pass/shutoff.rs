//! What stands on an emergency switch at a boiler-room door: what it opens, and no more.
//!
//! Whoever meets smoke or gas presses what says that it stops the fire (HW503; the words are common practice, no source). A switch
//! that opens the limit pair of every boiler is called an emergency shutoff; one that opens less says what it leaves burning.

use crate::{
    device::Kind,
    job::Job,
    plan::{Label, Plan},
};
use heatwright_core::{
    Subject,
    config::{SafetyCircuit, SafetyConfig, SafetyKind, SafetyScope},
};

/// A label for each such switch.
pub(super) fn labels(job: &Job, plan: &Plan) -> Vec<Label> {
    let of = |d: &crate::device::Device| {
        let Some(Subject::Safety(id)) = d.subject.filter(|_| d.kind == Kind::Safety) else { return None };
        let c = job.safeties.get(id.index()).map(|s| &s.config).filter(|c| c.kind == SafetyKind::DoorSwitch)?;
        Some(Label { on: d.tag.clone(), text: text(job, c), count: 1 })
    };
    plan.devices.iter().filter_map(of).collect()
}

/// What it opens.
fn text(job: &Job, c: &SafetyConfig) -> String {
    let burners = matches!(c.circuit, SafetyCircuit::Limit | SafetyCircuit::Proving);
    match c.scope {
        _ if c.circuit == SafetyCircuit::Alarm => "ALARM ONLY\nstops no burner".into(),
        SafetyScope::Plant if c.circuit == SafetyCircuit::Limit => {
            "EMERGENCY BOILER SHUTOFF\nstops every burner".into()
        }
        SafetyScope::Plant if burners => "NO EMERGENCY SHUTOFF\nholds burners back before they light".into(),
        SafetyScope::Boiler(b) if c.circuit == SafetyCircuit::Limit => {
            let name = job.names.of(Subject::Boiler(b));
            if job.boilers.len() == 1 {
                format!("EMERGENCY BOILER SHUTOFF\nstops {name}")
            } else {
                format!("STOPS {name} ONLY\nother burners go on")
            }
        }
        SafetyScope::Boiler(b) if burners => {
            format!("NO EMERGENCY SHUTOFF\nholds {} back before it lights", job.names.of(Subject::Boiler(b)))
        }
        SafetyScope::Zone(z) => format!("STOPS {} ONLY\nstops no burner", job.names.of(Subject::Zone(z))),
        SafetyScope::Tank => format!("STOPS {} ONLY\nstops no burner", job.names.of(Subject::Tank)),
        SafetyScope::Plant | SafetyScope::Boiler(_) => "STOPS NO BURNER".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{fixtures, plan::plan};
    use heatwright_core::{BoilerId, ZoneId};

    fn on_switches(circuit: SafetyCircuit, scope: SafetyScope) -> Vec<String> {
        let mut job = fixtures::library();
        let i = job.safeties.iter().position(|s| s.config.kind == SafetyKind::DoorSwitch).unwrap();
        (job.safeties[i].config.circuit, job.safeties[i].config.scope) = (circuit, scope);
        let p = plan(&job).unwrap();
        let about = |d: &&crate::device::Device| d.subject == Some(Subject::Safety(heatwright_core::SafetyId(i as u8)));
        let switch = p.devices.iter().find(|d| d.kind == Kind::Safety && about(d)).unwrap().tag.clone();
        let says = |l: &&Label| l.text.contains("STOP") || l.text.contains("SHUTOFF") || l.text.contains("ALARM ONLY");
        p.labels.iter().filter(|l| l.on == switch).filter(says).map(|l| l.text.clone()).collect()
    }

    /// Seen to fail: only the circuit was looked at, so that a switch of one boiler claimed every burner, and one that only alarms had
    /// no word at all.
    #[test]
    fn a_switch_at_the_door_says_what_it_opens_and_no_more() {
        use SafetyCircuit::{Alarm, Limit};
        let all = on_switches(Limit, SafetyScope::Plant);
        assert_eq!(all, ["EMERGENCY BOILER SHUTOFF\nstops every burner"]);
        let one = on_switches(Limit, SafetyScope::Boiler(BoilerId(0)));
        assert!(
            one.len() == 1 && one[0].starts_with("STOPS ") && one[0].ends_with("ONLY\nother burners go on"),
            "{one:?}"
        );
        assert_eq!(on_switches(Alarm, SafetyScope::Plant), ["ALARM ONLY\nstops no burner"]);
        assert_eq!(on_switches(Alarm, SafetyScope::Boiler(BoilerId(0))), ["ALARM ONLY\nstops no burner"]);
    }

    /// Whatever the entry, only what opens the limit pair of every boiler is called by that name.
    #[test]
    fn nothing_less_is_called_an_emergency_shutoff() {
        use SafetyCircuit::{Alarm, Limit, Proving, TankLimit, ZoneLimit};
        let job = fixtures::library();
        let scopes =
            [SafetyScope::Plant, SafetyScope::Boiler(BoilerId(1)), SafetyScope::Zone(ZoneId(0)), SafetyScope::Tank];
        for circuit in [Limit, Proving, ZoneLimit, TankLimit, Alarm] {
            for scope in scopes {
                let config = SafetyConfig { kind: SafetyKind::DoorSwitch, scope, circuit, ..job.safeties[0].config };
                let called = text(&job, &config).starts_with("EMERGENCY");
                assert_eq!(called, circuit == Limit && scope == SafetyScope::Plant, "{circuit:?} {scope:?}");
            }
        }
    }
}
