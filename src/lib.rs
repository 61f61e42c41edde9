//! Bitepoint reads `.clutch` specs, which describe a vehicle's clutch actuation from the pedal to the pressure plate.
//! It works out their results and says what is wrong with them.
//!
//! ```
//! use bitepoint::analysis::analyse;
//! use bitepoint::finding::FileName;
//! use bitepoint::model::{Files, Source};
//! use std::sync::Arc;
//!
//! /// A spec that uses no other files.
//! struct Alone;
//!
//! impl Files for Alone {
//!     fn read(&self, _name: &FileName) -> Result<Arc<Source>, String> {
//!         Err("does not exist".to_owned())
//!     }
//! }
//!
//! let text = "system van {
//!     pedal { ratio = 6  travel = 150 mm }
//!     master { bore = 3/4 in  stroke = 36 mm }
//!     slave { bore = 7/8 in  stroke = 30 mm }
//!     fork { ratio = 1.5 }
//!     cover { release_travel = 9 mm to 12 mm  release_load = 1500 N }
//! }";
//! let source = Arc::new(Source::new("van.clutch".into(), text.to_owned()));
//! let report = analyse(source, &Alone);
//!
//! for finding in &report.findings {
//!     println!("{}: {}", finding.check.name(), finding.problem.message);
//! }
//! let van = report.worked_systems().next().expect("a system");
//! let outcome = van.outcome.as_ref().expect("it is worked out");
//! let margin = outcome.get(bitepoint::result!(release_margin)).expect("it is known");
//! assert!(margin > 1.0, "{margin} mm past release");
//! ```
//!
//! Data flows down this list of rooms and never back up:
//! [`check_id`], [`quantity`], [`syntax`], [`schema`], [`finding`], [`settings`], [`model`], [`mechanics`], [`solve`],
//! [`diagnose`], [`checks`], [`analysis`], [`faces`].

#![warn(missing_docs)]
#![cfg_attr(
    target_arch = "wasm32",
    allow(
        dead_code,
        unused_imports,
        reason = "a page has neither the command line nor the server, which use the rest"
    )
)]

// What pest makes of the grammar names it where the standard library does not.
extern crate alloc;

pub mod analysis;
pub mod check_id;
pub mod checks;
pub mod diagnose;
pub mod faces;
pub mod finding;
pub mod mechanics;
pub mod model;
pub mod quantity;
pub mod schema;
pub mod settings;
pub mod solve;
pub mod syntax;
