//! `bitepoint sheet`

use super::{CannotRun, Config, Status, input, print, wanted};
use crate::analysis::analyse;
use crate::faces::sheet::{Form, sheet};
use crate::finding::Severity;
use std::path::PathBuf;

pub struct Request {
    pub file: PathBuf,
    pub system: Option<String>,
    pub form: Form,
    /// The file to write; standard output without it.
    pub output: Option<PathBuf>,
    pub config: Config,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    let disk = request.config.disk()?;
    let report = analyse(input::read(&request.file, &disk)?, &disk);
    let systems = wanted(&report, request.system.as_deref())?;
    if systems.is_empty() {
        return Err(format!("there is no system in `{}`", report.source.name));
    }
    let text = sheet(&report, &systems, request.form);
    match &request.output {
        None => print(&text)?,
        Some(path) => std::fs::write(path, text)
            .map_err(|error| format!("`{}` cannot be written: {error}", path.display()))?,
    }
    let concerned = |name: &Option<String>| match name {
        Some(name) => systems.iter().any(|worked| worked.system.name == *name),
        None => true,
    };
    let fails = systems.iter().any(|worked| worked.outcome.is_err())
        || report
            .findings
            .iter()
            .any(|finding| finding.severity == Severity::Error && concerned(&finding.system));
    Ok(if fails {
        Status::Findings
    } else {
        Status::Clean
    })
}
