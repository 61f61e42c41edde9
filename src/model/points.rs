//! The points of a curve.

use crate::quantity::Band;

/// The points of a curve: the place of each, and its value, which may have a tolerance.
#[derive(Clone, PartialEq, Debug)]
pub struct Points {
    points: Vec<(f64, Band)>,
    /// Where in their bands all points are held: −1 at their lows, 0 at nominal, 1 at their highs.
    pub(super) held: f64,
    /// Whether all points grow by one factor. Points below zero are then held at their lows where the others are at
    /// their highs.
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

    /// Points that also share one factor: all are stronger or all weaker, on top of each point's own tolerance.
    pub(crate) fn growing(points: Vec<(f64, Band)>) -> Self {
        Self {
            grows: true,
            ..Self::new(points)
        }
    }

    /// The points where they are held; at nominal until they are moved.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = (f64, f64)> + '_ {
        let at = |y: &Band| match self.grows && y.nominal < 0.0 {
            true => y.part_way(-self.held),
            false => y.part_way(self.held),
        };
        self.points.iter().map(move |(x, y)| (*x, at(y)))
    }

    /// The points with the band of each value.
    pub fn bands(&self) -> &[(f64, Band)] {
        &self.points
    }
}
