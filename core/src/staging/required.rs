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
//! Source: ASHRAE Guideline 36-2021, 5.21.3.5 (required heat, rolling average), 5.21.3.7 (least output of a stage), 5.21.3.9
//! (conditions); which of the numbers are from memory stands with `LoadRules`. Ours: the design flows stand in for a flow
//! meter, since circulators here run at one speed; capacities are inputs, a tenth above what condensing boilers give; a
//! bypass valve is not looked at, there is none. Edges: while the supply or the return cannot be trusted or no flow is
//! known, nothing counts here and `staging` falls back to the supply error over time.

use crate::{
    config::{Config, Firing, LoadRules, UpAgainst},
    ids::BoilerId,
    law::{CATCH_UP, next, steps},
    units::{Instant, Span, Temp, TempDelta},
};

/// Grid of the average.
pub const GRID: Span = Span::from_s(30);

/// Samples in the average: five minutes.
pub const SAMPLES: usize = 10;
const SAMPLES_W: u32 = 10;
const _: () = assert!(SAMPLES == SAMPLES_W as usize);

/// What the law follows until the next tick.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Basis {
    /// Heat that is required now, in watts; nothing while it is not known or no boiler is wanted.
    pub now_w: Option<u32>,
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
    /// The last samples in watts, newest first; nothing before the first.
    pub samples_w: Option<[u32; SAMPLES]>,
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

/// What the law says about stages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Advice {
    pub(crate) up: bool,
    pub(crate) down: bool,
}

fn inputs_w(config: &Config, which: impl Iterator<Item = BoilerId>) -> (u32, u32) {
    let (mut sum, mut lowest) = (0u32, 0u32);
    for c in which.filter_map(|b| config.boilers.get(b.index())) {
        sum = sum.saturating_add(c.input_w);
        lowest = lowest.max(match c.firing {
            Firing::OnOff => 1000,
            Firing::Modulating { minimum } => u32::from(minimum.get()),
        });
    }
    (sum, (sum / 1000).saturating_mul(lowest))
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
    /// The conditions for the boilers that are wanted: those of `stage`, with `next` the one that would come and `leaver`
    /// the one that would go.
    pub(crate) fn of(
        config: &Config,
        rules: &LoadRules,
        stage: &[BoilerId],
        next: Option<BoilerId>,
        leaver: Option<BoilerId>,
    ) -> Self {
        let (full, least) = inputs_w(config, stage.iter().copied());
        let up = next.map(|n| match rules.up_against {
            UpAgainst::Design => full,
            UpAgainst::NextMinimum => inputs_w(config, stage.iter().copied().chain([n])).1,
        });
        let (rest, _) = inputs_w(config, stage.iter().copied().filter(|b| stage.len() > 1 && Some(*b) != leaver));
        let asked = rules.down_minimum_percent > 0;
        Self {
            now_w: None,
            up_w: up.map(|w| percent(w, rules.up_percent)),
            down_minimum_w: asked.then(|| percent(least, rules.down_minimum_percent)),
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

impl Required {
    /// The rolling average, in watts.
    pub fn average_w(&self) -> Option<u32> {
        let sum = self.samples_w?.iter().fold(0u32, |sum, s| sum.saturating_add(s / SAMPLES_W));
        Some(sum)
    }

    fn stepped(self, basis: &Basis, rules: &LoadRules) -> Self {
        let Some(now_w) = basis.now_w else { return Self::default() };
        let mut samples = self.samples_w.unwrap_or([now_w; SAMPLES]);
        let mut newer = now_w;
        for s in &mut samples {
            core::mem::swap(s, &mut newer);
        }
        let held = |n: u16, is: bool, for_: Span| if is { n.saturating_add(1).min(count(for_)) } else { 0 };
        let with = Self { samples_w: Some(samples), ..self };
        let load = with.average_w().unwrap_or(0);
        Self {
            up: held(self.up, basis.up_w.is_some_and(|w| load > w), rules.up_for),
            down_minimum: held(
                self.down_minimum,
                basis.down_minimum_w.is_none_or(|w| load < w),
                rules.down_minimum_for,
            ),
            down_design: held(self.down_design, load < basis.down_design_w, rules.down_design_for),
            failsafe: held(self.failsafe, basis.short, rules.failsafe_for),
            stage: held(self.stage, basis.proved, rules.stage_min),
            ..with
        }
    }

    /// Follows the load over the interval from `from` to `to`.
    pub(crate) fn advance(&mut self, basis: &Basis, rules: &LoadRules, from: Instant, to: Instant) {
        let wanted = steps(from, to, GRID);
        for _ in 0..wanted.min(CATCH_UP) {
            let s = self.stepped(basis, rules);
            if s == *self {
                return;
            }
            *self = s;
        }
        if wanted > CATCH_UP && self.stepped(basis, rules) != *self {
            *self = Self::default().stepped(basis, rules);
        }
    }

    /// When the law moves next, if the load stays.
    pub(crate) fn due(&self, basis: &Basis, rules: &LoadRules, now: Instant) -> Option<Instant> {
        (self.stepped(basis, rules) != *self).then_some(next(now, GRID))
    }

    /// Another stage: every condition must hold anew.
    pub(crate) fn stage_changed(&mut self) {
        *self = Self { samples_w: self.samples_w, ..Self::default() };
    }

    /// What the load says about stages; nothing while it is not known.
    pub(crate) fn advise(&self, basis: &Basis, rules: &LoadRules) -> Option<Advice> {
        basis.now_w?;
        let settled = self.stage >= count(rules.stage_min);
        let failsafe = self.failsafe >= count(rules.failsafe_for) && !rules.failsafe_for.is_zero();
        let up = self.up >= count(rules.up_for) && basis.up_w.is_some();
        let down = self.down_minimum >= count(rules.down_minimum_for)
            && self.down_design >= count(rules.down_design_for)
            && basis.down_design_w > 0
            && !basis.short;
        Some(Advice { up: settled && (up || failsafe), down: settled && down })
    }
}

/// True once the supply is too far below its target.
pub(crate) fn too_short(rules: &LoadRules, target: Temp, supply: Option<Temp>) -> bool {
    rules.failsafe_below > TempDelta::ZERO && supply.is_some_and(|s| target.above(s) > rules.failsafe_below)
}
