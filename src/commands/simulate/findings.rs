//! What a run shows to be wrong with the plant, each with what to look at.

use super::faults::{Acted, out_of_order};
use crate::{finding::Finding, plant::Loaded, show::units::In};
use heatwright_core::{BoilerId, Reason, RelayUse, ScheduleId, Severity, Subject, config::Circulation};
use heatwright_sim::run::{
    Run,
    event::{Change, Event},
    summary::{BoilerSummary, COLD_BELOW_K, TankSummary, ZoneSummary},
    why::{Cause, Cold, HOT_K, Hot, Short},
};
use heatwright_sim::study::curve::target_c as target_c_at;
use jiff::civil::DateTime;

mod short;
#[cfg(test)]
mod tests;

/// A zone that is cold for more than this share of the time is a finding: our choice.
const COLD_SHARE: f64 = 0.05;

/// And one that is hot by water that nobody called for: our choice.
pub(super) const HOT_SHARE: f64 = 0.05;

/// All boilers at full fire and the supply short for so long without a break are too small: our choice, longer than a morning.
const BOILERS_SHORT_H: f64 = 3.0;
/// A boiler that stands by for so long while the others cannot is called too late: our choice.
const STAGE_SHORT_H: f64 = 0.5;

/// A boiler that burns for so long, and for so large a share of its hours, with its return valve shut to the header hardly heats:
/// our choice.
const VALVE_SHUT_H: f64 = 1.0;
const VALVE_SHUT_SHARE: f64 = 0.25;

/// So many burns shorter than five minutes, and more than this share of all, are worth a note: our choice.
const SHORT_BURNS_LEAST: u32 = 10;
const SHORT_BURNS_SHARE: f64 = 0.05;
/// A demand that ends within this has made a short burn at most: five minutes and a minute to purge and light, our choice.
const SHORT_DEMAND_S: f64 = 360.0;

pub(super) fn findings(l: &Loaded, ran: &Run, start: DateTime, failing: &[Acted], u: In) -> Vec<Finding> {
    let s = &ran.summary;
    let mut out = Vec::new();
    out.extend(s.zones.iter().filter(|z| z.cold_h > COLD_SHARE * s.duration_h).map(|z| cold(l, z, ran, u)));
    out.extend(ran.why.hot.iter().filter(|z| z.hours_h > HOT_SHARE * s.duration_h).map(|z| hot(l, z, s.duration_h, u)));
    if ran.why.boilers_short.longest_h >= BOILERS_SHORT_H {
        out.push(short::boilers_short(l, &ran.why.boilers_short, &out_of_order(failing, l), u));
    }
    if ran.why.stage_short.longest_h >= STAGE_SHORT_H {
        out.push(stage_short(&ran.why.stage_short, u));
    }
    for o in s.opened.iter().filter(|o| o.times > 0) {
        let about = Subject::Safety(o.safety);
        let times = if o.times == 1 { "once".to_owned() } else { format!("{} times", o.times) };
        out.push(
            Finding::new("R03", Severity::Warning, about, format!("{} opened {times}", l.names.title(about)))
                .hint("a limit is no control: see its opens-at against the temperatures that this plant runs at"),
        );
    }
    out.extend(super::alarm::findings(l, &s.alarm, s.duration_h, start));
    let limits = out.iter().any(|f| f.code == "R03");
    for b in &s.boilers {
        if b.starts_per_h_max > 6 || (b.starts > 20 && b.short_cycles * 4 > b.starts) {
            out.push(short(l, b, limits, &ran.events));
        } else if b.short_cycles >= SHORT_BURNS_LEAST
            && f64::from(b.short_cycles) > SHORT_BURNS_SHARE * f64::from(b.starts)
        {
            out.push(short_burns(l, b, &ran.events));
        }
        if b.limit_stops > 0 {
            out.push(own_limit(l, b, &ran.why.own_limit_short, u));
        }
        if b.return_cold_h > 0.0 {
            out.push(return_cold(l, b, u));
        }
        if b.valve_shut_h > VALVE_SHUT_H.max(VALVE_SHUT_SHARE * b.hours_h) {
            out.push(valve_shut(l, b, u));
        }
    }
    out.extend(s.tank.as_ref().filter(|t| t.tap_short_h > 0.0).map(|t| tap_short(l, t, u)));
    out
}

