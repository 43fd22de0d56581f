//! Which zones want water and which of them want heat.
//!
//! A zone wants *heat* while its call counts, the season is on, it is not shed for the tank and no limit of its own holds
//! its pump. It wants *water* while it wants heat, while it runs on after a call that was answered, all season when its
//! circulation is constant, when frost threatens, and when it is chosen to carry purge heat away. A zone *flows* once its pump runs, or,
//! behind a valve without a pump, once the valve is open as far as anybody can see. Source: common practice.
//!
//! A zone's own limit (a floor's surface limit) stops its water for everything, frost included: the limit is hard-wired and
//! the wires would win anyway.
//!
//! Not decided here: when a pump may start or must stop (`pumps`), and how long the tank may shed zones (`tank`).

use crate::{
    call::{Waits, ZoneCalls},
    clock::Clock,
    config::Config,
    guard::{Verdict, zone_limit},
    ids::ZoneId,
    limits::ZONES,
    mask::Mask,
    piping::Piping,
    reason::Reason,
    seen::Seen,
    units::Span,
};

/// What other machines say about the zones.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Circumstances {
    /// The heating season is on.
    pub(crate) season: bool,
    /// The tank has priority now.
    pub(crate) shedding: bool,
    /// Frost: all water moves.
    pub(crate) frost: bool,
    /// Too few call for the plant to run.
    pub(crate) few: bool,
    /// Zones whose valve is opened for their pump's exercise.
    pub(crate) exercise: Mask,
    /// The zone that carries purge heat.
    pub(crate) purge: Mask,
}

/// What the zones want.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wants {
    /// Zones that want heat.
    pub(crate) heat: Mask,
    /// Zones that want water.
    pub(crate) water: Mask,
    /// Why each does or does not.
    pub(crate) why: [Reason; ZONES],
}

impl Default for Wants {
    /// A constant, as that of the pumps.
    #[inline(always)]
    fn default() -> Self {
        const NONE: Wants = Wants { heat: Mask::NONE, water: Mask::NONE, why: [Reason::NoCall; ZONES] };
        NONE
    }
}

/// Follows every zone's call and decides what the zone wants.
#[inline(never)]
#[allow(clippy::too_many_arguments, reason = "parts of one tick, calls and wants borrowed apart")]
pub(crate) fn decide(
    config: &Config,
    piping: &Piping,
    calls: &mut ZoneCalls,
    seen: &Seen,
    verdict: &Verdict,
    around: &Circumstances,
    clock: &mut Clock,
    wants: &mut Wants,
) {
    let all = Mask::first_of(config.zones.len());
    // Only a call that is answered when it ends has water that runs on.
    let shed = piping.sheddable.all().only_if(around.shedding && !around.frost);
    let answered = all.without(verdict.zones_held.or(shed)).only_if(around.season && !around.few).or(calls.runs_on());
    for i in calls.moves(seen.calls).and(all).iter() {
        let Some(zone) = config.zones.get(usize::from(i)) else { continue };
        let overrun = if answered.has(i) { zone.overrun } else { Span::ZERO };
        let waits = Waits { debounce: zone.debounce, call_min: zone.call_min, overrun };
        calls.follow(i, seen.calls.has(i), waits, clock);
    }
    let (calling, running_on) = (calls.counts(), calls.runs_on());
    let zones = Zones { all, calling, running_on, sheddable: piping.sheddable.all(), constant: piping.constant.all() };
    want(config, &zones, seen, verdict.zones_held, around, wants);
}

/// The zones as their calls and their configuration sort them.
#[derive(Clone, Copy, Debug)]
struct Zones {
    all: Mask,
    /// Their call counts.
    calling: Mask,
    /// Their water runs on after a call.
    running_on: Mask,
    sheddable: Mask,
    /// Their circulation is constant.
    constant: Mask,
}

