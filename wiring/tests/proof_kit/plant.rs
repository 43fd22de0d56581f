//! A small plant wired by hand: one boiler, one zone with a starter and a selector, three safeties, two sensors, a 0-10 V
//! target with a shield, an alarm.

use crate::proof_kit::*;
use heatwright_core::{
    AnalogId, AnalogUse, BoilerId, ContactUse, Points, RelayUse, SafetyId, SensorId, SensorUse, Tap,
    config::{
        BoilerDrive, BoilerPump, PumpRole, Reset, SafetyCircuit, SafetyConfig, SafetyKind, SafetyScope, ZoneDrive,
    },
    units::Temp,
};
use heatwright_wiring::job::*;

const B: BoilerId = BoilerId(0);
const P: PumpId = PumpId(0);
const Z: ZoneId = ZoneId(0);

fn points() -> Points {
    let mut p = Points::default();
    p.relays.extend([RelayUse::Demand(B), RelayUse::Pump(P), RelayUse::Alarm]);
    p.contacts.extend([
        ContactUse::Call(Z),
        ContactUse::Flow(B),
        ContactUse::Flame(B),
        ContactUse::Hand(P),
        ContactUse::Auto(P),
        ContactUse::Safety(SafetyId(1), Tap::Aux),
    ]);
    p.sensors.extend([SensorUse::Supply, SensorUse::Outdoor]);
    p.analogs.extend([AnalogUse::Target(B)]);
    p
}

pub(crate) fn job() -> Job {
    let here = PlaceId(0);
    let pair = |a: &str, b: &str| [a.to_string(), b.to_string()];
    let contact = |a, b| Some(BoilerContact { marks: pair(a, b), dry: true, pilot: PilotDuty::B300, amps_max: None });
    let safety = |kind, scope, circuit, aux| Safety {
        config: SafetyConfig { kind, scope, circuit, reset: Reset::Manual },
        place: here,
        run_ft: 10.0,
        rest: Rest::Closed,
        aux,
        supply: None,
    };
    Job {
        points: points(),
        names: Names::default(),
        places: vec![Place { name: "boiler room".into(), ambient_c: 40.0 }],
        service: Service {
            name: String::new(),
            volts: ServiceVolts::Wye208,
            fault_ka: None,
            panelboard: here,
            to_relay_panel_ft: 10.0,
            in_sight_of_relay_panel: true,
            feeder_drop_percent: 0.0,
            spaces: Vec::new(),
            step_down: None,
        },
        panel: RelayPanel {
            name: String::new(),
            place: here,
            enclosure: heatwright_wiring::job::EnclosureType::Type1,
            moisture: heatwright_wiring::job::Moisture::Dry,
            short_circuit_ka: None,
            wire_ft: 3.0,
            controller_va: 10.0,
            relay: RelayRating::default(),
            hand_over: false,
        },
        settings: Settings::default(),
        boilers: vec![Boiler {
            place: here,
            input_btu_h: 400_000.0,
            supply: Supply { volts: 120.0, phases: 1 },
            amps: 3.0,
            breaker_max_a: None,
            control_volts: 120.0,
            control_grounded: true,
            pair_va: 20.0,
            drive: BoilerDrive::Target { low: Temp::default(), high: Temp::default() },
            pump: BoilerPump::None,
            marks: BoilerMarks {
                line: vec!["L".into(), "N".into()],
                ground: "PE".into(),
                limit: pair("1", "2"),
                proving: pair("3", "4"),
                demand: pair("5", "6"),
                signal: Some(pair("Y+", "Y-")),
                flame: contact("7", "8"),
                fault: None,
                pump: None,
            },
            switch: ServiceSwitch { lockable_in_sight: true, aux: false },
            power_run_ft: 10.0,
            control_run_ft: 10.0,
        }],
        pumps: vec![Pump {
            role: PumpRole::Zone,
            place: here,
            motor: PumpMotor::Induction { hp: 0.5 },
            supply: Supply { volts: 120.0, phases: 1 },
            nameplate_a: 5.0,
            service_factor: 1.0,
            rise_k: None,
            overload_built_in: false,
            selector: Selector::HandOffAuto,
            run_ft: 10.0,
            in_sight_of_panel: true,
        }],
        zones: vec![Zone {
            drive: ZoneDrive::Pump(P),
            thermostat: Thermostat { kind: ThermostatKind::TwoWire, place: here, run_ft: 10.0, va: 0.0 },
            valve: None,
            mixing: None,
            floor: false,
            fan: None,
        }],
        safeties: vec![
            safety(SafetyKind::DoorSwitch, SafetyScope::Plant, SafetyCircuit::Limit, false),
            safety(SafetyKind::HighLimit, SafetyScope::Boiler(B), SafetyCircuit::Limit, true),
            safety(SafetyKind::FlowSwitch, SafetyScope::Boiler(B), SafetyCircuit::Proving, true),
        ],
        sensors: vec![Some(Sensor { place: here, run_ft: 10.0 }), Some(Sensor { place: here, run_ft: 10.0 })],
        tank: None,
        damper: None,
        condensate_pumps: vec![],
        beacon: Some(Beacon { place: here, run_ft: 10.0, va: 10.0 }),
        automation: vec![],
        control: heatwright_wiring::job::Control::Controller,
        wait_for_tank: Vec::new(),
        fallback: heatwright_wiring::job::Fallback::FixedTarget,
        orders: heatwright_wiring::job::Orders::default(),
        receptacles: vec![],
        starter_panel: None,
        spare_spaces: 0,
    }
}

