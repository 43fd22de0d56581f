//! How far a reading may move before a tick would do more than take it down (`quiet`): each row of the table there, with its
//! edges in figures.

mod common;
use common::*;
use heatwright_core::{
    config::*,
    guard::sensors::{MOVED, Watch},
    quiet::{Asks, GRID, Quiet, take_down},
    *,
};

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };
const ANY: (i16, i16) = (i16::MIN, i16::MAX);

/// A plant whose supply target is 60 °C whatever the weather, its water still, and one zone calling if so wished.
fn at_60(shape: Shape, calls: bool) -> Bench {
    let mut c = config(shape);
    (c.reset.supply_min, c.reset.supply_max) = (Temp::from_c(60), Temp::from_c(60));
    let mut b = Bench::with(c);
    b.water = false;
    b.read(SensorUse::Mixed(ZoneId(shape.zones - 1)), Reading::At(Temp::from_c(30)));
    b.call(0, calls);
    b.run(20);
    b
}

/// What may be left out, whatever is due being taken for a machine's.
fn quiet_of(b: &Bench) -> Quiet {
    Quiet::after(&b.config, &b.state, next_due(&b.state))
}

fn range_of(b: &Bench, u: SensorUse) -> Option<(i16, i16)> {
    quiet_of(b).range(b.config.points.sensor(u).unwrap())
}

/// The band of a reading once it has stood for a second at so many hundredths of a degree.
fn band_at(b: &Bench, u: SensorUse, centi_c: i16) -> (i16, i16) {
    let mut b = b.clone();
    b.read(u, Reading::At(Temp::from_centi_c(centi_c)));
    b.second();
    b.tick();
    range_of(&b, u).unwrap()
}

/// Between every two neighbouring edges a reading may move, both ends counted: `edges` are the first hundredths at which the
/// answer is another.
fn bands(b: &Bench, u: SensorUse, edges: &[i16]) {
    let mut low = i16::MIN;
    for edge in edges.iter().chain([&i16::MAX]) {
        let last = *edge == i16::MAX;
        let high = if last { i16::MAX } else { edge - 1 };
        // Not at the ends of what can be read at all: water of such a temperature is judged by its own rules.
        for at in [low.max(-5000), high.min(12_000)] {
            assert_eq!(band_at(b, u, at), (low, high), "{u:?} at {at}");
        }
        low = *edge;
    }
}

/// Frost begins below 5 °C and ends at 7 °C; a purge ends once the water is down to 45 °C.
#[test]
fn at_rest_supply_and_return_matter_for_frost_and_purge() {
    let b = at_60(Shape::default(), false);
    bands(&b, SensorUse::Supply, &[500, 700, 4501]);
    bands(&b, SensorUse::Return, &[500, 700]);
}

/// The first boiler is asked for 3 K below the target of 60 °C, sums begin anew at it, and the last goes 3 K above.
#[test]
fn while_heat_is_wanted_the_supply_matters_at_its_target_and_at_the_ends_of_its_band() {
    let mut b = at_60(Shape::default(), true);
    // Water that flows without a flame is watched from the target on, see below.
    b.config.guard.frozen_after = Span::ZERO;
    bands(&b, SensorUse::Supply, &[500, 700, 4501, 5701, 6000, 6300]);
}

#[test]
fn a_mixed_zone_makes_its_highest_mixed_supply_matter() {
    let mut b = at_60(Shape { extras: true, zones: 3, ..Shape::default() }, false);
    b.config.zones[2].mix.as_mut().unwrap().mixed_max = Temp::from_c(52);
    bands(&b, SensorUse::Supply, &[500, 700, 4501, 5201]);
    assert_eq!(band_at(&b, SensorUse::Mixed(ZoneId(2)), 3000), ANY, "its valve follows on the grid");
}

