//! `bitepoint fmt`

use super::{CannotRun, Status, input, print};
use crate::faces::disk::Disk;
use crate::syntax;
use std::path::PathBuf;

pub fn run(paths: &[PathBuf], check: bool) -> Result<Status, CannotRun> {
    let disk = Disk::default();
    let mut status = Status::Clean;
    for path in input::specs(paths)? {
        let source = input::read(&path, &disk)?;
        let Some(formatted) = syntax::format(&source.text, &source.tree) else {
            eprintln!(
                "bitepoint: `{}` has mistakes in it and is left as it is; `bitepoint check` lists them",
                source.name
            );
            if input::is_standard_input(&path) && !check {
                print(&source.text)?;
            }
            status = Status::Findings;
            continue;
        };
        if input::is_standard_input(&path) && !check {
            print(&formatted)?;
        } else if formatted != source.text {
            if check {
                print(&format!("{}\n", source.name))?;
                status = Status::Findings;
            } else {
                std::fs::write(&path, formatted)
                    .map_err(|error| format!("`{}` cannot be written: {error}", path.display()))?;
            }
        }
    }
    Ok(status)
}
