//! A small clean job and its plan, made by hand: one boiler with its safeties, one pump, one thermostat, one transformer.
//!
//! Every rule finds nothing in it; each rule's failing test plants one fault.

mod job;

use super::Rule;
use crate::{
    device::{Device, Kind, PlaceId},
    finding::{Finding, Findings},
    job::*,
    part::{Actuator, LoadUse, Part, Rest},
    plan::*,
    row::{Class, Colour, Landing, Row},
};
use heatwright_core::{
    BoilerId, ContactId, PumpId, RelayId, SafetyId, Subject, ZoneId,
    config::{Reset, SafetyCircuit, SafetyConfig, SafetyKind, SafetyScope},
};

/// What one rule finds.
pub(super) fn found(rule: &Rule, job: &Job, plan: &Plan) -> Vec<Finding> {
    let mut out = Findings::of_rule(rule.code, rule.severity);
    (rule.check)(job, plan, &mut out);
    let list = out.into_list();
    assert!(list.iter().all(|f| f.code == rule.code && f.sentence.ends_with('.')), "{list:#?}");
    list
}

/// What one rule finds in the clean fixture after a change to it.
pub(super) fn after(rule: &Rule, change: impl FnOnce(&mut Job, &mut Plan)) -> Vec<Finding> {
    let (mut job, mut plan) = clean();
    change(&mut job, &mut plan);
    found(rule, &job, &plan)
}

/// What one rule finds in the mill after a change to it.
pub(super) fn after_mill(rule: &Rule, change: impl FnOnce(&mut Job, &mut Plan)) -> Vec<Finding> {
    let mut job = crate::fixtures::mill();
    let mut plan = crate::plan::plan(&job).unwrap();
    change(&mut job, &mut plan);
    found(rule, &job, &plan)
}

/// A safety of the job.
pub(super) fn safety(kind: SafetyKind, scope: SafetyScope, circuit: SafetyCircuit, reset: Reset) -> Safety {
    Safety {
        config: SafetyConfig { kind, scope, circuit, reset },
        place: PlaceId(0),
        run_ft: 10.0,
        rest: Rest::Closed,
        aux: false,
        supply: None,
    }
}

/// A device with these terminals.
pub(super) fn device(tag: &str, kind: Kind, subject: Option<Subject>, marks: &[&str]) -> Device {
    let mut d = Device::new(tag, kind, PlaceId(0), tag.to_lowercase());
    d.subject = subject;
    for m in marks {
        d.terminal(*m);
    }
    d
}

/// Adds a contact between two marks.
pub(super) fn contact(d: &mut Device, a: &str, b: &str, rest: Rest, by: Actuator) {
    let (a, b) = (d.find(a).unwrap(), d.find(b).unwrap());
    d.parts.push(Part::Contact { a, b, rest, by });
}

fn load(d: &mut Device, a: &str, b: &str, what: LoadUse, volts: f64, va: f64) {
    let (a, b) = (d.find(a).unwrap(), d.find(b).unwrap());
    d.parts.push(Part::Load { a, b, what, volts, va });
}

fn chassis(d: &mut Device, mark: &str) {
    let t = d.terminal_for(mark, 3);
    d.parts.push(Part::Chassis(t));
}

fn winding(d: &mut Device, marks: [&str; 4], va: f64) {
    let t = |m: &str| d.find(m).unwrap();
    let part = Part::Transformer {
        primary: [t(marks[0]), t(marks[1])],
        secondary: [t(marks[2]), t(marks[3])],
        primary_volts: 120.0,
        secondary_volts: 24.0,
        ohm: 1.0,
        va,
    };
    d.parts.push(part);
}

fn panelboard() -> Device {
    let mut d = Device::new("A2", Kind::Panelboard, PlaceId(0), "panelboard");
    let (l, n, g) = (d.inside("L1"), d.inside("N"), d.inside("G"));
    d.parts.push(Part::Source { hot: l, ret: n, volts: 120.0, angle_deg: 0.0, ohm: 0.01 });
    d.parts.extend([Part::Bond(n, g), Part::Earth(g), Part::Chassis(g)]);
    for space in [1u8, 7, 13] {
        let hot = d.terminal(space.to_string());
        d.parts.push(Part::Contact { a: l, b: hot, rest: Rest::Closed, by: Actuator::Breaker(space) });
        let (tn, tg) = (d.terminal(format!("N{space}")), d.terminal(format!("G.{space}")));
        d.parts.extend([Part::Bond(n, tn), Part::Bond(g, tg)]);
    }
    d
}

