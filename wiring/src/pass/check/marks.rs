//! Marks of a boiler's line terminals against the conductors that will land on them.
//!
//! A terminal marked N belongs to the grounded conductor and to nothing else (common practice; NEC 200.10 asks for the
//! identification of grounded terminals, from memory): a line conductor on it puts 120 V on whatever the maker joined to it. The
//! reverse, a neutral on a terminal marked for ground, makes the case part of the circuit.

use super::Problem;

/// What a mark says of its terminal, where it says anything.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Says {
    Neutral,
    Ground,
}

fn says(mark: &str) -> Option<Says> {
    match mark.trim().to_ascii_lowercase().as_str() {
        "n" | "neutral" | "wht" | "white" => Some(Says::Neutral),
        "pe" | "g" | "gnd" | "ground" | "grn" | "green" | "⏚" => Some(Says::Ground),
        _ => None,
    }
}

/// The first mark of a line on which the wrong conductor would land; `neutral` when the last of them is the grounded conductor.
pub(super) fn wrong_landing(line: &[String], ground: &str, neutral: bool) -> Option<Problem> {
    let last = line.len().saturating_sub(1);
    for (i, mark) in line.iter().enumerate() {
        let grounded = neutral && i == last;
        let lands = if grounded { "the neutral" } else { "an ungrounded line conductor" };
        match says(mark) {
            Some(Says::Neutral) if grounded => {}
            None => {}
            Some(_) => return Some(Problem::WrongLanding { mark: mark.clone(), lands }),
        }
    }
    (says(ground) == Some(Says::Neutral))
        .then(|| Problem::WrongLanding { mark: ground.to_owned(), lands: "the equipment ground" })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wrong(line: &[&str], ground: &str, neutral: bool) -> bool {
        let line: Vec<String> = line.iter().map(|m| (*m).to_owned()).collect();
        wrong_landing(&line, ground, neutral).is_some()
    }

    #[test]
    fn a_neutral_mark_takes_the_neutral_only() {
        assert!(!wrong(&["L", "N"], "PE", true));
        assert!(!wrong(&["L1", "L2"], "PE", false));
        assert!(!wrong(&["line", "neutral"], "ground", true));
        assert!(!wrong(&["1", "2"], "3", false), "numbers say nothing");
        // 240 V on the marks of a 120 V boiler: L2 would land on N.
        assert!(wrong(&["L", "N"], "PE", false));
        assert!(wrong(&["N", "L"], "PE", true), "typed the wrong way round");
        assert!(wrong(&["L1", "PE"], "G", false));
        assert!(wrong(&["L1", "L2"], "N", false), "the third of three marks is taken as ground");
        assert!(wrong(&["L1", "L2", "n"], "PE", false), "three phases");
    }
}
