//! Branch circuits and the panelboards' spaces.
//!
//! Relay panel, boilers and pumps take the left (odd) spaces in file order, all else the right (even) ones, so that a new
//! zone appends to both sides and renumbers little (our choice). What no longer fits on its side of the largest usual panelboard goes
//! to the other. In a panelboard that is there already these spaces are somebody
//! else's: a job may give the real ones, and the rest are planned round them. Feeds from panelboard to relay panel share raceways of at
//! most nine current-carrying conductors, so that 12 AWG still carries 20 A (70 per cent of 30 A, NEC 310.15(C)(1)). Neutrals
//! of two-wire circuits count as current-carrying, and none is shared.

use super::Circuits;
use crate::{
    job::{Fed, GivenSpace, Job, Supply},
    kinds::panelboard::{self, SPACE_MAX},
    pass::{
        boards::{self, Board, Enclosure, board_of, to_neutral},
        devices::{CONTROL_V, Role},
        loom::{At, Group, Hub, Lost, Pt},
    },
    plan::{BreakerAt, Circuit, Duty, Feed},
    row::Class,
};
use heatwright_core::Subject;
use std::collections::BTreeSet;

/// The first space of the side of the panelboard that a circuit is planned on.
fn side(fed: Fed) -> u8 {
    match fed {
        Fed::Transformer | Fed::RelayPanel | Fed::Boiler(_) | Fed::Pump(_) => 1,
        Fed::Fans(..) | Fed::CondensatePump(_) | Fed::Beacon | Fed::Receptacles => 2,
    }
}

/// So many spaces, one below the other on one side.
pub(in crate::pass) fn below(first: u8, poles: u8) -> Vec<u8> {
    (0..poles).map(|p| first.saturating_add(p.saturating_mul(2))).collect()
}

/// Poles of the breaker of a supply.
pub(in crate::pass) fn poles(job: &Job, supply: Supply) -> u8 {
    if supply.phases == 3 { 3 } else { 2 - u8::from(to_neutral(job, supply)) }
}

/// The supply of what a branch circuit feeds; `None` for something that the job does not have.
pub(in crate::pass) fn supply_of(job: &Job, fed: Fed) -> Option<Supply> {
    let control = Supply { volts: CONTROL_V, phases: 1 };
    match fed {
        Fed::Transformer => job.service.step_down.map(|_| Supply { volts: job.service.volts.line_volts(), phases: 1 }),
        Fed::RelayPanel => Some(control),
        Fed::Boiler(b) => job.boilers.get(b.index()).map(|b| b.supply),
        Fed::Pump(p) => job.pumps.get(p.index()).map(|p| p.supply),
        Fed::Fans(z, _) => job.zones.get(z.index()).and_then(|z| z.fan).map(|f| f.supply),
        Fed::CondensatePump(i) => job.condensate_pumps.get(usize::from(i)).map(|_| control),
        Fed::Beacon => job.beacon.map(|_| control),
        Fed::Receptacles => (!job.receptacles.is_empty()).then_some(control),
    }
}

/// The breakers whose spaces the job gives.
pub(crate) fn spaces_given(job: &Job) -> Vec<BreakerAt> {
    let board = |fed| supply_of(job, fed).and_then(|s| board_of(job, s));
    let at = |g: &GivenSpace| board(g.fed).map(|b| BreakerAt { panel: b.tag().into(), space: g.space });
    job.service.spaces.iter().filter_map(at).collect()
}

/// Spaces of a panelboard that are taken, and its feed raceway being filled: one raceway series an enclosure.
#[derive(Clone, Debug, Default)]
pub(super) struct Spaces {
    taken: BTreeSet<u8>,
    given: Vec<GivenSpace>,
    feed: [u8; 2],
    feed_carrying: [u8; 2],
}

/// Most current-carrying conductors in a feed raceway.
const FEED_CARRYING_MAX: u8 = 9;

impl Spaces {
    /// Of one panelboard, with its given spaces taken before anything is planned.
    pub(super) fn of(job: &Job, board: Board) -> Self {
        let here = |g: &&GivenSpace| supply_of(job, g.fed).and_then(|s| board_of(job, s)) == Some(board);
        let given: Vec<GivenSpace> = job.service.spaces.iter().filter(here).copied().collect();
        let mut all = Self { given: given.clone(), ..Self::default() };
        for g in &given {
            all.taken.extend(supply_of(job, g.fed).iter().flat_map(|s| below(g.space, poles(job, *s))));
        }
        all
    }

    /// The given spaces, else the first free ones on its side, else on the other side, else past the last space.
    fn take(&mut self, fed: Fed, poles: u8) -> Vec<u8> {
        if let Some(g) = self.given.iter().find(|g| g.fed == fed) {
            return below(g.space, poles);
        }
        let (here, there) = (self.free(side(fed), poles), self.free(3 - side(fed), poles));
        let fits = |spaces: &[u8]| spaces.last().is_some_and(|s| *s <= SPACE_MAX);
        let wanted = if fits(&there) && !fits(&here) { there } else { here };
        self.taken.extend(&wanted);
        wanted
    }

    /// The first free spaces of one side.
    fn free(&self, mut first: u8, poles: u8) -> Vec<u8> {
        loop {
            let wanted = below(first, poles);
            if first >= u8::MAX - 2 || !wanted.iter().any(|s| self.taken.contains(s)) {
                return wanted;
            }
            first = first.saturating_add(2);
        }
    }

