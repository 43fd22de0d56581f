//! Allowed, and most likely a slip of the hand: a current with its point at the wrong place, a zone that gets water on other zones' calls.
//! Warnings, since plants differ.
//!
//! * A circulator rated in amps alone (wet rotor, electronically commutated), single phase: more than 10 A. Such pumps end near 1/2 hp,
//!   whose motor takes 9.8 A at 115 V (NFPA 70 Table 430.248); most take 0.3 to 5 A (common practice, no source).
//! * A motor with `hp` that takes more than 1.6 times what the NEC tables have for it (our choice: the tables are on the high side).
//! * A short-circuit current below 1 kA: the smallest utility transformer gives more at its own panel (common practice, no source: 5 to
//!   65 kA).
//! * A zone without a valve on a pump that it shares: whoever calls, its water moves.
//! * An exponent that no emitter of its kind has: radiators 1.15 to 1.4, finned tube 1.25 to 1.55, fan units 0.9 to 1.15. Sheets by EN 442
//!   have 1.20 to 1.36 for radiators and 1.35 to 1.45 for convectors, ASHRAE's chapter on emitters 1.2 for cast iron, 1.31 for baseboard
//!   and 1.42 for convectors (all from memory); some room is left around them.

use super::{
    checked::{Emitter, Plant, Pump},
    cursor::Cursor,
    quantity::{Amps, Quantity as _},
};
use crate::finding::Finding;
use heatwright_core::{PumpId, Severity, Subject, ZoneId, config::ZoneDrive};
use heatwright_wiring::tables::motor::{MotorVolts, Phases, full_load_amps};

/// Most that a single-phase circulator rated in amps alone takes, amperes.
const CIRCULATOR_MAX_A: f64 = 10.0;
/// So many times the table's current is no motor of that size.
const TABLE_TIMES: f64 = 1.6;
/// Least short-circuit current at a panel, amperes.
const FAULT_MIN_A: f64 = 1_000.0;

/// Tells each.
pub(super) fn check(root: &Cursor<'_>, p: &Plant) {
    let pumps = p.pumps.iter().enumerate();
    pumps.filter_map(|(i, u)| current(PumpId(i as u8), u)).for_each(|f| root.ctx.tell(f));
    fault_current(p).into_iter().for_each(|f| root.ctx.tell(f));
    unvalved(root, p);
    let zones = p.zones.iter().enumerate();
    zones.filter_map(|(i, z)| exponent(ZoneId(i as u8), &z.emitter)).for_each(|f| root.ctx.tell(f));
}

fn exponent(id: ZoneId, emitter: &Emitter) -> Option<Finding> {
    let (kind, rating, least, most) = match emitter {
        Emitter::PanelRadiator(r) => ("panel radiator", r, 1.15, 1.4),
        Emitter::CastIron(r) => ("cast-iron radiator", r, 1.15, 1.4),
        Emitter::FinnedTube(r) => ("finned tube", r, 1.25, 1.55),
        Emitter::FanCoil(r) => ("fan coil", r, 0.9, 1.15),
        Emitter::UnitHeater(r) => ("unit heater", r, 0.9, 1.15),
        Emitter::Floor(_) | Emitter::Points { .. } => return None,
    };
    (!(least..=most).contains(&rating.exponent)).then(|| {
        let sentence = format!(
            "the output of a {kind} does not go with the power {} of its excess temperature: {least} to {most} is what such emitters have",
            rating.exponent
        );
        Finding::new("P86", Severity::Warning, Subject::Zone(id), sentence)
            .field("emitter.exponent")
            .hint("copy it from the sheet, or leave it out: the usual one of its kind is taken")
    })
}

fn current(id: PumpId, u: &Pump) -> Option<Finding> {
    let phases = if u.phases == 3 { Phases::Three } else { Phases::One };
    let (most_a, why) = match u.hp {
        Some(hp) => {
            let a = full_load_amps(hp.hp, MotorVolts::of_system(u.volts.v)?, phases)?;
            let table = if u.phases == 3 { "430.250" } else { "430.248" };
            let usual = Amps { a }.show_both();
            (
                TABLE_TIMES * a,
                format!("NEC Table {table} has {usual} for {} at {}", hp.show_both(), u.volts.show_both()),
            )
        }
        None if u.phases == 1 => (
            CIRCULATOR_MAX_A,
            "a single-phase circulator rated in amps alone takes 0.3 to 5 A, and 10 A at most".into(),
        ),
        None => return None,
    };
    (u.amps.a > most_a).then(|| {
        let sentence = format!("its plate is to say {}; {why}", u.amps.show_both());
        Finding::new("P82", Severity::Warning, Subject::Pump(id), sentence)
            .field("amps")
            .hint("see where the point of the figure stands; breaker, wire and overload follow from it")
    })
}

fn fault_current(p: &Plant) -> Option<Finding> {
    let a = p.power.fault_current.a;
    (a > 0.0 && a < FAULT_MIN_A).then(|| {
        let sentence = format!(
            "a short circuit at the panel is to give {}; a service gives 5 to 65 kA",
            p.power.fault_current.show_both()
        );
        Finding::new("P82", Severity::Warning, Subject::Plant, sentence)
            .field("power.fault-current")
            .hint("see the unit: kA is usual; the utility tells the figure")
    })
}

