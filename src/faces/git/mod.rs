//! Files at a revision of a git repository, read through the `git` program.
//!
//! Only plumbing commands that read objects are run. Nothing that the repository's settings name is run: no hook,
//! filter, monitor or pager. No missing object is fetched.
//!
//! The files of this folder are in order: each imports only those above it in this list.

mod program;

mod objects;

mod commit;

mod revision;

pub use program::checked_out;
pub use revision::{Entry, NotRead, Revision};
