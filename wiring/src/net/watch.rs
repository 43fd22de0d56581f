//! What is looked at, and what can be seen there.
//!
//! Limits (our choice): a load is live from 85 to 115 % of its rated volts and dead below 15 %; between, something stands in
//! series with it or it sits on the wrong system. 85 % is the least at which most actuators and contactors are rated to
//! work (common practice).

use heatwright_core::{AnalogId, ContactId, SensorId};

use crate::part::LoadUse;

/// Least share of rated volts at which a load works.
pub const LIVE_MIN: f64 = 0.85;
/// Highest share of rated volts that a load stands.
pub const LIVE_MAX: f64 = 1.15;
/// Highest share of rated volts of a load that counts as dead.
pub const DEAD_MAX: f64 = 0.15;
/// Share of rated volts at which a coil pulls in (contactors are rated from 85 %, common practice).
pub const PULL_IN: f64 = 0.85;
/// Share of rated volts below which a coil drops out (our choice inside the usual range of 20 to 75 %).
pub const DROP_OUT: f64 = 0.50;
/// Volts to the reference from which a contact, sensor or signal input counts as touched by another supply.
pub const FOREIGN_V: f64 = 1.0;

/// What is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum What {
    /// Power at a load.
    Load(LoadUse),
    /// A coil of a relay, contactor or starter.
    Coil,
    /// A contact input of the controller.
    Input(ContactId),
    /// A sensor input of the controller.
    Sensor(SensorId),
    /// A 0-10 V input in the field, by the output that it expects.
    Signal(AnalogId),
    /// A metal part that must be bonded to ground.
    Bonded,
    /// How many ends of a shield stand on ground: the row's place in the schedule.
    Shield(u16),
    /// Which pole of a supply stands on ground.
    Tie,
    /// Volts at the primary of a transformer.
    Primary,
    /// An ohmmeter across a contact, power off, everything at rest.
    Continuity,
    /// An ohmmeter from a circuit to ground and to all other circuits, power off.
    Insulation,
}

/// One thing that is looked at, and where.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Watch {
    /// What.
    pub what: What,
    /// Its first terminal in the network.
    pub terminal: u32,
    /// Rated volts of a load, coil or primary, of a transformer's secondary where insulation is tested, whole volts; 0 for
    /// others.
    pub volts: u16,
}

/// What is seen at one watch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Seen {
    /// Load or coil without power.
    Dead,
    /// Load without power whose terminals still stand at line voltage to ground: the grounded side was switched.
    DeadButHot,
    /// Load with its rated power; coil pulled in.
    Live,
    /// Live with line and grounded side exchanged (loads, and coils of a grounded circuit), or a three-phase motor turning
    /// backwards.
    LiveReversed,
    /// Load at this many thousandths of its rated volts: something is in series, a phase is missing, or the system is wrong.
    Odd(u16),
    /// Input open.
    Open,
    /// Input closed.
    Closed,
    /// Input that sees a path through a load, coil or sensor: neither open nor closed.
    Sneak,
    /// Another supply's voltage on an input.
    Foreign,
    /// Sensor or signal input with nothing on it.
    Nothing,
    /// The element or output with that id.
    Id(u8),
    /// The signal output with that id, plus and minus exchanged.
    IdReversed(u8),
    /// Sensor input whose terminals are joined.
    Joined,
    /// More than one element or output at once.
    Mixed,
    /// Bonded to ground.
    Bonded,
    /// Not bonded to ground.
    Loose,
    /// Ends of a shield on ground.
    Ends(u8),
    /// No pole of the supply on ground.
    TieNone,
    /// Its live pole on ground.
    TieHot,
    /// Its return pole on ground.
    TieReturn,
    /// Its system stands on ground at neither of its poles.
    TieOther,
    /// Contact that stands as it must at rest.
    AtRest,
    /// Contact that is open at rest, and yet its terminals are joined.
    Bypassed,
    /// Contact that is closed at rest, and yet its terminals are not joined.
    Parted,
    /// Circuit by itself.
    Clear,
    /// Circuit joined with others of its kind at one device only: the place of the first of them among the watches.
    Among(u16),
    /// Circuit joined with one of another kind or with another supply: the place of the first of them.
    Touches(u16),
    /// Circuit on ground.
    OnGround,
}

/// Something that is wrong in itself, whatever was expected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Trouble {
    /// Two poles of different potential are joined: terminals and volts between them.
    Short {
        /// One terminal.
        a: u32,
        /// Other terminal.
        b: u32,
        /// Volts that the path shorts.
        volts: u16,
    },
    /// Two supplies that must stay apart are joined.
    SuppliesJoined {
        /// A terminal of one.
        a: u32,
        /// A terminal of the other.
        b: u32,
    },
    /// A coil stands between drop-out and pull-in: whether it is in depends on what was before.
    WeakCoil {
        /// The coil's first terminal.
        at: u32,
    },
    /// Coils that never come to rest.
    Unsettled {
        /// First terminal of one of them.
        at: u32,
    },
    /// Coils that hold themselves: the state depends on what was before.
    Latching {
        /// First terminal of one of them.
        at: u32,
    },
}
