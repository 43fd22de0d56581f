//! Which zones want water and which of them want heat.
//!
//! A zone wants *heat* while its call counts, the season is on, it is not shed for the tank and no limit of its own holds
//! its pump. It wants *water* while it wants heat, while it runs on after a call, all season when its circulation is
//! constant, when frost threatens, and when it is chosen to carry purge heat away. A zone *flows* once its pump runs, or,
//! behind a valve without a pump, once the valve is open as far as anybody can see. Source: common practice.
//!
//! A zone's own limit (a floor's surface limit) stops its water for everything, frost included: the limit is hard-wired and
//! the wires would win anyway.
//!
//! Not decided here: when a pump may start or must stop (`pumps`), and how long the tank may shed zones (`tank`).

use crate::{
    call::{Call, Waits},
    clock::Clock,
    config::Config,
    guard::{Verdict, zone_limit},
    ids::ZoneId,
    limits::ZONES,
    mask::Mask,
    piping::Piping,
    reason::Reason,
    seen::Seen,
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
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Wants {
    /// Zones that want heat.
    pub(crate) heat: Mask,
    /// Zones that want water.
    pub(crate) water: Mask,
    /// Why each does or does not.
    pub(crate) why: [Reason; ZONES],
}

/// Follows every zone's call and decides what the zone wants.
#[inline(never)]
#[allow(clippy::too_many_arguments)]
pub(crate) fn decide(
    config: &Config,
    piping: &Piping,
    calls: &mut [Call; ZONES],
    seen: &Seen,
    verdict: &Verdict,
    around: &Circumstances,
    clock: &mut Clock,
    wants: &mut Wants,
) {
    let mut zones = Zones::of(config, piping, calls);
    for i in zones.all.without(zones.at_rest(seen.calls)).iter() {
        let place = usize::from(i);
        let (Some(zone), Some(call)) = (config.zones.get(place), calls.get_mut(place)) else { continue };
        let waits = Waits { debounce: zone.debounce, call_min: zone.call_min, overrun: zone.overrun };
        call.follow(seen.calls.has(i), waits, clock);
        let it = Mask::of(i);
        zones.calling = zones.calling.without(it).or(it.only_if(call.counts()));
        zones.running_on.add_if(i, call.runs_on());
    }
    want(config, &zones, seen, verdict.zones_held, around, wants);
}

/// The zones as their calls and their configuration sort them.
#[derive(Clone, Copy, Debug)]
struct Zones {
    all: Mask,
    /// They have no call, and their contact said none.
    idle: Mask,
    /// Their call counts.
    calling: Mask,
    /// Their water runs on after a call.
    running_on: Mask,
    sheddable: Mask,
    /// Their circulation is constant.
    constant: Mask,
}

impl Zones {
    /// Sorts the calls that rest; the others are followed first.
    fn of(config: &Config, piping: &Piping, calls: &[Call; ZONES]) -> Self {
        let (mut idle, mut calling) = (Mask::NONE, Mask::NONE);
        for (it, call) in Mask::each(calls) {
            match call {
                Call::Idle => idle = idle.or(it),
                Call::Calling { .. } => calling = calling.or(it),
                Call::Rising { .. } | Call::Falling { .. } | Call::Overrun { .. } | Call::Resuming { .. } => {}
            }
        }
        let (sheddable, constant) = (piping.sheddable, piping.constant);
        let all = Mask::first_of(config.zones.len());
        Self { all, idle, calling, running_on: Mask::NONE, sheddable, constant }
    }

    /// Zones whose call nothing follows from while these contacts are closed: no call and none counts, or one that counts already.
    const fn at_rest(&self, contacts: Mask) -> Mask {
        self.idle.without(contacts).or(self.calling.and(contacts))
    }
}

/// Water, heat and why. The rules stand in order of precedence: each takes its zones from those that are left.
fn want(config: &Config, zones: &Zones, seen: &Seen, held: Mask, around: &Circumstances, wants: &mut Wants) {
    let mut left = zones.all.without(held);
    wants.why = [Reason::NoCall; ZONES];
    for i in held.iter() {
        if let (Some(why), Some(limit)) = (wants.why.get_mut(usize::from(i)), zone_limit(config, seen, i)) {
            *why = Reason::Safety(limit);
        }
    }
    let mut rule = |which: Mask, reason: Reason| rule(&mut left, &mut wants.why, which, reason);
    let called = zones.calling.only_if(around.season && !around.few);
    let mut water = Mask::NONE;
    if around.frost {
        water = water.or(rule(zones.all.without(called), Reason::Frost));
    }
    // A call of its own that is served comes first: it ends the purge.
    water = water.or(rule(around.purge.without(called), Reason::HeatPurge));
    water = water.or(rule(around.exercise.without(zones.calling.or(zones.running_on)), Reason::Exercise));
    if around.shedding && !around.frost {
        rule(zones.sheddable, Reason::Shed);
    }
    if !around.season {
        // Water that still runs on from the last call of the season is let run out.
        rule(zones.calling, Reason::WarmWeather);
        wants.water = water.or(rule(zones.running_on, Reason::Overrun));
        return;
    }
    if around.few {
        rule(zones.calling.without(zones.constant), Reason::FewCalls);
    }
    wants.heat = rule(called, Reason::NoCall);
    water = water.or(wants.heat);
    water = water.or(rule(zones.running_on, Reason::Overrun));
    wants.water = water.or(rule(zones.constant, Reason::ConstantCirculation));
    for i in wants.heat.iter() {
        if let Some(slot) = wants.why.get_mut(usize::from(i)) {
            *slot = Reason::Call(ZoneId(i));
        }
    }
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
    wants.water.without(seen.end_switches.without(seen.ends_closed).and(piping.valves))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        tests::plant,
        units::{Instant, Span},
    };

    #[test]
    fn a_call_that_rests_is_one_that_following_its_contact_leaves_alone() {
        let at = Instant::from_s;
        let waits = Waits { debounce: Span::from_s(5), call_min: Span::from_s(60), overrun: Span::from_s(30) };
        let config = plant();
        let (idle, calling) = (Call::Idle, Call::Calling { since: at(5) });
        for (call, contact, rests) in
            [(idle, false, true), (idle, true, false), (calling, true, true), (calling, false, false)]
        {
            let mut calls = [Call::Rising { since: at(5) }; ZONES];
            calls[0] = call;
            let zones = Zones::of(&config, &Piping::of(&config), &calls);
            let contacts = Mask::from_bits(u32::MAX).without(Mask::of(0).only_if(!contact));
            assert_eq!(zones.at_rest(contacts), Mask::of(0).only_if(rests), "one that is rising is followed");
            let mut after = call;
            after.follow(contact, waits, &mut Clock::at(at(500)));
            assert_eq!(after == call, rests, "{call:?}");
        }
    }

    /// A valve that is due for its pump's exercise in a zone that calls, or whose water runs on, is open for that.
    #[test]
    fn an_exercise_takes_no_zone_from_its_call() {
        let config = plant();
        let around = Circumstances { season: true, exercise: Mask::from_bits(0b11), ..Circumstances::default() };
        let want = |calling: u32, running_on: u32| {
            let mut zones = Zones::of(&config, &Piping::of(&config), &[Call::Idle; ZONES]);
            (zones.calling, zones.running_on) = (Mask::from_bits(calling), Mask::from_bits(running_on));
            let mut wants = Wants::default();
            super::want(&config, &zones, &Seen::default(), Mask::NONE, &around, &mut wants);
            (wants.heat.bits(), wants.why[0], wants.why[1])
        };
        assert_eq!(want(0b01, 0), (0b01, Reason::Call(ZoneId(0)), Reason::Exercise));
        assert_eq!(want(0, 0b10), (0, Reason::Exercise, Reason::Overrun));
    }
}
