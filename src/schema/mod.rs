//! The words of the trade: which blocks, fields and results exist, and what each means. Their dimensions, defaults
//! and sources are here too.
//!
//! Validation, hover, completion, formatting, `explain` and the model all read this one table. A new field is a row
//! here.
//!
//! **Never knows files or text positions.**

mod blocks;
mod bores;
mod fit;
mod fork_drives;
mod ids;
mod meets;
mod needs;
mod order;
mod result_id;
mod results;
mod seats;
mod typical;
mod words;

pub use blocks::BLOCKS;
pub use bores::COMMON_BORES;
pub use fork_drives::{DriveBlock, FORK_DRIVES, ForkDrive};
pub use ids::{BlockId, FieldId, block_id, field_id};
pub use meets::{Agree, MEETS, Meets};
pub use needs::{Need, Ways, block_needs, in_words};
pub use order::ORDER;
pub use result_id::{ResultId, result_id};
pub use results::RESULTS;
pub use seats::{Port, SEATS, Seat, folded};
pub use typical::{HOSE, TYPICAL, Typical};
pub use words::{STATEMENTS, WORDS, Word};

use crate::quantity::{Dimension, Display, UnitExpr, UnitSystem};

/// One kind of component, such as `master`.
#[derive(Debug)]
pub struct Block {
    /// Its name as the spec writes it: `master`.
    pub name: &'static str,
    /// What it is, in a sentence or two.
    pub doc: &'static str,
    /// Its fields; a [`FieldId`] names one by its place among them.
    pub fields: &'static [Field],
    /// Fields that say one thing in different ways.
    pub alternatives: &'static [Alternatives],
    /// Whether the block may occur many times, each with a label.
    pub repeated: bool,
    /// Whether the block may occur once without a label and any number of times with one.
    pub labelled: bool,
    /// Whether a name after the block's own is that of a part, which then gives its fields.
    pub takes_parts: bool,
    /// What else must be given before anything in the block is used; see `Field::needs`.
    pub needs: Ways,
}

/// One field of a block.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Its name as the spec writes it: `bore`.
    pub name: &'static str,
    /// What it is and how it is measured.
    pub doc: &'static str,
    /// What its value is made of.
    pub kind: Kind,
    /// Whether it must be given, and what is assumed if it is not.
    pub presence: Presence,
    /// What is physically possible.
    pub range: Range,
    /// The usual values, in internal units. Far outside of them another unit was probably meant.
    pub usual: Option<(f64, f64)>,
    /// What else must be given before the value is used: one of these ways, in full. Empty where
    /// the value is used by itself.
    pub needs: Ways,
    /// What the value is for.
    pub purpose: Purpose,
    /// Where the meaning or the default comes from.
    pub source: &'static str,
}

/// What a field's value is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Purpose {
    /// It is used for results and checks.
    Mechanics,
    /// It says how the component meets its neighbors, and changes no result.
    Fit,
    /// It says what to order, and changes no result and no check.
    Order,
}

/// What a field's value is made of.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// One value, which may carry a tolerance.
    Quantity(Dimension),
    /// A window, `least to most`.
    Window(Dimension),
    /// Points of `x: y` with x rising.
    Curve {
        /// The dimension of the points' x.
        x: Dimension,
        /// The dimension of the points' y.
        y: Dimension,
    },
    /// A curve, or a single value of `y` that is taken as the curve's peak.
    CurveOrPeak {
        /// The dimension of the points' x.
        x: Dimension,
        /// The dimension of the points' y.
        y: Dimension,
    },
    /// One of a few bare words.
    Choice(&'static [Choice]),
    /// A text in quotes.
    Text,
    /// An exact amount in any currency.
    Money,
    /// An exact number of pieces, or of whatever unit a part is sold in.
    Count,
}

/// One word that a field may say.
#[derive(PartialEq, Debug)]
pub struct Choice {
    /// The word as the spec writes it.
    pub name: &'static str,
    /// What it means.
    pub doc: &'static str,
}

