//! Files on the disk: which may be read, and what they hold.
//!
//! A stair: each file imports only files above it in this list.

pub(super) mod paths;
pub(super) mod read;
pub(super) mod settings_file;
#[cfg(not(target_arch = "wasm32"))]
pub(super) mod walk;

pub(super) mod read_policy;

pub(super) mod disk;
