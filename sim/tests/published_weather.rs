//! The built-in weather and the readers against figures that were not made by them.

use heatwright_sim::weather::{self, Options};
use jiff::civil::date;

fn to_f(c: f64) -> f64 {
    c * 1.8 + 32.0
}

/// Source of the expected figures: own computation from the NOAA ISD-Lite file of station 725300, 2015, by `scripts/weather`
/// (Python, independent of this reader): heating degree-days below 65 °F over UTC days, gaps filled by the last value: 6103;
/// coldest seven UTC days from 5 January: mean 6.70 °F, lowest -8.0 °F.
#[test]
fn the_built_in_year_has_the_degree_days_of_its_source() {
    let s = weather::builtin().unwrap();
    assert_eq!(s.dry_bulb_c().len(), 8760);
    assert_eq!(s.start(), date(2014, 12, 31).at(18, 0, 0, 0));
    assert_eq!((s.min_c(), s.max_c()), (-22.2, 33.3));
    // The first value stands at 00:00 UTC, so blocks of 24 are UTC days. The two filled hours move the sum by far less than 1.
    let days_f: Vec<f64> = s.dry_bulb_c().chunks(24).map(|d| to_f(d.iter().sum::<f64>() / 24.0)).collect();
    let hdd_65_f: f64 = days_f.iter().map(|d| (65.0 - d).max(0.0)).sum();
    assert!((hdd_65_f - 6103.0).abs() < 0.6, "{hdd_65_f}");
    let week = |d: usize| days_f[d..d + 7].iter().sum::<f64>() / 7.0;
    let coldest = (0..359).min_by(|a, b| week(*a).total_cmp(&week(*b))).unwrap();
    assert_eq!(coldest, 4, "5 January is the fifth UTC day");
    assert!((week(coldest) - 6.70).abs() < 0.005, "{}", week(coldest));
    let lowest = s.dry_bulb_c()[coldest * 24..coldest * 24 + 168].iter().copied().fold(f64::MAX, f64::min);
    assert!((to_f(lowest) + 8.0).abs() < 0.05, "{}", to_f(lowest));
}

#[test]
fn the_two_missing_hours_of_the_source_are_repaired_and_told() {
    let s = weather::builtin().unwrap();
    let said: Vec<String> = s.notes().iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "no reading at 2015-05-17 07:00: filled by a straight line",
            "no reading at 2015-12-14 09:00: filled by a straight line"
        ]
    );
}

/// The same week by whole local days. Source: own computation from the same file, on UTC-6 days.
#[test]
fn the_coldest_local_week_is_early_january() {
    let week = weather::builtin().unwrap().coldest_days(7).unwrap();
    assert_eq!(week.start(), date(2015, 1, 4).at(0, 0, 0, 0));
    assert_eq!(week.dry_bulb_c().len(), 169);
}

/// Hours 10 to 12 UTC of 6 January 2015 of the same ISD-Lite file, as NOAA writes them.
const ISD: &str = "\
2015 01 06 10  -172  -194 -9999   340    15     4    -1 -9999
2015 01 06 11  -200  -211 10283   320    31     2     0 -9999
2015 01 06 12  -167  -194 10286   320    46     2     0     3
";

#[test]
fn the_source_lines_read_as_the_derived_file_does() {
    let options = Options { utc_offset_min: Some(-360), ..Options::default() };
    let slice = weather::parse(ISD.as_bytes(), "slice", &options).unwrap();
    let year = weather::builtin().unwrap();
    assert_eq!(slice.start(), date(2015, 1, 6).at(4, 0, 0, 0));
    let from = year.days(date(2015, 1, 6), 1).unwrap();
    assert_eq!(slice.dry_bulb_c(), &from.dry_bulb_c()[4..7]);
}
