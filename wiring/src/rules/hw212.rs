//! HW212 plate-against-horsepower: a motor whose nameplate current cannot belong to its horsepower.
//!
//! Nameplate current against the table current for horsepower, volts and phases: from half of it (permanent-split motors of high
//! efficiency) to 125 per cent (low power factor). The band is our choice. A motor whose horsepower stands in no table for its
//! volts and phases is told as a warning: everything is then sized by the plate. Source: NFPA 70 430.6(A), Tables 430.248, 430.250.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::{Job, PumpMotor, Supply},
    plan::Plan,
    tables::{
        Status,
        motor::{MotorVolts, Phases, full_load_amps},
    },
};
use heatwright_core::{PumpId, Severity, Subject, ZoneId};

pub(super) const RULE: Rule = Rule {
    code: "HW212",
    name: "plate-against-horsepower",
    severity: Severity::Error,
    source: nec("430.6(A), Tables 430.248, 430.250", Status::Partly, "the band of 50 to 125 % is our choice"),
    doc: "What it finds\n\
        A motor whose nameplate current is under half or over 125 % of the table current for its horsepower, volts and phases; \
        as a warning, one whose horsepower stands in no table.\n\nWhy it matters\n\
        The overload is set to the nameplate, conductors and breaker follow the horsepower. A slip of the decimal point in one of \
        them lets the motor burn behind an overload that never trips, or trips it every day.\n\nHow to mend it\n\
        Read the plate again: horsepower, volts, phases and full-load amps.",
    check,
};

/// Nameplate current over table current, least and most.
const BAND: (f64, f64) = (0.5, 1.25);

/// Every motor that is rated in horsepower: whose, horsepower, plate, supply.
fn motors(job: &Job) -> Vec<(Subject, f64, f64, Supply)> {
    let pumps = job.pumps.iter().enumerate().filter_map(|(i, p)| match p.motor {
        PumpMotor::Induction { hp } => Some((Subject::Pump(PumpId(i as u8)), hp, p.nameplate_a, p.supply)),
        PumpMotor::WetRotor | PumpMotor::ElectronicallyCommutated { .. } => None,
    });
    let fans = job.zones.iter().enumerate().filter_map(|(i, z)| {
        let f = z.fan.as_ref().filter(|f| f.hp > 0.0)?;
        Some((Subject::Zone(ZoneId(i as u8)), f.hp, f.amps, f.supply))
    });
    pumps.chain(fans).collect()
}

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    for (about, hp, plate_a, supply) in motors(job) {
        let name = job.names.of(about);
        let phases = if supply.phases == 3 { Phases::Three } else { Phases::One };
        let (volts, number) = (supply.volts, supply.phases);
        let Some(table_a) = MotorVolts::of_system(volts).and_then(|v| full_load_amps(hp, v, phases)) else {
            out.add(
                about,
                format!("No table has {hp:.2} hp at {volts:.0} V, {number}-phase: {name} is sized by its plate, {plate_a:.2} A."),
            )
            .severity(Severity::Warning)
            .fact("horsepower", hp, "hp")
            .fact("nameplate current", plate_a, "A")
            .hint("See that horsepower, volts and phases are those of the plate.");
            continue;
        };
        let share = plate_a / table_a;
        if share < BAND.0 || share > BAND.1 {
            out.add(
                about,
                format!(
                    "The plate of {name} says {plate_a:.2} A; {hp:.2} hp at {volts:.0} V, {number}-phase, take {table_a:.1} A."
                ),
            )
            .fact("nameplate current", plate_a, "A")
            .fact("table current", table_a, "A")
            .fact("plate of table", 100.0 * share, "%")
            .hint("Read the plate again: horsepower, volts, phases and full-load amps.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    fn with(hp: f64, amps: f64) -> Vec<crate::finding::Finding> {
        after_mill(&RULE, |job, _| {
            let p = job.pumps.iter_mut().find(|p| p.supply.phases == 3).unwrap();
            p.motor = PumpMotor::Induction { hp };
            p.nameplate_a = amps;
        })
    }

    /// Table 430.250: 3 hp at 460 V take 4.8 A.
    #[test]
    fn fails_a_slip_of_the_decimal_point_either_way() {
        assert!(with(3.0, 44.0)[0].sentence.contains("says 44.00 A; 3.00 hp at 480 V, 3-phase, take 4.8 A"));
        assert_eq!(with(3.0, 0.44)[0].severity, Severity::Error);
        assert_eq!(with(3.0, 2.4).len() + with(3.0, 6.0).len(), 0, "both ends of the band");
        assert_eq!(with(3.0, 2.39).len() + with(3.0, 6.01).len(), 2);
    }

    #[test]
    fn tells_a_horsepower_that_no_table_has() {
        let list = with(4.0, 6.0);
        assert!(list.len() == 1 && list[0].severity == Severity::Warning, "{list:?}");
        assert!(list[0].sentence.contains("No table has 4.00 hp at 480 V"));
    }
}
