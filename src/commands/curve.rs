//! `curve`: the reset curve against what the emitters give.

use super::{Common, Failure, PlantFile, WeatherFile, plot::Plot};
use crate::{
    plant::{CurveOrigin, Loaded},
    show::{
        Report, Table,
        units::{In, tidy},
    },
};
use clap::Args;
use heatwright_core::Subject;
use heatwright_sim::study::curve::{self, CurveStudy};

/// Supply temperature that each zone needs against outdoor temperature.
#[derive(Debug, Args)]
pub(super) struct Curve {
    #[command(flatten)]
    file: PlantFile,
    #[command(flatten)]
    weather: WeatherFile,
    #[command(flatten)]
    plot: Plot,
}

impl Curve {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        self.plot.judge(common)?;
        let loaded = self.file.read()?;
        let weather = self.weather.read()?;
        let study = super::curve_study(&loaded, &weather.series);
        let u = In(common.units);
        let mut r = Report::of(&loaded.source, format!("Reset curve of {}", loaded.plant.site.name));
        r.text(super::basis::weather(&loaded, &weather.label, &weather.series, u));
        in_effect(&mut r, &loaded, u);
        needs(&mut r, &loaded, &study, u);
        mixed(&mut r, &loaded, &study, u);
        shortfalls(&mut r, &loaded, &study, u);
        water(&mut r, &loaded, &study, &weather.label, u);
        circulating(&mut r, &loaded, &study, u);
        one_out(&mut r, &loaded, &study, u);
        months(&mut r, &study, u);
        lowered(&mut r, &loaded, &study, u);
        if !study.findings.is_empty() {
            r.heading("Findings");
        }
        for f in &study.findings {
            r.finding(&super::study_finding(f, &loaded, u));
        }
        super::weather_notes(&weather.series, &mut r);
        loaded.assumed_count(&mut r);
        r.json = json(&loaded, &study);
        self.plot.write(common, || crate::charts::curve::chart(&loaded.plant.site.name, &loaded.names, &study, u))?;
        Ok(r)
    }
}

fn in_effect(r: &mut Report, l: &Loaded, u: In) {
    r.heading("Its points");
    r.text(match &l.curve.origin {
        CurveOrigin::Typed => "These points are typed in the plant file.".to_owned(),
        CurveOrigin::Fitted { above_max_k } => format!(
            "These points are computed from the emitters: the lowest curve that serves every zone, nowhere more than {} \
             above the zone that needs most.",
            u.diff_text(*above_max_k)
        ),
    });
    let (low, high) = (l.plant.reset.supply_min.c, l.plant.reset.supply_max.c);
    let mut t = Table::new(&[
        &format!(">Outdoor, {}", u.temp_unit()),
        &format!(">Curve, {}", u.temp_unit()),
        &format!(">Held to, {}", u.temp_unit()),
    ]);
    for (outdoor, supply) in &l.curve.points {
        t.row([tidy(u.temp(*outdoor), 1), tidy(u.temp(*supply), 1), tidy(u.temp(supply.clamp(low, high)), 1)]);
    }
    r.table(t);
    // The coldest point asks for most: past it the curve stays level.
    if let Some((_, top)) = l.curve.points.first().filter(|p| p.1 > high + 0.05) {
        r.text(format!(
            "reset.supply-max caps the curve: it asks for up to {} and gets {}. What the rooms lack by it stands below under \
             surplus.",
            u.temp_text(*top),
            u.temp_text(high)
        ));
    }
    if let Some((_, bottom)) = l.curve.points.last().filter(|p| p.1 < low - 0.05) {
        r.text(format!(
            "reset.supply-min holds the curve up: on warm days it asks for {} and gets {}.",
            u.temp_text(*bottom),
            u.temp_text(low)
        ));
    }
    r.text(format!(
        "The target is held between {} and {} (reset.supply-min and reset.supply-max).",
        u.temp_text(low),
        u.temp_text(high)
    ));
}

/// Decimals of the outdoor column: none where each of its figures is whole in this unit, or a reader copies a rounded one beside the
/// supply of another temperature.
fn outdoor_places(s: &CurveStudy, u: In) -> usize {
    let whole = |c: f64| (u.temp(c) - u.temp(c).round()).abs() < 0.05;
    usize::from(!s.rows.iter().all(|r| whole(r.outdoor_c)))
}

