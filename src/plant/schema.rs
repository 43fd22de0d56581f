//! JSON Schema of the plant file, from the very questions that read it.
//!
//! Draft 2020-12. Quantities are strings with their unit; their units stand in each key's comment. An editor that knows the
//! schema completes keys and shows what each means.

use super::{
    cursor::{Ctx, Cursor, SchemaKey},
    read::assemble,
};
use serde_json::{Map, Value, json};
use std::{cell::RefCell, collections::BTreeMap};

/// The schema as text.
pub fn schema_json() -> String {
    let mut s = serde_json::to_string_pretty(&schema()).unwrap_or_default();
    s.push('\n');
    s
}

/// The schema.
pub fn schema() -> Value {
    let ctx = Ctx { schema: Some(RefCell::default()), ..Ctx::default() };
    let _ = assemble(&Cursor::nothing(&ctx));
    let all = ctx.schema.map(RefCell::into_inner).unwrap_or_default();
    let mut root = object(&all, "");
    if let Some(o) = root.as_object_mut() {
        o.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
        o.insert("title".into(), json!("Heatwright plant file"));
    }
    root
}

fn object(all: &BTreeMap<String, Vec<SchemaKey>>, path: &str) -> Value {
    let none = Vec::new();
    let keys = all.get(path).unwrap_or(&none);
    let mut properties = Map::new();
    for k in keys {
        properties.insert(k.key.into(), form(all, &k.form));
    }
    let needed: Vec<&str> = keys.iter().filter(|k| k.needed).map(|k| k.key).collect();
    let mut out = Map::new();
    out.insert("type".into(), json!("object"));
    out.insert("properties".into(), Value::Object(properties));
    if !needed.is_empty() {
        out.insert("required".into(), json!(needed));
    }
    out.insert("additionalProperties".into(), json!(false));
    Value::Object(out)
}

/// A key's own form; tables and lists are filled in from their paths.
fn form(all: &BTreeMap<String, Vec<SchemaKey>>, form: &Value) -> Value {
    let described = |mut v: Value| {
        if let (Some(o), Some(d)) = (v.as_object_mut(), form.get("description")) {
            o.insert("description".into(), d.clone());
        }
        v
    };
    let path = |key: &str| form.get(key).and_then(Value::as_str);
    if let Some(p) = path("$table") {
        return described(object(all, p));
    }
    if let Some(p) = path("$named") {
        return described(json!({
            "type": "object",
            "propertyNames": { "pattern": "^[a-z][a-z0-9-]{0,23}$" },
            "additionalProperties": object(all, p),
        }));
    }
    if let Some(p) = path("$list") {
        return described(json!({ "type": "array", "items": object(all, p) }));
    }
    form.clone()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_is_described_and_every_table_is_closed() {
        fn walk(v: &Value, path: &str) {
            let Some(o) = v.as_object() else { return };
            if let Some(Value::Object(p)) = o.get("properties") {
                assert_eq!(o["additionalProperties"], json!(false), "{path}");
                assert!(!p.is_empty(), "{path} has no keys");
                for (k, v) in p {
                    let text = v["description"].as_str().unwrap_or_default();
                    assert!(text.len() > 3, "{path}.{k} is not described");
                    walk(v, &format!("{path}.{k}"));
                }
            }
            for inner in ["additionalProperties", "items"] {
                if let Some(v) = o.get(inner) {
                    walk(v, path);
                }
            }
        }
        let s = schema();
        walk(&s, "");
        assert_eq!(s["properties"]["zone"]["additionalProperties"]["properties"]["emitter"]["type"], "object");
        assert!(s["properties"]["boiler"]["additionalProperties"]["required"].as_array().is_some());
    }
}
