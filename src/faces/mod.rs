//! What people and machines see. Every face shows what the core worked out; **none computes**,
//! and none knows another.

pub mod cli;
mod disk;
mod render;

pub use disk::Disk;
