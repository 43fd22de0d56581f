//! The studies as a user runs them: the water side.

use std::{path::PathBuf, process::Command};

fn heatwright() -> Command {
    Command::new(env!("CARGO_BIN_EXE_heatwright"))
}

fn example(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/examples").join(name)
}

/// Exit code, standard output, error output.
fn run(args: &[&str]) -> (i32, String, String) {
    let out = heatwright().args(args).output().unwrap();
    let text = |b: &[u8]| String::from_utf8(b.to_vec()).unwrap();
    // Messages are folded to the screen's width: one blank between words here.
    let err = text(&out.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    (out.status.code().unwrap(), text(&out.stdout), err)
}

/// An example with one text in it replaced, in a folder of its own.
fn changed(name: &str, from: &str, to: &str) -> (tempfile::TempDir, String) {
    let text = std::fs::read_to_string(example(name)).unwrap();
    assert!(text.contains(from), "{from}");
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("plant.toml");
    std::fs::write(&path, text.replace(from, to)).unwrap();
    let path = path.to_string_lossy().into_owned();
    (dir, path)
}

#[test]
fn water_workshop() {
    let plant = example("workshop.toml");
    let (code, text, err) = run(&["water", plant.to_str().unwrap()]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    insta::assert_snapshot!(text);
}

#[test]
fn water_in_json_and_si() {
    let plant = example("library.toml");
    let (code, text, _) = run(&["water", plant.to_str().unwrap(), "--format", "json"]);
    let v: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(code, 0);
    // 34 ft of water at 40 °F and 5 psi: 101.6 + 34.5 kPa, by hand.
    let fill = v["water"]["pressure"]["fill_needed_kpa"].as_f64().unwrap();
    assert!((fill - 136.1).abs() < 0.2, "{fill}");
    assert_eq!(v["water"]["balance"]["reverse_kg_s"].as_array().unwrap().len(), 3);
    assert_eq!(v["findings"].as_array().unwrap().len(), 0);
    let (_, text, _) = run(&["water", plant.to_str().unwrap(), "--units", "si"]);
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    assert!(text.contains("10.4 m x 9.81 kPa/m"), "{text}");
    let (_, text, _) = run(&["water", plant.to_str().unwrap(), "--format", "csv"]);
    assert!(text.lines().any(|l| l.starts_with("Expansion tank,\"diaphragm tank, at least\",")), "{text}");
}

#[test]
fn a_relief_valve_too_small_is_an_error_in_water_and_in_check() {
    let (_dir, path) = changed("workshop.toml", "relief-capacity = \"110 MBH\"", "relief-capacity = \"60 MBH\"");
    let (code, text, _) = run(&["water", &path]);
    assert_eq!(code, 1);
    assert!(text.contains("error relief-small: Boiler 1"), "{text}");
    let (code, text, _) = run(&["check", &path]);
    assert_eq!(code, 1);
    assert!(text.contains("relief-small"), "{text}");
}

#[test]
fn a_tower_behind_a_small_relief_valve_has_no_room() {
    let (_dir, path) = changed("workshop.toml", "height = \"16 ft\"", "height = \"90 ft\"");
    let (code, text, _) = run(&["water", &path]);
    assert_eq!(code, 1);
    assert!(text.contains("no-room-below-relief") && text.contains("none"), "{text}");
    let (_dir, path) = changed("workshop.toml", "expansion-tank = \"4 gal\"", "precharge = \"12 psi\"");
    let (code, _, err) = run(&["water", &path]);
    assert_eq!(code, 2);
    assert!(err.contains("`water.precharge` has no effect"), "{err}");
}

#[test]
fn charts_are_drawn_the_same_twice_and_hold_what_they_show() {
    let dir = tempfile::tempdir().unwrap();
    let plant = example("workshop.toml");
    let plant = plant.to_str().unwrap();
    let svg = |args: &[&str], name: &str| {
        let path = dir.path().join(name);
        let mut all = args.to_vec();
        all.extend(["--plot", path.to_str().unwrap(), "-q"]);
        let (code, _, err) = run(&all);
        assert_eq!((code, err.as_str()), (0, ""), "{all:?}");
        std::fs::read_to_string(&path).unwrap()
    };
    for (k, (args, words)) in [
        (vec!["curve", plant], vec!["Supply, °F", "Surplus, MBH", "curve in effect", "Shop floor", "Office"]),
        (
            vec!["simulate", plant, "--days", "1"],
            vec!["Temperature, °F", "Boiler 1", "dew point", "Hours with flame", "Return temperature, °F", "outdoors"],
        ),
        (vec!["curve", plant, "--units", "si"], vec!["Supply, °C", "Surplus, kW"]),
    ]
    .into_iter()
    .enumerate()
    {
        let one = svg(&args, &format!("{k}-one.svg"));
        assert_eq!(one, svg(&args, &format!("{k}-two.svg")), "{args:?}");
        for w in words {
            assert!(one.contains(w), "{args:?} lacks {w}");
        }
        assert!(!one.contains("NaN") && !one.contains("inf"), "{args:?}");
    }
}

#[test]
fn rotation_draws_a_bar_for_each_boiler_and_policy() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("rotation.svg");
    let plant = example("library.toml");
    let args = ["rotation", plant.to_str().unwrap(), "--days", "1", "-q", "--plot", path.to_str().unwrap()];
    assert_eq!(run(&args).0, 0);
    let text = std::fs::read_to_string(&path).unwrap();
    // Fourteen policies of three boilers, filled and outlined, in three fills; one of them is recommended.
    assert!(text.matches("<polygon").count() >= 14 * 3, "{}", text.matches("<polygon").count());
    assert_eq!(text.matches("► ").count(), 2, "in the list and in the legend");
}

#[test]
fn a_chart_or_series_that_cannot_be_written_is_refused_before_the_run() {
    let dir = tempfile::tempdir().unwrap();
    let plant = example("workshop.toml");
    let plant = plant.to_str().unwrap();
    let there = dir.path().join("there.svg");
    std::fs::write(&there, "x").unwrap();
    let path = |name: &str| dir.path().join(name).to_string_lossy().into_owned();
    for (flag, file, said) in [
        ("--plot", path("chart.png"), "does not end in .svg"),
        ("--plot", path("chart"), "does not end in .svg"),
        ("--plot", path("no/chart.svg"), "no such file or folder"),
        ("--plot", path("there.svg"), "is there already"),
        ("--series", path("series.xlsx"), "does not end in .csv or .parquet"),
    ] {
        // A year: were it run first, this test would take minutes.
        let (code, _, err) = run(&["simulate", plant, "--days", "365", flag, &file]);
        assert_eq!(code, 2, "{file}");
        assert!(err.contains(said), "{file}: {err}");
    }
    assert_eq!(std::fs::read_to_string(&there).unwrap(), "x");
}

#[test]
fn a_series_is_written_beside_the_report() {
    let dir = tempfile::tempdir().unwrap();
    let plant = example("workshop.toml");
    let plant = plant.to_str().unwrap();
    let path = |name: &str| dir.path().join(name).to_string_lossy().into_owned();
    for name in ["a.csv", "a.parquet"] {
        let (code, text, _) = run(&["simulate", plant, "--days", "1", "-q", "--sample", "10", "--series", &path(name)]);
        assert_eq!(code, 0);
        assert!(text.contains("145 rows of the series"), "{text}");
    }
    let csv = std::fs::read_to_string(path("a.csv")).unwrap();
    assert_eq!(csv.lines().count(), 146);
    // The same figures in both forms.
    use parquet::{
        file::reader::{FileReader, SerializedFileReader},
        record::RowAccessor,
    };
    let reader = SerializedFileReader::new(std::fs::File::open(path("a.parquet")).unwrap()).unwrap();
    let mut same = 0;
    for (row, line) in reader.get_row_iter(None).unwrap().zip(csv.lines().skip(1)) {
        let supply: f64 = line.split(',').nth(3).unwrap().parse().unwrap();
        assert!((row.unwrap().get_double(3).unwrap() - supply).abs() < 1e-4);
        same += 1;
    }
    assert_eq!(same, 145);
}

/// Calls of the workshop: the shop all day, the office from six to seven.
const CALLS: &str = "time,shop,office\n2015-01-05T00:00:00,1,0\n2015-01-05T06:00:00,1,1\n2015-01-05T07:00:00,1,0\n\
    2015-01-05T23:59:00,1,0\n";

#[test]
fn recorded_calls_stand_in_place_of_the_thermostats() {
    let dir = tempfile::tempdir().unwrap();
    let plant = example("workshop.toml");
    let plant = plant.to_str().unwrap();
    let file = dir.path().join("calls.csv");
    let ran = |text: &str, more: &[&str]| {
        std::fs::write(&file, text).unwrap();
        let mut args = vec!["simulate", plant, "--days", "1", "-q", "--calls", file.to_str().unwrap()];
        args.extend(more);
        run(&args)
    };
    let (code, text, err) = ran(CALLS, &["--format", "json"]);
    assert_eq!((code, err.as_str()), (0, ""));
    let v: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(v["from"], "2015-01-05 00:00:00", "the run begins with the record");
    let zones = v["summary"]["zones"].as_array().unwrap();
    let hours = |k: usize| zones[k]["call_h"].as_f64().unwrap();
    assert!((hours(0) - 24.0).abs() < 0.01 && (hours(1) - 1.0).abs() < 0.01, "{} {}", hours(0), hours(1));
    // The shop's call stands from the first moment on and began before it; the office's begins once.
    assert_eq!((zones[0]["calls"].as_u64(), zones[1]["calls"].as_u64()), (Some(0), Some(1)));
    // One column less: that zone keeps its own thermostat.
    let (_, text, _) = ran("time,shop\n2015-01-05T00:00:00,0\n2015-01-05T23:00:00,0\n", &["--format", "json"]);
    let v: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(v["summary"]["zones"][0]["call_h"], 0.0);
    assert!(v["summary"]["zones"][1]["calls"].as_u64().unwrap() > 3);
    // A line twice is mended and told.
    let twice = CALLS.replace("2015-01-05T07:00:00,1,0\n", "2015-01-05T07:00:00,1,0\n2015-01-05T07:00:00,1,0\n");
    let (code, text, _) = ran(&twice, &[]);
    assert_eq!(code, 0);
    assert!(text.contains("line 5 says the same as the line before it"), "{text}");
    for (bad, said) in [
        (CALLS.replace("office", "ofice"), "perhaps `office` is meant"),
        (CALLS.replace("06:00:00,1,1", "06:00:00,1,68.5"), "neither 0 nor 1"),
        (CALLS.replace("T07", "T05"), "is not later than the line before it"),
        (CALLS.replace("2015", "2013"), "2013"),
        (String::new(), "is empty"),
    ] {
        let (code, _, err) = ran(&bad, &[]);
        assert_eq!(code, 2, "{said}");
        assert!(err.contains(said), "{said}: {err}");
    }
    let (code, _, err) = ran(CALLS, &["--from", "2015-01-09"]);
    assert_eq!(code, 2);
    assert!(err.contains("the run wants"), "{err}");
}

#[test]
fn the_controller_is_driven_by_a_record() {
    let dir = tempfile::tempdir().unwrap();
    let plant = example("workshop.toml");
    let plant = plant.to_str().unwrap();
    let (calls, temps) = (dir.path().join("calls.csv"), dir.path().join("temps.csv"));
    std::fs::write(&calls, CALLS).unwrap();
    let mut good = String::from("time,outdoor °F,supply °F,return °F\n");
    for k in 0..24 * 6 {
        // Cold outdoors, water far below any target: the boiler must be asked for all the time the shop calls.
        // They move a little, as real ones do.
        let row = if k % 2 == 1 { "20,100,95" } else { "20.5,101,95.5" };
        good.push_str(&format!("2015-01-05T{:02}:{:02}:00,{row}\n", k / 6, k % 6 * 10));
    }
    let ran = |text: &str, more: &[&str]| {
        std::fs::write(&temps, text).unwrap();
        let mut args = vec!["simulate", plant, "--recorded", temps.to_str().unwrap()];
        args.extend(more);
        run(&args)
    };
    let with = ["--calls", calls.to_str().unwrap()];
    let (code, text, err) = ran(&good, &with);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("Open loop"), "{text}");
    // The sensor that is not recorded is no broken one, and the report names it.
    assert!(
        words.contains("taken as not there, so that no alarm stands for them: Boiler outlet sensor.")
            && text.contains("The alarm relay did not drop."),
        "{text}"
    );
    assert!(!text.contains("R09"), "{text}");
    let (_, text, _) = ran(&good, &[with[0], with[1], "--format", "json"]);
    let v: serde_json::Value = serde_json::from_str(&text).unwrap();
    let on_h = |serves: &str| {
        let all = v["commands"].as_array().unwrap();
        let c = all.iter().find(|c| c["serves"].as_str().unwrap().contains(serves)).unwrap();
        c["on_h"].as_f64().unwrap()
    };
    let length = v["length_h"].as_f64().unwrap();
    assert_eq!((v["alarm"]["at_end"].as_bool(), v["alarm"]["hours_h"].as_f64()), (Some(false), Some(0.0)));
    assert_eq!(v["not_recorded"][0], "Boiler outlet sensor");
    assert!((length - 23.83).abs() < 0.01, "{length}");
    assert!(on_h("demand") > 0.95 * length && on_h("Shop pump") > 0.95 * length, "{text}");
    // One hour of call, and the overrun behind it.
    assert!((1.0..1.5).contains(&on_h("Office pump")), "{text}");
    // The same with water far above the target: no demand but the shortest run.
    let hot = good.replace(",100,95", ",195,190").replace(",101,95.5", ",196,190.5");
    let (_, text, _) = ran(&hot, &[with[0], with[1], "--format", "json"]);
    let v: serde_json::Value = serde_json::from_str(&text).unwrap();
    let all = v["commands"].as_array().unwrap();
    let demand = all.iter().find(|c| c["serves"].as_str().unwrap().contains("demand")).unwrap();
    assert!(demand["on_h"].as_f64().unwrap() < 0.2, "{text}");
    // The commands as a table: a time, each sensor, the target, each relay, the signal.
    let (_, text, _) = ran(&good, &[with[0], with[1], "--format", "csv", "--sample", "60"]);
    assert_eq!(text.lines().count(), 25);
    assert!(text.starts_with("Time,\"Outdoor sensor, °F\",\"Supply sensor, °F\""), "{text}");
    for (bad, said) in [
        (good.replace("supply °F", "supply"), "says no unit"),
        (good.replace("supply °F", "suply °F"), "perhaps `supply` is meant"),
        (good.replace("outdoor °F", "outdoor °C").replace(",20,", ",70,"), "is the column in °F?"),
        (good.replace(",100,95", ",,95").replace(",101,95.5", ",,95.5"), "fewer than two readings"),
        (good.replace("return °F", "outlet-b1 °F").replace("supply °F", "return °F"), "no column is the supply"),
        (good.replace("2015-01-05T10", "2015-01-05T09"), "is not later than"),
    ] {
        let (code, _, err) = ran(&bad, &with);
        assert_eq!(code, 2, "{said}");
        assert!(err.contains(said), "{said}: {err}");
    }
    // A hole of half an hour is bridged and told; one of five hours is refused.
    let hole = good.replace("2015-01-05T10:10:00,20,100,95\n2015-01-05T10:20:00,20.5,101,95.5\n", "");
    let (code, text, _) = ran(&hole, &with);
    assert_eq!(code, 0);
    assert!(text.contains("bridged by a straight line, the longest of 30 min"), "{text}");
    let kept = |l: &&str| !(5..10).any(|h| l.contains(&format!("T{h:02}:")));
    let gone: String = good.lines().filter(kept).map(|l| format!("{l}\n")).collect();
    let (code, _, err) = ran(&gone, &with);
    assert_eq!(code, 2);
    assert!(err.contains("has no reading for 5.2 h"), "{err}");
    let (code, _, err) = ran(&good, &[]);
    assert_eq!(code, 2);
    assert!(err.contains("nobody calls for heat"), "{err}");
}

