//! Text in lines of a given width.

/// Breaks `text` at blanks into lines of at most `width` columns; each line after the first starts with `indent` blanks.
/// A word that is longer than a line stands alone.
pub fn wrap(text: &str, width: usize, indent: usize) -> String {
    let mut out = String::new();
    let mut column = 0;
    let mut line_is_empty = true;
    for word in text.split_whitespace() {
        let len = word.chars().count();
        if !line_is_empty {
            if column + 1 + len > width {
                out.push('\n');
                out.extend(std::iter::repeat_n(' ', indent));
                column = indent;
            } else {
                out.push(' ');
                column += 1;
            }
        }
        line_is_empty = false;
        out.push_str(word);
        column += len;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::wrap;

    #[test]
    fn lines_keep_to_the_width() {
        let s = wrap("one two three four five", 9, 2);
        assert_eq!(s, "one two\n  three\n  four\n  five");
        assert_eq!(wrap("A limit is one", 20, 2), "A limit is one");
        assert_eq!(wrap("", 10, 0), "");
        assert_eq!(wrap("extraordinarily long", 5, 0), "extraordinarily\nlong");
    }
}
