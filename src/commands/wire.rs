//! `wire`: the wiring schedule, and its proof.

use super::{Common, Failure, PlantFile, plan};
use crate::{
    exit::Exit,
    field::prove,
    plant::Loaded,
    show::{Report, legend, units::In, wiring as show},
};
use clap::{Args, ValueEnum};
use heatwright_wiring::plan::Plan;

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
    /// Which list.
    #[arg(long, value_enum, default_value_t)]
    by: By,
    /// Prove the schedule: rebuild the network from it, look at it in every position, take every wire out once.
    #[arg(long)]
    prove: bool,
}

impl Wire {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let loaded = self.file.read()?;
        let (job, plan) = plan(&loaded)?;
        if self.prove {
            return Ok(proof(&loaded, &prove::prove(&job, &plan, &loaded)));
        }
        let mut r = Report::new(format!("Wiring of {}", loaded.plant.site.name));
        r.text(format!(
            "{} devices, {} circuits, {} conductors in {} raceways and cables. From and to: device and terminal; 'panel' means inside one enclosure.",
            plan.devices.len(),
            plan.circuits.len(),
            plan.rows.len(),
            plan.runs.len()
        ));
        let u = In(common.units);
        let sizes: std::collections::BTreeSet<&str> = plan.rows.iter().map(|c| c.awg.as_str()).collect();
        if !u.is_us() {
            r.text(format!("Sizes: {}.", sizes.into_iter().map(|s| u.awg(s)).collect::<Vec<_>>().join(", ")));
        }
        self.list(&mut r, &plan, u);
        show::cautions(&mut r);
        r.json = serde_json::to_value(&plan).unwrap_or_default();
        Ok(r)
    }

    fn list(&self, r: &mut Report, plan: &Plan, u: In) {
        let below: &[&str];
        let table = match self.by {
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

fn proof(l: &Loaded, p: &prove::Proved) -> Report {
    let mut r = Report::new(format!("Proof of the wiring of {}", l.plant.site.name));
    r.text(
        "The network was rebuilt from the schedule's rows and the device list alone, and solved. Relays, contacts, safeties and hand \
         switches were set freely; what is live and what each input sees must be what the points say.",
    );
    for line in &p.lines {
        r.item(line.clone());
    }
    r.heading("Faults");
    if p.faults.is_empty() {
        r.text("None: every load, input, sensor and signal was what it must be in every position taken.");
    }
    for f in &p.faults {
        r.item(f.clone());
    }
    r.heading("Every wire taken out once");
    let mut t = crate::show::Table::new(&["Kind", ">Tried", ">Caught", ">Harmless", ">Unseen"]);
    t.row([
        "wire removed".to_owned(),
        p.score.total.to_string(),
        p.score.caught.to_string(),
        p.score.harmless.len().to_string(),
        p.unseen.len().to_string(),
    ]);
    r.main_table(t);
    r.text("Harmless: the same terminals stay joined without it, so the plan can do without that wire.");
    for s in &p.unseen {
        r.item(format!("unseen: {s}"));
    }
    r.json = serde_json::json!({
        "faults": p.faults,
        "tried": p.score.total,
        "caught": p.score.caught,
        "harmless": p.score.harmless.len(),
        "unseen": p.unseen,
    });
    if !p.faults.is_empty() || !p.unseen.is_empty() {
        r.exit = Exit::Findings;
    }
    r
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant;

    /// What `wire --prove` would say of a schedule with one row deleted.
    #[test]
    fn a_deleted_row_is_told_and_fails_the_command() {
        let path = "docs/examples/workshop.toml";
        let l = plant::load(path, &std::fs::read(path).unwrap()).unwrap();
        let (job, whole) = super::super::plan(&l).unwrap_or_else(|_| panic!("the workshop can be wired"));
        let said = |plan: &Plan| proof(&l, &prove::prove(&job, plan, &l));
        assert_eq!(said(&whole).exit, Exit::Clean);
        let mut told = 0;
        for row in (0..whole.rows.len()).step_by(17) {
            let mut plan = whole.clone();
            let gone = plan.rows.remove(row);
            let r = said(&plan);
            if r.exit == Exit::Findings {
                told += 1;
                let text = String::from_utf8(r.render(crate::show::Format::Text, 80)).unwrap();
                assert!(!text.contains("None: every load"), "{gone:?}");
            }
        }
        // All but the second of two equipment grounds in parallel.
        assert!(told * 17 + 34 >= whole.rows.len(), "{told}");
    }
}
