//! A plant ready to step, and where it stands.
//!
//! [`Model`] never changes during a run; [`State`] is everything that does, and compares bit for bit: two runs that should be
//! the same end in equal states. Nothing is allocated after both are made.

use crate::{
    boiler::{BoilerFlux, BoilerModel, BoilerState},
    finding::Finding,
    fluid::RUN_C,
    header::{HeaderModel, HeaderState, Way},
    plant::{Drive, Fan, Mix, Plant, Zone},
    pump::{self, Branch},
    safety::Switches,
    sensor::{Lags, SensorModel, SensorStates},
    tank::{TankFlux, TankModel, TankState},
    thermostat::{Elements, ThermostatModel, ThermostatState, Thermostats, lag_share},
    wires::Field,
    zone::{
        ZoneFlux, ZoneState,
        lanes::{BLOCKS, LANES, Lane, Lanes, Nodes, place},
    },
};
use heatwright_core::{AnalogUse, BoilerId, SensorUse, ZoneId, config::BoilerPump};

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
    pub(crate) zones: Lanes,
    pub(crate) branches: Vec<Branch>,
    /// Zones whose water moves otherwise than with a pump alone, and those with a fan.
    pub(crate) valves: Vec<Valve>,
    pub(crate) mixes: Vec<MixingValve>,
    pub(crate) fans: Vec<(usize, Fan)>,
    pub(crate) thermostats: Vec<ThermostatModel>,
    pub(crate) thermostat_blocks: Vec<Thermostats>,
    pub(crate) switches: Switches,
    pub(crate) boilers: Vec<BoilerModel>,
    /// Pump bit of each boiler; 0 for one without.
    pub(crate) boiler_pumps: Vec<u64>,
    /// Share of the zones' flow through each boiler without a pump.
    pub(crate) through_share: Vec<f64>,
    /// There is a boiler without a pump.
    pub(crate) any_through: bool,
    /// There is a boiler with a return valve.
    pub(crate) any_return_valve: bool,
    pub(crate) header: HeaderModel,
    pub(crate) tank: Option<TankModel>,
    pub(crate) sensors: Vec<(SensorUse, SensorModel)>,
    pub(crate) lags: Vec<Lags>,
    /// Sensors that have noise, by their number.
    pub(crate) noisy: Vec<usize>,
    /// 0-10 V input of each boiler, if wired.
    pub(crate) boiler_analog: Vec<Option<usize>>,
    /// Share of the way to its room that a supply pipe without flow cools in one step.
    pub(crate) pipe_cool_share: f64,
}

/// A zone valve ready to step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Valve {
    pub(crate) zone: usize,
    pub(crate) stroke_s: f64,
    pub(crate) end_switch: bool,
}

/// A mixing valve ready to step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct MixingValve {
    pub(crate) zone: usize,
    pub(crate) mix: Mix,
    /// Its 0-10 V input, if wired.
    pub(crate) analog: Option<usize>,
    /// Share of the way that its element goes in one step; 0 for a motor.
    pub(crate) share: f64,
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

/// All zones, four side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Zones {
    count: usize,
    pub(crate) blocks: [ZoneBlock; BLOCKS],
    /// Thermostats that call, fans that run, emitters with flow: one bit a zone.
    pub(crate) calls: u64,
    pub(crate) fans: u64,
    pub(crate) flowing: u64,
}

/// Four zones.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct ZoneBlock {
    pub(crate) nodes: Nodes,
    pub(crate) elements: Elements,
    /// Heat to the rooms, in watts.
    pub(crate) heat_w: Lane,
    /// Water that entered last where none flows, in degrees Celsius; where it flows it is that in the supply pipe.
    pub(crate) entered_c: Lane,
    pub(crate) supply_pipe_c: Lane,
    pub(crate) valve: Lane,
    pub(crate) mixing: Lane,
    pub(crate) flow_kg_s: Lane,
    pub(crate) gains_w: Lane,
}

impl Zones {
    /// How many there are.
    pub fn len(&self) -> usize {
        self.count
    }

    /// True without any.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// One zone; `None` past the last.
    pub fn get(&self, zone: usize) -> Option<ZoneNow> {
        if zone >= self.count {
            return None;
        }
        let (b, l) = place(zone);
        let block = &self.blocks[b];
        let is = |bits: u64| bits >> zone & 1 == 1;
        Some(ZoneNow {
            nodes: block.nodes.get(l),
            thermostat: block.elements.get(l, is(self.calls)),
            valve: block.valve[l],
            mixing: block.mixing[l],
            supply_pipe_c: block.supply_pipe_c[l],
            fan: is(self.fans),
            flux: ZoneFlux {
                heat_w: block.heat_w[l],
                gains_w: block.gains_w[l],
                supply_c: if block.flow_kg_s[l] > 0.0 { block.supply_pipe_c[l] } else { block.entered_c[l] },
                flow_kg_s: block.flow_kg_s[l],
            },
        })
    }

