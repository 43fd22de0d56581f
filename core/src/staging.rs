//! How many boilers are wanted, and which.
//!
//! With `e = target - supply` in kelvins and `band` in kelvins:
//! * the first boiler is wanted once `e >= band`, and the last is dropped once `-e >= band`;
//! * another is wanted once the shortfall beyond the band has added up, `sum (e - band) dt >= up_error_k_s`, unless the supply
//!   recovers in time by itself (`staging::error`), and not before the next may start (`start_spacing`): sooner nobody can see
//!   what the last one does; nor in rate drive, unless an outlet holds those that burn back (`load::Load::held_back`);
//! * also, for boilers in rate drive, once their common rate says so for long enough (`staging::load`);
//! * one is dropped once the excess beyond the band has added up: `sum (-e - band) dt >= down_error_k_s`;
//! * while the supply cannot be read (`guard::sensors`), it counts as short unless what stands for it is too warm: every boiler
//!   comes, one after another;
//! * also, where no common rate speaks, once the rest could have carried the required heat for long enough
//!   (`staging::required`).
//!
//! The sums grow on a grid of 10 s and fall to zero when the supply crosses its target, and at every change of stage.
//! The sum upwards grows only while water flows through a zone or the tank and every boiler that is wanted has proved
//! its flame: a boiler that is still purging is not a boiler too few. A boiler's own fault takes it off the list and
//! brings the next at once, without a sum. Boilers start one at a time. A new lead that is
//! not needed any more before it is proved is let go with the old one.
//!
//! With `StageBy::Load` the heat that is required stands in for the sums and the rate (`staging::required`) as long as it is
//! known. At low load the band is another one, and a lone boiler that has put its flame out is let go (`staging::low`).
//!
//! Source: staging by supply error over time is common practice; the numbers are settings.

pub mod error;
pub mod load;
pub mod low;
pub mod required;

use crate::{
    clock::Clock,
    config::{Config, OffOrder, StagingConfig},
    demand::Flames,
    ids::BoilerId,
    limits::BOILERS,
    mask::Mask,
    units::{Instant, Span, Temp, TempDelta},
};
use error::{Sizes, Sums};
use heapless::Vec;

const _: () = assert!(BOILERS <= 4, "a byte of a word each");

/// Which boilers are wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Staging {
    /// The boilers that are wanted, in the order in which they were asked.
    pub enlisted: Vec<BoilerId, BOILERS, u8>,
    /// The last demand began here.
    pub last_start: Option<Instant>,
    /// The old lead that keeps its flame until the new lead is proved.
    pub leaving: Option<BoilerId>,
    /// A boiler's fault asks for the next at once.
    pub replace: bool,
}

/// What staging sees in one tick.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Around<'a> {
    /// Heat is wanted at this supply temperature.
    pub(crate) target: Option<Temp>,
    /// The supply, when it can be trusted.
    pub(crate) supply: Option<Temp>,
    /// Boilers in the order in which they are to be asked, lead first; those that cannot run are left out.
    pub(crate) order: &'a [BoilerId],
    /// The same boilers as a set.
    pub(crate) able: Mask,
    /// The boilers that are wanted until now.
    pub(crate) wanted: Mask,
    /// Boilers that cannot run by a fault of their own.
    pub(crate) faulted: Mask,
    /// What the boilers do.
    pub(crate) flames: Flames,
    /// A common stop holds all.
    pub(crate) common: bool,
    /// Water flows through a zone or the tank.
    pub(crate) outflow: bool,
    /// What the firing rate says.
    pub(crate) advice: load::Advice,
    /// What the required heat says, where that is the strategy and it is known.
    pub(crate) required: Option<required::Advice>,
    /// The shortfall has added up, and the next may start.
    pub(crate) short: bool,
    /// The rest could have carried the required heat for long enough, where the strategy is another and no rate speaks.
    pub(crate) rest_could: bool,
    /// The band that the first boiler starts and the last one stops by.
    pub(crate) band: TempDelta,
    /// The load is low.
    pub(crate) low: bool,
    /// Those that are wanted are kept for the next call.
    pub(crate) lull: bool,
    /// Hours, where they say who goes when the lead passes on.
    pub(crate) hours: Option<&'a [Span; BOILERS]>,
}

impl StagingConfig {
    /// What the sums need of the configuration.
    pub(crate) const fn sizes(&self) -> Sizes {
        Sizes { band: self.band, up_k_s: self.up_error_k_s, down_k_s: self.down_error_k_s }
    }
}

impl Staging {
    /// The boilers that are wanted, as a set.
    pub fn wanted(&self) -> Mask {
        self.enlisted.iter().fold(Mask::NONE, |all, b| all.or(Mask::of(b.0)))
    }

    /// Those that are wanted in their order, a byte each: quicker to compare than the list.
    fn in_turn(&self) -> u32 {
        self.enlisted.iter().fold(0, |all, b| all << 8 | u32::from(b.0.saturating_add(1)))
    }

    /// Decides who is wanted; true when that has changed.
    #[inline(never)]
    pub(crate) fn decide(&mut self, config: &Config, sums: &mut Sums, around: &Around<'_>, clock: &mut Clock) -> bool {
        let (before, beside) = (self.in_turn(), (self.leaving, self.replace, self.last_start));
        let struck = self.strike(around);
        match around.target {
            // In a lull they stay as they are.
            Some(_) if around.lull && !around.common => {}
            Some(target) if !around.common => self.stage(config, sums, target, around, struck),
            Some(_) | None => {
                self.enlisted.clear();
                self.leaving = None;
                self.replace = false;
            }
        }
        let changed = self.in_turn() != before;
        if changed {
            *sums = Sums::default();
        }
        clock.written(changed || (self.leaving, self.replace, self.last_start) != beside);
        changed
    }

