//! `bitepoint check`

use super::{CannotRun, Format, Status, input, print, style};
use crate::analysis::analyse;
use crate::faces::disk::Disk;
use crate::faces::render::{check_json, findings, findings_text, summary};
use crate::finding::Severity;
use std::path::PathBuf;

pub fn run(paths: &[PathBuf], format: Format, fail_on: Severity) -> Result<Status, CannotRun> {
    let disk = Disk::default();
    let reports = input::specs(paths)?
        .iter()
        .map(|path| Ok(analyse(input::read(path, &disk)?, &disk)))
        .collect::<Result<Vec<_>, CannotRun>>()?;
    match format {
        Format::Text => {
            let mut text = findings_text(&reports, style());
            text.push_str(&summary(&reports));
            text.push('\n');
            print(&text)?;
        }
        Format::Json => print(&check_json(&reports))?,
    }
    let fails = findings(&reports).any(|(_, finding)| finding.severity >= fail_on);
    Ok(if fails {
        Status::Findings
    } else {
        Status::Clean
    })
}
