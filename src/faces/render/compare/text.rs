//! A comparison for a terminal.

use super::parts::{self, PartChange};
use super::{
    Compared, Row, Sides, Told, fate_words, file_name, is_told_by_parts, location,
    not_worked_words, one_sided, own_inputs, report_of, row, said, speaker, told_systems, worn,
};
use crate::analysis::compare::{Comparison, Fate, FindingChange, ResultChange, SystemChange};
use crate::faces::render::{TextStyle, counted};
use crate::faces::sanitize;
use std::fmt::Write;

/// What changed, file by file.
pub fn to_text(compared: &Compared, style: TextStyle) -> String {
    let sides = &compared.sides;
    let mut writer = Writer {
        out: String::new(),
        width: style.width,
        sides,
    };
    writer.line(&format!("{} → {}", sides.before, sides.after));
    let changed = compared.files.len();
    let summary = match changed {
        0 => compared.nothing().to_owned(),
        _ => compared.tally().words(),
    };
    let (files, others) = (counted(changed, "file"), compared.others());
    writer.line(&format!("{files} changed{others}: {summary}"));
    if changed > 0 || !compared.submodules.is_empty() {
        writer.out.push('\n');
    }
    writer.parts(&compared.parts());
    for file in &compared.files {
        if let Told::Text(text) = &file.told {
            writer.out.push_str(text);
        }
    }
    for submodule in &compared.submodules {
        writer.hanging("", &submodule.words());
    }
    // The files end with a blank line each.
    writer.out.truncate(writer.out.trim_end().len());
    writer.out.push('\n');
    writer.out
}

/// One file; `was` is its former name, if it was renamed.
pub(super) fn file(
    file: &Comparison<'_>,
    was: Option<&str>,
    sides: &Sides,
    style: TextStyle,
) -> String {
    let mut writer = Writer {
        out: String::new(),
        width: style.width,
        sides,
    };
    writer.file(file, was);
    writer.out
}

struct Writer<'a> {
    out: String,
    width: usize,
    sides: &'a Sides,
}

