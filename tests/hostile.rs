//! Hostile input gets an answer, in time that grows only in proportion to its size.

mod common;

use bitepoint::analysis::{MAX_FINDINGS, analyse};
use bitepoint::checks::REFERENCE;
use bitepoint::faces::render::{TextStyle, findings_text};
use bitepoint::faces::sanitize::steers;
use bitepoint::model::{MAX_FROM_DEPTH, MAX_LINES, MAX_REFERENCE_DEPTH, MAX_USE_DEPTH, Source};
use bitepoint::quantity::Dimension;
use bitepoint::schema::{BLOCKS, Kind};
use bitepoint::syntax::{MAX_EXPRESSION_BYTES, MAX_FILE_BYTES, MAX_NESTING, MAX_POINTS, parse};
use common::{Library, source};
use proptest::prelude::*;
use std::time::{Duration, Instant};

/// A time limit: far more than any of these needs, far less than quadratic work would.
const PATIENCE: Duration = Duration::from_secs(60);

/// The checks that report a text.
fn checks(text: &str) -> Vec<&'static str> {
    let start = Instant::now();
    let report = analyse(source("hostile.clutch", text), &Library::default());
    assert!(start.elapsed() < PATIENCE, "{:?}", start.elapsed());
    assert!(report.findings.len() <= MAX_FINDINGS + 1);
    for finding in &report.findings {
        let edits = finding.fixes().flat_map(|fix| &fix.edits);
        let places = finding
            .problem
            .places()
            .chain(edits.map(|(place, _)| place));
        for place in places {
            assert!(text.get(report.range(place).range()).is_some(), "{place:?}");
        }
    }
    report.findings.iter().map(|f| f.check.name()).collect()
}

/// If the closing brace is missing, the last character before the end is not taken for it.
#[test]
fn nothing_is_added_to_a_body_that_is_not_closed() {
    let open =
        "system b from reference {\n slave { moves = rearward }\n cover { action = pull }\n\u{e9}";
    let found = checks(&format!("{REFERENCE}{open}"));
    assert!(found.contains(&"wrong-way"), "{found:?}");
}

#[test]
fn deep_nesting() {
    let deep = "(".repeat(100_000);
    let closed = format!("let x = {deep}1{}\n", ")".repeat(100_000));
    assert_eq!(checks(&closed), ["too-large"]);
    assert_eq!(checks(&format!("let x = {deep}")), ["too-large"]);
    assert_eq!(
        checks(&format!("let x = {}1", "-".repeat(500_000))),
        ["too-large"]
    );
    assert_eq!(
        checks(&format!("let x = {}1", "1+".repeat(500_000))),
        ["too-large"]
    );
    assert_eq!(checks(&"{".repeat(1_000_000)), ["syntax"]);
    assert!(checks(&"}".repeat(1_000_000)).contains(&"too-large"));
    assert!(checks(&"system a { x { ".repeat(100_000)).contains(&"syntax"));
}

/// A thread has two megabytes of stack, most of which an unoptimized program needs. A page in a browser has one.
#[test]
fn values_as_deep_as_they_may_be_need_no_more_stack_than_a_thread_has() {
    /// The most lets that may refer to one another, below the field that reads the last.
    const ROW: usize = 63;
    let (opening, closing) = ("(".repeat(32), ")".repeat(32));
    let sum = " + 0 mm".repeat(120);
    let texts = [
        (row_of_lets(ROW, "", &sum), false),
        (row_of_lets(ROW, &"-".repeat(900), ""), false),
        (row_of_lets(ROW, &"-(".repeat(32), &closing), false),
        (row_of_lets(ROW, &"abs(".repeat(32), &closing), false),
        (row_of_lets(ROW, &opening, &closing), false),
        (row_of_fields(&sum), false),
        (row_of_lets(ROW + 1, "", &sum), true),
    ];
    let thread = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .stack_size(2 << 20)
        .build()
        .unwrap();
    for (text, is_too_deep) in texts {
        let found = thread.install(|| checks(&text));
        assert_eq!(found.contains(&"too-large"), is_too_deep, "{found:?}");
    }
}

#[test]
fn the_limits_are_those_that_the_language_summary_gives() {
    let summary = include_str!("../grammar/language.md");
    for words in [
        format!("Parentheses nest up to {MAX_NESTING} deep"),
        format!("refer to one another up to {MAX_REFERENCE_DEPTH} deep"),
        format!("at most {MAX_EXPRESSION_BYTES} bytes without a break"),
        format!("a curve {MAX_POINTS} points"),
        format!("Systems start from one another up to {MAX_FROM_DEPTH} deep"),
        format!("files use one another up to {MAX_USE_DEPTH} deep"),
    ] {
        assert!(summary.contains(&words), "{words}");
    }
}