fn devices() -> Vec<Device> {
    let boiler = Some(Subject::Boiler(BoilerId(0)));
    let mut q1 = device("Q1", Kind::Disconnect, boiler, &["1/L1", "2/T1"]);
    contact(&mut q1, "1/L1", "2/T1", Rest::Closed, Actuator::Opened);
    q1.terminal_for("N", 2);
    chassis(&mut q1, "PE");

    let mut u1 = device("U1", Kind::Boiler, boiler, &["L", "N", "a1", "a2", "b1", "b2", "c1", "c2"]);
    chassis(&mut u1, "G");
    let (live, common) = (u1.inside("live"), u1.inside("common"));
    winding(&mut u1, ["L", "N", "live", "common"], 40.0);
    load(&mut u1, "L", "N", LoadUse::BoilerLine(BoilerId(0)), 120.0, 720.0);
    for (out, back, what) in [
        ("a1", "a2", LoadUse::Limit(BoilerId(0))),
        ("b1", "b2", LoadUse::Proving(BoilerId(0))),
        ("c1", "c2", LoadUse::Demand(BoilerId(0))),
    ] {
        let t = u1.find(out).unwrap();
        u1.parts.push(Part::Bond(live, t));
        load(&mut u1, back, "common", what, 24.0, 10.0);
    }
    let ground = u1.find("G").unwrap();
    u1.parts.push(Part::Bond(common, ground));

    let mut q2 = device("Q2", Kind::Disconnect, Some(Subject::Pump(PumpId(0))), &["1/L1", "2/T1"]);
    contact(&mut q2, "1/L1", "2/T1", Rest::Closed, Actuator::Opened);
    q2.terminal_for("N", 2);
    chassis(&mut q2, "PE");
    let mut m1 = device("M1", Kind::Pump, Some(Subject::Pump(PumpId(0))), &["L", "N"]);
    load(&mut m1, "L", "N", LoadUse::Pump(PumpId(0)), 120.0, 480.0);
    chassis(&mut m1, "PE");

    let mut a1 =
        device("A1", Kind::Controller, None, &["24V.1", "24V.2", "K1.11", "K1.14", "K2.11", "K2.14", "I1.1", "I1.2"]);
    load(&mut a1, "24V.1", "24V.2", LoadUse::Controller, 24.0, 10.0);
    contact(&mut a1, "K1.11", "K1.14", Rest::Open, Actuator::Relay(RelayId(0)));
    contact(&mut a1, "K2.11", "K2.14", Rest::Open, Actuator::Relay(RelayId(1)));
    let (i1, i2) = (a1.find("I1.1").unwrap(), a1.find("I1.2").unwrap());
    a1.parts.push(Part::Input { a: i1, b: i2, contact: ContactId(0) });

    let mut t1 = device("T1", Kind::Transformer, None, &["H1", "H2", "X1", "X2"]);
    winding(&mut t1, ["H1", "H2", "X1", "X2"], 40.0);
    chassis(&mut t1, "PE");

    let mut b1 = device("B1", Kind::Thermostat, Some(Subject::Zone(ZoneId(0))), &["R", "W"]);
    contact(&mut b1, "R", "W", Rest::Open, Actuator::Call(ZoneId(0)));

    let mut list = vec![panelboard(), q1, u1, q2, m1, a1, t1, b1];
    for i in 0..5u8 {
        let mut f = device(&format!("F{}", i + 1), Kind::Safety, Some(Subject::Safety(SafetyId(i))), &["11", "12"]);
        let (by, rest) = if i == 4 {
            (Actuator::Flow(BoilerId(0)), Rest::Open)
        } else {
            (Actuator::Trip(SafetyId(i)), Rest::Closed)
        };
        contact(&mut f, "11", "12", rest, by);
        list.push(f);
    }
    list
}

/// What the wires of a circuit have in common.
#[derive(Clone, Copy)]
struct Like<'a> {
    circuit: &'a str,
    class: Class,
    awg: &'a str,
    insulation: &'a str,
    colour: Colour,
    run: &'a str,
    length_ft: f64,
    volts: f64,
    amps: f64,
}

