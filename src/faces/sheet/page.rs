//! The sections of a page and their order.

use super::content::{Block, Drawing, Heading, Page, Section, Table};
use super::view::View;
use super::{
    Extent, Logo, SheetOptions, acceptance, build_list, cautions, numbers, settings, verdict,
};
use crate::analysis::{Report, Worked};
use crate::faces::render::{Size, chain_drawing, curves};
use crate::quantity::Dimension;
use crate::settings::Shop;
use sha2::{Digest, Sha256};

pub fn page(report: &Report, worked: &Worked, number: usize, options: &SheetOptions) -> Page {
    let prices = options.prices;
    let is_full = options.extent == Extent::Full;
    let system = &worked.system;
    let title = match &system.title {
        Some(title) => format!("{}: {title}", system.name),
        None => system.name.clone(),
    };
    let mut sections = vec![
        Section::new("", identity(report, worked)),
        Section::new("Verdict", verdict::verdict(report, worked, options.extent)),
    ];
    let mut appendix = Vec::new();
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
            sections.push(build_list::section(system, prices));
            sections.push(settings::section(&view));
            sections.extend(acceptance::sections(&view));
            sections.push(cautions::section(system));
            if is_full {
                appendix.push(verdict::glance(&view));
                appendix.extend(acceptance::falls_short(&view));
                appendix.extend(drawn(&view));
                appendix.extend(chain(&view));
                appendix.extend(numbers::sections(&view));
            }
        }
    }
    Page {
        anchor: format!("system-{}", number + 1),
        title,
        shop: heading(&report.settings.shop, options.logo.as_ref()),
        sections,
        appendix,
    }
}

/// The heading of the shop that the settings name.
fn heading(shop: &Shop, logo: Option<&Logo>) -> Option<Heading> {
    let heading = Heading {
        name: shop.name.clone().unwrap_or_default(),
        contact: shop.contact.clone().unwrap_or_default(),
        logo: logo.map(Logo::url),
    };
    let is_empty = heading.name.is_empty() && heading.contact.is_empty() && heading.logo.is_none();
    (!is_empty).then_some(heading)
}

/// The identity of the spec. Equal texts have equal fingerprints, whatever their names and dates.
fn identity(report: &Report, worked: &Worked) -> Vec<Block> {
    /// How many digits of the fingerprint are shown: enough to tell any two versions of a spec apart.
    const DIGITS: usize = 12;
    let mut files = Vec::new();
    for source in std::iter::once(&report.source).chain(&report.used) {
        let digest = Sha256::digest(source.text.as_bytes());
        let digits: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        let shown = digits.get(..DIGITS).unwrap_or(&digits).to_owned();
        files.push(format!("{} {shown}", source.name));
    }
    vec![
        Block::Blanks(vec!["Vehicle", "Fitted by", "Date"]),
        Block::Small(format!(
            "Fitting sheet of the system {}, made by bitepoint {} from {} (first digits of each file's SHA-256). If \
             yours differ, print it again.",
            worked.system.name,
            env!("CARGO_PKG_VERSION"),
            files.join(", "),
        )),
        Block::Text("Read the cautions at the end before you start.".to_owned()),
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

/// The curves as a table, for forms that cannot draw.
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
