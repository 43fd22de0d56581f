//! Causes and notes that no example shows: the filter's lag, a fan that waits, and what ends short burns.

use super::*;
use heatwright_core::{RelayId, ZoneId};

fn library() -> Loaded {
    crate::plant::load("plant.toml", include_bytes!("../../../../docs/examples/library.toml"))
        .unwrap_or_else(|e| panic!("{:?}", e.findings))
}

/// Hours at 20 °F outdoors in which a zone that is served by the curve was cold on this target.
fn cold_on(l: &Loaded, cause: Cause, above_need_k: f64, target_below_k: f64) -> Cold {
    let outdoor_c = -6.67;
    let curve_c = target_c_at(&l.config.reset, outdoor_c);
    Cold {
        zone: ZoneId(0),
        cause,
        hours_h: 2.0,
        outdoor_c,
        needed_c: Some(curve_c - above_need_k),
        target_c: Some(curve_c - target_below_k),
        supply_c: curve_c - target_below_k,
    }
}

#[test]
fn a_target_below_a_curve_that_would_do_is_the_filters() {
    let mut l = library();
    let u = In(Default::default());
    assert!(!l.config.reset.outdoor_filter.is_zero());
    let lags = cold_on(&l, Cause::Target, 0.0, 3.0);
    assert!(cause(&l, &lags, u).starts_with("by the outdoor filter, which lags: at"), "{}", cause(&l, &lags, u));
    assert!(mend(&l, &lags).contains("reset.outdoor-filter"));
    // The curve itself does not reach what it needs.
    let low = cold_on(&l, Cause::Target, -3.0, 3.0);
    assert!(cause(&l, &low, u).starts_with("by the curve, too low"), "{}", cause(&l, &low, u));
    // The target is the curve's.
    let even = cold_on(&l, Cause::Target, 0.0, 0.2);
    assert!(cause(&l, &even, u).starts_with("by the curve, too low"), "{}", cause(&l, &even, u));
    // Without a filter nothing lags.
    l.config.reset.outdoor_filter = heatwright_core::Span::ZERO;
    assert!(cause(&l, &lags, u).starts_with("by the curve, too low"), "{}", cause(&l, &lags, u));
}

#[test]
fn a_fan_that_waits_is_told_with_its_aquastat() {
    let l = library();
    let hall = l.physics.zones.iter().position(|z| z.fan.is_some()).unwrap();
    let c = Cold { zone: ZoneId(hall as u8), ..cold_on(&l, Cause::Fan, 0.0, 0.0) };
    let told = cause(&l, &c, In(Default::default()));
    assert!(told.starts_with("while its fan waits for hotter water (aquastat 85"), "{told}");
}

fn burned(starts: u32, short_cycles: u32) -> BoilerSummary {
    BoilerSummary {
        boiler: BoilerId(1),
        hours_h: f64::from(starts) * 0.2,
        starts,
        starts_per_h_max: 3,
        short_cycles,
        limit_stops: 0,
        rate_mean: 0.5,
        fuel_kwh: 100.0,
        water_kwh: 90.0,
        jacket_kwh: 1.0,
        efficiency: 0.89,
        return_mean_c: 50.0,
        return_min_c: Some(40.0),
        return_cold_h: 0.0,
        valve_mean: 1.0,
        valve_shut_h: 0.0,
        condensing_h: 0.0,
        condensate_kg: 0.0,
        water_max_c: 80.0,
    }
}

/// Demands of a boiler: each of so many seconds, one an hour, ended by this.
fn demands(each: &[(f64, Reason)]) -> Vec<Event> {
    let b = BoilerId(1);
    let relay = |on, why| Change::Relay { relay: RelayId(0), what: RelayUse::Demand(b), on, why };
    let one = |(k, (lasts_s, why)): (usize, &(f64, Reason))| {
        let at_s = 3600.0 * k as f64;
        let event = |at_s, change| Event { at_s, subject: Subject::Boiler(b), change };
        [event(at_s, relay(true, Reason::Lead)), event(at_s + lasts_s, relay(false, *why))]
    };
    each.iter().enumerate().flat_map(one).collect()
}

