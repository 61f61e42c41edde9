//! A limit of the author's own on what all parts of a system cost together.

use crate::finding::Place;
use crate::quantity::Money;
use crate::syntax::Comparison;

/// A limit of the author's own on what all parts of a system cost together.
#[derive(Clone, Debug, PartialEq)]
pub struct PriceLimit {
    /// How the price must compare with the limit.
    pub comparison: Comparison,
    /// What the price is held against.
    pub limit: Money,
    /// The author's reason, where one is given.
    pub why: Option<String>,
    /// The word `price` in it.
    pub place: Place,
}
