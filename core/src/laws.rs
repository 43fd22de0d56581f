//! What the laws have reached, and what they follow until the next tick.
//!
//! A law moves in the next tick's *advance*, over the interval that begins now, on what this tick has decided: that is the
//! `Basis`. It is part of the state, so that a tick that is left out loses nothing.

use crate::{
    call::ZoneCalls,
    config::Config,
    inputs::Inputs,
    known::Looks,
    law::{
        filter,
        pi::{self, Pi},
        steps, trim,
    },
    limits::ZONES,
    mask::Mask,
    mixing,
    points::SensorUse,
    reset::{Asked, Outdoor},
    staging::{
        error::{self, Sums},
        load::Load,
        required::{self, Required},
    },
    units::{Instant, Temp, TempDelta},
};

/// What the laws follow until the next tick.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Basis {
    /// The supply target while heat is wanted.
    pub target: Option<Temp>,
    /// The supply, or what stands in for it.
    pub supply: Option<Temp>,
    /// The supply is its own, trusted reading.
    pub good: bool,
    /// What stands for the supply may raise the rate: its own reading, or a trusted outlet.
    pub rises: bool,
    /// A shortfall may count towards another boiler.
    pub up: bool,
    /// An excess may count towards one less.
    pub down: bool,
    /// The header's error may trim the boilers' target.
    pub trimming: bool,
    /// The hottest outlet of a boiler that burns.
    pub outlet: Option<Temp>,
    /// Zones that are given heat, bit by index: half a [`Mask`], which is all that there is room for.
    pub heated: u16,
    /// Mixed zones whose valve is under control.
    pub mixing: Mask,
    /// What heating asks for, whether or not a zone calls.
    pub asked: Asked,
    /// Pumps whose motor runs, as far as is known: what the meter counts.
    pub running: Mask,
    /// The heat that is required, and what it is set against.
    pub required: required::Basis,
}

/// Each grid is a multiple of the one before: of sums, rate and valves, of required heat and header, of demand.
const _: () = assert!(pi::GRID.tenths() == error::GRID.tenths());
const _: () = assert!(required::GRID.tenths().is_multiple_of(error::GRID.tenths()));
const _: () = assert!(required::GRID.tenths() == trim::HEADER_GRID.tenths());
const _: () = assert!(trim::DEMAND_GRID.tenths().is_multiple_of(trim::HEADER_GRID.tenths()));
const _: () = assert!(filter::GRID.tenths().is_multiple_of(trim::HEADER_GRID.tenths()));
const _: () = assert!(trim::DEMAND_GRID.tenths().is_multiple_of(filter::GRID.tenths()));

const _: () = assert!(ZONES <= 16);

/// What a supply that nobody can read counts as short of its target. Our choice: three times the usual band.
pub const UNREAD: TempDelta = TempDelta::from_k(10);

impl Basis {
    fn error(&self) -> Option<TempDelta> {
        Some(self.target?.above(self.supply?))
    }

    /// A supply that nobody can read counts as short unless what stands for it is too warm: every boiler comes, one after another.
    fn sums(&self) -> error::Basis {
        let known = |e: &TempDelta| self.good || *e < TempDelta::ZERO;
        let error = self.error().filter(known).or_else(|| self.target.map(|_| UNREAD));
        error::Basis { error, up: self.up, down: self.down }
    }
}

/// What the laws have reached.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Laws {
    /// Filtered outdoor temperature.
    pub outdoor: Outdoor,
    /// Supply error over time.
    pub sums: Sums,
    /// The common firing rate.
    pub load: Load,
    /// The heat that is required.
    pub required: Required,
    /// How far the boilers' target lies above the supply target.
    pub header_trim: TempDelta,
    /// How far the supply target is moved by demand.
    pub demand_trim: TempDelta,
    /// Mixing valves, by zone.
    pub mixing: [Pi; ZONES],
    /// What all of them follow.
    pub basis: Basis,
}

