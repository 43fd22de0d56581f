//! Every code that is emitted is explained, and every explanation is emitted, with its weight: read off the sources.

use super::*;
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

fn files(folder: &str) -> Vec<PathBuf> {
    fn walk(dir: &Path, out: &mut Vec<PathBuf>) {
        for e in fs::read_dir(dir).unwrap() {
            let p = e.unwrap().path();
            if p.is_dir() {
                walk(&p, out);
            } else if p.extension().is_some_and(|x| x == "rs") && p.file_name().is_some_and(|n| n != "tests.rs") {
                out.push(p);
            }
        }
    }
    let mut out = Vec::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), &mut out);
    out.sort();
    out
}

/// A file without its tests and remarks.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or("");
    text.lines().map(|l| l.split("//").next().unwrap_or("")).collect::<Vec<_>>().join("\n")
}

/// All of the program that makes findings, but these tables.
fn program() -> String {
    let tables = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/explain");
    let ours = files("src").into_iter().filter(|p| !p.starts_with(&tables));
    ours.map(|p| code(&fs::read_to_string(p).unwrap())).collect::<Vec<_>>().join("\n")
}

/// Codes of a letter and two digits that stand in a text: each with whether it is emitted there, and the weight where the
/// place says it.
fn codes(text: &str) -> Vec<(String, bool, Option<Severity>)> {
    let mut out = Vec::new();
    for (at, _) in text.match_indices('"') {
        let Some(word) = text.get(at + 1..at + 4) else { continue };
        let shape: Vec<char> = word.chars().collect();
        let is_code =
            matches!(shape[..], [a, b, c] if a.is_ascii_uppercase() && b.is_ascii_digit() && c.is_ascii_digit());
        if !is_code || text.get(at + 4..at + 5) != Some("\"") {
            continue;
        }
        let before = text[..at].trim_end();
        let after = text[at + 5..].trim_start_matches([',', ' ', '\n']);
        let told = match before.strip_suffix(',').and_then(|b| b.rsplit_once("fault(")) {
            // The helper that puts a finding at a key: key, code, sentence.
            Some((_, key)) => !key.contains([')', ';', '{']),
            None => false,
        };
        let by_helper = told || ["error(", "plain(", " new("].iter().any(|h| before.ends_with(h));
        let straight = before.ends_with("Finding::new(");
        let weight = match after.strip_prefix("Severity::").filter(|_| straight) {
            Some(w) if w.starts_with("Note") => Some(Severity::Note),
            Some(w) if w.starts_with("Warning") => Some(Severity::Warning),
            Some(_) => Some(Severity::Error),
            None => by_helper.then_some(Severity::Error),
        };
        out.push((word.to_owned(), by_helper || straight, weight));
    }
    out
}

/// What is wrong between what a text emits and what is explained.
fn wrong(text: &str, explained: &BTreeMap<&str, Weight>) -> Vec<String> {
    let mut out = Vec::new();
    let mut emitted = BTreeSet::new();
    for (code, told, weight) in codes(text) {
        match (explained.get(code.as_str()), weight) {
            (None, _) => out.push(format!("{code} is not explained")),
            (Some(Weight::Always(w)), Some(given)) if *w != given => out.push(format!("{code} has another weight")),
            _ => {}
        }
        if told {
            emitted.insert(code);
        }
    }
    let never = explained.keys().filter(|c| !emitted.contains(**c));
    out.extend(never.map(|c| format!("{c} is emitted nowhere")));
    out
}

fn ours() -> impl Iterator<Item = &'static Entry> {
    FAMILIES.iter().flat_map(|f| f.entries)
}

#[test]
fn what_is_emitted_is_explained_and_what_is_explained_is_emitted() {
    let short = ours().filter(|e| e.code != e.name).map(|e| (e.code, e.weight)).collect();
    assert_eq!(wrong(&program(), &short), [""; 0]);
}

