//! Reading one table of the plant file: every key is asked for once, by name, with what it means and what is allowed.
//!
//! The same questions serve three ends: they read the file, they know which keys there are (so that an unknown one can be
//! named with its nearest neighbour), and, asked of no file at all, they write the JSON Schema. A question never fails: it
//! gives a value to go on with and leaves a finding, so that all faults of a file come out in one run.

mod quantities;
mod spelling;
mod usual;
mod words;

pub(crate) use spelling::nearest;
use spelling::{form_of, good_id, mend};

use super::{checked::Assumption, places::Places, quantity};
use crate::{finding::Finding, names::Names};
use heatwright_core::{Severity, Subject};
use serde_json::{Value, json};
use std::{cell::RefCell, collections::BTreeMap, ops::Range};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What is collected while a file is read.
#[derive(Debug, Default)]
pub(super) struct Ctx {
    pub(super) findings: RefCell<Vec<Finding>>,
    pub(super) places: RefCell<Places>,
    pub(super) names: RefCell<Names>,
    pub(super) assumptions: RefCell<Vec<Assumption>>,
    /// Ids under headings that nobody asked for, each with its heading: `p-one` of `pumps.p-one`.
    pub(super) astray: RefCell<BTreeMap<String, String>>,
    /// Set while the questions are asked for the schema: object path, then key.
    pub(super) schema: Option<RefCell<BTreeMap<String, Vec<SchemaKey>>>>,
}

/// One key for the schema.
#[derive(Clone, Debug)]
pub(super) struct SchemaKey {
    pub(super) key: &'static str,
    pub(super) form: Value,
    pub(super) needed: bool,
}

impl Ctx {
    pub(super) fn tell(&self, f: Finding) {
        self.findings.borrow_mut().push(f);
    }
}

/// One table under the cursor. Without a table every question is answered as if its key were not written.
pub(super) struct Cursor<'a> {
    pub(super) ctx: &'a Ctx,
    table: Option<&'a DeTable<'a>>,
    span: Range<usize>,
    pub(super) subject: Subject,
    /// The table as it is written: `boiler.b1.burner`.
    pub(super) path: String,
    /// Path inside the subject, for places: `burner`.
    inside: String,
    /// Path in the schema: `boiler.*.burner`.
    schema_path: String,
    known: RefCell<Vec<&'static str>>,
    /// Something stands here that is no table: that is told once, and its keys are not missed.
    quiet: bool,
}

/// Lowest and highest value that is allowed, in the base unit of the quantity.
pub(super) type Allowed = std::ops::RangeInclusive<f64>;

impl<'a> Cursor<'a> {
    pub(super) fn root(ctx: &'a Ctx, table: &'a DeTable<'a>) -> Self {
        Self::new(ctx, Some(table), 0..0, Subject::Plant, "", "", "")
    }

    pub(super) fn nothing(ctx: &'a Ctx) -> Self {
        Self::new(ctx, None, 0..0, Subject::Plant, "", "", "")
    }

    fn new(
        ctx: &'a Ctx,
        table: Option<&'a DeTable<'a>>,
        span: Range<usize>,
        subject: Subject,
        path: &str,
        inside: &str,
        schema_path: &str,
    ) -> Self {
        Self {
            ctx,
            table,
            span,
            subject,
            path: path.to_owned(),
            inside: inside.to_owned(),
            schema_path: schema_path.to_owned(),
            known: RefCell::default(),
            quiet: false,
        }
    }

    /// True when the table is written in the file, or the schema is being made.
    pub(super) fn there(&self) -> bool {
        self.table.is_some() || self.ctx.schema.is_some()
    }

    fn get(&self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.table?.iter().find(|(k, _)| k.get_ref().as_ref() == key).map(|(_, v)| v)
    }

