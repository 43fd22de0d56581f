//! Ends at which a long run is spliced down: its conductors were made larger against voltage drop than the terminal takes.
//!
//! Terminals of devices of 30 A and less take 8 AWG, screws of thermostats, valves, sensors and dampers 16 AWG (common practice, no source; the device
//! says what it takes, NEC 110.3(B)). A larger conductor ends in a box beside the device, in a connector listed for both sizes (110.14), and goes on in the
//! size that the breaker asks for: 12 AWG to 20 A, 10 AWG to 30 A (240.4(D), and our 12 AWG at least), 18 AWG for Class 2. The green conductor of the run is spliced with it (250.148). A
//! short end of a foot drops nothing that counts. Strips take any size where their blocks are marked for it, bars of panelboards and boxes too.
//!
//! Read by rule HW113, by the schedule, the list of materials and the checkout, so that all four say the same.

use crate::{
    device::{Device, Kind},
    natural,
    pass::grounding::is_splice,
    plan::Plan,
    row::{Class, Landing, Row},
    tables::Awg,
};
use serde::Serialize;

/// The largest that goes under a terminal of a device of 30 A or less.
pub const LARGEST_30_A: Awg = Awg::A8;
/// The largest that goes under the screw of a low-voltage control.
pub const LARGEST_SMALL_SCREW: Awg = Awg::A16;

/// One end that is spliced down.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reduced {
    /// Circuit of the conductor.
    pub circuit: String,
    /// Its wire number.
    pub wire: String,
    /// The terminal that does not take it: device and mark.
    pub at: Landing,
    /// Raceway or cable that brings it; empty inside an enclosure.
    pub run: String,
    /// Its size, AWG.
    pub awg: String,
    /// Size of the end that goes on to the terminal, AWG.
    pub to_awg: String,
}

/// True for a device whose low-voltage screws are small.
pub const fn small_screws(kind: Kind) -> bool {
    matches!(kind, Kind::Thermostat | Kind::ZoneValve | Kind::MixingValve | Kind::Sensor | Kind::Damper)
}

/// All of them, in the order of the schedule.
pub fn reduced(plan: &Plan) -> Vec<Reduced> {
    let mut list = Vec::new();
    let device = |tag: &str| plan.devices.iter().find(|d| d.tag == tag);
    for r in &plan.rows {
        let Ok(awg) = r.awg.parse::<Awg>() else { continue };
        let amps = plan.breakers.iter().find(|b| b.circuit == r.circuit).map(|b| b.amps);
        // A pigtail in one box, and the splice that it comes from, are no terminals of a run.
        if r.from.device == r.to.device {
            continue;
        }
        for l in [&r.from, &r.to].into_iter().filter(|l| !is_splice(&l.terminal)) {
            if let Some(to) = device(&l.device).and_then(|d| end(d, r, awg, amps)) {
                list.push(Reduced {
                    circuit: r.circuit.clone(),
                    wire: r.wire.clone(),
                    at: l.clone(),
                    run: r.run.clone(),
                    awg: r.awg.clone(),
                    to_awg: to.mark().into(),
                });
            }
        }
    }
    list
}

/// Size of the short end at this device; `None` where the conductor itself goes under the terminal.
fn end(d: &Device, r: &Row, awg: Awg, breaker_a: Option<u16>) -> Option<Awg> {
    let bar = matches!(d.kind, Kind::Strip) || (d.kind == Kind::Panelboard && r.class == Class::Ground);
    match (r.class, breaker_a) {
        (Class::Class2, _) if small_screws(d.kind) && awg > LARGEST_SMALL_SCREW => Some(Awg::A18),
        (Class::Power | Class::Ground, Some(a)) if a <= 30 && awg > LARGEST_30_A && !bar => {
            Some(if a <= 20 { Awg::A12 } else { Awg::A10 })
        }
        _ => None,
    }
}