/// Water, heat and why. The rules stand in order of precedence: each takes its zones from those that are left.
fn want(config: &Config, zones: &Zones, seen: &Seen, held: Mask, around: &Circumstances, wants: &mut Wants) {
    let mut left = zones.all.without(held);
    for i in held.iter() {
        if let (Some(why), Some(limit)) = (wants.why.get_mut(usize::from(i)), zone_limit(config, seen, i)) {
            *why = Reason::Safety(limit);
        }
    }
    let (left, why) = (&mut left, &mut wants.why);
    let called = zones.calling.only_if(around.season && !around.few);
    let mut water = Mask::NONE;
    if around.frost {
        water = water.or(rule(left, why, zones.all.without(called), Reason::Frost));
    }
    // A call of its own that is served comes first: it ends the purge.
    water = water.or(rule(left, why, around.purge.without(called), Reason::HeatPurge));
    let exercised = around.exercise.without(zones.calling.or(zones.running_on));
    water = water.or(rule(left, why, exercised, Reason::Exercise));
    if around.shedding && !around.frost {
        rule(left, why, zones.sheddable, Reason::Shed);
    }
    if !around.season {
        // Water that still runs on from the last call of the season is let run out.
        rule(left, why, zones.calling, Reason::WarmWeather);
        wants.water = water.or(rule(left, why, zones.running_on, Reason::Overrun));
        rule(left, why, zones.constant, Reason::WarmWeather);
        return;
    }
    if around.few {
        rule(left, why, zones.calling.without(zones.constant), Reason::FewCalls);
    }
    // Each with its own name.
    let heat = left.and(called);
    *left = left.without(called);
    for i in heat.iter() {
        if let Some(slot) = why.get_mut(usize::from(i)) {
            *slot = Reason::Call(ZoneId(i));
        }
    }
    water = water.or(heat).or(rule(left, why, zones.running_on, Reason::Overrun));
    wants.water = water.or(rule(left, why, zones.constant, Reason::ConstantCirculation));
    wants.heat = heat;
}

/// Takes those of `which` from the zones that are left, and says why they stand as they do.
#[inline(never)]
fn rule(left: &mut Mask, why: &mut [Reason; ZONES], which: Mask, reason: Reason) -> Mask {
    let these = left.and(which);
    *left = left.without(these);
    for i in these.iter() {
        if let Some(slot) = why.get_mut(usize::from(i)) {
            *slot = reason;
        }
    }
    these
}

/// Zones that want water and whose valve is open as far as their end switch tells.
pub(crate) fn open(piping: &Piping, wants: &Wants, seen: &Seen) -> Mask {
    wants.water.without(seen.end_switches.without(seen.ends_closed).and(piping.valves.all()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::plant;

    /// The limit of zone 0 holds it and zone 1 is shed while both calls end: only an answered call has water that runs on.
    #[test]
    fn water_runs_on_only_after_a_call_that_was_answered() {
        let mut config = plant();
        for z in &mut config.zones {
            (z.debounce, z.call_min, z.overrun, z.sheddable) = (Span::ZERO, Span::ZERO, Span::from_s(90), true);
        }
        let ends = |held: u32, shedding, season, few| {
            let mut calls = ZoneCalls::default();
            let verdict = Verdict { zones_held: Mask::from_bits(held), ..Verdict::default() };
            let around = Circumstances { season, few, shedding, ..Circumstances::default() };
            for (t, calling) in [(0, 0b11), (1, 0b11), (2, 0), (3, 0)] {
                let seen = Seen { calls: Mask::from_bits(calling), ..Seen::default() };
                let clock = &mut Clock::at(crate::units::Instant::from_s(t));
                let piping = Piping::of(&config);
                decide(&config, &piping, &mut calls, &seen, &verdict, &around, clock, &mut Wants::default());
            }
            calls.runs_on().bits()
        };
        let runs_on = |held, shedding| ends(held, shedding, true, false);
        assert_eq!([ends(0, false, false, false), ends(0, false, true, true)], [0, 0], "warm weather; too few calls");
        assert_eq!(
            [runs_on(0, false), runs_on(0b01, false), runs_on(0b11, false), runs_on(0, true)],
            [0b11, 0b10, 0, 0]
        );
    }

    /// A valve that is due for its pump's exercise in a zone that calls, or whose water runs on, is open for that.
    #[test]
    fn an_exercise_takes_no_zone_from_its_call() {
        let config = plant();
        let around = Circumstances { season: true, exercise: Mask::from_bits(0b11), ..Circumstances::default() };
        let want = |calling: u32, running_on: u32| {
            let (calling, running_on) = (Mask::from_bits(calling), Mask::from_bits(running_on));
            let all = Mask::first_of(config.zones.len());
            let zones = Zones { all, calling, running_on, sheddable: Mask::NONE, constant: Mask::NONE };
            let mut wants = Wants::default();
            super::want(&config, &zones, &Seen::default(), Mask::NONE, &around, &mut wants);
            (wants.heat.bits(), wants.why[0], wants.why[1])
        };
        assert_eq!(want(0b01, 0), (0b01, Reason::Call(ZoneId(0)), Reason::Exercise));
        assert_eq!(want(0, 0b10), (0, Reason::Exercise, Reason::Overrun));
    }
}
