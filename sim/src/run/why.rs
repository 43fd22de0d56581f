//! Why a zone was cold, and whether the boilers could not: a look at the plant every two minutes.
//!
//! A zone is cold while its air is more than [`COLD_BELOW_K`] below what its thermostat asks for. Of each such look the first of
//! these that holds is the cause:
//!
//! 1. its thermostat does not call; or it calls and no water flows, by the reason that its relay gives;
//! 2. its flow cannot carry what the room loses at that outdoor temperature, its mixing valve lets too little through, its fan waits
//!    for hotter water than the target, or the target lies below what its emitters need, by the curve's
//!    setback or without;
//! 3. its setting has risen less than [`RECOVERY_S`] ago and it has not been warm since: it comes back from a setback, which it
//!    does too, however long ago, while it gets all the water that it needs;
//! 4. the header is more than [`SHORT_K`] below what it needs: a limit is open, a boiler's own limit holds it off, a boiler that could
//!    help is not called, all that can burn at full fire, a return valve holds water of one back, or one that is called burns less than it could;
//! 5. the header is hot enough and its fan still waits for hotter water, or its mixing valve makes colder water of it than it needs;
//! 6. it gets what it needs and warms up.
//!
//! A zone is hot while its air is more than [`HOT_K`] above what its thermostat asks for when occupied, it does not call, and water still
//! heats it: nobody asked for that heat.
//!
//! What a zone needs is the inverse of its emitter's law at its own flow for the loss less the gains of the moment
//! ([`need`](crate::study::curve::need) says more). Bounds are our choice. The time since the last look is judged
//! by its end; shorter things are missed.

use super::summary::COLD_BELOW_K;
pub use crate::study::curve::HOT_K;
use crate::{
    plant::Trip,
    state::{Model, State},
    study::curve::need::{Carry, needed_c},
};
use heatwright_core::{BoilerId, CivilMinute, Level, Outputs, Reason, RelayId, RelayUse, ScheduleId, ZoneId};
use serde::Serialize;

/// Seconds between looks.
const LOOK_S: f64 = 120.0;
/// A header this far below what is wanted is short of it, in kelvin: past the swing of a burner.
pub const SHORT_K: f64 = 3.0;
/// Mixed water that is colder than what is wanted by this, and than the header, was held so by its valve, in kelvin.
const MIXED_SHORT_K: f64 = 0.5;
/// A zone whose setting rose less than this ago comes back from a setback whatever the header has, in seconds.
pub const RECOVERY_S: f64 = 3.0 * 3600.0;
/// A boiler burns at full fire from this rate on.
const FULL: f64 = 0.95;

/// Why a zone is cold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// Its thermostat does not call.
    Silent,
    /// Its water is held off while the tank has priority.
    Tank,
    /// Its water is held off as it is too warm outside.
    WarmWeather,
    /// A safety holds its water off.
    Safety,
    /// Its water is held off by something else: an alarm, a proof, a switch; or has not begun to flow.
    Held,
    /// Its flow cannot carry the loss with any water that the boilers can make.
    Flow,
    /// Its mixing valve lets no water through that is hot enough, or at the moment makes none.
    Mixed,
    /// Its fan's aquastat waits for hotter water than there is to be, or than would do.
    Fan,
    /// The target is below what its emitters need.
    Target,
    /// It is by the setback of the curve: without it the target would do.
    Setback,
    /// It comes back from a setback.
    Recovery,
    /// The header is short and a limit is open.
    Limit,
    /// The header is short and its own limit holds a boiler off that is called.
    OwnLimit,
    /// The header is short and a boiler that could help is not called.
    Stage,
    /// The header is short and all boilers that can are at full fire.
    Boilers,
    /// The header is short and the return valve of a boiler that is called leads its water round.
    ReturnValve,
    /// The header is short and a boiler that is called burns less than it could, or not.
    Burner,
    /// It gets what it needs and warms up.
    Warming,
}

