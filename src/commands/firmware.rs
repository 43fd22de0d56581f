//! `firmware`: the configuration block and the pin map for a board.

use super::{Common, Failure, PlantFile};
use crate::{
    files,
    finding::Finding,
    show::{Report, Table, points},
};
use clap::Args;
use heatwright_core::{Severity, Subject, blob};
use std::path::PathBuf;

/// Configuration block and pin map for a board.
#[derive(Debug, Args)]
pub(super) struct Firmware {
    #[command(flatten)]
    file: PlantFile,
    /// Write the configuration block to this file.
    #[arg(long, value_name = "FILE")]
    block: Option<PathBuf>,
}

impl Firmware {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        if let Some(path) = &self.block {
            super::plot::apart(path, common)?;
        }
        let loaded = self.file.read()?;
        loaded.need_controller("firmware")?;
        let mut room = [0; blob::BYTES_MAX];
        let length = blob::encode(&loaded.config, &mut room).map_err(|_| {
            let most = blob::BYTES_MAX;
            Finding::new(
                "B01",
                Severity::Error,
                Subject::Plant,
                format!("the configuration is longer than {most} bytes"),
            )
            .hint("split the plant between two controllers")
        })?;
        let block = room.get(..length).unwrap_or_default();
        // What is handed out is what a board will take: read back as it does.
        let mut back = blob::blank();
        if blob::decode(block, &mut back) != Ok(&loaded.config) {
            let sentence = "the configuration block does not read back as it was written; do not use it";
            return Err(Finding::new("B02", Severity::Error, Subject::Plant, sentence).into());
        }
        if let Some(path) = &self.block {
            files::write_whole(path, block, common.force)?;
        }
        let fingerprint = format!("{:08x}", blob::fingerprint(block));
        let elements: Vec<_> = loaded.plant.sensors.iter().map(|s| s.element).collect();
        let map = points::pin_map(&loaded.points, &loaded.names, &elements);
        let mut r = Report::of(&loaded.source, format!("Board of {}", loaded.plant.site.name));
        r.text(format!(
            "Configuration block: version {}, {length} bytes, fingerprint {fingerprint}. {} A board that shows another fingerprint runs \
             another configuration; one that refuses its block holds every output at its safe side, with the health relay dropped.",
            blob::VERSION,
            match &self.block {
                Some(path) => format!("Written to {}.", path.display()),
                None => "Not written: add --block FILE.".into(),
            }
        ));
        r.heading("Pin map");
        let mut t = Table::new(&["Point", "Id", "Serves", "On means"]);
        for p in &map {
            t.row([p.point.clone(), p.id.clone().unwrap_or_default(), p.serves.clone(), p.on.to_owned()]);
        }
        r.main_table(t);
        r.json = serde_json::json!({
            "version": blob::VERSION,
            "bytes": length,
            "fingerprint": fingerprint,
            "points": map,
        });
        Ok(r)
    }
}
