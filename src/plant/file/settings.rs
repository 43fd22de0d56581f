//! `[reset]`, `[staging]`, `[rotation]`, `[purge]`, `[guard]`: the control settings.

use crate::plant::{
    checked::{
        Fallback, GuardSettings, PurgeSettings, ResetPoint, ResetSettings, RotationSettings, Site, StagingSettings,
    },
    cursor::Cursor,
    quantity::{DegreeTime, Quantity as _, Share, Temp, TempDelta, Time},
};
use heatwright_core::{
    Subject,
    config::{EnableRules, LoadRules, Modulation, OffOrder, PlantEnable, PurgeTo, RotationPolicy, StageBy},
    guard::hot::HOT_CUTS_MAX,
    limits::CURVE_POINTS,
};
use std::ops::Range;

/// A boiler is added above the one rate and dropped below the other: closer together they hunt. Our choice.
const RATES_APART: f64 = 0.05;

/// Reset settings and the id of the schedule that the setback follows.
pub(in crate::plant) fn reset(root: &Cursor<'_>, site: &Site) -> (ResetSettings, Option<String>) {
    let c = root.table("reset", "Outdoor reset.");
    let points = c.list(
        "points",
        "Typed points [{ outdoor = \"0 °F\", supply = \"180 °F\" }, ...]; left out: computed from the emitters.",
    );
    let points: Option<(Vec<ResetPoint>, Vec<Range<usize>>)> = points.map(|list| {
        list.iter()
            .map(|p| {
                let out = ResetPoint {
                    outdoor: p.need("outdoor", "Outdoor temperature.", -60.0..=40.0),
                    supply: p.need("supply", "Supply target.", 15.0..=115.0),
                };
                p.done();
                (out, p.heading())
            })
            .unzip()
    });
    if let Some((points, spans)) = points.as_ref().filter(|_| c.judged()) {
        curve(&c, points, spans);
    }
    let points = points.map(|(points, _)| points);
    let schedule = c.text("schedule", "Id of the schedule that the setback follows; left out: none.");
    let out = ResetSettings {
        points: if c.ctx.schema.is_some() { None } else { points },
        supply_min: c.or(
            "supply-min",
            "Lowest target while there is a call.",
            15.0..=100.0,
            Temp::from_f(90.0),
            "our choice for condensing boilers",
        ),
        supply_max: c.or(
            "supply-max",
            "Highest target.",
            25.0..=115.0,
            Temp::from_f(185.0),
            "our choice: below the operating limits",
        ),
        outdoor_filter: c.or(
            "outdoor-filter",
            "Time constant of the outdoor filter.",
            0.0..=86_400.0,
            Time::from_min(60.0),
            "our choice: a passing sunbeam moves nothing",
        ),
        warm_weather_off: c.or(
            "warm-weather-off",
            "No heating at or above this.",
            5.0..=30.0,
            Temp::from_f(65.0),
            "common practice, no source: 60 to 65 °F",
        ),
        warm_weather_differential: c.or(
            "warm-weather-differential",
            "It comes back this far below.",
            0.2..=10.0,
            TempDelta::from_f(3.0),
            "common practice, no source: 2 to 5 °F",
        ),
        setback: c.or(
            "setback",
            "The target is lowered by this in setback.",
            0.0..=30.0,
            TempDelta::from_f(0.0),
            "the thermostats set back by themselves",
        ),
        boost: c.or(
            "boost",
            "The target is raised by this after setback, for `boost-for`: it needs both, and `schedule`.",
            0.0..=30.0,
            TempDelta::from_f(0.0),
            "none unless asked for",
        ),
        boost_for: c.or(
            "boost-for",
            "How long `boost` lasts.",
            0.0..=21_600.0,
            Time::from_s(0.0),
            "none unless asked for",
        ),
        schedule: None,
        outdoor_fallback: c.or_by(
            "outdoor-fallback",
            "Outdoor temperature to assume while the sensor is in fault.",
            -60.0..=20.0,
            site.outdoor_design,
            "the outdoor design temperature, so that nobody freezes",
        ),
        header_trim_max: c.or(
            "header-trim-max",
            "How far the header's error may raise the boiler target.",
            0.0..=30.0,
            TempDelta::from_f(15.0),
            "our choice: enough for one boiler against twice its flow",
        ),
        demand_trim_max: c
            .may(
                "demand-trim-max",
                "How far zones that never stop calling raise the target, and silence lowers it; left out: not at all.",
                0.0..=15.0,
            )
            .unwrap_or(TempDelta::from_f(0.0)),
    };
    if out.supply_max.c <= out.supply_min.c {
        c.ctx.tell(
            c.fault(
                "supply-max",
                "P40",
                format!(
                    "`reset.supply-max`, {}, must lie above `reset.supply-min`, {}",
                    out.supply_max.show_both(),
                    out.supply_min.show_both()
                ),
            )
            .hint("raise supply-max, or lower supply-min; both have defaults that 'heatwright check' lists"),
        );
    }
    c.done();
    (out, schedule)
}

