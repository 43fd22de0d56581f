//! `--fault`: what fails in a run and when, and what the plant makes of it.
//!
//! A fault sits where the real one does: at the gas cock, on a sensor's leads, at a motor, in a contact; the controller is never
//! told of it. When its time is over somebody has mended it, presses reset and acknowledges.

use super::{clock, unheard};
use crate::{
    commands::Failure,
    finding::Finding,
    plant::{Loaded, nearest},
    show::{Report, reasons, units::tidy},
};
use heatwright_core::{
    BoilerId, RelayUse, Severity, Subject,
    config::{BoilerPump, SafetyCircuit, SafetyScope},
};
use heatwright_sim::{
    fault::{Fault, Script, Stuck, Timed},
    run::{Change, Event},
};
use jiff::civil::DateTime;

/// How long a button is pressed, in seconds; acknowledge follows reset.
const PRESSED_S: f64 = 2.0;

/// One `--fault` as it is typed: ID=HOW@HOURS or ID=HOW@HOURS-HOURS.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Typed {
    id: String,
    how: String,
    from_h: f64,
    to_h: f64,
}

/// Reads the shape; what the words mean hangs on the plant.
pub(super) fn typed(given: &str) -> Result<Typed, String> {
    let shape = || "write ID=HOW@HOURS or ID=HOW@HOURS-HOURS, like b1=lockout@30 or outdoor=open@24-48".to_owned();
    let (id, rest) = given.split_once('=').ok_or_else(shape)?;
    let (how, when) = rest.split_once('@').ok_or_else(shape)?;
    let hours = |t: &str| t.parse::<f64>().ok().filter(|h| h.is_finite() && *h >= 0.0).ok_or_else(shape);
    let (from_h, to_h) = match when.split_once('-') {
        Some((from, to)) => (hours(from)?, hours(to)?),
        None => (hours(when)?, f64::INFINITY),
    };
    if from_h >= to_h {
        return Err("a fault ends after it begins".to_owned());
    }
    Ok(Typed { id: id.to_owned(), how: how.to_owned(), from_h, to_h })
}

/// How things of a kind can fail: the word, what it is, what it does.
fn ways(about: Subject) -> Vec<(&'static str, &'static str, Fault)> {
    match about {
        Subject::Boiler(b) => vec![
            ("lockout", "has no gas and locks out", Fault::NoGas(b)),
            ("off", "is switched off at its service switch", Fault::BoilerSwitchOff(b)),
        ],
        Subject::Sensor(s) => vec![
            ("open", "has a broken lead", Fault::SensorOpen(s)),
            ("short", "has leads that touch", Fault::SensorShort(s)),
            ("frozen", "keeps the reading that it had", Fault::SensorFrozen(s)),
        ],
        Subject::Pump(p) => vec![
            ("stopped", "does not turn, whatever its contact does", Fault::PumpDead(p)),
            ("overload", "has tripped its overload", Fault::Overload(p)),
        ],
        Subject::Zone(z) => vec![
            ("silent", "has a thermostat that does not call", Fault::Thermostat(z, Stuck::Open)),
            ("calls", "has a thermostat that always calls", Fault::Thermostat(z, Stuck::Closed)),
        ],
        Subject::Safety(s) => vec![("open", "stands open", Fault::Safety(s, Stuck::Open))],
        _ => Vec::new(),
    }
}

/// A fault of this plant.
#[derive(Clone, Debug)]
pub(super) struct Acted {
    about: Subject,
    how: &'static str,
    words: &'static str,
    timed: Timed,
}

fn refused(sentence: String) -> Finding {
    Finding::new("F11", Severity::Error, Subject::Plant, sentence)
}

