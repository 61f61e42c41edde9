//! State kept from before an edit equals that of a new analysis.

use bitepoint::analysis::{Report, Watch, Work, analyse, analyse_after};
use bitepoint::model::Source;
use bitepoint::syntax::{TextChange, parse, parse_after};
use proptest::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

#[path = "common/library.rs"]
mod library;
#[path = "common/same.rs"]
mod same;

use library::Library;
use same::assert_same;

/// The files that the text may use: one without mistakes, one whose mistakes keep systems from being worked out, one
/// whose mistakes do not.
const LIBRARIES: [&str; 3] = [
    "part slave big { bore = 1 in  stroke = 30 mm }\nlet arm = 50 mm\n",
    "part slave big { bore 1 in  stroke = 30 mm }\nlet arm = 50 mm\n",
    "part slave big { bore = 1 in  stroke = 30 mm }\nlet arm =\n",
];

/// Statements, most of which are valid in any order.
const STATEMENTS: &[&str] = &[
    "use \"library.clutch\"",
    "let reach = 300 mm",
    "let spare = 7 mm",
    "part master m { bore = 19.05 mm  stroke = 36 mm }",
    "part slave s { bore = 22.2 mm  stroke = 40 mm }",
    "part slave t { bore = 25.4 mm  stroke = 40 mm }",
    "# a comment of its own",
    "system base {\n    pedal { pad_arm = reach  rod_arm = 50 mm  travel = 150 mm ± 2 mm }\n    master m\n    slave s { rest_extension = 6 mm }\n    fork { ratio = 1.6 }\n    cover { release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }\n}",
    "system low from base { pedal { travel = 120 mm } allow short-release \"measured\" }",
    "system big from base { slave big }",
    "system lower from low { let less = 100 mm  pedal { travel = less } require pedal_effort <= 90 N }",
    "system kit from base { choose slave s, t }",
    "part master loose { bore = 19.05 mm ± 0.05 mm  stroke = 36 mm allow master-bottoms \"it is short\" }",
    "system wide from base { choose master m, loose  choose slave t, big  allow over-release \"seen\" }",
    "system crossed from kit { pedal { travel = slave.stroke * 4 } }",
    "system low from big { fork { ratio = 1.4 } }",
    "system astray from nowhere { pedal { ratio = 5 } }",
    "system broken { pedal { travel = } }",
    "system open { pedal { ratio = 6",
];

/// From this one on they are flawed.
const FLAWED: usize = 17;

/// Texts to insert, each in place of some characters.
const TYPED: &[&str] = &[
    "",
    "1",
    "9",
    " ",
    "\n",
    "}",
    "{",
    "low",
    "m",
    "ä",
    "🚗",
    "system more from base { }\n",
    "#",
    "\"",
    "travel = 90 mm",
];

/// A file of these statements and edits of it: how far along, how many characters are removed, and what is inserted.
fn edits() -> impl Strategy<Value = (String, Vec<(f64, usize, usize)>)> {
    let all: Vec<usize> = (0..STATEMENTS.len()).collect();
    let distinct = proptest::sample::subsequence(all, 4..STATEMENTS.len());
    // Some stand there more than once.
    let again = proptest::collection::vec(0..STATEMENTS.len(), 0..3);
    let order = (distinct, again).prop_map(|(distinct, again)| [distinct, again].concat());
    let order = order.prop_shuffle();
    // Half of the files begin without a flaw.
    let order = (order, any::<bool>()).prop_map(|(mut order, is_sound)| {
        order.retain(|at| !is_sound || *at < FLAWED);
        order
    });
    let text = order.prop_map(|order| {
        order
            .iter()
            .map(|at| format!("{}\n", STATEMENTS[*at]))
            .collect()
    });
    let edit = (0.0..1.0, 0usize..6, 0..TYPED.len());
    (text, proptest::collection::vec(edit, 1..20))
}

