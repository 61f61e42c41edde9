//! Findings as SARIF 2.1.0, the interchange format of static analysis.

use super::json_list::{List, Member, object};
use super::tally::{Ending, HeldAgainst};
use super::{fingerprints, located_in};
use crate::analysis::{Allowed, Report, Silencer};
use crate::checks::{CHECKS, Check, Finding};
use crate::faces::sanitize::{name, sanitize};
use crate::finding::{Fix, Place, Severity};
use crate::quantity::Display;
use crate::syntax::Encoding;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;

const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// The base of relative addresses.
const ROOT: &str = "%SRCROOT%";
/// The name of the fingerprints. If they are made in another way, the number changes.
const FINGERPRINT: &str = "bitepointFinding/v2";
/// The longest text that is quoted.
const LONGEST_SNIPPET: usize = 400;

/// The indentation of the run's members.
const INDENT: usize = 6;

/// All findings, with the silenced ones, one file after the other.
#[derive(Debug)]
pub(super) struct SarifOutput {
    artifacts: List,
    results: List,
}

impl Default for SarifOutput {
    fn default() -> Self {
        Self {
            artifacts: List::new(INDENT),
            results: List::new(INDENT),
        }
    }
}

impl SarifOutput {
    pub fn add(&mut self, report: &Report, held: Option<&HeldAgainst>) {
        self.artifacts.push(&json!({
            "location": artifact(&report.source.name),
            "roles": ["analysisTarget"],
            "encoding": "utf-8",
        }));
        let (open, silenced) = fingerprints(report);
        for (finding, print) in report.findings.iter().zip(open) {
            self.results
                .push(&result(held, report, finding, None, print));
        }
        for (allowed, print) in report.allowed.iter().zip(silenced) {
            let finding = &allowed.finding;
            self.results
                .push(&result(held, report, finding, Some(allowed), print));
        }
    }

    /// The whole document, with the rules of its findings.
    pub fn finish(self, ending: &Ending) -> Vec<String> {
        let rules: Vec<Value> = CHECKS.iter().map(|check| rule(check)).collect();
        let members = [
            (
                "tool",
                Member::Value(json!({ "driver": {
                    "name": env!("CARGO_PKG_NAME"),
                    "version": env!("CARGO_PKG_VERSION"),
                    "semanticVersion": env!("CARGO_PKG_VERSION"),
                    "shortDescription": { "text": env!("CARGO_PKG_DESCRIPTION") },
                    "rules": rules,
                }})),
            ),
            ("columnKind", Member::Value(json!("utf16CodeUnits"))),
            (
                "originalUriBaseIds",
                Member::Value(json!({ ROOT: {
                    "description": { "text": "the folder that the check ran in" },
                }})),
            ),
            ("invocations", Member::Value(json!([invocation(ending)]))),
            ("artifacts", Member::List(self.artifacts)),
            ("results", Member::List(self.results)),
        ];
        let head = format!(
            "{{\n  \"$schema\": \"{SCHEMA}\",\n  \"version\": \"2.1.0\",\n  \"runs\": [\n    "
        );
        let mut pieces = vec![head];
        pieces.extend(object(INDENT, members));
        pieces.push("\n  ]\n}\n".to_owned());
        pieces
    }
}

fn invocation(ending: &Ending) -> Value {
    let unread = ending.unread.iter().map(|unread| {
        json!({
            "level": "error",
            "message": { "text": plain(&format!("`{}` {}", unread.file, unread.why)) },
            "locations": [{ "physicalLocation": { "artifactLocation": artifact(&unread.file) } }],
        })
    });
    let gone = ending.gone.iter().map(|known| {
        let text = format!(
            "{}: `{}` is in the baseline and is found no more",
            known.file, known.check
        );
        json!({ "level": "note", "message": { "text": plain(&text) } })
    });
    json!({
        "executionSuccessful": ending.unread.is_empty(),
        "toolExecutionNotifications": unread.chain(gone).collect::<Vec<_>>(),
    })
}

fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Info | Severity::Hint => "note",
    }
}

fn rule(check: &Check) -> Value {
    let mut text = format!("{} {}", check.finds, check.why);
    let mut markdown = format!("{}\n\n{}\n", check.finds, check.why);
    for limit in check.limits {
        let own = Display::default().show_finely(limit.value, limit.dimension);
        let line = format!(
            "`{}` = {own}: {} ({})",
            limit.name, limit.what, limit.source
        );
        let _ = write!(text, "\nLimit {line}");
        let _ = write!(markdown, "\n- limit {line}");
    }
    let _ = write!(text, "\nSource: {}", check.source);
    let _ = write!(
        markdown,
        "\n\nSource: {}. `bitepoint explain {}` shows examples.",
        check.source,
        check.name()
    );
    json!({
        "id": check.name(),
        "shortDescription": { "text": plain(check.finds) },
        "fullDescription": { "text": plain(&format!("{} {}", check.finds, check.why)) },
        "help": { "text": plain(&text), "markdown": braces(&markdown) },
        "defaultConfiguration": { "enabled": true, "level": level(check.severity) },
        "properties": { "tags": [check.severity.name()] },
    })
}

