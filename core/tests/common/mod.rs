//! A plant for tests: a configuration that touches every machine, and a few lines of physics to close the loop.
#![allow(dead_code, unreachable_pub)]

pub mod checks;
pub mod history;
pub mod invariants;
pub mod lit;
pub mod story;

use heatwright_core::config::*;
use heatwright_core::*;

/// Cases of a property: as many as are usual, or as many as `PROPTEST_CASES` asks for.
pub fn cases(usual: u32) -> u32 {
    std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}

pub fn s(v: u32) -> Instant {
    Instant::from_s(v)
}

pub fn c(v: i16) -> Temp {
    Temp::from_c(v)
}

/// What differs between the plants of the tests.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    pub boilers: u8,
    pub zones: u8,
    pub drive: BoilerDrive,
    pub tank: bool,
    pub damper: bool,
    pub policy: RotationPolicy,
    pub off_order: OffOrder,
    /// A mixed zone, a valve with end switch, constant circulation, a hand switch, a schedule and demand trim.
    pub extras: bool,
    /// Stages by the required heat.
    pub by_load: bool,
    /// A wider band at low load.
    pub low_load: bool,
    /// The plant runs by the number of calls.
    pub by_requests: bool,
}

impl Shape {
    /// One boiler, two zones and nothing besides.
    pub const PLAIN: Self = Self {
        boilers: 1,
        zones: 2,
        drive: BoilerDrive::DemandOnly,
        tank: false,
        damper: false,
        policy: RotationPolicy::Fixed,
        off_order: OffOrder::FirstOnLastOff,
        extras: false,
        by_load: false,
        low_load: false,
        by_requests: false,
    };
}

impl Default for Shape {
    fn default() -> Self {
        Self::PLAIN
    }
}

/// Safeties of every plant here, by id: door switch (plant), gas (plant, by hand), then per boiler high limit and low water.
pub const DOOR: SafetyId = SafetyId(0);
pub const GAS: SafetyId = SafetyId(1);
pub fn high_limit(b: u8) -> SafetyId {
    SafetyId(2 + 2 * b)
}
pub fn low_water(b: u8) -> SafetyId {
    SafetyId(3 + 2 * b)
}

pub fn span(v: u32) -> Span {
    Span::from_s(v)
}

pub fn boiler(drive: BoilerDrive, pump: PumpId) -> BoilerConfig {
    BoilerConfig {
        firing: match drive {
            BoilerDrive::DemandOnly => Firing::OnOff,
            BoilerDrive::Target { .. } | BoilerDrive::Rate => Firing::Modulating { minimum: Permille::new(200) },
        },
        drive,
        pump: BoilerPump::Controller(pump),
        input_w: 100_000,
        on_min: span(180),
        off_min: span(300),
        flow_proof_max: span(30),
        flame_proof_max: span(90),
        post_purge: span(30),
        pump_overrun: span(240),
        retry_after: span(300),
        outlet_max: c(95),
        fixed_target: c(85),
    }
}

