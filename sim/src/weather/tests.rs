//! The readers on slices made here, on damaged files, and on arbitrary bytes.

use super::*;
use proptest::prelude::*;

const CHICAGO: Options = Options { utc_offset_min: Some(-360), gap_max_h: 6 };

/// Hourly CSV lines from a start, without a head.
fn lines(from: DateTime, values: &[Option<f64>]) -> String {
    let line = |(k, v): (usize, &Option<f64>)| {
        let at = moment(minute_of(from) + k as i64 * 60);
        format!("{},{}\n", at.strftime("%Y-%m-%dT%H:%M"), v.map_or(String::new(), |v| v.to_string()))
    };
    values.iter().enumerate().map(line).collect()
}

fn csv(body: &str) -> Result<Series, WeatherError> {
    parse(format!("time,dry_bulb_c\n{body}").as_bytes(), "test", &Options::default())
}

fn jan(day: i8, hour: i8) -> DateTime {
    date(2015, 1, day).at(hour, 0, 0, 0)
}

#[test]
fn one_reading_far_from_both_its_neighbours_is_refused_and_a_front_is_not() {
    let of = |v: [f64; 5]| csv(&lines(jan(5, 0), &v.map(Some)));
    let e = refused(of([-5.0, -5.5, -89.0, -6.0, -6.0]));
    assert_eq!(e.line(), Some(4));
    assert!(e.to_string().contains("-89 °C between -5.5 °C and -6 °C"), "{e}");
    assert!(refused(of([10.0, 10.0, 36.0, 10.0, 10.0])).to_string().contains("empty the field"));
    // A chinook: the temperature jumps, and stays. And a swing of 24 K there and back is weather, if hardly any.
    assert!(of([-20.0, -20.0, 7.0, 7.0, 6.0]).is_ok());
    assert!(of([0.0, 0.0, 24.0, 0.0, 0.0]).is_ok());
    // Across a gap nobody knows how it went.
    let sparse = csv("2015-01-05T00:00,10\n2015-01-05T06:00,-20\n2015-01-05T12:00,10\n").unwrap();
    assert_eq!(sparse.min_c(), -20.0);
}

/// Every refusal names its line and fits in a message.
fn refused(given: Result<Series, WeatherError>) -> WeatherError {
    let e = given.expect_err("this file must be refused");
    let said = e.to_string();
    assert!(said.len() < 400 && !said.contains('\n'), "{said}");
    e
}

#[test]
fn plain_csv_reads_both_units_and_keeps_every_value() {
    let c = csv("2015-01-05T18:00,-5\n2015-01-05 19:00:00,-7.5\n").unwrap();
    assert_eq!((c.start(), c.dry_bulb_c()), (jan(5, 18), [-5.0, -7.5].as_slice()));
    let f = parse(
        b"# a comment\nplace,time,dry bulb (degF)\nx,2015-01-05T18:00,23\nx,2015-01-05T19:00,18.5\n",
        "",
        &CHICAGO,
    );
    assert_eq!(f.unwrap().dry_bulb_c(), [-5.0, -7.5]);
}

#[test]
fn times_with_an_offset_move_to_the_site() {
    let file = b"time,dry_bulb_c\n2015-01-06T00:00Z,-5\n2015-01-05T20:00-05:00,-6\n";
    let s = parse(file, "", &CHICAGO).unwrap();
    assert_eq!((s.start(), s.dry_bulb_c()), (jan(5, 18), [-5.0, -6.0].as_slice()));
    assert_eq!(refused(parse(file, "", &Options::default())), WeatherError::OffsetMissing);
}

#[test]
fn a_missing_hour_is_filled_and_told() {
    let s = csv("2015-01-01T00:00,0\n2015-01-01T02:00,4\n2015-01-01T03:00,\n2015-01-01T04:00,-2\n").unwrap();
    assert_eq!(s.dry_bulb_c(), [0.0, 2.0, 4.0, 1.0, -2.0]);
    let first = |hour| RepairNote::MissingHours { first: jan(1, hour), hours: 1 };
    assert_eq!(s.notes(), [first(1), first(3)]);
    assert_eq!(s.hours_repaired(), 2);
    assert_eq!(first(1).to_string(), "no reading at 2015-01-01 01:00: filled by a straight line");
}

