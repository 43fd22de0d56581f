//! Motors as they are wired: starters of three poles, fans between two ungrounded conductors, the grounds of a machine. Each plan is
//! compiled, read back from rows and devices, proved, and every fault planted in it must be seen or be harmless.

mod proved_kit;

use heatwright_wiring::{
    device::{Device, Kind},
    fixtures::{library, mill, workshop},
    job::{PumpMotor, ServiceVolts, Supply},
    part::Part,
    plan::{MotorSwitch, Plan},
    proof::{Limits, MutantKind, mutate, observe},
    rules,
};
use proved_kit::{compiled, every_planted_fault_is_seen, proved, rebuilt};

/// True where a wire joins these two terminals of a device.
fn looped(p: &Plan, tag: &str, a: &str, b: &str) -> bool {
    let at = |l: &heatwright_wiring::row::Landing, mark: &str| l.device == tag && l.terminal == mark;
    p.rows.iter().any(|r| (at(&r.from, a) && at(&r.to, b)) || (at(&r.from, b) && at(&r.to, a)))
}

#[test]
fn single_phase_motors_on_starters_are_proved() {
    for (service, volts, loops) in [
        (ServiceVolts::Single120240, 120.0, [true, true]),
        (ServiceVolts::Single120240, 240.0, [false, true]),
        (ServiceVolts::Wye208, 208.0, [false, true]),
    ] {
        let mut job = workshop();
        job.service.volts = service;
        job.pumps[1].supply = Supply { volts, phases: 1 };
        job.pumps[1].motor = PumpMotor::Induction { hp: 1.0 / 6.0 };
        job.pumps[1].overload_built_in = false;
        let p = proved(&job);
        every_planted_fault_is_seen(&p);
        let motor = p.motors.iter().find(|m| m.device == "M2").unwrap();
        assert_eq!(motor.switch, MotorSwitch::Starter);
        assert_eq!([looped(&p, "QA2", "2/T1", "3/L2"), looped(&p, "QA2", "4/T2", "5/L3")], loops, "{volts} V");
        let starter = p.materials.iter().find(|m| m.item.starts_with("starter, 3 pole")).unwrap();
        assert_eq!(starter.quantity, 1.0);
    }
}

/// A fan that stands must be dead: its aquastat opens both lines.
#[test]
fn fans_between_two_ungrounded_conductors_are_proved() {
    for (service, volts, count) in
        [(ServiceVolts::Wye208, 208.0, 1), (ServiceVolts::Wye208, 208.0, 3), (ServiceVolts::Single120240, 240.0, 3)]
    {
        let mut fan = library().zones[4].fan.unwrap();
        fan.supply = Supply { volts, phases: 1 };
        fan.count = count;
        let mut job = workshop();
        job.service.volts = service;
        fan.place = job.zones[1].thermostat.place;
        job.zones[1].fan = Some(fan);
        let p = proved(&job);
        every_planted_fault_is_seen(&p);
        let poles = |d: &&Device| d.parts.iter().filter(|p| matches!(p, Part::Contact { .. })).count();
        let aquastats: Vec<&Device> = p.devices.iter().filter(|d| d.tag.starts_with("BF")).collect();
        assert_eq!(aquastats.len(), usize::from(count));
        assert!(aquastats.iter().all(|d| poles(d) == 2));
    }
}

/// Two three-phase fans behind one breaker, panelboard and relay panel in one room: each has a disconnect of its own in the panel.
#[test]
fn three_phase_fans_have_a_line_disconnect_each_wherever_the_breaker_is() {
    let mut job = library();
    job.service.in_sight_of_relay_panel = true;
    let fan = job.zones[4].fan.as_mut().unwrap();
    fan.supply = Supply { volts: 208.0, phases: 3 };
    (fan.count, fan.amps, fan.overload_built_in) = (2, 1.0, false);
    let p = compiled(&job);
    for tag in ["QLF5.1", "QLF5.2"] {
        assert!(p.devices.iter().any(|d| d.tag == tag), "{tag}");
    }
    let told = rules::check(&job, &p).findings;
    assert!(told.iter().all(|f| f.code != "HW211"), "{told:#?}");
}

