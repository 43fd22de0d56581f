//! A run as a report: zones, boilers, pumps, tank, findings, events, balance.

use super::clock;
use crate::{
    exit::Exit,
    finding::Finding,
    plant::Loaded,
    show::{
        Report, Table, reasons,
        units::{In, tidy},
    },
};
use heatwright_core::{Severity, Subject};
use heatwright_sim::{
    run::{Change, Run},
    weather::Series,
};

pub(super) fn report(
    l: &Loaded,
    series: &Series,
    weather: &str,
    ran: &Run,
    u: In,
    events: usize,
    wired: bool,
) -> Report {
    let s = &ran.summary;
    let mut r = Report::new(format!(
        "{}: {:.0} day{} under its own control",
        l.plant.site.name,
        s.duration_h / 24.0,
        if s.duration_h > 24.5 { "s" } else { "" }
    ));
    r.text(format!(
        "From {} on the weather of {weather} ({}). Outdoors {} on average, {} at the coldest. {}",
        clock(series.start(), 0.0),
        series.source(),
        u.temp_text(s.outdoor_mean_c),
        u.temp_text(s.outdoor_min_c),
        if wired {
            "The controller saw and switched through the wiring plan's own network."
        } else {
            "The controller saw and switched through ideal wires."
        }
    ));
    zones(&mut r, l, ran, u);
    boilers(&mut r, l, ran, u);
    pumps(&mut r, l, ran);
    if let Some(t) = &s.tank {
        r.heading("Hot-water tank");
        r.text(format!(
            "Between {} and {}, on average {}; {} calls, {:.1} h; {:.0} {} through its coil.",
            u.temp_text(t.lowest_c),
            u.temp_text(t.highest_c),
            u.temp_text(t.mean_c),
            t.calls,
            t.call_h,
            u.energy(t.heat_kwh),
            u.energy_unit()
        ));
    }
    findings(&mut r, l, ran, u);
    event_lines(&mut r, l, series, ran, events);
    balance(&mut r, ran, u);
    r.json = serde_json::json!({
        "plant": l.plant.site.name,
        "from": clock(series.start(), 0.0),
        "wired": wired,
        "summary": s,
        "balance": ran.balance,
        "sound": ran.balance.sound(),
        "events": ran.events.len() as u64 + ran.events_dropped,
    });
    if !ran.balance.sound() {
        r.exit = Exit::Broken;
    }
    r
}

fn zones(r: &mut Report, l: &Loaded, ran: &Run, u: In) {
    r.heading("Zones");
    let t = u.temp_unit();
    let mut table = Table::new(&[
        "Zone",
        &format!(">Set, {t}"),
        &format!(">Lowest, {t}"),
        &format!(">Mean, {t}"),
        ">Cold, h",
        ">Calls",
        ">Call, h",
        ">Flow, h",
        &format!(">Heat, {}", u.energy_unit()),
    ]);
    for z in &ran.summary.zones {
        table.row([
            l.names.title(Subject::Zone(z.zone)).into_owned(),
            l.plant.zones.get(z.zone.index()).map_or(String::new(), |p| tidy(u.temp(p.room.c), 0)),
            tidy(u.temp(z.lowest_c), 1),
            tidy(u.temp(z.mean_c), 1),
            tidy(z.cold_h, 1),
            z.calls.to_string(),
            tidy(z.call_h, 1),
            tidy(z.flow_h, 1),
            tidy(u.energy(z.heat_kwh), 1),
        ]);
    }
    r.table(table);
    r.text(format!(
        "Cold: hours more than {} below what its thermostat asked for.",
        u.diff_text(heatwright_sim::run::summary::COLD_BELOW_K)
    ));
}

fn boilers(r: &mut Report, l: &Loaded, ran: &Run, u: In) {
    r.heading("Boilers");
    let mut table = Table::new(&[
        "Boiler",
        ">Flame, h",
        ">Starts",
        ">Most/h",
        ">Short",
        ">Rate, %",
        &format!(">Fuel, {}", u.energy_unit()),
        ">Eff., %",
        &format!(">Return, {}", u.temp_unit()),
        ">Cond., h",
    ]);
    for b in &ran.summary.boilers {
        table.row([
            l.names.title(Subject::Boiler(b.boiler)).into_owned(),
            tidy(b.hours_h, 1),
            b.starts.to_string(),
            b.starts_per_h_max.to_string(),
            b.short_cycles.to_string(),
            tidy(b.rate_mean * 100.0, 0),
            tidy(u.energy(b.fuel_kwh), 1),
            if b.fuel_kwh > 0.0 { tidy(b.efficiency * 100.0, 1) } else { "-".into() },
            if b.fuel_kwh > 0.0 { tidy(u.temp(b.return_mean_c), 0) } else { "-".into() },
            tidy(b.condensing_h, 1),
        ]);
    }
    r.table(table);
    let condensate: f64 = ran.summary.boilers.iter().map(|b| b.condensate_kg).sum();
    r.text(format!(
        "Most/h: most starts in any hour. Short: burns under five minutes. Cond.: hours with condensate. Fuel {:.1} {} by higher heating value, pumps and fans {:.1} kWh, condensate {:.1} {}.",
        u.energy(ran.summary.fuel_kwh),
        u.energy_unit(),
        ran.summary.electric_kwh,
        u.water(condensate),
        u.water_unit()
    ));
}

