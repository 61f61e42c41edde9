//! Worked-out values at the end of a line.

use super::{Report, Shown, Worked};
use crate::finding::Place;
use crate::model::System;
use crate::quantity::{Dimension, significant};
use crate::schema::ResultId;
use crate::solve::Outcome;
use crate::syntax::{self, Span, StatementKind, TextRange};
use crate::{block, field, result};

/// A few words behind a line.
#[derive(Clone, PartialEq, Debug)]
pub struct Inlay {
    /// The end of the line.
    pub offset: u32,
    /// The words, with numbers in the units of the system.
    pub label: String,
    /// More about it, for whoever points at it.
    pub tooltip: Option<String>,
}

/// What is worked out for the systems of a file, behind the heads of the blocks that they write
/// themselves; for systems that start from others also behind their own heads. One for each line:
/// editors run two at one place together.
pub fn inlays(report: &Report, within: TextRange) -> Vec<Inlay> {
    let mut inlays: Vec<Inlay> = Vec::new();
    let source = &report.source;
    let mut add = |at: Span, label: Option<String>, mistake: Option<&Place>| {
        let at = source.range(at);
        let line = source.lines.line(source.lines.line_of(at.start));
        let offset = line.map_or(at.end, |line| line.end as u32);
        let Some(label) = label.filter(|_| within.touches(offset)) else {
            return;
        };
        let tooltip = mistake.map(|mistake| format!("before {}", report.mistake_words(mistake)));
        match inlays.last_mut() {
            Some(last) if last.offset == offset => {
                last.label.push_str(" · ");
                last.label.push_str(&label);
            }
            _ => inlays.push(Inlay {
                offset,
                label,
                tooltip,
            }),
        }
    };
    for tree in source.systems() {
        let Some(Shown { worked, mistake }) = report.shown(tree) else {
            continue;
        };
        let Worked {
            system,
            outcome: Ok(outcome),
            ..
        } = worked
        else {
            continue;
        };
        let words = Words { system, outcome };
        if tree.base.is_some() {
            add(tree.name.span, words.system(), mistake);
        }
        for statement in &tree.body.statements {
            if let StatementKind::Block(block) = &statement.kind {
                add(block.block.span, words.block(block), mistake);
            }
        }
    }
    // Every line tells that it is old; from before what, whoever points at it is told.
    for inlay in inlays.iter_mut().filter(|inlay| inlay.tooltip.is_some()) {
        inlay.label.push_str(" (before the mistake)");
    }
    inlays
}

struct Words<'a> {
    system: &'a System,
    outcome: &'a Outcome,
}

impl Words<'_> {
    fn show(&self, id: ResultId) -> Option<String> {
        let value = self.outcome.get(id)?;
        Some(self.system.show(value, id.spec().dimension))
    }

    fn system(&self) -> Option<String> {
        Some(format!(
            "margin {}, effort {}",
            self.show(result!(release_margin))?,
            self.show(result!(pedal_effort))?
        ))
    }

    fn block(&self, block: &syntax::Block) -> Option<String> {
        let has_fork = self.system.component(block!(fork)).is_some();
        match block.block.text.as_str() {
            "pedal" => Some(format!(
                "ratio {}, effort {}",
                significant(self.outcome.get(result!(pedal_ratio))?, 3),
                self.show(result!(pedal_effort))?
            )),
            "master" => {
                let stroke = self.system.number(field!(master.stroke))?;
                Some(format!(
                    "{}, {} of {}",
                    self.show(result!(line_pressure))?,
                    self.show(result!(master_travel))?,
                    self.system.show(stroke, Dimension::LENGTH)
                ))
            }
            "slave" => Some(format!(
                "travel {} (ideal {})",
                self.show(result!(slave_travel))?,
                self.show(result!(slave_travel_ideal))?
            )),
            "fork" => self.bearing(),
            // Without a fork its own block is the nearest place to say how far it moves.
            "bearing" if !has_fork => self.bearing(),
            "cover" => Some(format!(
                "margin {}, over-travel {}",
                self.show(result!(release_margin))?,
                self.show(result!(overtravel_margin))?
            )),
            _ => None,
        }
    }

    fn bearing(&self) -> Option<String> {
        Some(format!("bearing {}", self.show(result!(bearing_travel))?))
    }
}
