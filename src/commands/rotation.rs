//! `rotation`: ways of sharing hours among the boilers, side by side.

use super::{Common, Failure, PlantFile, WeatherFile, plot::Plot};
use crate::{
    plant::Loaded,
    show::{
        Report, Table,
        progress::Shared,
        units::{In, tidy},
    },
};
use clap::Args;
use heatwright_core::{
    BoilerId, Subject,
    config::{OffOrder, RotationConfig, RotationPolicy},
};
use heatwright_sim::{
    control::InProcess,
    run::{self, Options},
    study::rotation::{self, Outcome, Why},
    wires::Ideal,
};
use jiff::civil::Date;

/// Compare ways of sharing hours among the boilers.
#[derive(Debug, Args)]
pub(super) struct Rotation {
    #[command(flatten)]
    file: PlantFile,
    #[command(flatten)]
    weather: WeatherFile,
    /// Days to run.
    #[arg(long, default_value_t = 7, value_parser = super::days, allow_hyphen_values = true)]
    days: u32,
    /// First day, like 2015-04-05; without it the coldest stretch of that length is taken. In mild weather fewer boilers burn, and the
    /// policies part.
    #[arg(long, value_name = "DATE", value_parser = super::date)]
    from: Option<Date>,
    #[command(flatten)]
    plot: Plot,
}

impl Rotation {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        self.plot.judge(common)?;
        let loaded = self.file.read()?;
        loaded.need_controller("a rotation")?;
        if loaded.plant.boilers.len() < 2 {
            let mut r = Report::of(&loaded.source, format!("Boiler rotation of {}", loaded.plant.site.name));
            r.text(if self.plot.wanted() {
                "With one boiler there is nothing to rotate and nothing to draw: no chart is written."
            } else {
                "With one boiler there is nothing to rotate."
            });
            r.main = Table::new(&["Lead passes on", "Stops first"]);
            r.json = serde_json::json!({ "plant": loaded.plant.site.name, "policies": [] });
            return Ok(r);
        }
        let weather = self.weather.read()?;
        let series = match self.from {
            Some(day) => weather.series.days(day, self.days),
            None => weather.series.coldest_days(self.days),
        }
        .map_err(|e| super::weather_finding(&weather.label, &e))?;
        let options = Options { duration_s: f64::from(self.days) * 86_400.0, ..Options::default() };
        let fresh = |p: &RotationConfig| -> run::Fresh {
            let mut config = loaded.config.clone();
            config.rotation = p.clone();
            (Box::new(InProcess::new(config)), Box::new(Ideal::new(&loaded.physics)))
        };
        let policies = rotation::policies();
        let line = Shared::new("comparing policies", policies.len(), common.quiet);
        let progress = |_: f64| line.step();
        let study = rotation::study(&loaded.physics, &policies, &series, &options, &fresh, &progress)
            .map_err(|e| super::stopped(&e))?;
        drop(line);
        let outcomes = study.outcomes;
        self.plot.write(common, || chart(&loaded, &outcomes, self.days, &weather.label))?;
        let when = self.from.map_or_else(|| "the coldest".to_owned(), |day| format!("from {day}"));
        Ok(report(&loaded, &outcomes, (self.days, &when), series.mean_c(), &weather.label, In(common.units)))
    }
}

fn name(r: &RotationConfig) -> (String, &'static str) {
    let policy = match r.policy {
        RotationPolicy::Fixed => "never".to_owned(),
        RotationPolicy::HoursDifference(h) => format!("{h} h apart"),
        RotationPolicy::StartsDifference(n) => format!("{n} starts apart"),
        RotationPolicy::Calendar { every_h, .. } => format!("every {every_h} h"),
    };
    let order = match r.off_order {
        OffOrder::FirstOnFirstOff => "first on",
        OffOrder::FirstOnLastOff => "last on",
    };
    (policy, order)
}

/// Hours of each boiler by policy, as a picture.
fn chart(l: &Loaded, outcomes: &[Outcome], days: u32, weather: &str) -> String {
    let taken = rotation::recommend(outcomes).map(|p| p.place);
    let row = |(k, o): (usize, &Outcome)| {
        let (policy, order) = name(&o.rotation);
        crate::charts::rotation::Row {
            name: format!("{policy}, off: {order}"),
            hours: o.boilers.iter().map(|b| b.burning_h).collect(),
            taken: taken == Some(k),
        }
    };
    let rows: Vec<_> = outcomes.iter().enumerate().map(row).collect();
    let boilers: Vec<String> =
        (0..l.plant.boilers.len()).map(|i| l.names.title(Subject::Boiler(BoilerId(i as u8))).into_owned()).collect();
    let under = format!("each policy on the same {days} days of {weather}");
    crate::charts::rotation::chart(&l.plant.site.name, &under, &boilers, &rows)
}

