//! The language by example. Every file in `cases` is a spec in which the expected findings are marked below the
//! places that they are about. In the order of their names they are a course.

mod common;

use bitepoint::analysis::{Report, analyse};
use bitepoint::checks::CHECKS;
use bitepoint::finding::Severity;
use bitepoint::syntax::Encoding;
use common::{Library, source};
use std::collections::BTreeSet;
use std::path::Path;

/// An expected or found mistake: line, first column, the column after the last, check, message.
type Mark = (u32, u32, u32, String);

/// The marks in the comments below lines: `#   ^^^^ check: the message begins so`.
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

/// The findings of a case, with hints. Notes are compared only if the case marks one of the same check.
fn found(report: &Report, marked: &[&str]) -> Vec<(Mark, String)> {
    let lines = &report.source.lines;
    let mut marks: Vec<(Mark, String)> = report
        .findings
        .iter()
        .filter(|found| found.severity != Severity::Info || marked.contains(&found.check.name()))
        .map(|finding| {
            let span = report.range(&finding.problem.place);
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
                    finding.check.name().to_owned(),
                ),
                finding.problem.message.clone(),
            )
        })
        .collect();
    marks.sort();
    marks
}

/// The cases by name, in their order.
fn cases() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut cases: Vec<(String, String)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "clutch"))
        .map(|path| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, std::fs::read_to_string(path).unwrap())
        })
        .collect();
    cases.sort();
    cases
}

/// The text of a case, and its findings.
fn case(name: &str) -> (String, Report) {
    let text = cases().into_iter().find(|(case, _)| case == name);
    let (_, text) = text.unwrap_or_else(|| panic!("there is no case {name}"));
    let report = look_at(name, &text);
    (text, report)
}

/// The report of a text with the name of a case.
fn look_at(name: &str, text: &str) -> Report {
    let cases = cases();
    let files: Vec<(&str, &str)> = cases.iter().map(|(n, t)| (&**n, &**t)).collect();
    analyse(source(name, text), &Library::new(&files))
}

