//! The fitting sheet: what the workshop needs beside the car, on paper.
//!
//! [`content`] is what it says; [`html`] and [`markdown`] give it a form. The page needs no script, fetches
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

use crate::analysis::{Report, Worked};
use content::Document;

/// The forms of a sheet.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// One self-contained page.
    Html,
    Markdown,
}

/// The sheet of some systems of a file, one page for each.
pub fn sheet(report: &Report, systems: &[&Worked], form: Form) -> String {
    let pages = systems
        .iter()
        .enumerate()
        .map(|(i, worked)| page::page(report, worked, i))
        .collect();
    let document = Document {
        title: format!("Fitting sheet: {}", report.source.name),
        pages,
    };
    match form {
        Form::Html => html::html(&document),
        Form::Markdown => markdown::markdown(&document),
    }
}
