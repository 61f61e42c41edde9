//! The files around the open documents, read again when they have changed.

use crate::faces::files::read::read_bounded;
use crate::faces::sync::lock;
use crate::finding::FileName;
use crate::model::Source;
use crate::settings::is_settings;
use std::collections::HashMap;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::SystemTime;

/// How many files that are not open are kept in memory besides those in use. More are read again when they are
/// needed, so that a large workspace does not fill the memory.
pub(crate) const MOST_KEPT: usize = 500;

/// Files on the disk, read again whenever they have changed.
#[derive(Debug, Default)]
pub(crate) struct DiskCache {
    read: Mutex<HashMap<FileName, (Stamp, Arc<Source>)>>,
}

/// The properties of a file that change with its contents.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Stamp {
    modified: Option<SystemTime>,
    length: u64,
}

impl DiskCache {
    /// A file in its present state. The source is the same object as before if the file has not changed.
    pub fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let path = Path::new(&**name);
        let data = std::fs::metadata(path).ok();
        // Opening a pipe would wait until something writes to it.
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

    /// Makes the next request read a file again, even if its stamp has not changed. Two writes within one tick of the
    /// file system's clock look alike.
    pub fn forget(&self, name: &FileName) {
        lock(&self.read).remove(name);
    }
}
