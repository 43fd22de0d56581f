//! The rules on compiled plans: both fixtures are clean, and each planted fault is found by its rule.
//!
//! The hand-made fixture beside each rule is small; this is what the planner really makes.

use super::check;
use crate::{
    device::Kind,
    fixtures::{library, mill, workshop},
    job::{EnclosureType, Job, Moisture, PumpMotor},
    part::Part,
    plan::{Duty, MotorSwitch, Plan, RunForm, plan},
    row::{Class, Colour},
};
use heatwright_core::{
    BoilerId, RelayUse,
    config::{Reset, SafetyCircuit, SafetyKind, SafetyScope},
};

fn codes(job: &Job, plan: &Plan) -> Vec<&'static str> {
    let mut list: Vec<_> = check(job, plan).findings.into_iter().map(|f| f.code).collect();
    list.dedup();
    list
}

#[test]
fn all_fixtures_are_clean() {
    for job in [workshop(), library(), mill()] {
        let p = plan(&job).unwrap();
        let found = check(&job, &p).findings;
        assert!(found.is_empty(), "{:#?}", found.iter().map(|f| (f.code, &f.sentence)).collect::<Vec<_>>());
    }
}

/// A fault planted into the compiled library, and the rule that must see it.
type Plant = (&'static str, fn(&mut Job, &mut Plan));

fn motor_row(plan: &Plan) -> usize {
    let circuit = plan.circuits.iter().find(|c| c.duty == Duty::Motor).unwrap().name.clone();
    plan.rows
        .iter()
        .position(|r| r.circuit == circuit && r.class == Class::Power && r.colour != Colour::White && !r.run.is_empty())
        .unwrap()
}

const FAULTS: &[Plant] = &[
    ("HW101", |_, p| {
        let row = p.rows[motor_row(p)].clone();
        p.rows.push(row);
    }),
    ("HW102", |_, p| {
        let i = motor_row(p);
        p.rows[i].length_ft = 4000.0;
    }),
    ("HW103", |_, p| {
        let run = p.runs.iter().find(|r| matches!(&r.form, RunForm::Emt(_))).unwrap().name.clone();
        let row = p.rows.iter().find(|r| r.run == run).unwrap().clone();
        p.rows.extend(std::iter::repeat_n(row, 60));
    }),
    ("HW104", |_, p| {
        let i = motor_row(p);
        p.rows[i].amps = 90.0;
    }),
    ("HW105", |_, p| {
        let c = p.circuits.iter().find(|c| c.duty == Duty::PanelSupply).unwrap().name.clone();
        p.breakers.iter_mut().find(|b| b.circuit == c).unwrap().amps = 60;
    }),
    ("HW106", |_, p| p.rows.retain(|r| !(r.class == Class::Ground && r.to.device == "M1"))),
    ("HW107", |_, p| p.rows.iter_mut().filter(|r| r.class == Class::Ground).for_each(|r| r.awg = "18".into())),
    ("HW108", |_, p| {
        let i = motor_row(p);
        p.rows[i].colour = Colour::Green;
    }),
    ("HW109", |_, p| {
        // Line and neutral exchanged where a motor circuit leaves the panelboard.
        for end in p.rows.iter_mut().flat_map(|r| [&mut r.from, &mut r.to]).filter(|e| e.device == "A2") {
            end.terminal = match end.terminal.as_str() {
                "9" => "N9".into(),
                "N9" => "9".into(),
                other => other.into(),
            };
        }
    }),
    ("HW110", |_, p| p.rows[0].to.terminal = "nowhere".into()),
    ("HW201", |_, p| {
        let c = p.motors.iter().find(|m| m.device == "M1").unwrap().circuit.clone();
        p.breakers.iter_mut().find(|b| b.circuit == c).unwrap().amps = 60;
    }),
    ("HW202", |job, _| {
        let i = job.pumps.iter().position(|p| matches!(p.motor, PumpMotor::Induction { .. }) && p.supply.phases == 1);
        job.pumps[i.unwrap()].motor = PumpMotor::Induction { hp: 5.0 };
    }),
    ("HW203", |job, p| {
        job.pumps[0].overload_built_in = false;
        p.motors.iter_mut().for_each(|m| m.overload = None);
    }),
    ("HW204", |_, p| p.motors[0].disconnect = "A2".into()),
    ("HW205", |_, p| {
        let (first, second) = (p.motors[0].circuit.clone(), 1);
        p.motors[second].circuit = first.clone();
        p.breakers.iter_mut().find(|b| b.circuit == first).unwrap().amps = 40;
    }),
    ("HW206", |_, p| p.motors.iter_mut().for_each(|m| m.switch = MotorSwitch::ControllerRelay)),
    ("HW207", |_, p| p.motors.iter_mut().for_each(|m| m.switch = MotorSwitch::ControllerRelay)),
    ("HW208", |_, p| p.motors[0].switch = MotorSwitch::BoilerContact),
    ("HW209", |_, p| {
        // A wire from HAND straight to the coil, past the overload.
        let mut row = p.rows[0].clone();
        (row.from.device, row.from.terminal) = ("S4".into(), "14".into());
        (row.to.device, row.to.terminal) = ("QA4".into(), "A1".into());
        p.rows.push(row);
    }),
    ("HW112", |_, p| {
        let line = p.circuits.iter_mut().find(|c| c.duty == Duty::BoilerLine).unwrap();
        (line.amps, line.continuous) = (14.0, true);
    }),
    ("HW113", |_, p| {
        let stat = p.devices.iter().find(|d| d.kind == Kind::Thermostat).unwrap().tag.clone();
        p.rows.iter_mut().find(|r| r.to.device == stat || r.from.device == stat).unwrap().awg = "12".into();
    }),
    ("HW210", |_, p| {
        for d in p.devices.iter_mut().filter(|d| d.tag.starts_with("QL")) {
            d.place = crate::device::PlaceId(4);
        }
    }),
    ("HW301", |_, p| {
        let run = p.rows[motor_row(p)].run.clone();
        p.rows.iter_mut().find(|r| r.class == Class::Class2).unwrap().run = run;
    }),
    ("HW302", |_, p| p.transformers.iter_mut().for_each(|t| t.sealed_va = 200.0)),
    ("HW303", |_, p| {
        let mut row = p.rows.iter().find(|r| r.class == Class::Class2 && r.run.is_empty()).unwrap().clone();
        (row.from.device, row.from.terminal) = ("T1".into(), "X1".into());
        (row.to.device, row.to.terminal) = ("T2".into(), "X1".into());
        p.rows.push(row);
    }),
    ("HW304", |_, p| p.circuits.iter_mut().for_each(|c| c.volts_to_ground = 277.0)),
    ("HW305", |_, p| {
        let mut row = p.rows.iter().find(|r| r.class == Class::Class2 && r.run.is_empty()).unwrap().clone();
        (row.from.device, row.from.terminal) = ("T1".into(), "X1".into());
        (row.to.device, row.to.terminal) = ("A1".into(), "I1.1".into());
        p.rows.push(row);
    }),
    ("HW306", |_, p| {
        let on_card = |e: &crate::row::Landing| e.device == "A1" && e.terminal.starts_with("K5.");
        p.rows.iter_mut().filter(|r| on_card(&r.from) || on_card(&r.to)).for_each(|r| r.class = Class::Class2);
    }),
    ("HW401", |_, p| {
        p.rows.iter_mut().find(|r| r.to.device == "F5" && r.to.terminal == "11").unwrap().class = Class::Class2
    }),
    ("HW402", |job, p| {
        let d = p.devices.iter_mut().find(|d| d.tag == "E1").unwrap();
        let ground = d.find(&job.boilers[0].marks.ground).unwrap();
        d.parts.retain(|part| !matches!(part, Part::Bond(a, b) if *a == ground || *b == ground));
    }),
    ("HW403", |_, p| {
        let run = p.runs.iter().find(|r| r.safety).unwrap().name.clone();
        let i = motor_row(p);
        p.rows[i].run = run;
    }),
    ("HW404", |_, p| {
        // One of the twin relays jumped over.
        let mut row = p.rows[0].clone();
        (row.from.device, row.from.terminal) = ("KS2".into(), "11".into());
        (row.to.device, row.to.terminal) = ("KS2".into(), "14".into());
        p.rows.push(row);
    }),
    ("HW405", |job, _| job.zones[0].drive = job.zones[3].drive),
    ("HW501", |job, _| {
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::LowWater {
                s.config.kind = SafetyKind::PressureLow;
            }
        })
    }),
    ("HW502", |job, _| {
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::HighLimitManual {
                s.config.reset = Reset::Automatic;
            }
        })
    }),
    ("HW503", |job, _| {
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::DoorSwitch {
                s.config.kind = SafetyKind::GasDetector;
            }
        })
    }),
    ("HW504", |job, _| {
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::DamperSwitch {
                s.config.kind = SafetyKind::GasDetector;
            }
        })
    }),
    ("HW505", |job, _| {
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::FloorLimit {
                s.config.kind = SafetyKind::GasDetector;
            }
        })
    }),
    ("HW506", |job, _| {
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::TankLimit {
                s.config.kind = SafetyKind::GasDetector;
            }
        })
    }),
    ("HW507", |job, _| {
        job.settings.gas_switches_above_btu_h = Some(100.0);
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::GasLow {
                s.config.kind = SafetyKind::GasDetector;
            }
        });
    }),
    ("HW508", |job, _| {
        let s = job.safeties.iter_mut().find(|s| s.config.kind == SafetyKind::HighLimit).unwrap();
        s.config.circuit = SafetyCircuit::Proving;
    }),
    ("HW509", |job, _| {
        // A slip of one digit: the limit of the second boiler is written down for the first.
        let second = SafetyScope::Boiler(BoilerId(1));
        let limit =
            job.safeties.iter_mut().find(|s| s.config.kind == SafetyKind::HighLimit && s.config.scope == second);
        limit.unwrap().config.scope = SafetyScope::Boiler(BoilerId(0));
    }),
    ("HW510", |job, _| job.safeties.retain(|s| s.config.circuit != SafetyCircuit::Proving)),
    ("HW511", |job, _| {
        let room = job.boilers[0].place;
        let switch = job.safeties.iter_mut().find(|s| s.config.kind == SafetyKind::DoorSwitch);
        switch.unwrap().place = room;
    }),
    ("HW512", |job, _| {
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::TankLimit {
                s.config.reset = heatwright_core::config::Reset::Automatic;
            }
        })
    }),
    ("HW513", |_, p| p.breakers.iter_mut().filter(|b| b.poles == 1).for_each(|b| b.amps = 125)),
    ("HW514", |_, p| {
        let safety = p.devices.iter().find(|d| d.kind == Kind::Safety).unwrap().tag.clone();
        p.rows.retain(|r| r.from.device != safety && r.to.device != safety);
    }),
    ("HW515", |job, _| job.condensate_pumps.iter_mut().for_each(|c| c.boiler = Some(BoilerId(0)))),
    ("HW601", |job, _| job.receptacles.clear()),
    ("HW602", |_, p| {
        p.breakers.iter_mut().for_each(|b| b.ground_fault = false);
        for d in p.devices.iter_mut().filter(|d| d.kind == Kind::Receptacle) {
            d.parts.retain(|x| !matches!(x, Part::Contact { .. }));
        }
    }),
    ("HW603", |job, _| job.panel.short_circuit_ka = Some(0.5)),
    ("HW604", |job, _| job.points.relays.retain(|r| *r != RelayUse::Health)),
    ("HW605", |_, p| {
        let c = p.circuits.iter().find(|c| c.duty == Duty::BoilerLine).unwrap().name.clone();
        let mut row = p.rows.iter().find(|r| r.circuit == c && r.class == Class::Power).unwrap().clone();
        row.to.device = p.devices.iter().find(|d| d.kind == Kind::Receptacle).unwrap().tag.clone();
        p.rows.push(row);
    }),
];

