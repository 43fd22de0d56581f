//! The command: arguments in, one call, an exit code out.

use clap::Parser;
use heatwright::commands::{Cli, run};
use std::process::ExitCode;

fn main() -> ExitCode {
    run(&Cli::parse()).into()
}
