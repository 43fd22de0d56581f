//! HW208 motor-on-pilot-contact: a motor driven straight from a boiler's pump contact, which is rated for coils.
//!
//! Source: NEMA ICS 5 rating codes, checked: they are pilot-duty ratings for coils.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::{MotorSwitch, Plan},
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW208",
    name: "motor-on-pilot-contact",
    severity: Severity::Error,
    source: Source { standard: "NEMA ICS 5", section: "contact rating codes", editions: "2000 and later", status: Status::Checked, remark: "" },
    doc: "What it finds\n\
        A pump whose motor current runs through the contact by which a boiler asks for its pump.\n\nWhy it matters\n\
        Such a contact carries a pilot-duty rating: volt-amperes of coils. A motor's starting current welds it, \
        and a welded contact inside a boiler is an expensive one.\n\nHow to mend it\n\
        Let the boiler's contact drive the coil of a contactor or relay that is rated for the motor.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for m in plan.motors.iter().filter(|m| m.switch == MotorSwitch::BoilerContact) {
        let device = plan.devices.iter().find(|d| d.tag == m.device);
        out.add(
            device.and_then(|d| d.subject).unwrap_or(Subject::Plant),
            format!(
                "The motor of {} ({:.1} A) runs through a boiler's pilot contact.",
                device.map_or(m.device.as_str(), |d| d.label.as_str()),
                m.sizing_a
            ),
        )
        .fact("current", m.sizing_a, "A")
        .hint("Drive a contactor with the boiler's contact.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_pump_on_a_boiler_contact() {
        let list = after(&RULE, |_, plan| plan.motors[0].switch = MotorSwitch::BoilerContact);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("4.4 A"));
    }
}
