//! `bitepoint fmt`

use super::{CannotRun, Status, input, print, print_exactly, say, shown, write};
use crate::faces::files::disk::Disk;
use crate::faces::output::{Product, refuse_name};
use crate::faces::sanitize;
use crate::model::Source;
use crate::syntax::{self, MAX_FILE_BYTES};
use std::path::{Path, PathBuf};

/// Formats every spec that can be read and written, even if others fail.
pub fn run(paths: &[PathBuf], check: bool) -> Result<Status, CannotRun> {
    let disk = Disk::default();
    let found = input::specs(paths)?;
    let mut cannot: Vec<String> = found.unread.iter().map(ToString::to_string).collect();
    let mut status = Status::Clean;
    for path in found.specs {
        match one(&path, check, &disk) {
            Ok(Status::Clean) => {}
            Ok(Status::Findings) => status = Status::Findings,
            Err(why) => cannot.push(why),
        }
    }
    match cannot.is_empty() {
        true => Ok(status),
        false => Err(cannot.join("\n")),
    }
}

fn one(path: &Path, check: bool, disk: &Disk) -> Result<Status, CannotRun> {
    refuse_name(path, Product::Spec)?;
    let is_input = input::is_standard_input(path);
    if !is_input && !check && !path.is_file() {
        return Err(format!(
            "`{}` is not a regular file and cannot be written back; `bitepoint fmt -` reads \
             standard input",
            shown(path)
        ));
    }
    let source = input::read(path, disk)?;
    let formatted = canonical(&source);
    if is_input && !check {
        // A text that cannot be formatted is passed through unchanged, so that nothing is lost.
        print_exactly(match &formatted {
            Ok(Some(formatted)) => formatted,
            _ => &source.text,
        })?;
    }
    let Some(formatted) = formatted? else {
        say(&format!(
            "`{}` has mistakes in it and is left as it is; `bitepoint check` lists them",
            sanitize::name(&source.name)
        ));
        return Ok(Status::Findings);
    };
    if formatted == source.text {
        return Ok(Status::Clean);
    }
    if check {
        print(&format!("{}\n", sanitize::name(&source.name)))?;
        return Ok(Status::Findings);
    }
    if !is_input {
        write(path, &formatted)?;
    }
    Ok(Status::Clean)
}

/// The canonical form of a file; `None` if the file has mistakes.
fn canonical(source: &Source) -> Result<Option<String>, CannotRun> {
    let formatted = syntax::format(&source.text, &source.tree);
    match formatted.as_ref().map(String::len) {
        Some(bytes) if bytes > MAX_FILE_BYTES => Err(format!(
            "`{}` would be too large to be read again: formatted it has {bytes} bytes, and a spec \
             has at most {MAX_FILE_BYTES}; it is left as it is",
            sanitize::name(&source.name)
        )),
        _ => Ok(formatted),
    }
}
