//! Baselines. What is known stays known under any layout and name. What is new, or worse than it was accepted, is
//! reported.

mod common;

use bitepoint::analysis::{Report, Work, analyse_with};
use bitepoint::checks::{CHECKS, Example, REFERENCE};
use bitepoint::faces::render::{Baseline, Files, fingerprints};
use bitepoint::finding::Severity;
use bitepoint::syntax::{format, parse};
use common::layouts::Statements;
use common::{Library, SOUND, bitepoint, folder, source};
use rand::SeedableRng;
use rand::rngs::StdRng;
use std::path::Path;

/// A car whose clutch drags.
const DRAGS: &str = "system drags {
    pedal { ratio = 6  travel = 150 mm  free_play = 6 mm }
    master { bore = 3/4 in  stroke = 36 mm  port_travel = 1 mm }
    slave { bore = 1 1/16 in  stroke = 30 mm  rest_extension = 6 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
";

fn report(name: &str, text: &str) -> Report {
    // So few that not all are tried of the kit that is to show it.
    let work = Work {
        combinations: 3,
        ..Work::default()
    };
    analyse_with(source(name, text), &Library::default(), &work)
}

/// The findings of one text that the baseline of another does not know, and the entries that are gone.
fn left(old: (&str, &str), new: (&str, &str)) -> (Vec<String>, usize) {
    let baseline = Baseline::of(&[report(old.0, old.1)], &str::to_owned);
    let mut reports = [report(new.0, new.1)];
    let files = Files {
        relative: &str::to_owned,
        exists: &|file| file == new.0,
    };
    let compared = baseline.silence(&mut reports, "known.json", &files);
    let [report] = reports;
    let left = report.findings.into_iter();
    let left = left.map(|finding| format!("{}: {}", finding.check.name(), finding.problem.message));
    (left.collect(), compared.gone.len())
}

const NOTHING: (Vec<String>, usize) = (Vec::new(), 0);

fn canonical(text: &str) -> Option<String> {
    format(text, &parse(text))
}

#[test]
fn layout_changes_no_fingerprint() {
    const LAYOUTS: usize = 3000;
    let known = Statements::known();
    let mut rng = StdRng::seed_from_u64(7);
    let mut compared = 0;
    for _ in 0..LAYOUTS {
        let text = known.layout(&mut rng);
        let Some(tidy) = canonical(&text) else {
            continue;
        };
        let prints = |text: &str| {
            let (mut prints, silenced) = fingerprints(&report("a.clutch", text));
            prints.extend(silenced);
            prints.sort();
            prints
        };
        let before = prints(&text);
        compared += before.len();
        assert_eq!(before, prints(&tidy), "{text}\n---\n{tidy}");
        assert_eq!(
            left(("a.clutch", &text), ("a.clutch", &tidy)),
            NOTHING,
            "{text}"
        );
    }
    assert!(compared > LAYOUTS, "only {compared} findings were compared");
}

/// Every check's example, as a file with a system `s`.
fn examples() -> impl Iterator<Item = (&'static str, String)> {
    CHECKS.iter().filter_map(|check| match check.bad {
        Example::System(body) => {
            let text = format!("{REFERENCE}\nsystem s from reference {{\n{body}\n}}\n");
            Some((check.name(), text))
        }
        Example::File(text) => Some((check.name(), text.to_owned())),
        Example::Settings(_) => None,
    })
}

#[test]
fn what_every_check_finds_stays_known() {
    let mut renamed = 0;
    for (check, text) in examples() {
        let old = ("a.clutch", &*text);
        assert_eq!(left(old, old), NOTHING, "{check}");
        let (found, _) = left(("a.clutch", ""), old);
        assert!(
            found.iter().any(|f| f.starts_with(check)),
            "{check}: {found:?}"
        );
        assert_eq!(left(old, ("moved/b.clutch", &text)), NOTHING, "{check}");
        if let Some(tidy) = canonical(&text) {
            assert_eq!(left(old, ("a.clutch", &tidy)), NOTHING, "{check}");
        }
        if text.contains("system s ") {
            renamed += 1;
            let other = text.replace("system s ", "system other ");
            assert_eq!(left(old, ("a.clutch", &other)), NOTHING, "{check}");
            assert_eq!(left(old, ("b.clutch", &other)), NOTHING, "{check}");
        }
    }
    assert!(renamed > 30, "{renamed}");
}

#[test]
fn a_copied_finding_is_not_known() {
    // Of a file: the other one is still there.
    let baseline = Baseline::of(&[report("a.clutch", DRAGS)], &str::to_owned);
    let mut reports = [report("a.clutch", DRAGS), report("b.clutch", DRAGS)];
    let count = reports[1].findings.len();
    let files = Files {
        relative: &str::to_owned,
        exists: &|_| true,
    };
    baseline.silence(&mut reports, "known.json", &files);
    assert_eq!(reports.map(|report| report.findings.len()), [0, count]);
    // And where only the copy is looked at.
    let mut reports = [report("b.clutch", DRAGS)];
    baseline.silence(&mut reports, "known.json", &files);
    assert_eq!(reports.map(|report| report.findings.len()), [count]);
    // Of a system.
    let two = format!("{DRAGS}{}", DRAGS.replace("drags", "another"));
    let (found, gone) = left(("a.clutch", DRAGS), ("a.clutch", &two));
    assert_eq!((found.len(), gone), (count, 0), "{found:?}");
    // One that works now is no reason to pass over its copy.
    let two = format!(
        "{}{}",
        DRAGS.replace("1 1/16 in", "7/8 in"),
        DRAGS.replace("drags", "another")
    );
    let (found, _) = left(("a.clutch", DRAGS), ("a.clutch", &two));
    assert!(
        found.iter().any(|f| f.starts_with("short-release")),
        "{found:?}"
    );
    // Of a statement: two that are alike need two entries.
    let one = "system s { slave { strok = 30 mm } }\n";
    let two = "system s { slave { strok = 30 mm  strok = 30 mm } }\n";
    let (found, _) = left(("a.clutch", one), ("a.clutch", two));
    assert_eq!(found.len(), 1, "{found:?}");
    let (found, gone) = left(("a.clutch", two), ("a.clutch", one));
    assert_eq!((found.len(), gone), (0, 1), "{found:?}");
}

#[test]
fn what_grows_is_reported() {
    let find = |new: &str| {
        let (found, _) = left(("a.clutch", DRAGS), ("a.clutch", new));
        let short = found.into_iter().filter(|f| f.starts_with("short-release"));
        short.collect::<Vec<_>>()
    };
    // By something else.
    let less = find(&DRAGS.replace("travel = 150 mm", "travel = 145 mm"));
    assert_eq!(less.len(), 1);
    insta::assert_snapshot!(less[0]);
    // By the very value that it is shown at.
    let larger = find(&DRAGS.replace("1 1/16 in", "1 1/8 in"));
    assert!(
        larger[0].contains("worse than when it was accepted"),
        "{larger:?}"
    );
    // In a system of another name.
    let both = DRAGS
        .replace("travel = 150 mm", "travel = 145 mm")
        .replace("drags", "other");
    assert!(find(&both)[0].contains("worse than when it was accepted"));
    // It may become better, or as bad as nobody can see.
    assert!(find(&DRAGS.replace("1 1/16 in", "1 in")).is_empty());
    assert!(find(&DRAGS.replace("travel = 150 mm", "travel = 151 mm")).is_empty());
    assert!(find(&DRAGS.replace("150 mm", "149.9999 mm")).is_empty());
}

#[test]
fn each_of_very_many_limits_may_grow() {
    const LIMITS: usize = 120;
    let limits = |travel: &str| {
        let requires = (0..LIMITS).map(|i| format!("    require finger_travel >= {} mm\n", 20 + i));
        let requires: String = requires.collect();
        let system = DRAGS.replace("travel = 150 mm", travel);
        system.replace("drags {\n", &format!("drags {{\n{requires}"))
    };
    let old = limits("travel = 150 mm");
    let (found, _) = left(("a.clutch", &old), ("a.clutch", &limits("travel = 140 mm")));
    let worse = found.iter().filter(|f| {
        f.starts_with("require-failed") && f.contains("worse than when it was accepted")
    });
    assert_eq!(worse.count(), LIMITS, "{found:?}");
    let better = ("a.clutch", &*limits("travel = 155 mm"));
    let (found, _) = left(("a.clutch", &old), better);
    assert!(
        !found.iter().any(|f| f.starts_with("require-failed")),
        "{found:?}"
    );
}

#[test]
fn a_kit_is_worse_with_more_combinations() {
    let kit = |with: &str| {
        let parts = "part slave small { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }
part slave large { bore = 1 1/16 in  stroke = 30 mm  rest_extension = 6 mm }
part slave huge { bore = 1 1/8 in  stroke = 30 mm  rest_extension = 6 mm }
";
        let kit = DRAGS.replace(
            "slave { bore = 1 1/16 in  stroke = 30 mm  rest_extension = 6 mm }",
            &format!("choose slave {with}"),
        );
        format!("{parts}{kit}")
    };
    let (before, after) = (kit("small, large"), kit("small, large, huge"));
    let (found, _) = left(("a.clutch", &before), ("a.clutch", &after));
    let worse = found.iter().find(|f| f.starts_with("short-release"));
    let told = "worse than when it was accepted: 1 then, 2 now";
    assert!(worse.is_some_and(|f| f.ends_with(told)), "{found:?}");
    let (found, _) = left(("a.clutch", &after), ("a.clutch", &before));
    assert!(
        !found.iter().any(|f| f.starts_with("short-release")),
        "{found:?}"
    );
}

#[test]
fn the_program_says_what_is_worse() {
    let folder = folder(&[("a.clutch", DRAGS)]);
    let check = |arguments: &[&str]| {
        let baseline = ["check", "--no-config", "--baseline", "known.json"];
        bitepoint(folder.path(), &[&baseline, arguments].concat())
    };
    assert_eq!(check(&["--write-baseline"]).0, 0);
    let (status, out, err) = check(&[]);
    assert_eq!((status, &*err), (0, ""), "{out}");
    let written = DRAGS
        .replace("7.5 mm to", "7.5mm to")
        .replace("slave {", "slave    {");
    std::fs::write(folder.path().join("a.clutch"), &written).unwrap();
    assert_eq!(bitepoint(folder.path(), &["fmt"]).0, 0);
    assert_eq!(check(&[]).0, 0);
    let shorter = DRAGS.replace("150 mm", "140 mm");
    std::fs::write(folder.path().join("a.clutch"), shorter).unwrap();
    let (status, out, _) = check(&[]);
    assert_eq!(status, 1, "{out}");
    assert!(out.contains("worse than when it was"), "{out}");
    let (_, out, _) = check(&["--format", "sarif"]);
    assert!(out.contains("\"baselineState\": \"updated\""), "{out}");
    std::fs::rename(
        folder.path().join("a.clutch"),
        folder.path().join("b.clutch"),
    )
    .unwrap();
    std::fs::write(folder.path().join("b.clutch"), DRAGS).unwrap();
    let (status, out, _) = check(&[]);
    assert_eq!(status, 0, "{out}");
}

#[test]
fn new_findings_are_reported_as_without_a_baseline() {
    let folder = folder(&[("sound.clutch", SOUND), ("a.clutch", DRAGS)]);
    let check = |arguments: &[&str]| {
        let all = [&["check", "--no-config"], arguments].concat();
        bitepoint(folder.path(), &all)
    };
    let write = [
        "--baseline",
        "known.json",
        "--write-baseline",
        "sound.clutch",
    ];
    assert_eq!(check(&write).0, 0);
    let findings = |arguments: &[&str]| {
        let (_, out, err) = check(&[arguments, &["--format", "json", "a.clutch"]].concat());
        assert!(err.is_empty(), "{err}");
        let told: serde_json::Value = serde_json::from_str(&out).unwrap();
        told["findings"].clone()
    };
    let alone = findings(&[]);
    let mut each = alone.as_array().unwrap().iter();
    let has_fix = |found: &serde_json::Value| !found["fixes"].as_array().unwrap().is_empty();
    assert!(each.any(has_fix), "{alone:#}");
    assert_eq!(findings(&["--baseline", "known.json"]), alone);
}

/// The baseline that the first version of the program wrote for [`DRAGS`].
const OLD: &str = include_str!("cases/baseline-v1.json");

#[test]
fn an_old_baseline_is_read_and_its_limits_are_reported() {
    let folder = folder(&[("a.clutch", DRAGS), ("known.json", OLD)]);
    let arguments = ["check", "--no-config", "--baseline", "known.json"];
    let (status, out, err) = bitepoint(folder.path(), &arguments);
    assert_eq!(status, 0, "{out}{err}");
    assert!(err.contains("cannot tell what has become worse"), "{err}");
    assert!(!out.contains("found no more"), "{out}");
}

#[test]
fn every_written_finding_is_read_back() {
    const FILES: usize = 50;
    let lets = |file: usize| -> String {
        let lets = (0..1000).map(|i| format!("let unused_{file}_{i} = {i} mm\n"));
        lets.chain([SOUND.to_owned()]).collect()
    };
    let folder = folder(&[]);
    for file in 0..FILES {
        std::fs::write(folder.path().join(format!("{file}.clutch")), lets(file)).unwrap();
    }
    let check = |folder: &Path, arguments: &[&str]| {
        let baseline = [
            "check",
            "--no-config",
            "--fail-on",
            "hint",
            "--baseline",
            "known.json",
        ];
        bitepoint(folder, &[&baseline, arguments].concat())
    };
    let (status, _, err) = check(folder.path(), &["--write-baseline"]);
    assert_eq!(status, 0, "{err}");
    let written = std::fs::read_to_string(folder.path().join("known.json")).unwrap();
    assert!(written.len() > 8 << 20 && written.matches("\"fingerprint\"").count() >= 50_000);
    let (status, out, err) = check(folder.path(), &[]);
    assert_eq!((status, &*err), (0, ""), "{out}");
    // One more is one more, also where only so many are listed.
    let more = format!("let one_more = 1 mm\n{}", lets(0));
    std::fs::write(folder.path().join("0.clutch"), more).unwrap();
    let (status, out, _) = check(folder.path(), &["0.clutch"]);
    assert_eq!(status, 1, "{out}");
    assert!(out.contains("one_more"), "{out}");
}

#[test]
fn every_limit_has_an_amount() {
    let without: Vec<&str> = examples()
        .filter(|(check, text)| {
            let report = report("a.clutch", text);
            let own = report.findings.iter().find(|f| f.check.name() == *check);
            own.is_some_and(|f| f.severity >= Severity::Warning && f.problem.shortfall.is_none())
        })
        .map(|(check, _)| check)
        .collect();
    insta::assert_snapshot!(without.join("\n"));
}
