//! The proof on a small plant wired by hand: it holds, and each kind of planted fault is seen.

#[path = "proof_kit/plant.rs"]
mod plant;
mod proof_kit;

use heatwright_core::{BoilerId, ContactId, PumpId, RelayId, SafetyId, SensorId};
use heatwright_wiring::{
    net::{ActuatorSet, Seen, Trouble, What},
    part::{Actuator, LoadUse, Part},
    proof::{
        Expectation, Fault, Limits, Mutant, Verdict, limit_pairs, mutate,
        mutate::{Bench, MutantKind, mutants},
        mutate_all, observe, patterns, positions, prove, single_relays,
    },
};
use proof_kit::*;

fn faults(k: &Kit) -> Vec<Fault> {
    let job = plant::job();
    prove(&k.network(), &Expectation::new(&job), Limits::default()).faults
}

fn wrong(k: &Kit, what: What, as_seen: Seen) -> bool {
    faults(k).iter().any(|f| matches!(f, Fault::Wrong { watch, seen, .. } if watch.what == what && *seen == as_seen))
}

#[test]
fn a_sound_plan_is_proved_in_every_position() {
    let job = plant::job();
    let net = plant::wired().network();
    let proof = prove(&net, &Expectation::new(&job), Limits::default());
    assert_eq!(proof.faults, [], "{:#?}", proof.faults);
    assert!(proof.blocks.iter().all(|b| b.exhaustive));
    // The pump: selector (3), relay, overload; burner: switch, two trips. Inputs and sensors by themselves.
    let of = |l: LoadUse| proof.blocks.iter().find(|b| b.watches.iter().any(|w| w.what == What::Load(l))).unwrap();
    assert_eq!(of(LoadUse::Pump(PumpId(0))).states, 12);
    assert!(of(LoadUse::Limit(BoilerId(0))).states <= 64);
    let (burns, states) = limit_pairs(&net, &Expectation::new(&job), 1, Limits::default());
    assert_eq!(burns, []);
    assert!(states >= 8);
}

#[test]
fn given_positions_are_proved_as_a_whole() {
    let job = plant::job();
    let k = plant::wired();
    let busy = positions::busy(&[
        Actuator::Relay(RelayId(0)),
        Actuator::Relay(RelayId(1)),
        Actuator::Auto(PumpId(0)),
        Actuator::Hand(PumpId(0)),
        Actuator::Flow(BoilerId(0)),
    ]);
    let sets = [ActuatorSet::default(), busy];
    assert_eq!(patterns(&k.network(), &Expectation::new(&job), &sets), []);
    let mut bad = k.clone();
    bad.rows.remove(k.row("A1:K2.14", "S1:23"));
    let found = patterns(&bad.network(), &Expectation::new(&job), &sets);
    assert!(
        matches!(&found[..], [Fault::Wrong { watch, seen: Seen::Dead, count: 1, .. }]
        if watch.what == What::Load(LoadUse::Pump(PumpId(0)))),
        "{found:?}"
    );
}

