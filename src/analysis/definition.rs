//! Where the names in a file are defined.

use super::Report;
use crate::finding::Place;
use crate::model::{Resolved, Resolver, Spot};
use crate::syntax::TextRange;

/// Where a name is defined.
#[derive(Clone, PartialEq, Debug)]
pub struct Definition {
    /// The name that was asked about.
    pub span: TextRange,
    /// The name in its definition, in this file or in one that it uses.
    pub target: Place,
}

/// The definition of what is at an offset; `None` if it has none.
pub fn definition(report: &Report, offset: u32) -> Option<Definition> {
    let resolver = report.resolver();
    let (spot, resolved) = resolver.at(offset)?;
    Some(Definition {
        span: spot.span,
        target: target(&resolver, spot, resolved)?,
    })
}

fn target<'a>(resolver: &Resolver<'a>, spot: Spot<'a>, resolved: Resolved<'a>) -> Option<Place> {
    match resolved {
        Resolved::File(source) => Some(source.place_at(TextRange::default())),
        // A name in its own definition leads nowhere.
        Resolved::System(system) if !spot.is_system_name() => Some(system.place()),
        Resolved::Part(part) => Some(part.place()),
        Resolved::Let(item) => Some(item.place()),
        Resolved::PathBlock(block) => resolver.block(spot, block),
        Resolved::PathField(field) => {
            let (source, given) = resolver.given(spot, field)?;
            Some(source.place(given.name.span))
        }
        _ => None,
    }
}