/// The time that one cause had in one zone, and what stood then.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Cold {
    /// Which zone.
    pub zone: ZoneId,
    /// Why.
    pub cause: Cause,
    /// Hours.
    pub hours_h: f64,
    /// Mean outdoor temperature in them, in degrees Celsius.
    pub outdoor_c: f64,
    /// Mean supply that its emitters needed, in degrees Celsius; `None` where no water would do.
    pub needed_c: Option<f64>,
    /// Mean supply target, in degrees Celsius; `None` where there was none.
    pub target_c: Option<f64>,
    /// Mean header supply, in degrees Celsius.
    pub supply_c: f64,
}

/// The time that one zone was hot by water that nobody called for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Hot {
    /// Which zone.
    pub zone: ZoneId,
    /// Hours.
    pub hours_h: f64,
    /// Mean air temperature in them, in degrees Celsius.
    pub air_c: f64,
    /// Mean outdoor temperature in them, in degrees Celsius.
    pub outdoor_c: f64,
    /// Mean water temperature at its emitter in them, in degrees Celsius.
    pub supply_c: f64,
}

/// Hours in which the header was more than [`SHORT_K`] below its target.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Short {
    /// In all, in hours.
    pub hours_h: f64,
    /// The longest stretch, in hours.
    pub longest_h: f64,
    /// Mean supply below its target, in kelvin.
    pub short_k: f64,
    /// Mean outdoor temperature, in degrees Celsius.
    pub outdoor_c: f64,
}

/// What the looks saw.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Why {
    /// Cold zones and why, by zone and then by length.
    pub cold: Vec<Cold>,
    /// Zones that were hot by water that nobody called for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub hot: Vec<Hot>,
    /// Supply short with every boiler that can at full fire.
    pub boilers_short: Short,
    /// Supply short with every boiler that burns at full fire and another that could help not called.
    pub stage_short: Short,
    /// Supply short while its own limit holds a boiler off that is called.
    pub own_limit_short: Short,
}

#[derive(Clone, Copy, Debug, Default)]
struct Mean {
    sum: f64,
    weight: f64,
}

impl Mean {
    fn add(&mut self, weight: f64, value: f64) {
        self.sum += weight * value;
        self.weight += weight;
    }
    fn get(self) -> Option<f64> {
        (self.weight > 0.0).then(|| self.sum / self.weight)
    }
}

#[derive(Clone, Copy, Debug, Default)]
struct Part {
    time_s: f64,
    outdoor: Mean,
    needed: Mean,
    target: Mean,
    supply: Mean,
}

/// A stretch that goes on or not.
#[derive(Clone, Copy, Debug, Default)]
struct Stretch {
    time_s: f64,
    now_s: f64,
    longest_s: f64,
    short: Mean,
    outdoor: Mean,
}

impl Stretch {
    fn see(&mut self, holds: bool, span_s: f64, short_k: f64, outdoor_c: f64) {
        if !holds {
            self.now_s = 0.0;
            return;
        }
        self.time_s += span_s;
        self.now_s += span_s;
        self.longest_s = self.longest_s.max(self.now_s);
        self.short.add(span_s, short_k);
        self.outdoor.add(span_s, outdoor_c);
    }
    fn end(self) -> Short {
        Short {
            hours_h: self.time_s / 3600.0,
            longest_h: self.longest_s / 3600.0,
            short_k: self.short.get().unwrap_or(0.0),
            outdoor_c: self.outdoor.get().unwrap_or(0.0),
        }
    }
}

/// What a zone that calls gets and needs.
#[derive(Clone, Copy, Debug)]
struct Flowing {
    carry: Carry,
    /// Water that its fan, which stands, waits for, in degrees Celsius.
    waits_c: Option<f64>,
    /// What its mixing valve makes of the supply, in degrees Celsius.
    mixed_c: Option<f64>,
}

