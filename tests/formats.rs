//! The machine formats of `check`: SARIF, JUnit, annotations and JSON. Also baselines, completions and manual pages,
//! all as the real program writes them.

mod common;

use common::{SOUND, bitepoint, folder};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn validator() -> jsonschema::Validator {
    let schema = std::fs::read_to_string(root().join("tests/schemas/sarif-2.1.0.json")).unwrap();
    // A stray bracket in the pattern of `language`, which a strict reader of patterns refuses.
    let schema = schema.replace("{2}]?$", "{2}?$");
    jsonschema::options()
        .should_validate_formats(true)
        .build(&serde_json::from_str(&schema).unwrap())
        .unwrap()
}

/// The only run of a log, which must be valid against the schema of OASIS.
#[track_caller]
fn sarif(folder: &Path, arguments: &[&str]) -> Value {
    let validator = validator();
    let arguments = [&["check", "--format", "sarif"], arguments].concat();
    let (_, out, _) = bitepoint(folder, &arguments);
    let log: Value = serde_json::from_str(&out).unwrap();
    let wrong: Vec<String> = validator
        .iter_errors(&log)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    log["runs"][0].clone()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

#[test]
fn the_schema_refuses_what_is_no_sarif() {
    let validator = validator();
    let bad = serde_json::json!({
        "version": "2.1.0",
        "runs": [{ "tool": { "driver": { "name": "x" } }, "results": [{ "level": "hint" }] }],
    });
    assert!(!validator.is_valid(&bad));
}

#[test]
fn the_sarif_of_every_example_is_valid() {
    let run = sarif(&root(), &["examples"]);
    let artifacts: BTreeSet<&str> = list(&run["artifacts"])
        .iter()
        .map(|artifact| artifact["location"]["uri"].as_str().unwrap())
        .collect();
    let mut examples = BTreeSet::new();
    for folder in ["examples", "examples/fails", "examples/parts"] {
        for entry in std::fs::read_dir(root().join(folder)).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            if name.ends_with(".clutch") {
                examples.insert(format!("{folder}/{name}"));
            }
        }
    }
    assert!(examples.len() > 15);
    for example in &examples {
        assert!(artifacts.contains(&**example), "{example} is left out");
    }
    let results = list(&run["results"]);
    assert!(results.len() >= 15, "{}", results.len());
    assert!(results.iter().any(|r| !list(&r["fixes"]).is_empty()));
    assert!(
        results
            .iter()
            .any(|r| !list(&r["relatedLocations"]).is_empty())
    );
    let rules = list(&run["tool"]["driver"]["rules"]);
    for result in results {
        let index = result["ruleIndex"].as_u64().unwrap() as usize;
        assert_eq!(rules[index]["id"], result["ruleId"]);
    }
}

/// The range of a text for a region in UTF-16 columns.
fn region_of(text: &str, region: &Value) -> std::ops::Range<usize> {
    let offset = |line: &str, column: &str| {
        let number = |name: &str| region[name].as_u64().unwrap() as usize;
        let begins: usize = text
            .split_inclusive('\n')
            .take(number(line) - 1)
            .map(str::len)
            .sum();
        let mut units = 0;
        for (at, c) in text[begins..].char_indices() {
            if units == number(column) - 1 {
                return begins + at;
            }
            units += c.len_utf16();
        }
        text.len()
    };
    offset("startLine", "startColumn")..offset("endLine", "endColumn")
}

#[test]
fn columns_are_right_behind_text_that_is_not_ascii() {
    let text = "system s \"Käfer 🛞 µ\" from sound { slave { stroke = 30 N } }\n";
    let folder = folder(&[("a.clutch", &format!("{text}{SOUND}"))]);
    let run = sarif(folder.path(), &[]);
    let found = list(&run["results"])
        .iter()
        .find(|r| r["ruleId"] == "wrong-unit");
    let region = &found.unwrap()["locations"][0]["physicalLocation"]["region"];
    assert_eq!(run["columnKind"], "utf16CodeUnits");
    assert_eq!(&text[region_of(text, region)], "30 N");
    assert_eq!(region["snippet"]["text"], "30 N");

    let (_, out, _) = bitepoint(folder.path(), &["check", "--format", "annotations"]);
    let chars = text.chars().take(text.chars().count()).collect::<String>();
    let column = chars[..chars.find("30 N").unwrap()].chars().count() + 1;
    let wanted = format!(
        "::error file=a.clutch,line=1,endLine=1,col={column},endColumn={},title=wrong-unit::",
        column + 4
    );
    assert!(out.contains(&wanted), "{wanted} is not in {out}");
}

