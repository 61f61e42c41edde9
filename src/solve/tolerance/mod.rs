//! The worst case and the likely range of every result while inputs vary inside their tolerances.

mod climb;
mod curve_band;
mod extremes;
mod inside;
mod line;
mod point;
mod ridges;
mod search;
mod spread;

pub use curve_band::CurveBand;
pub use spread::{Contribution, MAX_TOLERANCED, Spread, Tolerances};
