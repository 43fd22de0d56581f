//! The plant file's schema and reference against the examples: what the reader takes, the schema knows, and the reverse.

use heatwright::{
    finding::{Look, render},
    plant::{load::load, quantity, read::read, reference::reference, schema::schema},
};
use serde_json::Value;
use std::{fs, path::Path};

fn examples() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/examples");
    let mut out: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|x| x == "toml"))
        .map(|p| (p.file_name().unwrap().to_string_lossy().into_owned(), fs::read_to_string(&p).unwrap()))
        .collect();
    out.sort();
    assert!(!out.is_empty());
    out
}

/// What of a file the schema does not know, or wants otherwise.
fn strange(schema: &Value, value: &Value, path: &str, out: &mut Vec<String>) {
    if let Some(words) = schema["enum"].as_array() {
        if !words.contains(value) {
            out.push(format!("{path}: {value} is none of the words"));
        }
        return;
    }
    let fits = match schema["type"].as_str() {
        Some("object") => value.is_object(),
        Some("array") => value.is_array(),
        Some("string") => value.is_string(),
        Some("boolean") => value.is_boolean(),
        Some("integer") => value.is_i64(),
        Some("number") => value.is_number(),
        _ => false,
    };
    if !fits {
        out.push(format!("{path}: {value} is no {}", schema["type"]));
        return;
    }
    for key in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
        if value.get(key).is_none() {
            out.push(format!("{path} lacks {key}"));
        }
    }
    for (key, v) in value.as_object().into_iter().flatten() {
        match (&schema["properties"][key], &schema["additionalProperties"]) {
            (Value::Null, any @ Value::Object(_)) => strange(any, v, &format!("{path}.{key}"), out),
            (Value::Null, _) => out.push(format!("{path} has no {key}")),
            (known, _) => strange(known, v, &format!("{path}.{key}"), out),
        }
    }
    for v in value.as_array().into_iter().flatten() {
        strange(&schema["items"], v, &format!("{path}[]"), out);
    }
}

fn judge(text: &str) -> Vec<String> {
    let value: Value = toml::from_str(text).unwrap();
    let mut out = Vec::new();
    strange(&schema(), &value, "", &mut out);
    out
}

#[test]
fn the_schema_takes_every_example_that_the_reader_takes() {
    for (name, text) in examples() {
        if let Err(r) = read(&name, text.as_bytes()) {
            panic!("{}", render(&r.findings, r.source.as_ref(), Look::default()));
        }
        assert_eq!(judge(&text), Vec::<String>::new(), "{name}");
    }
}

/// The plant that the firmware is measured with is no example, but a new refusal must not shut it out unseen.
#[test]
fn the_plant_of_the_firmware_figures_can_be_lowered() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("core/firmware/full.toml");
    if let Err(r) = load("full.toml", &fs::read(path).unwrap()) {
        panic!("{}", render(&r.findings, r.source.as_ref(), Look::default()));
    }
}

#[test]
fn the_schema_refuses_what_the_reader_refuses() {
    let (_, text) = examples().into_iter().find(|e| e.0 == "workshop.toml").unwrap();
    for (old, new) in [
        ("design-loss = \"16 MBH\"", "desing-loss = \"16 MBH\""),
        ("room = \"70 °F\"", "room = 70"),
        ("kind = \"finned-tube\"", "kind = \"fined-tube\""),
        ("[panel]", "[pannel]"),
    ] {
        let broken = text.replacen(old, new, 1);
        assert_ne!(broken, text);
        assert!(!judge(&broken).is_empty(), "the schema takes {new}");
        assert!(read("x", broken.as_bytes()).is_err(), "the reader takes {new}");
    }
}

#[test]
fn every_default_in_the_schema_can_be_written() {
    fn walk(v: &Value, count: &mut usize) {
        if let (Some(d), Some("string"), Some(c)) = (v["default"].as_str(), v["type"].as_str(), v["$comment"].as_str())
        {
            *count += 1;
            let kind = quantity::KINDS.iter().find(|k| c.starts_with(&format!("{}, ", k.noun))).unwrap();
            let unit = d.rsplit(' ').next().unwrap();
            assert!(kind.units.iter().any(|u| u.name == unit), "{d} has no unit of {}", kind.noun);
        }
        v.as_object().into_iter().flatten().for_each(|(_, v)| walk(v, count));
    }
    let mut count = 0;
    walk(&schema(), &mut count);
    assert!(count > 50, "{count}");
}

#[test]
fn an_assumption_can_be_written_into_the_file() {
    // Every assumed quantity names a key that the schema knows; so nothing is assumed that could not be said.
    let schema = schema();
    for (name, text) in examples() {
        for a in read(&name, text.as_bytes()).unwrap().plant.assumptions {
            let mut at = &schema;
            for part in a.key.split('.') {
                at = match &at["properties"][part] {
                    Value::Null => &at["additionalProperties"],
                    known => known,
                };
            }
            assert!(at["description"].is_string(), "{name}: {} is assumed, but no key", a.key);
            assert!(!a.value.is_empty() && !a.reason.is_empty(), "{name}: {}", a.key);
        }
    }
}

/// To write it anew: `SNAPSHOTS=overwrite cargo test --test plant_file`.
#[test]
fn the_reference_is_up_to_date() {
    snapbox::assert_data_eq!(reference(), snapbox::file!["../docs/plant-file.md"].raw());
}
