//! The search for extremes inside the bands.

use super::line::Spot;
use super::point::{Corner, Level, Point};
use super::search::{End, Search};
use crate::schema::ResultId;

/// How many evaluations the search inside the bands may use: a tenth of a second. Systems with ordinary tolerances
/// need a few hundred to a few thousand.
const MOST_EVALUATIONS: usize = 20_000;

impl Search<'_> {
    /// Searches for the extreme inside the bands.
    pub fn go_inside(&mut self, id: ResultId, end: End) -> Option<()> {
        let best = self.best(id, end)?;
        let start = Spot {
            worth: end.worth(best.value),
            at: best.at.clone(),
        };
        let there = self.improve(id, end, start)?.at;
        let middle = Point::of(Corner::all(Level::Nominal, self.inputs.len()));
        for input in 0..self.inputs.len() {
            if !self.is_bent(id, input)? {
                continue;
            }
            for from in [&there, &middle] {
                for start in self.scan(id, end, from, input)? {
                    self.improve(id, end, start)?;
                }
            }
        }
        Some(())
    }

    /// Whether a result is far from linear over the band of an input.
    fn is_bent(&self, id: ResultId, input: usize) -> Option<bool> {
        /// How far the middle of a line may be from the mean of its ends, as a share of the difference between them.
        const STRAIGHT: f64 = 0.15;
        /// How far it may be off as a share of the result's whole range. Less than that does not change the extremes.
        const LEAST: f64 = 1e-3;
        let [least, most] = End::BOTH.map(|end| self.extreme(id, end));
        let span = most? - least?;
        for [low, middle, high] in self.lines(id, input) {
            let (low, middle, high) = (low?, middle?, high?);
            let off = f64::midpoint(low, high) - middle;
            if off.abs() > (STRAIGHT * (high - low).abs()).max(LEAST * span) {
                return Some(true);
            }
        }
        Some(false)
    }

    /// Spots along an input, from a place, where a result is worse than beside it.
    fn scan(&mut self, id: ResultId, end: End, from: &Point, input: usize) -> Option<Vec<Spot>> {
        const PIECES: usize = 8;
        let band = self.inputs[input].band;
        let mut worths = [f64::NEG_INFINITY; PIECES + 1];
        let value = |i: usize| band.low + (band.high - band.low) * (i as f64 / PIECES as f64);
        for (i, worth) in worths.iter_mut().enumerate() {
            let at = match i {
                0 => from.with(input, Level::Low),
                PIECES => from.with(input, Level::High),
                _ => from.with_value(input, value(i)),
            };
            *worth = end.worth(self.value(&at, id)?);
        }
        let mut found = Vec::new();
        for i in 1..PIECES {
            if worths[i] > worths[i - 1] && worths[i] > worths[i + 1] {
                let mut spot = Spot {
                    worth: worths[i],
                    at: from.with_value(input, value(i)),
                };
                let near = spot.at.clone();
                self.search(
                    id,
                    end,
                    &mut spot,
                    &near,
                    input,
                    (value(i - 1), value(i + 1)),
                )?;
                found.push(spot);
            }
        }
        Some(found)
    }

    /// Moves a spot to where neither a single input, nor two along a ridge, makes the result worse.
    fn improve(&mut self, id: ResultId, end: End, mut spot: Spot) -> Option<Spot> {
        const MOST_ROUNDS: usize = 12;
        for _ in 0..MOST_ROUNDS {
            let before = spot.worth;
            if self.evaluations > MOST_EVALUATIONS {
                break;
            }
            for i in 0..self.inputs.len() {
                if self.has_no_effect(id, i) {
                    continue;
                }
                self.along(id, end, &mut spot, i)?;
            }
            if spot.at.inside.is_empty() {
                break;
            }
            self.along_ridges(id, end, &mut spot)?;
            if spot.worth - before <= 1e-12 * spot.worth.abs() {
                break;
            }
        }
        Some(spot)
    }
}