fn result(
    held: Option<&HeldAgainst>,
    report: &Report,
    finding: &Finding,
    silenced: Option<&Allowed>,
    print: String,
) -> Value {
    let problem = &finding.problem;
    let mut message = super::message(finding);
    if let Some(help) = finding.help() {
        let _ = write!(message, "\n{help}");
    }
    let mut location = json!({ "physicalLocation": physical(report, &problem.place) });
    if let Some(system) = &finding.system {
        location["logicalLocations"] = json!([{ "name": name(system), "kind": "object" }]);
    }
    let related: Vec<Value> = (1..)
        .zip(&problem.related)
        .map(|(id, related)| {
            json!({
                "id": id,
                "physicalLocation": physical(report, &related.place),
                "message": { "text": plain(&related.message) },
            })
        })
        .collect();
    let fixes: Vec<Value> = finding.fixes().filter_map(|f| fix(report, f)).collect();
    let index = CHECKS
        .iter()
        .position(|check| check.name() == finding.check.name());
    let mut value = json!({
        "ruleId": finding.check.name(),
        "ruleIndex": index,
        "level": level(finding.severity),
        "message": { "text": plain(&message) },
        "locations": [location],
        "relatedLocations": related,
        "fixes": fixes,
        "partialFingerprints": { FINGERPRINT: &print },
    });
    let by = silenced.map(|allowed| allowed.by);
    if let Some(held) = held {
        let is_worse = || {
            let found = (report.source.name.to_string(), print);
            held.worse.contains(&found)
        };
        value["baselineState"] = json!(match by {
            Some(Silencer::Baseline) => "unchanged",
            _ if is_worse() => "updated",
            _ => "new",
        });
    }
    // An empty list says that nothing was silenced, which a reader may count on.
    value["suppressions"] = silenced
        .map(|allowed| {
            let kind = match allowed.by {
                Silencer::Allow => "inSource",
                Silencer::Settings | Silencer::Baseline => "external",
            };
            json!({ "kind": kind, "status": "accepted", "justification": sanitize(&allowed.why) })
        })
        .into_iter()
        .collect();
    value
}

/// The edits of a fix, by file. The inserted text is not sanitized, as it is written into files. `None` where a place
/// is in no known file.
fn fix(report: &Report, fix: &Fix) -> Option<Value> {
    let mut changes: Vec<(&str, Vec<Value>)> = Vec::new();
    for (place, text) in &fix.edits {
        let replacement = json!({
            "deletedRegion": region(report, place)?,
            "insertedContent": { "text": text },
        });
        match changes.iter_mut().find(|(file, _)| *file == &*place.file) {
            Some((_, replacements)) => replacements.push(replacement),
            None => changes.push((&place.file, vec![replacement])),
        }
    }
    let changes: Vec<Value> = changes
        .into_iter()
        .map(|(file, replacements)| {
            json!({ "artifactLocation": artifact(file), "replacements": replacements })
        })
        .collect();
    Some(json!({ "description": { "text": plain(&fix.title) }, "artifactChanges": changes }))
}

fn physical(report: &Report, place: &Place) -> Value {
    let mut value = json!({ "artifactLocation": artifact(&place.file) });
    if let Some(mut region) = region(report, place) {
        let text = report.file(&place.file).map(|source| &*source.text);
        let snippet = report.range(place).of(text.unwrap_or_default());
        if !snippet.is_empty() && snippet.len() <= LONGEST_SNIPPET {
            region["snippet"] = json!({ "text": sanitize(snippet) });
        }
        value["region"] = region;
    }
    value
}

fn region(report: &Report, place: &Place) -> Option<Value> {
    let (start, end) = located_in(report, place, Encoding::Utf16)?;
    Some(json!({
        "startLine": start.line + 1,
        "startColumn": start.column + 1,
        "endLine": end.line + 1,
        "endColumn": end.column + 1,
    }))
}

/// The characters that need no escape in the path of an address.
const IN_PATH: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'/')
    .remove(b'-')
    .remove(b'_')
    .remove(b'.')
    .remove(b'~');

fn artifact(file: &str) -> Value {
    let path = utf8_percent_encode(file, IN_PATH);
    if !Path::new(file).is_absolute() {
        return json!({ "uri": path.to_string(), "uriBaseId": ROOT });
    }
    let slash = if file.starts_with('/') { "" } else { "/" };
    json!({ "uri": format!("file://{slash}{path}") })
}

/// A text without links or placeholders, whatever its author wrote (SARIF 2.1.0, 3.11.5 and 3.11.6).
fn plain(text: &str) -> String {
    let text = braces(&sanitize(text));
    if !text.contains("](") {
        return text;
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if matches!(c, '[' | ']' | '\\') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

fn braces(text: &str) -> String {
    text.replace('{', "{{").replace('}', "}}")
}