fn edited(text: &str, (along, gone, typed): (f64, usize, usize)) -> String {
    let chars: Vec<char> = text.chars().collect();
    let at = (along * chars.len() as f64) as usize;
    let behind = chars.iter().skip(at + gone);
    let typed = TYPED[typed].chars();
    chars[..at]
        .iter()
        .copied()
        .chain(typed)
        .chain(behind.copied())
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn a_tree_after_edits_equals_a_new_tree((mut text, edits) in edits()) {
        let mut tree = parse(&text);
        for edit in edits {
            let next = edited(&text, edit);
            let change = TextChange::between(&text, &next);
            tree = parse_after(&text, &tree, change, &next);
            prop_assert_eq!(&tree, &parse(&next), "{}", next);
            text = next;
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn an_analysis_after_edits_equals_a_new_analysis(
        (mut text, edits) in edits(),
        library in proptest::sample::select(&LIBRARIES),
    ) {
        let library = Library::new(&[("library.clutch", library)]);
        let source = |text: &str| Arc::new(Source::new("spec.clutch".into(), text.to_owned()));
        let mut report = analyse(source(&text), &library);
        for edit in edits {
            text = edited(&text, edit);
            let source_then = Arc::new(report.source.edited(text.clone()));
            report = analyse_after(Some(&report), source_then, &library, &Work::default());
            let fresh = analyse(source(&text), &library);
            assert_same(&report, &fresh);
        }
    }
}

/// Counts the combinations that are worked out.
#[derive(Default)]
struct Counted(AtomicU64);

impl Watch for Counted {
    fn combinations(&self, done: u64, _: u64) {
        self.0.fetch_max(done, Ordering::Relaxed);
    }
}

#[test]
fn a_kit_is_not_worked_out_again_while_the_text_around_it_grows() {
    let parts = (0..12).map(|i| {
        format!("part master m{i} {{ bore = {}.05 mm ± 0.05 mm  stroke = 36 mm }}\npart slave s{i} {{ bore = {}.2 mm  stroke = 40 mm }}\n", 15 + i / 3, 20 + i / 3)
    });
    let names = |block: &str| {
        (0..12)
            .map(|i| format!("{block}{i}"))
            .collect::<Vec<_>>()
            .join(", ")
    };
    let rest = format!(
        "system kit {{\n    pedal {{ ratio = 6  travel = 150 mm ± 2 mm }}\n    choose master {}\n    choose slave {}\n    \
         fork {{ ratio = 1.6 }}\n    cover {{ release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }}\n}}\n",
        names("m"),
        names("s")
    );
    let other = "system other {\n    pedal { ratio = 6  travel = 150 mm }\n}\n";
    let kit: String = parts.chain([rest]).collect();
    let library = Library::new(&[("library.clutch", LIBRARIES[0])]);
    for (name, text) in [
        ("above", format!("{other}{kit}")),
        ("below", format!("{kit}{other}")),
    ] {
        let source = Arc::new(Source::new("spec.clutch".into(), text.clone()));
        let look = |before: Option<&Report>, source| {
            let counted = Counted::default();
            let work = Work {
                watch: &counted,
                ..Work::default()
            };
            let report = analyse_after(before, source, &library, &work);
            (report, counted.0.into_inner())
        };
        let (mut report, worked_out) = look(None, source);
        assert_eq!(worked_out, 144, "{name}");
        for typed in [
            "travel = 1150 mm",
            "travel = 11 mm",
            "travel =",
            "travel = 150 mm\n  # a remark\n",
        ] {
            let text = text.replace("travel = 150 mm }", &format!("{typed} }}"));
            let edited = Arc::new(report.source.edited(text.clone()));
            let (next, worked_out) = look(Some(&report), edited);
            assert_eq!(worked_out, 0, "{name}: {typed}");
            let fresh = look(None, Arc::new(Source::new("spec.clutch".into(), text))).0;
            assert_same(&next, &fresh);
            report = next;
        }
    }
}