#[test]
fn a_longer_gap_is_refused() {
    let hole = |hours: usize| {
        let values: Vec<_> = (0..20).map(|k| (k < 4 || k >= 4 + hours).then_some(1.0)).collect();
        csv(&lines(jan(1, 0), &values))
    };
    assert_eq!(hole(6).unwrap().hours_repaired(), 6);
    assert_eq!(
        refused(hole(7)),
        WeatherError::Gap { line: 13, from: jan(1, 4), hours: 7, hours_max: 6 },
        "line 13 holds the first reading after the gap"
    );
}

#[test]
fn missing_hours_at_an_end_are_left_out() {
    let s = csv(&lines(jan(1, 0), &[None, None, Some(1.0), Some(2.0), None])).unwrap();
    assert_eq!((s.start(), s.dry_bulb_c()), (jan(1, 2), [1.0, 2.0].as_slice()));
    let left = |hour, hours| RepairNote::EdgeLeftOut { first: jan(1, hour), hours };
    assert_eq!(s.notes(), [left(0, 2), left(4, 1)]);
}

#[test]
fn readings_beside_the_hour_are_interpolated_to_it() {
    let s = csv("2015-01-01T00:45,0\n2015-01-01T01:45,4\n2015-01-01T02:45,0\n2015-01-01T03:00,2\n").unwrap();
    assert_eq!((s.start(), s.dry_bulb_c()), (jan(1, 1), [1.0, 3.0, 2.0].as_slice()));
    assert_eq!(s.notes(), [RepairNote::BetweenReadings { hours: 2 }]);
}

#[test]
fn an_odd_but_possible_reading_is_kept() {
    // The notch of 2015-01-06 05:00 in the built-in year, 11:00 UTC in its source.
    let s = builtin().unwrap();
    let from = ((minute_of(jan(6, 4)) - minute_of(s.start())) / 60) as usize;
    assert_eq!(s.dry_bulb_c()[from..from + 3], [-17.2, -20.0, -16.7]);
}

#[test]
fn order_is_checked() {
    let twice = csv("2015-01-01T00:00,0\n2015-01-01T01:00,1\n2015-01-01T01:00,1\n");
    assert_eq!(refused(twice), WeatherError::Duplicate { line: 4, first_line: 3, at: jan(1, 1) });
    let back = csv("2015-01-01T05:00,0\n2015-01-01T06:00,1\n2015-01-01T04:00,1\n");
    assert_eq!(refused(back), WeatherError::Unsorted { line: 4, at: jan(1, 4), before: jan(1, 6) });
    // A clock change in half-hourly readings steps back onto a time that is there already.
    let clock = csv("2015-01-01T01:00,0\n2015-01-01T01:30,1\n2015-01-01T01:00,1\n2015-01-01T01:30,1\n");
    assert_eq!(refused(clock), WeatherError::Duplicate { line: 4, first_line: 2, at: jan(1, 1) });
}

#[test]
fn what_is_no_number_is_refused_with_its_place() {
    let e = refused(csv("2015-01-01T00:00,0\n2015-01-01T01:00,cold\n"));
    assert_eq!(e, WeatherError::NotANumber { line: 3, column: "dry_bulb".into(), given: "cold".into() });
    for odd in ["NaN", "inf", "-inf"] {
        let e = refused(csv(&format!("2015-01-01T00:00,0\n2015-01-01T01:00,{odd}\n")));
        assert_eq!(e, WeatherError::NotFinite { line: 3, column: "dry_bulb".into(), given: odd.into() });
    }
    for time in [
        "2015-01-01",
        "2015-13-01T00:00",
        "2015-02-29T00:00",
        "01/05/2015 18:00",
        "2015-01-01T24:00",
        "-9999-01-01T00:00",
    ] {
        let e = refused(csv(&format!("{time},0\n2015-01-01T01:00,1\n")));
        assert!(matches!(e, WeatherError::BadTime { line: 2, .. }), "{time}: {e}");
    }
}

#[test]
fn a_cut_last_line_is_told_from_a_bad_one() {
    let e = refused(csv("2015-01-01T00:00,0\n2015-01-01T01:0"));
    assert_eq!(e, WeatherError::Truncated { line: 3, given: 1, needed: 2 });
    let e = refused(csv("2015-01-01T00:00\n2015-01-01T01:00,1\n"));
    assert_eq!(e, WeatherError::FieldCount { line: 2, given: 1, needed: 2 });
    let open = csv("2015-01-01T00:00,0\n2015-01-01T01:00,1").unwrap();
    assert_eq!(open.notes(), [RepairNote::NoFinalLineEnd { line: 3 }]);
}

