//! Addresses of documents, and the paths on the disk that they stand for.

use crate::faces::files::disk::Disk;
use crate::faces::files::walk::specs_below;
use crate::finding::FileName;
use crate::model::join;
use lsp_types::Url;
use std::path::{Path, PathBuf};

/// Whether files can be read that the client has not given.
pub(super) const HAS_DISK: bool = true;

/// A longer path leads to no file, and has too many folders above it to look into.
const MAX_PATH_BYTES: usize = 4 << 10;

/// The path of a file or a folder on the disk; `None` for what is elsewhere.
pub(super) fn path_of(uri: &Url) -> Option<PathBuf> {
    (uri.scheme() == "file").then(|| uri.to_file_path().ok())?
}

/// The name under which a document goes: its path, or else its whole address.
pub(crate) fn name_of(uri: &Url) -> FileName {
    match path_of(uri) {
        Some(path) if path.as_os_str().len() <= MAX_PATH_BYTES => Disk::name(&path),
        // In the form that `use` gives to names, so that documents of one place find each other.
        _ => join("", uri.as_str()),
    }
}

/// The specs of a folder on the disk. What cannot be looked into is left out, as an editor's own tree
/// leaves it out.
pub(super) fn specs_in(folder: &Path) -> impl Iterator<Item = PathBuf> {
    specs_below(folder).filter_map(Result::ok)
}

/// The address of a file on the disk.
pub(crate) fn address_of(name: &FileName) -> Option<Url> {
    Url::from_file_path(&**name).ok()
}

/// Whether a document lies in a folder, and so may use the files around it. One that is not on the
/// disk has none, and must not take the server's.
pub(crate) fn has_folder(name: &FileName) -> bool {
    Path::new(&**name).is_absolute()
}
