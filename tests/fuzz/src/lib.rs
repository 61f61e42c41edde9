//! Properties of all input. The fuzzer searches for input that breaks one; the tests of the program try them on every
//! example.
//!
//! Each property is a function `holds` of any bytes, which panics if the property is broken.

pub mod after;
pub mod analysis;
pub mod edits;
pub mod expression;
pub mod faces;
pub mod format;
pub mod framing;
pub mod input;
pub mod parse;
pub mod requests;