/// A boiler stops above 95 °C and starts again at 90 °C. Below what it holds less 8 K it owes a flame: 85 °C by itself, what it
/// is told (60 °C, the lowest there is while nobody calls), or up to its limit by rate.
#[test]
fn an_outlet_matters_at_its_limit_and_where_a_flame_is_owed() {
    let outlet = SensorUse::BoilerOutlet(BoilerId(0));
    for (drive, owed) in [(BoilerDrive::DemandOnly, 7700), (TARGET, 5200), (BoilerDrive::Rate, 8700)] {
        for calls in [false, true] {
            bands(&at_60(Shape { drive, ..Shape::default() }, calls), outlet, &[owed, 9001, 9501]);
        }
    }
}

/// Where a boiler has no sensor at its outlet, the supply says whether it owes a flame: here below 77 °C and 52 °C.
#[test]
fn the_supply_stands_for_the_outlet_of_a_boiler_without_a_sensor() {
    for (drive, owed) in [(BoilerDrive::DemandOnly, 7700), (TARGET, 5200)] {
        let mut c = config(Shape { boilers: 2, drive, ..Shape::default() });
        (c.reset.supply_min, c.reset.supply_max) = (Temp::from_c(60), Temp::from_c(60));
        let own = c.points.sensor(SensorUse::BoilerOutlet(BoilerId(1))).unwrap();
        c.points.sensors[own.index()] = SensorUse::Spare;
        let mut b = Bench::with(c);
        b.water = false;
        b.run(20);
        let mut edges = [500, 700, 4501, owed];
        edges.sort_unstable();
        bands(&b, SensorUse::Supply, &edges);
    }
}

#[test]
fn the_tank_matters_where_no_purge_heat_is_put_into_it_any_more() {
    let b = at_60(Shape { tank: true, ..Shape::default() }, false);
    bands(&b, SensorUse::Tank, &[6500]);
}

/// After two short runs at low load the first boiler waits until the supply is 7 K below its target, and stops 7 K above.
#[test]
fn at_low_load_the_wider_band_counts() {
    let mut b = at_60(Shape { low_load: true, ..Shape::default() }, true);
    let wide = b.config.staging.low_load.band;
    b.config.staging.low_load.run_min = Span::from_h(1);
    // Water that stands still is no fault of a sensor here.
    b.config.guard.frozen_after = Span::ZERO;
    for _ in 0..4 {
        b.supply(50);
        b.until(2000, |b| b.state.control.boilers[0].state.firing());
        b.supply(64);
        b.run(800);
    }
    assert!(b.state.control.low_load.low(), "{:?}", b.state.control.low_load);
    assert_eq!(wide, TempDelta::from_k(7));
    assert_eq!(range_of(&b, SensorUse::Supply), Some((6000, 6699)));
}

/// A boiler that burns at 50 °C, in the second after its flame was proved.
fn lit(shape: Shape) -> Bench {
    let mut b = at_60(shape, true);
    b.supply(50);
    b.until(900, |b| b.state.control.boilers[0].state.firing());
    b.second();
    b
}

/// From the target on, without a flame, the supply must fall by 0.3 K; until it has, that much of a move either way is an answer.
#[test]
fn a_supply_that_keeps_flames_out_is_watched() {
    let b = at_60(Shape::default(), true);
    assert_eq!(band_at(&b, SensorUse::Supply, 6100), (6071, 6129));
    assert_eq!(band_at(&b, SensorUse::Supply, 5999), (5701, 5999), "a flame may come");
    let rest = at_60(Shape::default(), false);
    assert_eq!(band_at(&rest, SensorUse::Supply, 6100), (4501, i16::MAX), "nobody wants heat");
}

