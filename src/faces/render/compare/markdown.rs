//! A comparison for a review comment. Nothing in a spec can break its layout, make a link, or notify anyone.

use super::parts::{self, PartChange};
use super::{
    Compared, Row, Sides, Told, fate_words, file_name, is_told_by_parts, location,
    not_worked_words, one_sided, own_inputs, report_of, row, said, speaker, told_systems, worn,
};
use crate::analysis::compare::{Comparison, Fate, FindingChange, ResultChange, SystemChange, Way};
use crate::checks::Finding;
use crate::faces::render::{counted, markdown};
use crate::finding::Severity;
use std::fmt::Write;

use markdown::{code, plain};

/// The longest comment. Hosts refuse comments longer than 65 536 characters; the rest is left for the text around it.
const LONGEST: usize = 60_000;

/// The most findings of one system in its short form.
const MOST_BRIEF: usize = 10;

/// A file's part of a comment.
#[derive(Debug)]
pub(super) struct Section {
    head: String,
    /// The findings in the text itself, then the systems.
    parts: Vec<Part>,
}

/// What is told about one system, or about the text itself.
#[derive(Debug)]
struct Part {
    /// What the part is ranked by for room: its gravest new finding, the number of new findings, the number of
    /// results that are worse.
    rank: (Option<Severity>, usize, usize),
    /// Its name and the new findings.
    brief: String,
    whole: String,
}

/// What changed, file by file. If there is no room for everything, the worst is kept.
pub fn to_markdown(compared: &Compared) -> String {
    let sides = &compared.sides;
    let mut out = format!(
        "### Clutch specs: {} → {}\n\n",
        code(&sides.before),
        code(&sides.after)
    );
    let changed = compared.files.len();
    let others = compared.others();
    let _ = match changed {
        0 => writeln!(out, "**{}.**", capital(compared.nothing())),
        _ => writeln!(
            out,
            "**{}.** {} changed{others}.",
            capital(&compared.tally().words()),
            counted(changed, "file")
        ),
    };
    let submodules = compared.submodules.iter().map(|one| plain(&one.words()));
    let unread = compared.unread.iter();
    let unread = unread.map(|unread| format!("**not compared**: {}", plain(&unread.to_string())));
    let notes: String = unread
        .chain(submodules)
        .map(|note| format!("- {note}\n"))
        .collect();
    if !notes.is_empty() {
        out.push('\n');
        out.push_str(&notes);
    }
    parts_table(&mut out, &compared.parts());
    let sections: Vec<&Section> = compared
        .files
        .iter()
        .filter_map(|file| match &file.told {
            Told::Markdown(section) if !section.parts.is_empty() => Some(section),
            _ => None,
        })
        .collect();
    let room = Room::of(&sections, LONGEST.saturating_sub(out.len()));
    room.write(&mut out, &sections);
    out
}

/// The parts that changed, each with the systems that it affects.
fn parts_table(out: &mut String, parts: &[PartChange]) {
    if parts.is_empty() {
        return;
    }
    let (lines, more) = parts::lines(parts, LONGEST / 4, |part| {
        format!(
            "| {} | {} | {} | {} |\n",
            code(&part.what),
            plain(&part.before),
            plain(&part.after),
            plain(&part.reaches_words())
        )
    });
    out.push_str("\n| part | before | after | reaches |\n|---|---|---|---|\n");
    out.extend(lines);
    if let Some(more) = more {
        let _ = writeln!(out, "\n{}.", capital(&more));
    }
}

/// How much room each part has.
struct Room {
    shown: Vec<Vec<Shown>>,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Shown {
    Nothing,
    Brief,
    Whole,
}

impl Room {
    /// Gives the room to the worst first: first to the short form of every part, then to the rest.
    fn of(sections: &[&Section], bytes: usize) -> Self {
        let mut shown: Vec<Vec<Shown>> = sections
            .iter()
            .map(|section| vec![Shown::Nothing; section.parts.len()])
            .collect();
        let places = sections.iter().enumerate().flat_map(|(i, section)| {
            let parts = section.parts.iter().enumerate();
            parts.map(move |(j, part)| (i, j, part))
        });
        let mut worst_first: Vec<(usize, usize, &Part)> = places.collect();
        worst_first.sort_by_key(|(.., part)| std::cmp::Reverse(part.rank));
        let mut left = bytes;
        for wanted in [Shown::Brief, Shown::Whole] {
            for (i, j, part) in &worst_first {
                let has_head = shown[*i].iter().any(|shown| *shown > Shown::Nothing);
                let head = if has_head { 0 } else { sections[*i].head.len() };
                let more = match wanted {
                    Shown::Whole => part.whole.len().saturating_sub(part.brief.len()),
                    _ => part.brief.len(),
                };
                let is_ready = wanted == Shown::Brief || shown[*i][*j] == Shown::Brief;
                if is_ready && head + more <= left {
                    left -= head + more;
                    shown[*i][*j] = wanted;
                }
            }
        }
        Self { shown }
    }

