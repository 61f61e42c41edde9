//! The place of every input: at a corner of its band, or anywhere inside.

use crate::quantity::Band;

/// The place of an input in its band.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Level {
    Low,
    /// So near to the low end that nothing changes in between.
    AfterLow,
    Nominal,
    BeforeHigh,
    High,
    /// Anywhere else.
    Inside,
}

/// The levels that are tried for every input.
pub(super) const LEVELS: [Level; 3] = [Level::Low, Level::Nominal, Level::High];

/// The distance from an end, as a share of the band, at which a result is compared with the one at the end.
pub(super) const NEAR: f64 = 1e-5;

impl Level {
    pub fn of(self, band: Band) -> f64 {
        let near = NEAR * (band.high - band.low);
        match self {
            Self::Low => band.low,
            Self::AfterLow => band.low + near,
            Self::Nominal | Self::Inside => band.nominal,
            Self::BeforeHigh => band.high - near,
            Self::High => band.high,
        }
    }

    /// The levels that are tried instead of it.
    pub fn others(self) -> [Self; 2] {
        match self {
            Self::Low => [Self::High, Self::AfterLow],
            Self::High => [Self::Low, Self::BeforeHigh],
            Self::AfterLow | Self::Nominal | Self::BeforeHigh | Self::Inside => {
                [Self::Low, Self::High]
            }
        }
    }
}

/// A level for each input, so that a corner is copied and compared as one number.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(super) struct Corner(u128);

impl Corner {
    /// Bits that hold a level.
    const BITS: usize = 3;

    /// All inputs at one level.
    pub fn all(level: Level, count: usize) -> Self {
        (0..count).fold(Self(0), |corner, i| corner.with(i, level))
    }

    pub fn level(self, input: usize) -> Level {
        match self.0 >> (Self::BITS * input) & 7 {
            0 => Level::Low,
            1 => Level::AfterLow,
            2 => Level::Nominal,
            3 => Level::BeforeHigh,
            4 => Level::High,
            _ => Level::Inside,
        }
    }

    pub fn with(self, input: usize, level: Level) -> Self {
        let bits = |level: u128| level << (Self::BITS * input);
        Self(self.0 & !bits(7) | bits(level as u128))
    }
}

/// Every corner of `count` bands, each differing from the one before in a single input: the reflected binary code (F.
/// Gray, US patent 2,632,058, 1953).
pub(super) fn every_corner(count: usize) -> impl Iterator<Item = Corner> {
    (0..1u32 << count).map(move |number| {
        let reflected = number ^ (number >> 1);
        let level = |i: usize| match reflected >> i & 1 {
            0 => Level::Low,
            _ => Level::High,
        };
        (0..count).fold(Corner(0), |corner, i| corner.with(i, level(i)))
    })
}

/// The place of every input.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) struct Point {
    pub corner: Corner,
    /// The inputs whose level is [`Level::Inside`], in order, and the bits of their values.
    pub inside: Vec<(usize, u64)>,
}

impl Point {
    pub fn of(corner: Corner) -> Self {
        Self {
            corner,
            inside: Vec::new(),
        }
    }

    /// The value of an input with this band.
    pub fn value(&self, input: usize, band: Band) -> f64 {
        let inside = self.inside.iter().find(|(i, _)| *i == input);
        inside.map_or_else(
            || self.corner.level(input).of(band),
            |(_, bits)| f64::from_bits(*bits),
        )
    }

    pub fn with(&self, input: usize, level: Level) -> Self {
        let others = self.inside.iter().filter(|(i, _)| *i != input);
        Self {
            corner: self.corner.with(input, level),
            inside: others.copied().collect(),
        }
    }

    pub fn with_value(&self, input: usize, value: f64) -> Self {
        let mut point = self.with(input, Level::Inside);
        let at = point.inside.partition_point(|(i, _)| *i < input);
        point.inside.insert(at, (input, value.to_bits()));
        point
    }
}

#[cfg(test)]
mod tests {
    use super::{Corner, LEVELS, Level};

    /// As many inputs as there may be.
    const MOST: usize = super::super::MAX_TOLERANCED;

    #[test]
    fn a_corner_holds_a_level_for_every_input() {
        let mut corner = Corner::all(Level::Nominal, MOST);
        for i in 0..MOST {
            corner = corner.with(i, LEVELS[i % 3]);
        }
        for i in 0..MOST {
            assert_eq!(corner.level(i), LEVELS[i % 3], "{i}");
        }
    }
}