impl Default for Laws {
    fn default() -> Self {
        Self {
            outdoor: Outdoor::default(),
            sums: Sums::default(),
            load: Load::default(),
            required: Required::default(),
            header_trim: TempDelta::ZERO,
            demand_trim: TempDelta::ZERO,
            mixing: [Pi::default(); ZONES],
            basis: Basis::default(),
        }
    }
}

impl Laws {
    /// What the header trim follows; nothing while it is to be let go.
    fn header_error(&self) -> Option<TempDelta> {
        let b = &self.basis;
        let (short, supply) = b.error().zip(b.supply).filter(|_| b.trimming)?;
        Some(trim::header_error(self.header_trim, short, supply, b.outlet))
    }

    /// Moves every law from the last tick to `now`.
    pub(crate) fn advance(
        &mut self,
        config: &Config,
        looks: &Looks,
        calls: &ZoneCalls,
        held: &Inputs,
        from: Instant,
        now: Instant,
    ) {
        // Most ticks lie between two moments of the finest grid, and so of every other.
        let finest = steps(from, now, error::GRID);
        if finest == 0 && !self.outdoor.follows_at_once(&config.reset) {
            return;
        }
        let outdoor = config.points.sensor(SensorUse::Outdoor).and_then(|s| held.reading(s).temp());
        let before = self.outdoor.value(&config.reset);
        self.outdoor.advance(&config.reset, outdoor, from, now);
        let b = &self.basis;
        self.sums.advance(b.sums(), config.staging.sizes(), from, now);
        if let Some(aim) = self.load.aim(config, b) {
            self.load.rate.advance(&aim, from, now);
        }
        self.required.advance(&b.required, b.target, config.staging.rules(), from, now);
        let (error, most) = (self.header_error(), config.reset.header_trim_max);
        trim::header(&mut self.header_trim, error, config.staging.integral, most, from, now);
        if config.reset.demand_trim_max > TempDelta::ZERO {
            let heated = Mask::from_bits(b.heated.into());
            trim::demand(&mut self.demand_trim, calls, heated, config.reset.demand_trim_max, from, now);
        }
        if finest > 0 {
            mixing::advance(config, looks, &mut self.mixing, b.mixing, (before, b.asked), held, finest);
        }
    }

    /// When the first law moves next, if everything stays. Every grid is a multiple of those before it, so the first law in
    /// this order that moves at all is the one that moves first.
    #[inline(never)]
    pub(crate) fn due(&self, config: &Config, looks: &Looks, inputs: &Inputs, now: Instant) -> Option<Instant> {
        let b = &self.basis;
        let rate = || self.load.aim(config, b).and_then(|aim| self.load.rate.due(&aim, now));
        let required = || self.required.due(&b.required, b.target, config.staging.rules(), now);
        let header = || {
            let (error, most) = (self.header_error(), config.reset.header_trim_max);
            trim::header_due(self.header_trim, error, config.staging.integral, most, now)
        };
        let filter = || {
            let sensor = config.points.sensor(SensorUse::Outdoor);
            self.outdoor.due(&config.reset, sensor.and_then(|s| inputs.reading(s).temp()), now)
        };
        let demand =
            || (config.reset.demand_trim_max > TempDelta::ZERO).then(|| crate::law::next(now, trim::DEMAND_GRID));
        (self.sums.due(b.sums(), config.staging.sizes(), now))
            .or_else(rate)
            .or_else(|| {
                let asked = (self.outdoor.value(&config.reset), b.asked);
                mixing::due(config, looks, &self.mixing, b.mixing, asked, inputs, now)
            })
            .or_else(required)
            .or_else(header)
            .or_else(filter)
            .or_else(demand)
    }

    /// What boilers in target drive are told while the supply target is `target`. The trim moves only while one of them burns
    /// (`follow`), and is zero in a plant that has none.
    pub(crate) fn told(&self, target: Option<Temp>) -> Option<Temp> {
        target.map(|t| t.plus(self.header_trim))
    }
}
