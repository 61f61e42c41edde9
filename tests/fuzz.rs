//! Tries the fuzzer's properties on all known input: every example, every check's example, and every earlier find.
//! Also writes the fuzzer's seeds and its dictionary.

#[path = "fuzz/src/lib.rs"]
mod properties;

use bitepoint::checks::{CHECKS, Example, REFERENCE};
use bitepoint::model::{FUNCTIONS, standalone_value};
use bitepoint::quantity::{HABITS, UNITS, UnitExpr};
use bitepoint::schema::{BLOCKS, Kind, RESULTS};
use properties::input::{DIVIDER, Dice, NAMES, SHELF};
use properties::{after, analysis, edits, expression, faces, format, framing, parse};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::{Path, PathBuf};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// The longest spec in which edits are made, in bytes; longer ones are only slower.
const SHORT: usize = 400;

/// The words that the grammar itself has.
const WORDS: &[&str] = &[
    "system ", "part ", "let ", "use ", "from ", "choose ", "require ", "allow ", "curve {", "{",
    "}", "\n", "\r\n", "\t", "#", "\"", "=", " = ", "<=", ">=", "±", "+/-", " to ", "%", "°", "²",
    "·", "×", "″", "7/8", "1 1/8", "1-1/8", "1e9", "22,2", "pi", "\u{FEFF}", "\0", "e\u{301}",
    "🚗", "\u{200d}", "\u{A0}",
];

/// The words on the wire.
const WIRE: &[&str] = &[
    "Content-Length: ",
    "content-length:",
    "\r\n\r\n",
    "Content-Type: ",
    "{\"jsonrpc\":\"2.0\"",
    ",\"id\":1",
    ",\"method\":\"",
    ",\"params\":{}",
    ",\"result\":null",
    "\"initialize\"",
    "\"shutdown\"",
    "\"exit\"",
    "\u{1}",
    "18446744073709551615",
];

/// Every word that a spec may use.
fn vocabulary() -> BTreeSet<String> {
    let mut words: BTreeSet<String> = WORDS.iter().chain(WIRE).map(|w| (*w).to_owned()).collect();
    words.extend([DIVIDER.to_owned(), format!("use \"{}\"\n", NAMES[1])]);
    for block in BLOCKS {
        words.insert(block.name.to_owned());
        for field in block.fields {
            words.insert(format!("{} = ", field.name));
            if let Kind::Choice(choices) = field.kind {
                words.extend(choices.iter().map(|choice| choice.name.to_owned()));
            }
        }
    }
    words.extend(RESULTS.iter().map(|result| result.name.to_owned()));
    words.extend(CHECKS.iter().map(|check| check.name().to_owned()));
    words.extend(UNITS.iter().map(|unit| unit.name.to_owned()));
    words.extend(HABITS.iter().map(|(habit, ..)| (*habit).to_owned()));
    words.extend(
        FUNCTIONS
            .iter()
            .map(|function| format!("{}(", function.name)),
    );
    words
}

/// In the form that libFuzzer reads.
fn dictionary() -> String {
    let mut text = String::new();
    for word in vocabulary() {
        let escaped: String = word.bytes().map(|byte| format!("\\x{byte:02x}")).collect();
        let _ = writeln!(text, "\"{escaped}\"");
    }
    text
}

fn specs_below(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path: PathBuf = entry.unwrap().path();
        if path.is_dir() {
            found.extend(specs_below(&path));
        } else if path.extension().is_some_and(|e| e == "clutch") {
            found.push(std::fs::read_to_string(path).unwrap());
        }
    }
    found
}

/// Specs, each followed by the file that it may use.
fn specs() -> Vec<String> {
    let mut specs = specs_below(&Path::new(ROOT).join("examples"));
    specs.extend(specs_below(&Path::new(ROOT).join("tests/cases")));
    let cylinders =
        std::fs::read_to_string(Path::new(ROOT).join("examples/parts/cylinders.clutch"));
    let cylinders = cylinders.unwrap();
    let car = std::fs::read_to_string(Path::new(ROOT).join("tests/cases/car.clutch")).unwrap();
    for spec in &mut specs {
        if spec.contains("\nuse \"car.clutch\"") {
            *spec = spec.replace("car.clutch", NAMES[1]);
            spec.push_str(DIVIDER);
            spec.push_str(&car);
        } else if spec.contains("\nuse \"") {
            *spec = spec.replace("parts/cylinders.clutch", NAMES[1]);
            spec.push_str(DIVIDER);
            spec.push_str(&cylinders);
        }
    }
    for example in CHECKS.iter().flat_map(|check| [check.bad, check.good]) {
        specs.push(match example {
            Example::System(body) => format!("{REFERENCE}\nsystem s from reference {{{body}}}\n"),
            Example::File(text) => text.to_owned(),
            Example::Settings(_) => continue,
        });
    }
    specs
}

/// The texts after the equals signs of specs, each after the eight bytes of a number.
fn expressions(specs: &[String]) -> Vec<Vec<u8>> {
    let values = specs.iter().flat_map(|spec| spec.lines());
    let values = values.filter_map(|line| line.split_once('=')?.1.trim().into());
    let distinct: BTreeSet<&str> = values.collect();
    let numbers: [f64; 5] = [0.0, 1.0, -22.225, 1e-7, 4.2e11];
    let lead = numbers.iter().cycle();
    distinct
        .iter()
        .zip(lead)
        .map(|(value, number)| [&number.to_le_bytes(), value.as_bytes()].concat())
        .collect()
}