#[test]
fn every_case_gives_exactly_the_findings_marked_in_it() {
    let mut wrong = String::new();
    for (name, text) in cases() {
        let report = look_at(&name, &text);
        let expected = expected(&text);
        let marked: Vec<&str> = expected.iter().map(|((.., check), _)| &**check).collect();
        let found = found(&report, &marked);
        for (mark, message) in &expected {
            let hit = found
                .iter()
                .any(|(other, text)| other == mark && text.starts_with(message));
            if !hit {
                wrong += &format!("{name}: not found: {mark:?} {message}\n");
            }
        }
        for (mark, message) in &found {
            let hit = expected
                .iter()
                .any(|(other, text)| other == mark && message.starts_with(text));
            if !hit {
                wrong += &format!("{name}: not expected: {mark:?} {message}\n");
            }
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
}

#[test]
fn every_check_is_raised_by_a_case_that_begins_with_what_it_shows() {
    let cases = cases();
    let mut raised = BTreeSet::new();
    for (name, text) in &cases {
        let first = text.lines().next().unwrap();
        assert!(
            first.starts_with("# "),
            "{name} does not begin with a comment that says what it shows"
        );
        raised.extend(expected(text).into_iter().map(|((.., check), _)| check));
    }
    let of_settings = ["wrong-setting"];
    // Combinations are left out only while a spec is typed.
    let of_editors = ["not-all-tried"];
    let left: Vec<&str> = CHECKS
        .iter()
        .map(|check| check.name())
        .filter(|name| !raised.contains(*name))
        .collect();
    assert_eq!(left, [of_editors, of_settings].concat());
}

/// In the cases of a check, the system that shows its cure has no finding of it.
#[test]
fn the_cure_in_a_case_has_no_findings() {
    let mut cured = 0;
    for (name, text) in cases() {
        let report = look_at(&name, &text);
        let worked = report.systems.iter().find(|w| w.system.name == "cured");
        let Some(worked) = worked else { continue };
        assert!(worked.outcome.is_ok(), "{name}");
        let own = report.findings.iter().filter(|finding| {
            finding.system.as_deref() == Some("cured") && finding.severity != Severity::Info
        });
        assert_eq!(own.count(), 0, "{name}");
        cured += 1;
    }
    assert!(cured > 35, "{cured}");
}

#[test]
fn healthy_systems_are_worked_out_whatever_stands_beside_them() {
    let (_, report) = case("90-ten-mistakes.clutch");
    let worked: Vec<&str> = report
        .systems
        .iter()
        .filter(|worked| worked.outcome.is_ok())
        .map(|worked| worked.system.name.as_str())
        .collect();
    // What is silenced says nothing about numbers.
    assert_eq!(worked, ["healthy", "unclosed_string", "also_healthy"]);
    assert_eq!(
        report
            .findings
            .iter()
            .filter(|f| f.severity == Severity::Error)
            .count(),
        10
    );
}

/// A system that works, with one more statement.
fn with(statement: &str) -> Report {
    let text = format!(
        "part slave small {{ bore = 3/4 in  stroke = 36 mm }}
system plain {{
    pedal {{ ratio = 6  travel = 150 mm }}
    master {{ bore = 3/4 in  stroke = 36 mm }}
    slave {{ bore = 7/8 in  stroke = 30 mm }}
    fork {{ ratio = 1.65 }}
    cover {{ release_travel = 7 mm to 12 mm  release_load = 1500 N }}
}}
system a from plain {{
    {statement}
}}
"
    );
    analyse(source("car.clutch", &text), &Library::default())
}

#[test]
fn a_mistake_in_a_limit_leaves_the_results() {
    let whole = with("");
    let results = |report: &Report| format!("{:?}", report.systems[1].outcome);
    for statement in [
        "require",
        "require release_m",
        "require release_margin >=",
        "require release_marg >= 1 mm",
        "require release_margin >= 1 kg",
        "require release_margin >= (1 mm",
        "require release_margin => 1 mm",
        "require release_margin >= nothing",
        "require release_margin >= 1 mm \"for the slave",
        "allow thin-margin",
        "allow thin-margin \"for the cover",
        "let unasked = 3 mm + 2 kg",
        "let unasked =",
        "let unasked = unasked",
    ] {
        let report = with(statement);
        let errors = report.findings.iter();
        let errors = errors.filter(|finding| finding.severity == Severity::Error);
        assert_eq!(errors.count(), 1, "{statement}: {:?}", report.findings);
        assert_eq!(results(&report), results(&whole), "{statement}");
        assert!(!report.systems[1].system.is_sound(), "{statement}");
    }
}

#[test]
fn a_mistake_that_may_change_numbers_leaves_no_results() {
    for statement in [
        "let asked = 3 mm + 2 kg  pedal { free_play = asked }",
        "let asked = 3 mm + 2 kg
    pedal { free_play = asked }",
        "let",
        "requir release_margin >= 1 mm",
        // Behind what is not finished stands something else.
        "require release_margin >= slave small",
        "require release_margin >= pedal { ratio = 5 }",
        "allow thin-margin slave small",
        "choose slave",
    ] {
        let report = with(statement);
        let worked = report.systems.iter().find(|w| w.system.name == "a");
        let worked = worked.expect("its head is whole");
        assert!(worked.outcome.is_err(), "{statement}");
    }
}

#[test]
fn an_allow_is_not_called_unused_while_a_limit_cannot_be_read() {
    let unused = |report: &Report| {
        let named = |name| report.findings.iter().any(|f| f.check.name() == name);
        named("unused-allow")
    };
    let allow = "allow require-failed \"agreed with the customer\"";
    assert!(unused(&with(allow)));
    assert!(!unused(&with(&format!(
        "{allow}\n    require release_marg >= 9 mm"
    ))));
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
    let at = |place: &bitepoint::finding::Place| report.range(place);
    edits.sort_by_key(|(place, _)| std::cmp::Reverse(at(place)));
    for (place, new) in edits {
        text.replace_range(at(place).range(), new);
    }
    text
}

/// The errors of a report as they are printed.
fn errors(report: &Report) -> Vec<String> {
    let errors = report.findings.iter();
    errors
        .filter(|finding| finding.severity == Severity::Error)
        .map(|finding| finding.problem.message.clone())
        .collect()
}

#[test]
fn every_habit_has_a_fix_that_mends_it() {
    for (name, beyond_mending) in [
        ("18-no-unit.clutch", &[][..]),
        ("20-inch-marks.clutch", &[]),
        ("21-decimal-comma.clutch", &[]),
        ("22-dash-in-a-fraction.clutch", &[]),
        ("23-units-by-habit.clutch", &[]),
        // What is left is the wrong thing; all else is a spelling.
        (
            "25-units-on-both-sides.clutch",
            &["the tolerance of a length is a force"],
        ),
        (
            "26-percent.clutch",
            &["`efficiency` must be from 1 % to 100 %; this is 1.2"],
        ),
        ("27-words.clutch", &["`action` must be `push` or `pull`"]),
        ("28-run-together.clutch", &[]),
        ("35-misspelled.clutch", &["`master` has no field `strok`"]),
    ] {
        let (_, report) = case(name);
        let mended = mended(&report);
        let left = errors(&look_at(name, &mended));
        assert_eq!(left, beyond_mending, "{name}: {mended}");
    }
}

#[test]
fn every_brace_mistake_has_a_fix_that_mends_it() {
    for name in [
        "30-brace-missing.clutch",
        "31-braces-of-blocks-and-curves.clutch",
        "32-brace-too-many.clutch",
        "48-cut-off.clutch",
        "90-ten-mistakes.clutch",
    ] {
        let (_, report) = case(name);
        let mut left = errors(&look_at(name, &mended(&report)));
        left.retain(|message| message.contains("brace") || message.contains("the file ends"));
        assert!(left.is_empty(), "{name}: {left:?}");
    }
}

/// One file says something about a name in another.
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
fn a_used_files_mistakes_are_reported_where_it_is_used() {
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
    let [finding] = report.findings.as_slice() else {
        panic!("{:#?}", report.findings);
    };
    assert_eq!(finding.check.name(), "use-missing");
    assert_eq!(
        finding.problem.message,
        "`parts.clutch` has a mistake on line 1; what depends on it is not worked out"
    );
    let help = finding.problem.help.as_deref();
    assert_eq!(
        help,
        Some("line 1: `stroke` is a length, and this is a force")
    );
    assert_eq!(
        common::covered(text, &finding.problem.place),
        "\"parts.clutch\""
    );
    assert_eq!(&*finding.problem.related[0].place.file, "parts.clutch");
    assert!(report.systems[0].outcome.is_err());
}

#[test]
fn circular_uses_and_missing_files() {
    let library = Library::new(&[("b.clutch", "use \"a.clutch\"")]);
    let text = "use \"b.clutch\"\nuse \"gone.clutch\"\n";
    let report = analyse(source("a.clutch", text), &library);
    let checks: Vec<&str> = report.findings.iter().map(|f| f.check.name()).collect();
    assert_eq!(checks, ["use-cycle", "use-missing"]);
}

/// Errors and warnings in a file, as line and message.
fn said(name: &str, text: &str, library: &Library) -> Vec<(u32, String)> {
    let report = analyse(source(name, text), library);
    let findings = report.findings.iter();
    findings
        .filter(|finding| finding.severity >= Severity::Warning)
        .map(|finding| {
            let start = report.range(&finding.problem.place).start;
            let line = report.source.lines.line_of(start);
            (line, finding.problem.message.clone())
        })
        .collect()
}

#[test]
fn a_used_files_mistakes_are_reported_at_the_use_that_leads_to_it() {
    let library = Library::new(&[
        (
            "good.clutch",
            "part master m { bore = 3/4 in  stroke = 36 mm }",
        ),
        ("middle.clutch", "use \"deep.clutch\""),
        (
            "deep.clutch",
            "part slave s { bore = 7/8 in  stroke = 30 N }",
        ),
        ("over.clutch", "use \"broken.clutch\""),
        (
            "broken.clutch",
            "part slave t { bore = 22,2 mm  stroke = 30 mm }",
        ),
    ]);
    let text = "use \"good.clutch\"
use \"middle.clutch\"
use \"over.clutch\"
system a {
    pedal { ratio = 6  travel = 140 mm }
    master m
    slave s
    fork { ratio = 1.65 }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1300 N }
}
";
    let said = said("car.clutch", text, &library);
    let lines: Vec<u32> = said.iter().map(|(line, _)| *line).collect();
    assert_eq!(lines, [1, 2], "{said:?}");
    assert!(
        said[0]
            .1
            .starts_with("`deep.clutch` has a mistake on line 1; what depends")
    );
    assert_eq!(said[1].1, "`broken.clutch` has a mistake on line 1");
}

#[test]
fn one_mistake_gives_one_finding() {
    let system = |body: &str| {
        format!(
            "system a {{
    pedal {{ ratio = 6  travel = 145 mm }}
    master {{ bore = 3/4 in  stroke = 36 mm }}
    cover {{ release_travel = 7 mm to 11 mm  release_load = 1300 N }}
    {body}
}}
part line hose {{ bore = 3 mm  length = 1 m }}
"
        )
    };
    let round = "slave { bore = 7/8 in  stroke = 30 mm }\n    fork { ratio = 1.65 }\n";
    for (body, message) in [
        (
            "slave { outer = 52 N  inner = 42 mm  stroke = 20 mm }".to_owned(),
            "`outer` is a length, and this is a force",
        ),
        (
            "slave { outre = 52 mm  inner = 42 mm  stroke = 20 mm }".to_owned(),
            "`slave` has no field `outre`",
        ),
        ("slave ring".to_owned(), "there is no part `slave ring`"),
        (
            format!("{round} line hose"),
            "a line has no body: its name is a label, not a part",
        ),
    ] {
        let said = said("car.clutch", &system(&body), &Library::default());
        let messages: Vec<&str> = said.iter().map(|(_, message)| message.as_str()).collect();
        assert_eq!(messages, [message], "{body}");
    }
}

