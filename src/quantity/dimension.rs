//! Physical dimensions as integer exponents.

use super::Currency;
use std::fmt;

/// A physical dimension: the exponents of length, mass, time, temperature and plane angle, and of
/// at most two currencies.
///
/// Plane angle has an exponent of its own, so that a torque (force × length) and an energy (torque × angle) are never
/// confused. Each currency has one too: only a rate that the author writes converts one to another.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Dimension {
    length: i8,
    mass: i8,
    time: i8,
    temperature: i8,
    angle: i8,
    /// The currencies by code, each with an exponent other than zero.
    money: [Option<(Currency, i8)>; 2],
}

/// The largest exponent. A larger one is refused: no quantity of the trade comes near it.
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
    /// Volume that a hose gains per length and per pressure, held in mm²/MPa.
    pub const EXPANSION: Self = Self::new(3, -1, 2, 0, 0);

    /// A share per kelvin, such as an expansion coefficient, held in 1/K.
    pub const PER_KELVIN: Self = Self::new(0, 0, 0, -1, 0);

    const fn new(length: i8, mass: i8, time: i8, temperature: i8, angle: i8) -> Self {
        Self {
            length,
            mass,
            time,
            temperature,
            angle,
            money: [None; 2],
        }
    }

    /// An amount in a currency, held in that currency.
    pub(crate) const fn of_currency(currency: Currency) -> Self {
        let mut dimension = Self::NUMBER;
        dimension.money[0] = Some((currency, 1));
        dimension
    }

    /// The currency of an amount of money; `None` for any other dimension.
    pub fn currency(self) -> Option<Currency> {
        match self.money {
            [Some((currency, 1)), None] if self == Self::of_currency(currency) => Some(currency),
            _ => None,
        }
    }

    /// Whether a currency is part of it.
    pub fn has_money(self) -> bool {
        self.money[0].is_some()
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

    /// The currencies of both; `None` where there are more than two.
    fn combine_money(
        self,
        other: Self,
        f: impl Fn(i16, i16) -> Option<i8>,
    ) -> Option<[Option<(Currency, i8)>; 2]> {
        let of = |dimension: Self, currency: Currency| {
            let mut known = dimension.money.into_iter().flatten();
            known.find_map(|(own, exponent)| (own == currency).then_some(i16::from(exponent)))
        };
        let both = self.money.into_iter().chain(other.money).flatten();
        let mut currencies: Vec<Currency> = both.map(|(currency, _)| currency).collect();
        currencies.sort_unstable_by_key(|currency| currency.code());
        currencies.dedup();
        let mut money = [None; 2];
        let mut count = 0;
        for currency in currencies {
            let exponents = [self, other].map(|side| of(side, currency).unwrap_or(0));
            match f(exponents[0], exponents[1])? {
                0 => {}
                exponent => {
                    *money.get_mut(count)? = Some((currency, exponent));
                    count += 1;
                }
            }
        }
        Some(money)
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
            money: match self.has_money() || other.has_money() {
                true => self.combine_money(other, |a, b| {
                    let e = f(a, b);
                    (e.abs() <= MOST_EXPONENT).then_some(e as i8)
                })?,
                false => [None; 2],
            },
        })
    }

    /// The dimension of a product; `None` if an exponent would be too large.
    pub fn times(self, other: Self) -> Option<Self> {
        self.combine(other, |a, b| a + b)
    }

    /// The dimension of a quotient; `None` if an exponent would be too large.
    pub fn over(self, other: Self) -> Option<Self> {
        self.combine(other, |a, b| a - b)
    }

    /// The dimension of a whole power; `None` if an exponent would be too large.
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
            money: match self.money {
                [None, None] => [None; 2],
                // No price is a root of one.
                _ => return None,
            },
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
    (Dimension::PER_KELVIN, "thermal expansion"),
];

impl fmt::Display for Dimension {
    /// Writes the dimension's name, or its exponents if it has none: `length^2 mass^-1`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(name) = self.name() {
            return f.write_str(name);
        }
        if let Some(currency) = self.currency() {
            return write!(f, "amount in {}", currency.code());
        }
        let mut first = true;
        let money = self.money.into_iter().flatten();
        let money = money.map(|(currency, exponent)| (exponent, currency.code()));
        for (exponent, base) in self.exponents().into_iter().chain(money) {
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
    use super::{Currency, Dimension};

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
    fn a_rate_leads_from_one_currency_to_another() {
        let [usd, eur, jpy] =
            [Currency::USD, Currency::EUR, Currency::JPY].map(Dimension::of_currency);
        let rate = eur.over(usd).unwrap();
        assert_eq!(rate.to_string(), "EUR USD^-1");
        assert_eq!(usd.times(rate), Some(eur));
        assert_eq!(eur.currency(), Some(Currency::EUR));
        assert_eq!(rate.currency(), None);
        assert_ne!(usd, eur);
        assert_eq!(usd.over(usd), Some(Dimension::NUMBER));
        assert_eq!(rate.times(jpy), None);
        assert_eq!(usd.root(), None);
        assert_eq!(usd.to_string(), "amount in USD");
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
