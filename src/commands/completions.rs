//! `completions`: completions for a shell, made from the same arguments.

use super::{Cli, Common, Failure};
use crate::show::Report;
use clap::{Args, CommandFactory};

/// Completions for a shell.
#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell.
    #[arg(value_enum)]
    shell: clap_complete::Shell,
}

impl Completions {
    pub(super) fn run(&self, _common: &Common) -> Result<Report, Failure> {
        let mut out = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "heatwright", &mut out);
        Ok(Report::verbatim(&String::from_utf8_lossy(&out)))
    }
}
