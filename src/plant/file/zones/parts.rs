//! What stands in a zone's water: zone valve, fans, mixing valve.

use crate::plant::{
    checked::{Emitter, Fans, Mixing, Site, Valve},
    cursor::Cursor,
    file::{RUN_MAX_M, run, space},
    quantity::{Length, Quantity as _, Temp, TempDelta, Time, Va, Volts},
};

pub(super) fn valve(zone: &Cursor<'_>, site: &Site) -> Option<Valve> {
    let c = zone.table("valve", "A zone valve; left out: the zone has a pump of its own.");
    if !c.there() {
        return None;
    }
    let out = Valve {
        place: c.text_or("place", "Where it stands.", "boiler room"),
        volts: c.or("volts", "Voltage.", 12.0..=30.0, Volts { v: 24.0 }, "zone valves are 24 V"),
        va: c.or(
            "va",
            "Load while it opens and holds.",
            0.5..=60.0,
            Va { va: 7.0 },
            "our choice for a motor-driven valve; read the plate",
        ),
        stroke: c.or(
            "stroke",
            "Time from shut to open.",
            0.5..=600.0,
            Time::from_s(30.0),
            "our choice; read the plate",
        ),
        end_switch: c.flag("end-switch", "It has an end switch.", true),
        end_switch_isolated: c.flag(
            "end-switch-isolated",
            "The end switch is isolated from the valve's own supply.",
            true,
        ),
        run: run(&c, "Run from the control panel.", site.run_default),
    };
    c.done();
    Some(out)
}

