//! The role of each word as the protocol's semantic tokens.

use super::Lsp;
use crate::analysis::{Role, highlights};
use crate::syntax::TextRange;
use lsp_types::{
    SemanticToken, SemanticTokenModifier, SemanticTokenType as T, SemanticTokensEdit,
    SemanticTokensLegend,
};

/// The types by their numbers. All are the protocol's own, so that every editor's theme has a color for them.
const TYPES: &[T] = &[
    T::KEYWORD,
    T::COMMENT,
    T::STRING,
    T::NUMBER,
    T::OPERATOR,
    T::TYPE,
    T::CLASS,
    T::NAMESPACE,
    T::PARAMETER,
    T::PROPERTY,
    T::VARIABLE,
    T::ENUM_MEMBER,
    T::MODIFIER,
    T::FUNCTION,
    T::EVENT,
    T::DECORATOR,
];

const DECLARATION: u32 = 1;

pub(crate) fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend {
        token_types: TYPES.to_vec(),
        token_modifiers: vec![SemanticTokenModifier::DECLARATION],
    }
}

fn token_type(role: Role) -> u32 {
    let wanted = match role {
        Role::Keyword => T::KEYWORD,
        Role::Comment => T::COMMENT,
        Role::Text => T::STRING,
        Role::Number => T::NUMBER,
        Role::Operator => T::OPERATOR,
        Role::Block => T::TYPE,
        Role::Part => T::CLASS,
        Role::System => T::NAMESPACE,
        Role::Label => T::PARAMETER,
        Role::Field => T::PROPERTY,
        Role::Let => T::VARIABLE,
        Role::Choice => T::ENUM_MEMBER,
        Role::Unit => T::MODIFIER,
        Role::Function => T::FUNCTION,
        Role::Result => T::EVENT,
        Role::Check => T::DECORATOR,
    };
    (0..)
        .zip(TYPES)
        .find_map(|(number, known)| (*known == wanted).then_some(number))
        .unwrap_or_default()
}

impl Lsp<'_> {
    /// The words that touch a run of text; all words if none is given.
    pub fn semantic_tokens(&self, within: Option<TextRange>) -> Vec<SemanticToken> {
        let (mut line, mut start) = (0, 0);
        let wanted =
            |span: TextRange| within.is_none_or(|w| span.start < w.end && w.start < span.end);
        highlights(self.report())
            .into_iter()
            .filter(|highlight| wanted(highlight.span))
            .map(|highlight| {
                let range = self.range(highlight.span);
                let delta_line = range.start.line - line;
                if delta_line > 0 {
                    start = 0;
                }
                let token = SemanticToken {
                    delta_line,
                    delta_start: range.start.character - start,
                    length: range.end.character - range.start.character,
                    token_type: token_type(highlight.role),
                    token_modifiers_bitset: match highlight.is_definition {
                        true => DECLARATION,
                        false => 0,
                    },
                };
                (line, start) = (range.start.line, range.start.character);
                token
            })
            .collect()
    }
}

/// The single edit that turns one list of words into another; none if they are equal.
pub(crate) fn edits(old: &[SemanticToken], new: &[SemanticToken]) -> Vec<SemanticTokensEdit> {
    let shared = old.iter().zip(new).take_while(|(a, b)| a == b).count();
    let (old, new) = (&old[shared..], &new[shared..]);
    let behind = old
        .iter()
        .rev()
        .zip(new.iter().rev())
        .take_while(|(a, b)| a == b)
        .count();
    let (old, new) = (&old[..old.len() - behind], &new[..new.len() - behind]);
    if old.is_empty() && new.is_empty() {
        return Vec::new();
    }
    // A word is five numbers, and the edit counts numbers.
    vec![SemanticTokensEdit {
        start: 5 * shared as u32,
        delete_count: 5 * old.len() as u32,
        data: Some(new.to_vec()),
    }]
}
