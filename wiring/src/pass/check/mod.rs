//! Whether a job can be wired at all: every fault in one go, before the first pass.
//!
//! A fault is a contradiction in the job (a point for something that is not there, a supply that the service does not have, two
//! terminals with one mark) or a number that is none. What is merely unwise is left to the rules.

mod marks;
mod points;

use crate::{
    device::PlaceId,
    job::{Boiler, Control, Fed, Job, PumpMotor, ServiceVolts, Supply},
    pass::{
        boards::{self, Board, board_of, to_neutral},
        choose::{self, has_relay, pump_asked_by},
        circuits::branch,
        loom::Lost,
    },
    tables::{Awg, derived},
};
use heatwright_core::{
    AnalogUse, BoilerId, ContactUse, PumpId, RelayUse, SafetyId, Subject, ZoneId,
    config::{BoilerPump, PumpRole, SafetyCircuit, SafetyKind, SafetyScope, ZoneDrive},
    limits,
};
use std::collections::BTreeSet;

/// Most receptacles on the one circuit: 13 outlets of 180 VA on 20 A (NEC 220.14(I), from memory).
const RECEPTACLES_MAX: usize = 13;
/// Largest current of one piece of equipment: 125 % of it must go on 4/0 AWG at 60 degrees, 195 A.
const AMPS_MAX: f64 = 150.0;

/// Something in the job that cannot be wired.
#[derive(Clone, Debug, PartialEq)]
pub struct JobFault {
    /// What it is about.
    pub subject: Subject,
    /// What is wrong.
    pub problem: Problem,
}