/// How the boilers stand to what they are asked.
#[derive(Clone, Copy, Debug)]
struct Fires {
    /// A limit that stops a boiler is open.
    limit: bool,
    /// The own limit of one that is called is open, or has put a flame out since the last look.
    own_limit: bool,
    /// A boiler that could burn is not called.
    idle: bool,
    /// All that are called and could burn are at full fire, and there is one.
    full: bool,
    /// A return valve leads water of one that is called round.
    round: bool,
}

/// Looks on and keeps count.
pub(super) struct Looks {
    every_steps: u64,
    next: u64,
    before_s: f64,
    /// Setting of each zone at the last look, and when it rose, in seconds, if it has not been warm since.
    set_c: Vec<f64>,
    rose_s: Vec<Option<f64>>,
    parts: Vec<Vec<(Cause, Part)>>,
    /// Air, outdoors and water of each zone while it is hot.
    hot: Vec<[Mean; 3]>,
    boilers: Stretch,
    stage: Stretch,
    own_limit: Stretch,
    /// Times that own limits had put flames out at the last look.
    limit_stops: u32,
    /// When the curve is lowered, and by how much in kelvin; what it is lowered by now.
    curve_setback: Option<(ScheduleId, f64)>,
    lowered_k: f64,
}

impl Looks {
    /// For a run whose counted part begins after `warm_steps`.
    pub(super) fn new(model: &Model, warm_steps: u64, curve_setback: Option<(ScheduleId, f64)>) -> Self {
        let zones = model.plant.zones.len();
        Self {
            every_steps: ((LOOK_S / model.dt_s).round() as u64).max(1),
            next: warm_steps + ((LOOK_S / model.dt_s).round() as u64).max(1),
            before_s: 0.0,
            set_c: vec![f64::INFINITY; zones],
            rose_s: vec![None; zones],
            parts: vec![Vec::new(); zones],
            hot: vec![[Mean::default(); 3]; zones],
            boilers: Stretch::default(),
            stage: Stretch::default(),
            own_limit: Stretch::default(),
            limit_stops: 0,
            curve_setback,
            lowered_k: 0.0,
        }
    }

    /// The step of the next look.
    #[inline]
    pub(super) fn next(&self) -> u64 {
        self.next
    }

    /// Looks at the end of a step of the counted part, in which own limits have put flames out so often.
    #[inline(never)]
    pub(super) fn look(
        &mut self,
        (step, at_s): (u64, f64),
        civil: CivilMinute,
        model: &Model,
        s: &State,
        (out, limit_stops): (&Outputs, u32),
    ) {
        self.next = step + self.every_steps;
        let span_s = at_s - self.before_s;
        self.before_s = at_s;
        let schedule = self.curve_setback.and_then(|(k, by_k)| Some((model.plant.schedules.get(k.index())?, by_k)));
        let lowered = schedule.filter(|(schedule, _)| schedule.level(Some(civil)) == Level::Setback);
        self.lowered_k = lowered.map_or(0.0, |(_, by_k)| by_k);
        let mut fires = fires(model, s, out);
        fires.own_limit |= limit_stops > self.limit_stops;
        self.limit_stops = limit_stops;
        let target_c = out.target.map(|t| f64::from(t.centi_c()) / 100.0);
        let supply_c = s.header.supply_c;
        let short_k = target_c.map_or(0.0, |t| t - supply_c);
        let short = short_k > SHORT_K && fires.full && !fires.limit;
        self.boilers.see(short && !fires.idle, span_s, short_k, s.outdoor_c);
        self.stage.see(short && fires.idle, span_s, short_k, s.outdoor_c);
        self.own_limit.see(short_k > SHORT_K && fires.own_limit, span_s, short_k, s.outdoor_c);
        for (k, now) in s.zones.iter().enumerate() {
            let set_c = model.plant.asked_c(k, civil);
            let rose = set_c > self.set_c[k] + 0.5;
            self.set_c[k] = set_c;
            if model.plant.zones[k].thermostat.set_c + HOT_K < now.nodes.air_c
                && s.field.calls >> k & 1 == 0
                && now.flux.flow_kg_s > 0.0
                && now.flux.supply_c > now.nodes.air_c
            {
                let seen = [now.nodes.air_c, s.outdoor_c, now.flux.supply_c];
                self.hot[k].iter_mut().zip(seen).for_each(|(mean, c)| mean.add(span_s, c));
            }
            if now.nodes.air_c >= set_c - COLD_BELOW_K {
                self.rose_s[k] = None;
                continue;
            }
            if rose {
                self.rose_s[k] = Some(at_s);
            }
            let carry = needed_c(&model.plant, k, s.outdoor_c, set_c, now.flux.gains_w);
            let cause = if s.field.calls >> k & 1 == 0 {
                Cause::Silent
            } else if now.flux.flow_kg_s <= 0.0 {
                held(model, ZoneId(k as u8), out)
            } else {
                let zone = Flowing { carry, waits_c: waits_c(model, s, k), mixed_c: mixed_c(model, s, k) };
                self.flowing(k, at_s, zone, (target_c, supply_c), fires)
            };
            let list = &mut self.parts[k];
            let at = list.iter().position(|p| p.0 == cause).unwrap_or_else(|| {
                list.push((cause, Part::default()));
                list.len() - 1
            });
            let part = &mut list[at].1;
            part.time_s += span_s;
            part.outdoor.add(span_s, s.outdoor_c);
            part.supply.add(span_s, supply_c);
            if let Carry::Supply(c) | Carry::PastMixing(c) = carry {
                part.needed.add(span_s, c);
            }
            if let Some(c) = target_c {
                part.target.add(span_s, c);
            }
        }
    }

