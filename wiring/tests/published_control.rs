//! Published figures of control circuits: Class 2 limits, transformers, pilot-duty ratings.
//!
//! Sources: NFPA 70 Chapter 9 Table 11(A), 450.3(B), 430.72(C), 725.41(A) (2020) / 724.40 (2023), by public transcriptions;
//! NEMA ICS 5 / UL 508 rating codes; the transformer currents are calculated.

use heatwright_wiring::tables::{
    class2,
    pilot::{BadCode, Code, DirectDuty},
    transformer::{self, Limit},
};

fn near(got: f64, want: f64) {
    assert!((got - want).abs() < 0.005, "got {got}, published {want}");
}

/// Table 11(A): 100 VA up to 30 V, so 4.17 A at 24 V. Class 1 power limited: 30 V and 1000 VA (not 100 VA).
#[test]
fn power_limits() {
    near(class2::largest_amps(24.0).unwrap(), 4.17);
    assert!(class2::may_be_class2(24.0, 100.0));
    assert!(!class2::may_be_class2(24.0, 101.0));
    assert!(!class2::may_be_class2(120.0, 50.0));
    assert!(class2::may_be_class1_power_limited(30.0, 1000.0));
    assert!(!class2::may_be_class1_power_limited(30.0, 1001.0));
}

/// 100 VA and 75 VA from 120 V to 24 V: calculated currents and 450.3(B), 430.72(C) limits.
#[test]
fn transformer_currents() {
    let primary = transformer::winding_amps(100.0, 120.0).unwrap();
    near(primary, 0.833);
    near(transformer::primary_only(primary).unwrap().amps, 2.5);
    near(transformer::control_primary_amps(primary).unwrap(), 4.17);
    let secondary = transformer::winding_amps(100.0, 24.0).unwrap();
    near(secondary, 4.17);
    near(transformer::secondary(secondary).unwrap().amps, 6.96);
    near(transformer::winding_amps(75.0, 120.0).unwrap(), 0.625);
    near(transformer::winding_amps(75.0, 24.0).unwrap(), 3.125);
}

/// 450.3(B): 125 % with the next size up from 9 A, 167 % below 9 A, 300 % below 2 A.
#[test]
fn transformer_protection() {
    assert_eq!(transformer::primary_only(10.0), Some(Limit { amps: 12.5, next_size_up: true }));
    assert_eq!(transformer::primary_only(9.0), Some(Limit { amps: 11.25, next_size_up: true }));
    near(transformer::primary_only(5.0).unwrap().amps, 8.35);
    near(transformer::primary_only(1.99).unwrap().amps, 5.97);
    assert_eq!(transformer::primary_only(0.0), None);
    assert_eq!(transformer::control_primary_amps(2.0), None);
}

/// NEMA ICS 5: thermal, make and break amperes at 120, 240, 480 V.
#[test]
fn pilot_duty() {
    /// Volts; amperes to make and to break.
    type Point = (f64, f64, f64);
    let rows: [(&str, f64, &[Point]); 6] = [
        ("A300", 10.0, &[(120.0, 60.0, 6.0), (240.0, 30.0, 3.0)]),
        ("A600", 10.0, &[(480.0, 15.0, 1.5)]),
        ("B600", 5.0, &[(120.0, 30.0, 3.0), (240.0, 15.0, 1.5), (480.0, 7.5, 0.75)]),
        ("C600", 2.5, &[(120.0, 15.0, 1.5), (240.0, 7.5, 0.75), (480.0, 3.75, 0.375)]),
        ("D300", 1.0, &[(120.0, 3.6, 0.6), (240.0, 1.8, 0.3)]),
        ("E150", 0.5, &[(120.0, 1.8, 0.3)]),
    ];
    for (code, thermal, points) in rows {
        let code: Code = code.parse().unwrap();
        for (volts, make, brk) in points {
            let r = code.at(*volts).unwrap();
            assert_eq!((r.carry_amps, r.make_amps, r.break_amps), (thermal, *make, *brk), "{code:?} {volts} V");
        }
    }
    assert_eq!("E150".parse::<Code>().unwrap().at(240.0), None);
    assert_eq!("A300".parse::<Code>().unwrap().at(480.0), None);
}

/// At 24 V the volt-amperes would allow 150 A; the thermal current of 5 A decides.
#[test]
fn pilot_duty_at_24_volts() {
    let b300: Code = "B300".parse().unwrap();
    assert_eq!(b300.at(24.0).unwrap().make_amps, 5.0);
    assert!(b300.drives(24.0, 20.0, 100.0));
    assert!(!b300.drives(24.0, 20.0, 130.0));
}

/// R300 is a direct-current code: 28 VA, 0.22 A at 125 V, 0.11 A at 250 V.
#[test]
fn r300_is_direct_current() {
    assert_eq!("R300".parse::<Code>(), Err(BadCode::DirectCurrent("R300".into())));
    assert!(matches!("E300".parse::<Code>(), Err(BadCode::Unknown(_))));
    // The standard prints two digits, the rest cut off: 69 VA / 250 V = 0.276 A stands as 0.27 A.
    let printed = |duty: DirectDuty, volts| duty.amps(volts).map(|a| (a * 100.0).floor() / 100.0);
    assert_eq!(printed(DirectDuty::R, 125.0), Some(0.22));
    assert_eq!(printed(DirectDuty::R, 250.0), Some(0.11));
    assert_eq!(printed(DirectDuty::Q, 125.0), Some(0.55));
    assert_eq!(printed(DirectDuty::Q, 250.0), Some(0.27));
    assert_eq!(printed(DirectDuty::N, 24.0), Some(10.0));
}

/// Coils pulling in over what is sealed: sqrt(40² + 96²) = 104 VA (calculated).
#[test]
fn pull_in() {
    near(transformer::pull_in_va(40.0, 96.0), 104.0);
    assert!(transformer::carries(50.0, 110.0, 40.0, 96.0));
    assert!(!transformer::carries(50.0, 100.0, 40.0, 96.0));
}
