//! `[safety.*]` and `[sensor.*]`.

use super::{name, near_id, run};
use crate::plant::{
    checked::{Element, Rest, Safety, Sensor, Site},
    cursor::Cursor,
};
use heatwright_core::{
    SafetyId, SensorId, SensorUse, Subject,
    config::{Reset, SafetyCircuit, SafetyKind, SafetyScope},
};

/// A kind of safety: its word, the circuit it belongs to, how it comes back.
type Row = (&'static str, SafetyKind, SafetyCircuit, Reset);

/// The kinds with their usual circuit and reset (CSD-1 and Section IV practice; hand reset where those want it).
const KINDS: [Row; 13] = [
    ("door-switch", SafetyKind::DoorSwitch, SafetyCircuit::Limit, Reset::Manual),
    ("low-water", SafetyKind::LowWater, SafetyCircuit::Limit, Reset::Manual),
    ("high-limit", SafetyKind::HighLimit, SafetyCircuit::Limit, Reset::Automatic),
    ("high-limit-manual", SafetyKind::HighLimitManual, SafetyCircuit::Limit, Reset::Manual),
    ("gas-low", SafetyKind::GasLow, SafetyCircuit::Limit, Reset::Manual),
    ("gas-high", SafetyKind::GasHigh, SafetyCircuit::Limit, Reset::Manual),
    ("condensate", SafetyKind::Condensate, SafetyCircuit::Limit, Reset::Automatic),
    ("flow-switch", SafetyKind::FlowSwitch, SafetyCircuit::Proving, Reset::Automatic),
    ("damper-switch", SafetyKind::DamperSwitch, SafetyCircuit::Proving, Reset::Automatic),
    ("floor-limit", SafetyKind::FloorLimit, SafetyCircuit::ZoneLimit, Reset::Automatic),
    ("tank-limit", SafetyKind::TankLimit, SafetyCircuit::TankLimit, Reset::Manual),
    ("pressure-low", SafetyKind::PressureLow, SafetyCircuit::Alarm, Reset::Automatic),
    ("gas-detector", SafetyKind::GasDetector, SafetyCircuit::Limit, Reset::Manual),
];

pub(in crate::plant) fn safeties<'a>(root: &Cursor<'a>, site: &Site) -> Vec<(Safety, Cursor<'a>)> {
    root.named("safety", "Safety devices.", |i| Subject::Safety(SafetyId(i)))
        .into_iter()
        .map(|(id, c)| (safety(&c, &id, site), c))
        .collect()
}

