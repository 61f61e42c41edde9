//! Which fields meet, how the two must agree, and what goes wrong if they do not.

use super::{BlockId, COMMON, FieldId, Port, folded};
use crate::{block, field};

/// Two fields of neighboring components that must agree.
#[derive(Clone, Copy, Debug)]
pub struct Meets {
    /// The one nearer to the pedal, or the one that goes into the other.
    pub first: FieldId,
    /// The other.
    pub second: FieldId,
    /// How they must agree.
    pub agree: Agree,
    /// The block that must be there for the two fields to meet; `None` where they always do.
    pub with: Option<BlockId>,
    /// A block that lies between the two; with it they do not meet.
    pub without: Option<BlockId>,
    /// What goes wrong where they do not agree, as the end of a sentence.
    pub harm: &'static str,
    /// Where the rule comes from.
    pub source: &'static str,
}

/// How two fields must agree.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Agree {
    /// Two ports that need the same thread and the same seat. All lines and fittings lie between the two fields, and
    /// each port is checked against the next.
    Ports,
    /// Equal texts, apart from capitals and blanks.
    SameText,
    /// Equal lengths, within a limit of the check.
    SameLength,
    /// The first lies inside the second, which is a window.
    Inside,
    /// The first runs or sits in the second. The difference of the two must be within two limits of the check.
    Clearance {
        /// The name of the check's limit for the least clearance; `None` for zero.
        least: Option<&'static str>,
        /// The name of the check's limit for the most.
        most: &'static str,
    },
}

impl Agree {
    /// Whether two texts agree; `None` if this rule does not compare texts.
    pub fn texts_agree(self, first: &str, second: &str) -> Option<bool> {
        let same = match self {
            Self::Ports => Port::read(first) == Port::read(second),
            Self::SameText => folded(first) == folded(second),
            Self::SameLength | Self::Inside | Self::Clearance { .. } => return None,
        };
        Some(first == second || same)
    }
}

const fn meets(first: FieldId, second: FieldId, agree: Agree, harm: &'static str) -> Meets {
    Meets {
        first,
        second,
        agree,
        with: None,
        without: None,
        harm,
        source: COMMON,
    }
}

/// Every pair of fields that meet, from the pedal to the gearbox.
pub static MEETS: &[Meets] = &[
    meets(
        field!(master.outlet),
        field!(slave.inlet),
        Agree::Ports,
        "the joint leaks, and the clutch is gone",
    ),
    meets(
        field!(master.bolt_spacing),
        field!(firewall.bolt_spacing),
        Agree::SameLength,
        "the master cannot be bolted on",
    ),
    meets(
        field!(master.bolt_spacing),
        field!(firewall.slots),
        Agree::Inside,
        "the master cannot be bolted on",
    ),
    meets(
        field!(slave.bolt_spacing),
        field!(bracket.slots),
        Agree::Inside,
        "the bracket does not take the slave",
    ),
    meets(
        field!(slave.rod_ball),
        field!(fork.seat),
        Agree::Clearance {
            least: None,
            most: "ball-play",
        },
        "the rod rides on the edge of its seat, or wanders in it and wears",
    ),
    meets(
        field!(gearbox.guide),
        field!(bearing.bore),
        Agree::Clearance {
            least: Some("guide-least"),
            most: "guide-most",
        },
        "the release bearing sticks on its guide, or tilts and chatters",
    ),
    meets(
        field!(disc.spline),
        field!(gearbox.spline),
        Agree::SameText,
        "the disc does not go on the input shaft",
    ),
    meets(
        field!(gearbox.tip),
        field!(engine.pilot_bore),
        Agree::Clearance {
            least: None,
            most: "pilot-most",
        },
        "the input shaft does not enter the pilot bearing, or whips in it",
    ),
    Meets {
        without: Some(block!(adapter)),
        ..meets(
            field!(engine.pattern),
            field!(bellhousing.engine_pattern),
            Agree::SameText,
            "the bell housing does not bolt to the engine",
        )
    },
    Meets {
        with: Some(block!(adapter)),
        ..meets(
            field!(engine.pattern),
            field!(adapter.engine_pattern),
            Agree::SameText,
            "the adapter does not bolt to the engine",
        )
    },
    Meets {
        with: Some(block!(adapter)),
        ..meets(
            field!(adapter.bell_pattern),
            field!(bellhousing.engine_pattern),
            Agree::SameText,
            "the bell housing does not bolt to the adapter",
        )
    },
    meets(
        field!(bellhousing.gearbox_pattern),
        field!(gearbox.pattern),
        Agree::SameText,
        "the gearbox does not bolt to the bell housing",
    ),
    meets(
        field!(gearbox.register),
        field!(bellhousing.register),
        Agree::Clearance {
            least: None,
            most: "register-most",
        },
        "the gearbox does not go in, or sits off center and wears the pilot bearing",
    ),
];
