//! One boiler from "asked for" to "flame proved" and back.
//!
//! ```text
//!     asked, free to start, its turn     flow proved        damper proved, its turn
//!   Off ------------------------> Flow -------------> Air -----------------------------------> Lighting
//!    ^                             |                   |                                        |  ^ |
//!    |<----- not asked ------------+-------------------'                      flame proved      |  | | too long
//!    |                             | too long                     Firing <----------------------'  | |
//!    |<-- not asked, on_min over --|--------------------------- Firing, Holding, Lighting          | |
//!    |<-- stopped by a safety -----|---------------------------   ^ |   flame out though heat is owed|
//!    |                             v                              | '------------------------------'|
//!    |<---- retry_after over --- Retry <--------------------------|---------------------------------'
//!    |<---- acknowledged ------- LockedOut <- the second time     '--> Holding: flame out, nothing owed (from Air too)
//! ```
//!
//! * A start waits for the shortest stop and for the burner's own post-purge, both counted from the end of the last
//!   demand.
//! * Its pump starts when its turn has come and not before: once `start_spacing` is over and no other boiler is on its way
//!   from flow to flame. Water that circulates through a boiler without fire only cools the header.
//! * The outlet of a boiler whose own pump stands tells nothing of the header: a hot one holds up the flame, not the pump.
//! * Ignition trials are the burner control's business. We ask once more after `retry_after`; a second failure latches
//!   until somebody acknowledges. A failure is forgotten by an ordinary end of a flame that was proved, and by nothing
//!   less: a boiler that was warm enough all along has not shown that it lights.
//! * A boiler that holds its own target puts its flame out when it is warm enough. That is no failure: it *owes* a
//!   flame once its water reads more than [`OWED_BELOW`] under the target it holds, and from there on until it reads no
//!   more than [`CONTENT_BELOW`] under it: water that another boiler warms meanwhile excuses nobody. Without a reading
//!   it owes one always. While it holds, it counts as proved for staging and for a change of the lead, flame or none:
//!   what it owes, it gives. A lead that changes over warm water could not wait for more: while the old one keeps the water
//!   warm nothing asks the new one for a flame, nor can we. Not so one whose last start failed:
//!   until its flame is proved, acknowledged or not, it is no heat, and no other is dropped on its account. That it waits keeps none
//!   from being added either, or a dead burner in lukewarm water would. Should a boiler fail when its water has cooled by that much,
//!   the next comes at once.
//! * Flow must be proved within `flow_proof_max` of the start of the pump: while a pump of ours waits for its own
//!   shortest stop or for another's start, nobody could see any. A pump of ours that stands under fire (its switch at
//!   OFF) is flow that was lost, whether or not a contact looks. Where a boiler has no pump and the water of the zones
//!   carries its heat away, its demand ends once none has flowed for `flow_proof_max`; that is charged to no boiler.
//! * A boiler that switches its own pump shows flow only after the demand, so its flow is asked for `flow_proof_max`
//!   later.
//! * A safety, a lost proof, the service switch or water over `outlet_max` ends the demand in the same tick. Everything
//!   else respects `on_min`.
//!
//! Source: common practice; trial for ignition and flame supervision belong to the burner's primary control. Power is never
//! cut, and no limit interrupted, to clear a lockout.

use crate::{
    clock::Clock,
    config::{BoilerConfig, BoilerDrive, BoilerPump},
    ids::BoilerId,
    reason::Reason,
    units::{Instant, Span, Temp, TempDelta},
};

/// A boiler owes a flame while its water is more than this below its target. Our choice: wider than the switching
/// differential of common boiler controls, so that one that is content is not called failed.
pub const OWED_BELOW: TempDelta = TempDelta::from_k(8);

/// And goes on to owe it until its water is no more than this below. Our choice: a burner that had reason to light burns up to
/// its target; half the way back, since its own sensor may read otherwise than ours.
pub const CONTENT_BELOW: TempDelta = TempDelta::from_k(4);

/// After water over `outlet_max` a boiler starts again this far below it. Our choice.
pub const OUTLET_BACK: TempDelta = TempDelta::from_k(5);

/// What a boiler failed to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Failure {
    /// Flow was not proved in time, or was lost.
    Flow,
    /// Flame was not proved in time.
    Flame,
}

