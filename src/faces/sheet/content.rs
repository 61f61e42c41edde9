//! The content of a sheet, before it gets a form. All of it is plain text, which the forms escape.

use crate::finding::Severity;

/// A sheet of one file.
pub struct Document {
    pub title: String,
    pub pages: Vec<Printed>,
    /// A sentence on which systems have no page, and how to get one.
    pub left_out: Option<String>,
}

/// A page in its final form.
pub struct Printed {
    /// A name that is unique in the document.
    pub anchor: String,
    pub title: String,
    pub text: String,
}

/// The sheet of one system.
pub struct Page {
    /// A name that is unique in the document.
    pub anchor: String,
    pub title: String,
    /// The shop whose sheet it is.
    pub shop: Option<Heading>,
    pub sections: Vec<Section>,
    /// The sections after the two pages.
    pub appendix: Vec<Section>,
}

/// The heading of a shop.
pub struct Heading {
    pub name: String,
    pub contact: String,
    /// The address of an embedded picture.
    pub logo: Option<String>,
}

pub struct Section {
    /// The title; empty for a section at a page's top.
    pub title: &'static str,
    pub blocks: Vec<Block>,
}

pub enum Block {
    Text(String),
    /// Text that few people look for, in small print.
    Small(String),
    /// A notice that must not be missed, in a frame: its severity, its text, and its consequences.
    Notice(Severity, String, Vec<String>),
    List(Vec<String>),
    Steps(Vec<Step>),
    Table(Table),
    Drawing(Drawing),
    /// Lines for the fitter to write on, each with its label.
    Blanks(Vec<&'static str>),
}

/// Something to do or to check, with a box to tick.
pub struct Step {
    pub what: String,
    /// The value to set or to find.
    pub value: String,
    /// Whether the fitter writes down what was measured.
    pub noted: bool,
}

pub struct Table {
    pub head: Vec<&'static str>,
    pub rows: Vec<Row>,
}

pub struct Row {
    pub cells: Vec<String>,
    /// Whether it is emphasized.
    pub strong: bool,
}

pub struct Drawing {
    /// A whole SVG, already escaped.
    pub svg: String,
    pub caption: String,
    /// A table to show if nothing can be drawn.
    pub instead: Option<Table>,
}

impl Section {
    pub fn new(title: &'static str, blocks: Vec<Block>) -> Self {
        Self { title, blocks }
    }
}

impl Step {
    /// A step without anything to write down.
    pub fn to_do(what: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            value: String::new(),
            noted: false,
        }
    }

    /// A step with a value to set or to find, and a blank for the measured one.
    pub fn to_note(what: impl Into<String>, value: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            value: value.into(),
            noted: true,
        }
    }
}

impl Table {
    pub fn new(head: &[&'static str]) -> Self {
        Self {
            head: head.to_vec(),
            rows: Vec::new(),
        }
    }

    pub fn row(&mut self, cells: Vec<String>) {
        self.rows.push(Row {
            cells,
            strong: false,
        });
    }

    pub fn strong_row(&mut self, cells: Vec<String>) {
        self.rows.push(Row {
            cells,
            strong: true,
        });
    }
}
