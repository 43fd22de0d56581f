//! Everything that the controller carries from one tick to the next.
//!
//! It splits into what the machines decided (`control`), what laws have reached (`laws`), what was counted (`meter`) and
//! what was last seen (`held`). Two states that are equal will do the same for ever on the same inputs, and state the same. One
//! thing lies outside: the outputs that a tick is given say which relays were on, and a relay that goes on is counted
//! (`meter`); so a tick is given those of the last tick. Times are moments of the controller's own clock; [`State::rebased`] moves them all so that "now" is one fixed
//! moment, which makes states of different times comparable.

use crate::{
    boilers::{Boiler, BoilerState},
    call::ZoneCalls,
    config::Config,
    damper::Damper,
    enable::Enable,
    guard::{Guard, hot::HotCuts, proofs::Proofs, sensors::Sensors},
    heat::Frost,
    inputs::Inputs,
    known::Known,
    laws::Laws,
    limits::BOILERS,
    mask::Mask,
    memory::Memory,
    meter::Meter,
    points::ContactUse,
    pumps::PumpStates,
    purge::Purge,
    reset::ResetState,
    rotation::Rotation,
    staging::{Staging, low::LowLoad},
    switches::Switches,
    tank::TankState,
    units::Instant,
};

/// What the machines decided.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Control {
    /// Season and setback.
    pub reset: ResetState,
    /// Calls of the zones.
    pub zones: ZoneCalls,
    /// The tank.
    pub tank: TankState,
    /// Switches of the circulators.
    pub switches: Switches,
    /// Circulators.
    pub pumps: PumpStates,
    /// A circulator was last started here.
    pub pump_started: Option<Instant>,
    /// Boilers.
    pub boilers: [Boiler; BOILERS],
    /// No water has flowed since, while a boiler without a pump of its own had a demand; zero while that is not so.
    pub still_since: Instant,
    /// Which boilers are wanted.
    pub staging: Staging,
    /// No zone has wanted heat since, though boilers are wanted that could still give it.
    pub lull: Option<Instant>,
    /// Whether one boiler is too much.
    pub low_load: LowLoad,
    /// Who leads.
    pub rotation: Rotation,
    /// The damper.
    pub damper: Damper,
    /// Heat purge.
    pub purge: Purge,
    /// Safeties.
    pub guard: Guard,
    /// Sensors.
    pub sensors: Sensors,
    /// Proofs.
    pub proofs: Proofs,
    /// Boilers cut by their own hot water.
    pub hot: HotCuts,
    /// Whether the plant runs.
    pub enable: Enable,
    /// Frost.
    pub frost: Frost,
}

/// The controller's state.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct State {
    /// What the machines decided.
    pub control: Control,
    /// What the laws have reached.
    pub laws: Laws,
    /// What was counted.
    pub meter: Meter,
    /// The inputs of the last tick.
    pub held: Inputs,
    /// The last tick.
    pub at: Instant,
    /// The earliest moment at which something can change while the inputs stay.
    pub(crate) due: Option<Instant>,
    /// What follows from the configuration alone.
    pub(crate) known: Known,
}

impl State {
    /// The state at power-up, instant zero, with what survived the power cut. The acknowledge button is held to have
    /// been closed: one that sticks was not pressed.
    pub fn new(config: &Config, memory: Option<&Memory>) -> Self {
        let mut held = Inputs::default();
        if let Some(button) = config.points.contact(ContactUse::Acknowledge) {
            held.set(button, true);
        }
        let mut boilers = [Boiler::off(Instant::ZERO); BOILERS];
        if let Some(m) = memory {
            for ((i, b), _) in boilers.iter_mut().enumerate().zip(&config.boilers) {
                *b = m.boiler(i);
            }
        }
        Self {
            control: Control {
                reset: ResetState::default(),
                zones: ZoneCalls::default(),
                tank: TankState::default(),
                switches: Switches::default(),
                pumps: PumpStates::standing(Instant::ZERO),
                pump_started: None,
                boilers,
                still_since: Instant::ZERO,
                staging: Staging::default(),
                lull: None,
                low_load: LowLoad::default(),
                rotation: memory.map(|m| m.rotation).unwrap_or_default(),
                damper: memory.map(Memory::damper).unwrap_or_default(),
                purge: Purge::default(),
                guard: memory.map(|m| m.guard).unwrap_or_default(),
                sensors: Sensors::default(),
                proofs: memory.map(Memory::proofs).unwrap_or_default(),
                hot: memory.map(Memory::hot).unwrap_or_default(),
                enable: Enable::default(),
                frost: Frost::default(),
            },
            laws: Laws::default(),
            meter: memory.map(|m| m.meter).unwrap_or_default(),
            held,
            at: Instant::ZERO,
            due: Some(Instant::ZERO),
            known: Known::of(config),
        }
    }

    /// True while this is the configuration that the state was made for, as far as a tick relies on it: one with other points,
    /// zones or proofs needs a new state.
    pub fn belongs_to(&self, config: &Config) -> bool {
        self.known == Known::of(config)
    }

    /// What must survive a power cut now.
    pub fn memory(&self) -> Memory {
        Memory {
            meter: self.meter,
            rotation: self.control.rotation,
            guard: self.control.guard,
            lockouts: self.control.boilers.map(|b| match b.state {
                BoilerState::LockedOut { why, .. } => Some(why),
                BoilerState::Off { .. }
                | BoilerState::Flow { .. }
                | BoilerState::Air { .. }
                | BoilerState::Lighting { .. }
                | BoilerState::Firing { .. }
                | BoilerState::Holding { .. }
                | BoilerState::Retry { .. } => None,
            }),
            tried: {
                let mut tried = Mask::NONE;
                for (i, b) in (0u8..).zip(&self.control.boilers) {
                    tried.add_if(i, b.tried);
                }
                tried
            },
            damper_failed: self.control.damper == Damper::Failed,
            damper_missed: self.control.damper.failed_once(),
            damper_stuck: self.control.proofs.damper_stuck,
            damper_lost: self.control.proofs.damper_lost,
            hot_cuts: self.control.hot.often,
        }
    }
}
