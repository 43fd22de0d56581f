//! The reset study against formulas and schedules that were published elsewhere.

mod study_plant;

use heatwright_sim::{
    emitter::MeanRule,
    study::{curve, short_cycle},
    weather::DesignDay,
};
use jiff::civil::date;
use study_plant::{boiler, c_to_f, constant_efficiency, f_to_c, plant, reset, zone};

/// Supply in °F that a single 180/160 °F zone needs in a room of 70 °F, design outdoors 0 °F.
fn needed_f(exponent: f64, mean: MeanRule, outdoor_f: f64) -> f64 {
    let z = zone(30_000.0, f_to_c(180.0), f_to_c(160.0), f_to_c(70.0), f_to_c(0.0), exponent, mean);
    let p = plant(f_to_c(0.0), vec![z], vec![]);
    c_to_f(curve::need::governing(&p, f_to_c(outdoor_f)).unwrap().1)
}

/// Source: the textbook reset formula for constant flow and a load linear in outdoor temperature,
/// `ts = ti + dTm,d q^(1/n) + q dTd/2`, evaluated apart from this program; the log-mean column from
/// `ts = ti + q dTd/(1 - exp(-q^(1-1/n) dTd/LMTDd))`.
#[test]
fn the_needed_supply_follows_the_textbook_formula() {
    let rows = [
        // outdoor, n = 1.0, 1.1, 1.3, 1.4 arithmetic, 1.3 logarithmic; °F
        (0.0, 180.00, 180.00, 180.00, 180.00, 180.00),
        (10.0, 164.29, 165.50, 167.39, 168.15, 167.37),
        (30.0, 132.86, 135.84, 140.73, 142.76, 140.68),
        (40.0, 117.14, 120.57, 126.40, 128.88, 126.34),
        (60.0, 85.71, 88.48, 93.81, 96.34, 93.77),
    ];
    for (outdoor, n10, n11, n13, n14, log) in rows {
        for (n, want) in [(1.0, n10), (1.1, n11), (1.3, n13), (1.4, n14)] {
            let got = needed_f(n, MeanRule::Arithmetic, outdoor);
            assert!((got - want).abs() < 0.006, "{outdoor} °F, n = {n}: {got} against {want}");
        }
        let got = needed_f(1.3, MeanRule::Logarithmic, outdoor);
        assert!((got - log).abs() < 0.006, "{outdoor} °F, log-mean: {got} against {log}");
    }
}

/// The same formula in SI: 75/65/20 °C, design outdoors -15 °C, n = 1.3; supply, return, and supply by the log-mean.
#[test]
fn the_needed_supply_follows_the_textbook_formula_in_si() {
    let rows = [
        (-10.0, 68.695, 60.123, 68.685),
        (-5.0, 62.169, 55.026, 62.151),
        (0.0, 55.367, 49.653, 55.342),
        (5.0, 48.199, 43.913, 48.171),
        (10.0, 40.503, 37.646, 40.475),
        (15.0, 31.906, 30.477, 31.884),
    ];
    for (outdoor_c, supply_c, return_c, log_c) in rows {
        let with = |mean| {
            plant(
                -15.0,
                vec![zone(9000.0, 75.0, 65.0, 20.0, -15.0, 1.3, mean)],
                vec![boiler(2e4, 0.2, 1.0, constant_efficiency(0.9))],
            )
        };
        let p = with(MeanRule::Arithmetic);
        let got_c = curve::need::governing(&p, outdoor_c).unwrap().1;
        assert!((got_c - supply_c).abs() < 6e-4, "{outdoor_c} °C: {got_c} against {supply_c}");
        let got_log_c = curve::need::governing(&with(MeanRule::Logarithmic), outdoor_c).unwrap().1;
        assert!((got_log_c - log_c).abs() < 6e-4, "{outdoor_c} °C: {got_log_c} against {log_c}");
        // On just the supply it needs, the zone runs all the time and the plant's return is the zone's.
        let weather = DesignDay::steady(outdoor_c).series(date(2015, 1, 5), 1).unwrap();
        let study = curve::study(&p, &reset(&[(-20.0, supply_c), (20.0, supply_c)], 18.0), &weather);
        let back_c = study.year.boiler_return_c.unwrap();
        assert!((study.year.heat_kwh / 24.0 - 9.0 * (20.0 - outdoor_c) / 35.0).abs() < 0.01);
        // 1 kg/s through the boiler is more than the zone draws, so its inlet is warmer than the zone's return.
        assert!(back_c.0 > return_c - 0.05, "{back_c:?}");
        let water = curve::study(&p, &reset(&[(-20.0, supply_c), (20.0, supply_c)], outdoor_c + 0.01), &weather);
        assert!((water.rows.iter().rev().find_map(|r| r.water).unwrap().return_c - return_c).abs() < 0.02);
    }
}