/// Supply and outlet must move by 0.3 K after a flame; until they have, that much of a move either way is an answer.
#[test]
fn a_reading_that_is_watched_matters_where_it_has_moved() {
    assert_eq!(MOVED, TempDelta::from_centi_k(30));
    let mut b = lit(Shape::default());
    let outlet = SensorUse::BoilerOutlet(BoilerId(0));
    let waiting = |w: Watch| matches!(w, Watch::Waiting { .. });
    assert!(waiting(b.state.control.sensors.supply.watch) && waiting(b.state.control.sensors.outlets[0].watch));
    assert_eq!(range_of(&b, SensorUse::Supply), Some((4971, 5029)));
    assert_eq!(range_of(&b, outlet), Some((3971, 4029)));
    assert_eq!(band_at(&b, outlet, 4030), (i16::MIN, 7699), "it has moved");
    b.supply(51);
    b.second();
    assert_eq!(range_of(&b, SensorUse::Supply), Some((4501, 5700)));
}

/// The outdoor reading is a tick whenever it changes, supply and return are with stages by the required heat; a spare input
/// and one that the plant does not have are nobody's.
#[test]
fn some_readings_may_not_move_at_all_and_some_as_they_like() {
    let only = |t: i16| Some((t, t));
    let mut b = at_60(Shape { by_load: true, boilers: 2, ..Shape::default() }, true);
    b.supply(50);
    b.second();
    assert_eq!(range_of(&b, SensorUse::Outdoor), only(0));
    assert_eq!((range_of(&b, SensorUse::Supply), range_of(&b, SensorUse::Return)), (only(5000), only(4200)));
    let mut c = b.config.clone();
    c.points.sensors.push(SensorUse::Spare).unwrap();
    let spare = SensorId(c.points.sensors.len() as u8 - 1);
    let mut b = Bench::with(c);
    b.second();
    let quiet = quiet_of(&b);
    assert_eq!((quiet.range(spare), quiet.range(SensorId(spare.0 + 1))), (None, Some(ANY)), "spare and never read");
    b.inputs.sensors[spare.index()] = Reading::At(c_of(3));
    b.second();
    let quiet = quiet_of(&b);
    assert_eq!(quiet.range(spare), Some(ANY));
    // What an input past the last says is nobody's business.
    let mut inputs = b.inputs;
    inputs.sensors[spare.index() + 1] = Reading::Short;
    assert!(quiet.same(&inputs));
    inputs.sensors[spare.index()] = Reading::Short;
    assert!(!quiet.same(&inputs), "a spare input that breaks is seen");
}

fn c_of(v: i16) -> Temp {
    Temp::from_c(v)
}

/// While one reading is lost, frozen or stood in for, every change of any other is a tick.
#[test]
fn no_reading_may_move_while_one_is_not_trusted() {
    let shape = Shape { boilers: 2, tank: true, ..Shape::default() };
    let outlet = |b| SensorUse::BoilerOutlet(BoilerId(b));
    for lost in [SensorUse::Supply, SensorUse::Return, SensorUse::Tank, outlet(0), outlet(1), SensorUse::Outdoor] {
        let mut b = at_60(shape, false);
        assert_eq!(range_of(&b, outlet(0)), Some((i16::MIN, 7699)));
        b.read(lost, Reading::Open);
        b.second();
        assert_eq!(range_of(&b, lost), None, "{lost:?}");
        for other in [SensorUse::Supply, SensorUse::Return, SensorUse::Tank, outlet(0), outlet(1)] {
            let one = range_of(&b, other).is_none_or(|(low, high)| low == high);
            assert!(one, "{other:?} while {lost:?} is lost");
        }
    }
    // Frozen: the flame was proved ten minutes ago, and neither supply nor outlet has moved.
    let mut b = lit(shape);
    b.run(610);
    assert!(matches!(b.state.control.sensors.outlets[0].watch, Watch::Frozen { .. }));
    assert_eq!(range_of(&b, SensorUse::Tank), Some((4000, 4000)));
    // The supply moves again, the outlet does not.
    b.supply(52);
    b.run(2);
    assert_eq!(range_of(&b, SensorUse::Supply), Some((5200, 5200)));
}

