//! Reading a quantity: a number, then a unit.
//!
//! The number may be a decimal (`4.4`), a fraction (`1/6`), a mixed number (`1-1/2`, `1 1/2`), with thousands commas
//! (`1,200`) and a sign. The unit is compared without regard to spaces and, where nothing fits exactly, to case. Every
//! failure says what was given, what is accepted, and how to mend it; nothing is guessed.

use super::{KINDS, Kind, Quantity, Unit};

/// A quantity and the unit it was written in.
#[derive(Clone, Copy, Debug)]
pub struct Written<Q> {
    /// The value.
    pub value: Q,
    /// The unit that the writer used; messages answer in it.
    pub unit: &'static Unit,
}

/// Why a text is no quantity: one sentence and how to mend it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Complaint {
    /// What is wrong, standing alone.
    pub sentence: String,
    /// How to mend it.
    pub hints: Vec<String>,
}

/// The units of a kind, for a sentence.
pub(crate) fn unit_list(kind: &Kind) -> String {
    let names: Vec<_> = kind.units.iter().map(|u| u.name).collect();
    match names.as_slice() {
        [one] => (*one).to_string(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
        [] => String::new(),
    }
}

/// Where a key takes more than this in the first unit of its kind, its thousandfold is what people write there.
const LARGE: f64 = 10_000.0;

/// The complaint about a number that has no unit.
pub(crate) fn bare(kind: &Kind, given: &str) -> Complaint {
    lacks_unit(kind, given, kind.units.first())
}

/// The same for a key that takes so much at most, in the base unit: a short-circuit current is written in kA, not in A.
pub(crate) fn bare_up_to(kind: &Kind, given: &str, most: f64) -> Complaint {
    let first = kind.units.first();
    let larger = first
        .filter(|u| most > LARGE * u.scale)
        .and_then(|u| kind.units.iter().find(|o| o.name.strip_prefix('k') == Some(u.name)));
    lacks_unit(kind, given, larger.or(first))
}

fn lacks_unit(kind: &Kind, given: &str, unit: Option<&Unit>) -> Complaint {
    let given = clip(given);
    let unit = unit.map_or("", |u| u.name);
    Complaint {
        sentence: format!("`{given}` has no unit; {} is wanted here", kind.noun),
        hints: vec![
            format!("units accepted here: {}", unit_list(kind)),
            format!("write the number and its unit as a string: \"{given} {unit}\", if {unit} is what you mean"),
        ],
    }
}

/// A long text cut for a message.
pub(crate) fn clip(text: &str) -> String {
    let mut out: String = text.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(40).is_some() {
        out.push('…');
    }
    out
}

fn squeeze(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && *c != '\u{a0}').map(|c| if c == 'º' { '°' } else { c }).collect()
}

/// The unit of `kind` that is written `text`.
fn find(kind: &'static Kind, text: &str) -> Option<&'static Unit> {
    let exact = squeeze(text);
    let lower = exact.to_lowercase().replace('²', "2").replace('³', "3");
    let fits = |u: &&Unit| {
        let name = u.name.to_lowercase().replace('²', "2").replace('³', "3");
        name == lower || u.also.iter().any(|a| a.replace('²', "2").replace('³', "3") == lower)
    };
    kind.units.iter().find(|u| u.name == exact).or_else(|| kind.units.iter().find(fits))
}

/// The value of an unsigned number: decimal, fraction or mixed.
fn number(text: &str) -> Option<f64> {
    fn decimal(text: &str) -> Option<f64> {
        let whole = text.split('.').next().unwrap_or("");
        if text.contains(',') {
            // Thousands commas: groups of three in front of the point, none after it.
            let mut groups = whole.split(',');
            let first = groups.next()?;
            if first.is_empty() || first.len() > 3 || !groups.clone().all(|g| g.len() == 3) {
                return None;
            }
            if text.get(whole.len()..)?.contains(',') {
                return None;
            }
        }
        let plain = text.replace(',', "");
        let digits = plain.chars().filter(char::is_ascii_digit).count();
        let points = plain.matches('.').count();
        (digits > 0 && points <= 1 && digits + points == plain.len()).then(|| plain.parse().ok()).flatten()
    }
    let Some((before, below)) = text.split_once('/') else { return decimal(text.trim()) };
    let below = decimal(below.trim())?;
    let before = before.trim();
    let (whole, above) = match before.rsplit_once(['-', ' ']) {
        Some((whole, above)) => (decimal(whole.trim())?, decimal(above.trim())?),
        None => (0.0, decimal(before)?),
    };
    Some(whole + above / below)
}

/// True for what follows the digits of `1e300 A`.
fn exponent(after: &str) -> bool {
    let Some(rest) = after.strip_prefix(['e', 'E']) else { return false };
    rest.trim_start_matches(['+', '-']).starts_with(|c: char| c.is_ascii_digit())
}

/// Reads a quantity.
pub fn read<Q: Quantity>(text: &str) -> Result<Written<Q>, Complaint> {
    let kind = Q::KIND;
    let trimmed = text.trim();
    let shown = clip(trimmed);
    let wanted = format!("units accepted here: {}; for example \"{}\"", unit_list(kind), kind.example);
    if trimmed.is_empty() {
        return Err(Complaint {
            sentence: format!("the text is empty; {} is wanted here", kind.noun),
            hints: vec![wanted],
        });
    }
    let (negative, rest) = match trimmed.strip_prefix(['-', '−', '–']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, trimmed.strip_prefix('+').unwrap_or(trimmed)),
    };
    // A mixed number may hold a space or a dash (`1 1/2`), so the number ends at the last digit that a number can reach.
    let end = rest
        .char_indices()
        .find(|(i, c)| {
            !(c.is_ascii_digit()
                || matches!(c, '.' | ',' | '/')
                || (matches!(c, ' ' | '-') && rest[i + 1..].starts_with(|n: char| n.is_ascii_digit())))
        })
        .map_or(rest.len(), |(i, _)| i);
    let (digits, unit_text) = (rest[..end].trim(), rest[end..].trim());
    if digits.is_empty() {
        let lower = rest.to_lowercase();
        let sentence = if lower.starts_with("nan") || lower.starts_with("inf") {
            format!("`{shown}` is not a number that can be measured; {} is wanted here", kind.noun)
        } else {
            format!("`{shown}` does not begin with a number; {} is wanted here", kind.noun)
        };
        return Err(Complaint { sentence, hints: vec![wanted] });
    }
    let Some(magnitude) = number(digits) else {
        let mut hints =
            vec![format!("a number is written like 4.4, 1/6, 1-1/2 or 1,200; for example \"{}\"", kind.example)];
        if digits.matches(',').count() == 1 && !digits.contains('.') {
            hints.push(format!("if the comma is a decimal point, write \"{} {unit_text}\"", digits.replace(',', ".")));
        }
        return Err(Complaint { sentence: format!("`{}` is not a number", clip(digits)), hints });
    };
    if !magnitude.is_finite() {
        return Err(Complaint {
            sentence: format!("`{shown}` is too large or divides by zero; {} is wanted here", kind.noun),
            hints: vec![wanted],
        });
    }
    if unit_text.is_empty() {
        return Err(bare(kind, trimmed));
    }
    let Some(unit) = find(kind, unit_text) else {
        let other = KINDS.iter().find(|k| find(k, unit_text).is_some());
        let sentence = match other {
            _ if exponent(unit_text) => format!("`{shown}` has an exponent; numbers are written out here"),
            Some(k) => format!("`{}` is a unit of {}, but {} is wanted here", clip(unit_text), k.noun, kind.noun),
            None => format!("`{}` is not a unit that is known here; {} is wanted", clip(unit_text), kind.noun),
        };
        return Err(Complaint { sentence, hints: vec![wanted] });
    };
    let signed = if negative { -magnitude } else { magnitude };
    let base = signed * unit.scale + unit.offset;
    if !base.is_finite() {
        return Err(Complaint { sentence: format!("`{shown}` is too large"), hints: vec![wanted] });
    }
    Ok(Written { value: Q::from_base(base), unit })
}

