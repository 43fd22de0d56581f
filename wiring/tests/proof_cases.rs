//! A block proved by its cases against the same block in each of its positions: on sound plans, on plans with a wire out or moved,
//! and with a fault that only two calls at once show.

use heatwright_core::{RelayUse, ZoneId};
use heatwright_wiring::{
    device::Device,
    fixtures::{library, on_zone_relays, sized, workshop},
    job::{Control, Job},
    net::{Network, Seen, What},
    part::{Actuator, LoadUse, Part, Rest},
    plan::{Plan, plan},
    proof::{BlockProof, Expectation, Fault, Limits, Proof, prove},
    row::Row,
};
use std::collections::BTreeMap;

const BY_CASES: Limits = Limits { listed_max: 0, states_max: 0, samples: 1, seed: 1 };
const ONE_BY_ONE: Limits = Limits { listed_max: 1 << 14, states_max: 1 << 14, samples: 1, seed: 1 };

fn relays(zones: u8) -> Job {
    on_zone_relays(sized(zones))
}

fn handing_over(mut job: Job) -> Job {
    job.panel.hand_over = true;
    assert!(job.control == Control::Controller && job.points.relay(RelayUse::Health).is_some());
    job
}

fn proof(job: &Job, devices: &[Device], rows: &[Row], limits: Limits) -> Proof {
    prove(&Network::rebuild(devices, rows).unwrap(), &Expectation::new(job), limits)
}

/// Watch and what is seen there, with the number of positions. Which contact of several closes a short is left out.
fn wrong(p: &Proof) -> BTreeMap<String, u64> {
    let mut out = BTreeMap::new();
    for f in &p.faults {
        let (what, count) = match f {
            Fault::Wrong { watch, seen, count, .. } => (format!("{watch:?} {seen:?}"), *count),
            Fault::Trouble { .. } => ("trouble".to_owned(), 0),
            other => (format!("{other:?}"), 0),
        };
        *out.entry(what).or_insert(0) += count;
    }
    out
}

#[test]
fn cases_stand_for_every_position() {
    for job in [workshop(), handing_over(workshop()), relays(2), relays(5)] {
        let p = plan(&job).unwrap();
        let [cases, listed] = [BY_CASES, ONE_BY_ONE].map(|l| proof(&job, &p.devices, &p.rows, l));
        assert_eq!((cases.faults.len(), listed.faults.len()), (0, 0), "{:#?}", cases.faults);
        assert_eq!(cases.states, listed.states);
        for (c, l) in cases.blocks.iter().zip(&listed.blocks) {
            assert!(c.exhaustive && l.exhaustive);
            assert_eq!((c.states, &c.actuators), (l.states, &l.actuators));
        }
    }
}

/// Every seventh wire out, and every seventh landed where the next one lands: the same watches are wrong in as many positions.
#[test]
fn cases_find_what_each_position_finds() {
    let mut found = 0;
    for job in [handing_over(workshop()), relays(3)] {
        let sound = plan(&job).unwrap();
        for i in (0..sound.rows.len() - 1).step_by(7) {
            let mut out = sound.rows.clone();
            let _ = out.remove(i);
            let mut moved = sound.rows.clone();
            moved[i].to = sound.rows[i + 1].to.clone();
            for rows in [out, moved] {
                if Network::rebuild(&sound.devices, &rows).is_err() {
                    continue;
                }
                let [cases, listed] = [BY_CASES, ONE_BY_ONE].map(|l| proof(&job, &sound.devices, &rows, l));
                // A block wrong in very many positions is not looked at to its end, and both end elsewhere.
                if cases.blocks.iter().chain(&listed.blocks).all(|b| b.exhaustive) {
                    assert_eq!(wrong(&cases), wrong(&listed), "row {i}: {:?}", sound.rows[i]);
                    found += usize::from(!cases.faults.is_empty());
                } else {
                    assert_eq!(cases.faults.is_empty(), listed.faults.is_empty(), "row {i}");
                }
            }
        }
    }
    assert!(found > 30, "{found}");
}

