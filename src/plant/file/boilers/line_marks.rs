//! Marks of a boiler that say another wire than the plan would land there: the grounded conductor on a mark of a line, ground on a line
//! or the other way, control on neutral or ground. The planner goes by the order of `line` alone, so that the words must agree with it.
//!
//! How many `line` marks: 120 V (and 277 V) single phase takes line, neutral, ground; 208 V and 240 V single phase two lines and ground;
//! three phases three lines and ground. Which words are meant: L, L1 to L3, LINE and HOT; N, NEUTRAL and WHITE; G, GND, GROUND, GREEN, EARTH and PE
//! with or without a number (common practice, no source). Any other mark is taken as it is: boards bear numbers.

use crate::finding::Finding;
use crate::plant::{
    checked::{BoilerElectrical, BoilerMarks},
    cursor::Cursor,
    quantity::Quantity as _,
};
use heatwright_core::Severity;

/// What a wire is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Wire {
    Line,
    Neutral,
    Ground,
}

impl Wire {
    fn words(self) -> &'static str {
        match self {
            Self::Line => "a line conductor",
            Self::Neutral => "the grounded (white) conductor",
            Self::Ground => "the ground",
        }
    }
}

/// What a mark says that it is for; nothing where it is a number or a word of the maker's. Of "X1:N" what stands behind the strip.
fn says(mark: &str) -> Option<Wire> {
    let word = mark.rsplit(':').next().unwrap_or(mark).trim().to_uppercase();
    match word.as_str() {
        "L" | "L1" | "L2" | "L3" | "LINE" | "LINE 1" | "LINE 2" | "LINE 3" | "HOT" => Some(Wire::Line),
        "N" | "NEUTRAL" | "WHT" | "WHITE" => Some(Wire::Neutral),
        "G" | "GND" | "GRN" | "GREEN" | "GROUND" | "EARTH" | "⏚" => Some(Wire::Ground),
        w => w.strip_prefix("PE").filter(|n| n.chars().all(|c| c.is_ascii_digit())).map(|_| Wire::Ground),
    }
}

/// What the marks of `line` are for, in order, and the like in words; nothing at 120 or 277 V and three phases, which no panelboard has:
/// that is told where the plan is checked.
fn wanted(e: &BoilerElectrical) -> Option<(&'static [Wire], &'static str)> {
    use Wire::{Ground, Line, Neutral};
    let to_neutral = e.volts.v < 150.0 || (260.0..300.0).contains(&e.volts.v);
    Some(match e.phases {
        3 if to_neutral => return None,
        3 => (&[Line, Line, Line, Ground], "three lines and ground, like [\"L1\", \"L2\", \"L3\", \"G\"]"),
        _ if to_neutral => (&[Line, Neutral, Ground], "line, neutral and ground, like [\"L\", \"N\", \"G\"]"),
        _ => (&[Line, Line, Ground], "two lines and ground, like [\"L1\", \"L2\", \"G\"]"),
    })
}

