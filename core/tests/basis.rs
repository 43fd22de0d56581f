//! What the laws are given to follow: when a shortfall or an excess may count, which boilers are judged by a common rate and which
//! by the required heat, and what that is set against.

mod common;
use common::*;
use heatwright_core::{config::*, staging::load::RateHold, *};

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };
const RATE: BoilerDrive = BoilerDrive::Rate;

/// Boilers with these drives and inputs in kilowatts, a target of 60 °C whatever the weather, still water at 50 °C.
fn plant(drives: &[BoilerDrive], inputs_kw: &[u32], by_load: bool) -> Bench {
    let shape = Shape { boilers: drives.len() as u8, drive: TARGET, tank: true, by_load, ..Shape::default() };
    let mut conf = config(shape);
    (conf.reset.supply_min, conf.reset.supply_max) = (c(60), c(60));
    conf.staging.start_spacing = Span::ZERO;
    conf.guard.frozen_after = Span::ZERO;
    conf.tank.as_mut().unwrap().target = c(60);
    conf.points.contacts.extend([ContactUse::Auto(PumpId(0)), ContactUse::Hand(PumpId(0))]);
    for (i, (b, drive)) in conf.boilers.iter_mut().zip(drives).enumerate() {
        b.drive = *drive;
        b.input_w = 1000 * inputs_kw.get(i).copied().unwrap_or(100);
        let id = BoilerId(i as u8);
        if *drive == RATE {
            let signal = conf.points.analogs.iter_mut().find(|u| **u == AnalogUse::Target(id)).unwrap();
            *signal = AnalogUse::Rate(id);
        }
    }
    let mut b = Bench::with(conf);
    b.water = false;
    b.supply(50);
    b
}

/// So many boilers burn, and the supply stands where it neither adds nor drops one: a kelvin below its target.
fn burn(b: &mut Bench, n: usize) {
    b.call(0, true);
    b.until(20_000, |b| b.state.control.boilers.iter().filter(|b| b.state.firing()).count() == n);
    b.supply(59);
    b.run(2);
    assert_eq!(b.state.control.staging.enlisted.len(), n);
}

#[test]
fn a_shortfall_counts_while_water_flows_and_every_flame_is_proved() {
    let mut b = plant(&[TARGET, TARGET], &[], false);
    assert!(!b.state.laws.basis.up, "nobody calls");
    b.call(0, true);
    b.until(900, |b| b.demand(0).on);
    b.run(2);
    assert!(!b.state.laws.basis.up, "its flame is not proved yet");
    burn(&mut b, 1);
    assert!(b.state.laws.basis.up && !b.state.laws.basis.down, "one is never too many");
    let mut lost = b.clone();
    lost.read(SensorUse::Supply, Reading::Open);
    lost.run(2);
    assert!(lost.state.laws.basis.up && !lost.state.laws.basis.good, "one that nobody can read counts, too");
    let mut still = b.clone();
    still.contact(ContactUse::Auto(PumpId(0)), false);
    still.run(2);
    assert!(!still.state.laws.basis.up, "its zone's pump is switched off: no water flows");
    b.supply(50);
    b.until(3000, |b| b.demand(1).on);
    b.run(2);
    assert!(!b.state.laws.basis.up && b.state.laws.basis.down, "the second still lights");
    burn(&mut b, 2);
    assert!(b.state.laws.basis.up && b.state.laws.basis.down);
}

#[test]
fn by_the_required_heat_no_sum_counts_as_long_as_that_is_known() {
    let mut b = plant(&[TARGET, TARGET], &[], true);
    burn(&mut b, 1);
    assert!(!b.state.laws.basis.up && !b.state.laws.basis.down);
    b.read(SensorUse::Return, Reading::Open);
    b.run(2);
    assert!(b.state.laws.basis.up, "nobody reads the return: the sums stand in");
}

#[test]
fn the_header_is_trimmed_while_a_boiler_that_is_told_its_target_burns() {
    for (drives, trims) in [([TARGET, RATE], [true, true]), ([RATE, TARGET], [false, true]), ([RATE, RATE], [false; 2])]
    {
        let mut b = plant(&drives, &[], false);
        for (n, trims) in (1..).zip(trims) {
            b.supply(50);
            burn(&mut b, n);
            assert_eq!(b.state.laws.basis.trimming, trims, "{n} of {drives:?}");
        }
        b.read(SensorUse::Supply, Reading::Open);
        b.run(2);
        assert!(!b.state.laws.basis.trimming, "the supply is lost");
    }
}

