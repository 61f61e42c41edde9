//! Root finding and maximising over a parameter that runs from 0 to 1.

/// A place and the function's value there.
pub type Point = (f64, f64);

/// Where `f` rises from below zero at `low` to zero or above at `high`, to within `tolerance`. At the answer `f` is
/// still below zero, unless the zero is met exactly.
///
/// Interpolate, truncate, project: I. F. D. Oliveira and R. H. C. Takahashi, "An enhancement of the bisection method
/// average performance preserving minmax optimality", ACM TOMS 47(1), 2020. It never needs more than one evaluation
/// beyond bisection, and only a handful on the near-linear functions here.
pub fn root(
    f: impl Fn(f64) -> f64,
    (mut low, mut f_low): Point,
    (mut high, mut f_high): Point,
    tolerance: f64,
) -> f64 {
    let truncation = 0.2 / (high - low);
    let halvings = ((high - low) / (2.0 * tolerance)).log2().ceil().max(0.0);
    let mut radius = tolerance * (halvings + 1.0).exp2();
    while high - low > 2.0 * tolerance {
        let middle = 0.5 * (low + high);
        let secant = (f_high * low - f_low * high) / (f_high - f_low);
        let towards_middle = (middle - secant).signum();
        let shift = truncation * (high - low) * (high - low);
        let truncated = if shift <= (middle - secant).abs() {
            secant + towards_middle * shift
        } else {
            middle
        };
        let allowed = radius - 0.5 * (high - low);
        let estimate = if (truncated - middle).abs() <= allowed {
            truncated
        } else {
            middle - towards_middle * allowed
        };
        // Not finite where f is so large that the secant overflows; bisection then still makes progress.
        let x = if estimate > low && estimate < high {
            estimate
        } else {
            middle
        };
        if x <= low || x >= high {
            break;
        }
        let f_x = f(x);
        if f_x == 0.0 {
            return x;
        }
        if f_x > 0.0 {
            (high, f_high) = (x, f_x);
        } else {
            (low, f_low) = (x, f_x);
        }
        radius *= 0.5;
    }
    low
}

/// How far before 1, as a share of the last piece, to check whether `f` falls towards its end.
const INWARD: f64 = 1e-4;

/// The function `f` from 0 to 1 in `cuts` equal pieces. Each piece gives its start and a point to which `f` rises or
/// falls from there. That is the piece's end, and before it, where `f` falls over the piece, a possible peak in this
/// piece or the one before. In the last piece there may be a peak where `f` falls only towards the end. A single
/// piece is one over which `f` only rises or only falls.
fn climbs(f: &impl Fn(f64) -> f64, cuts: usize) -> impl Iterator<Item = (Point, Point)> {
    let rest = (0.0, f(0.0));
    (1..=cuts)
        .scan((rest, rest), move |(before, low), i| {
            let t = i as f64 / cuts as f64;
            let high = (t, f(t));
            let last = i == cuts && cuts > 1;
            let falls = high.1 < low.1 || last && f(1.0 - INWARD / cuts as f64) > high.1;
            let peak = |from: Point, to: Point| falls.then(|| (from, maximum(f, from.0, to.0)));
            let found = [peak(*before, *low), peak(*low, high), Some((*low, high))];
            (*before, *low) = (*low, high);
            Some(found)
        })
        .flat_map(|found| found.into_iter().flatten())
}

/// Where `f`, below zero at 0, first reaches zero on the way to 1, searched in `cuts` equal pieces.
pub(super) fn first_crossing(f: impl Fn(f64) -> f64, cuts: usize) -> Option<f64> {
    let (low, high) = climbs(&f, cuts).find(|(_, to)| to.1 >= 0.0)?;
    Some(root(f, low, high, f64::EPSILON))
}

/// The highest value of `f` after 0 up to 1, searched in `cuts` equal pieces.
pub(super) fn highest(f: impl Fn(f64) -> f64, cuts: usize) -> f64 {
    climbs(&f, cuts).fold(f64::NEG_INFINITY, |best, (_, to)| best.max(to.1))
}

