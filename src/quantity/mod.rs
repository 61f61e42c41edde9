//! Dimensions, units, quantities and tolerance bands.
//!
//! **Never knows the language**: no code here reads a spec.
//!
//! Every value inside the program is in one coherent system: mm, tonne, s, K, rad, and so
//! N for force, MPa (N/mm²) for pressure, N·mm for torque, mm³ for volume.
//! Only this room converts.

mod band;
mod dimension;
mod list;
mod money;
mod show;
mod unit;

pub use band::Band;
pub use dimension::Dimension;
pub use list::{listed, ways_listed};
pub use money::{Currency, MOST_DIGITS, Money, Sums, decimal};
pub use show::{Display, Shift, hose_figure, nearest_fraction, significant};
pub use unit::{
    CURRENCIES, HABITS, UNITS, Unit, UnitError, UnitExpr, UnitSystem, nearest, usual_unit,
};
