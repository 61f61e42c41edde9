//! Findings for people, with the lines that they are about.

use super::kit::kits_text;
use super::tally::{Ending, HeldAgainst, Tally};
use super::{TextStyle, counted, the_place};
use crate::analysis::Report;
use crate::check_id::CheckId;
use crate::checks::Finding;
use crate::faces::sanitize::{lines, name, same_length, sanitize};
use crate::finding::{FileName, Place, Severity};
use crate::model::Source;
use crate::syntax::Encoding;
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError,
    MietteSpanContents, SourceCode, SourceSpan, SpanContents,
};
use std::collections::HashMap;
use std::fmt::{self, Write};
use std::sync::Arc;

/// The longest line that is shown; a longer one would bury the message.
const LONGEST_LINE: usize = 400;

/// Every finding with its lines, the worst first.
pub fn findings_text(reports: &[Report], style: TextStyle) -> String {
    let files = reports.iter();
    files
        .map(|report| file_text(report, style, Severity::Hint))
        .collect()
}

/// The findings of a file, the worst first. Those at or above a severity have their lines. Of the others only the
/// number in each system is given.
fn file_text(report: &Report, style: TextStyle, least: Severity) -> String {
    let theme = if style.colour {
        GraphicalTheme::unicode()
    } else {
        GraphicalTheme::unicode_nocolor()
    };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(style.width)
        .with_links(false)
        .with_context_lines(1);
    let mut out = String::new();
    let mut texts = SafeTexts::default();
    for group in grouped(report) {
        if group.finding.severity < least {
            continue;
        }
        let shown = Shown::new(report, &group, &mut texts);
        if handler.render_report(&mut out, &shown).is_err() {
            // This happens only for a place outside its text; the message is still printed.
            let _ = writeln!(out, "{}: {shown}", group.finding.check.name());
        }
        out.push('\n');
    }
    let notes = notes_text(report, least, style.width);
    if !notes.is_empty() {
        out.push_str(&notes);
        out.push('\n');
    }
    out
}

/// One line for all notes of a system; the longer form shows them in full. Systems with notes of the same checks
/// share a line.
fn notes_text(report: &Report, below: Severity, width: usize) -> String {
    let file: &str = &report.source.name;
    let mut of_systems: Vec<(&str, Vec<&str>)> = Vec::new();
    let mut places: HashMap<&str, usize> = HashMap::new();
    for finding in report.findings.iter().filter(|f| f.severity < below) {
        let whose = finding.system.as_deref().unwrap_or(file);
        let at = *places.entry(whose).or_insert_with(|| {
            of_systems.push((whose, Vec::new()));
            of_systems.len() - 1
        });
        of_systems[at].1.push(finding.check.name());
    }
    let mut lines: Vec<(Vec<&str>, Vec<&str>)> = Vec::new();
    let mut known: HashMap<Vec<&str>, usize> = HashMap::new();
    for (whose, checks) in of_systems {
        match known.get(&checks) {
            Some(line) => lines[*line].1.push(whose),
            None => {
                known.insert(checks.clone(), lines.len());
                lines.push((checks, vec![whose]));
            }
        }
    }
    let mut out = String::new();
    for (checks, systems) in lines {
        let line = format!(
            "{}: {}{}; --verbose shows them",
            name(systems[0]),
            notes_line(&checks),
            also_in(", ", &systems[1..])
        );
        let options = textwrap::Options::new(width).subsequent_indent("  ");
        out.push_str(&textwrap::fill(&line, options));
        out.push('\n');
    }
    out
}

/// The other systems with the same finding: `, also in: b, c`. Empty if there are none.
fn also_in(joint: &str, systems: &[&str]) -> String {
    /// The most names; more would bury the message.
    const MOST: usize = 8;
    if systems.is_empty() {
        return String::new();
    }
    let named = &systems[..systems.len().min(MOST)];
    let more = match systems.len() - named.len() {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    format!("{joint}also in: {}{more}", name(&named.join(", ")))
}

/// The number of notes, and their checks: `2 notes (odd-size, assumed-value)`.
pub(super) fn notes_line(checks: &[&str]) -> String {
    let mut once: Vec<&str> = Vec::new();
    for check in checks {
        if !once.contains(check) {
            once.push(check);
        }
    }
    format!("{} ({})", counted(checks.len(), "note"), once.join(", "))
}

/// A finding on one line, after its place: `van.clutch:5:11: error[short-release] van: …`.
pub(super) fn short_line(report: &Report, finding: &Finding) -> String {
    format!(
        "{}: {}[{}] {}",
        the_place(report, &finding.problem.place),
        finding.severity.name(),
        finding.check.name(),
        name(&super::message(finding)),
    )
}

/// Every finding of a file on a line of its own, the worst first.
fn findings_short(report: &Report) -> String {
    let mut out = String::new();
    for group in grouped(report) {
        let also = also_in("; ", &group.also);
        let _ = writeln!(out, "{}{also}", short_line(report, group.finding));
    }
    out
}

/// A finding, with the names of the other systems that have it too.
struct Grouped<'r> {
    finding: &'r Finding,
    also: Vec<&'r str>,
}

