//! A run as a report: zones, boilers, pumps, tank, findings, events, balance.

use super::{clock, faults::Acted};
use crate::{
    exit::Exit,
    plant::Loaded,
    show::{
        Report, Table, reasons,
        units::{In, tidy},
    },
};
use heatwright_core::{BoilerId, PumpId, Reason, RelayUse, SafetyId, Subject, ZoneId, config::Circulation};
use heatwright_sim::{
    run::{Change, Event, Run},
    study::short_cycle,
    weather::Series,
};
use jiff::civil::DateTime;

/// What a report hangs on beside the run.
pub(super) struct Told<'a> {
    /// How many of the first events are printed.
    pub(super) events: usize,
    /// The run went through the wiring plan.
    pub(super) wired: bool,
    /// What was made to fail.
    pub(super) failing: &'a [Acted],
}

pub(super) fn report(l: &Loaded, series: &Series, weather: &str, ran: &Run, u: In, told: &Told<'_>) -> Report {
    let s = &ran.summary;
    let mut r = Report::of(
        &l.source,
        format!(
            "{}: {:.0} day{} under its own control",
            l.plant.site.name,
            s.duration_h / 24.0,
            if s.duration_h > 24.5 { "s" } else { "" }
        ),
    );
    r.text(format!(
        "From {} on the weather of {weather} ({}). Outdoors {} on average, {} at the coldest. {}",
        clock(series.start(), 0.0),
        series.source(),
        u.temp_text(s.outdoor_mean_c),
        u.temp_text(s.outdoor_min_c),
        if told.wired {
            "The controller saw and switched through the wiring plan's own network."
        } else {
            "The controller saw and switched through ideal wires."
        }
    ));
    r.text(super::super::basis::peak(l, u));
    let (unheard, failed) = super::faults::tell(&mut r, l, told.failing, &ran.events, series.start());
    zones(&mut r, l, ran, u);
    boilers(&mut r, l, ran, u);
    pumps(&mut r, l, ran);
    if let Some(t) = &s.tank {
        r.heading("Hot-water tank");
        r.text(format!(
            "Between {} and {}, on average {}; {} calls, {:.1} h; {:.1} {} through its coil.",
            u.temp_text(t.lowest_c),
            u.temp_text(t.highest_c),
            u.temp_text(t.mean_c),
            t.calls,
            t.call_h,
            u.energy(t.heat_kwh),
            u.energy_unit()
        ));
    }
    let mut found = super::findings::findings(l, ran, series.start(), told.failing, u);
    found.extend(unheard);
    r.text(super::alarm::line(&s.alarm, s.duration_h));
    if !found.is_empty() {
        r.heading("Findings of this run");
    }
    for f in &found {
        r.finding(f);
    }
    let short = short_cycles(&mut r, l, ran, u);
    let from_s = super::faults::first_s(told.failing);
    event_lines(&mut r, l, series.start(), (SWITCHED, (&ran.events, ran.events_dropped, from_s)), told.events);
    balance(&mut r, ran, u);
    r.json = serde_json::json!({
        "plant": l.plant.site.name,
        "from": clock(series.start(), 0.0),
        "wired": told.wired,
        "failed": failed,
        "summary": s,
        "why_cold": ran.why,
        "names": names(l),
        "findings": found.iter().map(|f| f.to_json(&l.names, Some(&l.source))).collect::<Vec<_>>(),
        "short_cycle": short,
        "balance": ran.balance,
        "sound": ran.balance.sound(),
        "events": events_json(l, series.start(), &ran.events),
        "events_not_kept": ran.events_dropped,
    });
    if !ran.balance.sound() {
        r.exit = Exit::Broken;
    }
    r
}

