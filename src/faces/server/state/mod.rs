//! The client's open documents and the files around them, with what is known about each.
//!
//! The files of this folder are in order: each imports only those above it in this list.

#[cfg(not(target_arch = "wasm32"))]
mod address;
#[cfg(target_arch = "wasm32")]
#[path = "address_given.rs"]
mod address;
mod dependents;
mod disk_cache;
mod workspace;

mod after_moves;
mod buffer;
mod file_view;
mod snapshot;
mod world;

mod documents;

pub(crate) use address::{address_of, has_folder, name_of};
pub(crate) use disk_cache::MOST_KEPT;
pub(crate) use documents::{Document, Documents, Invalidated};
#[cfg(test)]
pub(crate) use file_view::Analyse;
pub(crate) use file_view::Analyst;
pub(crate) use snapshot::Snapshot;
pub(crate) use workspace::Workspace;
pub(crate) use world::{OneFile, World};
