//! `explain` knows the words that people type.

mod common;

use bitepoint::schema::{STATEMENTS, WORDS};
use common::{bitepoint, folder};

fn explain(what: &[&str]) -> (i32, String, String) {
    let arguments = [&["explain"], what].concat();
    bitepoint(folder(&[]).path(), &arguments)
}

#[test]
fn what_people_type_is_found() {
    for (typed, says) in [
        (&["drag"][..], "does not fully release"),
        (&["pushrod"], "slave.rod_length"),
        (&["push", "rod"], "slave.rod_length"),
        (&["air"], "air-in-line"),
        (&["hose"], "hose-gives"),
        (&["bleed"], "bubble-trap"),
        (&["throwout", "bearing"], "release bearing"),
        (&["Throw-out bearing"], "release bearing"),
        (&["slave", "travel"], "slave_travel ("),
        (&["short release"], "short-release ("),
        (&["slave", "bore"], "slave.bore ("),
        (&["won't disengage"], "does not fully release"),
        (&["pressure plate"], "clutch cover assembly"),
        (&["words"], "pilot bearing"),
        (&["choose"], "choose slave hy_22, hy_25"),
        (&["kit"], "choose (statement)"),
        (&["require"], "require-failed"),
    ] {
        let (status, out, said) = explain(typed);
        assert_eq!(status, 0, "{typed:?}: {said}");
        assert!(out.contains(says), "{typed:?}: {out}");
    }
}

#[test]
fn near_words_are_offered() {
    for (typed, meant) in [
        ("relese_margin", "did you mean `release_margin`?"),
        ("throwout bering", "did you mean `release bearing`?"),
        ("hose length", "did you mean `hose`?"),
        ("rest_extension", "did you mean `slave.rest_extension`?"),
        ("xyzzy", "`bitepoint explain` lists what there is"),
    ] {
        let (status, _, said) = explain(&[typed]);
        assert_eq!(status, 2, "{typed}");
        assert!(said.contains(meant), "{typed}: {said}");
    }
}

/// A word leads only to existing names, has one entry, and is explained in complete sentences.
#[test]
fn every_word_leads_to_existing_names() {
    let mut names: Vec<&str> = Vec::new();
    for word in WORDS.iter().chain(STATEMENTS) {
        names.push(word.word);
        names.extend(word.also);
        assert!(word.meaning.ends_with('.'), "{}", word.word);
        for see in word.see {
            let (status, out, said) = explain(&[see]);
            assert_eq!(status, 0, "{}: {said}", word.word);
            assert!(out.starts_with(&format!("{see} (")), "{see}: {out}");
        }
    }
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count, "a word stands twice");
    assert!(WORDS.is_sorted_by_key(|word| word.word));
    assert!(STATEMENTS.is_sorted_by_key(|word| word.word));
}
