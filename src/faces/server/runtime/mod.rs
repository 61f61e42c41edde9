//! One session with a client: its state, what is done for each message, and what the server does
//! by itself.
//!
//! A stair: each file imports only files above it in this list.

mod session;
mod settings_diagnostics;

mod shared;

mod diagnostics;
mod parent;

mod client_requests;

mod notifications;

mod handlers;

mod serve;

mod session_tests;

pub use serve::{Log, serve, serve_on};