#[test]
fn a_column_must_say_its_unit_once() {
    let head = |head: &str| refused(parse(format!("{head}\n2015-01-01T00:00,0\n").as_bytes(), "", &CHICAGO));
    assert_eq!(head("time,dry_bulb"), WeatherError::UnitMissing { line: 1, given: "dry_bulb".into() });
    assert!(matches!(head("time,dry_bulb_k"), WeatherError::UnitMissing { .. }));
    assert!(matches!(head("time,temperature"), WeatherError::ColumnMissing { column: "dry_bulb_c or dry_bulb_f", .. }));
    assert!(matches!(head("when,dry_bulb_c"), WeatherError::ColumnMissing { column: "time", .. }));
    assert!(matches!(head("time,dry_bulb_c,dry_bulb_f"), WeatherError::ColumnTwice { .. }));
}

#[test]
fn a_wrong_unit_shows_by_its_range() {
    let year = |unit: &str, make: &dyn Fn(f64) -> f64| {
        let real = builtin().unwrap();
        let values: Vec<_> = real.dry_bulb_c().iter().map(|v| Some(make(*v))).collect();
        parse(format!("time,dry_bulb_{unit}\n{}", lines(real.start(), &values)).as_bytes(), "", &CHICAGO)
    };
    let f_as_c = refused(year("c", &|v| v * 1.8 + 32.0));
    assert!(f_as_c.to_string().contains("name the column `dry_bulb_f`"), "{f_as_c}");
    let tenths = refused(year("c", &|v| v * 10.0));
    assert!(tenths.to_string().contains("tenths"), "{tenths}");
    // A northern year in degrees Celsius read as Fahrenheit: every value is possible, the year is not.
    let c_as_f = refused(year("f", &|v| v));
    assert!(matches!(c_as_f, WeatherError::WrongUnit { unit: Unit::Fahrenheit, .. }), "{c_as_f}");
    // A hot year in Fahrenheit read as Celsius, no value above 60: the mean gives it away.
    let mild = refused(year("c", &|v| v * 0.2 + 48.0));
    assert!(matches!(mild, WeatherError::WrongUnit { unit: Unit::Celsius, .. }), "{mild}");
    // One bad reading is not a wrong unit.
    let spike = refused(csv(&lines(jan(1, 0), &[vec![Some(0.0); 200], vec![Some(81.0)]].concat())));
    assert!(spike.to_string().contains("empty the field"), "{spike}");
    assert_eq!(spike.line(), Some(202));
}

#[test]
fn what_is_no_weather_file_is_named() {
    let said = |bytes: &[u8]| refused(parse(bytes, "", &CHICAGO));
    assert_eq!(said(b""), WeatherError::Empty);
    assert_eq!(said(b" \n\n# nothing\n"), WeatherError::Empty);
    assert!(matches!(said(b"\x1f\x8b\x08\x00"), WeatherError::NotText { hint } if hint.contains("gzip")));
    assert!(matches!(said(b"t\0i\0m\0e\0"), WeatherError::NotText { .. }));
    assert!(matches!(said(b"\xff\xfet\0"), WeatherError::NotText { hint } if hint.contains("UTF-16")));
    assert!(matches!(said(b"[site]\nname = 3\n"), WeatherError::UnknownFormat { line: 1, .. }));
    assert!(matches!(said(b"time,dry_bulb_c\n"), WeatherError::TooShort { hours: 0 }));
    assert!(matches!(said(b"time,dry_bulb_c\n2015-01-01T00:00,1\n"), WeatherError::TooShort { hours: 1 }));
    let words = |hours| WeatherError::TooShort { hours }.to_string();
    assert_eq!(words(1), "the weather file holds one hourly value; at least 2 are needed");
    assert!(words(0).contains("no hourly value;"));
    let long = vec![b'9'; 10_000_000];
    assert!(matches!(said(&long), WeatherError::LineTooLong { line: 1, bytes: 10_000_000, .. }));
    let bad = Options { utc_offset_min: Some(9999), ..CHICAGO };
    assert_eq!(refused(parse(b"x", "", &bad)), WeatherError::OffsetRange { given_min: 9999 });
}

/// ISD-Lite lines from a start in UTC, tenths of a degree.
fn isd(from: DateTime, tenths: &[i32]) -> String {
    let line = |(k, t): (usize, &i32)| {
        let at = moment(minute_of(from) + k as i64 * 60);
        format!("{}{t:6}  -172 10243   240    62     2 -9999 -9999\n", at.strftime("%Y %m %d %H"))
    };
    tenths.iter().enumerate().map(line).collect()
}

