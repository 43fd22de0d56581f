//! `[zone.*]`; its emitter in [`emitter`], valve, fans and mixing valve in [`parts`].

mod emitter;
mod parts;

use super::{RUN_MAX_M, name, relay};
use crate::plant::{
    checked::{Emitter, Mass, Site, Thermostat, Zone},
    cursor::Cursor,
    quantity::{Flow, Power, Quantity as _, Temp, TempDelta, Time},
};
use emitter::{drop_k, emitter};
use heatwright_core::{
    Subject, ZoneId,
    config::{Circulation, ZoneDrive},
};
use parts::{fans, mixing, valve};

/// A zone and the ids that it names.
pub(in crate::plant) struct Read {
    pub(in crate::plant) zone: Zone,
    pub(in crate::plant) pump: Option<String>,
    pub(in crate::plant) schedule: Option<String>,
}

/// `carries_j_l_k`: what a litre of the plant's fluid carries, in J/K.
pub(in crate::plant) fn zones<'a>(root: &Cursor<'a>, site: &Site, carries_j_l_k: f64) -> Vec<(Read, Cursor<'a>)> {
    root.named("zone", "The heating zones.", |i| Subject::Zone(ZoneId(i)))
        .into_iter()
        .map(|(id, c)| (zone(&c, &id, site, carries_j_l_k), c))
        .collect()
}

fn zone(c: &Cursor<'_>, id: &str, site: &Site, carries_j_l_k: f64) -> Read {
    let design_loss: Power = c.need("design-loss", "Heat loss at the outdoor design temperature.", 50.0..=3_000_000.0);
    let room =
        c.or("room", "Room temperature while occupied.", 2.0..=30.0, Temp::from_f(70.0), "the usual design room");
    let schedule = c.text("schedule", "Id of its weekly schedule; left out: occupied always.");
    let room_setback = c.may(
        "room-setback",
        "Room temperature while set back, with a schedule; left out: 10 °F below the room temperature.",
        2.0..=30.0,
    );
    let emitter = emitter(c);
    let flow = c.or_by(
        "flow",
        "Design flow.",
        0.001..=100.0,
        Flow { l_s: design_loss.w / (carries_j_l_k * drop_k(&emitter)) },
        "the design loss at a drop of 20 °F (11 K); a floor at 10 °F",
    );
    let valve = valve(c, site);
    let overrun = c.or(
        "overrun",
        "It keeps its flow this long after its call.",
        0.0..=3600.0,
        Time::from_s(60.0),
        "our choice: carries the last heat out",
    );
    let zone = Zone {
        name: name(c, id),
        place: c.text_or("place", "Where it is.", id),
        design_loss,
        room,
        room_setback: match (schedule.is_some(), room_setback) {
            (false, _) => room,
            (true, Some(t)) => t,
            (true, None) => {
                let t = Temp { c: room.c - 10.0 / 1.8 };
                c.assume(
                    "room-setback",
                    t.show_both(),
                    "10 °F below the room temperature (common practice, no source)",
                );
                t
            }
        },
        mass: c.word_or(
            "mass",
            "How much its building stores: light, medium or heavy.",
            &[("light", Mass::Light), ("medium", Mass::Medium), ("heavy", Mass::Heavy)],
            ("medium", Mass::Medium),
            "our choice between frame and solid masonry",
        ),
        thermostat: c.word_or(
            "thermostat",
            "two-wire or powered (R, W, C).",
            &[("two-wire", Thermostat::TwoWire), ("powered", Thermostat::Powered)],
            ("two-wire", Thermostat::TwoWire),
            "the simplest: a switch",
        ),
        thermostat_run: c.or_by(
            "thermostat-run",
            "Run of the thermostat from the control panel.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        thermostat_differential: c.or(
            "thermostat-differential",
            "Between its switching on and off.",
            0.1..=5.0,
            TempDelta::from_k(0.6),
            "common practice, no source: about 1 °F",
        ),
        thermostat_cycles: c
            .number("thermostat-cycles", "Its cycles an hour at half load while the room's air stands still; a room that answers quickly cycles faster, a slow floor slower.", 0.5..=12.0)
            .unwrap_or_else(|| {
                let usual = usual_cycles(&emitter);
                c.assume_by(
                    "thermostat-cycles",
                    format!("{usual}"),
                    "by the emitter: 5 with fans, 1 for a floor, else 3 (common practice, no source)",
                );
                usual
            }),
        gains: c.or(
            "gains",
            "Heat from people, lights and equipment while occupied.",
            0.0..=1_000_000.0,
            Power { w: 0.0 },
            "none: the careful side for sizing",
        ),
        gains_setback: c.or(
            "gains-setback",
            "The same while set back.",
            0.0..=1_000_000.0,
            Power { w: 0.0 },
            "none: the careful side for sizing",
        ),
        drive: if valve.is_some() {
            ZoneDrive::Valve { pump: None }
        } else {
            ZoneDrive::Pump(heatwright_core::PumpId(0))
        },
        valve,
        flow,
        fans: fans(c, site),
        mixing: mixing(c, &emitter, site),
        emitter,
        circulation: c.word_or(
            "circulation",
            "on-call, or constant: the water moves all season and the call only asks for heat; a room that has enough is heated on while any zone calls, its fans too.",
            &[("on-call", Circulation::OnCall), ("constant", Circulation::Constant)],
            ("on-call", Circulation::OnCall),
            "the usual one",
        ),
        sheddable: !c.flag("no-shed", "Hot-water priority may not shed it.", false),
        schedule: None,
        debounce: c.or(
            "debounce",
            "A change of the call counts once it has lasted this long.",
            0.0..=600.0,
            Time::from_s(5.0),
            "our choice: no relay chatter",
        ),
        call_min: c.or(
            "call-min",
            "A call, once counted, holds at least this long.",
            0.0..=3600.0,
            Time::from_s(120.0),
            "our choice",
        ),
        overrun,
        relay: relay(c),
    };
    if zone.room.c <= site.outdoor_design.c + 1.0 {
        c.ctx.tell(
            c.fault(
                "room",
                "P26",
                format!(
                    "zone `{id}` is to be {} at a design outdoor temperature of {}: it would lose no heat",
                    zone.room.show_both(),
                    site.outdoor_design.show_both()
                ),
            )
            .hint("see its room, and outdoor-design under [site]: one of them is not what was meant"),
        );
    }
    if zone.room_setback.c > zone.room.c {
        c.ctx.tell(c.fault(
            "room-setback",
            "P26",
            format!(
                "zone `{id}` is set back to {}, above its room temperature of {}",
                zone.room_setback.show_both(),
                zone.room.show_both()
            ),
        ).hint("write the temperature that it is let down to; 10 °F below the room temperature is taken where it is left out"));
    }
    if room_setback.is_some() && schedule.is_none() {
        c.ctx.tell(
            c.fault("room-setback", "P26", format!("zone `{id}` has a setback temperature but no schedule"))
                .hint("add schedule = \"NAME\", or leave room-setback out"),
        );
    }
    let pump = c.text("pump", "Id of the pump that moves its water; with a valve, of the pump behind it; left out: must be written unless the zone has a valve.");
    Read { zone, pump, schedule }
}

