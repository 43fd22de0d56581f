//! `[site]`, `[code]`, `[fluid]`, `[header]`, `[panel]`, `[alarm]`, `[automation.*]`.

use super::{RUN_MAX_M, run, space};
use crate::plant::{
    checked::{Alarm, Automation, Code, Control, Fluid, Glycol, Header, HeaderKind, Panel, Raceway, Shown, Site},
    cursor::Cursor,
    quantity::{Length, Power, Share, Temp, Va, Volts, Volume},
};
use heatwright_core::{RelayId, limits};
use heatwright_wiring::job::{EnclosureType, Moisture};

pub(in crate::plant) fn site(root: &Cursor<'_>) -> Site {
    let c = root.table("site", "The building.");
    let out = Site {
        name: c.text_or("name", "Name on every sheet.", "Heating plant"),
        place: c.text_or("place", "Town or address; left out: blank.", ""),
        outdoor_design: c.need("outdoor-design", "Outdoor design temperature.", -60.0..=15.0),
        altitude: c.or(
            "altitude",
            "Height above sea level.",
            -500.0..=5000.0,
            Length { m: 0.0 },
            "sea level; higher sites condense less",
        ),
        boiler_room: c.or(
            "boiler-room",
            "Air temperature in the boiler room.",
            0.0..=60.0,
            Temp::from_c(30.0),
            "the ambient of the ampacity tables",
        ),
        elsewhere: c.or(
            "elsewhere",
            "Highest air temperature round conductors outside the boiler room.",
            10.0..=60.0,
            Temp::from_c(30.0),
            "the ambient of the ampacity tables; attics and roofs are hotter",
        ),
        run_default: c.or(
            "default-run",
            "Run of a device whose own run is not given.",
            0.0..=RUN_MAX_M,
            Length::from_ft(40.0),
            "our choice: along two walls of a boiler room",
        ),
    };
    c.done();
    out
}

pub(in crate::plant) fn code(root: &Cursor<'_>) -> Code {
    let c = root.table("code", "Which code edition and which local rules hold.");
    let out = Code {
        nec: c.word_or(
            "nec",
            "Edition of the National Electrical Code.",
            &[("2020", 2020), ("2023", 2023)],
            ("2023", 2023),
            "the latest that is known here; ask the authority having jurisdiction",
        ),
        door_switch: c.flag("door-switch", "An emergency shutdown switch is wanted at each boiler-room door.", true),
        manual_high_limit: c.flag("manual-high-limit", "A hand-reset high limit is wanted on each boiler.", true),
        low_water_cutoff: c.flag("low-water-cutoff", "A low-water fuel cutoff is wanted on each boiler.", true),
        combustion_air_proof: c.flag("combustion-air-proof", "The damper must be proved open.", true),
        single_interposing_relay: c.flag(
            "single-interposing-relay",
            "A single relay between a safety and a burner is accepted.",
            false,
        ),
        hand_reset_above: c.or(
            "hand-reset-above",
            "Boilers of more input want a second high limit, with hand reset, and the room an emergency switch.",
            1_000.0..=4_000_000.0,
            Power::from_mbh(400.0),
            "400 MBH: usual in state boiler rules",
        ),
        gas_switches_above: c.may(
            "gas-switches-above",
            "Boilers of more input want a low and a high gas-pressure switch; left out: not looked at.",
            1_000.0..=4_000_000.0,
        ),
        inputs_add_up: c.flag("inputs-add-up", "The inputs of all boilers count together against these limits.", false),
    };
    c.done();
    out
}

pub(in crate::plant) fn fluid(root: &Cursor<'_>) -> Fluid {
    let c = root.table("fluid", "What is in the pipes; water when left out.");
    let words =
        [("water", Glycol::None), ("propylene-glycol", Glycol::Propylene), ("ethylene-glycol", Glycol::Ethylene)];
    let glycol = c.word("kind", "Water, propylene-glycol or ethylene-glycol.", &words, false).unwrap_or_else(|| {
        c.assume("kind", "water".to_owned(), "no antifreeze unless the file says so");
        Glycol::None
    });
    let share = c.may("share", "Antifreeze by mass; left out: none, must be written beside a glycol.", 0.0..=0.6);
    let out = Fluid { glycol, share: share.unwrap_or(Share { of_one: 0.0 }) };
    if out.glycol != Glycol::None && share.is_none() {
        c.ctx.tell(
            c.fault("kind", "P20", "`fluid.share` is wanted beside a glycol")
                .hint("add the share by mass, for example share = \"30 %\""),
        );
    }
    if out.glycol == Glycol::None && out.share.of_one > 0.0 {
        c.ctx.tell(
            c.fault("share", "P20", "`fluid.share` is given for water")
                .hint("say which antifreeze with `kind`, or leave the share out"),
        );
    }
    c.done();
    out
}