/// Each zone's flow carries 1500 W a kelvin, the tank's 3000 W.
#[test]
fn the_required_heat_is_asked_where_no_common_rate_speaks() {
    let flow = |drives: &[BoilerDrive], by_load: bool, n: usize| {
        let mut b = plant(drives, &[], by_load);
        (1..=n).for_each(|n| {
            b.supply(if by_load { 40 } else { 50 });
            burn(&mut b, n);
        });
        b.state.laws.basis.required.flow_w_per_k
    };
    assert_eq!(flow(&[TARGET, TARGET], false, 1), 0, "the last is not dropped by its load");
    assert_eq!(flow(&[TARGET, TARGET], false, 2), 1500);
    assert_eq!(flow(&[RATE, TARGET], false, 2), 1500);
    assert_eq!(flow(&[RATE, RATE], false, 2), 0, "a common rate knows better");
    assert_eq!(flow(&[RATE, RATE], true, 1), 1500, "by load, one burner too");
}

#[test]
fn what_flows_through_zones_and_tank_is_added_up() {
    let mut b = plant(&[TARGET, TARGET], &[], true);
    burn(&mut b, 1);
    let flow = |b: &mut Bench| {
        b.run(200);
        b.state.laws.basis.required.flow_w_per_k
    };
    assert_eq!(flow(&mut b), 1500);
    b.contact(ContactUse::TankCall, true);
    b.config.tank.as_mut().unwrap().priority_max = Span::ZERO;
    assert_eq!(flow(&mut b), 4500);
    b.call(1, true);
    assert_eq!(flow(&mut b), 6000);
    b.read(SensorUse::Supply, Reading::Open);
    assert_eq!(flow(&mut b), 0, "without a supply that is its own nothing is known");
}

/// Boilers of 100, 300 and 200 kW with a least of 20, 40 and 10 %. With the second beside it the first gives 160 kW at least:
/// another is wanted above 150 % of that. One less is wanted below 110 % of the stage's own least.
#[test]
fn another_boiler_is_set_against_the_one_that_comes_next() {
    let mut b = plant(&[TARGET; 3], &[100, 300, 200], true);
    for (c, least) in b.config.boilers.iter_mut().zip([200, 400, 100]) {
        c.firing = Firing::Modulating { minimum: Permille::new(least) };
    }
    burn(&mut b, 1);
    let basis = b.state.laws.basis.required;
    assert_eq!((basis.up_w, basis.down_minimum_w, basis.down_design_w), (Some(240_000), Some(22_000), 0));
    // The second is out of service: the third comes next, and both give 60 kW at least.
    b.contact(ContactUse::BoilerSwitch(BoilerId(1)), false);
    b.run(2);
    assert_eq!(b.state.laws.basis.required.up_w, Some(90_000));
    b.contact(ContactUse::BoilerSwitch(BoilerId(2)), false);
    b.run(2);
    assert_eq!(b.state.laws.basis.required.up_w, None, "there is no next one");
}

/// Within its band of 3 K the supply is not short. While it is, the rest is not judged.
#[test]
fn the_rest_is_judged_only_while_all_burn_and_the_supply_is_in_its_band() {
    let mut b = plant(&[TARGET, TARGET], &[], false);
    burn(&mut b, 1);
    b.supply(50);
    burn(&mut b, 2);
    let mut at = |centi_c: i16| {
        b.read(SensorUse::Supply, Reading::At(Temp::from_centi_c(centi_c)));
        b.second();
        b.tick();
        let r = b.state.laws.basis.required;
        (r.short, r.proved, r.down_design_w)
    };
    // Eighty per cent of the hundred kilowatts of the one that would stay.
    assert_eq!(at(5701), (false, true, 80_000));
    assert_eq!(at(5700), (true, false, 80_000));
}

/// Boilers by rate that burn at full fire ask for no further one while another beside them is not by rate.
#[test]
fn a_common_rate_speaks_only_while_every_boiler_is_by_rate() {
    let hold = |drives: &[BoilerDrive]| {
        let mut b = plant(drives, &[], false);
        // So much flows that the rest could not carry it.
        b.config.zones[0].flow_w_per_k = 20_000;
        burn(&mut b, 1);
        b.supply(50);
        burn(&mut b, 2);
        b.read(SensorUse::Supply, Reading::At(Temp::from_centi_c(5750)));
        b.run(4000);
        assert_eq!(b.state.control.staging.enlisted.len(), 2);
        assert_eq!(b.state.laws.load.rate.level(), Permille::FULL, "short within the band for long");
        b.state.laws.load.hold
    };
    assert!(matches!(hold(&[RATE, RATE]), RateHold::High { .. }));
    assert_eq!(hold(&[RATE, TARGET]), RateHold::Within);
    assert_eq!(hold(&[TARGET, RATE]), RateHold::Within);
}
