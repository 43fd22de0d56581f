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
    config::{Circulation, Config, ZoneConfig, ZoneDrive},
    guard::Verdict,
    ids::ZoneId,
    limits::ZONES,
    mask::Mask,
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
    pub(crate) purge: Option<ZoneId>,
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
pub(crate) fn decide(
    config: &Config,
    calls: &mut [Call; ZONES],
    seen: &Seen,
    verdict: &Verdict,
    around: &Circumstances,
    clock: &mut Clock,
    wants: &mut Wants,
) {
    let each = config.zones.iter().zip(calls).zip(&verdict.zones).zip(&mut wants.why);
    for (i, (((zone, call), limit), why)) in (0u8..).zip(each) {
        let waits = Waits { debounce: zone.debounce, call_min: zone.call_min, overrun: zone.overrun };
        call.follow(seen.calls.has(i), waits, clock);
        let (water, heat, reason) = match limit {
            Some(limit) => (false, false, Reason::Safety(*limit)),
            None => want(ZoneId(i), zone, *call, around),
        };
        *why = reason;
        wants.water.add_if(i, water);
        wants.heat.add_if(i, heat);
    }
}

/// Water, heat and why, in order of precedence, for a zone that no limit holds.
fn want(id: ZoneId, zone: &ZoneConfig, call: Call, around: &Circumstances) -> (bool, bool, Reason) {
    if around.frost && !(call.counts() && around.season && !around.few) {
        return (true, false, Reason::Frost);
    }
    if around.purge == Some(id) {
        return (true, false, Reason::HeatPurge);
    }
    if around.exercise.has(id.0) && !call.counts() && !call.runs_on() {
        return (true, false, Reason::Exercise);
    }
    if around.shedding && zone.sheddable && !around.frost {
        return (false, false, Reason::Shed);
    }
    if !around.season {
        // Water that still runs on from the last call of the season is let run out.
        return if call.runs_on() {
            (true, false, Reason::Overrun)
        } else {
            (false, false, if call.counts() { Reason::WarmWeather } else { Reason::NoCall })
        };
    }
    match zone.circulation {
        Circulation::OnCall if call.counts() && around.few => (false, false, Reason::FewCalls),
        Circulation::Constant if call.counts() && around.few => (true, false, Reason::ConstantCirculation),
        _ if call.counts() => (true, true, Reason::Call(id)),
        _ if call.runs_on() => (true, false, Reason::Overrun),
        Circulation::Constant => (true, false, Reason::ConstantCirculation),
        Circulation::OnCall => (false, false, Reason::NoCall),
    }
}

/// Zones whose valve is open as far as their end switch tells.
pub(crate) fn open(config: &Config, wants: &Wants, seen: &Seen) -> Mask {
    let mut open = wants.water;
    for i in seen.end_switches.without(seen.ends_closed).iter() {
        if config.zones.get(usize::from(i)).is_some_and(|z| matches!(z.drive, ZoneDrive::Valve { .. })) {
            open = open.without(Mask::of(i));
        }
    }
    open
}

/// Zones whose pump is one of `pumps`; a zone without a pump counts as `without` says.
#[inline(never)]
pub(crate) fn driven(config: &Config, pumps: Mask, without: bool) -> Mask {
    Mask::places(&config.zones, |zone| match zone.drive {
        ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) } => pumps.has(p.0),
        ZoneDrive::Valve { pump: None } => without,
    })
}
