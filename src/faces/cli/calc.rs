//! `bitepoint calc`

use super::{
    CannotRun, Config, Format, Status, input, no_system_at_all, print, progress, status, style,
    tell_left_out, wanted,
};
use crate::analysis::{CureSearch, Located, Pick, Report, Work, analyse_picked, analyse_with};
use crate::checks::Run;
use crate::faces::render::{ResultsLayout, calc_json, curve_csv, results_text};
use crate::quantity::Dimension;
use crate::solve::NotWorked;
use crate::syntax::{Expr, ExprKind, StatementKind, ValueKind, parse};
use std::path::PathBuf;

pub struct Request {
    pub file: PathBuf,
    pub system: Option<String>,
    /// The parts picked where the system leaves a choice.
    pub picks: Vec<Pick>,
    pub format: Format,
    pub at: Option<String>,
    /// The number of points of the curve; `None` if no curve is wanted.
    pub curve: Option<usize>,
    /// Whether missing and assumed values are listed as well.
    pub all: bool,
    /// Whether results have the names that a spec uses.
    pub names: bool,
    pub config: Config,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    let disk = request.config.disk()?;
    let source = input::read(&request.file, &disk)?;
    let mut report = match request.picks.as_slice() {
        picks @ [_, ..] => analyse_picked(source, &disk, request.system.as_deref(), picks)?,
        [] => progress::with(|work| {
            let cures = CureSearch::WhenAsked;
            analyse_with(source, &disk, &Work { cures, ..*work })
        }),
    }
    .with_settings();
    let held = request.at.as_deref().map(length).transpose()?;
    if let Some(travel) = held {
        hold(&mut report, travel);
    }
    if let Some(name) = &request.system {
        report.keep_concerning(name)?;
    }
    let systems = wanted(&report, request.system.as_deref())?;
    let status = status(&report, &systems);
    let is_nothing = systems.is_empty() && status == Status::Clean;
    let for_people = request.format == Format::Text && request.curve.is_none();
    if is_nothing && for_people {
        return Err(no_system_at_all(&report.source));
    }
    let text = if let Some(points) = request.curve {
        curve_csv(&systems, points)?
    } else if request.format == Format::Json {
        let (text, left_out) = calc_json(&report, &systems, held);
        tell_left_out(left_out.as_ref(), "calc", &report.source.name);
        text
    } else {
        let layout = ResultsLayout {
            width: style().width,
            all: request.all,
            names: request.names,
        };
        results_text(&report, &systems, held, layout)
    };
    print(&text)?;
    match is_nothing {
        // Machines get an empty list.
        true => Err(no_system_at_all(&report.source)),
        false => Ok(status),
    }
}

/// Puts a stop under every pedal at a travel. All results are then those with the pedal held there, or at its own end
/// if that comes first.
///
/// The findings are about full pedal, and are dropped.
fn hold(report: &mut Report, travel: f64) {
    let mut held = Vec::new();
    for worked in report.systems.iter_mut().filter_map(Located::get_mut) {
        let Ok(outcome) = &worked.outcome else {
            continue;
        };
        worked.outcome = outcome
            .with(|chain| {
                let stop = chain.pedal.stop.unwrap_or(chain.pedal.travel);
                chain.pedal.stop = Some(stop.min(travel));
            })
            .map(Box::new)
            .ok_or(NotWorked::Impossible);
        // They hold for full pedal.
        worked.tolerances = None;
        held.push(worked.system.name.clone());
    }
    report.findings.retain(|finding| {
        let of = finding.system.as_ref();
        // A mistake in the text counts wherever the pedal is.
        let is_read = matches!(finding.check.run, Run::Reading);
        is_read || of.is_none_or(|name| !held.contains(name))
    });
}

/// A length from the command line, in mm, read as in a spec.
fn length(text: &str) -> Result<f64, CannotRun> {
    let wrong = || format!("`--at` needs a length such as `90 mm` or `3 1/2 in`, not `{text}`");
    let tree = parse(&format!("let at = {text}"));
    let [statement] = tree.items.as_slice() else {
        return Err(wrong());
    };
    if let Some(flaw) = tree.flaws().next() {
        let help = flaw.help.as_ref().map(|help| format!("; {help}"));
        return Err(format!(
            "{}: {}{}",
            wrong(),
            flaw.message,
            help.unwrap_or_default()
        ));
    }
    let StatementKind::Let(item) = &statement.kind else {
        return Err(wrong());
    };
    match &item.value.kind {
        ValueKind::Plain(Expr {
            kind: ExprKind::Quantity { number, unit, .. },
            ..
        }) if unit.dimension() == Dimension::LENGTH => Ok(unit.inward(*number)),
        _ => Err(wrong()),
    }
}
