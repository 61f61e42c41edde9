//! Where the statements of a file stand among its items, kept from one edit to the next.

use super::StatementId;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// Where among the items of a tree each stands, by its name. Shared with trees of earlier states of
/// the text, as long as they have as many items.
#[derive(Clone, Debug)]
pub(super) struct Positions {
    /// Those of the tree that it was made of.
    of_all: Arc<FxHashMap<StatementId, u32>>,
    /// Where there are other items by now.
    edited: Vec<u32>,
}

impl Positions {
    /// Among so many edited items a name is looked for.
    const MOST_EDITED: usize = 32;

    /// The positions of items by their names, in order.
    pub fn of(ids: impl Iterator<Item = StatementId>) -> Self {
        Self {
            of_all: Arc::new(ids.zip(0..).collect()),
            edited: Vec::new(),
        }
    }

    /// The positions after an edit of the items at some places, which leaves all others where they are.
    /// `None` when it is time to make them anew.
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

    /// The position of the item of a name. `id_at` says which item stands where now.
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
