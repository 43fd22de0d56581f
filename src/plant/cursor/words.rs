//! Questions whose answer is a text, a word out of a list, a yes or no, a plain number, or a list of texts.

use super::{Allowed, Cursor, nearest};
use crate::plant::quantity;
use serde_json::json;
use toml::Spanned;
use toml::de::DeValue;

/// Characters without a shape of their own that change how others are read: they turn the direction of writing, join, or take no
/// room (Unicode general category Cf where a label could hold one).
fn unseen(c: char) -> bool {
    matches!(
        c,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
    )
}

impl Cursor<'_> {
    /// A text that may be left out.
    pub(in crate::plant) fn text(&self, key: &'static str, doc: &str) -> Option<String> {
        let v = self.ask(key, doc, json!({ "type": "string" }), false)?;
        self.string(key, v)
    }

    /// A text with a default that is no assumption worth telling.
    pub(in crate::plant) fn text_or(&self, key: &'static str, doc: &str, default: &str) -> String {
        let written = self.text(key, doc);
        if !doc.contains("left out:") && !default.is_empty() {
            self.say_default(key, Some(default), "");
        }
        written.unwrap_or_else(|| default.to_owned())
    }

    fn string(&self, key: &str, v: &Spanned<DeValue<'_>>) -> Option<String> {
        match v.get_ref() {
            DeValue::String(s) => {
                let s = s.trim();
                let wrong = if s.is_empty() {
                    Some("is empty".to_owned())
                } else if s.chars().nth(80).is_some() {
                    Some(format!("is {} characters long", s.chars().count()))
                } else if s.chars().any(char::is_control) {
                    Some("holds a tab, a line break or another control character".to_owned())
                } else if s.chars().any(unseen) {
                    Some("holds an unseen character that turns or hides the text after it".to_owned())
                } else {
                    None
                };
                if let Some(wrong) = wrong {
                    self.ctx.tell(
                        self.fault(key, "P06", format!("`{}` {wrong}", self.full(key)))
                            .hint("write 1 to 80 plain characters on one line: it is printed on labels and sheets"),
                    );
                    return None;
                }
                Some(s.to_owned())
            }
            _ => {
                self.wrong_form(key, v, "a text", "write it in quotes".into());
                None
            }
        }
    }

    /// A yes or no with a default.
    pub(in crate::plant) fn flag(&self, key: &'static str, doc: &str, default: bool) -> bool {
        let Some(v) = self.ask(
            key,
            doc,
            json!({ "type": "boolean", "default": default, "x-default": default.to_string() }),
            false,
        ) else {
            let reason =
                if default { "our choice: the safer or more usual one" } else { "not so unless the file says it" };
            self.assume(key, default.to_string(), reason);
            return default;
        };
        match v.get_ref() {
            DeValue::Boolean(b) => *b,
            _ => {
                self.wrong_form(key, v, "true or false", "write true or false, without quotes".into());
                default
            }
        }
    }

    /// A whole number that may be left out.
    pub(in crate::plant) fn whole(
        &self,
        key: &'static str,
        doc: &str,
        allowed: std::ops::RangeInclusive<i64>,
    ) -> Option<i64> {
        let form = json!({ "type": "integer", "minimum": allowed.start(), "maximum": allowed.end() });
        let v = self.ask(key, doc, form, false)?;
        match v.get_ref() {
            DeValue::Integer(n) => match n.to_string().parse::<i64>().ok().filter(|n| allowed.contains(n)) {
                Some(n) => Some(n),
                None => {
                    self.ctx.tell(
                        self.fault(
                            key,
                            "P05",
                            format!(
                                "`{}` is {}; {} to {} is allowed here",
                                self.full(key),
                                quantity::clip(&n.to_string()),
                                allowed.start(),
                                allowed.end()
                            ),
                        )
                        .hint("see that the number is the one meant"),
                    );
                    None
                }
            },
            _ => {
                self.wrong_form(
                    key,
                    v,
                    "a whole number",
                    format!("write a number from {} to {}", allowed.start(), allowed.end()),
                );
                None
            }
        }
    }

    /// A plain number without unit, such as an exponent or a turndown.
    pub(in crate::plant) fn number(&self, key: &'static str, doc: &str, allowed: Allowed) -> Option<f64> {
        let form = json!({ "type": "number", "minimum": allowed.start(), "maximum": allowed.end() });
        let v = self.ask(key, doc, form, false)?;
        let written = match v.get_ref() {
            DeValue::Integer(n) => n.to_string(),
            DeValue::Float(n) => n.to_string(),
            _ => {
                self.wrong_form(
                    key,
                    v,
                    "a plain number",
                    format!("write a number from {} to {}", allowed.start(), allowed.end()),
                );
                return None;
            }
        };
        match written.parse::<f64>().ok().filter(|n| n.is_finite() && allowed.contains(n)) {
            Some(n) => Some(n),
            None => {
                self.ctx.tell(
                    self.fault(
                        key,
                        "P05",
                        format!(
                            "`{}` is {}; {} to {} is allowed here",
                            self.full(key),
                            quantity::clip(&written),
                            allowed.start(),
                            allowed.end()
                        ),
                    )
                    .hint("see that the number is the one meant"),
                );
                None
            }
        }
    }

    /// One of several words. `None` when it is not written.
    pub(in crate::plant) fn word<T: Copy>(
        &self,
        key: &'static str,
        doc: &str,
        words: &[(&'static str, T)],
        needed: bool,
    ) -> Option<T> {
        let names: Vec<&str> = words.iter().map(|w| w.0).collect();
        let v = self.ask(key, doc, json!({ "enum": names }), needed)?;
        self.one_of(key, v, words)
    }

    fn one_of<T: Copy>(&self, key: &str, v: &Spanned<DeValue<'_>>, words: &[(&'static str, T)]) -> Option<T> {
        let names: Vec<&str> = words.iter().map(|w| w.0).collect();
        let DeValue::String(s) = v.get_ref() else {
            let quoted: Vec<String> = names.iter().map(|n| format!("\"{n}\"")).collect();
            self.wrong_form(key, v, "a word", format!("write one of: {}", quoted.join(", ")));
            return None;
        };
        if let Some((_, t)) = words.iter().find(|(w, _)| *w == s.as_ref()) {
            return Some(*t);
        }
        let mut f = self.fault(key, "P07", format!("`{}` may not be \"{}\"", self.full(key), quantity::clip(s)));
        if let Some(near) = nearest(s, names.iter().copied()) {
            f = f.hint(format!("perhaps \"{near}\" is meant"));
        }
        self.ctx.tell(f.hint(format!("allowed here: {}", names.join(", "))));
        None
    }

    /// One of several words with a default, which is listed as assumed when it is used.
    pub(in crate::plant) fn word_or<T: Copy>(
        &self,
        key: &'static str,
        doc: &str,
        words: &[(&'static str, T)],
        default: (&'static str, T),
        reason: &'static str,
    ) -> T {
        let names: Vec<&str> = words.iter().map(|w| w.0).collect();
        let form = json!({ "enum": names, "default": default.0, "x-default": default.0, "x-reason": reason });
        let Some(v) = self.ask(key, doc, form, false) else {
            self.assume(key, default.0.to_owned(), reason);
            return default.1;
        };
        self.one_of(key, v, words).unwrap_or(default.1)
    }

    /// Phases of a machine, 1 or 3; single phase is listed as assumed when nothing is written.
    pub(in crate::plant) fn phases(&self, doc: &str) -> u8 {
        let key = "phases";
        let Some(v) = self.ask(key, doc, json!({ "type": "integer", "enum": [1, 3] }), false) else {
            self.assume(key, "1".to_owned(), "most machines of this size; read the plate");
            return 1;
        };
        let DeValue::Integer(n) = v.get_ref() else {
            self.wrong_form(key, v, "1 or 3", "write 1 or 3, without quotes".into());
            return 1;
        };
        match n.to_string().as_str() {
            "1" => 1,
            "3" => 3,
            other => {
                let hint = if other == "2" {
                    "two line conductors of a three-phase service are still single phase: write 1"
                } else {
                    "read the plate: a motor is single-phase or three-phase"
                };
                self.ctx.tell(
                    self.fault(
                        key,
                        "P05",
                        format!("`{}` is {}; 1 or 3 is allowed here", self.full(key), quantity::clip(other)),
                    )
                    .hint(hint),
                );
                1
            }
        }
    }

    /// A list of texts of a given length.
    pub(in crate::plant) fn texts(
        &self,
        key: &'static str,
        doc: &str,
        length: std::ops::RangeInclusive<usize>,
    ) -> Option<Vec<String>> {
        let form = json!({ "type": "array", "items": { "type": "string" }, "minItems": length.start(), "maxItems": length.end() });
        let v = self.ask(key, doc, form, false)?;
        let DeValue::Array(list) = v.get_ref() else {
            self.wrong_form(key, v, "a list of texts", "write it like [\"1\", \"2\"]".into());
            return None;
        };
        let out: Vec<String> = list.iter().filter_map(|v| self.string(key, v)).collect();
        if out.len() != list.len() {
            return None;
        }
        if !length.contains(&out.len()) {
            let wanted = match (length.start(), length.end()) {
                (a, b) if a == b => a.to_string(),
                (a, b) => format!("{a} to {b}"),
            };
            let given = match out.len() {
                1 => "1 entry".to_owned(),
                n => format!("{n} entries"),
            };
            self.ctx.tell(
                self.fault(key, "P05", format!("`{}` has {given}; {wanted} are wanted", self.full(key)))
                    .hint(doc.to_owned()),
            );
            return None;
        }
        Some(out)
    }

    /// Two texts.
    pub(in crate::plant) fn pair(&self, key: &'static str, doc: &str) -> Option<[String; 2]> {
        self.texts(key, doc, 2..=2).and_then(|v| <[String; 2]>::try_from(v).ok())
    }
}