    /// The feed raceway for so many more current-carrying conductors.
    fn feed(&mut self, to: Enclosure, carrying: u8) -> u8 {
        let i = usize::from(to == Enclosure::Starter);
        let (feed, taken) = (&mut self.feed[i], &mut self.feed_carrying[i]);
        if *taken + carrying > FEED_CARRYING_MAX {
            *feed = feed.saturating_add(1);
            *taken = 0;
        }
        *taken += carrying;
        *feed
    }
}

/// A branch circuit at its breaker.
pub(super) struct Branch {
    /// Its leg.
    pub(super) leg: usize,
    /// Its panelboard.
    pub(super) board: boards::Board,
    /// Breaker terminals, one a pole.
    pub(super) hots: Vec<At>,
    /// Phase of each pole.
    pub(super) phases: Vec<u8>,
    /// Its terminal on the neutral bar.
    pub(super) neutral: Option<At>,
}

/// A branch circuit as it comes to the relay panel.
pub(super) struct FeedPts {
    /// Ungrounded conductors.
    pub(super) hots: Vec<Pt>,
    /// Neutral.
    pub(super) neutral: Option<Pt>,
}

impl Circuits<'_> {
    #[allow(clippy::too_many_arguments, reason = "a branch circuit has that many independent properties")]
    pub(super) fn branch(
        &mut self,
        supply: Supply,
        amps: f64,
        duty: Duty,
        label: &str,
        subject: Option<Subject>,
        continuous: bool,
        fed: Fed,
    ) -> Result<Branch, Lost> {
        let board = board_of(self.job, supply)
            .ok_or_else(|| Lost { device: "panelboard".into(), mark: format!("{:.0} V", supply.volts) })?;
        let volts = boards::volts(self.job, board);
        let neutral = to_neutral(self.job, supply);
        let poles = poles(self.job, supply);
        let spaces = self.spaces[board.index()].take(fed, poles);
        let phases: Vec<u8> = spaces.iter().map(|s| panelboard::phase_of(*s, volts.phases())).collect();
        let first = spaces.first().copied().unwrap_or(0);
        let lost = || Lost { device: board.tag().into(), mark: first.to_string() };
        let device = self.loom.inventory.id(Role::Panelboard(board)).ok_or_else(lost)?;
        let panel = &mut self.loom.inventory.devices[usize::from(device.0)];
        let hots =
            panelboard::add_breaker(panel, &spaces, volts.phases()).into_iter().map(|t| At { device, t }).collect();
        let neutral = neutral.then(|| At { device, t: panelboard::add_neutral(panel, &first.to_string()) });
        let circuit_volts = match poles {
            1 => volts.phase_volts(),
            _ => volts.line_volts(),
        };
        let factor = if supply.phases == 3 { 3f64.sqrt() } else { 1.0 };
        let circuit = Circuit {
            name: format!("{}-{first}", board.tag()),
            label: label.into(),
            subject,
            duty,
            class: Class::Power,
            feed: Feed::Panelboard { panel: board.tag().into(), spaces },
            volts: circuit_volts,
            volts_to_ground: volts.phase_volts(),
            phases: supply.phases,
            amps,
            va: factor * circuit_volts * amps,
            continuous,
        };
        let leg = self.circuit_with_leg(circuit, 0.0);
        Ok(Branch { leg, board, hots, phases, neutral })
    }

    /// The branch circuit as it lands on the strip of the relay panel or of the starter panel.
    pub(super) fn feed_pts(&mut self, b: &Branch, to: Enclosure) -> FeedPts {
        let carrying = (b.hots.len() + usize::from(b.neutral.is_some())) as u8;
        let group = Group::Feed(self.spaces[b.board.index()].feed(to, carrying));
        let ft = boards::feed_ft(self.job, b.board, to);
        let hub = if to == Enclosure::Starter { Hub::Starters } else { Hub::Panel };
        let pt = |at: At| Pt { at, hub, out: Some((group, ft)), inward: true, leg: Some(b.leg) };
        FeedPts { hots: b.hots.iter().map(|a| pt(*a)).collect(), neutral: b.neutral.map(pt) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_core::PumpId;

    #[test]
    fn what_does_not_fit_on_its_side_goes_to_the_other() {
        let mut s = Spaces::default();
        // Fourteen three-pole breakers fill 42 spaces of a side.
        let pumps: Vec<Vec<u8>> = (0..16).map(|p| s.take(Fed::Pump(PumpId(p)), 3)).collect();
        assert_eq!(pumps[0], [1, 3, 5]);
        assert_eq!(pumps[13], [79, 81, 83]);
        assert_eq!(pumps[14], [2, 4, 6], "the fifteenth starts the right side");
        assert_eq!(s.take(Fed::Beacon, 1), [14]);
        // Twelve more fill the right side too, but for two spaces; then the panelboard is too small, and a rule says so.
        let more: Vec<Vec<u8>> = (16..30).map(|p| s.take(Fed::Pump(PumpId(p)), 3)).collect();
        assert_eq!(more[10], [76, 78, 80]);
        assert_eq!(more[11], [85, 87, 89]);
        assert_eq!(s.take(Fed::Receptacles, 1), [82]);
    }
}