/// Where a boiler stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum BoilerState {
    /// No demand.
    Off {
        /// End of the last demand, or power-up.
        since: Instant,
    },
    /// Its pump is asked for and flow is not proved.
    Flow {
        /// Since when.
        since: Instant,
        /// End of the last demand.
        off: Instant,
    },
    /// Flow is proved; it waits for combustion air and its turn.
    Air {
        /// End of the last demand.
        off: Instant,
    },
    /// Demand is on and flame is not proved.
    Lighting {
        /// The flame has been owed since.
        since: Instant,
        /// Demand began.
        began: Instant,
    },
    /// Demand is on and flame is proved.
    Firing {
        /// Demand began.
        began: Instant,
    },
    /// Demand is on; the boiler is warm enough by its own target and keeps its flame out.
    Holding {
        /// Demand began.
        began: Instant,
    },
    /// A start failed; it is asked once more after a while.
    Retry {
        /// Demand ended.
        since: Instant,
        /// What failed.
        why: Failure,
    },
    /// The second start failed too; waits to be acknowledged.
    LockedOut {
        /// Demand ended.
        since: Instant,
        /// What failed.
        why: Failure,
    },
}

impl BoilerState {
    /// True while the demand contact is asked to be closed.
    pub const fn demand(self) -> bool {
        matches!(self, BoilerState::Lighting { .. } | BoilerState::Firing { .. } | BoilerState::Holding { .. })
    }
    /// True once a demand has been answered: flame proved, or warm enough without one.
    pub const fn proved(self) -> bool {
        matches!(self, BoilerState::Firing { .. } | BoilerState::Holding { .. })
    }
    /// True while the flame is proved.
    pub const fn firing(self) -> bool {
        matches!(self, BoilerState::Firing { .. })
    }
    /// What the alarm says of it, while a failure holds the boiler.
    pub(crate) const fn failure(self, id: BoilerId) -> Option<Reason> {
        match self {
            BoilerState::Retry { why: Failure::Flow, .. } => Some(Reason::FlowMissed(id)),
            BoilerState::Retry { why: Failure::Flame, .. } => Some(Reason::FlameMissed(id)),
            BoilerState::LockedOut { why: Failure::Flow, .. } => Some(Reason::FlowFailed),
            BoilerState::LockedOut { why: Failure::Flame, .. } => Some(Reason::FlameFailed),
            BoilerState::Off { .. }
            | BoilerState::Flow { .. }
            | BoilerState::Air { .. }
            | BoilerState::Lighting { .. }
            | BoilerState::Firing { .. }
            | BoilerState::Holding { .. } => None,
        }
    }
    /// End of the last demand, for a boiler without one.
    pub const fn off_since(self) -> Option<Instant> {
        match self {
            BoilerState::Off { since } | BoilerState::Retry { since, .. } | BoilerState::LockedOut { since, .. } => {
                Some(since)
            }
            BoilerState::Flow { off, .. } | BoilerState::Air { off } => Some(off),
            BoilerState::Lighting { .. } | BoilerState::Firing { .. } | BoilerState::Holding { .. } => None,
        }
    }
}

/// A boiler and whether its last start failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Boiler {
    /// Where it stands.
    pub state: BoilerState,
    /// One start has failed; the next failure latches.
    pub tried: bool,
    /// A start has failed, and no flame has been proved since.
    pub unlit: bool,
}

/// What a boiler sees around it in one tick.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Around {
    /// Staging wants it and there is, or will be, flow to carry its heat away.
    pub(crate) asked: bool,
    /// Water flows through some zone or the tank now.
    pub(crate) outflow: bool,
    /// It must stop in this tick: safety, fault, switch.
    pub(crate) stop: Option<Reason>,
    /// Its flow contact says nothing against it.
    pub(crate) flow: bool,
    /// Its pump runs, as far as we know.
    pub(crate) pumped: bool,
    /// Its pump is ours, and only its own shortest stop or another's start keeps it waiting.
    pub(crate) pump_waits: bool,
    /// Its pump is ours and has run since; the beginning of time for any other.
    pub(crate) pump_since: Instant,
    /// It has no pump of its own, and for as long as flow may take to be proved no water has flowed anywhere.
    pub(crate) still: bool,
    /// The damper is proved open.
    pub(crate) air: bool,
    /// It is its turn: no other boiler has started lately nor, before it asks for its pump, is on its way to start.
    pub(crate) spaced: bool,
    /// Only another that is on its way to start keeps it from being so.
    pub(crate) behind: bool,
    /// Flame contact; `None` when nobody looks.
    pub(crate) flame: Option<bool>,
    /// Water leaving the boiler.
    pub(crate) outlet: Option<Temp>,
    /// The supply, which stands in for it.
    pub(crate) supply: Option<Temp>,
    /// The target that it holds.
    pub(crate) target: Temp,
    /// The button was pressed.
    pub(crate) acknowledge: bool,
}