/// Finds each fault in the plant; `hours_h` is the length of the run.
pub(super) fn find(given: &[Typed], l: &Loaded, hours_h: f64) -> Result<Vec<Acted>, Failure> {
    let mut out = Vec::new();
    for t in given {
        let Some(about) = l.names.find(&t.id).filter(|about| !ways(*about).is_empty()) else {
            let ids: Vec<&str> =
                l.names.iter().filter(|(s, _)| !ways(*s).is_empty()).map(|(_, n)| n.id.as_str()).collect();
            let near = nearest(&t.id, ids.iter().copied()).map(|n| format!("perhaps `{n}` is meant"));
            let shown: String = t.id.chars().take(40).collect();
            return Err(refused(format!("--fault: nothing called `{shown}` can fail in this plant"))
                .hints(near)
                .hint(format!("boilers, pumps, sensors, zones and safeties can: {}", ids.join(", ")))
                .into());
        };
        let ways = ways(about);
        let Some((how, words, fault)) = ways.iter().find(|w| w.0 == t.how).copied() else {
            let known: Vec<&str> = ways.iter().map(|w| w.0).collect();
            let shown: String = t.how.chars().take(40).collect();
            return Err(refused(format!("--fault: {} cannot be `{shown}`", l.names.title(about)))
                .hint(format!("it can be: {}", known.join(", ")))
                .into());
        };
        if t.from_h >= hours_h {
            return Err(refused(format!(
                "--fault: {}={} begins {} h after the start; the run ends after {hours_h:.0} h",
                t.id,
                t.how,
                tidy(t.from_h, 1)
            ))
            .hint("choose an earlier hour, or run more days (--days)")
            .into());
        }
        let timed = Timed { from_s: t.from_h * 3600.0, to_s: t.to_h * 3600.0, fault };
        out.push(Acted { about, how, words, timed });
    }
    out.sort_by(|a, b| a.timed.from_s.total_cmp(&b.timed.from_s));
    Ok(out)
}

/// The faults, and what somebody does when one has been mended.
pub(super) fn script(all: &[Acted], warm_up_s: f64) -> Script {
    let press = |at_s: f64, fault| Timed { from_s: at_s, to_s: at_s + PRESSED_S, fault };
    let items = all.iter().flat_map(|a| {
        let mended_s = a.timed.to_s;
        let reset = match a.about {
            Subject::Boiler(b) => Some(Fault::BoilerReset(b)),
            Subject::Safety(s) => Some(Fault::SafetyReset(s)),
            _ => None,
        };
        let ends = mended_s.is_finite();
        let acts =
            reset.map(|r| press(mended_s, r)).into_iter().chain([press(mended_s + PRESSED_S, Fault::Acknowledge)]);
        std::iter::once(a.timed).chain(acts.filter(move |_| ends))
    });
    Script::new(items, warm_up_s)
}

/// What the alarm relay made of a fault.
enum Heard {
    /// It dropped so many seconds after it, with its reason in words.
    After(f64, String),
    /// It was down already.
    Already,
    /// It did not drop before the next fault or the end.
    Never,
}

/// What the alarm relay did from one fault to the next.
fn heard(l: &Loaded, events: &[Event], from_s: f64, until_s: f64) -> Heard {
    let relay = |e: &Event| match e.change {
        Change::Relay { what: RelayUse::Alarm, on, why, .. } => Some((on, why)),
        Change::Relay { .. } | Change::Lead(_) | Change::FirstOut(_) => None,
    };
    let before = events.iter().take_while(|e| e.at_s < from_s).filter_map(relay).last();
    if before.is_some_and(|(on, _)| !on) {
        return Heard::Already;
    }
    let after = events.iter().filter(|e| (from_s..until_s).contains(&e.at_s));
    let mut dropped = after.filter_map(|e| relay(e).filter(|(on, _)| !on).map(|(_, why)| (e.at_s, why)));
    match dropped.next() {
        Some((at_s, why)) => Heard::After(at_s - from_s, reasons::reason(why, &l.names)),
        None => Heard::Never,
    }
}

/// Seconds, minutes or hours.
fn span(s: f64) -> String {
    match s {
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7200.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.1} h", s / 3600.0),
    }
}

/// Says what failed and what became of it; the findings, and the same for programs.
pub(super) fn tell(
    r: &mut Report,
    l: &Loaded,
    all: &[Acted],
    events: &[Event],
    start: DateTime,
) -> (Vec<Finding>, serde_json::Value) {
    let mut found = Vec::new();
    let mut json = Vec::new();
    if all.is_empty() {
        return (found, serde_json::json!(json));
    }
    r.heading("What was made to fail");
    for (k, a) in all.iter().enumerate() {
        let until_s = all.get(k + 1).map_or(f64::INFINITY, |n| n.timed.from_s);
        let title = l.names.title(a.about);
        let end = if a.timed.to_s.is_finite() {
            format!("to {}, when it is mended, reset and acknowledged", clock(start, a.timed.to_s))
        } else {
            "to the end".to_owned()
        };
        let heard = heard(l, events, a.timed.from_s, until_s);
        let told = match &heard {
            Heard::After(s, why) => format!("The alarm relay dropped after {}: {why}.", span(*s)),
            Heard::Already => "The alarm relay was down already.".to_owned(),
            Heard::Never => "No alarm told of it.".to_owned(),
        };
        r.item(format!("{title} {} from {} {end}. {told}", a.words, clock(start, a.timed.from_s)));
        if matches!(heard, Heard::Never) {
            let sentence = format!("{title} {} and no alarm told of it", a.words);
            found.push(Finding::new("R12", Severity::Warning, a.about, sentence).hint(unheard::hint(l, a.timed.fault)));
        }
        json.push(serde_json::json!({
            "id": l.names.id(a.about),
            "how": a.how,
            "from_h": a.timed.from_s / 3600.0,
            "to_h": a.timed.to_s.is_finite().then_some(a.timed.to_s / 3600.0),
            "alarm_after_s": if let Heard::After(s, _) = heard { Some(s) } else { None },
            "alarm_stood_before": matches!(heard, Heard::Already),
        }));
    }
    if all.iter().any(|a| matches!(a.timed.fault, Fault::SensorFrozen(_))) {
        r.text(
            "A sensor that stands still keeps what it read in that second. The run at half the step may read a little more or less there, and \
             the two part from then on: try another hour where they do not agree.",
        );
    }
    r.text("The rooms, the boilers and the findings above and below are those of the run with it; the same run without --fault stands beside it.");
    (found, serde_json::json!(json))
}

