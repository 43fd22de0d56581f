//! What the machines hear of the laws: a law that goes a step without another answer brings no tick.
//!
//! Laws move on a grid, by a trifle each time: a sum that has not reached its size, a filter that stays in its hundredth of a
//! degree, required heat that asks for the same stages. A tick hears no more of them than these answers:
//!
//! | law | answer | asked in |
//! |---|---|---|
//! | outdoor filter, demand trim | what heating asks for while a zone is given heat or mixes its water; the season | `reset`, `heat` |
//! | header trim | what boilers are told | `demand`, `statement` |
//! | sums of the supply error | whether they are reached | `staging` |
//! | required heat | its advice | `staging` |
//! | mixing valves | none: their level is a signal | `statement` |
//!
//! The common firing rate is waited for by a clock of its own: while a boiler burns at it, each of its steps is a tick. So is one
//! while the target glides to or from the outdoor fallback, one in a lull, and one of an outdoor sensor that gives no temperature.

use crate::{
    config::Config,
    limits::ZONES,
    mask::Mask,
    points::SensorUse,
    reset::{Asked, Season},
    staging::required,
    state::State,
    units::{Permille, Temp},
};

/// What a tick would hear.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Answers {
    pub(super) asked: Option<Asked>,
    season: Season,
    told: Option<Temp>,
    up: bool,
    down: bool,
    required: Option<required::Advice>,
}

impl Answers {
    /// The answers as the laws stand; nothing while one of them asks for a tick each time.
    pub(super) fn of(config: &Config, state: &State) -> Option<Self> {
        let (laws, basis) = (&state.laws, &state.laws.basis);
        let outdoor = config.points.sensor(SensorUse::Outdoor);
        let blind = outdoor.is_some_and(|s| state.held.reading(s).temp().is_none());
        if blind || laws.outdoor.gliding || !laws.load.lit.is_empty() || state.control.lull.is_some() {
            return None;
        }
        let (reset, staging) = (&state.control.reset, &config.staging);
        let outdoor = laws.outdoor.value(&config.reset);
        let follows = basis.heated != 0 || !basis.mixing.is_empty();
        Some(Self {
            asked: follows.then(|| reset.asked(&config.reset, outdoor, laws.demand_trim)),
            season: reset.season_at(&config.reset, outdoor),
            told: laws.told(basis.target),
            up: laws.sums.up_reached(staging.up_error_k_s),
            down: laws.sums.down_reached(staging.down_error_k_s),
            required: laws.required.advise(&basis.required, basis.target, staging.rules()),
        })
    }
}

impl Answers {
    /// All but the target and what boilers are told.
    pub(super) fn beside_target(self) -> Self {
        Self { asked: None, told: None, ..self }
    }
}

/// Where the mixing valves under control stand, in thousandths.
pub(super) fn mixing(state: &State) -> [Permille; ZONES] {
    let mut levels = [Permille::ZERO; ZONES];
    for ((_, valve), level) in under_control(state).zip(&mut levels) {
        *level = valve;
    }
    levels
}

/// The mixing valves under control, by zone, with their levels.
pub(super) fn under_control(state: &State) -> impl Iterator<Item = (u8, Permille)> {
    let open: Mask = state.laws.basis.mixing;
    open.iter().filter_map(|z| Some((z, state.laws.mixing.get(usize::from(z))?.level())))
}
