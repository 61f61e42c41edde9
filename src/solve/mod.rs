//! A system solved: its chain of plain numbers, the named results, and what other values would give.
//!
//! [`work_out`] turns a [`System`](crate::model::System) into a [`Chain`](crate::mechanics::Chain) with what stands
//! beside it, and gives the [`Outcome`]. What tolerances, a worn disc or another value do to it is worked out from
//! there.
//!
//! **Never judges and never words**: it says what comes out, and `None` for what the spec does not support.

mod absent;
mod inputs;
mod outcome;
mod results;
mod sensitivity;
mod tolerance;
mod worn;

pub use absent::{belongs, why_absent};
pub use inputs::SideInputs;
pub use outcome::{NotWorked, Outcome, work_out};
pub use results::Results;
pub use sensitivity::{Movement, movements};
pub use tolerance::{CurveBand, MAX_TOLERANCED, Spread, Tolerances};
