//! Settings of limits against what they guard, and names against each other: what makes two correct entries wrong together.
//!
//! * A floor limit opens above the hottest water that the controller may mix, or it trips in ordinary work, and at most 20 °F over
//!   the design supply of the floor (CSA B214 12.1.2, checked; a floor that is never hotter needs no more). A floor
//!   without a mixing valve has no design supply of its own: 20 °F over the 140 °F that any floor bears (common practice, no source).
//! * A high limit opens above the highest target of its boiler (`outlet-max`), or every cold day ends in a trip.
//! * The limit with hand reset opens above the automatic one, so that the automatic one acts first (common practice; CSD-1
//!   wants the two apart, from memory).
//! * A high limit opens at 250 °F at most: what a hot-water heating boiler is built for (ASME Section IV HG-101, from memory).
//! * A tank limit opens below 210 °F, at which the temperature and pressure relief valve of a tank opens (ANSI Z21.22, from memory).
//! * A tank limit opens above the aquastat, or it takes the pump away before the tank is warm.
//! * Two things of one kind with one name would give two lockout sheets and two labels alike.
//!
//! A limit without `opens-at` is not looked at; what is set in the field is not known here.

use super::{
    checked::{Emitter, Plant, Safety},
    cursor::Cursor,
    quantity::{Quantity as _, Temp},
};
use crate::finding::Finding;
use heatwright_core::{
    BoilerId, PumpId, SafetyId, SensorId, Severity, Subject, ZoneId,
    config::{SafetyKind, SafetyScope},
};

/// Most that a floor limit may stand above the design supply, kelvin: 20 °F, and a hair for rounding.
const FLOOR_OVER_MAX_K: f64 = 20.0 / 1.8 + 0.01;

/// Most that a hot-water heating boiler of ASME Section IV is built for: 250 °F, and a hair for rounding.
const HIGH_LIMIT_MAX_C: f64 = 218.0 / 1.8 + 0.01;

/// At which the temperature and pressure relief valve of a tank opens: 210 °F.
const TANK_RELIEF_C: f64 = 178.0 / 1.8;

/// All that is wrong.
pub(super) fn check(root: &Cursor<'_>, p: &Plant) {
    for (i, s) in p.safeties.iter().enumerate() {
        let Some(opens) = s.opens_at else { continue };
        let wrong = match (s.kind, s.scope) {
            (SafetyKind::FloorLimit, SafetyScope::Zone(z)) => floor(p, z, opens),
            (SafetyKind::HighLimit | SafetyKind::HighLimitManual, _) if opens.c > HIGH_LIMIT_MAX_C => Some((
                "above 250 °F, the most that a hot-water heating boiler is built for (ASME Section IV)".to_owned(),
                "set it to 250 °F or less, below what the boiler's plate allows; read its dial",
            )),
            (SafetyKind::HighLimit | SafetyKind::HighLimitManual, SafetyScope::Boiler(b)) => boiler(p, b, s, opens),
            (SafetyKind::TankLimit, _) if opens.c > TANK_RELIEF_C - 0.01 => Some((
                "not below the 210 °F at which the tank's temperature and pressure relief valve opens".to_owned(),
                "set it well below 210 °F, above the aquastat; read its dial",
            )),
            (SafetyKind::TankLimit, _) => p.tank.as_ref().and_then(|t| {
                below(opens, t.aquastat, "the aquastat", "it takes the pump away before the tank is warm")
            }),
            _ => None,
        };
        if let Some((sentence, hint)) = wrong {
            let about = Subject::Safety(SafetyId(i as u8));
            let sentence = format!("`{}` opens at {}: {sentence}", s.name, opens.show_both());
            root.ctx.tell(Finding::new("P57", Severity::Error, about, sentence).field("opens-at").hint(hint));
        }
    }
    names(root, p);
}