/// The findings of a file, the worst first. A finding that several systems have with the same numbers, such as
/// systems with a common base, is listed once.
fn grouped(report: &Report) -> Vec<Grouped<'_>> {
    let mut groups: Vec<Grouped<'_>> = Vec::new();
    let mut known: HashMap<(CheckId, Severity, &str), usize> = HashMap::new();
    for finding in &report.findings {
        let message = finding.problem.message.as_str();
        let key = (finding.check.id, finding.severity, message);
        let first = known.get(&key).map(|first| &mut groups[*first]);
        match (first, finding.system.as_deref()) {
            (Some(first), Some(system)) if first.is_in_others_than(system) => {
                first.also.push(system);
            }
            (_, system) => {
                if system.is_some() {
                    known.entry(key).or_insert(groups.len());
                }
                groups.push(Grouped {
                    finding,
                    also: Vec::new(),
                });
            }
        }
    }
    groups.sort_by_key(|group| std::cmp::Reverse(group.finding.severity));
    groups
}

impl Grouped<'_> {
    /// Whether a system is not yet listed for this finding. Findings are ordered by system, so that only the last
    /// name can be the same.
    fn is_in_others_than(&self, system: &str) -> bool {
        let last = self.also.last().copied();
        last.or(self.finding.system.as_deref()) != Some(system)
    }
}

/// The findings of files for people, one file after the other.
#[derive(Debug)]
pub(super) struct TextOutput {
    style: TextStyle,
    /// The least severity of findings that are shown with their lines; `None` for one line for each finding.
    least: Option<Severity>,
    /// The text about kits, which follows all findings.
    kits: String,
}

impl TextOutput {
    /// Output with lines for findings at or above a severity.
    pub fn new(style: TextStyle, least: Severity) -> Self {
        Self {
            style,
            least: Some(least),
            kits: String::new(),
        }
    }

    /// Output with one line for each finding.
    pub fn short(style: TextStyle) -> Self {
        Self {
            style,
            least: None,
            kits: String::new(),
        }
    }

    pub fn add(&mut self, report: &Report) -> String {
        let Some(least) = self.least else {
            return lines(&findings_short(report)).into_owned();
        };
        self.kits
            .push_str(&kits_text(std::slice::from_ref(report), self.style.width));
        lines(&file_text(report, self.style, least)).into_owned()
    }

    pub fn finish(self, tally: &Tally, held: Option<&HeldAgainst>, ending: &Ending) -> Vec<String> {
        let summary = summary(tally, held, ending);
        vec![lines(&format!("{}{summary}\n", self.kits)).into_owned()]
    }
}

/// The last line: what was checked, and the result.
fn summary(tally: &Tally, held: Option<&HeldAgainst>, ending: &Ending) -> String {
    let notes = tally.found(Severity::Info) + tally.found(Severity::Hint);
    let counts = [
        (tally.found(Severity::Error), "error"),
        (tally.found(Severity::Warning), "warning"),
        (notes, "note"),
    ];
    let counts: Vec<String> = counts
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| counted(count, what))
        .collect();
    let found = if counts.is_empty() {
        "nothing to report".to_owned()
    } else {
        counts.join(", ")
    };
    let silenced = tally.silenced().into_iter();
    let silenced: Vec<String> = silenced
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
    let silenced = match silenced.as_slice() {
        [] => String::new(),
        some => format!(" ({})", some.join(", ")),
    };
    let gone = match (held, ending.gone.len()) {
        (Some(held), gone) if gone > 0 => format!(
            "\n{} of the baseline `{}` found no more: write it anew with `--write-baseline`",
            counted(gone, "finding"),
            name(&held.baseline)
        ),
        _ => String::new(),
    };
    format!(
        "{} in {}: {found}{silenced}{gone}",
        counted(tally.systems, "system"),
        counted(tally.files, "file")
    )
}

/// A finding in the form that miette reads.
#[derive(Debug)]
struct Shown {
    code: &'static str,
    severity: Severity,
    message: String,
    help: Option<String>,
    lines: Option<Lines>,
    labels: Vec<LabeledSpan>,
}