#[test]
fn the_check_of_the_codes_sees_what_it_looks_for() {
    let known = BTreeMap::from([("P01", ERROR), ("C07", NOTE)]);
    let good = "Finding::new(\n    \"P01\",\n    Severity::Error, x); Finding::new(\"C07\", Severity::Note, x);";
    assert_eq!(wrong(good, &known), [""; 0]);
    let helpers = "let f = c.fault(\"key\", \"P01\", x); Finding::new(\"C07\", Severity::Note, x)";
    assert_eq!(wrong(helpers, &known), [""; 0]);
    assert_eq!(wrong(&good.replace("P01", "P99"), &known), ["P99 is not explained", "P01 is emitted nowhere"]);
    assert_eq!(wrong(&good.replace("Note", "Error"), &known), ["C07 has another weight"]);
    // To name a code is not to emit it.
    let named = "if f.code == \"P01\" {} Finding::new(\"C07\", Severity::Note, x)";
    assert_eq!(wrong(named, &known), ["P01 is emitted nowhere"]);
}

/// A code that is no literal where a finding is made would not be seen: all such places are known.
#[test]
fn every_finding_is_made_with_a_code_that_can_be_read() {
    let program = program();
    assert!(program.matches("Finding::new(").count() > 50, "the sources were not found");
    for rest in program.split("Finding::new(").skip(1) {
        let first = rest.trim_start();
        let known = ["\"", "code, ", "f.issue.code()", "f.code, "].iter().any(|k| first.starts_with(k));
        assert!(known, "Finding::new({}", first.chars().take(60).collect::<String>());
    }
}

/// Variants and codes of an enum of issues.
fn arms(text: &str) -> Vec<(String, String)> {
    let Some((_, body)) = text.split_once("fn code(&self) -> &'static str {") else { return Vec::new() };
    let body = body.split("\n    }\n").next().unwrap_or("");
    let arm = |l: &str| {
        let (left, right) = l.trim().strip_prefix("Self::")?.split_once(" => \"")?;
        Some((left.split([' ', '(']).next()?.to_owned(), right.split('"').next()?.to_owned()))
    };
    body.lines().filter_map(arm).collect()
}

/// The weight with which a variant is told, from the nearest `Severity` that belongs to it.
fn told(studies: &str, variant: &str) -> Option<Weight> {
    let at = studies.find(&format!("Issue::{variant} {{"))?;
    let of = |s: &str| match s.split(|c: char| !c.is_alphabetic()).next() {
        Some("Note") => Severity::Note,
        Some("Warning") => Severity::Warning,
        _ => Severity::Error,
    };
    let before = studies[..at].trim_end_matches("Water").trim_end().strip_suffix(',');
    if let Some(w) = before.and_then(|b| b.rsplit_once("Severity::")).filter(|b| b.1.chars().all(char::is_alphabetic)) {
        return Some(Weight::Always(of(w.1)));
    }
    let (_, after) = studies[at..].split_once("Severity::")?;
    let one = of(after);
    let either = after.trim_start_matches(char::is_alphabetic).starts_with(" } else {");
    Some(if either { Weight::Varies } else { Weight::Always(one) })
}

#[test]
fn the_studies_findings_are_explained_with_their_weight() {
    let all: Vec<String> = files("sim/src/study").iter().map(|p| code(&fs::read_to_string(p).unwrap())).collect();
    let arms: Vec<(String, String)> = all.iter().flat_map(|t| arms(t)).collect();
    let found: BTreeSet<&str> = arms.iter().map(|a| a.1.as_str()).collect();
    let explained: BTreeSet<&str> = ours().filter(|e| e.code == e.name).map(|e| e.code).collect();
    assert_eq!(found, explained);
    let studies = all.iter().filter(|t| !t.contains("fn code(&self)")).cloned().collect::<Vec<_>>().join("\n");
    for (variant, code) in &arms {
        let weight = ours().find(|e| e.code == code).map(|e| e.weight);
        assert_eq!(told(&studies, variant), weight, "{variant}, {code}");
    }
    assert_eq!(told(&studies, "Nothing"), None);
    assert_eq!(
        told("let issue = Issue::A { x }; tell(a, if b { Severity::Note } else { c })", "A"),
        Some(Weight::Varies)
    );
    assert_eq!(told("tell(a, Severity::Note, WaterIssue::A { x }); Severity::Error", "A"), Some(NOTE));
}

