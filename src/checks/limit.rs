//! A limit of a check, which settings may change.

use crate::check_id::CheckId;
use crate::quantity::Dimension;
use crate::settings::Settings;

/// A limit of a check.
#[derive(Debug)]
pub struct Limit {
    /// The name in kebab-case, unique in its check.
    pub name: &'static str,
    /// The value, in internal units.
    pub value: f64,
    /// What kind of quantity it is; its internal unit is the one of `value`.
    pub dimension: Dimension,
    /// What it limits.
    pub what: &'static str,
    /// Its source: a standard, a guide or a habit of the trade.
    pub source: &'static str,
}

impl Limit {
    /// A check's limit in internal units: as the settings give it, or else its own value.
    pub fn under(&self, settings: &Settings, check: CheckId) -> f64 {
        settings.limit(check, self.name).unwrap_or(self.value)
    }
}
