//! The checks: what is wrong with a clutch, or with a spec, and what cures it.
//!
//! One check, one file: its severity, why it matters, its limits and their sources,
//! an example that raises it and one that does not. To add one, write its file and add its line
//! to [`CHECKS`]; `explain`, the rule lists of the machine formats and the tests follow.
//!
//! **Never prints and never computes mechanics**: checks ask the [`Outcome`](crate::solve::Outcome) and say what its
//! numbers mean.

mod adjustments;
mod check;
mod comfort;
mod context;
mod cures;
mod edit;
mod finding;
mod found;
mod goal;
mod limit;
mod limits;
mod registry;
mod sizes;
pub(crate) mod text;
mod trials;

mod alignment;
mod assumed_value;
mod bite;
mod bleeding;
mod cable;
mod cold;
mod dead_centre;
mod fluid_attacks_seals;
mod heavy_pedal;
mod hose_gives;
mod idle_stop;
mod lift_short;
mod master_bottoms;
mod measured;
mod no_wear_room;
mod not_all_tried;
mod not_used;
mod not_worked;
mod odd_ratio;
mod odd_size;
mod optimistic_model;
mod over_pressure;
mod over_release;
mod over_stated;
mod overrun;
mod pedal_stays_down;
mod require_failed;
mod rod_angle;
mod rod_length;
mod setup_gap;
mod short_release;
mod thin_margin;
mod torque_short;
mod unit_slip;
mod worn_fails;
mod wrong_way;

pub(crate) use adjustments::Adjustment;
pub use check::{Check, Example, LANGUAGE, Run};
pub use context::{Context, problem_of_component, problem_of_field};
pub(crate) use cures::{Told, told};
pub use finding::Finding;
pub use found::{Detail, Found, Raised};
pub use goal::Goal;
pub use limit::Limit;
pub(crate) use limits::{Bound, LIMITS, ResultLimit, least_rating};
pub(crate) use measured::fault_in_words;
pub use registry::{CHECKS, run};
pub use sizes::{COMMON_BORES, bore_written, common_bore_near, is_inch_size, written};

/// A car that works, as the ground for the checks' examples.
pub const REFERENCE: &str = r#"system reference "A car that works" {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }
    master { bore = 3/4 in  stroke = 36 mm  port_travel = 1 mm  mount_stiffness = 900 N/mm  seals = epdm }
    line hard { bore = 3.2 mm  length = 900 mm  wall = 0.7 mm }
    line flex { bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }
    slave { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm  seals = epdm }
    fluid { grade = dot4  bulk_modulus = 1.6 GPa }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between  stiffness = 1200 N/mm }
    cover {
        release_travel = 7 mm to 11 mm
        release_load   = curve { 0 mm: 150 N, 2 mm: 900 N, 5 mm: 1500 N, 8 mm: 1400 N, 11 mm: 1300 N }
    }
}
"#;