    fn ask(&self, key: &'static str, doc: &str, mut form: Value, needed: bool) -> Option<&'a Spanned<DeValue<'a>>> {
        self.known.borrow_mut().push(key);
        let mend = mend(key, doc, &form);
        if let Some(schema) = &self.ctx.schema {
            if let Some(o) = form.as_object_mut() {
                o.insert("description".into(), json!(doc));
            }
            let mut all = schema.borrow_mut();
            let list = all.entry(self.schema_path.clone()).or_default();
            if list.iter().all(|k| k.key != key) {
                list.push(SchemaKey { key, form, needed });
            }
        }
        let value = self.get(key);
        if let Some(v) = value {
            self.ctx.places.borrow_mut().field(self.subject, &self.inner(key), v.span());
        } else if needed {
            self.missing(key, mend);
        }
        value
    }

    fn inner(&self, key: &str) -> String {
        if self.inside.is_empty() { key.to_owned() } else { format!("{}.{key}", self.inside) }
    }

    /// The key as it would be written in full.
    pub(super) fn full(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    fn missing(&self, key: &str, mend: String) {
        if self.ctx.schema.is_some() || self.quiet {
            return;
        }
        let what = if self.path.is_empty() { "the plant".to_owned() } else { format!("[{}]", self.path) };
        let mut f = Finding::new("P02", Severity::Error, self.subject, format!("{what} has no `{key}`"))
            .field(self.inner(key))
            .hint(mend);
        if !self.span.is_empty() {
            f = f.at(self.span.clone()).label("here");
        }
        self.ctx.tell(f);
    }

    /// True when questions about what is missing make sense: a file is read, and what stands here is a table.
    pub(super) fn judged(&self) -> bool {
        self.ctx.schema.is_none() && !self.quiet
    }

    /// A place for a key: its value when it is written, else the heading.
    pub(super) fn span_of(&self, key: &str) -> Range<usize> {
        self.get(key).map_or_else(|| self.span.clone(), Spanned::span)
    }

    /// True when a key is written.
    pub(super) fn written(&self, key: &str) -> bool {
        self.get(key).is_some()
    }

    /// A fault for each of these keys that is written although `why` leaves it without effect.
    pub(super) fn idle(&self, keys: &[&str], why: &str) {
        for key in keys.iter().filter(|k| self.written(k)) {
            self.ctx.tell(
                self.fault(key, "P45", format!("`{}` has no effect: {why}", self.full(key)))
                    .hint("take it out, so that nobody relies on it"),
            );
        }
    }

    /// A fault at a key of this table.
    pub(super) fn fault(&self, key: &str, code: &'static str, sentence: impl Into<String>) -> Finding {
        let f = Finding::new(code, Severity::Error, self.subject, sentence).field(self.inner(key));
        match self.get(key) {
            Some(v) => f.at(v.span()),
            None if !self.span.is_empty() => f.at(self.span.clone()),
            None => f,
        }
    }

    /// Lists what was taken for a key that is not written; the schema and the reference say it too.
    pub(super) fn assume(&self, key: &str, value: String, reason: &'static str) {
        self.say_default(key, Some(&value), reason);
        self.list_assumed(key, value, reason);
    }

    /// The same where the value follows from other keys: the schema and the reference say how, not how much.
    pub(super) fn assume_by(&self, key: &str, value: String, reason: &'static str) {
        self.say_default(key, None, reason);
        self.list_assumed(key, value, reason);
    }

    fn list_assumed(&self, key: &str, value: String, reason: &'static str) {
        if self.judged() && !self.written(key) {
            let (subject, key) = (self.subject, self.full(key));
            self.ctx.assumptions.borrow_mut().push(Assumption { subject, key, value, reason });
        }
    }

    pub(super) fn say_default(&self, key: &str, value: Option<&str>, reason: &str) {
        let Some(schema) = &self.ctx.schema else { return };
        let mut all = schema.borrow_mut();
        let known = all.get_mut(&self.schema_path).and_then(|list| list.iter_mut().find(|k| k.key == key));
        if let Some(form) = known.and_then(|k| k.form.as_object_mut()) {
            if !reason.is_empty() {
                form.insert("x-reason".into(), json!(reason));
            }
            if let Some(value) = value {
                form.insert("x-default".into(), json!(value));
            }
        }
    }

    fn wrong_form(&self, key: &str, v: &Spanned<DeValue<'_>>, wanted: &str, hint: String) {
        self.ctx.tell(
            Finding::new(
                "P03",
                Severity::Error,
                self.subject,
                format!("`{}` is {}; {wanted} is wanted here", self.full(key), form_of(v.get_ref())),
            )
            .field(self.inner(key))
            .at(v.span())
            .hint(hint),
        );
    }

    /// A table inside this one.
    pub(super) fn table(&self, key: &'static str, doc: &str) -> Cursor<'a> {
        let value = self.ask(key, doc, json!({ "$table": self.schema_child(key) }), false);
        let table = value.and_then(|v| match v.get_ref() {
            DeValue::Table(t) => Some(t),
            _ => {
                let hint = format!("write its keys under a heading [{}], or in braces: {{ ... }}", self.full(key));
                self.wrong_form(key, v, "a table", hint);
                None
            }
        });
        let span = value.map_or(self.span.clone(), |v| v.span());
        let span = self.key_span(key).unwrap_or(span);
        let quiet = self.quiet || (value.is_some() && table.is_none());
        let (full, inner, schema) = (self.full(key), self.inner(key), self.schema_child(key));
        Cursor { quiet, ..Cursor::new(self.ctx, table, span, self.subject, &full, &inner, &schema) }
    }

    fn schema_child(&self, key: &str) -> String {
        if self.schema_path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.schema_path) }
    }