/// While heat is wanted laws follow the readings every ten seconds; at rest only what is due ends the quiet.
#[test]
fn quiet_lasts_to_what_is_due_or_to_the_next_grid_moment_of_a_law() {
    assert_eq!(GRID, Span::from_s(10));
    let mut b = at_60(Shape::default(), false);
    b.run(700);
    assert_eq!(quiet_of(&b).until(), next_due(&b.state));
    assert!(next_due(&b.state).is_some_and(|t| t > b.state.at.after(Span::from_h(1))));
    let mut b = at_60(Shape::default(), true);
    b.supply(62);
    b.run(41);
    let grid = Instant::from_s(b.now_s / 10 * 10 + 10);
    assert!(next_due(&b.state).is_none_or(|t| t > grid), "nothing is due before");
    let quiet = quiet_of(&b);
    assert_eq!(quiet.until(), Some(grid));
    let before = Instant::from_tenths(grid.tenths() - 1);
    assert!(quiet.covers(before, &b.inputs) && !quiet.covers(grid, &b.inputs));
}

/// A mixing valve follows its reading all season, and a boiler that burns out its shortest run trims the header: without any
/// target.
#[test]
fn laws_follow_readings_without_a_target_too() {
    let mut b = at_60(Shape { extras: true, ..Shape::default() }, false);
    b.run(301);
    assert!(b.state.laws.basis.target.is_none() && !b.state.laws.basis.mixing.is_empty());
    assert_eq!(quiet_of(&b).until(), Some(Instant::from_s(b.now_s / 10 * 10 + 10)));
    let mut b = lit(Shape { drive: TARGET, ..Shape::default() });
    b.call(0, false);
    b.until(300, |b| b.state.laws.basis.target.is_none());
    b.run(2);
    let basis = b.state.laws.basis;
    assert!(basis.trimming && basis.mixing.is_empty());
    let until = quiet_of(&b).until().unwrap();
    assert!(until <= Instant::from_s(b.now_s / 10 * 10 + 10), "{until:?}");
}

/// At a grid moment in which no law moves a host looks on to the next; when something is due there it must tick.
#[test]
fn a_grid_moment_in_which_nothing_is_due_is_passed_over() {
    let mut b = at_60(Shape::default(), true);
    b.supply(62);
    b.run(41);
    let quiet = quiet_of(&b);
    let grid = quiet.until().unwrap();
    let at = |at: Instant| {
        let (mut on, mut state) = (quiet.clone(), b.state.clone());
        (on.step(&b.config, &mut state, at, &b.inputs), on, state)
    };
    let (asks, on, state) = at(grid);
    assert_eq!((asks, on.until()), (Asks::Nothing, Some(grid.after(GRID))));
    assert_eq!(state, b.state);
    let due = next_due(&b.state).unwrap();
    let (asks, on, _) = at(due);
    assert_eq!(asks, Asks::Tick, "it is due at that very moment");
    assert_eq!(on, quiet);
    assert_eq!(at(Instant::from_tenths(due.tenths() - 1)).0, Asks::Nothing);
}

/// A contact that changes, or a clock that is set, is a tick; a clock that runs on is none.
#[test]
fn contacts_and_the_setting_of_the_clock_end_the_quiet() {
    let b = at_60(Shape::default(), false);
    let quiet = quiet_of(&b);
    assert!(quiet.same(&b.inputs));
    let mut called = b.clone();
    called.call(1, true);
    assert!(!quiet.same(&called.inputs));
    let set = |b: &Bench, minute| {
        let mut inputs = b.inputs;
        inputs.civil = Some(CivilMinute::new(minute));
        inputs
    };
    assert!(!quiet.same(&set(&b, 7)));
    let mut b = b.clone();
    b.inputs.civil = Some(CivilMinute::new(7));
    b.second();
    let quiet = quiet_of(&b);
    assert!(quiet.same(&set(&b, 8)));
    b.inputs.civil = None;
    assert!(!quiet.same(&b.inputs), "a clock that is not set any more");
}

