//! `bitepoint fmt`

use super::{CannotRun, Status, input, print, print_exactly, say, shown};
use crate::faces::disk::Disk;
use crate::faces::sanitize;
use crate::syntax;
use std::path::{Path, PathBuf};

/// Formats every spec that can be read, whatever is wrong with the others.
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
    let source = input::read(path, disk)?;
    let is_piped = input::is_standard_input(path) && !check;
    let Some(formatted) = syntax::format(&source.text, &source.tree) else {
        say(&format!(
            "`{}` has mistakes in it and is left as it is; `bitepoint check` lists them",
            sanitize::name(&source.name)
        ));
        if is_piped {
            print_exactly(&source.text)?;
        }
        return Ok(Status::Findings);
    };
    if is_piped {
        print_exactly(&formatted)?;
    } else if formatted != source.text {
        if check {
            print(&format!("{}\n", sanitize::name(&source.name)))?;
            return Ok(Status::Findings);
        }
        std::fs::write(path, formatted)
            .map_err(|error| format!("`{}` cannot be written: {error}", shown(path)))?;
    }
    Ok(Status::Clean)
}