/// Where between `low` and `high` the function `f` is highest, and its value. `f` must have one smooth peak there.
///
/// Parabolas through the three best points, and golden sections where those do not converge (R. P. Brent, Algorithms
/// for Minimization without Derivatives, 1973, ch. 5). The place is good to 1e-6 of the interval. As the peak is
/// flat, the value is then good to about 1e-12 of its rise.
pub fn maximum(mut f: impl FnMut(f64) -> f64, mut low: f64, mut high: f64) -> Point {
    const GOLDEN: f64 = 0.381_966_011_250_105_15;
    /// Golden sections alone would need 29.
    const MOST_STEPS: usize = 60;
    let tolerance = 0.5e-6 * (high - low);
    let start = low + GOLDEN * (high - low);
    let mut best = (start, f(start));
    let (mut second, mut third) = (best, best);
    let (mut step, mut step_before) = (0.0_f64, 0.0_f64);
    for _ in 0..MOST_STEPS {
        let middle = 0.5 * (low + high);
        if (best.0 - middle).abs() + 0.5 * (high - low) <= 2.0 * tolerance {
            break;
        }
        let across = (best.0 - second.0) * (best.1 - third.1);
        let along = (best.0 - third.0) * (best.1 - second.1);
        let over = (best.0 - third.0) * along - (best.0 - second.0) * across;
        let parabola = 0.5 * over / (across - along);
        let vertex = best.0 + parabola;
        // Not used where the three points give no parabola, or where steps do not shrink.
        if step_before.abs() > tolerance
            && parabola.abs() < 0.5 * step_before.abs()
            && vertex > low
            && vertex < high
        {
            (step_before, step) = (step, parabola);
            if vertex - low < 2.0 * tolerance || high - vertex < 2.0 * tolerance {
                step = tolerance.copysign(middle - best.0);
            }
        } else {
            step_before = if best.0 < middle { high } else { low } - best.0;
            step = GOLDEN * step_before;
        }
        let x = best.0 + step.signum() * step.abs().max(tolerance);
        let point = (x, f(x));
        if point.1 >= best.1 {
            if x >= best.0 {
                low = best.0;
            } else {
                high = best.0;
            }
            (third, second, best) = (second, best, point);
            continue;
        }
        if x < best.0 {
            low = x;
        } else {
            high = x;
        }
        if point.1 >= second.1 || second.0 == best.0 {
            (third, second) = (second, point);
        } else if point.1 >= third.1 || third.0 == best.0 || third.0 == second.0 {
            third = point;
        }
    }
    best
}

/// A point on a curve and the curve's slope there.
#[derive(Clone, Copy)]
struct Tangent {
    x: f64,
    f: f64,
    slope: f64,
}

impl Tangent {
    /// The tangent at a point. Its slope is taken from a second point one step away.
    fn new(f: &mut impl FnMut(f64) -> f64, x: f64, step: f64) -> Self {
        let here = f(x);
        let slope = (f(x + step) - here) / step;
        Self { x, f: here, slope }
    }

    fn at(self, x: f64) -> f64 {
        self.f + self.slope * (x - self.x)
    }

    /// Where two tangents meet.
    fn meets(self, other: Self) -> f64 {
        (other.at(0.0) - self.at(0.0)) / (self.slope - other.slope)
    }
}