    /// Every zone, by `ZoneId`.
    pub fn iter(&self) -> impl Iterator<Item = ZoneNow> {
        (0..self.count).filter_map(|i| self.get(i))
    }

    /// Air temperature of every zone, by `ZoneId`, in degrees Celsius.
    pub fn air_c(&self) -> impl Iterator<Item = f64> {
        let rows = self.blocks.iter().flat_map(|b| b.nodes.air_c.0);
        rows.take(self.count)
    }

    /// Water in a zone's supply pipe, in degrees Celsius; 0 past the last.
    #[inline]
    pub(crate) fn supply_pipe_c(&self, zone: usize) -> f64 {
        let (b, l) = place(zone);
        if zone < self.count { self.blocks[b].supply_pipe_c[l] } else { 0.0 }
    }

    fn put(&mut self, zone: usize, now: &ZoneNow) {
        let (b, l) = place(zone);
        let block = &mut self.blocks[b];
        block.nodes.put(l, &now.nodes);
        block.elements.put(l, &now.thermostat);
        block.valve[l] = now.valve;
        block.mixing[l] = now.mixing;
        block.supply_pipe_c[l] = now.supply_pipe_c;
        block.entered_c[l] = now.flux.supply_c;
    }
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
    /// Zones.
    pub zones: Zones,
    /// Boilers, by `BoilerId`.
    pub boilers: Vec<BoilerNow>,
    /// Header and pipes.
    pub header: HeaderState,
    /// The tank and what it did in the last step.
    pub tank: Option<(TankState, TankFlux)>,
    /// The damper, 0 closed to 1 open.
    pub damper: f64,
    /// Sensors, by `SensorId`.
    pub sensors: SensorStates,
    /// Every switch and reading as it stands.
    pub field: Field,
    /// Pumps that ran in the last step, by `PumpId`.
    pub pumps: u64,
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
        fn each<T>(zones: &[Zone], keep: &dyn Fn(usize, &Zone) -> Option<T>) -> Vec<T> {
            zones.iter().enumerate().filter_map(|(i, z)| keep(i, z)).collect()
        }
        let thermostats: Vec<_> = plant.zones.iter().map(|z| ThermostatModel::new(&z.thermostat, dt_s)).collect();
        let sensors = plant.points.sensors.iter().zip(&plant.sensors);
        let sensors: Vec<_> = sensors.map(|(u, s)| (*u, SensorModel::new(s, dt_s))).collect();
        Ok(Self {
            dt_s,
            specific_heat_j_kgk: fluid.specific_heat_j_kgk(RUN_C),
            zones: Lanes::new(&plant.zones, fluid, dt_s),
            branches: pump::zone_branches(plant),
            valves: each(&plant.zones, &|i, z| match z.drive {
                Drive::Valve { stroke_s, end_switch, .. } => Some(Valve { zone: i, stroke_s, end_switch }),
                Drive::Pump(_) => None,
            }),
            mixes: each(&plant.zones, &|i, z| {
                let mix = z.mix?;
                let share = match mix {
                    Mix::SelfActing { lag_s, .. } => lag_share(lag_s, dt_s),
                    Mix::Modulated { .. } => 0.0,
                };
                Some(MixingValve { zone: i, mix, analog: analog(AnalogUse::Mixing(ZoneId(i as u8))), share })
            }),
            fans: each(&plant.zones, &|i, z| Some((i, z.fan?))),
            thermostat_blocks: thermostat_blocks(&thermostats),
            thermostats,
            switches: Switches::new(&plant.safeties),
            boilers: plant.boilers.iter().map(|b| BoilerModel::new(b, fluid, plant.site.altitude_m, dt_s)).collect(),
            boiler_pumps: boiler_ids().map(|b| plant.boiler_pump(b).map_or(0, |p| p.bit())).collect(),
            through_share: plant
                .boilers
                .iter()
                .map(|b| if b.pump == BoilerPump::None { b.flow_kg_s / all_through } else { 0.0 })
                .collect(),
            any_through: all_through > 0.0,
            any_return_valve: plant.boilers.iter().any(|b| b.return_valve_c.is_some()),
            header: HeaderModel::new(&plant.header, fluid, dt_s),
            tank: plant.tank.as_ref().map(|t| TankModel::new(t, fluid, dt_s)),
            lags: Lags::of(&sensors),
            noisy: (0..sensors.len()).filter(|i| sensors[*i].1.noisy()).collect(),
            sensors,
            boiler_analog: boiler_ids()
                .map(|b| analog(AnalogUse::Target(b)).or_else(|| analog(AnalogUse::Rate(b))))
                .collect(),
            pipe_cool_share: lag_share(PIPE_COOL_S, dt_s),
            plant: plant.clone(),
        })
    }

    /// The plant at rest: every room at its occupied temperature, its water with it, boilers cold, the tank ready.
    pub fn start(&self, outdoor_c: f64, seed: u64) -> State {
        let room_c = self.plant.site.boiler_room_c;
        let count = self.plant.zones.len();
        let mut zones = Zones { count, blocks: Default::default(), calls: 0, fans: 0, flowing: 0 };
        for (i, (z, t)) in self.plant.zones.iter().zip(&self.thermostats).enumerate() {
            let c = z.thermostat.set_c;
            let now = ZoneNow {
                nodes: ZoneState { air_c: c, mass_c: c, water_c: c, slab_c: c },
                thermostat: t.start(c),
                valve: if matches!(z.drive, Drive::Pump(_)) { 1.0 } else { 0.0 },
                mixing: if z.mix.is_some() { 0.0 } else { 1.0 },
                supply_pipe_c: c,
                fan: false,
                flux: ZoneFlux { supply_c: c, ..ZoneFlux::default() },
            };
            zones.put(i, &now);
        }
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
            tank,
            damper: 0.0,
            sensors: SensorStates::default(),
            field: Field::default(),
            pumps: 0,
        };
        let mut sensors = SensorStates::default();
        // One look without moving anything, so that the first tick sees what is there.
        self.look(&mut state, 0, 0);
        for (i, (what, m)) in self.sensors.iter().enumerate() {
            let true_c = self.true_c(&state, *what);
            let mut sensor = SensorModel::start(true_c, i, seed);
            let reading = m.step(&mut sensor, true_c);
            sensors.put(i, sensor);
            if *what != SensorUse::Spare {
                state.field.sensors[i] = reading;
            }
        }
        state.sensors = sensors;
        state
    }

    /// What a sensor of this use should read, in degrees Celsius.
    #[inline(always)]
    pub fn true_c(&self, s: &State, what: SensorUse) -> f64 {
        match what {
            SensorUse::Spare => 0.0,
            SensorUse::Outdoor => s.outdoor_c,
            SensorUse::Supply => s.header.supply_c,
            SensorUse::Return => s.header.return_c,
            SensorUse::BoilerOutlet(b) => s.boilers.get(b.index()).map_or(0.0, |b| b.state.water_c),
            SensorUse::Tank => s.tank.as_ref().map_or(0.0, |t| t.0.water_c),
            SensorUse::Mixed(z) => s.zones.supply_pipe_c(z.index()),
        }
    }

    /// Heat in all water, metal and slabs that the boilers' heat passes through, in joules above 0 degrees Celsius.
    pub fn stored_j(&self, s: &State) -> f64 {
        let zones: f64 = s.zones.iter().enumerate().map(|(i, z)| self.zones.stored_j(i, &z.nodes)).sum();
        let boilers: f64 = self.boilers.iter().zip(&s.boilers).map(|(m, b)| m.stored_j(&b.state)).sum();
        let tank = self.tank.as_ref().zip(s.tank.as_ref()).map_or(0.0, |(m, t)| m.stored_j(&t.0));
        zones + boilers + tank + self.header.stored_j(&s.header)
    }

    /// Heat in rooms and building mass, in joules above 0 degrees Celsius.
    pub fn rooms_j(&self, s: &State) -> f64 {
        s.zones.iter().enumerate().map(|(i, z)| self.zones.room_j(i, &z.nodes)).sum()
    }
}

fn thermostat_blocks(all: &[ThermostatModel]) -> Vec<Thermostats> {
    let mut blocks = vec![Thermostats::default(); all.len().div_ceil(LANES).min(BLOCKS)];
    for (i, t) in all.iter().enumerate().take(LANES * BLOCKS) {
        let (b, l) = place(i);
        blocks[b].put(l, t);
    }
    blocks
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