pub fn config(shape: Shape) -> Config {
    let mut points = Points::default();
    let mut pumps = heapless::Vec::new();
    let mut zones = heapless::Vec::new();
    let mut boilers = heapless::Vec::new();
    let mut safeties = heapless::Vec::new();
    let pump = |role| PumpConfig {
        role,
        on_min: span(30),
        off_min: span(20),
        exercise_every: Span::from_h(48),
        exercise_for: span(60),
    };
    for z in 0..shape.zones {
        let id = PumpId(pumps.len() as u8);
        pumps.push(pump(PumpRole::Zone)).unwrap();
        zones
            .push(ZoneConfig {
                drive: ZoneDrive::Pump(id),
                circulation: Circulation::OnCall,
                debounce: span(5),
                call_min: span(60),
                overrun: span(120),
                sheddable: true,
                mix: None,
                flow_w_per_k: 1500,
            })
            .unwrap();
        points.relays.push(RelayUse::Pump(id)).unwrap();
        points.contacts.push(ContactUse::Call(ZoneId(z))).unwrap();
    }
    for (kind, reset) in [(SafetyKind::DoorSwitch, Reset::Automatic), (SafetyKind::GasLow, Reset::Manual)] {
        safeties.push(SafetyConfig { kind, scope: SafetyScope::Plant, circuit: SafetyCircuit::Limit, reset }).unwrap();
    }
    points.contacts.push(ContactUse::Safety(DOOR, Tap::Aux)).unwrap();
    points.contacts.push(ContactUse::Safety(GAS, Tap::Aux)).unwrap();
    points.sensors.push(SensorUse::Outdoor).unwrap();
    points.sensors.push(SensorUse::Supply).unwrap();
    points.sensors.push(SensorUse::Return).unwrap();
    for b in 0..shape.boilers {
        let id = BoilerId(b);
        let p = PumpId(pumps.len() as u8);
        pumps.push(pump(PumpRole::Boiler(id))).unwrap();
        boilers.push(boiler(shape.drive, p)).unwrap();
        points.relays.push(RelayUse::Demand(id)).unwrap();
        points.relays.push(RelayUse::Pump(p)).unwrap();
        for (kind, reset) in [(SafetyKind::HighLimitManual, Reset::Manual), (SafetyKind::LowWater, Reset::Manual)] {
            let (scope, circuit) = (SafetyScope::Boiler(id), SafetyCircuit::Limit);
            safeties.push(SafetyConfig { kind, scope, circuit, reset }).unwrap();
        }
        points.contacts.push(ContactUse::Safety(high_limit(b), Tap::Chain)).unwrap();
        points.contacts.push(ContactUse::Safety(low_water(b), Tap::Chain)).unwrap();
        points.contacts.push(ContactUse::Flow(id)).unwrap();
        points.contacts.push(ContactUse::Flame(id)).unwrap();
        points.contacts.push(ContactUse::BoilerFault(id)).unwrap();
        points.contacts.push(ContactUse::BoilerSwitch(id)).unwrap();
        points.sensors.push(SensorUse::BoilerOutlet(id)).unwrap();
        match shape.drive {
            BoilerDrive::DemandOnly => {}
            BoilerDrive::Target { .. } => points.analogs.push(AnalogUse::Target(id)).unwrap(),
            BoilerDrive::Rate => points.analogs.push(AnalogUse::Rate(id)).unwrap(),
        }
    }
    points.contacts.push(ContactUse::Acknowledge).unwrap();
    points.relays.push(RelayUse::Alarm).unwrap();
    points.relays.push(RelayUse::Health).unwrap();
    if shape.damper {
        points.relays.push(RelayUse::Damper).unwrap();
        points.contacts.push(ContactUse::DamperOpen).unwrap();
    }
    let tank = shape.tank.then(|| {
        let p = PumpId(pumps.len() as u8);
        pumps.push(pump(PumpRole::Tank)).unwrap();
        points.relays.push(RelayUse::Pump(p)).unwrap();
        points.contacts.push(ContactUse::TankCall).unwrap();
        points.sensors.push(SensorUse::Tank).unwrap();
        TankConfig {
            pump: p,
            target: c(80),
            debounce: span(5),
            purge_max: c(65),
            priority_max: Span::from_min(30),
            priority_above: c(-12),
            overrun: span(60),
            flow_w_per_k: 3000,
        }
    });
    let curve = [(-15, 80), (20, 35)].map(|(o, w)| CurvePoint { outdoor: c(o), supply: c(w) });
    let mut config = Config {
        points,
        reset: ResetConfig {
            points: heapless::Vec::from_slice(&curve).unwrap(),
            supply_min: c(35),
            supply_max: c(82),
            outdoor_filter: Span::from_h(4),
            warm_weather_off: c(18),
            warm_weather_differential: TempDelta::from_k(2),
            setback: TempDelta::from_k(8),
            boost: TempDelta::from_k(5),
            boost_for: Span::from_h(1),
            schedule: None,
            outdoor_fallback: c(-15),
            header_trim_max: TempDelta::from_k(6),
            demand_trim_max: TempDelta::ZERO,
        },
        zones,
        pumps,
        pump_stagger: span(5),
        boilers,
        safeties,
        staging: StagingConfig {
            band: TempDelta::from_k(3),
            up_error_k_s: 1500,
            down_error_k_s: 900,
            up_rate: Permille::new(850),
            down_rate: Permille::new(400),
            rate_hold: span(300),
            start_spacing: span(120),
            band_pi: TempDelta::from_k(20),
            integral: span(600),
            modulation: Modulation::Parallel,
            stage_by: if shape.by_load { StageBy::Load(LoadRules::CONDENSING) } else { StageBy::Error },
            low_load: if shape.low_load {
                LowLoadConfig { run_min: span(400), band: TempDelta::from_k(7) }
            } else {
                LowLoadConfig::NONE
            },
        },
        rotation: RotationConfig { policy: shape.policy, off_order: shape.off_order },
        purge: PurgeConfig {
            to: if shape.tank { PurgeTo::Tank } else { PurgeTo::Zone(ZoneId(0)) },
            otherwise: Some(ZoneId(0)),
            time_max: span(600),
            until: c(45),
        },
        tank,
        guard: GuardConfig {
            frost_outdoor: c(-20),
            frost_water: c(5),
            frozen_after: span(600),
            damper_proof_max: span(60),
            damper_retry_after: span(120),
            low_water_stops_pumps: true,
            valve_travel_max: span(240),
            hot_cuts: 3,
            hot_cuts_within: Span::from_h(1),
        },
        schedules: heapless::Vec::new(),
        enable: if shape.by_requests { PlantEnable::Requests(EnableRules::GUIDELINE_36) } else { PlantEnable::AnyCall },
    };
    if shape.extras {
        extras(&mut config);
    }
    config
}