/// NEC 110.14(A): one conductor on the ground terminal of a machine; 250.148: the others are spliced to it.
#[test]
fn grounds_of_a_machine_are_spliced() {
    let mut spliced = 0;
    for job in [workshop(), library(), mill()] {
        let p = compiled(&job);
        let landed = |tag: &str, mark: &str| {
            p.rows.iter().flat_map(|r| [&r.from, &r.to]).filter(|l| l.device == tag && l.terminal == mark).count()
        };
        let machine = |d: &&Device| {
            matches!(d.kind, Kind::Boiler | Kind::Pump | Kind::Fan | Kind::Safety | Kind::Damper | Kind::Aquastat)
        };
        for d in p.devices.iter().filter(machine) {
            let chassis = d.parts.iter().find_map(|p| if let Part::Chassis(t) = p { Some(*t) } else { None });
            let Some(ground) = chassis.map(|t| &d.terminals[usize::from(t.0)]) else { continue };
            assert_eq!((landed(&d.tag, &ground.mark), ground.holds.min(1)), (1, 1), "{}", d.tag);
            let splice = format!("{} splice", ground.mark);
            if d.find(&splice).is_some() {
                assert!(landed(&d.tag, &splice) > 2 && looped(&p, &d.tag, &splice, &ground.mark), "{}", d.tag);
                spliced += 1;
            }
        }
        let bought: f64 = p.materials.iter().filter(|m| m.item.ends_with(" grounds")).map(|m| m.quantity).sum();
        assert!(bought >= job.boilers.len() as f64, "{bought}");
    }
    assert!(spliced >= 8, "{spliced}");
}

/// Power and control of one machine in one tube: three phases, the two of its aquastat, one equipment ground; no tube of its own goes to
/// the aquastat from the panel. Three count as live: 310.15(C)(1), from memory, the two carry less than a tenth of their ampacity.
#[test]
fn a_fans_control_runs_with_its_power() {
    let p = compiled(&mill());
    let mut fans = 0;
    for m in p.motors.iter().filter(|m| m.device.starts_with("MF") && m.switch != MotorSwitch::Aquastat) {
        let of = |letters: &str| m.device.replace("MF", letters);
        let (switch, aquastat) = (of("QF"), of("BF"));
        let run = p.runs.iter().find(|r| r.from == "X3" && r.to == switch).unwrap();
        assert_eq!((run.conductors, run.current_carrying), (6, 3), "{run:?}");
        assert!(
            run.fill_percent.unwrap() <= run.fill_max_percent.unwrap() && run.fill_max_percent.unwrap() < 40.5,
            "{run:?}"
        );
        let to: Vec<&str> = p.runs.iter().filter(|r| r.to == aquastat).map(|r| r.from.as_str()).collect();
        assert_eq!(to, [switch.as_str()], "{}", m.device);
        // In that tube everything is insulated for the highest volts in it, 480 V, and no color stands for two things.
        let rows: Vec<_> = p.rows.iter().filter(|r| r.run == run.name).collect();
        assert!(rows.iter().all(|r| r.insulation == "THHN"), "600 V");
        let control = |r: &&&heatwright_wiring::row::Row| r.class == heatwright_wiring::row::Class::Control;
        for c in rows.iter().filter(control) {
            assert!(rows.iter().filter(|r| !control(r)).all(|r| r.colour != c.colour), "{c:?}");
            assert!(c.to.terminal == "C1" || c.to.terminal == "C2", "{c:?}");
        }
        assert_eq!(rows.iter().filter(control).count(), 2);
        fans += 1;
    }
    assert!(fans > 1, "{fans}");
    // Where power and control lie side by side, either may touch the other.
    let net = rebuilt(&p);
    for kind in [MutantKind::Shorted, MutantKind::Swapped] {
        let left: Vec<String> =
            mutate(&net, kind, Limits::default()).survivors.iter().map(|(m, _)| observe::mutant(&net, *m)).collect();
        assert!(left.is_empty(), "{left:#?}");
    }
}