/// Why a policy is taken where none (of those that were left) shares the hours evenly.
fn nearest(of: &str, [spread_h, least_h, mean_h]: [f64; 3], near: usize, days: u32) -> String {
    let which = if near == 1 {
        format!("with {spread_h:.1} h apart, at {mean_h:.1} h on average, it comes nearest")
    } else {
        format!(
            "{near} policies come within {:.0} h of the nearest, which has them {least_h:.1} h apart; of those with at most {:.0} % more starts \
             than the fewest this one changes the base boiler least: {spread_h:.1} h apart, at {mean_h:.1} h on average",
            rotation::SPREAD_SLACK_H,
            100.0 * rotation::STARTS_SLACK
        )
    };
    format!(
        "none{of} shares the hours evenly in {days} days; {which}{}",
        if of.is_empty() { ". Try a longer run" } else { "" }
    )
}

/// How many policies burn too much to be taken.
fn left_out(outcomes: &[Outcome]) -> usize {
    let over = (0..outcomes.len()).filter_map(|k| rotation::fuel_over(outcomes, k));
    over.filter(|(_, over)| *over > rotation::FUEL_SLACK).count()
}

/// What fuel had to say in the choice.
fn fuel(outcomes: &[Outcome]) -> String {
    let over: Vec<f64> = (0..outcomes.len()).filter_map(|k| Some(rotation::fuel_over(outcomes, k)?.1)).collect();
    let most = over.iter().copied().fold(0.0, f64::max);
    let left_out = left_out(outcomes);
    let even = outcomes.iter().zip(&over).min_by(|a, b| a.0.spread_h().total_cmp(&b.0.spread_h()));
    match even {
        Some((o, cost)) if left_out > 0 => {
            let (policy, order) = name(&o.rotation);
            format!(
                "{left_out} of {} policies burn more than {:.0} % above the least and are left out: where boilers differ in efficiency, even \
                 hours cost fuel. The most even of all, '{policy}, {order}', has its hours {:.1} h apart and burns {:.1} % more than the \
                 least.",
                outcomes.len(),
                100.0 * rotation::FUEL_SLACK,
                o.spread_h(),
                100.0 * cost
            )
        }
        _ => format!("Fuel does not decide: all policies lie within {:.1} %.", 100.0 * most),
    }
}