/// A zone's causes in words, the longest first; what has less than this share of its cold hours is told together, by the longest.
const CAUSE_SHARE: f64 = 0.1;

fn cold(l: &Loaded, z: &ZoneSummary, ran: &Run, u: In) -> Finding {
    let about = Subject::Zone(z.zone);
    let causes: Vec<&Cold> = ran.why.cold.iter().filter(|c| c.zone == z.zone).collect();
    // Looks are two minutes apart and the hours are counted by the step: the parts are made to add up to them, in tenths.
    let all_h: f64 = causes.iter().map(|c| c.hours_h).sum();
    let tenths = |h: f64| (10.0 * h * z.cold_h / all_h.max(1e-9)).round() as i64;
    let (told, rest): (Vec<&Cold>, Vec<&Cold>) = causes.iter().partition(|c| c.hours_h >= CAUSE_SHARE * all_h);
    let whole = (10.0 * z.cold_h).round() as i64;
    let rest_h: f64 = rest.iter().map(|c| c.hours_h).sum();
    let other = rest.first().map_or(0, |_| tenths(rest_h));
    // What rounding leaves over is the longest part's.
    let later: i64 = told.iter().skip(1).map(|c| tenths(c.hours_h)).sum();
    let hours = |k: usize, c: &Cold| if k == 0 { whole - other - later } else { tenths(c.hours_h) };
    let shown = |tenths: i64| format!("{:.1} h", tenths as f64 / 10.0);
    let each = told.iter().enumerate();
    let mut parts: Vec<String> = each.map(|(k, c)| format!("{} {}", shown(hours(k, c)), cause(l, c, u))).collect();
    if let Some(most) = rest.first().filter(|_| other > 0) {
        let mostly = if rest.len() > 1 { "otherwise, mostly " } else { "" };
        parts.push(format!("{} {mostly}{}", shown(other), cause(l, most, u)));
    }
    let sentence = format!(
        "{} was more than {} too cold for {:.1} of {:.0} h: {}",
        l.names.title(about),
        u.diff_text(COLD_BELOW_K),
        z.cold_h,
        ran.summary.duration_h,
        parts.join("; ")
    );
    let of = |cause| causes.iter().find(|c| c.cause == cause).copied();
    // Cold before each call and while the call answers it: that is the swing of the thermostat, not of the water.
    let first = match (causes.first().copied(), of(Cause::Silent)) {
        (Some(w), Some(s)) if w.cause == Cause::Warming && s.hours_h > 0.3 * w.hours_h => Some(s),
        (first, _) => first,
    };
    let hint = first.map_or("run more days to see why", |c| mend(l, c));
    Finding::new("R01", Severity::Warning, about, sentence).hint(hint)
}

fn hot(l: &Loaded, z: &Hot, duration_h: f64, u: In) -> Finding {
    let about = Subject::Zone(z.zone);
    let set_c = l.physics.zones.get(z.zone.index()).map_or(0.0, |p| p.thermostat.set_c);
    let constant = l.config.zones.get(z.zone.index()).is_some_and(|c| c.circulation == Circulation::Constant);
    let sentence = format!(
        "{} was heated for {:.1} of {duration_h:.0} h without a call while it was warmer than {}, which is {} above its setting: {} on \
         average, on water of {} at {} outdoors",
        l.names.title(about),
        z.hours_h,
        u.temp_text(set_c + HOT_K),
        u.diff_text(HOT_K),
        u.temp_text(z.air_c),
        u.temp_text(z.supply_c),
        u.temp_text(z.outdoor_c)
    );
    let (finding, hint) =
        (Finding::new("R14", Severity::Warning, about, sentence), "see zone-hot of 'heatwright curve'");
    if constant {
        finding.field("circulation").hint(format!(
            "its water circulates whether it calls or not: {hint}; circulation = \"on-call\", or water of its own (mixing)"
        ))
    } else {
        finding.hint("see what moves its water without its call: a pump that it shares, a valve that does not close, a hand switch")
    }
}

/// True where no curve helps: the emitters need hotter water than the curve may ever ask for.
fn emitter_small(l: &Loaded, c: &Cold) -> bool {
    c.needed_c.is_some_and(|needed| needed > l.plant.reset.supply_max.c)
}

/// A curve that lies this far below the need is too low, and a target this far below the curve lags, in kelvin: our choice, the bound of a
/// target that is too low.
const LAG_K: f64 = 0.5;

