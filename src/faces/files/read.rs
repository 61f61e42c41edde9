//! Reads bytes, up to the limits on their number.

use crate::syntax::MAX_FILE_BYTES;
use std::io::Read;
use std::path::Path;

/// The bytes of a file. Reading stops as soon as there are too many.
pub(crate) fn read_bounded(path: &Path) -> Result<Vec<u8>, String> {
    let file = std::fs::File::open(path).map_err(|error| reason(&error))?;
    bounded(file).map_err(|error| reason(&error))
}

/// The bytes of a file of a limited size.
pub(crate) fn read_at_most(path: &Path, most: usize) -> Result<Vec<u8>, String> {
    let file = std::fs::File::open(path).map_err(|error| reason(&error))?;
    let mut bytes = Vec::new();
    let read = file.take(most as u64 + 1).read_to_end(&mut bytes);
    read.map_err(|error| reason(&error))?;
    if bytes.len() > most {
        let mib = most >> 20;
        return Err(format!("is larger than {mib} MiB, the most that is read"));
    }
    Ok(bytes)
}

/// Everything from a reader. Reading stops as soon as there is too much.
pub fn bounded(reader: impl Read) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    reader
        .take(MAX_FILE_BYTES as u64 + 1)
        .read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Why a file or a folder cannot be read, as the end of a sentence.
pub(crate) fn reason(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "does not exist".to_owned(),
        std::io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
        std::io::ErrorKind::IsADirectory => "is a folder".to_owned(),
        _ => format!("cannot be read: {error}"),
    }
}
