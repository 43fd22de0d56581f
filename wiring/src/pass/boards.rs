//! Which panelboard feeds what, and which enclosure holds what switches it.
//!
//! A plant has one panelboard (A2), or two: A2 on a service without 120 V and, behind a dry-type transformer TP1 of ours, A3 with
//! 120/240 V. A load hangs on the first whose system has its voltage: line to neutral within 6 per cent, line to line within 6
//! per cent with as many phases as there are. 480Y/277 V and 120/240 V have no voltage in common, so nothing is ambiguous.
//!
//! What switches a motor stands in the relay panel; contactors and starters on the first panelboard stand in the starter panel
//! where the job has one (our choice: 480 V then stays out of the enclosure that is opened to look at the controller).

use crate::{
    device::PlaceId,
    job::{Job, Service, ServiceVolts, Supply},
    plan::MotorSwitch,
};

/// How far a rated voltage may be from that of the system: 115 on 120, 230 on 240, 460 on 480 V (our choice).
const NEAR: f64 = 0.06;

/// A panelboard of the job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Board {
    /// The one on the service.
    Main,
    /// The one behind the transformer.
    Second,
}

/// An enclosure that holds what switches motors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Enclosure {
    /// The relay panel.
    Relay,
    /// The starter panel.
    Starter,
}

impl Board {
    /// Its tag.
    pub fn tag(self) -> &'static str {
        match self {
            Self::Main => "A2",
            Self::Second => "A3",
        }
    }

    /// Its place in a list by board.
    pub fn index(self) -> usize {
        match self {
            Self::Main => 0,
            Self::Second => 1,
        }
    }
}

/// The panelboards of a job.
pub fn boards(job: &Job) -> &'static [Board] {
    job.service.boards()
}

/// The voltages of a panelboard.
pub fn volts(job: &Job, board: Board) -> ServiceVolts {
    job.service.volts_of(board)
}

/// Where a panelboard stands.
pub fn place(job: &Job, board: Board) -> PlaceId {
    match (board, job.service.step_down) {
        (Board::Second, Some(s)) => s.panelboard,
        _ => job.service.panelboard,
    }
}

impl Service {
    /// True when this supply is one phase and neutral of the panelboard that feeds it.
    pub fn to_neutral(&self, s: Supply) -> bool {
        self.board_of(s).is_some_and(|b| phase_to_neutral(self.volts_of(b), s))
    }

    /// Cable way from the panelboard that feeds this supply to the relay panel, feet.
    pub fn to_relay_panel_ft(&self, s: Supply) -> f64 {
        match (self.board_of(s), self.step_down) {
            (Some(Board::Second), Some(down)) => down.to_relay_panel_ft,
            _ => self.to_relay_panel_ft,
        }
    }

    fn boards(&self) -> &'static [Board] {
        if self.step_down.is_some() { &[Board::Main, Board::Second] } else { &[Board::Main] }
    }

    fn volts_of(&self, board: Board) -> ServiceVolts {
        match board {
            Board::Main => self.volts,
            Board::Second => ServiceVolts::Single120240,
        }
    }

    fn board_of(&self, s: Supply) -> Option<Board> {
        self.boards().iter().copied().find(|b| on(self.volts_of(*b), s).is_some())
    }
}

fn near(volts: f64, rated: f64) -> bool {
    (volts / rated - 1.0).abs() < NEAR
}

fn phase_to_neutral(v: ServiceVolts, s: Supply) -> bool {
    s.phases == 1 && near(s.volts, v.phase_volts())
}

/// The volts that a system gives this supply; `None` where it does not have them.
fn on(v: ServiceVolts, s: Supply) -> Option<f64> {
    if phase_to_neutral(v, s) {
        return Some(v.phase_volts());
    }
    let phases_there = s.phases == 1 || (s.phases == 3 && v.phases() == 3);
    (near(s.volts, v.line_volts()) && phases_there).then(|| v.line_volts())
}

