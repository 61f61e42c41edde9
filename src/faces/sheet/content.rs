//! What a sheet says, before it takes a form. All of it is plain text: the forms escape it.

use crate::finding::Severity;

/// A sheet of one file.
pub struct Document {
    pub title: String,
    pub pages: Vec<Printed>,
    /// Which systems have no page, and how to get one.
    pub left_out: Option<String>,
}

/// A page in its form.
pub struct Printed {
    /// A name that stands once in the document.
    pub anchor: String,
    pub title: String,
    pub text: String,
}

/// The sheet of one system.
pub struct Page {
    /// A name that stands once in the document.
    pub anchor: String,
    pub title: String,
    /// Whose sheet it is.
    pub shop: Option<Heading>,
    pub sections: Vec<Section>,
    /// What stands behind the two pages.
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
    /// Empty for what stands at a page's top.
    pub title: &'static str,
    pub blocks: Vec<Block>,
}

pub enum Block {
    Text(String),
    /// What few look for, in small print.
    Small(String),
    /// What must not be missed, in a frame: what it is, and what follows from it.
    Notice(Severity, String, Vec<String>),
    List(Vec<String>),
    Steps(Vec<Step>),
    Table(Table),
    Drawing(Drawing),
    /// Lines for the fitter to write on, each with its label.
    Blanks(Vec<&'static str>),
}

/// Something to do or to look at, to be ticked off.
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
    /// Whether it stands out from the others.
    pub strong: bool,
}

pub struct Drawing {
    /// A whole SVG, already escaped.
    pub svg: String,
    pub caption: String,
    /// What stands in for it where nothing can be drawn.
    pub instead: Option<Table>,
}

impl Section {
    pub fn new(title: &'static str, blocks: Vec<Block>) -> Self {
        Self { title, blocks }
    }
}

impl Step {
    /// Something to do, with nothing to write down.
    pub fn to_do(what: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            value: String::new(),
            noted: false,
        }
    }

    /// A value to set or to find, and a blank for what it came to.
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
