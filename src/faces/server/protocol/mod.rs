//! The messages of the protocol: framing, reading and writing, and what the core knows in their
//! terms.
//!
//! A stair: each file imports only files above it in this list.

pub mod frames;
pub(super) mod log;
pub mod wire;

pub(super) mod client;
pub(super) mod client_notification;
pub(super) mod client_settings;

pub(super) mod to_lsp;

pub(super) mod answers;
pub(super) mod capabilities;
pub(super) mod preview;