/// Garbage and messages in turn.
fn wires() -> Vec<Vec<u8>> {
    let messages = [
        r#"{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}"#,
        r#"{"jsonrpc":"2.0","id":"a","method":"shutdown","params":null}"#,
        r#"{"jsonrpc":"2.0","id":3,"result":null}"#,
        "null",
    ];
    let mut wires: Vec<Vec<u8>> = messages
        .iter()
        .flat_map(|body| {
            let framed = format!("Content-Length: {}\r\n\r\n{body}", body.len());
            [body.as_bytes().to_vec(), framed.into_bytes()]
        })
        .collect();
    let garbage = format!("hello\r\n\r\n{}", "x".repeat(4090));
    wires.push([b"half", messages[0].as_bytes(), garbage.as_bytes(), b"{}"].join(&0xff));
    wires
}

/// Openings, changes and questions, as the bytes of [`edits`].
fn storms() -> Vec<Vec<u8>> {
    let change = |which: u8, at: u16, over: u8, new: &str| {
        let [low, high] = at.to_le_bytes();
        let head = [which << 7 | 2, low, high, over, new.len() as u8];
        [&head, new.as_bytes()].concat()
    };
    let ask = |which: u8, at: u8, what: u8| vec![which << 7 | 1, at, 0, what];
    let again = |which: u8| vec![which << 7, 0, 0];
    vec![
        [vec![0], change(0, 60, 0, "1-1/8 in"), ask(0, 62, 0)].concat(),
        [vec![1], change(1, 12, 2, "🚗\r\n"), ask(0, 70, 7), again(1)].concat(),
        [
            vec![2],
            change(0, 0, 20, ""),
            ask(0, 9, 6),
            change(1, 0, 0, "}"),
        ]
        .concat(),
        [
            vec![0],
            again(0),
            change(0, 0xff77, 9, "{"),
            ask(1, 4, 1),
            ask(1, 30, 5),
        ]
        .concat(),
    ]
}

/// Edits, with the text in which they are made and its base in a file of its own.
fn edited(specs: &[String]) -> Vec<Vec<u8>> {
    let uses = format!("use \"{SHELF}\"\n");
    let shelved = |spec: &String| spec.replace(REFERENCE, &uses);
    let short = |spec: &String| {
        let first = spec.split(DIVIDER).next();
        first.is_some_and(|first| first.len() <= SHORT)
    };
    let short = specs.iter().map(shelved).filter(short);
    short
        .map(|spec| {
            let mut dice = Dice::new(spec.as_bytes());
            let head = (0..after::HEAD).map(|_| dice.below(256) as u8);
            head.chain(spec.bytes()).collect()
        })
        .collect()
}

/// A target of the fuzzer: its name, its property, and its seeds.
type Target = (&'static str, fn(&[u8]), Vec<Vec<u8>>);

fn targets() -> Vec<Target> {
    let specs = specs();
    let expressions = expressions(&specs);
    let edited = edited(&specs);
    let texts: Vec<Vec<u8>> = specs.into_iter().map(String::into_bytes).collect();
    vec![
        ("parse", parse::holds, texts.clone()),
        ("format", format::holds, texts.clone()),
        ("expression", expression::holds, expressions),
        ("analysis", analysis::holds, texts.clone()),
        ("after", after::holds, edited),
        ("faces", faces::holds, texts),
        ("framing", framing::holds, wires()),
        ("edits", edits::holds, storms()),
    ]
}

/// Where the fuzzer's seeds are kept.
fn kept(name: &str) -> PathBuf {
    let path = Path::new(ROOT).join("target/fuzz").join(name);
    std::fs::create_dir_all(&path).unwrap();
    path
}

proptest! {
    /// For every unit, a written value and a shown value are read back.
    #[test]
    fn written_and_shown_values_are_read_back(
        unit in prop::sample::select(UNITS.iter().map(UnitExpr::of).collect::<Vec<_>>()),
        number in prop_oneof![-1e6..1e6_f64, -1.0..1.0_f64, Just(0.0)],
    ) {
        let written = format!("{number} {unit}");
        let (read, dimension) = standalone_value(&written, &"any".into(), 0).unwrap();
        prop_assert_eq!(dimension, unit.dimension());
        prop_assert!((read - unit.inward(number)).abs() <= 1e-12 * read.abs(), "{read}");
        prop_assert!((unit.outward(read) - number).abs() <= 1e-9 * number.abs().max(1.0));
        expression::shown_is_read(number, &unit);
    }
}

#[test]
fn the_dictionary_knows_the_language() {
    let vocabulary = vocabulary();
    for word in [
        "master",
        "bore = ",
        "heavy-pedal",
        "pedal_effort",
        "lbf",
        "dot4",
        "sqrt(",
    ] {
        assert!(vocabulary.contains(word), "{word}");
    }
    std::fs::write(kept("").join("dictionary"), dictionary()).unwrap();
}

#[test]
fn every_fuzz_property_holds_on_all_known_input() {
    for (name, holds, seeds) in targets() {
        let folder = kept(&format!("seeds/{name}"));
        std::fs::remove_dir_all(&folder).unwrap();
        std::fs::create_dir(&folder).unwrap();
        assert!(seeds.len() > 3, "{name}");
        for (i, seed) in seeds.iter().enumerate() {
            std::fs::write(folder.join(i.to_string()), seed).unwrap();
            holds(seed);
        }
    }
}