/// The hottest water that the curve asks for, in degrees Celsius.
fn curve_end_c(l: &Loaded) -> Option<f64> {
    let r = &l.plant.reset;
    let hottest = l.curve.points.iter().map(|p| p.1).max_by(f64::total_cmp);
    hottest.map(|c| c.min(r.supply_max.c).max(r.supply_min.c))
}

/// The schedule by which the controller lowers its curve, and by how much in kelvin.
pub(super) fn curve_setback(l: &Loaded) -> Option<(ScheduleId, f64)> {
    let by_k = f64::from(l.config.reset.setback.centi_k()) / 100.0;
    l.config.reset.schedule.filter(|_| l.controlled() && by_k > 0.0).map(|k| (k, by_k))
}

/// What the curve has at the outdoor temperature of these hours, in degrees Celsius, where that is hot enough and the target was colder:
/// it is made for the filtered outdoor temperature.
fn lagging(l: &Loaded, c: &Cold) -> Option<f64> {
    let (needed_c, target_c) = c.needed_c.zip(c.target_c)?;
    let curve_c = target_c_at(&l.config.reset, c.outdoor_c);
    let moved = !l.config.reset.outdoor_filter.is_zero();
    (moved && curve_c >= needed_c - LAG_K && target_c < curve_c - LAG_K).then_some(curve_c)
}

/// True in weather that the curve was not made for.
fn past_design(l: &Loaded, c: &Cold) -> bool {
    c.outdoor_c < l.physics.site.design_outdoor_c - 0.05
}

/// What the fans of a zone wait for.
fn aquastat(l: &Loaded, c: &Cold, u: In) -> String {
    let fan = l.physics.zones.get(c.zone.index()).and_then(|z| z.fan?.aquastat_c);
    fan.map_or("-".into(), |c| u.temp_text(c))
}

fn cause(l: &Loaded, c: &Cold, u: In) -> String {
    let t = |c: Option<f64>| c.map_or("-".into(), |c| u.temp_text(c));
    let out = u.temp_text(c.outdoor_c);
    let header = |what: &str| {
        format!("with {what} (supply {} for the {} that it needs)", u.temp_text(c.supply_c), t(c.needed_c))
    };
    match c.cause {
        Cause::Silent => "before its thermostat called".into(),
        Cause::Tank => "shed while the tank had priority".into(),
        Cause::WarmWeather => "in warm-weather shutdown".into(),
        Cause::Safety => "with a safety open that holds its water off".into(),
        Cause::Held => "calling, with its pump or valve held off or on its way".into(),
        Cause::Flow => format!("by its flow, too small for its loss at {out} outdoors"),
        Cause::Mixed => format!("by its mixing valve: at {out} outdoors its emitters need {}", t(c.needed_c)),
        Cause::Fan => format!(
            "while its fan waits for hotter water (aquastat {}): at {out} outdoors the target was {}",
            aquastat(l, c, u),
            t(c.target_c)
        ),
        Cause::Target if emitter_small(l, c) => {
            format!("by its emitters, too small: at {out} outdoors they need water of {}", t(c.needed_c))
        }
        Cause::Target if past_design(l, c) => format!(
            "in weather colder than the design temperature: at {out} outdoors it needs {} and the curve ends at {}",
            t(c.needed_c),
            t(curve_end_c(l))
        ),
        Cause::Target if lagging(l, c).is_some() => format!(
            "by the outdoor filter, which lags: at {out} outdoors it needs {}, the curve has {} there and the target was {}",
            t(c.needed_c),
            t(lagging(l, c)),
            t(c.target_c)
        ),
        Cause::Target => {
            format!(
                "by the curve, too low: at {out} outdoors it needs {} and the target was {}",
                t(c.needed_c),
                t(c.target_c)
            )
        }
        Cause::Setback => format!(
            "by the setback of the curve, {}: at {out} outdoors it needs {} and the target was {}",
            u.diff_text(curve_setback(l).map_or(0.0, |s| s.1)),
            t(c.needed_c),
            t(c.target_c)
        ),
        Cause::Recovery => "coming back from a setback".into(),
        Cause::Limit => header("a limit open"),
        Cause::OwnLimit => header("a boiler held off by its own limit"),
        Cause::Stage => header("a boiler that could help not called"),
        Cause::Boilers => header("all boilers at full fire"),
        Cause::ReturnValve => header("a return valve that leads boiler water round"),
        Cause::Burner => header("a boiler that is called at less than full fire"),
        Cause::Warming => "on water hot enough for what it loses, which warms it but slowly".into(),
    }
}

