//! `bitepoint completions` and `bitepoint man`: made from the definitions of the verbs.

use super::{Arguments, CannotRun, Status, print_exactly, shown};
use clap::CommandFactory;
use clap_complete::Shell;
use std::path::Path;

pub fn completions(shell: Shell) -> Result<Status, CannotRun> {
    let mut command = Arguments::command();
    let mut out = Vec::new();
    clap_complete::generate(shell, &mut command, "bitepoint", &mut out);
    print_exactly(&String::from_utf8_lossy(&out))?;
    Ok(Status::Clean)
}

/// The manual's first page, or all of them into a folder.
pub fn man(folder: Option<&Path>) -> Result<Status, CannotRun> {
    let command = Arguments::command();
    if let Some(folder) = folder {
        clap_mangen::generate_to(command, folder)
            .map_err(|error| format!("`{}` cannot be written: {error}", shown(folder)))?;
        return Ok(Status::Clean);
    }
    let mut out = Vec::new();
    clap_mangen::Man::new(command)
        .render(&mut out)
        .map_err(|error| format!("the manual cannot be written: {error}"))?;
    print_exactly(&String::from_utf8_lossy(&out))?;
    Ok(Status::Clean)
}