/// What is wrong, in one sentence that stands alone.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "each variant's sentence says what it is")]
pub enum Problem {
    #[error("{what} is {value}; give a number above zero")]
    NotPositive { what: &'static str, value: f64 },
    #[error("{what} is {value}; give a number that is not negative")]
    Negative { what: &'static str, value: f64 },
    #[error("{what} is {value} {unit}; {most} {unit} is the most that can be planned")]
    TooLarge { what: &'static str, value: f64, most: f64, unit: &'static str },
    #[error("{what} is {given} AWG; give one of 18, 16, 14, 12, 10, 8, 6, 4")]
    NoSuchSize { what: &'static str, given: u8 },
    #[error("there are {given} {what}; the controller takes {most} at most")]
    TooMany { what: &'static str, given: usize, most: usize },
    #[error("{what} names a place that the job does not list")]
    NoPlace { what: &'static str },
    #[error("no panelboard has {volts:.0} V {}; there is {there}", phases_text(*phases))]
    NoSupply { volts: f64, phases: u8, there: String },
    #[error(
        "control needs 120 V to neutral, which a service of 277/480 V does not have; describe a transformer to 120/240 V"
    )]
    NoControlVolts,
    #[error("the point {point} is for something that the job does not have")]
    NoSuchThing { point: String },
    #[error("the point {point} needs {needs}")]
    PointNeeds { point: String, needs: &'static str },
    #[error("it needs a {point} and the controller has none for it")]
    NoPoint { point: &'static str },
    #[error("its mark \"{mark}\" stands on two terminals; give each terminal its own mark")]
    SameMark { mark: String },
    #[error("its mark for {what} is empty; type what is printed on the terminal")]
    EmptyMark { what: &'static str },
    #[error("its mark \"{mark}\" would get {lands}; read the marks on the boiler again, or its volts")]
    WrongLanding { mark: String, lands: &'static str },
    #[error("its line needs {needs} marks for this supply, not {given}")]
    LineMarks { needs: usize, given: usize },
    #[error("{}; a panelboard has spaces 1 to {most}", past_text(*space, *poles, *last))]
    NoSuchSpace { space: u8, poles: u8, last: u16, most: u8 },
    #[error(
        "space {space} of the panelboard is given to two circuits, one of them with {}; poles take every second space",
        poles_text(*poles)
    )]
    SameSpace { space: u8, poles: u8 },
    #[error("{what}")]
    Contradiction { what: &'static str },
    #[error("the planner looked for terminal \"{mark}\" of {device} and did not find it; this is our mistake")]
    Lost { device: String, mark: String },
}

/// "three-phase", as a plate puts it.
fn phases_text(phases: u8) -> String {
    match phases {
        1 => "single-phase".into(),
        3 => "three-phase".into(),
        n => format!("with {n} phases"),
    }
}

fn past_text(space: u8, poles: u8, last: u16) -> String {
    match poles {
        1 => format!("space {space} of the panelboard is given to it"),
        n => format!("space {space} of the panelboard is given to it and ends at {last} with its {n} poles"),
    }
}

fn poles_text(poles: u8) -> String {
    if poles == 1 { "one pole".into() } else { format!("{poles} poles") }
}

impl Problem {
    /// The key of the plant file that it is about, below the heading of its subject; `None` where the whole thing is meant.
    pub fn key(&self, of: Subject) -> Option<&'static str> {
        let below = |boiler, pump, zone| match of {
            Subject::Boiler(_) => Some(boiler),
            Subject::Pump(_) => Some(pump),
            Subject::Zone(_) => Some(zone),
            _ => None,
        };
        match self {
            Self::NoSupply { .. } => below("electrical.volts", "volts", "fans.volts"),
            Self::TooLarge { unit: "A", .. } => below("electrical.amps", "amps", "fans.amps"),
            Self::NoSuchSpace { .. } | Self::SameSpace { .. } => below("electrical.space", "space", "fans.space"),
            Self::WrongLanding { .. } | Self::LineMarks { .. } => {
                Some("marks.line").filter(|_| matches!(of, Subject::Boiler(_)))
            }
            _ => None,
        }
    }

    /// How to mend it, where the sentence does not say so itself.
    pub fn mend(&self) -> Option<&'static str> {
        Some(match self {
            Self::NoSupply { .. } => {
                "read `volts` and `phases` on its plate again; where they are right, the service (`power`) or a transformer is not"
            }
            Self::TooLarge { .. } => {
                "see that the number and its unit are the ones meant; more than that is engineered by hand"
            }
            Self::TooMany { .. } => {
                "make it two plants with a plan and a controller each, or leave out what does not belong here"
            }
            Self::NoPlace { .. } | Self::Lost { .. } => "report it with the plant file: it is our mistake",
            Self::NoSuchThing { .. } | Self::PointNeeds { .. } => {
                "take the point out of the list of points, or enter what it is for"
            }
            Self::NoPoint { .. } => "leave out something that takes a point of that kind, or make it two plants",
            Self::WrongLanding { .. } | Self::LineMarks { .. } | Self::SameMark { .. } | Self::EmptyMark { .. } => {
                "read the marks off the terminals of the equipment itself"
            }
            Self::SameSpace { .. } | Self::NoSuchSpace { .. } => {
                "give another `space`, or leave it out: then it is planned"
            }
            Self::NotPositive { .. }
            | Self::Negative { .. }
            | Self::NoSuchSize { .. }
            | Self::NoControlVolts
            | Self::Contradiction { .. } => return None,
        })
    }
}

impl From<Lost> for JobFault {
    fn from(l: Lost) -> Self {
        Self { subject: Subject::Plant, problem: Problem::Lost { device: l.device, mark: l.mark } }
    }
}

/// All faults of a job.
pub fn check(job: &Job) -> Vec<JobFault> {
    let mut c = Check { job, faults: Vec::new(), together: Vec::new() };
    c.capacities();
    if !c.faults.is_empty() {
        // Ids past the capacities mean nothing: what else is wrong is looked at once these are mended.
        return c.faults;
    }
    c.service();
    for (i, b) in job.boilers.iter().enumerate() {
        c.boiler(BoilerId(i as u8), b);
    }
    c.pumps();
    c.zones();
    c.safeties();
    c.others();
    c.points();
    c.without_controller();
    if c.faults.is_empty() {
        c.looks();
    }
    c.one_space();
    c.faults
}

struct Check<'a> {
    job: &'a Job,
    faults: Vec<JobFault>,
    /// Pumps that are given the space of an earlier one, with poles and space.
    together: Vec<(PumpId, PumpId, u8, u8)>,
}

impl Check<'_> {
    fn say(&mut self, subject: Subject, problem: Problem) {
        self.faults.push(JobFault { subject, problem });
    }

    fn positive(&mut self, s: Subject, what: &'static str, value: f64) {
        if !(value.is_finite() && value > 0.0) {
            self.say(s, Problem::NotPositive { what, value });
        }
    }

    fn not_negative(&mut self, s: Subject, what: &'static str, value: f64) {
        if !(value.is_finite() && value >= 0.0) {
            self.say(s, Problem::Negative { what, value });
        }
    }

    /// A current that a conductor of the tables can carry.
    fn current(&mut self, s: Subject, what: &'static str, amps: f64) {
        self.positive(s, what, amps);
        if amps > AMPS_MAX {
            self.say(s, Problem::TooLarge { what, value: amps, most: AMPS_MAX, unit: "A" });
        }
    }

    fn capacities(&mut self) {
        let job = self.job;
        for (what, given, most) in [
            ("boilers", job.boilers.len(), limits::BOILERS),
            ("pumps", job.pumps.len(), limits::PUMPS),
            ("zones", job.zones.len(), limits::ZONES),
            ("safeties", job.safeties.len(), limits::SAFETIES),
            ("sensors", job.sensors.len(), limits::SENSORS),
            ("receptacles", job.receptacles.len(), RECEPTACLES_MAX),
        ] {
            if given > most {
                self.say(Subject::Plant, Problem::TooMany { what, given, most });
            }
        }
        for (what, given) in [
            ("the smallest power conductor", job.settings.power_min_awg),
            ("the smallest control conductor", job.settings.control_min_awg),
            ("the smallest Class 2 conductor", job.settings.class2_min_awg),
        ] {
            if given.to_string().parse::<Awg>().is_err() {
                self.say(Subject::Plant, Problem::NoSuchSize { what, given });
            }
        }
    }

    fn place(&mut self, s: Subject, what: &'static str, p: PlaceId) {
        if usize::from(p.0) >= self.job.places.len() {
            self.say(s, Problem::NoPlace { what });
        }
    }

    fn supply(&mut self, s: Subject, supply: Supply) {
        if board_of(self.job, supply).is_none() {
            let there = boards::boards(self.job).iter().map(|b| boards::volts(self.job, *b));
            let there: Vec<String> = there
                .map(|v| {
                    let (phase, line) = (v.phase_volts(), v.line_volts());
                    let three = if v.phases() == 3 { format!(", {line:.0} V three-phase") } else { String::new() };
                    format!("{phase:.0} or {line:.0} V single-phase{three}")
                })
                .collect();
            self.say(s, Problem::NoSupply { volts: supply.volts, phases: supply.phases, there: there.join(" and ") });
        }
    }

    fn service(&mut self) {
        let s = Subject::Plant;
        let job = self.job;
        self.derived_system();
        if let Some(p) = &job.starter_panel {
            self.place(s, "the starter panel", p.place);
            self.not_negative(s, "the way from relay panel to starter panel", p.from_relay_panel_ft);
            self.not_negative(s, "the way from panelboard to starter panel", p.to_panelboard_ft);
        }
        self.place(s, "the panelboard", job.service.panelboard);
        self.place(s, "the relay panel", job.panel.place);
        self.spaces();
        self.not_negative(s, "the way from panelboard to relay panel", job.service.to_relay_panel_ft);
        self.not_negative(s, "the voltage drop ahead of the panelboard", job.service.feeder_drop_percent);
        self.not_negative(s, "the length of wires in the relay panel", job.panel.wire_ft);
        self.positive(s, "the controller's supply in volt-amperes", job.panel.controller_va);
        for p in &job.places {
            if !p.ambient_c.is_finite() {
                self.say(s, Problem::NotPositive { what: "an ambient temperature", value: p.ambient_c });
            }
        }
        for (what, v) in [
            ("the voltage drop of branch circuits", job.settings.drop_branch_max_percent),
            ("the voltage drop in all", job.settings.drop_total_max_percent),
            ("the voltage drop of 24 V circuits", job.settings.drop_class2_max_percent),
        ] {
            self.positive(s, what, v);
        }
    }

    /// Given spaces: within the panelboard, each for one circuit.
    fn spaces(&mut self) {
        let mut taken = BTreeSet::new();
        for g in &self.job.service.spaces {
            let about = match g.fed {
                Fed::Boiler(b) => Subject::Boiler(b),
                Fed::Pump(p) => Subject::Pump(p),
                Fed::Fans(z, _) => Subject::Zone(z),
                Fed::Transformer | Fed::RelayPanel | Fed::CondensatePump(_) | Fed::Beacon | Fed::Receptacles => {
                    Subject::Plant
                }
            };
            let Some(supply) = branch::supply_of(self.job, g.fed) else {
                let what = "a space of the panelboard is given to something that it does not have";
                self.say(about, Problem::Contradiction { what });
                continue;
            };
            let poles = branch::poles(self.job, supply);
            let board = board_of(self.job, supply);
            if let Fed::Pump(p) = g.fed
                && let Some(first) = self.first_at(g.space, board, poles).filter(|first| *first != p)
            {
                self.together.push((p, first, g.space, poles));
                continue;
            }
            let most = crate::kinds::panelboard::SPACE_MAX;
            let last = u16::from(g.space) + 2 * u16::from(poles.saturating_sub(1));
            if g.space == 0 || last > u16::from(most) {
                self.say(about, Problem::NoSuchSpace { space: g.space, poles, last, most });
                continue;
            }
            for space in branch::below(g.space, poles) {
                if !taken.insert((board, space)) {
                    self.say(about, Problem::SameSpace { space, poles });
                }
            }
        }
    }

    /// The first pump that is given this space, with as many poles on the same board.
    fn first_at(&self, space: u8, board: Option<Board>, poles: u8) -> Option<PumpId> {
        let mut pumps = self.job.service.spaces.iter().filter(|g| g.space == space);
        pumps.find_map(|g| match g.fed {
            Fed::Pump(p) => {
                let supply = branch::supply_of(self.job, g.fed)?;
                (board_of(self.job, supply) == board && branch::poles(self.job, supply) == poles).then_some(p)
            }
            _ => None,
        })
    }

    /// Pumps with one space between them must be such as may share a circuit.
    fn one_space(&mut self) {
        if self.together.is_empty() || !self.faults.is_empty() {
            return;
        }
        let circuits = choose::choose(self.job).pump_circuits;
        for (p, first, space, poles) in std::mem::take(&mut self.together) {
            if !circuits.iter().any(|c| c.contains(&p) && c.contains(&first)) {
                self.say(Subject::Pump(p), Problem::SameSpace { space, poles });
            }
        }
    }

    fn controlled(&self) -> bool {
        self.job.control == Control::Controller
    }

    /// What zone relays alone cannot do.
    fn without_controller(&mut self) {
        let waiting = &self.job.wait_for_tank;
        if !waiting.is_empty() && (self.controlled() || self.job.tank.is_none()) {
            let what = "zones wait for the tank over relays only without a controller, and only for a tank";
            self.say(Subject::Plant, Problem::Contradiction { what });
        }
        if waiting.iter().any(|z| z.index() >= self.job.zones.len()) {
            let what = "a zone that shall wait for the tank is not in the job";
            self.say(Subject::Plant, Problem::Contradiction { what });
        }
        if self.controlled() {
            return;
        }
        let (job, p) = (self.job, &self.job.points);
        let points = p.relays.len() + p.contacts.len() + p.sensors.len() + p.analogs.len();
        let faults = [
            (points > 0, "control by zone relays uses no point of a controller; give it none"),
            (job.sensors.iter().any(Option::is_some), "control by zone relays reads no sensor; take the sensors out"),
            (job.beacon.is_some(), "control by zone relays has no alarm relay; take the beacon out"),
            (
                !job.automation.is_empty(),
                "control by zone relays shows nothing to building automation; take its contacts out",
            ),
            (job.zones.iter().any(|z| z.mixing.is_some()), "control by zone relays cannot drive a mixing valve"),
        ];
        for (bad, what) in faults {
            if bad {
                self.say(Subject::Plant, Problem::Contradiction { what });
            }
        }
    }

    /// The transformer and the panelboard behind it.
    fn derived_system(&mut self) {
        let s = Subject::Plant;
        let wye480 = self.job.service.volts == ServiceVolts::Wye480;
        let Some(t) = self.job.service.step_down else {
            if wye480 {
                self.say(s, Problem::NoControlVolts);
            }
            return;
        };
        if !wye480 {
            let what = "a service with 120 V needs no transformer to 120/240 V; leave it out";
            self.say(s, Problem::Contradiction { what });
        }
        self.place(s, "the transformer", t.place);
        self.place(s, "the second panelboard", t.panelboard);
        self.positive(s, "the transformer's rating in volt-amperes", t.va);
        for (what, ft) in [
            ("the way to the transformer", t.primary_ft),
            ("the way from transformer to second panelboard", t.secondary_ft),
            ("the way from transformer to grounding electrode", t.electrode_ft),
            ("the way from second panelboard to relay panel", t.to_relay_panel_ft),
        ] {
            self.not_negative(s, what, ft);
        }
        if t.secondary_ft > derived::SECONDARY_FT_MAX {
            let what = "the way from transformer to second panelboard (NEC 240.21(C))";
            let most = derived::SECONDARY_FT_MAX;
            self.say(s, Problem::TooLarge { what, value: t.secondary_ft, most, unit: "ft" });
        }
        let secondary = boards::volts(self.job, Board::Second).line_volts();
        self.current(s, "the transformer's secondary current", t.va / secondary);
        let edition = self.job.settings.edition;
        if derived::primary(t.va / self.job.service.volts.line_volts(), edition).is_none() {
            let what = "no standard breaker fits the transformer's primary (NEC 450.3(B)); take 3 kVA or more";
            self.say(s, Problem::Contradiction { what });
        }
    }

    fn boiler(&mut self, id: BoilerId, b: &Boiler) {
        let s = Subject::Boiler(id);
        self.place(s, "the boiler", b.place);
        self.supply(s, b.supply);
        self.current(s, "its current", b.amps);
        self.positive(s, "the load of its control pairs", b.pair_va);
        self.positive(s, "its control voltage", b.control_volts);
        self.not_negative(s, "its power run", b.power_run_ft);
        self.not_negative(s, "its control run", b.control_run_ft);
        let needs = if b.supply.phases == 3 { 3 } else { 2 };
        // A supply that is not there is told already: what its marks would get means nothing.
        if board_of(self.job, b.supply).is_some() {
            if b.marks.line.len() != needs {
                self.say(s, Problem::LineMarks { needs, given: b.marks.line.len() });
            } else if let Some(wrong) =
                marks::wrong_landing(&b.marks.line, &b.marks.ground, to_neutral(self.job, b.supply))
            {
                self.say(s, wrong);
            }
        }
        let m = &b.marks;
        let mut all: Vec<(&'static str, &String)> = m.line.iter().map(|l| ("line", l)).collect();
        all.push(("ground", &m.ground));
        for (what, pair) in [("limit", &m.limit), ("proving", &m.proving), ("demand", &m.demand)] {
            all.extend(pair.iter().map(|p| (what, p)));
        }
        all.extend(m.signal.iter().flatten().map(|p| ("0-10 V", p)));
        for (what, c) in [("flame", &m.flame), ("fault", &m.fault), ("pump", &m.pump)] {
            all.extend(c.iter().flat_map(|c| &c.marks).map(|p| (what, p)));
        }
        for (i, (what, mark)) in all.iter().enumerate() {
            if mark.trim().is_empty() {
                self.say(s, Problem::EmptyMark { what });
            } else if all[..i].iter().any(|(_, m)| m == mark) {
                self.say(s, Problem::SameMark { mark: (*mark).clone() });
            }
        }
        if self.controlled() && self.job.points.relay(RelayUse::Demand(id)).is_none() {
            self.say(s, Problem::NoPoint { point: "demand relay" });
        }
        let (pump, asks) = match b.pump {
            BoilerPump::None => (None, false),
            BoilerPump::Controller(p) => (Some(p), false),
            BoilerPump::Boiler(p) | BoilerPump::Either(p) => (Some(p), true),
        };
        if asks && m.pump.is_none() {
            self.say(s, Problem::Contradiction { what: "it switches its own pump but no pump contact was typed" });
        }
        if pump.is_some_and(|p| p.index() >= self.job.pumps.len()) {
            self.say(s, Problem::Contradiction { what: "its pump is not in the job" });
        }
    }

    fn pumps(&mut self) {
        for (i, p) in self.job.pumps.iter().enumerate() {
            let id = PumpId(i as u8);
            let s = Subject::Pump(id);
            self.place(s, "the pump", p.place);
            self.supply(s, p.supply);
            self.current(s, "its nameplate current", p.nameplate_a);
            if let PumpMotor::Induction { hp } = p.motor {
                self.positive(s, "its horsepower", hp);
            }
            self.not_negative(s, "its run", p.run_ft);
            if self.controlled() && pump_asked_by(self.job, id).0 && !has_relay(self.job, id) {
                self.say(s, Problem::NoPoint { point: "pump relay" });
            }
            if let PumpRole::Boiler(b) = p.role
                && b.index() >= self.job.boilers.len()
            {
                self.say(s, Problem::Contradiction { what: "it belongs to a boiler that is not in the job" });
            }
        }
    }

    fn zones(&mut self) {
        for (i, z) in self.job.zones.iter().enumerate() {
            let id = ZoneId(i as u8);
            let s = Subject::Zone(id);
            self.place(s, "the thermostat", z.thermostat.place);
            self.not_negative(s, "the run of its thermostat", z.thermostat.run_ft);
            self.not_negative(s, "the supply of its thermostat in volt-amperes", z.thermostat.va);
            if self.controlled() && self.job.points.contact(ContactUse::Call(id)).is_none() {
                self.say(s, Problem::NoPoint { point: "contact input for its call" });
            }
            match z.drive {
                ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) } if p.index() >= self.job.pumps.len() => {
                    self.say(s, Problem::Contradiction { what: "its pump is not in the job" });
                }
                _ => {}
            }
            match (z.drive, &z.valve) {
                (ZoneDrive::Valve { .. }, None) => {
                    self.say(s, Problem::Contradiction { what: "it is driven by a valve but no valve is described" });
                }
                (ZoneDrive::Pump(_), Some(_)) => {
                    self.say(
                        s,
                        Problem::Contradiction { what: "it is driven by a pump but a zone valve is described" },
                    );
                }
                _ => {}
            }
            if let Some(v) = &z.valve {
                self.place(s, "the zone valve", v.place);
                self.not_negative(s, "the run of its valve", v.run_ft);
                self.positive(s, "its valve's volt-amperes", v.va);
                self.not_negative(s, "its valve's inrush", v.inrush_va);
                if (v.volts - 24.0).abs() > 0.5 {
                    self.say(s, Problem::Contradiction { what: "only 24 V zone valves can be wired" });
                }
                if self.controlled() && self.job.points.relay(RelayUse::Valve(id)).is_none() {
                    self.say(s, Problem::NoPoint { point: "valve relay" });
                }
            }
            if let Some(m) = &z.mixing {
                self.place(s, "the mixing valve", m.place);
                self.not_negative(s, "the run of its mixing valve", m.run_ft);
                self.positive(s, "its mixing valve's volt-amperes", m.va);
                if self.job.points.analog(AnalogUse::Mixing(id)).is_none() {
                    self.say(s, Problem::NoPoint { point: "0-10 V output for its mixing valve" });
                }
            }
            if let Some(f) = &z.fan {
                self.place(s, "the fan", f.place);
                self.supply(s, f.supply);
                self.current(s, "its fan's current", f.amps);
                self.not_negative(s, "the run of its fan", f.run_ft);
                self.not_negative(s, "its fan's horsepower", f.hp);
                self.not_negative(s, "the way from fan to fan", f.spacing_ft);
                if f.count == 0 {
                    self.say(s, Problem::Contradiction { what: "its fans are described but there are none" });
                }
            }
        }
    }

    fn safeties(&mut self) {
        for (i, safety) in self.job.safeties.iter().enumerate() {
            let id = SafetyId(i as u8);
            let s = Subject::Safety(id);
            self.place(s, "the safety", safety.place);
            self.not_negative(s, "its run", safety.run_ft);
            if let Some(own) = safety.supply {
                self.positive(s, "its supply in volt-amperes", own.va);
                if (own.volts - 24.0).abs() > 0.5 && (own.volts - 120.0).abs() > 6.0 {
                    self.say(s, Problem::Contradiction { what: "its own supply must be 24 or 120 V" });
                }
            }
            let what = match (safety.config.circuit, safety.config.scope) {
                (_, SafetyScope::Boiler(b)) if b.index() >= self.job.boilers.len() => {
                    Some("its boiler is not in the job")
                }
                (_, SafetyScope::Zone(z)) if z.index() >= self.job.zones.len() => Some("its zone is not in the job"),
                (SafetyCircuit::ZoneLimit, SafetyScope::Zone(_)) => None,
                (SafetyCircuit::ZoneLimit, _) => Some("a zone limit must have a zone as its scope"),
                (SafetyCircuit::Limit | SafetyCircuit::Proving, SafetyScope::Zone(_) | SafetyScope::Tank) => {
                    Some("a limit or a proof acts on the plant or on one boiler")
                }
                _ => None,
            };
            if let Some(what) = what {
                self.say(s, Problem::Contradiction { what });
            }
            let follows = matches!(safety.config.kind, SafetyKind::FlowSwitch | SafetyKind::DamperSwitch);
            if follows && safety.rest == crate::part::Rest::Closed {
                let what = "a flow or damper switch is open at rest; one that is closed at rest proves nothing";
                self.say(s, Problem::Contradiction { what });
            }
        }
    }

    fn others(&mut self) {
        let job = self.job;
        for (i, sensor) in job.sensors.iter().enumerate() {
            if let Some(sensor) = sensor {
                let s = Subject::Sensor(heatwright_core::SensorId(i as u8));
                self.place(s, "the sensor", sensor.place);
                self.not_negative(s, "its run", sensor.run_ft);
                if i >= job.points.sensors.len() {
                    self.say(s, Problem::NoPoint { point: "sensor input" });
                }
            }
        }
        if let Some(t) = job.tank {
            self.place(Subject::Tank, "the tank", t.place);
            self.not_negative(Subject::Tank, "the run of its aquastat", t.run_ft);
            if self.controlled() && job.points.contact(ContactUse::TankCall).is_none() {
                self.say(Subject::Tank, Problem::NoPoint { point: "contact input for its aquastat" });
            }
        }
        if let Some(d) = job.damper {
            self.place(Subject::Damper, "the damper", d.place);
            self.not_negative(Subject::Damper, "its run", d.run_ft);
            self.positive(Subject::Damper, "its volt-amperes", d.va);
            if (d.volts - 24.0).abs() > 0.5 && (d.volts - 120.0).abs() > 6.0 {
                self.say(Subject::Damper, Problem::Contradiction { what: "its actuator must be 24 or 120 V" });
            }
            if self.controlled() && job.points.relay(RelayUse::Damper).is_none() {
                self.say(Subject::Damper, Problem::NoPoint { point: "damper relay" });
            }
        }
        for c in &job.condensate_pumps {
            self.place(Subject::Plant, "the condensate pump", c.place);
            self.current(Subject::Plant, "the condensate pump's current", c.amps);
            self.not_negative(Subject::Plant, "the condensate pump's run", c.run_ft);
        }
        if let Some(b) = job.beacon {
            self.place(Subject::Plant, "the alarm beacon", b.place);
            self.positive(Subject::Plant, "the alarm beacon's volt-amperes", b.va);
            self.not_negative(Subject::Plant, "the alarm beacon's run", b.run_ft);
            if job.points.relay(RelayUse::Alarm).is_none() {
                self.say(Subject::Plant, Problem::NoPoint { point: "alarm relay for its beacon" });
            }
        }
        for a in &job.automation {
            self.place(Subject::Plant, "a contact for building automation", a.place);
            self.positive(Subject::Plant, "the volts on a contact for building automation", a.volts);
            self.not_negative(Subject::Plant, "the run of a contact for building automation", a.run_ft);
            if job.points.relay(a.relay()).is_none() {
                self.say(
                    Subject::Plant,
                    Problem::NoPoint { point: "relay that a contact for building automation shows" },
                );
            }
        }
        for r in &job.receptacles {
            self.place(Subject::Plant, "a receptacle", r.place);
            self.not_negative(Subject::Plant, "a receptacle's run", r.run_ft);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::GivenSpace;

    /// Seen to fail: each pole past the end was told by itself, and none by the space that is written.
    #[test]
    fn a_space_whose_poles_pass_the_end_is_told_once_with_its_key() {
        let mut job = crate::fixtures::library();
        let pump = job.pumps.iter().position(|p| p.supply.phases == 3).unwrap();
        let id = PumpId(pump as u8);
        let told = |job: &Job| check(job).into_iter().map(|f| (f.problem.to_string(), f.problem.key(f.subject)));
        job.service.spaces = vec![GivenSpace { fed: Fed::Pump(id), space: 83 }];
        let list: Vec<_> = told(&job).collect();
        let [(sentence, Some("space"))] = &list[..] else { panic!("{list:?}") };
        assert!(
            sentence.starts_with("space 83 of the panelboard is given to it and ends at 87 with its 3 poles"),
            "{sentence}"
        );
        job.service.spaces = vec![GivenSpace { fed: Fed::Pump(id), space: 79 }];
        assert_eq!(told(&job).count(), 0, "79, 81, 83");
        // A supply that is not there points at the volts.
        job.pumps[pump].supply = Supply { volts: 400.0, phases: 3 };
        assert!(told(&job).any(|(s, key)| s.contains("400 V three-phase") && key == Some("volts")));
    }
}
