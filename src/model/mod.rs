//! From trees to typed systems: names resolved, imports brought in, parts and `from` merged,
//! expressions evaluated and held against the schema.
//!
//! **Never judges whether a clutch works**: it only says what the spec says.

mod assemble;
mod build;
mod bundle;
mod complete;
mod emit;
mod expression;
mod fields;
mod layers;
mod let_groups;
mod merge;
mod points;
mod reads;
mod reserved_names;
mod resolve;
mod shared_blocks;
mod source;
mod space;
mod spot;
mod standalone;
mod system;
mod unused;
mod value;

pub use assemble::Rebuild;
pub(crate) use build::{Before, build_after};
pub use build::{Built, FileFindings, Model, build};
pub use bundle::{Bundle, MAX_USE_DEPTH, MAX_USED_FILES, join};
pub(crate) use expression::LetValue;
pub use expression::{FUNCTIONS, article};
pub use layers::{MAX_FROM_DEPTH, MAX_LINES};
pub use points::Points;
pub(crate) use resolve::{Resolved, Resolver, choices_of, labels_of};
pub(crate) use source::changed_items;
pub use source::{Files, ReadError, Source};
pub use space::{
    Axis, AxisLabels, Choice, Labels, MAX_COMBINATIONS, Picker, Space, Subject, Wanted,
};
pub use spot::{Spot, What, spots};
pub(crate) use spot::{is_repeated, spot};
pub use standalone::standalone_value;
pub use system::{
    Allow, Choose, Component, Given, Origin, PartName, Require, Soundness, System, Toleranced,
    Value, ValuePart,
};
