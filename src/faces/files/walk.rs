//! The specs of a folder.

use super::paths::is_spec;
use ignore::WalkBuilder;
use std::path::{Path, PathBuf};

/// The specs in a folder and below it, except for what ignore files exclude.
pub(crate) fn specs_below(folder: &Path) -> impl Iterator<Item = Result<PathBuf, ignore::Error>> {
    let entries = WalkBuilder::new(folder).require_git(false).build();
    entries.filter_map(|entry| match entry {
        Ok(entry) => {
            let is_file = entry.file_type().is_some_and(|kind| kind.is_file());
            (is_file && is_spec(entry.path())).then(|| Ok(entry.into_path()))
        }
        Err(error) => Some(Err(error)),
    })
}
