//! A limit of a check, which settings may change.

use crate::check_id::CheckId;
use crate::quantity::Dimension;
use crate::settings::Settings;

/// A limit of a check.
#[derive(Debug)]
pub struct Limit {
    /// kebab-case, unique in its check.
    pub name: &'static str,
    /// In internal units.
    pub value: f64,
    /// What kind of quantity it is; its internal unit is the one of `value`.
    pub dimension: Dimension,
    /// What it limits.
    pub what: &'static str,
    /// What it rests on: a standard, a guide or the habit of the trade.
    pub source: &'static str,
}

impl Limit {
    /// The limit of a check in internal units: as it is set, or else its own.
    pub fn under(&self, settings: &Settings, check: CheckId) -> f64 {
        settings.limit(check, self.name).unwrap_or(self.value)
    }
}
