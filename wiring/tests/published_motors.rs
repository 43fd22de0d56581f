//! Published figures of motors: full-load currents, protection, overloads, disconnects, shared circuits.
//!
//! Source of each check: the named table or section of NFPA 70, editions 2020 and 2023, by public transcriptions; the worked motors are
//! calculated from those tables; "from memory" where said.

use heatwright_wiring::tables::{
    Awg, Edition,
    ampacity::Column,
    conductor::{self, Conditions},
    disconnect,
    motor::{MotorVolts, Phases, full_load_amps},
    overload,
    protect::{self, Device},
    shared,
};

fn near(got: f64, want: f64) {
    assert!((got - want).abs() < 0.005, "got {got}, published {want}");
}

/// NFPA 70 Table 430.248.
#[test]
fn single_phase_currents() {
    let hp = [1.0 / 6.0, 0.25, 1.0 / 3.0, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0];
    let rows = [
        (MotorVolts::V115, [4.4, 5.8, 7.2, 9.8, 13.8, 16.0, 20.0, 24.0, 34.0, 56.0, 80.0, 100.0]),
        (MotorVolts::V200, [2.5, 3.3, 4.1, 5.6, 7.9, 9.2, 11.5, 13.8, 19.6, 32.2, 46.0, 57.5]),
        (MotorVolts::V208, [2.4, 3.2, 4.0, 5.4, 7.6, 8.8, 11.0, 13.2, 18.7, 30.8, 44.0, 55.0]),
        (MotorVolts::V230, [2.2, 2.9, 3.6, 4.9, 6.9, 8.0, 10.0, 12.0, 17.0, 28.0, 40.0, 50.0]),
    ];
    for (volts, amps) in rows {
        for (hp, amps) in hp.into_iter().zip(amps) {
            assert_eq!(full_load_amps(hp, volts, Phases::One), Some(amps), "{hp} hp {volts:?}");
        }
    }
}

/// NFPA 70 Table 430.250.
#[test]
fn three_phase_currents() {
    let hp = [0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0];
    let rows = [
        (MotorVolts::V208, [2.4, 3.5, 4.6, 6.6, 7.5, 10.6, 16.7, 24.2, 30.8, 46.2, 59.4, 74.8]),
        (MotorVolts::V230, [2.2, 3.2, 4.2, 6.0, 6.8, 9.6, 15.2, 22.0, 28.0, 42.0, 54.0, 68.0]),
        (MotorVolts::V460, [1.1, 1.6, 2.1, 3.0, 3.4, 4.8, 7.6, 11.0, 14.0, 21.0, 27.0, 34.0]),
    ];
    for (volts, amps) in rows {
        for (hp, amps) in hp.into_iter().zip(amps) {
            assert_eq!(full_load_amps(hp, volts, Phases::Three), Some(amps), "{hp} hp {volts:?}");
        }
    }
    for (hp, amps) in hp.into_iter().zip([2.5, 3.7, 4.8, 6.9, 7.8, 11.0, 17.5, 25.3, 32.2]) {
        assert_eq!(full_load_amps(hp, MotorVolts::V200, Phases::Three), Some(amps), "{hp} hp 200 V");
    }
    assert_eq!(full_load_amps(1.0, MotorVolts::V115, Phases::Three), None);
}

/// Worked motors, calculated by 430.22 (125 %), Table 430.52 (250 % breaker, 175 % dual-element fuse, next standard size),
/// 430.110 (115 %) and 430.109(C) (snap switch at 80 %): the last two rules and the fuse sizes under 15 A from memory.
#[test]
fn worked_motors() {
    type Row = (f64, MotorVolts, Phases, f64, f64, f64, f64, f64, Option<f64>);
    let rows: [Row; 6] = [
        (1.0 / 6.0, MotorVolts::V115, Phases::One, 4.4, 5.50, 15.0, 10.0, 5.06, Some(5.5)),
        (1.0 / 3.0, MotorVolts::V115, Phases::One, 7.2, 9.00, 20.0, 15.0, 8.28, Some(9.0)),
        (0.5, MotorVolts::V115, Phases::One, 9.8, 12.25, 25.0, 20.0, 11.27, Some(12.25)),
        (1.0, MotorVolts::V230, Phases::One, 8.0, 10.0, 20.0, 15.0, 9.20, Some(10.0)),
        (3.0, MotorVolts::V208, Phases::Three, 10.6, 13.25, 30.0, 20.0, 12.19, None),
        (10.0, MotorVolts::V208, Phases::Three, 30.8, 38.5, 80.0, 60.0, 35.42, None),
    ];
    for (hp, volts, phases, flc, conductors, breaker, fuse, switch, snap) in rows {
        assert_eq!(full_load_amps(hp, volts, phases), Some(flc));
        near(conductor::motor_amps(flc), conductors);
        assert_eq!(protect::inverse_time_breaker(flc, Edition::Nec2023), Some(breaker), "{hp} hp");
        assert_eq!(protect::dual_element_fuse(flc, Edition::Nec2023), Some(fuse), "{hp} hp");
        near(disconnect::least_amps(flc), switch);
        let snap_system = if volts == MotorVolts::V115 { 120.0 } else { 230.0 };
        assert_eq!(
            disconnect::least_snap_switch_amps(flc, hp, snap_system).map(|a| (a * 100.0).round() / 100.0),
            snap,
            "{hp} hp"
        );
    }
}