#[test]
fn fixes_and_suppressions_are_in_the_sarif() {
    let text = format!(
        "{SOUND}system s \"Käfer 🛞\" from sound {{ slave {{ srtoke = 30 mm }} }}\nsystem t from sound {{\n    allow require-failed \"it is only a draft\"\n    require pedal_effort <= 1 N\n}}\nlet spare = 1 mm\n"
    );
    let folder = folder(&[
        ("a.clutch", &text),
        ("bitepoint.toml", "[severities]\nunused-let = \"off\""),
    ]);
    let run = sarif(folder.path(), &[]);
    let results = list(&run["results"]);
    let misspelled = results
        .iter()
        .find(|r| r["ruleId"] == "unknown-field")
        .unwrap();
    let change = &misspelled["fixes"][0]["artifactChanges"][0];
    assert_eq!(change["artifactLocation"]["uri"], "a.clutch");
    let replacement = &change["replacements"][0];
    let mut mended = text.clone();
    let range = region_of(&text, &replacement["deletedRegion"]);
    mended.replace_range(
        range,
        replacement["insertedContent"]["text"].as_str().unwrap(),
    );
    assert_eq!(mended, text.replace("srtoke", "stroke"));

    let suppressions = |kind: &str| -> Vec<&Value> {
        let all = results.iter().flat_map(|r| list(&r["suppressions"]));
        all.filter(|s| s["kind"] == kind).collect()
    };
    assert_eq!(
        suppressions("inSource")[0]["justification"],
        "it is only a draft"
    );
    let why = &suppressions("external")[0]["justification"];
    assert_eq!(why, "`unused-let` is off in `bitepoint.toml`");
    let (_, json, _) = bitepoint(folder.path(), &["check", "--format", "json"]);
    let json: Value = serde_json::from_str(&json).unwrap();
    let allowed = list(&json["allowed"]).iter();
    let by_allow = allowed.filter(|a| a["by"] == "allow").collect::<Vec<_>>();
    assert_eq!(by_allow[0]["why"], "it is only a draft");
}

fn prints(run: &Value) -> BTreeSet<String> {
    let print = |result: &Value| {
        let print = &result["partialFingerprints"]["bitepointFinding/v2"];
        print.as_str().unwrap().to_owned()
    };
    list(&run["results"]).iter().map(print).collect()
}

#[test]
fn fingerprints_outlive_edits_around_them() {
    let text = "system s { slave { stroke = 30 N  stroke = 31 N } }\n";
    let of = |text: &str| {
        let run = sarif(folder(&[("a.clutch", text)]).path(), &[]);
        let prints = prints(&run);
        assert_eq!(prints.len(), list(&run["results"]).len(), "two are alike");
        prints
    };
    let before = of(text);
    assert!(before.len() > 5);
    let moved = text.replace("{ slave", "{\n\n    # here\n    slave");
    assert_eq!(of(&format!("# a comment\n\n\n{moved}")), before);
    let other = of(&text.replace("30 N", "32 N"));
    assert_eq!(before.difference(&other).count(), 1);
}

/// A text that a careless or a hostile author may write.
const HOSTILE: &str = "</failure>]]><script>&amp;\"'%0A::error::x [go](javascript:1) {0} %25 \u{1b}[31m\u{7} \u{202e}\u{fffe}";