fn landing(at: &str) -> Landing {
    let (device, terminal) = at.split_once(' ').unwrap();
    Landing { device: device.into(), terminal: terminal.into() }
}

fn rows() -> Vec<Row> {
    let mut rows = Vec::new();
    let mut put = |like: Like<'_>, from: &str, to: &str| {
        rows.push(Row {
            wire: format!("W{}", rows.len() + 1),
            from: landing(from),
            to: landing(to),
            circuit: like.circuit.into(),
            class: like.class,
            awg: like.awg.into(),
            insulation: like.insulation.into(),
            colour: like.colour,
            run: like.run.into(),
            length_ft: like.length_ft,
            volts: like.volts,
            amps: like.amps,
            drop_percent: 1.0,
            purpose: "test".into(),
        });
    };
    let power = |circuit, run, amps| Like {
        circuit,
        class: Class::Power,
        awg: "12",
        insulation: "THHN",
        colour: Colour::Black,
        run,
        length_ft: 30.0,
        volts: 120.0,
        amps,
    };
    let white = |l: Like<'static>| Like { colour: Colour::White, ..l };
    let green = |l: Like<'static>| Like { class: Class::Ground, colour: Colour::Green, amps: 0.0, ..l };

    let boiler = power("A2:1", "P1", 6.0);
    put(boiler, "A2 1", "Q1 1/L1");
    put(white(boiler), "A2 N1", "Q1 N");
    put(green(boiler), "A2 G.1", "Q1 PE");
    let boiler = Like { run: "P2", ..boiler };
    put(boiler, "Q1 2/T1", "U1 L");
    put(white(boiler), "Q1 N", "U1 N");
    put(green(boiler), "Q1 PE", "U1 G");

    let pump = power("A2:7", "P3", 4.4);
    put(pump, "A2 7", "A1 K2.11");
    let pump = Like { run: "P4", ..pump };
    put(Like { colour: Colour::Red, ..pump }, "A1 K2.14", "Q2 1/L1");
    put(white(pump), "A2 N7", "Q2 N");
    put(green(pump), "A2 G.7", "Q2 PE");
    let pump = Like { run: "P5", ..pump };
    put(Like { colour: Colour::Red, ..pump }, "Q2 2/T1", "M1 L");
    put(white(pump), "Q2 N", "M1 N");
    put(green(pump), "Q2 PE", "M1 PE");

    let supply = power("A2:13", "P6", 0.33);
    put(supply, "A2 13", "T1 H1");
    put(white(supply), "A2 N13", "T1 H2");
    put(green(supply), "A2 G.13", "T1 PE");

    let safe =
        Like { class: Class::Control, awg: "14", colour: Colour::Red, volts: 24.0, ..power("U1:limit", "S1", 0.42) };
    for (from, to) in
        [("U1 a1", "F1 11"), ("F1 12", "F2 11"), ("F2 12", "F3 11"), ("F3 12", "F4 11"), ("F4 12", "U1 a2")]
    {
        put(safe, from, to);
    }
    put(Like { circuit: "U1:proving", ..safe }, "U1 b1", "F5 11");
    put(Like { circuit: "U1:proving", ..safe }, "F5 12", "U1 b2");
    let demand = Like { circuit: "U1:demand", run: "C1", ..safe };
    put(demand, "U1 c1", "A1 K1.11");
    put(demand, "A1 K1.14", "U1 c2");

    let low = Like { class: Class::Class2, awg: "18", insulation: "cable", volts: 24.0, ..power("T1", "", 0.42) };
    put(low, "T1 X1", "A1 24V.1");
    put(Like { colour: Colour::Blue, ..low }, "T1 X2", "A1 24V.2");
    let input = Like { circuit: "A1:inputs", run: "L1", amps: 0.01, ..low };
    put(Like { colour: Colour::Core(1), ..input }, "A1 I1.1", "B1 R");
    put(Like { colour: Colour::Core(2), ..input }, "A1 I1.2", "B1 W");
    rows
}

fn circuit(name: &str, duty: Duty, class: Class, feed: Feed, volts: f64, amps: f64) -> Circuit {
    Circuit {
        name: name.into(),
        label: name.into(),
        subject: None,
        duty,
        class,
        feed,
        volts,
        volts_to_ground: volts,
        phases: 1,
        amps,
        va: volts * amps,
        continuous: false,
    }
}