/// Heat lost by a litre of water at 82.2 °C in 21 °C: 2 pi k / ln(68.25/30.15) = 0.308 W/m·K of a 2 in pipe (60.3 mm outside, 2.16 L/m)
/// in 38 mm of insulation of k = 0.04 W/m·K, without the film outside.
const LOSS_W_L: f64 = 8.7;

pub(in crate::plant) fn header(root: &Cursor<'_>) -> Header {
    let c = root.table("header", "Where boiler water and zone water meet.");
    let words = [("closely-spaced-tees", HeaderKind::CloselySpacedTees), ("low-loss", HeaderKind::LowLoss)];
    let kind = c.word("kind", "closely-spaced-tees or low-loss.", &words, true).unwrap_or(HeaderKind::LowLoss);
    let boiler_side = c.or(
        "boiler-side",
        "Water in boiler-side pipes and header, without the boilers.",
        0.5..=20_000.0,
        Volume::from_gal(10.0),
        "our choice: about 60 ft of 2 in pipe",
    );
    let zone_side = c.or(
        "zone-side",
        "Water in the zone-side mains.",
        0.5..=50_000.0,
        Volume::from_gal(20.0),
        "our choice: about 115 ft of 2 in pipe",
    );
    let out = Header {
        kind,
        boiler_side,
        zone_side,
        loss: c.or(
            "loss",
            "Heat that header and mains lose to the boiler room while their water is at 180 °F (82 °C); what runs through heated \
             rooms heats them and is left out.",
            0.0..=200_000.0,
            Power { w: LOSS_W_L * (boiler_side.l + zone_side.l) },
            "112 Btu/h a gallon of their water (8.7 W a litre): our choice: 2 in pipe in 1.5 in of insulation of 0.04 W/m·K",
        ),
    };
    c.done();
    out
}

pub(in crate::plant) fn panel(root: &Cursor<'_>) -> Panel {
    let c = root.table("panel", "The control panel, raceways, smallest sizes, spare points.");
    let raceways = [("emt", Raceway::Emt)];
    let count =
        |key: &'static str, doc: &str| c.whole(key, doc, 0..=16).and_then(|n| u8::try_from(n).ok()).unwrap_or(0);
    let pinned = |key: &'static str, doc: &str| {
        c.whole(key, doc, 1..=limits::RELAYS as i64).and_then(|n| u8::try_from(n - 1).ok()).map(RelayId)
    };
    let gauge = |key: &'static str, doc: &str, sizes: &[(&'static str, u8)], default: u8| {
        c.word(key, doc, sizes, false).unwrap_or_else(|| {
            c.assume(key, default.to_string(), "common practice, no source: sturdy enough to pull");
            default
        })
    };
    let out = Panel {
        name: c.text_or("name", "Name of the control panel.", "control panel"),
        control: c
            .word(
                "control",
                "controller, or zone-relays: a relay a call and no controller, the boilers on an outdoor reset of their own; left \
                 out: controller.",
                &[("controller", Control::Controller), ("zone-relays", Control::ZoneRelays)],
                false,
            )
            .unwrap_or(Control::Controller),
        place: c.text_or("place", "Where it hangs.", "boiler room"),
        enclosure: enclosure(&c),
        moisture: moisture(&c),
        short_circuit_rating: c.may(
            "short-circuit-rating",
            "Short-circuit rating marked on the whole assembly; left out: not rated.",
            100.0..=200_000.0,
        ),
        raceway: c.word_or(
            "raceway",
            "How conductors are led: emt.",
            &raceways,
            ("emt", Raceway::Emt),
            "the usual one in a boiler room",
        ),
        power_awg_min: gauge(
            "power-awg-min",
            "Smallest power conductor, AWG.",
            &[("14", 14), ("12", 12), ("10", 10)],
            12,
        ),
        control_awg_min: gauge(
            "control-awg-min",
            "Smallest line-voltage control conductor, AWG.",
            &[("14", 14), ("12", 12)],
            14,
        ),
        class2_awg_min: gauge("class2-awg-min", "Smallest Class 2 conductor, AWG.", &[("18", 18), ("16", 16)], 18),
        raceway_min: c.or(
            "raceway-min",
            "Smallest trade size of raceway.",
            0.0127..=0.0509,
            Length { m: 0.0127 },
            "1/2 in, the smallest in general use",
        ),
        drop_max: c.or(
            "drop-max",
            "Largest volt drop on a branch circuit.",
            0.005..=0.1,
            Share::from_percent(3.0),
            "NEC 210.19 informational note: 3 % on a branch circuit",
        ),
        spare_room: c.or(
            "spare-room",
            "Share of a raceway's usable room to be left free.",
            0.0..=0.9,
            Share::from_percent(20.0),
            "our choice: room for the next device",
        ),
        spare_relays: count("spare-relays", "Spare relays; left out: none."),
        spare_contacts: count("spare-contacts", "Spare contact inputs; left out: none."),
        spare_sensors: count("spare-sensors", "Spare sensor inputs; left out: none."),
        spare_analogs: count("spare-analogs", "Spare 0-10 V outputs; left out: none."),
        alarm_relay: pinned("alarm-relay", "Relay of the alarm, counted from 1; left out: the next free one."),
        health_relay: pinned(
            "health-relay",
            "Relay that drops when the controller stops, counted from 1; left out: the next free one.",
        ),
        receptacle: c.flag("receptacle", "A service receptacle is wanted beside the panel.", true),
        space: space(&c, "space", "the control circuit"),
        receptacle_space: space(&c, "receptacle-space", "the receptacle circuit"),
    };
    c.done();
    out
}

