//! Changes of the text that are offered at a place, each with what it leads to. A change that could make something
//! worse is tried before it is offered.

mod missing;
mod next_reading;
mod other_part;

use super::mend::{sure_fixes, with_edits};
use super::{Report, Used, analyse, name_objection};
use crate::check_id::CheckId;
use crate::checks::{Finding, Run, bore_written, is_inch_size};
use crate::finding::{Fix, Place, Severity};
use crate::model::Source;
use crate::model::{is_repeated, spot};
use crate::quantity::{UnitExpr, UnitSystem, significant, usual_unit};
use crate::schema::FieldId;
use crate::schema::{BLOCKS, Block};
use crate::syntax::{
    self, Body, Expr, ExprKind, Field, Statement, StatementKind, TextRange, Value, ValueKind,
};
use crate::{field, result};
use std::sync::Arc;

/// A change that is offered.
#[derive(Clone, Debug)]
pub struct Action<'a> {
    /// The kind of change, by which editors sort and filter.
    pub kind: ActionKind,
    /// The edits, and the words that offer them.
    pub fix: Fix,
    /// The finding that it cures.
    pub cures: Option<&'a Finding>,
    /// Whether it is the only cure for that finding.
    pub is_only: bool,
}

/// What kind of change is offered.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ActionKind {
    /// Cures a finding, or removes what is unused.
    Fix,
    /// Silences a check, which is no cure.
    Allow,
    /// Writes the same meaning in another way: a value in another unit, or a default.
    Rewrite,
    /// Makes a part of a block that a system writes out.
    Extract,
    /// Applies all fixes of mistakes in the text.
    FixAll,
}

/// The files around one, as paths that its `use` would write. They are searched only if a file is missing.
pub type UsePaths<'a> = &'a dyn Fn() -> Vec<String>;

/// The changes offered for a run of text.
pub fn actions(report: &Report, within: TextRange) -> Vec<Action<'_>> {
    actions_among(report, within, &Vec::new)
}

/// The changes offered for a run of text, with the files around it.
pub fn actions_among<'r>(
    report: &'r Report,
    within: TextRange,
    paths: UsePaths<'_>,
) -> Vec<Action<'r>> {
    let mut actions = Vec::new();
    for finding in findings_in(report, within) {
        let fixes = &finding.problem.fixes;
        actions.extend(fixes.iter().map(|fix| Action {
            kind: ActionKind::Fix,
            fix: fix.clone(),
            cures: Some(finding),
            is_only: fixes.len() == 1,
        }));
    }
    for finding in findings_in(report, within) {
        let missing = missing_block(report, finding);
        actions.extend(
            missing
                .into_iter()
                .map(|fix| cure(ActionKind::Fix, fix, finding)),
        );
    }
    for finding in findings_in(report, within) {
        actions.extend(missing::put_in(report, finding, paths));
    }
    for finding in findings_in(report, within) {
        let others = other_part::other_parts(report, finding);
        actions.extend(
            others
                .into_iter()
                .map(|fix| cure(ActionKind::Fix, fix, finding)),
        );
    }
    actions.extend(next_reading::next_readings(report, within));
    for finding in findings_in(report, within) {
        let allow = allow(report, finding);
        actions.extend(allow.map(|fix| cure(ActionKind::Allow, fix, finding)));
    }
    let offer = |kind, fix| Action {
        kind,
        fix,
        cures: None,
        is_only: false,
    };
    let unused = missing::unused_use(report, within);
    actions.extend(unused.map(|fix| offer(ActionKind::Fix, fix)));
    actions.extend(convert(report, within).map(|fix| offer(ActionKind::Rewrite, fix)));
    actions.extend(say_assumed(report, within).map(|fix| offer(ActionKind::Rewrite, fix)));
    actions.extend(extract(report, within).map(|fix| offer(ActionKind::Extract, fix)));
    actions.extend(fix_all(report).map(|fix| offer(ActionKind::FixAll, fix)));
    actions
}

fn cure(kind: ActionKind, fix: Fix, finding: &Finding) -> Action<'_> {
    Action {
        kind,
        fix,
        cures: Some(finding),
        is_only: false,
    }
}

fn findings_in(report: &Report, within: TextRange) -> impl Iterator<Item = &Finding> {
    report.findings.iter().filter(move |finding| {
        let span = report.place_here(finding);
        span.start <= within.end && within.start <= span.end
    })
}

// ---- what comes of a change ----

/// The report of the file after a change.
fn after(report: &Report, fix: &Fix) -> Option<Report> {
    let text = with_edits(report, &fix.edits)?;
    let source = Source::new(report.source.name.clone(), text);
    Some(analyse(Arc::new(source), &Used(report)))
}

/// A change, if it causes no new error.
fn harmless(report: &Report, fix: Fix) -> Option<Fix> {
    let errors = |report: &Report| {
        let findings = report.findings.iter();
        findings.filter(|f| f.severity == Severity::Error).count()
    };
    let after = after(report, &fix)?;
    (errors(&after) <= errors(report)).then_some(fix)
}

