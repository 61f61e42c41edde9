//! Bitepoint reads `.clutch` specs, which describe a vehicle's clutch actuation from the pedal to
//! the pressure plate, works them out, and says what is wrong with them.
//!
//! Data flows down this list of rooms and never back up:
//! [`check_id`], [`quantity`], [`syntax`], [`schema`], [`finding`], [`settings`], [`model`], [`mechanics`], [`solve`],
//! [`checks`], [`analysis`], [`faces`].

// What pest makes of the grammar names it where the standard library does not.
extern crate alloc;

pub mod analysis;
pub mod check_id;
pub mod checks;
pub mod faces;
pub mod finding;
pub mod mechanics;
pub mod model;
pub mod quantity;
pub mod schema;
pub mod settings;
pub mod solve;
pub mod syntax;
