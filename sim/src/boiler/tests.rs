//! A boiler on a bench: its own control, limit and frost protection.

use super::*;
use crate::plant::{BoilerControl, Burner as Timings, Efficiency, EfficiencyPoint};
use heatwright_core::{Temp, config::BoilerPump};

fn plant(minimum_share: f64, drive: BoilerDrive) -> Boiler {
    Boiler {
        input_w: 50_000.0,
        minimum_share,
        drive,
        pump: BoilerPump::None,
        flow_kg_s: 0.6,
        flow_min_kg_s: 0.2,
        return_min_c: None,
        return_valve_c: None,
        water_l: 20.0,
        metal_j_k: 20_000.0,
        burner: Timings {
            pre_purge_s: 10.0,
            ignition_s: 3.0,
            trials: 1,
            flame_proof_s: 2.0,
            post_purge_s: 15.0,
            modulation_lag_s: 10.0,
        },
        efficiency: Efficiency::Points(vec![EfficiencyPoint { return_c: 50.0, rate: 1.0, efficiency: 0.9 }]),
        jacket_w_k: 0.5,
        control: BoilerControl {
            fixed_target_c: 70.0,
            on_below_k: 4.0,
            off_above_k: 5.0,
            band_k: 15.0,
            integral_s: 90.0,
            limit_c: 90.0,
            limit_reset_k: 10.0,
            frost_c: Some(6.0),
        },
    }
}

/// Water that comes to the boiler, in degrees Celsius.
const RETURN_C: f64 = 50.0;

struct Bench {
    model: BoilerModel,
    state: BoilerState,
    drive: BoilerDriveNow,
    flux: BoilerFlux,
}

impl Bench {
    fn new(minimum_share: f64, drive: BoilerDrive, water_c: f64) -> Self {
        let model = BoilerModel::new(&plant(minimum_share, drive), &Fluid::WATER, 0.0, 1.0);
        let state = model.start(water_c);
        let drive = BoilerDriveNow {
            line: true,
            limit: true,
            proving: true,
            demand: true,
            signal: Permille::ZERO,
            fuel: true,
            reset: false,
            way: Way::Forward,
            flow_w_k: model.flow_w_k,
            round_share: 0.0,
            room_c: 20.0,
        };
        Self { model, state, drive, flux: BoilerFlux::default() }
    }

    fn run(&mut self, seconds: u32) {
        let mut held = self.model.hold(self.drive);
        let mut reply = BoilerModel::joined(&held);
        for _ in 0..seconds {
            self.model.reply(&mut self.state, &mut held, RETURN_C, &mut self.flux, &mut reply.fixed_c);
            BoilerModel::finish(&mut self.state, &reply, RETURN_C);
        }
    }
}

#[test]
fn it_holds_its_target_by_modulation() {
    let mut b = Bench::new(0.2, BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(80) }, 40.0);
    b.drive.signal = Permille::new(667);
    b.run(3600);
    assert!((b.state.water_c - 60.02).abs() < 0.1, "{:?}", b.state);
    // Heat balance: flow times rise plus jacket.
    let want_w = b.model.flow_w_k * (b.state.water_c - 50.0) + 0.5 * (b.state.water_c - 20.0);
    assert!((b.flux.water_w / want_w - 1.0).abs() < 1e-3, "{} against {want_w}", b.flux.water_w);
    assert!((b.flux.water_w / b.flux.fuel_w - 0.9).abs() < 1e-6);
}

#[test]
fn a_rate_signal_is_followed_with_its_lag() {
    let mut b = Bench::new(0.2, BoilerDrive::Rate, 50.0);
    b.drive.signal = Permille::new(800);
    b.run(14);
    assert!(b.state.burner.lit() && b.state.rate == 0.2, "{:?}", b.state);
    b.run(10);
    assert!((b.state.rate - (0.8 - 0.6 * (-1.0_f64).exp())).abs() < 1e-9, "{:?}", b.state);
    b.drive.signal = Permille::ZERO;
    b.run(200);
    assert!((b.state.rate - 0.2).abs() < 1e-6, "never below its minimum: {:?}", b.state);
}

#[test]
fn its_own_limit_stops_it_whatever_asks_and_comes_back() {
    let mut b = Bench::new(1.0, BoilerDrive::Rate, 50.0);
    b.drive.flow_w_k = 0.0;
    b.drive.way = Way::Still;
    b.run(300);
    assert!(!b.state.burner.lit() && !b.state.limit_made && b.state.water_c < 92.0, "{:?}", b.state);
    b.drive.flow_w_k = b.model.flow_w_k;
    b.drive.way = Way::Forward;
    b.run(120);
    assert!(b.state.limit_made && b.state.burner.lit(), "{:?}", b.state);
}

#[test]
fn frost_fires_it_without_demand_and_lets_go_ten_kelvin_higher() {
    let mut b = Bench::new(0.2, BoilerDrive::DemandOnly, 5.0);
    b.drive.demand = false;
    b.drive.flow_w_k = 0.0;
    b.drive.way = Way::Still;
    b.run(1);
    assert!(b.state.frost && b.model.asks_pump(&b.state, false));
    b.run(600);
    assert!(!b.state.frost && !b.state.burner.lit() && b.state.water_c > 15.0, "{:?}", b.state);
    assert!(!b.model.asks_pump(&b.state, false));
}

#[test]
fn without_demand_or_with_an_open_pair_it_stays_dark() {
    for open in 0..4 {
        let mut b = Bench::new(0.2, BoilerDrive::DemandOnly, 40.0);
        match open {
            0 => b.drive.demand = false,
            1 => b.drive.limit = false,
            2 => b.drive.proving = false,
            _ => b.drive.line = false,
        }
        b.run(600);
        assert_eq!(b.flux.fuel_w, 0.0, "case {open}");
        b.drive = BoilerDriveNow { demand: true, limit: true, proving: true, line: true, ..b.drive };
        b.run(60);
        assert!(b.flux.fuel_w > 0.0, "case {open} closed again");
    }
}
