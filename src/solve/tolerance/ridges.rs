//! The search along ridges, where two inputs balance each other.

use super::line::Spot;
use super::point::{Level, Point};
use super::search::{End, Search};
use crate::mechanics::peak;
use crate::schema::ResultId;

impl Search<'_> {
    /// Searches along ridges from a spot.
    ///
    /// There is a kink where one thing limits a result as an input rises, and another as it falls. On the kink no
    /// single input makes the result worse, but a second input may, with the first held on the kink. On its two sides
    /// the result falls with the slopes `a` and `b` of the first input. Its slope along the kink is a weighted mean
    /// of the second input's slopes on both sides, with the weights that cancel `a` and `b`. These are the
    /// multipliers of linear minimax (V. F. Dem'yanov and V. N. Malozemov, Introduction to Minimax, 1974, ch. III).
    pub fn along_ridges(&mut self, id: ResultId, end: End, spot: &mut Spot) -> Option<()> {
        /// How far along a kink to look at first, as a share of the way to the second input's end.
        const FIRST_STEP: f64 = 1.0 / 16.0;
        let at = spot.at.clone();
        let worth = spot.worth;
        for &(first, bits) in &at.inside {
            let (x, band) = (f64::from_bits(bits), self.inputs[first].band);
            let range = (band.low, band.high);
            let Some(seconds) = self.ridges(id, end, spot, &at, (first, x))? else {
                continue;
            };
            let all = seconds
                .iter()
                .fold(at.clone(), |at, (second, far)| at.with(*second, *far));
            self.search(id, end, spot, &all, first, range)?;
            for (second, far) in seconds {
                if spot.worth > worth {
                    return Some(());
                }
                let (x, _) = self.search(id, end, spot, &at.with(second, far), first, range)?;
                // Where the kink leaves the band of the first, the second is the one that stays inside.
                let nearer = if x - band.low < band.high - x {
                    Level::Low
                } else {
                    Level::High
                };
                let other = self.inputs[second].band;
                let at_end = at.with(first, nearer);
                self.search(id, end, spot, &at_end, second, (other.low, other.high))?;
                if spot.worth > worth {
                    return Some(());
                }
                // The path may have a second kink. Then neither input is at the end of its band.
                let (here, far) = (at.value(second, other), far.of(other));
                let mut along = |y: f64| {
                    let found = self.search(id, end, spot, &at.with_value(second, y), first, range);
                    found.map_or(f64::NEG_INFINITY, |(_, worth)| worth)
                };
                if along(here + FIRST_STEP * (far - here)) > worth {
                    peak(along, here.min(far), here.max(far));
                }
            }
        }
        Some(())
    }

    /// The inputs that make the result worse along its kink at the value of one input, and the ends towards which
    /// they do. `None` where there is no kink.
    fn ridges(
        &mut self,
        id: ResultId,
        end: End,
        spot: &mut Spot,
        at: &Point,
        (first, x): (usize, f64),
    ) -> Option<Option<Vec<(usize, Level)>>> {
        /// How far from the kink its two sides are evaluated, as a share of the first input's band.
        const ASIDE: f64 = 1e-4;
        /// How far along the kink, as a share of the second input's band: so little that it stays on the same side.
        const ALONG: f64 = 1e-6;
        /// A change below this share of what either side changes alone is rounding.
        const LEAST: f64 = 1e-4;
        let band = self.inputs[first].band;
        let aside = ASIDE * (band.high - band.low);
        if x - aside <= band.low || band.high <= x + aside {
            return Some(None);
        }
        let worth = spot.worth;
        let mut sides = Vec::with_capacity(2);
        for value in [x - aside, x + aside] {
            let side = at.with_value(first, value);
            let there = self.try_at(id, end, spot, side.clone())?;
            sides.push((side, there, worth - there));
        }
        let falls: f64 = sides.iter().map(|(_, _, fall)| fall).sum();
        if falls <= 0.0 {
            return Some(None);
        }
        let mut found = Vec::new();
        for second in (0..self.inputs.len()).filter(|second| *second != first) {
            let band = self.inputs[second].band;
            let along = ALONG * (band.high - band.low);
            let here = at.value(second, band);
            for (to, far) in [(here - along, Level::Low), (here + along, Level::High)] {
                if to < band.low || band.high < to {
                    continue;
                }
                let (mut gain, mut size) = (0.0, 0.0);
                for (side, there, fall) in &sides {
                    let moved = self.try_at(id, end, spot, side.with_value(second, to))?;
                    let part = (1.0 - fall / falls) * (moved - there);
                    gain += part;
                    size += part.abs();
                }
                if gain > LEAST * size.max(f64::EPSILON * worth.abs() / LEAST) {
                    found.push((second, far));
                }
            }
        }
        Some((!found.is_empty()).then_some(found))
    }
}
