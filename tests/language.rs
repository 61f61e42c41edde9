//! The language, by example: every file in `cases` is a spec with the expected findings marked in
//! it, under the place that they are about.

mod common;

use bitepoint::analysis::{Report, analyse};
use bitepoint::finding::Severity;
use bitepoint::syntax::Encoding;
use common::{Library, source};

/// One expected or found mistake: line, first column and the one behind the last, check, message.
type Mark = (u32, u32, u32, String);

/// What the comments under the lines expect: `#   ^^^^ check: the message begins so`.
fn expected(text: &str) -> Vec<(Mark, String)> {
    let mut marks = Vec::new();
    let mut line = 0;
    for (number, content) in (0u32..).zip(text.lines()) {
        let mark = content
            .strip_prefix('#')
            .map(str::trim_start)
            .filter(|rest| rest.starts_with('^'));
        let Some(mark) = mark else {
            line = number;
            continue;
        };
        let start = (content.chars().count() - mark.chars().count()) as u32;
        let carets = mark.chars().take_while(|c| *c == '^').count() as u32;
        let (check, message) = mark
            .trim_start_matches('^')
            .trim()
            .split_once(": ")
            .expect("a mark says which check and how its message begins");
        marks.push((
            (line, start, start + carets, check.to_owned()),
            message.to_owned(),
        ));
    }
    marks.sort();
    marks
}

/// What is found, hints among it; things merely worth knowing are another test's.
fn found(report: &Report) -> Vec<(Mark, String)> {
    let lines = &report.source.lines;
    let mut marks: Vec<(Mark, String)> = report
        .findings
        .iter()
        .filter(|finding| finding.severity != Severity::Info)
        .map(|finding| {
            let span = finding.problem.place.span;
            let start = lines.position(span.start, Encoding::Utf32);
            let end = lines.position(span.end, Encoding::Utf32);
            let end_column = if end.line > start.line || end.column == start.column {
                start.column + 1
            } else {
                end.column
            };
            (
                (
                    start.line,
                    start.column,
                    end_column,
                    finding.check.name.to_owned(),
                ),
                finding.problem.message.clone(),
            )
        })
        .collect();
    marks.sort();
    marks
}

#[test]
fn every_case_gives_exactly_the_findings_marked_in_it() {
    let mut seen = 0;
    let mut wrong = String::new();
    insta::glob!("cases/*.clutch", |path| {
        let text = std::fs::read_to_string(path).unwrap();
        let report = analyse(source("case.clutch", &text), &Library::default());
        let (expected, found) = (expected(&text), found(&report));
        for (mark, message) in &expected {
            let hit = found
                .iter()
                .any(|(other, text)| other == mark && text.starts_with(message));
            if !hit {
                wrong += &format!("{}: not found: {mark:?} {message}\n", path.display());
            }
        }
        for (mark, message) in &found {
            let hit = expected
                .iter()
                .any(|(other, text)| other == mark && message.starts_with(text));
            if !hit {
                wrong += &format!("{}: not expected: {mark:?} {message}\n", path.display());
            }
        }
        seen += 1;
    });
    assert!(wrong.is_empty(), "\n{wrong}");
    assert!(seen >= 5, "the cases are gone");
}

#[test]
fn healthy_systems_are_worked_out_whatever_stands_beside_them() {
    let text = include_str!("cases/ten_mistakes.clutch");
    let report = analyse(source("case.clutch", text), &Library::default());
    let worked: Vec<&str> = report
        .systems
        .iter()
        .filter(|worked| worked.outcome.is_ok())
        .map(|worked| worked.system.name.as_str())
        .collect();
    assert_eq!(worked, ["healthy", "also_healthy"]);
    assert_eq!(
        report
            .findings
            .iter()
            .filter(|f| f.severity == Severity::Error)
            .count(),
        10
    );
}

/// Applies the first fix of every finding, last place first.
fn mended(report: &Report) -> String {
    let mut text = report.source.text.clone();
    let mut edits: Vec<_> = report
        .findings
        .iter()
        .filter_map(|finding| finding.problem.fixes.first())
        .flat_map(|fix| &fix.edits)
        .collect();
    edits.sort_by_key(|(place, _)| std::cmp::Reverse(place.span));
    for (place, new) in edits {
        text.replace_range(place.span.range(), new);
    }
    text
}

