//! `schema`: the JSON Schema of the plant file.

use super::{Common, Failure};
use crate::{plant, show::Report};
use clap::Args;

/// JSON Schema of the plant file, for an editor.
#[derive(Debug, Args)]
pub(super) struct Schema {}

impl Schema {
    pub(super) fn run(&self, _common: &Common) -> Result<Report, Failure> {
        Ok(Report::verbatim(&plant::schema::schema_json()))
    }
}
