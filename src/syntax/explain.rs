//! Explains, in words, why the grammar cannot read a statement, and how to mend it.

use super::quote::{quoted, unquoted};
use super::reader::{Reader, Rule};
use super::{Flaw, MAX_EXPRESSION_BYTES, MAX_NESTING, MAX_POINTS, Span};
use crate::check_id::CheckId;
use crate::quantity::UnitError;

/// The flaw for a character that belongs nowhere.
pub(super) fn stray_flaw(text: &str, span: Span) -> Flaw {
    match span.of(text).chars().next() {
        Some(char::REPLACEMENT_CHARACTER) => Flaw::not_utf8(span),
        Some('“' | '„') => Flaw::syntax(span, "a text begins with a straight quote").fix(
            "write a straight quote",
            span,
            "\"",
        ),
        // Removed, it would make `−3` of minus three, and one number of two.
        Some(c @ ('−' | '–' | '—' | '‐' | '‑')) => {
            Flaw::syntax(span, format!("`{c}` is not the minus sign of the language"))
                .help("a minus is a plain hyphen, and a window has `to` between its ends")
                .fix("write `-`", span, "-")
        }
        Some(c @ ('$' | '€' | '£' | '¥')) => {
            Flaw::syntax(span, format!("`{c}` belongs nowhere in a spec"))
                .help("a price has its currency's ISO 4217 code behind it: `48.50 USD`")
        }
        Some(c) if c.is_whitespace() => Flaw::syntax(
            span,
            format!("the blank U+{:04X} belongs nowhere in a spec", c as u32),
        )
        .fix("write a plain blank", span, " "),
        Some(c) if c.is_control() => Flaw::syntax(
            span,
            format!(
                "the control character U+{:04X} belongs nowhere in a spec",
                c as u32
            ),
        )
        .fix("remove it", span, ""),
        c => Flaw::syntax(
            span,
            format!("`{}` belongs nowhere in a spec", c.unwrap_or(' ')),
        )
        .fix("remove it", span, ""),
    }
}

/// A piece of the author's text, short enough for a message.
pub(super) fn shown(text: &str) -> String {
    const MOST: usize = 40;
    let line = text.lines().next().unwrap_or_default();
    let mut out: String = line
        .chars()
        .map(|c| if c.is_control() { '\u{FFFD}' } else { c })
        .take(MOST)
        .collect();
    if line.chars().count() > MOST {
        out.push('…');
    }
    out
}

