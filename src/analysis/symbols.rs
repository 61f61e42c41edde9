//! The outline of a file.

use crate::model::Source;
use crate::syntax::{
    Block, Body, Field, Item, Let, Part, Span, Statement, StatementKind, System, TextRange,
};

/// Something that has a name in a file.
#[derive(Clone, PartialEq, Debug)]
pub struct Symbol {
    /// The name, as an outline lists it.
    pub name: String,
    /// The text beside the name, on one line: a system's title, a part's kind, a block's label or a value. Empty if
    /// there is none.
    pub detail: String,
    /// What kind of thing it is.
    pub kind: SymbolKind,
    /// All of its text in the file, in bytes.
    pub span: TextRange,
    /// Its name, inside of `span`.
    pub name_span: TextRange,
    /// The symbols inside it, in the order of the text.
    pub children: Vec<Symbol>,
}

/// What kind of thing a symbol is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SymbolKind {
    /// A system.
    System,
    /// A part, which systems may use.
    Part,
    /// A block of a system, such as its `master`.
    Block,
    /// A field with its value.
    Field,
    /// A `let`: a named value.
    Let,
}

/// The file's systems with their blocks and fields, its parts and its lets, in its order.
pub fn symbols(source: &Source) -> Vec<Symbol> {
    let outline = |item: &Item| {
        let outline = Outline {
            text: &source.text,
            start: item.start,
        };
        outline.statement(&item.statement)
    };
    source.tree.items.iter().filter_map(outline).collect()
}

/// The system or part whose name is at a place of a file.
pub fn symbol_named(source: &Source, name: Span) -> Option<Symbol> {
    let item = source.tree.item(name.statement)?;
    let outline = Outline {
        text: &source.text,
        start: item.start,
    };
    let symbol = outline.statement(&item.statement)?;
    (symbol.name_span == source.range(name)).then_some(symbol)
}

struct Outline<'a> {
    text: &'a str,
    /// Where the current top-level statement begins.
    start: u32,
}

impl Outline<'_> {
    fn at(&self, span: Span) -> TextRange {
        span.from_start(self.start)
    }

    /// Recursion is limited, as statements nest no deeper than file, system, block.
    fn statements(&self, statements: &[Statement]) -> Vec<Symbol> {
        statements
            .iter()
            .filter_map(|s| self.statement(s))
            .collect()
    }

    fn statement(&self, statement: &Statement) -> Option<Symbol> {
        let (name, detail, kind, name_span, body): (_, _, _, _, Option<&Body>) =
            match &statement.kind {
                StatementKind::System(System {
                    name, title, body, ..
                }) => {
                    let title = title.as_ref().map_or("", |title| &title.text);
                    (&name.text, title, SymbolKind::System, name.span, Some(body))
                }
                StatementKind::Part(Part { block, name, body }) => (
                    &name.text,
                    block.text.as_str(),
                    SymbolKind::Part,
                    name.span,
                    Some(body),
                ),
                StatementKind::Block(Block { block, name, body }) => {
                    let name = name.as_ref().map_or("", |name| &name.text);
                    (
                        &block.text,
                        name,
                        SymbolKind::Block,
                        block.span,
                        body.as_ref(),
                    )
                }
                StatementKind::Field(Field { name, value, .. }) => (
                    &name.text,
                    self.at(value.span).of(self.text),
                    SymbolKind::Field,
                    name.span,
                    None,
                ),
                StatementKind::Let(Let { name, value }) => (
                    &name.text,
                    self.at(value.span).of(self.text),
                    SymbolKind::Let,
                    name.span,
                    None,
                ),
                _ => return None,
            };
        Some(Symbol {
            name: name.clone(),
            detail: one_line(detail),
            kind,
            span: self.at(statement.span),
            name_span: self.at(name_span),
            children: body.map_or_else(Vec::new, |body| self.statements(&body.statements)),
        })
    }
}

/// A value on one line, for an outline.
fn one_line(text: &str) -> String {
    const MOST: usize = 60;
    let words: Vec<&str> = text.split_whitespace().collect();
    let line = words.join(" ");
    match line.char_indices().nth(MOST) {
        None => line,
        Some((end, _)) => format!("{}…", &line[..end]),
    }
}
