//! What makes a finding the same finding, whatever is edited around it.

use crate::analysis::Report;
use crate::checks::Finding;
use crate::schema::BLOCKS;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fmt::Write;

/// How many bytes of the digest are kept.
const BYTES: usize = 16;

/// The fingerprints of a report's findings, and of its silenced ones.
///
/// They rest on the check, the system, the block and the text at the place, blanks apart, and on
/// how often the same came before in the file: not on lines, and not on the file's name.
pub fn fingerprints(report: &Report) -> (Vec<String>, Vec<String>) {
    let open = report.findings.iter();
    let silenced = report.allowed.iter().map(|allowed| &allowed.finding);
    let mut all: Vec<(usize, &Finding)> = open.chain(silenced).enumerate().collect();
    // A silenced one counts in its place among the others, so that silencing changes no print.
    all.sort_by_key(|(_, finding)| finding.problem.place.span);
    let mut seen: HashMap<String, u32> = HashMap::new();
    let mut prints = vec![String::new(); all.len()];
    for (index, finding) in all {
        let key = key(report, finding);
        let before = seen.entry(key.clone()).or_default();
        prints[index] = digest(&format!("{key}\u{0}{before}"));
        *before += 1;
    }
    let silenced = prints.split_off(report.findings.len());
    (prints, silenced)
}

fn key(report: &Report, finding: &Finding) -> String {
    let problem = &finding.problem;
    let text = report.file(&problem.place.file).map(|source| &*source.text);
    let snippet = problem.place.span.of(text.unwrap_or_default());
    let words: Vec<&str> = snippet.split_whitespace().collect();
    let block = problem.block.map(|block| BLOCKS[block as usize].name);
    [
        finding.check.name,
        finding.system.as_deref().unwrap_or_default(),
        block.unwrap_or_default(),
        &words.join(" "),
    ]
    .join("\u{0}")
}

fn digest(text: &str) -> String {
    let mut out = String::with_capacity(2 * BYTES);
    for byte in Sha256::digest(text).iter().take(BYTES) {
        let _ = write!(out, "{byte:02x}");
    }
    out
}
