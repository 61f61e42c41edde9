//! The climb from corner to corner of the bands.

use super::point::{Corner, LEVELS};
use super::search::{End, Search};
use crate::schema::ResultId;

impl Search<'_> {
    /// The corner that the inputs point to one by one, from one of them all at a level.
    fn pointed_to(&self, base: usize, id: ResultId, end: End) -> Option<Corner> {
        let one_by_one = self.one_by_one.get(base)?;
        let mut corner = Corner::all(*LEVELS.get(base)?, one_by_one.len());
        for (i, places) in one_by_one.iter().enumerate() {
            let mut found = end.worth(self.get(*places.get(base)?, id)?);
            for (level, place) in LEVELS.into_iter().zip(places) {
                let worth = end.worth(self.get(*place, id)?);
                if worth > found {
                    found = worth;
                    corner = corner.with(i, level);
                }
            }
        }
        Some(corner)
    }

    /// The extreme among the corners: from the one that the inputs point to one by one, starting with all of
    /// them nominal, low or high (what ends the pedal's travel may be another thing at each, and an input
    /// without effect at one of them can have one at another), or from the worst of all that was tried, every
    /// input is tried elsewhere until none makes it worse. `None` where the result is absent somewhere.
    pub fn climb(&mut self, id: ResultId, end: End) -> Option<()> {
        /// Interactions settle in two or three rounds; this only bounds silly ones.
        const MOST_ROUNDS: usize = 8;
        for base in 0..LEVELS.len() {
            let corner = self.pointed_to(base, id, end)?;
            self.place(corner);
        }
        for _ in 0..MOST_ROUNDS {
            let before = self.worth(id, end)?;
            for i in 0..self.inputs.len() {
                if self.has_no_effect(id, i) {
                    continue;
                }
                let at = self.best(id, end)?.at.clone();
                if at.inside.is_empty() {
                    for level in at.corner.level(i).others() {
                        self.place(at.corner.with(i, level));
                    }
                }
            }
            if self.worth(id, end)? == before {
                break;
            }
        }
        Some(())
    }
}
