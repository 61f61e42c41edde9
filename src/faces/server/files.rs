//! The files around the open documents: read again when they have changed, and only where a
//! document may read.

use crate::faces::disk::{lock, read_bounded, real};
use crate::finding::FileName;
use crate::model::Source;
use crate::settings::is_settings;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::SystemTime;

/// How many files that are not open are kept as read, beside those in use: more are read again
/// when they are asked for, so that a large workspace does not fill the memory.
pub(super) const MOST_KEPT: usize = 500;

/// Files on the disk, read again whenever they have changed.
#[derive(Debug, Default)]
pub(super) struct Changing {
    read: Mutex<HashMap<FileName, (Stamp, Arc<Source>)>>,
}

/// What changes with a file.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Stamp {
    modified: Option<SystemTime>,
    length: u64,
}

impl Changing {
    /// A file as it is now; the same source as before while it has not changed.
    pub fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let path = Path::new(&**name);
        let data = std::fs::metadata(path).ok();
        // To open a pipe would be to wait until somebody writes to it.
        if data.as_ref().is_some_and(|d| !d.is_file() && !d.is_dir()) {
            return Err("is not a file".to_owned());
        }
        let stamp = data.map(|data| Stamp {
            modified: data.modified().ok(),
            length: data.len(),
        });
        let known = || lock(&self.read);
        if let Some((then, source)) = known().get(name)
            && Some(*then) == stamp
        {
            return Ok(source.clone());
        }
        let bytes = read_bounded(path)?;
        let new = match is_settings(name) {
            true => Source::plain_from_bytes,
            false => Source::from_bytes,
        };
        let source = Arc::new(new(name.clone(), &bytes));
        if let Some(stamp) = stamp {
            let mut known = known();
            if known.len() >= MOST_KEPT {
                known.retain(|_, (_, source)| Arc::strong_count(source) > 1);
            }
            known.insert(name.clone(), (stamp, source.clone()));
        }
        Ok(source)
    }

    /// Reads a file anew when it is next asked for, also where its stamp has not changed: two
    /// writes within one tick of the file system's clock look alike.
    pub fn forget(&self, name: &FileName) {
        lock(&self.read).remove(name);
    }
}

/// Where `use` may read: in the workspace's folders and the libraries that the configuration
/// names. A client without a workspace has nothing to leave.
#[derive(Debug, Default)]
pub(super) struct Fence {
    folders: Vec<PathBuf>,
    libraries: Vec<PathBuf>,
}

impl Fence {
    pub fn new(folders: &[PathBuf], libraries: &[PathBuf]) -> Self {
        let real = |paths: &[PathBuf]| paths.iter().map(|path| real(path)).collect();
        Self {
            folders: real(folders),
            libraries: real(libraries),
        }
    }

    /// Whether a document may read a file, by where both really are.
    pub fn lets(&self, document: &Path, file: &Path) -> bool {
        let is_in = |path: &Path, folders: &[PathBuf]| {
            folders.iter().any(|folder| path.starts_with(folder))
        };
        if self.folders.is_empty() {
            return true;
        }
        let file = real(file);
        if is_in(&file, &self.folders) || is_in(&file, &self.libraries) {
            return true;
        }
        // A document from elsewhere may read what lies beside it, or below.
        let document = real(document);
        !is_in(&document, &self.folders)
            && document
                .parent()
                .is_some_and(|folder| file.starts_with(folder))
    }
}

/// Whether a file lies in a folder, by where both really are.
pub(super) fn is_below(file: &Path, folder: &Path) -> bool {
    real(file).starts_with(real(folder))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spec(folder: &Path, name: &str) -> PathBuf {
        let path = folder.join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, "").unwrap();
        path
    }

    #[test]
    fn nothing_is_read_outside_of_the_workspace_unless_it_is_allowed() {
        let place = tempfile::tempdir().unwrap();
        let car = spec(place.path(), "work/cars/car.clutch");
        let parts = spec(place.path(), "work/parts.clutch");
        let library = spec(place.path(), "library/parts.clutch");
        let [work, libraries] = ["work", "library"].map(|name| place.path().join(name));
        let fence = Fence::new(std::slice::from_ref(&work), &[]);
        assert!(fence.lets(&car, &parts));
        assert!(!fence.lets(&car, &library));
        assert!(!fence.lets(&car, &place.path().join("missing.clutch")));
        assert!(fence.lets(&library, &library), "a document from elsewhere");
        assert!(!fence.lets(&library, &spec(place.path(), "other/parts.clutch")));
        assert!(Fence::new(&[work], &[libraries]).lets(&car, &library));
        assert!(Fence::default().lets(&car, &library));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_out_of_the_workspace_is_no_way_out() {
        let place = tempfile::tempdir().unwrap();
        let car = spec(place.path(), "work/car.clutch");
        let outside = spec(place.path(), "outside.clutch");
        let link = place.path().join("work/link.clutch");
        std::os::unix::fs::symlink(outside, &link).unwrap();
        let fence = Fence::new(&[place.path().join("work")], &[]);
        assert!(!fence.lets(&car, &link));
    }
}
