//! The boilers of one tick: what each sees around it, its step, and what its demand contact says.

use crate::{
    boilers::{Around, Boiler, BoilerState, OUTLET_BACK, too_hot},
    clock::Clock,
    config::{BoilerConfig, BoilerDrive, BoilerPump, Config},
    guard::{Verdict, hot},
    ids::BoilerId,
    limits::BOILERS,
    mask::Mask,
    outputs::Row,
    pumps::PumpStates,
    reason::Reason,
    seen::Seen,
    state::{Control, State},
    units::{Instant, Temp},
};

/// What all boilers see alike.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plant<'a> {
    pub(crate) seen: &'a Seen,
    pub(crate) verdict: &'a Verdict,
    /// The supply target, while heat is wanted.
    pub(crate) target: Option<Temp>,
    /// What a boiler is told while heat is wanted: the target with its trim.
    pub(crate) told: Option<Temp>,
    /// The lowest supply that is ever asked for.
    pub(crate) lowest: Temp,
    pub(crate) supply: Option<Temp>,
    pub(crate) outlets: &'a [Option<Temp>; BOILERS],
    /// Water flows through a zone or the tank.
    pub(crate) outflow: bool,
    /// No zone wants heat, and those that are wanted are kept for the next call.
    pub(crate) lull: bool,
    /// Boilers that are wanted, while water flows or is about to.
    pub(crate) wanted: Mask,
    /// The damper is proved open.
    pub(crate) air: bool,
    pub(crate) pumps: Mask,
    /// Boilers on their way from flow to flame, before any takes its step.
    pub(crate) coming: Mask,
    pub(crate) lead: Option<BoilerId>,
}

/// Boilers by what they do, as sets. One that the plant does not have is off.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Flames {
    /// Their demand is on.
    pub(crate) demand: Mask,
    /// Their demand has been answered: they burn, or are warm enough without. One whose last start failed must burn.
    pub(crate) proved: Mask,
    /// Warm enough by their own target, with the flame out.
    pub(crate) holding: Mask,
    /// Their flame is proved.
    pub(crate) firing: Mask,
    /// Their start failed, once or for good.
    pub(crate) failed: Mask,
    /// They are on their way from flow to flame.
    pub(crate) coming: Mask,
}

impl Flames {
    /// Sorts the boilers.
    #[inline(never)]
    pub(crate) fn sort(&mut self, boilers: &[Boiler; BOILERS]) {
        *self = Self::default();
        for (it, b) in Mask::each(boilers) {
            match b.state {
                BoilerState::Off { .. } => {}
                BoilerState::Flow { .. } | BoilerState::Air { .. } => self.coming = self.coming.or(it),
                BoilerState::Retry { .. } | BoilerState::LockedOut { .. } => self.failed = self.failed.or(it),
                BoilerState::Lighting { .. } => self.demand = self.demand.or(it),
                BoilerState::Holding { .. } => {
                    self.holding = self.holding.or(it);
                    self.proved = self.proved.or(it.only_if(!b.unlit));
                }
                BoilerState::Firing { .. } => self.firing = self.firing.or(it),
            }
        }
        self.proved = self.proved.or(self.firing);
        self.demand = self.demand.or(self.answered());
    }

    /// They burn, or are warm enough without, whether or not they have shown that they light.
    pub(crate) const fn answered(&self) -> Mask {
        self.firing.or(self.holding)
    }
}

/// Boilers that staging may ask: no stop of their own and not at rest after a failed start.
pub(crate) fn able(config: &Config, verdict: &Verdict, flames: &Flames) -> Mask {
    let own = Mask::each(config.boilers.iter().zip(&verdict.own));
    let able = own.filter(|(_, (_, own))| own.is_none()).fold(Mask::NONE, |able, (it, _)| able.or(it));
    able.without(flames.failed)
}

/// The target that a boiler holds by itself or is told. One that only burns on because its shortest run is not over is told
/// the lowest supply there is. The header's trim takes none nearer to its bound than [`OUTLET_BACK`], which is more than a
/// boiler's own control goes past its target: it holds its water by itself before it is cut.
pub(crate) fn held_target(config: &BoilerConfig, target: Option<Temp>, told: Option<Temp>, lowest: Temp) -> Temp {
    match (config.drive, target, told) {
        (BoilerDrive::DemandOnly | BoilerDrive::Rate, _, _) => config.fixed_target,
        (BoilerDrive::Target { .. }, Some(t), Some(told)) => told.min(config.outlet_max.minus(OUTLET_BACK).max(t)),
        (BoilerDrive::Target { .. }, _, _) => lowest,
    }
    .min(config.outlet_max)
}