/// The plant's wiring, without a fault.
pub(crate) fn wired() -> Kit {
    let mut k = Kit::service();
    k.transformer("T1", "L1");
    let marks: Vec<String> = (1..=3)
        .flat_map(|r| [format!("K{r}.11"), format!("K{r}.12"), format!("K{r}.14")])
        .chain((1..=6).map(|i| format!("I{i}")))
        .chain(["IC", "S1", "S2", "SC", "O+", "O-", "R", "C", "SH"].map(String::from))
        .collect();
    let marks: Vec<&str> = marks.iter().map(String::as_str).collect();
    k.add(device("A1", Kind::Controller, &marks, |t| {
        let mut parts = Vec::new();
        for r in 0..3_u8 {
            let i = usize::from(r) * 3;
            let by = Actuator::Relay(RelayId(r));
            parts.extend([contact(t[i], t[i + 2], by), breaks(t[i], t[i + 1], by)]);
        }
        for c in 0..6_u8 {
            parts.push(Part::Input { a: t[9 + usize::from(c)], b: t[15], contact: ContactId(c) });
        }
        for s in 0..2_u8 {
            parts.push(Part::SensorInput { a: t[16 + usize::from(s)], b: t[18], sensor: SensorId(s) });
        }
        parts.push(Part::SignalOut { plus: t[19], minus: t[20], analog: AnalogId(0) });
        parts.push(load(t[21], t[22], LoadUse::Controller, 24.0, 10.0));
        parts
    }));
    k.add(device("QC1", Kind::Disconnect, &["1", "2"], |t| vec![breaks(t[0], t[1], Actuator::BoilerSwitchOff(B))]));
    let marks = ["L", "N", "PE", "1", "2", "3", "4", "5", "6", "7", "8", "Y+", "Y-", "SH"];
    k.add(device("E1", Kind::Boiler, &marks, |t| {
        vec![
            load(t[0], t[1], LoadUse::BoilerLine(B), 120.0, 300.0),
            Part::Chassis(t[2]),
            Part::Bond(t[0], t[3]),
            Part::Bond(t[0], t[5]),
            Part::Bond(t[0], t[7]),
            load(t[4], t[1], LoadUse::Limit(B), 120.0, 20.0),
            load(t[6], t[1], LoadUse::Proving(B), 120.0, 20.0),
            load(t[8], t[1], LoadUse::Demand(B), 120.0, 20.0),
            contact(t[9], t[10], Actuator::Flame(B)),
            Part::SignalIn { plus: t[11], minus: t[12], analog: AnalogId(0) },
        ]
    }));
    k.add(device("F1", Kind::Safety, &["1", "2"], |t| vec![breaks(t[0], t[1], Actuator::Trip(SafetyId(0)))]));
    k.add(device("F2", Kind::Safety, &["1", "2", "3", "4"], |t| {
        let by = Actuator::Trip(SafetyId(1));
        vec![breaks(t[0], t[1], by), breaks(t[2], t[3], by)]
    }));
    k.add(device("F3", Kind::Safety, &["1", "2", "3", "4"], |t| {
        let by = Actuator::Flow(B);
        vec![contact(t[0], t[1], by), contact(t[2], t[3], by)]
    }));
    k.add(device("KS1", Kind::Relay, &["A1", "A2", "11", "14"], |t| {
        vec![Part::Coil { a: t[0], b: t[1], number: 0, volts: 120.0, va: 3.0 }, contact(t[2], t[3], Actuator::Coil(0))]
    }));
    k.add(device("S1", Kind::Selector, &["13", "14", "23", "24", "33", "34", "43", "44"], |t| {
        let (hand, auto) = (Actuator::Hand(P), Actuator::Auto(P));
        vec![contact(t[0], t[1], hand), contact(t[2], t[3], auto), contact(t[4], t[5], hand), contact(t[6], t[7], auto)]
    }));
    k.add(device("QA1", Kind::Starter, &["A1", "A2", "1", "2", "95", "96"], |t| {
        vec![
            Part::Coil { a: t[0], b: t[1], number: 0, volts: 120.0, va: 9.0 },
            contact(t[2], t[3], Actuator::Coil(0)),
            breaks(t[4], t[5], Actuator::Overload(P)),
        ]
    }));
    k.add(device("M1", Kind::Pump, &["L", "N", "PE"], |t| {
        vec![load(t[0], t[1], LoadUse::Pump(P), 120.0, 600.0), Part::Chassis(t[2])]
    }));
    k.add(device("B1", Kind::Thermostat, &["R", "W"], |t| vec![contact(t[0], t[1], Actuator::Call(Z))]));
    for i in 0..2_u8 {
        k.add(device(&format!("BT{}", i + 1), Kind::Sensor, &["1", "2"], |t| {
            vec![Part::Element { a: t[0], b: t[1], sensor: SensorId(i) }]
        }));
    }
    k.add(device("PA1", Kind::Beacon, &["L", "N", "PE"], |t| {
        vec![load(t[0], t[1], LoadUse::Beacon, 120.0, 10.0), Part::Chassis(t[2])]
    }));
    for line in WIRES.lines().map(str::trim).filter(|l| !l.is_empty()) {
        let mut words = line.split_whitespace();
        let (from, to) = (words.next().unwrap(), words.next().unwrap());
        let run = words.next().unwrap_or("");
        k.colour(from, to, if run == "shield" { Colour::Shield } else { Colour::Black });
        if let Some(r) = k.rows.last_mut() {
            r.run = run.into();
        }
    }
    k
}

