//! The command as a user runs it: exit codes, formats, widths, files, bad weather.

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_heatwright")).args(args).current_dir(root()).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

const WORKSHOP: &str = "docs/examples/workshop.toml";
const LIBRARY: &str = "docs/examples/library.toml";
const CHAPEL: &str = "docs/examples/chapel.toml";
const TERRACE: &str = "docs/examples/terrace.toml";

/// A folder that is gone when the test ends.
fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

/// The workshop with one text replaced.
fn workshop_with(dir: &tempfile::TempDir, from: &str, to: &str) -> PathBuf {
    let text = fs::read_to_string(root().join(WORKSHOP)).unwrap();
    assert!(text.contains(from));
    let path = dir.path().join("plant.toml");
    fs::write(&path, text.replace(from, to)).unwrap();
    path
}

#[test]
fn the_examples_are_clean_and_their_paper_fits_80_columns() {
    for plant in [WORKSHOP, LIBRARY, TERRACE, CHAPEL] {
        for args in [
            vec!["check", plant],
            vec!["curve", plant],
            vec!["wire", plant],
            vec!["wire", plant, "--prove"],
            vec!["wire", plant, "--readings"],
            vec!["wire", plant, "--by", "device"],
            vec!["wire", plant, "--by", "run"],
            vec!["wire", plant, "--by", "motor"],
            vec!["wire", plant, "--by", "transformer"],
            vec!["wire", plant, "--by", "material"],
            vec!["wire", plant, "--by", "label"],
            vec!["wire", plant, "--by", "bar"],
            vec!["wire", plant, "--by", "cable"],
            vec!["wire", plant, "--by", "directory"],
            vec!["lockout", plant],
            vec!["checkout", plant],
            vec!["lockout", plant, "--card"],
            vec!["simulate", plant, "--days", "1"],
        ] {
            let out = run(&args);
            assert_eq!(out.status.code(), Some(0), "{args:?}: {}", text(&out.stderr));
            let stdout = text(&out.stdout);
            assert!(stdout.lines().count() > 5, "{args:?} says next to nothing");
            for line in stdout.lines() {
                assert!(line.chars().count() <= 80, "{args:?}: {line}");
                assert!(!line.contains('\u{1b}'), "{args:?}: escape codes without a terminal");
            }
        }
    }
}

