//! The change from one text to the next.

use super::TextRange;

/// One replaced range of a text. It covers everything that several edits in a row change.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TextChange {
    /// The bytes of the old text that are replaced.
    pub old: TextRange,
    /// The length in bytes of the text that replaces them.
    pub new_length: u32,
}

impl TextChange {
    /// The smallest change that leads from one text to another, in whole characters.
    pub fn between(old: &str, new: &str) -> Self {
        let [before, behind] = same_ends(old, new);
        Self {
            old: TextRange::new(before, old.len() - behind),
            new_length: (new.len() - behind - before) as u32,
        }
    }

    /// The bytes of the new text that replace the old ones.
    pub fn new_span(self) -> TextRange {
        TextRange {
            start: self.old.start,
            end: self.old.start + self.new_length,
        }
    }

    /// This change and the one after it as a single change. It covers both and everything between them.
    #[must_use]
    pub fn then(self, next: Self) -> Self {
        let between = self.new_span();
        let start = between.start.min(next.old.start);
        let end = between.end.max(next.old.end);
        Self {
            old: TextRange {
                start,
                end: end - self.new_length + (self.old.end - self.old.start),
            },
            new_length: end - start - (next.old.end - next.old.start) + next.new_length,
        }
    }

    /// Whether two texts are equal outside of what this change replaces.
    pub fn leads(self, old: &str, new: &str) -> bool {
        let (before, after) = (self.old, self.new_span());
        let start = before.start as usize;
        old.get(..start) == new.get(..start)
            && old.get(before.end as usize..).is_some()
            && old.get(before.end as usize..) == new.get(after.end as usize..)
    }
}

/// How many bytes two texts have in common at their starts, and how many of the rest at their ends. Only whole
/// characters count.
pub fn same_ends(old: &str, new: &str) -> [usize; 2] {
    let mut before = common(old.as_bytes(), new.as_bytes());
    while !old.is_char_boundary(before) {
        before -= 1;
    }
    let (old, new) = (&old[before..], &new[before..]);
    let mut behind = common_behind(old.as_bytes(), new.as_bytes());
    while !old.is_char_boundary(old.len() - behind) {
        behind -= 1;
    }
    [before, behind]
}

/// How many bytes are compared at once.
const STRIDE: usize = 64;

fn common(a: &[u8], b: &[u8]) -> usize {
    let strides = a.chunks_exact(STRIDE).zip(b.chunks_exact(STRIDE));
    let at = STRIDE * strides.take_while(|(a, b)| a == b).count();
    let rest = a[at..].iter().zip(&b[at..]);
    at + rest.take_while(|(a, b)| a == b).count()
}

fn common_behind(a: &[u8], b: &[u8]) -> usize {
    let strides = a.rchunks_exact(STRIDE).zip(b.rchunks_exact(STRIDE));
    let at = STRIDE * strides.take_while(|(a, b)| a == b).count();
    let rest = a[..a.len() - at].iter().rev();
    let rest = rest.zip(b[..b.len() - at].iter().rev());
    at + rest.take_while(|(a, b)| a == b).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn change(text: &mut String, from: usize, length: usize, new: &str) -> TextChange {
        let start = from % (text.len() + 1);
        let end = (start + length).min(text.len());
        text.replace_range(start..end, new);
        TextChange {
            old: TextRange::new(start, end),
            new_length: new.len() as u32,
        }
    }

    proptest! {
        #[test]
        fn changes_in_a_row_are_one(
            changes in prop::collection::vec((0usize..99, 0usize..9, "[a-z]{0,9}"), 1..6),
        ) {
            let old = "the pedal moves the master".to_owned();
            let mut text = old.clone();
            let all = changes
                .iter()
                .map(|(from, length, new)| change(&mut text, *from, *length, new))
                .collect::<Vec<_>>();
            let one = all.into_iter().reduce(TextChange::then).unwrap();
            prop_assert!(one.leads(&old, &text), "{one:?} {text:?}");
        }
    }
}