#[test]
fn hostile_names_are_inert_in_every_format() {
    let spec = format!(
        "use \"{0}.clutch\"\n{SOUND}system s \"{0}\" from sound {{\n    require pedal_effort <= 1 N \"{0}\"\n    allow optimistic-model \"{0}\"\n    slvae {{ bore = 1 mm }}\n}}\nsystem t from sound {{\n    require pedal_effort <= 1 N \"{0}\"\n}}\n",
        HOSTILE.replace('"', "")
    );
    let name = "a,b:c%0A<x>&'[y](z){1} ::error::ü\u{7}.clutch";
    let folder = folder(&[
        (name, &spec),
        (
            "bitepoint.toml",
            &format!("[limits]\n\"{}\" = 1", "<b>[x](y)::"),
        ),
    ]);
    let no_controls = |text: &str| {
        let bad = text
            .chars()
            .find(|c| (c.is_control() && *c != '\n') || matches!(c, '\u{202e}' | '\u{fffe}'));
        assert_eq!(bad, None, "{text}");
    };

    let run = sarif(folder.path(), &[]);
    let results = list(&run["results"]);
    assert!(results.len() > 4);
    let mut seen = false;
    for result in results {
        let text = result["message"]["text"].as_str().unwrap();
        seen |= text.contains("script");
        no_controls(text);
        assert!(!text.replace("\\](", "").contains("]("), "{text}");
        assert!(!text.replace("{{", "").contains('{'), "{text}");
        let uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
            .as_str()
            .unwrap();
        assert!(!uri.contains([':', '<', ' ', ',', '[']), "{uri}");
    }
    assert!(seen, "nothing hostile came through");

    let (_, out, _) = bitepoint(folder.path(), &["check", "--format", "junit"]);
    let document = roxmltree::Document::parse(&out).unwrap();
    assert!(
        document
            .descendants()
            .all(|node| node.tag_name().name() != "script")
    );
    let suites = document
        .descendants()
        .filter(|n| n.has_tag_name("testsuite"));
    let named: Vec<&str> = suites.filter_map(|suite| suite.attribute("name")).collect();
    assert_eq!(
        named,
        ["bitepoint.toml", &name.replace('\u{7}', "\u{fffd}")]
    );
    no_controls(&out);
    let failures = document.descendants().filter(|n| n.has_tag_name("failure"));
    let texts: String = failures.filter_map(|n| n.text()).collect();
    assert!(texts.contains("</failure>]]><script>&amp;"), "{texts}");

    let (_, out, _) = bitepoint(folder.path(), &["check", "--format", "annotations"]);
    no_controls(&out);
    for line in out.lines() {
        let known = ["::error ", "::warning ", "::notice ", "::debug "];
        assert!(
            known.iter().any(|command| line.starts_with(command)),
            "{line}"
        );
        let properties = line[2..].split("::").next().unwrap();
        let file = properties
            .split("file=")
            .nth(1)
            .unwrap()
            .split(',')
            .next()
            .unwrap();
        assert!(
            file == "bitepoint.toml" || file.starts_with("a%2Cb%3Ac%250A<x>"),
            "{line}"
        );
    }
    assert_eq!(out.lines().count(), results.len());
}

#[test]
fn junit_has_a_case_for_each_system_and_fails_at_the_level() {
    let text = format!(
        "let spare = 3 mm\n{SOUND}system t from sound {{\n    require pedal_effort <= 1 N\n}}\n"
    );
    let folder = folder(&[("a.clutch", &text)]);
    let cases = |level: &str| {
        let (_, out, _) = bitepoint(
            folder.path(),
            &["check", "--format", "junit", "--fail-on", level],
        );
        let document = roxmltree::Document::parse(&out).unwrap();
        document
            .descendants()
            .filter(|node| node.has_tag_name("testcase"))
            .map(|case| {
                let failed = case.children().any(|child| child.has_tag_name("failure"));
                (case.attribute("name").unwrap().to_owned(), failed)
            })
            .collect::<Vec<_>>()
    };
    let named = |failed: [bool; 3]| {
        let names = ["the text", "sound", "t"].map(str::to_owned);
        names.into_iter().zip(failed).collect::<Vec<_>>()
    };
    assert_eq!(cases("error"), named([false, false, true]));
    assert_eq!(cases("hint"), named([true, true, true]));
}

