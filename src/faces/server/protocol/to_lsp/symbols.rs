//! The outline of a file, and the search for names in the workspace.

use super::Lsp;
use crate::analysis::{Symbol, SymbolKind, symbols};
use lsp_types as lsp;

impl Lsp<'_> {
    pub fn symbols(&self, symbols: Vec<Symbol>) -> lsp::DocumentSymbolResponse {
        if self.client.nested_symbols {
            let nested = symbols.into_iter().map(|symbol| self.nested_symbol(symbol));
            return lsp::DocumentSymbolResponse::Nested(nested.collect());
        }
        let mut flat = Vec::new();
        for symbol in symbols {
            self.flat_symbols(symbol, None, &mut flat);
        }
        lsp::DocumentSymbolResponse::Flat(flat)
    }

    /// Symbols nest no deeper than blocks do.
    // The type has a deprecated field that must be named to be filled.
    #[allow(deprecated)]
    fn nested_symbol(&self, symbol: Symbol) -> lsp::DocumentSymbol {
        lsp::DocumentSymbol {
            kind: symbol_kind(symbol.kind),
            detail: Some(symbol.detail).filter(|detail| !detail.is_empty()),
            tags: None,
            deprecated: None,
            range: self.range(symbol.span),
            selection_range: self.range(symbol.name_span),
            children: Some(symbol.children)
                .filter(|children| !children.is_empty())
                .map(|children| {
                    children
                        .into_iter()
                        .map(|c| self.nested_symbol(c))
                        .collect()
                }),
            name: symbol.name,
        }
    }

    /// The definitions of the file whose name or title contains the letters of a query in their order. A title that
    /// matches follows the name, since editors filter the answer once more.
    pub fn named_like(&self, query: &str) -> Vec<lsp::SymbolInformation> {
        let mut flat = Vec::new();
        for mut symbol in symbols(self.snapshot.scope().root()) {
            symbol.children.clear();
            let title = Some(&symbol.detail).filter(|_| symbol.kind == SymbolKind::System);
            if !holds(&symbol.name, query) {
                let title = title.filter(|title| holds(title, query));
                let Some(title) = title else { continue };
                symbol.name = format!("{}: {title}", symbol.name);
            }
            self.flat_symbols(symbol, None, &mut flat);
        }
        flat
    }

    #[allow(deprecated)]
    fn flat_symbols(
        &self,
        symbol: Symbol,
        container: Option<&str>,
        flat: &mut Vec<lsp::SymbolInformation>,
    ) {
        flat.push(lsp::SymbolInformation {
            name: symbol.name.clone(),
            kind: symbol_kind(symbol.kind),
            tags: None,
            deprecated: None,
            location: lsp::Location {
                uri: self.snapshot.buffer.uri.clone(),
                range: self.range(symbol.span),
            },
            container_name: container.map(str::to_owned),
        });
        for child in symbol.children {
            self.flat_symbols(child, Some(&symbol.name), flat);
        }
    }
}

/// Whether a name contains the letters of a query in their order, in any case.
fn holds(name: &str, query: &str) -> bool {
    let mut letters = name.chars().flat_map(char::to_lowercase);
    let wanted = query.chars().filter(|c| !c.is_whitespace());
    wanted
        .flat_map(char::to_lowercase)
        .all(|wanted| letters.any(|letter| letter == wanted))
}

pub(super) fn symbol_kind(kind: SymbolKind) -> lsp::SymbolKind {
    match kind {
        SymbolKind::System => lsp::SymbolKind::CLASS,
        SymbolKind::Part => lsp::SymbolKind::MODULE,
        SymbolKind::Block => lsp::SymbolKind::OBJECT,
        SymbolKind::Field => lsp::SymbolKind::FIELD,
        SymbolKind::Let => lsp::SymbolKind::CONSTANT,
    }
}
