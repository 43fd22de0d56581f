//! The order in which people look tags up: numbers inside a word count as numbers, so that M2 stands before M10.
//!
//! A text is cut into runs of digits and of other characters; digits compare by value, all else by code point (our choice).
//! Leading zeros make no difference unless all else is equal.

use std::cmp::Ordering;

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

/// The order of two texts by their [`key`]s, without making them.
pub fn cmp(a: &str, b: &str) -> Ordering {
    let (mut x, mut y) = (a, b);
    loop {
        if x.is_empty() || y.is_empty() {
            return x.len().min(1).cmp(&y.len().min(1)).then_with(|| a.cmp(b));
        }
        let (p, q) = (piece(&mut x), piece(&mut y));
        let order = match (is_number(p), is_number(q)) {
            (true, true) => {
                let (p, q) = (p.trim_start_matches('0'), q.trim_start_matches('0'));
                p.len().cmp(&q.len()).then_with(|| p.cmp(q))
            }
            (true, false) => Ordering::Less,
            (false, true) => Ordering::Greater,
            (false, false) => p.cmp(q),
        };
        if order != Ordering::Equal {
            return order;
        }
    }
}

fn is_number(piece: &str) -> bool {
    piece.as_bytes().first().is_some_and(u8::is_ascii_digit)
}

/// Takes the first piece off a text that is not empty.
fn piece<'a>(rest: &mut &'a str) -> &'a str {
    let digits = is_number(rest);
    let end = rest.bytes().position(|c| c.is_ascii_digit() != digits).unwrap_or(rest.len());
    let (piece, tail) = rest.split_at(end);
    *rest = tail;
    piece
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each pair of texts that differ in length, zeros, digits and letters beyond ASCII.
    #[test]
    fn the_order_is_that_of_the_keys() {
        let list = [
            "",
            "0",
            "00",
            "1",
            "01",
            "10",
            "2",
            "M2",
            "M02",
            "M10",
            "m2",
            "M2.1",
            "M2.10",
            "M",
            "-",
            "QL1-13",
            "QL1-13.1",
            "QR1-2/T1.10",
            "QR1-2/T1.9",
            "\u{e4}1",
            "1\u{e4}",
            "\u{e4}\u{df}",
            "A2-N1",
            "A2-1",
            "99999999999999999999",
            "100000000000000000000",
        ];
        for a in list {
            for b in list {
                assert_eq!(cmp(a, b), key(a).cmp(&key(b)), "{a:?} {b:?}");
            }
        }
    }

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
