//! The climb from corner to corner of the bands.

use super::point::{Corner, LEVELS};
use super::search::{End, Search};
use crate::schema::ResultId;

impl Search<'_> {
    /// The corner to which the inputs point one by one, starting from all inputs at one level.
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

    /// Climbs to the extreme among the corners. It starts from the corner to which the inputs point one by one, with
    /// all of them nominal, low or high. It also starts from the worst point tried so far. Three starts are needed:
    /// at each, something else may end the pedal's travel, and an input may have an effect at only one of them. From
    /// there every input is moved until no move makes the result worse. `None` where the result is absent somewhere.
    pub fn climb(&mut self, id: ResultId, end: End) -> Option<()> {
        /// A bound for absurd inputs; interactions settle in two or three rounds.
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
