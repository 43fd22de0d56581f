//! Questions whose answer is a quantity: needed, with a default, or absent; refused without a unit or outside its range.

use super::{Allowed, Cursor, usual};
use crate::{
    finding::Finding,
    plant::quantity::{self, Quantity, Written},
};
use heatwright_core::Severity;
use serde_json::{Map, Value, json};
use toml::Spanned;
use toml::de::DeValue;

/// A value from here on, in the base unit of its kind, is a slip of the keyboard.
const FAR: f64 = 1e12;

impl Cursor<'_> {
    /// A quantity that may be left out.
    pub(in crate::plant) fn may<Q: Quantity>(&self, key: &'static str, doc: &str, allowed: Allowed) -> Option<Q> {
        let v = self.ask(key, doc, self.quantity_form::<Q>(key, &allowed), false)?;
        self.quantity::<Q>(key, v, &allowed)
    }

    /// A quantity that must be there.
    pub(in crate::plant) fn need<Q: Quantity>(&self, key: &'static str, doc: &str, allowed: Allowed) -> Q {
        let low = *allowed.start();
        match self.ask(key, doc, self.quantity_form::<Q>(key, &allowed), true) {
            Some(v) => self.quantity::<Q>(key, v, &allowed),
            None => None,
        }
        .unwrap_or(Q::from_base(low))
    }

    /// A quantity with a default, which is listed as assumed when it is used.
    pub(in crate::plant) fn or<Q: Quantity>(
        &self,
        key: &'static str,
        doc: &str,
        allowed: Allowed,
        default: Q,
        reason: &'static str,
    ) -> Q {
        self.or_said(key, doc, allowed, default, Some(default.show_both()), reason)
    }

    /// A quantity whose default follows from other keys; the schema and the reference say how, not how much.
    pub(in crate::plant) fn or_by<Q: Quantity>(
        &self,
        key: &'static str,
        doc: &str,
        allowed: Allowed,
        default: Q,
        reason: &'static str,
    ) -> Q {
        self.or_said(key, doc, allowed, default, None, reason)
    }

    fn or_said<Q: Quantity>(
        &self,
        key: &'static str,
        doc: &str,
        allowed: Allowed,
        default: Q,
        said: Option<String>,
        reason: &'static str,
    ) -> Q {
        let mut form = self.quantity_form::<Q>(key, &allowed);
        if let Some(o) = form.as_object_mut() {
            if let Some(said) = said {
                o.insert("default".into(), json!(default.show(quantity::Units::Us)));
                o.insert("x-default".into(), json!(said));
            }
            o.insert("x-reason".into(), json!(reason));
        }
        match self.ask(key, doc, form, false) {
            Some(v) => self.quantity::<Q>(key, v, &allowed).unwrap_or(default),
            None => {
                self.list_assumed(key, default.show_both(), reason);
                default
            }
        }
    }

    fn quantity<Q: Quantity>(&self, key: &str, v: &Spanned<DeValue<'_>>, allowed: &Allowed) -> Option<Q> {
        let kind = Q::KIND;
        let complaint = match v.get_ref() {
            DeValue::String(s) => match quantity::read::<Q>(s) {
                Ok(w) => return self.in_range(key, v, w, allowed),
                Err(c) if c == quantity::bare(kind, s.trim()) => quantity::bare_up_to(kind, s.trim(), *allowed.end()),
                Err(c) => c,
            },
            DeValue::Integer(n) => quantity::bare_up_to(kind, &n.to_string(), *allowed.end()),
            DeValue::Float(x) => quantity::bare_up_to(kind, &x.to_string(), *allowed.end()),
            other => {
                let hint = format!("write a number with its unit as a string, for example \"{}\"", kind.example);
                let _ = other;
                self.wrong_form(key, v, kind.noun, hint);
                return None;
            }
        };
        self.ctx.tell(
            Finding::new("P04", Severity::Error, self.subject, format!("`{}`: {}", self.full(key), complaint.sentence))
                .field(self.inner(key))
                .at(v.span())
                .hints(complaint.hints),
        );
        None
    }

    fn in_range<Q: Quantity>(
        &self,
        key: &str,
        v: &Spanned<DeValue<'_>>,
        w: Written<Q>,
        allowed: &Allowed,
    ) -> Option<Q> {
        // A hair of slack, so that a limit written in another unit is still inside.
        let slack = 1e-9 * allowed.start().abs().max(allowed.end().abs()).max(1.0);
        let base = w.value.base();
        if base >= allowed.start() - slack && base <= allowed.end() + slack {
            self.odd(key, v, &w);
            return Some(w.value);
        }
        let show = |b: f64| quantity::in_unit_closely(w.unit, b);
        // A number past reading is told as it was typed.
        let given = match v.get_ref() {
            DeValue::String(s) if base.is_nan() || base.abs() >= FAR => format!("`{}`", quantity::clip(s.trim())),
            _ => show(base),
        };
        self.ctx.tell(
            Finding::new(
                "P05",
                Severity::Error,
                self.subject,
                format!(
                    "`{}` is {}; {} to {} is allowed here",
                    self.full(key),
                    given,
                    show(*allowed.start()),
                    show(*allowed.end())
                ),
            )
            .field(self.inner(key))
            .at(v.span())
            .hint(if base < 0.0 && *allowed.start() >= 0.0 && w.unit.offset == 0.0 {
                "take the minus sign away"
            } else {
                "see that the number and its unit are the ones meant"
            }),
        );
        None
    }

    /// Tells of a time that is allowed and far from what it usually is.
    fn odd<Q: Quantity>(&self, key: &str, v: &Spanned<DeValue<'_>>, w: &Written<Q>) {
        let base = w.value.base();
        let Some((low, high, source)) = usual::of(Q::KIND, &self.schema_path, key) else { return };
        let none = base == 0.0 && !usual::needed(&self.schema_path, key);
        if none || (low..=high).contains(&base) {
            return;
        }
        let sentence =
            format!("`{}` is {}; usual is {}", self.full(key), quantity::in_unit(w.unit, base), usual::text(low, high));
        let mut f = Finding::new("P64", Severity::Warning, self.subject, sentence)
            .field(self.inner(key))
            .at(v.span())
            .note(format!("the usual range: {source}"));
        if let Some(slip) = usual::other_unit(base, w.unit.scale, low, high) {
            f = f.hint(format!("write \"{slip}\" if that is meant"));
        }
        self.ctx.tell(f.hint("leave it as it is if it is meant: this is a question, not a fault"));
    }

    fn quantity_form<Q: Quantity>(&self, key: &str, allowed: &Allowed) -> Value {
        let units: Vec<&str> = Q::KIND.units.iter().map(|u| u.name).collect();
        let range = quantity::range_both(Q::KIND, *allowed.start(), *allowed.end());
        let mut o = Map::new();
        o.insert("type".into(), json!("string"));
        o.insert("examples".into(), json!([Q::KIND.example]));
        o.insert("$comment".into(), json!(format!("{}, {range}; units: {}", Q::KIND.noun, units.join(", "))));
        let usual = usual::of(Q::KIND, &self.schema_path, key).map(|(low, high, _)| usual::text(low, high));
        o.insert("x-allowed".into(), json!(usual.map_or(range.clone(), |u| format!("{range}; usually {u}"))));
        Value::Object(o)
    }
}
