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
    (out.status.code().unwrap(), text(&out.stdout), text(&out.stderr))
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
