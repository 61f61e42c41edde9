//! The text output of `check` and `calc`: the worst first, each thing once, and nothing that buries it.

mod common;

use common::{SOUND, bitepoint, folder};

/// A base with a fault that three derived systems also have, and notes of their own.
fn derived() -> String {
    let short = SOUND.replace("travel = 150 mm", "travel = 90 mm");
    let systems = ["b", "c", "d"].map(|name| format!("system {name} from sound {{ }}\n"));
    format!("{short}{}", systems.concat())
}

#[test]
fn errors_come_first_and_notes_take_a_line() {
    let folder = folder(&[("a.clutch", &format!("let spare = 3 mm\n{}", derived()))]);
    let (status, out, _) = bitepoint(folder.path(), &["check", "a.clutch"]);
    assert_eq!(status, 1);
    insta::assert_snapshot!(out);
    let (_, whole, _) = bitepoint(folder.path(), &["check", "a.clutch", "--verbose"]);
    assert!(whole.contains("nothing here uses `spare`"), "{whole}");
    let error = whole.find("error: ").expect("an error");
    assert!(error < whole.find("hint: ").expect("a hint"), "{whole}");
}

/// A finding that fails the run is shown in full, even if it is only a note.
#[test]
fn a_finding_that_fails_the_run_is_shown() {
    let folder = folder(&[("a.clutch", &format!("let spare = 3 mm\n{SOUND}"))]);
    let check = |level: &str| bitepoint(folder.path(), &["check", "--fail-on", level]).1;
    assert!(check("hint").contains("nothing here uses `spare`"));
    assert!(!check("error").contains("nothing here uses `spare`"));
}

#[test]
fn the_short_form_is_a_line_a_finding() {
    let folder = folder(&[("a.clutch", &derived())]);
    let (status, out, _) = bitepoint(folder.path(), &["check", "--format", "short"]);
    assert_eq!(status, 1);
    let errors: Vec<&str> = out
        .lines()
        .filter(|line| line.contains(": error["))
        .collect();
    let [error] = errors.as_slice() else {
        panic!("{out}");
    };
    assert!(error.starts_with("a.clutch:4:"), "{error}");
    assert!(error.contains(": error[short-release] sound: "), "{error}");
    assert!(error.ends_with("; also in: b, c, d"), "{error}");
}

#[test]
fn calc_sums_up_then_lists_in_sections() {
    let folder = folder(&[("a.clutch", SOUND)]);
    let (_, out, _) = bitepoint(folder.path(), &["calc", "a.clutch"]);
    insta::assert_snapshot!(out);
    let (_, named, _) = bitepoint(folder.path(), &["calc", "a.clutch", "--names", "--all"]);
    insta::assert_snapshot!(named);
}