#[test]
fn each_planted_fault_is_seen_where_it_must_be() {
    let base = plant::wired();
    let (b, p) = (BoilerId(0), PumpId(0));
    let change = |from: &str, to: &str, end: usize, new: &str| {
        let mut k = base.clone();
        let row = k.row(from, to);
        k.land(row, end, new);
        k
    };
    // HAND that passes the overload by.
    assert!(wrong(&change("QA1:A2", "QA1:95", 1, "Q0:N"), What::Load(LoadUse::Pump(p)), Seen::Live));
    // HAND that does nothing: the bridge to AUTO's wire is missing.
    let mut k = base.clone();
    k.rows.remove(base.row("Q0:L2", "S1:13"));
    assert!(wrong(&k, What::Load(LoadUse::Pump(p)), Seen::Dead));
    // The wrong relay in the demand pair.
    let mut k = change("E1:5", "A1:K1.11", 1, "A1:K3.11");
    let row = k.row("A1:K1.14", "E1:6");
    k.land(row, 0, "A1:K3.14");
    assert!(wrong(&k, What::Load(LoadUse::Demand(b)), Seen::Live));
    // Two inputs exchanged.
    let mut k = change("B1:R", "A1:I1", 1, "A1:I2");
    let row = k.row("F3:3", "A1:I2");
    k.land(row, 1, "A1:I1");
    assert!(wrong(&k, What::Input(ContactId(0)), Seen::Closed));
    // Sensors exchanged; signal turned round; shield on ground at both ends; case not on ground.
    let mut k = change("BT1:1", "A1:S1", 1, "A1:S2");
    let row = k.row("BT2:1", "A1:S2");
    k.land(row, 1, "A1:S1");
    assert!(wrong(&k, What::Sensor(SensorId(0)), Seen::Id(1)));
    let mut k = change("A1:O+", "E1:Y+", 1, "E1:Y-");
    let row = k.row("A1:O-", "E1:Y-");
    k.land(row, 1, "E1:Y+");
    assert!(faults(&k).iter().any(|f| matches!(f, Fault::Wrong { seen: Seen::IdReversed(0), .. })));
    let mut k = base.clone();
    k.wire("E1:SH", "E1:PE");
    assert!(faults(&k).iter().any(|f| matches!(f, Fault::Wrong { seen: Seen::Ends(2), .. })));
    let mut k = base.clone();
    k.rows.remove(base.row("Q0:PE", "M1:PE"));
    assert!(wrong(&k, What::Bonded, Seen::Loose));
    // A supply grounded at its live pole.
    let mut k = base.clone();
    k.wire("T1:R", "Q0:PE");
    assert!(wrong(&k, What::Tie, Seen::TieHot));
    // 24 V on an input.
    let mut k = base.clone();
    k.wire("T1:R", "A1:I1").wire("T1:C", "A1:IC");
    assert!(wrong(&k, What::Input(ContactId(0)), Seen::Foreign));
    // The starter in the neutral.
    let mut k = change("Q0:N", "M1:N", 0, "QA1:2");
    let row = k.row("QA1:2", "M1:L");
    k.land(row, 0, "Q0:L3");
    let row = k.row("Q0:L3", "QA1:1");
    k.land(row, 0, "Q0:N");
    assert!(wrong(&k, What::Load(LoadUse::Pump(p)), Seen::DeadButHot));
    // A phase to ground, a coil in series with another.
    let mut k = base.clone();
    k.wire("Q0:L3", "Q0:PE");
    assert!(faults(&k).iter().any(|f| matches!(f, Fault::Trouble { trouble: Trouble::Short { volts: 120, .. }, .. })));
    // A device that the job needs and the plan has not.
    let mut k = base.clone();
    k.devices.retain(|d| d.tag != "PA1");
    k.rows.retain(|r| r.to.device != "PA1");
    assert!(faults(&k).contains(&Fault::Missing(What::Load(LoadUse::Beacon))));
    // A load that the job has not.
    let mut k = base.clone();
    k.add(device("X9", heatwright_wiring::device::Kind::Pump, &["1", "2"], |t| {
        vec![load(t[0], t[1], LoadUse::Pump(PumpId(7)), 120.0, 1.0)]
    }));
    assert!(wrong(&k, What::Load(LoadUse::Pump(PumpId(7))), Seen::Dead));
}

#[test]
fn a_bridged_limit_burns_and_is_found_twice() {
    let job = plant::job();
    let mut k = plant::wired();
    k.wire("F2:1", "F2:2");
    assert!(wrong(&k, What::Load(LoadUse::Limit(BoilerId(0))), Seen::Live));
    let (burns, _) = limit_pairs(&k.network(), &Expectation::new(&job), 1, Limits::default());
    assert!(matches!(burns[..], [Fault::Burns { safety: SafetyId(1), .. }]), "{burns:?}");
}