/// Every kind of zone and switch that the plain plant has none of. The last zone is mixed, the first has a valve.
fn extras(c: &mut Config) {
    let last = ZoneId(c.zones.len() as u8 - 1);
    if last.0 > 0 {
        let mix = MixConfig {
            mixed_max: Temp::from_c(45),
            mixed_design: Temp::from_c(40),
            room: Temp::from_c(20),
            band: TempDelta::from_k(20),
            integral: span(300),
            stroke: span(120),
        };
        c.zones[last.index()].mix = Some(mix);
        c.points.sensors.push(SensorUse::Mixed(last)).unwrap();
        c.points.analogs.push(AnalogUse::Mixing(last)).unwrap();
        let (scope, circuit) = (SafetyScope::Zone(last), SafetyCircuit::ZoneLimit);
        c.safeties
            .push(SafetyConfig { kind: SafetyKind::FloorLimit, scope, circuit, reset: Reset::Automatic })
            .unwrap();
        c.points.contacts.push(ContactUse::Safety(SafetyId(c.safeties.len() as u8 - 1), Tap::Aux)).unwrap();
    }
    c.zones[0].drive = ZoneDrive::Valve { pump: Some(PumpId(0)) };
    c.zones[0].sheddable = false;
    c.points.relays.push(RelayUse::Valve(ZoneId(0))).unwrap();
    c.points.contacts.push(ContactUse::EndSwitch(ZoneId(0))).unwrap();
    if let Some(z) = c.zones.get_mut(1) {
        z.circulation = Circulation::Constant;
        c.points.contacts.push(ContactUse::Hand(PumpId(1))).unwrap();
        c.points.contacts.push(ContactUse::Auto(PumpId(1))).unwrap();
    }
    let mut week = Schedule::default();
    for day in 0..7u16 {
        week.steps.push(schedule::Step::new(day * 1440 + 330, Level::Occupied)).unwrap();
        week.steps.push(schedule::Step::new(day * 1440 + 1290, Level::Setback)).unwrap();
    }
    c.schedules.push(week).unwrap();
    c.reset.schedule = Some(ScheduleId(0));
    c.reset.demand_trim_max = TempDelta::from_k(4);
}

