//! The requests to a session.

use serde::Deserialize;
use std::collections::BTreeMap;

/// A request, named by its `verb`. Places are lines and UTF-16 columns from zero, as in the Language Server Protocol.
#[derive(Deserialize, Debug)]
#[serde(tag = "verb", rename_all = "snake_case")]
pub(super) enum Request {
    /// Replaces all texts. `bitepoint.toml` may be among them, and the shop's picture as a `data:` URL.
    Texts {
        /// The texts by their names.
        texts: BTreeMap<String, String>,
    },
    /// What `bitepoint check --format json` prints.
    Check { file: String },
    /// The findings with their places and fixes, for an editor.
    Findings { file: String },
    /// What `bitepoint calc --format json` prints.
    Calc {
        #[serde(flatten)]
        of: Of,
    },
    /// What is known about a place.
    Hover { file: String, at: At },
    /// What may be written at a place.
    Completions { file: String, at: At },
    /// The changes offered for a run of text.
    Actions { file: String, start: At, end: At },
    /// The edits that bring a file to its canonical form.
    Format { file: String },
    /// The role of each word of a file.
    Highlights { file: String },
    /// The systems of a file, with their choices.
    Systems { file: String },
    /// What `bitepoint sheet` prints.
    Sheet {
        #[serde(flatten)]
        of: Of,
        #[serde(default)]
        full: bool,
        #[serde(default)]
        prices: bool,
    },
    /// The curves and the chain as SVG.
    Drawings {
        #[serde(flatten)]
        of: Of,
    },
    /// The readings that may be taken.
    Askable {
        #[serde(flatten)]
        of: Of,
    },
    /// The diagnosis of some readings: what `bitepoint diagnose --format json` prints, and the diagnosis in words.
    Diagnose {
        #[serde(flatten)]
        of: Of,
        /// The readings, each as the command line takes it: `slave_travel=0.45 in`.
        #[serde(default)]
        readings: Vec<String>,
    },
}

/// The subject of a request.
#[derive(Deserialize, Clone, PartialEq, Eq, Debug)]
pub(super) struct Of {
    pub file: String,
    /// The system; `None` for all systems of the file.
    #[serde(default)]
    pub system: Option<String>,
    /// The parts picked where the system leaves a choice, by their blocks.
    #[serde(default)]
    pub pick: BTreeMap<String, String>,
}

impl Of {
    pub fn file(file: String) -> Self {
        Self {
            file,
            system: None,
            pick: BTreeMap::new(),
        }
    }

    /// Whether one report answers both requests.
    pub fn is_same_report(&self, other: &Self) -> bool {
        let whole = |of: &Self| of.pick.is_empty();
        self.file == other.file && (whole(self) && whole(other) || self == other)
    }
}

/// A place in a text.
#[derive(Deserialize, Clone, Copy, Debug)]
pub(super) struct At {
    pub line: u32,
    pub character: u32,
}