#[test]
fn every_habit_has_a_fix_that_mends_it() {
    let text = include_str!("cases/habits.clutch");
    let report = analyse(source("case.clutch", text), &Library::default());
    let without_fix: Vec<&str> = report
        .findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .filter(|finding| finding.problem.fixes.is_empty())
        .map(|finding| finding.problem.message.as_str())
        .collect();
    // A mass is simply the wrong kind of thing; all else is a spelling.
    assert_eq!(without_fix, ["`free_play` is a length, and this is a mass"]);
    let mended = mended(&report);
    let again = analyse(source("case.clutch", &mended), &Library::default());
    let left: Vec<&str> = again
        .findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .map(|finding| finding.problem.message.as_str())
        .collect();
    assert_eq!(left, without_fix, "{mended}");
}

#[test]
fn every_brace_mistake_has_a_fix_that_mends_it() {
    for case in ["cases/braces.clutch", "cases/ten_mistakes.clutch"] {
        let path = format!("{}/tests/{case}", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        let report = analyse(source("case.clutch", &text), &Library::default());
        let again = analyse(source("case.clutch", &mended(&report)), &Library::default());
        let left: Vec<&str> = again
            .findings
            .iter()
            .map(|finding| finding.problem.message.as_str())
            .filter(|message| message.contains("brace") || message.contains("the file ends"))
            .collect();
        assert!(left.is_empty(), "{case}: {left:?}");
    }
}

/// A sentence in one file about a name in another.
#[test]
fn parts_and_lets_come_from_used_files() {
    let library = Library::new(&[
        (
            "lib/parts.clutch",
            "use \"deep/more.clutch\"\npart slave s { bore = size  stroke = 30 mm }",
        ),
        (
            "lib/deep/more.clutch",
            "let size = 7/8 in\npart master m { bore = 3/4 in  stroke = 36 mm }",
        ),
    ]);
    let text = "use \"lib/parts.clutch\"
system a {
    pedal { ratio = 6  travel = 150 mm }
    master m
    slave s { rest_extension = 12 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
";
    let report = analyse(source("car.clutch", text), &library);
    assert!(report.systems[0].outcome.is_ok(), "{:?}", report.findings);
    let names: Vec<&str> = report.used.iter().map(|source| &*source.name).collect();
    assert_eq!(names, ["lib/parts.clutch", "lib/deep/more.clutch"]);
}

#[test]
fn a_named_part_replaces_the_bases_part_but_not_the_bases_own_fields() {
    let text = "part slave small { bore = 3/4 in  stroke = 30 mm  preload = 20 N }
part slave large { bore = 1 in  stroke = 28 mm }
system base {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave small { rest_extension = 7 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
system derived from base { slave large }
";
    let report = analyse(source("car.clutch", text), &Library::default());
    let derived = &report.systems[1].system;
    let number = |field| derived.number(field);
    assert_eq!(number(bitepoint::field!(slave.bore)), Some(25.4));
    assert_eq!(number(bitepoint::field!(slave.stroke)), Some(28.0));
    assert_eq!(
        number(bitepoint::field!(slave.rest_extension)),
        Some(7.0),
        "the base's own"
    );
    assert_eq!(
        number(bitepoint::field!(slave.preload)),
        Some(0.0),
        "the old part's is gone"
    );
}

#[test]
fn what_is_wrong_with_a_used_file_is_said_where_it_is_used() {
    let library = Library::new(&[(
        "parts.clutch",
        "part slave s { bore = 7/8 in  stroke = 30 N }",
    )]);
    let text = "use \"parts.clutch\"
system a {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave s
    fork { ratio = 1.65 }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
";
    let report = analyse(source("car.clutch", text), &library);
    let finding = &report.findings[0];
    assert_eq!(finding.check.name, "wrong-unit");
    assert_eq!(finding.problem.place.span.of(text), "\"parts.clutch\"");
    assert_eq!(&*finding.problem.related[0].place.file, "parts.clutch");
    assert!(report.systems[0].outcome.is_err());
}

#[test]
fn files_that_use_each_other_and_files_that_are_not_there() {
    let library = Library::new(&[("b.clutch", "use \"a.clutch\"")]);
    let text = "use \"b.clutch\"\nuse \"gone.clutch\"\n";
    let report = analyse(source("a.clutch", text), &library);
    let checks: Vec<&str> = report.findings.iter().map(|f| f.check.name).collect();
    assert_eq!(checks, ["use-cycle", "use-missing"]);
}