/// A controller: the shipped one, or one broken by hand.
pub type Controller = fn(&Config, &mut State, Instant, &Inputs, &mut Outputs);

/// The plant's own behaviour: flow with its pump, flame some time after demand, water by a crude balance.
#[derive(Clone, Debug)]
pub struct Bench {
    pub controller: Controller,
    pub config: Config,
    pub state: State,
    pub outputs: Outputs,
    pub inputs: Inputs,
    pub now_s: u32,
    /// Seconds of demand, by boiler.
    pub lit_for: [u32; 4],
    /// Boilers that do not light, that have no flow, and those held at a fault.
    pub no_flame: [bool; 4],
    pub no_flow: [bool; 4],
    /// Boilers told a target that keep their flame out because their water is warm enough.
    pub content: [bool; 4],
    /// Whether the water is simulated; otherwise the readings stay as set.
    pub water: bool,
    supply_centi: i64,
}

impl Bench {
    /// All safeties closed, switches on, 0 °C outdoors, water at 40 °C.
    pub fn new(shape: Shape) -> Self {
        Self::with(config(shape))
    }

    pub fn with(config: Config) -> Self {
        let mut faults = Vec::new();
        config.check(|f| faults.push(f));
        assert!(faults.is_empty(), "{faults:?}");
        let mut b = Self {
            controller: tick,
            state: State::new(&config, None),
            outputs: Outputs::default(),
            inputs: Inputs::default(),
            now_s: 0,
            lit_for: [0; 4],
            no_flame: [false; 4],
            no_flow: [false; 4],
            content: [false; 4],
            water: true,
            supply_centi: 4000,
            config,
        };
        for (i, u) in b.config.points.contacts.clone().iter().enumerate() {
            let closed = matches!(u, ContactUse::Safety(..) | ContactUse::BoilerSwitch(_) | ContactUse::Auto(_));
            b.inputs.set(ContactId(i as u8), closed);
        }
        for u in [SensorUse::Supply, SensorUse::Return, SensorUse::Tank] {
            b.read(u, Reading::At(c(40)));
        }
        for i in 0..4 {
            b.read(SensorUse::BoilerOutlet(BoilerId(i)), Reading::At(c(40)));
        }
        b.read(SensorUse::Outdoor, Reading::At(c(0)));
        b
    }

    pub fn contact(&mut self, u: ContactUse, closed: bool) {
        if let Some(c) = self.config.points.contact(u) {
            self.inputs.set(c, closed);
        }
    }

    pub fn read(&mut self, u: SensorUse, r: Reading) {
        if let Some(s) = self.config.points.sensor(u) {
            self.inputs.sensors[s.index()] = r;
        }
    }

    pub fn call(&mut self, z: u8, on: bool) {
        self.contact(ContactUse::Call(ZoneId(z)), on);
    }

    pub fn supply(&mut self, t: i16) {
        self.supply_centi = i64::from(t) * 100;
        self.show_water();
    }

    fn show_water(&mut self) {
        let t = Temp::from_centi_c(self.supply_centi as i16);
        self.read(SensorUse::Supply, Reading::At(t));
        self.read(SensorUse::Return, Reading::At(t.minus(TempDelta::from_k(8))));
    }

    pub fn relay(&self, u: RelayUse) -> Stated {
        self.outputs.relay(self.config.points.relay(u).expect("no such relay"))
    }

    pub fn demand(&self, b: u8) -> Stated {
        self.relay(RelayUse::Demand(BoilerId(b)))
    }

    pub fn demands(&self) -> usize {
        (0..self.config.boilers.len() as u8).filter(|b| self.demand(*b).on).count()
    }

    pub fn pump(&self, p: u8) -> Stated {
        self.relay(RelayUse::Pump(PumpId(p)))
    }

    /// Ticks now.
    pub fn tick(&mut self) {
        assert!(self.state.belongs_to(&self.config), "the plant was changed behind its state");
        (self.controller)(&self.config, &mut self.state, s(self.now_s), &self.inputs, &mut self.outputs);
    }

