//! Amounts of money: exact decimals, each in one currency, never converted.

use rust_decimal::{Decimal, RoundingStrategy};
use std::fmt;
use std::str::FromStr;

pub use iso_currency::Currency;

/// The most significant digits that a written amount may have: as many as the language keeps of any number.
pub const MOST_DIGITS: usize = 15;

/// An exact amount in one currency of ISO 4217.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Money {
    /// The amount, in the currency.
    pub amount: Decimal,
    /// The currency.
    pub currency: Currency,
}

impl Money {
    /// The amount rounded to the currency's smallest unit. A half is rounded away from zero, as on an invoice.
    pub fn rounded(self) -> Self {
        let strategy = RoundingStrategy::MidpointAwayFromZero;
        Self {
            amount: self
                .amount
                .round_dp_with_strategy(minor_digits(self.currency), strategy),
            ..self
        }
    }

    /// The price of several; `None` if the product is too large.
    pub fn times(self, count: Decimal) -> Option<Self> {
        let amount = self.amount.checked_mul(count)?;
        Some(Self { amount, ..self })
    }

    /// The amount with all its digits and no thousands separator: `48.50`.
    pub fn digits(self) -> String {
        let normal = self.amount.normalize();
        let decimals = normal.scale().max(minor_digits(self.currency));
        format!("{normal:.*}", decimals as usize)
    }
}

impl fmt::Display for Money {
    /// Writes the amount as the language does: `48.50 USD`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.digits(), self.currency.code())
    }
}

/// Sums of money, one for each currency, in the order of their codes.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Sums(Vec<Money>);

impl Sums {
    /// Adds an amount to the sum of its currency. `false` if the sum would be too large.
    #[must_use]
    pub fn add(&mut self, money: Money) -> bool {
        let place = self
            .0
            .binary_search_by_key(&money.currency.code(), |sum| sum.currency.code());
        match place {
            Err(place) => self.0.insert(place, money),
            Ok(place) => match self.0[place].amount.checked_add(money.amount) {
                Some(amount) => self.0[place].amount = amount,
                None => return false,
            },
        }
        true
    }

    /// The sums, in the order of their currencies' codes.
    pub fn iter(&self) -> impl Iterator<Item = Money> {
        self.0.iter().copied()
    }

    /// The single sum, if all amounts are in one currency.
    pub fn only(&self) -> Option<Money> {
        match self.0.as_slice() {
            [one] => Some(*one),
            _ => None,
        }
    }
}

/// The decimal that was written for a number of the language: exact for up to [`MOST_DIGITS`] significant digits.
/// `None` from 1e15 on, above or below zero, and for what is no number.
pub fn decimal(value: f64) -> Option<Decimal> {
    const BEYOND: f64 = 1e15;
    if value.is_nan() || value.abs() >= BEYOND {
        return None;
    }
    let text = format!("{value:.0$}", decimals(value));
    Some(Decimal::from_str(&text).ok()?.normalize())
}

/// How many digits behind the point make up [`MOST_DIGITS`] significant ones.
fn decimals(value: f64) -> usize {
    if value == 0.0 {
        return 0;
    }
    let before = value.abs().log10().floor() as i32 + 1;
    (MOST_DIGITS as i32 - before).clamp(0, 28) as usize
}

/// How many decimals the currency's smallest unit has. Source: ISO 4217, through `iso_currency`.
pub fn minor_digits(currency: Currency) -> u32 {
    u32::from(currency.exponent().unwrap_or(2))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usd(amount: &str) -> Money {
        Money {
            amount: amount.parse().unwrap(),
            currency: Currency::USD,
        }
    }

    #[test]
    fn a_tenth_and_two_tenths_are_three_tenths() {
        let mut sums = Sums::default();
        assert!(sums.add(usd("0.10")) && sums.add(usd("0.20")));
        assert_eq!(sums.only(), Some(usd("0.30")));
        assert_eq!(sums.only().unwrap().to_string(), "0.30 USD");
    }

    #[test]
    fn what_was_written_is_kept_to_the_last_digit() {
        for text in ["0.1", "48.5", "0.125", "999999999999.99", "0.000001", "7"] {
            let value: f64 = text.parse().unwrap();
            assert_eq!(decimal(value).unwrap().to_string(), text);
        }
        assert_eq!(decimal(0.1 + 0.2).unwrap().to_string(), "0.3");
        assert_eq!(decimal(1e15), None);
        assert_eq!(decimal(f64::NAN), None);
    }

    /// ISO 4217: the dollar has cents, the yen no smaller unit, the dinar of Kuwait three decimals.
    #[test]
    fn each_currency_shows_its_smallest_unit() {
        for (currency, shown) in [
            (Currency::USD, "1500.00 USD"),
            (Currency::JPY, "1500 JPY"),
            (Currency::KWD, "1500.000 KWD"),
        ] {
            let money = Money {
                amount: Decimal::from(1500),
                currency,
            };
            assert_eq!(money.to_string(), shown);
        }
        assert_eq!(usd("0.125").to_string(), "0.125 USD");
        assert_eq!(usd("0.125").rounded().to_string(), "0.13 USD");
        assert_eq!(usd("-0.125").rounded().to_string(), "-0.13 USD");
    }
}
