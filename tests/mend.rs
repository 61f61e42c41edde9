//! `check --fix` fixes mistakes with a single certain fix, and changes nothing else.

mod common;

use bitepoint::analysis::{Report, Work, analyse, mended};
use bitepoint::checks::Run;
use bitepoint::finding::Severity;
use common::{Library, SOUND, bitepoint, cases, examples, folder, source};
use proptest::prelude::*;
use std::path::Path;

/// A shop's habits of writing, with a misspelled name and a `let` that is kept for later.
const BY_HABIT: &str = "# the van, second try
let spare = 3 mm
system van {
    pedal { ratio = 6:1  travel = 6\" }   # measured by hand
    master { bore = 3/4\"  stroke = 1-1/2 in }
    slave { bore = 7/8 in  strok = 30 mm  rest_extension = 6 mm  moves = rearward }
    fork { ratio = 1.65  pivot = between }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 Newton }
}
";

#[test]
fn habits_are_mended_and_the_rest_stays_as_it_was_written() {
    let folder = folder(&[("van.clutch", BY_HABIT)]);
    let (status, out, said) = bitepoint(folder.path(), &["check", "--fix", "van.clutch"]);
    insta::assert_snapshot!(std::fs::read_to_string(folder.path().join("van.clutch")).unwrap());
    insta::assert_snapshot!(said.trim_end());
    // What no one can know stays, and is reported.
    assert_eq!(status, i32::from(out.contains("error")), "{out}");
    let again = bitepoint(folder.path(), &["check", "--fix", "van.clutch"]);
    assert_eq!(again.2, "", "a second run has nothing to mend");
}

#[test]
fn a_diff_shows_it_and_writes_nothing() {
    let folder = folder(&[("van.clutch", BY_HABIT), ("sound.clutch", SOUND)]);
    let (status, out, _) = bitepoint(folder.path(), &["check", "--diff"]);
    assert_eq!(status, 1);
    insta::assert_snapshot!(out);
    let text = std::fs::read_to_string(folder.path().join("van.clutch")).unwrap();
    assert_eq!(text, BY_HABIT);
    let (status, out, _) = bitepoint(folder.path(), &["check", "--diff", "sound.clutch"]);
    assert_eq!((status, &*out), (0, ""));
}

#[test]
fn standard_input_and_files_that_are_no_text_are_not_changed() {
    let folder = folder(&[]);
    let (status, _, said) = bitepoint(folder.path(), &["check", "--fix", "-"]);
    assert_eq!(status, 2);
    assert!(said.contains("standard input is none"), "{said}");
    let latin = b"system a \"caf\xe9\" { master { bore = 3/4\" } }\n";
    let path = folder.path().join("latin.clutch");
    std::fs::write(&path, latin).unwrap();
    bitepoint(folder.path(), &["check", "--fix", "latin.clutch"]);
    assert_eq!(std::fs::read(&path).unwrap(), latin);
}

#[test]
fn a_library_is_mended_before_or_after_the_specs_that_use_it() {
    let spec = SOUND.replace("slave { bore = 7/8 in  stroke = 30 mm ", "slave big { ");
    let files = [
        ("a.clutch", format!("use \"m.clutch\"\n{spec}")),
        (
            "m.clutch",
            "part slave big { bore = 7/8\"  strok = 30 mm }\n".to_owned(),
        ),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(n, t)| (*n, &**t)).collect();
    let folder = folder(&files);
    let (status, out, said) = bitepoint(folder.path(), &["check", "--fix"]);
    assert_eq!(status, 0, "{out}{said}");
    assert!(said.contains("made 2 fixes in `m.clutch`"), "{said}");
}

/// How many mistakes a text has, and how many of them are errors.
fn mistakes(report: &Report) -> (usize, usize) {
    let of_text = report.findings.iter();
    let of_text = of_text.filter(|finding| matches!(finding.check.run, Run::Reading));
    let errors = of_text.clone().filter(|f| f.severity == Severity::Error);
    (errors.count(), of_text.count())
}

/// Fixing causes no mistake, keeps every number, loses no comment, and needs no second run.
fn holds(name: &str, text: &str, files: &Library) -> Result<(), TestCaseError> {
    let before = analyse(source(name, text), files);
    let first = mended(&source(name, text), files, &Work::default());
    let after = analyse(source(name, &first.text), files);
    let ((errors, all), (errors_after, all_after)) = (mistakes(&before), mistakes(&after));
    prop_assert!(
        errors_after <= errors && all_after <= all,
        "{text}\n=>\n{}",
        first.text
    );
    prop_assert_eq!(first.count == 0, first.text == text);
    for worked in before.worked_systems().filter(|w| w.is_worked_out()) {
        let now = after
            .worked_systems()
            .find(|now| now.system.name == worked.system.name);
        let results = |w: &bitepoint::analysis::Worked| {
            w.outcome
                .as_ref()
                .ok()
                .map(|outcome| outcome.results.clone())
        };
        prop_assert_eq!(now.and_then(results), results(worked), "{}", text);
        let now = now.expect("it is still there");
        prop_assert!(after.findings_of(now).count() <= before.findings_of(worked).count());
    }
    let comments = |text: &str| text.matches('#').count();
    prop_assert_eq!(comments(text), comments(&first.text));
    let second = mended(&source(name, &first.text), files, &Work::default());
    prop_assert_eq!(second.text, first.text);
    Ok(())
}

/// The cases are small specs with every kind of mistake.
#[test]
fn every_case_and_example_is_mended_without_harm() {
    let mut texts: Vec<(String, String)> = Vec::new();
    let cases = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases"));
    let cases = cases.unwrap().map(|entry| entry.unwrap().path());
    for path in cases.chain(examples()) {
        if path.extension().is_some_and(|e| e == "clutch") {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            texts.push((name, std::fs::read_to_string(path).unwrap()));
        }
    }
    let files: Vec<(&str, &str)> = texts.iter().map(|(n, t)| (&**n, &**t)).collect();
    let files = Library::new(&files);
    let mut changed = 0;
    for (name, text) in &texts {
        holds(name, text, &files).unwrap();
        changed += usize::from(mended(&source(name, text), &files, &Work::default()).count > 0);
    }
    assert!(changed > 10, "only {changed} have something to mend");
}

/// What the language requires, and what people write instead by habit.
const HABITS: [(&str, &str); 8] = [
    (" in ", "\" "),
    (" = ", ": "),
    (".", ","),
    (" mm", "mm."),
    ("/", "-"),
    ("\"", "”"),
    ("N", "Newton"),
    (" ", "\u{a0}"),
];

/// Slips in a text: a habit, a lost letter, a lost or doubled sign.
fn slipped(text: &str, slips: &[(usize, u8)]) -> String {
    let mut text = text.to_owned();
    for (at, kind) in slips {
        let at = at % text.len().max(1);
        let Some(at) = (at..text.len()).find(|at| text.is_char_boundary(*at)) else {
            continue;
        };
        match HABITS.get(usize::from(kind % 11)) {
            Some((usual, habit)) => {
                if let Some(found) = text[at..].find(usual) {
                    text.replace_range(at + found..at + found + usual.len(), habit);
                }
            }
            None => {
                let sign = text[at..].chars().next().unwrap_or(' ');
                if sign != '#' {
                    let double = [sign, sign].iter().collect::<String>();
                    let new = if kind % 2 == 0 { "" } else { &*double };
                    text.replace_range(at..at + sign.len_utf8(), new);
                }
            }
        }
    }
    text
}

/// Habits change no meaning. A sound text with habits is after fixing the same car, or it is reported and not worked
/// out. It is never another car.
#[test]
fn a_fixed_text_is_the_intended_car() {
    let results = |text: &str| {
        let report = analyse(source("a.clutch", text), &Library::default());
        let worked = report.worked_systems().next()?;
        let outcome = worked.outcome.as_ref().ok()?;
        (mistakes(&report).0 == 0).then(|| outcome.results.clone())
    };
    let meant = results(SOUND).expect("a car that works");
    let mut restored = 0;
    for at in (0..SOUND.len()).step_by(3) {
        for kind in 0..HABITS.len() as u8 {
            let text = slipped(SOUND, &[(at, kind), (at / 2, kind / 2)]);
            let mended = mended(
                &source("a.clutch", &text),
                &Library::default(),
                &Work::default(),
            );
            if mended.count > 0
                && let Some(now) = results(&mended.text)
            {
                restored += 1;
                assert_eq!(now, meant, "{text}\n=>\n{}", mended.text);
            }
        }
    }
    assert!(restored > 100, "only {restored} are whole again");
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn slips_are_mended_without_harm(
        habit in any::<bool>(),
        slips in prop::collection::vec((any::<usize>(), any::<u8>()), 1..6),
    ) {
        let text = slipped(if habit { BY_HABIT } else { SOUND }, &slips);
        holds("a.clutch", &text, &Library::default())?;
    }
}