    /// Writes what there is room for, and says what is left out.
    fn write(&self, out: &mut String, sections: &[&Section]) {
        let (mut files, mut systems, mut short) = (0, 0, 0);
        for (section, shown) in sections.iter().zip(&self.shown) {
            if shown.iter().all(|shown| *shown == Shown::Nothing) {
                files += 1;
                continue;
            }
            out.push_str(&section.head);
            for (part, shown) in section.parts.iter().zip(shown) {
                match shown {
                    Shown::Nothing => systems += 1,
                    Shown::Brief if part.brief != part.whole => {
                        short += 1;
                        out.push_str(&part.brief);
                    }
                    Shown::Brief | Shown::Whole => out.push_str(&part.whole),
                }
            }
        }
        let left_out: Vec<String> = [
            (files, "", "file"),
            (systems, "", "more system"),
            (short, "the details of ", "system"),
        ]
        .iter()
        .filter(|(count, ..)| *count > 0)
        .map(|(count, lead, what)| format!("{lead}{}", counted(*count, what)))
        .collect();
        if !left_out.is_empty() {
            let _ = writeln!(
                out,
                "\nThere is no room here for {}. The worst is shown; `bitepoint compare` shows all.",
                left_out.join(", ")
            );
        }
    }
}

/// One file; `was` is its former name, if it was renamed.
pub(super) fn section(file: &Comparison<'_>, was: Option<&str>, sides: &Sides) -> Section {
    let words = match (one_sided(file.before.is_some(), file.after.is_some()), was) {
        (Some(words), _) => format!(" {words}"),
        (None, Some(was)) => format!(" (before: {})", code(was)),
        (None, None) => String::new(),
    };
    let head = format!("\n#### {}{words}\n", code(file_name(file)));
    if is_told_by_parts(file, was) {
        let parts = Vec::new();
        return Section { head, parts };
    }
    let mut of_text = Part {
        rank: rank(&file.findings, &[]),
        brief: String::new(),
        whole: String::new(),
    };
    came(&mut of_text.brief, file, &file.findings);
    findings(&mut of_text.whole, file, &file.findings);
    let parts = told_systems(file).map(|change| part(file, change, sides));
    Section {
        head,
        parts: std::iter::once(of_text).chain(parts).collect(),
    }
}

fn rank(
    changes: &[FindingChange<'_>],
    results: &[ResultChange],
) -> (Option<Severity>, usize, usize) {
    let new = changes.iter().filter(|change| is_new(change));
    let severities = new.filter_map(|change| Some(change.after?.severity));
    let severities: Vec<Severity> = severities.collect();
    let worst = severities.iter().max().copied();
    let count = severities
        .iter()
        .filter(|severity| Some(**severity) == worst)
        .count();
    let worse = results
        .iter()
        .filter(|result| result.way == Some(Way::Worse));
    (worst, count, worse.count())
}

/// Whether a finding is new, or graver than before.
fn is_new(change: &FindingChange<'_>) -> bool {
    let severity = |side: Option<&Finding>| side.map(|finding| finding.severity);
    match change.fate {
        Fate::Came | Fate::Unsilenced => true,
        Fate::Changed => severity(change.after) > severity(change.before),
        Fate::Silenced | Fate::Went | Fate::Stayed => false,
    }
}

fn part(file: &Comparison<'_>, change: &SystemChange<'_>, sides: &Sides) -> Part {
    let mut head = String::new();
    system_head(&mut head, change, sides);
    let mut part = Part {
        rank: rank(&change.findings, &change.results),
        brief: head.clone(),
        whole: head,
    };
    came(&mut part.brief, file, &change.findings);
    system(&mut part.whole, file, change);
    part
}

fn system_head(out: &mut String, system: &SystemChange<'_>, sides: &Sides) {
    let Some(worked) = speaker(system) else {
        return;
    };
    let _ = write!(out, "\n**{}**", code(system.name()));
    let old = system.before.map(|worked| worked.system.name.as_str());
    if let Some(old) = old.filter(|old| *old != system.name()) {
        let _ = write!(out, " (before: {})", code(old));
    }
    match one_sided(system.before.is_some(), system.after.is_some()) {
        Some(words) => {
            let _ = writeln!(out, " {words}");
        }
        None => {
            let title = worked.system.title.as_deref().unwrap_or_default();
            let _ = writeln!(out, " {}", plain(title));
        }
    }
    for why in not_worked_words(system, sides) {
        let _ = writeln!(out, "\n{}.", capital(&plain(&why)));
    }
}

fn system(out: &mut String, file: &Comparison<'_>, system: &SystemChange<'_>) {
    let Some(worked) = speaker(system) else {
        return;
    };
    let inputs = own_inputs(system);
    if !inputs.is_empty() {
        out.push_str("\n| input | before | after |\n|---|---|---|\n");
        for input in inputs {
            let (before, after) = (said(input.before.as_ref()), said(input.after.as_ref()));
            let what = code(&input.what);
            let _ = writeln!(out, "| {what} | {} | {} |", plain(&before), plain(&after));
        }
    }
    findings(out, file, &system.findings);
    if let Some((before, after)) = system.ended_by {
        let [before, after] = [before.words(), after.words()];
        let _ = writeln!(
            out,
            "\nWhat ends the pedal was {before}, and is now {after}."
        );
    }
    let rows = |changes: &[&ResultChange]| -> Vec<Row> {
        changes
            .iter()
            .map(|change| row(&worked.system, change))
            .collect()
    };
    // A reviewer weighs results with a better and a worse direction; the others are folded.
    let (weighed, other): (Vec<&ResultChange>, Vec<&ResultChange>) = system
        .results
        .iter()
        .partition(|change| change.way.is_some());
    table(out, &rows(&weighed));
    let worn = worn(system);
    if !other.is_empty() || !worn.is_empty() {
        let mut more = Vec::new();
        if !other.is_empty() {
            more.push(format!("{} moved", counted(other.len(), "other result")));
        }
        if !worn.is_empty() {
            more.push(format!(
                "{} with the disc worn out",
                counted(worn.len(), "result")
            ));
        }
        let more = more.join(", and ");
        let _ = writeln!(out, "\n<details><summary>{more}</summary>");
        table(out, &rows(&other));
        if !worn.is_empty() {
            out.push_str("\nWith the disc worn out, nothing adjusted since:\n");
            table(out, &rows(&worn));
        }
        out.push_str("\n</details>\n");
    }
}

fn findings(out: &mut String, file: &Comparison<'_>, changes: &[FindingChange<'_>]) {
    let stayed = changes
        .iter()
        .filter(|change| change.fate == Fate::Stayed)
        .count();
    if stayed == changes.len() {
        return;
    }
    out.push('\n');
    for change in changes.iter().filter(|change| change.fate != Fate::Stayed) {
        finding(out, file, change);
    }
    if stayed > 0 {
        let _ = writeln!(out, "- stayed: {stayed}");
    }
}

/// Writes the first of the new findings, the gravest.
fn came(out: &mut String, file: &Comparison<'_>, changes: &[FindingChange<'_>]) {
    let new: Vec<_> = changes.iter().filter(|change| is_new(change)).collect();
    if new.is_empty() {
        return;
    }
    out.push('\n');
    for change in new.iter().take(MOST_BRIEF) {
        finding(out, file, change);
    }
    if let Some(more @ 1..) = new.len().checked_sub(MOST_BRIEF) {
        let _ = writeln!(out, "- {more} more came");
    }
}

