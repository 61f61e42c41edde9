//! The messages of the protocol: framing, reading and writing, and the core's facts in the protocol's terms.
//!
//! The files of this folder are in order: each imports only those above it in this list.

pub(super) mod client;

#[cfg(not(target_arch = "wasm32"))]
pub mod frames;
#[cfg(not(target_arch = "wasm32"))]
pub(super) mod log;
#[cfg(not(target_arch = "wasm32"))]
pub mod wire;

#[cfg(not(target_arch = "wasm32"))]
pub(super) mod client_notification;
pub(super) mod client_settings;

pub(super) mod to_lsp;

pub(super) mod answers;
pub(super) mod capabilities;
pub(super) mod preview;
pub(super) mod reports;
pub(super) mod verbs;
