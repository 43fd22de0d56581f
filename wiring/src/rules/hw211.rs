//! HW211 coil-live-behind-disconnect: a contactor or starter whose coil circuit no disconnect beside its own takes away.
//!
//! Looked for in rows and devices: from the live side of the coil back through every contact to a panelboard, without passing a
//! disconnect (its auxiliary contact counts) that stands at the same place; from the secondary of a control transformer on
//! through its primary. Source: NFPA 70 430.75, from memory: (A) two separate disconnects, of motor and of control circuit, stand
//! immediately adjacent; (B) a control transformer hangs on the load side of the disconnect.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    part::Part,
    plan::Plan,
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW211",
    name: "coil-live-behind-disconnect",
    severity: Severity::Error,
    source: nec("430.75(A), (B)", Status::Memory, "from memory"),
    doc: "What it finds\n\
        A contactor or starter with control voltage from another circuit, where no disconnect at its place opens that \
        circuit together with, or right beside, the disconnect of the motor; or with a control transformer tapped ahead of \
        that disconnect.\n\nWhy it matters\n\
        The line is locked out and the coil still has 120 V; the contactor can pull in under a hand.\n\nHow to mend it\n\
        Lead the coil circuit through an auxiliary contact of the line disconnect, stand a control disconnect beside it, or \
        feed the coil from a control transformer behind the line disconnect.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    let contacts: Vec<(usize, usize, usize)> = trace
        .parts()
        .filter_map(|(d, p)| match p {
            Part::Contact { a, b, .. } => Some((d, trace.group_of(d, *a)?, trace.group_of(d, *b)?)),
            _ => None,
        })
        .collect();
    let windings: Vec<[Vec<usize>; 2]> = trace
        .parts()
        .filter(|(d, _)| plan.devices[*d].kind == Kind::ControlTransformer)
        .filter_map(|(d, p)| match p {
            Part::Transformer { primary, secondary, .. } => {
                Some([primary, secondary].map(|w| w.iter().filter_map(|t| trace.group_of(d, *t)).collect()))
            }
            _ => None,
        })
        .collect();
    for (d, device) in plan.devices.iter().enumerate() {
        if !matches!(device.kind, Kind::Contactor | Kind::Starter) {
            continue;
        }
        let coil = device.parts.iter().find_map(|p| if let Part::Coil { a, b, .. } = p { Some([*a, *b]) } else { None });
        let Some(coil) = coil else { continue };
        let sides = coil.into_iter().filter_map(|t| trace.group_of(d, t)).filter(|g| !trace.is_grounded(*g));
        // Back towards the supply; a disconnect beside the contactor ends the walk.
        let mut reached: Vec<usize> = sides.collect();
        let mut next = 0;
        let mut live = None;
        while let Some(g) = reached.get(next).copied() {
            next += 1;
            for [primary, _] in windings.iter().filter(|[_, secondary]| secondary.contains(&g)) {
                let new: Vec<usize> = primary.iter().copied().filter(|p| !reached.contains(p)).collect();
                reached.extend(new);
            }
            for (q, a, b) in contacts.iter().filter(|(_, a, b)| *a == g || *b == g) {
                let by = &plan.devices[*q];
                if by.kind == Kind::Panelboard {
                    live = Some(&by.tag);
                }
                let barred = by.kind == Kind::Panelboard || (by.kind == Kind::Disconnect && by.place == device.place);
                let far = if *a == g { *b } else { *a };
                if !barred && !trace.is_grounded(far) && !reached.contains(&far) {
                    reached.push(far);
                }
            }
        }
        if let Some(board) = live {
            out.add(
                device.subject.unwrap_or(Subject::Plant),
                format!("The coil of {} ({}) stays live from {board} with every switch beside it open.", device.tag, device.label),
            )
            .fact("contactor", device.tag.clone(), "")
            .hint("Lead its coil circuit through an auxiliary contact of its line disconnect.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_an_auxiliary_contact_jumped_over() {
        let list = after_mill(&RULE, |_, p| {
            let mut row = p.rows.iter().find(|r| r.to.device == "QL1" || r.from.device == "QL1").unwrap().clone();
            (row.from.device, row.from.terminal) = ("QL1".into(), "13".into());
            (row.to.device, row.to.terminal) = ("QL1".into(), "14".into());
            p.rows.push(row);
        });
        assert_eq!(list.len(), 1, "{list:#?}");
        assert!(list[0].sentence.contains("QA1") && list[0].sentence.contains("A3"));
    }

    /// The transformer of fan 1's starter on the strip ahead of the disconnect: its coil stays live from the first panelboard.
    #[test]
    fn fails_a_control_transformer_tapped_ahead_of_the_disconnect() {
        let list = after_mill(&RULE, |_, p| {
            let ahead = p.rows.iter().find(|r| r.from.device == "QLF6.1" && r.from.terminal == "1/L1").unwrap().to.clone();
            let primary = |l: &crate::row::Landing| l.device == "TF6.1" && l.terminal == "H1";
            let row = p.rows.iter_mut().find(|r| primary(&r.from) || primary(&r.to)).unwrap();
            if primary(&row.from) { row.to = ahead } else { row.from = ahead }
        });
        assert_eq!(list.len(), 1, "{list:#?}");
        assert!(list[0].sentence.contains("QAF6.1") && list[0].sentence.contains("A2"));
    }
}