#[test]
fn the_rules_that_vary_are_those_that_say_so() {
    let vary = |p: &PathBuf| code(&fs::read_to_string(p).unwrap()).contains(".severity(");
    let found = files("wiring/src/rules").into_iter().filter(vary);
    let found: Vec<String> = found.map(|p| p.file_stem().unwrap().to_string_lossy().to_uppercase()).collect();
    assert_eq!(found, RULES_THAT_VARY);
}

#[test]
fn codes_and_names_are_single_and_texts_are_whole() {
    let mut seen = BTreeSet::new();
    for e in all() {
        assert!(seen.insert(e.code.to_lowercase()), "{}", e.code);
        assert!(e.name == e.code || seen.insert(e.name.to_owned()), "{}", e.name);
    }
    for e in ours() {
        for text in [e.finds, e.matters, e.mend] {
            assert!(
                text.ends_with('.') && !text.contains("  ") && text.matches('`').count() % 2 == 0,
                "{}: {text}",
                e.code
            );
        }
        assert!(!e.source.is_empty() && !e.source.ends_with('.'), "{}: its source", e.code);
        assert!(e.name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}: {}", e.code, e.name);
        assert!(e.example.lines().all(|l| l.chars().count() <= 76), "{}: a line of its example is too long", e.code);
    }
    for f in &FAMILIES {
        let letters: BTreeMap<char, Vec<&str>> = f.entries.iter().filter(|e| e.code != e.name).fold(
            BTreeMap::new(),
            |mut by: BTreeMap<char, Vec<&str>>, e| {
                by.entry(e.code.chars().next().unwrap()).or_default().push(e.code);
                by
            },
        );
        assert!(letters.values().all(|v| v.is_sorted()), "{}: {letters:?}", f.title);
    }
}

/// Keys in a text that the reference of the plant file does not have.
fn strange_keys(text: &str, reference: &str) -> Vec<String> {
    let known = |key: &str| match key.split_once('.') {
        Some((table, key)) => {
            reference.contains(&format!("## [{table}]\n")) && reference.contains(&format!("\n| `{key}` |"))
        }
        // A key, or a heading of its own.
        None => reference.contains(&format!("\n| `{key}` |")) || reference.contains(&format!(".{key}]\n")),
    };
    text.split('`').skip(1).step_by(2).filter(|k| !known(k)).map(str::to_owned).collect()
}

#[test]
fn keys_are_named_as_the_reference_has_them() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/plant-file.md");
    let reference = fs::read_to_string(path).unwrap();
    for e in ours() {
        for text in [e.finds, e.matters, e.mend, e.source] {
            assert_eq!(strange_keys(text, &reference), [""; 0], "{}", e.code);
        }
    }
    assert_eq!(strange_keys("`reset.supply-max` `supply-max` `suply-max` `rset.supply-max`", &reference).len(), 2);
}

/// What the reader finds strange in an example, however little of a plant it is: keys, forms, units, ranges, words, grammar.
fn strange_lines(example: &str) -> Vec<String> {
    let judged = ["P01", "P03", "P04", "P05", "P06", "P07", "P09", "P10", "P31", "P45", "P54"];
    let findings = match crate::plant::read::read("example", example.as_bytes()) {
        Ok(_) => Vec::new(),
        Err(refusal) => refusal.findings,
    };
    findings.into_iter().filter(|f| judged.contains(&f.code.as_ref())).map(|f| f.sentence).collect()
}

#[test]
fn examples_are_lines_of_a_plant_file() {
    for e in ours().filter(|e| !e.example.is_empty()) {
        assert_eq!(strange_lines(e.example), [""; 0], "{}", e.code);
    }
    assert_eq!(strange_lines("[boiler.b1]\noutlet-max = \"185\"\nlimit_ = 3").len(), 2);
}

