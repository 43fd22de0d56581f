//! `wire`: the wiring schedule, its proof, its readings, its revision, its workbook.

mod diff;
mod proof;
mod readings;

use super::{Common, Failure, PlantFile, plan, plot::target};
use crate::{
    field::prove,
    files,
    finding::Finding,
    plant::Loaded,
    show::{Format, Report, legend, units::In, wiring as show, workbook},
};
use clap::{Args, ValueEnum};
use heatwright_core::{Severity, Subject};
use heatwright_wiring::{job::Job, plan::Plan, row::Class};
use std::path::PathBuf;

/// What the schedule is sorted by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum By {
    /// Circuit by circuit, every conductor.
    Wire,
    /// What lands on each terminal, device by device.
    Device,
    /// Raceways and cables.
    Run,
    /// What lies in each raceway and cable, conductor by conductor.
    Cable,
    /// Jumper bars of the terminal strips.
    Bar,
    /// The panelboard's directory.
    Directory,
    /// Motors: switch, overload, disconnect.
    Motor,
    /// Transformers and their loads.
    Transformer,
    /// What to buy.
    Material,
    /// Labels to print.
    Label,
}

/// The wiring schedule, terminal by terminal, and its proof.
#[derive(Debug, Args)]
pub(super) struct Wire {
    #[command(flatten)]
    file: PlantFile,
    /// Which list, or several with commas between [default: wire].
    #[arg(long, value_enum, value_delimiter = ',', value_name = "LIST", conflicts_with_all = ["prove", "readings", "diff"])]
    by: Vec<By>,
    /// Prove the schedule: rebuild the network from it, look at it in every position, plant every fault once.
    #[arg(long)]
    #[arg(conflicts_with_all = ["readings", "diff"])]
    prove: bool,
    /// What a meter shows: the voltage between terminals in each state of the checkout.
    #[arg(long, conflicts_with = "diff")]
    readings: bool,
    /// What this schedule adds, moves, changes and drops against an older one, as `wire --format json` wrote it: wires, breakers,
    /// panel spaces, devices, motors, runs.
    #[arg(long, value_name = "OLD.json")]
    diff: Option<PathBuf>,
    /// Write the schedule as a workbook too: filters, frozen heads, a box to tick on every line.
    #[arg(long, value_name = "FILE.xlsx")]
    xlsx: Option<PathBuf>,
    /// Write the network with everything called for as a netlist for a circuit simulator too.
    #[arg(long, value_name = "FILE.cir")]
    netlist: Option<PathBuf>,
}

impl Wire {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        if let Some(path) = &self.xlsx {
            target(path, &["xlsx"], "a workbook", common)?;
        }
        if let Some(path) = &self.netlist {
            target(path, &["cir"], "a netlist", common)?;
        }
        if self.by.len() > 1 && common.format == Format::Csv {
            let sentence = "a CSV holds one list, and --by names several";
            return Err(Finding::new("F10", Severity::Error, Subject::Plant, sentence)
                .hint("name one list and write each into a file of its own; --xlsx writes all into one workbook")
                .into());
        }
        let loaded = self.file.read()?;
        let (job, plan) = plan(&loaded)?;
        let u = In(common.units);
        let report = self.report(common, &loaded, &job, &plan, u)?;
        // All is computed: now files are written.
        let book = || workbook::workbook(&plan, &loaded.plant.site.name, &loaded.source.checksum(), u);
        let workbook = self.xlsx.as_ref().map(|_| book()).transpose()?;
        let netlist = self.netlist.as_ref().map(|_| readings::netlist(&loaded, &plan)).transpose()?;
        if let (Some(path), Some(bytes)) = (&self.xlsx, workbook) {
            files::write_whole(path, &bytes, common.force)?;
        }
        if let (Some(path), Some(text)) = (&self.netlist, netlist) {
            files::write_whole(path, text.as_bytes(), common.force)?;
        }
        Ok(report)
    }

    fn report(&self, common: &Common, loaded: &Loaded, job: &Job, plan: &Plan, u: In) -> Result<Report, Failure> {
        if let Some(old) = &self.diff {
            return diff::report(loaded, plan, old, u);
        }
        if self.readings {
            return readings::report(loaded, job, plan);
        }
        if self.prove {
            let proved = prove::prove(job, plan, loaded);
            let [proof_s, faults_s] = proved.spent_s;
            if !common.quiet {
                anstream::eprintln!("proof {proof_s:.2} s, planted faults {faults_s:.2} s");
            }
            return Ok(proof::report(loaded, &proved));
        }
        let mut r = Report::of(&loaded.source, format!("Wiring of {}", loaded.site()));
        r.text(format!(
            "{} devices, {} circuits, {} conductors in {} raceways and cables. From and to: device and terminal; 'panel' means inside one enclosure.",
            plan.devices.len(),
            plan.circuits.len(),
            plan.rows.len(),
            plan.runs.len()
        ));
        let sizes: std::collections::BTreeSet<&str> = plan.rows.iter().map(|c| c.awg.as_str()).collect();
        if !u.is_us() {
            r.text(format!("Sizes: {}.", sizes.into_iter().map(|s| u.awg(s)).collect::<Vec<_>>().join(", ")));
        }
        r.text(legend::key(plan));
        r.text(legend::colours(plan));
        let mut lists = self.by.clone();
        if lists.is_empty() {
            lists.push(By::Wire);
        }
        let mut seen = Vec::new();
        lists.retain(|l| !seen.contains(l) && (seen.push(*l), true).1);
        if lists.contains(&By::Wire) {
            r.text(legend::drops(job));
        }
        for by in &lists {
            if lists.len() > 1 && *by != By::Wire {
                r.heading(by.head());
            }
            list(&mut r, *by, plan, u);
        }
        show::cautions(&mut r);
        r.json = serde_json::to_value(plan).unwrap_or_default();
        Ok(r)
    }
}

