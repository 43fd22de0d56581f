//! What hangs on a boiler: burner times, electrical data, terminal marks, condensate pump.

use super::s;
use crate::plant::{
    checked::{BoilerElectrical, BoilerMarks, Burner, CondensatePump, Site},
    cursor::Cursor,
    file::{RUN_MAX_M, space},
    quantity::{Amps, Volts},
};

pub(super) fn burner(boiler: &Cursor<'_>) -> Burner {
    let c = boiler.table("burner", "The burner control's own times.");
    let out = Burner {
        pre_purge: c.or("pre-purge", "Fan before the first spark.", 0.0..=600.0, s(15.0), "common practice, no source"),
        ignition: c.or("ignition", "One trial for ignition.", 1.0..=60.0, s(4.0), "common practice, no source"),
        trials: c
            .whole("trials", "Trials before it locks out.", 1..=10)
            .and_then(|n| u8::try_from(n).ok())
            .unwrap_or_else(|| {
                c.assume("trials", "3".to_owned(), "common practice, no source");
                3
            }),
        inter_purge: c.or("inter-purge", "Fan between trials.", 0.0..=600.0, s(15.0), "common practice, no source"),
        proof: c.or(
            "proof",
            "From spark to proved flame when all is well.",
            0.5..=60.0,
            s(2.0),
            "common practice, no source",
        ),
        post_purge: c.or("post-purge", "Fan after the flame.", 0.0..=600.0, s(30.0), "common practice, no source"),
        modulation: c.or(
            "modulation",
            "Time from smallest to full fire.",
            0.0..=900.0,
            s(60.0),
            "common practice, no source",
        ),
    };
    c.done();
    out
}

pub(super) fn electrical(boiler: &Cursor<'_>) -> BoilerElectrical {
    let c = boiler.table("electrical", "Electrical data from its plate.");
    let control_volts = c.or(
        "control-volts",
        "Voltage that it puts on its own control terminals.",
        5.0..=250.0,
        Volts { v: 24.0 },
        "most boilers of this size; read the diagram",
    );
    let out = BoilerElectrical {
        volts: c.or(
            "volts",
            "Line voltage.",
            100.0..=600.0,
            Volts { v: 120.0 },
            "most boilers of this size; read the plate",
        ),
        phases: c.phases("Line phases, 1 or 3."),
        amps: c.or(
            "amps",
            "Line amps of the boiler itself, without pumps.",
            0.05..=200.0,
            Amps { a: 5.0 },
            "our choice; read the plate",
        ),
        breaker_max: c.whole("breaker-max", "Largest breaker that its plate or instructions allow, in amperes; left out: not known.", 15..=400)
            .and_then(|n| u16::try_from(n).ok()),
        switch_in_sight: c.flag(
            "service-switch-in-sight",
            "Its service switch stands in sight of it, within 50 ft, and can be locked open.",
            true,
        ),
        contacts_dry: c.flag(
            "contacts-dry",
            "Its status, alarm and pump contacts carry no voltage of its own; false: a relay stands between.",
            true,
        ),
        space: space(&c, "space", "its circuit"),
        control_volts,
        control_grounded: c.flag(
            "control-grounded",
            "One side of that supply is grounded, inside the boiler or as the line's own neutral (false at 120 V: an isolating \
             transformer); left out: true above 60 V, where the circuit is the line itself, else false.",
            control_volts.v > 60.0,
        ),
        control_amps: c.or(
            "control-amps",
            "Current that its control terminals put through a closed contact.",
            0.001..=10.0,
            Amps { a: 0.2 },
            "our choice: a 5 VA relay",
        ),
        pump_contact: c.may(
            "pump-contact",
            "Largest current of its own pump contact; left out: it has none.",
            0.05..=50.0,
        ),
    };
    c.done();
    out
}

pub(super) fn marks(boiler: &Cursor<'_>) -> BoilerMarks {
    let c = boiler.table("marks", "The marks printed on its terminals, typed by whoever stands in front of it.");
    let out = BoilerMarks {
        line: c.texts(
            "line",
            "As printed and in this order: 120 V three, line, neutral, ground; 208 V and 240 V single phase three, two lines, ground; three \
             phases four, three lines, ground; left out: named by what they are, and `check` says so.",
            2..=4,
        ),
        limit: c.pair(
            "limit",
            "The two terminals that cut burner power; left out: named by what they are, and `check` says so.",
        ),
        proving: c.pair(
            "proving",
            "The two terminals that must close after the call; left out: named by what they are, and `check` says so.",
        ),
        demand: c.pair(
            "demand",
            "The two terminals that ask for heat; left out: named by what they are, and `check` says so.",
        ),
        signal: c.pair("signal", "0-10 V: plus, minus; left out: named by what they are, and `check` says so."),
        status: c.pair(
            "status",
            "Contact that closes while the burner is lit; left out: named by what they are, and `check` says so.",
        ),
        alarm: c.pair("alarm", "Contact that closes in fault; left out: named by what they are, and `check` says so."),
        pump: c.pair("pump", "Output to its own pump; left out: named by what they are, and `check` says so."),
    };
    let pairs = [
        ("limit", &out.limit),
        ("proving", &out.proving),
        ("demand", &out.demand),
        ("signal", &out.signal),
        ("status", &out.status),
        ("alarm", &out.alarm),
        ("pump", &out.pump),
    ];
    let pairs = pairs.iter().flat_map(|(key, pair)| pair.iter().flatten().map(move |mark| (*key, mark)));
    let mut seen = std::collections::BTreeMap::new();
    for (key, mark) in out.line.iter().flatten().map(|mark| ("line", mark)).chain(pairs) {
        if let Some(first) = seen.insert(mark, key) {
            let mut f = c
                .fault(key, "P24", format!("the terminal mark \"{mark}\" is typed twice in [{}]", c.path))
                .hint("every terminal has its own mark; add the strip's name if two strips share a number");
            if first != key {
                f = f.also(c.span_of(first), "first typed here");
            }
            c.ctx.tell(f);
        }
    }
    c.done();
    out
}

pub(super) fn condensate_pump(boiler: &Cursor<'_>, site: &Site) -> Option<CondensatePump> {
    let c = boiler.table("condensate-pump", "A condensate pump on a circuit of its own; left out: none.");
    if !c.there() {
        return None;
    }
    let out = CondensatePump {
        volts: c.or(
            "volts",
            "Its voltage; it is fed from a 120 V branch circuit of its own.",
            110.0..=125.0,
            Volts { v: 120.0 },
            "most condensate pumps",
        ),
        amps: c.need("amps", "Amps on its plate.", 0.05..=20.0),
        run: c.or_by(
            "run",
            "Run from the distribution panel.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        space: space(&c, "space", "its circuit"),
    };
    c.done();
    Some(out)
}
