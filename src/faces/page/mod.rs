//! The program inside another one, such as a page. Requests and answers are JSON texts.
//!
//! A [`Session`] holds the texts that it is given and reads nothing else. An answer in JSON, as a sheet or as a
//! drawing equals that of the command line, byte for byte.

mod files;
mod places;
mod request;

use crate::analysis::diagnosis::{askable, diagnosis, not_on_this_car, read_reading, told};
use crate::analysis::{
    ActionKind, CureSearch, Report, Shelf, Work, Worked, actions_among, analyse_picked,
    analyse_with, completions_among, formatting, highlights, hover, lenses, no_system,
};
use crate::faces::render::{
    Size, calc_json, chain_drawing, check_json, curves, diagnosed_json, diagnosis_json,
};
use crate::faces::sanitize;
use crate::faces::sheet::{Extent, Form, Prices, SheetOptions, sheet_with};
use crate::finding::FileName;
use files::Texts;
use places::{finding_value, fix_value, offset, range_value};
use request::{Of, Request};
use serde_json::{Value, json};

/// The texts of a page, and the report of the file that was asked about last.
#[derive(Debug, Default)]
pub struct Session {
    texts: Texts,
    known: Option<Known>,
}

#[derive(Debug)]
struct Known {
    of: Of,
    report: Report,
}

impl Session {
    /// Answers a request with `{"answer": …}`, or with a sentence in `{"error": "…"}`.
    pub fn answer(&mut self, request: &str) -> String {
        let answer = match serde_json::from_str(request) {
            Ok(request) => self.answered(request),
            Err(error) => Err(format!("this is no request: {error}")),
        };
        match answer {
            Ok(answer) => json!({ "answer": answer }).to_string(),
            Err(why) => json!({ "error": sanitize::sanitize(&why) }).to_string(),
        }
    }

    fn answered(&mut self, request: Request) -> Result<Value, String> {
        match request {
            Request::Texts { texts } => {
                self.texts.replace(texts);
                self.known = None;
                Ok(Value::Null)
            }
            Request::Check { file } => self.check(&file).map(Value::from),
            Request::Findings { file } => {
                let report = self.report(Of::file(file))?;
                let findings = report.findings.iter();
                Ok(findings.map(|one| finding_value(report, one)).collect())
            }
            Request::Calc { of } => {
                // Findings of other systems are left out, so that it is a report of its own.
                let mut report = self.analysed(&of)?;
                if let Some(system) = &of.system {
                    report.keep_concerning(system)?;
                }
                let systems = wanted(&report, &of)?;
                let (text, _) = calc_json(&report, &systems, None);
                Ok(sanitize::lines(&text).into())
            }
            Request::Hover { file, at } => {
                let report = self.report(Of::file(file))?;
                let found = hover(report, offset(report, at));
                Ok(found.map_or(Value::Null, |hover| {
                    json!({ "markdown": hover.markdown, "range": range_value(&report.source, hover.span) })
                }))
            }
            Request::Completions { file, at } => self.completions(file, at),
            Request::Actions { file, start, end } => self.actions(file, (start, end)),
            Request::Format { file } => {
                let report = self.report(Of::file(file))?;
                let edits = formatting(report).unwrap_or_default();
                let edits = edits.into_iter();
                Ok(edits
                    .map(|edit| json!({ "range": range_value(&report.source, edit.span), "text": edit.text }))
                    .collect())
            }
            Request::Highlights { file } => {
                let report = self.report(Of::file(file))?;
                let words = highlights(report).into_iter();
                Ok(words
                    .map(|word| {
                        json!({
                            "range": range_value(&report.source, word.span),
                            "role": format!("{:?}", word.role).to_lowercase(),
                        })
                    })
                    .collect())
            }
            Request::Systems { file } => {
                let report = self.report(Of::file(file))?;
                let lenses = lenses(report);
                let line = |name: &str| {
                    let lens = lenses.iter().find(|lens| lens.system == name);
                    lens.map(|lens| lens.label.clone())
                };
                let systems = report.worked_systems();
                Ok(systems
                    .map(|worked| system_value(worked, line(&worked.system.name)))
                    .collect())
            }
            Request::Sheet { of, full, prices } => {
                let logo = self.texts.logo(&of.file);
                let report = self.report(of.clone())?;
                let systems = wanted(report, &of)?;
                let options = SheetOptions {
                    prices: if prices {
                        Prices::Shown
                    } else {
                        Prices::Hidden
                    },
                    extent: if full { Extent::Full } else { Extent::Fitting },
                    logo,
                };
                let (text, _) = sheet_with(report, &systems, Form::Html, &options);
                Ok(sanitize::lines(&text).into())
            }
            Request::Drawings { of } => {
                let report = self.report(of.clone())?;
                let systems = wanted(report, &of)?.into_iter();
                Ok(systems
                    .map(|worked| {
                        json!({
                            "system": worked.system.name,
                            "curves": curves(worked, Size::Page),
                            "chain": chain_drawing(worked),
                        })
                    })
                    .collect())
            }
            Request::Askable { of } => {
                let report = self.report(of.clone())?;
                let worked = only(report, &of)?;
                let rows = askable(worked).into_iter();
                Ok(rows
                    .map(|row| json!({ "name": row.reading.name(), "how": row.how, "right": row.right }))
                    .collect())
            }
            Request::Diagnose { of, readings } => self.diagnose(of, &readings),
        }
    }