fn zones(r: &mut Report, l: &Loaded, ran: &Run, u: In) {
    r.heading("Zones");
    let t = u.temp_unit();
    // The thermostat holds the warmest of a zone whose water moves at its call alone.
    let circulates = l.config.zones.iter().any(|z| z.circulation == Circulation::Constant);
    let hot = ran.why.hot.iter().any(|z| z.hours_h > super::findings::HOT_SHARE * ran.summary.duration_h);
    let warmest = hot || circulates && l.controlled();
    let mut heads = vec!["Zone".to_owned(), format!(">Set, {t}"), format!(">Lowest, {t}"), format!(">Mean, {t}")];
    heads.extend(warmest.then(|| format!(">Highest, {t}")));
    heads.extend([">Cold, h", ">Calls", ">Call, h", ">Flow, h"].map(str::to_owned));
    heads.push(format!(">Heat, {}", u.energy_unit()));
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for z in &ran.summary.zones {
        let set = l.plant.zones.get(z.zone.index()).map(|p| tidy(u.temp(p.room.c), if u.is_us() { 0 } else { 1 }));
        let mut cells = vec![
            l.names.title(Subject::Zone(z.zone)).into_owned(),
            set.unwrap_or_default(),
            tidy(u.temp(z.lowest_c), 1),
            tidy(u.temp(z.mean_c), 1),
        ];
        cells.extend(warmest.then(|| tidy(u.temp(z.highest_c), 1)));
        cells.extend([
            tidy(z.cold_h, 1),
            z.calls.to_string(),
            tidy(z.call_h, 1),
            tidy(z.flow_h, 1),
            tidy(u.energy(z.heat_kwh), 1),
        ]);
        table.row(cells);
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
    for b in &ran.summary.boilers {
        let Some(setting_c) = l.physics.boilers.get(b.boiler.index()).and_then(|p| p.return_valve_c) else { continue };
        if b.hours_h > 0.0 {
            let shut = if b.valve_shut_h < 0.05 {
                String::new()
            } else {
                format!(", and none in {:.1} h, while it warmed its own water", b.valve_shut_h)
            };
            r.text(format!(
                "{}: while it burned, its return valve at {} let {:.0} % of its flow to the header on average{shut}.",
                l.names.title(Subject::Boiler(b.boiler)),
                u.temp_text(setting_c),
                b.valve_mean * 100.0
            ));
        }
    }
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

/// Starts as predicted for the smallest zone on the smallest fire, beside those of the run.
fn short_cycles(r: &mut Report, l: &Loaded, ran: &Run, u: In) -> serde_json::Value {
    let (worst, _) = super::super::short_cycles(l);
    let Some(short_cycle::Worst { most_starts: w, shortest_burn: short }) = worst else {
        return serde_json::Value::Null;
    };
    let most = ran.summary.boilers.iter().map(|b| b.starts_per_h_max).max().unwrap_or(0);
    let starts: u32 = ran.summary.boilers.iter().map(|b| b.starts).sum();
    let mean = f64::from(starts) / ran.summary.duration_h.max(1e-9);
    r.heading("Short cycling, predicted and simulated");
    let zone = l.names.title(Subject::Zone(w.zone)).into_owned();
    let predicted = if w.cycle.cycles_per_h > 0.0 {
        format!(
            "{} alone takes {} where the smallest fire of {} gives {}: about {:.1} starts an hour, at {} outdoors, of {:.1} min each at most \
             (burn = K d / (p - q): {:.0} {} of water and metal over a band of {}); the shortest burn is {:.1} min at most, where {} takes {}, \
             at {} outdoors{}",
            zone,
            u.heat_text(w.draw_w),
            l.names.title(Subject::Boiler(w.boiler)),
            u.heat_text(w.source_w),
            w.cycle.cycles_per_h,
            u.temp_text(w.outdoor_c),
            w.cycle.burn_s / 60.0,
            u.water(w.capacity_j_k / l.physics.fluid.capacity_j_k(1.0)),
            u.water_unit(),
            u.diff_text(w.band_k),
            short.cycle.burn_s / 60.0,
            l.names.title(Subject::Zone(short.zone)),
            u.heat_text(short.draw_w),
            u.temp_text(short.outdoor_c),
            if short.call_s < short.cycle.burn_s {
                format!(
                    "; its thermostat calls for about {:.1} min there, and the burn ends with the call",
                    short.call_s / 60.0
                )
            } else {
                String::new()
            }
        )
    } else {
        format!("{zone}, the smallest, takes all that the smallest fire gives: none is predicted")
    };
    let hours: f64 = ran.summary.boilers.iter().map(|b| b.hours_h).sum();
    let under: u32 = ran.summary.boilers.iter().map(|b| b.short_cycles).sum();
    let mean_burn =
        (starts > 0).then(|| format!("; a burn lasted {:.1} min on average", 60.0 * hours / f64::from(starts)));
    r.text(format!(
        "Predicted: {predicted}. In this run a boiler started {most} times in its worst hour; all boilers together {mean:.1} times an hour \
         on average{}, {under} of {starts} less than five minutes. The run's burns are shorter than the sum's: it has the smallest fire and all \
         of the water as warm as the outlet; a boiler begins on a larger fire, its outlet is ahead of what comes back, a call may end the \
         burn, and each zone has calls of its own. {}",
        mean_burn.unwrap_or_default(),
        if short.extra_l > 0.5 {
            format!(
                "For burns of {:.0} min: at least {:.0} {} more water (V = t (p - q) / (c d), less what is there).",
                short_cycle::WANTED_BURN_S / 60.0,
                u.water(short.extra_l),
                u.water_unit()
            )
        } else {
            format!(
                "By the sum burns of {:.0} min need no more water; where the run's are shorter they do, or longer calls.",
                short_cycle::WANTED_BURN_S / 60.0
            )
        }
    ));
    serde_json::json!({
        "zone": l.names.zone(w.zone),
        "boiler": l.names.boiler(w.boiler),
        "outdoor_c": w.outdoor_c,
        "predicted_per_h": w.cycle.cycles_per_h,
        "predicted_burn_s": if w.cycle.burn_s.is_finite() { Some(w.cycle.burn_s) } else { None },
        "shortest_burn_s": if short.cycle.burn_s.is_finite() { Some(short.cycle.burn_s) } else { None },
        "call_s": if short.call_s.is_finite() { Some(short.call_s) } else { None },
        "shortest_burn_zone": l.names.zone(short.zone),
        "shortest_burn_outdoor_c": short.outdoor_c,
        "simulated_per_h_max": most,
        "simulated_per_h_mean": mean,
        "wanted_burn_s": short_cycle::WANTED_BURN_S,
        "extra_water_l": short.extra_l,
    })
}

/// Head of the list of events.
pub(super) const SWITCHED: &str = "What switched, and why";

/// So many changes of the alarm relay are shown past the first changes.
const ALARMS_MOST: usize = 12;

fn alarm_relay(e: &Event) -> bool {
    matches!(e.change, Change::Relay { what: RelayUse::Alarm, .. })
}

/// The first events with their reasons, of those from `from_s` on where it is given, and those of the alarm relay after them; `dropped`
/// more happened than are kept.
pub(in crate::commands) fn event_lines(
    r: &mut Report,
    l: &Loaded,
    start: DateTime,
    (head, (events, dropped, from_s)): (&str, (&[Event], u64, Option<f64>)),
    most: usize,
) {
    if most == 0 {
        return;
    }
    r.heading(head);
    let events = events.get(events.partition_point(|e| from_s.is_some_and(|s| e.at_s < s))..).unwrap_or_default();
    let total = events.len() as u64 + dropped;
    let alarms: Vec<&Event> = events.iter().skip(most).filter(|e| alarm_relay(e)).take(ALARMS_MOST).collect();
    r.text(format!(
        "The first {} of {total} changes{}{}.",
        most.min(events.len()),
        from_s.map_or(String::new(), |s| format!(" from {} on", clock(start, s))),
        if alarms.is_empty() { "" } else { ", and what the alarm relay does after them" }
    ));
    let mut table = Table::new(&["Time", "What", "Does", "Why"]);
    for e in events.iter().take(most).chain(alarms) {
        let (what, does, why) = told(l, events, e);
        table.row([clock(start, e.at_s), what, does.to_owned(), why]);
    }
    r.table(table);
}

/// Of what, does what, and why.
fn told(l: &Loaded, events: &[Event], e: &Event) -> (String, &'static str, String) {
    match e.change {
        Change::Relay { what: RelayUse::Health, on: true, why: Reason::Healthy, .. } => {
            (reasons::relay(RelayUse::Health, &l.names), "on", "the controller runs".to_owned())
        }
        Change::Relay { what: RelayUse::Alarm, on: true, why: Reason::Healthy, .. } => {
            (reasons::relay(RelayUse::Alarm, &l.names), "on", "no alarm".to_owned())
        }
        Change::Relay { what: RelayUse::Alarm, on: false, why, .. } => {
            (reasons::relay(RelayUse::Alarm, &l.names), "off", alarm(l, events, e.at_s, why))
        }
        Change::Relay { what, on, why, .. } => {
            (reasons::relay(what, &l.names), if on { "on" } else { "off" }, reasons::reason(why, &l.names))
        }
        Change::Lead(b) => {
            ("lead boiler".into(), "is", b.map_or("none".into(), |b| l.names.title(Subject::Boiler(b)).into_owned()))
        }
        Change::FirstOut(s) => (
            "first-out".into(),
            "is",
            s.map_or("acknowledged".into(), |s| l.names.title(Subject::Safety(s)).into_owned()),
        ),
    }
}

/// Every event that was kept, for programs.
pub(super) fn events_json(l: &Loaded, start: DateTime, events: &[Event]) -> serde_json::Value {
    let each = events.iter().map(|e| {
        let (what, does, why) = told(l, events, e);
        serde_json::json!({ "time": clock(start, e.at_s), "at_s": e.at_s, "what": what, "does": does, "why": why })
    });
    serde_json::Value::Array(each.collect())
}

/// Why the alarm relay drops, and what waits: a boiler that failed is the one whose demand ended for the same reason just then.
fn alarm(l: &Loaded, events: &[Event], at_s: f64, why: Reason) -> String {
    let words = reasons::reason(why, &l.names);
    match why {
        Reason::FlowFailed | Reason::FlameFailed | Reason::BoilerFault => {
            let boiler = events.iter().filter(|e| (e.at_s - at_s).abs() < 1.5).find_map(|e| match e.change {
                Change::Relay { what: RelayUse::Demand(b), why: its, .. } if its == why => Some(b),
                Change::Relay { .. } | Change::Lead(_) | Change::FirstOut(_) => None,
            });
            boiler.map_or(words.clone(), |b| format!("{}: {words}", l.names.title(Subject::Boiler(b))))
        }
        _ => words,
    }
}

/// What the numbers of zones, pumps, boilers and safeties in the summary stand for.
fn names(l: &Loaded) -> serde_json::Value {
    let p = &l.physics;
    let each = |count: usize, subject: &dyn Fn(u8) -> Subject| -> Vec<String> {
        (0..count).map(|i| l.names.title(subject(i as u8)).into_owned()).collect()
    };
    serde_json::json!({
        "zones": each(p.zones.len(), &|i| Subject::Zone(ZoneId(i))),
        "pumps": each(p.pumps.len(), &|i| Subject::Pump(PumpId(i))),
        "boilers": each(p.boilers.len(), &|i| Subject::Boiler(BoilerId(i))),
        "safeties": each(p.safeties.len(), &|i| Subject::Safety(SafetyId(i))),
    })
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
    let worst = b.water_percent.abs().max(b.rooms_percent.abs());
    let most = heatwright_sim::run::balance::SOUND_PERCENT;
    let verdict = |good: bool| if good { "it does" } else { "IT DOES NOT, do not use this run" };
    r.text(format!(
        "Boiler side against emitter side and storage: {:.4} % apart. Rooms: {:.4} %. Each must stay below {most} %: {}.",
        b.water_percent.abs(),
        b.rooms_percent.abs(),
        verdict(worst < most)
    ));
    let Some(half) = b.half_step else { return };
    let percent = half.worst_percent();
    let judged = if percent < most {
        format!("It must stay below {most} %, or below one call of a zone: it does.")
    } else if half.worst_kwh() < b.call_kwh {
        format!(
            "That is more than {most} % and less than one call of the zone that takes most, {:.2} {}: a call fell before the end \
             of one run and after it in the other. Run more days for a closer figure.",
            u.energy(b.call_kwh),
            u.energy_unit()
        )
    } else if half.used_agrees(b.call_kwh) {
        format!(
            "That is more than {most} %, but at the end the two runs hold different heat in water and rooms (by {:.2} {}): a burner or a \
             call came earlier in one of them. What was used up, stored heat left out, differs by {:.3} %, below {most} % or one call of a zone: it does. \
             Run more days for closer figures.",
            u.energy((half.stored_kwh + half.rooms_stored_kwh).abs()),
            u.energy_unit(),
            half.used_percent()
        )
    } else if half.worst_kwh() < b.little_kwh() {
        format!(
            "That is more than {most} % of little: the rooms would have taken {:.1} {} at their settings in this weather, and the difference \
             is less than {most} % of that. It moves no room by more than that part of its distance to the weather.",
            u.energy(b.need_kwh),
            u.energy_unit()
        )
    } else {
        format!(
            "It must stay below {most} %, or below one call of a zone, and what was used up, heat stored at the end left out, differs by \
             {:.3} %: {}. Run more days (--days), so that one call more or less weighs little; if it stays, look for a burner, a valve or a \
             thermostat in the file that switches every few seconds (off-min, differential, thermostat-differential).",
            half.used_percent(),
            verdict(false)
        )
    };
    r.text(format!(
        "The same run at half the step differs by {percent:.3} %, {:.2} {}. {judged}",
        u.energy(half.worst_kwh()),
        u.energy_unit()
    ));
}
