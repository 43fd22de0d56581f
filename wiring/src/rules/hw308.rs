//! HW308 secondary-conductor-unprotected: secondary conductors of a transformer too long or too thin for having no device at their start.
//!
//! To 10 ft: ampacity at least the device at the far end and a tenth of the primary device times the ratio of volts; to 25 ft a
//! third; longer ones need a device at the transformer. The next standard size up is not taken. Source: NFPA 70 240.21(C)(2)
//! and (6), 240.4(F), from memory.

use super::{Rule, carrying, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    row::Class,
    tables::{
        Awg, Status,
        conductor::{Conditions, allowed_amps},
        derived,
    },
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW308",
    name: "secondary-conductor-unprotected",
    severity: Severity::Error,
    source: nec("240.21(C)(2), (C)(6), 240.4(F)", Status::Memory, "from memory"),
    doc: "What it finds\n\
        Conductors from a transformer to the first breaker behind it that are longer than 25 ft, or cannot carry the \
        whole rating of that breaker.\n\nWhy it matters\n\
        The primary breaker does not see a fault between one line and neutral of the secondary at its full size. Until the \
        main breaker nothing else protects these wires.\n\nHow to mend it\n\
        Stand transformer and panelboard side by side; size the conductors for the main breaker.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for c in plan.circuits.iter().filter(|c| c.duty == Duty::Feeder) {
        let breaker = |name: &str| plan.breakers.iter().find(|b| b.circuit == name).map(|b| f64::from(b.amps));
        let primary = plan.circuits.iter().find(|p| p.duty == Duty::Transformer);
        let (Some(device), Some(primary)) = (breaker(&c.name), primary) else { continue };
        let ahead = breaker(&primary.name).unwrap_or(device);
        let rows = || plan.rows.iter().filter(|r| r.circuit == c.name && r.class == Class::Power);
        let length_ft = rows().map(|r| r.length_ft).fold(0.0, f64::max);
        let Some(least) = derived::secondary_ampacity(device, ahead, primary.volts / c.volts, length_ft) else {
            out.add(
                Subject::Plant,
                format!("The secondary conductors of the transformer are {length_ft:.0} ft long; 25 ft is the most."),
            )
            .fact("length", length_ft, "ft")
            .hint("Stand the panelboard beside the transformer, or put a breaker at the transformer.");
            continue;
        };
        let on = Conditions { terminals: carrying::terminals(job), ..Conditions::default() };
        let Some(thinnest) = rows().filter_map(|r| r.awg.parse::<Awg>().ok()).min() else { continue };
        let carries = allowed_amps(thinnest, on).unwrap_or(0.0);
        if carries + 1e-9 < least {
            out.add(
                Subject::Plant,
                format!("The secondary conductors of the transformer, {thinnest} AWG, carry {carries:.0} A; {least:.0} A is the least."),
            )
            .fact("conductor", thinnest.mark(), "AWG")
            .fact("device at the far end", device, "A")
            .hint("Size them for the whole rating of the breaker at their end.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_a_thin_and_a_long_one() {
        let rows = |p: &mut Plan, change: fn(&mut crate::row::Row)| {
            p.rows.iter_mut().filter(|r| r.circuit == "TP1" && r.class == Class::Power).for_each(change);
        };
        // 8 AWG carries 40 A in the 60 degree column, the main breaker is 60 A.
        let list = after_mill(&RULE, |_, p| rows(p, |r| r.awg = "8".into()));
        assert!(list[0].sentence.contains("8 AWG, carry 40 A; 60 A"), "{list:#?}");
        let list = after_mill(&RULE, |_, p| rows(p, |r| r.length_ft = 26.0));
        assert!(list[0].sentence.contains("26 ft long"));
    }

}