/// What was printed, with its lines and their margins joined.
fn unwrapped(bytes: &[u8]) -> String {
    text(bytes).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_needs_our_controller_says_so_of_a_plant_without_it() {
    for args in [
        vec!["rotation", TERRACE],
        vec!["firmware", TERRACE],
        vec!["simulate", TERRACE, "--controller", "emulated", "--image", "x"],
    ] {
        let out = run(&args);
        assert_eq!(out.status.code(), Some(2), "{args:?}");
        let told = unwrapped(&out.stderr);
        assert!(told.contains("needs our controller") && told.contains("zone relays"), "{args:?}: {told}");
    }
}

/// What can be asked of it is answered without a controller being spoken of.
#[test]
fn redundancy_of_zone_relays_speaks_of_no_controller_that_goes_on() {
    let out = run(&["redundancy", TERRACE, "--days", "1"]);
    assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
    let told = unwrapped(&out.stdout);
    assert!(told.contains("there is no controller") && !told.contains("same control logic"), "{told}");
}

/// Read as an electrician reads it, wire by wire.
#[test]
fn the_schedule_and_the_materials_of_the_terrace_are_as_they_were_read() {
    insta::assert_snapshot!("wire_terrace", text(&run(&["wire", TERRACE]).stdout));
    insta::assert_snapshot!("wire_terrace_material", text(&run(&["wire", TERRACE, "--by", "material"]).stdout));
    insta::assert_snapshot!("lockout_terrace_panel", text(&run(&["lockout", TERRACE, "--item", "relay panel"]).stdout));
    insta::assert_snapshot!("checkout_terrace", text(&run(&["checkout", TERRACE]).stdout));
}

/// A controller and the relays that take over from it.
#[test]
fn the_schedule_of_the_chapel_is_as_it_was_read() {
    insta::assert_snapshot!("wire_chapel", text(&run(&["wire", CHAPEL]).stdout));
}

#[test]
fn what_zone_relays_have_no_use_for_is_refused_at_its_place() {
    let dir = folder();
    let plant = dir.path().join("plant.toml");
    let terrace = fs::read_to_string(root().join(TERRACE)).unwrap();
    for (what, from, to) in [
        ("nothing falls back", "[reset]", "[guard]\nfallback = \"zone-relays\"\n[reset]"),
        ("nobody who reads it", "[reset]", "[sensor.outdoor]\nname = \"Outdoor\"\nmeasures = \"outdoor\"\n[reset]"),
        ("no alarm relay", "[reset]", "[alarm]\nplace = \"hall\"\n[reset]"),
        ("nothing over 0-10 V", "drive = \"demand\" ", "drive = \"rate\" "),
    ] {
        assert!(terrace.contains(from), "{from}");
        fs::write(&plant, terrace.replacen(from, to, 1)).unwrap();
        let out = run(&["check", plant.to_str().unwrap()]);
        assert_eq!(out.status.code(), Some(2), "{what}");
        let told = unwrapped(&out.stderr);
        assert!(told.contains("P62") && told.contains(what), "{what}: {told}");
    }
}

#[test]
fn units_are_those_that_were_asked_for() {
    let si = text(&run(&["curve", WORKSHOP, "--units", "si"]).stdout);
    assert!(si.contains("°C") && !si.contains("°F"), "{si}");
    let us = text(&run(&["curve", WORKSHOP]).stdout);
    assert!(us.contains("°F") && !us.contains("°C"), "{us}");
}

#[test]
fn csv_is_a_table_and_json_is_json() {
    for args in [
        vec!["wire", LIBRARY],
        vec!["wire", LIBRARY, "--by", "device"],
        vec!["curve", LIBRARY],
        vec!["lockout", WORKSHOP],
        vec!["checkout", WORKSHOP, "--part", "trip"],
        vec!["check", WORKSHOP],
        vec!["simulate", WORKSHOP, "--days", "1"],
        vec!["explain", "--list"],
    ] {
        let mut csv_args = args.clone();
        csv_args.extend(["--format", "csv"]);
        let out = run(&csv_args);
        let mut reader = csv::ReaderBuilder::new().from_reader(out.stdout.as_slice());
        let width = reader.headers().unwrap().len();
        assert!(width > 1, "{args:?}");
        for record in reader.records() {
            assert_eq!(record.unwrap().len(), width, "{args:?}");
        }
        let mut json_args = args.clone();
        json_args.extend(["--format", "json"]);
        let out = run(&json_args);
        assert!(serde_json::from_slice::<serde_json::Value>(&out.stdout).is_ok(), "{args:?}");
    }
}

#[test]
fn the_schedule_names_every_conductor_once() {
    let out = run(&["wire", WORKSHOP, "--format", "csv"]);
    let mut reader = csv::Reader::from_reader(out.stdout.as_slice());
    let mut seen = std::collections::BTreeSet::new();
    for r in reader.records() {
        let r = r.unwrap();
        let ends: Vec<&str> = (0..5).map(|i| r.get(i).unwrap()).collect();
        assert!(ends.iter().all(|e| !e.is_empty()), "{r:?}");
        assert!(seen.insert(ends.join("|")), "twice: {r:?}");
    }
    assert!(seen.len() > 100);
}

#[test]
fn exit_codes_are_as_promised() {
    let dir = folder();
    // A panel that nobody has rated is an error of the rules: 1.
    let unrated = workshop_with(&dir, "short-circuit-rating = \"10 kA\"\n", "");
    let out = run(&["check", unrated.to_str().unwrap()]);
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stdout).contains("short-circuit"), "{}", text(&out.stdout));
    // A file that cannot be used: 2, nothing on the output, one clear error.
    let bad = workshop_with(&dir, "pump = \"p-office\"", "pump = \"p-ofice\"");
    let out = run(&["wire", bad.to_str().unwrap()]);
    assert_eq!(out.status.code(), Some(2));
    assert!(out.stdout.is_empty());
    let err = text(&out.stderr);
    assert!(err.contains("p-ofice") && err.contains("perhaps `p-office` is meant"), "{err}");
    assert_eq!(run(&["check", "no-such-file.toml"]).status.code(), Some(2));
    assert_eq!(run(&["explain", "HW999"]).status.code(), Some(2));
    // No fallback stated is a warning: it fails only when warnings are denied.
    let none = workshop_with(&dir, "fallback = \"fixed-target\"", "fallback = \"none\"");
    assert_eq!(run(&["check", none.to_str().unwrap()]).status.code(), Some(0));
    assert_eq!(run(&["check", none.to_str().unwrap(), "--deny", "warning"]).status.code(), Some(1));
}

