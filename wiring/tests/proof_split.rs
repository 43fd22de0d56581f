//! Cutting the network at rails must not change an answer: random networks are solved in blocks with ideal rails, and once
//! more as a whole with every inner resistance, and each load is compared.

mod proof_kit;

use heatwright_wiring::{
    device::Kind,
    net::{
        Changes, Seen, What,
        readings::{Reading, Readings},
    },
    part::{LoadUse, Part},
};
use proof_kit::*;
use proptest::prelude::*;

/// Terminals that random wires may join.
fn plant() -> (Kit, Vec<String>) {
    let mut k = Kit::service();
    k.transformer("T1", "L1").transformer("T2", "L2");
    let mut ends: Vec<String> = ["Q0:L1", "Q0:L2", "Q0:N", "T1:R", "T1:C", "T2:R", "T2:C"].map(String::from).into();
    let mut push = |k: &mut Kit, d: heatwright_wiring::device::Device| {
        ends.extend(d.terminals.iter().map(|t| format!("{}:{}", d.tag, t.mark)));
        k.add(d);
    };
    for i in 0..3 {
        push(
            &mut k,
            device(&format!("C{i}"), Kind::Controller, &["1", "2"], |t| {
                vec![contact(t[0], t[1], Actuator::Relay(RelayId(i)))]
            }),
        );
        push(
            &mut k,
            device(&format!("L{i}"), Kind::ZoneValve, &["1", "2"], |t| {
                vec![load(t[0], t[1], LoadUse::Valve(ZoneId(i)), 24.0, 10.0)]
            }),
        );
        push(
            &mut k,
            device(&format!("P{i}"), Kind::Pump, &["1", "2"], |t| {
                vec![load(t[0], t[1], LoadUse::Pump(PumpId(i)), 120.0, 100.0)]
            }),
        );
    }
    for i in 0..2 {
        let volts = if i == 0 { 24.0 } else { 120.0 };
        push(
            &mut k,
            device(&format!("K{i}"), Kind::Relay, &["A1", "A2", "1", "2", "4"], |t| {
                vec![
                    Part::Coil { a: t[0], b: t[1], number: 0, volts, va: 3.0 },
                    contact(t[2], t[4], Actuator::Coil(0)),
                    breaks(t[2], t[3], Actuator::Coil(0)),
                ]
            }),
        );
    }
    (k, ends)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, max_global_rejects: 20_000, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn blocks_agree_with_the_whole(
        wires in prop::collection::vec((0_usize..64, 0_usize..64), 6..26),
        relays in 0_u64..8,
    ) {
        let (mut k, ends) = plant();
        for (a, b) in wires {
            k.wire(&ends[a % ends.len()], &ends[b % ends.len()]);
        }
        let net = k.network();
        let mut at = set(&[]);
        at.set_relays(relays);
        let mut s = k.solver();
        let o = s.solve(&at).clone();
        prop_assume!(o.troubles.is_empty());
        let r = Readings::take(&net, &Changes::default(), &at);
        for (w, seen) in s.watches().iter().zip(&o.seen) {
            let What::Load(_) = w.what else { continue };
            let Reading::Volts(v) = r.between(w.terminal, w.terminal + 1).unwrap() else {
                prop_assert_eq!(*seen, Seen::Dead);
                continue;
            };
            let share = v / f64::from(w.volts);
            // Inner resistance may move a load across a limit; well inside, both must say the same.
            match seen {
                Seen::Dead | Seen::DeadButHot => prop_assert!(share < 0.16, "{seen:?} {share}"),
                Seen::Live | Seen::LiveReversed => prop_assert!((0.80..1.16).contains(&share), "{seen:?} {share}"),
                Seen::Odd(permille) => {
                    let told = f64::from(*permille) / 1000.0;
                    prop_assert!((share - told).abs() < 0.11 * told.max(1.0), "{told} against {share} at {} {:?}", net.name(w.terminal), k.rows[4..].iter().map(|r| format!("{}:{} {}:{}", r.from.device, r.from.terminal, r.to.device, r.to.terminal)).collect::<Vec<_>>());
                }
                other => prop_assert!(false, "{other:?} at a load"),
            }
        }
    }
}
