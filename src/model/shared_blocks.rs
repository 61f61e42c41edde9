//! Blocks that several systems of a file get from the same text, evaluated once.

use super::layers::MergedBlock;
use super::system::Component;
use crate::schema::BLOCKS;
use std::sync::Arc;

/// How many blocks of each kind are remembered. Most systems of a file start from the same few.
const MOST_OF_A_KIND: usize = 8;

/// Blocks that came from a base and whose expressions read no names. They are the same in every system with that
/// base.
pub(super) struct SharedBlocks<'a> {
    /// The blocks by [`BlockId`](crate::schema::BlockId), the latest at the end.
    known: Vec<Vec<(MergedBlock<'a>, Arc<Component>)>>,
}

impl<'a> SharedBlocks<'a> {
    /// No blocks yet.
    pub fn new() -> Self {
        Self {
            known: BLOCKS.iter().map(|_| Vec::new()).collect(),
        }
    }

    /// The block that was made before from the same text.
    pub fn get(&self, merged: &MergedBlock<'a>) -> Option<&Arc<Component>> {
        let known = self.known.get(merged.block as usize)?;
        let (_, component) = known.iter().rev().find(|(text, _)| is_same(text, merged))?;
        Some(component)
    }

    /// Notes the block that a text gives. A block in a system's own text is left out, since no other system has it
    /// from there.
    pub fn note(&mut self, merged: &MergedBlock<'a>, component: &Arc<Component>) {
        let Some(known) = self
            .known
            .get_mut(merged.block as usize)
            .filter(|_| !merged.own)
        else {
            return;
        };
        if known.len() >= MOST_OF_A_KIND {
            known.remove(0);
        }
        known.push((merged.clone(), component.clone()));
    }
}

/// Whether two blocks have the same text from the same origins, so that they have the same values.
fn is_same(one: &MergedBlock<'_>, other: &MergedBlock<'_>) -> bool {
    let fields = one.fields.iter().zip(&other.fields);
    let mut pairs = fields.map(|pair| match pair {
        (Some(one), Some(other)) => {
            std::ptr::eq(one.field, other.field)
                && (one.source, one.origin) == (other.source, other.origin)
        }
        (one, other) => one.is_none() && other.is_none(),
    });
    one.block == other.block
        && one.own == other.own
        && pairs.all(|is_same| is_same)
        && one.place == other.place
        && one.label == other.label
        && one.part == other.part
        && one.body == other.body
}
