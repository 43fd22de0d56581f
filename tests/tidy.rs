//! House rules that a reader should not have to check by eye.

use std::{fs, path::Path, path::PathBuf};

fn sources(folder: &str) -> Vec<PathBuf> {
    fn walk(dir: &Path, out: &mut Vec<PathBuf>) {
        for e in fs::read_dir(dir).unwrap() {
            let p = e.unwrap().path();
            if p.is_dir() {
                if p.file_name().is_some_and(|n| n != "target") {
                    walk(&p, out);
                }
            } else if p.extension().is_some_and(|x| x == "rs") {
                out.push(p);
            }
        }
    }
    let mut out = Vec::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), &mut out);
    out.sort();
    out
}

/// The code of a file: without its test module and without comments.
fn code(text: &str) -> String {
    text.split("#[cfg(test)]\nmod ")
        .next()
        .unwrap_or("")
        .lines()
        .map(|l| l.split("//").next().unwrap_or(""))
        .collect::<Vec<_>>()
        .join("\n")
}

/// Words of `code`, cut at everything that cannot stand in a name.
fn words(code: &str) -> impl Iterator<Item = &str> {
    code.split(|c: char| !c.is_alphanumeric() && c != '_')
}

/// What in this code has no place in the control core.
fn banned_in_core(text: &str) -> Vec<&'static str> {
    let code = code(text);
    let mut found = Vec::new();
    for w in ["f32", "f64", "unsafe", "std", "alloc", "String"] {
        if words(&code).any(|x| x == w) {
            found.push(w);
        }
    }
    for w in [".unwrap()", ".expect(", "panic!(", "unreachable!(", "assert!("] {
        if code.lines().any(|l| l.contains(w) && !l.trim_start().starts_with("const _")) {
            found.push(w);
        }
    }
    found
}

#[test]
fn every_module_says_what_it_decides() {
    for folder in ["src", "core/src", "sim/src", "wiring/src", "tests", "core/tests", "sim/tests", "wiring/tests"] {
        if !Path::new(env!("CARGO_MANIFEST_DIR")).join(folder).exists() {
            continue;
        }
        for p in sources(folder) {
            let text = fs::read_to_string(&p).unwrap();
            let head = text.trim_start();
            assert!(head.starts_with("//!"), "{} has no head", p.display());
        }
    }
}

#[test]
fn the_core_has_no_floats_no_heap_and_no_panics() {
    for p in sources("core/src").into_iter().filter(|p| p.file_name().is_none_or(|n| n != "tests.rs")) {
        let found = banned_in_core(&fs::read_to_string(&p).unwrap());
        assert!(found.is_empty(), "{}: {found:?}", p.display());
    }
}

#[test]
fn the_check_of_the_core_sees_what_it_looks_for() {
    assert_eq!(banned_in_core("fn f(x: f64) { y.unwrap(); }"), ["f64", ".unwrap()"]);
    assert!(banned_in_core("// f64\nfn f() {}\n#[cfg(test)]\nmod t { fn g() { panic!(\"x\") } }").is_empty());
}

#[test]
fn the_two_libraries_do_not_know_each_other_nor_toml() {
    for (folder, absent) in [
        ("sim/src", ["heatwright_wiring", "toml", "clap"]),
        ("wiring/src", ["heatwright_sim", "toml", "clap"]),
        ("core/src", ["heatwright_sim", "heatwright_wiring", "toml"]),
    ] {
        for p in sources(folder) {
            let code = code(&fs::read_to_string(&p).unwrap());
            for a in absent {
                assert!(words(&code).all(|w| w != a), "{} knows {a}", p.display());
            }
        }
    }
}
