//! Published figures of conductors: ampacity, correction, adjustment, small conductors, grounds, resistance, drop.
//!
//! Source of each check: the named table of NFPA 70, editions 2020 and 2023, by public transcriptions; "from memory" where said.

use heatwright_wiring::tables::{
    Awg, Edition, adjustment, ambient,
    ampacity::{self, Column},
    awg, conductor, control_protection, drop, egc, impedance,
    motor::Phases,
    resistance, small, standard,
};

/// Equal to the last printed digit.
fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within + 1e-9, "got {got}, published {want}");
}

const SIZES: [&str; 13] = ["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"];

fn size(mark: &str) -> Awg {
    mark.parse().unwrap()
}

/// NFPA 70 Table 310.16, copper.
#[test]
fn ampacity_table() {
    let rows: [(Column, [u16; 13]); 3] = [
        (Column::C60, [15, 20, 30, 40, 55, 70, 85, 95, 110, 125, 145, 165, 195]),
        (Column::C75, [20, 25, 35, 50, 65, 85, 100, 115, 130, 150, 175, 200, 230]),
        (Column::C90, [25, 30, 40, 55, 75, 95, 115, 130, 145, 170, 195, 225, 260]),
    ];
    for (column, amps) in rows {
        for (mark, want) in SIZES.iter().zip(amps) {
            assert_eq!(ampacity::amps(size(mark), column), Some(f64::from(want)), "{mark} AWG {column:?}");
        }
    }
    // 18 and 16 AWG stand in the 90 °C column only.
    assert_eq!(ampacity::amps(Awg::A18, Column::C90), Some(14.0));
    assert_eq!(ampacity::amps(Awg::A16, Column::C90), Some(18.0));
    assert_eq!(ampacity::amps(Awg::A16, Column::C75), None);
}

/// NFPA 70 110.14(C): 60 °C up to 100 A unless marked, 75 °C above.
#[test]
fn terminals() {
    assert_eq!(conductor::unmarked_terminals(100.0), Column::C60);
    assert_eq!(conductor::unmarked_terminals(110.0), Column::C75);
}

/// NFPA 70 240.4(D): 14, 12, 10 AWG by transcription; 18 and 16 AWG from memory.
#[test]
fn small_conductors() {
    for (mark, want) in [("18", 7.0), ("16", 10.0), ("14", 15.0), ("12", 20.0), ("10", 30.0)] {
        assert_eq!(small::largest_device_amps(size(mark)), Some(want), "{mark} AWG");
    }
    assert_eq!(small::largest_device_amps(Awg::A8), None);
}

/// NFPA 70 Table 310.15(B)(1); the 60 °C row from memory; sqrt((75 - 50) / (75 - 30)) = 0.745 calculated.
#[test]
fn ambient_correction() {
    let tops = [25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0, 70.0, 75.0, 80.0];
    let rows: [(Column, &[f64]); 3] = [
        (Column::C60, &[1.08, 1.00, 0.91, 0.82, 0.71, 0.58, 0.41]),
        (Column::C75, &[1.05, 1.00, 0.94, 0.88, 0.82, 0.75, 0.67, 0.58, 0.47, 0.33]),
        (Column::C90, &[1.04, 1.00, 0.96, 0.91, 0.87, 0.82, 0.76, 0.71, 0.65, 0.58, 0.50, 0.41]),
    ];
    for (column, factors) in rows {
        for (i, top) in tops.into_iter().enumerate() {
            assert_eq!(ambient::factor(column, top), factors.get(i).copied(), "{column:?} at {top} °C");
            assert_eq!(ambient::factor(column, top - 4.0), factors.get(i).copied(), "{column:?} at {} °C", top - 4.0);
        }
    }
    near(ambient::factor(Column::C75, 50.0).unwrap(), 0.745, 0.005);
}

/// NFPA 70 Table 310.15(C)(1).
#[test]
fn adjustment_for_many() {
    for (from, to, want) in
        [(1, 3, 1.0), (4, 6, 0.80), (7, 9, 0.70), (10, 20, 0.50), (21, 30, 0.45), (31, 40, 0.40), (41, 60, 0.35)]
    {
        assert_eq!(adjustment::factor(from), want);
        assert_eq!(adjustment::factor(to), want);
    }
}

