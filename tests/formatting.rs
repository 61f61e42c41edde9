//! The canonical form, and that it never changes the meaning of a spec.

mod common;
#[path = "fuzz/src/requests.rs"]
mod requests;

use bitepoint::analysis::analyse;
use bitepoint::syntax::{TextRange, format, format_closed, parse, quoted};
use common::layouts::Statements;
use common::{Library, source};
use proptest::prelude::*;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rayon::prelude::*;
use requests::{Sound, applied, essence};

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
        1 => "[\"a7/{ =]{0,8}".prop_map(|text| quoted(&text)),
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
    fn formatting_twice_equals_once_and_loses_nothing(statements in prop::collection::vec(statement(), 0..6)) {
        let text = statements.concat();
        let tree = parse(&text);
        prop_assume!(tree.is_flawless());
        let once = canonical(&text);
        let again = parse(&once);
        prop_assert!(again.is_flawless(), "{:?}\n{}", again, once);
        prop_assert_eq!(&canonical(&once), &once);
        // Comments apart and blanks apart, the same characters come out in the same order.
        prop_assert_eq!(essence(&text), essence(&once));
    }
}

/// How many layouts are tried, by at most so many threads.
const LAYOUTS: usize = 100_000;
const SEEDS: u64 = 64;

/// Every request of an editor, on layouts that nobody would write.
#[test]
fn requests_format_what_they_touch_and_nothing_else() {
    let known = Statements::known();
    let sound: usize = (0..SEEDS)
        .into_par_iter()
        .map(|seed| {
            let mut rng = StdRng::seed_from_u64(seed);
            let layouts = LAYOUTS / SEEDS as usize;
            (0..layouts)
                .filter(|_| is_formatted_by_requests(&known.layout(&mut rng), &mut rng))
                .count()
        })
        .sum();
    assert!(sound > LAYOUTS / 2, "only {sound} are without flaws");
}

/// Checks all requests on a text; `false` for a text with flaws, which no request changes.
fn is_formatted_by_requests(text: &str, rng: &mut StdRng) -> bool {
    let Some(sound) = Sound::new(text) else {
        return false;
    };
    sound.whole();
    let place = |rng: &mut StdRng| {
        let at = rng.random_range(0..=text.len());
        (0..=at)
            .rev()
            .find(|at| text.is_char_boundary(*at))
            .unwrap_or(0)
    };
    let braces: Vec<usize> = text.match_indices('}').map(|(at, _)| at + 1).collect();
    match rng.random_range(0..32) {
        0..12 if !braces.is_empty() => {
            sound.typed(braces[rng.random_range(0..braces.len())] as u32);
        }
        0..21 => {
            let (one, other) = (place(rng), place(rng));
            sound.range(TextRange::new(one.min(other), one.max(other)));
        }
        21..31 => {
            let start = place(rng);
            let end = (start..text.len().min(start + 20)).rfind(|at| text.is_char_boundary(*at));
            sound.range(TextRange::new(start, end.unwrap_or(start)));
        }
        _ => sound.one_by_one(),
    }
    true
}

#[test]
fn a_closing_brace_formats_what_it_closes() {
    let text = "system a \"x\" {\npedal { travel=150 mm\n  rod_arm  =50 mm \n}}\nsystem b { pedal {travel=3 mm\n}\n}\n";
    let typed = |mark: &str| {
        let offset = text.find(mark).unwrap() + mark.len();
        applied(
            text,
            &format_closed(text, &parse(text), offset as u32).unwrap(),
        )
    };
    let rest = "\nsystem b { pedal {travel=3 mm\n}\n}\n";
    assert_eq!(
        typed("50 mm \n}}"),
        format!("system a \"x\" {{\n    pedal {{ travel = 150 mm  rod_arm = 50 mm }}\n}}{rest}")
    );
    assert_eq!(
        typed("50 mm \n}"),
        format!("system a \"x\" {{\n    pedal {{ travel = 150 mm  rod_arm = 50 mm }}\n}}{rest}")
    );
    let curve = "part cover c {\nx=1\n  release_load=curve{0 mm:1 N,2 mm:3 N}\n}\n";
    let at = curve.find("3 N}").unwrap() + 4;
    assert_eq!(
        applied(
            curve,
            &format_closed(curve, &parse(curve), at as u32).unwrap()
        ),
        "part cover c {\nx=1\n    release_load = curve { 0 mm: 1 N, 2 mm: 3 N }\n}\n"
    );
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
