//! What must hold whatever comes in. The fuzzer looks for input for which it does not; the tests
//! of the program try the same on every example.
//!
//! Each property is a function `holds` of any bytes that panics where it is broken.

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
