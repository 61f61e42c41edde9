//! `bitepoint.toml`: its settings, and the findings about mistakes in it.

mod common;

use bitepoint::analysis::{
    Report, Silencer, analyse, completions, hover, read_settings, report_settings,
};
use bitepoint::check_id::CheckId;
use bitepoint::checks::CHECKS;
use bitepoint::finding::Severity;
use bitepoint::model::Source;
use bitepoint::quantity::Display;
use bitepoint::settings::Settings;
use bitepoint::syntax::Encoding;
use common::{Library, bitepoint, cases, folder, source};
use proptest::prelude::*;
use std::path::Path;
use std::sync::Arc;

fn settings(text: &str) -> Settings {
    read_settings(&Source::plain(
        "kits/bitepoint.toml".into(),
        text.to_owned(),
    ))
}

fn under(settings_text: &str, files: &[(&'static str, &'static str)]) -> Report {
    let settings = settings(settings_text);
    assert!(settings.problems.is_empty(), "{:?}", settings.problems);
    let (name, text) = files[0];
    analyse(source(name, text), &Library::new(files).under(settings))
}

fn severities<'r>(report: &'r Report, check: &'r str) -> Vec<Severity> {
    let of_check = report.findings.iter().filter(|f| f.check.name() == check);
    of_check.map(|finding| finding.severity).collect()
}

const HEAVY: &str = "system van {
    pedal { ratio = 6  travel = 150 mm  free_play = 6 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7 mm to 11 mm  release_load = 1950 N }
}
";

#[test]
fn a_limit_that_is_set_holds_and_is_named() {
    let own = under("", &[("van.clutch", HEAVY)]);
    let message = |report: &Report| {
        let of_check = |f: &&bitepoint::checks::Finding| f.check.name() == "heavy-pedal";
        let found = report.findings.iter().find(of_check);
        found.map(|finding| finding.problem.message.clone())
    };
    let text = message(&own).expect("the pedal is heavy");
    assert!(text.contains("over the 150 N"), "{text}");
    assert!(text.contains("lecture notes"), "{text}");

    let lower = under(
        "[limits]\nheavy-pedal.effort = \"100 N\"",
        &[("van.clutch", HEAVY)],
    );
    let text = message(&lower).unwrap();
    assert!(text.contains("over the 100 N"), "{text}");
    assert!(text.contains("(set in `kits/bitepoint.toml`)"), "{text}");

    let higher = under(
        "[limits.heavy-pedal]\neffort = \"50 lbf\"",
        &[("van.clutch", HEAVY)],
    );
    assert_eq!(message(&higher), None);
}

#[test]
fn every_limit_can_be_set_as_it_is_shown() {
    for check in CHECKS {
        for limit in check.limits {
            let own = Display::default().show_finely(limit.value, limit.dimension);
            let text = format!("[limits]\n{}.{} = \"{own}\"", check.name(), limit.name);
            let settings = settings(&text);
            assert!(
                settings.problems.is_empty(),
                "{text}: {:?}",
                settings.problems
            );
            let set = settings.limit(check.id, limit.name).unwrap();
            let off = (set - limit.value).abs();
            // What is shown is rounded to three places.
            assert!(
                off <= 0.005 * limit.value,
                "{text}: {set}, not {}",
                limit.value
            );
        }
    }
}

#[test]
fn plain_numbers_are_numbers_of_toml() {
    let settings = settings(
        "[limits]\nodd-ratio.pedal-least = 4\nlow-bite.left = 0.1\nhigh-bite.before = \"40 %\"",
    );
    assert!(settings.problems.is_empty(), "{:?}", settings.problems);
    assert_eq!(settings.limit(CheckId::OddRatio, "pedal-least"), Some(4.0));
    assert_eq!(settings.limit(CheckId::LowBite, "left"), Some(0.1));
    assert_eq!(settings.limit(CheckId::HighBite, "before"), Some(0.4));
}

/// A concentric slave has no fork whose ratio could be odd.
#[test]
fn a_limit_of_the_fork_leaves_a_concentric_slave_alone() {
    let car = "system car {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { outer = 52 mm  inner = 42 mm  stroke = 20 mm }
    cover { release_travel = 4 mm to 11 mm  release_load = 1500 N }
}
";
    let report = under(
        "[limits]\nodd-ratio.fork-least = 1.2",
        &[("car.clutch", car)],
    );
    let odd = report
        .findings
        .iter()
        .find(|f| f.check.name() == "odd-ratio");
    let message = odd.map_or("", |f| &f.problem.message);
    assert!(!message.contains("fork"), "{message}");
}

