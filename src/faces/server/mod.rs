//! The language server: what the core knows, in an editor.
//!
//! Text changes are applied in the order in which they come, before anything waits. Analysis
//! runs on a snapshot, off the message loop; its findings are published only while the
//! snapshot is still what the client has.
//!
//! A stair: `state` knows the documents, `protocol` the messages and what of the documents goes
//! into them, `runtime` the order in which things happen. `embedded` takes the place of `runtime`
//! inside another program, which gives it message by message.

mod embedded;
mod protocol;
#[cfg(not(target_arch = "wasm32"))]
mod runtime;
mod state;

pub use embedded::{Embedded, FILES, QUIET};
#[cfg(not(target_arch = "wasm32"))]
pub use protocol::{frames, wire};
#[cfg(not(target_arch = "wasm32"))]
pub use runtime::{Log, serve, serve_on};