/// All that is wrong. `c` is the boiler's own heading.
pub(super) fn judge(c: &Cursor<'_>, marks: &BoilerMarks, e: &BoilerElectrical) {
    if !c.judged() {
        return;
    }
    let tell = |key: &str, sentence: String, hint: &str| {
        c.ctx.tell(Finding::new("P84", Severity::Error, c.subject, sentence).field(format!("marks.{key}")).hint(hint));
    };
    if let Some(line) = &marks.line
        && let Some((wires, like)) = wanted(e)
    {
        let supply = format!("{}, {} phase{}", e.volts.show_both(), e.phases, if e.phases == 1 { "" } else { "s" });
        if line.len() != wires.len() {
            let sentence =
                format!("`line` has {} marks, and a boiler at {supply} takes {}: {like}", line.len(), wires.len());
            tell(
                "line",
                sentence,
                "type all of them in that order, as they are printed; see volts and phases on the plate",
            );
            return;
        }
        for (mark, wire) in line.iter().zip(wires) {
            if let Some(other) = says(mark).filter(|w| w != wire) {
                let sentence = format!(
                    "{} of a boiler at {supply} would land on \"{mark}\", a mark of {}: `line` is {like}",
                    wire.words(),
                    other.words()
                );
                let hint = "see volts and phases on the plate, and the order of the marks; where the boiler's diagram calls that terminal \
                            otherwise than its print, type both, like \"L2/N\"";
                tell("line", sentence, hint);
            }
        }
    }
    let pairs = [
        ("limit", &marks.limit),
        ("proving", &marks.proving),
        ("demand", &marks.demand),
        ("signal", &marks.signal),
        ("status", &marks.status),
        ("alarm", &marks.alarm),
        ("pump", &marks.pump),
    ];
    for (key, pair) in pairs {
        for mark in pair.iter().flatten() {
            // An output to a pump has a neutral of its own.
            let bad = says(mark).filter(|w| *w == Wire::Ground || *w == Wire::Neutral && key != "pump");
            if let Some(other) = bad {
                let sentence =
                    format!("a wire of the pair `{key}` would land on \"{mark}\", a mark of {}", other.words());
                tell(key, sentence, "read the two marks of the pair again at the boiler");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::plant::read::read;

    const WORKSHOP: &str = include_str!("../../../../docs/examples/workshop.toml");

    /// Sentences of P84 with one text of the workshop in place of another.
    fn told(changes: &[(&str, &str)]) -> Vec<String> {
        let text = changes.iter().fold(WORKSHOP.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replacen(from, to, 1)
        });
        let all = match read("plant.toml", text.as_bytes()) {
            Ok(r) => r.notes,
            Err(r) => r.findings,
        };
        assert!(all.iter().filter(|f| f.code == "P84").all(|f| f.span.is_some()), "each has its place");
        all.into_iter().filter(|f| f.code == "P84").map(|f| f.sentence).collect()
    }

    const LINE: &str = "line = [\"L\", \"N\", \"PE\"]";

    #[test]
    fn the_grounded_conductor_lands_on_no_line_and_ground_on_neither() {
        let line = |marks: &str| told(&[(LINE, &format!("line = {marks}"))]);
        for good in [
            "[\"L\", \"N\", \"G\"]",
            "[\"X1:L1\", \"X1:N\", \"X1:PE1\"]",
            "[\"1\", \"2\", \"3\"]",
            "[\"L1\", \"L2/N\", \"GND\"]",
        ] {
            assert_eq!(line(good), [""; 0], "{good}");
        }
        let white = line("[\"L1\", \"L2\", \"G\"]");
        assert!(white.len() == 1 && white[0].contains("white") && white[0].contains("\"L2\""), "{white:?}");
        assert_eq!(line("[\"N\", \"L\", \"G\"]").len(), 2, "the two are exchanged");
        assert_eq!(line("[\"L\", \"N\", \"L2\"]").len(), 1, "ground on a line");
        let two = line("[\"L1\", \"L2\"]");
        assert!(two.len() == 1 && two[0].contains("has 2 marks") && two[0].contains("takes 3"), "{two:?}");
        assert_eq!(line("[\"L1\", \"L2\", \"L3\", \"PE\"]").len(), 1, "four are three phases");
    }

    /// By the supply: 208 V and 240 V between two lines, three phases.
    #[test]
    fn the_supply_says_how_many_there_are() {
        let (two, four) = ("line = [\"L1\", \"L2\", \"G\"]", "line = [\"L1\", \"L2\", \"L3\", \"G\"]");
        let at = |volts: &str, phases: &str, line: &str| {
            let to = format!("[boiler.b1.electrical]\nvolts = \"{volts}\"\nphases = {phases}\n");
            told(&[("[boiler.b1.electrical]\nvolts = \"120 V\"\n", &to), (LINE, line)])
        };
        for volts in ["208 V", "240 V"] {
            assert_eq!(at(volts, "1", two), [""; 0]);
            assert_eq!(at(volts, "1", LINE).len(), 1, "no neutral at {volts}");
        }
        assert_eq!(at("208 V", "3", four), [""; 0]);
        assert_eq!(at("208 V", "3", two).len(), 1);
    }

    #[test]
    fn control_lands_on_neither_neutral_nor_ground() {
        let start = WORKSHOP.find("\ndemand = [").unwrap() + 1;
        let demand = &WORKSHOP[start..start + WORKSHOP[start..].find('\n').unwrap()];
        let list = told(&[(demand, "demand = [\"X2:N\", \"PE2\"]")]);
        assert!(list.len() == 2 && list[0].contains("`demand`"), "{list:?}");
    }
}
