//! How much of a system could be read.

/// How much of a system could be read, from the least to all.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Soundness {
    /// Something that its numbers depend on could not be read, or is missing.
    Partial,
    /// All that its numbers depend on is known, so that it can be worked out; something that they are
    /// held against is not, or a let that no value asks for.
    Workable,
    /// Everything could be read, and nothing that must be there is missing.
    Sound,
}