#[test]
fn a_severity_that_is_set_is_reported() {
    let of = |level: &str| {
        let text = format!("[severities]\nheavy-pedal = \"{level}\"");
        under(&text, &[("van.clutch", HEAVY)])
    };
    assert_eq!(severities(&of("error"), "heavy-pedal"), [Severity::Error]);
    assert_eq!(severities(&of("hint"), "heavy-pedal"), [Severity::Hint]);
    let off = of("off");
    assert_eq!(severities(&off, "heavy-pedal"), []);
    let [silenced] = off.allowed.as_slice() else {
        panic!("{:?}", off.allowed);
    };
    assert_eq!(silenced.by, Silencer::Settings);
    assert_eq!(
        silenced.why,
        "`heavy-pedal` is off in `kits/bitepoint.toml`"
    );
}

#[test]
fn a_check_of_the_text_can_be_silenced_where_the_spec_is_worked_out_all_the_same() {
    let text = "let spare = 3 mm\nsystem s { pedal { ratio = 6 } }";
    let report = under("[severities]\nunused-let = \"off\"", &[("a.clutch", text)]);
    assert_eq!(severities(&report, "unused-let"), []);
    let refused = settings("[severities]\nsyntax = \"off\"\nnot-worked = \"hint\"");
    assert_eq!(refused.problems.len(), 2, "{:?}", refused.problems);
    for check in CHECKS.iter().filter(|check| check.is_fatal()) {
        let kept = settings(&format!("[severities]\n{} = \"error\"", check.name()));
        assert!(kept.problems.is_empty(), "{}", check.name());
    }
}

#[test]
fn a_library_is_searched_after_the_folder_of_the_file() {
    const USER: &str = "use \"parts.clutch\"\nuse \"own.clutch\"\nsystem van { slave s }\n";
    let files = [
        ("kits/cars/van.clutch", USER),
        (
            "kits/lib/parts.clutch",
            "part slave s { bore = 7/8 in  stroke = 30 mm }",
        ),
        ("kits/lib/own.clutch", "nonsense"),
        ("kits/cars/own.clutch", "let a = 1 mm"),
    ];
    let report = under("library = [\"lib\"]", &files);
    let used: Vec<&str> = report.used.iter().map(|source| &*source.name).collect();
    assert_eq!(used, ["kits/lib/parts.clutch", "kits/cars/own.clutch"]);
    assert_eq!(severities(&report, "use-missing"), []);

    // A path that says where it starts is looked up there alone.
    let files = [
        ("kits/cars/van.clutch", "use \"./parts.clutch\"\n"),
        files[1],
    ];
    let report = under("library = [\"lib\"]", &files);
    assert_eq!(severities(&report, "use-missing"), [Severity::Error]);
    let help = report.findings[0].problem.help.as_deref().unwrap();
    assert!(help.contains("`kits/lib`"), "{help}");
}

