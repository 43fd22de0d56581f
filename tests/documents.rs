//! What README and guide show is what the command prints.
//!
//! A sample stands below a comment that names its command, `<!-- $ heatwright wire workshop.toml --prove -->`; it is run in
//! `docs/examples`. A line `...` stands for any lines left out; before and after the sample any lines may stand.

use std::{path::Path, process::Command};

/// A sample: where it stands, the command's words, its text.
struct Sample {
    place: String,
    words: Vec<String>,
    text: String,
}

fn samples(file: &str) -> Vec<Sample> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    let text = std::fs::read_to_string(path).unwrap();
    let mut lines = text.lines().zip(1..);
    let mut out = Vec::new();
    while let Some((line, n)) = lines.next() {
        let Some(command) = line.strip_prefix("<!-- $ heatwright ").and_then(|c| c.strip_suffix(" -->")) else {
            continue;
        };
        let place = format!("{file}:{n}");
        let fence = lines.find(|(l, _)| !l.is_empty()).map(|l| l.0);
        assert_eq!(fence, Some("```"), "{place}: no sample below the command");
        let body: Vec<&str> = lines.by_ref().map(|l| l.0).take_while(|l| *l != "```").collect();
        assert!(body.iter().filter(|l| **l != "...").count() > 1, "{place}: the sample shows nothing");
        let words = command.split_whitespace().map(str::to_owned).collect();
        let inner = body.join("\n");
        let inner = inner.trim_start_matches("...\n").trim_end_matches("\n...");
        out.push(Sample { place, words, text: format!("...\n{inner}\n...\n") });
    }
    out
}

fn judge(file: &str, least: usize) {
    let all = samples(file);
    assert!(all.len() >= least, "{file}: {} samples", all.len());
    let mut stale = Vec::new();
    for s in all {
        let ran = Command::new(env!("CARGO_BIN_EXE_heatwright"))
            .args(&s.words)
            .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/examples"))
            .output()
            .unwrap();
        let text = |b: Vec<u8>| String::from_utf8(b).unwrap();
        let printed = if ran.stdout.is_empty() { text(ran.stderr) } else { text(ran.stdout) };
        let what = format!("{}: {}", s.place, s.words.join(" "));
        if let Err(e) = snapbox::Assert::new().try_eq(Some(&what), printed.into(), s.text.into()) {
            stale.push(e.to_string());
        }
    }
    assert!(stale.is_empty(), "{}", stale.join("\n\n"));
}

#[test]
fn the_readme_shows_what_is_printed() {
    judge("README.md", 2);
}

#[test]
fn the_guide_shows_what_is_printed() {
    judge("docs/guide.md", 7);
}
