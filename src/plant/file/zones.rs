//! `[zone.*]` with emitter, valve, fans and mixing valve.

use super::{RUN_MAX_M, name, relay, run};
use crate::plant::{
    checked::{Emitter, EmitterPoint, Fans, Floor, Mass, Mixing, Rating, Site, Thermostat, Valve, Zone},
    cursor::Cursor,
    quantity::{Flow, Length, Power, Quantity as _, Temp, TempDelta, ThermalResistance, Time, Va, Volts, Volume},
};
use heatwright_core::{
    Subject, ZoneId,
    config::{Circulation, ZoneDrive},
};

/// A zone and the ids that it names.
pub(in crate::plant) struct Read {
    pub(in crate::plant) zone: Zone,
    pub(in crate::plant) pump: Option<String>,
    pub(in crate::plant) schedule: Option<String>,
}

pub(in crate::plant) fn zones<'a>(root: &Cursor<'a>, site: &Site) -> Vec<(Read, Cursor<'a>)> {
    root.named("zone", "The heating zones.", |i| Subject::Zone(ZoneId(i)))
        .into_iter()
        .map(|(id, c)| (zone(&c, &id, site), c))
        .collect()
}

fn zone(c: &Cursor<'_>, id: &str, site: &Site) -> Read {
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
        Flow { l_s: design_loss.w / (4.1e3 * drop_k(&emitter)) },
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
            "on-call, or constant: the water moves all season and the call only asks for heat.",
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
        c.ctx.tell(c.fault(
            "room",
            "P26",
            format!(
                "zone `{id}` is to be {} at a design outdoor temperature of {}: it would lose no heat",
                zone.room.show_both(),
                site.outdoor_design.show_both()
            ),
        ));
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
        ));
    }
    if room_setback.is_some() && schedule.is_none() {
        c.ctx.tell(
            c.fault("room-setback", "P26", format!("zone `{id}` has a setback temperature but no schedule"))
                .hint("add schedule = \"NAME\", or leave room-setback out"),
        );
    }
    let pump = c.text("pump", "Id of the pump that moves its water; with a valve, of the pump behind it.");
    Read { zone, pump, schedule }
}

fn drop_k(e: &Emitter) -> f64 {
    match e {
        Emitter::Floor(_) => 10.0 / 1.8,
        _ => 20.0 / 1.8,
    }
}

