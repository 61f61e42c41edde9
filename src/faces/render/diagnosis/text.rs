//! A diagnosis as a mechanic reads it on a phone.

use super::{EQUALS, UNLABELLED, causes_head, equals, how_to_give, right, ruled_out_head, visits};
use crate::analysis::Worked;
use crate::analysis::diagnosis::{Next, VisitTold, askable};
use crate::diagnose::{Diagnosis, Reading};
use crate::faces::sanitize::{name, sanitize};
use std::fmt::Write;

/// The widest line; wider ones are hard to read.
const WIDEST: usize = 80;

/// Every visit of a system. For earlier visits only the readings, their explanation and what to measure next.
pub fn diagnosis_text(worked: &Worked, diagnosis: &Diagnosis, width: usize) -> String {
    let mut writer = Writer::new(worked, width);
    let visits = visits(worked, diagnosis);
    let last = visits.len().saturating_sub(1);
    for (i, visit) in visits.iter().enumerate() {
        writer.visit(visit, i == last);
    }
    writer.out
}

/// How to give readings of a system, and which may be taken. Readings in `explained` are listed without how to take
/// them.
pub fn askable_text(
    worked: &Worked,
    file: &str,
    width: usize,
    explained: &mut Vec<Reading>,
) -> String {
    let mut writer = Writer::new(worked, width);
    let [in_spec, on_line] = how_to_give(worked, file);
    writer.paragraph("Nothing was read on this car yet. These are the readings that can be taken.");
    writer.head("Readings, and how each is taken");
    for one in askable(worked) {
        let lead = match right(&one) {
            right if right.is_empty() => one.reading.name().to_owned(),
            right => format!("{}  {right}", one.reading.name()),
        };
        writer.hanging("  ", "  ", &lead);
        if !explained.contains(&one.reading) {
            explained.push(one.reading);
            writer.hanging("    ", "    ", &one.how);
        }
    }
    writer.head("What to do next");
    writer.hanging(
        "  ",
        "  ",
        "Take one reading or more, then type, with an option for each:",
    );
    writer.verbatim(&on_line);
    writer.hanging(
        "  ",
        "  ",
        "Or keep them in the spec, in a block for each visit:",
    );
    writer.verbatim(&in_spec);
    writer.out
}

struct Writer {
    out: String,
    width: usize,
}

impl Writer {
    fn new(worked: &Worked, width: usize) -> Self {
        let system = &worked.system;
        let out = match &system.title {
            Some(title) => format!("{}: {}\n", system.name, name(title)),
            None => format!("{}\n", system.name),
        };
        Self {
            out,
            width: width.min(WIDEST),
        }
    }

    fn visit(&mut self, visit: &VisitTold, is_last: bool) {
        let label = visit.label.as_deref().unwrap_or(UNLABELLED);
        let _ = writeln!(self.out, "\n{}", name(label));
        for sentence in &visit.verdict {
            self.hanging("  ", "  ", sentence);
        }
        self.readings(visit);
        if !visit.changes.is_empty() {
            self.head("Changed since the visit before");
            for change in &visit.changes {
                self.hanging("  ", "  ", change);
            }
        }
        self.causes(visit);
        if is_last {
            self.ruled_out(visit);
            self.next(&visit.next);
            self.cures(visit);
        } else if let Some(next) = visit.next.first() {
            self.head(&format!("Measure next: {}", next.reading.name()));
            self.values(next);
        }
    }

    fn readings(&mut self, visit: &VisitTold) {
        if visit.readings.is_empty() {
            return;
        }
        let head = ["", "MEASURED", "WORKED OUT", ""].map(str::to_owned);
        let rows: Vec<[String; 4]> = std::iter::once(head)
            .chain(visit.readings.iter().map(|line| {
                [
                    line.name.clone(),
                    line.measured.clone(),
                    line.worked_out.clone(),
                    line.off.clone(),
                ]
            }))
            .collect();
        let wide = |column: usize| {
            let cells = rows.iter().map(|row| row[column].chars().count());
            cells.max().unwrap_or(0)
        };
        let [a, b, c] = [0, 1, 2].map(wide);
        self.out.push('\n');
        for [name, measured, worked_out, off] in &rows {
            let line = format!("  {name:a$}  {measured:b$}  {worked_out:c$}  {off}");
            let _ = writeln!(self.out, "{}", line.trim_end());
        }
    }

    fn causes(&mut self, visit: &VisitTold) {
        if !visit.causes.is_empty() {
            self.head(causes_head(visit));
            let with_equals = visit.explains && equals(visit) > 1;
            for cause in &visit.causes {
                let mark = if with_equals && cause.is_equal {
                    "="
                } else {
                    "-"
                };
                self.hanging(&format!("  {mark} "), "    ", &cause.words);
            }
            if with_equals {
                self.hanging("  ", "  ", EQUALS);
            }
        }
        if !visit.pairs.is_empty() {
            self.head("No single fault explains it; two together do");
            for pair in &visit.pairs {
                self.hanging("  - ", "    ", pair);
            }
        }
    }

    fn ruled_out(&mut self, visit: &VisitTold) {
        if visit.ruled_out.is_empty() {
            return;
        }
        self.head(ruled_out_head(visit));
        for (reading, faults) in &visit.ruled_out {
            let faults = faults.join(", ");
            self.hanging("  ", "    ", &format!("by {reading}: {faults}"));
        }
    }

    fn next(&mut self, next: &[Next]) {
        for (i, one) in next.iter().enumerate() {
            let name = one.reading.name();
            if i == 0 {
                self.head(&format!("Measure next: {name}"));
                self.hanging("  ", "  ", &one.how);
            } else {
                self.head(&format!("Or: {name}"));
            }
            self.values(one);
        }
    }

    fn values(&mut self, next: &Next) {
        for (value, faults) in &next.values {
            let faults = faults.join(", ");
            self.hanging("  ", "    ", &format!("{value}: {faults}"));
        }
    }

    fn cures(&mut self, visit: &VisitTold) {
        if !visit.before_cures.is_empty() {
            self.out.push('\n');
        }
        for sentence in &visit.before_cures {
            self.hanging("  ", "  ", sentence);
        }
        for cure in &visit.cures {
            self.head(&format!("If it is {}", cure.of));
            for (i, step) in cure.steps.iter().enumerate() {
                self.hanging(&format!("  {}. ", i + 1), "     ", step);
            }
        }
        if !visit.cautions.is_empty() {
            self.head("Before you start");
        }
        for caution in &visit.cautions {
            self.hanging("  ", "  ", caution);
        }
    }

    fn head(&mut self, text: &str) {
        self.out.push('\n');
        self.hanging("  ", "  ", text);
    }

    fn paragraph(&mut self, text: &str) {
        self.out.push('\n');
        self.hanging("  ", "  ", text);
    }

    /// A text that is copied unchanged.
    fn verbatim(&mut self, text: &str) {
        let _ = writeln!(self.out, "    {}", name(text));
    }

    /// A text after a lead, with its further lines after an indent.
    fn hanging(&mut self, lead: &str, indent: &str, text: &str) {
        let text = sanitize(text);
        let options = textwrap::Options::new(self.width)
            .initial_indent(lead)
            .subsequent_indent(indent);
        self.out.push_str(&textwrap::fill(&text, options));
        self.out.push('\n');
    }
}
