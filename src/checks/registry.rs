//! Every check, and what they find in one system.

use super::limits::ResultLimit;
use super::{
    Check, Context, Found, Run, alignment, assumed_value, bite, bleeding, cable, cold, dead_centre,
    fluid_attacks_seals, heavy_pedal, hose_gives, idle_stop, lift_short, master_bottoms, measured,
    no_wear_room, not_all_tried, not_used, not_worked, odd_ratio, odd_size, optimistic_model,
    over_pressure, over_release, over_stated, overrun, pedal_stays_down, require_failed, rod_angle,
    rod_length, setup_gap, short_release, text, thin_margin, torque_short, unit_slip, worn_fails,
    wrong_way,
};
use crate::check_id::CheckId;
use crate::model::System;
use crate::settings::Settings;
use crate::solve::{NotWorked, Outcome, Tolerances};
use std::cell::OnceCell;

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

/// Every check, in the order of how bad what it finds is.
pub static CHECKS: &[&Check] = &[
    &not_worked::CHECK,
    &wrong_way::CHECK,
    &rod_length::CHECK,
    &fluid_attacks_seals::CHECK,
    &short_release::CHECK,
    &over_release::CHECK,
    &over_pressure::CHECK,
    &overrun::SLAVE,
    &no_wear_room::CHECK,
    &master_bottoms::CHECK,
    &dead_centre::CHECK,
    &overrun::FORK,
    &overrun::BEARING,
    &cable::TOO_TIGHT,
    &torque_short::SHORT,
    &lift_short::CHECK,
    &alignment::BOTTOMS,
    &alignment::MISSED,
    &setup_gap::CRUSHED,
    &pedal_stays_down::CHECK,
    &measured::DRAGS,
    &require_failed::CHECK,
    &thin_margin::CHECK,
    &worn_fails::CHECK,
    &bite::LOW,
    &bite::HIGH,
    &heavy_pedal::CHECK,
    &rod_angle::SLAVE,
    &rod_angle::PEDAL,
    &cable::BENDS,
    &torque_short::RESERVE,
    &setup_gap::GAP,
    &alignment::MISALIGNED,
    &alignment::PILOT,
    &bleeding::BUBBLE_TRAP,
    &measured::AIR_IN_LINE,
    &measured::READING_OFF,
    &cold::RESERVOIR,
    &cold::SLOW_RETURN,
    &hose_gives::CHECK,
    &idle_stop::CHECK,
    &odd_ratio::CHECK,
    &unit_slip::CHECK,
    &wrong_way::UNKNOWN,
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

impl Check {
    /// The check that has an identity.
    pub fn of(id: CheckId) -> &'static Self {
        CHECKS[id.index()]
    }

    /// The check of a name that an author writes.
    pub fn named(name: &str) -> Option<&'static Self> {
        CheckId::named(name).map(Self::of)
    }
}

/// Runs every check on one system.
pub fn run(
    system: &System,
    outcome: Result<&Outcome, NotWorked>,
    tolerances: Option<&Tolerances>,
    settings: &Settings,
    found: &mut Found,
) {
    let diagnosis = OnceCell::new();
    for &check in CHECKS {
        found.running(check.id);
        match (&check.run, outcome) {
            (Run::System(run), _) | (Run::Impossible(run), Err(NotWorked::Impossible)) => {
                run(system, found);
            }
            (Run::Limited(run), _) => run(system, settings, found),
            (Run::Outcome(run), Ok(outcome)) => {
                let context = Context {
                    check: check.id,
                    limits: check.limits,
                    settings,
                    system,
                    outcome,
                    tolerances,
                    diagnosis: &diagnosis,
                };
                run(&context, found);
                found.measure(|| ResultLimit::passed(check.id, system, settings, outcome));
            }
            (Run::Outcome(_), Err(_)) | (Run::Impossible(_) | Run::Reading, _) => {}
        }
    }
}
