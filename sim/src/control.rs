//! Who decides: the controller as the run sees it.
//!
//! A run hands over one snapshot of inputs a step and gets every output back. Whether the controller lives in this process,
//! in an emulator or behind a serial port is the implementation's affair; a lost link is an error of the run, never a
//! silent "all off".

use heatwright_core::{
    Config, Inputs, Instant, Outputs, Temp, ZoneId, mixing,
    quiet::{Asks, Quiet, take_down},
    tick_for,
};

/// What can go wrong between the run and its controller.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LinkError {
    /// No answer in time.
    #[error("the controller gave no answer in time")]
    Silent,
    /// An answer that cannot be read.
    #[error("the controller's answer could not be read")]
    Garbled,
    /// The other end is gone.
    #[error("the link to the controller was closed")]
    Closed,
    /// The controller states other outputs, or stands elsewhere, than the same logic in this process.
    #[error("the controller at the other end does otherwise than the same logic in this process")]
    Differs,
}

/// The controller.
pub trait Control {
    /// One tick: reads `inputs`, writes every field of `outputs`. `now` never falls.
    ///
    /// An implementation may skip work that changes nothing, that is, while the inputs are those of its last tick and
    /// [`next_due`](Control::next_due) lies ahead; `outputs` must then hold what that tick stated.
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError>;

    /// True when a tick at `now` with these inputs would change no output. Then it need not be made: the inputs have been noted.
    /// By default every tick is made.
    fn leaves_out(&mut self, _now: Instant, _inputs: &Inputs) -> bool {
        false
    }

    /// Notes a step in the bands of [`quiet`](Self::quiet), of which [`leaves_out`](Self::leaves_out) would have said yes.
    fn leave_out(&mut self, now: Instant, inputs: &Inputs) {
        let left_out = self.leaves_out(now, inputs);
        debug_assert!(left_out, "a step that had to be asked about was not");
    }

    /// Until when, and in which bands of its readings, [`leaves_out`](Self::leaves_out) answers yes while no contact moves. Of
    /// such steps only the last before the next question need be noted by it. By default every step is asked about.
    fn quiet(&self) -> Option<&Quiet> {
        None
    }

    /// The moment by which the controller must be asked again if its inputs stay as they are; `None` for never.
    fn next_due(&self) -> Option<Instant>;

    /// What the mixing valve of a zone is told to hold since the last tick; `None` while it is shut and nothing is held, and by default.
    fn mixed_target(&self, _zone: ZoneId) -> Option<Temp> {
        None
    }
}

/// The same of a controller by its configuration and state.
pub fn mixed_target(config: &Config, state: &heatwright_core::State, zone: ZoneId) -> Option<Temp> {
    let mix = config.zones.get(zone.index())?.mix.as_ref()?;
    let (reset, laws) = (&config.reset, &state.laws);
    laws.basis.mixing.has(zone.0).then(|| mixing::target(mix, reset, laws.outdoor.value(reset), laws.basis.asked))
}

/// The control logic in this process, ticked only when something is due or an input says something new.
///
/// A reading that moves within the band in which it changes nothing ([`Quiet`]) brings no tick; it is taken down before the
/// next one. Ticking every step ends in the same states and outputs, and a test holds it to that.
#[derive(Clone, Debug)]
pub struct InProcess {
    config: Config,
    state: heatwright_core::State,
    quiet: Option<Quiet>,
    /// The inputs of the last step that was left out, and when that was.
    left_out: Option<(Instant, Inputs)>,
    /// The moment at which a tick was last said to be needed.
    needed: Option<Instant>,
    /// The moment at which only mixing valves were said to move: the state is there already.
    signals: Option<Instant>,
    ticks: u64,
}

impl InProcess {
    /// A controller that powers up without memory.
    pub fn new(config: Config) -> Self {
        let state = heatwright_core::State::new(&config, None);
        Self { config, state, quiet: None, left_out: None, needed: None, signals: None, ticks: 0 }
    }

    /// Where the controller stood after its last tick.
    pub fn state(&self) -> &heatwright_core::State {
        &self.state
    }

    /// Ticks that were needed so far.
    pub fn ticks(&self) -> u64 {
        self.ticks
    }

    /// Takes down what was seen since the last tick.
    fn take_down(&mut self) {
        if let Some((at, inputs)) = self.left_out.take() {
            take_down(&self.config, &mut self.state, at, &inputs);
        }
    }

    /// True when a tick at `now` would do nothing but take down the readings.
    fn may_leave_out(&mut self, now: Instant, inputs: &Inputs) -> bool {
        let Some(quiet) = &self.quiet else { return false };
        if !quiet.same(inputs) {
            return false;
        }
        if quiet.until().is_none_or(|t| now < t) {
            return true;
        }
        // The readings that stood before this moment say whether and where a law moves.
        self.take_down();
        let Some(quiet) = &mut self.quiet else { return false };
        let asks = quiet.step(&self.config, &mut self.state, now, inputs);
        self.signals = (asks == Asks::Signals).then_some(now);
        asks == Asks::Nothing
    }
}

impl Control for InProcess {
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        // Asked a moment ago, it is not asked again; a tick too many does no harm.
        if self.needed.take() != Some(now) && self.leaves_out(now, inputs) {
            return Ok(());
        }
        if self.signals.take() == Some(now) {
            Quiet::signals(&self.config, &self.state, outputs);
            return Ok(());
        }
        self.take_down();
        self.ticks += 1;
        let machines = tick_for(&self.config, &mut self.state, now, inputs, outputs);
        self.quiet = Some(Quiet::after(&self.config, &self.state, machines));
        Ok(())
    }

    fn leaves_out(&mut self, now: Instant, inputs: &Inputs) -> bool {
        let may = self.may_leave_out(now, inputs);
        if may {
            self.left_out = Some((now, *inputs));
        } else {
            self.needed = Some(now);
        }
        may
    }

    fn leave_out(&mut self, now: Instant, inputs: &Inputs) {
        debug_assert!(self.quiet.as_ref().is_some_and(|q| q.covers(now, inputs)), "a step that had to be asked about");
        self.left_out = Some((now, *inputs));
    }

    fn quiet(&self) -> Option<&Quiet> {
        self.quiet.as_ref()
    }

    fn next_due(&self) -> Option<Instant> {
        match &self.quiet {
            Some(q) => q.until(),
            None => heatwright_core::next_due(&self.state),
        }
    }

    fn mixed_target(&self, zone: ZoneId) -> Option<Temp> {
        mixed_target(&self.config, &self.state, zone)
    }
}
