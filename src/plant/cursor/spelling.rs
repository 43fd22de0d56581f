//! Words about what is written: good ids, near misses, what form a value has, what to add for a missing key.

use serde_json::Value;
use toml::de::DeValue;

pub(super) fn good_id(id: &str) -> bool {
    let mut chars = id.chars();
    chars.next().is_some_and(|c| c.is_ascii_lowercase())
        && id.len() <= 24
        && chars.all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
}

/// The nearest of some names, if it is near enough to be a slip.
pub(crate) fn nearest<'n>(given: &str, names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let given: String = given.chars().take(40).collect::<String>().to_lowercase().replace('_', "-");
    names
        .map(|n| (strsim::jaro_winkler(&given, n), n))
        .filter(|(near, _)| *near > 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, n)| n)
}

pub(super) fn form_of(v: &DeValue<'_>) -> &'static str {
    match v {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// What to add for a key that is missing.
pub(super) fn mend(key: &str, doc: &str, form: &Value) -> String {
    let meaning = doc.trim_end_matches('.');
    if let Some(words) = form.get("enum").and_then(Value::as_array) {
        let words: Vec<&str> = words.iter().filter_map(Value::as_str).collect();
        return format!("add {key} = \"...\", one of: {}", words.join(", "));
    }
    match form.get("$comment").and_then(Value::as_str).and_then(|c| c.split_once("; units: ")) {
        Some((_, units)) => format!("add {key} = \"...\" with its unit ({units}): {meaning}"),
        None => format!("add {key}: {meaning}"),
    }
}