/// Cycles an hour at half load that thermostats of such emitters are made or set for as a rule (common practice, no source): warm air
/// 5 to 6, hot-water radiators 3, floors 1 or less.
const fn usual_cycles(emitter: &Emitter) -> f64 {
    match emitter {
        Emitter::UnitHeater(_) | Emitter::FanCoil(_) => 5.0,
        Emitter::Floor(_) => 1.0,
        Emitter::PanelRadiator(_) | Emitter::CastIron(_) | Emitter::FinnedTube(_) | Emitter::Points { .. } => 3.0,
    }
}

#[cfg(test)]
mod tests {
    use crate::plant::read::read;

    const LIBRARY: &str = include_str!("../../../../docs/examples/library.toml");

    #[test]
    fn a_thermostat_cycles_as_its_emitter_asks() {
        let cycles = |file: &str| {
            let read = read("plant.toml", file.as_bytes()).unwrap_or_else(|e| panic!("{:?}", e.findings));
            read.plant.zones.iter().map(|z| (z.name.clone(), z.thermostat_cycles)).collect::<Vec<_>>()
        };
        let of = |all: &[(String, f64)], name: &str| all.iter().find(|z| z.0 == name).map(|z| z.1);
        let all = cycles(LIBRARY);
        for (name, usual) in [("Lecture hall", 5.0), ("Bookmobile garage", 5.0), ("Lobby floor", 1.0), ("Offices", 3.0)]
        {
            assert_eq!(of(&all, name), Some(usual), "{name}");
        }
        let written = LIBRARY.replace("name = \"Lecture hall\"", "name = \"Lecture hall\"\nthermostat-cycles = 4");
        assert_eq!(of(&cycles(&written), "Lecture hall"), Some(4.0));
    }

    /// The heading is a slip, and three lines follow it.
    #[test]
    fn a_schedule_that_is_missing_is_one_finding() {
        let mill = include_str!("../../../../docs/examples/mill.toml")
            .replace("[schedule.office-hours]", "[schedule.office-hour]");
        let found = read("plant.toml", mill.as_bytes()).err().map(|e| e.findings).unwrap_or_default();
        let told: Vec<_> = found.iter().filter(|f| f.code == "P11").collect();
        assert!(told.len() == 1 && told[0].also.len() == 2, "{told:?}");
        // Two names are two.
        let two = mill.replacen("schedule = \"office-hours\"", "schedule = \"hours\"", 1);
        let found = read("plant.toml", two.as_bytes()).err().map(|e| e.findings).unwrap_or_default();
        assert_eq!(found.iter().filter(|f| f.code == "P11").count(), 2, "{found:?}");
    }
}