/// What stays the same is the reading of the last tick, where it has no band.
#[test]
fn a_reading_without_a_band_may_only_stay() {
    let mut b = at_60(Shape::default(), false);
    b.read(SensorUse::Return, Reading::Open);
    b.second();
    let quiet = quiet_of(&b);
    assert!(quiet.same(&b.inputs));
    for other in [Reading::Short, Reading::At(c_of(40))] {
        let mut moved = b.clone();
        moved.read(SensorUse::Return, other);
        assert!(!quiet.same(&moved.inputs));
    }
}

/// What a host tells the controller about a moment at which it left out the tick leads to the state that the tick would have
/// led to, in that moment and in the next tick.
#[test]
fn readings_that_are_taken_down_count_as_if_the_controller_had_ticked() {
    let shapes = [
        Shape { boilers: 2, drive: TARGET, tank: true, ..Shape::default() },
        Shape { boilers: 2, drive: BoilerDrive::Rate, extras: true, ..Shape::default() },
        Shape { boilers: 2, ..Shape::default() },
        Shape { boilers: 2, by_load: true, drive: BoilerDrive::Rate, ..Shape::default() },
    ];
    for (i, shape) in shapes.into_iter().enumerate() {
        let mut b = lit(shape);
        b.call(1, true);
        // Both burn, and every reading has moved since.
        b.run(1500);
        b.supply(52);
        b.run(100);
        (0..2).for_each(|o| b.read(SensorUse::BoilerOutlet(BoilerId(o)), Reading::At(c_of(54))));
        b.run(300);
        let lit = b.state.control.boilers.iter().filter(|b| b.state.firing()).count();
        assert!(lit >= 1, "plant {i}");
        let moves: [(SensorUse, i16); 4] = [
            (SensorUse::Supply, 5203),
            (SensorUse::Return, 4407),
            (SensorUse::BoilerOutlet(BoilerId(0)), 5409),
            (SensorUse::BoilerOutlet(BoilerId(1)), 5395),
        ];
        for (u, to) in
            moves.iter().filter(|(u, _)| !(shape.by_load && matches!(u, SensorUse::Return | SensorUse::Supply)))
        {
            let mut ticked = b.clone();
            ticked.read(*u, Reading::At(Temp::from_centi_c(*to)));
            let mut told = ticked.clone();
            let at = Instant::from_s(b.now_s + 1);
            assert!(quiet_of(&b).same(&told.inputs), "plant {i}, {u:?}");
            ticked.now_s += 1;
            ticked.tick();
            take_down(&b.config, &mut told.state, at, &told.inputs);
            assert_eq!(told.state.laws, ticked.state.laws, "plant {i}, {u:?}");
            assert_eq!(told.state.control, ticked.state.control, "plant {i}, {u:?}");
            assert_eq!((told.state.held, told.state.at), (ticked.state.held, at));
            for later in [b.now_s + 2, b.now_s + 15] {
                for one in [&mut ticked, &mut told] {
                    one.now_s = later;
                    one.tick();
                }
                assert_eq!(told.state, ticked.state, "plant {i}, {u:?}");
            }
        }
    }
}

/// A law that a reading sets going is due, and one that was due stays so; time that runs back counts as no time.
#[test]
fn what_is_taken_down_makes_its_laws_due() {
    let mut b = at_60(Shape { boilers: 2, drive: BoilerDrive::Rate, ..Shape::default() }, true);
    b.supply(50);
    b.until(900, |b| b.state.laws.load.lit.count() == 1);
    b.supply(58);
    b.run(60);
    let mut told = b.clone();
    told.read(SensorUse::Supply, Reading::At(Temp::from_centi_c(5810)));
    take_down(&b.config, &mut told.state, Instant::from_s(b.now_s - 5), &told.inputs);
    assert_eq!(told.state.at, b.state.at);
    let grid = Instant::from_s(b.now_s / 10 * 10 + 10);
    let due = next_due(&told.state).unwrap();
    assert!(due <= grid, "{due:?} after {grid:?}");
    assert_eq!(told.state.laws.basis.supply, Some(Temp::from_centi_c(5810)));
}