#[cfg(target_os = "linux")]
#[test]
fn files_that_cannot_be_read_are_reported_and_the_rest_is_checked() {
    let folder = folder(&[("a.clutch", SOUND)]);
    // It is there, and nobody can read its first byte.
    let files = ["a.clutch", "/proc/self/mem"];
    let run = sarif(folder.path(), &files);
    let invocation = &run["invocations"][0];
    assert_eq!(invocation["executionSuccessful"], false);
    let told = &invocation["toolExecutionNotifications"][0];
    let uri = &told["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert_eq!(uri, "file:///proc/self/mem");
    assert_eq!(list(&run["artifacts"]).len(), 1);
    for (format, needle) in [
        ("text", "1 system in 1 file:"),
        (
            "json",
            "\"unread\": [\n    {\n      \"file\": \"/proc/self/mem\"",
        ),
        ("junit", "<error message=\"cannot be read"),
        (
            "annotations",
            "::error file=/proc/self/mem,title=unreadable::",
        ),
    ] {
        let arguments = [&["check", "--format", format], &files[..]].concat();
        let (status, out, err) = bitepoint(folder.path(), &arguments);
        assert_eq!(status, 2, "{format}");
        assert!(out.contains(needle), "{format}: {out}");
        assert!(
            err.starts_with("bitepoint: `/proc/self/mem` cannot be read"),
            "{err}"
        );
    }
}

#[test]
fn a_baseline_lets_the_old_in_and_reports_the_new() {
    let old = "system s { slave { stroke = 30 N } }\n";
    let folder = folder(&[("cars/a.clutch", old), ("b.clutch", SOUND)]);
    let check = |arguments: &[&str]| {
        let arguments = [&["check", "--no-config"], arguments].concat();
        bitepoint(folder.path(), &arguments)
    };
    assert_eq!(check(&[]).0, 1);
    let (status, _, err) = check(&["--baseline", "known.json"]);
    assert_eq!(status, 2, "{err}");
    assert!(err.contains("`--write-baseline` writes it"), "{err}");
    let (status, out, err) = check(&["--baseline", "known.json", "--write-baseline"]);
    assert_eq!(
        (status, err.contains("findings now")),
        (0, true),
        "{out}{err}"
    );
    let (status, out, _) = check(&["--baseline", "known.json"]);
    assert_eq!(status, 0, "{out}");
    assert!(out.contains(" known)"), "{out}");
    // From another folder it is the same baseline.
    let (status, out, _) = bitepoint(
        &folder.path().join("cars"),
        &["check", "--baseline", "../known.json"],
    );
    assert_eq!(status, 0, "{out}");

    let moved = format!("# moved\n\n{old}system t {{ slave {{ stroke = 31 N }} }}\n");
    std::fs::write(folder.path().join("cars/a.clutch"), moved).unwrap();
    let (status, out, _) = check(&["--baseline", "known.json"]);
    assert_eq!(status, 1, "{out}");
    assert!(out.contains("6 errors (7 known)"), "{out}");
    let (_, json, _) = check(&["--baseline", "known.json", "--format", "json"]);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert!(
        list(&json["findings"])
            .iter()
            .all(|f| f["start"]["line"] == 4)
    );
    let run = sarif(folder.path(), &["--baseline", "known.json"]);
    let states: BTreeSet<&str> = list(&run["results"])
        .iter()
        .map(|r| r["baselineState"].as_str().unwrap())
        .collect();
    assert_eq!(states, BTreeSet::from(["new", "unchanged"]));

    std::fs::write(folder.path().join("cars/a.clutch"), SOUND).unwrap();
    let (status, out, _) = check(&["--baseline", "known.json"]);
    assert_eq!(status, 0, "{out}");
    assert!(
        out.contains("of the baseline `known.json` found no more"),
        "{out}"
    );

    std::fs::write(
        folder.path().join("known.json"),
        "{\"version\": 9, \"findings\": []}",
    )
    .unwrap();
    let (status, _, err) = check(&["--baseline", "known.json"]);
    assert_eq!((status, err.contains("version 9")), (2, true), "{err}");
}

#[test]
fn findings_go_to_a_file_when_asked() {
    let folder = folder(&[("a.clutch", SOUND)]);
    let (status, out, _) = bitepoint(
        folder.path(),
        &["check", "--format", "sarif", "--output", "out.sarif"],
    );
    assert_eq!((status, &*out), (0, ""));
    let text = std::fs::read_to_string(folder.path().join("out.sarif")).unwrap();
    assert!(text.contains("\"2.1.0\""));
}

#[test]
fn one_file_by_two_names_is_one_file() {
    let folder = folder(&[("a.clutch", SOUND)]);
    let (_, out, _) = bitepoint(folder.path(), &["check", "a.clutch", "./a.clutch", "."]);
    assert!(out.contains("1 system in 1 file:"), "{out}");
}

#[test]
fn findings_beyond_the_limit_keep_their_severity() {
    let lets: String = (0..1200)
        .map(|i| format!("let unused{i} = 1 mm\n"))
        .collect();
    let folder = folder(&[("a.clutch", &format!("{lets}{SOUND}"))]);
    let (status, out, _) = bitepoint(folder.path(), &["check", "--format", "json"]);
    let json: Value = serde_json::from_str(&out).unwrap();
    let last = list(&json["findings"]).last().unwrap();
    assert_eq!(last["check"], "too-large");
    assert_ne!(last["severity"], "error");
    assert_eq!(status, 0);
}

#[test]
fn shells_and_manuals_are_served() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let (status, out, _) = bitepoint(&root(), &["completions", shell]);
        assert_eq!(status, 0);
        assert!(out.contains("write-baseline"), "{shell}");
    }
    let (_, out, _) = bitepoint(&root(), &["man"]);
    assert!(out.contains(".TH bitepoint 1"), "{out}");
    let folder = folder(&[]);
    let (status, _, _) = bitepoint(folder.path(), &["man", "."]);
    assert_eq!(status, 0);
    let page = std::fs::read_to_string(folder.path().join("bitepoint-check.1")).unwrap();
    assert!(page.contains("baseline"), "{page}");
}
