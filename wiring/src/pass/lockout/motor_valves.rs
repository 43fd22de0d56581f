//! What the sheet of a zone valve or mixing valve says besides: what its volts are, who shares them, and where its end switch stands.
//!
//! Below 50 V a part need not be made dead for shock (29 CFR 1910.333(a)(1), from memory); it is locked so that the valve does not move on a hand,
//! on hot water or on a pump. A valve has no switch of its own: the point is the relay panel's control disconnect, which stops more. The end
//! switch lies in another circuit than the motor: an input of the controller, a relay's coil, or the chain of another transformer.

use super::{Source, items::Group};
use crate::{
    device::Kind,
    kinds::valve::END,
    plan::{Feed, Plan},
    row::{Class, Landing, Row},
};

/// Below this, volts, a part need not be dead for shock.
const SHOCK_V: f64 = 50.0;

/// Lines of the step that prepares. `dead` holds what has no power with every point open, as the sheet names it.
pub(super) fn prepare(plan: &Plan, g: &Group, sources: &[Source], dead: &[String]) -> Vec<String> {
    let Some(device) = g.devices.first().map(|d| &plan.devices[*d]) else { return Vec::new() };
    let mut list = Vec::new();
    if !sources.is_empty() && sources.iter().all(|s| s.volts < SHOCK_V) {
        list.push(format!(
            "{} V alone: not for shock, but so that it does not move or start a pump, a point is locked (1910.333(a)(1), from memory). Two of its \
             wires that touch take the power from all on {}.",
            sources.iter().map(|s| s.volts).fold(0.0, f64::max).round(),
            supplies(plan, &device.tag).join(" and ")
        ));
    }
    let lands = |r: &&Row| {
        let end = |l: &Landing| l.device == device.tag && END.contains(&l.terminal.as_str());
        r.class != Class::Ground && (end(&r.from) || end(&r.to))
    };
    let Some(row) = plan.rows.iter().find(lands).filter(|_| device.kind == Kind::ZoneValve) else { return list };
    let circuit = plan.circuits.iter().find(|c| c.name == row.circuit);
    let at = format!("{}:{} and {}", device.tag, END[0], END[1]);
    match circuit.map(|c| &c.feed) {
        Some(Feed::Controller) => {
            let controller = plan.devices.iter().find(|d| d.kind == Kind::Controller);
            let tag = controller.map_or("", |d| d.tag.as_str());
            let gone = dead.iter().any(|o| o.contains(&format!("({tag})")));
            let after = if gone { "gone with it" } else { "STAYS LIVE" };
            list.push(format!(
                "Its end switch, {at}, carries up to 24 V from an input of {tag}, not from its own supply: {after}."
            ));
        }
        Some(Feed::Transformer(t)) if !supplies(plan, &device.tag).contains(t) => {
            list.push(format!("Its end switch, {at}, hangs on {t}, another transformer than its motor."));
        }
        _ => {}
    }
    list
}

/// The transformers that feed its motor, by tag.
fn supplies(plan: &Plan, tag: &str) -> Vec<String> {
    let motor = |l: &Landing| l.device == tag && crate::kinds::valve::SUPPLY.contains(&l.terminal.as_str());
    let mut list = Vec::new();
    for r in plan.rows.iter().filter(|r| motor(&r.from) || motor(&r.to)) {
        let feed = plan.circuits.iter().find(|c| c.name == r.circuit).map(|c| &c.feed);
        if let Some(Feed::Transformer(t)) = feed
            && !list.contains(t)
        {
            list.push(t.clone());
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::super::{Item, Lockout, Sheet, lockout};
    use crate::{fixtures::library, kinds::valve::END, plan::plan};

    fn of<'a>(l: &'a Lockout, tag: &str) -> &'a Sheet {
        l.sheets.iter().find(|s| s.item == Item::Valve && s.devices == [tag]).unwrap()
    }

    fn tasks(s: &Sheet, clause: &str) -> String {
        s.steps.iter().find(|x| x.clause == clause).unwrap().tasks.join(" ")
    }

    /// Every zone valve and mixing valve has a sheet that sends to a point, names the water on both sides and tells who shares its transformer.
    #[test]
    fn every_motor_valve_has_a_sheet() {
        let job = library();
        let p = plan(&job).unwrap();
        let l = lockout(&job, &p);
        let valves: Vec<_> = p
            .devices
            .iter()
            .filter(|d| matches!(d.kind, crate::device::Kind::ZoneValve | crate::device::Kind::MixingValve))
            .collect();
        assert!(valves.len() > 1);
        for d in valves {
            let s = of(&l, &d.tag);
            assert_eq!(s.name, d.label);
            assert!(!s.points.is_empty() && s.sources.iter().all(|v| !v.isolators.is_empty()), "{}", d.tag);
            assert_eq!(s.valves.len(), 2);
            assert!(s.stored.iter().any(|e| e.what.contains("hot water")));
            let others = p
                .devices
                .iter()
                .filter(|o| o.tag != d.tag && s.stops.others.iter().any(|t| t.contains(&format!("({})", o.tag))));
            assert!(others.count() > 0, "what else is on its transformer: {:?}", s.stops.others);
            assert!(tasks(s, "(d)(1)").contains("not for shock"), "{}", tasks(s, "(d)(1)"));
            // Behind a contact it shows only while a call closes that.
            let behind = s.sources.iter().any(|v| !v.through.is_empty());
            assert_eq!(
                s.measuring.join(" ").contains("with that call on and every point closed"),
                behind,
                "{:?}",
                s.measuring
            );
            assert!(!s.measuring.join(" ").contains("call ended"));
            assert_eq!(s.stored.iter().any(|e| e.what == "return spring"), d.kind == crate::device::Kind::ZoneValve);
        }
    }

    /// The end switch stands in the controller's circuit: gone with the controller, and told live where that has power from elsewhere.
    #[test]
    fn the_end_switch_is_told_by_its_own_supply() {
        let job = library();
        let mut p = plan(&job).unwrap();
        let n = job.zones.iter().position(|z| z.valve.is_some()).unwrap() + 1;
        let tag = format!("MV{n}");
        let told = |p: &crate::plan::Plan| tasks(of(&lockout(&job, p), &tag), "(d)(1)");
        assert!(told(&p).contains(&format!(
            "{tag}:3 and 4, carries up to 24 V from an input of A1, not from its own supply: gone with it"
        )));
        // The wires of its own end switch on the other transformer instead.
        let motor = super::supplies(&p, &tag)[0].clone();
        let other = p.circuits.iter().find_map(|c| match &c.feed {
            super::Feed::Transformer(t) if *t != motor => Some(c.name.clone()),
            _ => None,
        });
        let end = |l: &crate::row::Landing| l.device == tag && END.contains(&l.terminal.as_str());
        for r in p.rows.iter_mut().filter(|r| end(&r.from) || end(&r.to)) {
            r.circuit.clone_from(other.as_ref().unwrap());
        }
        assert!(told(&p).contains(&format!("hangs on {}, another transformer", other.unwrap())), "{}", told(&p));
        // Without the wires there is nothing to tell.
        p.rows.retain(|r| !(end(&r.from) || end(&r.to)));
        assert!(!told(&p).contains("end switch,"));
    }
}