impl By {
    /// Head of a list where several stand in one report.
    fn head(self) -> &'static str {
        match self {
            By::Wire => "Wires",
            By::Device => "What lands on each terminal",
            By::Run => "Raceways and cables",
            By::Cable => "Conductors of each raceway and cable",
            By::Bar => "Jumper bars",
            By::Directory => "Panelboard directory",
            By::Motor => "Motors",
            By::Transformer => "Transformers",
            By::Material => "Materials",
            By::Label => "Labels",
        }
    }
}

/// One list into the report.
fn list(r: &mut Report, by: By, plan: &Plan, u: In) {
    let below: &[&str];
    let table = match by {
        By::Wire => {
            r.heading("Devices");
            r.table(show::devices(plan));
            show::schedule(plan, r, u);
            r.heading("Jumper bars");
            r.text(legend::BARS);
            r.table(show::by_bar(plan));
            r.heading("Panelboard directory");
            r.text(show::spaces(plan));
            r.text(legend::BALANCE);
            r.table(show::balance(plan));
            r.table(show::directory(plan));
            r.main = show::by_wire(plan, u);
            return;
        }
        By::Device => {
            show::by_place(plan, r);
            for line in legend::DEVICE_LEGEND {
                r.text(u.prose(line));
            }
            r.main = show::by_device(plan);
            return;
        }
        By::Run => {
            // The second line speaks of control beside power.
            let of = |run: &str, class| plan.rows.iter().any(|r| r.run == run && r.class == class);
            let shared = plan.runs.iter().any(|r| of(&r.name, Class::Power) && of(&r.name, Class::Control));
            below = if shared { &legend::RUN_LEGEND } else { &legend::RUN_LEGEND[..1] };
            show::by_run(plan, u)
        }
        By::Cable => {
            below = &legend::CABLE_LEGEND;
            show::by_cable(plan, u)
        }
        By::Bar => {
            below = &[legend::BARS];
            show::by_bar(plan)
        }
        By::Directory => {
            r.text(show::spaces(plan));
            r.text(legend::BALANCE);
            r.table(show::balance(plan));
            below = &legend::DIRECTORY_LEGEND;
            show::directory(plan)
        }
        By::Motor => {
            below = &legend::MOTOR_LEGEND;
            show::motors(plan)
        }
        By::Transformer => {
            let mut sums = show::transformers(plan);
            r.main = sums.clone();
            // The loads are a text, not a figure: below, in whole lines.
            sums.columns.pop();
            sums.rows.iter_mut().for_each(|row| drop(row.pop()));
            r.table(sums);
            for x in plan.transformers.iter().filter(|x| !x.loads.is_empty()) {
                r.item(format!("{} feeds: {}", x.tag, x.loads.join(", ")));
            }
            for line in legend::TRANSFORMER_LEGEND {
                r.text(u.prose(line));
            }
            return;
        }
        By::Material => {
            below = &legend::MATERIAL_LEGEND;
            show::materials(plan, u)
        }
        By::Label => {
            below = &legend::LABEL_LEGEND;
            show::labels(plan)
        }
    };
    r.main_table(table);
    if matches!(by, By::Material) && plan.breakers.iter().any(|b| b.amps == 10) {
        r.text(legend::SMALL_BREAKERS);
    }
    for line in below {
        r.text(u.prose(line));
    }
}