/// A result for programs says the same whatever the text would be in.
#[test]
fn json_does_not_hang_on_the_units_of_the_text() {
    let (_dir, path) = changed("workshop.toml", "relief-capacity = \"110 MBH\"", "relief-capacity = \"60 MBH\"");
    for args in [
        vec!["check", &path],
        vec!["curve", &path],
        vec!["water", &path],
        vec!["simulate", &path, "--days", "2", "-q"],
        vec!["redundancy", &path, "--days", "1", "-q"],
    ] {
        let json = |units: &str| run(&[&args[..], &["--format", "json", "--units", units]].concat()).1;
        let (us, si) = (json("us"), json("si"));
        assert_eq!(us, si, "{args:?}");
        assert!(us.len() > 100, "{args:?}: {us}");
    }
    let (_, text, _) = run(&["water", &path, "--format", "json"]);
    let v: serde_json::Value = serde_json::from_str(&text).unwrap();
    let small = v["findings"].as_array().unwrap().iter().find(|f| f["code"] == "relief-small").unwrap();
    // 60 MBH are 17,584 W.
    assert!((small["facts"]["rated_w"].as_f64().unwrap() - 17_584.3).abs() < 0.5, "{small}");
}

/// One number or word a cell, the unit in the head.
#[test]
fn tables_for_programs_hold_one_figure_a_cell() {
    let plant = example("terrace.toml");
    let plant = plant.to_str().unwrap();
    let (code, text, _) = run(&["redundancy", plant, "--days", "1", "--format", "csv", "-q"]);
    assert_eq!(code, 0);
    let head = text.lines().next().unwrap();
    assert!(
        head.ends_with("\"Below 40.0 °F, h\",Below 40.0 °F") && head.contains("\"Under set, h\",Under set"),
        "{head}"
    );
    let mut rows = csv::Reader::from_reader(text.as_bytes());
    let columns = rows.headers().unwrap().clone();
    for row in rows.records().map(Result::unwrap) {
        for (head, cell) in columns.iter().zip(&row).filter(|(h, _)| h.contains(", ")) {
            assert!(cell.is_empty() || cell.parse::<f64>().is_ok(), "{head}: {cell}");
        }
    }
    let library = example("library.toml");
    let (_, text, _) = run(&["rotation", library.to_str().unwrap(), "--days", "1", "--format", "csv", "-q"]);
    let head = text.lines().next().unwrap();
    assert!(head.contains("\"Hours b1, h\",\"Hours b2, h\",\"Hours b3, h\",Starts b1,Starts b2,Starts b3"), "{head}");
    assert!(!text.contains(" / "), "{text}");
}

