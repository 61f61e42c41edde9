//! The meaning of a run of text, independent of its layout and spelling.

use super::scan::{Token, TokenKind as K, tokens};

/// The tokens of a run of text in canonical spelling, without line ends, commas and comments. Formatting does not
/// change them.
pub fn spelling(text: &str) -> String {
    let mut out = String::new();
    let mut last: Option<Token> = None;
    for token in tokens(text) {
        if matches!(token.kind, K::Newline | K::Comma | K::Comment) {
            continue;
        }
        let is_word = |token: Token| matches!(token.kind, K::Word | K::Number);
        if is_word(token) && last.is_some_and(is_word) {
            out.push(' ');
        }
        let behind_number = last.is_some_and(|last| last.is(K::Number));
        match (token.kind, token.range.of(text)) {
            (K::Text | K::OpenText, quoted) => out.push_str(quoted),
            (K::Word, word) if behind_number => exponent(word, &mut out),
            (K::Word | K::Symbol, code) => code.chars().for_each(|c| symbol(c, &mut out)),
            (K::Number, digits) if last.is_some_and(|last| begins_number(last, token, text)) => {
                out.pop();
                let words_meet = out.ends_with(char::is_alphanumeric);
                out.push_str(if words_meet { " 0." } else { "0." });
                out.push_str(digits);
            }
            (_, code) => out.push_str(code),
        }
        last = Some(token);
    }
    out.replace("+/-", "±").replace("+-", "±")
}

/// Whether a point is right before the digits of a number.
fn begins_number(point: Token, digits: Token, text: &str) -> bool {
    point.range.end == digits.range.start && point.range.of(text) == "."
}

/// A word right after a number, which may be the number's exponent followed by a unit.
fn exponent(word: &str, out: &mut String) {
    let rest = word.strip_prefix(['e', 'E']).unwrap_or_default();
    let unit = rest.trim_start_matches(|c: char| c.is_ascii_digit());
    let digits = &rest[..rest.len() - unit.len()];
    if digits.is_empty() {
        let word = match word {
            "E" => "e",
            word => word,
        };
        word.chars().for_each(|c| symbol(c, out));
        return;
    }
    out.push('e');
    out.push_str(digits);
    if !unit.is_empty() {
        out.push(' ');
        unit.chars().for_each(|c| symbol(c, out));
    }
}

fn symbol(c: char, out: &mut String) {
    match c {
        '·' | '×' => out.push('*'),
        '²' => out.push_str("^2"),
        '³' => out.push_str("^3"),
        c => out.push(c),
    }
}

#[cfg(test)]
mod tests {
    use super::spelling;

    #[test]
    fn layout_and_spelling_do_not_change_the_words() {
        for (one, other) in [
            ("bore=7/8in", "bore = 7/8 in"),
            ("a = 5 mm±3 mm", "a = 5mm +/- 3  mm # so"),
            ("1E3mm", "1e3 mm"),
            ("2.5E-3 m", "2.5e-3 m"),
            ("wall=.75mm", "wall = 0.75 mm"),
            ("2 - .5 mm", "2 - 0.5 mm"),
            ("3 N·m × 2 mm²", "3 N*m * 2 mm^2"),
            ("{ a = 1, b = 2 }", "{\n    a = 1\n    b = 2\n}"),
        ] {
            assert_eq!(spelling(one), spelling(other));
        }
        for (one, other) in [
            ("1 1/8 in", "11/8 in"),
            ("let a", "leta"),
            ("\"a b\"", "\"ab\""),
            ("7 in", "7 mm"),
        ] {
            assert_ne!(spelling(one), spelling(other));
        }
    }
}