impl Around {
    /// The boiler ought to burn by its own target, `below` which its water may be.
    fn owes_flame(&self, config: &BoilerConfig, below: TempDelta) -> bool {
        let target = match config.drive {
            BoilerDrive::DemandOnly | BoilerDrive::Target { .. } => self.target,
            // By rate it burns up to its own limit.
            BoilerDrive::Rate => config.outlet_max,
        };
        self.outlet.or(self.supply).is_none_or(|t| t < target.minus(below))
    }

    /// What forbids to begin a start, in order of importance.
    fn hold(&self, config: &BoilerConfig, off: Instant, clock: &mut Clock) -> Option<Reason> {
        if let Some(stop) = self.stop {
            Some(stop)
        } else if self.moved(config) && too_hot(config, self.outlet) {
            Some(Reason::OutletHigh)
        } else if !clock.elapsed(off, config.post_purge) {
            Some(Reason::PostPurge)
        } else if !clock.elapsed(off, config.off_min) {
            Some(Reason::MinimumOff)
        } else if !self.outflow {
            Some(Reason::NoZoneFlow)
        } else {
            None
        }
    }

    /// What ends a demand in this tick.
    fn cut(&self, config: &BoilerConfig) -> Option<Reason> {
        if self.stop.is_some() {
            self.stop
        } else if !self.air {
            Some(Reason::DamperProof)
        } else if self.still {
            Some(Reason::NoZoneFlow)
        } else if self.outlet.is_some_and(|t| t > config.outlet_max) {
            Some(Reason::OutletHigh)
        } else {
            None
        }
    }

    /// A pump that is ours to run runs.
    const fn moved(&self, config: &BoilerConfig) -> bool {
        self.pumped || !matches!(config.pump, BoilerPump::Controller(_) | BoilerPump::Either(_))
    }

    /// No contact speaks against flow, and a pump that is ours to run runs.
    const fn flows(&self, config: &BoilerConfig) -> bool {
        self.flow && self.moved(config)
    }

    /// Flow is there, or not to be expected yet because the boiler starts its own pump on demand.
    fn flow_in_demand(&self, config: &BoilerConfig, began: Instant, clock: &mut Clock) -> bool {
        self.flows(config)
            || matches!(config.pump, BoilerPump::Boiler(_)) && !clock.elapsed(began, config.flow_proof_max)
    }
}

/// A boiler whose outlet reads this does not start.
pub(crate) fn too_hot(config: &BoilerConfig, outlet: Option<Temp>) -> bool {
    outlet.is_some_and(|t| t > config.outlet_max.minus(OUTLET_BACK))
}

impl Boiler {
    /// At rest since `since`.
    pub const fn off(since: Instant) -> Self {
        Self { state: BoilerState::Off { since }, tried: false, unlit: false }
    }

    /// Moves the boiler; at most one step that changes its demand.
    #[inline(never)]
    pub(crate) fn step(&mut self, config: &BoilerConfig, around: &Around, clock: &mut Clock) {
        if let Some(next) = self.next(config, around, clock) {
            // It is always another.
            *self = next;
            clock.written(true);
        }
    }

