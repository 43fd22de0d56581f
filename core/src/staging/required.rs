//! Stages by the heat that is required, against what the boilers can give.
//!
//! `Q = sum of flow_w_per_k of all that flows * (target - return)`, in watts, with `flow_w_per_k` the heat that a zone's or
//! the tank's design flow carries for each kelvin. On a grid of 30 s it enters a rolling average of ten samples (5 min),
//! preset to the first. With `min` the highest minimum fire of a set of boilers times their inputs, and `full` their inputs:
//!
//! * **up** while `Q > up_percent * min(next stage)` (or `* full(this stage)`) has held for `up_for`;
//! * **up** too, failsafe, while the supply has been more than `failsafe_below` short for `failsafe_for`;
//! * **down** while `Q < down_minimum_percent * min(this stage)` and `Q < down_design_percent * full(next lower stage)` have
//!   each held for their time and the supply is not that short;
//! * neither before the stage has been at work for `stage_min`, all flames proved; every time counts anew after a change.
//!
//! A boiler that cannot run brings the next at once, whatever the times say (`staging`).
//!
//! With `StageBy::Error` the same average drops a boiler where no common rate speaks: boilers that hold their target by
//! themselves leave no excess to add up, so that four would burn at their least where two suffice. One is dropped once the
//! rest could have carried `Q` ([`LoadRules::REST`]) for 30 min, with all flames proved and the supply inside its band all
//! that time. Whatever was left out of that judgement (a header that dilutes more with a boiler less, a lower output) shows
//! afterwards: when the shortfall then asks for a boiler again although the rest gave no more heat than was asked for when one
//! was dropped, that load is *refused*: none is dropped again for it, or more than 7/8 of it, until another has been dropped at
//! a lower one or no heat is wanted.
//!
//! Source: ASHRAE Guideline 36-2021, 5.21.3.5 (required heat, rolling average), 5.21.3.7 (least output of a stage), 5.21.3.9
//! (conditions); which of the numbers are from memory stands with `LoadRules`. Ours: the design flows stand in for a flow
//! meter, since circulators here run at one speed; capacities are inputs, a tenth above what condensing boilers give; a
//! bypass valve is not looked at, there is none; 30 min and what is refused. Edges: while the supply or the return cannot
//! be trusted or no flow is known, nothing counts here and `staging` falls back to the supply error over time.

use crate::{
    config::{Config, LoadRules, UpAgainst},
    ids::BoilerId,
    law::{CATCH_UP, next, steps},
    mask::Mask,
    staging::load::{inputs_of, lowest},
    units::{Instant, Span, Temp, TempDelta},
};

/// Grid of the average.
pub const GRID: Span = Span::from_s(30);

/// Samples in the average: five minutes.
pub const SAMPLES: usize = 10;
const SAMPLES_W: u32 = 10;
const _: () = assert!(SAMPLES == SAMPLES_W as usize);
/// Samples that are still there after [`CATCH_UP`] steps.
const SAMPLES_KEPT: usize = SAMPLES - CATCH_UP as usize;

/// What the law follows until the next tick.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Basis {
    /// Heat that all that flows carries for each kelvin, in watts; zero while it is not known or no boiler is wanted.
    pub flow_w_per_k: u32,
    /// The return; nothing while it cannot be read.
    pub return_: Option<Temp>,
    /// Another boiler is wanted above this, in watts; nothing while there is no next.
    pub up_w: Option<u32>,
    /// One less is wanted below this: of the least that the boilers give; nothing where that is not asked.
    pub down_minimum_w: Option<u32>,
    /// And below this: of the most that the rest gives; zero while there is none less.
    pub down_design_w: u32,
    /// The supply is too far below its target.
    pub short: bool,
    /// Every boiler that is wanted has answered: the stage is at work.
    pub proved: bool,
}

/// The rolling average, and for how many grid steps each condition has held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Required {
    /// A tenth of each of the last samples in watts, newest first, so that their sum is the average; nothing before the first.
    pub tenths_w: Option<[u32; SAMPLES]>,
    /// How long each condition has held.
    pub held: Held,
    /// The load that `tried_w` tells was not carried by the rest.
    pub refused: bool,
    /// The load in watts for which a boiler was last dropped; zero where none was.
    pub tried_w: u32,
}