#[cfg(test)]
mod tests {
    use super::super::*;
    use super::*;

    fn near<Q: Quantity>(text: &str, base: f64) {
        let got = read::<Q>(text).unwrap_or_else(|e| panic!("{text}: {e:?}")).value.base();
        assert!((got - base).abs() <= 1e-9 * base.abs().max(1.0), "{text}: {got} against {base}");
    }

    #[test]
    fn the_ways_a_technician_writes() {
        near::<Temp>("180 °F", 740.0 / 9.0);
        near::<Temp>("180F", 740.0 / 9.0);
        near::<Temp>("180 deg F", 740.0 / 9.0);
        near::<Temp>("180 degF", 740.0 / 9.0);
        near::<Temp>("-5 °F", -185.0 / 9.0);
        near::<Temp>("82 ºC", 82.0);
        near::<HorsePower>("1/6 hp", 1.0 / 6.0);
        near::<HorsePower>("1-1/2 HP", 1.5);
        near::<HorsePower>("1 1/2 hp", 1.5);
        near::<Flow>("18 gpm", 18.0 * 3.785411784 / 60.0);
        near::<Power>("1,200 MBH", 1200.0 * 1000.0 * 1055.05585262 / 3600.0);
        near::<Length>("6\"", 0.1524);
        near::<Share>("30%", 0.3);
        near::<Area>("600 sq ft", 600.0 * 0.09290304);
    }

    #[test]
    fn what_is_refused_and_why() {
        let say = |r: Result<(), Complaint>| r.unwrap_err().sentence;
        let temp = |t: &str| say(read::<Temp>(t).map(|_| ()));
        assert_eq!(temp("180"), "`180` has no unit; a temperature is wanted here");
        assert_eq!(temp("nan °F"), "`nan °F` is not a number that can be measured; a temperature is wanted here");
        assert_eq!(temp("warm"), "`warm` does not begin with a number; a temperature is wanted here");
        assert_eq!(temp("18 gal/min"), "`gal/min` is a unit of a water flow, but a temperature is wanted here");
        assert_eq!(temp("18 furlongs"), "`furlongs` is not a unit that is known here; a temperature is wanted");
        assert_eq!(temp("1e300 °F"), "`1e300 °F` has an exponent; numbers are written out here");
        assert_eq!(temp("1E-3 °F"), "`1E-3 °F` has an exponent; numbers are written out here");
        assert_eq!(temp("1.2.3 °F"), "`1.2.3` is not a number");
        assert_eq!(temp("1/0 °F"), "`1/0 °F` is too large or divides by zero; a temperature is wanted here");
        assert_eq!(temp(""), "the text is empty; a temperature is wanted here");
        assert_eq!(temp(&format!("{} °F", "9".repeat(400))).matches("too large").count(), 1);
        let comma = read::<HorsePower>("1,5 hp").unwrap_err();
        assert_eq!(comma.hints.last().unwrap(), "if the comma is a decimal point, write \"1.5 hp\"");
    }
}