#[test]
fn every_wire_of_the_small_plant_is_missed_when_it_is_left_out() {
    let k = plant::wired();
    let net = k.network();
    let score = mutate(&net, MutantKind::Removed, Limits::default());
    assert_eq!((score.total, score.caught), (k.rows.len(), k.rows.len()), "{score:#?}");
    for (kind, score) in mutate_all(&net, &MutantKind::ALL, Limits::default()) {
        let left: Vec<String> = score.survivors.iter().map(|(m, _)| observe::mutant(&net, *m)).collect();
        assert!(left.is_empty(), "{kind:?}: {left:#?}");
        assert!(score.caught > 0, "{kind:?}");
    }
}

#[test]
fn a_redundant_jumper_is_harmless_and_a_wire_to_nothing_is_named() {
    let mut k = plant::wired();
    let jumper = k.rows.len();
    k.wire("Q0:N", "M1:N");
    k.add(device("X1", heatwright_wiring::device::Kind::Strip, &["1"], |_| vec![]));
    k.wire("Q0:L1", "X1:1");
    let net = k.network();
    let mut bench = Bench::new(&net, Limits::default());
    assert_eq!(bench.judge(Mutant::Removed(jumper)), Verdict::SamePartition);
    assert_eq!(bench.judge(Mutant::Removed(jumper + 1)), Verdict::LeadsNowhere);
    // The two leads of a sensor may be exchanged at the sensor.
    let leads = [k.row("BT1:1", "A1:S1"), k.row("BT1:2", "A1:SC")];
    assert_eq!(bench.judge(Mutant::Swapped(leads, [0, 0])), Verdict::SameCircuit);
    // But not at the controller, where they belong to different sensors.
    assert!(mutants(&net, MutantKind::Swapped).contains(&Mutant::Swapped(leads, [1, 1])));
}

#[test]
fn a_welded_relay_behind_a_twin_survives_by_name() {
    let mut k = plant::wired();
    k.add(device("KS2", heatwright_wiring::device::Kind::Relay, &["A1", "A2", "11", "14"], |t| {
        vec![Part::Coil { a: t[0], b: t[1], number: 0, volts: 120.0, va: 3.0 }, contact(t[2], t[3], Actuator::Coil(0))]
    }));
    let row = k.row("KS1:14", "E1:2");
    k.land(row, 0, "KS2:14");
    k.wire("KS1:14", "KS2:11").wire("F1:2", "KS2:A1").wire("Q0:N", "KS2:A2");
    assert_eq!(faults(&k), []);
    let net = k.network();
    // Alone, neither can keep the burner on; without its twin, one can.
    let job = plant::job();
    let alone = |net: &Network| single_relays(net, &Expectation::new(&job), 1, Limits::default());
    assert_eq!(alone(&net), (vec![], 2));
    let single = plant::wired().network();
    let (found, welded) = alone(&single);
    assert!(
        matches!(&found[..], [(part, Fault::Burns { safety: SafetyId(0), .. })] if single.part_name(*part) == "KS1 11-14"),
        "{found:?}"
    );
    assert_eq!(welded, 1);
    // Both twins: nothing shows while the plant runs, an ohmmeter does.
    let score = mutate(&net, MutantKind::Welded, Limits::default());
    assert_eq!(score.survivors, []);
    let latent: Vec<String> = score.caught_off.iter().map(|m| observe::mutant(&net, *m)).collect();
    assert_eq!(latent, ["KS1 11-14 welded", "KS2 11-14 welded"]);
}