/// Where between `low` and `high` the function `f` is highest, and its value. `f` must only rise before that place
/// and only fall after it; the peak may be smooth or a kink.
///
/// A kink is where the tangents from both sides meet, taken nearer and nearer (J. E. Kelley, "The cutting-plane
/// method for solving convex programs", J. SIAM 8(4), 1960, in one dimension). If they do not converge in a few
/// steps, the peak is smooth, and [`maximum`] finds it.
pub fn peak(mut f: impl FnMut(f64) -> f64, low: f64, high: f64) -> Point {
    const MOST_STEPS: usize = 16;
    /// The share by which a step must reduce the room below the tangents for another step to follow. Halving the
    /// distance to a smooth peak leaves a quarter.
    const GAIN: f64 = 0.2;
    let length = high - low;
    let step = 1e-7 * length;
    let mut left = Tangent::new(&mut f, low, step);
    let mut right = Tangent::new(&mut f, high, -step);
    let mut best = if left.f >= right.f { left } else { right };
    let mut room = f64::INFINITY;
    for _ in 0..MOST_STEPS {
        if !(left.slope > 0.0 && right.slope < 0.0) {
            break;
        }
        let mut x = left.meets(right);
        let lead = left.x + step < x && x < right.x - step;
        if !lead {
            x = 0.5 * (left.x + right.x);
        }
        let new = Tangent::new(&mut f, x, step);
        if new.f > best.f {
            best = new;
        }
        let left_room = (left.at(x) - new.f).abs();
        if new.slope > 0.0 {
            left = new;
        } else {
            right = new;
        }
        // If a curve leads to its own kink from afar by chance, it still rises beside it.
        let beside = 1e-9 * length;
        let mut falls = |to: f64| f(to) < best.f;
        if left_room <= 1e-9 * new.f.abs() && falls(best.x - beside) && falls(best.x + beside) {
            return (best.x, best.f);
        }
        if lead && left_room > GAIN * room {
            break;
        }
        if lead {
            room = left_room;
        }
    }
    let smooth = maximum(&mut f, left.x, right.x);
    let near = if smooth.1 > best.f {
        smooth
    } else {
        (best.x, best.f)
    };
    // Close to a kink, the tangents beside it meet at it.
    let aside = 2e-6 * length;
    if low < near.0 - 2.0 * aside && near.0 + 2.0 * aside < high {
        let left = Tangent::new(&mut f, near.0 - aside, -aside);
        let right = Tangent::new(&mut f, near.0 + aside, aside);
        let x = left.meets(right);
        if left.slope > 0.0 && right.slope < 0.0 && left.x < x && x < right.x {
            let kink = (x, f(x));
            return if kink.1 > near.1 { kink } else { near };
        }
    }
    edge(f, near, (low, high))
}

/// The edge of a cliff near the place that [`maximum`] finds from `low` to `high`: where `f` rises and then jumps
/// down.
fn edge(mut f: impl FnMut(f64) -> f64, near: Point, (low, high): (f64, f64)) -> Point {
    /// By how much [`maximum`] may miss an edge, as a share of the interval.
    const AWAY: f64 = 2e-6;
    /// A smooth peak falls by less than this over that distance.
    const FLAT: f64 = 1e-10;
    let away = AWAY * (high - low);
    for beyond in [near.0 - away, near.0 + away] {
        let (mut top, mut beyond) = (near, beyond.clamp(low, high));
        if near.1 - f(beyond) <= FLAT * near.1.abs() {
            continue;
        }
        for _ in 0..f64::MANTISSA_DIGITS {
            let x = 0.5 * (top.0 + beyond);
            if x == top.0 || x == beyond {
                break;
            }
            let f_x = f(x);
            if f_x >= top.1 {
                top = (x, f_x);
            } else {
                beyond = x;
            }
        }
        if top.1 > near.1 {
            return top;
        }
    }
    near
}

#[cfg(test)]
mod tests {
    use super::{first_crossing, highest, maximum, peak, root};
    use std::cell::Cell;

    #[test]
    fn root_of_a_cubic_to_the_last_digits_in_few_steps() {
        let calls = Cell::new(0);
        let f = |x: f64| {
            calls.set(calls.get() + 1);
            x * x * x - 0.3
        };
        let x = root(f, (0.0, -0.3), (1.0, 0.7), f64::EPSILON);
        assert!((x - 0.3_f64.cbrt()).abs() < 1e-15);
        assert!(calls.get() < 20, "{} calls", calls.get());
    }