    /// Why a zone is cold although water flows.
    fn flowing(
        &self,
        zone: usize,
        at_s: f64,
        Flowing { carry, waits_c, mixed_c }: Flowing,
        (target_c, supply_c): (Option<f64>, f64),
        fires: Fires,
    ) -> Cause {
        let needed_c = match carry {
            Carry::Never => return Cause::Flow,
            Carry::PastMixing(_) => return Cause::Mixed,
            Carry::Supply(c) => c,
        };
        if waits_c.zip(target_c).is_some_and(|(waits, t)| t <= waits) {
            return Cause::Fan;
        }
        if let Some(t) = target_c.filter(|t| *t < needed_c - 0.5) {
            return if t + self.lowered_k < needed_c - 0.5 { Cause::Target } else { Cause::Setback };
        }
        if self.rose_s[zone].is_some_and(|t| at_s - t < RECOVERY_S) {
            return Cause::Recovery;
        }
        if supply_c >= needed_c - SHORT_K {
            if waits_c.is_some() {
                return Cause::Fan;
            }
            if mixed_c.is_some_and(|m| m < needed_c - MIXED_SHORT_K && m < supply_c - MIXED_SHORT_K) {
                return Cause::Mixed;
            }
            return if self.rose_s[zone].is_some() { Cause::Recovery } else { Cause::Warming };
        }
        match fires {
            Fires { limit: true, .. } => Cause::Limit,
            Fires { own_limit: true, .. } => Cause::OwnLimit,
            Fires { idle: true, .. } => Cause::Stage,
            Fires { full: true, .. } => Cause::Boilers,
            Fires { round: true, .. } => Cause::ReturnValve,
            Fires { .. } => Cause::Burner,
        }
    }

