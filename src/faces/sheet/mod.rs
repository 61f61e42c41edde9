//! The fitting sheet: what the workshop needs beside the car, on paper.
//!
//! `content` defines what it says; `html` and `markdown` give it a form. The page needs no script, fetches nothing,
//! and prints on A4 and Letter.

mod acceptance;
mod build_list;
mod cautions;
mod content;
mod html;
mod logo;
mod markdown;
mod numbers;
mod page;
mod settings;
mod verdict;
mod view;

use crate::analysis::{Report, Worked};
use crate::faces::render::{LeftOut, bounded};
use content::{Document, Printed};
pub use logo::Logo;
pub use logo::logo;

/// The forms of a sheet.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// One self-contained page.
    Html,
    /// Plain Markdown, for notes and reviews.
    Markdown,
}

/// Whether a sheet shows the prices of the parts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Prices {
    /// Prices are shown.
    Shown,
    /// Prices are hidden, since a customer may see the sheet.
    Hidden,
}

/// How much a sheet shows.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Extent {
    /// What the fitter needs: two pages.
    Fitting,
    /// The two pages, followed by every result, the curves, the drawing and the assumed values.
    Full,
}

/// The options of a sheet.
#[derive(Clone, Debug)]
pub struct SheetOptions {
    /// Whether it shows the prices of the parts.
    pub prices: Prices,
    /// How much it shows.
    pub extent: Extent,
    /// The picture of the shop that the settings name.
    pub logo: Option<Logo>,
}

impl Default for SheetOptions {
    fn default() -> Self {
        Self {
            prices: Prices::Hidden,
            extent: Extent::Fitting,
            logo: None,
        }
    }
}

/// The sheet of some systems of a file, two pages for each. If there are very many systems, the last ones are left
/// out, and the sheet says so.
pub fn sheet(report: &Report, systems: &[&Worked], form: Form) -> (String, Option<LeftOut>) {
    sheet_with(report, systems, form, &SheetOptions::default())
}

/// A sheet with options; otherwise as [`sheet`] makes it.
pub fn sheet_with(
    report: &Report,
    systems: &[&Worked],
    form: Form,
    options: &SheetOptions,
) -> (String, Option<LeftOut>) {
    let (pages, left_out) = bounded(systems, |i, worked| {
        let page = page::page(report, worked, i, options);
        let text = match form {
            Form::Html => html::page(&page),
            Form::Markdown => markdown::page(&page),
        };
        let size = text.len();
        let page = Printed {
            anchor: page.anchor,
            title: page.title,
            text,
        };
        (page, size)
    });
    let document = Document {
        title: format!("Fitting sheet: {}", report.source.name),
        pages,
        left_out: left_out
            .as_ref()
            .map(|left_out| left_out.words("sheet", &report.source.name)),
    };
    let text = match form {
        Form::Html => html::html(&document),
        Form::Markdown => markdown::markdown(&document),
    };
    (text, left_out)
}
