//! `bitepoint completions` and `bitepoint man`, generated from the definitions of the verbs.

use super::{Arguments, CannotRun, Status, print_exactly, write};
use clap::CommandFactory;
use clap_complete::Shell;
use clap_mangen::Man;
use std::path::Path;

pub fn completions(shell: Shell) -> Result<Status, CannotRun> {
    let mut command = Arguments::command();
    let mut out = Vec::new();
    clap_complete::generate(shell, &mut command, "bitepoint", &mut out);
    print_exactly(&String::from_utf8_lossy(&out))?;
    Ok(Status::Clean)
}

/// Prints the manual's first page, or writes all pages into a folder.
pub fn man(folder: Option<&Path>) -> Result<Status, CannotRun> {
    let command = Arguments::command();
    let Some(folder) = folder else {
        print_exactly(&page(&Man::new(command))?)?;
        return Ok(Status::Clean);
    };
    // Each verb's page has the whole command in its title.
    let mut command = command.disable_help_subcommand(true);
    command.build();
    let verbs = command.get_subcommands().cloned();
    for command in verbs.chain([command.clone()]) {
        let man = Man::new(command);
        write(&folder.join(man.get_filename()), &page(&man)?)?;
    }
    Ok(Status::Clean)
}

fn page(man: &Man) -> Result<String, CannotRun> {
    let mut out = Vec::new();
    man.render(&mut out)
        .map_err(|error| format!("the manual cannot be written: {error}"))?;
    Ok(String::from_utf8_lossy(&out).into_owned())
}