fn emitter(zone: &Cursor<'_>) -> Emitter {
    #[derive(Clone, Copy, PartialEq)]
    enum K {
        Panel,
        Finned,
        Cast,
        FanCoil,
        UnitHeater,
        Floor,
        Points,
    }
    let kinds = [
        ("panel-radiator", K::Panel),
        ("finned-tube", K::Finned),
        ("cast-iron", K::Cast),
        ("fan-coil", K::FanCoil),
        ("unit-heater", K::UnitHeater),
        ("floor", K::Floor),
        ("points", K::Points),
    ];
    let c = zone.table("emitter", "What it gives its heat with; one table for all that the zone has.");
    let kind =
        c.word("kind", "panel-radiator, finned-tube, cast-iron, fan-coil, unit-heater, floor or points.", &kinds, true);
    let output: Option<Power> = c.may("output", "Output at the rating.", 10.0..=5_000_000.0);
    let mean: Option<Temp> = c.may("mean-water", "Mean water temperature of the rating; left out: 70 °C for panels, 215 °F for finned tube and cast iron, 200 °F for fan coils and unit heaters.", 25.0..=120.0);
    let supply: Option<Temp> = c.may("supply", "Supply temperature of the rating, with `return`.", 25.0..=120.0);
    let back: Option<Temp> = c.may("return", "Return temperature of the rating, with `supply`.", 20.0..=120.0);
    let room: Option<Temp> = c.may("room", "Room or entering-air temperature of the rating; left out: 20 °C for panels, 65 °F for finned tube, 70 °F for cast iron, 60 °F for fan coils and unit heaters.", 0.0..=40.0);
    let exponent = c.number("exponent", "Exponent of output over excess temperature; left out: panels and cast iron 1.3, finned tube 1.4, fan coils and unit heaters 1.", 0.8..=2.0);
    let water: Option<Volume> = c.may(
        "water",
        "Water in the emitters; left out: by output and kind, for a floor by its tubes.",
        0.0..=50_000.0,
    );
    let area: Option<crate::plant::quantity::Area> = c.may("area", "Heated floor area.", 0.5..=20_000.0);
    let covering = c.may::<ThermalResistance>(
        "covering",
        "Thermal resistance of the floor covering; left out: 0.05 m²·K/W, a thin wood floor (our choice).",
        0.0..=0.5,
    );
    let screed = c.may::<Length>("screed", "Screed over the tubes; left out: 45 mm (EN 1264).", 0.01..=0.2);
    let spacing =
        c.may::<Length>("spacing", "Spacing of the tubes; left out: 6 in (common practice, no source).", 0.05..=0.5);
    let points = c.list("points", "Output against mean water temperature above the room: [{ excess = \"90 °F\", output = \"40 MBH\" }, ...], rising.");
    let points: Option<Vec<EmitterPoint>> = points.map(|list| {
        list.iter()
            .map(|p| {
                let out = EmitterPoint {
                    excess: p.need::<TempDelta>("excess", "Mean water temperature above the room.", 0.5..=100.0),
                    output: p.need("output", "Output.", 1.0..=5_000_000.0),
                };
                p.done();
                out
            })
            .collect()
    });
    c.done();
    if c.judged() {
        let rated = ["output", "mean-water", "supply", "return", "room", "exponent"];
        match kind {
            Some(K::Floor) => {
                c.idle(&rated, "a floor is computed from its area and layers (EN 1264)");
                c.idle(&["points"], "only kind = \"points\" takes typed points");
            }
            Some(K::Points) => {
                c.idle(&rated, "the typed points say it all");
                c.idle(&["area", "covering", "screed", "spacing"], "only kind = \"floor\" has layers");
            }
            Some(K::Panel | K::Finned | K::Cast | K::FanCoil | K::UnitHeater) => {
                c.idle(&["points"], "only kind = \"points\" takes typed points");
                c.idle(&["area", "covering", "screed", "spacing"], "only kind = \"floor\" has layers");
            }
            None => {}
        }
    }
    if !c.there() {
        return Emitter::Points { points: Vec::new(), water: Volume { l: 0.0 } };
    }
    let lacks = |key: &str, why: &str| {
        if c.judged() {
            c.ctx.tell(c.fault(key, "P27", format!("[{}] has no `{key}`", c.path)).hint(why));
        }
    };
    // Water in an emitter: gallons for each MBH at the rating (our choice): panels and finned tube little, cast iron much.
    let gal_per_mbh = |g: f64| Volume::from_gal(output.map_or(0.0, |o| o.w / 293.07) * g);
    match kind {
        Some(K::Floor) => {
            if area.is_none() {
                lacks("area", "add the heated floor area");
            }
            let area = area.unwrap_or(crate::plant::quantity::Area { m2: 1.0 });
            let or = |key: &str, given: Option<Length>, m: f64, reason: &'static str| {
                given.unwrap_or_else(|| {
                    c.assume(key, Length { m }.show_both(), reason);
                    Length { m }
                })
            };
            let spacing = or("spacing", spacing, 0.15, "6 in, common practice, no source");
            let screed = or("screed", screed, 0.045, "EN 1264: 45 mm over the tubes");
            let covering = covering.unwrap_or_else(|| {
                let r = ThermalResistance { m2_k_w: 0.05 };
                c.assume("covering", r.show_both(), "a thin wood floor or tile with underlay (our choice)");
                r
            });
            // A 16 mm bore holds 0.2 L for each metre of tube.
            let water = water.unwrap_or_else(|| {
                let v = Volume { l: area.m2 / spacing.m * 0.2 };
                c.assume("water", v.show_both(), "tube of 16 mm bore at its spacing");
                v
            });
            Emitter::Floor(Floor { area, covering, screed, spacing, water })
        }
        Some(K::Points) => {
            let points = points.unwrap_or_default();
            let rising = points.windows(2).all(|w| w[1].excess.k > w[0].excess.k && w[1].output.w > w[0].output.w);
            if c.ctx.schema.is_none() && (points.len() < 2 || !rising) {
                c.ctx.tell(c.fault(
                    "points",
                    "P27",
                    format!("[{}] needs two points or more, rising in excess and output", c.path),
                ));
            }
            let water = water.unwrap_or_else(|| {
                let most = points.last().map_or(0.0, |p| p.output.w);
                let v = Volume::from_gal(most / 293.07 * 0.1);
                c.assume("water", v.show_both(), "0.1 gal for each MBH of the last point (our choice)");
                v
            });
            Emitter::Points { points, water }
        }
        None => Emitter::Points { points: Vec::new(), water: Volume { l: 0.0 } },
        Some(k) => {
            if output.is_none() {
                lacks("output", "add the output of all of the zone's emitters together, at its rating");
            }
            let supply_return = match (supply, back) {
                (Some(s), Some(r)) if s.c > r.c => Some((s, r)),
                (Some(_), Some(_)) => {
                    c.ctx.tell(c.fault("supply", "P27", format!("[{}]: supply must be above return", c.path)));
                    None
                }
                (None, None) => None,
                _ => {
                    lacks(
                        if supply.is_none() { "supply" } else { "return" },
                        "a rating names both supply and return, or mean-water alone",
                    );
                    None
                }
            };
            // Rating points: EN 442 75/65/20 °C; finned tube and cast iron 215 °F over 65 and 70 °F; fan units 200 °F over 60 °F.
            let (d_mean, d_room, d_exponent, d_gal) = match k {
                K::Panel => (70.0, 20.0, 1.3, 0.15),
                K::Finned => (f(215.0), f(65.0), 1.4, 0.03),
                K::Cast => (f(215.0), f(70.0), 1.3, 0.5),
                K::FanCoil | K::UnitHeater => (f(200.0), f(60.0), 1.0, 0.03),
                K::Floor | K::Points => (70.0, 20.0, 1.0, 0.1),
            };
            let mean_water =
                mean.or(supply_return.map(|(s, r)| Temp { c: (s.c + r.c) / 2.0 })).unwrap_or(Temp { c: d_mean });
            let told = |key: &str, value: String| c.assume(key, value, "the usual rating of its kind; read the sheet");
            if mean.is_none() && supply_return.is_none() {
                told("mean-water", mean_water.show_both());
            }
            if room.is_none() {
                told("room", Temp { c: d_room }.show_both());
            }
            if exponent.is_none() {
                c.assume("exponent", d_exponent.to_string(), "the usual one of its kind: EN 442 and ASHRAE practice");
            }
            if water.is_none() {
                c.assume(
                    "water",
                    gal_per_mbh(d_gal).show_both(),
                    "by its output, as its kind usually holds (our choice)",
                );
            }
            let rating = Rating {
                output: output.unwrap_or(Power { w: 1.0 }),
                mean_water,
                supply_return: supply_return
                    .or((k == K::Panel && mean.is_none()).then(|| (Temp::from_c(75.0), Temp::from_c(65.0)))),
                room: room.unwrap_or(Temp { c: d_room }),
                exponent: exponent.unwrap_or(d_exponent),
                water: water.unwrap_or(gal_per_mbh(d_gal)),
            };
            if rating.mean_water.c <= rating.room.c + 1.0 {
                c.ctx.tell(c.fault(
                    "mean-water",
                    "P27",
                    format!(
                        "[{}]: the rating's water, {}, is no warmer than its room, {}",
                        c.path,
                        rating.mean_water.show_both(),
                        rating.room.show_both()
                    ),
                ));
            }
            match k {
                K::Panel => Emitter::PanelRadiator(rating),
                K::Finned => Emitter::FinnedTube(rating),
                K::Cast => Emitter::CastIron(rating),
                K::FanCoil => Emitter::FanCoil(rating),
                K::UnitHeater | K::Floor | K::Points => Emitter::UnitHeater(rating),
            }
        }
    }
}

