//! What a heating designer asks of the studies, as a user runs them: flows and emitters that fit no loss, targets near a bound.

use std::{path::PathBuf, process::Command};

/// An example with texts in it replaced, in a folder of its own.
fn changed(name: &str, swaps: &[(&str, &str)]) -> (tempfile::TempDir, String) {
    let example = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/examples").join(name);
    let mut text = std::fs::read_to_string(example).unwrap();
    for (from, to) in swaps {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("plant.toml");
    std::fs::write(&path, text).unwrap();
    let path = path.to_string_lossy().into_owned();
    (dir, path)
}

/// Exit code and both outputs, one blank between words.
fn run(args: &[&str]) -> (i32, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_heatwright")).args(args).output().unwrap();
    let text = [out.stdout, out.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    (out.status.code().unwrap(), text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// NFPA 54, from memory: 4 % for each 1,000 ft above the sea, above 2,000 ft. The workshop's boiler gives 80 MBH of input; at 5,000 ft
/// 20 % less, and its zones lose 52 MBH.
#[test]
fn a_high_site_takes_from_the_plate_and_says_so() {
    let at = |altitude: &str| {
        let (_dir, plant) =
            changed("workshop.toml", &[("altitude = \"600 ft\"", &format!("altitude = \"{altitude}\""))]);
        run(&["check", &plant]).1
    };
    assert!(!at("2000 ft").contains("altitude-high"));
    // Said for the height: nothing to tell. Said for sea level: 80 MBH less 29 % are too small for the zones, and that is told.
    let said = |altitude: &str, input_at: &str| {
        let input = format!("input = \"80 MBH\"\ninput-at = \"{input_at}\"");
        let swaps = [("altitude = \"600 ft\"", format!("altitude = \"{altitude}\"")), ("input = \"80 MBH\"", input)];
        let swaps: Vec<(&str, &str)> = swaps.iter().map(|(from, to)| (*from, to.as_str())).collect();
        let (_dir, plant) = changed("workshop.toml", &swaps);
        run(&["check", &plant]).1
    };
    for (altitude, input_at) in [("7200 ft", "site"), ("5000 ft", "sea-level"), ("600 ft", "sea-level")] {
        let text = said(altitude, input_at);
        assert!(!text.contains("altitude-high") && !text.contains("boilers-short"), "{text}");
    }
    let short = said("7200 ft", "sea-level");
    assert!(short.contains("[boilers-short]") && !short.contains("altitude-high"), "{short}");
    let high = at("5000 ft");
    assert!(high.contains("note[altitude-high]") && high.contains("about 20 % less"), "{high}");
    // At 7,200 ft 71.2 % of its output of 70.5 MBH are left, less than the zones lose.
    let short = at("7200 ft");
    assert!(short.contains("warning[altitude-high]") && short.contains("about 29 % less"), "{short}");
}

#[test]
fn a_boiler_with_a_figure_too_many_is_told() {
    let (_dir, plant) = changed("workshop.toml", &[("input = \"80 MBH\"", "input = \"800 MBH\"")]);
    let text = run(&["check", &plant]).1;
    assert!(text.contains("note[boiler-large]"), "{text}");
    let (_dir, plant) = changed("workshop.toml", &[]);
    assert!(!run(&["check", &plant]).1.contains("boiler-large"));
}

/// Calls, pumps, mixed water and what enters a boiler stand in the series, beside what there was.
#[test]
fn a_series_tells_calls_pumps_and_mixed_water() {
    let example = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/examples/library.toml");
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("a.csv");
    let args = ["simulate", example.to_str().unwrap(), "--days", "1", "-q", "--sample", "10", "--series"];
    let (code, text) = run(&[&args[..], &[file.to_str().unwrap()]].concat());
    assert_eq!(code, 0, "{text}");
    let mut csv = csv::Reader::from_path(&file).unwrap();
    let heads = csv.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = csv.records().map(|r| r.unwrap()).collect();
    let column = |head: &str| -> Vec<f64> {
        let at = heads.iter().position(|h| h == head).unwrap_or_else(|| panic!("{head}: {heads:?}"));
        rows.iter().map(|r| r[at].parse().unwrap()).collect()
    };
    let [calls, runs, mixed, supply, entering, outlet] = [
        "reading calls, 0 or 1",
        "p-reading runs, 0 or 1",
        "lobby mixed supply, °F",
        "Supply, °F",
        "b1 entering, °F",
        "b1 outlet, °F",
    ]
    .map(column);
    assert_eq!(rows.len(), 145);
    // A call has its pump in this plant, but for the seconds until it counts; the floor's water lies below its limit of 125 °F.
    let unlike = calls.iter().zip(&runs).filter(|(c, r)| **c == 1.0 && **r == 0.0).count();
    assert!(calls.contains(&0.0) && calls.contains(&1.0) && unlike < 8, "{unlike}");
    assert!(mixed.iter().zip(&supply).all(|(m, s)| *m < 126.0 && m < s), "{mixed:?}");
    assert!(entering.iter().zip(&outlet).filter(|(e, o)| e < o).count() > 130);
}

/// A month of winter days in degrees Fahrenheit under the head of degrees Celsius: each reading is one that there is.
#[test]
fn winter_days_in_the_wrong_unit_are_doubted() {
    let (dir, plant) = changed("workshop.toml", &[]);
    let run_on = |head: &str| {
        let weather = dir.path().join(format!("{head}.csv"));
        let rows: String = (0..31 * 24)
            .map(|h| {
                let swing = f64::sin(f64::from(h) / 24.0 * std::f64::consts::TAU);
                format!("2015-01-{:02}T{:02}:00:00,{:.1}\n", h / 24 + 1, h % 24, 30.0 + 7.0 * swing)
            })
            .collect();
        std::fs::write(&weather, format!("time,{head}\n{rows}")).unwrap();
        let weather = weather.to_string_lossy().into_owned();
        run(&["simulate", &plant, "--weather", &weather, "--days", "3", "-q"])
    };
    let (code, text) = run_on("dry_bulb_c");
    assert!(code == 0 && text.contains("where nobody heats") && text.contains("`dry_bulb_f`"), "{code} {text}");
    let (code, text) = run_on("dry_bulb_f");
    assert!(code == 0 && !text.contains("where nobody heats"), "{code} {text}");
}

#[test]
fn a_flow_of_a_fifth_of_a_gallon_is_told_as_such() {
    let (_dir, plant) = changed("workshop.toml", &[("[zone.office]", "[zone.office]\nflow = \"0.2 gal/min\"")]);
    let (code, text) = run(&["curve", &plant]);
    assert_eq!(code, 0, "{text}");
    assert!(
        text.contains("error flow-short: Office:") && text.contains("16.0 MBH cool its flow by 162.6 °F"),
        "{text}"
    );
    let (_, bent) = run(&["check", &plant]);
    assert!(!bent.contains("C01"), "{bent}");
}

/// The mean by EN 442 practice: below a ratio of 0.7 the logarithmic one. By hand for a panel of 21 MBH at 75/65/20 °C (log mean
/// 49.833 K) and 16 MBH at 0.8 gal/min: drop 40.64 °F at 492.1 Btu/h per gal/min and °F (water of 60 °C), log mean
/// 49.833 (16/21)^(1/1.3) = 40.43 K = 72.77 °F, supply 70 + 40.64 / (1 - exp(-40.64/72.77)) = 164.97 °F. By the arithmetic mean it
/// would be 163.4 °F.
#[test]
fn water_that_cools_far_is_taken_at_the_logarithmic_mean() {
    let (_dir, plant) = changed("workshop.toml", &[("[zone.office]", "[zone.office]\nflow = \"0.8 gal/min\"")]);
    let (_, json) = run(&["curve", &plant, "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let zone = &json["rows"][0]["zones"][1];
    let needed_f = zone["needed_c"].as_f64().unwrap() * 1.8 + 32.0;
    assert!((needed_f - 164.97).abs() < 0.1, "{needed_f}");
}

#[test]
fn a_target_too_near_what_a_boiler_may_give_is_told() {
    let near = |tank: &str| {
        let (_dir, plant) = changed("library.toml", &[("target = \"180 °F\"", tank)]);
        run(&["curve", &plant]).1
    };
    // The bound is 190 °F and a boiler goes 7.2 °F above its target.
    assert!(!near("target = \"182 °F\"").contains("outlet-near"));
    let text = near("target = \"184 °F\"");
    assert_eq!(text.matches("warning outlet-near:").count(), 3, "{text}");
    assert!(text.contains("its highest target is 184.0 °F and it stops 7.2 °F above that"), "{text}");
}

#[test]
fn rows_are_timed_alike_on_the_screen_and_in_a_file() {
    let (dir, plant) = changed("workshop.toml", &[]);
    let file = dir.path().join("run.csv");
    let file = file.to_str().unwrap();
    let (code, text) = run(&["simulate", &plant, "--days", "1", "-q", "--format", "csv", "--series", file]);
    assert_eq!(code, 0, "{text}");
    let times = |t: &str| t.matches("2015-01-0").count();
    assert!(times(&text) >= 24 && text.contains("2015-01-07T01:00:00,") || text.contains("T01:00:00,"), "{text}");
    let written = std::fs::read_to_string(file).unwrap();
    for line in written.lines().skip(1) {
        let time = line.split(',').next().unwrap();
        assert!(text.contains(&format!("{time},")), "{time} is not on the screen");
    }
}

/// Nobody can guess who called before a record begins: until then the model's own thermostats do, and it is said.
#[test]
fn before_a_record_of_calls_begins_the_model_calls() {
    let (dir, plant) = changed("workshop.toml", &[]);
    let file = dir.path().join("calls.csv");
    std::fs::write(&file, "time,office\n2015-01-05T12:00:00,0\n2015-01-05T23:59:00,0\n").unwrap();
    let file = file.to_str().unwrap();
    let ran = |more: &[&str]| run(&[&["simulate", &plant, "--days", "1", "-q", "--calls", file], more].concat()).1;
    let text = ran(&[]);
    assert!(text.contains("first line, 2015-01-05T12:00:00, the model's own thermostats call"), "{text}");
    let v: serde_json::Value = serde_json::from_str(&ran(&["--format", "json"])).unwrap();
    let office = &v["summary"]["zones"][1];
    let hours = office["call_h"].as_f64().unwrap();
    assert!(hours > 3.0 && hours < 12.01, "half a day of its own calls, then none: {office}");
}

/// Air never stands still for a day; in a made-up constant it does, and that is no broken sensor.
#[test]
fn constant_weather_raises_no_alarm_and_says_so() {
    let (dir, plant) = changed("workshop.toml", &[]);
    let file = dir.path().join("constant.csv");
    let mut text = String::from("time,dry_bulb_c\n");
    for day in 1..=5 {
        for hour in 0..24 {
            text += &format!("2015-01-{day:02}T{hour:02}:00,-15.0\n");
        }
    }
    std::fs::write(&file, text + "2015-01-06T00:00,-15.0\n").unwrap();
    let weather = file.to_str().unwrap();
    let args =
        ["simulate", &plant, "--weather", weather, "--from", "2015-01-01", "--days", "5", "-q", "--events", "9999"];
    let (code, text) = run(&args);
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("The alarm relay did not drop."), "{text}");
    assert!(text.contains("This weather stands still"), "{text}");
    // Weather that moves has neither; a run does not begin with an alarm that only its own start made.
    let (_, text) = run(&["simulate", &plant, "--days", "2", "-q", "--events", "9999"]);
    assert!(text.contains("The alarm relay did not drop.") && !text.contains("stands still"), "{text}");
}

#[test]
fn one_boiler_has_nothing_to_rotate_nor_to_draw() {
    let (dir, plant) = changed("workshop.toml", &[]);
    let chart = dir.path().join("none.svg");
    let (code, text) = run(&["rotation", &plant, "-q", "--plot", chart.to_str().unwrap()]);
    assert!(code == 0 && text.contains("nothing to draw: no chart is written") && !chart.exists(), "{text}");
    let (_, csv) = run(&["rotation", &plant, "-q", "--format", "csv"]);
    assert_eq!(csv, "Lead passes on,Stops first");
}

/// The library's boilers are told their target; the figures that are planted are a newcomer's slips.
#[test]
fn a_signal_scale_that_ends_below_the_curve_is_told() {
    let check = |high: &str| {
        let (_dir, plant) = changed("library.toml", &[("signal-high = \"212 °F\"", high)]);
        run(&["check", &plant]).1
    };
    let short = check("signal-high = \"112 °F\"");
    assert!(short.contains("warning[C10]") && short.contains("10 V asks it for 112 °F"), "{short}");
    assert!(!check("signal-high = \"212 °F\"").contains("C10"));
}

#[test]
fn several_boilers_with_targets_and_no_return_sensor_are_told() {
    let (_dir, plant) = changed(
        "library.toml",
        &[("[sensor.return]\nname = \"Return sensor\"\nmeasures = \"return\"\nrun = \"30 ft\"\n", "")],
    );
    let (_, text) = run(&["check", &plant]);
    assert!(text.contains("warning[C11]"), "{text}");
    let (_dir, plant) = changed("library.toml", &[]);
    assert!(!run(&["check", &plant]).1.contains("C11"));
}

/// The library's curve asks for about 170 °F at the design temperature, which occupied rooms need.
#[test]
fn a_setback_of_the_curve_that_starves_the_rooms_is_told() {
    let check = |by: &str| {
        let (_dir, plant) =
            changed("library.toml", &[("boost = \"15 °F\"", &format!("setback = \"{by}\"\nboost = \"15 °F\""))]);
        run(&["check", &plant]).1
    };
    let deep = check("50 °F");
    assert!(deep.contains("warning[C14]") && deep.contains("it goes on cooling past its setting"), "{deep}");
    assert!(!check("0 °F").contains("C14"));
}

/// The lobby's floor is made for 115 °F in the coldest weather; a controller that mixes 90 °F then leaves it cold, whatever
/// mixed-max would let through.
#[test]
fn a_mixed_target_that_is_too_low_is_an_error_of_the_curve() {
    let curve = |design: &str| {
        // The floor's limits go with its design.
        let (most, limit) = if design.contains("90") { ("100 °F", "110 °F") } else { ("125 °F", "135 °F") };
        let (most, limit) = (format!("mixed-max = \"{most}\""), format!("opens-at = \"{limit}\""));
        let swaps = [
            ("mixed-design = \"115 °F\"", design),
            ("mixed-max = \"125 °F\"", &most),
            ("opens-at = \"135 °F\"", &limit),
        ];
        let (_dir, plant) = changed("library.toml", &swaps);
        run(&["curve", &plant]).1
    };
    let cold = curve("mixed-design = \"90 °F\"");
    assert!(cold.contains("error mixed-short: Lobby") && cold.contains("lets 90.0 °F through"), "{cold}");
    assert!(!curve("mixed-design = \"115 °F\"").contains("mixed-short"));
}

#[test]
fn fan_units_without_fans_are_told() {
    let (_dir, plant) = changed(
        "workshop.toml",
        &[(
            "[zone.office]",
            "[zone.bay]\ndesign-loss = \"9 MBH\"\npump = \"p-office\"\nemitter = { kind = \"unit-heater\", output = \"20 MBH\" }\n[zone.office]",
        )],
    );
    let (_, text) = run(&["check", &plant]);
    assert!(text.contains("warning[C12]"), "{text}");
    let (_dir, plant) = changed("library.toml", &[]);
    assert!(!run(&["check", &plant]).1.contains("C12"));
}

/// A boiler flow read as 6 gal/min for 36: the header would have to be made up for with water that no boiler gives.
#[test]
fn water_that_the_boilers_cannot_give_is_told() {
    let slip = [("flow = \"36 gal/min\"\nflow-min = \"15 gal/min\"", "flow = \"6 gal/min\"\nflow-min = \"5 gal/min\"")];
    let (_dir, plant) = changed("library.toml", &slip);
    let (_, text) = run(&["check", &plant]);
    assert!(text.contains("warning[header-trim-short]") && text.contains("warning[outlet-over]"), "{text}");
    let (_dir, plant) = changed("library.toml", &[]);
    let (_, text) = run(&["check", &plant]);
    assert!(!text.contains("header-trim-short") && !text.contains("outlet-over"), "{text}");
}

/// The terrace's two boilers are right; twice as large the one is enough and the other too much, half as large they leave no spare, and a plant
/// that names no expansion tank is asked for it.
#[test]
fn boilers_and_expansion_tank_are_held_against_the_load() {
    let told = |swaps: &[(&str, &str)]| {
        let (_dir, plant) = changed("terrace.toml", swaps);
        let all = run(&["check", &plant]).1;
        ["note[boilers-large]", "note[spare-short]", "note[expansion-tank-unsaid]"].map(|code| all.contains(code))
    };
    let input = "input = \"80 MBH\"";
    assert_eq!(told(&[]), [false; 3]);
    assert_eq!(told(&[(input, "input = \"150 MBH\"")]), [true, false, false]);
    assert_eq!(told(&[(input, "input = \"40 MBH\"")]), [false, true, false]);
    assert_eq!(told(&[("expansion-tank = \"10 gal\"", "")]), [false, false, true]);
}