/// For how many grid steps each condition has held, up to what counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Held {
    /// The load is above what asks for another boiler.
    pub up: u16,
    /// The load is below what the boilers give at least.
    pub down_minimum: u16,
    /// The rest could carry the load.
    pub down_design: u16,
    /// The supply is too far below its target.
    pub failsafe: u16,
    /// The stage is at work.
    pub stage: u16,
}

/// What has brought another stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Moved {
    /// No boiler is wanted any more.
    NoneLeft,
    /// One was dropped because the rest could carry the load.
    Rested,
    /// One was added because the supply was short.
    Short,
    /// Anything else.
    Otherwise,
}

/// What the law says about stages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Advice {
    pub(crate) up: bool,
    pub(crate) down: bool,
}

/// What these boilers give at least: the highest of their smallest rates times the sum of their inputs.
fn least_w(config: &Config, which: Mask) -> u32 {
    (inputs_of(config, which) / 1000).saturating_mul(u32::from(lowest(config, which).get()))
}

fn percent(of_w: u32, percent: u16) -> u32 {
    (of_w / 100).saturating_mul(u32::from(percent))
}

/// Heat that this flow gives while its water is warmed from `return_` to `target`, in watts.
pub(crate) fn heat_w(flow_w_per_k: u32, target: Temp, return_: Temp) -> u32 {
    let rise = u32::try_from(target.above(return_).centi_k()).unwrap_or(0);
    (flow_w_per_k / 10).saturating_mul(rise) / 10
}

impl Basis {
    /// Heat that is required while the supply is to have this target, in watts; nothing while it is not known.
    pub fn now_w(&self, target: Option<Temp>) -> Option<u32> {
        if self.flow_w_per_k == 0 {
            return None;
        }
        Some(heat_w(self.flow_w_per_k, target?, self.return_?))
    }

    /// What of this the next tick's advice turns on at once, without waiting for the grid.
    pub(crate) fn at_once(&self, target: Option<Temp>) -> [bool; 4] {
        [self.now_w(target).is_some(), self.up_w.is_some(), self.down_design_w > 0, self.short]
    }

    /// Nothing is set against the load.
    const fn idle(&self) -> bool {
        self.up_w.is_none() && self.down_design_w == 0
    }

    /// The conditions for the boilers that are wanted: those of `stage`, with `next` the one that would come and `leaver`
    /// the one that would go.
    pub(crate) fn of(
        config: &Config,
        rules: &LoadRules,
        stage: Mask,
        next: Option<BoilerId>,
        leaver: Option<BoilerId>,
    ) -> Self {
        let up = next.map(|n| match rules.up_against {
            UpAgainst::Design => inputs_of(config, stage),
            UpAgainst::NextMinimum => least_w(config, stage.or(Mask::of(n.0))),
        });
        let rest = match leaver {
            _ if stage.count() <= 1 => 0,
            Some(b) => inputs_of(config, stage.without(Mask::of(b.0))),
            None => inputs_of(config, stage),
        };
        let asked = rules.down_minimum_percent > 0;
        Self {
            flow_w_per_k: 0,
            return_: None,
            up_w: up.map(|w| percent(w, rules.up_percent)),
            down_minimum_w: asked.then(|| percent(least_w(config, stage), rules.down_minimum_percent)),
            down_design_w: percent(rest, rules.down_design_percent),
            short: false,
            proved: false,
        }
    }
}

/// Steps at which a condition must be found so that it has held for all of a time: it may have begun just before the first.
const fn count(s: Span) -> u16 {
    let n = s.tenths().div_ceil(GRID.tenths()).saturating_add(1);
    if n > u16::MAX as u32 { u16::MAX } else { n as u16 }
}

/// What the load is held against, and the counts at which each condition has held for long enough. A load stays below the highest
/// number there is, being ten tenths of 32 bits.
struct Against {
    up_w: u32,
    minimum_w: u32,
    rest_w: u32,
    up: u16,
    minimum: u16,
    rest: u16,
}

impl Against {
    /// What holds of a load: above what asks for another boiler, below what the boilers give at least, below what the rest gives.
    #[inline(always)]
    const fn holds(&self, load_w: u32) -> [bool; 3] {
        [load_w > self.up_w, load_w < self.minimum_w, load_w < self.rest_w]
    }
}

impl Held {
    /// `n` steps on, on a load of `load_w`.
    #[inline(always)]
    fn on_load(self, load_w: u32, against: &Against, n: u32) -> Self {
        let [up, minimum, rest] = against.holds(load_w);
        Self {
            up: on(self.up, up, against.up, n),
            down_minimum: on(self.down_minimum, minimum, against.minimum, n),
            down_design: on(self.down_design, rest, against.rest, n),
            ..self
        }
    }