/// Moves every boiler and states its demand.
#[inline(never)]
pub(crate) fn decide(
    config: &Config,
    state: &mut State,
    plant: &Plant<'_>,
    clock: &mut Clock,
    stated: &mut Row<BOILERS>,
    held: &mut [Temp; BOILERS],
) {
    let control = &mut state.control;
    let low = control.low_load.low() && control.staging.enlisted.is_empty();
    let off = match plant.target {
        None => Reason::NoCall,
        Some(t) if plant.supply.is_some_and(|s| s >= t) => Reason::Satisfied,
        Some(_) if low => Reason::LowLoad,
        Some(_) => Reason::NotNeeded,
    };
    let still = still(config, control, plant.outflow, clock);
    let mut around = Around::of(plant);
    let mut spaced = spaced(control.staging.last_start, config, clock);
    let mut starting = starting(config, plant.coming, plant.outlets);
    let each = config.boilers.iter().zip(&mut control.boilers).zip(held);
    for (i, ((c, boiler), held)) in (0u8..).zip(each) {
        let id = BoilerId(i);
        let staging = &mut control.staging;
        let rests = matches!(boiler.state, BoilerState::Off { .. });
        around.look(c, id, plant, &control.pumps);
        around.asked &= !plant.lull || boiler.state.demand();
        around.behind = spaced && rests && starting;
        around.spaced = spaced && !around.behind;
        around.still = c.pump == BoilerPump::None && still.is_some_and(|t| clock.elapsed(t, c.flow_proof_max));
        *held = around.target;
        let demanded = boiler.state.demand();
        boiler.step(c, &around, clock);
        starting |= rests && matches!(boiler.state, BoilerState::Flow { .. });
        let demands = boiler.state.demand();
        if demanded && !demands && hot::cut_hot(config, id, c, around.outlet, around.stop) {
            control.hot.cut(&config.guard, id, clock);
        }
        if demands && !demanded {
            clock.put(&mut staging.last_start, Some(clock.now()));
            spaced = self::spaced(staging.last_start, config, clock);
            state.meter.started(usize::from(i));
        }
        let on = if plant.lull {
            Reason::Lull
        } else if plant.lead == Some(id) {
            Reason::Lead
        } else if staging.leaving == Some(id) {
            Reason::LeadChange
        } else {
            Reason::StagedUp
        };
        stated.set(i, demands, boiler.why(c, &around, on, off, clock));
    }
}

/// Since when no water has flowed through any zone or the tank while a boiler without a pump has a demand. It stands apart from its
/// caller, which lies on the deepest way down the stack.
#[inline(never)]
fn still(config: &Config, control: &mut Control, outflow: bool, clock: &mut Clock) -> Option<Instant> {
    let mut boilers = config.boilers.iter().zip(&control.boilers);
    let still = !outflow && boilers.any(|(c, b)| c.pump == BoilerPump::None && b.state.demand());
    let since = if control.still_since == Instant::ZERO { clock.now() } else { control.still_since };
    clock.put(&mut control.still_since, if still { since } else { Instant::ZERO });
    still.then_some(since)
}

impl Around {
    /// What all boilers see alike.
    const fn of(plant: &Plant<'_>) -> Self {
        Self {
            asked: false,
            outflow: plant.outflow,
            stop: None,
            flow: false,
            pumped: false,
            pump_waits: false,
            pump_since: Instant::ZERO,
            still: false,
            air: plant.air,
            spaced: false,
            behind: false,
            flame: None,
            outlet: None,
            supply: plant.supply,
            target: plant.lowest,
            acknowledge: plant.seen.acknowledge,
        }
    }

    /// Looks at one boiler and its pump.
    #[inline(always)]
    fn look(&mut self, config: &BoilerConfig, id: BoilerId, plant: &Plant<'_>, pumps: &PumpStates) {
        let (seen, it) = (plant.seen, Mask::of(id.0));
        self.asked = plant.wanted.meets(it);
        self.stop = plant.verdict.common.or(plant.verdict.own.get(id.index()).copied().flatten());
        self.flow = !seen.flow_missing.meets(it);
        self.flame = seen.flame_seen.meets(it).then_some(seen.flame.meets(it));
        self.outlet = plant.outlets.get(id.index()).copied().flatten();
        self.target = held_target(config, plant.target, plant.told, plant.lowest);
        self.pumped = match config.pump {
            BoilerPump::None => true,
            BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) => plant.pumps.has(p.0),
        };
        (self.pump_waits, self.pump_since) = (false, Instant::ZERO);
        // Where it is ours to run.
        let (BoilerPump::Controller(p) | BoilerPump::Either(p)) = config.pump else { return };
        if pumps.on().has(p.0) {
            self.pump_since = pumps.since(p.0);
        } else {
            self.pump_waits = !self.pumped && !seen.off.has(p.0);
        }
    }
}

