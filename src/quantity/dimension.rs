//! Physical dimensions as integer exponents.

use std::fmt;

/// A physical dimension: the exponents of length, mass, time, temperature and plane angle.
///
/// Plane angle counts as a dimension of its own, so that a torque (force × length) and an
/// energy (torque × angle) are never taken for one another.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Dimension {
    length: i8,
    mass: i8,
    time: i8,
    temperature: i8,
    angle: i8,
}

/// Exponents beyond this are refused: no quantity of the trade comes near.
const MOST_EXPONENT: i16 = 24;

impl Dimension {
    /// Without a dimension: a ratio, a count.
    pub const NUMBER: Self = Self::new(0, 0, 0, 0, 0);
    /// Length, held in mm.
    pub const LENGTH: Self = Self::new(1, 0, 0, 0, 0);
    /// Area, held in mm².
    pub const AREA: Self = Self::new(2, 0, 0, 0, 0);
    /// Volume, held in mm³.
    pub const VOLUME: Self = Self::new(3, 0, 0, 0, 0);
    /// Mass, held in tonnes.
    pub const MASS: Self = Self::new(0, 1, 0, 0, 0);
    /// Time, held in seconds.
    pub const TIME: Self = Self::new(0, 0, 1, 0, 0);
    /// Absolute temperature, held in K.
    pub const TEMPERATURE: Self = Self::new(0, 0, 0, 1, 0);
    /// Plane angle, held in radians.
    pub const ANGLE: Self = Self::new(0, 0, 0, 0, 1);
    /// Force, held in N.
    pub const FORCE: Self = Self::new(1, 1, -2, 0, 0);
    /// Force per area, held in MPa (N/mm²).
    pub const PRESSURE: Self = Self::new(-1, 1, -2, 0, 0);
    /// Force of a spring per length, held in N/mm.
    pub const STIFFNESS: Self = Self::new(0, 1, -2, 0, 0);
    /// Force times arm, held in N·mm.
    pub const TORQUE: Self = Self::new(2, 1, -2, 0, 0);
    /// Torque times angle, held in N·mm·rad; a thousand of them are a joule.
    pub const ENERGY: Self = Self::new(2, 1, -2, 0, 1);
    /// Mass per volume, held in tonne/mm³.
    pub const DENSITY: Self = Self::new(-3, 1, 0, 0, 0);
    /// Kinematic viscosity, held in mm²/s.
    pub const VISCOSITY: Self = Self::new(2, 0, -1, 0, 0);
    /// Volume a hose gains per length and per pressure.
    pub const EXPANSION: Self = Self::new(3, -1, 2, 0, 0);

    const fn new(length: i8, mass: i8, time: i8, temperature: i8, angle: i8) -> Self {
        Self {
            length,
            mass,
            time,
            temperature,
            angle,
        }
    }

    fn exponents(self) -> [(i8, &'static str); 5] {
        [
            (self.length, "length"),
            (self.mass, "mass"),
            (self.time, "time"),
            (self.temperature, "temperature"),
            (self.angle, "angle"),
        ]
    }

    fn combine(self, other: Self, f: impl Fn(i16, i16) -> i16) -> Option<Self> {
        let one = |a: i8, b: i8| {
            let e = f(i16::from(a), i16::from(b));
            (e.abs() <= MOST_EXPONENT).then_some(e as i8)
        };
        Some(Self {
            length: one(self.length, other.length)?,
            mass: one(self.mass, other.mass)?,
            time: one(self.time, other.time)?,
            temperature: one(self.temperature, other.temperature)?,
            angle: one(self.angle, other.angle)?,
        })
    }

    /// The dimension of a product; `None` when an exponent grows beyond all use.
    pub fn times(self, other: Self) -> Option<Self> {
        self.combine(other, |a, b| a + b)
    }

    /// The dimension of a quotient; `None` when an exponent grows beyond all use.
    pub fn over(self, other: Self) -> Option<Self> {
        self.combine(other, |a, b| a - b)
    }

    /// The dimension of a whole power; `None` when an exponent grows beyond all use.
    pub fn power(self, n: i8) -> Option<Self> {
        self.combine(self, |a, _| a.saturating_mul(i16::from(n)))
    }

    /// The dimension of a square root; `None` when an exponent is odd.
    pub fn root(self) -> Option<Self> {
        let half = |e: i8| (e % 2 == 0).then_some(e / 2);
        Some(Self {
            length: half(self.length)?,
            mass: half(self.mass)?,
            time: half(self.time)?,
            temperature: half(self.temperature)?,
            angle: half(self.angle)?,
        })
    }

    /// The trade's word for this dimension, where there is one.
    pub fn name(self) -> Option<&'static str> {
        NAMES
            .iter()
            .find(|(dimension, _)| *dimension == self)
            .map(|(_, name)| *name)
    }
}

/// Dimensions that have a name of their own, as messages use it.
const NAMES: &[(Dimension, &str)] = &[
    (Dimension::NUMBER, "plain number"),
    (Dimension::LENGTH, "length"),
    (Dimension::AREA, "area"),
    (Dimension::VOLUME, "volume"),
    (Dimension::MASS, "mass"),
    (Dimension::TIME, "time"),
    (Dimension::TEMPERATURE, "temperature"),
    (Dimension::ANGLE, "angle"),
    (Dimension::FORCE, "force"),
    (Dimension::PRESSURE, "pressure"),
    (Dimension::STIFFNESS, "stiffness"),
    (Dimension::TORQUE, "torque"),
    (Dimension::ENERGY, "energy"),
    (Dimension::DENSITY, "density"),
    (Dimension::VISCOSITY, "kinematic viscosity"),
    (Dimension::EXPANSION, "expansion"),
];

impl fmt::Display for Dimension {
    /// The name where there is one, else the exponents spelled out (`length^2 mass^-1`).
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(name) = self.name() {
            return f.write_str(name);
        }
        let mut first = true;
        for (exponent, base) in self.exponents() {
            if exponent == 0 {
                continue;
            }
            if !first {
                f.write_str(" ")?;
            }
            first = false;
            match exponent {
                1 => write!(f, "{base}")?,
                n => write!(f, "{base}^{n}")?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::Dimension;

    #[test]
    fn force_over_area_is_pressure() {
        assert_eq!(
            Dimension::FORCE.over(Dimension::AREA),
            Some(Dimension::PRESSURE)
        );
    }

    #[test]
    fn torque_is_not_energy() {
        assert_ne!(Dimension::TORQUE, Dimension::ENERGY);
        assert_eq!(
            Dimension::TORQUE.times(Dimension::ANGLE),
            Some(Dimension::ENERGY)
        );
    }

    #[test]
    fn roots_need_even_exponents() {
        assert_eq!(Dimension::AREA.root(), Some(Dimension::LENGTH));
        assert_eq!(Dimension::LENGTH.root(), None);
    }

    #[test]
    fn exponents_stay_bounded() {
        assert_eq!(Dimension::VOLUME.power(100), None);
    }

    #[test]
    fn unnamed_dimensions_spell_their_exponents() {
        let odd = Dimension::LENGTH.over(Dimension::MASS).unwrap();
        assert_eq!(odd.to_string(), "length mass^-1");
    }
}