    /// Where the boiler goes; nothing where it stays.
    fn next(self, config: &BoilerConfig, around: &Around, clock: &mut Clock) -> Option<Self> {
        let now = clock.now();
        let to = |state| Some(Self { state, ..self });
        match self.state {
            BoilerState::Off { since } => {
                if around.asked && around.spaced && around.hold(config, since, clock).is_none() {
                    to(BoilerState::Flow { since: now, off: since })
                } else {
                    None
                }
            }
            BoilerState::Flow { off, .. } | BoilerState::Air { off } if !around.asked || around.stop.is_some() => {
                to(BoilerState::Off { since: off })
            }
            BoilerState::Flow { since, off } => {
                let starts_its_own = matches!(config.pump, BoilerPump::Boiler(_));
                if starts_its_own || around.flows(config) {
                    to(BoilerState::Air { off })
                } else if !around.pump_waits && clock.elapsed(since.max(around.pump_since), config.flow_proof_max) {
                    Some(self.failed(Failure::Flow, now))
                } else {
                    None
                }
            }
            BoilerState::Air { off } => {
                let starts_its_own = matches!(config.pump, BoilerPump::Boiler(_));
                if !around.flows(config) && !starts_its_own {
                    to(BoilerState::Flow { since: now, off })
                } else if around.air && around.spaced && around.hold(config, off, clock).is_none() {
                    // Warm enough from the start: it is not asked for a flame yet.
                    if around.flame == Some(false) && !around.owes_flame(config, OWED_BELOW) {
                        to(BoilerState::Holding { began: now })
                    } else {
                        to(BoilerState::Lighting { since: now, began: now })
                    }
                } else {
                    None
                }
            }
            BoilerState::Lighting { began, .. } | BoilerState::Firing { began } | BoilerState::Holding { began } => {
                if around.cut(config).is_some() {
                    to(BoilerState::Off { since: now })
                } else if !around.flow_in_demand(config, began, clock) {
                    Some(self.failed(Failure::Flow, now))
                } else if !around.asked && clock.elapsed(began, config.on_min) {
                    Some(Self {
                        state: BoilerState::Off { since: now },
                        tried: self.tried && !self.state.firing(),
                        ..self
                    })
                } else {
                    self.burn(config, around, began, clock)
                }
            }
            BoilerState::Retry { since, .. } if clock.elapsed(since, config.retry_after) => {
                to(BoilerState::Off { since })
            }
            BoilerState::LockedOut { since, .. } if around.acknowledge => {
                Some(Self { state: BoilerState::Off { since }, tried: false, ..self })
            }
            BoilerState::Retry { .. } | BoilerState::LockedOut { .. } => None,
        }
    }

    /// Follows the flame while the demand is on.
    fn burn(self, config: &BoilerConfig, around: &Around, began: Instant, clock: &mut Clock) -> Option<Self> {
        let now = clock.now();
        let to = |state| Some(Self { state, ..self });
        let lit = Some(Self { state: BoilerState::Firing { began }, unlit: false, ..self });
        let owes = around.owes_flame(config, OWED_BELOW);
        match self.state {
            BoilerState::Lighting { since, .. } => match around.flame {
                Some(true) => lit,
                Some(false) if !around.owes_flame(config, CONTENT_BELOW) => to(BoilerState::Holding { began }),
                Some(false) if clock.elapsed(since, config.flame_proof_max) => Some(self.failed(Failure::Flame, now)),
                // Nobody looks at the flame: the burner control has had its time.
                None if clock.elapsed(since, config.flame_proof_max) => lit,
                Some(false) | None => None,
            },
            BoilerState::Firing { .. } if around.flame == Some(false) && owes => {
                to(BoilerState::Lighting { since: now, began })
            }
            // It put its flame out by itself: an ordinary end of a fire.
            BoilerState::Firing { .. } if around.flame == Some(false) => {
                Some(Self { state: BoilerState::Holding { began }, tried: false, ..self })
            }
            BoilerState::Holding { .. } if around.flame == Some(true) => lit,
            BoilerState::Holding { .. } if owes => to(BoilerState::Lighting { since: now, began }),
            BoilerState::Off { .. }
            | BoilerState::Flow { .. }
            | BoilerState::Air { .. }
            | BoilerState::Firing { .. }
            | BoilerState::Holding { .. }
            | BoilerState::Retry { .. }
            | BoilerState::LockedOut { .. } => None,
        }
    }

    const fn failed(self, why: Failure, now: Instant) -> Self {
        let state = if self.tried {
            BoilerState::LockedOut { since: now, why }
        } else {
            BoilerState::Retry { since: now, why }
        };
        Self { state, tried: true, unlit: true }
    }