    /// The report of a file, or of a combination of one of its systems.
    fn report(&mut self, of: Of) -> Result<&Report, String> {
        let is_known = self
            .known
            .as_ref()
            .is_some_and(|known| known.of.is_same_report(&of));
        let known = match self.known.take().filter(|_| is_known) {
            Some(known) => known,
            None => Known {
                report: self.analysed(&of)?,
                of,
            },
        };
        Ok(&self.known.insert(known).report)
    }

    fn analysed(&self, of: &Of) -> Result<Report, String> {
        let source = self.texts.spec(&of.file)?;
        let report = match of.pick.is_empty() {
            true => {
                let cures = CureSearch::WhenAsked;
                let work = Work {
                    cures,
                    ..Work::default()
                };
                analyse_with(source, &self.texts, &work)
            }
            false => {
                let picks: Vec<_> = of.pick.clone().into_iter().collect();
                analyse_picked(source, &self.texts, of.system.as_deref(), &picks)?
            }
        };
        Ok(report.with_settings())
    }

    /// What `bitepoint check --format json` prints for a file.
    fn check(&self, file: &str) -> Result<String, String> {
        let source = self.texts.spec(file)?;
        let cures = CureSearch::WhenAsked;
        let work = Work {
            cures,
            ..Work::default()
        };
        let mut report = analyse_with(source, &self.texts, &work);
        report.work_out_cures(true);
        let settings = self.texts.settings_report(&report.source.name);
        let mistaken = settings.filter(|report| !report.findings.is_empty());
        Ok(check_json(mistaken.iter().chain([&report])))
    }

    fn completions(&mut self, file: String, at: request::At) -> Result<Value, String> {
        let shelves = self.texts.shelves(&file);
        let report = self.report(Of::file(file))?;
        let shelves = || -> Vec<Shelf> { shelves.clone() };
        let found = completions_among(report, offset(report, at), &shelves);
        let source = &report.source;
        Ok(found
            .into_iter()
            .map(|one| {
                let edits: Vec<Value> = one
                    .edits
                    .iter()
                    .map(|edit| json!({ "range": range_value(source, edit.span), "text": edit.text }))
                    .collect();
                json!({
                    "label": one.label,
                    "kind": format!("{:?}", one.kind).to_lowercase(),
                    "detail": one.detail,
                    "doc": one.doc,
                    "insert": one.insert,
                    "snippet": one.snippet,
                    "range": range_value(source, one.span),
                    "edits": edits,
                })
            })
            .collect())
    }