fn f(f: f64) -> f64 {
    (f - 32.0) / 1.8
}

fn valve(zone: &Cursor<'_>, site: &Site) -> Option<Valve> {
    let c = zone.table("valve", "A zone valve; left out: the zone has a pump of its own.");
    if !c.there() {
        return None;
    }
    let out = Valve {
        volts: c.or("volts", "Voltage.", 12.0..=30.0, Volts { v: 24.0 }, "zone valves are 24 V"),
        va: c.or(
            "va",
            "Load while it opens and holds.",
            0.5..=60.0,
            Va { va: 7.0 },
            "our choice for a motorised valve; read the plate",
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

fn fans(zone: &Cursor<'_>, site: &Site) -> Option<Fans> {
    let c = zone.table("fans", "Fans of fan coils or unit heaters.");
    if !c.there() {
        return None;
    }
    let volts = c.or("volts", "Voltage.", 100.0..=600.0, Volts { v: 120.0 }, "small fans are 120 V");
    let amps: crate::plant::quantity::Amps = c.need("amps", "Full-load amps of each.", 0.05..=50.0);
    let power = crate::plant::quantity::Watts { w: volts.v * amps.a * 0.6 };
    let out = Fans {
        count: c.whole("count", "How many.", 1..=20).and_then(|n| u8::try_from(n).ok()).unwrap_or_else(|| {
            c.assume("count", "1".to_owned(), "one, unless the file says more");
            1
        }),
        volts,
        phases: c.phases("Phases, 1 or 3."),
        amps,
        hp: c.may("hp", "Rated output of each.", 0.005..=20.0),
        power: c.or_by(
            "power",
            "Electrical input of each; it ends up in the room.",
            0.0..=20_000.0,
            power,
            "volts times amps times 0.6",
        ),
        aquastat: c.may("aquastat", "It may run once its water is at this.", 20.0..=90.0),
        run: c.or_by(
            "run",
            "Run from the distribution panel to the first.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
    };
    c.done();
    Some(out)
}

fn mixing(zone: &Cursor<'_>, emitter: &Emitter, site: &Site) -> Option<Mixing> {
    let c = zone.table("mixing", "A motorised mixing valve, for a zone whose water is mixed down.");
    if !c.there() {
        return None;
    }
    let floor = matches!(emitter, Emitter::Floor(_));
    let mixed_max = c.or_by(
        "mixed-max",
        "Highest mixed supply temperature.",
        20.0..=90.0,
        if floor { Temp::from_f(120.0) } else { Temp::from_f(140.0) },
        "common practice, no source",
    );
    let out = Mixing {
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
            12.0..=30.0,
            Volts { v: 24.0 },
            "0-10 V valve motors are 24 V",
        ),
        va: c.or("va", "Load of the valve motor.", 0.5..=60.0, Va { va: 6.0 }, "our choice; read the plate"),
        run: run(&c, "Run of the valve motor from the control panel.", site.run_default),
        limit: None,
        limit_at: None,
    };
    if out.mixed_design.c > out.mixed_max.c {
        c.ctx.tell(c.fault(
            "mixed-design",
            "P28",
            format!(
                "[{}]: mixed-design, {}, is above mixed-max, {}",
                c.path,
                out.mixed_design.show_both(),
                out.mixed_max.show_both()
            ),
        ));
    }
    c.done();
    Some(out)
}