    /// Why the demand stands as it does; `on` is what staging has to say for a demand, `off` against one.
    #[inline(never)]
    pub(crate) fn why(
        self,
        config: &BoilerConfig,
        around: &Around,
        on: Reason,
        off: Reason,
        clock: &mut Clock,
    ) -> Reason {
        match self.state {
            BoilerState::LockedOut { why: Failure::Flow, .. } => Reason::FlowFailed,
            BoilerState::LockedOut { why: Failure::Flame, .. } => Reason::FlameFailed,
            BoilerState::Retry { .. } => around.stop.unwrap_or(Reason::Retry),
            // In the tick that ends a demand, what ended it.
            BoilerState::Off { since } if since == clock.now() && around.asked && !around.air => Reason::DamperProof,
            BoilerState::Off { since } if since == clock.now() && around.still => Reason::NoZoneFlow,
            BoilerState::Off { since } => match around.hold(config, since, clock) {
                Some(reason) if around.asked || around.stop.is_some() => reason,
                None if around.asked && !around.spaced && around.behind => Reason::NotItsTurn,
                None if around.asked && !around.spaced => Reason::Stagger,
                Some(_) | None => off,
            },
            BoilerState::Flow { .. } => Reason::FlowProof,
            BoilerState::Air { .. } if !around.air => Reason::DamperProof,
            BoilerState::Air { off, .. } => {
                let waits = if around.spaced { Reason::FlowProof } else { Reason::Stagger };
                around.hold(config, off, clock).unwrap_or(waits)
            }
            BoilerState::Lighting { .. } if !around.asked => Reason::MinimumOn,
            BoilerState::Lighting { .. } => Reason::FlameProof,
            BoilerState::Holding { .. } if around.asked && self.unlit => Reason::FlameProof,
            BoilerState::Firing { .. } | BoilerState::Holding { .. } if !around.asked => Reason::MinimumOn,
            BoilerState::Firing { .. } | BoilerState::Holding { .. } => on,
        }
    }

