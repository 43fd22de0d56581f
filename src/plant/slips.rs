//! Slips of a hand in a plant file that is well otherwise, and what is told of each: the cause, once, before what follows from it.

use super::read::read;

/// Code and sentence of every finding, with its hints, of an example with one text in place of another.
fn told(example: &str, from: &str, to: &str) -> Vec<(String, String, Vec<String>)> {
    let text = std::fs::read_to_string(format!("docs/examples/{example}.toml")).unwrap();
    assert!(text.contains(from), "{from}");
    match read(example, text.replacen(from, to, 1).as_bytes()) {
        Ok(_) => Vec::new(),
        Err(r) => r.findings.into_iter().map(|f| (f.code.to_string(), f.sentence, f.hints)).collect(),
    }
}

/// What a controller would need is not missed where the word for the control is not known.
#[test]
fn an_unknown_word_for_the_control_is_one_fault() {
    let list = told("terrace", "control = \"zone-relays\"", "control = \"relays\"");
    assert!(list.iter().any(|f| f.0 == "P07") && !list.iter().any(|f| f.0 == "P18"), "{list:?}");
}

/// A pump under `[pumps.ID]`: its heading is the slip, and no other pump is meant.
#[test]
fn a_pump_under_an_unknown_heading_is_not_another_pump() {
    let list = told("terrace", "[pump.p-flat-1]", "[pumps.p-flat-1]");
    let unknown = list.iter().find(|f| f.0 == "P11").unwrap();
    assert!(
        unknown.2[0].contains("[pumps.p-flat-1]") && !unknown.2.iter().any(|h| h.contains("perhaps")),
        "{unknown:?}"
    );
    assert!(list.iter().any(|f| f.0 == "P01" && f.1.contains("pumps")), "{list:?}");
}

/// A short-circuit current is some thousand amperes, a motor's is not.
#[test]
fn the_unit_offered_first_is_the_usual_one() {
    let hint = |from: &str, to: &str| {
        let list = told("terrace", from, to);
        list.iter().find(|f| f.0 == "P04").map(|f| f.2.join("; ")).unwrap_or_default()
    };
    assert!(hint("fault-current = \"10 kA\"", "fault-current = \"10\"").contains("\"10 kA\", if kA"));
    assert!(hint("fault-current = \"10 kA\"", "fault-current = 10").contains("\"10 kA\", if kA"));
    assert!(hint("amps = \"", "amps = \"1.5\" # ").contains("\"1.5 A\", if A"));
}

/// A sign that turns the direction of writing would turn what stands on a label.
#[test]
fn unseen_characters_are_refused_in_names() {
    for c in ['\u{202e}', '\u{200b}', '\u{2066}', '\u{feff}'] {
        let list = told("terrace", "[site]\nname = \"", &format!("[site]\nname = \"{c}"));
        assert!(list.iter().any(|f| f.0 == "P06" && f.1.contains("unseen")), "{c:?}: {list:?}");
    }
    assert!(told("terrace", "[site]\nname = \"", "[site]\nname = \"Zürich ").is_empty());
}

/// ASME Section IV ends at 250 °F, the relief valve of a tank opens at 210 °F (both from memory).
#[test]
fn limits_end_where_the_vessel_does() {
    let wrong = |example: &str, section: &str, at: &str| {
        let text = std::fs::read_to_string(format!("docs/examples/{example}.toml")).unwrap();
        let from = &text[text.find(section).unwrap()..];
        let line = from.lines().find(|l| l.starts_with("opens-at")).unwrap();
        let whole = &from[..from.find(line).unwrap() + line.len()];
        let to = whole.replace(line, &format!("opens-at = \"{at}\""));
        told(example, whole, &to).iter().filter(|f| f.0 == "P57").count()
    };
    assert_eq!(
        (wrong("terrace", "[safety.high-hand-b1]", "250 °F"), wrong("terrace", "[safety.high-hand-b1]", "252 °F")),
        (0, 1)
    );
    assert_eq!(
        (wrong("library", "kind = \"tank-limit\"", "205 °F"), wrong("library", "kind = \"tank-limit\"", "210 °F")),
        (0, 1)
    );
}
