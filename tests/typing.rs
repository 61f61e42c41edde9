//! Whole specs typed key by key. While a statement is only unfinished, an editor shows no mistake about it. A real
//! mistake is shown once the cursor has moved on.

mod common;

use bitepoint::analysis::{Report, Typing, Work, analyse, analyse_after};
use bitepoint::checks::Finding;
use bitepoint::faces::Disk;
use bitepoint::finding::{FileName, Severity};
use bitepoint::model::{Files, Source};
use bitepoint::syntax::TextRange;
use std::collections::HashSet;
use std::path::Path;
use std::sync::Arc;

/// An editor in which a text is typed.
struct Editor {
    text: String,
    cursor: usize,
    /// Whether a bracket or a quote brings its other half.
    closes: bool,
    /// The closing halves that are already there, by their distance from the end.
    closers: Vec<usize>,
}

impl Editor {
    fn new(closes: bool) -> Self {
        Self {
            text: String::new(),
            cursor: 0,
            closes,
            closers: Vec::new(),
        }
    }

    /// Types one character and gives what that inserted; `None` if it only moved over existing text.
    fn key(&mut self, key: char) -> Option<TextRange> {
        let behind = self.text.len() - self.cursor;
        if self.closers.last() == Some(&behind) && self.text[self.cursor..].starts_with(key) {
            self.closers.pop();
            self.cursor += key.len_utf8();
            return None;
        }
        let pair = match key {
            '{' => "{}",
            '(' => "()",
            '"' => "\"\"",
            _ => "",
        };
        let put_in = match self.closes && !pair.is_empty() && !self.is_in_words() {
            true => {
                self.closers.push(behind + 1);
                pair.to_owned()
            }
            false => key.to_string(),
        };
        self.text.insert_str(self.cursor, &put_in);
        let at = TextRange::new(self.cursor, self.cursor + put_in.len());
        self.cursor += key.len_utf8();
        Some(at)
    }

    fn is_in_comment(&self) -> bool {
        let line = self.text[..self.cursor].rsplit('\n').next().unwrap();
        line.trim_start().starts_with('#') && line.trim_start().len() > 2
    }

    /// Whether the cursor is in a comment or in a text.
    fn is_in_words(&self) -> bool {
        let line = self.text[..self.cursor].rsplit('\n').next().unwrap();
        line.contains('#') || line.matches('"').count() % 2 == 1
    }
}

/// A finding without its message: its check and its place.
fn what(report: &Report, finding: &Finding) -> (&'static str, u32) {
    (finding.check.name(), report.place_here(finding).start)
}

/// An error shown on the cursor's line only because the text is incomplete. The whole text does not have it.
fn premature<'r>(
    report: &'r Report,
    edited: TextRange,
    cursor: usize,
    of_whole: &HashSet<(&'static str, u32)>,
) -> Vec<&'r Finding> {
    let lines = &report.source.lines;
    let line = lines.line_of(cursor as u32);
    let typing = Typing::of(report, edited);
    let is_here =
        |span: TextRange| (lines.line_of(span.start)..=lines.line_of(span.end)).contains(&line);
    let is_slip = |finding: &Finding| finding.check.name() == "unit-slip";
    report
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Error || is_slip(f))
        .filter(|f| is_here(report.place_here(f)) && !typing.holds(f))
        .filter(|f| !of_whole.contains(&what(report, f)))
        .collect()
}

/// Types a spec. Gives the first error that is shown too early.
fn type_out(path: &Path, closes: bool) -> Result<usize, String> {
    let disk = Disk::default();
    let name: FileName = Disk::name(path);
    let whole = std::fs::read_to_string(path).unwrap();
    let report = analyse(disk.read(&name).unwrap(), &disk);
    let of_whole: HashSet<_> = report.findings.iter().map(|f| what(&report, f)).collect();
    let mut editor = Editor::new(closes);
    let mut report = analyse(Arc::new(Source::new(name, String::new())), &disk);
    let mut held = 0;
    for key in whole.chars() {
        let Some(edited) = editor.key(key) else {
            continue;
        };
        // What goes on in a comment is the same with every letter.
        if editor.is_in_comment() {
            continue;
        }
        let source = Arc::new(report.source.edited(editor.text.clone()));
        report = analyse_after(Some(&report), source, &disk, &Work::default());
        let early = premature(&report, edited, editor.cursor, &of_whole);
        if let Some(first) = early.first() {
            let (before, behind) = editor.text.split_at(editor.cursor);
            let line = before.rsplit('\n').next().unwrap();
            return Err(format!(
                "{}: {line}|{}: {}: {}",
                path.display(),
                behind.split('\n').next().unwrap(),
                first.check.name(),
                first.problem.message
            ));
        }
        let typing = Typing::of(&report, edited);
        held += report.findings.iter().filter(|f| typing.holds(f)).count();
    }
    assert_eq!(editor.text, whole);
    Ok(held)
}

fn all_typed(closes: bool) {
    let specs = common::examples();
    let workers = std::thread::available_parallelism().map_or(2, usize::from);
    let failures: Vec<String> = std::thread::scope(|scope| {
        let specs = &specs;
        let work = move |first: usize| {
            let some = specs.iter().skip(first).step_by(workers);
            some.filter_map(|path| match type_out(path, closes) {
                // If nothing was ever held back, nothing was tried.
                Ok(held) => (held == 0).then(|| format!("{}: nothing held", path.display())),
                Err(early) => Some(early),
            })
            .collect::<Vec<_>>()
        };
        let threads: Vec<_> = (0..workers)
            .map(|first| scope.spawn(move || work(first)))
            .collect();
        threads
            .into_iter()
            .flat_map(|thread| thread.join().unwrap())
            .collect()
    });
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn nothing_unfinished_is_called_a_mistake_while_it_is_typed() {
    all_typed(false);
}

#[test]
fn nothing_unfinished_is_called_a_mistake_in_an_editor_that_closes_brackets() {
    all_typed(true);
}