impl Reader<'_> {
    /// Whether a statement is too large, with a flaw if it is. This bounds the recursion of the grammar and
    /// everything after it.
    pub(super) fn is_too_large(&mut self, source: &str) -> bool {
        const SPLIT: &str = "split it with `let name = …` statements";
        let (mut depth, mut run, mut points) = (0usize, 0usize, 0usize);
        // Texts and comments may be of any length.
        let mut passing = None;
        for (at, byte) in source.bytes().enumerate() {
            match (passing, byte) {
                (Some(b'"'), b'"') | (Some(b'#'), b'\n' | b'\r') => passing = None,
                (Some(_), _) => continue,
                (None, b'#') => passing = Some(b'#'),
                (None, b'"') if at == 0 || !source.as_bytes()[at - 1].is_ascii_digit() => {
                    passing = Some(b'"');
                }
                (None, b'(') => depth += 1,
                (None, b')') => depth = depth.saturating_sub(1),
                (None, b':') => {
                    run = 0;
                    points += 1;
                }
                (None, b',' | b'{' | b'\n' | b'\r') => run = 0,
                (None, _) => run += 1,
            }
            let (message, help) = if depth > MAX_NESTING {
                let message = format!("parentheses are nested deeper than {MAX_NESTING}");
                (message, SPLIT)
            } else if run > MAX_EXPRESSION_BYTES {
                let message =
                    format!("this is longer than {MAX_EXPRESSION_BYTES} bytes without a break");
                (message, SPLIT)
            } else if points > MAX_POINTS {
                let message = format!("this curve has more than {MAX_POINTS} points");
                (message, "keep as many as it takes to follow its shape")
            } else {
                continue;
            };
            let boundary = (0..=at).rev().find(|at| source.is_char_boundary(*at));
            let at = boundary.unwrap_or(0);
            let place = self.place(at, at);
            self.flaw(Flaw::new(CheckId::TooLarge, place, message).help(help));
            return true;
        }
        false
    }

    /// A flaw for a value that begins and ends with a quote and has one more inside: it was meant as a single text.
    fn quote_inside(&self, rule: Rule, source: &str) -> Option<Flaw> {
        if !matches!(rule, Rule::field_statement | Rule::let_statement) {
            return None;
        }
        let value = source[source.find('=')? + 1..].trim();
        let inner = value.strip_prefix('"')?.strip_suffix('"')?;
        let start = source.rfind(value)?;
        let place = || self.place(start, start + value.len());
        let meant = quoted(&unquoted(inner));
        let flaw = Flaw::syntax(place(), "a double quote inside of a text is written twice");
        (meant != value).then(|| flaw.fix("write it twice", place(), &meant))
    }

    /// A flaw that says in words what the grammar could not read.
    pub(super) fn explain(&self, rule: Rule, source: &str, at: usize, expected: &[Rule]) -> Flaw {
        let rest = source[at..].trim_start_matches([' ', '\t', '\u{00A0}', '\r', '\n']);
        let at = source.len() - rest.len();
        let head = source.split('=').next().unwrap_or_default().trim();
        if let Some(flaw) = self.quote_inside(rule, source) {
            return flaw;
        }
        if source.contains('"') && source.matches('"').count() % 2 == 1 {
            let open = source.rfind('"').unwrap_or(at);
            if !source[..open].ends_with(|c: char| c.is_ascii_digit()) {
                return Flaw::syntax(
                    self.place(open, source.len()),
                    "this text has no closing quote",
                )
                .fix(
                    "add the closing quote",
                    self.place(source.len(), source.len()),
                    "\"",
                );
            }
        }
        if rest.is_empty() {
            let end = self.place(source.len(), source.len());
            return match rule {
                Rule::field_statement | Rule::let_statement if source.trim_end().ends_with('=') => {
                    Flaw::syntax(self.span, format!("`{}` has no value", shown(head)))
                        .help("write a value behind the `=`, or remove the line")
                }
                Rule::allow_statement => Flaw::syntax(self.span, "`allow` gives no reason")
                    .help("say why, for whoever reads it later: `allow check-name \"why\"`"),
                _ => Flaw::syntax(
                    end,
                    format!(
                        "`{}` stops short: {} is missing",
                        shown(source),
                        list(expected)
                    ),
                ),
            };
        }
        let token: String = {
            let mut chars = rest.chars();
            let first = chars.next().unwrap_or(' ');
            let word = |c: char| c.is_alphanumeric() || c == '_';
            std::iter::once(first)
                .chain(chars.take_while(|c| word(first) && word(*c)))
                .collect()
        };
        let place = self.place(at, at + token.len());
        let first = token.chars().next().unwrap_or(' ');
        if !first.is_ascii() && !first.is_alphanumeric() && !"±·×°″”′²³".contains(first)
            || "$&@;?!|\\~`[]".contains(first)
            || first.is_control()
        {
            return stray_flaw(self.text, place);
        }
        if let Some(unit) = rest.strip_prefix('.')
            && unit.starts_with(char::is_alphabetic)
            && ends_with_unit(&source[..at])
        {
            return Flaw::syntax(place, "units are multiplied with `*`, not with a point").fix(
                "write `*`",
                place,
                "*",
            );
        }
        // `6:1` and `6.0:1`
        let to_one = rest.strip_prefix(':').map(str::trim_start);
        if let Some(after) = to_one.and_then(|one| one.strip_prefix('1'))
            && !after.starts_with(|c: char| c.is_ascii_digit() || c == '.')
            && source[..at].ends_with(|c: char| c.is_ascii_digit())
        {
            let place = self.place(at, source.len() - after.len());
            return Flaw::syntax(place, "a ratio is written as a plain number, without `:1`").fix(
                "leave `:1` out",
                place,
                "",
            );
        }
        if rest.starts_with("..") || source[..at].ends_with("..") {
            return Flaw::syntax(place, "a range is not written with points")
                .help("write `45 mm to 55 mm`");
        }
        if rest.starts_with('.') && ends_with_unit(&source[..at]) {
            return Flaw::syntax(place, "a unit is written without a period").fix(
                "remove the period",
                place,
                "",
            );
        }
        if let Some(word) = word_with_point(&source[..at], rest) {
            return Flaw::syntax(place, "a word has no period in it")
                .help(format!("write `{word}`"));
        }
        if rest.starts_with('.') || source[..at].ends_with('.') {
            return Flaw::syntax(place, "this number is not complete")
                .help("a number is written `12`, `0.75`, `1.2e3`, `7/8` or `1 1/8`");
        }
        if first == '}' || first == '{' || first == '=' {
            return Flaw::syntax(place, format!("`{first}` does not belong here"))
                .help(format!("expected {}", list(expected)));
        }
        let flaw = Flaw::syntax(place, format!("`{}` does not belong here", shown(&token)));
        // As it is printed on a can: `DOT 4`.
        let before = source[..at].trim_end();
        let word = before.rsplit(|c: char| !c.is_alphanumeric()).next();
        let word = word.filter(|word| word.starts_with(char::is_alphabetic));
        if let Some(word) = word.filter(|_| first.is_ascii_digit() && !ends_with_unit(before)) {
            let joined = format!("{word}{token}").to_lowercase();
            return flaw.help(format!("a word has no blank in it: `{joined}`"));
        }
        if source[..at].trim_end().ends_with(')') && first.is_alphabetic() {
            return flaw.help("a unit follows a number: write `(…) * 1 mm`");
        }
        flaw.help(format!("expected {}", list(expected)))
    }
}

