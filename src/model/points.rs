//! The points of a curve.

use crate::quantity::Band;

/// The points of a curve: where each stands, and its value, which may carry a tolerance.
#[derive(Clone, PartialEq, Debug)]
pub struct Points {
    points: Vec<(f64, Band)>,
    /// Where in their bands all of them are held: −1 at their lows, 0 at nominal, 1 at their highs.
    pub(super) held: f64,
    /// Whether they grow by one factor, and so are held at their lows where they are below zero.
    grows: bool,
}

impl Points {
    pub(crate) fn new(points: Vec<(f64, Band)>) -> Self {
        Self {
            points,
            held: 0.0,
            grows: false,
        }
    }

    /// Points that are all stronger or all weaker by one factor, on top of what each may be off by itself.
    pub(crate) fn growing(points: Vec<(f64, Band)>) -> Self {
        Self {
            grows: true,
            ..Self::new(points)
        }
    }

    /// The points where they are held, at first at nominal.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = (f64, f64)> + '_ {
        let at = |y: &Band| match self.grows && y.nominal < 0.0 {
            true => y.part_way(-self.held),
            false => y.part_way(self.held),
        };
        self.points.iter().map(move |(x, y)| (*x, at(y)))
    }

    /// The points with what each may be.
    pub fn bands(&self) -> &[(f64, Band)] {
        &self.points
    }
}
