//! The fitting sheet: what the workshop needs beside the car, on paper.
//!
//! `content` is what it says; `html` and `markdown` give it a form. The page needs no script, fetches
//! nothing, and prints on A4 and Letter.

mod acceptance;
mod build_list;
mod cautions;
mod content;
mod html;
mod markdown;
mod numbers;
mod page;
mod settings;
mod verdict;
mod view;

use crate::analysis::{Report, Worked};
use crate::faces::render::{LeftOut, bounded};
use content::{Document, Printed};

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

/// The sheet of some systems of a file, one page for each. Of very many systems the last are left out, and the
/// sheet says so.
pub fn sheet(report: &Report, systems: &[&Worked], form: Form) -> (String, Option<LeftOut>) {
    sheet_with(report, systems, form, Prices::Hidden)
}

/// [`sheet`], with or without prices.
pub fn sheet_with(
    report: &Report,
    systems: &[&Worked],
    form: Form,
    prices: Prices,
) -> (String, Option<LeftOut>) {
    let (pages, left_out) = bounded(systems, |i, worked| {
        let page = page::page(report, worked, i, prices);
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
