//! What a run shows to be wrong with the plant, each with what to look at.

use crate::{finding::Finding, plant::Loaded, show::units::In};
use heatwright_core::{Severity, Subject};
use heatwright_sim::run::{
    Run,
    summary::{BoilerSummary, COLD_BELOW_K, TankSummary, ZoneSummary},
};

/// A zone that is cold for more than this share of the time is a finding: our choice.
const COLD_SHARE: f64 = 0.05;

pub(super) fn findings(l: &Loaded, ran: &Run, u: In) -> Vec<Finding> {
    let s = &ran.summary;
    let mut out = Vec::new();
    out.extend(s.zones.iter().filter(|z| z.cold_h > COLD_SHARE * s.duration_h).map(|z| cold(l, z, s.duration_h, u)));
    for o in s.opened.iter().filter(|o| o.times > 0) {
        let about = Subject::Safety(o.safety);
        let times = if o.times == 1 { "once".to_owned() } else { format!("{} times", o.times) };
        out.push(
            Finding::new("R03", Severity::Warning, about, format!("{} opened {times}", l.names.title(about)))
                .hint("a limit is no control: see its opens-at against the temperatures that this plant runs at"),
        );
    }
    let limits = out.iter().any(|f| f.code == "R03");
    for b in &s.boilers {
        if b.starts_per_h_max > 6 || (b.starts > 20 && b.short_cycles * 4 > b.starts) {
            out.push(short(l, b, limits));
        }
        if b.return_cold_h > 0.0 {
            out.push(return_cold(l, b, u));
        }
    }
    out.extend(s.tank.as_ref().filter(|t| t.tap_short_h > 0.0).map(|t| tap_short(l, t, u)));
    out
}

fn cold(l: &Loaded, z: &ZoneSummary, of_h: f64, u: In) -> Finding {
    let about = Subject::Zone(z.zone);
    let silent_h = (z.cold_h - z.cold_held_h - z.cold_flowing_h).max(0.0);
    let sentence = format!(
        "{} was more than {} too cold for {:.1} of {of_h:.0} h: {:.1} h with water flowing, {:.1} h calling with its pump or valve \
         held off, {silent_h:.1} h before its thermostat called",
        l.names.title(about),
        u.diff_text(COLD_BELOW_K),
        z.cold_h,
        z.cold_flowing_h,
        z.cold_held_h
    );
    let hint = if z.cold_held_h >= z.cold_flowing_h.max(silent_h) {
        "the events say what held it: the tank's priority, warm-weather shutdown (reset.warm-weather-off), an alarm"
    } else if z.cold_flowing_h >= silent_h {
        "it is coming back from setback, or the curve gives it too little: see its surplus with 'heatwright curve'"
    } else {
        "its thermostat is slow or wide: see thermostat-differential and thermostat-cycles"
    };
    Finding::new("R01", Severity::Warning, about, sentence).hint(hint)
}

fn short(l: &Loaded, b: &BoilerSummary, limits: bool) -> Finding {
    let about = Subject::Boiler(b.boiler);
    let sentence = format!(
        "{} started up to {} times an hour; {} of its {} burns were shorter than five minutes",
        l.names.title(about),
        b.starts_per_h_max,
        b.short_cycles,
        b.starts
    );
    let hint = if limits {
        "a limit opened in this run: mend that first"
    } else {
        "a lower smallest fire, more water or a wider band makes burns longer"
    };
    Finding::new("R02", Severity::Warning, about, sentence).hint(hint)
}

fn return_cold(l: &Loaded, b: &BoilerSummary, u: In) -> Finding {
    let about = Subject::Boiler(b.boiler);
    let least = l.physics.boilers.get(b.boiler.index()).and_then(|p| p.return_min_c);
    let sentence = format!(
        "{} burned for {:.1} of {:.1} h with water coming back colder than its return-min of {}, down to {}",
        l.names.title(about),
        b.return_cold_h,
        b.hours_h,
        least.map_or("-".into(), |c| u.temp_text(c)),
        b.return_min_c.map_or("-".into(), |c| u.temp_text(c))
    );
    Finding::new("R04", Severity::Warning, about, sentence)
        .hint("raise the curve or reset.supply-min, or mix supply into its return by a valve that holds it")
}

fn tap_short(l: &Loaded, t: &TankSummary, u: In) -> Finding {
    let wanted = l.physics.tank.as_ref().map_or(0.0, |p| p.draw.use_c);
    let sentence = format!(
        "water was drawn for {:.1} h while the tank was colder than the {} that the taps want, down to {}",
        t.tap_short_h,
        u.temp_text(wanted),
        u.temp_text(t.lowest_c)
    );
    Finding::new("R05", Severity::Warning, Subject::Tank, sentence)
        .hint("a larger tank or coil, a hotter aquastat behind a mixing valve, or draws spread out")
}