    /// Takes boilers off the list that cannot run; true when there were any.
    fn strike(&mut self, around: &Around<'_>) -> bool {
        let wanted = around.wanted;
        if wanted.meets(around.faulted) {
            self.replace = true;
            // What was started and failed does not hold up the next.
            self.last_start = None;
        }
        let struck = !wanted.without(around.able).is_empty();
        if struck {
            self.enlisted.retain(|b| around.able.has(b.0));
        }
        self.leaving = self.leaving.filter(|b| wanted.and(around.able).has(b.0));
        struck
    }

    fn stage(&mut self, config: &Config, sums: &Sums, target: Temp, around: &Around<'_>, struck: bool) {
        let c = &config.staging;
        // Those that were struck off are those that cannot run.
        let wanted = around.wanted.and(around.able);
        let all_in = |these: Mask| wanted.without(these).is_empty();
        let short = around.supply.is_none_or(|s| target.above(s) >= around.band);
        let over = around.supply.is_some_and(|s| s.above(target) >= around.band)
            || (around.low && !short && all_in(around.flames.holding));
        let (up, down) = match around.required {
            Some(r) => (r.up && around.outflow, r.down),
            None => (
                (around.advice.up && around.outflow) || around.short,
                around.advice.down || sums.down_reached(c.down_error_k_s),
            ),
        };
        let answered = all_in(around.flames.answered());
        let down = down || (around.rest_could && answered && !short);
        let next = around.order.iter().find(|b| !wanted.has(b.0)).copied();
        if self.enlisted.is_empty() {
            if (short || self.replace)
                && let Some(b) = next
            {
                self.enlist(b);
            }
            self.replace = false;
        } else if self.replace {
            if let Some(b) = next {
                self.enlist(b);
            }
            self.replace = false;
        } else if struck {
            // One step a tick: what one boiler's stop means for the others shows in the next.
        } else if let Some(old) = self.leaving {
            let lead_proved = around.order.first().is_some_and(|l| *l != old && around.flames.proved.has(l.0));
            // A new lead that was struck meanwhile is asked anew once it can run.
            let asked = around.order.first().is_some_and(|l| wanted.has(l.0));
            if lead_proved || !asked || around.order.first() == Some(&old) {
                self.leaving = None;
                // Where the water is short both are needed: one that burns is not let go for one that has only just lit.
                if lead_proved && !(short && around.flames.proved.has(old.0)) {
                    self.enlisted.retain(|b| *b != old);
                }
            } else if self.enlisted.len() <= 2 && over {
                // The load went while the lead changed: the new one is not needed either, and in the next tick nor is
                // the old.
                self.enlisted.retain(|b| *b == old);
                self.leaving = None;
            } else if self.enlisted.len() > 2 && sums.down_reached(c.down_error_k_s) {
                // One less is wanted: the old one goes without waiting for the new one.
                self.enlisted.retain(|b| *b != old);
                self.leaving = None;
            } else if answered
                && up
                && let Some(b) = next
            {
                // The new one is warm enough and has not shown its flame since it failed: nobody else waits for it.
                self.enlist(b);
            }
        } else if self.enlisted.len() == 1 && over {
            self.enlisted.clear();
        } else if answered && let Some(lead) = around.order.first().filter(|l| !wanted.has(l.0)) {
            // The lead has passed on: the new one lights before the old one goes, or by hours the one with the most.
            self.leaving = match around.hours {
                // Of equals the one that was on first.
                Some(hours) => self.enlisted.iter().rev().max_by_key(|b| hours.get(b.index())).copied(),
                None => self.enlisted.first().copied(),
            };
            self.enlist(*lead);
        } else if answered
            && up
            && let Some(b) = next
        {
            self.enlist(b);
        } else if self.enlisted.len() > 1 && down {
            self.drop_one(config.rotation.off_order, around.order.first().copied(), around.flames);
        }
    }

    /// True when the lead is the one that was on first, so that it is dropped with the others burning on.
    #[inline(never)]
    pub(crate) fn lead_goes(&self, order: OffOrder, lead: Option<BoilerId>) -> bool {
        order == OffOrder::FirstOnFirstOff
            && self.leaving.is_none()
            && lead.is_some()
            && self.leaver(order, lead) == lead
    }

    fn enlist(&mut self, b: BoilerId) {
        // The list holds every boiler there is; it cannot be full while one is missing.
        let _ = self.enlisted.push(b);
    }

    /// The boiler that would be dropped next: where the first stays, the lead stays too, whenever it was asked.
    #[inline(never)]
    pub(crate) fn leaver(&self, order: OffOrder, lead: Option<BoilerId>) -> Option<BoilerId> {
        let (first, last) = (self.enlisted.first().copied(), self.enlisted.last().copied());
        match order {
            OffOrder::FirstOnLastOff if last != lead => last,
            OffOrder::FirstOnLastOff => self.enlisted.iter().rev().nth(1).copied().or(last),
            OffOrder::FirstOnFirstOff => first,
        }
    }

    fn drop_one(&mut self, order: OffOrder, lead: Option<BoilerId>, flames: Flames) {
        // One that has not shown its flame since it failed is no heat: it goes before any that burns.
        let dark = flames.holding.without(flames.proved);
        let leaver = self.enlisted.iter().find(|b| dark.has(b.0)).copied().or_else(|| self.leaver(order, lead));
        self.enlisted.retain(|b| Some(*b) != leaver);
    }
}

#[cfg(test)]
mod tests;
