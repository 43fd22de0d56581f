//! Who decides: the controller as the run sees it.
//!
//! A run hands over one snapshot of inputs a step and gets every output back. Whether the controller lives in this process,
//! in an emulator or behind a serial port is the implementation's affair; a lost link is an error of the run, never a
//! silent "all off".

use heatwright_core::{Config, Inputs, Instant, Outputs};

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
    /// The controller runs another version of the protocol or another configuration.
    #[error("the controller at the other end does not run this plant's configuration")]
    Mismatch,
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

    /// The moment by which the controller must be asked again if its inputs stay as they are; `None` for never.
    fn next_due(&self) -> Option<Instant>;
}

/// The control logic in this process, ticked only when something is due.
#[derive(Clone, Debug)]
pub struct InProcess {
    config: Config,
    state: heatwright_core::State,
    last: Option<Inputs>,
    ticks: u64,
}

impl InProcess {
    /// A controller that powers up without memory.
    pub fn new(config: Config) -> Self {
        let state = heatwright_core::State::new(&config, None);
        Self { config, state, last: None, ticks: 0 }
    }

    /// Where the controller stands.
    pub fn state(&self) -> &heatwright_core::State {
        &self.state
    }

    /// Ticks that were needed so far.
    pub fn ticks(&self) -> u64 {
        self.ticks
    }
}

impl Control for InProcess {
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        // Wall-clock time that merely runs on is no new input; what a schedule or calendar does with it is due by itself.
        let same = self.last.is_some_and(|l| {
            l.contacts == inputs.contacts && l.sensors == inputs.sensors && l.civil.is_some() == inputs.civil.is_some()
        });
        if same && self.next_due().is_none_or(|due| now < due) {
            return Ok(());
        }
        self.last = Some(*inputs);
        self.ticks += 1;
        heatwright_core::tick(&self.config, &mut self.state, now, inputs, outputs);
        Ok(())
    }

    fn next_due(&self) -> Option<Instant> {
        heatwright_core::next_due(&self.config, &self.state)
    }
}