    /// `n` steps on, for the conditions beside the load.
    fn beside(self, basis: &Basis, rules: &LoadRules, n: u32) -> Self {
        Self {
            failsafe: on(self.failsafe, basis.short, count(rules.failsafe_for), n),
            stage: on(self.stage, basis.proved, count(rules.stage_min), n),
            ..self
        }
    }
}

impl Held {
    /// `n` steps on, on a load that stands: `newest` is a tenth of it.
    #[inline(never)]
    fn all_on(self, newest: u32, against: &Against, basis: &Basis, rules: &LoadRules, n: u32) -> Self {
        self.on_load(newest.wrapping_mul(SAMPLES_W), against, n).beside(basis, rules, n)
    }

    /// True when another step on a load that stands changes a count.
    fn moves_on(self, newest: u32, against: &Against, basis: &Basis, rules: &LoadRules) -> bool {
        self.all_on(newest, against, basis, rules, 1) != self
    }
}

/// The count of a condition `n` steps on, at most what counts; zero once it does not hold.
const fn on(count: u16, holds: bool, most: u16, n: u32) -> u16 {
    let more = count.saturating_add(n as u16);
    match holds {
        true if more < most => more,
        true => most,
        false => 0,
    }
}

/// The load as it enters the average; nothing while it is not known or nothing is set against it.
fn sample(basis: &Basis, target: Option<Temp>) -> Option<u32> {
    basis.now_w(target).filter(|_| !basis.idle()).map(|w| w / SAMPLES_W)
}

/// The sum of all: a tenth each of 32 bits, so that it fits.
fn sum(tenths: &[u32; SAMPLES]) -> u32 {
    tenths.iter().fold(0u32, |sum, t| sum.wrapping_add(*t))
}

/// All samples are of this load.
fn alike(tenths: &[u32; SAMPLES], newest: u32) -> bool {
    tenths.iter().all(|t| *t == newest)
}

impl Required {
    /// The rolling average, in watts.
    pub fn average_w(&self) -> Option<u32> {
        self.tenths_w.as_ref().map(sum)
    }

    /// Forgets all but what outlasts a load that is not known.
    fn begin_afresh(&mut self) {
        (self.tenths_w, self.held) = (None, Held::default());
    }

    #[inline(never)]
    fn against(&self, basis: &Basis, rules: &LoadRules) -> Against {
        let refused_w = if self.refused { (self.tried_w / 8).saturating_mul(7) } else { u32::MAX };
        Against {
            // Without a next boiler no load asks for one; without a question about the least, its answer is yes.
            up_w: basis.up_w.unwrap_or(u32::MAX),
            minimum_w: basis.down_minimum_w.unwrap_or(u32::MAX),
            rest_w: basis.down_design_w.min(refused_w),
            up: count(rules.up_for),
            minimum: count(rules.down_minimum_for),
            rest: count(rules.down_design_for),
        }
    }

    /// So many steps of the grid, at most [`CATCH_UP`], on a load that stays: `newest` is a tenth of it.
    #[inline(never)]
    fn step(&mut self, newest: u32, against: &Against, basis: &Basis, rules: &LoadRules, n: u32) {
        let tenths = match &mut self.tenths_w {
            Some(tenths) if !alike(tenths, newest) => tenths,
            alike => {
                if alike.is_none() {
                    *alike = Some([newest; SAMPLES]);
                }
                self.held = self.held.all_on(newest, against, basis, rules, n);
                return;
            }
        };
        let (mut load, held, old) = (sum(tenths), self.held, *tenths);
        // For how many steps each has held: cut to what counts at the end, which comes to the same.
        let [mut up, mut minimum, mut rest] = [held.up, held.down_minimum, held.down_design].map(u32::from);
        for oldest in old.iter().rev().take(n as usize) {
            load = load.wrapping_sub(*oldest).wrapping_add(newest);
            let [more, less, enough] = against.holds(load);
            up = if more { up.wrapping_add(1) } else { 0 };
            minimum = if less { minimum.wrapping_add(1) } else { 0 };
            rest = if enough { rest.wrapping_add(1) } else { 0 };
        }
        let held = Held {
            up: up.min(against.up.into()) as u16,
            down_minimum: minimum.min(against.minimum.into()) as u16,
            down_design: rest.min(against.rest.into()) as u16,
            ..held
        };
        for (place, t) in tenths.iter_mut().enumerate() {
            *t = place.checked_sub(n as usize).and_then(|was| old.get(was)).copied().unwrap_or(newest);
        }
        self.held = held.beside(basis, rules, n);
    }

