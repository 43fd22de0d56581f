//! What the compiler hands back: devices, circuits, protection, runs, rows and the lists made from them.
//!
//! The rows are the plan; everything else here explains or sums them. Plain data, in natural stable order.

use crate::{
    device::{Device, PlaceId},
    job::Job,
    kinds::derived::HALF_V,
    part::LoadUse,
    pass::{self, check::JobFault},
    row::{Class, Landing, Row},
};
use heatwright_core::{BoilerId, PumpId, Subject};
use serde::{Deserialize, Serialize};

macro_rules! record {
    ($($(#[$meta:meta])* pub $kind:ident $name:ident $body:tt)*) => {$(
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub $kind $name $body
    )*};
}

record! {
    /// Where a breaker stands.
    #[derive(Eq, PartialOrd, Ord)]
    pub struct BreakerAt {
        /// Tag of its panelboard.
        pub panel: String,
        /// Its first space.
        pub space: u8,
    }

    /// The whole plan.
    pub struct Plan {
        /// Name on the panelboard's door; empty for none.
        pub panelboard: String,
        /// Name on the relay panel's door; empty for none.
        pub relay_panel: String,
        /// Breakers whose spaces were given; all others are planned.
        pub spaces_given: Vec<BreakerAt>,
        /// Short-circuit current available at the panelboard, kA; `None` when nobody has told.
        pub fault_ka: Option<f64>,
        /// The same behind the transformer to the second panelboard, kA; `None` without one, or when its impedance is not stated.
        pub second_fault_ka: Option<f64>,
        /// Names of the places, by [`PlaceId`].
        pub places: Vec<String>,
        /// Every device, in schedule order.
        pub devices: Vec<Device>,
        /// Every circuit, branch circuits first.
        pub circuits: Vec<Circuit>,
        /// Breaker of each branch circuit.
        pub breakers: Vec<Breaker>,
        /// Protection of each motor.
        pub motors: Vec<MotorProtection>,
        /// Every transformer with its sums.
        pub transformers: Vec<TransformerLoad>,
        /// Every raceway and cable.
        pub runs: Vec<Run>,
        /// Every conductor.
        pub rows: Vec<Row>,
        /// The same by device: what lands on each terminal.
        pub landings: Vec<TerminalLanding>,
        /// Jumper bars of the strips.
        pub bars: Vec<Bar>,
        /// The panelboards' directories, every space of them.
        pub directory: Vec<DirectoryEntry>,
        /// What to buy.
        pub materials: Vec<Material>,
        /// Labels to print.
        pub labels: Vec<Label>,
    }

    /// Where a circuit's power comes from.
    #[derive(Eq)]
    pub enum Feed {
        /// A panelboard, at these spaces.
        Panelboard {
            /// Its tag.
            panel: String,
            /// Spaces, one a pole.
            spaces: Vec<u8>,
        },
        /// A transformer of ours, by tag.
        Transformer(String),
        /// A boiler's own control supply.
        Boiler(BoilerId),
        /// A pump's own electronics.
        Pump(PumpId),
        /// The building-automation system behind the contact of that number in the job's list.
        Automation(u8),
        /// The controller's own wetting, measuring or signal supply.
        Controller,
    }

    /// What a circuit is for.
    #[derive(Copy, Eq)]
    pub enum Duty {
        /// Boiler line supply.
        BoilerLine,
        /// Motor branch circuit.
        Motor,
        /// Primary of the transformer between two panelboards.
        Transformer,
        /// Its secondary, to the main breaker of the second panelboard.
        Feeder,
        /// Supply of the relay panel: safety chain, coils, transformers.
        PanelSupply,
        /// Alarm beacon.
        Alarm,
        /// Receptacle.
        Receptacle,
        /// Any other branch circuit.
        Appliance,
        /// Limit or proving pair, safety chain.
        SafetyControl,
        /// Coils, demand contacts, pump requests.
        Control,
        /// 24 V actuators and powered thermostats.
        LowVoltage,
        /// Contact inputs.
        Input,
        /// Temperature sensors.
        Sensor,
        /// 0-10 V.
        Signal,
    }

    /// One circuit: all conductors on one overcurrent device or one supply.
    pub struct Circuit {
        /// Its name in the rows: the supply's tag and terminal.
        pub name: String,
        /// What it does, in words.
        pub label: String,
        /// What it belongs to.
        pub subject: Option<Subject>,
        /// What it is for.
        pub duty: Duty,
        /// Its class.
        pub class: Class,
        /// Where its power comes from.
        pub feed: Feed,
        /// Volts between its conductors.
        pub volts: f64,
        /// Highest volts from one of its conductors to ground.
        pub volts_to_ground: f64,
        /// Phases: 1 or 3.
        pub phases: u8,
        /// Design current, amperes: table current for motors.
        pub amps: f64,
        /// Load on it, volt-amperes.
        pub va: f64,
        /// True when the current flows for three hours or more.
        pub continuous: bool,
    }

    /// The breaker of a branch circuit.
    pub struct Breaker {
        /// The circuit.
        pub circuit: String,
        /// Rating, amperes.
        pub amps: u16,
        /// Poles.
        pub poles: u8,
        /// Largest rating the code allows here, amperes.
        pub max_a: u16,
        /// Phase conductor, AWG.
        pub awg: String,
        /// Equipment ground, AWG.
        pub ground_awg: String,
        /// Ground-fault protection for personnel at the breaker.
        pub ground_fault: bool,
        /// Why it is this size, in words.
        pub why: String,
    }

    /// How a motor is switched.
    #[derive(Copy, Eq)]
    pub enum MotorSwitch {
        /// The controller's relay contact carries it.
        ControllerRelay,
        /// The contact of its zone's own relay carries it: control by zone relays.
        CallRelay,
        /// A boiler's pump contact carries it.
        BoilerContact,
        /// A contactor.
        Contactor,
        /// A starter with overload.
        Starter,
        /// Constant power, started by its own input.
        StartInput,
        /// Its aquastat carries it.
        Aquastat,
        /// Nothing: it switches itself.
        OwnSwitch,
    }

    /// What protects and disconnects one motor.
    pub struct MotorProtection {
        /// What it drives.
        pub what: LoadUse,
        /// Tag of the motor's device.
        pub device: String,
        /// The circuit.
        pub circuit: String,
        /// Current for conductor, breaker and disconnect, amperes.
        pub sizing_a: f64,
        /// Nameplate current, for the overload, amperes.
        pub nameplate_a: f64,
        /// How it is switched.
        pub switch: MotorSwitch,
        /// Its overload relay; `None` when the motor carries its own protection.
        pub overload: Option<Overload>,
        /// Tag of the disconnect, or the panelboard's when the breaker serves.
        pub disconnect: String,
        /// Tag of the disconnect ahead of its contactor, starter or relay and in sight of it; the panelboard's when the
        /// breaker serves; empty for a motor that nothing in the relay panel switches.
        pub controller_disconnect: String,
        /// Smallest rating of these disconnects, amperes.
        pub disconnect_min_a: f64,
    }

    /// Setting of an overload relay, and how far it may be moved (NEC 430.32).
    #[derive(Copy)]
    pub struct Overload {
        /// Set it to this: the nameplate current, amperes.
        pub set_a: f64,
        /// Never above this by 430.32(A)(1) or, up to 1 hp, (B)(1), amperes.
        pub max_a: f64,
        /// Up to this by 430.32(C), only where the motor will not start or carry its load otherwise, amperes.
        pub max_to_start_a: f64,
        /// What `max_a` is of the nameplate current, per cent.
        pub max_percent: f64,
    }

    /// A transformer and what hangs on it.
    pub struct TransformerLoad {
        /// Its tag.
        pub tag: String,
        /// Nameplate, volt-amperes.
        pub va: f64,
        /// Sum of the sealed volt-amperes.
        pub sealed_va: f64,
        /// sqrt(sealed^2 + inrush^2) with every valve starting at once.
        pub inrush_va: f64,
        /// Volts at its secondary in that moment, at rated primary volts: what a valve needs to move.
        #[serde(default)]
        pub starting_v: f64,
        /// What hangs on it, in words.
        pub loads: Vec<String>,
    }

    /// What a run is made of.
    #[derive(Eq)]
    pub enum RunForm {
        /// Electrical metallic tubing with single conductors, trade size in inches.
        Emt(String),
        /// A single bare conductor, fastened to the building.
        Bare,
        /// Cable with so many conductors.
        Cable {
            /// Conductors.
            cores: u8,
            /// True with an overall shield.
            shielded: bool,
        },
    }

    /// What a run's equipment ground is.
    #[derive(Eq)]
    pub enum RunGround {
        /// A green conductor of this size, AWG.
        Wire(String),
        /// The metal tubing itself (NEC 250.118): its couplings are part of the ground path.
        Raceway,
        /// None: Class 2 cable.
        None,
    }

    /// One raceway or cable.
    pub struct Run {
        /// Its name in the rows.
        pub name: String,
        /// From this device.
        pub from: String,
        /// To this device.
        pub to: String,
        /// From this place.
        pub from_place: PlaceId,
        /// To this place.
        pub to_place: PlaceId,
        /// Class of its conductors (the highest, where control shares with power).
        pub class: Class,
        /// True for safety-control conductors in their own raceway.
        pub safety: bool,
        /// What it is made of.
        pub form: RunForm,
        /// What the equipment ground in it is.
        pub ground: RunGround,
        /// Length, feet.
        pub length_ft: f64,
        /// Conductors in it.
        pub conductors: u16,
        /// Of these, current-carrying.
        pub current_carrying: u16,
        /// Cross-section used, per cent; `None` for a cable.
        pub fill_percent: Option<f64>,
        /// Most that is allowed, per cent; `None` for a cable.
        pub fill_max_percent: Option<f64>,
        /// Highest ambient along it, degrees Celsius.
        pub ambient_c: f64,
        /// Wire numbers in it.
        pub wires: Vec<String>,
    }

    /// What lands on one terminal.
    pub struct TerminalLanding {
        /// The terminal.
        pub at: Landing,
        /// Where the device stands.
        pub place: PlaceId,
        /// Wire number.
        pub wire: String,
        /// The other end.
        pub far: Landing,
        /// Run, empty inside one enclosure.
        pub run: String,
    }

    /// A jumper bar: neighbours on a strip joined without a conductor.
    pub struct Bar {
        /// Tag of the strip.
        pub strip: String,
        /// Where the strip stands.
        pub place: PlaceId,
        /// Its first terminal.
        pub first: String,
        /// Its last terminal.
        pub last: String,
        /// Terminals under it.
        pub poles: u16,
        /// The wire number that it carries.
        pub wire: String,
        /// The circuit.
        pub circuit: String,
    }

    /// Side of the panelboard.
    #[derive(Copy, Eq)]
    pub enum PanelSide {
        /// Odd spaces.
        Left,
        /// Even spaces.
        Right,
    }

    /// One space of a panelboard.
    pub struct DirectoryEntry {
        /// Tag of the panelboard.
        pub panel: String,
        /// Space number.
        pub space: u8,
        /// Which side: odd left, even right.
        pub side: PanelSide,
        /// Phase: 1, 2 or 3.
        pub phase: u8,
        /// Circuit; empty for a spare.
        pub circuit: String,
        /// Breaker, amperes; 0 for a spare.
        pub amps: u16,
        /// Poles of the breaker it belongs to; 0 for a spare.
        pub poles: u8,
        /// Which pole of it this is, from 1; 0 for a spare.
        pub pole: u8,
        /// What it feeds, in words, clear and specific.
        pub feeds: String,
        /// Load on this pole, volt-amperes.
        pub va: f64,
    }

    /// One line of the list of materials.
    pub struct Material {
        /// What.
        pub item: String,
        /// How many or how much.
        pub quantity: f64,
        /// Unit: "each", "ft".
        pub unit: String,
        /// What for, or a rating to look for.
        pub note: String,
    }

    /// One label.
    pub struct Label {
        /// Where it goes: a tag, a wire number, a run.
        pub on: String,
        /// Its text, lines parted by line feeds.
        pub text: String,
        /// How many.
        pub count: u16,
    }
}

impl MotorSwitch {
    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            Self::ControllerRelay => "controller relay",
            Self::CallRelay => "zone relay",
            Self::BoilerContact => "boiler's contact",
            Self::Contactor => "contactor",
            Self::Starter => "starter",
            Self::StartInput => "start input",
            Self::Aquastat => "aquastat",
            Self::OwnSwitch => "itself",
        }
    }
}

