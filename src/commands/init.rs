//! `init`: a commented plant file to start from.

use super::{Common, Failure};
use crate::{
    files,
    show::{Block, Report},
};
use clap::Args;
use std::path::PathBuf;

/// The smaller of the two examples: one boiler and two zones, every line explained.
const START: &str = include_str!("../../docs/examples/workshop.toml");

/// Write a commented plant file to start from.
#[derive(Debug, Args)]
pub(super) struct Init {
    /// The file to write; without it the text goes to the screen.
    #[arg(value_name = "FILE")]
    file: Option<PathBuf>,
}

impl Init {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let Some(path) = &self.file else {
            return Ok(Report::verbatim(START));
        };
        files::write_whole(path, START.as_bytes(), common.force)?;
        let mut r = Report::new("A plant file to start from");
        r.text(format!("{} is written: one boiler, two zones, every line explained.", path.display()));
        r.push(Block::Lines(format!(
            "Next:\n  edit it\n  heatwright check {0}\n  heatwright simulate {0}",
            path.display()
        )));
        r.json = serde_json::json!({ "written": path });
        Ok(r)
    }
}
