//! Writes the copy: every file of the core with its mutants in it, and the switch.

use crate::{
    Args,
    find::{How, Mutant, strips_const},
};
use std::{
    collections::{BTreeMap, BTreeSet},
    fmt::Write as _,
    fs,
    ops::Range,
};

/// The switch, as a module of the copy.
const SWITCH: &str = r#"//! Which mutant is on.
extern crate std;
use core::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::{io::Write as _, sync::LazyLock};

static ON: LazyLock<u32> =
    LazyLock::new(|| std::env::var("MUTANT").ok().and_then(|v| v.parse().ok()).unwrap_or(0));
static REACHED: LazyLock<Option<std::sync::Mutex<std::fs::File>>> = LazyLock::new(|| {
    let path = std::env::var("MUTANT_REACHED").ok()?;
    Some(std::sync::Mutex::new(std::fs::File::create(path).ok()?))
});
static SEEN: [AtomicU64; 256] = [const { AtomicU64::new(0) }; 256];

/// True for the mutant that is on.
#[inline]
pub fn on(id: u32) -> bool {
    if *ON == u32::MAX {
        let (word, bit) = (id as usize / 64, 1u64 << (id % 64));
        if SEEN[word].load(Relaxed) & bit == 0 {
            SEEN[word].fetch_or(bit, Relaxed);
            if let Some(f) = &*REACHED {
                let _ = std::writeln!(f.lock().unwrap(), "{id}");
            }
        }
    }
    *ON == id
}
"#;

/// Where each mutant stands in the copy.
pub type Placed = BTreeMap<String, Vec<(Range<usize>, Vec<u32>)>>;

/// Mutants whose text the byte lies in, the innermost.
pub fn owner(placed: &Placed, file: &str, at: usize) -> Vec<u32> {
    let Some(list) = placed.get(file) else { return Vec::new() };
    let inside = list.iter().filter(|(r, _)| r.contains(&at));
    inside.min_by_key(|(r, _)| r.len()).map(|(_, ids)| ids.clone()).unwrap_or_default()
}

/// Writes every file; `dead` mutants are left out.
pub fn all(
    args: &Args,
    files: &[(String, String)],
    mutants: &[Mutant],
    dead: &BTreeSet<u32>,
) -> Result<Placed, String> {
    let mut placed = Placed::new();
    for (name, text) in files {
        let mut at: BTreeMap<(usize, std::cmp::Reverse<usize>), Vec<&Mutant>> = BTreeMap::new();
        for m in mutants.iter().filter(|m| m.file == *name && !dead.contains(&m.id)) {
            at.entry((m.at.start, std::cmp::Reverse(m.at.end))).or_default().push(m);
        }
        let places: Vec<(Range<usize>, Vec<&Mutant>)> =
            at.into_iter().map(|((s, std::cmp::Reverse(e)), m)| (s..e, m)).collect();
        let mut w = Writer { text, out: String::new(), placed: Vec::new() };
        w.range(0..text.len(), &places);
        let mut out = w.out;
        if strips_const(name) {
            // Of the same length, so that places stay. Tests keep theirs.
            let tests = out.find("#[cfg(test)]").unwrap_or(out.len());
            let rest = out.split_off(tests);
            out = out.replace("const fn", "      fn") + &rest;
        }
        if name == "lib.rs" {
            out = out.replace("#![forbid(unsafe_code)]", "#![allow(warnings, clippy::all)]");
            out.push_str("\nmod mutant;\n");
        }
        let path = args.copy.join("core/src").join(name);
        if fs::read_to_string(&path).is_ok_and(|old| old == out) {
            placed.insert(name.clone(), w.placed);
            continue;
        }
        fs::write(&path, out).map_err(|e| format!("{}: {e}", path.display()))?;
        placed.insert(name.clone(), w.placed);
    }
    fs::write(args.copy.join("core/src/mutant.rs"), SWITCH).map_err(|e| e.to_string())?;
    Ok(placed)
}

struct Writer<'a> {
    text: &'a str,
    out: String,
    placed: Vec<(Range<usize>, Vec<u32>)>,
}

impl Writer<'_> {
    /// Writes a range of the original, with the places that lie in it.
    fn range(&mut self, r: Range<usize>, places: &[(Range<usize>, Vec<&Mutant>)]) {
        let mut at = r.start;
        let mut i = 0;
        while i < places.len() {
            let (place, mutants) = &places[i];
            let inner = places[i + 1..].iter().take_while(|(p, _)| p.start < place.end && p.end <= place.end).count();
            self.out.push_str(&self.text[at..place.start]);
            self.place(place.clone(), mutants, &places[i + 1..i + 1 + inner]);
            at = place.end;
            i += 1 + inner;
        }
        self.out.push_str(&self.text[at..r.end]);
    }

    fn place(&mut self, r: Range<usize>, mutants: &[&Mutant], inner: &[(Range<usize>, Vec<&Mutant>)]) {
        let began = self.out.len();
        let ids: Vec<u32> = mutants.iter().map(|m| m.id).collect();
        if let Some(m) = mutants.iter().find(|m| m.how == How::Skip) {
            let _ = write!(self.out, "if !crate::mutant::on({}) ", m.id);
            self.placed.push((began..self.out.len(), ids));
            return;
        }
        if mutants.iter().all(|m| matches!(m.how, How::Returns(_))) {
            self.out.push('{');
            for m in mutants {
                if let How::Returns(value) = &m.how {
                    let from = self.out.len();
                    let _ = write!(self.out, " if crate::mutant::on({}) {{ return {value}; }}", m.id);
                    self.placed.push((from..self.out.len(), vec![m.id]));
                }
            }
            self.range(r.start + 1..r.end, inner);
            return;
        }
        self.out.push('(');
        for m in mutants {
            let text = match &m.how {
                How::Instead(text) => text.clone(),
                How::Always(b) => b.to_string(),
                How::Returns(_) | How::Skip => continue,
            };
            let from = self.out.len();
            let _ = write!(self.out, "if crate::mutant::on({}) {{ {text} }} else ", m.id);
            self.placed.push((from..self.out.len(), vec![m.id]));
        }
        self.out.push_str("{ ");
        self.range(r, inner);
        self.out.push_str(" })");
        self.placed.push((began..self.out.len(), ids));
    }
}
