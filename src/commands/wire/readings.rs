//! `wire --readings` and `--netlist`: what a meter shows at the terminals, state by state.

use crate::{
    commands::Failure,
    field::readings::{self, Line, Shown},
    finding::Finding,
    plant::Loaded,
    show::{Report, Table},
};
use heatwright_core::{Severity, Subject};
use heatwright_wiring::{
    job::Job,
    net::{Changes, Network, meter::Meter},
    plan::Plan,
    proof::{observe, positions},
};

fn network(plan: &Plan) -> Result<Network, Failure> {
    Network::rebuild(&plan.devices, &plan.rows).map_err(|errors| {
        let all: Vec<String> = errors.iter().map(ToString::to_string).collect();
        Finding::new(
            "J02",
            Severity::Error,
            Subject::Plant,
            format!("the schedule makes no network: {}", all.join("; ")),
        )
        .into()
    })
}

/// The network with everything called for, for a circuit simulator.
pub(super) fn netlist(l: &Loaded, plan: &Plan) -> Result<String, Failure> {
    let net = network(plan)?;
    let busy = positions::busy(&observe::actuators(&net));
    let m = Meter::take(&net, &Changes::default(), &busy);
    Ok(m.netlist(&format!("{}: everything called for and healthy", l.plant.site.name)))
}

fn words(s: Shown) -> String {
    match s {
        Shown::Volts(v) => format!("{v:.1}"),
        Shown::Floating => "floating".into(),
    }
}

fn number(s: Shown) -> serde_json::Value {
    match s {
        Shown::Volts(v) => serde_json::json!((v * 1000.0).round() / 1000.0),
        Shown::Floating => "floating".into(),
    }
}

/// Beside a state in which the controller shows an alarm.
const ALARM: &str = "With an alarm: this state is computed with the water held at one temperature for an hour under lit burners, which the \
     controller reports. Its alarm relay has dropped and the beacon is lit. On a plant whose water warms up both read as in state 1.";

/// The report.
pub(super) fn report(l: &Loaded, job: &Job, plan: &Plan) -> Result<Report, Failure> {
    let states = readings::readings(l, job, plan, &network(plan)?);
    let mut r = Report::of(&l.source, format!("Meter readings of {}", l.plant.site.name));
    r.text(
        "Volts rms between two terminals, with the resistance of every conductor at 75 °C in them, as a true-rms meter on its \
         alternating range shows them. Floating: nothing holds one terminal against the other, and the meter shows whatever it \
         picks up. Contact inputs, sensors and 0-10 V, which the controller feeds, are not listed. To ground: from the first terminal. A transformer gives \
         its plate's volts with its full volt-amperes on it and 8 % more with nothing (a dry type 3 %; our choice): a real one of Class 2 \
         may read up to a fifth more. Its primary draws what hangs on it and 5 % of its plate for itself (common practice, no source). A boiler's \
         line draws its plate's amperes in every state, so that its drop is the most that there is: at rest a real one reads a little more. \
         The netlist counts likewise.",
    );
    let mut all = Table::new(&["State", "Device", "Terminals", "What", ">Reads, V", ">To ground, V"]);
    let heads = ["Device", "Terminals", "What", ">Reads, V", ">To ground, V"];
    let cells = |x: &Line| [x.device.clone(), x.terminals.clone(), x.what.clone(), words(x.reads), words(x.to_ground)];
    for (i, s) in states.iter().enumerate() {
        r.heading(format!("{}: {}", i + 1, s.name));
        for line in &s.stands {
            r.item(line);
        }
        let mut t = Table::new(&heads);
        for (line, first) in s.lines.iter().zip(&states[0].lines) {
            if i == 0 || line.differs(first) {
                t.row(cells(line));
            }
            all.row(std::iter::once(s.name.clone()).chain(cells(line)));
        }
        if s.alarm {
            r.text(ALARM);
        }
        if i > 0 {
            r.text(if t.rows.is_empty() {
                "As in state 1."
            } else {
                "What reads otherwise than in state 1, by more than a volt and 2 %:"
            });
        }
        if !t.rows.is_empty() {
            r.table(t);
        }
    }
    r.main = all;
    let lines = |s: &readings::State| -> Vec<serde_json::Value> {
        let of = |x: &Line| {
            serde_json::json!({
                "device": x.device,
                "terminals": x.terminals,
                "what": x.what,
                "volts": number(x.reads),
                "volts-to-ground": number(x.to_ground),
            })
        };
        s.lines.iter().map(of).collect()
    };
    r.json = states
        .iter()
        .map(|s| serde_json::json!({ "state": s.name, "alarm": s.alarm, "stands": s.stands, "readings": lines(s) }))
        .collect();
    Ok(r)
}
