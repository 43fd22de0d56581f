//! HW207 electronic-pump-on-plain-contact: an electronically commutated pump switched on the line side by a contact that is not made for its inrush.
//!
//! Common practice, no standard.

use super::Rule;
use crate::{
    finding::Findings,
    job::{Job, PumpMotor},
    part::LoadUse,
    plan::{MotorSwitch, Plan},
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW207",
    name: "electronic-pump-on-plain-contact",
    severity: Severity::Warning,
    source: Source { standard: "common practice", section: "inrush of electronically commutated pumps", editions: "none", status: Status::Memory, remark: "no standard; the pump's own instructions decide" },
    doc: "What it finds\n\
        An electronically commutated pump without a start input that is switched by a controller relay or a \
        boiler's contact, so that its capacitors charge through that contact at every start.\n\nWhy it matters\n\
        The charging current is many times the running current for a millisecond. Small relay contacts weld \
        after some hundred starts, and frequent switching wears the drive.\n\nHow to mend it\n\
        Leave the pump powered and use its start input, or switch it with a contactor rated for capacitor \
        inrush.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for m in &plan.motors {
        let (LoadUse::Pump(p) | LoadUse::PumpSupply(p)) = m.what else { continue };
        let Some(pump) = job.pumps.get(p.index()) else { continue };
        let PumpMotor::ElectronicallyCommutated { start_input } = pump.motor else { continue };
        if !matches!(m.switch, MotorSwitch::ControllerRelay | MotorSwitch::CallRelay | MotorSwitch::BoilerContact) {
            continue;
        }
        let about = Subject::Pump(p);
        out.add(
            about,
            format!(
                "{} is electronically commutated and its line is switched by a plain relay contact.",
                job.names.of(about)
            ),
        )
        .field("pumps.motor")
        .fact("nameplate current", pump.nameplate_a, "A")
        .hint(if start_input {
            "Leave it powered and use its start input."
        } else {
            "Use a contactor rated for its inrush, or a pump with a start input."
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_on_a_relay_and_not_on_a_contactor() {
        let with = |switch| {
            after(&RULE, |job, plan| {
                job.pumps[0].motor = PumpMotor::ElectronicallyCommutated { start_input: false };
                plan.motors[0].switch = switch;
            })
            .len()
        };
        assert_eq!(with(MotorSwitch::ControllerRelay), 1);
        assert_eq!(with(MotorSwitch::BoilerContact), 1);
        assert_eq!(with(MotorSwitch::Contactor), 0);
        assert_eq!(with(MotorSwitch::StartInput), 0);
    }
}