// ---- allow ----

/// Silences a check in the system that the finding is about. The author must fill in the reason.
fn allow(report: &Report, finding: &Finding) -> Option<Fix> {
    if matches!(finding.check.run, Run::Reading) {
        return None;
    }
    let system = report.source.system(finding.system.as_ref()?)?;
    let text = format!("allow {}  \"say why\"", finding.check.name());
    Some(Fix {
        title: format!("allow `{}` in `{}`", finding.check.name(), system.name.text),
        edits: vec![statement_into(&report.source, &system.body, &text)?],
    })
}

/// A statement at the end of a body.
fn statement_into(source: &Source, body: &Body, statement: &str) -> Option<(Place, String)> {
    if !body.whole {
        return None;
    }
    let range = source.range(body.span);
    let brace = range.end.checked_sub(1)?;
    let lines = &source.lines;
    let opens = lines.line_of(range.start);
    let closes = lines.line_of(brace);
    let point = |at: u32| source.place_at(TextRange::empty(at));
    if opens == closes {
        // Statements of a system stand on lines of their own.
        return Some((point(brace), format!("\n    {statement}\n")));
    }
    let line = lines.line(closes)?;
    let before = source.text.get(line.start..brace as usize)?;
    match before.trim().is_empty() {
        true => Some((point(line.start as u32), format!("    {statement}\n"))),
        false => Some((point(brace), format!("\n    {statement}\n"))),
    }
}

// ---- what is missing ----

/// The most parts that are tried for a missing block.
const MOST_TRIED: usize = 4;

/// Parts for a block that a system lacks, each with what it leads to.
fn missing_block(report: &Report, finding: &Finding) -> Vec<Fix> {
    let found = || {
        if finding.check.id != CheckId::MissingBlock {
            return None;
        }
        let system = report.source.systems().find(|system| {
            let name = report.source.range(system.name.span);
            report.place_here(finding).touches(name.start)
        })?;
        let block = BLOCKS.iter().find(|block| {
            finding
                .problem
                .message
                .contains(&format!("`{}`", block.name))
        })?;
        Some((system, block))
    };
    let Some((system, block)) = found() else {
        return Vec::new();
    };
    let parts = report.sources().flat_map(|source| source.parts());
    parts
        .filter(|part| part.block.text == block.name)
        .take(MOST_TRIED)
        .filter_map(|part| {
            let text = format!("{} {}", block.name, part.name.text);
            let edit = statement_into(&report.source, &system.body, &text)?;
            let mut fix = Fix {
                title: format!("add `{text}`"),
                edits: vec![edit],
            };
            let after = after(report, &fix)?;
            let named = |worked: &&super::Worked| worked.system.name == system.name.text;
            let worked = after.worked_systems().find(named)?;
            if let Ok(outcome) = &worked.outcome
                && let Some(margin) = outcome.get(result!(release_margin))
                && let Some(effort) = outcome.get(result!(pedal_effort))
            {
                let show = |value, id: crate::schema::ResultId| {
                    worked.system.show(value, id.spec().dimension)
                };
                fix.title.push_str(&format!(
                    ": release margin {}, effort {}",
                    show(margin, result!(release_margin)),
                    show(effort, result!(pedal_effort))
                ));
            }
            Some(fix)
        })
        .collect()
}

// ---- what is assumed ----

/// Writes the assumed defaults into a block.
fn say_assumed(report: &Report, within: TextRange) -> Option<Fix> {
    let (system, block, _) = block_at(report, within)?;
    let worked = report.worked(system)?;
    let id = Block::named(&block.block.text).filter(|_| !is_repeated(&block.block.text))?;
    let assumed: Vec<String> = worked
        .system
        .assumed()
        .into_iter()
        .filter(|(field, _)| field.block == id)
        .map(|(field, text)| format!("{} = {text}", field.field().name))
        .collect();
    let body = block.body.as_ref().filter(|body| body.whole)?;
    let last = body.statements.last()?;
    if assumed.is_empty() {
        return None;
    }
    let lines = &report.source.lines;
    let range = report.source.range(body.span);
    let one_line = lines.line_of(range.start) == lines.line_of(range.end);
    let joint = if one_line { "  " } else { "\n        " };
    let text: String = assumed
        .iter()
        .map(|text| format!("{joint}{text}"))
        .collect();
    harmless(
        report,
        Fix {
            title: format!("write out what is assumed: {}", assumed.join(", ")),
            edits: vec![(report.source.place(last.span.at_end()), text)],
        },
    )
}

// ---- the other system of units ----

