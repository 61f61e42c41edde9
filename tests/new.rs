//! The specs to start with, by the real program.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn bitepoint(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// The ways that the program lists.
fn ways() -> Vec<String> {
    let listed = out(&bitepoint(Path::new("."), &["new", "--list"]));
    let first = |line: &str| line.split_whitespace().next().unwrap().to_owned();
    listed.lines().map(first).collect()
}

fn each_way_in_each_unit() -> impl Iterator<Item = (String, &'static str)> {
    let in_both = |way: String| [(way.clone(), "mm"), (way, "in")];
    ways().into_iter().flat_map(in_both)
}

#[test]
fn every_starter_checks_clean_and_is_canonical() {
    assert_eq!(
        ways(),
        ["hydraulic", "concentric", "cable", "linkage", "parts"]
    );
    for (way, units) in each_way_in_each_unit() {
        let folder = tempfile::tempdir().unwrap();
        let run = |arguments: &[&str]| bitepoint(folder.path(), arguments);
        let output = run(&["new", &way, "my.clutch", "--units", units]);
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        let check = run(&["check", "my.clutch", "--format", "json"]);
        let found: Value = serde_json::from_str(&out(&check)).unwrap();
        assert_eq!(found["findings"], serde_json::json!([]), "{way}");
        assert_eq!(found["allowed"], serde_json::json!([]), "{way}");
        let tidy = run(&["fmt", "--check", "my.clutch"]);
        assert_eq!(tidy.status.code(), Some(0), "{way}");
        let calc = run(&["calc", "my.clutch", "--format", "json"]);
        let found: Value = serde_json::from_str(&out(&calc)).unwrap();
        let systems = found["systems"].as_array().unwrap();
        assert_eq!(systems.len(), usize::from(way != "parts"), "{way}");
        for system in systems {
            assert!(
                system["results"]["pedal_effort"]["value"].is_number(),
                "{way}"
            );
            assert_eq!(system["assumed"], serde_json::json!([]), "{way}");
        }
    }
}

/// The words of a starter on one line, with a blank for each value and for each unit after one.
fn without_values(text: &str) -> String {
    let is_value = |word: &&str| {
        let word = word.trim_matches(|c: char| "(),.:`".contains(c));
        let units = [
            "mm", "in", "N", "lbf", "N/mm", "lbf/in", "MPa", "GPa", "psi", "ksi",
        ];
        let number = |c: char| c.is_ascii_digit() || "./".contains(c);
        units.contains(&word) || word.chars().all(number)
    };
    let words = text.split_whitespace().filter(|word| *word != "#");
    let words: Vec<&str> = words.filter(|word| !is_value(word)).collect();
    words.join(" ").replace(", }", " }")
}

/// A starter in inches has the same words as the metric one, and no metric value.
#[test]
fn the_starters_in_inches_keep_up_with_the_others() {
    for way in ways() {
        let starter = |units| out(&bitepoint(Path::new("."), &["new", &way, "--units", units]));
        let (metric, inches) = (starter("mm"), starter("in"));
        assert_eq!(without_values(&inches), without_values(&metric), "{way}");
        let metric_unit = inches.lines().find(|line| {
            let statement = line.split('#').next().unwrap_or_default();
            let mut words = statement.split_whitespace();
            words.any(|word| ["mm", "N", "N/mm", "MPa", "GPa"].contains(&word))
        });
        assert_eq!(metric_unit, None, "{way}");
        assert_ne!(inches, metric, "{way}");
    }
}

/// Each starter has the blocks of its way of actuation.
#[test]
fn every_starter_has_its_way_of_actuation() {
    for (way, block) in [
        ("hydraulic", "    fork {"),
        ("concentric", "        inner "),
        ("cable", "    cable {"),
        ("linkage", "    linkage {"),
        ("parts", "\npart master "),
    ] {
        let text = out(&bitepoint(Path::new("."), &["new", way]));
        assert!(text.contains(block), "{way}: {text}");
        assert!(text.starts_with("# A starter for "), "{way}");
        assert!(
            text.lines().all(|line| line.chars().count() <= 100),
            "{way}"
        );
    }
}

#[test]
fn the_library_serves_a_spec() {
    let folder = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str]| bitepoint(folder.path(), arguments);
    run(&["new", "parts", "parts.clutch"]);
    run(&["new", "hydraulic", "base.clutch"]);
    std::fs::write(
        folder.path().join("kit.clutch"),
        "use \"parts.clutch\"
use \"base.clutch\"
system kit from my_conversion {
    master my_master
    slave my_slave { rest_extension = 12 mm }
    cover my_cover
    disc my_disc
}
",
    )
    .unwrap();
    let check = run(&["check", "kit.clutch", "--fail-on", "hint"]);
    assert_eq!(check.status.code(), Some(0), "{}", out(&check));
}

#[test]
fn an_existing_file_is_not_changed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.clutch");
    std::fs::write(&path, "# mine\n").unwrap();
    let output = bitepoint(folder.path(), &["new", "cable", "mine.clutch"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(
        said.contains("is there already and is left as it is"),
        "{said}"
    );
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "# mine\n");
    let output = bitepoint(folder.path(), &["new", "cable", "mine.clutch", "--force"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(std::fs::read_to_string(&path).unwrap().contains("cable {"));
}

#[test]
fn a_file_that_cannot_be_written_gives_the_reason() {
    let folder = tempfile::tempdir().unwrap();
    for arguments in [
        &["new", "cable", "no/such/folder.clutch"][..],
        &["new", "gears"],
    ] {
        let output = bitepoint(folder.path(), arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(!output.stderr.is_empty());
    }
}