/// Source: ASHRAE 90.1-2019 G3.1.3.4, baseline reset: 180 °F at 20 °F and below, 150 °F at 50 °F and above, a straight line
/// between. The values between are on that line.
#[test]
fn the_target_follows_the_baseline_schedule() {
    let r = reset(&[(f_to_c(20.0), f_to_c(180.0)), (f_to_c(50.0), f_to_c(150.0))], 18.0);
    for (outdoor_f, supply_f) in
        [(-10.0, 180.0), (20.0, 180.0), (25.0, 175.0), (35.0, 165.0), (45.0, 155.0), (50.0, 150.0), (60.0, 150.0)]
    {
        let got = c_to_f(curve::target_c(&r, f_to_c(outdoor_f)));
        // The controller keeps hundredths of a degree Celsius.
        assert!((got - supply_f).abs() < 0.03, "{outdoor_f} °F: {got} against {supply_f}");
    }
}

/// Source: the buffer-tank example of hydronics texts: 10 min, 68,000 and 5,000 Btu/h, 20 °F: 63 gal; the second by the
/// same formula with its nominal 500 Btu/h per gal/min and °F: 200,000 and 60,000 Btu/h: 140 gal, in SI 529 l with 4.186 kJ/(l K).
#[test]
fn the_buffer_follows_the_textbook_example() {
    const BTU_H_W: f64 = 0.293_071_07;
    // 500 Btu/h per gal/min and °F, a litre at a time.
    let nominal_j_k = 500.0 * BTU_H_W * 60.0 * 1.8 / 3.785_411_784;
    let gal = |source: f64, load: f64| {
        short_cycle::buffer_l(600.0, source * BTU_H_W, load * BTU_H_W, 20.0 / 1.8, nominal_j_k) / 3.785_411_784
    };
    assert!((gal(68_000.0, 5_000.0) - 63.0).abs() < 0.05, "{}", gal(68_000.0, 5_000.0));
    assert!((gal(200_000.0, 60_000.0) - 140.0).abs() < 0.05);
    let litres = short_cycle::buffer_l(600.0, 41_000.0, 0.0, 11.1, 4186.0);
    assert!((litres - 529.0).abs() < 1.0, "{litres}");
    // The cycle and the buffer are one balance: with that buffer the burn is as long as was asked.
    let c = short_cycle::cycle(200.0, 60.0, 10.0, short_cycle::buffer_l(600.0, 200.0, 60.0, 10.0, 4186.0) * 4186.0);
    assert!((c.burn_s - 600.0).abs() < 1e-9 && (c.cycles_per_h - 3600.0 / (600.0 + 1400.0)).abs() < 1e-9, "{c:?}");
}

/// Source: the degree-day method, `E = 24 UA HDD / (efficiency HHV)`: 20,000 Btu/h per °F, 6500 °F-days below 65 °F, efficiency 0.90:
/// 34,667 therms. Here 100 steady days at 0 °F, which are 6500 °F-days.
#[test]
fn the_fuel_of_a_season_follows_the_degree_day_method() {
    const BTU_J: f64 = 1_055.055_852_62;
    let ua_w_k = 20_000.0 * BTU_J / 3600.0 * 1.8;
    let (room_c, outdoor_c) = (f_to_c(65.0), f_to_c(0.0));
    let load_w = ua_w_k * (room_c - outdoor_c);
    let z = zone(load_w, 80.0, 65.0, room_c, outdoor_c, 1.3, MeanRule::Arithmetic);
    let p = plant(outdoor_c, vec![z], vec![boiler(1.3 * load_w, 0.2, 20.0, constant_efficiency(0.9))]);
    let weather = DesignDay::steady(outdoor_c).series(date(2015, 1, 1), 100).unwrap();
    let hdd_f = weather.heating_degree_days(room_c) * 1.8;
    // The closing midnight is a 101st day of one value: a 24th of a day's degrees.
    assert!((hdd_f - 6500.0 - 65.0 / 24.0).abs() < 1e-6, "{hdd_f}");
    let year = curve::study(&p, &reset(&[(-20.0, 90.0), (15.0, 40.0)], 17.0), &weather).year;
    let therms = year.fuel_kwh * 3.6e6 / (1e5 * BTU_J);
    assert!((therms - 34_667.0).abs() < 1.0, "{therms}");
    assert!((year.efficiency().unwrap() - 0.9).abs() < 1e-9);
}