/// The same into the compiled mill: what only a plant with two systems has.
const MILL_FAULTS: &[Plant] = &[
    ("HW111", |_, p| p.rows.iter_mut().filter(|r| r.colour == Colour::Brown).for_each(|r| r.colour = Colour::Black)),
    ("HW212", |job, _| job.pumps.iter_mut().for_each(|p| p.nameplate_a *= 10.0)),
    ("HW214", |_, p| {
        let starter = p.devices.iter().find(|d| d.kind == Kind::Starter).unwrap().tag.clone();
        p.rows.retain(|r| ![&r.from, &r.to].iter().any(|l| l.device == starter && l.terminal == "5/L3"));
    }),
    ("HW213", |job, _| job.boilers.iter_mut().for_each(|b| b.pair_va = 1e4)),
    ("HW211", |_, p| {
        for d in p.devices.iter_mut().filter(|d| d.tag == "QL2") {
            d.place = crate::device::PlaceId(0);
        }
    }),
    ("HW307", |_, p| p.breakers.iter_mut().filter(|b| b.circuit == "TP1").for_each(|b| b.amps = 100)),
    ("HW308", |_, p| p.rows.iter_mut().filter(|r| r.circuit == "TP1").for_each(|r| r.awg = "12".into())),
    ("HW309", |_, p| p.rows.retain(|r| !r.wire.starts_with("SBJ"))),
    ("HW310", |_, p| {
        let d = p.devices.iter_mut().find(|d| d.tag == "A3").unwrap();
        let (n, g) = (d.find("N").unwrap(), d.find("G").unwrap());
        d.parts.push(Part::Bond(n, g));
    }),
    ("HW311", |_, p| p.rows.iter_mut().filter(|r| r.wire.starts_with("GEC")).for_each(|r| r.awg = "14".into())),
    ("HW312", |_, p| {
        for row in p.rows.iter_mut().filter(|r| r.to.device == "A3" && r.to.terminal == "1/L1") {
            row.to.terminal = "1".into();
        }
    }),
    ("HW313", |_, p| p.transformers.iter_mut().for_each(|t| t.sealed_va = 1e6)),
    ("HW607", |_, p| p.directory.iter_mut().filter(|e| e.poles > 0).for_each(|e| e.space = e.space.saturating_add(84))),
    ("HW608", |j, _| (j.panel.enclosure, j.panel.moisture) = (EnclosureType::Type1, Moisture::Wet)),
    ("HW606", |_, p| p.circuits.iter_mut().filter(|c| c.duty == Duty::Receptacle).for_each(|c| c.volts = 277.0)),
];

#[test]
fn every_planted_fault_is_found_by_its_rule() {
    let mut missed = Vec::new();
    for (job, faults) in [(library(), FAULTS), (mill(), MILL_FAULTS)] {
        let made = plan(&job).unwrap();
        for (code, plant) in faults {
            let (mut job, mut plan) = (job.clone(), made.clone());
            plant(&mut job, &mut plan);
            if !codes(&job, &plan).contains(code) {
                missed.push(*code);
            }
        }
    }
    assert!(missed.is_empty(), "{missed:?}");
}

#[test]
fn every_rule_has_a_planted_fault() {
    for r in super::RULES {
        assert!(FAULTS.iter().chain(MILL_FAULTS).any(|f| f.0 == r.code), "{}", r.code);
    }
}