/// NFPA 70 240.6(A); 10 A for breakers from 2023 on; the extra fuse sizes from memory.
#[test]
fn standard_ratings() {
    let list = [
        15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450,
        500, 600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000,
    ];
    for pair in list.windows(2) {
        let (low, high) = (f64::from(pair[0]), f64::from(pair[1]));
        for edition in [Edition::Nec2020, Edition::Nec2023] {
            assert_eq!(standard::breaker_at_least(low + 0.5, edition), Some(high));
            assert_eq!(standard::breaker_at_most(high - 0.5, edition), Some(low));
            assert!(standard::is_breaker(low, edition));
        }
    }
    assert_eq!(standard::breaker_at_least(8.75, Edition::Nec2020), Some(15.0));
    assert_eq!(standard::breaker_at_least(8.75, Edition::Nec2023), Some(10.0));
    assert_eq!(standard::fuse_at_least(2.5, Edition::Nec2020), Some(3.0));
}

/// NFPA 70 Table 250.122, copper.
#[test]
fn equipment_ground() {
    for (amps, want) in [
        (15.0, "14"),
        (20.0, "12"),
        (30.0, "10"),
        (40.0, "10"),
        (60.0, "10"),
        (100.0, "8"),
        (200.0, "6"),
        (300.0, "4"),
        (400.0, "3"),
        (500.0, "2"),
        (600.0, "1"),
        (800.0, "1/0"),
        (1000.0, "2/0"),
        (1200.0, "3/0"),
    ] {
        assert_eq!(egc::by_device(amps), Some(size(want)), "{amps} A");
    }
}

/// NFPA 70 250.122(B), from memory: 20 A circuit made 8 AWG instead of 12 AWG for drop: 6530 x 16510 / 6530 cmil = 8 AWG.
#[test]
fn equipment_ground_grows_with_upsizing() {
    assert_eq!(egc::size(20.0, Awg::A12, Awg::A8), Some(Awg::A8));
    // 40 A circuit, 8 to 6 AWG: 10380 x 26240 / 16510 = 16497 cmil, which 8 AWG (16510) just holds.
    assert_eq!(egc::size(40.0, Awg::A8, Awg::A6), Some(Awg::A8));
}

/// NFPA 70 Chapter 9 Table 8: area, and resistance of stranded uncoated copper at 75 °C.
#[test]
#[expect(clippy::approx_constant, reason = "3.14 ohm is a figure of the table, not pi")]
fn area_and_resistance() {
    let cmil = [4110, 6530, 10380, 16510, 26240, 41740, 52620, 66360, 83690, 105_600, 133_100, 167_800, 211_600]
        .map(f64::from);
    let ohm = [3.14, 1.98, 1.24, 0.778, 0.491, 0.308, 0.245, 0.194, 0.154, 0.122, 0.0967, 0.0766, 0.0608];
    for ((mark, c), r) in SIZES.iter().zip(cmil).zip(ohm) {
        assert_eq!(size(mark).cmil(), c, "{mark} AWG");
        assert_eq!(resistance::ohm_per_kft(size(mark)), r, "{mark} AWG");
        // Copper of 1 cmil and 1 kft has about 12.9 kohm at 75 °C: a wrong row would stand out.
        near(r * c / 1000.0, 12.9, 0.1);
    }
    assert_eq!(resistance::ohm_per_kft(Awg::A18), 7.95);
    assert_eq!(resistance::ohm_per_kft(Awg::A16), 4.99);
    assert_eq!(awg::Awg::all().count(), 15);
    // Note 2: R2 = R1 [1 + 0.00323 (T2 - 75)]; 12 AWG at 40 °C = 1.98 x 0.88695.
    near(resistance::ohm_per_kft_at(Awg::A12, 40.0), 1.756_161, 1e-9);
}