/// A boiler without gas is told by the alarm, and the other takes over; a dead pump of a zone without a proof is not.
#[test]
fn what_is_made_to_fail_is_told_with_what_became_of_it() {
    let plant = example("library.toml");
    let plant = plant.to_str().unwrap();
    let base = ["simulate", plant, "--days", "1", "-q", "--format", "json"];
    let (code, text, err) =
        run(&[&base[..], &["--fault", "b1=lockout@6", "--fault", "p-reading=stopped@12-18"]].concat());
    assert_eq!((code, err.as_str()), (0, ""));
    let v: serde_json::Value = serde_json::from_str(&text).unwrap();
    let failed = v["failed"].as_array().unwrap();
    assert_eq!((failed[0]["id"].as_str(), failed[1]["id"].as_str()), (Some("b1"), Some("p-reading")));
    assert!(failed[0]["alarm_after_s"].as_f64().unwrap() < 3600.0, "{failed:?}");
    assert_eq!(failed[1]["to_h"].as_f64(), Some(18.0));
    let codes: Vec<&str> = v["findings"].as_array().unwrap().iter().filter_map(|f| f["code"].as_str()).collect();
    assert!(codes.contains(&"R10") && codes.contains(&"R09"), "{codes:?}");
    // Six hours of flame and no more.
    let (_, text, _) = run(&base);
    let whole: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(whole["failed"].as_array().unwrap().len(), 0);
    let hours = |v: &serde_json::Value| v["summary"]["boilers"][0]["hours_h"].as_f64().unwrap();
    assert!(hours(&v) <= 6.1 && hours(&whole) > 12.0, "{} {}", hours(&v), hours(&whole));
    // Words that mean nothing here are refused, each with what can be.
    for (fault, said) in [
        ("b9=lockout@6", "nothing called `b9` can fail"),
        ("b1=frozen@6", "it can be: lockout, off"),
        ("b1=lockout@30", "the run ends after 24 h"),
        ("b1=lockout", "write ID=HOW@HOURS"),
    ] {
        let (code, _, err) = run(&[&base[..], &["--fault", fault]].concat());
        assert_eq!(code, 2, "{fault}");
        assert!(err.contains(said), "{fault}: {err}");
    }
}

