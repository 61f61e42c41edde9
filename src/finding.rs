//! What is reported to people, in one shape for every room and every face.

use crate::check_id::CheckId;
use crate::quantity::Dimension;
use crate::schema::{BlockId, FieldId, ResultId};
use crate::syntax::{Flaw, Span};
use std::sync::Arc;

/// The name of a file as the user or the editor knows it, with `/` between its parts.
pub type FileName = Arc<str>;

/// A run of bytes in a statement of a file. An edit in other statements does not change it.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Place {
    /// The file that contains it.
    pub file: FileName,
    /// Where in the file.
    pub span: Span,
}

impl Place {
    pub(crate) fn new(file: &FileName, span: Span) -> Self {
        Self {
            file: file.clone(),
            span,
        }
    }
}

/// How much a finding matters, least first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// A better way to write it.
    Hint,
    /// Worth knowing, with nothing to change.
    Info,
    /// It will trouble the driver or the fitter.
    Warning,
    /// It will not work, or it will break something.
    Error,
}

impl Severity {
    pub(crate) const ALL: [Self; 4] = [Self::Hint, Self::Info, Self::Warning, Self::Error];

    /// The severity as people read it and as settings write it: `warning`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Hint => "hint",
            Self::Info => "info",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }

    /// What people call a finding with this severity, in a summary or on a sheet. A hint and an info are both a note.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hint | Self::Info => "note",
            Self::Warning | Self::Error => self.name(),
        }
    }
}

/// Another place that explains a finding.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Related {
    /// Where it is.
    pub place: Place,
    /// What it has to do with the finding.
    pub message: String,
}

/// A change of the text that cures a finding.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Fix {
    /// What it does and what it leads to.
    pub title: String,
    /// The replacements, each a place and its new text. They are applied together.
    pub edits: Vec<(Place, String)>,
}

/// By how much a result or another value is past its limit.
#[derive(Clone, Copy, Debug)]
pub struct Shortfall {
    /// The distance to the limit, in internal units.
    pub value: f64,
    /// What kind of value it is.
    pub what: Measure,
}

/// The kind of value that a shortfall measures.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Measure {
    /// A result of the table of results.
    Result(ResultId),
    /// A value with this dimension that is no result.
    Other(Dimension),
    /// A number of things.
    Count,
}

impl Measure {
    pub(crate) fn dimension(self) -> Dimension {
        match self {
            Self::Result(result) => result.spec().dimension,
            Self::Other(dimension) => dimension,
            Self::Count => Dimension::NUMBER,
        }
    }
}

impl From<ResultId> for Measure {
    fn from(result: ResultId) -> Self {
        Self::Result(result)
    }
}

impl From<Dimension> for Measure {
    fn from(dimension: Dimension) -> Self {
        Self::Other(dimension)
    }
}

// Compared bit by bit, so that a shortfall can be a key.
impl PartialEq for Shortfall {
    fn eq(&self, other: &Self) -> bool {
        (self.value.to_bits(), self.what) == (other.value.to_bits(), other.what)
    }
}

impl Eq for Shortfall {}

impl std::hash::Hash for Shortfall {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        (self.value.to_bits(), self.what).hash(state);
    }
}

/// Something that is wrong, before its severity is known.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Problem {
    /// The check that it belongs to.
    pub check: CheckId,
    /// Where it is.
    pub place: Place,
    /// What is wrong, with the numbers, and what that does.
    pub message: String,
    /// What to change.
    pub help: Option<String>,
    /// Other places that explain it.
    pub related: Vec<Related>,
    /// Changes of the text, each of which cures it.
    pub fixes: Vec<Fix>,
    /// The block that it is about, so that an `allow` in that block can silence it.
    pub block: Option<BlockId>,
    /// The field that it is about; `None` if it is about no single field.
    pub field: Option<FieldId>,
    /// How far past its limit the value is; `None` if the problem is not about a limit.
    pub shortfall: Option<Shortfall>,
}

impl Problem {
    pub(crate) fn new(check: CheckId, place: Place, message: impl Into<String>) -> Self {
        Self {
            check,
            place,
            message: message.into(),
            help: None,
            related: Vec::new(),
            fixes: Vec::new(),
            block: None,
            field: None,
            shortfall: None,
        }
    }

    /// Every place that the problem names.
    pub fn places(&self) -> impl Iterator<Item = &Place> {
        let related = self.related.iter().map(|related| &related.place);
        let edits = self.fixes.iter().flat_map(|fix| &fix.edits);
        std::iter::once(&self.place)
            .chain(related)
            .chain(edits.map(|(place, _)| place))
    }

    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds another place that explains it.
    pub(crate) fn related(mut self, place: Place, message: impl Into<String>) -> Self {
        self.related.push(Related {
            place,
            message: message.into(),
        });
        self
    }

    /// Adds a fix that replaces one run of text.
    pub fn fix(mut self, title: impl Into<String>, place: Place, text: impl Into<String>) -> Self {
        self.fixes.push(Fix {
            title: title.into(),
            edits: vec![(place, text.into())],
        });
        self
    }

    /// Sets the block that it is about, so that an `allow` in that block can silence it.
    pub(crate) fn about(mut self, block: BlockId) -> Self {
        self.block = Some(block);
        self
    }

    /// Sets the field that it is about, and with it the block.
    pub(crate) fn about_field(mut self, field: FieldId) -> Self {
        self.field = Some(field);
        self.about(field.block)
    }

    /// Sets how far past its limit it is, in internal units. A baseline reports the finding again when this distance
    /// grows.
    pub fn short_by(mut self, value: f64, what: impl Into<Measure>) -> Self {
        self.shortfall = Some(Shortfall {
            value,
            what: what.into(),
        });
        self
    }

    /// Suggests the name that was probably meant by a misspelled one.
    pub fn did_you_mean(self, meant: Option<&str>) -> Self {
        match meant {
            None => self,
            Some(meant) => {
                let place = self.place.clone();
                self.help(format!("did you mean `{meant}`?")).fix(
                    format!("write `{meant}`"),
                    place,
                    meant,
                )
            }
        }
    }

    /// The problem of a flaw in a file's text.
    pub fn from_flaw(flaw: &Flaw, file: &FileName) -> Self {
        let place = |span| Place::new(file, span);
        Self {
            check: flaw.check,
            place: place(flaw.span),
            message: flaw.message.clone(),
            help: flaw.help.clone(),
            related: flaw
                .related
                .iter()
                .map(|(span, message)| Related {
                    place: place(*span),
                    message: message.clone(),
                })
                .collect(),
            fixes: flaw
                .fixes
                .iter()
                .map(|fix| Fix {
                    title: fix.title.clone(),
                    edits: fix
                        .edits
                        .iter()
                        .map(|(span, text)| (place(*span), text.clone()))
                        .collect(),
                })
                .collect(),
            block: None,
            field: None,
            shortfall: None,
        }
    }
}