/// Whether a field must be given.
#[derive(Clone, Copy, Debug)]
pub enum Presence {
    /// It must be given for the block to be complete.
    Required,
    /// Left out of the model when absent.
    Optional,
    /// It belongs to one of the block's [`Alternatives`].
    Alternative,
    /// Assumed when absent.
    Default {
        /// In internal units.
        value: f64,
        /// The value as a spec would write it.
        text: &'static str,
    },
    /// The word assumed when absent.
    DefaultWord(&'static str),
}

/// Different ways of giving one thing. A spec uses exactly one of them, in full.
#[derive(Debug)]
pub struct Alternatives {
    /// The ways, each as the names of its fields.
    pub ways: &'static [&'static [&'static str]],
    /// Whether one of the ways must be given.
    pub required: bool,
}

/// The physically possible values of a quantity, in internal units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Range {
    /// The least possible value; minus infinity where there is none.
    pub low: f64,
    /// The greatest possible value; infinity where there is none.
    pub high: f64,
    /// Whether the ends themselves are possible.
    pub closed: bool,
    /// The range as the end of a sentence: "must be …".
    pub words: &'static str,
}

impl Range {
    pub(crate) const ANY: Self = Self {
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        closed: true,
        words: "any number",
    };
    pub(crate) const POSITIVE: Self = Self {
        low: 0.0,
        high: f64::INFINITY,
        closed: false,
        words: "above zero",
    };
    pub(crate) const NOT_NEGATIVE: Self = Self {
        low: 0.0,
        high: f64::INFINITY,
        closed: true,
        words: "zero or more",
    };
    /// Whether every number is possible.
    pub fn is_everything(&self) -> bool {
        self.low == f64::NEG_INFINITY && self.high == f64::INFINITY
    }

    /// For efficiencies: something must come through, and never more than goes in.
    pub const EFFICIENCY: Self = Self {
        low: 0.01,
        high: 1.0,
        closed: true,
        words: "from 1 % to 100 %",
    };
    /// For Poisson's ratio of an isotropic solid, which neither swells sideways when pulled nor gains stiffness.
    pub const POISSON: Self = Self {
        low: 0.0,
        high: 0.5,
        closed: true,
        words: "from 0 to 0.5",
    };
    /// For the angle of an arm: at a right angle it drives nothing.
    pub const ACUTE: Self = Self {
        low: -std::f64::consts::FRAC_PI_2,
        high: std::f64::consts::FRAC_PI_2,
        closed: false,
        words: "between -90 deg and 90 deg",
    };
    pub(crate) const ABSOLUTE: Self = Self {
        low: 0.0,
        high: f64::INFINITY,
        closed: false,
        words: "above absolute zero",
    };

    pub(crate) fn contains(&self, value: f64) -> bool {
        if self.closed {
            self.low <= value && value <= self.high
        } else {
            self.low < value && value < self.high
        }
    }
}

/// One computed result.
#[derive(Debug)]
pub struct ResultSpec {
    /// Its name as the spec writes it: `release_margin`.
    pub name: &'static str,
    /// The section that it is shown in.
    pub section: Section,
    /// What it means, for its reader.
    pub doc: &'static str,
    /// How it is worked out, in words or symbols of the mechanics.
    pub formula: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// The unit of machine output; empty for a plain number.
    pub unit: &'static str,
    /// What the spec must give beyond the blocks that every system has. All entries are needed; of each entry, one
    /// alternative is enough.
    pub needs: &'static [&'static [Need]],
    /// Which way is better, everything else being equal.
    pub better: Better,
    /// Where the formula comes from.
    pub source: &'static str,
}

/// A group of results that are read together.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Section {
    /// Whether the clutch releases, and with how much to spare.
    Release,
    /// How far each part travels, and where travel is lost.
    Travel,
    /// What the driver feels.
    Effort,
    /// What happens in the hydraulic line.
    Fluid,
    /// What is left for the disc to wear.
    Wear,
    /// Angles, offsets and lengths that the fitter sets or checks.
    Alignment,
    /// What torque the clutch holds.
    Clutch,
    /// Air in the fluid, and the travel that it costs.
    Bleeding,
}

