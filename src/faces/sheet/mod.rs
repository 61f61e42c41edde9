//! The fitting sheet: what the workshop needs beside the car, on paper.
//!
//! `content` is what it says; `html` and `markdown` give it a form. The page needs no script, fetches
//! nothing, and prints on A4 and Letter.

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

/// Whether a sheet says what the parts cost.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Prices {
    /// It does.
    Shown,
    /// It does not: it may lie where a customer sees it.
    Hidden,
}

/// How much a sheet says.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Extent {
    /// What whoever fits the kit needs: two pages.
    Fitting,
    /// With every result, the curves, the drawing and what is assumed behind that.
    Full,
}

/// What is wanted of a sheet.
#[derive(Clone, Debug)]
pub struct SheetOptions {
    /// Whether it says what the parts cost.
    pub prices: Prices,
    /// How much it says.
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

/// The sheet of some systems of a file, two pages for each. Of very many systems the last are left out, and the
/// sheet says so.
pub fn sheet(report: &Report, systems: &[&Worked], form: Form) -> (String, Option<LeftOut>) {
    sheet_with(report, systems, form, &SheetOptions::default())
}

/// [`sheet`], with what is wanted of it.
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
