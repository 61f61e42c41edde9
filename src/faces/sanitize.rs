//! Makes text from outside safe to show: names, titles, reasons, comments, messages of other programs.
//!
//! Characters that could control a terminal, reverse the reading direction or pass for a line break become U+FFFD.
//! Text that a CI host would take for a command is broken by a space: [workflow
//! commands](https://docs.github.com/actions/reference/workflow-commands-for-github-actions) (`::name` at the start
//! of a line) and [logging commands](https://learn.microsoft.com/azure/devops/pipelines/scripts/logging-commands)
//! (`##[name]` and `##vso[name]` anywhere in a line).

use std::borrow::Cow;

/// Text that may have several lines.
pub fn sanitize(text: &str) -> String {
    lines(&text.chars().map(visible).collect::<String>()).into_owned()
}

/// A name, or other text that stays on one line.
pub fn name(text: &str) -> String {
    let shown = |c| match visible(c) {
        '\n' | '\t' => char::REPLACEMENT_CHARACTER,
        c => c,
    };
    lines(&text.chars().map(shown).collect::<String>()).into_owned()
}

/// The lines of a file, with the same number of bytes, so that places in them stay right.
pub fn same_length(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text.chars();
    while let Some(c) = rest.next() {
        match c {
            '\r' if rest.as_str().starts_with('\n') => out.push(c),
            // A carriage return ends a line that a terminal would otherwise overwrite.
            '\r' => out.push('\n'),
            '#' if ends_command_sign(&out, rest.as_str()) => out.push('?'),
            c if steers(c) => out.extend(std::iter::repeat_n('?', c.len_utf8())),
            c => out.push(c),
        }
    }
    out
}

/// Finished lines. Wrapping may have moved a command to the start of a line, where it is broken.
pub fn lines(text: &str) -> Cow<'_, str> {
    if !text.contains("::") && !text.contains("##") {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    let mut rest = text.chars();
    let mut begins = true;
    while let Some(c) = rest.next() {
        if c == '#' && ends_command_sign(&out, rest.as_str()) {
            out.push(' ');
        }
        out.push(c);
        if begins && c == ':' && rest.as_str().starts_with(':') {
            out.push(' ');
        }
        begins = c == '\n' || begins && c.is_whitespace();
    }
    Cow::Owned(out)
}

/// Whether a `#` between two texts completes the sign of a logging command: `##[`, `##vso[`.
fn ends_command_sign(before: &str, after: &str) -> bool {
    before.ends_with('#')
        && after
            .trim_start_matches(|c: char| c.is_ascii_alphabetic())
            .starts_with('[')
}

/// JSON text without such characters and commands, with the same meaning when parsed.
pub fn json(written: &str) -> String {
    let mut out = String::with_capacity(written.len() + 1);
    let mut rest = written.chars();
    while let Some(c) = rest.next() {
        // Only strings can contain them: the line breaks between values are no content.
        if steers(c) || c == '#' && ends_command_sign(&out, rest.as_str()) {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.push(c);
        }
    }
    out
}

fn visible(c: char) -> char {
    match steers(c) {
        true => char::REPLACEMENT_CHARACTER,
        false => c,
    }
}

/// Whether a character has an effect other than being read.
pub fn steers(c: char) -> bool {
    // Unicode's property Bidi_Control.
    let turns = matches!(
        c,
        '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
    );
    let ends_a_line = matches!(c, '\u{2028}' | '\u{2029}');
    // The last two of each plane are no characters at all.
    let none = u32::from(c) & 0xfffe == 0xfffe || matches!(c, '\u{fdd0}'..='\u{fdef}');
    turns || ends_a_line || none || (c.is_control() && c != '\n' && c != '\t')
}

#[cfg(test)]
mod tests {
    use super::{json, lines, name, same_length, sanitize};

    #[test]
    fn no_text_controls_a_terminal_or_a_ci_host() {
        for (text, shown) in [
            ("6.87 mm, a::b", "6.87 mm, a::b"),
            ("\u{1b}[31m\u{9b}2J\u{7}", "\u{fffd}[31m\u{fffd}2J\u{fffd}"),
            ("\u{202e}\u{200f}\u{61c}", "\u{fffd}\u{fffd}\u{fffd}"),
            ("::error::x", ": :error::x"),
            ("a\n \u{a0}::error::x", "a\n \u{a0}: :error::x"),
            (":::x", ": ::x"),
            ("a ##[error]x", "a # #[error]x"),
            ("###[group]", "## #[group]"),
            ("##vso[task.complete]", "# #vso[task.complete]"),
            ("## a heading [1]", "## a heading [1]"),
        ] {
            assert_eq!(sanitize(text), shown);
            assert_eq!(sanitize(shown), shown, "once is enough");
        }
        assert_eq!(name("a\n::error::x\ty"), "a\u{fffd}::error::x\u{fffd}y");
        assert_eq!(lines("    ::error::wrapped"), "    : :error::wrapped");
    }

    #[test]
    fn a_line_of_a_file_keeps_its_places() {
        for text in ["a\u{9b}b", "##[x]", "\u{202e}é", "a\rb\r\nc"] {
            assert_eq!(same_length(text).len(), text.len());
        }
        assert_eq!(same_length("a ##[error]x"), "a #?[error]x");
    }

    #[test]
    fn cleaned_json_has_the_same_meaning() {
        let text = "\u{1b}\u{7f}\u{9b}\u{202e}\u{2028}\u{1ffff} \\##[error] ##vso[x]";
        let written = json(&serde_json::json!([text]).to_string());
        assert!(written.is_ascii(), "{written}");
        assert!(!written.contains("##["), "{written}");
        let read: Vec<String> = serde_json::from_str(&written).unwrap();
        assert_eq!(read, [text]);
    }
}