fn finding(out: &mut String, file: &Comparison<'_>, change: &FindingChange<'_>) {
    let Some(finding) = change.finding() else {
        return;
    };
    let at = location(report_of(file, change), finding);
    let _ = write!(
        out,
        "- **{}**: {} {}: {} ({})",
        fate_words(change.fate),
        finding.severity.word(),
        code(finding.check.name()),
        plain(&finding.problem.message),
        code(&at)
    );
    let more = match (change.fate, change.before, change.why) {
        (Fate::Changed, Some(before), _) => Some(("Before", &*before.problem.message)),
        (Fate::Silenced, _, Some(why)) => Some(("Because", why)),
        (Fate::Came | Fate::Unsilenced, ..) => {
            let help = finding.help();
            help.map(|help| ("Help", help))
        }
        _ => None,
    };
    if let Some((what, text)) = more {
        let _ = write!(out, "<br>{what}: {}", plain(text));
    }
    out.push('\n');
}

fn table(out: &mut String, rows: &[Row]) {
    if rows.is_empty() {
        return;
    }
    out.push_str("\n| result | before | after | by | |\n|---|--:|--:|--:|---|\n");
    for row in rows {
        let _ = writeln!(
            out,
            "| {} | {} | {} | {} | {} |",
            code(row.name),
            plain(&row.before),
            plain(&row.after),
            plain(&row.by),
            plain(&row.notes.join("; "))
        );
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}