impl Section {
    /// Every section, in the order in which they are shown.
    pub const ALL: [Self; 8] = [
        Self::Release,
        Self::Travel,
        Self::Effort,
        Self::Fluid,
        Self::Wear,
        Self::Alignment,
        Self::Clutch,
        Self::Bleeding,
    ];

    /// The heading: `release`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Release => "release",
            Self::Travel => "travel",
            Self::Effort => "effort",
            Self::Fluid => "fluid",
            Self::Wear => "wear",
            Self::Alignment => "alignment",
            Self::Clutch => "clutch",
            Self::Bleeding => "bleeding",
        }
    }
}

impl ResultSpec {
    /// The name in plain words: `release margin`.
    pub fn plain_name(&self) -> String {
        self.name.replace('_', " ")
    }

    /// How its number is shown.
    pub fn kind(&self) -> NumberKind {
        match self.dimension {
            Dimension::NUMBER if self.name.ends_with("_ratio") => NumberKind::Ratio,
            Dimension::NUMBER => NumberKind::Share,
            _ => NumberKind::Quantity,
        }
    }
}

/// How the number of a result is shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NumberKind {
    /// With a unit.
    Quantity,
    /// As a ratio to one.
    Ratio,
    /// As a part of the whole, in percent.
    Share,
}

/// Which way a result is better.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Better {
    /// The greater, the better.
    More,
    /// The smaller, the better.
    Less,
    /// More of it is good in one respect and bad in another.
    Neither,
}

impl Block {
    /// Whether a name after the block's own is a label and not a part.
    pub fn takes_label(&self) -> bool {
        self.repeated || self.labelled
    }

    /// The block with a name; `None` where there is none.
    pub fn named(name: &str) -> Option<BlockId> {
        BLOCKS
            .iter()
            .position(|block| block.name == name)
            .map(|i| i as BlockId)
    }

    pub(crate) fn field_index(&self, name: &str) -> Option<u8> {
        self.fields
            .iter()
            .position(|field| field.name == name)
            .map(|i| i as u8)
    }

    /// The alternatives and the way among them that a field is part of.
    pub fn way_of(&self, field: &str) -> Option<(&'static Alternatives, usize)> {
        self.alternatives.iter().find_map(|alternatives| {
            let way = alternatives
                .ways
                .iter()
                .position(|way| way.contains(&field))?;
            Some((alternatives, way))
        })
    }
}

impl Field {
    /// The dimension of a value or of a window's ends; `None` for curves and words.
    pub fn dimension(&self) -> Option<Dimension> {
        match self.kind {
            Kind::Quantity(dimension) | Kind::Window(dimension) => Some(dimension),
            Kind::Curve { .. } | Kind::CurveOrPeak { .. } | Kind::Choice(_) => None,
            Kind::Text | Kind::Money | Kind::Count => None,
        }
    }

    /// What is assumed if the field is left out, as an author reads it: `0 in` in a spec in inches. `None` where
    /// nothing is assumed.
    pub fn default_shown(&self, display: &Display) -> Option<String> {
        let (value, text) = match self.presence {
            Presence::Default { value, text } => (value, text),
            Presence::DefaultWord(word) => return Some(word.to_owned()),
            Presence::Required | Presence::Optional | Presence::Alternative => return None,
        };
        let (_, unit) = text.split_once(' ').unwrap_or_default();
        let system = UnitExpr::parse(unit).map(|unit| unit.system());
        let is_of_other_units =
            system.is_ok_and(|system| ![UnitSystem::Common, display.system()].contains(&system));
        Some(match self.dimension() {
            Some(dimension) if is_of_other_units => display.show_finely(value, dimension),
            _ => text.to_owned(),
        })
    }

    // The rows of the table are written with these.

    const fn new(name: &'static str, kind: Kind, doc: &'static str) -> Self {
        Self {
            name,
            doc,
            kind,
            presence: Presence::Optional,
            range: Range::NOT_NEGATIVE,
            usual: None,
            needs: &[],
            purpose: Purpose::Mechanics,
            source: COMMON,
        }
    }

    const fn required(mut self) -> Self {
        self.presence = Presence::Required;
        self
    }

