//! Text cut into pages for a printer: each page says of what plant and paper it is, what it goes on with, which of how many it is, and
//! the checksum of the plant file, so that pages of two revisions are not mixed up.
//!
//! A page is so many lines with its head in them; a form feed stands ahead of each but the first. A table that goes on has its heads
//! again. A heading or paragraph does not begin in the last [`KEEP`] lines of a page, and a row of a table that takes some lines stands on one.
//!
//! What it deliberately does not do: columns wider than the paper; `--width` is for those.

/// Lines that a heading or paragraph wants below it on its page (our choice).
const KEEP: usize = 5;
/// Lines of a page's head: one, and a blank one.
const HEAD: usize = 2;

/// One page while it fills.
#[derive(Default)]
struct Page<'a> {
    /// What it goes on with; empty where it begins with a heading.
    of: &'a str,
    lines: Vec<&'a str>,
}

/// The text in pages of so many lines; `made` is the checksum of the plant file that it was made from.
pub(crate) fn pages(text: &str, lines: usize, made: Option<&str>) -> String {
    let all: Vec<&str> = text.lines().collect();
    let room = lines.saturating_sub(HEAD).max(2 * KEEP);
    let title = all.iter().take_while(|l| !l.starts_with("==")).copied().collect::<Vec<_>>().join(" ");
    let mut done: Vec<Page<'_>> = Vec::new();
    let mut page = Page::default();
    let mut item = "";
    let mut heads: &[&str] = &[];
    for (i, &line) in all.iter().enumerate() {
        let begins = i == 0 || all[i - 1].is_empty();
        // A heading, its rule and a blank line are nothing without what follows.
        let keep = if heading(&all, i) { KEEP + 3 } else { KEEP };
        if line.is_empty() {
            heads = &[];
        }
        if page.lines.len() >= room || (begins && page.lines.len() + keep > room) {
            let row = heads.last().filter(|_| !begins).map_or(0, |rule| behind(&page.lines, rule, line));
            let carried = page.lines.split_off(page.lines.len() - row);
            done.push(std::mem::take(&mut page));
            page.of = if heading(&all, i) { "" } else { item };
            page.lines.extend(heads);
            page.lines.extend(carried);
        }
        // A page does not begin with a blank line.
        if !(line.is_empty() && page.lines.is_empty()) {
            page.lines.push(line);
        }
        if heading(&all, i) {
            item = line;
        } else if rule(line) && i > 0 && !heading(&all, i - 1) {
            let first = all[..i].iter().rposition(|l| l.is_empty()).map_or(0, |blank| blank + 1);
            heads = &all[first..=i];
        }
    }
    if !page.lines.is_empty() {
        done.push(page);
    }
    let of = done.len();
    let made = made.map_or_else(String::new, |m| format!("; {m}"));
    let mut out = String::new();
    for (n, p) in done.iter().enumerate() {
        let feed = if n > 0 { "\u{c}" } else { "" };
        let item = if p.of.is_empty() { String::new() } else { format!("{}, continued; ", p.of) };
        out.push_str(&format!("{feed}{title}; {item}page {} of {of}{made}\n\n{}\n", n + 1, p.lines.join("\n")));
    }
    out
}

/// How many of the last lines belong to the row that `line` goes on with: back to the last one with all its cells filled. None where that is
/// further than [`KEEP`] lines: then the row is cut.
fn behind(lines: &[&str], rule: &str, line: &str) -> usize {
    if filled(rule, line) {
        return 0;
    }
    let back = lines.iter().rev().take(KEEP).position(|l| filled(rule, l));
    back.filter(|k| !lines[lines.len() - 1 - k].starts_with('-')).map_or(0, |k| k + 1)
}

/// True for a line of a table with something in each of its columns.
fn filled(rule: &str, line: &str) -> bool {
    let cells: Vec<char> = line.chars().collect();
    let mut at = 0;
    rule.split(' ').all(|column| {
        let cell = cells.iter().skip(at).take(column.len());
        at += column.len() + 1;
        column.is_empty() || cell.clone().any(|c| *c != ' ')
    })
}

/// True for a line of dashes and blanks.
fn rule(line: &str) -> bool {
    line.starts_with('-') && line.chars().all(|c| c == '-' || c == ' ')
}

/// True for a line with a rule of its own length below it and nothing above.
fn heading(all: &[&str], i: usize) -> bool {
    let begins = i == 0 || all[i - 1].is_empty();
    let below = all.get(i + 1).filter(|l| rule(l) && !l.contains(' '));
    begins && below.is_some_and(|l| l.len() == all[i].chars().count())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paper() -> String {
        let rows: String = (1..=30).map(|n| format!("A1:{n:<4} 12 black\n")).collect();
        format!(
            "Cards of a plant\n================\n\nBoiler 1\n--------\n\nAt      Conductor\n------- ---------\n{rows}\nPump 1\n------\n\nOne line.\n"
        )
    }

    #[test]
    fn each_page_says_what_it_is_and_goes_on_with() {
        let out = pages(&paper(), 20, Some("0badcafe"));
        let list: Vec<Vec<&str>> = out.split('\u{c}').map(|p| p.lines().collect()).collect();
        assert_eq!(list.len(), 3);
        assert!(list.iter().all(|p| p.len() <= 20), "{list:#?}");
        let heads: Vec<&str> = list.iter().map(|p| p[0]).collect();
        assert_eq!(
            heads,
            [
                "Cards of a plant; page 1 of 3; 0badcafe",
                "Cards of a plant; Boiler 1, continued; page 2 of 3; 0badcafe",
                "Cards of a plant; Boiler 1, continued; page 3 of 3; 0badcafe"
            ]
        );
        assert_eq!(list[1][2..4], ["At      Conductor", "------- ---------"]);
        // Every line of the text stands on some page, once.
        for line in paper().lines().filter(|l| l.starts_with("A1:")) {
            assert_eq!(out.matches(line).count(), 1, "{line}");
        }
    }

    #[test]
    fn a_row_of_several_lines_stands_on_one_page() {
        let rows: String = (1..=20).map(|n| format!("A1:{n:<4} 12 black\n        and white\n")).collect();
        let text = format!("Cards\n=====\n\nBoiler 1\n--------\n\nAt      Conductor\n------- ---------\n{rows}\n");
        for lines in 14..40 {
            for p in pages(&text, lines, None).split('\u{c}').skip(1) {
                let first = p.lines().nth(4).unwrap();
                assert!(first.starts_with("A1:"), "{lines}: {p}");
                assert!(p.lines().count() <= lines, "{lines}: {p}");
            }
        }
    }

    #[test]
    fn a_heading_does_not_stand_at_the_foot_of_a_page() {
        for lines in 12..60 {
            for p in pages(&paper(), lines, None).split('\u{c}') {
                // Neither a heading with its rule nor the heads of a table alone.
                assert!(!p.trim_end().lines().last().is_some_and(rule), "{lines}: {p}");
            }
        }
    }
}