fn needs(r: &mut Report, l: &Loaded, s: &CurveStudy, u: In) {
    r.heading("Supply temperature that each zone needs");
    r.text(format!(
        "All temperatures in {}. The governing zone is marked with *. A dash: no supply is enough, its flow cannot carry the \
         heat.",
        u.temp_unit()
    ));
    let names: Vec<String> =
        (0..l.plant.zones.len()).map(|i| l.names.zone(heatwright_core::ZoneId(i as u8)).into_owned()).collect();
    // Eight zones stand side by side in 80 columns; more take a second table.
    for (part, chunk) in names.chunks(6).enumerate() {
        let first = part * 6;
        let mut heads = vec![">Outdoor".to_owned(), ">Curve".to_owned()];
        heads.extend(chunk.iter().map(|n| format!(">{n}")));
        let mut t = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
        for row in &s.rows {
            let mut cells = vec![tidy(u.temp(row.outdoor_c), outdoor_places(s, u)), tidy(u.temp(row.supply_c), 1)];
            cells.extend(row.zones.iter().skip(first).take(chunk.len()).map(|z| {
                let star = if row.governing.is_some_and(|g| g.0 == z.zone) { "*" } else { "" };
                z.needed_c.map_or("-".into(), |c| format!("{star}{}", tidy(u.temp(c), 1)))
            }));
            t.row(cells);
        }
        r.table(t);
    }
    r.main = machine_table(l, s, u);
}

/// What the mixing valves are told to hold, beside what their zones need.
fn mixed(r: &mut Report, l: &Loaded, s: &CurveStudy, u: In) {
    let Some(design) = s.rows.first() else { return };
    let zones: Vec<_> = design.zones.iter().filter(|z| z.mixed_c.is_some()).map(|z| z.zone).collect();
    if zones.is_empty() {
        return;
    }
    r.heading("Mixed supplies");
    // Two columns a zone, and no more than fit into 80.
    for chunk in zones.chunks(3) {
        let mut heads = vec![format!(">Outdoor, {}", u.temp_unit())];
        for z in chunk {
            let name = l.names.zone(*z);
            heads.extend([format!(">{name} told"), format!(">{name} needs")]);
        }
        let mut t = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
        let shown = |c: Option<f64>| c.map_or("-".into(), |c| tidy(u.temp(c), 1));
        for row in &s.rows {
            let mut cells = vec![tidy(u.temp(row.outdoor_c), outdoor_places(s, u))];
            for z in chunk.iter().filter_map(|z| row.zones.get(z.index())) {
                cells.extend([shown(z.mixed_c), shown(z.needed_c)]);
            }
            t.row(cells);
        }
        r.table(t);
    }
    r.text("Told: the mixed target, what the controller has the zone's mixing valve hold while the curve is followed (mixed-design).");
}

/// One line a zone and outdoor temperature, for a spreadsheet.
fn machine_table(l: &Loaded, s: &CurveStudy, u: In) -> Table {
    let heads = [
        format!(">Outdoor, {}", u.temp_unit()),
        "Zone".into(),
        format!(">Curve, {}", u.temp_unit()),
        format!(">Needed, {}", u.temp_unit()),
        format!(">Surplus, {}", u.diff_unit()),
        format!(">Heat loss, {}", u.heat_unit()),
        format!(">Surplus, {}", u.heat_unit()),
        format!(">Return, {}", u.temp_unit()),
        "Governs".into(),
        format!(">Supply made, {}", u.temp_unit()),
        format!(">Mixed target, {}", u.temp_unit()),
    ];
    let mut t = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for row in &s.rows {
        for z in &row.zones {
            t.row([
                tidy(u.temp(row.outdoor_c), 1),
                l.names.zone(z.zone).into_owned(),
                tidy(u.temp(row.supply_c), 2),
                z.needed_c.map_or(String::new(), |c| tidy(u.temp(c), 2)),
                z.surplus_k.map_or(String::new(), |k| tidy(u.diff(k), 2)),
                tidy(u.heat(z.load_w), 2),
                tidy(u.heat(z.surplus_w), 2),
                tidy(u.temp(z.return_c), 2),
                if row.governing.is_some_and(|g| g.0 == z.zone) { "yes".into() } else { String::new() },
                tidy(u.temp(row.made_c), 2),
                z.mixed_c.map_or(String::new(), |c| tidy(u.temp(c), 2)),
            ]);
        }
    }
    t
}

