//! Exit codes, in one place.

use std::process::ExitCode;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// 0: done, nothing found.
    Clean,
    /// 1: done, with findings at or over the level of `--deny`, or a proof with survivors.
    Findings,
    /// 2: the input cannot be used; nothing was written.
    Unusable,
    /// 3: a property that every run must keep did not hold.
    Broken,
}

impl From<Exit> for ExitCode {
    fn from(e: Exit) -> ExitCode {
        ExitCode::from(match e {
            Exit::Clean => 0,
            Exit::Findings => 1,
            Exit::Unusable => 2,
            Exit::Broken => 3,
        })
    }
}