    /// What was seen.
    pub(super) fn end(self) -> Why {
        let mut cold = Vec::new();
        for (k, mut list) in self.parts.into_iter().enumerate() {
            list.sort_by(|a, b| b.1.time_s.total_cmp(&a.1.time_s));
            cold.extend(list.into_iter().map(|(cause, p)| Cold {
                zone: ZoneId(k as u8),
                cause,
                hours_h: p.time_s / 3600.0,
                outdoor_c: p.outdoor.get().unwrap_or(0.0),
                needed_c: p.needed.get(),
                target_c: p.target.get(),
                supply_c: p.supply.get().unwrap_or(0.0),
            }));
        }
        let hot = self.hot.into_iter().enumerate().filter_map(|(k, [air, outdoor, supply])| {
            Some(Hot {
                zone: ZoneId(k as u8),
                hours_h: air.weight / 3600.0,
                air_c: air.get()?,
                outdoor_c: outdoor.get()?,
                supply_c: supply.get()?,
            })
        });
        Why {
            cold,
            hot: hot.collect(),
            boilers_short: self.boilers.end(),
            stage_short: self.stage.end(),
            own_limit_short: self.own_limit.end(),
        }
    }
}

/// What a zone's mixing valve makes of the header's supply, in degrees Celsius; `None` without such a valve.
fn mixed_c(model: &Model, s: &State, zone: usize) -> Option<f64> {
    let mixed = model.plant.zones.get(zone).is_some_and(|z| z.mix.is_some());
    s.zones.get(zone).filter(|_| mixed).map(|z| z.flux.supply_c)
}

/// What the aquastat of a zone's fan waits for, in degrees Celsius; `None` without one, and where it is made.
fn waits_c(model: &Model, s: &State, zone: usize) -> Option<f64> {
    let made = s.field.fan_aquastats >> zone & 1 == 1;
    model.plant.zones.get(zone).and_then(|z| z.fan?.aquastat_c).filter(|_| !made)
}

/// How the boilers stand.
fn fires(model: &Model, s: &State, out: &Outputs) -> Fires {
    let plant = &model.plant;
    let open = |b: BoilerId| {
        plant.safeties.iter().enumerate().any(|(k, c)| {
            let id = heatwright_core::SafetyId(k as u8);
            s.field.safeties & id.bit() == 0
                && matches!(c.trip, Trip::BoilerAbove { .. } | Trip::Event)
                && plant.safety_stops(id, b, c.circuit)
        })
    };
    let (mut limit, mut own_limit, mut idle, mut full, mut round, mut count) = (false, false, false, true, false, 0);
    for (k, now) in s.boilers.iter().enumerate() {
        let b = BoilerId(k as u8);
        let stated = relay(model, RelayUse::Demand(b)).map(|r| out.relay(r)).unwrap_or_default();
        limit |= open(b);
        if stated.on {
            count += 1;
            full &= now.state.burner.lit() && now.state.rate >= FULL;
            round |= now.state.opening < 1.0;
            own_limit |= !now.state.limit_made;
        } else {
            idle |= able(stated.why) && !open(b);
        }
    }
    Fires { limit, own_limit, idle, full: full && count > 0, round }
}

/// True for a boiler that is not called and could be.
fn able(why: Reason) -> bool {
    !matches!(
        why,
        Reason::FlowFailed
            | Reason::FlameFailed
            | Reason::BoilerFault
            | Reason::SwitchedOff
            | Reason::Safety(_)
            | Reason::DamperFailed
            | Reason::HotCuts(_)
            | Reason::Hand
            | Reason::StuckFlow(_)
    )
}

/// Why no water flows through a zone that calls.
fn held(model: &Model, z: ZoneId, out: &Outputs) -> Cause {
    let pump = model.plant.zone_pump(z).map(RelayUse::Pump);
    let relays = [Some(RelayUse::Valve(z)), pump].into_iter().flatten().filter_map(|u| relay(model, u));
    let why = relays.map(|r| out.relay(r)).find(|s| !s.on).map(|s| s.why);
    match why {
        Some(Reason::Shed) => Cause::Tank,
        Some(Reason::WarmWeather) => Cause::WarmWeather,
        Some(Reason::Safety(_)) => Cause::Safety,
        Some(_) | None => Cause::Held,
    }
}

fn relay(model: &Model, what: RelayUse) -> Option<RelayId> {
    model.plant.points.relays.iter().position(|u| *u == what).map(|k| RelayId(k as u8))
}