fn mend(l: &Loaded, c: &Cold) -> &'static str {
    match c.cause {
        Cause::Silent => "its thermostat swings wide or is slow: see thermostat-differential and thermostat-cycles",
        Cause::Tank => "see priority-max and priority-above of the tank, and no-shed of the zone",
        Cause::WarmWeather => "see reset.warm-weather-off",
        Cause::Safety | Cause::Limit => "the events say which safety opened: mend that first (R03)",
        Cause::OwnLimit => "its own limit is no control (R11): see limit, outlet-max and signal-high of the boilers",
        Cause::Held => "the events say what held it: an alarm, a proof, a switch that is not at AUTO",
        Cause::Flow => "give it more flow: 'heatwright curve' shows the drop (flow-short)",
        Cause::Mixed => {
            "raise mixed-design where the floor bears it: 'heatwright curve' says what it covers (mixed-short)"
        }
        Cause::Fan => {
            "lower the aquastat of its fans below the coolest water that is to heat, or raise reset.supply-min above it (fan-waits)"
        }
        Cause::Target if emitter_small(l, c) => {
            "a larger emitter, or less loss; no curve within reset.supply-max is enough"
        }
        Cause::Target if past_design(l, c) => {
            "below the design temperature the curve is level: lower site.outdoor-design if such weather is to be held"
        }
        Cause::Target if lagging(l, c).is_some() => "a shorter reset.outdoor-filter, or a curve a few degrees higher",
        Cause::Target => "raise the curve there, or leave reset.points out so that it is computed",
        Cause::Setback => {
            "a smaller reset.setback, a schedule of the curve that begins earlier, or the same setback for the room (schedule, room-setback)"
        }
        Cause::Recovery => {
            "begin earlier in the schedule, set back less, or boost the curve for longer (reset.boost, boost-for)"
        }
        Cause::Stage => "see R07 and the events: why the next boiler was not called",
        Cause::Boilers => {
            "the boilers that could fire were too few or too small (R06 says which), or too many zones come back from setback at once"
        }
        Cause::ReturnValve => {
            "its boiler gives the header flow x (water - setting) at most: raise reset.supply-min or signal-low, or set return-valve lower"
        }
        Cause::Burner => {
            "its own control holds it back: see signal-low, signal-high, fixed-target and limit of the boilers, and short-cycle"
        }
        Cause::Warming => {
            "it had been let go colder: where its water had been stopped, the events before it tell by what; where it calls all day, a little \
             hotter water (the curve, mixed-design) or a larger emitter comes back sooner"
        }
    }
}

fn stage_short(s: &Short, u: In) -> Finding {
    let sentence = format!(
        "a boiler that could help was not called for {:.1} h, {:.1} h without a break, while those that were burned at full fire and \
         the supply was {} below its target",
        s.hours_h,
        s.longest_h,
        u.diff_text(s.short_k)
    );
    Finding::new("R07", Severity::Warning, Subject::Plant, sentence)
        .hint("lower staging.up-error or up-rate, shorten start-spacing; see off-min of that boiler")
}

/// What ended most of a boiler's short burns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ended {
    /// Its own limit.
    Limit,
    /// Nobody called any more.
    Call,
    /// Its target was reached, or the controller took its demand while somebody called.
    Target,
}

impl Ended {
    /// By the events that were kept, and by how often its own limit put its flame out.
    fn of(b: &BoilerSummary, events: &[Event]) -> Self {
        let short = f64::from(b.short_cycles) / f64::from(b.starts.max(1));
        let limit = f64::from(b.limit_stops) / f64::from(b.starts.max(1));
        let call = short_demands(events, b.boiler);
        if 2.0 * limit >= short && limit >= call {
            Self::Limit
        } else if 2.0 * call >= short {
            Self::Call
        } else {
            Self::Target
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Limit => "most by its own limit",
            Self::Call => "most since nobody called any more",
            Self::Target => "most by its own control or the controller's, while somebody called",
        }
    }

