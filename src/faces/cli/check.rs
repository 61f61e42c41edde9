//! `bitepoint check`

use super::{CannotRun, Config, Format, Status, input, print, style};
use crate::analysis::{Report, analyse};
use crate::faces::disk::Disk;
use crate::faces::render::{check_json, findings, findings_text, summary};
use crate::finding::Severity;
use rayon::prelude::*;
use std::path::PathBuf;

pub struct Request {
    pub paths: Vec<PathBuf>,
    pub format: Format,
    /// The least severity that makes it fail.
    pub fail_on: Severity,
    pub config: Config,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    let disk = request.config.disk()?;
    let reports = reports(&input::specs(&request.paths)?, &disk)?;
    match request.format {
        Format::Text => {
            let mut text = findings_text(&reports, style());
            text.push_str(&summary(&reports));
            text.push('\n');
            print(&text)?;
        }
        Format::Json => print(&check_json(&reports))?,
    }
    let fails = findings(&reports).any(|(_, finding)| finding.severity >= request.fail_on);
    Ok(if fails {
        Status::Findings
    } else {
        Status::Clean
    })
}

/// What is known about some specs and the settings that hold for them.
fn reports(paths: &[PathBuf], disk: &Disk) -> Result<Vec<Report>, CannotRun> {
    let mut reports = paths
        .par_iter()
        .map(|path| Ok(analyse(input::read(path, disk)?, disk)))
        .collect::<Result<Vec<_>, CannotRun>>()?;
    // The settings' mistakes are reported once, in their own file.
    for report in &mut reports {
        report
            .findings
            .retain(|finding| finding.check.name != "wrong-setting");
    }
    let mut all = disk.settings_reports();
    all.retain(|report| !report.findings.is_empty());
    all.append(&mut reports);
    Ok(all)
}
