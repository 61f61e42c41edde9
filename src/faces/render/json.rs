//! Findings and results for machines. The forms are documented in grammar/formats.md; `version` is raised when
//! readers must change.

use super::json_list::{List, Member, object};
use super::kit::kit_json;
use super::tally::{Ending, Tally};
use super::{LeftOut, bounded, written};
use crate::analysis::{Report, Silencer, Worked};
use crate::checks::Finding;
use crate::finding::{Place, Severity};
use crate::model::Source;
use crate::quantity::UnitExpr;
use crate::schema::ResultId;
use crate::solve::why_absent;
use crate::syntax::Encoding;
use serde_json::{Map, Value, json};

pub(super) const VERSION: u32 = 1;

/// The indentation of an answer's members.
const INDENT: usize = 2;

/// The findings of files, one file after the other.
#[derive(Debug)]
pub(super) struct JsonOutput {
    files: List,
    findings: List,
    allowed: List,
    kits: List,
}

impl Default for JsonOutput {
    fn default() -> Self {
        let [files, findings, allowed, kits] = std::array::from_fn(|_| List::new(INDENT));
        Self {
            files,
            findings,
            allowed,
            kits,
        }
    }
}

impl JsonOutput {
    pub fn add(&mut self, report: &Report) {
        self.files.push(&json!(&*report.source.name));
        for finding in &report.findings {
            self.findings.push(&finding_json(report, finding));
        }
        for allowed in &report.allowed {
            let mut value = finding_json(report, &allowed.finding);
            value["why"] = json!(allowed.why);
            value["by"] = json!(match allowed.by {
                Silencer::Allow => "allow",
                Silencer::Settings => "settings",
                Silencer::Baseline => "baseline",
            });
            self.allowed.push(&value);
        }
        for worked in &report.systems {
            if let Some(kit) = &worked.kit {
                self.kits.push(&kit_json(worked, kit));
            }
        }
    }

    pub fn finish(self, tally: &Tally, ending: &Ending) -> Vec<String> {
        let counts: Map<String, Value> = Severity::ALL
            .iter()
            .rev()
            .map(|severity| (severity.name().to_owned(), json!(tally.found(*severity))))
            .collect();
        let unread = ending.unread.iter();
        let unread: Vec<Value> = unread
            .map(|unread| json!({ "file": unread.file, "why": unread.why }))
            .collect();
        let members = [
            ("version", Member::Value(json!(VERSION))),
            ("files", Member::List(self.files)),
            ("findings", Member::List(self.findings)),
            ("allowed", Member::List(self.allowed)),
            ("counts", Member::Value(Value::Object(counts))),
            ("unread", Member::Value(json!(unread))),
            ("gone", Member::Value(json!(ending.gone))),
            ("kits", Member::List(self.kits)),
        ];
        let mut pieces = object(INDENT, members);
        pieces.push("\n".to_owned());
        pieces
    }
}

pub(super) fn finding_json(report: &Report, finding: &Finding) -> Value {
    let problem = &finding.problem;
    let related: Vec<Value> = problem
        .related
        .iter()
        .map(|related| {
            let mut value = place_json(report, &related.place);
            value["message"] = json!(related.message);
            value
        })
        .collect();
    let fixes: Vec<Value> = finding
        .fixes()
        .map(|fix| {
            let edits: Vec<Value> = fix
                .edits
                .iter()
                .map(|(place, text)| {
                    let mut value = place_json(report, place);
                    value["text"] = json!(text);
                    value
                })
                .collect();
            json!({ "title": fix.title, "edits": edits })
        })
        .collect();
    let mut value = place_json(report, &problem.place);
    value["check"] = json!(finding.check.name());
    value["severity"] = json!(finding.severity.name());
    value["system"] = json!(finding.system);
    value["message"] = json!(problem.message);
    value["help"] = json!(finding.help());
    value["related"] = json!(related);
    value["fixes"] = json!(fixes);
    value
}

/// A place: lines and columns from one, columns in Unicode characters, offsets in bytes.
fn place_json(report: &Report, place: &Place) -> Value {
    let source: Option<&Source> = std::iter::once(&report.source)
        .chain(&report.used)
        .find(|source| source.name == place.file)
        .map(|source| &**source);
    let range = report.range(place);
    let end = |offset: u32| match source {
        Some(source) => {
            let at = source.lines.position(offset, Encoding::Utf32);
            json!({ "line": at.line + 1, "column": at.column + 1, "offset": offset })
        }
        None => json!({ "offset": offset }),
    };
    json!({
        "file": &*place.file,
        "start": end(range.start),
        "end": end(range.end),
    })
}