fn shortfalls(r: &mut Report, l: &Loaded, s: &CurveStudy, u: In) {
    let Some(design) = s.rows.first() else { return };
    r.heading(format!("At design, {} outdoors", u.temp_text(design.outdoor_c)));
    let mut t = Table::new(&[
        "Zone",
        &format!(">Heat loss, {}", u.heat_unit()),
        &format!(">Surplus, {}", u.heat_unit()),
        &format!(">Surplus, {}", u.diff_unit()),
        &format!(">Return, {}", u.temp_unit()),
    ]);
    for z in &design.zones {
        t.row([
            l.names.title(Subject::Zone(z.zone)).into_owned(),
            tidy(u.heat(z.load_w), 1),
            tidy(u.heat(z.surplus_w), 1),
            z.surplus_k.map_or("-".into(), |k| tidy(u.diff(k), 1)),
            tidy(u.temp(z.return_c), 1),
        ]);
    }
    r.table(t);
    r.text("Surplus: what the emitter gives on this curve beyond the heat loss; negative is a shortfall.");
    if design.made_c < design.supply_c - curve::MADE_LESS_K {
        r.text(format!(
            "Counted on the {} that the boilers can be made to give there; the curve asks for {}.",
            u.temp_text(design.made_c),
            u.temp_text(design.supply_c)
        ));
    }
}

fn water(r: &mut Report, l: &Loaded, s: &CurveStudy, weather: &str, u: In) {
    r.heading("What the boilers see");
    let less = s.rows.iter().any(|row| row.made_c < row.supply_c - curve::MADE_LESS_K);
    let valves = l.physics.boilers.iter().any(|b| b.return_valve_c.is_some());
    let mut heads = vec![
        format!(">Outdoor, {}", u.temp_unit()),
        format!(">Load, {}", u.heat_unit()),
        ">Boilers".into(),
        ">Rate, %".into(),
        format!(">Outlet, {}", u.temp_unit()),
        format!(">Return, {}", u.temp_unit()),
    ];
    if valves {
        heads.push(format!(">Enters, {}", u.temp_unit()));
    }
    if less {
        heads.push(format!(">Supply, {}", u.temp_unit()));
    }
    heads.extend(["Fires".to_owned(), "Condenses".to_owned()]);
    let mut t = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let (mut cycling, mut harmed) = (false, false);
    for row in &s.rows {
        let Some(w) = &row.water else { continue };
        let smallest = l.physics.boilers.iter().take(w.boilers).map(|b| b.minimum_share).fold(0.0, f64::max);
        let cycles = w.rate < smallest - 1e-9;
        cycling |= cycles;
        let fires = if cycles { "on and off" } else { "steadily" };
        let mut cells = vec![
            tidy(u.temp(row.outdoor_c), outdoor_places(s, u)),
            tidy(u.heat(w.load_w), 1),
            w.boilers.to_string(),
            tidy(w.rate * 100.0, 0),
            tidy(u.temp(w.boiler_outlet_c), 1),
            tidy(u.temp(w.boiler_return_c), 1),
        ];
        if valves {
            cells.push(tidy(u.temp(w.entering_c), 1));
        }
        if less {
            cells.push(tidy(u.temp(w.supply_c), 1));
        }
        harmed |= w.too_cold;
        let condenses = if w.too_cold {
            "too cold"
        } else if w.condensing {
            "yes"
        } else {
            "no"
        };
        cells.extend([fires.to_owned(), condenses.to_owned()]);
        t.row(cells);
    }
    r.table(t);
    r.text(if s.kept.is_empty() {
        "Load: what the zones that call need, their losses less gains from people, light and machines."
    } else {
        "Load: what the zones that call need, their losses less gains from people, light and machines, and what water that circulates gives \
         beyond that."
    });
    if valves {
        r.text("Enters: the coldest water that enters a running boiler, behind its return valve where it has one.");
    }
    if less {
        r.text(
            "Supply: what the boilers can be made to give, by their fire, outlet-max, signals and return valves. Where it is less than the \
             curve, surplus, hours and efficiency here are counted on it and not on the curve.",
        );
    }
    if harmed {
        r.text(
            "Too cold: a boiler that must not condense gets water below its return-min; its flue gas condenses where it harms it. It is no \
             hour of condensing here.",
        );
    }
    if cycling {
        r.text(
            "On and off: the rate is below the smallest fire, so the burner cycles and the rate is its mean. 'heatwright \
             check' says when it does so too often.",
        );
    }
    let y = &s.year;
    r.text(format!(
        "Over {weather} ({:.0} h): {:.0} h of heating, {:.0} h of them condensing; seasonal efficiency {} on the higher heating \
         value. Heat that is missing: {:.0} {}{}.{}",
        y.hours,
        y.hours_heating,
        y.hours_condensing,
        y.efficiency().map_or("-".into(), |e| format!("{:.1} %", e * 100.0)),
        u.energy(y.short_kwh),
        u.energy_unit(),
        if y.hours_less_made > 0.0 {
            format!("; in {:.0} h the boilers cannot make the water that the curve asks for", y.hours_less_made)
        } else {
            String::new()
        },
        match y.return_cold_c {
            Some((coldest_c, least_c)) => format!(
                " In {:.0} h of heating flue gas condenses in a boiler that is not built for it: water of {} enters where {} is the least.",
                y.hours_return_cold,
                u.temp_text(coldest_c),
                u.temp_text(least_c)
            ),
            None => String::new(),
        }
    ));
    r.text(super::basis::left_out(l, y.hours, u));
}

