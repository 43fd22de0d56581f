//! The proof of the wiring plan as a report: what was done, what is wrong, and the score of planted faults by kind.

use crate::{
    exit::Exit,
    field::prove,
    plant::Loaded,
    show::{Report, legend},
};
use heatwright_wiring::proof::observe;

/// The report.
pub(super) fn report(l: &Loaded, p: &prove::Proved) -> Report {
    let mut r = Report::of(&l.source, format!("Proof of the wiring of {}", l.plant.site.name));
    r.text(
        "It proves the wiring against what the plant file asks for, and not the file against the rules: a safety that the file leaves out is \
         not missed here. 'heatwright check' looks for that.",
    );
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
    r.heading("Faults planted one at a time");
    let mut t =
        crate::show::Table::new(&["Kind", ">Tried", ">Caught", ">Opened", ">Off", ">Harmless", ">Unseen", ">Percent"]);
    for (kind, s) in &p.scores {
        let unseen = s.survivors.len() + s.nowhere.len();
        let good = s.caught + s.harmless.len();
        let percent = if s.total == 0 { 100.0 } else { 100.0 * good as f64 / s.total as f64 };
        t.row([
            observe::mutant_kind(*kind).to_owned(),
            s.total.to_string(),
            s.caught.to_string(),
            s.caught_opened.to_string(),
            s.caught_off.len().to_string(),
            s.harmless.len().to_string(),
            unseen.to_string(),
            format!("{percent:.1}"),
        ]);
    }
    r.main_table(t);
    for line in legend::SCORE_LEGEND {
        r.text(line);
    }
    for (kind, s) in &p.unseen {
        r.item(format!("unseen, {kind}: {s}"));
    }
    r.heading("What catches them");
    let mut by: Vec<(&str, usize)> = Vec::new();
    for (what, n) in p.scores.iter().flat_map(|(_, s)| &s.caught_by) {
        match by.iter_mut().find(|(w, _)| w == what) {
            Some((_, sum)) => *sum += n,
            None => by.push((what, *n)),
        }
    }
    by.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    let mut t = crate::show::Table::new(&["Seen first at", ">Faults"]);
    for (what, n) in by {
        t.row([what.to_owned(), n.to_string()]);
    }
    r.table(t);
    let scores: Vec<serde_json::Value> = p
        .scores
        .iter()
        .map(|(kind, s)| {
            let by: serde_json::Map<String, serde_json::Value> =
                s.caught_by.iter().map(|(w, n)| ((*w).to_owned(), (*n).into())).collect();
            serde_json::json!({
                "kind": observe::mutant_kind(*kind),
                "tried": s.total,
                "caught": s.caught,
                "caught-opened": s.caught_opened,
                "caught-power-off": s.caught_off.len(),
                "caught-by": by,
                "harmless": s.harmless.len(),
                "harmless-same-circuit": s.same_circuit,
                "unseen": s.survivors.len() + s.nowhere.len(),
            })
        })
        .collect();
    let list = |l: &[(&str, String)]| -> Vec<serde_json::Value> {
        l.iter().map(|(kind, what)| serde_json::json!({ "kind": kind, "fault": what })).collect()
    };
    r.json = serde_json::json!({
        "faults": p.faults,
        "scores": scores,
        "unseen": list(&p.unseen),
        "only-with-power-off": list(&p.latent),
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
    use heatwright_wiring::plan::Plan;

    /// What `wire --prove` would say of a schedule with one row deleted.
    #[test]
    fn a_deleted_row_is_told_and_fails_the_command() {
        let path = "docs/examples/workshop.toml";
        let l = plant::load(path, &std::fs::read(path).unwrap()).unwrap();
        let (job, whole) = crate::commands::plan(&l).unwrap_or_else(|_| panic!("the workshop can be wired"));
        let said = |plan: &Plan| report(&l, &prove::prove(&job, plan, &l));
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
