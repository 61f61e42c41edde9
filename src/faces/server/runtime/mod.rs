//! One session with a client: its state, the work for each message, and the server's own work.
//!
//! The files of this folder are in order: each imports only those above it in this list.

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