/// Worked motor, 10 hp 208 V: 38.5 A takes 8 AWG on 75 °C terminals (Table 310.16).
#[test]
fn worked_motor_conductor() {
    let on = Conditions { terminals: Column::C75, ..Conditions::default() };
    assert_eq!(conductor::size_for(38.5, on), Some(Awg::A8));
    // On 60 °C terminals 8 AWG carries 40 A, too; at 41 A it no longer does.
    assert_eq!(conductor::size_for(41.0, Conditions::default()), Some(Awg::A6));
}

/// 10 A became a standard breaker in 2023: 3/4 hp 208 V three phase, 250 % of 3.5 A = 8.75 A.
#[test]
fn ten_amperes_by_edition() {
    assert_eq!(protect::inverse_time_breaker(3.5, Edition::Nec2023), Some(10.0));
    assert_eq!(protect::inverse_time_breaker(3.5, Edition::Nec2020), Some(15.0));
}

/// Table 430.52: 300 % and 175 % for fuses, 250 % for breakers. Limits for a motor that will not start from memory.
#[test]
fn percentages() {
    assert_eq!(Device::Fuse.percent(), 300.0);
    assert_eq!(Device::DualElementFuse.percent(), 175.0);
    assert_eq!(Device::InverseTimeBreaker.percent(), 250.0);
    // Next size *up*, not down: a non-time-delay fuse for 29.17 A is 87.5 A, so 90 A.
    assert_eq!(protect::largest_amps(Device::Fuse, 87.5 / 3.0, Edition::Nec2023), Some(90.0));
    // From memory: 400 % of 10 A rounds down to 40 A, 300 % above 100 A.
    assert_eq!(protect::largest_amps_to_start(Device::InverseTimeBreaker, 10.6, Edition::Nec2023), Some(40.0));
    assert_eq!(Device::InverseTimeBreaker.start_percent(101.0), 300.0);
    assert_eq!(Device::DualElementFuse.start_percent(10.0), 225.0);
    assert_eq!(protect::inverse_time_breaker(f64::NAN, Edition::Nec2023), None);
}

/// 430.24, from memory: 125 % of the largest plus the others.
#[test]
fn several_motors() {
    near(conductor::group_amps(&[4.4, 7.2, 9.8], 3.0, 0.0), 1.25 * 9.8 + 4.4 + 7.2 + 3.0);
}

/// 430.32(A)(1): 125 % and 115 %; 430.32(C): 140 % and 130 %, from memory.
#[test]
fn overload_settings() {
    near(overload::largest_setting_amps(8.0, overload::Reserve::Marked), 10.0);
    near(overload::largest_setting_amps(8.0, overload::Reserve::None), 9.2);
    near(overload::largest_setting_amps_to_start(8.0, overload::Reserve::Marked), 11.2);
    near(overload::largest_setting_amps_to_start(8.0, overload::Reserve::None), 10.4);
}

/// 430.53(A): each not over 1 hp and 6 A, on 20 A at 120 V. 1/4 hp (5.8 A) may share, 1/3 hp 115 V (7.2 A) may not.
#[test]
fn shared_circuits() {
    let quarter = shared::Motor { hp: 0.25, full_load_amps: 5.8 };
    let third = shared::Motor { hp: 1.0 / 3.0, full_load_amps: 7.2 };
    assert!(shared::small_motors_may_share(&[quarter, quarter], 120.0, 20.0));
    assert!(!shared::small_motors_may_share(&[quarter, third], 120.0, 20.0));
    assert!(!shared::small_motors_may_share(&[quarter, quarter], 120.0, 25.0));
    // (B), from memory: 250 % of 5.8 A = 14.5 A, so 15 A protects the smallest of them.
    assert!(shared::may_share(&[quarter, third], 120.0, 15.0, Edition::Nec2023));
    assert!(!shared::may_share(&[quarter, third], 120.0, 20.0, Edition::Nec2023));
}