impl Writer<'_> {
    fn line(&mut self, text: &str) {
        self.out.push_str(&sanitize::sanitize(text));
        self.out.push('\n');
    }

    /// A text after a lead, with its further lines indented to its beginning.
    fn hanging(&mut self, lead: &str, text: &str) {
        let indent = " ".repeat(lead.chars().count());
        let (text, lead) = (sanitize::sanitize(text), sanitize::sanitize(lead));
        let options = textwrap::Options::new(self.width)
            .initial_indent(&lead)
            .subsequent_indent(&indent);
        self.out.push_str(&textwrap::fill(&text, options));
        self.out.push('\n');
    }

    /// The changed parts, each with the systems that it affects.
    fn parts(&mut self, parts: &[PartChange]) {
        if parts.is_empty() {
            return;
        }
        self.line("parts that changed");
        let width = parts.iter().map(|part| part.what.chars().count());
        let width = width.max().unwrap_or(0);
        let (lines, more) = parts::lines(parts, usize::MAX, |part| {
            let change = format!("{} → {}", part.before, part.after);
            format!("{change}; reaches {}", part.reaches_words())
        });
        for (part, line) in parts.iter().zip(lines) {
            self.hanging(&format!("  {:width$}  ", part.what), &line);
        }
        if let Some(more) = more {
            self.line(&format!("  {more}"));
        }
        self.out.push('\n');
    }

    fn file(&mut self, file: &Comparison<'_>, was: Option<&str>) {
        if is_told_by_parts(file, was) {
            return;
        }
        let name = sanitize::name(file_name(file));
        let one_sided = one_sided(file.before.is_some(), file.after.is_some());
        match (one_sided, was) {
            (Some(words), _) => self.line(&format!("{name} {words}")),
            (None, Some(was)) => self.line(&format!("{name} (before: {})", sanitize::name(was))),
            (None, None) => self.line(&name),
        }
        self.findings(file, &file.findings, 2);
        for system in told_systems(file) {
            self.system(file, system);
        }
        self.out.push('\n');
    }

    fn system(&mut self, file: &Comparison<'_>, system: &SystemChange<'_>) {
        let Some(worked) = speaker(system) else {
            return;
        };
        let mut head = format!("  {}", system.name());
        let old = system.before.map(|worked| worked.system.name.as_str());
        if let Some(old) = old.filter(|old| *old != system.name()) {
            let _ = write!(head, " (before: {old})");
        }
        match one_sided(system.before.is_some(), system.after.is_some()) {
            Some(words) => {
                let _ = write!(head, " {words}");
            }
            None => {
                if let Some(title) = &worked.system.title {
                    let _ = write!(head, ": {title}");
                }
            }
        }
        self.line(&head);
        for why in not_worked_words(system, self.sides) {
            self.hanging("    ", &why);
        }
        self.inputs(system);
        self.findings(file, &system.findings, 4);
        if let Some((before, after)) = system.ended_by {
            let [before, after] = [before.words(), after.words()];
            self.hanging(
                "    ",
                &format!("what ends the pedal was {before}, and is now {after}"),
            );
        }
        let moved: Vec<&ResultChange> = system.results.iter().collect();
        self.results("results that moved", &moved, system);
        self.results(
            "with the disc worn out, nothing adjusted since",
            &worn(system),
            system,
        );
    }

    fn inputs(&mut self, system: &SystemChange<'_>) {
        let inputs = own_inputs(system);
        if inputs.is_empty() {
            return;
        }
        self.line("    inputs that changed");
        let width = inputs.iter().map(|input| input.what.chars().count());
        let width = width.max().unwrap_or(0);
        for input in inputs {
            let (before, after) = (said(input.before.as_ref()), said(input.after.as_ref()));
            let lead = format!("      {:width$}  ", input.what);
            self.hanging(&lead, &format!("{before} → {after}"));
        }
    }

    fn findings(&mut self, file: &Comparison<'_>, changes: &[FindingChange<'_>], indent: usize) {
        let stayed = changes
            .iter()
            .filter(|change| change.fate == Fate::Stayed)
            .count();
        if stayed == changes.len() {
            return;
        }
        let indent = " ".repeat(indent);
        self.line(&format!("{indent}findings"));
        for change in changes.iter().filter(|change| change.fate != Fate::Stayed) {
            self.finding(file, change, &indent);
        }
        if stayed > 0 {
            self.line(&format!("{indent}  stayed: {stayed}"));
        }
    }

    fn finding(&mut self, file: &Comparison<'_>, change: &FindingChange<'_>, indent: &str) {
        let Some(finding) = change.finding() else {
            return;
        };
        let lead = format!("{indent}  {}: ", fate_words(change.fate));
        let at = location(report_of(file, change), finding);
        let severity = finding.severity.word();
        let message = &finding.problem.message;
        self.hanging(
            &lead,
            &format!("{severity} {}: {message} ({at})", finding.check.name()),
        );
        let under = " ".repeat(lead.chars().count());
        match (change.fate, change.before, change.why) {
            (Fate::Changed, Some(before), _) => {
                let (severity, message) = (before.severity.word(), &before.problem.message);
                self.hanging(
                    &format!("{under}before: "),
                    &format!("{severity}: {message}"),
                );
            }
            (Fate::Silenced, _, Some(why)) => {
                self.hanging(&format!("{under}because: "), why);
            }
            (Fate::Came | Fate::Unsilenced, ..) => {
                if let Some(help) = finding.help() {
                    self.hanging(&format!("{under}help: "), help);
                }
            }
            _ => {}
        }
    }

    fn results(&mut self, title: &str, changes: &[&ResultChange], system: &SystemChange<'_>) {
        let Some(worked) = speaker(system) else {
            return;
        };
        if changes.is_empty() {
            return;
        }
        self.line(&format!("    {title}"));
        let rows: Vec<Row> = changes
            .iter()
            .map(|change| row(&worked.system, change))
            .collect();
        let widest = |column: fn(&Row) -> &str| {
            let widths = rows.iter().map(|row| column(row).chars().count());
            widths.max().unwrap_or(0)
        };
        let name = widest(|row| row.name);
        let before = widest(|row| &row.before);
        let after = widest(|row| &row.after);
        let by = widest(|row| &row.by);
        for row in &rows {
            let lead = format!(
                "      {:name$}  {:>before$} → {:<after$}  {:>by$}  ",
                row.name, row.before, row.after, row.by
            );
            // A note too long for the line goes under the result that it is about.
            let notes = row.notes.join("; ");
            if lead.chars().count() + notes.chars().count() <= self.width {
                self.line(format!("{lead}{notes}").trim_end());
            } else {
                self.line(lead.trim_end());
                self.hanging(&" ".repeat(6 + name + 2), &notes);
            }
        }
    }
}
