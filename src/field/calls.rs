//! What calls alone start, over the wires of the plan, against what they are meant to start ([`Intent`]).
//!
//! For a plant of zone relays this is how it works; for one that hands over it is how it works while the controller is dead: every relay of the
//! controller dropped, the health relay too. For each pattern of calls every selector stands at AUTO, nothing trips, and valves follow: then the pumps,
//! valves, demand pairs and the damper that are live must be those of the intent. A pump that its boiler owns is the boiler's
//! affair and left out.
//!
//! While handed over, a pump starts with its call, behind no end switch, and nobody waits for the tank.
//!
//! Not here: safeties. The free positions of the proof hold the health relay as one of their booleans, so that limit, proving and
//! overload are shown to hold with the controller dead as with it alive.

use super::{prove, wired::Wired};
use crate::plant::Loaded;
use heatwright_core::{
    BoilerId, Calls, Config, ContactUse, Intent, Outputs, PumpId, Span,
    config::{BoilerPump, ZoneDrive},
    ids::ZoneId,
};
use heatwright_sim::wires::{Field, Powered, Wires as _};
use heatwright_wiring::{
    job::Job,
    pass::choose::calls::{Gate, gate},
    plan::Plan,
};

/// What was done and what is wrong; `None` where calls do nothing by themselves.
pub(super) fn prove(job: &Job, plan: &Plan, l: &Loaded) -> Option<(String, Vec<String>)> {
    let gate = gate(job)?;
    let config = meant(l, gate);
    let mut wires = match Wired::new(&plan.devices, &plan.rows, &l.points) {
        Ok(w) => w,
        Err(errors) => return Some((String::new(), errors.iter().map(ToString::to_string).collect())),
    };
    let mut patterns = prove::named_patterns(l);
    let (further, complete) = prove::further_patterns(l, heatwright_wiring::proof::Limits::default().seed);
    patterns.extend(further.into_iter().map(|(calls, tank)| (format!("calls {calls:#b}, tank {tank}"), calls, tank)));
    let mut wrong = Vec::new();
    for (name, zones, tank) in &patterns {
        let mut field =
            Field { calls: *zones, tank_call: *tank, damper_open: true, flow: u64::MAX, ..Field::default() };
        field.end_switches = wires.powered(&Outputs::SAFE, &field).valves;
        let calls = Calls { zones: *zones, end_switches: field.end_switches, tank: *tank };
        let seen = runs(l, &wires.powered(&Outputs::SAFE, &field));
        let meant = Intent::of(&config, calls);
        if seen != meant {
            wrong.push(format!("{name}: the wires make {}; the calls ask for {}", words(l, &seen), words(l, &meant)));
        }
    }
    let of = match (gate, complete) {
        (Gate::Always, true) => "calls alone, every pattern",
        (Gate::Always, false) => "calls alone, patterns",
        (Gate::Health, true) => "controller dead, every pattern of calls",
        (Gate::Health, false) => "controller dead, patterns of calls",
    };
    let line =
        format!("{of} ({}): each call its pump or valve, any call every boiler, and nothing else", patterns.len());
    Some((line, wrong))
}

/// What the relays know of the plant: while handed over neither end switches nor the tank's priority.
fn meant(l: &Loaded, gate: Gate) -> Config {
    let mut config = l.config.clone();
    if gate == Gate::Health {
        for c in config.points.contacts.iter_mut().filter(|c| matches!(c, ContactUse::EndSwitch(_))) {
            *c = ContactUse::Spare;
        }
        if let Some(t) = &mut config.tank {
            t.priority_max = Span::ZERO;
        }
    }
    config
}

/// What runs, without the pumps that boilers own.
fn runs(l: &Loaded, p: &Powered) -> Intent {
    let owned = l.config.boilers.iter().fold(0, |m, b| match b.pump {
        BoilerPump::Boiler(q) => m | q.bit(),
        BoilerPump::Controller(_) | BoilerPump::Either(_) | BoilerPump::None => m,
    });
    Intent {
        pumps: p.pumps & !owned,
        valves: p.valves,
        boilers: p.demand,
        damper: p.damper || l.plant.damper.is_none() && p.demand != 0,
    }
}

fn words(l: &Loaded, i: &Intent) -> String {
    let mut list = Vec::new();
    for p in (0..l.plant.pumps.len()).map(|p| PumpId(p as u8)).filter(|p| i.pumps & p.bit() != 0) {
        list.push(l.names.title(heatwright_core::Subject::Pump(p)).into_owned());
    }
    let valves = l.plant.zones.iter().enumerate().filter(|(_, z)| matches!(z.drive, ZoneDrive::Valve { .. }));
    for z in valves.map(|(z, _)| ZoneId(z as u8)).filter(|z| i.valves & z.bit() != 0) {
        list.push(format!("the valve of {}", l.names.title(heatwright_core::Subject::Zone(z))));
    }
    for b in (0..l.plant.boilers.len()).map(|b| BoilerId(b as u8)).filter(|b| i.boilers & b.bit() != 0) {
        list.push(format!("the demand of {}", l.names.title(heatwright_core::Subject::Boiler(b))));
    }
    if i.damper && l.plant.damper.is_some() {
        list.push("the damper".to_owned());
    }
    if list.is_empty() { "nothing live".to_owned() } else { list.join(", ") }
}