/// Typed points must rise in outdoor temperature and not rise in supply.
fn curve(c: &Cursor<'_>, points: &[ResetPoint], spans: &[Range<usize>]) {
    if points.len() < 2 || points.len() > CURVE_POINTS {
        let count = if points.len() == 1 { "1 point".to_owned() } else { format!("{} points", points.len()) };
        c.ctx.tell(
            c.fault("points", "P41", format!("the reset curve has {count}; 2 to {CURVE_POINTS} are allowed"))
                .hint("leave the points out to have the curve computed from the emitters"),
        );
    }
    for (pair, place) in points.windows(2).zip(spans.windows(2)) {
        let ([a, b], [first, second]) = (pair, place) else { continue };
        let (sentence, hint) = if b.outdoor.c <= a.outdoor.c {
            (
                format!(
                    "the reset curve runs back: {} outdoors stands after {}",
                    b.outdoor.show_both(),
                    a.outdoor.show_both()
                ),
                "write the points from the coldest outdoor temperature to the warmest, each once",
            )
        } else if b.supply.c > a.supply.c {
            (
                format!(
                    "the reset curve crosses: it asks for {} at {} outdoors, but for {} when it is colder, {}",
                    b.supply.show_both(),
                    b.outdoor.show_both(),
                    a.supply.show_both(),
                    a.outdoor.show_both()
                ),
                "a warmer day never needs a hotter supply: swap the two supply temperatures",
            )
        } else {
            continue;
        };
        c.ctx.tell(
            c.fault("points", "P41", sentence)
                .at(second.clone())
                .label("this point")
                .also(first.clone(), "the one before it")
                .hint(hint),
        );
    }
}

/// When the plant as a whole may heat.
fn enable(c: &Cursor<'_>, zones: usize) -> PlantEnable {
    let published = EnableRules::GUIDELINE_36;
    let words = [("any-call", false), ("guideline-36", true)];
    let by_rule = c
        .word(
            "plant-enable",
            "When the plant may heat: on any call, or by the number of calls after ASHRAE Guideline 36; left out: any-call.",
            &words,
            false,
        )
        .unwrap_or(false);
    let time = |key, doc: &str| c.may::<Time>(key, doc, 0.0..=14_400.0).map(|t| t.to_core());
    let ignored = c.whole(
        "plant-ignored-calls",
        "So many calls of zones are ignored; the plant starts on more, on the tank's call always; left out: 0.",
        0..=15,
    );
    let rules = EnableRules {
        ignored: ignored.unwrap_or(0) as u8,
        off_min: time("plant-off-min", "Shortest stop of the plant; left out: 15 min.").unwrap_or(published.off_min),
        on_min: time("plant-on-min", "Shortest run of the plant; left out: 15 min.").unwrap_or(published.on_min),
        few_for: time("plant-few-for", "It stops once too few have called for this long; left out: 3 min.")
            .unwrap_or(published.few_for),
    };
    if !by_rule {
        c.idle(&["plant-ignored-calls", "plant-off-min", "plant-on-min", "plant-few-for"], "plant-enable is any-call");
        return PlantEnable::AnyCall;
    }
    if zones > 0 && usize::from(rules.ignored) >= zones {
        c.ctx.tell(
            c.fault(
                "plant-ignored-calls",
                "P42",
                format!(
                    "`staging.plant-ignored-calls` is {}, and the plant has {zones} zones: none would ever heat",
                    rules.ignored
                ),
            )
            .hint("ignore fewer calls than there are zones"),
        );
    }
    PlantEnable::Requests(rules)
}