    /// True when the next step on a load that is known changes anything.
    fn moves_on(&self, newest: u32, against: &Against, basis: &Basis, rules: &LoadRules) -> bool {
        self.tenths_w.as_ref().is_none_or(|t| !alike(t, newest)) || self.held.moves_on(newest, against, basis, rules)
    }

    /// True when the next step changes anything.
    #[inline(never)]
    fn moves(&self, basis: &Basis, target: Option<Temp>, rules: &LoadRules) -> bool {
        match sample(basis, target) {
            Some(newest) => self.moves_on(newest, &self.against(basis, rules), basis, rules),
            None => self.tenths_w.is_some() || self.held != Held::default(),
        }
    }

    /// Follows the load over the interval from `from` to `to`.
    pub(crate) fn advance(
        &mut self,
        basis: &Basis,
        target: Option<Temp>,
        rules: &LoadRules,
        from: Instant,
        to: Instant,
    ) {
        let wanted = steps(from, to, GRID);
        if wanted > 0 {
            self.make_up(basis, target, rules, wanted);
        }
    }

    /// So many steps, at least one.
    #[inline(never)]
    fn make_up(&mut self, basis: &Basis, target: Option<Temp>, rules: &LoadRules, wanted: u32) {
        let Some(newest) = sample(basis, target) else { return self.begin_afresh() };
        let against = self.against(basis, rules);
        let mut n = wanted;
        if wanted > CATCH_UP {
            // Where the last samples are others than the next, the steps that are made up do not come to rest; nor do they
            // where a condition that holds at the end of them cannot have held for long enough by then.
            let lasts = |t: &[u32; SAMPLES]| t.iter().take(SAMPLES_KEPT).all(|t| *t == newest);
            let at_most = self.held.all_on(newest, &against, basis, rules, CATCH_UP);
            if self.tenths_w.as_ref().is_some_and(lasts) && !at_most.moves_on(newest, &against, basis, rules) {
                self.step(newest, &against, basis, rules, CATCH_UP);
                if !self.moves_on(newest, &against, basis, rules) {
                    return;
                }
            }
            self.begin_afresh();
            n = 1;
        }
        self.step(newest, &against, basis, rules, n);
    }

    /// When the law moves next, if the load stays.
    pub(crate) fn due(&self, basis: &Basis, target: Option<Temp>, rules: &LoadRules, now: Instant) -> Option<Instant> {
        self.moves(basis, target, rules).then_some(next(now, GRID))
    }

    /// Another stage: every condition must hold anew. `moved` says what has brought it; `carried_w` is what the boilers gave
    /// before.
    pub(crate) fn stage_changed(&mut self, moved: Moved, carried_w: u32) {
        match moved {
            Moved::NoneLeft => (self.refused, self.tried_w) = (false, 0),
            Moved::Rested => (self.refused, self.tried_w) = (false, self.average_w().unwrap_or(0)),
            Moved::Short if self.tried_w > 0 => self.refused = carried_w <= self.tried_w,
            Moved::Short | Moved::Otherwise => {}
        }
        self.held = Held::default();
    }

    /// What the load says about stages; nothing while it is not known.
    pub(crate) fn advise(&self, basis: &Basis, target: Option<Temp>, rules: &LoadRules) -> Option<Advice> {
        basis.now_w(target)?;
        let held = &self.held;
        if held.stage < count(rules.stage_min) {
            return Some(Advice::default());
        }
        let failsafe = held.failsafe >= count(rules.failsafe_for) && !rules.failsafe_for.is_zero();
        let up = held.up >= count(rules.up_for) && basis.up_w.is_some();
        let down = held.down_minimum >= count(rules.down_minimum_for)
            && held.down_design >= count(rules.down_design_for)
            && basis.down_design_w > 0
            && !basis.short;
        Some(Advice { up: up || failsafe, down })
    }
}

/// True once the supply is too far below its target.
pub(crate) fn too_short(rules: &LoadRules, target: Temp, supply: Option<Temp>) -> bool {
    rules.failsafe_below > TempDelta::ZERO && supply.is_some_and(|s| target.above(s) > rules.failsafe_below)
}

#[cfg(test)]
mod tests;