    fn key_span(&self, key: &str) -> Option<Range<usize>> {
        self.table?.keys().find(|k| k.get_ref().as_ref() == key).map(Spanned::span)
    }

    /// The same cursor about another subject: the tank and the damper are things of their own.
    pub(super) fn about(mut self, subject: Subject) -> Self {
        self.subject = subject;
        self.inside = String::new();
        if self.table.is_some() {
            self.ctx.places.borrow_mut().heading(subject, self.span.clone());
        }
        self
    }

    /// Named tables, `[boiler.b1]`, in the order of the file, with their ids.
    pub(super) fn named(
        &self,
        key: &'static str,
        doc: &str,
        subject: impl Fn(u8) -> Subject,
    ) -> Vec<(String, Cursor<'a>)> {
        let schema = format!("{}.*", self.schema_child(key));
        let value = self.ask(key, doc, json!({ "$named": schema }), false);
        if self.ctx.schema.is_some() {
            return vec![("x".into(), Cursor::new(self.ctx, None, 0..0, subject(0), key, "", &schema))];
        }
        let Some(v) = value else { return Vec::new() };
        let DeValue::Table(t) = v.get_ref() else {
            self.wrong_form(key, v, "named tables", format!("write each under a heading of its own, like [{key}.one]"));
            return Vec::new();
        };
        let mut all: Vec<_> = t.iter().collect();
        all.sort_by_key(|(k, _)| k.span().start);
        let mut out = Vec::new();
        for (k, v) in all {
            let id = k.get_ref().as_ref();
            let subject = subject(u8::try_from(out.len()).unwrap_or(u8::MAX));
            let DeValue::Table(table) = v.get_ref() else {
                self.ctx.tell(
                    Finding::new(
                        "P03",
                        Severity::Error,
                        Subject::Plant,
                        format!("`{key}.{}` is {}; a table is wanted here", quantity::clip(id), form_of(v.get_ref())),
                    )
                    .at(v.span())
                    .hint(format!("write each {key} under a heading of its own: [{key}.NAME]")),
                );
                continue;
            };
            if out.len() >= usize::from(u8::MAX) {
                self.ctx.tell(
                    Finding::new(
                        "P08",
                        Severity::Error,
                        Subject::Plant,
                        format!("there are more than {} of [{key}.*]", u8::MAX),
                    )
                    .at(k.span()),
                );
                break;
            }
            if !good_id(id) {
                self.ctx.tell(
                    Finding::new("P09", Severity::Error, subject, format!("`{}` is not an id", quantity::clip(id)))
                        .at(k.span())
                        .hint("an id is a small letter followed by up to 23 small letters, digits or dashes"),
                );
            }
            let clash = self.ctx.names.borrow_mut().enter(id, None, subject);
            self.ctx.places.borrow_mut().heading(subject, k.span());
            if let Some(first) = clash {
                let mut f = Finding::new(
                    "P10",
                    Severity::Error,
                    subject,
                    format!("the id `{}` is used twice", quantity::clip(id)),
                )
                .at(k.span())
                .label("again here")
                .hint("ids are one namespace for boilers, zones, pumps, safeties, sensors and schedules: rename one");
                if let Some(span) = self.ctx.places.borrow().of(first) {
                    f = f.also(span, "first used here");
                }
                self.ctx.tell(f);
            }
            out.push((
                id.to_owned(),
                Cursor::new(self.ctx, Some(table), k.span(), subject, &format!("{key}.{id}"), "", &schema),
            ));
        }
        out
    }