pub(in crate::plant) fn staging(root: &Cursor<'_>, zones: usize) -> StagingSettings {
    let c = root.table("staging", "When boilers are added and dropped.");
    let error = |key: &'static str, doc: &str, reason: &'static str| {
        c.or(key, doc, 0.5..=2000.0, DegreeTime { k_min: 30.0 / 1.8 }, reason)
    };
    let band: TempDelta = c.or(
        "band",
        "The first boiler starts this far below target, the last stops this far above.",
        0.5..=15.0,
        TempDelta::from_f(5.0),
        "our choice",
    );
    let low_load_run = c.may::<Time>(
        "low-load-run",
        "A lone flame shorter than this that ends with warm water is a short run; two in a row widen the band; left out: no \
         low-load mode.",
        30.0..=3600.0,
    );
    let low_load_band = c.may::<TempDelta>(
        "low-load-band",
        "Band of the lone boiler at low load; left out: three times the band (our choice).",
        0.5..=45.0,
    );
    if low_load_run.is_none() {
        c.idle(&["low-load-band"], "low-load-run is not written");
    }
    let shares = [("parallel", Modulation::Parallel), ("sequential", Modulation::Sequential)];
    let rules = [
        ("error", StageBy::Error),
        ("load-condensing", StageBy::Load(LoadRules::CONDENSING)),
        ("load-non-condensing", StageBy::Load(LoadRules::NON_CONDENSING)),
    ];
    let out = StagingSettings {
        band,
        up_error: error(
            "up-error",
            "Shortfall below the band that brings the next boiler.",
            "our choice: 5 °F short for six minutes",
        ),
        down_error: error(
            "down-error",
            "Excess above the band that drops one.",
            "our choice: 5 °F too hot for six minutes",
        ),
        up_rate: c.or(
            "up-rate",
            "Next boiler while all that run fire above this.",
            0.2..=1.0,
            Share::from_percent(80.0),
            "our choice: before full fire, where efficiency falls",
        ),
        down_rate: c.or(
            "down-rate",
            "One less while the rest could carry the load below this.",
            0.05..=0.95,
            Share::from_percent(60.0),
            "our choice: well below up-rate, against hunting",
        ),
        rate_hold: c.or(
            "rate-hold",
            "Rates must stand above or below for this long.",
            10.0..=7200.0,
            Time::from_min(5.0),
            "our choice",
        ),
        start_spacing: c.or(
            "start-spacing",
            "No second start within this.",
            0.0..=3600.0,
            Time::from_min(2.0),
            "our choice: gas pressure and inrush recover",
        ),
        band_pi: c.or(
            "rate-band",
            "Proportional band of the supply loop, for rate drive.",
            1.0..=60.0,
            TempDelta::from_f(30.0),
            "our choice",
        ),
        integral: c.or(
            "rate-integral",
            "Integral time of the supply loop, for rate drive.",
            10.0..=7200.0,
            Time::from_min(4.0),
            "our choice",
        ),
        modulation: c
            .word(
                "modulation",
                "Boilers by rate share the load in parallel, or in sequence: the first full before the next leaves its \
                 minimum; left out: parallel (our choice: condensing boilers are best at low fire).",
                &shares,
                false,
            )
            .unwrap_or(Modulation::Parallel),
        stage_by: c
            .word(
                "stage-by",
                "What adds and drops boilers: the supply's error over time, or the required heat after ASHRAE Guideline 36 \
                 for boilers that condense or do not; left out: error.",
                &rules,
                false,
            )
            .unwrap_or(StageBy::Error),
        enable: enable(&c, zones),
        low_load_run: low_load_run.unwrap_or(Time::from_s(0.0)),
        low_load_band: low_load_band.unwrap_or(TempDelta { k: band.k * 3.0 }),
    };
    if low_load_run.is_some() && out.low_load_band.k < out.band.k {
        c.ctx.tell(
            c.fault(
                "low-load-band",
                "P42",
                format!(
                    "`staging.low-load-band`, {}, must not be narrower than `staging.band`, {}",
                    out.low_load_band.show_both(),
                    out.band.show_both()
                ),
            )
            .hint("widen it, or leave it out: three times the band is taken"),
        );
    }
    if out.down_rate.of_one > out.up_rate.of_one - RATES_APART + 1e-9 {
        let sentence = format!(
            "`staging.down-rate`, {}, must lie {:.0} % or more below `staging.up-rate`, {}",
            out.down_rate.show_both(),
            RATES_APART * 100.0,
            out.up_rate.show_both()
        );
        c.ctx.tell(c.fault("down-rate", "P42", sentence).hint("keep them well apart, or boilers come and go for ever"));
    }
    c.done();
    out
}