/// The library's hand-over and sixteen zones on relays have blocks that no list goes through: they are proved in every position all
/// the same, and with few of them solved.
#[test]
fn large_blocks_are_proved_whole_and_cheaply() {
    for (job, least) in [(relays(16), 1 << 17), (handing_over(library()), 1 << 10)] {
        let p = plan(&job).unwrap();
        let proof = proof(&job, &p.devices, &p.rows, Limits::default());
        assert_eq!(proof.faults, []);
        assert!(proof.blocks.iter().all(|b| b.exhaustive));
        assert!(proof.states >= least, "{}", proof.states);
        assert!(proof.solved < 8000, "{}", proof.solved);
    }
}

/// What is solved grows with the zones and not with their positions.
#[test]
fn cost_is_near_linear_in_the_zones() {
    let solved = |zones| {
        let job = relays(zones);
        let p = plan(&job).unwrap();
        proof(&job, &p.devices, &p.rows, BY_CASES).solved
    };
    let [four, eight, sixteen] = [4, 8, 16].map(solved);
    assert!(eight <= 2 * four && sixteen <= 2 * eight, "{four} {eight} {sixteen}");
}

/// Two relays of calls as a pair of hall switches: either call asks for heat, both together do not. Each call alone, none and all look
/// right while there are more zones than these two.
fn only_a_pair(p: &mut Plan) {
    let find = |tag: &str| p.devices.iter().position(|d| d.tag == tag).unwrap();
    let (one, two) = (find("KU1"), find("KU2"));
    let mut contact = |d: usize, rest: Rest, first: bool, mark: &str| {
        let d = &mut p.devices[d];
        let new = d.terminal_for(mark, 2);
        let open = d.find("14").unwrap();
        let common = d.find("11").unwrap();
        let is = |part: &&mut Part| matches!(part, Part::Contact { a, rest: r, .. } if *a == common && *r == rest);
        let Some(Part::Contact { a, b, .. }) = d.parts.iter_mut().find(is) else { panic!("{mark}") };
        (*a, *b) = if first { (common, new) } else { (new, open) };
    };
    contact(one, Rest::Open, true, "p");
    contact(one, Rest::Closed, true, "q");
    // The common of the second is looked for by its place, which the first change of it moves: closed at rest goes first.
    contact(two, Rest::Closed, false, "p");
    contact(two, Rest::Open, false, "q");
    for mark in ["p", "q"] {
        let mut row = p.rows.iter().find(|r| r.from.device == "KU1" || r.to.device == "KU1").unwrap().clone();
        row.wire = format!("{mark}-planted");
        (row.from.device, row.from.terminal) = ("KU1".into(), mark.into());
        (row.to.device, row.to.terminal) = ("KU2".into(), mark.into());
        p.rows.push(row);
    }
}

#[test]
fn a_fault_that_only_two_calls_show_is_found() {
    for zones in [3, 16] {
        let job = relays(zones);
        let mut p = plan(&job).unwrap();
        only_a_pair(&mut p);
        let proof = proof(&job, &p.devices, &p.rows, BY_CASES);
        assert!(!proof.faults.is_empty(), "{zones}");
        // The demand pair's block: its flow switch and its safeties stand either way and change nothing of the demand, and its boiler is
        // off where its switch is. Any other load hangs on the calls alone.
        let both = |b: &&BlockProof| [0, 1].iter().all(|z| b.actuators.contains(&Actuator::Call(ZoneId(*z))));
        let block = proof.blocks.iter().filter(both).max_by_key(|b| b.actuators.len()).unwrap();
        let tells = |a: &&Actuator| matches!(a, Actuator::Call(_) | Actuator::BoilerSwitchOff(_));
        let rest = block.actuators.iter().filter(|a| !tells(a)).count();
        for f in &proof.faults {
            let Fault::Wrong { watch, seen, position, count, .. } = f else { panic!("{f:?}") };
            let calls: Vec<u8> = (0..zones).filter(|z| position.get(Actuator::Call(ZoneId(*z)))).collect();
            assert_eq!((*seen, calls), (Seen::Dead, vec![0, 1]), "{f:?}");
            // Of all patterns of calls only this one, whatever else stands where.
            let free = if matches!(watch.what, What::Load(LoadUse::Demand(_))) { rest } else { 0 };
            assert_eq!(*count, 1 << free, "{f:?} {:?}", block.actuators);
        }
    }
}
