//! Places in a text: of a whole file, and of one statement.

/// A run of bytes of a file's text, `start..end`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct TextRange {
    /// The offset of its first byte, from the beginning of the text.
    pub start: u32,
    /// The offset behind its last byte; the same as `start` for an empty range.
    pub end: u32,
}

impl TextRange {
    /// The range `start..end`; empty where `end` lies before `start`.
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

    /// From the start of this to the end of the other.
    pub fn to(self, end: Self) -> Self {
        Self {
            start: self.start,
            end: end.end.max(self.start),
        }
    }

    /// This range as one of the standard library, to slice a text with.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// Whether an offset lies in it or right behind it, as a cursor does.
    pub fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// The text that it covers; empty when it does not lie in the text.
    pub fn of(self, text: &str) -> &str {
        text.get(self.range()).unwrap_or_default()
    }
}

/// Names a statement of a file by what the statement says, comments included, and among equal ones
/// by their order. An edit elsewhere in the file does not change it, and neither does reading
/// the file anew.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct StatementId(u64);

impl StatementId {
    /// The whole file: spans of it count from the beginning of the text.
    pub const FILE: Self = Self(0);
    /// What follows the last statement.
    pub(super) const TAIL: Self = Self(1);

    const COPY_BITS: u32 = 20;
    /// How many hashes of texts are told apart.
    pub(super) const HASHES: u64 = (1 << (u64::BITS - Self::COPY_BITS)) - 1;

    /// The statement that so many with the same text precede. `text_hash` is less than
    /// [`Self::HASHES`].
    pub(super) fn new(text_hash: u64, copy: u32) -> Self {
        let most = (1 << Self::COPY_BITS) - 1;
        // Above the two that are no statements.
        Self((text_hash + 1) << Self::COPY_BITS | u64::from(copy.min(most)))
    }

    /// The hash of the text, which all equal statements share.
    pub(super) fn text_hash(self) -> u64 {
        (self.0 >> Self::COPY_BITS).saturating_sub(1)
    }
}

/// A run of bytes of one statement at the level of the file, counted from where that statement
/// (with the comments before it) begins. An edit of other statements leaves it as it is;
/// [`Tree::range`](super::Tree::range) says where it stands in the file.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Span {
    /// The statement of the file that it lies in.
    pub statement: StatementId,
    /// The offset of its first byte, from where the statement begins.
    pub start: u32,
    /// The offset behind its last byte, from where the statement begins.
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

    /// What it covers of its statement's text; empty when it does not lie in the text.
    pub(super) fn of(self, text: &str) -> &str {
        self.from_start(0).of(text)
    }

    /// From the start of this to the end of another of the same statement.
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

    /// Whether an offset from the beginning of its statement lies in it or right behind it.
    pub fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// Where it stands in a text in which its statement begins at an offset.
    pub fn from_start(self, start: u32) -> TextRange {
        TextRange {
            start: start.saturating_add(self.start),
            end: start.saturating_add(self.end),
        }
    }
}
