//! HW108 color-of-another-role: a conductor in a colour that belongs to another role.
//!
//! What a conductor is, is read from the metal: joined to ground by rows and bonds and no equipment ground, it is a grounded conductor.
//! Class 2 cables are left out: their cores are identified by number. Source: NFPA 70 200.6, 250.119, from memory.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    row::{Class, Colour},
    tables::{
        Status,
        colour::{Role, may_be},
    },
    trace::Trace,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW108",
    name: "color-of-another-role",
    severity: Severity::Error,
    source: nec("200.6, 250.119, 310.6(C)", Status::Memory, "all from memory"),
    doc: "What it finds\n\
        White or gray on a conductor that is not grounded, another color on one that is, green on anything but \
        an equipment ground, or an equipment ground in another color. Power and line-voltage control conductors \
        only.\n\nWhy it matters\n\
        The next person trusts the color before the drawing: white is taken for safe to the touch, green for \
        the way of fault current.\n\nHow to mend it\n\
        Change the color of the conductor. Up to 6 AWG tape on a white conductor does not turn it into a line \
        in a raceway.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    for row in &plan.rows {
        let role = match row.class {
            Class::Class2 => continue,
            Class::Ground if row.colour == Colour::Shield => continue,
            Class::Ground => Role::EquipmentGround,
            _ => match trace.landing(&row.from) {
                Some(n) if trace.is_grounded(trace.group(n)) => Role::Grounded,
                _ => Role::Ungrounded,
            },
        };
        if may_be(row.colour, role) {
            continue;
        }
        let (what, wants) = match role {
            Role::Grounded => ("a grounded conductor", "white or gray"),
            Role::EquipmentGround => ("an equipment ground", "green, or green with a yellow stripe"),
            Role::Ungrounded => ("not grounded", "neither white, gray nor green"),
        };
        let circuit = plan.circuits.iter().find(|c| c.name == row.circuit);
        out.add(
            circuit.and_then(|c| c.subject).unwrap_or(Subject::Plant),
            format!("Wire {} is {what} and {:?}.", row.wire, row.colour),
        )
        .fact("wire", row.wire.clone(), "")
        .fact("from", format!("{}:{}", row.from.device, row.from.terminal), "")
        .fact("to", format!("{}:{}", row.to.device, row.to.terminal), "")
        .hint(format!("Make it {wants}."));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_each_role_in_the_colour_of_another() {
        let with = |i: usize, colour| after(&RULE, |_, plan| plan.rows[i].colour = colour);
        // Rows 0, 1, 2: line, neutral and ground of the boiler.
        for (row, wrong) in
            [(0, Colour::White), (0, Colour::Green), (1, Colour::Black), (1, Colour::Green), (2, Colour::White), (2, Colour::Black)]
        {
            assert_eq!(with(row, wrong).len(), 1, "row {row} {wrong:?}");
        }
        assert!(with(1, Colour::Gray).is_empty());
    }

    #[test]
    fn fails_a_white_wire_in_the_limit_pair() {
        let list = after(&RULE, |_, plan| {
            plan.rows.iter_mut().find(|r| r.circuit == "U1:limit").unwrap().colour = Colour::White;
        });
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("not grounded"));
    }
}
