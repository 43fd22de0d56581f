//! A plant ready to step, and where it stands.
//!
//! [`Model`] never changes during a run; [`State`] is everything that does, and compares bit for bit: two runs that should be
//! the same end in equal states. Nothing is allocated after both are made.

use crate::{
    boiler::{BoilerFlux, BoilerModel, BoilerState},
    finding::Finding,
    fluid::RUN_C,
    header::{BoilerReply, HeaderModel, HeaderState, Way},
    plant::{Mix, Plant},
    pump::{self, Branch},
    sensor::{SensorModel, SensorState},
    step::Levels,
    tank::{TankFlux, TankModel, TankState},
    thermostat::{ThermostatModel, ThermostatState, lag_share},
    wires::Field,
    zone::{ZoneFlux, ZoneModel, ZoneReply, ZoneState},
};
use heatwright_core::{
    AnalogUse, BoilerId, CivilMinute, SensorUse, ZoneId,
    config::BoilerPump,
    limits::{BOILERS, ZONES},
};

/// Time constant with which a supply pipe without flow cools to its room, in seconds: our choice.
const PIPE_COOL_S: f64 = 3600.0;

/// A plant ready to step.
#[derive(Clone, Debug)]
pub struct Model {
    /// The plant it was made from.
    pub plant: Plant,
    /// Length of a step, in seconds.
    pub dt_s: f64,
    /// Specific heat of the fluid, in joules per kilogram and kelvin.
    pub specific_heat_j_kgk: f64,
    pub(crate) zones: Vec<ZoneModel>,
    pub(crate) branches: Vec<Branch>,
    pub(crate) thermostats: Vec<ThermostatModel>,
    pub(crate) boilers: Vec<BoilerModel>,
    /// Pump bit of each boiler; 0 for one without.
    pub(crate) boiler_pumps: Vec<u64>,
    /// Share of the zones' flow through each boiler without a pump.
    pub(crate) through_share: Vec<f64>,
    pub(crate) header: HeaderModel,
    pub(crate) tank: Option<TankModel>,
    pub(crate) sensors: Vec<(SensorUse, SensorModel)>,
    /// 0-10 V input of each boiler and each mixing valve, if wired.
    pub(crate) boiler_analog: Vec<Option<usize>>,
    pub(crate) mixing_analog: Vec<Option<usize>>,
    /// Share of the way to its room that a supply pipe without flow cools in one step.
    pub(crate) pipe_cool_share: f64,
    /// The same for the element of each mixing valve; 0 for a motor.
    pub(crate) mixing_share: Vec<f64>,
}

/// One zone: its nodes and what hangs on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZoneNow {
    /// Node temperatures.
    pub nodes: ZoneState,
    /// Thermostat.
    pub thermostat: ThermostatState,
    /// Zone valve, 0 closed to 1 open; 1 where there is none.
    pub valve: f64,
    /// Mixing valve, 0 all return to 1 all supply; 1 where there is none.
    pub mixing: f64,
    /// Water at the mixed-supply sensor and at the fan's aquastat, in degrees Celsius.
    pub supply_pipe_c: f64,
    /// The fan runs.
    pub fan: bool,
    /// What it did in the last step.
    pub flux: ZoneFlux,
}

/// One boiler and what it did in the last step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoilerNow {
    /// Water, burner, control.
    pub state: BoilerState,
    /// What it did in the last step.
    pub flux: BoilerFlux,
}

/// Where the plant stands.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Steps done.
    pub steps: u64,
    /// Outdoors, in degrees Celsius.
    pub outdoor_c: f64,
    /// Zones, by `ZoneId`.
    pub zones: Vec<ZoneNow>,
    /// Boilers, by `BoilerId`.
    pub boilers: Vec<BoilerNow>,
    /// Header and pipes.
    pub header: HeaderState,
    /// Heat lost by the pipes in the last step, in watts.
    pub pipe_loss_w: f64,
    /// The tank and what it did in the last step.
    pub tank: Option<(TankState, TankFlux)>,
    /// The damper, 0 closed to 1 open.
    pub damper: f64,
    /// Sensors, by `SensorId`.
    pub sensors: Vec<SensorState>,
    /// Every switch and reading as it stands.
    pub field: Field,
    /// Pumps that ran in the last step, by `PumpId`.
    pub pumps: u64,
}

/// Room for the intermediate results of a step: capacity limits of the core bound it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Scratch {
    pub(crate) zones: Vec<ZoneReply>,
    pub(crate) boilers: Vec<BoilerReply>,
    /// Levels of the schedules and the minute they belong to.
    pub(crate) levels: Option<(CivilMinute, Levels)>,
}

impl Scratch {
    pub(crate) fn new() -> Self {
        Self { zones: Vec::with_capacity(ZONES), boilers: Vec::with_capacity(BOILERS), levels: None }
    }
}