fn unvalved(root: &Cursor<'_>, p: &Plant) {
    let names = root.ctx.names.borrow();
    let pump_of = |d: &ZoneDrive| match d {
        ZoneDrive::Pump(pump) => Some(*pump),
        ZoneDrive::Valve { pump } => *pump,
    };
    for (i, z) in p.zones.iter().enumerate() {
        let ZoneDrive::Pump(pump) = z.drive else { continue };
        let others: Vec<String> = (p.zones.iter().enumerate())
            .filter(|(k, o)| *k != i && pump_of(&o.drive) == Some(pump))
            .map(|(k, _)| format!("`{}`", names.id(Subject::Zone(ZoneId(k as u8)))))
            .collect();
        if others.is_empty() {
            continue;
        }
        let about = Subject::Zone(ZoneId(i as u8));
        let sentence = format!(
            "`{}` has no valve and shares the pump `{}` with {}: it gets water at their calls too",
            names.id(about),
            names.pump(pump),
            others.join(", ")
        );
        root.ctx.tell(
            Finding::new("P83", Severity::Warning, about, sentence)
                .field("pump")
                .hint("give it a valve (its table `valve`), a pump of its own, or make the zones one"),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::plant::read::read;

    const TERRACE: &str = include_str!("../../docs/examples/terrace.toml");

    fn told(file: &str, code: &str) -> Vec<String> {
        let read = read("plant.toml", file.as_bytes()).unwrap_or_else(|e| panic!("{:?}", e.findings));
        assert!(read.notes.iter().filter(|f| f.code == code).all(|f| f.span.is_some()));
        read.notes.iter().filter(|f| f.code == code).map(|f| f.sentence.clone()).collect()
    }

    #[test]
    fn a_point_at_the_wrong_place_is_told() {
        assert_eq!(told(TERRACE, "P82"), [""; 0]);
        let at = TERRACE.find("[pump.p-flat-1]").unwrap();
        let line = TERRACE[at..].lines().find(|l| l.starts_with("amps = ")).unwrap();
        let with = |amps: &str| {
            let (head, tail) = TERRACE.split_at(at);
            told(&format!("{head}{}", tail.replacen(line, &format!("amps = \"{amps}\""), 1)), "P82").len()
        };
        assert_eq!((with("1.4 A"), with("14 A"), with("19 A")), (0, 1, 1));
        let fault = |ka: &str| {
            told(&TERRACE.replace("fault-current = \"10 kA\"", &format!("fault-current = \"{ka}\"")), "P82").len()
        };
        assert_eq!((fault("10 kA"), fault("14 A"), fault("1 kA")), (0, 1, 0));
    }

    #[test]
    fn an_exponent_is_one_of_its_kind() {
        const LIBRARY: &str = include_str!("../../docs/examples/library.toml");
        let with = |kind: &str, exponent: &str| {
            let line = format!("kind = \"{kind}\", ");
            assert!(LIBRARY.contains(&line), "{kind}");
            told(&LIBRARY.replacen(&line, &format!("{line}exponent = {exponent}, "), 1), "P86").len()
        };
        assert_eq!([with("cast-iron", "1.3"), with("cast-iron", "1.2"), with("cast-iron", "1.9")], [0, 0, 1]);
        assert_eq!([with("finned-tube", "1.42"), with("finned-tube", "1.0")], [0, 1]);
        assert_eq!([with("fan-coil", "1.0"), with("fan-coil", "1.3")], [0, 1]);
    }

    /// NFPA 70 Table 430.248: 1/4 hp at 115 V takes 5.8 A.
    #[test]
    fn a_motor_takes_what_its_table_has() {
        let at = TERRACE.find("[pump.p-flat-1]").unwrap();
        let (head, tail) = TERRACE.split_at(at);
        let line = tail.lines().find(|l| l.starts_with("amps = ")).unwrap();
        let with = |amps: &str| {
            let motor = format!("hp = \"1/4 hp\"\namps = \"{amps}\"");
            told(&format!("{head}{}", tail.replacen(line, &motor, 1)), "P82")
        };
        assert_eq!(with("5.8 A"), [""; 0]);
        let wrong = with("19 A");
        assert!(wrong.len() == 1 && wrong[0].contains("5.8 A"), "{wrong:?}");
    }

    #[test]
    fn a_zone_that_gets_water_at_the_calls_of_others_is_told() {
        for file in ["library", "workshop", "chapel", "terrace", "mill"] {
            let text = std::fs::read_to_string(format!("docs/examples/{file}.toml")).unwrap();
            assert_eq!(told(&text, "P83"), [""; 0], "{file}");
        }
        // Two flats on one pump, neither with a valve.
        let one = TERRACE.replacen("pump = \"p-flat-2\"", "pump = \"p-flat-1\"", 1);
        let at = one.find("[pump.p-flat-2]").unwrap();
        let end = at + one[at..].find("\n[").unwrap() + 1;
        let one = format!("{}{}", &one[..at], &one[end..]);
        let list = told(&one, "P83");
        assert!(list.len() == 2 && list[0].contains("shares the pump `p-flat-1` with"), "{list:?}");
    }
}
