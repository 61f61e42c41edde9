//! What people and machines see. Every face shows what the core worked out; **none computes**,
//! and none knows another.

pub mod cli;
mod disk;
mod git;
mod output;
mod read_policy;
pub mod render;
pub mod sanitize;
pub mod server;
pub mod sheet;
mod streams;

pub use disk::{Disk, SettingsChoice};