#[test]
fn init_writes_a_clean_plant_and_nothing_is_overwritten() {
    let dir = folder();
    let path = dir.path().join("mine.toml");
    let file = path.to_str().unwrap();
    assert_eq!(run(&["init", file]).status.code(), Some(0));
    assert_eq!(run(&["check", file]).status.code(), Some(0));
    fs::write(&path, "mine").unwrap();
    let out = run(&["init", file]);
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("--force"));
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    assert_eq!(run(&["init", file, "--force"]).status.code(), Some(0));
    let to = dir.path().join("out.csv");
    let to = to.to_str().unwrap();
    let args = ["wire", WORKSHOP, "--format", "csv", "--output", to];
    assert_eq!(run(&args).status.code(), Some(0));
    let whole = fs::read(to).unwrap();
    assert_eq!(run(&args).status.code(), Some(2));
    assert_eq!(fs::read(to).unwrap(), whole);
    // A run that fails leaves no half-written file.
    let half = dir.path().join("half.csv");
    assert_eq!(run(&["wire", "no-such.toml", "--output", half.to_str().unwrap()]).status.code(), Some(2));
    assert!(!half.exists());
}

#[test]
fn a_reader_that_stops_early_is_no_failure() {
    let out = Command::new("sh")
        .arg("-c")
        .arg(format!("{} wire {LIBRARY} | head -n 1", env!("CARGO_BIN_EXE_heatwright")))
        .current_dir(root())
        .output()
        .unwrap();
    assert!(out.status.success() && out.stderr.is_empty(), "{}", text(&out.stderr));
}

#[test]
fn a_full_disk_is_said_and_an_unknown_sheet_too() {
    if Path::new("/dev/full").exists() {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let status = Command::new(env!("CARGO_BIN_EXE_heatwright"))
            .args(["wire", WORKSHOP])
            .current_dir(root())
            .stdout(full)
            .output()
            .unwrap();
        assert_eq!(status.status.code(), Some(2));
        assert!(text(&status.stderr).contains("cannot be written"));
    }
    let out = run(&["lockout", WORKSHOP, "--item", "no such thing"]);
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("the items are"));
}

/// Four days of hourly weather, one line changed.
fn weather(dir: &tempfile::TempDir, change: impl Fn(&mut Vec<String>)) -> PathBuf {
    let mut lines = vec!["time,dry_bulb_c".to_owned()];
    for h in 0..96 {
        lines.push(format!("2015-01-{:02}T{:02}:00,{:.1}", 5 + h / 24, h % 24, -10.0 + f64::from(h % 24) * 0.2));
    }
    change(&mut lines);
    let path = dir.path().join("weather.csv");
    fs::write(&path, lines.join("\n") + "\n").unwrap();
    path
}

#[test]
fn bad_weather_is_repaired_with_a_word_or_refused_with_one() {
    let dir = folder();
    let simulate = |path: &Path| {
        run(&["simulate", WORKSHOP, "--days", "2", "--from", "2015-01-05", "--weather", path.to_str().unwrap()])
    };
    let good = simulate(&weather(&dir, |_| {}));
    assert_eq!(good.status.code(), Some(0), "{}", text(&good.stderr));
    let mended = simulate(&weather(&dir, |l| {
        l.remove(20);
    }));
    assert_eq!(mended.status.code(), Some(0), "{}", text(&mended.stderr));
    assert!(text(&mended.stdout).contains("weather repaired"), "{}", text(&mended.stdout));
    refused("truncated", &simulate(&weather(&dir, |l| *l.last_mut().unwrap() = "2015-01-08T23:0".into())));
    refused(
        "a long gap",
        &simulate(&weather(&dir, |l| {
            l.drain(30..50);
        })),
    );
    refused("no number", &simulate(&weather(&dir, |l| l[10] = "2015-01-05T09:00,NaN".into())));
    refused("empty", &simulate(&weather(&dir, Vec::clear)));
    refused(
        "Fahrenheit in a Celsius column",
        &simulate(&weather(&dir, |l| {
            for line in l.iter_mut().skip(1) {
                *line = line.replace(",-", ",6");
            }
        })),
    );
}

