//! The canonical form: what it looks like, and that it never changes what a spec means.

mod common;

use bitepoint::analysis::analyse;
use bitepoint::syntax::{format, parse};
use common::{Library, source};
use proptest::prelude::*;

fn canonical(text: &str) -> String {
    format(text, &parse(text)).expect("a text without flaws")
}

#[test]
fn one_form_for_however_it_was_written() {
    let written = "# a car\n\n\n\nuse   \"p.clutch\"\nlet  a=5 mm ^ 2+ - 3mm*.75E3 +-  2%   # odd
system x \"X\" from y{
pedal{ratio=6,travel=150mm+/-3 mm}
  line a {bore=1  1/8 in   length = 2·3 mm} # tail

  cover { # opening
  release_load=curve{ # top
  0 mm:1 N,# first
  # own line
  2 mm:3 N 4 mm : 1.5kN
  }
     action=push


     release_travel = 7.5 mm to 11 mm
     # last
  }
require pedal_effort<=130 N\"knee\"
choose master a,b ,c
}
";
    insta::assert_snapshot!(canonical(written));
}

#[test]
fn no_blank_line_opens_a_body_and_none_is_doubled() {
    assert_eq!(
        canonical("\n\nsystem a {\n\n    fork { ratio = 2 }\n\n\n    slave s\n\n}\n"),
        "system a {\n    fork { ratio = 2 }\n\n    slave s\n}\n"
    );
}

#[test]
fn line_ends_stay_what_they_are() {
    assert_eq!(
        canonical("let a=1\r\nlet b=2\r\n"),
        "let a = 1\r\nlet b = 2\r\n"
    );
}

#[test]
fn a_text_with_flaws_is_left_alone() {
    let text = "let a = \n";
    assert_eq!(format(text, &parse(text)), None);
}

/// Pieces of specs, right and wrong, in any order: a grammar's worth of statements.
fn statement() -> impl Strategy<Value = String> {
    let number = prop_oneof![
        Just("3".to_owned()),
        Just("7/8".to_owned()),
        Just("1 1/8".to_owned()),
        Just("2.50".to_owned()),
        Just("1e2".to_owned()),
    ];
    let unit = prop_oneof![
        Just(" mm"),
        Just("in"),
        Just(" N/mm"),
        Just(" cc/ft"),
        Just(" N·m"),
        Just("%"),
        Just(""),
        Just(" mm²"),
        Just(" degC"),
    ];
    let atom = (number, unit).prop_map(|(number, unit)| format!("{number}{unit}"));
    let value = atom.prop_recursive(4, 24, 3, |inner| {
        prop_oneof![
            (inner.clone(), inner.clone(), "[-+*/]").prop_map(|(a, b, op)| format!("{a} {op} {b}")),
            inner.clone().prop_map(|a| format!("({a})")),
            inner.clone().prop_map(|a| format!("-{a}")),
            inner.clone().prop_map(|a| format!("{a} ^ 2")),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("max( {a},{b})")),
            Just("master.bore".to_owned()),
            Just("some_let".to_owned()),
        ]
    });
    let value = prop_oneof![
        4 => value.clone(),
        1 => (value.clone(), value.clone()).prop_map(|(a, b)| format!("{a} ± {b}")),
        1 => (value.clone(), value.clone()).prop_map(|(a, b)| format!("{a} to {b}")),
        1 => prop::collection::vec((value.clone(), value.clone()), 1..4).prop_map(|points| {
            let points: Vec<String> = points.iter().map(|(x, y)| format!("{x}:{y}")).collect();
            format!("curve {{ {} }}", points.join(",\n# note\n"))
        }),
    ];
    let field = ("[a-z_]{1,9}", value.clone(), "( # c)?")
        .prop_map(|(name, value, comment)| format!("{name}={value}{comment}\n"));
    let fields = prop::collection::vec(field, 0..5).prop_map(|fields| fields.concat());
    let block = ("[a-z]{1,6}", "( [a-z]{1,4})?", fields.clone(), "\n?").prop_map(
        |(block, name, fields, newline)| format!("{block}{name} {{{newline}{fields}}}\n"),
    );
    let system = ("[a-z]{1,5}", prop::collection::vec(block, 0..4), "\n{0,3}").prop_map(
        |(name, blocks, blank)| format!("system {name} {{{blank}{}}}{blank}\n", blocks.concat()),
    );
    prop_oneof![
        3 => system,
        1 => value.prop_map(|value| format!("let name = {value}\n")),
        1 => fields.prop_map(|fields| format!("part master m {{\n{fields}}}\n")),
        1 => Just("# comment\n\n\n".to_owned()),
    ]
}

proptest! {
    #![proptest_config(common::cases(400))]

    #[test]
    fn twice_is_once_and_nothing_is_lost(statements in prop::collection::vec(statement(), 0..6)) {
        let text = statements.concat();
        let tree = parse(&text);
        prop_assume!(tree.flaws.is_empty());
        let once = canonical(&text);
        let again = parse(&once);
        prop_assert!(again.flaws.is_empty(), "{:?}\n{}", again.flaws, once);
        prop_assert_eq!(&canonical(&once), &once);
        // Comments apart and blanks apart, the same characters come out in the same order.
        prop_assert_eq!(essence(&text), essence(&once));
    }
}

/// A text without what the formatter may change: blanks, separators, spellings of one thing.
fn essence(text: &str) -> String {
    let spelled = text.replace('·', "*").replace('²', "^2").replace('E', "e");
    let mut comments: Vec<&str> = spelled
        .lines()
        .filter_map(|l| l.split_once('#'))
        .map(|(_, c)| c.trim())
        .collect();
    comments.sort_unstable();
    let code: String = spelled
        .lines()
        .map(|line| line.split('#').next().unwrap_or_default())
        .flat_map(str::chars)
        .filter(|c| !c.is_whitespace() && *c != ',')
        .collect();
    format!("{code}\n{}", comments.join("\n"))
}

#[test]
fn formatting_never_changes_a_result() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/examples");
    let text = std::fs::read_to_string(format!("{root}/larkfield.clutch")).unwrap();
    let read = |name: &str| std::fs::read_to_string(format!("{root}/{name}")).unwrap();
    let (cylinders, covers) = (read("parts/cylinders.clutch"), read("parts/covers.clutch"));
    let library = Library::new(&[
        ("parts/cylinders.clutch", &cylinders),
        ("parts/covers.clutch", &covers),
    ]);
    let squeezed = text.replace("    ", " ").replace(" = ", "=");
    let before = analyse(source("a.clutch", &squeezed), &library);
    let after = analyse(source("a.clutch", &canonical(&squeezed)), &library);
    assert!(before.systems.len() >= 2);
    for (before, after) in before.systems.iter().zip(&after.systems) {
        assert!(before.outcome.is_ok());
        assert_eq!(before.outcome, after.outcome);
    }
}