/// Redundancy with what switched, and with the course of all cases in a file.
#[test]
fn redundancy_tells_what_switched_and_writes_its_course() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("course.csv");
    let plant = example("library.toml");
    let args = ["redundancy", plant.to_str().unwrap(), "--days", "1", "-q", "--events", "5", "--series"];
    let (code, text, err) = run(&[&args[..], &[file.to_str().unwrap()]].concat());
    assert_eq!((code, err.as_str()), (0, ""));
    assert_eq!(text.matches("What switched, and why: ").count(), 3, "{text}");
    // The boilers fail a day after the start; nothing of the day before is listed.
    assert!(text.contains("from 2015-01-06 00:00:00 on"), "{text}");
    let course = std::fs::read_to_string(&file).unwrap();
    // Two days, a row every ten minutes, both ends.
    assert_eq!(course.lines().count(), 1 + 2 * 144 + 1, "{}", course.lines().count());
    let last = course.lines().last().unwrap();
    assert_eq!(last.split(',').count(), 2 + 3 * 9, "{last}");
}

/// A boiler on a reset of its own holds the curve at its outlet: nothing makes up for what the header mixes in, whatever a controller's
/// own setting would be.
#[test]
fn zone_relays_make_up_for_no_dilution() {
    let (_dir, plant) = changed("terrace.toml", "flow = \"8 gal/min\"", "flow = \"3 gal/min\"");
    let (_, text, err) = run(&["check", &plant]);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("header-trim-short") && text.contains("nothing raises their target"), "{text} {err}");
}