fn refused(what: &str, out: &Output) {
    let err = text(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{what}: {err}");
    assert!(out.stdout.is_empty(), "{what}");
    assert_eq!(err.matches("error[").count(), 1, "{what}: {err}");
}

#[test]
fn the_explanation_of_every_finding_can_be_read() {
    let list = text(&run(&["explain", "--list", "--format", "csv"]).stdout);
    let codes: Vec<&str> = list.lines().skip(1).filter_map(|l| l.split(',').next()).collect();
    assert!(codes.len() >= 150, "{}", codes.len());
    for code in codes {
        let out = run(&["explain", code]);
        assert_eq!(out.status.code(), Some(0));
        let said = text(&out.stdout);
        assert!(said.contains("Why it matters") && said.contains("Source"), "{code}");
        assert!(said.lines().all(|l| l.chars().count() <= 80), "{code}: {said}");
    }
    let list = text(&run(&["explain", "--list"]).stdout);
    assert!(list.lines().all(|l| l.chars().count() <= 80), "{list}");
    let json = |code: &str| -> serde_json::Value {
        serde_json::from_slice(&run(&["explain", code, "--format", "json"]).stdout).unwrap()
    };
    assert_eq!(json("short-cycle")["severity"], "warning");
    assert_eq!(json("hw404")["severity"], "varies");
    assert!(json("P04")["text"].as_str().unwrap().contains("\n\nExample\n    [zone.office]\n"));
    let out = run(&["explain", "P045"]);
    assert!(text(&out.stderr).contains("perhaps P04 or P05 or P45 is meant"), "{}", text(&out.stderr));
}

#[test]
fn one_finding_explained() {
    insta::assert_snapshot!(text(&run(&["explain", "P57"]).stdout));
    insta::assert_snapshot!(text(&run(&["explain", "expansion-tank-small"]).stdout));
}

#[test]
fn nothing_of_the_trade_units_is_left_in_international_ones() {
    let us = ["°F", "MBH", "Btu", "therm", "gal", " ft", "ft²", "lb", "psi"];
    for args in [
        vec!["curve", LIBRARY],
        vec!["simulate", WORKSHOP, "--days", "1"],
        vec!["simulate", LIBRARY, "--days", "1", "--events", "0"],
        vec!["rotation", LIBRARY, "--days", "1"],
        vec!["wire", LIBRARY],
        vec!["wire", LIBRARY, "--by", "run"],
        vec!["wire", LIBRARY, "--by", "motor"],
        vec!["wire", LIBRARY, "--by", "material"],
        vec!["wire", LIBRARY, "--by", "label"],
        vec!["lockout", LIBRARY],
    ] {
        for format in ["text", "csv"] {
            let mut args = args.clone();
            args.extend(["--units", "si", "--format", format]);
            let said = text(&run(&args).stdout);
            for unit in us {
                let found = said.match_indices(unit).find(|(i, _)| {
                    let after = said[i + unit.len()..].chars().next();
                    let before = said[..*i].chars().next_back();
                    let whole = |c: Option<char>| !c.is_some_and(char::is_alphabetic);
                    whole(after) && (unit.starts_with(' ') || whole(before))
                });
                assert!(found.is_none(), "{args:?} says `{unit}`: {found:?}");
            }
        }
    }
}

#[test]
fn a_board_gets_its_configuration_and_its_pin_map() {
    let dir = folder();
    for plant in [WORKSHOP, LIBRARY] {
        let file = dir.path().join(if plant == WORKSHOP { "workshop.blob" } else { "library.blob" });
        let args = ["firmware", plant, "--block", file.to_str().unwrap()];
        let out = run(&args);
        assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
        for line in text(&out.stdout).lines() {
            assert!(line.chars().count() <= 80 || line.contains(".blob"), "{line}");
        }
        let block = fs::read(&file).unwrap();
        let mut room = heatwright_core::blob::blank();
        let config = heatwright_core::blob::decode(&block, &mut room).unwrap().clone();
        let loaded = heatwright::plant::load(plant, &fs::read(root().join(plant)).unwrap()).ok().unwrap();
        assert_eq!(config, loaded.config);
        assert_eq!(run(&args).status.code(), Some(2), "nothing is overwritten without --force");
        let json = run(&["firmware", plant, "--format", "json"]);
        let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
        let shown = format!("{:08x}", heatwright_core::blob::fingerprint(&block));
        assert_eq!(json["fingerprint"], shown.as_str());
        let points = json["points"].as_array().unwrap();
        let p = &loaded.points;
        assert_eq!(points.len(), p.relays.len() + p.contacts.len() + p.sensors.len() + p.analogs.len());
    }
    let map = text(&run(&["firmware", WORKSHOP, "--format", "csv"]).stdout);
    assert!(map.lines().any(|l| l.starts_with("relay 1,")) && map.contains("acknowledge button"), "{map}");
}

#[test]
fn colour_is_given_only_where_it_is_wanted() {
    let colour = |vars: &[(&str, &str)]| {
        let out = Command::new(env!("CARGO_BIN_EXE_heatwright"))
            .args(["check", "no-such-file.toml"])
            .current_dir(root())
            .env_remove("NO_COLOR")
            .env_remove("CLICOLOR_FORCE")
            .envs(vars.iter().copied())
            .output()
            .unwrap();
        text(&out.stderr).contains('\u{1b}')
    };
    assert!(!colour(&[]), "no terminal, no colour");
    assert!(colour(&[("CLICOLOR_FORCE", "1")]), "colour where it is forced");
    assert!(!colour(&[("NO_COLOR", "1")]));
    assert!(!colour(&[("NO_COLOR", "1"), ("CLICOLOR_FORCE", "1")]), "NO_COLOR has the last word");
}

#[test]
fn help_keeps_to_80_columns() {
    let subcommands = [
        "",
        "init",
        "check",
        "curve",
        "simulate",
        "rotation",
        "wire",
        "lockout",
        "firmware",
        "explain",
        "schema",
        "completions",
    ];
    for s in subcommands {
        let args: Vec<&str> = [s, "--help"].into_iter().filter(|a| !a.is_empty()).collect();
        let said = text(&run(&args).stdout);
        assert!(said.lines().count() > 5);
        for line in said.lines() {
            assert!(line.chars().count() <= 80, "{args:?}: {line}");
        }
    }
}

#[test]
fn a_bad_date_is_answered_in_our_words() {
    for (day, word) in [("nonsense", "year, month, day"), ("2015-1-5", "2015-01-05"), ("2015-02-30", "no such day")] {
        let out = run(&["simulate", WORKSHOP, "--from", day]);
        assert_eq!(out.status.code(), Some(2));
        let said = text(&out.stderr);
        assert!(said.contains(word) && !said.contains("parse"), "{said}");
    }
}

#[test]
fn numbers_of_options_are_refused_in_plain_words() {
    for (args, range) in [
        (["simulate", WORKSHOP, "--days", "0"], "from 1 to 366"),
        (["rotation", WORKSHOP, "--days", "x"], "from 1 to 366"),
        (["check", WORKSHOP, "--utc-offset", "99"], "from -14 to 14"),
        (["simulate", WORKSHOP, "--sample", "-"], "from 1 to 1440"),
        (["simulate", WORKSHOP, "--events", "many"], "from 0 to"),
    ] {
        let out = run(&args);
        assert_eq!(out.status.code(), Some(2), "{args:?}");
        let said = text(&out.stderr);
        assert!(said.contains("write a whole number") && said.contains(range), "{args:?}: {said}");
    }
}

#[test]
fn a_file_without_an_end_is_refused() {
    if Path::new("/dev/zero").exists() {
        let out = run(&["check", "/dev/zero"]);
        assert_eq!(out.status.code(), Some(2));
        assert!(text(&out.stderr).contains("a plant file is at most"), "{}", text(&out.stderr));
    }
}

#[test]
fn a_plant_without_a_fallback_is_told_by_the_rule() {
    let dir = folder();
    let none = workshop_with(&dir, "fallback = \"fixed-target\"", "fallback = \"none\"");
    let said = text(&run(&["check", none.to_str().unwrap()]).stdout);
    assert!(said.contains("warning[HW604]") && said.contains("the plant states"), "{said}");
    assert!(!text(&run(&["check", WORKSHOP]).stdout).contains("HW604"));
}

#[test]
fn a_capped_curve_and_a_cycling_burner_are_said() {
    let dir = folder();
    let capped = workshop_with(&dir, "supply-max = \"190 °F\"", "supply-max = \"120 °F\"");
    let said = text(&run(&["curve", capped.to_str().unwrap()]).stdout);
    assert!(said.contains("reset.supply-max caps the curve"), "{said}");
    let open = text(&run(&["curve", WORKSHOP]).stdout);
    assert!(!open.contains("caps the curve"), "{open}");
    assert!(open.contains("on and off") && open.contains("steadily"), "{open}");
}

#[test]
fn the_check_and_the_whole_paper_of_the_workshop_are_as_they_were_read() {
    insta::assert_snapshot!("settings_workshop", text(&run(&["settings", WORKSHOP]).stdout));
    insta::assert_snapshot!("check_workshop", text(&run(&["check", WORKSHOP]).stdout));
    insta::assert_snapshot!("lockout_workshop", text(&run(&["lockout", WORKSHOP]).stdout));
    insta::assert_snapshot!("wire_workshop_csv", text(&run(&["wire", WORKSHOP, "--format", "csv"]).stdout));
}

#[test]
fn the_schedule_and_the_sheet_of_the_workshop_are_as_they_were_read() {
    insta::assert_snapshot!("wire_workshop", text(&run(&["wire", WORKSHOP]).stdout));
    insta::assert_snapshot!("checkout_workshop", text(&run(&["checkout", WORKSHOP]).stdout));
    insta::assert_snapshot!(
        "lockout_workshop_card",
        text(&run(&["lockout", WORKSHOP, "--item", "shop pump", "--card"]).stdout)
    );
    insta::assert_snapshot!("lockout_workshop_boiler", text(&run(&["lockout", WORKSHOP, "--item", "boiler 1"]).stdout));
}

#[test]
fn with_every_boiler_out_the_workshop_gets_cold_and_the_other_run_does_not() {
    let out = run(&["redundancy", WORKSHOP, "--days", "1", "--format", "json", "-q"]);
    assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
    let json: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let cases = json["cases"].as_array().unwrap();
    // One boiler: nobody can take over, so there is no case between none and all.
    assert_eq!(cases.len(), 2);
    let zone = |case: usize, k: usize| cases[case]["zones"][k].clone();
    for k in 0..2 {
        let (kept, lost) = (zone(0, k), zone(1, k));
        let lowest = |z: &serde_json::Value| z["lowest_c"].as_f64().unwrap();
        assert!(lowest(&kept) > 15.0, "{kept}");
        assert!(lowest(&lost) < lowest(&kept) - 5.0, "{lost} against {kept}");
        assert!(lost["below"][0].as_f64().unwrap() > 0.0, "{lost}");
    }
}

/// The beacon reads its volts in those states that say that they are computed with an alarm, and in no other.
#[test]
fn a_state_with_an_alarm_says_so() {
    let out = run(&["wire", "docs/examples/mill.toml", "--readings", "--format", "json", "-q"]).stdout;
    let states: serde_json::Value = serde_json::from_slice(&out).unwrap();
    let states = states.as_array().unwrap();
    assert!(!states.is_empty());
    let mut seen = 0;
    for s in states {
        let alarm = s["alarm"].as_bool().unwrap();
        for line in s["readings"].as_array().unwrap().iter().filter(|l| l["what"] == "alarm beacon") {
            assert_eq!(line["volts"].as_f64().unwrap_or(0.0) > 100.0, alarm, "{}", s["state"]);
            seen += 1;
        }
    }
    assert!(seen > 0 && states.iter().any(|s| s["alarm"] == true) && states.iter().any(|s| s["alarm"] == false));
}