/// Lets that each read the one before, and a field that reads the last.
fn row_of_lets(count: usize, lead: &str, tail: &str) -> String {
    let lets: String = (1..=count)
        .map(|i| format!("let x{i} = {lead}x{}{tail}\n", i - 1))
        .collect();
    format!(
        "let x0 = 1 mm\n{lets}{REFERENCE}system deep from reference {{\n slave {{ stroke = x{count} + 30 mm }}\n}}\n"
    )
}

/// Fields of a system that each read another, as many as allowed.
fn row_of_fields(tail: &str) -> String {
    let lengths = BLOCKS.iter().flat_map(|block| {
        let fields = block.fields.iter();
        let fields = fields.filter(|field| matches!(field.kind, Kind::Quantity(Dimension::LENGTH)));
        fields.map(|field| (block.name, field.name))
    });
    let is_single = |(block, _): &(&str, &str)| !["measured", "line", "fitting"].contains(block);
    let lengths: Vec<_> = lengths.filter(is_single).take(63).collect();
    assert!(lengths.len() > 40, "{lengths:?}");
    let mut given = String::new();
    for of_block in lengths.chunk_by(|(one, _), (other, _)| one == other) {
        given += &format!("    {} {{\n", of_block[0].0);
        for at in of_block {
            let next = lengths.iter().skip_while(|other| *other != at).nth(1);
            if let Some((block, field)) = next {
                given += &format!("        {} = {block}.{field}{tail}\n", at.1);
            }
        }
        given += "    }\n";
    }
    format!("{REFERENCE}system deep from reference {{\n{given}}}\n")
}

#[test]
fn a_line_that_ends_its_limit_inside_a_character() {
    // One of them is in the middle of a character when it has become too long.
    for name in ["x", "xx", "xxx"] {
        let product = format!("let {name} = {}1\n", "1·".repeat(1_000));
        assert_eq!(checks(&product), ["too-large"], "{name}");
    }
}

#[test]
fn a_file_beyond_the_limit() {
    let line = "system a { pedal { travel = 1 mm } }\n";
    let text = line.repeat((16 << 20) / line.len());
    assert!(text.len() > MAX_FILE_BYTES);
    assert_eq!(checks(&text), ["too-large"]);
}

#[test]
fn an_endless_text_and_an_endless_line() {
    assert_eq!(
        checks(&format!("use \"{}", "x".repeat(3_000_000))),
        ["syntax"]
    );
    let line = format!(
        "system a {{ {} }}",
        "pedal { travel = 1 lbs } ".repeat(20_000)
    );
    assert!(
        checks(&line).contains(&"too-large"),
        "the list of findings ends"
    );
    let comment = format!(
        "let c = curve {{ # {}\n 1 mm: 3 N }}",
        "x".repeat(3_000_000)
    );
    assert_eq!(checks(&comment), [""; 0]);
}

#[test]
fn very_many_of_one_thing() {
    let lets: String = (0..20_000)
        .map(|i| format!("let x{i} = x{} + 1 mm\n", i + 1))
        .collect();
    assert!(checks(&lets).contains(&"too-large"));
    let doubling: String = (0..500)
        .map(|i| format!("let x{} = x{i} + x{i}\n", i + 1))
        .collect();
    let doubling = format!("let x0 = 1 mm\n{doubling}system a {{ pedal {{ travel = x500 }} }}");
    assert!(checks(&doubling).contains(&"too-large"));
    let froms: String = (0..2_000)
        .map(|i| format!("system s{} from s{i} {{}}\n", i + 1))
        .collect();
    assert!(checks(&froms).contains(&"too-large"));
    let systems: String = (0..20_000)
        .map(|i| format!("system s{i} {{ master m }}\n"))
        .collect();
    assert!(checks(&systems).contains(&"too-large"));
    let lines = "line a { bore = 1 mm  length = 2 mm }\n".repeat(20_000);
    assert!(checks(&format!("system a {{\n{lines}}}")).contains(&"given-twice"));
    let curve = |count: usize| {
        let points: Vec<String> = (0..count).map(|i| format!("{i} mm: 1 N")).collect();
        format!("let c = curve {{ {} }}", points.join(", "))
    };
    assert_eq!(checks(&curve(MAX_POINTS)), [""; 0]);
    assert_eq!(checks(&curve(MAX_POINTS + 1)), ["too-large"]);
    assert_eq!(checks(&curve(50_000)), ["too-large"]);
    let lines = |count: usize| {
        let lines: String = (0..count)
            .map(|i| format!("line l{i} {{ bore = 3.2 mm  length = 2 mm }}\n"))
            .collect();
        format!("{REFERENCE}\nsystem more from reference {{\n{lines}}}")
    };
    // The base brings two.
    assert!(!checks(&lines(MAX_LINES - 2)).contains(&"too-large"));
    for count in [MAX_LINES - 1, 20_000] {
        assert!(checks(&lines(count)).contains(&"too-large"), "{count}");
    }
}

