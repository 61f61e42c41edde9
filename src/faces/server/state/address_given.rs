//! Addresses of documents without a disk: all files are the client's, named by their addresses.

use crate::finding::FileName;
use crate::model::join;
use lsp_types::Url;
use std::path::{Path, PathBuf};

/// Whether files can be read that the client has not given.
pub(super) const HAS_DISK: bool = false;

/// The path by which a file is compared with its folder: its name.
pub(super) fn path_of(uri: &Url) -> Option<PathBuf> {
    Some(PathBuf::from(&*name_of(uri)))
}

/// The name of a document: its address, in the form that a `use` gives to names.
pub(crate) fn name_of(uri: &Url) -> FileName {
    join("", uri.as_str())
}

/// The specs of a folder on the disk: none.
pub(super) fn specs_in(_: &Path) -> impl Iterator<Item = PathBuf> {
    std::iter::empty()
}

/// The address of a file that the client has not given: none.
pub(crate) fn address_of(_: &FileName) -> Option<Url> {
    None
}

/// Whether a document is in a folder, and so may use the files around it.
pub(crate) fn has_folder(name: &FileName) -> bool {
    name.contains('/')
}
