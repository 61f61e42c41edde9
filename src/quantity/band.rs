//! A value with the least and the most it may be.

/// A nominal value inside the band `low..=high` that its tolerance allows.
///
/// Arithmetic is interval arithmetic. The band of a result holds every value that any choice inside the operands'
/// bands can give, if the operands vary independently.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Band {
    /// The value that is aimed at.
    pub nominal: f64,
    /// The least value that the tolerance allows.
    pub low: f64,
    /// The greatest value that the tolerance allows.
    pub high: f64,
}

impl Band {
    /// A value without tolerance.
    pub const fn exact(value: f64) -> Self {
        Self {
            nominal: value,
            low: value,
            high: value,
        }
    }

    /// A nominal value and how far it may go each way (`spread` not below zero).
    pub fn around(nominal: f64, spread: f64) -> Self {
        Self {
            nominal,
            low: nominal - spread,
            high: nominal + spread,
        }
    }

    /// Limits; the nominal value is the middle.
    pub fn between(low: f64, high: f64) -> Self {
        Self {
            nominal: low + (high - low) / 2.0,
            low,
            high,
        }
    }

    /// The value between nominal and an end of the band: −1 is the low end, 0 nominal, 1 the high end.
    pub fn part_way(self, part: f64) -> f64 {
        let end = if part < 0.0 { self.low } else { self.high };
        self.nominal + part.abs() * (end - self.nominal)
    }

    /// A band as wide as this one around another nominal value.
    pub fn moved_to(self, nominal: f64) -> Self {
        Self {
            nominal,
            low: nominal - (self.nominal - self.low),
            high: nominal + (self.high - self.nominal),
        }
    }

    /// Whether there is any tolerance at all.
    pub fn is_exact(self) -> bool {
        self.low == self.high
    }

    /// Whether the value and both ends are ordinary numbers.
    pub fn is_finite(self) -> bool {
        self.nominal.is_finite() && self.low.is_finite() && self.high.is_finite()
    }

    /// The band of a function of the value. The function is monotone between its `turns`, so that its extremes are at
    /// the band's ends or at a turn. Turns outside the band are ignored.
    pub fn map(self, f: impl Fn(f64) -> f64, turns: &[f64]) -> Self {
        let (a, b) = (f(self.low), f(self.high));
        let mut out = Self {
            nominal: f(self.nominal),
            low: a.min(b),
            high: a.max(b),
        };
        for &turn in turns {
            if self.low < turn && turn < self.high {
                let v = f(turn);
                out.low = out.low.min(v);
                out.high = out.high.max(v);
            }
        }
        out
    }

    /// The band of a function of two operands. It is monotone in each, so that its extremes are at the four corners.
    pub fn corners(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let corners = [
            f(self.low, other.low),
            f(self.low, other.high),
            f(self.high, other.low),
            f(self.high, other.high),
        ];
        Self {
            nominal: f(self.nominal, other.nominal),
            low: corners.iter().copied().fold(f64::INFINITY, f64::min),
            high: corners.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        }
    }

    /// The band multiplied by a plain factor.
    pub fn scaled(self, factor: f64) -> Self {
        self.map(|v| v * factor, &[])
    }
}

#[cfg(test)]
mod tests {
    use super::Band;

    #[test]
    fn products_take_the_worst_corners() {
        let a = Band::between(-1.0, 2.0);
        let b = Band::between(3.0, 5.0);
        let product = a.corners(b, |x, y| x * y);
        assert_eq!((product.low, product.high), (-5.0, 10.0));
    }

    #[test]
    fn a_turning_point_inside_the_band_counts() {
        let square = Band::between(-1.0, 2.0).map(|x| x * x, &[0.0]);
        assert_eq!((square.low, square.high), (0.0, 4.0));
    }
}