#[test]
fn short_burns_are_told_with_what_ended_them() {
    let l = library();
    // Ten of 40 burns are short. A third of the demands ended within six minutes since nobody called: the calls.
    let calls = demands(&[(300.0, Reason::NoCall), (1200.0, Reason::NoCall), (1200.0, Reason::NoCall)]);
    let f = short_burns(&l, &burned(40, 10), &calls);
    assert!(f.code == "R13" && f.sentence.contains("most since nobody called any more"), "{f:?}");
    assert!(f.hints[0].contains("call-min"), "{f:?}");
    // The same burns under long demands, or demands that another end cut short: its own control.
    for events in [demands(&[(1200.0, Reason::NoCall); 3]), demands(&[(300.0, Reason::FlowFailed); 3])] {
        let f = short_burns(&l, &burned(40, 10), &events);
        assert!(f.sentence.contains("most by its own control"), "{f:?}");
        assert!(f.sentence.contains("10 of its 40 burns") && f.sentence.contains("12.0 min"), "{f:?}");
    }
}

/// Burns that are too many: the mend is that of what ended them.
#[test]
fn many_short_burns_are_mended_by_what_ended_them() {
    let l = library();
    let hint = |b: &BoilerSummary, events: &[Event], limits: bool| {
        let f = short(&l, b, limits, events);
        assert_eq!(f.code, "R02");
        (f.sentence, f.hints[0].clone())
    };
    let b = burned(40, 30);
    let (told, mend) = hint(&b, &demands(&[(300.0, Reason::NoCall); 4]), false);
    assert!(told.contains("most since nobody called any more") && mend.contains("call-min"), "{told}: {mend}");
    let (told, mend) = hint(&b, &demands(&[(3000.0, Reason::NoCall); 4]), false);
    assert!(told.contains("most by its own control") && mend.contains("turndown"), "{told}: {mend}");
    let (told, mend) = hint(&BoilerSummary { limit_stops: 20, ..b }, &demands(&[(3000.0, Reason::NoCall); 4]), false);
    assert!(told.contains("most by its own limit") && mend.contains("R11"), "{told}: {mend}");
    assert!(hint(&b, &[], true).1.contains("mend that first"));
}

/// Of the library's three boilers two are out: what is left is named and counted, and nothing is large enough.
#[test]
fn boilers_that_are_out_are_not_counted() {
    let l = library();
    let u = In(Default::default());
    let s = Short { outdoor_c: -15.0, hours_h: 8.0, longest_h: 6.0, short_k: 5.0 };
    let hint = |typed: &[&str]| {
        let typed: Vec<_> = typed.iter().map(|t| super::super::faults::typed(t).unwrap()).collect();
        let failing =
            super::super::faults::find(&typed, &l, 100.0).unwrap_or_else(|_| panic!("they are of this plant"));
        short::boilers_short(&l, &s, &out_of_order(&failing, &l), u).hints.join(" ")
    };
    assert!(hint(&[]).contains("they are large enough"), "{}", hint(&[]));
    assert!(!hint(&["outdoor=frozen@6"]).contains("out of order in this run"));
    let two = hint(&["b1=off@6", "b2=lockout@6"]);
    for part in ["out of order in this run: ", "is switched off at its service switch", "has no gas", ": too little"] {
        assert!(two.contains(part), "{part}: {two}");
    }
    assert!(!two.contains("large enough"), "{two}");
    assert!(hint(&["b1=off@6", "b2=off@6", "b3=off@6"]).contains("no boiler was left"));
}

#[test]
fn what_is_there_already_is_not_asked_for() {
    use super::super::unheard;
    use heatwright_sim::fault::Fault;
    let mut l = library();
    let b = BoilerId(0);
    let set = |l: &mut Loaded, status, alarm, switch| {
        let p = &mut l.plant.boilers[0];
        (p.status_contact, p.alarm_contact, p.service_switch) = (status, alarm, switch);
    };
    set(&mut l, true, false, true);
    let gas = unheard::hint(&l, Fault::NoGas(b));
    assert!(gas.contains("alarm-contact = true") && !gas.contains("status-contact"), "{gas}");
    assert!(unheard::hint(&l, Fault::BoilerSwitchOff(b)).contains("taken for meant"));
    set(&mut l, true, true, false);
    assert!(!unheard::hint(&l, Fault::NoGas(b)).contains("= true"));
    assert!(!unheard::hint(&l, Fault::BoilerSwitchOff(b)).contains("taken for meant"));
}
