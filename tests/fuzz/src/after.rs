//! What is kept from before an edit is what a fresh look finds.

use super::input::{Dice, NAMES, Pair};
use bitepoint::analysis::{Report, analyse_after};
use bitepoint::syntax::parse;
use std::sync::Arc;

/// How many edits one follows another.
const EDITS: usize = 3;

/// The most that is put in at once, in bytes.
const MOST: usize = 40;

pub fn holds(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let mut pair = Pair::new(&text);
    let mut report = pair.report();
    let mut dice = Dice::new(data);
    for _ in 0..EDITS {
        let text = edited(&report.source.text, &mut dice);
        let source = report.source.edited(text.clone());
        assert_eq!(source.tree, parse(&text), "{text}");
        pair = pair.with(text.clone());
        let again = analyse_after(
            Some(&report),
            Arc::new(source),
            &pair.files(),
            &Pair::work(),
        );
        let fresh = pair.report();
        assert_eq!(everything(&again), everything(&fresh), "{text}");
        report = again;
    }
}

/// A piece of the text put in place of another.
fn edited(text: &str, dice: &mut Dice) -> String {
    let mut some = |most: usize| {
        let start = dice.offset(text) as usize;
        let end = (start..=text.len().min(start + dice.below(most)))
            .rev()
            .find(|end| text.is_char_boundary(*end));
        start..end.unwrap_or(start)
    };
    let (gone, new) = (some(8), some(MOST));
    let mut edited = text.to_owned();
    edited.replace_range(gone, &text[new]);
    edited
}

fn everything(report: &Report) -> String {
    assert_eq!(&*report.source.name, NAMES[0]);
    let systems: Vec<_> = report.worked_systems().collect();
    format!(
        "{:#?}\n{:#?}\n{systems:#?}",
        report.findings, report.allowed
    )
}
