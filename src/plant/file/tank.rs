//! `[tank]` and `[damper]`.

use super::{name, relay, run};
use crate::plant::{
    checked::{Damper, Draw, Site, Tank},
    cursor::Cursor,
    quantity::{Power, Quantity as _, Temp, TempDelta, Time, Va, Volts, Volume},
};
use heatwright_core::{PumpId, Subject};

/// The tank and the id of its pump.
pub(in crate::plant) fn tank<'a>(root: &Cursor<'a>, site: &Site) -> Option<(Tank, Option<String>, Cursor<'a>)> {
    let c = root.table("tank", "The domestic-hot-water tank; left out: none.").about(Subject::Tank);
    if !c.there() {
        return None;
    }
    c.ctx.names.borrow_mut().enter("tank", Some("Hot-water tank"), Subject::Tank);
    let volume: Volume = c.need("volume", "Volume.", 20.0..=50_000.0);
    let aquastat = c.or(
        "aquastat",
        "Its aquastat opens at this.",
        40.0..=85.0,
        Temp::from_f(140.0),
        "hot enough against legionella; mixed down at the tap (common practice, no source)",
    );
    let target = c.or(
        "target",
        "Supply target while it calls.",
        45.0..=100.0,
        Temp::from_f(180.0),
        "common practice, no source",
    );
    let tank = Tank {
        name: name(&c, "Hot-water tank"),
        place: c.text_or("place", "Where it stands.", "boiler room"),
        volume,
        aquastat,
        differential: c.or(
            "differential",
            "Its aquastat closes this far below.",
            1.0..=20.0,
            TempDelta::from_f(10.0),
            "common practice, no source",
        ),
        cold: c.or(
            "cold",
            "Cold water that comes in.",
            1.0..=30.0,
            Temp::from_f(50.0),
            "our choice; ask the water works",
        ),
        tap: c.or("tap", "Water at the tap.", 30.0..=60.0, Temp::from_f(120.0), "common practice, no source"),
        coil: c.need("coil", "Output of its coil at `coil-supply` with cold water in the tank.", 500.0..=2_000_000.0),
        coil_supply: c.or(
            "coil-supply",
            "Supply temperature of the coil's rating.",
            45.0..=100.0,
            Temp::from_f(180.0),
            "the usual rating",
        ),
        standing_loss: c.or_by(
            "standing-loss",
            "Standing loss.",
            0.0..=10_000.0,
            Power { w: 40.0 + volume.l * 0.15 },
            "136 Btu/h and 1.9 Btu/h more a gallon (40 W, 0.15 W a litre): our choice for 2 in of insulation",
        ),
        draws: draws(&c),
        pump: PumpId(0),
        limit: None,
        limit_at: None,
        target,
        purge_max: c.or_by(
            "purge-max",
            "No purge heat is put in above this.",
            40.0..=90.0,
            Temp { c: aquastat.c + 5.0 },
            "9 °F (5 K) above the aquastat, below the limit",
        ),
        priority_max: c.or(
            "priority-max",
            "Zones are shed while it calls, at most this long; 0 s: no priority.",
            0.0..=14_400.0,
            Time::from_min(60.0),
            "common practice, no source: an hour",
        ),
        priority_above: c.or_by(
            "priority-above",
            "No priority below this outdoor temperature.",
            -60.0..=30.0,
            Temp { c: site.outdoor_design.c + 5.0 },
            "9 °F (5 K) above the outdoor design temperature: not in deep cold",
        ),
        debounce: c.or(
            "debounce",
            "A change of its call counts once it has lasted this long.",
            0.0..=600.0,
            Time::from_s(5.0),
            "our choice: no relay chatter",
        ),
        overrun: c.or("overrun", "Its pump runs on this long.", 0.0..=3600.0, Time::from_s(60.0), "our choice"),
        run: run(&c, "Run of its aquastat from the control panel.", site.run_default),
    };
    if target.c < aquastat.c + 5.0 {
        c.ctx.tell(
            c.fault(
                "target",
                "P29",
                format!(
                    "the tank's supply target, {}, is hardly above its aquastat, {}",
                    target.show_both(),
                    aquastat.show_both()
                ),
            )
            .hint("a tank charges only from water well above its own temperature"),
        );
    }
    let pump = c.text("pump", "Id of the pump that charges it; left out: must be written.");
    if pump.is_none() && c.ctx.schema.is_none() {
        c.ctx.tell(c.fault("pump", "P02", "[tank] has no `pump`").hint("add the id of the pump that charges it"));
    }
    Some((tank, pump, c))
}

fn draws(c: &Cursor<'_>) -> Vec<Draw> {
    let list = c
        .list(
            "draws",
            "Draws of a day: [{ at = \"06:30\", for = \"20 min\", flow = \"4 gal/min\" }, ...]; left out: none.",
        )
        .unwrap_or_default();
    list.iter()
        .map(|d| {
            let at = d.text("at", "Time of day it begins, like 06:30; left out: must be written.").and_then(|t| {
                let m = super::schedules::minute_of_day(&t);
                if m.is_none() {
                    d.ctx.tell(
                        d.fault("at", "P31", format!("`{t}` is not a time of day"))
                            .hint("write it like 06:30, from 00:00 to 23:59"),
                    );
                }
                m
            });
            if at.is_none() && d.judged() && !d.written("at") {
                d.ctx.tell(
                    d.fault("at", "P02", format!("{} has no `at`", d.path))
                        .hint("add the time of day it begins, like at = \"06:30\""),
                );
            }
            let out = Draw {
                minute_of_day: at.unwrap_or(0),
                lasts: d.need("for", "How long it runs.", 1.0..=86_400.0),
                flow: d.need("flow", "Flow at the tap.", 0.0001..=20.0),
            };
            d.done();
            out
        })
        .collect()
}

pub(in crate::plant) fn damper(root: &Cursor<'_>, site: &Site) -> Option<Damper> {
    let c = root.table("damper", "A motor-driven combustion-air damper; left out: none.").about(Subject::Damper);
    if !c.there() {
        return None;
    }
    c.ctx.names.borrow_mut().enter("damper", Some("Combustion-air damper"), Subject::Damper);
    let out = Damper {
        name: name(&c, "Combustion-air damper"),
        place: c.text_or("place", "Where it is.", "boiler room"),
        volts: c.or("volts", "Supply of its actuator.", 12.0..=130.0, Volts { v: 24.0 }, "our choice; read the plate"),
        va: c.or("va", "Load of its actuator.", 0.5..=100.0, Va { va: 10.0 }, "our choice; read the plate"),
        stroke: c.or(
            "stroke",
            "Time from shut to open.",
            0.5..=600.0,
            Time::from_s(60.0),
            "our choice; read the plate",
        ),
        proof_max: c.or(
            "proof-max",
            "It must be proved open this soon.",
            5.0..=900.0,
            Time::from_s(120.0),
            "twice the stroke",
        ),
        run: run(&c, "Run from the control panel.", site.run_default),
        relay: relay(&c),
    };
    if out.proof_max.s <= out.stroke.s {
        c.ctx.tell(c.fault(
            "proof-max",
            "P60",
            format!(
                "the damper must be proved within {}, but it takes {} to open",
                out.proof_max.show_both(),
                out.stroke.show_both()
            ),
        ));
    }
    c.done();
    Some(out)
}
