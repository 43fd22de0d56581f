//! Small hand-made devices and rows for the tests of the proof.
#![allow(dead_code, unused_imports, reason = "each test file uses its own share")]

pub(crate) use heatwright_core::{ContactId, PumpId, RelayId, ZoneId};
pub(crate) use heatwright_wiring::{
    device::{Device, Kind, PlaceId},
    net::{ActuatorSet, Changes, Network, Observation, Seen, Solver, What},
    part::{Actuator, LoadUse, Part, Rest, T},
    row::{Class, Colour, Landing, Row},
};

/// Devices and rows under construction.
#[derive(Clone, Default)]
pub(crate) struct Kit {
    pub(crate) devices: Vec<Device>,
    pub(crate) rows: Vec<Row>,
}

pub(crate) fn device(tag: &str, kind: Kind, marks: &[&str], parts: impl FnOnce(&[T]) -> Vec<Part>) -> Device {
    let mut d = Device::new(tag, kind, PlaceId(0), tag);
    let ts: Vec<T> = marks.iter().map(|m| d.terminal(*m)).collect();
    d.parts = parts(&ts);
    d
}

pub(crate) fn contact(a: T, b: T, by: Actuator) -> Part {
    Part::Contact { a, b, rest: Rest::Open, by }
}

pub(crate) fn breaks(a: T, b: T, by: Actuator) -> Part {
    Part::Contact { a, b, rest: Rest::Closed, by }
}

pub(crate) fn load(a: T, b: T, what: LoadUse, volts: f64, va: f64) -> Part {
    Part::Load { a, b, what, volts, va }
}

/// A load that is nothing but this many ohms.
pub(crate) fn ohms(a: T, b: T, ohm: f64) -> Part {
    load(a, b, LoadUse::Receptacle, 24.0, 24.0 * 24.0 / ohm)
}

impl Kit {
    pub(crate) fn add(&mut self, d: Device) -> &mut Self {
        self.devices.push(d);
        self
    }

    /// A wire between "TAG:MARK" and "TAG:MARK".
    pub(crate) fn wire(&mut self, from: &str, to: &str) -> &mut Self {
        self.colour(from, to, Colour::Black)
    }

    pub(crate) fn colour(&mut self, from: &str, to: &str, colour: Colour) -> &mut Self {
        let landing = |s: &str| {
            let (device, terminal) = s.split_once(':').unwrap();
            Landing { device: device.into(), terminal: terminal.into() }
        };
        self.rows.push(Row {
            wire: format!("{}", self.rows.len() + 1),
            from: landing(from),
            to: landing(to),
            circuit: "1".into(),
            class: Class::Control,
            awg: "14".into(),
            insulation: "THHN".into(),
            colour,
            run: String::new(),
            length_ft: 1.0,
            volts: 120.0,
            amps: 1.0,
            drop_percent: 0.0,
            purpose: String::new(),
        });
        self
    }

    pub(crate) fn network(&self) -> Network {
        Network::rebuild(&self.devices, &self.rows).unwrap()
    }

    pub(crate) fn solver(&self) -> Solver {
        Solver::new(&self.network(), &Changes::default())
    }

    /// A three-phase service with ground on its neutral.
    pub(crate) fn service() -> Self {
        let mut k = Self::default();
        k.add(device("Q0", Kind::Panelboard, &["L1", "L2", "L3", "N", "PE"], |t| {
            let phase = |hot, angle_deg| Part::Source { hot, ret: t[3], volts: 120.0, angle_deg, ohm: 1e-6 };
            vec![phase(t[0], 0.0), phase(t[1], -120.0), phase(t[2], 120.0), Part::Bond(t[3], t[4]), Part::Earth(t[4])]
        }));
        k
    }

    /// Adds a 120/24 V transformer on a phase of the service.
    pub(crate) fn transformer(&mut self, tag: &str, phase: &str) -> &mut Self {
        self.add(device(tag, Kind::Transformer, &["1", "2", "R", "C"], |t| {
            vec![Part::Transformer {
                primary: [t[0], t[1]],
                secondary: [t[2], t[3]],
                primary_volts: 120.0,
                secondary_volts: 24.0,
                ohm: 0.35,
                va: 100.0,
            }]
        }));
        self.wire(&format!("Q0:{phase}"), &format!("{tag}:1")).wire("Q0:N", &format!("{tag}:2"))
    }
}

pub(crate) fn set(on: &[Actuator]) -> ActuatorSet {
    on.iter().fold(ActuatorSet::default(), |s, a| s.with(*a, true))
}

/// What is seen at the first watch of this kind.
pub(crate) fn seen(s: &Solver, o: &Observation, what: What) -> Seen {
    o.seen[s.watches().iter().position(|w| w.what == what).unwrap()]
}

/// A controller with one relay (11-14), two inputs with a shared common, 24 V supply.
pub(crate) fn controller() -> Device {
    device("A1", Kind::Controller, &["11", "14", "I1", "I2", "IC", "R", "C"], |t| {
        vec![
            contact(t[0], t[1], Actuator::Relay(RelayId(0))),
            Part::Input { a: t[2], b: t[4], contact: ContactId(0) },
            Part::Input { a: t[3], b: t[4], contact: ContactId(1) },
            load(t[5], t[6], LoadUse::Controller, 24.0, 10.0),
        ]
    })
}

/// A starter: coil A1-A2, main 1-2, overload 95-96.
pub(crate) fn starter(tag: &str, pump: PumpId) -> Device {
    device(tag, Kind::Starter, &["A1", "A2", "1", "2", "95", "96"], |t| {
        vec![
            Part::Coil { a: t[0], b: t[1], number: 0, volts: 24.0, va: 6.0 },
            contact(t[2], t[3], Actuator::Coil(0)),
            breaks(t[4], t[5], Actuator::Overload(pump)),
        ]
    })
}

/// A three-wire thermostat: own supply R-C, contact R-W.
pub(crate) fn thermostat(tag: &str, zone: ZoneId) -> Device {
    device(tag, Kind::Thermostat, &["R", "W", "C"], |t| {
        vec![load(t[0], t[2], LoadUse::Thermostat(zone), 24.0, 2.0), contact(t[0], t[1], Actuator::Call(zone))]
    })
}