    const fn mend(self) -> &'static str {
        match self {
            Self::Limit => {
                "its own limit is no control (R11): lower what its water is told, see its flow, or raise limit as its instructions allow"
            }
            Self::Call => {
                "longer calls: a longer call-min or smaller thermostat-cycles of the zones that call alone, or a longer on-min of the boiler"
            }
            Self::Target => "a smaller smallest fire (turndown), more water or a wider band; short-cycle has the sum",
        }
    }
}

fn short(l: &Loaded, b: &BoilerSummary, limits: bool, events: &[Event]) -> Finding {
    let about = Subject::Boiler(b.boiler);
    let ended = Ended::of(b, events);
    let sentence = format!(
        "{} started up to {} times an hour; {} of its {} burns were shorter than five minutes{}",
        l.names.title(about),
        b.starts_per_h_max,
        b.short_cycles,
        b.starts,
        if b.short_cycles > 0 { format!(", {}", ended.words()) } else { String::new() }
    );
    let hint = if limits { "a limit opened in this run: mend that first" } else { ended.mend() };
    Finding::new("R02", Severity::Warning, about, sentence).hint(hint)
}

/// The share of a boiler's demands that ended within [`SHORT_DEMAND_S`] since nobody asked any more, in the events that were kept.
fn short_demands(events: &[Event], b: BoilerId) -> f64 {
    let (mut since_s, mut all, mut short) = (None, 0_u32, 0_u32);
    for e in events {
        match e.change {
            Change::Relay { what: RelayUse::Demand(of), on: true, .. } if of == b => since_s = Some(e.at_s),
            Change::Relay { what: RelayUse::Demand(of), on: false, why, .. } if of == b => {
                let Some(since) = since_s.take() else { continue };
                all += 1;
                short += u32::from(why == Reason::NoCall && e.at_s - since < SHORT_DEMAND_S);
            }
            Change::Relay { .. } | Change::Lead(_) | Change::FirstOut(_) => {}
        }
    }
    f64::from(short) / f64::from(all.max(1))
}

fn short_burns(l: &Loaded, b: &BoilerSummary, events: &[Event]) -> Finding {
    let about = Subject::Boiler(b.boiler);
    let ended = Ended::of(b, events);
    let why = ended.words();
    let sentence = format!(
        "{}: {} of its {} burns were shorter than five minutes, {why}; a burn lasted {:.1} min on average",
        l.names.title(about),
        b.short_cycles,
        b.starts,
        60.0 * b.hours_h / f64::from(b.starts.max(1))
    );
    Finding::new("R13", Severity::Note, about, sentence).hint(ended.mend())
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
        .hint("fit a valve that mixes outlet water into its return and enter it as return-valve, or raise the curve or reset.supply-min")
}

fn valve_shut(l: &Loaded, b: &BoilerSummary, u: In) -> Finding {
    let about = Subject::Boiler(b.boiler);
    let setting = l.physics.boilers.get(b.boiler.index()).and_then(|p| p.return_valve_c);
    let sentence = format!(
        "{} burned for {:.1} of {:.1} h with its return valve shut to the header: it warmed its own water to {} and gave no heat",
        l.names.title(about),
        b.valve_shut_h,
        b.hours_h,
        setting.map_or("-".into(), |c| u.temp_text(c))
    );
    Finding::new("R08", Severity::Warning, about, sentence).hint(
        "fewer starts (on-min, off-min, the policy of rotation), or hotter water: reset.supply-min, signal-low of a boiler that is told a target",
    )
}

fn own_limit(l: &Loaded, b: &BoilerSummary, s: &Short, u: In) -> Finding {
    let about = Subject::Boiler(b.boiler);
    let limit = l.physics.boilers.get(b.boiler.index()).map_or(0.0, |p| p.control.limit_c);
    let times = if b.limit_stops == 1 { "once".to_owned() } else { format!("{} times", b.limit_stops) };
    let short = if s.hours_h > 0.0 {
        format!(
            "; with a boiler held off so, the supply was {} below its target for {:.1} h",
            u.diff_text(s.short_k),
            s.hours_h
        )
    } else {
        String::new()
    };
    let sentence =
        format!("{}: its own limit of {} put its flame out {times}{short}", l.names.title(about), u.temp_text(limit));
    Finding::new("R11", Severity::Warning, about, sentence).hint(
        "a limit is no control: lower what its water is told (outlet-max, signal-high, fixed-target), see its flow, or raise limit as its \
         instructions allow",
    )
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