/// Zones whose water circulates all season: how warm the curve keeps them.
fn circulating(r: &mut Report, l: &Loaded, s: &CurveStudy, u: In) {
    if s.kept.is_empty() {
        return;
    }
    r.heading("Zones whose water circulates");
    let mut t = Table::new(&[
        "Zone",
        &format!(">Set, {}", u.temp_unit()),
        &format!(">Warmest, {}", u.temp_unit()),
        &format!(">Outdoor, {}", u.temp_unit()),
        &format!(">Supply, {}", u.temp_unit()),
        ">Hot, h",
        &format!(">Heat, {}", u.energy_unit()),
        &format!(">Beyond, {}", u.energy_unit()),
    ]);
    for k in &s.kept {
        t.row([
            l.names.title(Subject::Zone(k.zone)).into_owned(),
            tidy(u.temp(k.set_c), 1),
            tidy(u.temp(k.warmest_c), 1),
            tidy(u.temp(k.outdoor_c), 1),
            tidy(u.temp(k.supply_c), 1),
            tidy(k.hours_hot, 0),
            tidy(u.energy(k.heat_kwh), 0),
            tidy(u.energy(k.over_kwh), 0),
        ]);
    }
    r.table(t);
    r.text(format!(
        "Warmest: where the room loses what its emitter gives while any zone calls; outdoors and supply are those of that hour. Hot: hours of \
         heating in which it is kept more than {} above its setting. Beyond: heat that it takes beyond its need. Occupied all the time, no \
         thermostatic radiator valves.",
        u.diff_text(curve::HOT_K)
    ));
}

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// The months of the weather, where it has more than one.
fn months(r: &mut Report, s: &CurveStudy, u: In) {
    if s.months.len() < 2 {
        return;
    }
    r.heading("By month");
    let harmed = s.year.hours_return_cold > 0.0;
    let mut heads = vec![
        "Month".to_owned(),
        ">Days".to_owned(),
        format!(">Mean, {}", u.temp_unit()),
        format!(">Degree days, {}·d", u.diff_unit()),
        format!(">Heat, {}", u.energy_unit()),
        format!(">Fuel, {}", u.energy_unit()),
        ">Heating, h".to_owned(),
        ">Condensing, h".to_owned(),
    ];
    heads.extend(harmed.then(|| ">Too cold, h".to_owned()));
    let mut t = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for m in &s.months {
        let name = usize::try_from(m.of.1 - 1).ok().and_then(|k| MONTHS.get(k)).copied().unwrap_or("-");
        let mut cells = vec![
            format!("{name} {}", m.of.0),
            tidy(m.hours / 24.0, 1),
            tidy(u.temp(m.mean_c), 1),
            tidy(u.diff(m.degree_days_k), 0),
            tidy(u.energy(m.heat_kwh), 0),
            tidy(u.energy(m.fuel_kwh), 0),
            tidy(m.hours_heating, 0),
            tidy(m.hours_condensing, 0),
        ];
        cells.extend(harmed.then(|| tidy(m.hours_return_cold, 0)));
        t.row(cells);
    }
    r.table(t);
    r.text(format!(
        "Degree days below {}. Heat and fuel as above: what the zones take, with the same left out.",
        u.temp_text(curve::DEGREE_DAY_BASE_C)
    ));
}

/// What is left at design without the boiler that gives most.
fn one_out(r: &mut Report, l: &Loaded, s: &CurveStudy, u: In) {
    let Some(design) = s.rows.first().filter(|d| d.outputs_w.len() > 1) else { return };
    let Some(w) = design.water.filter(|w| w.load_w > 0.0) else { return };
    let Some((b, largest_w)) = design.largest() else { return };
    let alike = design.outputs_w.iter().all(|w| *w > 0.999 * largest_w);
    let missing = if alike {
        "one of them".to_owned()
    } else {
        format!("{}, which gives most,", l.names.title(Subject::Boiler(b)))
    };
    let times = |w_given: f64| format!("{} ({:.0} % of the load)", u.heat_text(w_given), 100.0 * w_given / w.load_w);
    r.text(format!(
        "At design all boilers give {} at full fire; without {missing} the others give {}.",
        times(design.output_w()),
        times(design.output_w() - largest_w)
    ));
}

