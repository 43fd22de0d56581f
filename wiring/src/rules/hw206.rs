//! HW206 motor-over-relay-rating: a motor switched by a controller relay that is not rated for it.
//!
//! Horsepower against the relay's horsepower at that voltage; motors without horsepower by their current against the table current of the
//! relay's horsepower. Three-phase motors never.

use super::{Rule, motors, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{MotorSwitch, Plan},
    tables::{
        Status,
        motor::{MotorVolts, Phases, full_load_amps},
    },
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW206",
    name: "motor-over-relay-rating",
    severity: Severity::Error,
    source: nec("430.83, 110.3(B)", Status::Memory, "all from memory; the rating is the job's own figure"),
    doc: "What it finds\n\
        A motor whose current runs through a relay contact of the controller, or of a zone relay, although its horsepower is over the \
        contact's motor rating at that voltage, or the contact has none.\n\nWhy it matters\n\
        A starting motor draws six times its current for a moment. A contact without the rating welds, and the \
        pump or fan runs for good.\n\nHow to mend it\n\
        Let the relay drive a contactor, or a starter where overload protection is wanted.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let relay = &job.panel.relay;
    for m in plan.motors.iter().filter(|m| matches!(m.switch, MotorSwitch::ControllerRelay | MotorSwitch::CallRelay)) {
        let Some(motor) = motors::of(job, m.what) else { continue };
        let (rated_hp, column) = match MotorVolts::of_system(motor.supply.volts) {
            Some(MotorVolts::V115) => (relay.motor_120_v_hp, MotorVolts::V115),
            Some(v @ (MotorVolts::V200 | MotorVolts::V208 | MotorVolts::V230)) => (relay.motor_240_v_hp, v),
            Some(MotorVolts::V460) | None => (0.0, MotorVolts::V460),
        };
        let carries = motor.supply.phases == 1
            && rated_hp > 0.0
            && match motor.hp {
                Some(hp) => hp <= rated_hp * 1.01,
                None => full_load_amps(rated_hp, column, Phases::One).is_some_and(|most| motor.amps <= most),
            };
        if carries {
            continue;
        }
        let device = plan.devices.iter().find(|d| d.tag == m.device);
        let size = motor.hp.map_or(format!("{:.1} A", motor.amps), |hp| format!("{hp:.2} hp"));
        out.add(
            device.and_then(|d| d.subject).unwrap_or(Subject::Plant),
            format!(
                "{} ({size}, {:.0} V, {}-phase) is switched by a relay contact rated {rated_hp:.2} hp there, single phase.",
                device.map_or(m.device.as_str(), |d| d.label.as_str()),
                motor.supply.volts,
                motor.supply.phases
            ),
        )
        .fact("current", motor.amps, "A")
        .fact("relay rating", rated_hp, "hp")
        .hint("Drive a contactor or starter with the relay.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_half_a_horsepower_three_phases_and_no_rating() {
        let with = |hp: f64, volts: f64, phases: u8, rating: f64| {
            after(&RULE, |job, _| {
                job.panel.relay.motor_120_v_hp = rating;
                job.pumps[0].motor = crate::job::PumpMotor::Induction { hp };
                job.pumps[0].supply = crate::job::Supply { volts, phases };
            })
            .len()
        };
        assert_eq!(with(1.0 / 6.0, 120.0, 1, 1.0 / 6.0), 0);
        assert_eq!(with(0.5, 120.0, 1, 1.0 / 6.0), 1);
        assert_eq!(with(1.0 / 6.0, 120.0, 1, 0.0), 1);
        assert_eq!(with(0.5, 208.0, 3, 1.0), 1);
        assert_eq!(with(1.0 / 6.0, 277.0, 1, 1.0), 1);
    }

    #[test]
    fn fails_a_motor_rated_in_amperes_over_the_table_current() {
        let with = |amps| {
            after(&RULE, |job, _| {
                job.pumps[0].motor = crate::job::PumpMotor::WetRotor;
                job.pumps[0].nameplate_a = amps;
            })
            .len()
        };
        // The relay carries 1/6 hp: 4.4 A.
        assert_eq!(with(4.4), 0);
        assert_eq!(with(4.5), 1);
    }
}
