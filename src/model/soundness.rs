//! How much of a system could be read.

/// How much of a system could be read, the least first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Soundness {
    /// Something that its numbers depend on could not be read, or is missing.
    Partial,
    /// Everything that its numbers depend on is known, so that the system can be worked out. A limit, an `allow` or a
    /// let that no value reads could not be read.
    Workable,
    /// Everything could be read, and nothing that must be there is missing.
    Sound,
}