fn pumps(r: &mut Report, l: &Loaded, ran: &Run) {
    r.heading("Pumps");
    let mut table = Table::new(&["Pump", ">Hours, h", ">Starts", ">Energy, kWh"]);
    for p in &ran.summary.pumps {
        table.row([
            l.names.title(Subject::Pump(p.pump)).into_owned(),
            tidy(p.hours_h, 1),
            p.starts.to_string(),
            tidy(p.energy_kwh, 1),
        ]);
    }
    r.table(table);
}

fn findings(r: &mut Report, l: &Loaded, ran: &Run, u: In) {
    let mut found = Vec::new();
    for z in &ran.summary.zones {
        if z.cold_h > 0.05 * ran.summary.duration_h {
            found.push(
                Finding::new(
                    "R01",
                    Severity::Warning,
                    Subject::Zone(z.zone),
                    format!(
                        "{} was more than {} too cold for {:.0} of {:.0} h",
                        l.names.title(Subject::Zone(z.zone)),
                        u.diff_text(heatwright_sim::run::summary::COLD_BELOW_K),
                        z.cold_h,
                        ran.summary.duration_h
                    ),
                )
                .hint("see its surplus with 'heatwright curve'; a set-back zone also needs heat to come back"),
            );
        }
    }
    for b in &ran.summary.boilers {
        if b.starts_per_h_max > 6 || (b.starts > 20 && b.short_cycles * 4 > b.starts) {
            found.push(
                Finding::new(
                    "R02",
                    Severity::Warning,
                    Subject::Boiler(b.boiler),
                    format!(
                        "{} started up to {} times an hour; {} of its {} burns were shorter than five minutes",
                        l.names.title(Subject::Boiler(b.boiler)),
                        b.starts_per_h_max,
                        b.short_cycles,
                        b.starts
                    ),
                )
                .hint("a lower smallest fire, more water or a wider band makes burns longer"),
            );
        }
    }
    if found.is_empty() {
        return;
    }
    r.heading("Findings of this run");
    for f in &found {
        r.finding(f);
    }
}

fn event_lines(r: &mut Report, l: &Loaded, series: &Series, ran: &Run, most: usize) {
    if most == 0 {
        return;
    }
    r.heading("What switched, and why");
    let total = ran.events.len() as u64 + ran.events_dropped;
    r.text(format!("The first {} of {total} changes.", most.min(ran.events.len())));
    let mut table = Table::new(&["Time", "What", "Does", "Why"]);
    for e in ran.events.iter().take(most) {
        let (what, does, why) = match e.change {
            Change::Relay { what, on, why, .. } => {
                (reasons::relay(what, &l.names), if on { "on" } else { "off" }, reasons::reason(why, &l.names))
            }
            Change::Lead(b) => (
                "lead boiler".into(),
                "is",
                b.map_or("none".into(), |b| l.names.title(Subject::Boiler(b)).into_owned()),
            ),
            Change::FirstOut(s) => (
                "first-out".into(),
                "is",
                s.map_or("acknowledged".into(), |s| l.names.title(Subject::Safety(s)).into_owned()),
            ),
        };
        table.row([clock(series.start(), e.at_s), what, does.to_owned(), why]);
    }
    r.table(table);
}

fn balance(r: &mut Report, ran: &Run, u: In) {
    let b = &ran.balance;
    r.heading("Does it add up?");
    let e = |kwh: f64| format!("{:.1}", u.energy(kwh));
    let mut table = Table::new(&["Heat", &format!(">{}", u.energy_unit())]);
    table.row(["From the flames into the water, less jackets".to_owned(), e(b.flame_kwh - b.jacket_kwh)]);
    table.row(["Into the rooms by emitters".to_owned(), e(b.emitters_kwh)]);
    table.row(["Drawn and lost by the tank, lost by pipes".to_owned(), e(b.draw_kwh + b.tank_loss_kwh + b.pipes_kwh)]);
    table.row(["Stored in water, metal and slabs".to_owned(), e(b.stored_kwh)]);
    r.table(table);
    let half = b.half_step.map_or("not run".to_owned(), |h| format!("{:.3} %", h.worst_percent()));
    r.text(format!(
        "Boiler side against emitter side and storage: {:.4} % apart. Rooms: {:.4} %. The same run at half the step differs by \
         {half}. Each must stay below {} %: {}.",
        b.water_percent.abs(),
        b.rooms_percent.abs(),
        heatwright_sim::run::balance::SOUND_PERCENT,
        if b.sound() { "it does" } else { "IT DOES NOT, do not use this run" }
    ));
}
