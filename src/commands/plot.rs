//! `--plot`: where a chart goes. The name is judged before anything is computed; the file is written whole or not at all.

use super::{Common, Failure};
use crate::{files, finding::Finding};
use clap::Args;
use heatwright_core::{Severity, Subject};
use std::path::{Path, PathBuf};

/// A chart beside the report.
#[derive(Debug, Args)]
pub(super) struct Plot {
    /// Draw a chart into this file, FILE.svg.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
}

impl Plot {
    /// True when a chart is wanted.
    pub(super) fn wanted(&self) -> bool {
        self.plot.is_some()
    }

    /// Refuses a file that a chart cannot go to, before time is spent.
    pub(super) fn judge(&self, common: &Common) -> Result<(), Failure> {
        match &self.plot {
            Some(path) => target(path, &["svg"], "a chart", common),
            None => Ok(()),
        }
    }

    /// Writes the chart, if one is wanted.
    pub(super) fn write(&self, common: &Common, chart: impl FnOnce() -> String) -> Result<(), Failure> {
        match &self.plot {
            Some(path) => Ok(files::write_whole(path, chart().as_bytes(), common.force)?),
            None => Ok(()),
        }
    }
}

/// Refuses a file name whose ending says another form, a folder, a file that is there already, a folder that is not there.
pub(super) fn target(path: &Path, endings: &[&str], what: &str, common: &Common) -> Result<(), Failure> {
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    if !ending.is_some_and(|e| endings.contains(&e.as_str())) {
        let allowed = endings.iter().map(|e| format!(".{e}")).collect::<Vec<_>>().join(" or ");
        return Err(Finding::new(
            "F06",
            Severity::Error,
            Subject::Plant,
            format!("{} does not end in {allowed}, and {what} is written in no other form", path.display()),
        )
        .hint(format!("name a file that ends in {allowed}"))
        .into());
    }
    apart(path, common)?;
    Ok(files::may_write(path, common.force)?)
}

/// Refuses a file that the result itself goes to: the later one would be written over the earlier.
pub(super) fn apart(path: &Path, common: &Common) -> Result<(), Failure> {
    let Some(output) = &common.output else { return Ok(()) };
    if path != output && !files::same_place(path, output) {
        return Ok(());
    }
    let sentence =
        format!("{} is named twice: for the result (--output) and for another file of this run", path.display());
    Err(Finding::new("F09", Severity::Error, Subject::Plant, sentence).hint("name a file of its own for each").into())
}
