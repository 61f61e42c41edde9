//! The language server: what the core knows, in an editor.
//!
//! Text changes are applied in the order in which they come, before anything waits. Analysis
//! runs on a snapshot, off the message loop; its findings are published only while the
//! snapshot is still what the client has.
//!
//! A stair: `state` knows the documents, `protocol` the messages and what of the documents goes
//! into them, `runtime` the order in which things happen.

mod protocol;
mod runtime;
mod state;

pub use protocol::{frames, wire};
pub use runtime::{Log, serve, serve_on};