    #[test]
    fn root_of_a_step_is_found_by_halving_alone() {
        let f = |x: f64| if x < 0.7 { -f64::MAX } else { f64::MAX };
        let x = root(f, (0.0, -f64::MAX), (1.0, f64::MAX), f64::EPSILON);
        assert!((x - 0.7).abs() < 1e-15);
        assert!(x < 0.7);
    }

    #[test]
    fn first_crossing_is_the_first_even_between_two_cuts() {
        // Above zero only for 0.02 to either side of the top, which quarters step over. From the second
        // top on, the piece it is in still rises as a whole and only the next one falls, if there is one.
        for top in [0.3, 0.45, 0.93] {
            let hill = |x: f64| 0.0004 - (x - top) * (x - top);
            let x = first_crossing(hill, 4).expect("the hill pokes through");
            assert!((x - (top - 0.02)).abs() < 1e-14);
            assert!(first_crossing(|x| hill(x) - 0.0005, 4).is_none());
        }
    }

    #[test]
    fn highest_is_the_peak_even_between_two_cuts() {
        // In the piece that falls as a whole, in the one before it, and in the last, which rises as a whole.
        for top in [0.3, 0.45, 0.93] {
            let found = highest(|x| 2.0 - (x - top) * (x - top), 4);
            assert!((found - 2.0).abs() < 1e-12, "{found}");
        }
        assert_eq!(highest(|x| x, 4), 1.0);
    }

    #[test]
    fn peak_of_a_parabola() {
        let (x, y) = maximum(|x| 2.0 - (x - 0.3) * (x - 0.3), 0.0, 1.0);
        assert!((x - 0.3).abs() < 1e-6);
        assert!((y - 2.0).abs() < 1e-12);
    }

    #[test]
    fn peak_of_a_curve_other_than_a_parabola_in_few_steps() {
        for top in [0.002, 0.2, 0.5, 0.77, 0.999] {
            let calls = Cell::new(0);
            let hill = |x: f64| {
                calls.set(calls.get() + 1);
                1.0 / (0.05 + (x - top).powi(2)) + 1e-3 * (x - top).powi(3)
            };
            let (x, y) = maximum(hill, 0.0, 1.0);
            assert!((x - top).abs() < 2e-6, "{x} for {top}");
            assert!((y - 20.0).abs() < 1e-9);
            assert!(calls.get() < 25, "{} calls for {top}", calls.get());
        }
    }

    #[test]
    fn a_kink_is_found_to_the_last_digits() {
        for top in [0.001, 0.3, 0.77] {
            let calls = Cell::new(0);
            let rise = |x: f64| 5.0 + x + 0.1 * x * x;
            let roof = |x: f64| {
                calls.set(calls.get() + 1);
                let fall = rise(top) - 3.0 * (x - top) - (x - top).powi(2);
                rise(x).min(fall)
            };
            let (x, y) = peak(roof, 0.0, 1.0);
            assert!((y - rise(top)).abs() < 1e-10, "{y} at {x} for {top}");
            assert!(calls.get() < 200, "{} calls", calls.get());
        }
    }

    #[test]
    fn a_smooth_peak_and_the_edge_of_a_cliff_are_peaks() {
        let (x, y) = peak(|x| 2.0 - (x - 0.3) * (x - 0.3), 0.0, 1.0);
        assert!((x - 0.3).abs() < 1e-6 && (y - 2.0).abs() < 1e-12);
        let (x, y) = peak(|x| if x < 0.3 { 5.0 + x } else { 1.0 - x }, 0.0, 1.0);
        assert!(
            (x - 0.3).abs() < 1e-12 && (y - 5.3).abs() < 1e-12,
            "{x} {y}"
        );
        // At an end there is nothing to find.
        assert_eq!(peak(|x| x, 0.0, 1.0), (1.0, 1.0));
    }

    #[test]
    fn peak_of_a_tent_is_found_by_golden_sections() {
        let (x, _) = maximum(|x: f64| -(x - 0.7).abs(), 0.0, 1.0);
        assert!((x - 0.7).abs() < 2e-6);
    }
}
