//! HW111 system-colors-mixed: one colour for ungrounded conductors of two systems in one building.
//!
//! Looked at: power conductors by the volts to ground of their circuit: up to 150 V one system, above it another. Control conductors
//! go by NFPA 79 and are left out. Source: NFPA 70 210.5(C)(1), 200.6(D), from memory: each system its own way of
//! identification; the colours themselves are common practice.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    row::{Class, Colour},
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW111",
    name: "system-colors-mixed",
    severity: Severity::Error,
    source: nec("210.5(C)(1), 200.6(D)", Status::Memory, "from memory; the code asks for a difference, not for these colors"),
    doc: "What it finds\n\
        A power conductor whose color is also that of another voltage in the building: a black line of 480 V beside black \
        lines of 120 V, a white neutral of both.\n\nWhy it matters\n\
        Whoever opens a box knows the voltage by the color. A black wire taken for 120 V that carries 277 V to ground \
        kills.\n\nHow to mend it\n\
        Brown, orange, yellow and gray for 480Y/277 V; black, red, blue and white for 120/240 V and 208Y/120 V; post the code \
        on each panelboard.",
    check,
};

/// Volts to ground that part the two systems.
const TO_GROUND: f64 = 150.0;

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let high = |circuit: &str| plan.circuits.iter().find(|c| c.name == circuit).map(|c| c.volts_to_ground > TO_GROUND);
    let mut used: [Vec<Colour>; 2] = [Vec::new(), Vec::new()];
    let power = || plan.rows.iter().filter(|r| r.class == Class::Power);
    for r in power() {
        if let Some(h) = high(&r.circuit)
            && !used[usize::from(h)].contains(&r.colour)
        {
            used[usize::from(h)].push(r.colour);
        }
    }
    let [low, above] = used;
    for colour in above.into_iter().filter(|c| low.contains(c)) {
        let Some(r) = power().find(|r| r.colour == colour && high(&r.circuit) == Some(true)) else { continue };
        let circuit = plan.circuits.iter().find(|c| c.name == r.circuit);
        out.add(
            circuit.and_then(|c| c.subject).unwrap_or(Subject::Plant),
            format!("{colour:?} stands for {:.0} V and for a lower voltage too: wire {}.", r.volts, r.wire),
        )
        .fact("wire", r.wire.clone(), "")
        .fact("circuit", r.circuit.clone(), "")
        .hint("Give each system colors of its own, and post them at the panelboards.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_black_on_480_volts() {
        let list = after_mill(&RULE, |_, p| {
            let r = p.rows.iter_mut().find(|r| r.colour == Colour::Brown).unwrap();
            r.colour = Colour::Black;
        });
        assert_eq!(list.len(), 1, "{list:#?}");
        assert!(list[0].sentence.starts_with("Black stands for 480 V"));
    }

}
