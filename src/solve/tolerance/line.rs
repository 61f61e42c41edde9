//! The search along one input.

use super::point::{Level, NEAR, Point};
use super::search::{End, Search};
use crate::mechanics::peak;
use crate::schema::ResultId;

/// A point, and the worth of a result there.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    pub worth: f64,
    pub at: Point,
}

impl Search<'_> {
    /// Moves a spot to a point if the result is worse there. Gives the worth at the point.
    pub fn try_at(&mut self, id: ResultId, end: End, spot: &mut Spot, at: Point) -> Option<f64> {
        let worth = end.worth(self.value(&at, id)?);
        if worth > spot.worth {
            *spot = Spot { worth, at };
        }
        Some(worth)
    }

    /// Searches along one input from a spot.
    pub fn along(&mut self, id: ResultId, end: End, spot: &mut Spot, input: usize) -> Option<()> {
        let band = self.inputs[input].band;
        let at = spot.at.clone();
        let level = at.corner.level(input);
        let range = match level {
            Level::Low | Level::High => {
                for other in level.others() {
                    self.try_at(id, end, spot, at.with(input, other))?;
                }
                match spot.at.corner.level(input) {
                    Level::AfterLow => self.hill(id, end, spot, input, (band.low, band.high))?,
                    Level::BeforeHigh => self.hill(id, end, spot, input, (band.high, band.low))?,
                    _ => return Some(()),
                }
            }
            Level::Nominal => {
                let worth = spot.worth;
                let mut flat = false;
                for other in [Level::Low, Level::High] {
                    flat |= self.try_at(id, end, spot, at.with(input, other))? == worth;
                }
                if flat || spot.at != at {
                    return Some(());
                }
                (band.low, band.high)
            }
            Level::AfterLow => self.hill(id, end, spot, input, (band.low, band.high))?,
            Level::BeforeHigh => self.hill(id, end, spot, input, (band.high, band.low))?,
            Level::Inside => {
                let value = at.value(input, band);
                let step = NEAR * (band.high - band.low);
                let mut range = None;
                for (other, towards) in [
                    (value - step, (band.low, value)),
                    (value + step, (value, band.high)),
                ] {
                    if band.low < other && other < band.high && range.is_none() {
                        let before = spot.worth;
                        let there = self.try_at(id, end, spot, at.with_value(input, other))?;
                        range = (there > before).then_some(towards);
                    }
                }
                let Some(range) = range else {
                    return Some(());
                };
                range
            }
        };
        self.search(id, end, spot, &at, input, range)?;
        Some(())
    }

    /// The two values of an input between which the first peak lies, on the way from one end of its band to the
    /// other.
    fn hill(
        &mut self,
        id: ResultId,
        end: End,
        spot: &mut Spot,
        input: usize,
        (from, to): (f64, f64),
    ) -> Option<(f64, f64)> {
        const FASTER: f64 = 4.0;
        let at = spot.at.clone();
        let (mut before, mut last, mut step) = (from, spot.worth, FASTER * NEAR);
        while step < 1.0 {
            let value = from + step * (to - from);
            let worth = self.try_at(id, end, spot, at.with_value(input, value))?;
            if worth < last {
                return Some((before.min(value), before.max(value)));
            }
            before = from + step / FASTER * (to - from);
            last = worth;
            step *= FASTER;
        }
        Some((before.min(to), before.max(to)))
    }

    /// Searches along an input from a point, between two of its values. Gives the value at which the result is worst,
    /// and the worth there.
    pub fn search(
        &mut self,
        id: ResultId,
        end: End,
        spot: &mut Spot,
        from: &Point,
        input: usize,
        (low, high): (f64, f64),
    ) -> Option<(f64, f64)> {
        let mut absent = false;
        let worth = |x: f64| {
            let worth = self.try_at(id, end, spot, from.with_value(input, x));
            absent |= worth.is_none();
            worth.unwrap_or(f64::NEG_INFINITY)
        };
        let found = peak(worth, low, high);
        (!absent).then_some(found)
    }
}