pub(in crate::plant) fn rotation(root: &Cursor<'_>) -> RotationSettings {
    #[derive(Clone, Copy)]
    enum P {
        Fixed,
        Hours,
        Starts,
        Calendar,
    }
    let c = root.table("rotation", "Which boiler leads.");
    let words = [
        ("fixed", P::Fixed),
        ("hours-difference", P::Hours),
        ("starts-difference", P::Starts),
        ("calendar", P::Calendar),
    ];
    let policy = c.word_or(
        "policy",
        "fixed, hours-difference, starts-difference or calendar.",
        &words,
        ("hours-difference", P::Hours),
        "our choice: even hours without a clock",
    );
    let hours = c.may::<Time>(
        "hours",
        "Difference in hours at which the lead passes on, for hours-difference; left out: 50 h (our choice).",
        3600.0..=3_600_000.0,
    );
    let starts = c.whole(
        "starts",
        "Difference in starts at which the lead passes on, for starts-difference; left out: 20 (our choice).",
        1..=10_000,
    );
    let every = c.may::<Time>(
        "every",
        "Time between changes, whole days, for calendar; left out: 7 d.",
        86_400.0..=31_536_000.0,
    );
    let at = c.text("at", "Time of day of the change, like 10:00, for calendar; left out: 10:00.");
    let hours_of =
        |t: Option<Time>, default: f64| (t.map_or(default, |t| t.s / 3600.0)).round().clamp(1.0, 10_000.0) as u16;
    let own: (&[&str], &str) = match policy {
        P::Fixed => (&[], "the policy is fixed"),
        P::Hours => (&["hours"], "the policy is hours-difference"),
        P::Starts => (&["starts"], "the policy is starts-difference"),
        P::Calendar => (&["every", "at"], "the policy is calendar"),
    };
    for key in ["hours", "starts", "every", "at"].iter().filter(|k| !own.0.contains(k)) {
        c.idle(&[key], own.1);
    }
    let policy = match policy {
        P::Fixed => RotationPolicy::Fixed,
        P::Hours => {
            c.assume("hours", "50 h".to_owned(), "our choice: about every two days of one boiler");
            RotationPolicy::HoursDifference(hours_of(hours, 50.0))
        }
        P::Starts => {
            c.assume("starts", "20".to_owned(), "our choice");
            RotationPolicy::StartsDifference(u16::try_from(starts.unwrap_or(20)).unwrap_or(20))
        }
        P::Calendar => {
            c.assume("every", "7 d".to_owned(), "common practice, no source: weekly");
            c.assume("at", "10:00".to_owned(), "our choice: people are there, the morning peak is over");
            let every_h = hours_of(every, 168.0);
            if every_h % 24 != 0 {
                c.ctx.tell(
                    c.fault("every", "P43", "`rotation.every` must be whole days")
                        .hint("write it like every = \"7 d\""),
                );
            }
            let minute = at.as_deref().map(super::schedules::minute_of_day);
            if minute == Some(None) {
                c.ctx.tell(
                    c.fault("at", "P31", "`rotation.at` is not a time of day").hint("write it like at = \"10:00\""),
                );
            }
            RotationPolicy::Calendar { every_h, minute_of_day: minute.flatten().unwrap_or(600) }
        }
    };
    let orders = [("first-on-first-off", OffOrder::FirstOnFirstOff), ("first-on-last-off", OffOrder::FirstOnLastOff)];
    let out = RotationSettings {
        policy,
        off_order: c.word_or(
            "off-order",
            "first-on-first-off: even hours; first-on-last-off: fewest changes.",
            &orders,
            ("first-on-last-off", OffOrder::FirstOnLastOff),
            "our choice: fewest lead changes under fire",
        ),
    };
    c.done();
    out
}

