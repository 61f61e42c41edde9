//! The identity of a finding, which edits around it do not change.

use crate::analysis::Report;
use crate::checks::Finding;
use crate::finding::{FileName, Measure};
use crate::schema::BLOCKS;
use crate::settings::is_settings;
use crate::syntax::{Block, Statement, StatementKind, TextRange, Tree, parse, spelling};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fmt::Write;

/// How many bytes of the digest are kept.
const BYTES: usize = 16;

/// The subject of a finding.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) struct Subject {
    /// The system that it concerns or is in, if any.
    pub system: Option<String>,
    /// The names of the statements around its place, and the result that is past its limit.
    pub about: String,
    /// A digest of check, subject and the text at the place in canonical spelling. It does not depend on file, system
    /// or layout.
    pub fingerprint: String,
}

/// The fingerprints of a report's findings and of its silenced ones.
///
/// A fingerprint depends on the check, the system, the subject, the text at the place without its layout, and how
/// many equal findings come before in the file. It does not depend on lines or on the file's name.
pub fn fingerprints(report: &Report) -> (Vec<String>, Vec<String>) {
    let mut fingerprinter = Fingerprinter::of(report);
    numbered(report, |finding| {
        let subject = fingerprinter.subject(finding);
        let system = subject.system.unwrap_or_default();
        format!("{}\u{0}{system}", subject.fingerprint)
    })
}

/// The fingerprints in baselines of version 1, in which the layout of the text at the place counts.
pub(super) fn fingerprints_v1(report: &Report) -> (Vec<String>, Vec<String>) {
    numbered(report, |finding| {
        let problem = &finding.problem;
        let text = report.file(&problem.place.file).map(|source| &*source.text);
        let snippet = report.range(&problem.place).of(text.unwrap_or_default());
        let words: Vec<&str> = snippet.split_whitespace().collect();
        [
            finding.check.name(),
            finding.system.as_deref().unwrap_or_default(),
            block(finding),
            &words.join(" "),
        ]
        .join("\u{0}")
    })
}

/// Digests of keys, each with the number of equal keys before it in the order of the text.
fn numbered(
    report: &Report,
    mut key: impl FnMut(&Finding) -> String,
) -> (Vec<String>, Vec<String>) {
    let open = report.findings.iter();
    let silenced = report.allowed.iter().map(|allowed| &allowed.finding);
    let mut all: Vec<(usize, &Finding)> = open.chain(silenced).enumerate().collect();
    // Silenced findings are counted in their order among the others, so that silencing changes no fingerprint.
    all.sort_by_key(|(_, finding)| report.range(&finding.problem.place));
    let mut seen: HashMap<String, u32> = HashMap::new();
    let mut prints = vec![String::new(); all.len()];
    for (index, finding) in all {
        let key = key(finding);
        let before = seen.entry(key.clone()).or_default();
        prints[index] = digest(&format!("{key}\u{0}{before}"));
        *before += 1;
    }
    let silenced = prints.split_off(report.findings.len());
    (prints, silenced)
}

/// Finds the subjects of findings. The trees of the files are read again, since they are not kept for very many
/// reports.
pub(super) struct Fingerprinter<'a> {
    report: &'a Report,
    trees: HashMap<FileName, Tree>,
}

impl<'a> Fingerprinter<'a> {
    pub fn of(report: &'a Report) -> Self {
        Self {
            report,
            trees: HashMap::new(),
        }
    }

    pub fn subject(&mut self, finding: &Finding) -> Subject {
        let problem = &finding.problem;
        let place = &problem.place;
        let text = self.report.file(&place.file).map(|source| &*source.text);
        let text = text.unwrap_or_default();
        let tree = self.trees.entry(place.file.clone()).or_insert_with(|| {
            if is_settings(&place.file) {
                Tree::default()
            } else {
                parse(text)
            }
        });
        let range = self.report.range(place);
        let (around, mut about) = names(tree, range);
        let mut snippet = spelling(range.of(text));
        if around == Some(snippet.as_str()) {
            // It is shown at the system's name, since there is no better place.
            snippet.clear();
        }
        if about.is_empty() {
            block(finding).clone_into(&mut about);
        }
        if let Some(Measure::Result(result)) = problem.shortfall.map(|shortfall| shortfall.what) {
            let comma = if about.is_empty() { "" } else { ", " };
            let _ = write!(about, "{comma}{}", result.spec().name);
        }
        let key = [finding.check.name(), &about, block(finding), &snippet].join("\u{0}");
        Subject {
            system: finding.system.as_deref().or(around).map(str::to_owned),
            about,
            fingerprint: digest(&key),
        }
    }
}

fn block(finding: &Finding) -> &'static str {
    let block = finding.problem.block;
    block.map_or("", |block| BLOCKS[block as usize].name)
}

/// The system around a place, and the names of its statements that contain the place: `slave.bore`,
/// `line hard.length`, `require pedal_effort`.
fn names(tree: &Tree, place: TextRange) -> (Option<&str>, String) {
    let mut system = None;
    let mut about = String::new();
    let first = tree
        .items
        .partition_point(|item| item.range().end < place.end);
    let Some(item) = tree.items.get(first) else {
        return (system, about);
    };
    let holds = |statement: &&Statement| item.at(statement.span).start <= place.start;
    let mut around = Some(&*item.statement);
    loop {
        let Some(statement) = around.filter(holds) else {
            return (system, about);
        };
        let name = match &statement.kind {
            StatementKind::System(item) => {
                system = Some(&*item.name.text);
                String::new()
            }
            StatementKind::Part(part) => format!("part {} {}", part.block.text, part.name.text),
            StatementKind::Block(Block { block, name, .. }) => match name {
                Some(label) if is_repeated(&block.text) => {
                    format!("{} {}", block.text, label.text)
                }
                _ => block.text.clone(),
            },
            StatementKind::Field(field) => field.name.text.clone(),
            StatementKind::Let(item) => format!("let {}", item.name.text),
            StatementKind::Use(_) => "use".to_owned(),
            StatementKind::Choose(choose) => format!("choose {}", choose.block.text),
            StatementKind::Require(require) => format!("require {}", require.result.text),
            StatementKind::Allow(allow) => format!("allow {}", allow.check.text),
            StatementKind::Bad => String::new(),
        };
        if !about.is_empty() && !name.is_empty() {
            about.push('.');
        }
        about.push_str(&name);
        let inside = statement.body().map_or(&[][..], |body| &body.statements);
        let first = inside.partition_point(|inner| item.at(inner.span).end < place.end);
        around = inside.get(first);
    }
}

/// Whether a block may occur many times, each with a label of its own.
fn is_repeated(block: &str) -> bool {
    BLOCKS
        .iter()
        .any(|spec| spec.name == block && spec.takes_label())
}

fn digest(text: &str) -> String {
    let mut out = String::with_capacity(2 * BYTES);
    for byte in Sha256::digest(text).iter().take(BYTES) {
        let _ = write!(out, "{byte:02x}");
    }
    out
}