/// A text with one mistake between `«` and `»`, its check, and the message.
const MISTAKES: &[(&str, &str, &str)] = &[
    (
        "«limts».heavy-pedal.effort = \"140 N\"",
        "wrong-setting",
        "there is no setting `limts`",
    ),
    (
        "[limits]\n«heavy-pedl».effort = \"140 N\"",
        "wrong-setting",
        "there is no check `heavy-pedl`",
    ),
    (
        "[limits]\nheavy-pedal.«efort» = \"140 N\"",
        "wrong-setting",
        "`heavy-pedal` has no limit `efort`",
    ),
    (
        "[limits]\n«short-release».x = 1",
        "wrong-setting",
        "`short-release` has no limits",
    ),
    (
        "[limits]\n«heavy-pedal» = \"140 N\"",
        "wrong-setting",
        "which limit of `heavy-pedal` is meant?",
    ),
    (
        "[limits]\nheavy-pedal.effort = «\"140 mm\"»",
        "wrong-unit",
        "`effort` is a force, and this is a length",
    ),
    (
        "[limits]\nheavy-pedal.effort = «140»",
        "wrong-unit",
        "`effort` is a force, and this is a plain number",
    ),
    (
        "[limits]\nheavy-pedal.effort = «true»",
        "wrong-setting",
        "`effort` is a force",
    ),
    (
        "[limits]\nheavy-pedal.effort = «\"-1 N\"»",
        "out-of-range",
        "a limit is not below zero",
    ),
    (
        "[limits]\nlow-bite.left = «nan»",
        "out-of-range",
        "a limit is not below zero",
    ),
    (
        "[limits]\nheavy-pedal.effort = \"140 «lbff»\" # µ",
        "unknown-unit",
        "",
    ),
    (
        "[limits]\nheavy-pedal.effort = \"2 * «most»\"",
        "unknown-name",
        "nothing is called `most` here",
    ),
    (
        "[limits]\nheavy-pedal.effort = \"«140 N ± 2 N»\"",
        "syntax",
        "this is a range, and one value is wanted",
    ),
    (
        "[limits]\nheavy-pedal.effort = «\"140 N\\nlet a = 2 N\"»",
        "syntax",
        "one value is wanted here",
    ),
    (
        "[severities]\n«thin-margn» = \"off\"",
        "wrong-setting",
        "there is no check `thin-margn`",
    ),
    (
        "[severities]\nthin-margin = «\"fatal\"»",
        "wrong-setting",
        "a severity is one of",
    ),
    (
        "[severities]\nthin-margin = «false»",
        "wrong-setting",
        "a severity is one of",
    ),
    (
        "[severities]\nwrong-unit = «\"hint\"»",
        "wrong-setting",
        "`wrong-unit` is always an error",
    ),
    (
        "severities = «\"off\"»",
        "wrong-setting",
        "`severities` is a table of checks",
    ),
    (
        "library = «\"lib\"»",
        "wrong-setting",
        "`library` is a list of folders",
    ),
    (
        "library = [\"a\", «3»]",
        "wrong-setting",
        "a folder of the library is a path",
    ),
    (
        "library = [\"a\"]\n«library» = [\"b\"]",
        "syntax",
        "this is not written as TOML has it: duplicate key",
    ),
];

#[test]
fn each_mistake_is_found_at_its_place() {
    for (marked, check, message) in MISTAKES {
        let start = marked.find('«').unwrap();
        let text = marked.replacen('«', "", 1);
        let end = text.find('»').unwrap();
        let text = text.replacen('»', "", 1);
        let [problem] = settings(&text)
            .problems
            .try_into()
            .unwrap_or_else(|found: Vec<_>| {
                panic!("{} mistakes in {text}: {found:#?}", found.len())
            });
        assert_eq!(problem.check.name(), *check, "{text}: {}", problem.message);
        assert!(
            problem.message.contains(message),
            "{text}: {}",
            problem.message
        );
        assert_eq!(
            problem.place.span.from_start(0).range(),
            start..end,
            "{text}: {}",
            problem.message
        );
        for fix in &problem.fixes {
            let mut mended = text.clone();
            for (place, new) in &fix.edits {
                mended.replace_range(place.span.from_start(0).range(), new);
            }
            let left = settings(&mended).problems;
            assert!(
                left.is_empty(),
                "`{}` leaves {left:?} in {mended}",
                fix.title
            );
        }
    }
}

#[test]
fn one_mistake_costs_one_setting() {
    let settings = settings(
        "library = [\"lib\"]\n[limits]\nheavy-pedal.effort = \"140 mm\"\nlow-bite.left = 0.2\nodd = = 3\n[severities]\nodd-size = \"off\"",
    );
    assert_eq!(settings.limit(CheckId::HeavyPedal, "effort"), None);
    assert_eq!(settings.limit(CheckId::LowBite, "left"), Some(0.2));
    assert!(settings.level(CheckId::OddSize).is_some());
    assert_eq!(settings.library.len(), 1);
    assert!(settings.problems.len() >= 2);
}

#[test]
fn hostile_settings_end_in_findings() {
    let deep = format!("a = {}", "[".repeat(100_000));
    let wide = format!("library = [{}]", "3, ".repeat(100_000));
    let long = format!(
        "[limits]\nheavy-pedal.effort = \"{}1 N\"",
        "(".repeat(500_000)
    );
    let keys = "a.".repeat(100_000) + "b = 1";
    for text in [
        deep,
        wide,
        long,
        keys,
        "\u{0}".to_owned(),
        "x".repeat(3 << 20),
    ] {
        let source = Arc::new(Source::plain("bitepoint.toml".into(), text));
        let settings = Arc::new(read_settings(&source));
        assert!(!settings.problems.is_empty());
        let report = report_settings(source, settings);
        assert!(report.findings.len() <= bitepoint::analysis::MAX_FINDINGS + 1);
    }
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn no_text_of_settings_causes_a_panic(
        text in "(\\[?(limits|severities|library|heavy-pedal|effort|odd-size)[\\].= ]{1,3}|\"[^\"]{0,12}\"|[0-9.eE_-]{1,5}|[\\[\\]{}'\"\n,#µ🛞\\\\])*"
    ) {
        let source = Source::plain("bitepoint.toml".into(), text);
        for problem in read_settings(&source).problems {
            let end = problem.place.span.end as usize;
            prop_assert!(source.text.is_char_boundary(end), "{problem:?}");
            source.lines.position(problem.place.span.start, Encoding::Utf16);
        }
    }
}