fn safety(c: &Cursor<'_>, id: &str, site: &Site) -> Safety {
    let words: Vec<(&'static str, usize)> = KINDS.iter().enumerate().map(|(i, k)| (k.0, i)).collect();
    let kind = c.word("kind", "What it is.", &words, true).and_then(|i| KINDS.get(i)).unwrap_or(&KINDS[0]);
    let circuits = [
        ("limit", SafetyCircuit::Limit),
        ("proving", SafetyCircuit::Proving),
        ("zone", SafetyCircuit::ZoneLimit),
        ("tank", SafetyCircuit::TankLimit),
        ("alarm", SafetyCircuit::Alarm),
    ];
    let circuit = c.word("circuit", "limit: opens burner power; proving: must close after the call; zone: opens its zone's pump, or its valve where it has one; tank: opens the tank's pump; alarm: alarm only.", &circuits, false).unwrap_or_else(|| {
        let usual = circuits.iter().find(|w| w.1 == kind.2).map_or("limit", |w| w.0);
        c.assume_by("circuit", usual.to_owned(), "the usual one of its kind");
        kind.2
    });
    let scope_text = c.text(
        "scope",
        "Whom it stops: plant, tank, or the id of a boiler or zone; left out: must be written, but for a tank limit.",
    );
    let scope = scope(c, id, scope_text.as_deref(), kind.1);
    let proof = circuit == SafetyCircuit::Proving;
    if circuit == SafetyCircuit::Alarm {
        c.idle(&["aux"], "one that only alarms opens nothing else, so that its own contact goes to the controller");
    }
    let rest = c
        .word(
            "rest",
            "Its contact at rest: closed, or open (a proof).",
            &[("closed", Rest::Closed), ("open", Rest::Open)],
            false,
        )
        .unwrap_or_else(|| {
            c.assume_by("rest", if proof { "open" } else { "closed" }.to_owned(), "as its circuit needs it");
            if proof { Rest::Open } else { Rest::Closed }
        });
    let out = Safety {
        name: name(c, id),
        place: c.text_or("place", "Where it is.", "boiler room"),
        kind: kind.1,
        scope,
        circuit,
        rest,
        reset: c
            .word(
                "reset",
                "automatic, or manual (by hand at the device).",
                &[("automatic", Reset::Automatic), ("manual", Reset::Manual)],
                false,
            )
            .unwrap_or_else(|| {
                let usual = if kind.3 == Reset::Manual { "manual" } else { "automatic" };
                c.assume_by("reset", usual.to_owned(), "the usual one of its kind: hand reset where CSD-1 wants it");
                kind.3
            }),
        aux: c.flag("aux", "It has a second, isolated contact for the controller.", false),
        supply: c.may("supply", "Supply that the device itself needs; left out: none, a plain switch.", 12.0..=130.0),
        supply_va: c.may("supply-va", "Load of the device on that supply; left out: none.", 0.1..=100.0),
        opens_at: c.may(
            "opens-at",
            "Temperature that it opens at, for limits; left out: not known, the run never trips it.",
            20.0..=125.0,
        ),
        run: run(c, "Run from the control panel (from its boiler for a boiler's own).", site.run_default),
    };
    // What is written and cannot be read is told already.
    let given = |there: bool, key: &str| there || c.written(key);
    if given(out.supply.is_some(), "supply") != given(out.supply_va.is_some(), "supply-va") {
        c.ctx.tell(c.fault("supply", "P32", format!("safety `{id}`: `supply` and `supply-va` go together")));
    }
    if matches!(kind.1, SafetyKind::FloorLimit | SafetyKind::TankLimit)
        && !given(out.opens_at.is_some(), "opens-at")
        && c.ctx.schema.is_none()
    {
        c.ctx.tell(
            c.fault("kind", "P32", format!("safety `{id}` is a limit and has no `opens-at`"))
                .hint("add the temperature that it is set to"),
        );
    }
    let fits = match circuit {
        SafetyCircuit::Limit | SafetyCircuit::Proving => matches!(scope, SafetyScope::Plant | SafetyScope::Boiler(_)),
        SafetyCircuit::ZoneLimit => matches!(scope, SafetyScope::Zone(_)),
        SafetyCircuit::TankLimit => matches!(scope, SafetyScope::Tank),
        SafetyCircuit::Alarm => true,
    };
    if !fits && c.ctx.schema.is_none() {
        c.ctx.tell(
            c.fault("scope", "P33", format!("safety `{id}` cannot act on its scope from the circuit it is in"))
                .hint("limit and proving circuits stop the plant or one boiler; zone circuits one zone; tank circuits the tank"),
        );
    }
    if (rest == Rest::Open) != proof && matches!(circuit, SafetyCircuit::Limit | SafetyCircuit::Proving) {
        c.ctx.tell(
            c.fault("rest", "P33", format!("safety `{id}`: a contact of the limit circuit is closed at rest, one of the proving circuit is open"))
                .hint("a limit that is open at rest would keep the burner off; a proof that is closed at rest proves nothing"),
        );
    }
    out
}

/// Whom a safety stops: by the words plant and tank, or by the id of a boiler or zone.
fn scope(c: &Cursor<'_>, id: &str, text: Option<&str>, kind: SafetyKind) -> SafetyScope {
    let Some(text) = text else {
        if c.ctx.schema.is_none() && kind != SafetyKind::TankLimit {
            c.ctx.tell(
                c.fault("scope", "P02", format!("[safety.{id}] has no `scope`"))
                    .hint("add whom it stops: plant, tank, or the id of a boiler or zone"),
            );
        }
        return if kind == SafetyKind::TankLimit { SafetyScope::Tank } else { SafetyScope::Plant };
    };
    match text {
        "plant" => return SafetyScope::Plant,
        "tank" => return SafetyScope::Tank,
        _ => {}
    }
    match c.ctx.names.borrow().find(text) {
        Some(Subject::Boiler(b)) => SafetyScope::Boiler(b),
        Some(Subject::Zone(z)) => SafetyScope::Zone(z),
        _ => {
            c.ctx.tell(
                c.fault(
                    "scope",
                    "P11",
                    format!(
                        "safety `{id}` stops `{}`, which is no boiler or zone of this plant",
                        crate::plant::quantity::clip(text)
                    ),
                )
                .hints(near_id(c, text, |s| matches!(s, Subject::Boiler(_) | Subject::Zone(_))))
                .hint("write plant, tank, or the id of a boiler or zone"),
            );
            SafetyScope::Plant
        }
    }
}

pub(in crate::plant) fn sensors(root: &Cursor<'_>, site: &Site) -> Vec<Sensor> {
    root.named("sensor", "Temperature sensors.", |i| Subject::Sensor(SensorId(i)))
        .into_iter()
        .map(|(id, c)| {
            let s = sensor(&c, &id, site);
            c.done();
            s
        })
        .collect()
}

fn sensor(c: &Cursor<'_>, id: &str, site: &Site) -> Sensor {
    let words = [("outdoor", 0), ("supply", 1), ("return", 2), ("boiler-outlet", 3), ("tank", 4), ("mixed", 5)];
    let what = c.word("measures", "outdoor, supply, return, boiler-outlet, tank or mixed.", &words, true).unwrap_or(0);
    let of = c.text(
        "of",
        "Id of the boiler (boiler-outlet) or zone (mixed) that it belongs to; left out: must be written for these two.",
    );
    let wanted = |kind: &str, of_kind: fn(Subject) -> bool| {
        if c.ctx.schema.is_none() {
            let names = c.ctx.names.borrow();
            let ids: Vec<String> =
                names.iter().map(|(s, _)| s).filter(|s| of_kind(*s)).map(|s| names.id(s).into_owned()).collect();
            let known = match ids.as_slice() {
                [] => format!("enter a {kind} first, then write its id"),
                [one] => format!("write of = \"{one}\""),
                [first, ..] => format!("write its id, like of = \"{first}\"; there are {}", ids.join(", ")),
            };
            drop(names);
            c.ctx.tell(
                c.fault("of", "P11", format!("sensor `{id}` does not say on which {kind} it sits (`of`)")).hint(known),
            );
        }
    };
    let found = of.as_deref().and_then(|o| c.ctx.names.borrow().find(o));
    let measures = match what {
        0 => SensorUse::Outdoor,
        1 => SensorUse::Supply,
        2 => SensorUse::Return,
        3 => match found {
            Some(Subject::Boiler(b)) => SensorUse::BoilerOutlet(b),
            _ => {
                wanted("boiler", |s| matches!(s, Subject::Boiler(_)));
                SensorUse::Spare
            }
        },
        4 => SensorUse::Tank,
        _ => match found {
            Some(Subject::Zone(z)) => SensorUse::Mixed(z),
            _ => {
                wanted("zone", |s| matches!(s, Subject::Zone(_)));
                SensorUse::Spare
            }
        },
    };
    let elements = [
        ("thermistor-10k-2", Element::Thermistor10k2),
        ("thermistor-10k-3", Element::Thermistor10k3),
        ("platinum-1000", Element::Platinum1000),
    ];
    Sensor {
        name: name(c, id),
        place: c.text_or("place", "Where it is.", "boiler room"),
        measures,
        element: c.word_or(
            "element",
            "thermistor-10k-2, thermistor-10k-3 or platinum-1000.",
            &elements,
            ("thermistor-10k-2", Element::Thermistor10k2),
            "our choice; read the sensor: type II and III differ by 2 °C at freezing",
        ),
        run: run(c, "Run from the control panel.", site.run_default),
    }
}
