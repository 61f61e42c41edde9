//! A system solved: its chain of plain numbers, the named results, and the results with other values.
//!
//! [`work_out`] turns a [`System`](crate::model::System) into a [`Chain`](crate::mechanics::Chain) with the inputs
//! beside it, and gives the [`Outcome`]. The effects of tolerances, of a worn disc or of another value are worked out
//! from the outcome.
//!
//! **Never judges**: it gives the numbers, and `None` for what the spec does not support.

mod absent;
mod acceptance;
mod bite;
pub(crate) mod curve;
mod fork_places;
mod heat;
mod housing;
mod hydraulics;
mod inputs;
mod kinematics;
mod one_result;
mod outcome;
mod results;
mod sensitivity;
mod tolerance;
mod worn;

pub use absent::{absences, belongs, why_absent};
pub(crate) use acceptance::{Acceptance, FirmPedal};
pub use curve::Curve;
pub(crate) use heat::may_need_gap;
pub(crate) use housing::{fork_stack, window_edges};
pub(crate) use hydraulics::side_of;
pub(crate) use inputs::{cold_fluid, grade};
pub(crate) use kinematics::{
    ConcentricSlave, Drive, FarEnd, Fingers, ForkSwing, Kinematics, LeverSwing, PedalSwing,
    RoundSlave, StandIns, SteppedPiston,
};
pub(crate) use one_result::{Known, OneResult};
pub use outcome::{NotWorked, Outcome, work_out};
pub use results::Results;
pub(crate) use sensitivity::{Movement, movements};
pub use tolerance::{Contribution, CurveBand, MAX_TOLERANCED, Spread, Tolerances};