pub(in crate::plant) fn purge(root: &Cursor<'_>) -> PurgeSettings {
    let c = root.table("purge", "Where heat goes that is left in a boiler after the last call.");
    let to = c.text("to", "none, tank, or the id of a zone.");
    let to = match to.as_deref() {
        None => {
            c.assume("to", "none".to_owned(), "the boiler pump's overrun alone");
            PurgeTo::None
        }
        Some("none") => PurgeTo::None,
        Some("tank") => PurgeTo::Tank,
        Some(id) => match c.ctx.names.borrow().find(id) {
            Some(Subject::Zone(z)) => PurgeTo::Zone(z),
            _ => {
                c.ctx.tell(
                    c.fault("to", "P11", format!("`{}` is no zone of this plant", crate::plant::quantity::clip(id)))
                        .hints(super::near_id(&c, id, |s| matches!(s, Subject::Zone(_))))
                        .hint("write none, tank, or the id of a zone"),
                );
                PurgeTo::None
            }
        },
    };
    let otherwise = c.text("otherwise", "Id of the zone that takes the heat when `to` cannot; left out: nobody.");
    let otherwise = otherwise.as_deref().and_then(|id| match c.ctx.names.borrow().find(id) {
        Some(Subject::Zone(z)) => Some(z),
        _ => {
            c.ctx.tell(
                c.fault("otherwise", "P11", format!("`{}` is no zone of this plant", crate::plant::quantity::clip(id)))
                    .hints(super::near_id(&c, id, |s| matches!(s, Subject::Zone(_))))
                    .hint("write the id of a zone"),
            );
            None
        }
    });
    let out = PurgeSettings {
        to,
        otherwise,
        time_max: c.or("time-max", "At most this long.", 0.0..=3600.0, Time::from_min(10.0), "our choice"),
        until: c.or(
            "until",
            "Until the supply is down to this.",
            15.0..=90.0,
            Temp::from_f(110.0),
            "our choice: little is left to carry",
        ),
    };
    c.done();
    out
}

/// Cuts by hot water that raise the alarm, unless the file says otherwise.
const HOT_CUTS: i64 = 3;

/// How many cuts by hot water raise the alarm.
fn hot_cuts(c: &Cursor<'_>) -> u8 {
    let cuts = c.whole(
        "hot-cuts",
        "A boiler cut by its own hot water so often (upper bound or high limit) raises the alarm; 0: no check; left out: 3 \
         (our choice: more than chance).",
        0..=HOT_CUTS_MAX as i64,
    );
    if cuts.is_none() {
        c.assume("hot-cuts", HOT_CUTS.to_string(), "our choice: more than chance");
    }
    if cuts == Some(0) {
        c.idle(&["hot-cuts-within"], "hot-cuts is 0");
    }
    cuts.unwrap_or(HOT_CUTS) as u8
}

pub(in crate::plant) fn guard(root: &Cursor<'_>, site: &Site) -> (GuardSettings, Fallback) {
    let c = root.table("guard", "Faults and frost.");
    let out = GuardSettings {
        frost_outdoor: c.or_by(
            "frost-outdoor",
            "The water must move below this outdoor temperature.",
            -40.0..=10.0,
            Temp { c: (site.outdoor_design.c - 5.0).max(-40.0) },
            "9 °F (5 K) below the design day; raise it where pipes are exposed",
        ),
        frost_water: c.or(
            "frost-water",
            "The plant heats below this water temperature.",
            2.0..=20.0,
            Temp::from_f(45.0),
            "our choice: well above freezing",
        ),
        frozen_after: c.or(
            "frozen-after",
            "A sensor must move within this once its driver acted (a flame, or flow without one where it stands too high); 0 s: no check.",
            0.0..=86_400.0,
            Time::from_min(30.0),
            "our choice: water moves within minutes",
        ),
        low_water_stops_pumps: c.flag("low-water-stops-pumps", "Low water stops the pumps too.", true),
        hot_cuts: hot_cuts(&c),
        hot_cuts_within: c.or(
            "hot-cuts-within",
            "The time in which `hot-cuts` are counted.",
            60.0..=86_400.0,
            Time::from_min(60.0),
            "our choice",
        ),
    };
    let words =
        [("none", Fallback::None), ("fixed-target", Fallback::FixedTarget), ("zone-relays", Fallback::ZoneRelays)];
    let fallback = c.word("fallback", "While the controller is dead: none; fixed-target (boilers at their own target, pumps from the thermostats, limits in force; somebody else wires it); zone-relays (the same, wired: relays of every call, held off by the health relay).", &words, false).unwrap_or_else(|| {
        c.assume("fallback", "none".to_owned(), "nothing is promised that the file does not ask for");
        Fallback::None
    });
    c.done();
    (out, fallback)
}
