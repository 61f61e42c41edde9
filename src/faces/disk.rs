//! Files on the disk, each read and parsed once.

use crate::finding::FileName;
use crate::model::{Files, Source};
use crate::syntax::MAX_FILE_BYTES;
use std::collections::HashMap;
use std::io::Read;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

/// Reads specs from the disk and keeps them.
#[derive(Default)]
pub struct Disk {
    read: Mutex<HashMap<FileName, Arc<Source>>>,
}

impl Disk {
    /// The name under which a path goes in findings.
    pub fn name(path: &Path) -> FileName {
        let text = path.to_string_lossy();
        let text = text.strip_prefix("./").unwrap_or(&text);
        if std::path::MAIN_SEPARATOR == '/' {
            text.into()
        } else {
            text.replace(std::path::MAIN_SEPARATOR, "/").into()
        }
    }
}

impl Files for Disk {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let lock = || self.read.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = lock().get(name) {
            return Ok(known.clone());
        }
        let bytes = read_bounded(Path::new(&**name))?;
        let source = Arc::new(Source::from_bytes(name.clone(), &bytes));
        lock().insert(name.clone(), source.clone());
        Ok(source)
    }
}

/// The bytes of a file, but no more of them than it takes to see that there are too many.
pub(super) fn read_bounded(path: &Path) -> Result<Vec<u8>, String> {
    let file = std::fs::File::open(path).map_err(|error| reason(&error))?;
    bounded(file).map_err(|error| reason(&error))
}

/// Everything from a reader, but no more than it takes to see that it is too much.
pub fn bounded(reader: impl Read) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    reader
        .take(MAX_FILE_BYTES as u64 + 1)
        .read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn reason(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "does not exist".to_owned(),
        std::io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
        std::io::ErrorKind::IsADirectory => "is a folder".to_owned(),
        _ => format!("cannot be read: {error}"),
    }
}
