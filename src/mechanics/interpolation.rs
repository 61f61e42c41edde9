//! Measured curves, joined by straight lines.

/// A piecewise linear curve over strictly rising x. Outside the points, the nearest end value holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
}

impl Curve {
    /// A curve through `points` as (x, y); `None` if there are none, if x does not rise strictly, or if a
    /// number is not finite.
    pub fn new(points: Vec<(f64, f64)>) -> Option<Self> {
        let finite = points.iter().all(|(x, y)| x.is_finite() && y.is_finite());
        let rising = points
            .iter()
            .zip(points.iter().skip(1))
            // Halved, as in `value`, so that what rises here has a width there.
            .all(|((left, _), (right, _))| 0.5 * left < 0.5 * right);
        (!points.is_empty() && finite && rising).then_some(Self { points })
    }

    /// The points, in rising x.
    pub fn knots(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// The least and the greatest y from one x to another.
    pub fn range(&self, from: f64, to: f64) -> (f64, f64) {
        let start = self.points.partition_point(|(x, _)| *x <= from);
        let inside = self.points.iter().skip(start);
        let inside = inside.take_while(|(x, _)| *x < to);
        let ends = (self.value(from), self.value(to));
        let widen = |(low, high): (f64, f64), y: f64| (low.min(y), high.max(y));
        let start = (ends.0.min(ends.1), ends.0.max(ends.1));
        inside.map(|(_, y)| *y).fold(start, widen)
    }

    /// The curve's y at `x`; the first or the last y outside the points.
    pub fn value(&self, x: f64) -> f64 {
        let after = self.points.partition_point(|(knot, _)| *knot <= x);
        let right = self.points.get(after);
        let left = after.checked_sub(1).and_then(|i| self.points.get(i));
        match (left, right) {
            (Some(&(x0, y0)), Some(&(x1, y1))) => {
                // Halved, so that the width of even the widest finite interval is finite; the two-sided
                // weighting for the same reason, and because it meets both knots exactly.
                let t = (0.5 * x - 0.5 * x0) / (0.5 * x1 - 0.5 * x0);
                y0 * (1.0 - t) + y1 * t
            }
            (Some(&(_, y)), None) | (None, Some(&(_, y))) => y,
            (None, None) => 0.0,
        }
    }

    /// Area under the curve from `from` up to `to`, in units of x times y; exact, held ends included.
    pub fn integral(&self, from: f64, to: f64) -> f64 {
        let start = self.points.partition_point(|(x, _)| *x <= from);
        let inside = self.points.iter().skip(start).copied();
        let mut area = 0.0;
        let mut left = (from, self.value(from));
        for right in inside
            .take_while(|(x, _)| *x < to)
            .chain([(to, self.value(to))])
        {
            area += 0.5 * (left.1 + right.1) * (right.0 - left.0);
            left = right;
        }
        area
    }
}

#[cfg(test)]
mod tests {
    use super::Curve;

    fn curve() -> Curve {
        Curve::new(vec![(1.0, 10.0), (2.0, 30.0), (4.0, 20.0)]).expect("rising")
    }

    #[test]
    fn passes_through_its_points_and_straight_between_them() {
        let c = curve();
        for &(x, y) in c.knots() {
            assert_eq!(c.value(x), y);
        }
        assert_eq!(c.value(1.5), 20.0);
        assert_eq!(c.value(3.0), 25.0);
    }

    #[test]
    fn holds_the_end_values_outside() {
        assert_eq!(curve().value(-5.0), 10.0);
        assert_eq!(curve().value(9.0), 20.0);
    }

    #[test]
    fn range_holds_ends_and_corners() {
        assert_eq!(curve().range(0.0, 9.0), (10.0, 30.0));
        assert_eq!(curve().range(1.5, 1.75), (20.0, 25.0));
        assert_eq!(curve().range(1.5, 3.0), (20.0, 30.0));
        assert_eq!(
            curve().range(f64::NEG_INFINITY, f64::INFINITY),
            (10.0, 30.0)
        );
    }

    #[test]
    fn area_counts_the_held_ends_too() {
        // 10 over [0,1], 20 mean over [1,2], 25 mean over [2,4], 20 over [4,5].
        assert!((curve().integral(0.0, 5.0) - (10.0 + 20.0 + 50.0 + 20.0)).abs() < 1e-12);
        assert!((curve().integral(1.5, 1.5)).abs() < 1e-12);
        assert!((curve().integral(6.0, 8.0) - 40.0).abs() < 1e-12);
    }

    #[test]
    fn points_that_are_no_curve_are_refused() {
        assert!(Curve::new(vec![]).is_none());
        assert!(Curve::new(vec![(1.0, 0.0), (1.0, 2.0)]).is_none());
        assert!(Curve::new(vec![(2.0, 0.0), (1.0, 2.0)]).is_none());
        assert!(Curve::new(vec![(0.0, f64::NAN)]).is_none());
        assert!(Curve::new(vec![(f64::INFINITY, 0.0)]).is_none());
    }
}
