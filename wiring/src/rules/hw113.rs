//! HW113 conductor-over-terminal: a conductor too large for the terminals that it lands on: 24 V and signals on a thermostat, valve,
//! sensor or damper; power on the breaker, contactor, switch and motor of a small circuit.
//!
//! A long run is made larger until its drop is in bounds; what then lands is compared with the largest conductor that such
//! terminals usually take. Source: common practice, no source; the device says what it takes (NFPA 70 110.3(B)).

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    pass::reduced::{LARGEST_30_A, LARGEST_SMALL_SCREW as LARGEST, small_screws},
    plan::Plan,
    row::Class,
    tables::{Awg, Source, Status},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW113",
    name: "conductor-over-terminal",
    severity: Severity::Warning,
    source: Source { standard: "common practice", section: "terminals of low-voltage controls take 16 AWG at most, those of devices of 30 A take 8 AWG", editions: "none", status: Status::Memory, remark: "no standard gives the size; NFPA 70 110.3(B) makes the instructions of the device binding" },
    doc: "What it finds\n\
        A Class 2 conductor larger than 16 AWG on a thermostat, zone valve, mixing valve, sensor or damper. A power conductor larger than \
        8 AWG in a circuit of 30 A or less, whose breaker, contactor, switches and motor it lands on.\n\nWhy it matters\n\
        It does not go under the screw. What is done about it on the ladder is a cut strand or a splice that stands on no \
        drawing.\n\nHow to mend it\n\
        Let the long run carry less: a relay or a transformer near the device, or a shorter way. Or splice on a short end of 18 AWG in a box \
        at the device, and draw it. Of a power circuit splice both ends of the long run to conductors of the breaker's own size, each in a \
        box, or place the panel nearer.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    low_voltage(plan, out);
    power(job, plan, out);
}

/// Long runs of small power circuits, each circuit once.
fn power(job: &Job, plan: &Plan, out: &mut Findings) {
    for b in plan.breakers.iter().filter(|b| b.amps <= 30) {
        let here = plan.rows.iter().filter(|r| r.class == Class::Power && r.circuit == b.circuit);
        let large = here.filter_map(|r| Some((r, r.awg.parse::<Awg>().ok()?))).filter(|(_, awg)| *awg > LARGEST_30_A);
        let large: Vec<_> = large.collect();
        let Some((row, awg)) = large.iter().max_by_key(|(_, awg)| *awg) else { continue };
        let mut tags: Vec<&str> = large.iter().flat_map(|(r, _)| [r.from.device.as_str(), r.to.device.as_str()]).collect();
        tags.sort_by(|a, b| crate::natural::cmp(a, b));
        tags.dedup();
        let about = plan.circuits.iter().find(|c| c.name == b.circuit).and_then(|c| c.subject).unwrap_or(Subject::Plant);
        let of = if about == Subject::Plant { String::new() } else { format!(" ({})", job.names.of(about)) };
        out.add(
            about,
            format!(
                "Circuit {}{of} of {} A is to land {} AWG on {}; terminals of such devices usually take {} AWG at most.",
                b.circuit,
                b.amps,
                awg.mark(),
                tags.join(", "),
                LARGEST_30_A.mark()
            ),
        )
        .fact("wire", row.wire.as_str(), "")
        .fact("length", row.length_ft, "ft")
        .hint(format!(
            "Splice both ends of the long run down to {} AWG, each in a box; schedule, materials and checkout name them. Or place the panel nearer.",
            if b.amps <= 20 { "12" } else { "10" }
        ));
    }
}

fn low_voltage(plan: &Plan, out: &mut Findings) {
    for d in plan.devices.iter().filter(|d| small_screws(d.kind)) {
        let here = plan.rows.iter().filter(|r| r.class == Class::Class2);
        let here = here.filter(|r| r.from.device == d.tag || r.to.device == d.tag);
        let size = |r: &&crate::row::Row| r.awg.parse::<Awg>().ok();
        let Some((row, awg)) = here.filter_map(|r| size(&r).map(|a| (r, a))).max_by_key(|(_, a)| *a) else { continue };
        if awg <= LARGEST {
            continue;
        }
        out.add(
            d.subject.unwrap_or(Subject::Plant),
            format!("{} {} is to take a conductor of {} AWG; its screws usually take 16 AWG at most.", d.tag, d.label, row.awg),
        )
        .fact("wire", row.wire.as_str(), "")
        .fact("length", row.length_ft, "ft")
        .hint("Put a relay or a transformer near it, shorten the way, or splice on a short end of 18 AWG and draw the box.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::Kind;
    use crate::rules::fixture::{after, clean, found};

    fn with(awg: &str) -> Vec<String> {
        let list = after(&RULE, |_, plan| {
            let stat = plan.devices.iter().find(|d| d.kind == Kind::Thermostat).unwrap().tag.clone();
            let mut rows = plan.rows.iter_mut().filter(|r| r.class == Class::Class2);
            let row = rows.find(|r| r.from.device == stat || r.to.device == stat).unwrap();
            row.awg = awg.into();
        });
        list.into_iter().map(|f| f.sentence).collect()
    }

    #[test]
    fn passes_the_clean_job_and_16_awg() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
        assert_eq!(with("16"), [""; 0]);
    }

    #[test]
    fn fails_14_awg_on_a_thermostat_and_not_on_a_strip() {
        let list = with("14");
        assert!(list.len() == 1 && list[0].contains("14 AWG"), "{list:?}");
        let strip = after(&RULE, |_, plan| {
            let tags: Vec<String> = plan.devices.iter().filter(|d| small_screws(d.kind)).map(|d| d.tag.clone()).collect();
            for r in plan.rows.iter_mut().filter(|r| r.class == Class::Class2) {
                if !tags.contains(&r.from.device) && !tags.contains(&r.to.device) {
                    r.awg = "12".into();
                }
            }
        });
        assert!(strip.is_empty());
    }

    /// Seen to fail: 3 AWG was landed on a switch and a contactor of 20 A, and nothing was said.
    #[test]
    fn fails_a_long_run_on_a_small_device() {
        let with = |awg: &str, amps: u16| {
            let list = after(&RULE, |_, plan| {
                let pump = plan.motors[0].circuit.clone();
                plan.rows.iter_mut().filter(|r| r.class == Class::Power && r.circuit == pump).for_each(|r| r.awg = awg.into());
                plan.breakers.iter_mut().filter(|b| b.circuit == pump).for_each(|b| b.amps = amps);
            });
            list.into_iter().map(|f| f.sentence).collect::<Vec<_>>()
        };
        assert_eq!(with("8", 20), [""; 0]);
        assert_eq!(with("3", 60), [""; 0]);
        let list = with("3", 20);
        assert!(list.len() == 1 && list[0].contains("3 AWG on") && list[0].contains("M1"), "{list:?}");
    }
}
