//! The language server: what the core knows, for an editor.
//!
//! Text changes are applied in the order in which they arrive, before anything waits. Analysis runs on a snapshot,
//! off the message loop. Its findings are published only if the snapshot is still the client's text.
//!
//! The rooms are in order: `state` has the documents, `protocol` the messages and their contents, `runtime` the order
//! in which things happen. Inside another program, which passes messages one by one, `embedded` replaces `runtime`.

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