fn breaker(circuit: &str, max_a: u16) -> Breaker {
    Breaker {
        circuit: circuit.into(),
        amps: 15,
        poles: 1,
        max_a,
        awg: "12".into(),
        ground_awg: "12".into(),
        ground_fault: false,
        why: "test".into(),
    }
}

fn run(name: &str, from: &str, to: &str, class: Class, safety: bool, form: RunForm) -> Run {
    Run {
        name: name.into(),
        from: from.into(),
        to: to.into(),
        from_place: PlaceId(0),
        to_place: PlaceId(0),
        class,
        safety,
        form,
        ground: crate::plan::RunGround::Wire("12".into()),
        length_ft: 30.0,
        conductors: 3,
        current_carrying: 2,
        fill_percent: None,
        fill_max_percent: None,
        ambient_c: 35.0,
        wires: vec![],
    }
}

/// The clean job and its plan.
pub(super) fn clean() -> (Job, Plan) {
    let space = |n| Feed::Panelboard { panel: "A2".into(), spaces: vec![n] };
    let emt = || RunForm::Emt("1/2".into());
    let power = |name, from, to| run(name, from, to, Class::Power, false, emt());
    let boiler = Subject::Boiler(BoilerId(0));
    let mut circuits = vec![
        circuit("A2:1", Duty::BoilerLine, Class::Power, space(1), 120.0, 6.0),
        circuit("A2:7", Duty::Motor, Class::Power, space(7), 120.0, 4.4),
        circuit("A2:13", Duty::PanelSupply, Class::Power, space(13), 120.0, 0.33),
        circuit("U1:limit", Duty::SafetyControl, Class::Control, Feed::Boiler(BoilerId(0)), 24.0, 0.42),
        circuit("U1:proving", Duty::SafetyControl, Class::Control, Feed::Boiler(BoilerId(0)), 24.0, 0.42),
        circuit("U1:demand", Duty::Control, Class::Control, Feed::Boiler(BoilerId(0)), 24.0, 0.42),
        circuit("T1", Duty::LowVoltage, Class::Class2, Feed::Transformer("T1".into()), 24.0, 0.42),
        circuit("A1:inputs", Duty::Input, Class::Class2, Feed::Controller, 24.0, 0.01),
    ];
    for c in circuits.iter_mut().filter(|c| c.name.starts_with("U1") || c.name == "A2:1") {
        c.subject = Some(boiler);
    }
    let plan = Plan {
        panelboard: String::new(),
        relay_panel: String::new(),
        fault_ka: None,
        second_fault_ka: None,
        spaces_given: Vec::new(),
        places: vec!["boiler room".into(), "passage".into()],
        devices: devices(),
        circuits,
        breakers: vec![breaker("A2:1", 20), breaker("A2:7", 15), breaker("A2:13", 15)],
        motors: vec![MotorProtection {
            what: LoadUse::Pump(PumpId(0)),
            device: "M1".into(),
            circuit: "A2:7".into(),
            sizing_a: 4.4,
            nameplate_a: 4.0,
            switch: MotorSwitch::ControllerRelay,
            overload: None,
            disconnect: "Q2".into(),
            controller_disconnect: "A2".into(),
            disconnect_min_a: 5.06,
        }],
        transformers: vec![TransformerLoad {
            tag: "T1".into(),
            va: 40.0,
            sealed_va: 10.0,
            inrush_va: 10.0,
            starting_v: 23.5,
            loads: vec!["controller".into()],
        }],
        runs: vec![
            power("P1", "A2", "Q1"),
            power("P2", "Q1", "U1"),
            power("P3", "A2", "A1"),
            power("P4", "A1", "Q2"),
            power("P5", "Q2", "M1"),
            power("P6", "A2", "T1"),
            run("S1", "U1", "F1", Class::Control, true, emt()),
            run("C1", "U1", "A1", Class::Control, false, emt()),
            run("L1", "A1", "B1", Class::Class2, false, RunForm::Cable { cores: 2, shielded: false }),
        ],
        rows: rows(),
        bars: vec![],
        landings: vec![],
        directory: vec![],
        materials: vec![],
        labels: vec![],
    };
    (job::job(), plan)
}
