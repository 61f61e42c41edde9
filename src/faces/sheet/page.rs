//! The order of a page.

use super::content::{Block, Drawing, Page, Section, Table};
use super::view::View;
use super::{Prices, acceptance, build_list, cautions, numbers, settings, verdict};
use crate::analysis::{Report, Worked};
use crate::faces::render::{Size, chain_drawing, curves};
use crate::quantity::Dimension;
use sha2::{Digest, Sha256};

pub fn page(report: &Report, worked: &Worked, number: usize, prices: Prices) -> Page {
    let system = &worked.system;
    let title = match &system.title {
        Some(title) => format!("{}: {title}", system.name),
        None => system.name.clone(),
    };
    let mut sections = vec![
        Section::new("", identity(report, worked)),
        Section::new("Verdict", verdict::verdict(report, worked)),
    ];
    match &worked.outcome {
        Err(_) => {
            sections.push(build_list::section(system, prices));
            sections.push(cautions::section(system));
        }
        Ok(outcome) => {
            let view = View {
                report,
                worked,
                system,
                outcome,
            };
            sections.push(cautions::section(system));
            sections.push(build_list::section(system, prices));
            sections.push(settings::section(&view));
            sections.extend(acceptance::sections(&view));
            sections.extend(drawn(&view));
            sections.extend(chain(&view));
            sections.extend(numbers::sections(&view));
        }
    }
    Page {
        anchor: format!("system-{}", number + 1),
        title,
        sections,
    }
}

/// Which spec this is the sheet of: the same text gives the same fingerprint, whatever its name and date.
fn identity(report: &Report, worked: &Worked) -> Vec<Block> {
    /// So many digits tell any two versions of a spec apart.
    const DIGITS: usize = 12;
    let mut table = Table::new(&["File", "SHA-256 begins with"]);
    for source in std::iter::once(&report.source).chain(&report.used) {
        let digest = Sha256::digest(source.text.as_bytes());
        let digits: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        let shown = digits.get(..DIGITS).unwrap_or(&digits).to_owned();
        table.row(vec![source.name.to_string(), shown]);
    }
    vec![
        Block::Text(format!(
            "Fitting sheet of the system {}, worked out by bitepoint {}. A sheet whose fingerprints differ \
             from those of your files is not theirs: print it again.",
            worked.system.name,
            env!("CARGO_PKG_VERSION")
        )),
        Block::Table(table),
        Block::Blanks(vec!["Vehicle", "Fitted by", "Date"]),
    ]
}

fn drawn(view: &View<'_>) -> Option<Section> {
    let svg = curves(view.worked, Size::Page)?;
    let drawing = Drawing {
        svg,
        caption: "Over the pedal's travel, with the disc new: what the fingers do against what the cover \
                  asks for, what the foot feels, and what the parts between carry."
            .to_owned(),
        instead: Some(curve_table(view)),
    };
    Some(Section::new(
        "Along the pedal",
        vec![Block::Drawing(drawing)],
    ))
}

fn chain(view: &View<'_>) -> Option<Section> {
    let drawing = Drawing {
        svg: chain_drawing(view.worked)?,
        caption: "The chain from the pedal to the fingers, the car's front to the left, pad and rod arm drawn in \
                  one line. Read lengths from the tables, not from the drawing."
            .to_owned(),
        instead: None,
    };
    Some(Section::new("The chain", vec![Block::Drawing(drawing)]))
}

/// The curves at some places, for where nothing can be drawn.
fn curve_table(view: &View<'_>) -> Table {
    const ROWS: usize = 11;
    let hydraulic = view.outcome.hydraulics().is_some();
    let mut table = Table::new(&[
        "Pedal",
        "Fork's end",
        "Fingers",
        "Effort down",
        "Effort back",
        if hydraulic {
            "Pressure"
        } else {
            "Pull or push of the rod"
        },
    ]);
    for sample in view.outcome.curve(ROWS) {
        let force = |value| view.show(value, Dimension::FORCE);
        table.row(vec![
            view.length(sample.pad_travel),
            view.length(sample.fork_travel),
            view.length(sample.finger_travel),
            force(sample.effort),
            force(sample.effort_return),
            match sample.pressure {
                Some(pressure) => view.show(pressure, Dimension::PRESSURE),
                None => force(sample.rod_force),
            },
        ]);
    }
    table
}
