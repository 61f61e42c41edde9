//! The words of the trade for `bitepoint explain`, found by what people type.

use super::describe::Lines;
use crate::checks::{CHECKS, Check};
use crate::quantity::nearest;
use crate::schema::{BLOCKS, Field, ResultId, STATEMENTS, WORDS, Word};

/// The words of the trade and the statements of the language.
fn words() -> impl Iterator<Item = &'static Word> + Clone {
    WORDS.iter().chain(STATEMENTS)
}

/// A word of the trade or a statement, by any of its names.
pub(super) fn word(what: &str) -> Option<&'static Word> {
    Word::called(what, words())
}

/// The name of a check, a block or a result from its name in plain words: `slave travel`, `short release`.
pub(super) fn technical(what: &str) -> Option<String> {
    let plain = Word::plain(what).replace('-', " ");
    let same = |name: &&str| name.replace(['_', '-'], " ") == plain;
    let results = ResultId::all().map(|id| id.spec().name);
    let checks = CHECKS.iter().map(|check| check.name());
    let blocks = BLOCKS.iter().map(|block| block.name);
    let found = results.chain(checks).chain(blocks).find(same);
    found.map(str::to_owned).or_else(|| {
        // `slave bore` is the field `slave.bore`.
        let (block, field) = plain.split_once(' ')?;
        let path = format!("{block}.{}", field.replace(' ', "_"));
        field_paths().find(|known| *known == path)
    })
}

fn field_paths() -> impl Iterator<Item = String> {
    BLOCKS.iter().flat_map(|block| {
        let path = move |field: &Field| format!("{}.{}", block.name, field.name);
        block.fields.iter().map(path)
    })
}

/// A word, its meaning, and what to read on with.
pub(super) fn explain_word(word: &Word, width: usize) -> String {
    let is_statement = STATEMENTS.iter().any(|known| known.word == word.word);
    let kind = match is_statement {
        true => "statement",
        false => "word of the trade",
    };
    let mut out = Lines::new(width, format!("{} ({kind})\n\n", word.word));
    out.paragraph(word.meaning);
    if !word.also.is_empty() {
        out.paragraph(&format!("Also found under: {}.", word.also.join(", ")));
    }
    if !word.see.is_empty() {
        out.push_str("\nRead on with `bitepoint explain …`\n");
    }
    for name in word.see {
        out.row(name, &doc(name).unwrap_or_default());
    }
    out.finish()
}

/// The first sentence about a check, a block, a field or a result.
fn doc(name: &str) -> Option<String> {
    let whole = if let Some(check) = Check::named(name) {
        check.finds
    } else if let Some(id) = ResultId::named(name) {
        id.spec().doc
    } else if let Some((block, field)) = name.split_once('.') {
        let block = BLOCKS.iter().find(|known| known.name == block)?;
        block.fields.iter().find(|known| known.name == field)?.doc
    } else {
        BLOCKS.iter().find(|known| known.name == name)?.doc
    };
    let end = whole.find(". ").map_or(whole.len(), |end| end + 1);
    Some(whole[..end].to_owned())
}

/// Every word and every statement with its meaning.
pub(super) fn list_words(width: usize) -> String {
    let first = "Words of the trade (`explain drag` says more about one)\n";
    let mut out = Lines::new(width, first);
    for word in WORDS {
        out.row(word.word, word.meaning);
    }
    out.push_str("\nStatements\n");
    for word in STATEMENTS {
        out.row(word.word, word.meaning);
    }
    out.finish()
}

/// Suggestions for an unknown name: the nearest name, or else the names of its words. Empty if nothing is near.
pub(super) fn suggestions(what: &str) -> Vec<String> {
    /// The most suggestions; more would not help to choose.
    const MOST: usize = 4;
    let known: Vec<String> = CHECKS
        .iter()
        .map(|check| check.name().to_owned())
        .chain(ResultId::all().map(|id| id.spec().name.to_owned()))
        .chain(BLOCKS.iter().map(|block| block.name.to_owned()))
        .chain(field_paths())
        .chain(words().map(|word| word.word.to_owned()))
        .collect();
    let others = words().flat_map(|word| word.also.iter().copied());
    let names = known.iter().map(String::as_str).chain(others);
    if let Some(meant) = nearest(what, names) {
        return vec![word(meant).map_or(meant, |word| word.word).to_owned()];
    }
    // A field by its own name, whatever it is in.
    let ends = format!(".{}", Word::plain(what).replace([' ', '-'], "_"));
    let fields = field_paths().filter(|path| path.ends_with(&ends));
    let fields: Vec<String> = fields.take(MOST).collect();
    if !fields.is_empty() {
        return fields;
    }
    let mut meant: Vec<String> = Vec::new();
    let plain = Word::plain(what);
    for part in plain.split([' ', '-', '.']).filter(|part| part.len() > 2) {
        let found = word(part).map(|word| word.word.to_owned());
        meant.extend(found.or_else(|| technical(part)));
    }
    meant.dedup();
    meant.truncate(MOST);
    meant
}
