//! The checks: what is wrong with a clutch, or with a spec, and what cures it.
//!
//! One file holds one check: its severity, why it matters, its limits and their sources, an example that it reports
//! and one that it does not. To add a check, write its file and its name in `check_id`, and add its module and its
//! line in [`CHECKS`] here. `explain`, the rule lists of the machine formats and the tests then follow.
//!
//! **Never prints and never computes mechanics**: checks read the [`Outcome`](crate::solve::Outcome) and say what its
//! numbers mean.

mod adjustment;
mod adjustments;
mod check;
mod comfort;
mod context;
mod cures;
mod edit;
mod finding;
mod found;
mod free_travel;
mod goal;
mod levers;
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
mod fault_words;
mod fit;
mod fluid_attacks_seals;
mod fork_angle;
mod fork_reach;
mod heat;
mod heavy_pedal;
mod hose_gives;
mod idle_stop;
mod intensifier_bottoms;
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
mod riding;
mod rod_angle;
mod rod_length;
mod setup_gap;
mod short_release;
mod splines;
mod switches;
mod thin_margin;
mod torque_short;
mod unit_slip;
mod worn_fails;
mod wrong_way;

pub use check::{Check, Example, LANGUAGE, Run};
pub use context::{Context, problem_of_component, problem_of_field};
pub(crate) use cures::{Advice, Told, told};
pub(crate) use fault_words::{display_for, fault_in_words, read_again, seen_in_words};
pub use finding::Finding;
pub(crate) use fit::PortGap;
pub use found::{Detail, Found, Raised};
pub use goal::Goal;
pub use limit::Limit;
pub(crate) use limits::{Bound, LIMITS, ResultLimit, least_rating};
pub use registry::run;
pub use sizes::{COMMON_BORES, bore_named, bore_written, common_bore_near, is_inch_size, written};

use crate::check_id::CheckId;

// Each stands at its identity's place.
const _: () = {
    let mut i = 0;
    while i < CHECKS.len() {
        assert!(
            CHECKS[i].id.index() == i,
            "the checks stand in another order than their identities"
        );
        i += 1;
    }
    assert!(CHECKS.len() == CheckId::ALL.len(), "a check has no row");
};

/// Every check, in the order of how bad its findings are.
pub static CHECKS: &[&Check] = &[
    &not_worked::CHECK,
    &wrong_way::CHECK,
    &rod_length::CHECK,
    &fluid_attacks_seals::CHECK,
    &fit::CHECK,
    &short_release::CHECK,
    &over_release::CHECK,
    &over_pressure::CHECK,
    &overrun::SLAVE,
    &no_wear_room::CHECK,
    &master_bottoms::CHECK,
    &intensifier_bottoms::CHECK,
    &dead_centre::CHECK,
    &fork_reach::CHECK,
    &overrun::FORK,
    &overrun::BEARING,
    &cable::TOO_TIGHT,
    &torque_short::SHORT,
    &lift_short::CHECK,
    &alignment::BOTTOMS,
    &alignment::MISSED,
    &splines::MISSED,
    &setup_gap::CRUSHED,
    &pedal_stays_down::CHECK,
    &measured::DRAGS,
    &switches::START,
    &require_failed::CHECK,
    &thin_margin::CHECK,
    &worn_fails::CHECK,
    &heat::PORT_SHUT,
    &heat::DRAGS,
    &heat::SLIPS,
    &bite::LOW,
    &bite::HIGH,
    &bite::SHARP,
    &heavy_pedal::CHECK,
    &rod_angle::SLAVE,
    &fork_angle::CHECK,
    &rod_angle::PEDAL,
    &cable::BENDS,
    &torque_short::RESERVE,
    &setup_gap::GAP,
    &alignment::MISALIGNED,
    &alignment::PILOT,
    &splines::SHORT,
    &bleeding::BUBBLE_TRAP,
    &riding::RUNS,
    &riding::HARD,
    &measured::AIR_IN_LINE,
    &measured::READING_OFF,
    &heat::BOILS,
    &cold::RESERVOIR,
    &cold::SLOW_RETURN,
    &hose_gives::CHECK,
    &switches::ROOM,
    &switches::CRUISE,
    &idle_stop::CHECK,
    &free_travel::TWICE,
    &odd_ratio::CHECK,
    &unit_slip::CHECK,
    &free_travel::AGAIN,
    &wrong_way::UNKNOWN,
    &riding::UNKNOWN,
    &fit::NOT_CHECKED,
    &not_used::CHECK,
    &optimistic_model::CHECK,
    &assumed_value::CHECK,
    &odd_size::CHECK,
    &not_all_tried::CHECK,
    &text::SYNTAX,
    &text::WRONG_UNIT,
    &text::UNKNOWN_UNIT,
    &text::UNKNOWN_BLOCK,
    &text::UNKNOWN_FIELD,
    &text::UNKNOWN_NAME,
    &text::UNKNOWN_RESULT,
    &text::MISSING_BLOCK,
    &text::MISSING_FIELD,
    &text::GIVEN_TWICE,
    &text::TAKEN_NAME,
    &over_stated::CHECK,
    &text::OUT_OF_RANGE,
    &text::USE_MISSING,
    &text::USE_CYCLE,
    &text::TOO_LARGE,
    &text::UNUSED_PART,
    &text::UNUSED_LET,
    &text::UNUSED_ALLOW,
    &text::WRONG_SETTING,
];

/// A car that works, on which the checks' examples are based.
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
