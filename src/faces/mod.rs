//! What people and machines see. Every face shows what the core worked out; **none computes**,
//! and none knows another.

pub mod cli;
mod files;
mod git;
mod output;
pub mod render;
pub mod sanitize;
pub mod server;
pub mod sheet;
mod streams;
mod sync;

pub use files::disk::{Disk, SettingsChoice};