/// NFPA 70 Chapter 9 Table 9, copper, effective impedance at power factor 0.85 against the printed column.
///
/// Printed Z was made from unrounded R; ours from R as printed with two digits. So Z may differ by 0.85 of half a digit of R
/// (0.0425 ohm above 1 ohm) besides half a digit of its own.
#[test]
fn effective_impedance() {
    for (mark, pvc, steel, digit) in [("14", 2.7, 2.7, 0.0925), ("12", 1.7, 1.7, 0.0925), ("10", 1.1, 1.1, 0.0925)] {
        near(impedance::effective_ohm_per_kft(size(mark), impedance::Raceway::Pvc, 0.85).unwrap(), pvc, digit);
        near(impedance::effective_ohm_per_kft(size(mark), impedance::Raceway::Steel, 0.85).unwrap(), steel, digit);
    }
    near(impedance::effective_ohm_per_kft(Awg::A8, impedance::Raceway::Pvc, 0.85).unwrap(), 0.69, 0.005);
    near(impedance::effective_ohm_per_kft(Awg::A8, impedance::Raceway::Steel, 0.85).unwrap(), 0.70, 0.005);
    assert_eq!(impedance::effective_ohm_per_kft(Awg::A18, impedance::Raceway::Steel, 0.85), None);
    assert_eq!(impedance::effective_ohm_per_kft(Awg::A12, impedance::Raceway::Steel, 1.1), None);
}

/// Drop calculated from Table 8: 120 V single phase, 12 A, 150 ft one way, 75 °C.
#[test]
fn drop_by_table_8() {
    for (mark, volts, percent) in [("14", 11.30, 9.42), ("12", 7.13, 5.94), ("10", 4.46, 3.72), ("8", 2.80, 2.33)] {
        let lost = drop::volts(Phases::One, size(mark), 12.0, 150.0, 75.0);
        near(lost, volts, 0.005);
        near(drop::percent(lost, 120.0).unwrap(), percent, 0.005);
    }
    assert_eq!(drop::size_for(Phases::One, Awg::A14, 12.0, 150.0, 120.0, drop::BRANCH_PERCENT), Some(Awg::A8));
}

/// Drop calculated from Table 9 in steel at power factor 0.85: 120 V single phase, 12 A, 150 ft one way.
#[test]
fn drop_by_table_9() {
    for (mark, volts) in [("14", 9.62), ("12", 6.25), ("10", 3.79), ("8", 2.51)] {
        let lost = drop::volts_ac(Phases::One, size(mark), 12.0, 150.0, impedance::Raceway::Steel, 0.85).unwrap();
        near(lost, volts, 0.005);
    }
}

/// Drop calculated from Table 8 on a 24 V circuit: 1 A, 150 ft one way.
#[test]
fn drop_at_24_volts() {
    for (mark, volts) in [("18", 2.39), ("16", 1.50), ("14", 0.94)] {
        near(drop::volts(Phases::One, size(mark), 1.0, 150.0, 75.0), volts, 0.005);
    }
    near(drop::percent(drop::volts(Phases::One, Awg::A18, 1.0, 150.0, 75.0), 24.0).unwrap(), 9.94, 0.005);
}

/// Three phases lose sqrt(3) / 2 of what a single phase does with the same conductors.
#[test]
fn drop_three_phase() {
    let one = drop::volts(Phases::One, Awg::A12, 10.0, 100.0, 75.0);
    let three = drop::volts(Phases::Three, Awg::A12, 10.0, 100.0, 75.0);
    near(three / one, 3.0_f64.sqrt() / 2.0, 1e-12);
}

/// NFPA 70 Table 430.72(B): 16 AWG at 10 A by transcription, the rest from memory.
#[test]
fn control_conductors() {
    use control_protection::{Place, largest_amps};
    for (mark, inside, beyond) in
        [("18", 25.0, 7.0), ("16", 40.0, 10.0), ("14", 100.0, 45.0), ("12", 120.0, 60.0), ("10", 160.0, 90.0)]
    {
        assert_eq!(largest_amps(size(mark), Place::Inside), Some(inside));
        assert_eq!(largest_amps(size(mark), Place::Beyond), Some(beyond));
    }
    assert_eq!(largest_amps(Awg::A16, Place::Separate), Some(10.0));
}