#[test]
fn isd_lite_is_moved_from_utc() {
    let file = isd(jan(1, 3), &[-83, -9999, -61]);
    let s = parse(file.as_bytes(), "", &CHICAGO).unwrap();
    assert_eq!(s.start(), date(2014, 12, 31).at(21, 0, 0, 0));
    assert!(s.dry_bulb_c().iter().zip([-8.3, -7.2, -6.1]).all(|(a, b)| (a - b).abs() < 1e-9), "{:?}", s.dry_bulb_c());
    assert_eq!(s.hours_repaired(), 1);
    assert_eq!(refused(parse(file.as_bytes(), "", &Options::default())), WeatherError::OffsetMissing);
    let cut = file.trim_end().trim_end_matches("-9999");
    assert_eq!(
        refused(parse(cut.as_bytes(), "", &CHICAGO)),
        WeatherError::Truncated { line: 3, given: 11, needed: 12 }
    );
}

const EPW_HEAD: &str = "LOCATION,Somewhere,XX,USA,made for a test,000000,41.9,-87.9,-6.0,201.0\nDESIGN CONDITIONS,0\n\
    COMMENTS 1,\"a, b\"\nDATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n";

fn epw_rows(rows: &[(i32, i32, i32, i32, f64)]) -> String {
    rows.iter().map(|(y, m, d, h, t)| format!("{y},{m},{d},{h},60,?9?9,{t},-16.1,73\n")).collect()
}

#[test]
fn epw_hours_end_at_their_number() {
    let file =
        format!("{EPW_HEAD}{}", epw_rows(&[(2015, 1, 5, 23, -5.0), (2015, 1, 5, 24, 99.9), (2015, 1, 6, 1, -7.0)]));
    let s = parse(file.as_bytes(), "", &Options::default()).unwrap();
    assert_eq!((s.start(), s.dry_bulb_c()), (jan(5, 23), [-5.0, -6.0, -7.0].as_slice()));
    assert_eq!(s.notes(), [RepairNote::MissingHours { first: jan(6, 0), hours: 1 }]);
    let east = Options { utc_offset_min: Some(-300), gap_max_h: 6 };
    let e = refused(parse(file.as_bytes(), "", &east));
    assert_eq!(e, WeatherError::OffsetContradicts { line: 1, file_min: -360, given_min: -300 });
    let e = refused(parse(file.replace("DATA PERIODS,1,1", "DATA PERIODS,1,4").as_bytes(), "", &CHICAGO));
    assert_eq!(e, WeatherError::RecordsPerHour { line: 4, given: 4 });
    let e = refused(parse(file.trim_end().trim_end_matches(",73").as_bytes(), "", &CHICAGO));
    assert_eq!(e, WeatherError::Truncated { line: 7, given: 8, needed: 9 });
}

