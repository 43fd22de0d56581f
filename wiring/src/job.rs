//! The job: everything the wiring compiler is told, typed, in file order.
//!
//! Indices are the ids of the control core: `job.boilers[2]` is `BoilerId(2)`, and so for zones, pumps, safeties and sensors.
//! Which point of the controller serves what stands in [`Points`] only. Nothing here is computed; a value that the user left
//! out was filled in (and listed as assumed) before the job was made.
//!
//! Units: volts rms between the named conductors, amperes, volt-amperes, horsepower, feet (one way), degrees Celsius of
//! ambient, Btu/h of boiler input.

use crate::{device::PlaceId, part::Rest};
use heatwright_core::{
    BoilerId, PumpId, SafetyId, SensorId, Subject, ZoneId,
    config::{BoilerDrive, BoilerPump, PumpRole, SafetyConfig, ZoneDrive},
    points::Points,
};
use serde::{Deserialize, Serialize};

pub use crate::tables::Edition;

macro_rules! record {
    ($($(#[$meta:meta])* pub $kind:ident $name:ident $body:tt)*) => {$(
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub $kind $name $body
    )*};
}

record! {
    /// The whole job.
    pub struct Job {
        /// Which point of the controller serves what.
        pub points: Points,
        /// The plant's own names.
        pub names: Names,
        /// Rooms and spots, by [`PlaceId`].
        pub places: Vec<Place>,
        /// The electrical service and its panelboard.
        pub service: Service,
        /// The relay panel that holds controller, relays, transformers and strips.
        pub panel: RelayPanel,
        /// The enclosure of contactors and starters; `None` when they stand in the relay panel.
        pub starter_panel: Option<StarterPanel>,
        /// Code edition, limits and the owner's minimum sizes.
        pub settings: Settings,
        /// Boilers, by `BoilerId`.
        pub boilers: Vec<Boiler>,
        /// Circulators, by `PumpId`.
        pub pumps: Vec<Pump>,
        /// Zones, by `ZoneId`.
        pub zones: Vec<Zone>,
        /// Safety devices, by `SafetyId`.
        pub safeties: Vec<Safety>,
        /// Temperature sensors, by `SensorId`; an unused input has none.
        pub sensors: Vec<Option<Sensor>>,
        /// The domestic-hot-water tank.
        pub tank: Option<Tank>,
        /// The combustion-air damper.
        pub damper: Option<Damper>,
        /// Condensate pumps, each on its own circuit.
        pub condensate_pumps: Vec<CondensatePump>,
        /// The alarm beacon or horn.
        pub beacon: Option<Beacon>,
        /// Contacts handed to a building-automation system.
        pub automation: Vec<AutomationContact>,
        /// What controls the plant.
        pub control: Control,
        /// Zones whose calls wait while the tank calls, over contacts of relays that the tank's call pulls. Control by zone relays
        /// only: our controller gives the tank its priority itself.
        pub wait_for_tank: Vec<ZoneId>,
        /// What the plant does while the controller is dead.
        pub fallback: Fallback,
        /// What devices are ordered by and no wire shows.
        #[serde(default)]
        pub orders: Orders,
        /// Service receptacles.
        pub receptacles: Vec<ReceptacleOutlet>,
        /// Spare spaces to leave in the panelboard's directory.
        pub spare_spaces: u8,
    }

    /// The plant's own names: one a subject.
    #[derive(Default)]
    pub struct Names {
        /// Subject and name, in any order.
        pub list: Vec<(Subject, String)>,
    }

    /// What devices are ordered by and no wire shows: elements, set points, travel times. What nobody told is absent.
    #[derive(Default)]
    pub struct Orders {
        /// Element of each temperature sensor, by `SensorId`.
        pub elements: Vec<SensorElement>,
        /// What each limit opens at, by `SafetyId`, degrees Celsius.
        pub opens_at_c: Vec<Option<f64>>,
        /// What the aquastats of each zone's fans close at, by `ZoneId`, degrees Celsius.
        pub fans_c: Vec<Option<f64>>,
        /// What the tank's aquastat opens at, degrees Celsius, and how far below it closes, kelvin.
        pub tank_c: Option<(f64, f64)>,
        /// Time in which each zone valve opens, by `ZoneId`, seconds.
        pub valves_s: Vec<Option<f64>>,
        /// Time of each mixing valve from end to end, by `ZoneId`, seconds.
        pub mixing_s: Vec<Option<f64>>,
        /// Time in which the damper opens, seconds.
        pub damper_s: Option<f64>,
    }

    /// What a temperature sensor measures with.
    #[derive(Copy, Eq)]
    pub enum SensorElement {
        /// Thermistor of 10 kilohm, curve type II.
        Thermistor10k2,
        /// Thermistor of 10 kilohm, curve type III.
        Thermistor10k3,
        /// Platinum, 1000 ohm.
        Platinum1000,
    }

    /// A room or spot.
    pub struct Place {
        /// Its name.
        pub name: String,
        /// Highest ambient temperature of conductors there, degrees Celsius.
        pub ambient_c: f64,
    }

    /// Voltages of the service.
    #[derive(Copy, Eq)]
    pub enum ServiceVolts {
        /// 120/240 V, single phase, three wires.
        Single120240,
        /// 208Y/120 V, three phases, four wires.
        Wye208,
        /// 480Y/277 V, three phases, four wires.
        Wye480,
    }

    /// The electrical service.
    pub struct Service {
        /// Its voltages.
        pub volts: ServiceVolts,
        /// Available short-circuit current at the panelboard, kA; `None` when nobody has told.
        pub fault_ka: Option<f64>,
        /// What stands on the panelboard's door, such as "DP-2"; empty for no name.
        pub name: String,
        /// Where the panelboard stands.
        pub panelboard: PlaceId,
        /// Cable way from panelboard to relay panel, feet.
        pub to_relay_panel_ft: f64,
        /// True when the panelboard, with breakers that can be locked open, is in sight of the relay panel and within 50 ft.
        pub in_sight_of_relay_panel: bool,
        /// Voltage drop ahead of the panelboard, per cent; 0 when nobody has told.
        pub feeder_drop_percent: f64,
        /// Spaces that circuits have or are to have in it, each by its first; the rest are planned round them.
        pub spaces: Vec<GivenSpace>,
        /// The second panelboard behind a transformer, where the service has no 120 V.
        pub step_down: Option<StepDown>,
    }

    /// What a branch circuit feeds.
    #[derive(Copy, Eq)]
    pub enum Fed {
        /// The transformer to the second panelboard.
        Transformer,
        /// The relay panel's control circuit.
        RelayPanel,
        /// A boiler.
        Boiler(BoilerId),
        /// A pump.
        Pump(PumpId),
        /// A group of a zone's fans, counted from 0.
        Fans(ZoneId, u8),
        /// A condensate pump, by its place in the job's list.
        CondensatePump(u8),
        /// The alarm beacon.
        Beacon,
        /// The service receptacles.
        Receptacles,
    }

    /// A space that is given and not planned.
    #[derive(Copy, Eq)]
    pub struct GivenSpace {
        /// Whose.
        pub fed: Fed,
        /// Its first space; further poles stand below it on the same side.
        pub space: u8,
    }

    /// A dry-type transformer from two phases of the service to a second panelboard of 120/240 V: a separately derived system.
    #[derive(Copy)]
    pub struct StepDown {
        /// Nameplate, volt-amperes.
        pub va: f64,
        /// Its impedance on the nameplate, per cent; `None` when nobody has told.
        pub impedance_percent: Option<f64>,
        /// Where the transformer stands.
        pub place: PlaceId,
        /// Where the second panelboard stands.
        pub panelboard: PlaceId,
        /// Way from the first panelboard to the transformer, feet.
        pub primary_ft: f64,
        /// Way from the transformer to the second panelboard, feet: 25 at most (240.21(C)(6)).
        pub secondary_ft: f64,
        /// Way from the transformer to the grounding electrode: building steel or water pipe, feet.
        pub electrode_ft: f64,
        /// Cable way from the second panelboard to the relay panel, feet.
        pub to_relay_panel_ft: f64,
        /// True when the second panelboard, with breakers that can be locked open, is in sight of the relay panel and within
        /// 50 ft.
        pub in_sight_of_relay_panel: bool,
    }

    /// A second enclosure: contactors and starters apart from the controller.
    pub struct StarterPanel {
        /// What the plant calls it, such as "MP-1"; empty for no name.
        pub name: String,
        /// Where it stands.
        pub place: PlaceId,
        /// Way from the relay panel to it, feet.
        pub from_relay_panel_ft: f64,
        /// Cable way from the panelboard to it, feet.
        pub to_panelboard_ft: f64,
        /// True when the panelboard, with breakers that can be locked open, is in sight of it and within 50 ft.
        pub in_sight_of_panelboard: bool,
        /// Type of its enclosure.
        pub enclosure: EnclosureType,
        /// What water its place brings.
        pub moisture: Moisture,
        /// Short-circuit rating of the assembly, kA; `None` when nobody has told.
        pub short_circuit_ka: Option<f64>,
    }

    /// The relay panel.
    pub struct RelayPanel {
        /// What the plant calls it, such as "HP-1"; empty for no name.
        pub name: String,
        /// Where it stands.
        pub place: PlaceId,
        /// Type of its enclosure.
        pub enclosure: EnclosureType,
        /// What water its place brings.
        pub moisture: Moisture,
        /// Short-circuit rating of the assembly, kA; `None` when nobody has told.
        pub short_circuit_ka: Option<f64>,
        /// Length of the wires inside it, feet: an average for the materials list.
        pub wire_ft: f64,
        /// Volt-amperes that the controller takes from its own 24 V supply.
        pub controller_va: f64,
        /// Rating of the controller's relay contacts; without a controller, of the zone relays' contacts.
        pub relay: RelayRating,
        /// True when relays of every call shall take over while the health relay is dropped and a fallback is stated.
        pub hand_over: bool,
    }

    /// Type of an enclosure, as in NEMA 250.
    #[derive(Copy, Eq)]
    pub enum EnclosureType {
        /// Indoors, against touch and falling dirt.
        Type1,
        /// Indoors, against dripping water and dust.
        Type12,
        /// Outdoors, against rain and ice.
        Type3R,
        /// Against hosing.
        Type4,
        /// Against hosing and corrosion.
        Type4X,
    }

    /// How much water the place of an enclosure brings (NEC Article 100: locations).
    #[derive(Copy, Eq)]
    pub enum Moisture {
        /// None but rarely.
        Dry,
        /// Condensation, or under a roof in the open.
        Damp,
        /// Outdoors, or hosed down.
        Wet,
    }

    /// What one relay contact of the controller may switch.
    #[derive(Copy)]
    pub struct RelayRating {
        /// Control-circuit rating of NEMA ICS 5 / UL 508.
        pub pilot: PilotDuty,
        /// Resistive current, amperes.
        pub resistive_a: f64,
        /// Motor rating at 120 V, horsepower; 0 for none.
        pub motor_120_v_hp: f64,
        /// Motor rating at 208 to 240 V, horsepower; 0 for none.
        pub motor_240_v_hp: f64,
    }

    /// Control-circuit rating codes of NEMA ICS 5 / UL 508, alternating current.
    #[derive(Copy, Eq)]
    pub enum PilotDuty {
        /// 10 A thermal, 7200 VA make, 720 VA break.
        A300,
        /// 5 A thermal, 3600 VA make, 360 VA break.
        B300,
        /// 2.5 A thermal, 1800 VA make, 180 VA break.
        C300,
        /// 1 A thermal, 432 VA make, 72 VA break.
        D300,
    }

    /// Code edition, limits and the owner's minimum sizes.
    pub struct Settings {
        /// Edition of the electrical code.
        pub edition: Edition,
        /// Highest voltage drop of a branch circuit, per cent (guidance 3).
        pub drop_branch_max_percent: f64,
        /// Highest voltage drop of feeder and branch together, per cent (guidance 5).
        pub drop_total_max_percent: f64,
        /// Highest voltage drop of a 24 V circuit, per cent.
        pub drop_class2_max_percent: f64,
        /// Smallest power conductor, AWG.
        pub power_min_awg: u8,
        /// Smallest control conductor, AWG.
        pub control_min_awg: u8,
        /// Smallest Class 2 conductor, AWG.
        pub class2_min_awg: u8,
        /// Temperature rating of the terminals, degrees Celsius: 60 or 75.
        pub terminal_c: u8,
        /// Raceway of power and control.
        pub raceway: RacewayKind,
        /// Smallest trade size of raceway, inches: 0.5 to 2.
        pub raceway_min_in: f64,
        /// Share of a raceway's usable room to be left free: 0 to below 1.
        pub spare_room: f64,
        /// How pumps hang on branch circuits.
        pub pump_circuits: PumpCircuits,
        /// Above this boiler input two high limits, the upper with hand reset, are wanted: Btu/h.
        pub hand_reset_above_btu_h: f64,
        /// Above this boiler input gas-pressure switches are wanted; `None` leaves it to the jurisdiction: Btu/h.
        pub gas_switches_above_btu_h: Option<f64>,
        /// True where the rule counts the sum of the modules of one plant.
        pub inputs_add_up: bool,
        /// True where an emergency switch is wanted at each boiler-room door, whatever the input.
        pub door_switch_wanted: bool,
        /// True where a high limit with hand reset is wanted on each boiler, whatever its input.
        pub hand_reset_wanted: bool,
        /// True where a boiler without a low-water cutoff is accepted: a warning is left of it.
        pub no_low_water_cutoff_accepted: bool,
        /// True where a damper that is not proved open is accepted: a warning is left of it.
        pub no_air_proof_accepted: bool,
        /// True where a single relay between the safeties and a burner is accepted: a note is left of it.
        pub single_relay_accepted: bool,
    }

    /// How pumps hang on branch circuits.
    #[derive(Copy, Eq)]
    pub enum PumpCircuits {
        /// Small single-phase pumps of zones share a breaker as far as 430.53(A) and 430.24 allow; all others have their own.
        Shared,
        /// A breaker each.
        OneEach,
    }

    /// Kind of raceway.
    #[derive(Copy, Eq)]
    pub enum RacewayKind {
        /// Electrical metallic tubing.
        Emt,
    }

    /// Volts and phases of a piece of equipment.
    #[derive(Copy)]
    pub struct Supply {
        /// Rated volts.
        pub volts: f64,
        /// 1 or 3.
        pub phases: u8,
    }

    /// One boiler.
    pub struct Boiler {
        /// Where it stands.
        pub place: PlaceId,
        /// Its full input, Btu/h.
        pub input_btu_h: f64,
        /// Its line supply.
        pub supply: Supply,
        /// Its rated current, without a pump fed through it.
        pub amps: f64,
        /// Breaker that its plate asks for, amperes; `None` when it names none.
        pub breaker_max_a: Option<u16>,
        /// Volts of its own control circuit: 24 or 120.
        pub control_volts: f64,
        /// True when one side of its internal low-voltage supply is bonded to its case.
        pub control_grounded: bool,
        /// Volt-amperes that each of limit, proving and demand pair carries.
        pub pair_va: f64,
        /// How it is driven beside its demand contact.
        pub drive: BoilerDrive,
        /// Who switches its pump.
        pub pump: BoilerPump,
        /// The marks printed on its terminals.
        pub marks: BoilerMarks,
        /// Its service switch.
        pub switch: ServiceSwitch,
        /// Way from panelboard to the boiler, feet.
        pub power_run_ft: f64,
        /// Way from relay panel to the boiler, feet.
        pub control_run_ft: f64,
    }

    /// The marks that the user read off a boiler's terminals.
    pub struct BoilerMarks {
        /// Line: two marks single phase (the second the neutral where it has one), three marks three phase.
        pub line: Vec<String>,
        /// Equipment ground.
        pub ground: String,
        /// Limit pair: opens burner power.
        pub limit: [String; 2],
        /// Proving pair: open at rest, must close after the call.
        pub proving: [String; 2],
        /// Demand pair.
        pub demand: [String; 2],
        /// 0-10 V input: plus, minus.
        pub signal: Option<[String; 2]>,
        /// Contact that is closed while the burner is lit.
        pub flame: Option<BoilerContact>,
        /// Contact that is closed in fault.
        pub fault: Option<BoilerContact>,
        /// Contact by which the boiler asks for its pump.
        pub pump: Option<BoilerContact>,
    }

    /// A contact that a boiler offers.
    pub struct BoilerContact {
        /// Its two marks.
        pub marks: [String; 2],
        /// True for an isolated contact; false when the boiler puts its own control voltage on it (first mark live, second
        /// mark common).
        pub dry: bool,
        /// Its control-circuit rating, when dry.
        pub pilot: PilotDuty,
        /// Largest current that its plate allows, amperes; `None`: not known.
        pub amps_max: Option<f64>,
    }

    /// A boiler's service switch.
    #[derive(Copy)]
    pub struct ServiceSwitch {
        /// True when it can be locked open and stands in sight of the boiler.
        pub lockable_in_sight: bool,
        /// True when it has an auxiliary contact for the controller.
        pub aux: bool,
    }

    /// What drives a pump.
    #[derive(Copy)]
    pub enum PumpMotor {
        /// Induction motor: sized by its horsepower.
        Induction {
            /// Rated power, horsepower.
            hp: f64,
        },
        /// Canned (wet-rotor) or listed appliance pump: sized by its nameplate.
        WetRotor,
        /// Electronically commutated: sized by its nameplate, switched by its start input or by a rated contact.
        ElectronicallyCommutated {
            /// True when it has a start input for a dry contact.
            start_input: bool,
        },
    }

    /// HAND-OFF-AUTO switch of a pump.
    #[derive(Copy, Eq)]
    pub enum Selector {
        /// None.
        None,
        /// HAND-OFF-AUTO in the relay panel's door.
        HandOffAuto,
    }

    /// One circulator.
    pub struct Pump {
        /// What it is for.
        pub role: PumpRole,
        /// Where it stands.
        pub place: PlaceId,
        /// Its motor.
        pub motor: PumpMotor,
        /// Its supply.
        pub supply: Supply,
        /// Full-load current on its nameplate.
        pub nameplate_a: f64,
        /// Service factor on its nameplate; 1 where none stands there.
        pub service_factor: f64,
        /// Temperature rise on its nameplate, kelvin; `None` where it names none.
        pub rise_k: Option<f64>,
        /// True when the motor carries its own thermal protection or is impedance protected.
        pub overload_built_in: bool,
        /// Its hand switch.
        pub selector: Selector,
        /// Way from relay panel to the pump, feet.
        pub run_ft: f64,
        /// True when it stands in sight of the relay panel and within 50 ft.
        pub in_sight_of_panel: bool,
    }

    /// Room thermostat.
    #[derive(Copy, Eq)]
    pub enum ThermostatKind {
        /// Two wires, a dry contact.
        TwoWire,
        /// Powered: R, W, C.
        Powered,
    }

    /// Room thermostat.
    #[derive(Copy)]
    pub struct Thermostat {
        /// How it is wired.
        pub kind: ThermostatKind,
        /// Where it hangs.
        pub place: PlaceId,
        /// Way from relay panel to it, feet.
        pub run_ft: f64,
        /// What it takes when powered, volt-amperes.
        pub va: f64,
    }

    /// Zone valve with its end switch.
    #[derive(Copy)]
    pub struct ZoneValve {
        /// Where it stands.
        pub place: PlaceId,
        /// Way from relay panel to it, feet.
        pub run_ft: f64,
        /// Rated volts: 24.
        pub volts: f64,
        /// Volt-amperes while it holds.
        pub va: f64,
        /// Volt-amperes while it opens.
        pub inrush_va: f64,
        /// Its end switch.
        pub end_switch: EndSwitch,
    }

    /// End switch of a valve or damper.
    #[derive(Copy, Eq)]
    pub enum EndSwitch {
        /// None.
        None,
        /// Two terminals of its own.
        Isolated,
        /// One side joined to the actuator's supply.
        Joined,
    }

    /// Mixing-valve actuator, 24 V and 0-10 V.
    #[derive(Copy)]
    pub struct MixingValve {
        /// Where it stands.
        pub place: PlaceId,
        /// Way from relay panel to it, feet.
        pub run_ft: f64,
        /// Volt-amperes.
        pub va: f64,
        /// True when its signal common is separate from its supply common.
        pub signal_isolated: bool,
    }

    /// Fans of a zone's fan coils or unit heaters: alike, each with its own disconnect and aquastat.
    #[derive(Copy)]
    pub struct Fan {
        /// Where they stand.
        pub place: PlaceId,
        /// How many; 1 at least.
        pub count: u8,
        /// Way to the first, feet: from the panelboard, or from the panel in which their starters stand.
        pub run_ft: f64,
        /// Way from one to the next, feet.
        pub spacing_ft: f64,
        /// The supply of each.
        pub supply: Supply,
        /// Full-load current of each.
        pub amps: f64,
        /// Rated power of each, horsepower; 0 for a fan rated in amperes.
        pub hp: f64,
        /// True when each motor carries its own thermal protection or is impedance protected.
        pub overload_built_in: bool,
        /// Service factor on the nameplate; 1 where none stands there.
        pub service_factor: f64,
        /// True where contactor or starter of each three-phase fan stand at the fan, in a box of their own, and not in a panel.
        pub switch_at_fan: bool,
    }

    /// One zone.
    pub struct Zone {
        /// How it takes its water.
        pub drive: ZoneDrive,
        /// Its thermostat.
        pub thermostat: Thermostat,
        /// Its valve, where the drive is a valve.
        pub valve: Option<ZoneValve>,
        /// Its mixing valve.
        pub mixing: Option<MixingValve>,
        /// True for a heated floor.
        pub floor: bool,
        /// Its fan units.
        pub fan: Option<Fan>,
    }

    /// One safety device.
    pub struct Safety {
        /// What it is, whom it stops, where it acts, how it comes back.
        pub config: SafetyConfig,
        /// Where it is mounted.
        pub place: PlaceId,
        /// Way from relay panel (from its boiler for a boiler's own) to it, feet.
        pub run_ft: f64,
        /// How its contact stands with the device out of service: without supply, pressure or flow.
        pub rest: Rest,
        /// True when it has a second, isolated contact.
        pub aux: bool,
        /// Its own supply, if it needs one.
        pub supply: Option<SafetySupply>,
    }

    /// A safety device's own supply.
    #[derive(Copy)]
    pub struct SafetySupply {
        /// Volts: 24 or 120.
        pub volts: f64,
        /// Volt-amperes.
        pub va: f64,
    }

    /// A temperature sensor in the field.
    #[derive(Copy)]
    pub struct Sensor {
        /// Where it is mounted.
        pub place: PlaceId,
        /// Way from relay panel to it, feet.
        pub run_ft: f64,
    }

    /// The domestic-hot-water tank.
    #[derive(Copy)]
    pub struct Tank {
        /// Where it stands.
        pub place: PlaceId,
        /// Way from relay panel to its aquastat, feet.
        pub run_ft: f64,
        /// The pump that charges it.
        pub pump: PumpId,
    }

    /// The combustion-air damper.
    #[derive(Copy)]
    pub struct Damper {
        /// Where it is.
        pub place: PlaceId,
        /// Way from relay panel to it, feet.
        pub run_ft: f64,
        /// Actuator volts: 24 or 120.
        pub volts: f64,
        /// Volt-amperes.
        pub va: f64,
    }

    /// A condensate pump, on its own circuit.
    #[derive(Copy)]
    pub struct CondensatePump {
        /// The boiler that it serves; `None` when it serves all.
        pub boiler: Option<BoilerId>,
        /// Where it stands.
        pub place: PlaceId,
        /// Way from panelboard to it, feet.
        pub run_ft: f64,
        /// Full-load current at 120 V.
        pub amps: f64,
    }

    /// The alarm beacon or horn, on its own 120 V circuit, so that it works when the control circuit is dead.
    #[derive(Copy)]
    pub struct Beacon {
        /// Where it hangs.
        pub place: PlaceId,
        /// Way from relay panel to it, feet.
        pub run_ft: f64,
        /// Volt-amperes at 120 V.
        pub va: f64,
    }

    /// What a building-automation contact shows. Both are closed while all is well, so that a cut wire reads as trouble.
    #[derive(Copy, Eq, PartialOrd, Ord)]
    pub enum Shown {
        /// The alarm relay.
        Alarm,
        /// The health relay.
        Health,
    }

    /// An isolated contact handed to a building-automation system, which puts its own voltage on it.
    pub struct AutomationContact {
        /// Its name.
        pub name: String,
        /// What it shows.
        pub shows: Shown,
        /// Where the other system's terminals are.
        pub place: PlaceId,
        /// Way from relay panel to them, feet.
        pub run_ft: f64,
        /// Volts that the other system puts on it.
        pub volts: f64,
    }

    /// What controls the plant.
    #[derive(Copy, Eq)]
    pub enum Control {
        /// Our controller.
        Controller,
        /// Zone relays alone: a call starts its pump or opens its valve, any call asks every boiler; the boilers follow their own
        /// outdoor reset and take the lead among themselves. No point of a controller is used.
        ZoneRelays,
    }

    /// What the plant is meant to do while the controller is dead.
    #[derive(Copy, Eq)]
    pub enum Fallback {
        /// Nothing is stated: no heat until the controller is back.
        None,
        /// Boilers at their own fixed target, pumps from the thermostats, all limits in force: wired where the panel has a hand-over.
        FixedTarget,
    }

    /// A service receptacle.
    #[derive(Copy)]
    pub struct ReceptacleOutlet {
        /// Where it is.
        pub place: PlaceId,
        /// Way from panelboard to it, feet.
        pub run_ft: f64,
        /// True for ground-fault protection in the outlet.
        pub ground_fault_protected: bool,
    }
}

impl Names {
    /// The name of a subject; a plain description with its number where the user gave none.
    pub fn of(&self, s: Subject) -> String {
        match self.list.iter().find(|(k, _)| *k == s) {
            Some((_, name)) => name.clone(),
            None => match s {
                Subject::Plant => "plant".into(),
                Subject::Header => "header".into(),
                Subject::Tank => "hot-water tank".into(),
                Subject::Damper => "combustion-air damper".into(),
                Subject::Zone(ZoneId(i)) => format!("zone {}", i + 1),
                Subject::Pump(PumpId(i)) => format!("pump {}", i + 1),
                Subject::Boiler(BoilerId(i)) => format!("boiler {}", i + 1),
                Subject::Safety(SafetyId(i)) => format!("safety {}", i + 1),
                Subject::Sensor(SensorId(i)) => format!("sensor {}", i + 1),
                Subject::Relay(r) => format!("relay {}", r.0 + 1),
                Subject::Contact(c) => format!("input {}", c.0 + 1),
                Subject::Analog(a) => format!("0-10 V output {}", a.0 + 1),
                Subject::Schedule(s) => format!("schedule {}", s.0 + 1),
            },
        }
    }
}

impl AutomationContact {
    /// The relay whose state it shows.
    pub fn relay(&self) -> heatwright_core::RelayUse {
        match self.shows {
            Shown::Alarm => heatwright_core::RelayUse::Alarm,
            Shown::Health => heatwright_core::RelayUse::Health,
        }
    }
}

impl PilotDuty {
    /// The code as the rating table knows it.
    pub fn code(self) -> crate::tables::pilot::Code {
        use crate::tables::pilot::{Code, Duty};
        let duty = match self {
            Self::A300 => Duty::A,
            Self::B300 => Duty::B,
            Self::C300 => Duty::C,
            Self::D300 => Duty::D,
        };
        Code { duty, volts_max: 300 }
    }
}

impl ServiceVolts {
    /// Volts from a phase to neutral.
    pub fn phase_volts(self) -> f64 {
        match self {
            Self::Single120240 | Self::Wye208 => 120.0,
            Self::Wye480 => 277.0,
        }
    }

    /// Volts between two phases.
    pub fn line_volts(self) -> f64 {
        match self {
            Self::Single120240 => 240.0,
            Self::Wye208 => 208.0,
            Self::Wye480 => 480.0,
        }
    }

    /// Number of ungrounded conductors.
    pub fn phases(self) -> u8 {
        match self {
            Self::Single120240 => 2,
            Self::Wye208 | Self::Wye480 => 3,
        }
    }
}

impl Default for Settings {
    /// NEC 2023, 3 and 5 per cent, 12, 14 and 18 AWG, 60 degree terminals, EMT. The drop of 24 V circuits (10 per cent) is
    /// our choice: most 24 V actuators are rated for 24 V -15 %.
    fn default() -> Self {
        Self {
            edition: Edition::Nec2023,
            drop_branch_max_percent: 3.0,
            drop_total_max_percent: 5.0,
            drop_class2_max_percent: 10.0,
            power_min_awg: 12,
            control_min_awg: 14,
            class2_min_awg: 18,
            terminal_c: 60,
            raceway: RacewayKind::Emt,
            raceway_min_in: 0.5,
            spare_room: 0.0,
            pump_circuits: PumpCircuits::Shared,
            hand_reset_above_btu_h: 400_000.0,
            gas_switches_above_btu_h: None,
            inputs_add_up: false,
            door_switch_wanted: false,
            hand_reset_wanted: false,
            no_low_water_cutoff_accepted: false,
            no_air_proof_accepted: false,
            single_relay_accepted: false,
        }
    }
}

impl Default for RelayRating {
    /// B300, 5 A resistive, 1/6 hp at 120 V, 1/3 hp at 240 V: what a small board relay carries (our choice).
    fn default() -> Self {
        Self { pilot: PilotDuty::B300, resistive_a: 5.0, motor_120_v_hp: 1.0 / 6.0, motor_240_v_hp: 1.0 / 3.0 }
    }
}

impl std::fmt::Display for EnclosureType {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Type1 => "1",
            Self::Type12 => "12",
            Self::Type3R => "3R",
            Self::Type4 => "4",
            Self::Type4X => "4X",
        })
    }
}

impl std::fmt::Display for Moisture {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Dry => "dry",
            Self::Damp => "damp",
            Self::Wet => "wet",
        })
    }
}