pub(in crate::plant) fn alarm(root: &Cursor<'_>, panel: &Panel, site: &Site) -> Option<Alarm> {
    let c = root.table(
        "alarm",
        "An alarm beacon or horn on its own 120 V circuit, so that it works when the control circuit is dead; left out: none.",
    );
    if !c.there() {
        return None;
    }
    let out = Alarm {
        place: c.text_or("place", "Where it hangs.", &panel.place),
        volts: c.or(
            "volts",
            "Its rated voltage; it is fed from a branch circuit of its own.",
            110.0..=125.0,
            Volts { v: 120.0 },
            "a branch circuit of its own, phase to neutral",
        ),
        va: c.or("va", "Its load.", 0.5..=500.0, Va { va: 15.0 }, "our choice; read the plate"),
        run: run(&c, "Run from the control panel.", site.run_default),
        space: space(&c, "space", "its circuit"),
    };
    c.done();
    Some(out)
}

pub(in crate::plant) fn automation(root: &Cursor<'_>, site: &Site) -> Vec<Automation> {
    // A contact of the panel is no subject of the controller: its names and places are the plant's.
    let all = root
        .named("automation", "Contacts handed to a building-automation system.", |_| heatwright_core::Subject::Plant);
    all.into_iter()
        .map(|(id, c)| {
            let out = Automation {
                name: c.text_or("name", "Name on the drawings.", &id),
                shows: c
                    .word("shows", "alarm or health.", &[("alarm", Shown::Alarm), ("health", Shown::Health)], true)
                    .unwrap_or(Shown::Alarm),
                volts: c.or(
                    "volts",
                    "Voltage that the other system puts on it.",
                    5.0..=120.0,
                    Volts { v: 24.0 },
                    "most systems wet their inputs with 24 V",
                ),
                place: c.text_or("place", "Where the other system's terminals are.", "automation panel"),
                run: run(&c, "Run from the control panel.", site.run_default),
                id,
            };
            c.done();
            out
        })
        .collect()
}

/// Enclosure types as they are written.
const ENCLOSURES: [(&str, EnclosureType); 5] = [
    ("1", EnclosureType::Type1),
    ("12", EnclosureType::Type12),
    ("3R", EnclosureType::Type3R),
    ("4", EnclosureType::Type4),
    ("4X", EnclosureType::Type4X),
];

/// Type of a panel's enclosure.
pub(super) fn enclosure(c: &Cursor<'_>) -> EnclosureType {
    c.word_or(
        "enclosure",
        "Type of its enclosure, as in NEMA 250: what to buy, and what a damp or wet place asks for.",
        &ENCLOSURES,
        ENCLOSURES[0],
        "the usual one indoors",
    )
}

/// What water a panel's place brings.
pub(super) fn moisture(c: &Cursor<'_>) -> Moisture {
    let words = [("dry", Moisture::Dry), ("damp", Moisture::Damp), ("wet", Moisture::Wet)];
    c.word(
        "location",
        "Water at its place, as in NEC Article 100: dry, damp (condensation, under a roof in the open) or wet (outdoors, hosed \
         down); left out: dry.",
        &words,
        false,
    )
    .unwrap_or(Moisture::Dry)
}
