//! Ticks that come early change nothing; ticks that come late make the same steps later, and shorten no protective wait.

mod common;
use common::checks::early_tick_changes;
use common::history::{apply, plants};
use common::invariants::Observer;
use common::*;
use heatwright_core::*;
use proptest::prelude::*;

/// From call to flame to rest with a tick every `every_s`; each relay's changes in order, with their seconds.
fn changes(every_s: u32) -> Vec<Vec<(bool, u32)>> {
    let mut b = Bench::new(Shape { boilers: 2, ..Shape::default() });
    b.water = false;
    b.supply(25);
    let mut seen = vec![Vec::new(); limits::RELAYS];
    for now in 1..9000u32 {
        b.now_s = now;
        b.plant();
        match now {
            400 => b.call(0, true),
            2500 => b.call(0, false),
            _ => {}
        }
        if now % every_s == 0 {
            let before = b.outputs;
            b.tick();
            for e in diff(&before, &b.outputs) {
                if let Event::Relay { relay, before, after } = e
                    && before.on != after.on
                {
                    seen[relay.index()].push((after.on, now));
                }
            }
        }
    }
    seen
}

/// After 13.6 years the clock stands still and every wait would seem to be over.
#[test]
fn at_the_end_of_time_every_output_is_at_its_safe_side() {
    let mut b = Bench::new(Shape::default());
    b.water = false;
    b.supply(25);
    b.call(0, true);
    b.until(600, |b| b.demand(0).on);
    let at = |b: &mut Bench, now: Instant| {
        tick(&b.config, &mut b.state, now, &b.inputs, &mut b.outputs);
        b.outputs.relay(b.config.points.relay(RelayUse::Health).unwrap()).on
    };
    assert!(at(&mut b, Instant::from_tenths(u32::MAX - 1)));
    for _ in 0..5 {
        assert!(!at(&mut b, Instant::MAX));
        assert_eq!((b.outputs, next_due(&b.state)), (Outputs::SAFE, None));
    }
}

#[test]
fn late_ticks_make_the_same_steps_and_none_of_them_earlier() {
    let punctual = changes(1);
    assert!(punctual.iter().map(Vec::len).sum::<usize>() >= 10);
    for every_s in [2, 7, 20] {
        let late = changes(every_s);
        for (p, l) in punctual.iter().zip(&late) {
            assert_eq!(p.iter().map(|x| x.0).collect::<Vec<_>>(), l.iter().map(|x| x.0).collect::<Vec<_>>());
            for ((_, p), (_, l)) in p.iter().zip(l) {
                assert!(l >= p, "every {every_s} s: {l} s before {p} s");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: cases(16), max_shrink_iters: 200, failure_persistence: None, ..ProptestConfig::default()
    })]

    #[test]
    fn early_ticks_change_nothing((shape, history) in plants(40), early in 1u32..50) {
        let mut b = Bench::new(shape);
        b.water = false;
        let mut follow = true;
        for (wait, happening) in &history.steps {
            for i in 0..(*wait).min(1500) {
                b.second();
                if i % 17 == 0 {
                    let wrong = early_tick_changes(&b, early);
                    prop_assert!(wrong.is_empty(), "{wrong:?}");
                }
            }
            apply(&mut b, happening, &mut follow);
        }
    }

    #[test]
    fn late_ticks_shorten_no_protective_wait((shape, history) in plants(40), lateness in prop::collection::vec(1u32..25, 8)) {
        let mut b = Bench::new(shape);
        b.water = false;
        let mut observer = Observer::new(&b.config);
        let mut lateness = lateness.iter().cycle();
        for (wait, happening) in &history.steps {
            let end = b.now_s + (*wait).min(3000);
            while b.now_s < end {
                b.now_s += lateness.next().unwrap();
                b.plant();
                b.tick();
                let v = observer.second(&b.config, b.now_s, &b.inputs, &b.outputs);
                prop_assert!(v.is_empty(), "{:?}", v);
            }
            apply(&mut b, happening, &mut true);
        }
    }
}