// ---- on the disk ----

const HIGHER: &str = "[limits]\nheavy-pedal.effort = \"500 N\"\n";

#[test]
fn the_nearest_file_holds_for_a_spec() {
    let folder = folder(&[
        ("bitepoint.toml", HIGHER),
        ("a.clutch", HEAVY),
        ("deep/er/b.clutch", HEAVY),
        ("own/bitepoint.toml", ""),
        ("own/c.clutch", HEAVY),
    ]);
    let heavy = |arguments: &[&str], at: &Path| {
        let (status, out, err) = bitepoint(at, arguments);
        assert_eq!((status, &*err), (0, ""), "{out}");
        let named = out
            .lines()
            .filter(|line| line.contains("heavy-pedal"))
            .count();
        (named, out)
    };
    let (named, out) = heavy(&["check"], folder.path());
    assert_eq!(named, 1, "{out}");
    assert!(out.contains("own/c.clutch"), "{out}");
    // From below, and by an absolute path, it is the same file.
    assert_eq!(heavy(&["check"], &folder.path().join("deep")).0, 0);
    let absolute = folder.path().join("deep/er/b.clutch");
    assert_eq!(
        heavy(&["check", absolute.to_str().unwrap()], Path::new("/")).0,
        0
    );
    // Other settings, or none.
    assert_eq!(heavy(&["check", "--no-config"], folder.path()).0, 3);
    assert_eq!(
        heavy(&["check", "--config", "own/bitepoint.toml"], folder.path()).0,
        3
    );
    assert_eq!(heavy(&["calc", "a.clutch"], folder.path()).0, 0);
    assert_eq!(
        heavy(&["calc", "a.clutch", "--no-config"], folder.path()).0,
        1
    );
}