impl Shown {
    fn new(report: &Report, group: &Grouped<'_>, texts: &mut SafeTexts) -> Self {
        let finding = group.finding;
        let problem = &finding.problem;
        let mut message = super::message(finding);
        let source = source(report, &problem.place);
        let mut labels = Vec::new();
        // Places in other files are named; their lines would bury the message.
        let mut notes: Vec<String> = finding.help().map(str::to_owned).into_iter().collect();
        if !group.also.is_empty() {
            notes.push(also_in("", &group.also));
        }
        let mut showable = source.is_some();
        let mut label = |place: &Place, text: Option<String>, primary: bool| {
            let range = report.range(place).range();
            let span: SourceSpan = (range.start, range.len()).into();
            labels.push(if primary {
                LabeledSpan::new_primary_with_span(text, span)
            } else {
                LabeledSpan::new_with_span(text, span)
            });
        };
        label(&problem.place, None, true);
        for related in &problem.related {
            if related.place.file == problem.place.file {
                label(&related.place, Some(sanitize(&related.message)), false);
            } else {
                let at = the_place(report, &related.place);
                notes.push(format!("{at}: {}", related.message));
            }
        }
        if let Some(source) = source {
            showable = problem
                .related
                .iter()
                .map(|related| &related.place)
                .chain([&problem.place])
                .filter(|place| place.file == problem.place.file)
                .all(|place| is_short(source, place));
        }
        if !showable {
            message = format!("{}: {message}", the_place(report, &problem.place));
        }
        Self {
            code: finding.check.name(),
            severity: finding.severity,
            message: sanitize(&message),
            help: (!notes.is_empty()).then(|| sanitize(&notes.join("\n"))),
            lines: source
                .filter(|_| showable)
                .map(|source| Lines::new(source, texts)),
            labels: if showable { labels } else { Vec::new() },
        }
    }
}

fn source<'a>(report: &'a Report, place: &Place) -> Option<&'a Arc<Source>> {
    std::iter::once(&report.source)
        .chain(&report.used)
        .find(|source| source.name == place.file)
}

fn is_short(source: &Source, place: &Place) -> bool {
    let line = source.lines.line_of(source.range(place.span).start);
    source
        .lines
        .line(line)
        .is_some_and(|line| line.len() <= LONGEST_LINE)
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Shown {}

impl Diagnostic for Shown {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(format!("{}: {}", self.severity.name(), self.code)))
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
            Severity::Info | Severity::Hint => miette::Severity::Advice,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help
            .as_ref()
            .map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.lines.as_ref().map(|lines| lines as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// Texts without anything that controls a terminal, with the same number of bytes. They are made once for each file,
/// and only if needed.
#[derive(Default)]
struct SafeTexts {
    texts: HashMap<FileName, Option<Arc<str>>>,
}

impl SafeTexts {
    fn text(&mut self, source: &Source) -> Option<Arc<str>> {
        let make = || {
            let safe = same_length(&source.text);
            (safe != source.text).then(|| safe.into())
        };
        self.texts
            .entry(source.name.clone())
            .or_insert_with(make)
            .clone()
    }
}

/// The lines of a file, found by its line index without reading it from the start.
struct Lines {
    source: Arc<Source>,
    safe: Option<Arc<str>>,
}

impl fmt::Debug for Lines {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Lines({})", self.source.name)
    }
}

impl Lines {
    fn new(source: &Arc<Source>, texts: &mut SafeTexts) -> Self {
        Self {
            source: source.clone(),
            safe: texts.text(source),
        }
    }
}

impl SourceCode for Lines {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let index = &self.source.lines;
        let end = span.offset() + span.len();
        if end > self.source.text.len() {
            return Err(MietteError::OutOfBounds);
        }
        let line_of = |offset: usize| index.line_of(offset as u32);
        let first = line_of(span.offset()).saturating_sub(before as u32);
        let last = (line_of(end) + after as u32).min(index.line_count() as u32 - 1);
        let whole = index.line(first).zip(index.line(last));
        let Some((first_line, last_line)) = whole else {
            return Err(MietteError::OutOfBounds);
        };
        let bytes = match &self.safe {
            Some(safe) => safe.as_bytes(),
            None => self.source.text.as_bytes(),
        };
        // Without context, a reader asks where the span itself begins.
        let (start, column) = if before == 0 {
            let at = index.position(span.offset() as u32, Encoding::Utf32);
            (span.offset(), at.column as usize)
        } else {
            (first_line.start, 0)
        };
        let range = start..last_line.end.max(start);
        Ok(Box::new(MietteSpanContents::new_named(
            name(&self.source.name),
            &bytes[range.clone()],
            (range.start, range.len()).into(),
            first as usize,
            column,
            (last - first) as usize + 1,
        )))
    }
}
