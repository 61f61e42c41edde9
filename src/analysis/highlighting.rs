//! The role of each word of a file, for editors that color by meaning.

use super::Report;
use super::mentions::KEYWORDS;
use crate::model::{Spot, What, choices_of, spots};
use crate::syntax::{TextRange, TokenKind, tokens};

/// A word, a number, a text or a comment, with its role.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Highlight {
    /// Its place in the file, in bytes.
    pub span: TextRange,
    /// Its role.
    pub role: Role,
    /// Whether it is defined here.
    pub is_definition: bool,
}

/// What a word of a file is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Role {
    /// A word of the language, such as `system`.
    Keyword,
    /// A comment, with its `#`.
    Comment,
    /// Text in quotes.
    Text,
    /// A number, without its unit.
    Number,
    /// A sign, such as `=` or `<=`.
    Operator,
    /// A kind of component, such as `master`.
    Block,
    /// The name of a part.
    Part,
    /// The name of a system.
    System,
    /// The label of a block that may occur many times, such as a line's.
    Label,
    /// The name of a field.
    Field,
    /// The name of a let.
    Let,
    /// One of the words that a field allows.
    Choice,
    /// A unit of measure.
    Unit,
    /// The name of a function.
    Function,
    /// The name of a result.
    Result,
    /// The id of a check.
    Check,
}

/// Every word of a file, in the order of the text. None crosses the end of a line.
pub fn highlights(report: &Report) -> Vec<Highlight> {
    let source = &report.source;
    let mut named: Vec<Highlight> = Vec::new();
    spots(&source.tree, &mut |spot| named.extend(highlight(spot)));
    named.sort_by_key(|highlight| highlight.span);
    let mut next = 0;
    let mut found = Vec::new();
    for token in tokens(&source.text) {
        while named
            .get(next)
            .is_some_and(|h| h.span.end <= token.range.start)
        {
            next += 1;
        }
        let name = named
            .get(next)
            .filter(|h| h.span.start <= token.range.start && token.range.end <= h.span.end);
        let role = match (token.kind, name) {
            (TokenKind::Comment, _) => Role::Comment,
            (TokenKind::Text | TokenKind::OpenText, _) => Role::Text,
            (TokenKind::Number, None) => Role::Number,
            (TokenKind::Word | TokenKind::Number | TokenKind::Symbol, Some(name)) => name.role,
            (TokenKind::Word, None) if KEYWORDS.contains(&token.range.of(&source.text)) => {
                Role::Keyword
            }
            (TokenKind::Symbol | TokenKind::Equals, None) => Role::Operator,
            _ => continue,
        };
        found.push(Highlight {
            span: token.range,
            role,
            is_definition: name.is_some_and(|name| name.is_definition),
        });
    }
    found
}

fn highlight(spot: Spot<'_>) -> Option<Highlight> {
    let role = match spot.what {
        What::SystemName if !spot.is_title() => Role::System,
        What::Base(_) => Role::System,
        What::BlockName(_) | What::Path { on_block: true, .. } => Role::Block,
        What::PartName(_) | What::PartMention { .. } => Role::Part,
        What::Label(_) => Role::Label,
        What::FieldName(_) | What::Path { .. } => Role::Field,
        What::Unit { .. } => Role::Unit,
        What::Word { word: "pi", .. } => Role::Keyword,
        What::Word { .. } if choices_of(spot).is_some() => Role::Choice,
        What::Word { .. } | What::LetName(_) => Role::Let,
        What::Function(_) => Role::Function,
        What::ResultName(_) => Role::Result,
        What::CheckName(_) => Role::Check,
        What::SystemName | What::UsePath(_) | What::FieldValue(_) | What::LetValue(_) => {
            return None;
        }
    };
    Some(Highlight {
        span: spot.span,
        role,
        is_definition: matches!(
            spot.what,
            What::SystemName | What::PartName(_) | What::Label(_) | What::LetName(_)
        ),
    })
}