#[test]
fn a_mistake_is_shown_once_like_any_other_and_fails() {
    let folder = folder(&[
        (
            "bitepoint.toml",
            "# für alle\n[limits]\nheavy-pedal.effort = \"140 mm\"\n",
        ),
        ("a.clutch", HEAVY),
        ("b.clutch", HEAVY),
    ]);
    let (status, out, _) = bitepoint(folder.path(), &["check"]);
    assert_eq!(status, 1);
    assert_eq!(out.matches("and this is a length").count(), 1, "{out}");
    assert!(out.contains("bitepoint.toml:3:22"), "{out}");
    let (_, json, _) = bitepoint(folder.path(), &["check", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let finding = &json["findings"][0];
    assert_eq!(finding["file"], "bitepoint.toml");
    assert_eq!(finding["start"]["line"], 3);
    // Whoever looks at one spec alone is told as well.
    let (_, out, _) = bitepoint(folder.path(), &["calc", "a.clutch"]);
    assert!(
        out.contains("in `bitepoint.toml`, which holds for this spec"),
        "{out}"
    );
}

#[test]
fn settings_that_cannot_be_read_are_no_silent_default() {
    let folder = folder(&[("a.clutch", HEAVY)]);
    let (status, _, err) = bitepoint(folder.path(), &["check", "--config", "none.toml"]);
    assert_eq!(
        (status, &*err),
        (2, "bitepoint: there is no file `none.toml`\n")
    );
    std::fs::write(
        folder.path().join("bitepoint.toml"),
        b"library = [\"\xff\"]",
    )
    .unwrap();
    let (status, out, _) = bitepoint(folder.path(), &["check"]);
    assert_eq!(status, 1);
    assert!(out.contains("this is not text in UTF-8"), "{out}");
}

#[test]
fn the_settings_in_the_manual_are_sound() {
    let page = include_str!("../grammar/commands.md");
    let after = |text: &'static str, mark| text.split_once(mark).unwrap().1;
    let example = after(after(page, "## Your own limits"), "```toml\n");
    let settings = settings(example.split_once("```").unwrap().0);
    assert!(settings.problems.is_empty(), "{:?}", settings.problems);
    assert_eq!(settings.limit(CheckId::HeavyPedal, "effort"), Some(140.0));
}

/// A settings file with a cursor, `|`, and its report without the cursor.
fn at_cursor(text: &str) -> (bitepoint::analysis::Report, u32) {
    let offset = text.find('|').expect("a cursor");
    let source = source("kits/bitepoint.toml", &text.replace('|', ""));
    let settings = Arc::new(read_settings(&source));
    (report_settings(source, settings), offset as u32)
}

#[test]
fn settings_are_completed_in_an_editor() {
    for (text, label, after) in [
        ("lim|", "limits", "[limits]\nheavy-pedal.effort = \"140 N\""),
        ("[sev|]", "severities", "[severities]"),
        (
            "[limits]\nheavy|",
            "heavy-pedal.effort",
            "[limits]\nheavy-pedal.effort = \"150 N\"",
        ),
        (
            "[limits]\nheavy-pedal.|",
            "effort",
            "[limits]\nheavy-pedal.effort = \"150 N\"",
        ),
        (
            "[limits.heavy-pedal]\nef| = 3",
            "effort",
            "[limits.heavy-pedal]\neffort = 3",
        ),
        (
            "limits.heavy-pedal.effort = |",
            "\"150 N\"",
            "limits.heavy-pedal.effort = \"150 N\"",
        ),
        (
            "[severities]\nodd|",
            "odd-size",
            "[severities]\nodd-size = \"info\"",
        ),
        (
            "[severities]\nodd-size = \"o|\" # why",
            "\"off\"",
            "[severities]\nodd-size = \"off\" # why",
        ),
        (
            "[limits]\na = 1\n[severities]\r\nodd-size = |\r\n",
            "\"off\"",
            "[limits]\na = 1\n[severities]\r\nodd-size = \"off\"\r\n",
        ),
    ] {
        let (report, offset) = at_cursor(text);
        let found = completions(&report, offset);
        let Some(one) = found.iter().find(|one| one.label == label) else {
            let labels: Vec<_> = found.iter().map(|one| &one.label).collect();
            panic!("{text}: {label} is not among {labels:?}");
        };
        let mut now = report.source.text.clone();
        now.replace_range(one.span.range(), &one.insert);
        assert_eq!(now, after, "{text}");
    }
    for text in [
        "# lim|",
        "[severities]\nsynta|",
        "[limits]\nx = |",
        "library = [\"|\"]",
    ] {
        let (report, offset) = at_cursor(text);
        let found = completions(&report, offset);
        assert!(found.iter().all(|one| one.label != "syntax"), "{text}");
    }
}

#[test]
fn whatever_is_offered_for_settings_is_a_setting() {
    for (text, least) in [("|", 3), ("[limits]\n|", 20), ("[severities]\n|", 30)] {
        let (report, offset) = at_cursor(text);
        let found = completions(&report, offset);
        assert!(found.len() >= least, "{text}: {}", found.len());
        for one in found {
            let mut now = report.source.text.clone();
            now.replace_range(one.span.range(), &one.insert);
            let problems = settings(&now).problems;
            assert!(problems.is_empty(), "{now}: {problems:?}");
        }
    }
}

#[test]
fn settings_are_explained_in_an_editor() {
    for (text, said) in [
        ("[lim|its]", "in place of their own"),
        (
            "[limits]\nheavy-|pedal.effort = \"140 N\"",
            "**`heavy-pedal`**",
        ),
        (
            "[limits]\nheavy-pedal.ef|fort = \"140 N\"",
            "by itself \"150 N\"",
        ),
        (
            "[limits]\nheavy-pedal.effort = \"1|40 N\"",
            "by itself \"150 N\"",
        ),
        ("[severities]\nodd-size = \"o|ff\"", "by itself \"info\""),
        ("lib|rary = []", "Folders in which"),
    ] {
        let (report, offset) = at_cursor(text);
        let found = hover(&report, offset).unwrap_or_else(|| panic!("{text}"));
        assert!(found.markdown.contains(said), "{text}: {}", found.markdown);
    }
    for text in ["# lim|its", "|", "[limits]\nheavy-pedl.ef|fort = 3"] {
        let (report, offset) = at_cursor(text);
        assert_eq!(hover(&report, offset), None, "{text}");
    }
}
