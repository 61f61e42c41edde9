//! Addresses of documents where there is no disk: all files are the client's, by their addresses.

use crate::finding::FileName;
use crate::model::join;
use lsp_types::Url;
use std::path::{Path, PathBuf};

/// Whether files can be read that the client has not given.
pub(super) const HAS_DISK: bool = false;

/// The path by which files of a folder are compared with it: its name.
pub(super) fn path_of(uri: &Url) -> Option<PathBuf> {
    Some(PathBuf::from(&*name_of(uri)))
}

/// The name under which a document goes: its address, in the form that `use` gives to names.
pub(crate) fn name_of(uri: &Url) -> FileName {
    join("", uri.as_str())
}

/// The specs of a folder on the disk: there are none.
pub(super) fn specs_in(_: &Path) -> impl Iterator<Item = PathBuf> {
    std::iter::empty()
}

/// The address of a file that the client has not given: there is none.
pub(crate) fn address_of(_: &FileName) -> Option<Url> {
    None
}

/// Whether a document lies in a folder, and so may use the files around it.
pub(crate) fn has_folder(name: &FileName) -> bool {
    name.contains('/')
}
