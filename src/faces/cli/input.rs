//! The files that a verb works on.

use super::{CannotRun, shown};
use crate::faces::files::disk::Disk;
use crate::faces::files::paths::{folder_of, real};
use crate::faces::files::read::{bounded, reason};
use crate::faces::files::walk;
use crate::faces::render::Unread;
use crate::finding::FileName;
use crate::model::{Files, Source};
use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The name of standard input in findings.
const STANDARD_INPUT: &str = "<standard input>";
/// Why a file is not read whose name is not UTF-8: it could not be opened by that name again.
pub const NOT_UTF8: &str = "has a name that is not UTF-8; give it another one";

pub fn is_standard_input(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The specs below some paths.
#[derive(Default)]
pub struct Found {
    /// The specs, in the order of their names.
    pub specs: Vec<PathBuf>,
    /// Paths that do not exist, and folders that cannot be read.
    pub unread: Vec<Unread>,
}

/// The specs below some paths, or below this folder. Files are taken as they are named; folders are searched for
/// `*.clutch`, except for what ignore files exclude.
///
/// # Errors
/// There is no spec anywhere, although everything could be read.
pub fn specs(paths: &[PathBuf]) -> Result<Found, CannotRun> {
    let here = [PathBuf::from(".")];
    let paths = if paths.is_empty() { &here } else { paths };
    // The order does not depend on the file system.
    let mut found = BTreeSet::new();
    let mut unread = Vec::new();
    for path in paths {
        let kind = match std::fs::metadata(path) {
            _ if is_standard_input(path) => None,
            Ok(kind) => Some(kind),
            Err(error) => {
                unread.push(unreadable(path, &error));
                continue;
            }
        };
        if kind.is_some_and(|kind| kind.is_dir()) {
            let (below, failed) = specs_below(path);
            found.extend(below);
            unread.extend(failed);
        } else {
            // From a pipe or a device at most as much is read as a spec may have.
            found.insert(path.clone());
        }
    }
    if found.is_empty() && unread.is_empty() {
        let places: Vec<String> = paths.iter().map(|path| shown(path)).collect();
        return Err(format!(
            "there is no `.clutch` file in {}",
            places.join(", ")
        ));
    }
    // One file by two names, such as `a.clutch` and `./a.clutch`, is one file.
    let (mut seen, mut folders) = (HashSet::new(), HashMap::new());
    let first = |path: &PathBuf| seen.insert(one_name(path, &mut folders));
    Ok(Found {
        specs: found.into_iter().filter(first).collect(),
        unread,
    })
}

fn unreadable(path: &Path, error: &std::io::Error) -> Unread {
    Unread {
        file: Disk::name(path).to_string(),
        why: reason(error),
    }
}

/// A single name for a file with several names. `folders` holds the real paths that are known already.
fn one_name(path: &Path, folders: &mut HashMap<PathBuf, PathBuf>) -> PathBuf {
    let Some(name) = path.file_name().filter(|_| !path.is_symlink()) else {
        return real(path);
    };
    let folder = folder_of(path);
    // Resolving the whole name of each file takes longer than reading it.
    let known = folders.entry(folder.to_owned());
    known.or_insert_with(|| real(folder)).join(name)
}

/// The specs below a folder, except for what ignore files exclude, and the folders that cannot be read.
pub fn specs_below(folder: &Path) -> (BTreeSet<PathBuf>, Vec<Unread>) {
    let mut found = BTreeSet::new();
    let mut unread = Vec::new();
    for entry in walk::specs_below(folder) {
        match entry {
            Ok(spec) => drop(found.insert(spec)),
            Err(error) => unread.push(not_entered(folder, error)),
        }
    }
    (found, unread)
}

/// A folder that the search could not read.
fn not_entered(searched: &Path, error: ignore::Error) -> Unread {
    match error {
        ignore::Error::WithPath { path, err } => not_entered(&path, *err),
        ignore::Error::WithDepth { err, .. } => not_entered(searched, *err),
        ignore::Error::Io(error) => {
            // The walk wraps the system's message with the path, which is already named here.
            let inner = error.get_ref().and_then(|wrapped| wrapped.source());
            let said = inner.and_then(|inner| inner.downcast_ref());
            unreadable(searched, said.unwrap_or(&error))
        }
        error => Unread {
            file: Disk::name(searched).to_string(),
            why: format!("cannot be read: {error}"),
        },
    }
}

/// The name of a spec in findings.
pub fn name_of(path: &Path) -> FileName {
    match is_standard_input(path) {
        true => FileName::from(STANDARD_INPUT),
        false => Disk::name(path),
    }
}

/// One spec, from the disk or from standard input.
///
/// # Errors
/// Why it cannot be read.
pub fn read(path: &Path, disk: &Disk) -> Result<Arc<Source>, CannotRun> {
    read_one(path, disk).map_err(|why| {
        if is_standard_input(path) {
            format!("standard input {why}")
        } else {
            format!("`{}` {why}", shown(path))
        }
    })
}

/// One spec, from the disk or from standard input.
///
/// # Errors
/// Why it cannot be read, as the end of a sentence.
pub fn read_one(path: &Path, disk: &Disk) -> Result<Arc<Source>, String> {
    if is_standard_input(path) {
        let bytes =
            bounded(std::io::stdin().lock()).map_err(|error| format!("cannot be read: {error}"))?;
        return Ok(Arc::new(Source::from_bytes(name_of(path), &bytes)));
    }
    if path.to_str().is_none() {
        return Err(NOT_UTF8.to_owned());
    }
    disk.read(&Disk::name(path))
}
