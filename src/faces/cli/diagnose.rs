//! `bitepoint diagnose`

use super::{
    CannotRun, Config, Status, input, needs_pick, print, say, status, style, tell_left_out, wanted,
    without_system,
};
use crate::analysis::diagnosis::{diagnosis, has_other_errors, has_readings, not_on_this_car};
use crate::analysis::{Pick, Report, Worked, analyse, analyse_picked};
use crate::diagnose::Taken;
use crate::faces::render::{
    askable_text, bounded, diagnosed_json, diagnosis_json, diagnosis_text, measured_markdown,
    not_worked, other_errors,
};
use crate::faces::sanitize;
use clap::ValueEnum;
use std::path::PathBuf;

#[derive(ValueEnum, Clone, Copy, PartialEq, Debug)]
pub enum Form {
    /// For people
    Text,
    /// For machines; documented in grammar/formats.md
    Json,
    /// Markdown, for a job card or a message
    Md,
}

pub struct Request {
    pub file: PathBuf,
    pub system: Option<String>,
    /// The parts picked where the system leaves a choice.
    pub picks: Vec<Pick>,
    /// The readings given besides those of the spec.
    pub readings: Vec<Taken>,
    pub form: Form,
    pub config: Config,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    let more = request.readings.as_slice();
    if let Some(twice) = twice(more) {
        return Err(format!(
            "the reading `{}` is given twice",
            twice.reading.name()
        ));
    }
    let disk = request.config.disk()?;
    let source = input::read(&request.file, &disk)?;
    let report = match request.picks.as_slice() {
        picks @ [_, ..] => analyse_picked(source, &disk, request.system.as_deref(), picks)?,
        [] => analyse(source, &disk),
    }
    .with_settings();
    let asked = wanted(&report, request.system.as_deref())?;
    if asked.is_empty() {
        return without_system(&report, status(&report, &asked));
    }
    if more.is_empty() {
        return answer(request, &report, &asked);
    }
    let [only] = asked.as_slice() else {
        let names: Vec<&str> = asked
            .iter()
            .map(|worked| worked.system.name.as_str())
            .collect();
        return Err(format!(
            "`{}` has several systems; name the one that was measured: {}",
            report.source.name,
            names.join(", ")
        ));
    };
    let mut unreadable = more.iter().filter_map(|t| not_on_this_car(only, t.reading));
    match unreadable.next() {
        // What a system with a mistake lacks may only be unreadable.
        Some(why) if only.is_worked_out() => Err(why),
        _ => answer(request, &report, &asked),
    }
}

/// A reading that is given a second time.
fn twice(readings: &[Taken]) -> Option<&Taken> {
    let is_known = |(i, taken): &(usize, &Taken)| {
        let before = readings.iter().take(*i);
        before
            .into_iter()
            .any(|known| known.reading == taken.reading)
    };
    readings
        .iter()
        .enumerate()
        .find(is_known)
        .map(|(_, taken)| taken)
}

/// The diagnosis of measured systems, or how to give readings if there are none.
fn answer(request: &Request, report: &Report, asked: &[&Worked]) -> Result<Status, CannotRun> {
    let more = request.readings.as_slice();
    let is_measured = |worked: &&Worked| !more.is_empty() || has_readings(worked);
    let measured: Vec<&Worked> = asked.iter().copied().filter(is_measured).collect();
    let systems = match measured.as_slice() {
        [] => asked,
        measured => measured,
    };
    let needs_pick = |worked: &&Worked| needs_pick(worked, "readings are of one car");
    if let Some(why) = measured.iter().find_map(needs_pick) {
        return Err(why);
    }
    let file = &report.source.name;
    let mut drags = false;
    let mut values = Vec::new();
    let mut explained = Vec::new();
    let (pieces, left_out) = bounded(systems, |_, worked| {
        let found = diagnosis(worked, more);
        let visits = found.iter().flat_map(|found| &found.visits);
        drags |= visits.into_iter().any(|visit| visit.drags);
        let text = match (request.form, &found) {
            (Form::Json, found) => {
                let value = diagnosed_json(worked, found.as_ref());
                let text = format!("{value:#}");
                values.push(value);
                text
            }
            (Form::Md, found) => measured_markdown(report, worked, found.as_ref(), file),
            _ if worked.outcome.is_err() && worked.kit.is_none() => not_worked(report, worked),
            (Form::Text, Some(found)) => diagnosis_text(worked, found, style().width),
            (Form::Text, None) => {
                askable_text(worked, &sanitize::name(file), style().width, &mut explained)
            }
        };
        let size = text.len();
        (text, size)
    });
    let status = status(report, systems);
    tell_left_out(left_out.as_ref(), "diagnose", file);
    print(&match request.form {
        Form::Json => diagnosis_json(values, file, left_out.as_ref()),
        Form::Text | Form::Md => format!("{}\n", pieces.join("\n").trim_end()),
    })?;
    if has_other_errors(report, systems) {
        say(&other_errors(&sanitize::name(file)));
    }
    match drags {
        true => Ok(Status::Findings),
        false => Ok(status),
    }
}
