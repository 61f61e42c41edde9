//! Calculated values shown at the end of a line.

use super::{Report, Shown, Worked};
use crate::finding::Place;
use crate::quantity::Dimension;
use crate::schema::ResultId;
use crate::solve::Outcome;
use crate::syntax::{self, StatementKind, TextRange};
use crate::{block, field, result};
use std::fmt::Write;

/// A few words after a line.
#[derive(Clone, PartialEq, Debug)]
pub struct Inlay {
    /// The end of the line.
    pub offset: u32,
    /// The words, with numbers in the units of the system.
    pub label: String,
}

/// The inlays of a file: calculated values after the heads of blocks that systems write themselves. A derived system
/// also has one after its own head. Each line has at most one, since editors join two at the same place.
pub fn inlays(report: &Report, within: TextRange) -> Vec<Inlay> {
    lines(report, within).iter().map(Line::inlay).collect()
}

/// The inlays of a range, each with an explanation of its values as Markdown.
pub fn inlays_with_tooltips(report: &Report, within: TextRange) -> Vec<(Inlay, String)> {
    let lines = lines(report, within);
    let told = lines
        .iter()
        .map(|line| (line.inlay(), line.tooltip(report)));
    told.collect()
}

/// A line with all its inlays.
struct Line<'a> {
    offset: u32,
    words: Vec<Words<'a>>,
    /// The mistake before which the values were made.
    mistake: Option<&'a Place>,
}

impl Line<'_> {
    fn inlay(&self) -> Inlay {
        let labels: Vec<&str> = self.words.iter().map(|words| &*words.label).collect();
        let mut label = labels.join(" · ");
        // Every line is marked as old; the tooltip names the mistake.
        if self.mistake.is_some() {
            label.push_str(" (before the mistake)");
        }
        Inlay {
            offset: self.offset,
            label,
        }
    }

    fn tooltip(&self, report: &Report) -> String {
        let mut out = String::new();
        if let Some(mistake) = self.mistake {
            let _ = writeln!(out, "*From before {}.*\n", report.mistake_words(mistake));
        }
        let mut told = Vec::new();
        for words in &self.words {
            let (system, outcome) = (&words.worked.system, words.outcome);
            for id in &words.results {
                let Some(value) = outcome.get(*id).filter(|_| !told.contains(id)) else {
                    continue;
                };
                told.push(*id);
                let spec = id.spec();
                let shown = id.show_both(value, &system.display);
                let _ = write!(out, "**`{}`**: **{shown}**", spec.name);
                if let Some([low, high]) = words.worked.shown_worst(*id) {
                    let _ = write!(out, ", worst case {low} to {high}");
                }
                let _ = writeln!(out, "\n\n{}\n\n`{}`\n", spec.doc, spec.formula);
            }
        }
        out.truncate(out.trim_end().len());
        out
    }
}

fn lines(report: &Report, within: TextRange) -> Vec<Line<'_>> {
    let mut found: Vec<Line<'_>> = Vec::new();
    let source = &report.source;
    for tree in source.systems() {
        let Some(Shown { worked, mistake }) = report.shown(tree) else {
            continue;
        };
        let Ok(outcome) = &worked.outcome else {
            continue;
        };
        let own = tree.base.as_ref().map(|_| (tree.name.span, None));
        let blocks = tree.body.statements.iter().filter_map(|s| match &s.kind {
            StatementKind::Block(block) => Some((block.block.span, Some(block))),
            _ => None,
        });
        for (at, block) in own.into_iter().chain(blocks) {
            let at = source.range(at);
            let line = source.lines.line(source.lines.line_of(at.start));
            let offset = line.map_or(at.end, |line| line.end as u32);
            if !within.touches(offset) {
                continue;
            }
            let Some(words) = Words::of(worked, outcome, block) else {
                continue;
            };
            match found.last_mut() {
                Some(last) if last.offset == offset => last.words.push(words),
                _ => found.push(Line {
                    offset,
                    words: vec![words],
                    mistake,
                }),
            }
        }
    }
    found
}

/// The inlay after the head of a system or of one of its blocks.
struct Words<'a> {
    worked: &'a Worked,
    outcome: &'a Outcome,
    label: String,
    /// The results that the label shows.
    results: Vec<ResultId>,
}

impl<'a> Words<'a> {
    /// The words for a system's block, or for the system itself; `None` if there is nothing to show.
    fn of(worked: &'a Worked, outcome: &'a Outcome, block: Option<&syntax::Block>) -> Option<Self> {
        let mut words = Words {
            worked,
            outcome,
            label: String::new(),
            results: Vec::new(),
        };
        words.label = match block {
            None => words.system(),
            Some(block) => words.block(block),
        }?;
        Some(words)
    }

    fn value(&mut self, id: ResultId) -> Option<f64> {
        let value = self.outcome.get(id)?;
        self.results.push(id);
        Some(value)
    }

    fn show(&mut self, id: ResultId) -> Option<String> {
        let value = self.value(id)?;
        Some(id.show(value, &self.worked.system.display))
    }

    fn system(&mut self) -> Option<String> {
        Some(format!(
            "margin {}, effort {}",
            self.show(result!(release_margin))?,
            self.show(result!(pedal_effort))?
        ))
    }

    fn block(&mut self, block: &syntax::Block) -> Option<String> {
        let system = &self.worked.system;
        let has_fork = system.component(block!(fork)).is_some();
        match block.block.text.as_str() {
            "pedal" => Some(format!(
                "ratio {}, effort {}",
                self.show(result!(pedal_ratio))?,
                self.show(result!(pedal_effort))?
            )),
            "master" => {
                let stroke = system.number(field!(master.stroke))?;
                Some(format!(
                    "{}, {} of {}",
                    self.show(result!(master_pressure))
                        .or_else(|| self.show(result!(line_pressure)))?,
                    self.show(result!(master_travel))?,
                    system.show(stroke, Dimension::LENGTH)
                ))
            }
            "slave" => Some(format!(
                "travel {} (ideal {})",
                self.show(result!(slave_travel))?,
                self.show(result!(slave_travel_ideal))?
            )),
            "fork" => self.bearing(),
            // Without a fork the bearing's own block is the nearest place for its travel.
            "bearing" if !has_fork => self.bearing(),
            "cover" => Some(format!(
                "margin {}, over-travel {}",
                self.show(result!(release_margin))?,
                self.show(result!(overtravel_margin))?
            )),
            _ => None,
        }
    }

    fn bearing(&mut self) -> Option<String> {
        Some(format!("bearing {}", self.show(result!(bearing_travel))?))
    }
}