    const fn alternative(mut self) -> Self {
        self.presence = Presence::Alternative;
        self
    }

    const fn default(mut self, value: f64, text: &'static str) -> Self {
        self.presence = Presence::Default { value, text };
        self
    }

    const fn default_word(mut self, word: &'static str) -> Self {
        self.presence = Presence::DefaultWord(word);
        self
    }

    const fn range(mut self, range: Range) -> Self {
        self.range = range;
        self
    }

    const fn usual(mut self, low: f64, high: f64) -> Self {
        self.usual = Some((low, high));
        self
    }

    const fn needs(mut self, ways: Ways) -> Self {
        self.needs = ways;
        self
    }

    const fn source(mut self, source: &'static str) -> Self {
        self.source = source;
        self
    }
}

/// The source named for a fact of the trade that has no published source.
pub const COMMON: &str = "common practice, no source";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::UnitExpr;
    use std::collections::HashSet;

    fn fields() -> impl Iterator<Item = (&'static Block, &'static Field)> {
        BLOCKS
            .iter()
            .flat_map(|block| block.fields.iter().map(move |field| (block, field)))
    }

    #[test]
    fn names_are_unique_and_every_row_is_documented() {
        let mut seen = HashSet::new();
        for (block, field) in fields() {
            let path = format!("{}.{}", block.name, field.name);
            assert!(field.doc.len() > 10, "{path} has no doc");
            assert!(!field.source.is_empty(), "{path} has no source");
            assert!(seen.insert(path.clone()), "{path} stands twice");
        }
        for result in RESULTS {
            assert!(seen.insert(result.name.to_owned()), "{}", result.name);
            assert!(
                result.doc.len() > 10 && !result.formula.is_empty() && !result.source.is_empty(),
                "{} is not documented",
                result.name
            );
        }
    }

    #[test]
    fn a_defaults_text_equals_its_value() {
        for (block, field) in fields() {
            let Presence::Default { value, text } = field.presence else {
                continue;
            };
            let Kind::Quantity(dimension) = field.kind else {
                panic!(
                    "{}.{}: only quantities have numbers",
                    block.name, field.name
                );
            };
            let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
            let number: f64 = number.parse().unwrap();
            let (internal, written) = if unit.is_empty() {
                (number, Dimension::NUMBER)
            } else {
                let unit = UnitExpr::parse(unit).unwrap();
                (unit.inward(number), unit.dimension())
            };
            assert_eq!(written, dimension, "{}.{}", block.name, field.name);
            assert!(
                (internal - value).abs() <= 1e-12 * value.abs(),
                "{}.{}: {text} is {internal}, not {value}",
                block.name,
                field.name
            );
            assert!(field.range.contains(value), "{}.{}", block.name, field.name);
        }
    }

    #[test]
    fn alternatives_name_fields_of_their_block() {
        for block in BLOCKS {
            for name in block.alternatives.iter().flat_map(|a| a.ways.concat()) {
                let field = block.field_index(name).map(|i| &block.fields[i as usize]);
                assert!(
                    field.is_some_and(|f| matches!(f.presence, Presence::Alternative)),
                    "{}.{name}",
                    block.name
                );
            }
            for field in block.fields {
                assert_eq!(
                    matches!(field.presence, Presence::Alternative),
                    block.way_of(field.name).is_some(),
                    "{}.{}",
                    block.name,
                    field.name
                );
            }
        }
    }

    #[test]
    fn usual_windows_are_within_the_possible_range() {
        for (block, field) in fields() {
            if let Some((low, high)) = field.usual {
                assert!(low < high, "{}.{}", block.name, field.name);
                assert!(
                    field.range.contains(low.max(f64::MIN_POSITIVE)) && field.range.contains(high),
                    "{}.{}",
                    block.name,
                    field.name
                );
            }
        }
    }

    #[test]
    fn machine_units_have_their_results_dimension() {
        for result in RESULTS {
            let dimension = if result.unit.is_empty() {
                Dimension::NUMBER
            } else {
                UnitExpr::parse(result.unit).unwrap().dimension()
            };
            assert_eq!(dimension, result.dimension, "{}", result.name);
        }
    }
}