    fn actions(&mut self, file: String, ends: (request::At, request::At)) -> Result<Value, String> {
        let paths = self.texts.paths_from(&file);
        let report = self.report(Of::file(file))?;
        let (start, end) = (offset(report, ends.0), offset(report, ends.1));
        let within = crate::syntax::TextRange {
            start,
            end: end.max(start),
        };
        let paths = || paths.clone();
        let offered = actions_among(report, within, &paths);
        // A single mistake has its own fix already.
        let offered = offered
            .into_iter()
            .filter(|action| action.kind != ActionKind::FixAll || !action.is_only);
        Ok(offered
            .map(|action| {
                let mut value = fix_value(report, &action.fix);
                value["kind"] = json!(format!("{:?}", action.kind).to_lowercase());
                value["cures"] = json!(action.cures.map(|finding| finding.check.name()));
                value
            })
            .collect())
    }

    fn diagnose(&mut self, of: Of, readings: &[String]) -> Result<Value, String> {
        let taken = readings.iter().map(|text| read_reading(text));
        let taken = taken.collect::<Result<Vec<_>, _>>()?;
        for (i, one) in taken.iter().enumerate() {
            if taken
                .iter()
                .take(i)
                .any(|other| other.reading == one.reading)
            {
                return Err(format!(
                    "the reading `{}` is given twice",
                    one.reading.name()
                ));
            }
        }
        let report = self.report(of.clone())?;
        let worked = only(report, &of)?;
        if worked.kit.is_some() {
            return Err("pick a part for each choice first: readings are of one car".to_owned());
        }
        let cannot = taken
            .iter()
            .find_map(|one| not_on_this_car(worked, one.reading));
        if let Some(why) = cannot.filter(|_| worked.is_worked_out()) {
            return Err(why);
        }
        let found = diagnosis(worked, &taken);
        let value = diagnosed_json(worked, found.as_ref());
        let text = diagnosis_json(vec![value], &report.source.name, None);
        let visits = found.iter().flat_map(|found| &found.visits);
        let visits: Vec<Value> = visits
            .map(|visit| places::visit_value(&told(worked, visit)))
            .collect();
        Ok(json!({ "json": sanitize::lines(&text), "visits": visits }))
    }
}

/// The systems that a request is about.
fn wanted<'r>(report: &'r Report, of: &Of) -> Result<Vec<&'r Worked>, String> {
    let is_wanted = |worked: &&Worked| {
        of.system
            .as_ref()
            .is_none_or(|name| *name == worked.system.name)
    };
    let found: Vec<&Worked> = report.worked_systems().filter(is_wanted).collect();
    match (&of.system, found.is_empty()) {
        (Some(name), true) => Err(no_system(&report.source, name)),
        _ => Ok(found),
    }
}

/// The one system that a request is about.
fn only<'r>(report: &'r Report, of: &Of) -> Result<&'r Worked, String> {
    match wanted(report, of)?.as_slice() {
        [worked] => Ok(worked),
        [] => Err(format!("there is no system in `{}`", report.source.name)),
        _ => Err("name the system that is meant".to_owned()),
    }
}

/// A system with its verdict line and its choices.
fn system_value(worked: &Worked, line: Option<String>) -> Value {
    let axes = worked.kit.iter().flat_map(|kit| &kit.labels.axes);
    let choices: Vec<Value> = axes
        .map(|axis| json!({ "block": axis.subject.words(), "parts": axis.choices }))
        .collect();
    json!({
        "name": worked.system.name,
        "title": worked.system.title,
        "line": line,
        "worked_out": worked.is_worked_out(),
        "choices": choices,
    })
}

/// The name of a file as a request gives it.
fn named(file: &str) -> FileName {
    file.into()
}
