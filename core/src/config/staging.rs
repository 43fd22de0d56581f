//! When boilers are added and dropped: the settings.
//!
//! Two strategies can be chosen. By *error*, the supply's distance from its target adds up over time (`staging::error`) and
//! boilers in rate drive are judged by their common rate (`staging::load`); where there is none, one is dropped by the heat that is
//! required, too. By *load*, the heat that is required is set
//! against what the boilers can give (`staging::required`), with the conditions of ASHRAE Guideline 36-2021, 5.21.3.9, whose
//! numbers are parameters here. The first boiler starts and the last one stops by `band` in both.

use crate::units::{Permille, Span, TempDelta};

record! {
    /// When boilers are added and dropped.
    pub struct StagingConfig {
        /// The first boiler starts when the supply is this far below target, the last stops this far above.
        pub band: TempDelta,
        /// The next boiler is wanted once the shortfall below `band` has added up to this: kelvin-seconds.
        pub up_error_k_s: u32,
        /// A boiler is dropped once the excess above `band` has added up to this: kelvin-seconds.
        pub down_error_k_s: u32,
        /// With modulating boilers the next one is wanted while all that run fire above this rate.
        pub up_rate: Permille,
        /// With modulating boilers one is dropped while the rest could carry the load at this rate or below.
        pub down_rate: Permille,
        /// Rates must stand above or below for this long.
        pub rate_hold: Span,
        /// No second start within this time of the last.
        pub start_spacing: Span,
        /// Proportional band of the supply-temperature loop, for rate drive.
        pub band_pi: TempDelta,
        /// Integral time of the supply-temperature loop: for rate drive, and for the header trim of target drive.
        pub integral: Span,
        /// How boilers in rate drive share the load.
        pub modulation: Modulation,
        /// What adds and drops boilers after the first.
        pub stage_by: StageBy,
        /// What is done when one boiler is too much.
        pub low_load: LowLoadConfig,
    }

    /// How boilers in rate drive share the load.
    #[derive(Copy)]
    pub enum Modulation {
        /// All that burn fire at the same rate: condensing boilers are at their best at low fire.
        Parallel,
        /// The first goes to full fire before the next leaves its minimum.
        Sequential,
    }

    /// What adds and drops boilers after the first.
    #[derive(Copy)]
    pub enum StageBy {
        /// The supply's error over time, and the common rate of boilers in rate drive.
        Error,
        /// The heat that is required against what the boilers give.
        Load(LoadRules),
    }

    /// What the required heat is set against for another boiler.
    #[derive(Copy)]
    pub enum UpAgainst {
        /// The least that the boilers give together once the next one burns too: condensing boilers.
        NextMinimum,
        /// The most that the boilers that burn give: boilers that do not condense.
        Design,
    }

    /// Conditions on the heat that is required, each with how long it must hold.
    #[derive(Copy)]
    pub struct LoadRules {
        /// What `up_percent` is a share of.
        pub up_against: UpAgainst,
        /// Another boiler is wanted above this share.
        pub up_percent: u16,
        /// For this long.
        pub up_for: Span,
        /// One less is wanted below this share of the least that the boilers give; zero: this is not asked.
        pub down_minimum_percent: u16,
        /// For this long.
        pub down_minimum_for: Span,
        /// And below this share of the most that the boilers give without the one that would go.
        pub down_design_percent: u16,
        /// For this long.
        pub down_design_for: Span,
        /// Another boiler is wanted, whatever the load, while the supply is more than this below its target.
        pub failsafe_below: TempDelta,
        /// For this long.
        pub failsafe_for: Span,
        /// No boiler is added or dropped within this time of the last change.
        pub stage_min: Span,
    }

    /// What is done when the load is so small that one boiler short-cycles.
    #[derive(Copy)]
    pub struct LowLoadConfig {
        /// A flame shorter than this that ends because the water is warm enough is a short one; zero: never.
        pub run_min: Span,
        /// After two short ones the lone boiler starts this far below target and stops this far above.
        pub band: TempDelta,
    }
}

impl LoadRules {
    /// For condensing boilers, which are best at low fire. ASHRAE Guideline 36-2021, 5.21.3.9: the conditions downwards and
    /// the shortest stage (10 min) are checked against a public text; the 150 % and the failsafe (10 °F for 15 min) are
    /// from memory, and a draft before the guideline had 200 %.
    pub const CONDENSING: Self = Self {
        up_against: UpAgainst::NextMinimum,
        up_percent: 150,
        up_for: Span::from_min(10),
        down_minimum_percent: 110,
        down_minimum_for: Span::from_min(5),
        down_design_percent: 80,
        down_design_for: Span::from_min(5),
        failsafe_below: TempDelta::from_centi_k(556),
        failsafe_for: Span::from_min(15),
        stage_min: Span::from_min(10),
    };

    /// For boilers that do not condense. The same section; the 90 % upwards is from memory.
    pub const NON_CONDENSING: Self = Self {
        up_against: UpAgainst::Design,
        up_percent: 90,
        down_minimum_percent: 0,
        down_minimum_for: Span::ZERO,
        down_design_for: Span::from_min(10),
        ..Self::CONDENSING
    };
}

impl LoadRules {
    /// What drops a boiler with `StageBy::Error` where no common rate speaks (`staging::required`): the rest could have
    /// carried the required heat at 80 % of their input for 30 min. The 80 % are those above; the time is our choice, long
    /// enough that a boiler that is asked for again makes at most two starts an hour. It adds none.
    pub const REST: Self = Self {
        up_against: UpAgainst::Design,
        up_percent: 0,
        up_for: Span::ZERO,
        down_minimum_percent: 0,
        down_minimum_for: Span::ZERO,
        down_design_percent: 80,
        down_design_for: Span::from_min(30),
        failsafe_below: TempDelta::ZERO,
        failsafe_for: Span::ZERO,
        stage_min: Span::from_min(30),
    };
}

impl StagingConfig {
    /// The rules that the required heat is judged by.
    pub(crate) const fn rules(&self) -> &LoadRules {
        match &self.stage_by {
            StageBy::Load(rules) => rules,
            StageBy::Error => &LoadRules::REST,
        }
    }

    /// The required heat adds boilers too.
    pub(crate) const fn by_load(&self) -> bool {
        matches!(self.stage_by, StageBy::Load(_))
    }
}

impl LowLoadConfig {
    /// Nothing is done.
    pub const NONE: Self = Self { run_min: Span::ZERO, band: TempDelta::ZERO };
}