/// Compiles a job: every pass in order, each from one plain type to the next.
pub fn plan(job: &Job) -> Result<Plan, Vec<JobFault>> {
    let faults = pass::check::check(job);
    if !faults.is_empty() {
        return Err(faults);
    }
    let choices = pass::choose::choose(job);
    let inventory = pass::devices::devices(job, &choices);
    let loom = pass::circuits::circuits(job, &choices, inventory).map_err(|lost| vec![lost.into()])?;
    let loom = pass::grounding::grounding(loom);
    let protection = pass::protection::protection(job, &choices, &loom);
    let numbers = pass::potentials::potentials(&loom);
    let loom = pass::strips::strips(loom, &numbers);
    let conductors = pass::conductors::conductors(job, &loom, &protection);
    let runs = pass::raceways::raceways(job, &loom, &protection, &conductors, &numbers);
    let rows = pass::schedule::rows(&loom, &protection, &conductors, &numbers);
    let landings = pass::schedule::landings(&loom, &rows);
    let directory = pass::schedule::directory(job, &loom, &protection.breakers);
    let devices = loom.inventory.devices;
    let bars = pass::strips::bars(&devices, &rows);
    let mut plan = Plan {
        panelboard: job.service.name.clone(),
        relay_panel: job.panel.name.clone(),
        spaces_given: pass::circuits::branch::spaces_given(job),
        fault_ka: job.service.fault_ka,
        second_fault_ka: job
            .service
            .step_down
            .and_then(|s| crate::tables::derived::let_through_ka(s.va, s.impedance_percent?, 2.0 * HALF_V)),
        places: job.places.iter().map(|p| p.name.clone()).collect(),
        devices,
        circuits: loom.circuits,
        breakers: protection.breakers,
        motors: protection.motors,
        transformers: protection.transformers,
        runs,
        rows,
        landings,
        bars,
        directory,
        materials: Vec::new(),
        labels: Vec::new(),
    };
    plan.materials = pass::materials::materials(job, &plan);
    plan.materials.extend(pass::sundries::sundries(job, &plan));
    plan.labels = pass::labels::labels(job, &plan);
    Ok(plan)
}
