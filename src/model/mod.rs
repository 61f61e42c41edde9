//! From trees to typed systems: names resolved, imports brought in, parts and `from` merged,
//! expressions evaluated and held against the schema.
//!
//! **Never judges whether a clutch works**: it only says what the spec says.

mod assemble;
mod build;
mod bundle;
mod complete;
mod emit;
mod exact;
mod expression;
mod field_value;
mod fields;
mod joints;
mod layers;
mod let_groups;
mod merge;
mod order;
mod points;
mod price_limit;
mod reads;
mod reserved_names;
mod resolve;
mod shared_blocks;
mod soundness;
mod source;
mod space;
mod spot;
mod standalone;
mod system;
mod toleranced;
mod unused;
mod value;

pub use assemble::Rebuild;
pub(crate) use build::{Before, Unchanged, build_after};
pub use build::{Built, FileFindings, Model, build, build_named};
pub use bundle::{Bundle, MAX_USE_DEPTH, MAX_USED_FILES, join, relative, use_target};
pub(crate) use expression::LetValue;
pub use expression::{FUNCTIONS, Function, Takes, article};
pub use fields::MAX_REFERENCE_DEPTH;
pub use joints::{Joint, Side};
pub use layers::{MAX_FROM_DEPTH, MAX_LINES};
pub use order::{Cost, OrderItem, PRICE, PRICE_DOC};
pub use points::Points;
pub use price_limit::PriceLimit;
pub(crate) use resolve::{Resolved, Resolver, choices_of, labels_of};
pub use soundness::Soundness;
pub(crate) use source::changed_items;
pub use source::{Files, ReadError, Source};
pub use space::{
    Axis, AxisLabels, Choice, Labels, MAX_COMBINATIONS, Picker, Space, Subject, Wanted,
};
pub use spot::{Spot, What, spots};
pub(crate) use spot::{is_repeated, spot};
pub use standalone::standalone_value;
pub use system::{
    Allow, Choose, Component, Fitting, Given, Origin, PartName, Require, System, Value,
};
pub use toleranced::{Toleranced, ValuePart};
pub(crate) use value::learn_units;
