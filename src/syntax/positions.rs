//! The positions of statements among a file's items, kept from one edit to the next.

use super::StatementId;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// The position of each item of a tree, by its name. It is shared with trees of earlier states of the text as long as
/// the number of items is equal.
#[derive(Clone, Debug)]
pub(super) struct Positions {
    /// The positions in the tree from which it was made.
    of_all: Arc<FxHashMap<StatementId, u32>>,
    /// The positions at which there are other items now.
    edited: Vec<u32>,
}

impl Positions {
    /// Up to this number of edited items are searched for a name.
    const MOST_EDITED: usize = 32;

    /// The positions of items by their names, in order.
    pub fn of(ids: impl Iterator<Item = StatementId>) -> Self {
        Self {
            of_all: Arc::new(ids.zip(0..).collect()),
            edited: Vec::new(),
        }
    }

    /// The positions after an edit of the items at some places; all others must be where they were. `None` if the
    /// positions must be made again.
    pub fn after_edit(&self, places: impl Iterator<Item = u32>) -> Option<Self> {
        let mut edited = self.edited.clone();
        for place in places {
            if !edited.contains(&place) {
                edited.push(place);
            }
        }
        (edited.len() <= Self::MOST_EDITED).then(|| Self {
            of_all: self.of_all.clone(),
            edited,
        })
    }

    /// The position of the item with a name. `id_at` gives the item that is now at a position.
    pub fn get(
        &self,
        id: StatementId,
        id_at: impl Fn(u32) -> Option<StatementId>,
    ) -> Option<usize> {
        let is_there = |at: &&u32| id_at(**at) == Some(id);
        let known = self.of_all.get(&id).filter(is_there);
        let at = known.or_else(|| self.edited.iter().find(is_there))?;
        Some(*at as usize)
    }
}
