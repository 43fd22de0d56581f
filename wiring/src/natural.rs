//! The order in which people look tags up: numbers inside a word count as numbers, so that M2 stands before M10.
//!
//! A text is cut into runs of digits and of other characters; digits compare by value, all else by code point (our choice).
//! Leading zeros make no difference unless all else is equal.

/// One piece of a text: a number or what stands between numbers.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Piece {
    /// Digits: how many without leading zeros, and the digits themselves, which then compare by value.
    Number(usize, String),
    /// Anything else.
    Word(String),
}

/// A key that sorts in natural order, with the text itself to settle ties.
pub fn key(text: &str) -> (Vec<Piece>, String) {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let digits = first.is_ascii_digit();
        let end = rest.find(|c: char| c.is_ascii_digit() != digits).unwrap_or(rest.len());
        let (piece, tail) = rest.split_at(end);
        pieces.push(if digits {
            let value = piece.trim_start_matches('0');
            Piece::Number(value.len(), value.to_owned())
        } else {
            Piece::Word(piece.to_owned())
        });
        rest = tail;
    }
    (pieces, text.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_count_as_numbers() {
        let mut list =
            ["M10", "M2", "A2-11", "A2-3", "K1.14", "K1.2", "M2b", "M02", "", "99999999999999999999999", "1"];
        list.sort_by_key(|t| key(t));
        assert_eq!(
            list,
            ["", "1", "99999999999999999999999", "A2-3", "A2-11", "K1.2", "K1.14", "M02", "M2", "M2b", "M10"]
        );
    }
}
