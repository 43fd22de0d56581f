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

#[test]
fn a_flow_of_a_fifth_of_a_gallon_is_told_as_such() {
    let (_dir, plant) = changed("workshop.toml", &[("[zone.office]", "[zone.office]\nflow = \"0.2 gal/min\"")]);
    let (code, text) = run(&["curve", &plant]);
    assert_eq!(code, 0, "{text}");
    assert!(
        text.contains("error flow-short: Office:") && text.contains("16.0 MBH cool its flow by 163.5 °F"),
        "{text}"
    );
    let (_, bent) = run(&["check", &plant]);
    assert!(!bent.contains("C01"), "{bent}");
}

/// The mean by EN 442 practice: below a ratio of 0.7 the logarithmic one. By hand for a panel of 21 MBH at 75/65/20 °C (log mean
/// 49.833 K) and 16 MBH at 0.8 gal/min: drop 40.82 °F at 490.0 Btu/h per gal/min and °F (water of 70 °C), log mean
/// 49.833 (16/21)^(1/1.3) = 40.42 K = 72.76 °F, supply 70 + 40.82 / (1 - exp(-40.82/72.77)) = 165.08 °F. By the arithmetic mean it
/// would be 163.4 °F.
#[test]
fn water_that_cools_far_is_taken_at_the_logarithmic_mean() {
    let (_dir, plant) = changed("workshop.toml", &[("[zone.office]", "[zone.office]\nflow = \"0.8 gal/min\"")]);
    let (_, json) = run(&["curve", &plant, "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let zone = &json["rows"][0]["zones"][1];
    let needed_f = zone["needed_c"].as_f64().unwrap() * 1.8 + 32.0;
    assert!((needed_f - 165.08).abs() < 0.1, "{needed_f}");
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