fn lowered(r: &mut Report, l: &Loaded, s: &CurveStudy, u: In) {
    r.heading(format!("If the design supply were {} lower", u.diff_text(curve::LOWERING_K)));
    let mut t = Table::new(&[
        "Zone",
        &format!(">Spare now, {}", u.diff_unit()),
        &format!(">Then missing, {}", u.heat_unit()),
        ">Emitter needed, times today's",
    ]);
    for z in &s.lowered {
        t.row([
            l.names.title(Subject::Zone(z.zone)).into_owned(),
            z.spare_k.map_or("-".into(), |k| tidy(u.diff(k), 1)),
            tidy(u.heat(z.short_w), 1),
            z.emitter_times.map_or("no size".into(), |m| format!("{m:.2}")),
        ]);
    }
    r.table(t);
    r.text("The zone that would run short first stands first.");
    let percent = |y: &curve::Year| y.efficiency().map_or("-".into(), |e| format!("{:.1} %", e * 100.0));
    let (now, then) = (&s.year, &s.year_lowered);
    r.text(format!(
        "Over the same weather it would condense in {:.0} h in place of {:.0} h, at a seasonal efficiency of {} in place of {}. With \
         today's emitters {:.0} {} of heat would be missing; emitters of the size above would send back cooler water still.",
        then.hours_condensing,
        now.hours_condensing,
        percent(then),
        percent(now),
        u.energy(then.short_kwh),
        u.energy_unit()
    ));
}

fn json(l: &Loaded, s: &CurveStudy) -> serde_json::Value {
    let rows: Vec<_> = s
        .rows
        .iter()
        .map(|row| {
            serde_json::json!({
                "outdoor_c": row.outdoor_c,
                "supply_c": row.supply_c,
                "made_c": row.made_c,
                "governing": row.governing.map(|g| l.names.zone(g.0).into_owned()),
                "boiler_outlet_c": row.water.as_ref().map(|w| w.boiler_outlet_c),
                "boiler_return_c": row.water.as_ref().map(|w| w.boiler_return_c),
                "boiler_entering_c": row.water.as_ref().map(|w| w.entering_c),
                "condensing": row.water.as_ref().map(|w| w.condensing),
                "zones": row.zones.iter().map(|z| serde_json::json!({
                    "zone": l.names.zone(z.zone),
                    "load_w": z.load_w,
                    "needed_c": z.needed_c,
                    "surplus_w": z.surplus_w,
                    "surplus_k": z.surplus_k,
                    "return_c": z.return_c,
                    "mixed_c": z.mixed_c,
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    serde_json::json!({
        "plant": l.plant.site.name,
        "curve_c": l.curve.points,
        "findings": s.findings.iter().map(|f| super::study_json(f, l)).collect::<Vec<_>>(),
        "rows": rows,
        "circulating": s.kept.iter().map(|k| {
            let mut json = serde_json::to_value(k).unwrap_or_default();
            if let Some(map) = json.as_object_mut() {
                map.insert("zone".into(), l.names.zone(k.zone).into());
            }
            json
        }).collect::<Vec<_>>(),
        "year_lowered": {
            "lowered_k": curve::LOWERING_K,
            "hours_condensing": s.year_lowered.hours_condensing,
            "fuel_kwh": s.year_lowered.fuel_kwh,
            "short_kwh": s.year_lowered.short_kwh,
            "efficiency": s.year_lowered.efficiency(),
        },
        "year": {
            "hours": s.year.hours,
            "hours_heating": s.year.hours_heating,
            "hours_condensing": s.year.hours_condensing,
            "hours_return_cold": s.year.hours_return_cold,
            "heat_kwh": s.year.heat_kwh,
            "fuel_kwh": s.year.fuel_kwh,
            "efficiency": s.year.efficiency(),
            "short_kwh": s.year.short_kwh,
            "hours_less_made": s.year.hours_less_made,
        },
        "months": s.months.iter().map(|m| serde_json::json!({
            "year": m.of.0,
            "month": m.of.1,
            "hours": m.hours,
            "mean_c": m.mean_c,
            "degree_days_k": m.degree_days_k,
            "heat_kwh": m.heat_kwh,
            "fuel_kwh": m.fuel_kwh,
            "hours_heating": m.hours_heating,
            "hours_condensing": m.hours_condensing,
        })).collect::<Vec<_>>(),
    })
}