/// Converts a value to the other system of units.
fn convert(report: &Report, within: TextRange) -> Option<Fix> {
    let (field, block) = field_at(report, within)?;
    let mut edits = Vec::new();
    let id = FieldId::named(block, &field.name.text);
    let is_bore = id.is_some_and(|id| [field!(master.bore), field!(slave.bore)].contains(&id));
    for expr in quantities(&field.value) {
        let ExprKind::Quantity { number, unit, .. } = &expr.kind else {
            continue;
        };
        let other = match unit.system() {
            UnitSystem::Imperial => UnitSystem::Metric,
            _ => UnitSystem::Imperial,
        };
        let target = usual_unit(unit.dimension(), other).filter(|other| other != unit)?;
        if unit.has_offset() || target.has_offset() {
            return None;
        }
        let text = converted(unit.inward(*number), &target, is_bore);
        edits.push((report.source.place(expr.span), text));
    }
    let first = edits.first()?;
    let shown = match edits.as_slice() {
        [(_, text)] => text.clone(),
        _ => format!("{} …", first.1),
    };
    Some(Fix {
        title: format!("write `{}` as {shown}", field.name.text),
        edits,
    })
}

/// A converted value, with so many digits that no result changes visibly.
fn converted(value: f64, unit: &UnitExpr, is_bore: bool) -> String {
    if is_bore && unit.to_string() == "in" && is_inch_size(value) {
        return bore_written(value, UnitSystem::Imperial);
    }
    format!("{} {unit}", significant(unit.outward(value), 6))
}

/// The quantities in a value that can be converted one by one.
fn quantities(value: &Value) -> Vec<&Expr> {
    match &value.kind {
        ValueKind::Plain(expr) => vec![expr],
        ValueKind::Tolerance {
            nominal: a,
            spread: b,
        }
        | ValueKind::Limits { low: a, high: b } => [a, b].into_iter().flat_map(parts).collect(),
        ValueKind::Curve { points, spread } => {
            let points = points.iter().flat_map(|(x, y)| [x, y]);
            points.chain(spread).flat_map(parts).collect()
        }
        ValueKind::Text(_) | ValueKind::Bad => Vec::new(),
    }
}

/// The parts of an expression: itself, or its value and its tolerance.
fn parts(expr: &Expr) -> Vec<&Expr> {
    match &expr.kind {
        ExprKind::Toleranced { nominal, spread } => vec![nominal, spread],
        _ => vec![expr],
    }
}

// ---- parts ----

/// Makes a part from a block that a system writes out.
fn extract(report: &Report, within: TextRange) -> Option<Fix> {
    let (system, block, statement) = block_at(report, within)?;
    if block.name.is_some() || is_repeated(&block.block.text) {
        return None;
    }
    let body = block.body.as_ref().filter(|body| body.whole)?;
    let source = &report.source;
    let kind = &block.block.text;
    let resolver = report.resolver();
    let name = (1..100)
        .map(|number| match number {
            1 => format!("{}_{kind}", system.name.text),
            _ => format!("{}_{kind}_{number}", system.name.text),
        })
        .find(|name| resolver.part(kind, name).is_none())
        .filter(|name| name_objection(name).is_none())?;
    let own = source.tree.item(system.name.span.statement)?;
    let text = source.text_of(body.span).replace("\n    ", "\n");
    let at = source.place_at(TextRange::empty(own.start));
    harmless(
        report,
        Fix {
            title: format!("make a part `{name}` of this {kind}"),
            edits: vec![
                (at, format!("part {kind} {name} {text}\n\n")),
                (source.place(statement.span), format!("{kind} {name}")),
            ],
        },
    )
}

// ---- all at once ----

/// Applies the fixes of all mistakes in the text that have a single certain fix.
fn fix_all(report: &Report) -> Option<Fix> {
    let fixes = sure_fixes(report);
    let title = match fixes.len() {
        0 => return None,
        1 => "fix the one mistake in the text that has one fix".to_owned(),
        count => format!("fix the {count} mistakes in the text that have one fix each"),
    };
    let edits = fixes.into_iter().flat_map(|fix| fix.edits.iter().cloned());
    harmless(
        report,
        Fix {
            title,
            edits: edits.collect(),
        },
    )
}

// ---- where ----

/// The block of a system's own text around the start of a run of text.
fn block_at(
    report: &Report,
    within: TextRange,
) -> Option<(&syntax::System, &syntax::Block, &Statement)> {
    let spot = spot(&report.source.tree, within.start)?;
    let (system, block) = (spot.system?, spot.block?);
    let statement = system.body.statements.iter().find(
        |statement| matches!(&statement.kind, StatementKind::Block(b) if std::ptr::eq(b, block)),
    )?;
    Some((system, block, statement))
}

/// The field around the start of a run of text, and the name of its block.
fn field_at(report: &Report, within: TextRange) -> Option<(&Field, &str)> {
    let spot = spot(&report.source.tree, within.start)?;
    let (block, body) = match (spot.block, spot.part) {
        (Some(block), _) => (&block.block, block.body.as_ref()?),
        (None, Some(part)) => (&part.block, &part.body),
        (None, None) => return None,
    };
    let field = body.statements.iter().find_map(|s| match &s.kind {
        StatementKind::Field(field) => {
            let range = report.source.range(s.span);
            range.touches(within.start).then_some(field)
        }
        _ => None,
    })?;
    Some((field, &block.text))
}