/// From, to, run.
const WIRES: &str = "
    T1:R A1:R
    T1:C A1:C
    Q0:L1 QC1:1 E-power
    QC1:2 E1:L
    Q0:N E1:N E-power
    Q0:PE E1:PE E-power
    Q0:L2 F1:1 F-control
    F1:2 KS1:A1 F-control
    Q0:N KS1:A2
    E1:1 F2:1 E-limit
    F2:2 KS1:11
    KS1:14 E1:2 E-limit
    E1:3 F3:1 E-proving
    F3:2 E1:4 E-proving
    E1:5 A1:K1.11 E-control
    A1:K1.14 E1:6 E-control
    E1:7 A1:I3 E-class2
    E1:8 A1:IC E-class2
    A1:O+ E1:Y+ E-signal
    A1:O- E1:Y- E-signal
    A1:SH E1:SH shield
    Q0:PE A1:SH
    Q0:L2 S1:13
    Q0:L2 A1:K2.11
    A1:K2.14 S1:23
    S1:24 S1:14
    S1:14 QA1:A1
    QA1:A2 QA1:95
    QA1:96 Q0:N
    Q0:L3 QA1:1
    QA1:2 M1:L M-power
    Q0:N M1:N M-power
    Q0:PE M1:PE M-power
    B1:R A1:I1 B-class2
    B1:W A1:IC B-class2
    F3:3 A1:I2 F-class2
    F3:4 A1:IC F-class2
    F2:3 A1:I6 F-class2
    F2:4 A1:IC F-class2
    S1:33 A1:I4
    S1:34 A1:IC
    S1:43 A1:I5
    S1:44 A1:IC
    BT1:1 A1:S1 BT-class2
    BT1:2 A1:SC BT-class2
    BT2:1 A1:S2 BT-class2
    BT2:2 A1:SC BT-class2
    Q0:L3 A1:K3.11
    A1:K3.12 PA1:L P-power
    Q0:N PA1:N P-power
    Q0:PE PA1:PE P-power
";

impl Kit {
    /// The row between these two, by "TAG:MARK".
    pub(crate) fn row(&self, from: &str, to: &str) -> usize {
        let at = |l: &Landing| format!("{}:{}", l.device, l.terminal);
        self.rows.iter().position(|r| at(&r.from) == from && at(&r.to) == to).unwrap()
    }

    /// Lands an end of a row elsewhere.
    pub(crate) fn land(&mut self, row: usize, end: usize, to: &str) {
        let (d, t) = to.split_once(':').unwrap();
        let l = Landing { device: d.into(), terminal: t.into() };
        if end == 0 { self.rows[row].from = l } else { self.rows[row].to = l }
    }
}