#[test]
fn bytes_that_are_not_text() {
    let invalid = Source::from_bytes("x".into(), b"# caf\xe9\nlet a = 1 \xff mm\n");
    let messages: Vec<&str> = invalid.tree.flaws().map(|f| f.message.as_str()).collect();
    assert_eq!(messages, ["this is not text in UTF-8"; 2]);
    let late = Source::from_bytes("x".into(), b"}\n# caf\xe9\n}\n");
    let starts = late.tree.flaws().map(|f| late.range(f.span).start);
    let starts: Vec<u32> = starts.collect();
    assert_eq!(starts, [0, 7, 11]);
    assert!(checks("system a { \0\0 pedal { travel = 1 mm\0 } }\0").contains(&"syntax"));
}

#[test]
fn line_ends_and_a_byte_order_mark_mean_nothing() {
    let text = "let a = 1 mm\nsystem s {\n    pedal { ratio = a / (1 mm)  travel = 150 mm }\n}\n";
    let expected = checks(text);
    assert!(expected.contains(&"missing-block"));
    for other in [
        text.replace('\n', "\r\n"),
        text.replace('\n', "\r"),
        format!("\u{FEFF}{text}"),
    ] {
        assert_eq!(checks(&other), expected);
    }
}

/// What could control a terminal: overwriting a line, or reversing the reading direction.
#[test]
fn nothing_in_a_shown_line_controls_the_terminal() {
    let text = "system a {\r    pedl { travel = 150 mm } # \u{202e}mm 051\u{1b}[2J\r}\r";
    let report = analyse(source("a.clutch", text), &Library::default());
    let style = TextStyle {
        colour: false,
        width: 80,
    };
    let shown = findings_text(&[report], style);
    assert!(!shown.chars().any(steers), "{shown}");
    assert!(shown.contains(" 2 │     pedl {"), "{shown}");
}

proptest! {
    #![proptest_config(common::cases(300))]

    #[test]
    fn any_text_gives_a_tree_whose_places_lie_in_it(text in "[\\PC\n\r\t{}()\"=,:#+*/.<>-]{0,400}") {
        let tree = parse(&text);
        for flaw in tree.flaws() {
            prop_assert!(text.get(tree.range(flaw.span).range()).is_some());
            for (span, _) in flaw.fixes.iter().flat_map(|fix| &fix.edits) {
                prop_assert!(text.get(tree.range(*span).range()).is_some());
            }
        }
    }

    #[test]
    fn any_run_of_words_of_the_language_is_survived(
        words in prop::collection::vec(prop::sample::select(WORDS), 0..120)
    ) {
        checks(&words.join(" "));
    }

    /// A spec with a few characters changed, which is what an editor mostly sees.
    #[test]
    fn a_spec_with_slips_of_the_pen_is_survived(
        slips in prop::collection::vec((any::<prop::sample::Index>(), "[{}()\"=,\n a7%-]"), 1..6)
    ) {
        let mut text: Vec<char> = bitepoint::checks::REFERENCE.chars().collect();
        for (at, new) in &slips {
            let at = at.index(text.len());
            text.splice(at..(at + 1).min(text.len()), new.chars());
        }
        checks(&text.into_iter().collect::<String>());
    }
}

const WORDS: &[&str] = &[
    "system",
    "part",
    "let",
    "use",
    "from",
    "choose",
    "require",
    "allow",
    "pedal",
    "master",
    "slave",
    "line",
    "fluid",
    "fork",
    "cover",
    "curve",
    "{",
    "}",
    "{",
    "}",
    "(",
    ")",
    "=",
    "=",
    ",",
    ":",
    "±",
    "to",
    "7/8",
    "1 1/8",
    "3",
    ".5",
    "mm",
    "in",
    "N",
    "\"",
    "\"text\"",
    "#",
    "\n",
    "\n",
    "bore",
    "stroke",
    "travel",
    "ratio",
    "a",
    "b",
    "master.bore",
    "-",
    "+",
    "*",
    "/",
    "^",
    "<=",
    "pedal_effort",
    "heavy-pedal",
    "min",
    "sqrt",
    "degC",
    "%",
    "$",
    "\u{FFFD}",
];
