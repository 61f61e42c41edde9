//! The checks: what is wrong with a clutch, or with a spec, and what cures it.
//!
//! One check, one file: its name, its severity, why it matters, its limits and their sources,
//! an example that raises it and one that does not. To add one, write its file and add its line
//! to [`CHECKS`]; `explain`, the rule lists of the machine formats and the tests follow.
//!
//! **Never prints and never computes mechanics**: checks ask the [`Outcome`] and say what its
//! numbers mean.

mod adjustments;
mod context;
mod cure;
mod edit;
mod found;
mod limits;
mod sizes;
pub mod text;

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
mod wrong_way;

pub use adjustments::{Adjustment, Usual};
pub use context::{Context, problem_of_component, problem_of_field};
pub use found::{Found, Raised};
pub use limits::{Bound, LIMITS, ResultLimit, least_rating};
pub use sizes::{COMMON_BORES, bore_written, common_bore_near, is_inch_size, written};

use crate::check_id::CheckId;
use crate::finding::{Problem, Related, Severity};
use crate::model::System;
use crate::quantity::Dimension;
use crate::settings::{Level, Settings};
use crate::solve::{NotWorked, Outcome, Tolerances};
use std::cell::OnceCell;

/// One check and its documentation.
#[derive(Debug)]
pub struct Check {
    pub id: CheckId,
    pub severity: Severity,
    /// What it finds, as a sentence.
    pub finds: &'static str,
    /// Why that matters, as a sentence.
    pub why: &'static str,
    pub limits: &'static [Limit],
    pub source: &'static str,
    /// An example that raises it.
    pub bad: Example,
    /// The same without the mistake.
    pub good: Example,
    pub run: Run,
}

/// A limit of a check.
#[derive(Debug)]
pub struct Limit {
    /// kebab-case, unique in its check.
    pub name: &'static str,
    /// In internal units.
    pub value: f64,
    pub dimension: Dimension,
    /// What it limits.
    pub what: &'static str,
    pub source: &'static str,
}

/// A piece of a spec that shows a check at work.
#[derive(Clone, Copy, Debug)]
pub enum Example {
    /// The body of a system that starts from the system in [`REFERENCE`].
    System(&'static str),
    /// A whole file.
    File(&'static str),
    /// The settings in a `bitepoint.toml`.
    Settings(&'static str),
}

/// How a check is raised.
pub enum Run {
    /// By looking at a system that could be worked out.
    Outcome(fn(&Context<'_>, &mut Found)),
    /// By looking at what a system says, worked out or not.
    System(fn(&System, &mut Found)),
    /// The same, with a limit that may be set.
    Limited(fn(&System, &Settings, &mut Found)),
    /// By looking at a system whose numbers have no meaning together.
    Impossible(fn(&System, &mut Found)),
    /// While the text is read, or the names in it are resolved.
    Reading,
}

impl std::fmt::Debug for Run {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Outcome(_) => "Outcome",
            Self::System(_) => "System",
            Self::Limited(_) => "Limited",
            Self::Impossible(_) => "Impossible",
            Self::Reading => "Reading",
        })
    }
}

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
    &torque_short::CHECK,
    &lift_short::CHECK,
    &pedal_stays_down::CHECK,
    &require_failed::CHECK,
    &thin_margin::CHECK,
    &bite::LOW,
    &bite::HIGH,
    &heavy_pedal::CHECK,
    &rod_angle::SLAVE,
    &rod_angle::PEDAL,
    &cable::BENDS,
    &setup_gap::CHECK,
    &alignment::MISALIGNED,
    &alignment::PILOT,
    &bleeding::BUBBLE_TRAP,
    &bleeding::AIR_IN_LINE,
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
    &text::OVER_STATED,
    &text::OUT_OF_RANGE,
    &text::USE_MISSING,
    &text::USE_CYCLE,
    &text::TOO_LARGE,
    &text::UNUSED_PART,
    &text::UNUSED_LET,
    &text::UNUSED_ALLOW,
    &text::WRONG_SETTING,
];

/// What is reported: a problem with its check, as it concerns one user.
#[derive(Clone, Debug)]
pub struct Finding {
    pub check: &'static Check,
    pub severity: Severity,
    pub problem: Problem,
    /// The system that it is about; `None` for what is wrong with the text itself.
    pub system: Option<String>,
}

impl Finding {
    /// A problem with its check.
    pub fn new(problem: Problem, system: Option<&System>) -> Self {
        let check = Check::of(problem.check);
        Self {
            check,
            severity: check.severity,
            problem,
            system: system.map(|system| system.name.clone()),
        }
    }

    /// Whether the mistake itself stands in another file, which this one uses.
    pub fn is_of_a_used_file(&self) -> bool {
        let problem = &self.problem;
        let elsewhere = |related: &Related| related.place.file != problem.place.file;
        self.check.id == CheckId::UseMissing && problem.related.iter().any(elsewhere)
    }
}

impl Check {
    /// In plain words of the trade, kebab-case.
    pub fn name(&self) -> &'static str {
        self.id.name()
    }

    /// The check that has an identity.
    pub fn of(id: CheckId) -> &'static Self {
        CHECKS[id.index()]
    }

    /// The check of a name that an author writes.
    pub fn named(name: &str) -> Option<&'static Self> {
        CheckId::named(name).map(Self::of)
    }

    /// A limit by name, in internal units: as it is set, or else the check's own.
    pub fn limit(&self, name: &str, settings: &Settings) -> Option<f64> {
        let limit = self.limits.iter().find(|limit| limit.name == name);
        debug_assert!(limit.is_some(), "{} has no limit {name}", self.id);
        let limit = limit?;
        Some(settings.limit(self.id, limit.name).unwrap_or(limit.value))
    }

    /// How bad what it finds is, as it is set; `None` where it is off.
    pub fn severity_under(&self, settings: &Settings) -> Option<Severity> {
        match settings.level(self.id) {
            None => Some(self.severity),
            Some(Level::At(severity)) => Some(severity),
            Some(Level::Off) => None,
        }
    }

    /// Whether what it finds keeps a system from being worked out: it cannot be less than an
    /// error.
    pub fn is_fatal(&self) -> bool {
        let found_in_text = self.source == text::LANGUAGE;
        self.severity == Severity::Error
            && (found_in_text || matches!(self.run, Run::Impossible(_)))
    }
}

/// How much the checks say.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Detail {
    /// What is wrong, and nothing about what would cure it: for many systems at once.
    Brief,
    Full,
}

/// Runs every check on one system.
pub fn run(
    system: &System,
    outcome: Result<&Outcome, NotWorked>,
    tolerances: Option<&Tolerances>,
    settings: &Settings,
    found: &mut Found,
) {
    let present = OnceCell::new();
    for &check in CHECKS {
        found.running(check.id);
        match (&check.run, outcome) {
            (Run::System(run), _) | (Run::Impossible(run), Err(NotWorked::Impossible)) => {
                run(system, found);
            }
            (Run::Limited(run), _) => run(system, settings, found),
            (Run::Outcome(run), Ok(outcome)) => {
                let context = Context {
                    check,
                    settings,
                    system,
                    outcome,
                    tolerances,
                    present: &present,
                };
                run(&context, found);
            }
            (Run::Outcome(_), Err(_)) | (Run::Impossible(_) | Run::Reading, _) => {}
        }
    }
}

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
