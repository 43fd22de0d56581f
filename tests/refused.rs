//! What is refused before anything runs: options without effect, two results in one file, supplies that are not there. One error, which
//! says what and how to mend it, and nothing written.

use std::{fs, path::Path, process::Command};

const WORKSHOP: &str = "docs/examples/workshop.toml";

/// The error of a command that must end with 2 and print nothing.
fn refused(args: &[&str]) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_heatwright"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("NO_COLOR", "1")
        .args(args)
        .output()
        .unwrap();
    let err = String::from_utf8(out.stderr).unwrap();
    assert_eq!(out.status.code(), Some(2), "{args:?}\n{err}");
    assert!(out.stdout.is_empty(), "{args:?}");
    assert_eq!(err.matches("error[").count(), 1, "{err}");
    assert!(err.contains("help: "), "no word on how to mend it: {err}");
    // What is wrapped at 80 columns is read as one line.
    err.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The workshop with one text replaced, in a file of its own.
fn workshop(dir: &Path, old: &str, new: &str) -> String {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(WORKSHOP)).unwrap();
    assert_eq!(text.matches(old).count(), 1, "{old}");
    let path = dir.join("plant.toml");
    fs::write(&path, text.replace(old, new)).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn one_file_for_two_results() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let (csv, svg, xlsx, block) = (at("s.csv"), at("z.svg"), at("w.xlsx"), at("b.bin"));
    // The same file by a way round.
    let round = format!("{}/./s.csv", dir.path().to_str().unwrap());
    let cases: [&[&str]; 5] = [
        &["simulate", WORKSHOP, "--days", "1", "--series", &csv, "-o", &csv],
        &["simulate", WORKSHOP, "--days", "1", "--series", &csv, "-o", &round],
        &["curve", WORKSHOP, "--plot", &svg, "-o", &svg],
        &["wire", WORKSHOP, "--xlsx", &xlsx, "-o", &xlsx],
        &["firmware", WORKSHOP, "--block", &block, "-o", &block],
    ];
    for args in cases {
        let err = refused(args);
        assert!(err.contains("F09") && err.contains("named twice"), "{err}");
    }
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 0, "nothing is left behind");
}

#[test]
fn a_sample_without_a_series() {
    let err = refused(&["simulate", WORKSHOP, "--days", "1", "--sample", "5"]);
    assert!(err.contains("F08") && err.contains("--sample does nothing"), "{err}");
}

#[test]
fn a_supply_that_no_panelboard_has() {
    let dir = tempfile::tempdir().unwrap();
    let phases = workshop(dir.path(), "control-volts = \"120 V\"", "phases = 3\ncontrol-volts = \"120 V\"");
    let err = refused(&["wire", &phases]);
    assert!(err.contains("no panelboard has 120 V three-phase; there is 120 or 240 V single-phase"), "{err}");
    assert!(err.contains("`volts` and `phases` on its plate"), "{err}");
    let amps = workshop(dir.path(), "amps = \"2.5 A\"", "amps = \"160 A\"");
    let err = refused(&["wire", &amps]);
    assert!(err.contains("its current is 160 A; 150 A is the most that can be planned"), "{err}");
    let amps = workshop(dir.path(), "amps = \"2.5 A\"", "amps = \"1e300 A\"");
    assert!(refused(&["wire", &amps]).contains("has an exponent"));
    let amps = workshop(dir.path(), "amps = \"2.5 A\"", "amps = \"1000000000000000000000 A\"");
    assert!(refused(&["wire", &amps]).contains("is `1000000000000000000000 A`; 0.05 A to 200 A is allowed"));
}

#[test]
fn weather_that_does_not_hold_the_days() {
    let err = refused(&["simulate", WORKSHOP, "--days", "2", "--from", "1999-01-01"]);
    assert!(err.contains("W01") && err.contains("--from and --days"), "{err}");
}

#[test]
fn a_sensor_that_does_not_say_where_it_sits() {
    let dir = tempfile::tempdir().unwrap();
    let path = workshop(dir.path(), "of = \"b1\"\n", "");
    let err = refused(&["check", &path]);
    assert!(err.contains("does not say on which boiler it sits (`of`)") && err.contains("write of = \"b1\""), "{err}");
}

#[test]
fn several_lists_in_one_csv() {
    let err = refused(&["wire", WORKSHOP, "--by", "run,bar", "--format", "csv"]);
    assert!(err.contains("F10") && err.contains("--by names several"), "{err}");
}

/// A controller holds sixteen zones; a building with more is several plants, and the file says so once.
#[test]
fn more_zones_than_a_controller_holds() {
    let dir = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(WORKSHOP)).unwrap();
    let table = |head: &str| {
        let from = text.find(head).unwrap();
        let to = text[from + 1..].find("\n[").map_or(text.len(), |i| from + 2 + i);
        text[from..to].to_owned()
    };
    let (zone, pump) = (table("[zone.office]"), table("[pump.p-office]"));
    let with = |zones: usize| {
        let mut file = text.clone();
        for i in 3..=zones {
            for table in [&zone, &pump] {
                let named = table.replace("zone.office", &format!("zone.z{i}")).replace("p-office", &format!("p-z{i}"));
                file.push_str(&named.replace("\"Office", &format!("\"Office {i}")));
            }
        }
        let path = dir.path().join("plant.toml");
        fs::write(&path, file).unwrap();
        path.to_str().unwrap().to_owned()
    };
    for zones in [17, 32, 64] {
        let err = refused(&["wire", &with(zones)]);
        let said = format!("P08]: the plant has {zones} zones; one controller holds 16");
        assert!(err.contains(&said) && err.contains("several plant files"), "{err}");
    }
    let sixteen = Command::new(env!("CARGO_BIN_EXE_heatwright")).args(["wire", &with(16)]).output().unwrap();
    assert_eq!(sixteen.status.code(), Some(0), "{}", String::from_utf8_lossy(&sixteen.stderr));
}