/// The three kinds of observation that neither a load nor an input shows, each with a fault planted by hand.
#[test]
fn primaries_continuity_and_insulation_each_have_their_fault() {
    let base = plant::wired();
    // Line and neutral crossed at the transformer: what hangs on it works all the same.
    let mut k = base.clone();
    let (line, neutral) = (k.row("Q0:L1", "T1:1"), k.row("Q0:N", "T1:2"));
    k.land(line, 1, "T1:2");
    k.land(neutral, 1, "T1:1");
    assert!(wrong(&k, What::Primary, Seen::LiveReversed));
    assert!(!wrong(&k, What::Load(LoadUse::Controller), Seen::LiveReversed));
    // A jumper across a relay's contact.
    let mut k = base.clone();
    k.wire("KS1:11", "KS1:14");
    assert!(wrong(&k, What::Continuity, Seen::Bypassed));
    // A floating input on ground; an input and a sensor touching; a floating input touching 24 V.
    let mut k = base.clone();
    k.wire("A1:I1", "Q0:PE");
    assert!(faults(&k).iter().all(|f| matches!(f, Fault::Wrong { seen: Seen::OnGround, .. })));
    assert!(wrong(&k, What::Insulation, Seen::OnGround));
    let touches = |k: &Kit| {
        faults(k)
            .iter()
            .any(|f| matches!(f, Fault::Wrong { watch, seen: Seen::Touches(_), .. } if watch.what == What::Insulation))
    };
    let mut k = base.clone();
    k.wire("A1:IC", "A1:SC");
    assert!(touches(&k));
    let mut k = base.clone();
    k.wire("A1:I1", "T1:C");
    assert!(touches(&k));
    // The neutral on ground a second time.
    let mut k = base.clone();
    k.wire("M1:N", "M1:PE");
    assert!(wrong(&k, What::Insulation, Seen::OnGround));
    // Everything else is as it was: 24 V grounded at its return is no fault.
    let mut k = base;
    k.wire("T1:C", "Q0:PE");
    assert_eq!(faults(&k), []);
}

/// What is wrong in itself, each kind through the whole proof.
#[test]
fn each_kind_of_trouble_has_its_fault() {
    let base = plant::wired();
    let told = |k: &Kit, wanted: fn(&Trouble) -> bool| {
        let found = faults(k);
        assert!(found.iter().any(|f| matches!(f, Fault::Trouble { trouble, .. } if wanted(trouble))), "{found:#?}");
    };
    let mut k = base.clone();
    k.wire("M1:L", "M1:N");
    told(&k, |t| matches!(t, Trouble::Short { volts: 120, .. }));
    let mut k = base.clone();
    k.transformer("T2", "L2").wire("T1:R", "T2:R");
    told(&k, |t| matches!(t, Trouble::SuppliesJoined { .. }));
    // The alarm lamp in series with the coil of the safety relay.
    let relay = |tag: &str| {
        device(tag, heatwright_wiring::device::Kind::Relay, &["A1", "A2", "11", "12", "14"], |t| {
            vec![
                Part::Coil { a: t[0], b: t[1], number: 0, volts: 120.0, va: 3.0 },
                contact(t[2], t[4], Actuator::Coil(0)),
                breaks(t[2], t[3], Actuator::Coil(0)),
            ]
        })
    };
    let mut k = base.clone();
    k.add(relay("K8")).add(relay("K9"));
    k.wire("Q0:L1", "K8:A1").wire("K8:A2", "K9:A1").wire("K9:A2", "Q0:N");
    told(&k, |t| matches!(t, Trouble::WeakCoil { .. }));
    let mut k = base.clone();
    k.add(relay("K9")).wire("Q0:L1", "K9:11").wire("K9:12", "K9:A1").wire("K9:A2", "Q0:N");
    told(&k, |t| matches!(t, Trouble::Unsettled { .. }));
    let mut k = base;
    k.add(relay("K9")).wire("Q0:L1", "K9:11").wire("K9:14", "K9:A1").wire("K9:A2", "Q0:N").wire("A1:K3.14", "K9:A1");
    told(&k, |t| matches!(t, Trouble::Latching { .. }));
}

#[test]
fn what_is_seen_reads_as_a_sentence() {
    let net = plant::wired().network();
    let mut k = plant::wired();
    k.rows.remove(k.row("Q0:PE", "M1:PE"));
    let found = faults(&k);
    let Fault::Wrong { watch, seen, .. } = &found[0] else { panic!("{found:?}") };
    assert_eq!(observe::watch(&net, watch), "metal part at M1:PE");
    assert_eq!(observe::seen(*seen), "not on ground");
    let mut k = plant::wired();
    k.rows.remove(k.row("A1:K2.14", "S1:23"));
    let net = k.network();
    let found = faults(&k);
    assert_eq!(
        observe::fault(&net, &found[0], &observe::actuators(&net)),
        "pump 1 at M1:L: dead, must be live, while controller relay 2 is on, pump 1 is at AUTO"
    );
}
