//! The bounds of results, and the harm past them: one row for each bound. Checks, cures, `thin-margin` and hovers
//! read it.

use super::Limit;
use crate::check_id::CheckId;
use crate::mechanics::Side;
use crate::model::{Component, Require, System};
use crate::quantity::Band;
use crate::quantity::Dimension;
use crate::schema::{COMMON, FieldId, ResultId};
use crate::settings::Settings;
use crate::solve::{Outcome, side_of};
use crate::syntax::Comparison;
use crate::{block, field, result};

/// A bound of a result.
#[derive(Debug)]
pub struct ResultLimit {
    pub result: ResultId,
    pub bound: Bound,
    /// The check that reports it when the bound is passed.
    pub check: CheckId,
    /// The harm past the bound, as the end of a sentence.
    pub harm: &'static str,
    /// The harm in the fewest words, and the word for a distance past the bound: `drags`, 0.3 mm `short`.
    pub brief: (&'static str, &'static str),
}

/// The kind of value that bounds a result.
#[derive(Clone, Copy, Debug)]
pub enum Bound {
    /// Zero is the least.
    NotBelowZero,
    /// Zero is already too little.
    AboveZero,
    /// Zero is the least; the result is what remains of a field.
    LeftOf(FieldId),
    /// The most is the lowest pressure rating among the parts on this side of an intensifier.
    AtMostRating(Side),
    /// The most is a limit of the check, which settings may change.
    AtMostSetting(fn(&System) -> &'static Limit),
    /// The most is given by a field, or else by a limit of the check, which settings may change.
    AtMostGiven(FieldId, &'static Limit),
    /// The least is a limit of the check, which settings may change.
    AtLeastSetting(fn(&System) -> &'static Limit),
}

/// How far a result must be above zero where zero is already too little, in the result's internal unit. A clutch that
/// just reaches its end gives zero up to rounding.
pub const OPEN: f64 = 1e-9;

// ---- bounds that are only a habit of the trade ----

const DEGREE: f64 = std::f64::consts::PI / 180.0;

pub const EFFORT: Limit = Limit {
    name: "effort",
    value: 150.0,
    dimension: Dimension::FORCE,
    what: "the highest effort at the pad on the way down",
    source: "lecture notes after the textbook Automobile Design, 80 to 150 N",
};

pub const EFFICIENCY: Limit = Limit {
    name: "efficiency",
    value: 0.7,
    dimension: Dimension::NUMBER,
    what: "the least that the bends should leave of the pull",
    source: COMMON,
};

pub const PORT: Limit = Limit {
    name: "clearance",
    value: 0.5,
    dimension: Dimension::LENGTH,
    what: "the least gap at a loose pushrod, or at one whose pedal rests on a stop",
    source: COMMON,
};

pub const TAKE_UP: Limit = Limit {
    name: "travel",
    value: 12.0,
    dimension: Dimension::LENGTH,
    what: "the least pad travel over which the clutch should take up",
    source: COMMON,
};

pub const PEDAL_ROD: Limit = Limit {
    name: "angle",
    value: 4.0 * DEGREE,
    dimension: Dimension::ANGLE,
    what: "the most that the pedal's rod should lean",
    source: COMMON,
};

pub const RETURN_TIME: Limit = Limit {
    name: "time",
    value: 1.0,
    dimension: Dimension::TIME,
    what: "the longest return, in the cold or through an orifice",
    source: COMMON,
};

pub const START_ROOM: Limit = Limit {
    name: "room",
    value: 3.0,
    dimension: Dimension::LENGTH,
    what: "the least pad travel that should be left once the starter may run",
    source: COMMON,
};

pub const CRUISE_LAG: Limit = Limit {
    name: "lag",
    value: 3.0,
    dimension: Dimension::LENGTH,
    what: "the most pad travel past the free travel at which cruise control should turn off",
    source: COMMON,
};

pub const BUBBLE: Limit = Limit {
    name: "volume",
    value: 100.0,
    dimension: Dimension::VOLUME,
    what: "the largest bubble that is let pass",
    source: COMMON,
};

pub const BALL: Limit = Limit {
    name: "ball",
    value: 8.0 * DEGREE,
    dimension: Dimension::ANGLE,
    what: "the most that a rod with a ball end should lean",
    source: COMMON,
};

pub const FORK: Limit = Limit {
    name: "angle",
    value: 10.0 * DEGREE,
    dimension: Dimension::ANGLE,
    what: "the most that the fork should stand off square, where `fork.max_angle` does not say it",
    source: COMMON,
};

pub const CLEVIS: Limit = Limit {
    name: "clevis",
    value: 5.0 * DEGREE,
    dimension: Dimension::ANGLE,
    what: "the most that a rod with a clevis should lean",
    source: COMMON,
};

pub const PLAIN: Limit = Limit {
    name: "plain",
    value: 3.0 * DEGREE,
    dimension: Dimension::ANGLE,
    what: "the most that a rod with a plain end, or an unknown one, should lean",
    source: COMMON,
};

/// The limit for the kind of end that the slave's rod has.
pub fn of_rod_end(system: &System) -> &'static Limit {
    match system.word(field!(slave.rod_end)) {
        Some("ball") => &BALL,
        Some("clevis") => &CLEVIS,
        _ => &PLAIN,
    }
}

/// Every bound of a result, in the order in which `thin-margin` reports them.
pub static LIMITS: &[ResultLimit] = &[
    ResultLimit {
        result: result!(master_reserve),
        bound: Bound::AboveZero,
        check: CheckId::MasterBottoms,
        harm: "the master's piston bottoms",
        brief: ("master bottoms", "short"),
    },
    ResultLimit {
        result: result!(intensifier_reserve),
        bound: Bound::NotBelowZero,
        check: CheckId::IntensifierBottoms,
        harm: "the intensifier bottoms and the slave goes no further",
        brief: ("intensifier bottoms", "short"),
    },
    ResultLimit {
        result: result!(slave_reserve),
        bound: Bound::NotBelowZero,
        check: CheckId::SlaveOverrun,
        harm: "the slave's piston leaves its stroke",
        brief: ("slave leaves its stroke", "past its end"),
    },
    ResultLimit {
        result: result!(release_margin),
        bound: Bound::NotBelowZero,
        check: CheckId::ShortRelease,
        harm: "the disc does not come free",
        brief: ("drags", "short"),
    },
    ResultLimit {
        result: result!(overtravel_margin),
        bound: Bound::NotBelowZero,
        check: CheckId::OverRelease,
        harm: "the cover is bent too far",
        brief: ("cover bent too far", "past its limit"),
    },
    ResultLimit {
        result: result!(pedal_effort_return),
        bound: Bound::NotBelowZero,
        check: CheckId::PedalStaysDown,
        harm: "the pedal stays down",
        brief: ("pedal stays down", "short"),
    },
    ResultLimit {
        result: result!(pedal_effort_slack),
        bound: Bound::NotBelowZero,
        check: CheckId::PedalStaysDown,
        harm: "the pedal hangs down by its free play",
        brief: ("pedal stays down", "short"),
    },
    ResultLimit {
        result: result!(wear_reserve),
        bound: Bound::NotBelowZero,
        check: CheckId::NoWearRoom,
        harm: "a worn disc slips",
        brief: ("slips with a worn disc", "of room short"),
    },
    ResultLimit {
        result: result!(lift_margin),
        bound: Bound::NotBelowZero,
        check: CheckId::LiftShort,
        harm: "the disc drags",
        brief: ("drags", "of lift short"),
    },
    ResultLimit {
        result: result!(torque_margin),
        bound: Bound::NotBelowZero,
        check: CheckId::TorqueReserve,
        harm: "the clutch slips where it should hold",
        brief: ("little torque to spare", "short"),
    },
    ResultLimit {
        result: result!(pilot_engagement),
        bound: Bound::NotBelowZero,
        check: CheckId::PilotMissed,
        harm: "the shaft's tip is held by nothing",
        brief: ("shaft short of its pilot", "short"),
    },
    ResultLimit {
        result: result!(pilot_room),
        bound: Bound::NotBelowZero,
        check: CheckId::ShaftBottoms,
        harm: "the input shaft bears on the crankshaft before the gearbox is home",
        brief: ("shaft bottoms in its pilot", "too long"),
    },
    ResultLimit {
        result: result!(spline_engagement),
        bound: Bound::NotBelowZero,
        check: CheckId::SplineMissed,
        harm: "the disc does not turn the input shaft",
        brief: ("hub short of its splines", "short"),
    },
    ResultLimit {
        result: result!(setup_gap),
        bound: Bound::NotBelowZero,
        check: CheckId::SlaveCrushed,
        harm: "the slave is crushed when the gearbox is pulled up",
        brief: ("slave crushed", "short"),
    },
    ResultLimit {
        result: result!(line_pressure),
        bound: Bound::AtMostRating(Side::Slave),
        check: CheckId::OverPressure,
        harm: "it leaks or bursts",
        brief: ("pressure over a part's rating", "over"),
    },
    ResultLimit {
        result: result!(master_pressure),
        bound: Bound::AtMostRating(Side::Master),
        check: CheckId::OverPressure,
        harm: "it leaks or bursts",
        brief: ("pressure over a part's rating", "over"),
    },
    ResultLimit {
        result: result!(bearing_reserve),
        bound: Bound::LeftOf(field!(bearing.max_travel)),
        check: CheckId::BearingOverrun,
        harm: "it runs off its guide",
        brief: ("bearing runs off its guide", "past it"),
    },
    ResultLimit {
        result: result!(fork_reserve),
        bound: Bound::LeftOf(field!(fork.window)),
        check: CheckId::ForkFouls,
        harm: "the fork strikes the housing",
        brief: ("fork strikes the housing", "past its window"),
    },
    ResultLimit {
        result: result!(fork_back_room),
        bound: Bound::NotBelowZero,
        check: CheckId::ForkFouls,
        harm: "the housing holds the fork as the disc wears, and the clutch slips",
        brief: ("fork strikes the housing", "past its window"),
    },
    ResultLimit {
        result: result!(start_switch_lead),
        bound: Bound::NotBelowZero,
        check: CheckId::StartSwitch,
        harm: "the engine cranks with the clutch engaged, and the car can jump",
        brief: ("starter runs before release", "early"),
    },
    ResultLimit {
        result: result!(release_margin_hot),
        bound: Bound::NotBelowZero,
        check: CheckId::DragsHot,
        harm: "the disc drags once the hoses are hot",
        brief: ("drags when hot", "short"),
    },
    ResultLimit {
        result: result!(port_clearance),
        bound: Bound::AtLeastSetting(|_| &PORT),
        check: CheckId::PortShut,
        harm: "the port stays shut, and the clutch slips as the fluid warms",
        brief: ("port can stay shut", "short"),
    },
    ResultLimit {
        result: result!(take_up),
        bound: Bound::AtLeastSetting(|_| &TAKE_UP),
        check: CheckId::SharpTakeUp,
        harm: "the clutch grabs",
        brief: ("grabs", "short"),
    },
    ResultLimit {
        result: result!(pedal_effort_worn_liner),
        bound: Bound::AtMostSetting(|_| &EFFORT),
        check: CheckId::HeavyPedal,
        harm: "the leg tires in traffic once the cable's liner is worn",
        brief: ("heavy pedal with a worn liner", "over"),
    },
    ResultLimit {
        result: result!(pedal_effort),
        bound: Bound::AtMostSetting(|_| &EFFORT),
        check: CheckId::HeavyPedal,
        harm: "the leg tires in traffic",
        brief: ("heavy pedal", "over"),
    },
    ResultLimit {
        result: result!(cable_efficiency),
        bound: Bound::AtLeastSetting(|_| &EFFICIENCY),
        check: CheckId::CableBends,
        harm: "the pedal is heavy and comes back slowly",
        brief: ("cable bends", "short"),
    },
    ResultLimit {
        result: result!(rod_angle),
        bound: Bound::AtMostSetting(of_rod_end),
        check: CheckId::RodAngle,
        harm: "the rod wears the bore, or jumps out",
        brief: ("slave's rod leans", "over"),
    },
    ResultLimit {
        result: result!(fork_lean),
        bound: Bound::AtMostGiven(field!(fork.max_angle), &FORK),
        check: CheckId::ForkAngle,
        harm: "its tips slide on the bearing, and the rod leans",
        brief: ("fork far off square", "over"),
    },
    ResultLimit {
        result: result!(pedal_rod_angle),
        bound: Bound::AtMostSetting(|_| &PEDAL_ROD),
        check: CheckId::PedalRodAngle,
        harm: "the rod wears the master's seals on one side",
        brief: ("pedal's rod leans", "over"),
    },
    ResultLimit {
        result: result!(return_time),
        bound: Bound::AtMostSetting(|_| &RETURN_TIME),
        check: CheckId::SlowReturn,
        harm: "the clutch slips until it is warm",
        brief: ("slow return in the cold", "over"),
    },
    ResultLimit {
        result: result!(orifice_time),
        bound: Bound::AtMostSetting(|_| &RETURN_TIME),
        check: CheckId::SlowReturn,
        harm: "the clutch engages late on every change, and slips",
        brief: ("slow return through the orifice", "over"),
    },
    ResultLimit {
        result: result!(start_switch_room),
        bound: Bound::AtLeastSetting(|_| &START_ROOM),
        check: CheckId::StartRoom,
        harm: "the engine does not crank when the pedal stops a little early",
        brief: ("starter may not run", "short"),
    },
    ResultLimit {
        result: result!(cruise_switch_lag),
        bound: Bound::AtMostSetting(|_| &CRUISE_LAG),
        check: CheckId::CruiseSwitch,
        harm: "cruise control still drives as the clutch lets go, and the engine races",
        brief: ("cruise control turns off late", "late"),
    },
    ResultLimit {
        result: result!(bubble_volume),
        bound: Bound::AtMostSetting(|_| &BUBBLE),
        check: CheckId::BubbleTrap,
        harm: "a bubble stays in the slave",
        brief: ("traps a bubble", "over"),
    },
    ResultLimit {
        result: result!(master_bubble_volume),
        bound: Bound::AtMostSetting(|_| &BUBBLE),
        check: CheckId::BubbleTrap,
        harm: "a bubble stays in the master",
        brief: ("traps a bubble", "over"),
    },
];

impl ResultLimit {
    /// The first bound of a check that an outcome has passed, and by how much, in the result's internal unit.
    pub fn passed(
        check: CheckId,
        system: &System,
        settings: &Settings,
        outcome: &Outcome,
    ) -> Option<(&'static Self, f64)> {
        let rows = LIMITS.iter().filter(|row| row.check == check);
        rows.into_iter().find_map(|row| {
            let value = outcome.get(row.result)?;
            let margin = row.margin(system, settings, value)?;
            (margin < 0.0).then_some((row, -margin))
        })
    }

    /// The bounds of a result.
    pub fn of(result: ResultId) -> impl Iterator<Item = &'static Self> {
        LIMITS.iter().filter(move |row| row.result == result)
    }

    /// The bound in a system, with its tolerance, in internal units. `None` where the system does not give it, or
    /// where the author's own `require` replaces a bound that is only a default.
    pub fn value(&self, system: &System, settings: &Settings) -> Option<Band> {
        match self.bound {
            Bound::NotBelowZero | Bound::AboveZero | Bound::LeftOf(_) => Some(Band::exact(0.0)),
            Bound::AtMostRating(side) => {
                let (part, field, _) = least_rating(system, side)?;
                part.given(field)?.band()
            }
            Bound::AtMostGiven(field, limit) => match system.given(field) {
                Some(given) => given.band(),
                None if self.is_replaced(system) => None,
                None => Some(Band::exact(limit.under(settings, self.check))),
            },
            Bound::AtMostSetting(limit) | Bound::AtLeastSetting(limit) => {
                if self.is_replaced(system) {
                    return None;
                }
                Some(Band::exact(limit(system).under(settings, self.check)))
            }
        }
    }

    /// How far a value of the result is inside the bound, in the result's internal unit; below zero
    /// past it.
    pub fn margin(&self, system: &System, settings: &Settings, value: f64) -> Option<f64> {
        let bound = self.value(system, settings)?.nominal;
        Some(self.inside(value, bound))
    }

    /// How far a value is inside a bound of this kind; below zero past it. The unit is that of both.
    pub fn inside(&self, value: f64, bound: f64) -> f64 {
        match self.bound {
            Bound::AboveZero => value - bound - OPEN,
            _ if self.is_most() => bound - value,
            _ => value - bound,
        }
    }

    /// Whether it limits the result from above.
    pub fn is_most(&self) -> bool {
        match self.bound {
            Bound::AtMostRating(_) | Bound::AtMostSetting(_) | Bound::AtMostGiven(..) => true,
            Bound::NotBelowZero
            | Bound::AboveZero
            | Bound::LeftOf(_)
            | Bound::AtLeastSetting(_) => false,
        }
    }

    /// Whether the bound is only a habit of the trade, which a spec's author may replace.
    pub fn is_default(&self) -> bool {
        matches!(
            self.bound,
            Bound::AtMostSetting(_) | Bound::AtMostGiven(..) | Bound::AtLeastSetting(_)
        )
    }

    /// Whether a `require` of the system replaces this bound.
    fn is_replaced(&self, system: &System) -> bool {
        let mut requires = system.requires.iter();
        requires.any(|require| self.is_replaced_by(require))
    }

    /// Whether one `require` replaces this bound.
    fn is_replaced_by(&self, require: &Require) -> bool {
        self.is_default()
            && require.result == self.result
            && is_upper(require.comparison) == self.is_most()
    }
}

/// Whether a comparison limits a result from above.
pub fn is_upper(comparison: Comparison) -> bool {
    match comparison {
        Comparison::AtMost | Comparison::Below => true,
        Comparison::AtLeast | Comparison::Above => false,
    }
}

/// The part with the lowest pressure rating on one side of the intensifier, with the rating's field and value in MPa.
/// Without an intensifier master, slave and lines are all on the slave's side.
pub fn least_rating(system: &System, side: Side) -> Option<(&Component, FieldId, f64)> {
    let is_split = system.component(block!(intensifier)).is_some();
    let is_here = |there: Side| there == side || (!is_split && side == Side::Slave);
    let single = [
        (block!(master), field!(master.max_pressure), Side::Master),
        (
            block!(intensifier),
            field!(intensifier.max_pressure),
            Side::Slave,
        ),
        (block!(slave), field!(slave.max_pressure), Side::Slave),
    ];
    let singles = single
        .into_iter()
        .filter(|(_, _, there)| is_here(*there))
        .filter_map(|(block, field, _)| Some((system.component(block)?, field)));
    let lines = system
        .lines
        .iter()
        .filter(|line| is_here(side_of(line)))
        .map(|line| (&**line, field!(line.max_pressure)));
    singles
        .chain(lines)
        .filter_map(|(part, field)| Some((part, field, part.number(field)?)))
        .min_by(|a, b| a.2.total_cmp(&b.2))
}

/// A part with a rating, as a message names it.
pub fn name_of_rated(part: &Component, field: FieldId) -> String {
    match &part.label {
        Some(label) => format!("the line `{label}`"),
        None => format!("the {}", field.block().name),
    }
}