/// Some boiler of those on their way from flow to flame is not held up by its own hot water.
fn starting(config: &Config, coming: Mask, outlets: &[Option<Temp>; BOILERS]) -> bool {
    coming.iter().map(usize::from).any(|i| {
        let boiler = config.boilers.get(i).zip(outlets.get(i));
        boiler.is_some_and(|(c, outlet)| !too_hot(c, *outlet))
    })
}

fn spaced(last: Option<crate::Instant>, config: &Config, clock: &mut Clock) -> bool {
    last.is_none_or(|t| clock.elapsed(t, config.staging.start_spacing))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{ids::PumpId, pumps::PumpState, tests::plant};

    const fn s(v: u32) -> Instant {
        Instant::from_s(v)
    }

    const FIRING: BoilerState = BoilerState::Firing { began: s(1) };
    const OFF: BoilerState = BoilerState::Off { since: s(1) };

    /// The first boiler has no pump of its own, the second has.
    fn one_without_a_pump() -> Config {
        let mut c = plant();
        c.boilers[0].pump = BoilerPump::None;
        c
    }

    #[test]
    fn water_stands_still_while_a_boiler_without_a_pump_has_a_demand_and_none_flows() {
        let c = one_without_a_pump();
        let mut control = State::new(&c, None).control;
        let mut at = |second, [a, b]: [BoilerState; 2], outflow| {
            (control.boilers[0].state, control.boilers[1].state) = (a, b);
            let since = still(&c, &mut control, outflow, &mut Clock::at(s(second)));
            assert_eq!(control.still_since, since.unwrap_or(Instant::ZERO));
            since
        };
        assert_eq!(at(10, [FIRING, OFF], true), None, "water flows");
        assert_eq!(at(20, [OFF, FIRING], false), None, "the other one's pump moves its water");
        assert_eq!(at(30, [FIRING, OFF], false), Some(s(30)));
        assert_eq!(at(45, [FIRING, FIRING], false), Some(s(30)), "since then");
        assert_eq!(at(50, [FIRING, OFF], true), None);
        assert_eq!(at(60, [FIRING, OFF], false), Some(s(60)), "counts anew");
        assert_eq!(at(70, [OFF, OFF], false), None, "no demand");
    }

    /// What the first boiler sees of its pump, which is pump 2.
    fn sees(pump: BoilerPump, state: PumpState, running: bool, at_off: bool) -> (bool, bool, Instant) {
        let mut c = plant();
        c.boilers[0].pump = pump;
        let mut control = State::new(&c, None).control;
        control.pumps.set(2, state);
        let two = |is: bool| Mask::of(2).only_if(is);
        let seen = Seen { off: two(at_off), ..Seen::default() };
        let plant = Plant {
            seen: &seen,
            verdict: &Verdict::default(),
            target: None,
            told: None,
            lowest: Temp::from_c(30),
            supply: None,
            outlets: &[None; BOILERS],
            outflow: false,
            lull: false,
            wanted: Mask::NONE,
            air: false,
            pumps: two(running),
            coming: Mask::NONE,
            lead: None,
        };
        let mut a = Around::of(&plant);
        a.look(&c.boilers[0], BoilerId(0), &plant, &control.pumps);
        (a.pumped, a.pump_waits, a.pump_since)
    }

    #[test]
    fn a_boiler_waits_for_its_pump_only_where_that_is_ours_to_start() {
        let (ours, its_own) = (BoilerPump::Controller(PumpId(2)), BoilerPump::Boiler(PumpId(2)));
        let (stands, runs) = (PumpState::Off { since: s(4) }, PumpState::On { since: s(7) });
        assert_eq!(sees(ours, stands, false, false), (false, true, Instant::ZERO));
        assert_eq!(sees(ours, stands, false, true), (false, false, Instant::ZERO), "switched off, nothing to wait for");
        assert_eq!(sees(ours, stands, true, false), (true, false, Instant::ZERO), "by its switch at HAND");
        assert_eq!(sees(ours, runs, true, false), (true, false, s(7)));
        assert_eq!(sees(BoilerPump::Either(PumpId(2)), runs, true, false), (true, false, s(7)));
        assert_eq!(sees(its_own, stands, false, false), (false, false, Instant::ZERO));
        assert_eq!(sees(BoilerPump::None, stands, false, false), (true, false, Instant::ZERO));
    }
}
