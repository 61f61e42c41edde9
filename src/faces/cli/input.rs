//! The files that a verb works on.

use super::CannotRun;
use crate::faces::disk::{self, Disk, bounded, folder_of, real};
use crate::finding::FileName;
use crate::model::{Files, Source};
use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What standard input is called in findings.
const STANDARD_INPUT: &str = "<standard input>";

pub fn is_standard_input(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The specs below some paths, or below this folder: files as they are named, folders searched
/// for `*.clutch` with ignore files respected.
///
/// # Errors
/// A path that does not exist, or no spec anywhere.
pub fn specs(paths: &[PathBuf]) -> Result<Vec<PathBuf>, CannotRun> {
    let here = [PathBuf::from(".")];
    let paths = if paths.is_empty() { &here } else { paths };
    // The order does not depend on the file system.
    let mut found = BTreeSet::new();
    for path in paths {
        if is_standard_input(path) || path.is_file() {
            found.insert(path.clone());
            continue;
        }
        if !path.exists() {
            return Err(format!("`{}` does not exist", path.display()));
        }
        if !path.is_dir() {
            // A pipe or a device: bounded when read.
            found.insert(path.clone());
            continue;
        }
        found.extend(specs_below(path)?);
    }
    if found.is_empty() {
        let places: Vec<String> = paths.iter().map(|p| p.display().to_string()).collect();
        return Err(format!(
            "there is no `.clutch` file in {}",
            places.join(", ")
        ));
    }
    // One file by two names, such as `a.clutch` and `./a.clutch`, is one file.
    let (mut seen, mut folders) = (HashSet::new(), HashMap::new());
    let first = |path: &PathBuf| seen.insert(one_name(path, &mut folders));
    Ok(found.into_iter().filter(first).collect())
}

/// The same name for a file by whichever name; `folders` are those that are known.
fn one_name(path: &Path, folders: &mut HashMap<PathBuf, PathBuf>) -> PathBuf {
    let Some(name) = path.file_name().filter(|_| !path.is_symlink()) else {
        return real(path);
    };
    let folder = folder_of(path);
    // To ask for each file by its whole name takes longer than to read it.
    let known = folders.entry(folder.to_owned());
    known.or_insert_with(|| real(folder)).join(name)
}

/// The specs below a folder, ignore files respected.
///
/// # Errors
/// A folder that cannot be looked into.
pub fn specs_below(folder: &Path) -> Result<BTreeSet<PathBuf>, CannotRun> {
    disk::specs_below(folder)
        .collect::<Result<_, _>>()
        .map_err(|error| format!("cannot look into a folder: {error}"))
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
            format!("`{}` {why}", path.display())
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
        let name = FileName::from(STANDARD_INPUT);
        return Ok(Arc::new(Source::from_bytes(name, &bytes)));
    }
    disk.read(&Disk::name(path))
}
