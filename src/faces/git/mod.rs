//! Files as they stand at a revision of a git repository, read through the `git` program.
//!
//! Only plumbing commands that read objects are run, and nothing that the repository's own settings
//! name is: no hook, filter, monitor, pager, and no fetch of an object that is not there.
//!
//! A stair: each file imports only files above it in this list.

mod program;

mod objects;

mod commit;

mod revision;

pub use program::checked_out;
pub use revision::{Entry, NotRead, Revision};
