//! Where the names in a file are defined.

use super::names::{Names, field_id};
use super::spot::{Spot, What, spot};
use super::{Report, Worked};
use crate::finding::Place;
use crate::schema::Block;
use crate::syntax::Span;

/// Where a name is defined.
#[derive(Clone, PartialEq, Debug)]
pub struct Definition {
    /// The name that was asked about.
    pub span: Span,
    pub target: Place,
}

/// Where what an offset points at is defined; `None` where it is nothing with a definition.
pub fn definition(report: &Report, offset: u32) -> Option<Definition> {
    let spot = spot(&report.source.tree, offset)?;
    Some(Definition {
        span: spot.span,
        target: target(report, spot)?,
    })
}

fn target(report: &Report, spot: Spot<'_>) -> Option<Place> {
    match spot.what {
        What::UsePath(path) => {
            let used = report.used_at(path.span)?;
            Some(used.place(Span::default()))
        }
        What::Base(name) => {
            let (source, system) = report.system(&name.text)?;
            Some(source.place(system.name.span))
        }
        What::PartMention { block, name } => {
            let (source, part) = report.part(&block.text, &name.text)?;
            Some(source.place(part.name.span))
        }
        What::PartName(part) => Some(report.source.place(part.name.span)),
        What::Word { word, .. } => {
            let (source, item) = report.let_named(spot.system, word)?;
            Some(source.place(item.name.span))
        }
        What::LetName(item) => Some(report.source.place(item.name.span)),
        What::Path {
            block,
            field,
            on_block,
        } => {
            let system = &worked(report, spot)?.system;
            if on_block {
                return Some(system.component(Block::named(&block.text)?)?.place.clone());
            }
            let given = system.given(field_id(&block.text, &field.text)?)?;
            Some(given.name.clone())
        }
        _ => None,
    }
}

/// The system around a place, or the first that uses the part around it.
fn worked<'a>(report: &'a Report, spot: Spot<'_>) -> Option<&'a Worked> {
    match (spot.system, spot.part) {
        (Some(system), _) => report.worked(system),
        (None, Some(part)) => report
            .user(&report.source.place(part.name.span))
            .map(|u| u.0),
        (None, None) => None,
    }
}