fn report(l: &Loaded, outcomes: &[Outcome], (days, when): (u32, &str), mean_c: f64, weather: &str, u: In) -> Report {
    let mut r = Report::of(&l.source, format!("Boiler rotation of {}", l.plant.site.name));
    r.text(format!(
        "Each policy on the same {days} days of {weather} ({when}; {} on average), same plant, same start. Hours are hours of \
         flame.",
        u.temp_text(mean_c)
    ));
    r.text(super::basis::peak(l, u));
    let ids: Vec<String> = (0..l.plant.boilers.len()).map(|i| l.names.boiler(BoilerId(i as u8)).into_owned()).collect();
    let joined = |each: Vec<String>| each.join(" / ");
    let mut t = Table::new(&[
        "Lead passes on",
        "Stops first",
        &format!("Hours {}", joined(ids.clone())),
        "Starts",
        ">Spread, h",
        ">Idle, h",
        ">Changes",
        &format!(">Fuel, {}", u.energy_unit()),
    ]);
    // As a table for programs each boiler has columns of its own.
    let mut heads = vec!["Lead passes on".to_owned(), "Stops first".to_owned()];
    heads.extend(ids.iter().map(|id| format!(">Hours {id}, h")));
    heads.extend(ids.iter().map(|id| format!(">Starts {id}")));
    heads.extend([">Spread, h".into(), ">Idle, h".into(), ">Changes".into(), format!(">Fuel, {}", u.energy_unit())]);
    let mut wide = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for o in outcomes {
        let (policy, order) = name(&o.rotation);
        let mut cells = vec![policy.clone(), order.to_owned()];
        cells.extend(o.boilers.iter().map(|b| tidy(b.burning_h, 1)));
        cells.extend(o.boilers.iter().map(|b| b.starts.to_string()));
        cells.extend([
            tidy(o.spread_h(), 1),
            o.idle_max().map_or(String::new(), |(_, h)| tidy(h, 1)),
            o.changeovers.to_string(),
            tidy(u.energy(o.fuel_kwh), 0),
        ]);
        wide.row(cells);
        t.row([
            policy,
            order.to_owned(),
            joined(o.boilers.iter().map(|b| tidy(b.burning_h, 0)).collect()),
            joined(o.boilers.iter().map(|b| b.starts.to_string()).collect()),
            tidy(o.spread_h(), 1),
            o.idle_max().map_or(String::new(), |(_, h)| tidy(h, 1)),
            o.changeovers.to_string(),
            tidy(u.energy(o.fuel_kwh), 0),
        ]);
    }
    r.table(t);
    r.main = wide;
    r.text("Lead passes on: never; at a wall-clock interval; or, when the lead's hours or starts are that far above the fewest, to the boiler with the fewest. Stops first: of the boilers that burn, the one that came on first or last. Spread: most less least hours. Idle: longest time that any boiler stood without flame. Changes: of the boiler that carries the base load.");
    r.heading("Recommendation");
    if let Some(pick) = rotation::recommend(outcomes)
        && let Some(o) = outcomes.get(pick.place)
    {
        let (policy, order) = name(&o.rotation);
        let why = match pick.why {
            Why::OneBoiler => "there is nothing to rotate".to_owned(),
            Why::Even { spread_h, fixed_spread_h, as_even } => format!(
                "its hours lie {spread_h:.1} h apart{}. {} within {:.1} h, {:.0} % of a boiler's mean hours or {:.0} h if that is more{}",
                fixed_spread_h.map_or(String::new(), |f| format!(" (a fixed order: {f:.1} h)")),
                if as_even == 1 { "It alone keeps that".to_owned() } else { format!("{as_even} policies keep that") },
                o.even_h(),
                100.0 * rotation::SPREAD_SHARE_MAX,
                rotation::SPREAD_SLACK_H,
                if as_even == 1 {
                    String::new()
                } else {
                    format!(
                        "; of those with at most {:.0} % more starts than the fewest it changes the base boiler least",
                        100.0 * rotation::STARTS_SLACK
                    )
                }
            ),
            Why::MostEven { spread_h, least_h, near, mean_h } => {
                let of = if left_out(outcomes) > 0 { " of those that burn least" } else { "" };
                nearest(of, [spread_h, least_h, mean_h], near, days)
            }
        };
        r.text(format!("Pass the lead on: {policy}; stop first what was {order}: {why}."));
        let cold = |o: &Outcome| u.energy(o.reheat_kwh);
        let (least, most) =
            outcomes.iter().map(cold).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        r.text(format!(
            "Of its fuel {:.1} {unit} went into warming up boilers that had stood without flame; over all policies {least:.1} to {most:.1} \
             {unit}.",
            cold(o),
            unit = u.energy_unit()
        ));
        r.text(fuel(outcomes));
    }
    r.text("Weighed here: fuel, then even hours, then starts, then changes of the base boiler. Not weighed: the age of the boilers, the price of a start.");
    r.json = serde_json::json!({
        "plant": l.plant.site.name,
        "days": days,
        "policies": outcomes.iter().map(|o| {
            let (policy, order) = name(&o.rotation);
            serde_json::json!({
                "policy": policy,
                "off_order": order,
                "hours_h": o.boilers.iter().map(|b| b.burning_h).collect::<Vec<_>>(),
                "starts": o.boilers.iter().map(|b| b.starts).collect::<Vec<_>>(),
                "spread_h": o.spread_h(),
                "changeovers": o.changeovers,
                "fuel_kwh": o.fuel_kwh,
                "reheat_kwh": o.reheat_kwh,
                "idle_max_h": o.idle_max().map(|i| i.1),
                "idle_longest": o.idle_max().map(|i| l.names.boiler(i.0).into_owned()),
            })
        }).collect::<Vec<_>>(),
        "recommended": rotation::recommend(outcomes).map(|p| p.place),
        "least_fuel": rotation::fuel_over(outcomes, 0).map(|(least, _)| least),
    });
    r
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fuel_is_told_where_boilers_are_unlike() {
        let o = |place: usize, hours: [f64; 2], fuel_kwh| Outcome {
            rotation: rotation::policies()[place].clone(),
            boilers: hours.map(|burning_h| rotation::log::BoilerUse { burning_h, starts: 1, idle_max_h: 1.0 }).to_vec(),
            changeovers: 0,
            fuel_kwh,
            reheat_kwh: 0.0,
        };
        let told = fuel(&[o(0, [90.0, 10.0], 1000.0), o(2, [52.0, 48.0], 1034.0)]);
        assert!(told.starts_with("1 of 2 policies") && told.contains("4.0 h apart and burns 3.4 % more"), "{told}");
        assert!(fuel(&[o(0, [90.0, 10.0], 1000.0), o(2, [52.0, 48.0], 1004.0)]).contains("within 0.4 %"));
    }

    #[test]
    fn what_is_not_the_nearest_is_not_called_so() {
        let told = nearest("", [13.6, 12.0, 60.0], 5, 7);
        assert!(told.contains("which has them 12.0 h apart") && told.contains("13.6 h apart, at 60.0 h"), "{told}");
        assert!(!told.contains("it comes nearest"), "{told}");
        assert!(
            nearest("", [12.0, 12.0, 60.0], 1, 7).contains("with 12.0 h apart, at 60.0 h on average, it comes nearest")
        );
    }
}