/// Volts between the lines of the panelboard that a load hangs on; the load's own where none has them.
pub fn line_volts(job: &Job, s: Supply) -> f64 {
    board_of(job, s).map_or(s.volts, |b| volts(job, b).line_volts())
}

/// The panelboard that has this supply's voltage.
pub fn board_of(job: &Job, s: Supply) -> Option<Board> {
    job.service.board_of(s)
}

/// True when this supply is one phase and neutral of the panelboard that feeds it.
pub fn to_neutral(job: &Job, s: Supply) -> bool {
    job.service.to_neutral(s)
}

/// Where a motor's contactor, starter or relay contact stands.
pub fn enclosure_of(job: &Job, switch: MotorSwitch, s: Supply) -> Enclosure {
    let apart = matches!(switch, MotorSwitch::Contactor | MotorSwitch::Starter);
    if apart && job.starter_panel.is_some() && board_of(job, s) == Some(Board::Main) {
        Enclosure::Starter
    } else {
        Enclosure::Relay
    }
}

/// The place of an enclosure.
pub fn place_of(job: &Job, e: Enclosure) -> PlaceId {
    match (e, &job.starter_panel) {
        (Enclosure::Starter, Some(p)) => p.place,
        _ => job.panel.place,
    }
}

/// True when a panelboard's breakers, lockable open, are in sight of an enclosure and within 50 ft.
pub fn in_sight(job: &Job, board: Board, e: Enclosure) -> bool {
    match (board, e) {
        (Board::Main, Enclosure::Relay) => job.service.in_sight_of_relay_panel,
        (Board::Main, Enclosure::Starter) => job.starter_panel.as_ref().is_some_and(|p| p.in_sight_of_panelboard),
        (Board::Second, Enclosure::Relay) => job.service.step_down.is_some_and(|s| s.in_sight_of_relay_panel),
        (Board::Second, Enclosure::Starter) => false,
    }
}

/// Cable way from a panelboard to an enclosure, feet.
pub fn feed_ft(job: &Job, board: Board, e: Enclosure) -> f64 {
    let second = job.service.step_down.map_or(0.0, |s| s.to_relay_panel_ft);
    match (board, e, &job.starter_panel) {
        (Board::Main, Enclosure::Starter, Some(p)) => p.to_panelboard_ft,
        (Board::Main, ..) => job.service.to_relay_panel_ft,
        (Board::Second, Enclosure::Starter, Some(p)) => second + p.from_relay_panel_ft,
        (Board::Second, ..) => second,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{library, mill};

    fn supply(volts: f64, phases: u8) -> Supply {
        Supply { volts, phases }
    }

    #[test]
    fn each_voltage_has_its_board() {
        let job = mill();
        for (volts, phases, board, neutral) in [
            (480.0, 3, Some(Board::Main), false),
            (460.0, 3, Some(Board::Main), false),
            (480.0, 1, Some(Board::Main), false),
            (277.0, 1, Some(Board::Main), true),
            (120.0, 1, Some(Board::Second), true),
            (115.0, 1, Some(Board::Second), true),
            (240.0, 1, Some(Board::Second), false),
            (208.0, 3, None, false),
            (240.0, 3, None, false),
        ] {
            let s = supply(volts, phases);
            assert_eq!((board_of(&job, s), to_neutral(&job, s)), (board, neutral), "{volts} V, {phases}");
        }
    }

    #[test]
    fn one_board_as_before() {
        let job = library();
        assert_eq!(boards(&job), [Board::Main]);
        assert_eq!(board_of(&job, supply(208.0, 3)), Some(Board::Main));
        assert!(to_neutral(&job, supply(120.0, 1)));
        assert_eq!(board_of(&job, supply(480.0, 3)), None);
        assert_eq!(enclosure_of(&job, MotorSwitch::Starter, supply(208.0, 3)), Enclosure::Relay);
    }
}