/// A whole year of rows, the year of each month by a rule.
fn year_rows(days_in_feb: i32, year: impl Fn(i32) -> i32) -> Vec<(i32, i32, i32, i32, f64)> {
    let days = [31, days_in_feb, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let months = (1..).zip(days);
    months
        .flat_map(|(m, n)| (1..=n).flat_map(move |d| (1..=24).map(move |h| (m, d, h))))
        .map(|(m, d, h)| (year(m), m, d, h, 12.0))
        .collect()
}

#[test]
fn typical_years_are_laid_on_one_calendar() {
    let read = |rows: &[_]| parse(format!("{EPW_HEAD}{}", epw_rows(rows)).as_bytes(), "", &CHICAGO).unwrap();
    let mixed = |m: i32| if m % 2 == 0 { 1986 } else { 1999 };
    let typical = read(&year_rows(28, mixed));
    assert_eq!(typical.dry_bulb_c().len(), 8760);
    assert_eq!((typical.start(), typical.end()), (date(2017, 1, 1).at(1, 0, 0, 0), date(2018, 1, 1).at(0, 0, 0, 0)));
    assert_eq!(typical.notes(), [RepairNote::CommonYear { year: 2017 }]);
    let leap = read(&year_rows(29, mixed));
    assert_eq!((leap.dry_bulb_c().len(), leap.notes()), (8784, [RepairNote::CommonYear { year: 2012 }].as_slice()));
    let real = read(&year_rows(29, |_| 2016));
    assert_eq!((real.dry_bulb_c().len(), real.notes()), (8784, [].as_slice()));
    let without = read(&year_rows(28, |_| 2016));
    assert_eq!(without.dry_bulb_c().len(), 8760);
    assert_eq!(without.notes(), [RepairNote::LeapDayAbsent { year_given: 2016, year: 2017 }]);
    // A winter of two real years keeps its calendar; a winter of picked months runs on into the next common year.
    let two = read(&epw_rows_of(&[(2015, 12, 31, 24), (2016, 1, 1, 1)]));
    assert_eq!(two.start(), date(2016, 1, 1).at(0, 0, 0, 0));
    let picked = read(&epw_rows_of(&[(1999, 12, 31, 24), (1986, 1, 1, 1)]));
    assert_eq!(picked.start(), date(2018, 1, 1).at(0, 0, 0, 0));
}

fn epw_rows_of(times: &[(i32, i32, i32, i32)]) -> Vec<(i32, i32, i32, i32, f64)> {
    times.iter().map(|&(y, m, d, h)| (y, m, d, h, 1.0)).collect()
}

#[test]
fn tmy3_is_read_by_its_column_names() {
    let file = "723170,\"SOMEWHERE, A PLACE\",NC,-5.0,36.1,-79.95,273\nDate (MM/DD/YYYY),Time (HH:MM),GHI,Dry-bulb (C)\n\
        01/05/1988,23:00,0,-5\n01/05/1988,24:00,0,-9900\n01/06/1988,01:00,0,-7\n";
    let s = parse(file.as_bytes(), "", &Options::default()).unwrap();
    assert_eq!((s.start(), s.dry_bulb_c()), (date(1988, 1, 5).at(23, 0, 0, 0), [-5.0, -6.0, -7.0].as_slice()));
    // 1988 is moved to 2016 for the controller: the same weekday, Tuesday.
    assert_eq!(i64::from(s.civil_start().get()), minute_of(date(2016, 1, 5).at(23, 0, 0, 0)));
    assert_eq!(date(1988, 1, 5).weekday(), date(2016, 1, 5).weekday());
    assert!(matches!(
        refused(parse(file.replace("23:00", "23:30").as_bytes(), "", &CHICAGO)),
        WeatherError::OffsetContradicts { .. }
    ));
    let e = refused(parse(file.replace("23:00", "23:30").as_bytes(), "", &Options::default()));
    assert!(matches!(e, WeatherError::BadTime { line: 3, .. }), "{e}");
    let e = refused(parse(file.replace("Dry-bulb (C)", "Dry").as_bytes(), "", &Options::default()));
    assert!(matches!(e, WeatherError::ColumnMissing { line: 2, column: "Dry-bulb (C)", .. }), "{e}");
}

#[test]
fn windows_start_at_midnight() {
    let s = csv(&lines(jan(1, 18), &(0..80).map(|k| Some(f64::from(k) / 2.0)).collect::<Vec<_>>())).unwrap();
    let day = s.days(date(2015, 1, 2), 1).unwrap();
    assert_eq!((day.start(), day.dry_bulb_c().len(), day.dry_bulb_c()[0]), (jan(2, 0), 25, 3.0));
    assert!(matches!(s.days(date(2015, 1, 1), 1), Err(WeatherError::OutsideSeries { .. })));
    assert!(matches!(s.days(date(2015, 1, 2), 4), Err(WeatherError::OutsideSeries { .. })));
    assert!(matches!(s.days(date(2015, 1, 2), 0), Err(WeatherError::OutsideSeries { .. })));
    assert_eq!(s.coldest_days(2).unwrap().start(), jan(2, 0));
    assert_eq!(s.coldest_days(4), Err(WeatherError::WindowTooLong { days: 4, whole_days: 3 }));
    assert_eq!(s.coldest_days(0), Err(WeatherError::WindowTooLong { days: 0, whole_days: 3 }));
}

#[test]
fn a_window_keeps_the_notes_about_its_own_hours() {
    let s = builtin().unwrap();
    let notes = |day| s.days(day, 1).unwrap().notes().len();
    assert_eq!((notes(date(2015, 5, 17)), notes(date(2015, 5, 18))), (1, 0));
}

#[test]
fn made_up_weather_follows_its_equation() {
    let day = DesignDay { design_c: -20.0, range_k: 8.0, warmest_h: 15.0 }.series(date(2015, 1, 5), 2).unwrap();
    assert_eq!(day.dry_bulb_c().len(), 49);
    assert!((day.dry_bulb_c()[15] + 16.0).abs() < 1e-9 && (day.dry_bulb_c()[3] + 24.0).abs() < 1e-9);
    let snap = ColdSnap {
        mild_c: 2.0,
        cold_c: -22.0,
        lead_h: 12.0,
        fall_h: 24.0,
        hold_h: 36.0,
        rise_h: 24.0,
        range_k: 0.0,
        warmest_h: 15.0,
    };
    let s = snap.series(date(2015, 1, 5), 7).unwrap();
    let at = |h: f64| s.dry_bulb_at_c(h * 3600.0);
    assert_eq!(
        [at(0.0), at(12.0), at(24.0), at(36.0), at(72.0), at(84.0), at(96.0)],
        [2.0, 2.0, -10.0, -22.0, -22.0, -10.0, 2.0]
    );
    for bad in
        [DesignDay::steady(f64::NAN), DesignDay::steady(-300.0), DesignDay { range_k: -1.0, ..DesignDay::steady(0.0) }]
    {
        assert!(matches!(bad.series(date(2015, 1, 5), 1), Err(WeatherError::Setting { .. })));
    }
    assert!(matches!(DesignDay::steady(0.0).series(date(2015, 1, 5), 0), Err(WeatherError::Setting { .. })));
    assert!(ColdSnap { cold_c: 3.0, ..snap }.series(date(2015, 1, 5), 1).is_err());
}

/// Heads of every kind with bytes behind them, so that the readers themselves are reached.
fn nearly_a_file() -> impl Strategy<Value = Vec<u8>> {
    let head = prop::sample::select(vec![
        "",
        "time,dry_bulb_c\n",
        "time,dry_bulb_f\n2015-01-01T00:00,20\n",
        "2015 01 01 00   -83  -172 10243   240    62     2 -9999 -9999\n",
        EPW_HEAD,
        "723170,\"A\",NC,-5.0,36.1,-79.95,273\nDate (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C)\n",
    ]);
    let piece = prop_oneof![
        prop::collection::vec(any::<u8>(), 0..20),
        "[-0-9.,:/ TZ\n]{0,30}".prop_map(String::into_bytes),
        Just(b"2015-01-01T01:00,19\n".to_vec()),
        Just(b"9999,12,31,24,60,?,1,2,3\n".to_vec()),
        Just(b"01/31/1988,24:00,-3\n".to_vec()),
    ];
    (head, prop::collection::vec(piece, 0..8))
        .prop_map(|(head, pieces)| [head.as_bytes(), pieces.concat().as_slice()].concat())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_bring_the_reader_down(bytes in nearly_a_file()) {
        match parse(&bytes, "any", &CHICAGO) {
            Ok(s) => prop_assert!(s.dry_bulb_c().len() >= 2 && s.dry_bulb_c().iter().all(|v| v.is_finite())),
            Err(e) => prop_assert!(!e.to_string().is_empty()),
        }
    }

    #[test]
    fn between_two_hours_the_value_stays_between_their_values(
        values in prop::collection::vec(-60.0..45.0_f64, 2..40),
        hours in -3.0..45.0_f64,
    ) {
        let s = Series::new(jan(1, 0), values.clone(), "").unwrap();
        let k = (hours.max(0.0) as usize).min(values.len() - 1);
        let (a, b) = (values[k], values[(k + 1).min(values.len() - 1)]);
        let at = s.dry_bulb_at_c(hours * 3600.0);
        prop_assert!(at >= a.min(b) - 1e-9 && at <= a.max(b) + 1e-9, "{at} between {a} and {b}");
    }

    #[test]
    fn a_filled_hour_lies_between_its_neighbours(
        // Within 24 K, so that none is refused as a reading that went wrong.
        values in prop::collection::vec(prop::option::weighted(0.8, -12.0..12.0_f64), 2..60),
    ) {
        if let Ok(s) = csv(&lines(jan(1, 0), &values)) {
            let known: Vec<f64> = values.iter().flatten().copied().collect();
            let (low, high) = known.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
            prop_assert!(s.min_c() >= low - 1e-9 && s.max_c() <= high + 1e-9);
            let first = values.iter().position(Option::is_some).unwrap();
            let last = values.iter().rposition(Option::is_some).unwrap();
            prop_assert_eq!(s.dry_bulb_c().len(), last - first + 1);
            for (k, v) in values.iter().enumerate().filter_map(|(k, v)| Some((k, (*v)?))) {
                prop_assert_eq!(s.dry_bulb_c()[k - first], v, "a reading is never changed");
            }
        }
    }
}