#[test]
fn an_allow_of_a_check_that_cannot_be_allowed_is_reported_anywhere() {
    let text = "part master m {
    bore = 3/4 in
    allow odd-siez \"it is what there was\"
}
system a {
    pedal { ratio = 6  travel = 140 mm }
    master m { stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7 mm to 11 mm  release_load = 1300 N }
    allow unused-let \"for later\"
}
";
    let said = said("car.clutch", text, &Library::default());
    let expected = [
        (2, "there is no check `odd-siez`"),
        (
            10,
            "`unused-let` is found in the text itself, which no `allow` silences",
        ),
    ];
    assert_eq!(said.len(), 2, "{said:?}");
    for (found, (line, message)) in said.iter().zip(expected) {
        assert_eq!((found.0, found.1.as_str()), (line, message));
    }
}

#[test]
fn a_fix_never_changes_a_number() {
    let fixes = |value: &str| -> Vec<String> {
        let text = format!("let x = {value}");
        let report = analyse(source("a.clutch", &text), &Library::default());
        let fixes = report.findings.iter().flat_map(|f| &f.problem.fixes);
        fixes
            .map(|fix| {
                let (place, new) = &fix.edits[0];
                let mut text = text.clone();
                text.replace_range(report.range(place).range(), new);
                text.split_off("let x = ".len())
            })
            .collect()
    };
    assert_eq!(fixes("−3 mm"), ["-3 mm"]);
    assert_eq!(fixes("7.5–10.5 mm"), ["7.5-10.5 mm"]);
    assert_eq!(fixes("3\u{202f}mm"), ["3 mm"]);
    assert_eq!(fixes("22,2 mm"), ["22.2 mm"]);
    assert_eq!(fixes("0,875 in"), ["0.875 in"]);
    assert_eq!(fixes("1,500 N"), ["1.500 N", "1500 N"]);
    assert_eq!(fixes("200 N.m"), ["200 N*m"]);
}

