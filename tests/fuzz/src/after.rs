//! State kept from before an edit equals that of a new analysis.

use super::input::{Pair, floor_char_boundary};
use bitepoint::analysis::{CureSearch, Work, analyse_after};
use same::{assert_same, assert_same_cures};
use std::sync::Arc;

#[path = "../../common/same.rs"]
mod same;

/// The bytes before the text: the number of edits, and the edits.
pub const HEAD: usize = 1 + MOST_EDITS * EDIT;
const MOST_EDITS: usize = 3;
const EDIT: usize = 6;

/// The most bytes that one edit removes and inserts.
const MOST_GONE: u8 = 8;
const MOST_NEW: u8 = 40;

pub fn holds(data: &[u8]) {
    let Some((head, text)) = data.split_at_checked(HEAD) else {
        return;
    };
    let work = Work {
        cures: CureSearch::WhenAsked,
        ..Pair::work()
    };
    let mut pair = Pair::new(&String::from_utf8_lossy(text));
    let mut report = pair.report_with(&work);
    let edits = head[1..].chunks_exact(EDIT);
    for edit in edits.take(1 + usize::from(head[0]) % MOST_EDITS) {
        let text = edited(&report.source.text, edit);
        let source = report.source.edited(text.clone());
        pair = pair.with(text);
        assert_eq!(source.tree, pair.car.tree, "{}", source.text);
        let again = analyse_after(Some(&report), Arc::new(source), &pair.files(), &work);
        let fresh = pair.report_with(&work);
        assert_same(&again, &fresh);
        // Cures take longer than all the rest: they are looked at after one edit of 32.
        if edit[2] / MOST_GONE == 0 {
            assert_same_cures(&again, &fresh, usize::from(edit[5] / MOST_NEW));
        }
        report = again;
    }
}

/// A piece of the text put in place of another.
fn edited(text: &str, edit: &[u8]) -> String {
    let some = |at: &[u8], length: u8| {
        let at = usize::from(u16::from_le_bytes([at[0], at[1]]));
        let start = floor_char_boundary(text, at % (text.len() + 1));
        let end = text.len().min(start + usize::from(length));
        start..floor_char_boundary(text, end)
    };
    let gone = some(&edit[0..2], edit[2] % MOST_GONE);
    let new = some(&edit[3..5], edit[5] % MOST_NEW);
    let mut edited = text.to_owned();
    edited.replace_range(gone, &text[new]);
    edited
}