impl Model {
    /// Checks a plant and prepares it for steps of `dt_s` seconds.
    pub fn new(plant: &Plant, dt_s: f64) -> Result<Self, Vec<Finding>> {
        let findings = crate::check::check(plant, dt_s);
        if findings.iter().any(|f| f.severity == heatwright_core::Severity::Error) {
            return Err(findings);
        }
        let fluid = &plant.fluid;
        let boiler_ids = || (0..plant.boilers.len()).map(|i| BoilerId(i as u8));
        let all_through: f64 = plant.boilers.iter().filter(|b| b.pump == BoilerPump::None).map(|b| b.flow_kg_s).sum();
        let analog = |u| plant.points.analog(u).map(|a| a.index());
        Ok(Self {
            dt_s,
            specific_heat_j_kgk: fluid.specific_heat_j_kgk(RUN_C),
            zones: plant.zones.iter().map(|z| ZoneModel::new(z, fluid, dt_s)).collect(),
            branches: pump::zone_branches(plant),
            thermostats: plant.zones.iter().map(|z| ThermostatModel::new(&z.thermostat, dt_s)).collect(),
            boilers: plant.boilers.iter().map(|b| BoilerModel::new(b, fluid, plant.site.altitude_m, dt_s)).collect(),
            boiler_pumps: boiler_ids().map(|b| plant.boiler_pump(b).map_or(0, |p| p.bit())).collect(),
            through_share: plant
                .boilers
                .iter()
                .map(|b| if b.pump == BoilerPump::None { b.flow_kg_s / all_through } else { 0.0 })
                .collect(),
            header: HeaderModel::new(&plant.header, fluid, dt_s),
            tank: plant.tank.as_ref().map(|t| TankModel::new(t, fluid, dt_s)),
            sensors: plant
                .points
                .sensors
                .iter()
                .zip(&plant.sensors)
                .map(|(u, s)| (*u, SensorModel::new(s, dt_s)))
                .collect(),
            boiler_analog: boiler_ids()
                .map(|b| analog(AnalogUse::Target(b)).or_else(|| analog(AnalogUse::Rate(b))))
                .collect(),
            mixing_analog: (0..plant.zones.len()).map(|i| analog(AnalogUse::Mixing(ZoneId(i as u8)))).collect(),
            pipe_cool_share: lag_share(PIPE_COOL_S, dt_s),
            mixing_share: plant
                .zones
                .iter()
                .map(|z| match z.mix {
                    Some(Mix::SelfActing { lag_s, .. }) => lag_share(lag_s, dt_s),
                    Some(Mix::Modulated { .. }) | None => 0.0,
                })
                .collect(),
            plant: plant.clone(),
        })
    }

    /// The plant at rest: every room at its occupied temperature, its water with it, boilers cold, the tank ready.
    pub fn start(&self, outdoor_c: f64, seed: u64) -> State {
        let room_c = self.plant.site.boiler_room_c;
        let zones: Vec<ZoneNow> = self
            .plant
            .zones
            .iter()
            .zip(&self.thermostats)
            .map(|(z, t)| {
                let c = z.thermostat.set_c;
                ZoneNow {
                    nodes: ZoneState { air_c: c, mass_c: c, water_c: c, slab_c: c },
                    thermostat: t.start(c),
                    valve: if matches!(z.drive, crate::plant::Drive::Pump(_)) { 1.0 } else { 0.0 },
                    mixing: if z.mix.is_some() { 0.0 } else { 1.0 },
                    supply_pipe_c: c,
                    fan: false,
                    flux: ZoneFlux { supply_c: c, ..ZoneFlux::default() },
                }
            })
            .collect();
        let boilers = self
            .boilers
            .iter()
            .map(|b| BoilerNow {
                state: b.start(room_c),
                flux: BoilerFlux { return_c: room_c, ..BoilerFlux::default() },
            })
            .collect();
        let tank =
            self.plant.tank.as_ref().map(|t| (TankState { water_c: t.set_c, calls: false }, TankFlux::default()));
        let mut state = State {
            steps: 0,
            outdoor_c,
            zones,
            boilers,
            header: HeaderState::at(room_c),
            pipe_loss_w: 0.0,
            tank,
            damper: 0.0,
            sensors: Vec::with_capacity(self.sensors.len()),
            field: Field::default(),
            pumps: 0,
        };
        for (i, (what, _)) in self.sensors.iter().enumerate() {
            let true_c = self.true_c(&state, *what);
            state.sensors.push(SensorModel::start(true_c, i, seed));
        }
        // One look without moving anything, so that the first tick sees what is there.
        self.look(&mut state, 0, 0);
        self.read_sensors(&mut state);
        state
    }

    /// What a sensor of this use should read, in degrees Celsius.
    pub fn true_c(&self, s: &State, what: SensorUse) -> f64 {
        match what {
            SensorUse::Spare => 0.0,
            SensorUse::Outdoor => s.outdoor_c,
            SensorUse::Supply => s.header.supply_c,
            SensorUse::Return => s.header.return_c,
            SensorUse::BoilerOutlet(b) => s.boilers.get(b.index()).map_or(0.0, |b| b.state.water_c),
            SensorUse::Tank => s.tank.as_ref().map_or(0.0, |t| t.0.water_c),
            SensorUse::Mixed(z) => s.zones.get(z.index()).map_or(0.0, |z| z.supply_pipe_c),
        }
    }

    /// Heat in all water, metal and slabs that the boilers' heat passes through, in joules above 0 degrees Celsius.
    pub fn stored_j(&self, s: &State) -> f64 {
        let zones: f64 = self.zones.iter().zip(&s.zones).map(|(m, z)| m.stored_j(&z.nodes)).sum();
        let boilers: f64 = self.boilers.iter().zip(&s.boilers).map(|(m, b)| m.stored_j(&b.state)).sum();
        let tank = self.tank.as_ref().zip(s.tank.as_ref()).map_or(0.0, |(m, t)| m.stored_j(&t.0));
        zones + boilers + tank + self.header.stored_j(&s.header)
    }

    /// Heat in rooms and building mass, in joules above 0 degrees Celsius.
    pub fn rooms_j(&self, s: &State) -> f64 {
        self.zones.iter().zip(&s.zones).map(|(m, z)| m.room_j(&z.nodes)).sum()
    }
}

impl Way {
    /// Sign of the flow.
    pub(crate) fn sign(self) -> f64 {
        match self {
            Way::Still => 0.0,
            Way::Forward => 1.0,
            Way::Back => -1.0,
        }
    }
}