/// Boilers that could not burn while a fault stood: switched off, without gas, held by an open safety, without their pump. Each with its
/// fault in words.
pub(super) fn out_of_order(all: &[Acted], l: &Loaded) -> Vec<(BoilerId, String)> {
    let boilers = || (0u8..).map(BoilerId).zip(&l.plant.boilers);
    let mut out: Vec<(BoilerId, String)> = Vec::new();
    for a in all {
        let stopped: Vec<BoilerId> = match a.timed.fault {
            Fault::NoGas(b) | Fault::BoilerSwitchOff(b) => vec![b],
            Fault::PumpDead(p) | Fault::Overload(p) => {
                let own = |b: &crate::plant::checked::Boiler| match b.pump {
                    BoilerPump::Controller(own) | BoilerPump::Boiler(own) | BoilerPump::Either(own) => own == p,
                    BoilerPump::None => false,
                };
                boilers().filter(|(_, b)| own(b)).map(|(id, _)| id).collect()
            }
            Fault::Safety(s, Stuck::Open) => match l.plant.safeties.get(s.index()).map(|s| (s.scope, s.circuit)) {
                Some((_, SafetyCircuit::Alarm)) => Vec::new(),
                Some((SafetyScope::Boiler(b), _)) => vec![b],
                Some((SafetyScope::Plant, _)) => boilers().map(|(id, _)| id).collect(),
                _ => Vec::new(),
            },
            _ => Vec::new(),
        };
        for b in stopped {
            if out.iter().all(|(known, _)| *known != b) {
                let whose =
                    if a.about == Subject::Boiler(b) { String::new() } else { format!("{}: ", l.names.title(a.about)) };
                out.push((b, format!("{whose}{}", a.words)));
            }
        }
    }
    out
}

/// The first moment at which something fails, in seconds of the run.
pub(super) fn first_s(all: &[Acted]) -> Option<f64> {
    all.first().map(|a| a.timed.from_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_a_thing_a_way_and_a_time() {
        let t = typed("b1=lockout@30").unwrap();
        assert_eq!((t.id.as_str(), t.how.as_str(), t.from_h, t.to_h), ("b1", "lockout", 30.0, f64::INFINITY));
        let t = typed("outdoor=open@24-48.5").unwrap();
        assert_eq!((t.from_h, t.to_h), (24.0, 48.5));
        for bad in [
            "",
            "b1",
            "b1=lockout",
            "b1@30",
            "b1=lockout@x",
            "b1=lockout@-3",
            "b1=lockout@nan",
            "b1=lockout@30-",
            "b1=lockout@5-5",
        ] {
            assert!(typed(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn what_is_mended_is_reset_and_acknowledged() {
        let b = heatwright_core::BoilerId(0);
        let acted = |to_s| Acted {
            about: Subject::Boiler(b),
            how: "lockout",
            words: "",
            timed: Timed { from_s: 100.0, to_s, fault: Fault::NoGas(b) },
        };
        let gas = |s: &Script, at_s: f64| s.conditions(at_s).gas & 1;
        let mended = script(&[acted(200.0)], 0.0);
        assert_eq!((gas(&mended, 99.0), gas(&mended, 100.0), gas(&mended, 200.0)), (1, 0, 1));
        assert_eq!((mended.conditions(199.0).boiler_reset, mended.conditions(201.0).boiler_reset), (0, 1));
        let for_ever = script(&[acted(f64::INFINITY)], 0.0);
        assert_eq!((gas(&for_ever, 1e9), for_ever.conditions(1e9).boiler_reset), (0, 0));
    }
}
