//! The prices of the combinations of a kit.

use crate::quantity::Money;

/// The least and the highest price of combinations in one currency, and where each occurs.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PriceRange {
    /// The least price.
    pub low: Money,
    /// The index of the combination that has it; if several do, the first.
    pub low_at: u64,
    /// The highest price.
    pub high: Money,
    /// The index of the combination that has it; if several do, the first.
    pub high_at: u64,
}

/// The prices of many combinations.
#[derive(Clone, PartialEq, Default, Debug)]
pub struct Prices {
    /// A range for each currency, in the order of their codes.
    pub ranges: Vec<PriceRange>,
    /// How many combinations have no price, or one in several currencies.
    pub unpriced: u64,
}

impl Prices {
    /// Counts a combination.
    pub(super) fn add(&mut self, price: Option<Money>, at: u64) {
        match price {
            None => self.unpriced += 1,
            Some(price) => self.widen(PriceRange {
                low: price,
                low_at: at,
                high: price,
                high_at: at,
            }),
        }
    }

    pub(super) fn merge(&mut self, other: Self) {
        self.unpriced += other.unpriced;
        other.ranges.into_iter().for_each(|range| self.widen(range));
    }

    /// Widens the range. Of equal prices the first place counts, so that the order of the work does not show.
    fn widen(&mut self, other: PriceRange) {
        let code = other.low.currency.code();
        let place = self
            .ranges
            .binary_search_by_key(&code, |range| range.low.currency.code());
        let own = match place {
            Ok(place) => &mut self.ranges[place],
            Err(place) => return self.ranges.insert(place, other),
        };
        if (other.low.amount, other.low_at) < (own.low.amount, own.low_at) {
            (own.low, own.low_at) = (other.low, other.low_at);
        }
        let is_first = other.high_at < own.high_at;
        if other.high.amount > own.high.amount || (other.high.amount == own.high.amount && is_first)
        {
            (own.high, own.high_at) = (other.high, other.high_at);
        }
    }
}
