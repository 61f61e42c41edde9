//! What people and machines see. Every face shows what the core worked out. **No face computes**, and none knows
//! another.

#[cfg(not(target_arch = "wasm32"))]
pub mod cli;
mod files;
#[cfg(not(target_arch = "wasm32"))]
mod git;
#[cfg(not(target_arch = "wasm32"))]
mod output;
pub mod page;
pub mod render;
pub mod sanitize;
pub mod server;
pub mod sheet;
#[cfg(not(target_arch = "wasm32"))]
mod streams;
mod sync;

/// The program's version; in a release build followed by its commit, as `0.1.0 (1a2b3c4d5)`.
const VERSION: &str = env!("BITEPOINT_VERSION");

pub use files::disk::{Disk, SettingsChoice};
