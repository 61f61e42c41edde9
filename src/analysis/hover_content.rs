//! The content of a hover, and texts on checks and sizes that are shared by all places.

use crate::checks::{Check, written};
use crate::quantity::{Dimension, UnitExpr, UnitSystem, significant, usual_unit};
use crate::schema::Word;
use crate::settings::Settings;
use crate::syntax::TextRange;
use std::fmt::Write;
use std::ops::Range;

/// What is known about a place.
#[derive(Clone, PartialEq, Debug)]
pub struct Hover {
    /// The text, in Markdown.
    pub markdown: String,
    /// Where in the text a drawing of the system may be inserted.
    pub drawing_at: Option<usize>,
    /// Words of the trade in the text, in its order, that an editor may link to their explanation.
    pub terms: Vec<Term>,
    /// The place that it is about.
    pub span: TextRange,
}

/// A word of the trade in the Markdown of a hover.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Term {
    /// Its place in the Markdown, in bytes.
    pub at: Range<usize>,
    /// Its name for `bitepoint explain`.
    pub name: &'static str,
}

/// Adds the words of the trade that explain a block, a field or a result to a hover, each with its meaning.
pub(super) fn add_terms(markdown: &mut String, name: &str) -> Vec<Term> {
    let mut terms = Vec::new();
    for word in Word::about(name) {
        if terms.is_empty() {
            markdown.push_str("\nIn the trade:\n\n");
        }
        let start = markdown.len() + "- ".len();
        let _ = writeln!(markdown, "- {}: {}", word.word, word.meaning);
        terms.push(Term {
            at: start..start + word.word.len(),
            name: word.word,
        });
    }
    terms
}

/// A value in a unit, or in the usual one, followed by the other system's unit. It has more digits than a result has,
/// since 19.05 mm and 19 mm are two sizes.
pub(super) fn both(value: f64, dimension: Dimension, unit: Option<&UnitExpr>) -> String {
    let unit = unit
        .cloned()
        .or_else(|| usual_unit(dimension, UnitSystem::Metric));
    // People tell apart about a thousandth of an inch or a hundredth of a millimeter.
    let (other, digits) = match unit.as_ref().map(UnitExpr::system) {
        Some(UnitSystem::Imperial) => (UnitSystem::Metric, 5),
        _ => (UnitSystem::Imperial, 4),
    };
    let shown = written(value, unit.as_ref());
    match usual_unit(dimension, other) {
        Some(other) if Some(&other) != unit.as_ref() => {
            let number = significant(other.outward(value), digits);
            format!("{shown} ({number} {other})")
        }
        _ => shown,
    }
}

/// A check with its limits, sources and examples, as Markdown.
pub(super) fn check_markdown(check: &Check, settings: &Settings) -> String {
    let mut out = format!(
        "**`{}`** · {}\n\n{}\n\n{}\n\n",
        check.name(),
        check.severity.name(),
        check.finds,
        check.why
    );
    for limit in check.limits {
        let show = |value| both(value, limit.dimension, None);
        let own = show(limit.value);
        let _ = match settings.limit(check.id, limit.name) {
            Some(set) => writeln!(
                out,
                "- {}: {}, set in place of {own}",
                limit.what,
                show(set)
            ),
            None => writeln!(out, "- {}: {own} (*{}*)", limit.what, limit.source),
        };
    }
    if !check.limits.is_empty() {
        out.push('\n');
    }
    for (words, example) in [("Raises it:", check.bad), ("Does not:", check.good)] {
        let (language, text) = example.shown();
        let _ = writeln!(out, "{words}\n```{language}\n{text}\n```\n");
    }
    let _ = writeln!(out, "*{}*", check.source);
    out
}
