//! Places: where in the file each field of each thing was written, for findings made long after reading.
//!
//! A back end knows a [`Subject`] and the name of a field; the file knows bytes. When the field itself was not written
//! (a default), the heading of the thing is its place.

use heatwright_core::Subject;
use std::{collections::BTreeMap, ops::Range};

/// Where things stand in the file, in bytes.
#[derive(Clone, Debug, Default)]
pub struct Places {
    headings: BTreeMap<Subject, Range<usize>>,
    fields: BTreeMap<(Subject, String), Range<usize>>,
}

impl Places {
    /// Notes the heading of a thing; the first one counts. The plant as a whole has none: it is the file.
    pub fn heading(&mut self, subject: Subject, span: Range<usize>) {
        if subject != Subject::Plant {
            self.headings.entry(subject).or_insert(span);
        }
    }

    /// Notes one field, by its path inside the thing: `burner.post-purge`; for the plant as a whole with its table:
    /// `site.altitude`.
    pub fn field(&mut self, subject: Subject, path: &str, span: Range<usize>) {
        self.fields.insert((subject, path.to_string()), span);
    }

    /// The place of a field; of the table it is in, or the thing it belongs to, when the field was not written.
    pub fn at(&self, subject: Subject, path: &str) -> Option<Range<usize>> {
        let mut path = path;
        loop {
            if let Some(span) = self.fields.get(&(subject, path.to_string())) {
                return Some(span.clone());
            }
            match path.rsplit_once('.') {
                Some((outer, _)) => path = outer,
                None => return self.of(subject),
            }
        }
    }

    /// True when the field itself is written in the file.
    pub fn written(&self, subject: Subject, path: &str) -> bool {
        self.fields.contains_key(&(subject, path.to_string()))
    }

    /// Every field that is written in the file.
    pub fn written_fields(&self) -> impl Iterator<Item = (Subject, &str)> {
        self.fields.keys().map(|(s, path)| (*s, path.as_str()))
    }

    /// The heading of a thing.
    pub fn of(&self, subject: Subject) -> Option<Range<usize>> {
        self.headings.get(&subject).cloned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_core::BoilerId;

    #[test]
    fn an_unwritten_field_falls_back_to_what_holds_it() {
        let b = Subject::Boiler(BoilerId(0));
        let mut places = Places::default();
        places.heading(b, 0..4);
        places.field(b, "burner", 10..16);
        places.field(b, "burner.trials", 20..21);
        assert_eq!(places.at(b, "burner.trials"), Some(20..21));
        assert_eq!(places.at(b, "burner.post-purge"), Some(10..16));
        assert_eq!(places.at(b, "input"), Some(0..4));
        assert_eq!(places.at(Subject::Tank, "volume"), None);
    }
}