pub(super) fn fans(zone: &Cursor<'_>, site: &Site) -> Option<Fans> {
    let c = zone.table("fans", "Fans of fan coils or unit heaters.");
    if !c.there() {
        return None;
    }
    let volts = c.or("volts", "Voltage.", 100.0..=600.0, Volts { v: 120.0 }, "small fans are 120 V");
    let amps: crate::plant::quantity::Amps = c.need("amps", "Full-load amps of each.", 0.05..=50.0);
    let power = crate::plant::quantity::Watts { w: volts.v * amps.a * 0.6 };
    let count = c.whole("count", "How many.", 1..=20).and_then(|n| u8::try_from(n).ok()).unwrap_or_else(|| {
        c.assume("count", "1".to_owned(), "one, unless the file says more");
        1
    });
    let spacing = c
        .may(
            "spacing",
            "From one fan to the next; left out: 20 ft (6.1 m) where there are several (our choice; measure it).",
            0.0..=RUN_MAX_M,
        )
        .unwrap_or_else(|| {
            let usual = Length { m: 20.0 * 0.3048 };
            if count > 1 {
                c.assume_by("spacing", usual.show_both(), "our choice; measure it");
            }
            usual
        });
    let phases = c.phases("Phases, 1 or 3.");
    let starter_at_fan = c
        .word(
            "starter-at",
            "Where contactor and starter of each three-phase fan stand: panel (starter panel or control panel) or fan (in a box beside it, \
             behind its disconnect); left out: panel.",
            &[("panel", false), ("fan", true)],
            false,
        )
        .inspect(|_| {
            if phases == 1 {
                c.ctx.tell(
                    c.fault(
                        "starter-at",
                        "P85",
                        format!(
                            "[{}]: starter-at says where starters of three-phase fans stand; these have one phase, and their aquastats carry them",
                            c.path
                        ),
                    )
                    .hint("leave starter-at out, or write phases = 3 where the plate says so"),
                );
            }
        })
        .unwrap_or(false);
    let out = Fans {
        count,
        volts,
        phases,
        space: space(&c, "space", "the first circuit of them"),
        amps,
        hp: c.may("hp", "Rated output of each; left out: sized by its amps.", 0.005..=20.0),
        thermally_protected: c.flag(
            "thermally-protected",
            "Each motor protects itself against overload; small single-phase fan motors do.",
            phases == 1,
        ),
        service_factor: c.number("service-factor", "Service factor on the plate.", 1.0..=1.5).unwrap_or_else(|| {
            if phases == 3 {
                c.assume("service-factor", "1".to_owned(), "the careful one: overload at 115 %");
            }
            1.0
        }),
        power: c.or_by(
            "power",
            "Electrical input of each; it ends up in the room.",
            0.0..=20_000.0,
            power,
            "volts times amps times 0.6",
        ),
        aquastat: c.or(
            "aquastat",
            "Its aquastat lets it run once the water is at this.",
            20.0..=90.0,
            Temp::from_f(100.0),
            "common practice, no source: each fan has one, so that it blows no cold air",
        ),
        starter_at_fan,
        run: c.or_by(
            "run",
            "Run from the distribution panel to the first; of three-phase fans whose starters stand in a panel, from that panel.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        spacing,
    };
    c.done();
    Some(out)
}

pub(super) fn mixing(zone: &Cursor<'_>, emitter: &Emitter, site: &Site) -> Option<Mixing> {
    let c = zone.table("mixing", "A motor-driven mixing valve, for a zone whose water is mixed down.");
    if !c.there() {
        return None;
    }
    let floor = matches!(emitter, Emitter::Floor(_));
    let mixed_max = c.or_by(
        "mixed-max",
        "Highest mixed supply temperature.",
        20.0..=90.0,
        if floor { Temp::from_f(120.0) } else { Temp::from_f(140.0) },
        "120 °F (48.9 °C) for a floor, 140 °F (60 °C) else; common practice, no source",
    );
    let out = Mixing {
        place: c.text_or("place", "Where its valve stands.", "boiler room"),
        mixed_max,
        mixed_design: c.or_by(
            "mixed-design",
            "Mixed supply at design.",
            20.0..=90.0,
            Temp { c: mixed_max.c - 10.0 / 1.8 },
            "10 °F below the highest",
        ),
        band: c.or(
            "band",
            "Proportional band of the valve's control.",
            1.0..=60.0,
            TempDelta::from_k(20.0),
            "our choice: calm with a two-minute valve",
        ),
        integral: c.or(
            "integral",
            "Integral time of the valve's control.",
            5.0..=3600.0,
            Time::from_s(120.0),
            "our choice",
        ),
        stroke: c.or(
            "stroke",
            "Full stroke of the valve.",
            5.0..=600.0,
            Time::from_s(90.0),
            "our choice; read the plate",
        ),
        volts: c.or(
            "volts",
            "Supply of the valve motor.",
            20.0..=30.0,
            Volts { v: 24.0 },
            "0-10 V valve motors are 24 V",
        ),
        va: c.or("va", "Load of the valve motor.", 0.5..=60.0, Va { va: 6.0 }, "our choice; read the plate"),
        signal_isolated: c.flag(
            "signal-isolated",
            "Its 0-10 V signal is isolated from its 24 V supply; false: they share a common, and it gets a supply of its own.",
            false,
        ),
        run: run(&c, "Run of the valve motor from the control panel.", site.run_default),
        limit: None,
        limit_at: None,
    };
    if out.mixed_design.c > out.mixed_max.c {
        c.ctx.tell(
            c.fault(
                "mixed-design",
                "P28",
                format!(
                    "[{}]: mixed-design, {}, is above mixed-max, {}",
                    c.path,
                    out.mixed_design.show_both(),
                    out.mixed_max.show_both()
                ),
            )
            .hint("lower mixed-design to what the floor was designed for; raise mixed-max only where floor and covering bear it"),
        );
    }
    c.done();
    Some(out)
}

#[cfg(test)]
mod tests {
    use crate::plant::read::read;

    const MILL: &str = include_str!("../../../../docs/examples/mill.toml");

    fn codes(from: &str, to: &str) -> Vec<String> {
        assert!(MILL.contains(from), "{from}");
        match read("plant.toml", MILL.replacen(from, to, 1).as_bytes()) {
            Ok(r) => r.notes.into_iter().map(|f| f.code.to_string()).filter(|c| c == "P85").collect(),
            Err(r) => r.findings.into_iter().map(|f| f.code.to_string()).collect(),
        }
    }

    /// The mill's three-phase fans may say where their starters stand, those that an aquastat carries may not.
    #[test]
    fn a_starter_stands_only_where_there_is_one() {
        for word in ["panel", "fan"] {
            let key = format!("starter-at = \"{word}\"");
            assert_eq!(codes("starter-at = \"fan\"", &key), [""; 0], "{word}");
            let single = "volts = \"277 V\"\n";
            assert_eq!(codes(single, &format!("{single}{key}\n")), ["P85"], "{word}");
        }
        assert_eq!(codes("starter-at = \"fan\"", "starter-at = \"roof\""), ["P07"]);
    }
}