#[test]
fn codes_and_names_are_found_in_either_case_and_slips_are_near() {
    assert_eq!(find("p04").map(|e| e.code), Some("P04"));
    assert_eq!(find("Not-A-Quantity").map(|e| e.code), Some("P04"));
    assert_eq!(find("crowded-terminal").map(|e| e.code), Some("HW101"));
    assert_eq!(find("short-cycle").map(|e| e.weight.word()), Some("warning"));
    assert_eq!(find("HW404").map(|e| e.weight.word()), Some("varies"));
    assert!(find("").is_none() && find("P99").is_none());
    assert_eq!(near("HW1O1").first(), Some(&"HW101"));
    assert_eq!(near("short-cycles").first(), Some(&"short-cycle"));
    assert_eq!(near("crowded-terminals").first(), Some(&"HW101"));
    assert!(near("HW999").is_empty() && near("").is_empty() && near(&"x".repeat(1_000_000)).is_empty());
}

/// Values of words in a text (`key = "value"`, "of kind value", "circuit value.") that the reference does not list for that key.
fn strange_values(text: &str, reference: &str) -> Vec<String> {
    let values = |key: &str| -> Vec<&str> {
        let head = format!("\n| `{key}` |");
        let rows = reference.match_indices(&head).filter_map(|(at, _)| reference[at + 1..].lines().next());
        rows.flat_map(|row| row.split("`\"").skip(1).filter_map(|v| v.split('"').next())).collect()
    };
    let word = |s: &str| s.chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect::<String>();
    let key_before = |s: &str| {
        let tail: String = s.chars().rev().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect();
        tail.chars().rev().collect::<String>()
    };
    let text = text.replace("\\\"", "\"");
    let mut pairs: Vec<(String, String)> = Vec::new();
    for (at, _) in text.match_indices(" = \"") {
        let value = text[at + 4..].split('"').next().unwrap_or("");
        if !value.is_empty() && word(value) == value {
            pairs.push((key_before(&text[..at]), value.to_owned()));
        }
    }
    for (before, key) in [("of kind ", "kind"), (" circuit ", "circuit"), (" scope ", "scope")] {
        for (at, _) in text.match_indices(before) {
            let rest = &text[at + before.len()..];
            let value = word(rest);
            // "Circuit conductors." is prose: a slip there has a hyphen.
            // "gas-{word}" is filled in later.
            let after = &rest[value.len()..];
            let ends = key == "kind" && !after.starts_with('{')
                || after.starts_with(['.', ',']) && (key == "scope" || value.contains('-'));
            if ends && !value.is_empty() && !(key == "scope" && ["plant", "tank"].contains(&value.as_str())) {
                pairs.push((key.to_owned(), value));
            }
        }
    }
    let strange = |(key, value): &(String, String)| {
        let known = values(key);
        (key == "scope" || !known.is_empty()) && !known.contains(&value.as_str())
    };
    pairs.iter().filter(|p| strange(p)).map(|(k, v)| format!("{k} {v}")).collect()
}

/// What a text tells somebody to write can be written. Seen to fail: `circuit` tank-limit and zone-limit.
#[test]
fn values_that_texts_name_are_values_of_their_keys() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/plant-file.md");
    let reference = fs::read_to_string(path).unwrap();
    for e in ours() {
        for text in [e.finds, e.matters, e.mend] {
            assert_eq!(strange_values(text, &reference), [""; 0], "{}", e.code);
        }
    }
    for p in files("wiring/src/rules") {
        let text = code(&fs::read_to_string(&p).unwrap());
        assert_eq!(strange_values(&text, &reference), [""; 0], "{}", p.display());
    }
    let bad =
        "Add a limit, circuit tank-limit. A safety of kind limt; write circuit = \"zone-limit\" or drive = \"demand\".";
    assert_eq!(strange_values(bad, &reference), ["circuit zone-limit", "kind limt", "circuit tank-limit"]);
}
