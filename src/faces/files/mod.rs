//! Files on the disk: which may be read, and their contents.
//!
//! The files of this folder are in order: each imports only those above it in this list.

pub(super) mod paths;
pub(super) mod read;
pub(super) mod settings_file;
#[cfg(not(target_arch = "wasm32"))]
pub(super) mod walk;

pub(super) mod read_policy;

pub(super) mod disk;