#[test]
fn a_limit_replaces_only_the_bases_limit_of_its_kind() {
    let text = "system base {
    pedal { ratio = 6  travel = 140 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7 mm to 11 mm  release_load = 1300 N }
    require pedal_effort <= 300 N
    require pedal_effort >= 20 N
}
system derived from base { require pedal_effort < 200 N }
";
    let report = analyse(source("car.clutch", text), &Library::default());
    let limits: Vec<f64> = report.systems[1]
        .system
        .requires
        .iter()
        .map(|require| require.limit.nominal)
        .collect();
    assert_eq!(limits, [20.0, 200.0]);
}

#[test]
fn one_way_of_saying_a_thing_replaces_the_other_from_the_part_below_it() {
    let text = "part fork f { ratio = 1.65 }
system a {
    pedal { ratio = 6  travel = 140 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork f { slave_arm = 100 mm  bearing_arm = 50 mm }
    cover { release_travel = 5 mm to 11 mm  release_load = 1300 N }
}
";
    let said = said("car.clutch", text, &Library::default());
    assert!(
        said.iter().all(|(_, message)| !message.contains("ratio")),
        "{said:?}"
    );
    let report = analyse(source("car.clutch", text), &Library::default());
    assert_eq!(
        report.systems[0]
            .system
            .given_number(bitepoint::field!(fork.ratio)),
        None
    );
}

#[test]
fn systems_derive_up_to_the_documented_depth() {
    let most = bitepoint::model::MAX_FROM_DEPTH;
    let mut text = "system s0 {
    pedal { ratio = 6  travel = 140 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7 mm to 11 mm  release_load = 1300 N }
}
"
    .to_owned();
    for i in 1..=most + 1 {
        text += &format!("system s{i} from s{} {{\n}}\n", i - 1);
    }
    let report = analyse(source("car.clutch", &text), &Library::default());
    let worked = report.systems.iter().filter(|w| w.outcome.is_ok()).count();
    assert_eq!(worked, most + 1, "the first, and as many on top of it");
    let refused = report.findings.iter();
    let refused = refused.filter(|f| f.check.name() == "too-large").count();
    assert_eq!(refused, 1);
}
