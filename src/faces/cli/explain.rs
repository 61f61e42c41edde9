//! `bitepoint explain`

use super::manual::manual;
use super::{CannotRun, Status, print, style};
use crate::faces::render::explanation;

pub fn run(what: Option<&str>, whole: bool) -> Result<Status, CannotRun> {
    let text = match what {
        None if whole => manual(),
        what => explanation(what, style().width)?,
    };
    print(&text)?;
    Ok(Status::Clean)
}
