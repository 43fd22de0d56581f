//! `[pump.*]`.

use super::{name, relay, run, space};
use crate::plant::{
    checked::{Motor, Pump, Site},
    cursor::Cursor,
    quantity::{Flow, HorsePower, Quantity as _, Time, Volts},
};
use heatwright_core::{PumpId, Subject, config::PumpRole};
use heatwright_wiring::tables::motor::{MotorVolts, Phases, full_load_amps};

/// Largest current of a pump.
const AMPS_MAX: f64 = 150.0;

pub(in crate::plant) fn pumps(root: &Cursor<'_>, site: &Site) -> Vec<(String, Pump)> {
    root.named("pump", "The circulators.", |i| Subject::Pump(PumpId(i)))
        .into_iter()
        .map(|(id, c)| {
            let p = pump(&c, &id, site);
            c.done();
            (id, p)
        })
        .collect()
}

fn pump(c: &Cursor<'_>, id: &str, site: &Site) -> Pump {
    let motors = [
        ("wet-rotor", Motor::WetRotor),
        ("standard", Motor::Standard),
        ("electronically-commutated", Motor::ElectronicallyCommutated),
    ];
    let motor =
        c.word("motor", "wet-rotor, standard or electronically-commutated.", &motors, true).unwrap_or(Motor::WetRotor);
    let hp: Option<HorsePower> = c.may("hp", "Rated output; needed for a standard motor.", 0.01..=100.0);
    let volts =
        c.or("volts", "Voltage.", 100.0..=600.0, Volts { v: 120.0 }, "small circulators are 120 V (115 V motors)");
    let phases = c.phases("Phases, 1 or 3.");
    let amps = c.may(
        "amps",
        "Full-load amps on the plate; left out: by `hp` from NEC Table 430.248 or 430.250.",
        0.05..=AMPS_MAX,
    );
    if motor == Motor::Standard && hp.is_none() && !c.written("hp") {
        c.ctx.tell(
            c.fault("motor", "P25", format!("pump `{id}` has a standard motor and no `hp`"))
                .hint("add hp from the plate: conductors and breaker follow from it"),
        );
    }
    let amps = amps.unwrap_or_else(|| {
        let kind = if phases == 3 { Phases::Three } else { Phases::One };
        match hp.zip(MotorVolts::of_system(volts.v)).and_then(|(h, v)| full_load_amps(h.hp, v, kind)) {
            Some(a) => {
                let amps = crate::plant::quantity::Amps { a };
                let table = match kind {
                    Phases::One => "NEC Table 430.248 for its hp and volts; read the plate",
                    Phases::Three => "NEC Table 430.250 for its hp and volts; read the plate",
                };
                c.assume_by("amps", amps.show_both(), table);
                if a > AMPS_MAX {
                    let table = table.split(" for").next().unwrap_or(table);
                    let hp = hp.map(|h| h.show_both()).unwrap_or_default();
                    let sentence = format!(
                        "pump `{id}` of {hp} takes {} by {table}; {AMPS_MAX:.0} A is the most that can be planned",
                        amps.show_both()
                    );
                    c.ctx.tell(c.fault("hp", "P25", sentence).hint(
                        "see whether a fraction is meant, like \"3/4 hp\"; a larger motor is engineered by hand",
                    ));
                }
                amps
            }
            None => {
                // What is written and cannot be read is told already.
                if !c.written("amps") && (!c.written("hp") || hp.is_some()) {
                    let told = c.fault("amps", "P25", format!("pump `{id}` has no `amps`"));
                    c.ctx.tell(if kind == Phases::Three && volts.v < 190.0 {
                        told.hint(format!(
                            "no service has three phases of {}: read volts and phases on the plate again",
                            volts.show_both()
                        ))
                    } else {
                        told.hint("add the full-load amps from the plate")
                    });
                }
                crate::plant::quantity::Amps { a: 1.0 }
            }
        }
    });
    let standard = motor == Motor::Standard;
    Pump {
        name: name(c, id),
        place: c.text_or("place", "Where it is.", "boiler room"),
        role: PumpRole::Zone,
        motor,
        hp,
        volts,
        phases,
        amps,
        service_factor: c.number("service-factor", "Service factor on the plate.", 1.0..=1.5).unwrap_or_else(|| {
            c.assume("service-factor", "1".to_owned(), "the careful one: overload at 115 %");
            1.0
        }),
        temperature_rise: c.may("temperature-rise", "Temperature rise marked on the plate.", 1.0..=180.0),
        thermally_protected: c.flag("thermally-protected", "The motor protects itself against overload.", !standard),
        appliance_listed: c.flag(
            "appliance-listed",
            "Listed as an appliance with its motor inside, rated in amps.",
            !standard,
        ),
        // Not assumed of any motor: terminals that are not there cannot be landed on.
        start_input: c.flag("start-input", "The line stays on and a dry contact starts it.", false),
        flow: c
            .may("flow", "Flow with the pump on; left out: what its zones or its boiler need; a tank's, its coil at a drop of 20 °F (11 K).", 0.001..=200.0)
            .unwrap_or(Flow { l_s: 0.0 }),
        run: run(c, "Run from the control panel.", site.run_default),
        in_sight: c.flag("in-sight", "It stands in sight of the control panel and within 50 ft.", false),
        hand_switch: c.flag("hand-switch", "It has a HAND-OFF-AUTO switch in the panel's door.", false),
        on_min: c.or(
            "on-min",
            "Shortest run.",
            0.0..=3600.0,
            Time::from_s(60.0),
            "our choice: a motor cools best while it runs",
        ),
        off_min: c.or("off-min", "Shortest stop.", 0.0..=3600.0, Time::from_s(30.0), "our choice"),
        exercise_every: c.or(
            "exercise-every",
            "Run at least once in this time; 0 s: never.",
            0.0..=5_184_000.0,
            Time::from_s(604_800.0),
            "once a week against seizing",
        ),
        exercise_for: c.or(
            "exercise-for",
            "Length of an exercise run.",
            0.0..=3600.0,
            Time::from_s(60.0),
            "our choice",
        ),
        relay: relay(c),
        space: space(c, "space", "its circuit (small pumps with one space share it)"),
    }
}