/// What is wrong, and what to do.
type Wrong = Option<(String, &'static str)>;

fn below(opens: Temp, least: Temp, what: &str, so: &str) -> Wrong {
    (opens.c <= least.c).then(|| {
        (
            format!("not above {what}, {}, so {so}", least.show_both()),
            "set it above, or lower what it guards; read its dial",
        )
    })
}

fn floor(p: &Plant, zone: ZoneId, opens: Temp) -> Wrong {
    let zone = p.zones.get(zone.index())?;
    let Some(m) = &zone.mixing else {
        // Without a mixing valve: over what a floor bears at all. What the water may come to is judged with the curve (C15).
        let bears = Temp::from_f(140.0);
        let far = matches!(zone.emitter, Emitter::Floor(_)) && opens.c > bears.c + FLOOR_OVER_MAX_K;
        let sentence = format!("more than 20 °F over what a floor bears, {}", bears.show_both());
        return far.then_some((sentence, "lower it; a floor limit that high protects no floor (CSA B214 12.1.2)"));
    };
    let most = Temp { c: m.mixed_design.c + FLOOR_OVER_MAX_K };
    if opens.c > most.c {
        let design = m.mixed_design.show_both();
        let sentence = format!("more than 20 °F over the design supply of its floor, {design}");
        return Some((sentence, "lower it; a floor limit that high protects no floor (CSA B214 12.1.2)"));
    }
    below(opens, m.mixed_max, "the hottest water that the controller may mix", "it trips in ordinary work")
}

fn boiler(p: &Plant, b: BoilerId, s: &Safety, opens: Temp) -> Wrong {
    let outlet = p.boilers.get(b.index())?.outlet_max;
    let low = below(opens, outlet, "the highest target of its boiler (outlet-max)", "it trips on every cold day");
    if low.is_some() || s.kind != SafetyKind::HighLimitManual {
        return low;
    }
    let automatic = p.safeties.iter().filter(|o| o.kind == SafetyKind::HighLimit && o.scope == s.scope);
    let highest = automatic.filter_map(|o| o.opens_at).max_by(|a, b| a.c.total_cmp(&b.c))?;
    below(opens, highest, "the automatic high limit of the same boiler", "somebody must come and press it each time")
}

/// Two things of one kind with one name.
fn names(root: &Cursor<'_>, p: &Plant) {
    let n = |i: usize| i as u8;
    let mut kinds: Vec<(&str, Vec<(Subject, &str)>)> = Vec::new();
    let boilers = p.boilers.iter().enumerate().map(|(i, x)| (Subject::Boiler(BoilerId(n(i))), x.name.as_str()));
    kinds.push(("boilers", boilers.collect()));
    let pumps = p.pumps.iter().enumerate().map(|(i, x)| (Subject::Pump(PumpId(n(i))), x.name.as_str()));
    kinds.push(("pumps", pumps.collect()));
    let zones = p.zones.iter().enumerate().map(|(i, x)| (Subject::Zone(ZoneId(n(i))), x.name.as_str()));
    kinds.push(("zones", zones.collect()));
    let safeties = p.safeties.iter().enumerate().map(|(i, x)| (Subject::Safety(SafetyId(n(i))), x.name.as_str()));
    kinds.push(("safeties", safeties.collect()));
    let sensors = p.sensors.iter().enumerate().map(|(i, x)| (Subject::Sensor(SensorId(n(i))), x.name.as_str()));
    kinds.push(("sensors", sensors.collect()));
    let same = |a: &str, b: &str| a.trim().to_lowercase() == b.trim().to_lowercase();
    // What every plan calls by this name: its sheets and labels stand beside theirs.
    let ours = ["relay panel", "starter panel", "panelboard", "controller"];
    for (about, name) in kinds.iter().flat_map(|(_, list)| list) {
        if ours.iter().any(|o| same(name, o)) {
            let sentence = format!(
                "\"{name}\" is the name of a part of every plan: its sheets and labels could not be told apart"
            );
            let f = Finding::new("P58", Severity::Error, *about, sentence).field("name");
            root.ctx.tell(f.hint("give it a name of its own"));
        }
    }
    for (what, list) in kinds {
        for (i, (about, name)) in list.iter().enumerate() {
            // An empty name is a fault of its own.
            let Some((first, _)) = list[..i].iter().find(|(_, other)| same(name, other) && !name.trim().is_empty())
            else {
                continue;
            };
            let sentence = format!("two {what} are called \"{name}\": their sheets and labels could not be told apart");
            let mut f = Finding::new("P58", Severity::Error, *about, sentence)
                .field("name")
                .label("again here")
                .hint("give each its own name");
            if let Some(span) = root.ctx.places.borrow().at(*first, "name") {
                f = f.also(span, "first used here");
            }
            root.ctx.tell(f);
        }
    }
}