    /// True while its pump is wanted on its account: before, during and after its demand.
    pub(crate) fn wants_pump(self, overrun: Span, clock: &mut Clock) -> Option<bool> {
        match self.state {
            BoilerState::Flow { .. }
            | BoilerState::Air { .. }
            | BoilerState::Lighting { .. }
            | BoilerState::Firing { .. }
            | BoilerState::Holding { .. } => Some(true),
            BoilerState::Off { since } | BoilerState::Retry { since, .. } | BoilerState::LockedOut { since, .. } => {
                (!clock.elapsed(since, overrun)).then_some(false)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        config::Firing,
        ids::{PumpId, SafetyId},
    };

    const fn s(v: u32) -> Instant {
        Instant::from_s(v)
    }

    const CONFIG: BoilerConfig = BoilerConfig {
        firing: Firing::OnOff,
        drive: BoilerDrive::DemandOnly,
        pump: BoilerPump::Controller(PumpId(0)),
        input_w: 1,
        on_min: Span::from_s(100),
        off_min: Span::from_s(200),
        flow_proof_max: Span::from_s(20),
        flame_proof_max: Span::from_s(60),
        post_purge: Span::from_s(30),
        pump_overrun: Span::from_s(240),
        retry_after: Span::from_s(300),
        outlet_max: Temp::from_c(95),
        fixed_target: Temp::from_c(80),
    };

    /// Asked for, everything in order, flame not there yet.
    const FINE: Around = Around {
        asked: true,
        outflow: true,
        stop: None,
        flow: true,
        pumped: true,
        pump_waits: false,
        pump_since: s(0),
        still: false,
        air: true,
        spaced: true,
        behind: false,
        flame: Some(false),
        supply: Some(Temp::from_c(40)),
        outlet: Some(Temp::from_c(40)),
        target: Temp::from_c(80),
        acknowledge: false,
    };

    const OFF: BoilerState = BoilerState::Off { since: s(0) };
    const FLOW: BoilerState = BoilerState::Flow { since: s(1000), off: s(0) };
    const AIR: BoilerState = BoilerState::Air { off: s(0) };
    const LIGHTING: BoilerState = BoilerState::Lighting { since: s(1000), began: s(1000) };
    const FIRING: BoilerState = BoilerState::Firing { began: s(1000) };
    const HOLDING: BoilerState = BoilerState::Holding { began: s(1000) };
    const RETRY: BoilerState = BoilerState::Retry { since: s(1000), why: Failure::Flame };
    const LOCKED: BoilerState = BoilerState::LockedOut { since: s(1000), why: Failure::Flame };
    const LIT: Around = Around { flame: Some(true), ..FINE };
    const UNASKED: Around = Around { asked: false, ..LIT };
    const STOPPED: Around = Around { stop: Some(Reason::Safety(SafetyId(0))), ..LIT };
    const HOT: Around = Around { outlet: Some(Temp::from_c(96)), ..LIT };
    const WARM: Around = Around { outlet: Some(Temp::from_c(75)), ..FINE };
    const STILL: Around = Around { flow: false, pumped: false, ..FINE };
    const UNPUMPED: Around = Around { pumped: false, ..FINE };

    fn at(state: BoilerState) -> Boiler {
        Boiler { state, tried: false, unlit: false }
    }

    /// One start has failed, and none has lit since.
    fn tried(state: BoilerState) -> Boiler {
        Boiler { state, tried: true, unlit: true }
    }

    #[test]
    fn a_boiler_whose_flow_is_proved_says_whether_it_waits_for_the_one_before() {
        let why =
            |around: Around| at(AIR).why(&CONFIG, &around, Reason::Lead, Reason::NotNeeded, &mut Clock::at(s(2000)));
        assert_eq!(why(Around { spaced: false, ..FINE }), Reason::Stagger);
        assert_eq!(why(FINE), Reason::FlowProof);
        assert_eq!(why(Around { air: false, ..FINE }), Reason::DamperProof);
    }

    #[test]
    fn a_boiler_that_waits_for_its_turn_says_for_what() {
        let why = |state, around: Around| {
            at(state).why(&CONFIG, &around, Reason::Lead, Reason::NotNeeded, &mut Clock::at(s(2000)))
        };
        assert_eq!(why(OFF, Around { spaced: false, behind: true, ..FINE }), Reason::NotItsTurn);
        assert_eq!(why(OFF, Around { spaced: false, ..FINE }), Reason::Stagger);
        assert_eq!(why(OFF, Around { asked: false, behind: true, ..FINE }), Reason::NotNeeded);
        assert_eq!([why(LIGHTING, UNASKED), why(LIGHTING, FINE)], [Reason::MinimumOn, Reason::FlameProof]);
        assert_eq!([why(FIRING, UNASKED), why(FIRING, LIT)], [Reason::MinimumOn, Reason::Lead]);
    }

    #[test]
    fn each_state_goes_where_the_diagram_says() {
        let began = s(1000);
        let failed = |why, at| BoilerState::Retry { since: s(at), why };
        let rows: &[(&str, BoilerState, Around, u32, BoilerState)] = &[
            ("asked", OFF, FINE, 1000, BoilerState::Flow { since: s(1000), off: s(0) }),
            ("not asked", OFF, UNASKED, 1000, OFF),
            ("shortest stop", BoilerState::Off { since: s(900) }, FINE, 1000, BoilerState::Off { since: s(900) }),
            ("stopped", OFF, STOPPED, 1000, OFF),
            ("nowhere for the heat to go", OFF, Around { outflow: false, ..FINE }, 1000, OFF),
            ("hot water", OFF, Around { outlet: Some(Temp::from_c(91)), ..FINE }, 1000, OFF),
            ("flow", FLOW, FINE, 1001, AIR),
            ("no flow yet", FLOW, STILL, 1019, FLOW),
            ("no flow", FLOW, STILL, 1020, failed(Failure::Flow, 1020)),
            ("its pump waits", FLOW, Around { pump_waits: true, ..STILL }, 9000, FLOW),
            ("its pump has just begun", FLOW, Around { flow: false, pump_since: s(1500), ..FINE }, 1519, FLOW),
            (
                "and no flow",
                FLOW,
                Around { flow: false, pump_since: s(1500), ..FINE },
                1520,
                failed(Failure::Flow, 1520),
            ),
            ("let go before flow", FLOW, UNASKED, 1001, OFF),
            ("air", AIR, FINE, 1001, BoilerState::Lighting { since: s(1001), began: s(1001) }),
            ("no air", AIR, Around { air: false, ..FINE }, 1001, AIR),
            ("another starts", AIR, Around { spaced: false, ..FINE }, 1001, AIR),
            ("flow lost before demand", AIR, STILL, 1001, BoilerState::Flow { since: s(1001), off: s(0) }),
            ("stopped before demand", AIR, STOPPED, 1001, OFF),
            ("flame", LIGHTING, LIT, 1030, FIRING),
            ("no flame yet", LIGHTING, FINE, 1059, LIGHTING),
            ("no flame", LIGHTING, FINE, 1060, failed(Failure::Flame, 1060)),
            ("warm enough from the start", AIR, WARM, 1001, BoilerState::Holding { began: s(1001) }),
            ("warm, and nobody looks", AIR, Around { flame: None, ..WARM }, 1000, LIGHTING),
            ("warmed by another", LIGHTING, WARM, 1030, LIGHTING),
            ("and still no flame", LIGHTING, WARM, 1060, failed(Failure::Flame, 1060)),
            ("warm enough", LIGHTING, Around { outlet: Some(Temp::from_c(76)), ..FINE }, 1030, HOLDING),
            ("no eyes yet", LIGHTING, Around { flame: None, ..FINE }, 1059, LIGHTING),
            ("no eyes", LIGHTING, Around { flame: None, ..FINE }, 1060, FIRING),
            ("as hot as it may get", FIRING, Around { outlet: Some(Temp::from_c(95)), ..LIT }, 1001, FIRING),
            (
                "as cool as it starts again",
                OFF,
                Around { outlet: Some(Temp::from_c(90)), ..FINE },
                1000,
                BoilerState::Flow { since: s(1000), off: s(0) },
            ),
            ("as cool as is still content", FIRING, Around { outlet: Some(Temp::from_c(72)), ..FINE }, 1200, HOLDING),
            ("let go too early", FIRING, UNASKED, 1099, FIRING),
            ("let go", FIRING, UNASKED, 1100, BoilerState::Off { since: s(1100) }),
            ("safety", FIRING, STOPPED, 1001, BoilerState::Off { since: s(1001) }),
            ("too hot", FIRING, HOT, 1001, BoilerState::Off { since: s(1001) }),
            ("air lost", FIRING, Around { air: false, ..LIT }, 1001, BoilerState::Off { since: s(1001) }),
            ("pump taken away before demand", AIR, UNPUMPED, 1001, BoilerState::Flow { since: s(1001), off: s(0) }),
            ("pump taken away", FIRING, Around { pumped: false, ..LIT }, 1001, failed(Failure::Flow, 1001)),
            ("no water anywhere", FIRING, Around { still: true, ..LIT }, 1001, BoilerState::Off { since: s(1001) }),
            ("flow lost", FIRING, Around { flow: false, ..LIT }, 1001, failed(Failure::Flow, 1001)),
            ("flame lost", FIRING, FINE, 1200, BoilerState::Lighting { since: s(1200), began }),
            ("content", FIRING, WARM, 1200, HOLDING),
            ("cools", HOLDING, FINE, 1300, BoilerState::Lighting { since: s(1300), began }),
            ("relights", HOLDING, LIT, 1300, FIRING),
            ("rests", RETRY, FINE, 1299, RETRY),
            ("again", RETRY, FINE, 1300, BoilerState::Off { since: s(1000) }),
            ("waits", LOCKED, FINE, 99_999, LOCKED),
            ("button", LOCKED, Around { acknowledge: true, ..FINE }, 2000, BoilerState::Off { since: s(1000) }),
        ];
        for (what, from, around, at_s, to) in rows {
            let mut b = Boiler { tried: matches!(from, BoilerState::LockedOut { .. }), ..at(*from) };
            b.step(&CONFIG, around, &mut Clock::at(s(*at_s)));
            assert_eq!(b.state, *to, "{what}");
        }
    }

    #[test]
    fn what_ended_a_demand_is_said_in_the_tick_that_ended_it() {
        let off = |around: Around, at_s: u32, now_s: u32| {
            let b = Boiler::off(s(at_s));
            b.why(&CONFIG, &around, Reason::Lead, Reason::NotNeeded, &mut Clock::at(s(now_s)))
        };
        let (dark, still) = (Around { air: false, ..FINE }, Around { still: true, ..FINE });
        assert_eq!(off(dark, 1000, 1000), Reason::DamperProof);
        assert_eq!(off(still, 1000, 1000), Reason::NoZoneFlow);
        // Later, what keeps it from starting again; with nothing in the way, what staging says.
        assert_eq!(off(dark, 1000, 1001), Reason::PostPurge);
        assert_eq!(off(still, 1000, 1030), Reason::MinimumOff);
        assert_eq!(off(FINE, 1000, 1200), Reason::NotNeeded);
        assert_eq!(off(Around { asked: false, ..dark }, 1000, 1000), Reason::NotNeeded);
    }

    #[test]
    fn a_second_failure_latches_and_a_flame_that_ends_in_order_forgets_the_first() {
        let mut b = tried(LIGHTING);
        b.step(&CONFIG, &FINE, &mut Clock::at(s(1060)));
        assert_eq!(b.state, BoilerState::LockedOut { since: s(1060), why: Failure::Flame });
        let mut b = tried(FIRING);
        b.step(&CONFIG, &UNASKED, &mut Clock::at(s(1100)));
        assert!(!b.tried);
        let mut b = tried(FIRING);
        b.step(&CONFIG, &STOPPED, &mut Clock::at(s(1100)));
        assert!(b.tried, "a safety is no proof that it lights");
    }

    #[test]
    fn warm_water_is_no_proof_that_a_boiler_lights() {
        // One start has failed; then the water is warm enough all along and the boiler is let go without a flame.
        let mut b = tried(AIR);
        b.step(&CONFIG, &WARM, &mut Clock::at(s(1000)));
        assert_eq!(b, tried(HOLDING));
        b.step(&CONFIG, &Around { asked: false, ..WARM }, &mut Clock::at(s(1100)));
        assert_eq!(b, tried(BoilerState::Off { since: s(1100) }));
        // With a flame in between that it put out by itself, the failure is forgotten.
        let mut b = tried(HOLDING);
        b.step(&CONFIG, &LIT, &mut Clock::at(s(1001)));
        assert_eq!(b, Boiler { unlit: false, ..tried(FIRING) });
        b.step(&CONFIG, &WARM, &mut Clock::at(s(1002)));
        assert_eq!(b, at(HOLDING));
        // Acknowledged it may fail twice again, and has still not lit.
        let mut b = tried(LOCKED);
        b.step(&CONFIG, &Around { acknowledge: true, ..FINE }, &mut Clock::at(s(1100)));
        assert_eq!(b, Boiler { tried: false, ..tried(BoilerState::Off { since: s(1000) }) });
    }

    #[test]
    fn a_boiler_that_failed_is_not_called_lead_or_added_before_it_has_lit() {
        let says = |b: Boiler, around: &Around| {
            b.why(&CONFIG, around, Reason::Lead, Reason::NotNeeded, &mut Clock::at(s(1200)))
        };
        assert_eq!([says(tried(HOLDING), &WARM), says(at(HOLDING), &WARM)], [Reason::FlameProof, Reason::Lead]);
        assert_eq!(says(Boiler { unlit: false, ..tried(FIRING) }, &LIT), Reason::Lead);
        assert_eq!(says(tried(HOLDING), &Around { asked: false, ..WARM }), Reason::MinimumOn);
    }

    #[test]
    fn a_boiler_that_starts_its_own_pump_shows_flow_after_the_demand() {
        let own = BoilerConfig { pump: BoilerPump::Boiler(PumpId(0)), ..CONFIG };
        let mut b = at(FLOW);
        b.step(&own, &STILL, &mut Clock::at(s(1000)));
        b.step(&own, &STILL, &mut Clock::at(s(1000)));
        assert_eq!(b.state, LIGHTING);
        b.step(&own, &STILL, &mut Clock::at(s(1019)));
        assert_eq!(b.state, LIGHTING);
        b.step(&own, &STILL, &mut Clock::at(s(1020)));
        assert_eq!(b.state, BoilerState::Retry { since: s(1020), why: Failure::Flow });
    }
}
