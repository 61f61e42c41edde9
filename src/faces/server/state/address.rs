//! Addresses of documents, and the paths on the disk to which they lead.

use crate::faces::files::disk::Disk;
use crate::faces::files::walk::specs_below;
use crate::finding::FileName;
use crate::model::join;
use lsp_types::Url;
use std::path::{Path, PathBuf};

/// Whether files can be read that the client has not given.
pub(super) const HAS_DISK: bool = true;

/// The longest path. A longer one leads to no file, and has too many folders above it to search.
const MAX_PATH_BYTES: usize = 4 << 10;

/// The path of a file or a folder on the disk; `None` if it is elsewhere.
pub(super) fn path_of(uri: &Url) -> Option<PathBuf> {
    (uri.scheme() == "file").then(|| uri.to_file_path().ok())?
}

/// The name of a document: its path, or else its whole address.
pub(crate) fn name_of(uri: &Url) -> FileName {
    match path_of(uri) {
        Some(path) if path.as_os_str().len() <= MAX_PATH_BYTES => Disk::name(&path),
        // In the form that `use` gives to names, so that documents of one place find each other.
        _ => join("", uri.as_str()),
    }
}

/// The specs of a folder on the disk. What cannot be read is left out, as in an editor's own tree.
pub(super) fn specs_in(folder: &Path) -> impl Iterator<Item = PathBuf> {
    specs_below(folder).filter_map(Result::ok)
}

/// The address of a file on the disk.
pub(crate) fn address_of(name: &FileName) -> Option<Url> {
    Url::from_file_path(&**name).ok()
}

/// Whether a document is in a folder, and so may use the files around it. A document that is not on the disk has no
/// folder, and must not use the server's.
pub(crate) fn has_folder(name: &FileName) -> bool {
    Path::new(&**name).is_absolute()
}