    /// One second of the plant, then a tick.
    pub fn second(&mut self) {
        self.now_s += 1;
        self.plant();
        self.tick();
    }

    /// The plant's second.
    pub fn plant(&mut self) {
        let mut heat = 0;
        for i in 0..self.config.boilers.len() {
            let b = BoilerId(i as u8);
            let on = self.demand(b.0).on;
            self.lit_for[i] = if on { self.lit_for[i] + 1 } else { 0 };
            let told = self.rate_for_target(b);
            // Its flame goes out below a twentieth and comes back from three tenths on.
            self.content[i] = self.water && if self.content[i] { told < 300 } else { told < 50 };
            let lit = self.lit_for[i] > 30 && !self.no_flame[i] && !self.content[i];
            let flow = self.config.boiler_pump(b).is_none_or(|p| self.pump(p.0).on) && !self.no_flow[i];
            self.contact(ContactUse::Flow(b), flow);
            self.contact(ContactUse::Flame(b), lit);
            let rate = match self.config.boilers[i].drive {
                BoilerDrive::DemandOnly => 1000,
                BoilerDrive::Target { .. } => told.clamp(200, 1000),
                BoilerDrive::Rate => {
                    let a = self.config.points.analog(AnalogUse::Rate(b)).unwrap();
                    i64::from(self.outputs.analog(a).at.get())
                }
            };
            heat += if lit { rate } else { 0 };
            if self.water {
                let rise = if lit { rate * 10 / 1000 } else { 0 };
                let t = Temp::from_centi_c((self.supply_centi + rise * 100) as i16);
                self.read(SensorUse::BoilerOutlet(b), Reading::At(t));
            }
        }
        if self.config.points.relays.contains(&RelayUse::Damper) {
            let open = self.relay(RelayUse::Damper).on;
            self.contact(ContactUse::DamperOpen, open);
        }
        // A valve's end switch closes when its relay is on; a test may open it.
        for z in 0..self.config.zones.len() as u8 {
            if let Some(r) = self.config.points.relay(RelayUse::Valve(ZoneId(z))) {
                let on = self.outputs.relay(r).on;
                self.contact(ContactUse::EndSwitch(ZoneId(z)), on);
            }
        }
        if self.water {
            let flowing = (0..self.config.zones.len() as u8).filter(|z| self.pump(*z).on).count() as i64;
            // A boiler at full fire warms the header 6 K a minute; each zone takes 2 K a minute at 60 K over the room.
            let loss = flowing * 200 * (self.supply_centi - 2000) / 6000 + 5;
            self.supply_centi += (heat * 600 / 1000 - loss) / 60;
            self.show_water();
        }
    }

    /// The rate at which a boiler that warms its water by 10 K at full fire just reaches the target that it is told; 600
    /// for one that is told none.
    fn rate_for_target(&self, b: BoilerId) -> i64 {
        let BoilerDrive::Target { low, high } = self.config.boilers[b.index()].drive else { return 600 };
        let a = self.config.points.analog(AnalogUse::Target(b)).unwrap();
        let span = i64::from(high.above(low).centi_k());
        let told = i64::from(low.centi_c()) + span * i64::from(self.outputs.analog(a).at.get()) / 1000;
        told - self.supply_centi
    }

    /// Runs until `done`, at most `within_s`; the second at which it was.
    pub fn until(&mut self, within_s: u32, done: impl Fn(&Self) -> bool) -> u32 {
        for _ in 0..within_s {
            if done(self) {
                return self.now_s;
            }
            self.second();
        }
        panic!("not within {within_s} s: {:#?} {:#?}", self.state.control, self.state.laws);
    }

    /// Presses and lets go of the acknowledge button.
    pub fn acknowledge(&mut self) {
        self.contact(ContactUse::Acknowledge, true);
        self.second();
        self.contact(ContactUse::Acknowledge, false);
        self.second();
    }

    pub fn run(&mut self, seconds: u32) {
        for _ in 0..seconds {
            self.second();
        }
    }
}