/// Whether a text ends with a number followed by letters: `200 N`.
fn ends_with_unit(text: &str) -> bool {
    let number = text.trim_end_matches(char::is_alphabetic);
    number.len() < text.len() && number.trim_end().ends_with(|c: char| c.is_ascii_digit())
}

/// A word with a point in it, as it is printed on a can (`dot5.1`), spelled with an underscore; `None` for any other text
/// around the point.
fn word_with_point(before: &str, rest: &str) -> Option<String> {
    let is_of_word = |c: char| c.is_alphanumeric() || c == '_';
    let start = before.trim_end_matches(is_of_word).len();
    let (word, after) = (&before[start..], rest.strip_prefix('.')?);
    let end = after.find(|c| !is_of_word(c)).unwrap_or(after.len());
    let is_printed = word.starts_with(char::is_alphabetic)
        && word.ends_with(|c: char| c.is_ascii_digit())
        && after.starts_with(|c: char| c.is_ascii_digit());
    is_printed.then(|| format!("{word}_{}", &after[..end]).to_lowercase())
}

/// Puts a blank before a unit that replaces a mark glued to its number.
pub(super) fn separate(mut flaw: Flaw, glued: bool) -> Flaw {
    if glued {
        for (_, text) in flaw.fixes.iter_mut().flat_map(|fix| &mut fix.edits) {
            text.insert(0, ' ');
        }
    }
    flaw
}

pub(super) fn unit_flaw(error: UnitError, written: &str, span: Span) -> Flaw {
    match error {
        UnitError::Unknown { name, meant } => {
            let flaw = Flaw::new(
                CheckId::UnknownUnit,
                span,
                format!("`{}` is not a unit", shown(&name)),
            );
            match meant {
                Some(meant) => {
                    let whole = written.replacen(&name, &meant, 1);
                    flaw.help(format!("did you mean `{meant}`?")).fix(
                        format!("write `{whole}`"),
                        span,
                        whole,
                    )
                }
                None if written.contains('/') => {
                    flaw.help("to divide by a value, put a space on each side of the `/`")
                }
                None => flaw.help("`bitepoint explain units` lists the units"),
            }
        }
        UnitError::Offset { name } => Flaw::new(
            CheckId::UnknownUnit,
            span,
            format!("`{name}` has a zero of its own and cannot be multiplied"),
        )
        .help("write temperatures alone, and rates per `K`"),
        UnitError::TooLarge => Flaw::new(
            CheckId::UnknownUnit,
            span,
            format!("`{}` is beyond all use", shown(written)),
        ),
    }
}

/// What the grammar expected, in words.
fn list(expected: &[Rule]) -> String {
    let mut words: Vec<&str> = Vec::new();
    for rule in expected {
        let word = match rule {
            Rule::EOI => "the end of the statement",
            Rule::name => "a name",
            Rule::check_name => "the name of a check",
            Rule::text => "a text in quotes",
            Rule::base => "`from`",
            Rule::comparison => "`<=`, `>=`, `<` or `>`",
            Rule::value | Rule::curve | Rule::scalar => "a value",
            Rule::point => "a point, `x: y`",
            Rule::expression
            | Rule::group
            | Rule::quantity
            | Rule::number
            | Rule::decimal
            | Rule::digits
            | Rule::call
            | Rule::path
            | Rule::negative => "a value",
            Rule::unit | Rule::unit_atom => "a unit",
            Rule::add | Rule::subtract | Rule::multiply | Rule::divide => "an operator",
            Rule::exponent => "a whole number",
            _ => continue,
        };
        if !words.contains(&word) {
            words.push(word);
        }
    }
    // A name is a value too.
    if words.contains(&"a value") {
        words.retain(|word| *word != "a name");
    }
    match words.as_slice() {
        [] => "something else".to_owned(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}
