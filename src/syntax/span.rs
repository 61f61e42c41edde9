//! Places in a text: ranges of a whole file, and spans of one statement.

/// A run of bytes of a file's text, `start..end`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct TextRange {
    /// The offset of its first byte, from the beginning of the text.
    pub start: u32,
    /// The offset after its last byte; equal to `start` for an empty range.
    pub end: u32,
}

impl TextRange {
    /// The range `start..end`; empty where `end` is before `start`.
    pub fn new(start: usize, end: usize) -> Self {
        // Files beyond MAX_FILE_BYTES are never parsed, so offsets fit.
        Self {
            start: start as u32,
            end: end.max(start) as u32,
        }
    }

    /// The empty range at an offset.
    pub fn empty(at: u32) -> Self {
        Self { start: at, end: at }
    }

    /// The range from the start of this one to the end of another.
    pub fn to(self, end: Self) -> Self {
        Self {
            start: self.start,
            end: end.end.max(self.start),
        }
    }

    /// The range as one of the standard library, to slice a text.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// Whether an offset is in the range or right after it, as a cursor may be.
    pub fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// The text that the range covers; empty if the range is not inside the text.
    pub fn of(self, text: &str) -> &str {
        text.get(self.range()).unwrap_or_default()
    }
}

/// Identifies a statement of a file by its text, comments included. Equal statements are numbered in order. Neither
/// an edit elsewhere in the file nor reading the file again changes it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct StatementId(u64);

impl StatementId {
    /// The whole file. Its spans count from the beginning of the text.
    pub const FILE: Self = Self(0);
    /// The text after the last statement.
    pub(super) const TAIL: Self = Self(1);

    const COPY_BITS: u32 = 20;
    /// How many different hashes of texts there are.
    pub(super) const HASHES: u64 = (1 << (u64::BITS - Self::COPY_BITS)) - 1;

    /// The identity of a statement that `copy` equal ones precede. `text_hash` is less than [`Self::HASHES`].
    pub(super) fn new(text_hash: u64, copy: u32) -> Self {
        let most = (1 << Self::COPY_BITS) - 1;
        // Above the two that identify no statement.
        Self((text_hash + 1) << Self::COPY_BITS | u64::from(copy.min(most)))
    }

    /// The hash of the text, which all equal statements share.
    pub(super) fn text_hash(self) -> u64 {
        (self.0 >> Self::COPY_BITS).saturating_sub(1)
    }
}

/// A run of bytes of one top-level statement, counted from where the statement begins, with the comments before it.
/// An edit in other statements does not change it. [`Tree::range`](super::Tree::range) gives its place in the file.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Span {
    /// The top-level statement that contains it.
    pub statement: StatementId,
    /// The offset of its first byte from the statement's beginning.
    pub start: u32,
    /// The offset after its last byte from the statement's beginning.
    pub end: u32,
}

impl From<TextRange> for Span {
    /// A span of the whole file.
    fn from(range: TextRange) -> Self {
        Self {
            statement: StatementId::FILE,
            start: range.start,
            end: range.end,
        }
    }
}

impl Span {
    /// A span of the whole file.
    pub(super) fn new(start: usize, end: usize) -> Self {
        TextRange::new(start, end).into()
    }

    /// The text that the span covers in its statement's text; empty if it is not inside the text.
    pub(super) fn of(self, text: &str) -> &str {
        self.from_start(0).of(text)
    }

    /// The span from the start of this one to the end of another of the same statement.
    pub fn to(self, end: Self) -> Self {
        Self {
            end: end.end.max(self.start),
            ..self
        }
    }

    /// The empty span at an offset of the same statement.
    pub fn at(self, offset: u32) -> Self {
        Self {
            start: offset,
            end: offset,
            ..self
        }
    }

    /// The empty span at its start.
    pub fn at_start(self) -> Self {
        Self {
            end: self.start,
            ..self
        }
    }

    /// The empty span at its end.
    pub fn at_end(self) -> Self {
        Self {
            start: self.end,
            ..self
        }
    }

    /// Whether an offset from the statement's beginning is in the span or right after it.
    pub fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// The range of the span in a text in which its statement begins at `start`.
    pub fn from_start(self, start: u32) -> TextRange {
        TextRange {
            start: start.saturating_add(self.start),
            end: start.saturating_add(self.end),
        }
    }
}
