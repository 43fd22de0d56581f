//! The reference of the plant file: every table and key as Markdown, from the very questions that read it.
//!
//! It says what a key means, what it may be, and what is taken when it is left out. It decides nothing.

use super::schema::schema;
use serde_json::Value;

/// The reference as Markdown.
pub fn reference() -> String {
    let mut out = String::from(
        "# The plant file, key by key\n\n\
         Made from the questions that read the file (`cargo test --test plant_file` compares it). \
         Quantities are texts with their unit; a range is printed in both unit systems and may be written in either. \
         An id is a small letter and up to 23 more small letters, digits or dashes; no two things share one.\n\n\
         The last column says what is taken when a key is left out; whatever is taken so is listed as \"assumed\" by \
         `check`. Reasons without a named source are common practice or our choice.\n",
    );
    tables(&mut out, "", &schema(), "The top of the file.");
    out
}

/// One table and, after it, the tables inside it.
fn tables(out: &mut String, path: &str, table: &Value, meaning: &str) {
    let Some(keys) = table["properties"].as_object() else { return };
    let needed = |key: &str| table["required"].as_array().is_some_and(|all| all.iter().any(|k| k == key));
    let inner = |v: &Value| v["properties"].is_object() || v["additionalProperties"]["properties"].is_object();
    if path.is_empty() {
        out.push_str("\n| table | what it is |\n|---|---|\n");
        for (key, v) in keys {
            let named = v["additionalProperties"]["properties"].is_object();
            let heading = if named { format!("{key}.ID") } else { key.clone() };
            out.push_str(&format!("| `[{heading}]` | {} |\n", cell(text(v, "description"))));
        }
    } else {
        out.push_str(&format!(
            "\n## {path}\n\n{meaning}\n\n| key | what it is | may be | left out |\n|---|---|---|---|\n"
        ));
        for (key, v) in keys.iter().filter(|(_, v)| !inner(v)) {
            let (meaning, said) = said_absent(text(v, "description"));
            let absent = match (needed(key), said) {
                (true, _) => "must be written".to_owned(),
                (_, Some(said)) => said.to_owned(),
                _ => absent(v),
            };
            let meaning = cell(&meaning);
            out.push_str(&format!("| `{key}` | {meaning} | {} | {} |\n", cell(&allowed(v)), cell(&absent)));
        }
    }
    for (key, v) in keys {
        let here = path.trim_end_matches(']');
        let heading = |end: &str| if path.is_empty() { format!("[{key}{end}]") } else { format!("{here}.{key}{end}]") };
        if v["properties"].is_object() {
            tables(out, &heading(""), v, text(v, "description"));
        } else if v["additionalProperties"]["properties"].is_object() {
            tables(out, &heading(".ID"), &v["additionalProperties"], text(v, "description"));
        } else if v["items"]["properties"].is_object() {
            let title = format!("{}, each of `{key}`", if path.is_empty() { "top" } else { path });
            tables(out, &title, &v["items"], text(v, "description"));
        }
    }
}

fn text<'v>(v: &'v Value, key: &str) -> &'v str {
    v[key].as_str().unwrap_or("")
}

/// A text that may stand in a cell of a table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

/// What a key may be.
fn allowed(v: &Value) -> String {
    if let Some(words) = v["enum"].as_array() {
        let word = |w: &Value| w.as_str().map_or_else(|| format!("`{w}`"), |w| format!("`\"{w}\"`"));
        let words: Vec<String> = words.iter().map(word).collect();
        return words.join(" ");
    }
    if let Some(range) = v["x-allowed"].as_str() {
        return range.to_owned();
    }
    let ends = || format!("{} to {}", v["minimum"], v["maximum"]);
    match text(v, "type") {
        "boolean" => "`true` or `false`".to_owned(),
        "integer" => format!("whole number, {}", ends()),
        "number" => format!("number, {}", ends()),
        "array" if v["items"]["properties"].is_object() => "list of small tables, see below".to_owned(),
        "array" => "list of texts".to_owned(),
        _ => "text".to_owned(),
    }
}

/// A description that says itself what a key left out means, parted there.
fn said_absent(description: &str) -> (String, Option<&str>) {
    match description.split_once("; left out: ") {
        Some((meaning, said)) => (format!("{meaning}."), Some(said.trim_end_matches('.'))),
        None => (description.to_owned(), None),
    }
}

/// What is taken when a key is left out.
fn absent(v: &Value) -> String {
    match (v["x-default"].as_str(), v["x-reason"].as_str()) {
        (Some(d), Some(r)) => format!("{d}: {r}"),
        (Some(d), None) => d.to_owned(),
        (None, Some(r)) => r.to_owned(),
        (None, None) => String::new(),
    }
}