/// A safety that only alarms has its own contact at the controller; where nothing listens, or a second contact is promised, the file is
/// refused.
#[test]
fn a_safety_that_only_alarms_is_wired_or_refused() {
    let alone = "[safety.plow]\nkind = \"pressure-low\"\nscope = \"plant\"\n[guard]";
    let (_dir, plant) = changed("workshop.toml", "[guard]", alone);
    let (code, text, err) = run(&["wire", &plant, "--format", "csv", "-q"]);
    let landed = text.lines().filter(|l| l.contains("F6,11") || l.contains("F6,12")).count();
    assert_eq!((code, landed), (0, 2), "{text} {err}");
    let (_, text, _) = run(&["checkout", &plant, "--part", "trip", "-q"]);
    assert!(text.contains("alarm lights"), "{text}");
    let (_dir, plant) = changed("workshop.toml", "[guard]", &alone.replace("[guard]", "aux = true\n[guard]"));
    assert!(run(&["check", &plant]).2.contains("error[P45]: `safety.plow.aux` has no effect"));
    let (_dir, plant) = changed("terrace.toml", "[reset]", &alone.replace("[guard]", "[reset]"));
    assert!(run(&["check", &plant]).2.contains("error[P80]"));
}

/// A sheet follows the file: what is typed there stands on it, in the units that were asked for, and zone relays have the curve at the
/// boilers.
#[test]
fn settings_follow_the_file() {
    let (_dir, plant) = changed("workshop.toml", "warm-weather-off = \"62 °F\"", "warm-weather-off = \"17 °C\"");
    let (_, text, err) = run(&["settings", &plant, "--units", "si"]);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("no heating above, outdoors 17.0 °C"), "{text} {err}");
    let terrace = example("terrace.toml");
    let (_, csv, _) = run(&["settings", terrace.to_str().unwrap(), "--format", "csv"]);
    let own = csv.lines().filter(|l| l.contains("its own reset")).count();
    assert!(own >= 4 && !csv.contains("controller"), "{csv}");
}