/// What the head of a circuit says of them; empty where there are none.
pub fn in_words(plan: &Plan, circuit: &str) -> String {
    let mut sizes: Vec<((String, String), Vec<String>)> = Vec::new();
    for r in reduced(plan).into_iter().filter(|r| r.circuit == circuit) {
        let size = (r.awg, r.to_awg);
        match sizes.iter_mut().find(|(s, _)| *s == size) {
            Some((_, tags)) if tags.contains(&r.at.device) => {}
            Some((_, tags)) => tags.push(r.at.device),
            None => sizes.push((size, vec![r.at.device])),
        }
    }
    let words = sizes.into_iter().map(|((awg, to), mut tags)| {
        tags.sort_by_cached_key(|t| natural::key(t));
        format!("{awg} AWG is spliced down to {to} AWG, each end in a box, at {}", tags.join(", "))
    });
    let words: Vec<String> = words.collect();
    if words.is_empty() {
        String::new()
    } else {
        format!("Made larger against voltage drop than its terminals take: {}.", words.join("; "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fixtures::library,
        job::Job,
        pass::checkout::checkout,
        plan::{Material, plan},
    };

    fn items(job: &Job, starts: &str) -> Vec<Material> {
        plan(job).unwrap().materials.into_iter().filter(|m| m.item.starts_with(starts)).collect()
    }

    /// A pump 4000 ft away: what its terminals do not take is told at every end, in schedule, order and checkout, and green with the rest.
    #[test]
    fn a_long_run_is_spliced_down_wherever_it_ends() {
        let mut job = library();
        assert_eq!(reduced(&plan(&job).unwrap()), []);
        assert_eq!(items(&job, "splice connector"), []);
        job.pumps[1].run_ft = 4000.0;
        let p = plan(&job).unwrap();
        let m = p.motors.iter().find(|m| m.device == "M2").unwrap();
        let list = reduced(&p);
        let at = |tag: &str| list.iter().filter(|r| r.at.device == tag).count();
        // Line and neutral in and out of the disconnect, the motor's two, green at both; the breaker and its neutral.
        assert!(at("QB2") >= 4 && at("M2") >= 2 && at("A2") == 2, "{list:#?}");
        assert!(list.iter().all(|r| r.circuit == m.circuit && r.to_awg == "12"), "{list:#?}");
        assert!(list.iter().all(|r| r.awg.parse::<Awg>().unwrap() > LARGEST_30_A));
        assert!(list.iter().any(|r| r.wire == "PE" && r.at.device == "M2"), "{list:#?}");
        assert!(!list.iter().any(|r| is_splice(&r.at.terminal)), "{list:#?}");
        assert!(!list.iter().any(|r| p.devices.iter().any(|d| d.tag == r.at.device && d.kind == Kind::Strip)));
        let words = in_words(&p, &m.circuit);
        assert!(words.contains("spliced down to 12 AWG") && words.contains("QB2"), "{words}");
        assert_eq!(in_words(&p, "A2-1"), "");
        let bought: f64 = items(&job, "splice connector").iter().map(|m| m.quantity).sum();
        assert_eq!(bought as usize, list.len());
        assert_eq!(checkout(&job, &p).reduced, list);
    }

    /// A boiler on a breaker of 40 A has terminals for its own conductors; a thermostat has not.
    #[test]
    fn the_size_goes_by_the_device() {
        let mut p = plan(&library()).unwrap();
        let stat = p.devices.iter().find(|d| d.kind == Kind::Thermostat).unwrap().tag.clone();
        for r in
            p.rows.iter_mut().filter(|r| r.class == Class::Class2 && (r.from.device == stat || r.to.device == stat))
        {
            r.awg = "14".into();
        }
        let list = reduced(&p);
        assert!(!list.is_empty() && list.iter().all(|r| r.at.device == stat && r.to_awg == "18"), "{list:?}");
        let circuit = p.breakers[1].circuit.clone();
        for r in p.rows.iter_mut().filter(|r| r.class == Class::Power && r.circuit == circuit) {
            r.awg = "6".into();
        }
        for (amps, to) in [(20, Some("12")), (30, Some("10")), (40, None)] {
            p.breakers[1].amps = amps;
            let here = reduced(&p).into_iter().find(|r| r.circuit == circuit);
            assert_eq!(here.map(|r| r.to_awg).as_deref(), to, "{amps}");
        }
    }
}
