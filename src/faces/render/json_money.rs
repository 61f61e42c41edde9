//! An amount of money in JSON.

use crate::quantity::Money;
use serde_json::{Value, json};

/// The amount with its digits in quotes, so that no reader turns it into a binary fraction.
pub(super) fn money(money: Money) -> Value {
    json!({ "amount": money.digits(), "currency": money.currency.code() })
}