/// The findings of files, as one answer.
pub fn check_json<'r>(reports: impl Iterator<Item = &'r Report>) -> String {
    let (mut json, mut tally) = (JsonOutput::default(), Tally::default());
    for report in reports {
        tally.add(report);
        json.add(report);
    }
    json.finish(&tally, &Ending::default()).concat()
}

/// The results of some systems; `held` is the pad travel at which the pedal is held, if that is asked for.
///
/// If there are very many systems, the last ones are left out, and the answer says so.
pub fn calc_json(
    report: &Report,
    systems: &[&Worked],
    held: Option<f64>,
) -> (String, Option<LeftOut>) {
    let (systems, left_out) = bounded(systems, |_, worked| {
        let value = system_json(worked);
        let size = format!("{value:#}").len();
        (value, size)
    });
    let findings: Vec<Value> = report
        .findings
        .iter()
        .map(|finding| finding_json(report, finding))
        .collect();
    let value = json!({
        "version": VERSION,
        "file": &*report.source.name,
        "held_at": held,
        "systems": systems,
        "left_out": left_out.as_ref().map(|it| left_out_json(it, "calc", &report.source.name)),
        "findings": findings,
    });
    (written(&value), left_out)
}

/// The systems of a file that an answer leaves out.
pub(super) fn left_out_json(left_out: &LeftOut, command: &str, file: &str) -> Value {
    json!({
        "systems": left_out.count,
        "of": left_out.of,
        "first": left_out.first,
        "message": left_out.words(command, file),
    })
}

fn system_json(worked: &Worked) -> Value {
    let system = &worked.system;
    let mut results = Map::new();
    let mut absent = Map::new();
    for id in ResultId::all() {
        let spec = id.spec();
        match &worked.outcome {
            Ok(outcome) => match outcome.get(id) {
                Some(value) => {
                    let mut row = json!({ "value": outward(value, spec.unit), "unit": spec.unit });
                    if let Some(spread) = spread_json(worked, id) {
                        row["tolerance"] = spread;
                    }
                    results.insert(spec.name.to_owned(), row);
                }
                None => {
                    absent.insert(spec.name.to_owned(), json!(why_absent(system, id)));
                }
            },
            Err(why) => {
                absent.insert(spec.name.to_owned(), json!(why.words()));
            }
        }
    }
    let assumed: Vec<Value> = system
        .assumed()
        .into_iter()
        .map(|(field, text)| {
            json!({ "field": field.path(), "value": text, "source": field.field().source })
        })
        .collect();
    let worn = worked.outcome.as_ref().ok().and_then(|o| o.worn());
    let worn: Option<Map<String, Value>> = worn.map(|worn| {
        let row = |(id, value): (ResultId, f64)| {
            let spec = id.spec();
            let value = json!({ "value": outward(value, spec.unit), "unit": spec.unit });
            (spec.name.to_owned(), value)
        };
        worn.iter().map(row).collect()
    });
    let ended_by = worked.outcome.as_ref().ok().map(|o| o.ended_by.name());
    json!({
        "name": system.name,
        "title": system.title,
        "ended_by": ended_by,
        "results": results,
        "worn": worn,
        "absent": absent,
        "assumed": assumed,
        "kit": worked.kit.as_ref().map(|kit| kit_json(worked, kit)),
    })
}

/// The effect of the tolerances on a result.
fn spread_json(worked: &Worked, id: ResultId) -> Option<Value> {
    let tolerances = worked.tolerances.as_ref()?;
    let spread = tolerances.get(id)?;
    let unit = id.spec().unit;
    let variance = spread.variance_shares();
    let named = |shares: &[f64]| -> Map<String, Value> {
        let mut rows: Vec<_> = tolerances.inputs.iter().zip(shares).collect();
        rows.sort_by(|a, b| b.1.total_cmp(a.1));
        rows.into_iter()
            .map(|(input, share)| (worked.system.name_of(input), json!(share)))
            .collect()
    };
    let [low, nominal, high] =
        [spread.rss.low, spread.rss.nominal, spread.rss.high].map(|value| outward(value, unit));
    Some(json!({
        "low": outward(spread.worst.low, unit),
        "high": outward(spread.worst.high, unit),
        // One number for a band with two sides: the wider side, so that it never understates.
        "rss": (nominal - low).max(high - nominal),
        "rss_low": low,
        "rss_high": high,
        "shares": named(&spread.shares),
        "variance_shares": named(&variance),
    }))
}

/// An internal value in a unit of machine output.
pub(super) fn outward(value: f64, unit: &str) -> f64 {
    match UnitExpr::parse(unit) {
        Ok(unit) => unit.outward(value),
        Err(_) => value,
    }
}
