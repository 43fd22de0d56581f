//! `wire`: the wiring schedule, its proof, its readings, its revision, its workbook.

mod diff;
mod proof;
mod readings;

use super::{Common, Failure, PlantFile, plan, plot::target};
use crate::{
    field::prove,
    files,
    plant::Loaded,
    show::{Report, legend, units::In, wiring as show, workbook},
};
use clap::{Args, ValueEnum};
use heatwright_wiring::{job::Job, plan::Plan};
use std::path::PathBuf;

/// What the schedule is sorted by.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum By {
    /// Circuit by circuit, every conductor.
    #[default]
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
    /// Which list [default: wire].
    #[arg(long, value_enum, conflicts_with_all = ["prove", "readings", "diff"])]
    by: Option<By>,
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
        let loaded = self.file.read()?;
        let (job, plan) = plan(&loaded)?;
        let u = In(common.units);
        let report = self.report(common, &loaded, &job, &plan, u)?;
        // All is computed: now files are written.
        let workbook = self.xlsx.as_ref().map(|_| workbook::workbook(&plan, &loaded.plant.site.name, u)).transpose()?;
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
        let mut r = Report::new(format!("Wiring of {}", loaded.site()));
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
        r.text(legend::KEY);
        r.text(legend::colours(plan));
        if matches!(self.by, None | Some(By::Wire)) {
            r.text(legend::drops(job));
        }
        self.list(&mut r, plan, u);
        show::cautions(&mut r);
        r.json = serde_json::to_value(plan).unwrap_or_default();
        Ok(r)
    }

    fn list(&self, r: &mut Report, plan: &Plan, u: In) {
        let below: &[&str];
        let table = match self.by.unwrap_or_default() {
            By::Wire => {
                r.heading("Devices");
                r.table(show::devices(plan));
                show::schedule(plan, r, u);
                r.heading("Jumper bars");
                r.text(legend::BARS);
                r.table(show::by_bar(plan));
                r.heading("Panelboard directory");
                r.text(show::spaces(plan));
                r.table(show::directory(plan));
                r.main = show::by_wire(plan, u);
                return;
            }
            By::Device => {
                below = &legend::DEVICE_LEGEND;
                show::by_device(plan)
            }
            By::Run => {
                below = &legend::RUN_LEGEND;
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
                below = &legend::DIRECTORY_LEGEND;
                show::directory(plan)
            }
            By::Motor => {
                below = &legend::MOTOR_LEGEND;
                show::motors(plan)
            }
            By::Transformer => {
                below = &legend::TRANSFORMER_LEGEND;
                show::transformers(plan)
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
        for line in below {
            r.text(u.prose(line));
        }
    }
}