    /// A list of small tables, `points = [{ ... }, { ... }]`.
    pub(super) fn list(&self, key: &'static str, doc: &str) -> Option<Vec<Cursor<'a>>> {
        let schema = format!("{}[]", self.schema_child(key));
        let v = self.ask(key, doc, json!({ "$list": schema }), false);
        if self.ctx.schema.is_some() {
            return Some(vec![Cursor::new(self.ctx, None, 0..0, self.subject, key, key, &schema)]);
        }
        let v = v?;
        let DeValue::Array(list) = v.get_ref() else {
            self.wrong_form(key, v, "a list", "write it like [{ ... }, { ... }]".into());
            return None;
        };
        let mut out = Vec::new();
        for (i, item) in list.iter().enumerate() {
            match item.get_ref() {
                DeValue::Table(t) => out.push(Cursor::new(
                    self.ctx,
                    Some(t),
                    item.span(),
                    self.subject,
                    &format!("{}[{}]", self.full(key), i + 1),
                    &self.inner(key),
                    &schema,
                )),
                _ => self.wrong_form(key, item, "a small table", "write it like { ... }".into()),
            }
        }
        Some(out)
    }

    /// The span of this table's heading.
    pub(super) fn heading(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Names every key that nobody asked for.
    pub(super) fn done(&self) {
        let Some(table) = self.table else { return };
        let known = self.known.borrow();
        for (k, v) in table.iter() {
            let name = k.get_ref().as_ref();
            if known.contains(&name) {
                continue;
            }
            if let (true, DeValue::Table(inner)) = (self.path.is_empty(), v.get_ref()) {
                let ids = inner.keys().map(|id| id.get_ref().to_string());
                self.ctx.astray.borrow_mut().extend(ids.map(|id| (id.clone(), format!("{name}.{id}"))));
            }
            let place = if self.path.is_empty() { "the plant file".to_owned() } else { format!("[{}]", self.path) };
            let mut f = Finding::new(
                "P01",
                Severity::Error,
                self.subject,
                format!("`{}` is not a key of {place}", quantity::clip(name)),
            )
            .at(k.span());
            f = match nearest(name, known.iter().copied()) {
                Some(near) => {
                    // A slip of the pen in a key that is needed is one fault, not two.
                    let meant = self.inner(near);
                    let within = format!("{meant}.");
                    let missed = |field: &str| field == meant || (!self.written(near) && field.starts_with(&within));
                    self.ctx.findings.borrow_mut().retain(|f| {
                        !(f.code == "P02" && f.subject == self.subject && f.field.as_deref().is_some_and(missed))
                    });
                    f.label("not known").hint(format!("perhaps `{near}` is meant"))
                }
                None => f.label("not known").hint(format!("keys here: {}", known.join(", "))),
            };
            self.ctx.tell(f);
        }
    }
}
