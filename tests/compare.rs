//! Two versions of a spec held against each other, by the real program and the real git.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output, Stdio};

const CYLINDERS: &str = "part master shelf { bore = 3/4 in  stroke = 36 mm  port_travel = 1 mm }
part slave shelf { bore = 7/8 in  stroke = 30 mm }
";

const KIT: &str = "use \"parts/cylinders.clutch\"

system kit \"Heron Yard kit\" {
    pedal { ratio = 6  travel = 150 mm ± 2 mm  free_play = 6 mm }
    master shelf
    slave shelf { rest_extension = 6 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
";

const OTHER: &str = "system other {
    pedal { ratio = 6  travel = 150 mm  free_play = 6 mm }
    master { bore = 3/4 in  stroke = 36 mm  port_travel = 1 mm }
    slave { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
";

/// A folder with files in it, and a git repository around them when it is asked for.
struct Work {
    folder: tempfile::TempDir,
}

impl Work {
    fn new(files: &[(&str, &str)]) -> Self {
        let work = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        for (name, text) in files {
            work.write(name, text);
        }
        work
    }

    /// The same under version control, in its first commit.
    fn committed(files: &[(&str, &str)]) -> Self {
        let work = Self::new(files);
        work.git(&["init", "--quiet"]);
        work.commit();
        work
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    fn git(&self, arguments: &[&str]) {
        let output = Command::new("git")
            .args([
                "-c",
                "user.name=Workshop",
                "-c",
                "user.email=workshop@example.org",
            ])
            .args(arguments)
            .current_dir(self.path())
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("GIT_CONFIG_GLOBAL", self.path().join("no-such-file"))
            // The same commits have the same hashes, which are in the snapshots.
            .env("GIT_AUTHOR_DATE", "2026-01-02T03:04:05Z")
            .env("GIT_COMMITTER_DATE", "2026-01-02T03:04:05Z")
            .env_remove("GIT_DIR")
            .output()
            .unwrap();
        assert!(output.status.success(), "{output:?}");
    }

    fn commit(&self) {
        self.git(&["add", "--all"]);
        self.git(&["commit", "--quiet", "--message", "a step"]);
    }

    fn compare_in(&self, folder: &str, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_bitepoint"))
            .arg("compare")
            .args(arguments)
            .current_dir(self.path().join(folder))
            .stdin(Stdio::null())
            .output()
            .unwrap()
    }

    fn compare(&self, arguments: &[&str]) -> Output {
        self.compare_in(".", arguments)
    }

    fn json(&self, arguments: &[&str]) -> Value {
        let output = self.compare(&[arguments, &["--format", "json"]].concat());
        serde_json::from_str(&out(&output)).unwrap_or_else(|_| panic!("{}", err(&output)))
    }
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn status(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn smaller_bore() -> String {
    CYLINDERS.replace("3/4 in", "5/8 in")
}

/// The change of a review: a smaller bore in the library that a spec uses.
fn reviewed() -> Work {
    let files = [
        ("kit.clutch", KIT),
        ("parts/cylinders.clutch", CYLINDERS),
        ("o.clutch", OTHER),
    ];
    let work = Work::committed(&files);
    work.write("parts/cylinders.clutch", &smaller_bore());
    work
}

#[test]
fn a_smaller_bore_shows_as_what_moved_and_the_check_that_came() {
    let work = reviewed();
    let output = work.compare(&["--from", "HEAD"]);
    assert_eq!(status(&output), 1, "an error came: {}", err(&output));
    insta::assert_snapshot!(out(&output));
}

#[test]
fn a_review_comment() {
    let output = reviewed().compare(&["kit.clutch", "--from", "HEAD", "--format", "markdown"]);
    assert_eq!(status(&output), 1);
    insta::assert_snapshot!(out(&output));
}

#[test]
fn for_machines() {
    let work = reviewed();
    let found = work.json(&["--from", "HEAD"]);
    assert_eq!(found["version"], 1);
    assert_eq!(found["after"], "the working tree");
    assert_eq!(found["counts"]["came"]["error"], 1);
    // The spec's own text is the same; what it uses is not.
    assert_eq!(found["files"].as_array().unwrap().len(), 1);
    assert_eq!(found["same"], 2);
    let file = &found["files"][0];
    assert_eq!(file["file"], "kit.clutch");
    assert_eq!(file["state"], "changed");
    let system = &file["systems"][0];
    assert_eq!(system["inputs"].as_array().unwrap().len(), 1);
    assert_eq!(system["inputs"][0]["what"], "master.bore");
    assert_eq!(system["inputs"][0]["before"]["text"], "3/4 in");
    assert_eq!(system["inputs"][0]["after"]["text"], "5/8 in");
    assert_eq!(system["findings"][0]["fate"], "came");
    assert_eq!(system["findings"][0]["after"]["check"], "short-release");
    // Pascal: (22.225 / 19.05)² and (22.225 / 15.875)², and no way that is better.
    let ratio = &system["results"]["hydraulic_ratio"];
    assert!((ratio["before"]["value"].as_f64().unwrap() - 1.361_111).abs() < 1e-6);
    assert!((ratio["after"]["value"].as_f64().unwrap() - 1.96).abs() < 1e-9);
    assert!((ratio["by"].as_f64().unwrap() - 0.598_889).abs() < 1e-6);
    assert_eq!(ratio["way"], Value::Null);
    assert_eq!(system["results"]["release_margin"]["way"], "worse");
    assert_eq!(system["results"]["release_margin"]["standing"], "clear");
    assert_eq!(system["results"]["pedal_effort"]["way"], "better");
    assert_eq!(system["results"]["release_point"]["after"], Value::Null);
    assert_eq!(
        system["results"]["release_point"]["absent"],
        "full pedal does not get there"
    );
    assert!(
        system["results"].get("pedal_ratio").is_none(),
        "it did not move"
    );
}

#[test]
fn two_revisions_from_any_folder() {
    let work = reviewed();
    work.commit();
    let there = work.compare(&["--from", "HEAD~1", "--to", "HEAD"]);
    assert_eq!(status(&there), 1);
    let back = work.compare(&["--from", "HEAD", "--to", "HEAD~1"]);
    assert_eq!(status(&back), 0, "the error went: {}", out(&back));
    assert!(out(&back).contains("went: error short-release"));
    // `use` leads from a folder through its parent, at the revision too.
    work.write("cars/kit.clutch", &KIT.replace("parts/", "../parts/"));
    work.commit();
    work.write("parts/cylinders.clutch", CYLINDERS);
    work.commit();
    for (folder, path) in [
        ("cars", "."),
        ("cars", "kit.clutch"),
        ("parts", "../cars"),
        (".", "cars"),
    ] {
        let arguments = [path, "--from", "HEAD~1", "--to", "HEAD"];
        let output = work.compare_in(folder, &arguments);
        assert_eq!(status(&output), 0, "{folder} {path}: {}", err(&output));
        assert!(
            out(&output).contains("went: error short-release"),
            "{folder} {path}: {}",
            out(&output)
        );
    }
    let absolute = work.path().join("cars").to_string_lossy().into_owned();
    let output = work.compare_in("parts", &[&absolute, "--from", "HEAD~1"]);
    assert!(
        out(&output).contains("went: error short-release"),
        "{}",
        err(&output)
    );
}

#[test]
fn files_that_come_and_go_are_said() {
    let work = reviewed();
    work.write("parts/cylinders.clutch", CYLINDERS);
    std::fs::remove_file(work.path().join("o.clutch")).unwrap();
    work.write(
        "new.clutch",
        &OTHER.replace("7/8 in", "28 mm").replace("other", "fresh"),
    );
    let output = work.compare(&["--from", "HEAD"]);
    let text = out(&output);
    assert!(
        text.contains("o.clutch is gone\n  other is gone\n"),
        "{text}"
    );
    assert!(
        text.contains("new.clutch is new\n  fresh is new\n"),
        "{text}"
    );
    assert_eq!(status(&output), 1, "the new one does not free: {text}");
    // One alone, and in a folder that is no more.
    let gone = work.compare(&["o.clutch", "--from", "HEAD"]);
    assert_eq!(status(&gone), 0);
    assert!(out(&gone).contains("o.clutch is gone"));
    std::fs::remove_dir_all(work.path().join("parts")).unwrap();
    let gone = work.compare(&["parts/cylinders.clutch", "--from", "HEAD"]);
    assert!(
        out(&gone).contains("parts/cylinders.clutch is gone"),
        "{}",
        err(&gone)
    );
}

#[test]
fn nothing_changed_is_an_answer() {
    let work = Work::committed(&[("o.clutch", OTHER)]);
    // Another spelling of the same length is no change.
    work.write("o.clutch", &OTHER.replace("3/4 in", "19.05 mm"));
    for path in [".", "o.clutch"] {
        let output = work.compare(&[path, "--from", "HEAD"]);
        assert_eq!(status(&output), 0);
        assert!(
            out(&output).ends_with("0 files changed, 1 as before: nothing changed\n"),
            "{}",
            out(&output)
        );
    }
}

#[test]
fn a_side_that_does_not_parse_is_said_to() {
    let work = Work::committed(&[("o.clutch", OTHER)]);
    work.write("o.clutch", &OTHER.replace("bore = 7/8 in", "bore = 7/8"));
    let output = work.compare(&["--from", "HEAD"]);
    assert_eq!(status(&output), 1);
    let text = out(&output);
    assert!(
        text.contains(
            "nothing can be compared: the spec is incomplete or has mistakes in it (the working tree)"
        ),
        "{text}"
    );
    assert!(text.contains("came: error wrong-unit"), "{text}");
    assert!(!text.contains("results that moved"), "{text}");
    // The other way round nothing came, and the mistake went.
    work.commit();
    work.write("o.clutch", OTHER);
    let output = work.compare(&["--from", "HEAD"]);
    assert_eq!(status(&output), 0);
    assert!(
        out(&output).contains("went: error wrong-unit"),
        "{}",
        out(&output)
    );
}

/// What can no longer be looked for is not gone.
#[test]
fn a_finding_that_can_no_longer_be_seen_has_not_gone() {
    let faulty = OTHER.replace("7/8 in", "28 mm");
    let work = Work::committed(&[("o.clutch", &faulty)]);
    work.write("o.clutch", &faulty.replace("bore = 28 mm", "bore = 28"));
    let text = out(&work.compare(&["--from", "HEAD"]));
    assert!(!text.contains("short-release"), "{text}");
}

#[test]
fn two_files_and_two_systems() {
    let light = OTHER
        .replace("3/4 in", "11/16 in")
        .replace("other", "light");
    let both = format!("{OTHER}\n{light}");
    let work = Work::new(&[
        ("a.clutch", OTHER),
        ("b.clutch", &light),
        ("ab.clutch", &both),
    ]);
    // Two files with a system each: those two, whatever their names.
    let two = work.json(&["a.clutch", "b.clutch"]);
    let system = &two["files"][0]["systems"][0];
    assert_eq!(
        (&system["before"], &system["after"]),
        (&"other".into(), &"light".into())
    );
    assert_eq!(system["inputs"][0]["what"], "master.bore");
    // Two systems of one file, and of two.
    let one = work.json(&["ab.clutch", "--systems", "other", "light"]);
    assert_eq!(one["files"][0]["systems"][0]["results"], system["results"]);
    let across = work.json(&["a.clutch", "ab.clutch", "--systems", "other", "light"]);
    assert_eq!(
        across["files"][0]["systems"][0]["results"],
        system["results"]
    );
    // By name otherwise.
    let named = work.json(&["a.clutch", "ab.clutch"]);
    assert_eq!(named["files"][0]["systems"][0]["state"], "added");
    assert_eq!(named["files"][0]["systems"].as_array().unwrap().len(), 1);
}

#[test]
fn what_an_allow_hides_is_seen() {
    let faulty = OTHER.replace("7/8 in", "28 mm");
    let allowed = faulty.replace(
        "    fork",
        "    allow short-release \"it is | only @parked\"\n    fork",
    );
    let work = Work::committed(&[("o.clutch", &faulty)]);
    work.write("o.clutch", &allowed);
    let output = work.compare(&["--from", "HEAD"]);
    assert_eq!(status(&output), 0, "nothing came");
    let text = out(&output);
    assert!(text.contains("allowed now: error short-release"), "{text}");
    assert!(text.contains("because: it is | only @parked"), "{text}");
    assert!(
        text.contains("allow short-release  not given → \"it is | only @parked\""),
        "{text}"
    );
    let comment = out(&work.compare(&["--from", "HEAD", "--format", "markdown"]));
    assert!(
        comment.contains("it is \\| only \\@\u{2060}parked"),
        "{comment}"
    );
    // And without it again, it counts as new.
    work.commit();
    work.write("o.clutch", &faulty);
    let output = work.compare(&["--from", "HEAD"]);
    assert_eq!(status(&output), 1);
    assert!(out(&output).contains("no longer allowed: error short-release"));
}

#[test]
fn a_finding_that_stays_is_known_by_what_it_is_about() {
    let limits = "    require pedal_effort <= 20 N\n    require release_margin >= 9 mm\n}";
    let strict = OTHER.trim_end().trim_end_matches('}').to_owned() + limits;
    let work = Work::committed(&[("o.clutch", &strict)]);
    // Another load: one of the two has other numbers, and neither comes or goes.
    work.write("o.clutch", &strict.replace("1500 N", "1400 N"));
    let output = work.compare(&["--from", "HEAD"]);
    let text = out(&output);
    assert_eq!(status(&output), 0, "{text}");
    assert!(
        text.contains("changed: error require-failed: `pedal_effort` is"),
        "{text}"
    );
    assert!(text.contains("before: error: `pedal_effort` is"), "{text}");
    assert!(!text.contains("came:") && !text.contains("went:"), "{text}");
    // One limit in place of the other: one goes, one comes.
    work.write(
        "o.clutch",
        &strict.replace("require pedal_effort <=", "require pedal_work <="),
    );
    let work_text = strict.replace("pedal_effort <= 20 N", "pedal_effort_full <= 20 N");
    work.write("o.clutch", &work_text);
    let text = out(&work.compare(&["--from", "HEAD"]));
    assert!(
        text.contains("came: error require-failed: `pedal_effort_full`"),
        "{text}"
    );
    assert!(
        text.contains("went: error require-failed: `pedal_effort`"),
        "{text}"
    );
}

#[test]
fn a_tolerance_alone_moves_the_band() {
    let work = Work::committed(&[("kit.clutch", KIT), ("parts/cylinders.clutch", CYLINDERS)]);
    work.write("kit.clutch", &KIT.replace("± 2 mm", "± 4 mm"));
    let found = work.json(&["--from", "HEAD"]);
    let margin = &found["files"][0]["systems"][0]["results"]["release_margin"];
    assert_eq!(margin["by"], 0.0);
    assert_eq!(margin["way"], "worse");
    assert!(margin["after"]["low"].as_f64().unwrap() < margin["before"]["low"].as_f64().unwrap());
    let text = out(&work.compare(&["--from", "HEAD"]));
    assert!(
        text.contains("pedal.travel  150 mm ± 2 mm → 150 mm ± 4 mm"),
        "{text}"
    );
    assert!(text.contains("worse; its band was"), "{text}");
}

#[test]
fn the_failing_level_is_the_users() {
    // A heavier pedal is a warning.
    let work = Work::committed(&[("o.clutch", OTHER)]);
    work.write("o.clutch", &OTHER.replace("1500 N", "2000 N"));
    let run = |level: &[&str]| status(&work.compare(&[&["--from", "HEAD"], level].concat()));
    assert_eq!(run(&[]), 0);
    assert_eq!(run(&["--fail-on", "warning"]), 1);
    // What was there already does not fail again.
    work.commit();
    work.write("o.clutch", &OTHER.replace("1500 N", "2010 N"));
    assert_eq!(run(&["--fail-on", "warning"]), 0);
}

#[test]
fn what_cannot_run_says_why_with_status_2() {
    let work = reviewed();
    let free = Work::new(&[("a.clutch", OTHER)]);
    for (work, arguments, words) in [
        (
            &work,
            &["--from", "no-such"][..],
            "git knows no revision `no-such` here",
        ),
        (
            &work,
            &["--from=--all"],
            "git knows no revision `--all` here",
        ),
        (&work, &["--from=-h"], "git knows no revision `-h` here"),
        (
            &work,
            &["--from=HEAD..HEAD"],
            "git knows no revision `HEAD..HEAD` here",
        ),
        (&work, &["--from", ""], "git knows no revision `` here"),
        (
            &work,
            &["--from", "HEAD", "--to", "gone"],
            "git knows no revision `gone` here",
        ),
        (
            &work,
            &["no.clutch", "--from", "HEAD"],
            "`no.clutch` exists neither at HEAD (",
        ),
        (&work, &["--to", "HEAD"], "--from <REVISION>"),
        (&work, &["kit.clutch"], "compare with what?"),
        (
            &work,
            &["kit.clutch", "no.clutch"],
            "`no.clutch` does not exist",
        ),
        (
            &work,
            &["kit.clutch", "parts"],
            "one side is a folder and the other a file",
        ),
        (
            &work,
            &["-", "--from", "HEAD"],
            "standard input has no revisions",
        ),
        (&work, &["-", "-"], "standard input cannot be both sides"),
        (
            &work,
            &["kit.clutch", "--systems", "kit", "kti"],
            "did you mean `kit`?",
        ),
        (
            &work,
            &["--from", "HEAD", "--systems", "a", "b"],
            "not of folders",
        ),
        (
            &free,
            &["a.clutch", "--from", "HEAD"],
            "`a.clutch` is not in a git repository",
        ),
    ] {
        let output = work.compare(arguments);
        assert_eq!(status(&output), 2, "{arguments:?}: {}", out(&output));
        assert!(
            err(&output).contains(words),
            "{arguments:?}: {}",
            err(&output)
        );
        assert_eq!(out(&output), "");
    }
    let output = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(["compare", "--from", "HEAD"])
        .current_dir(work.path())
        .env("PATH", "")
        .output()
        .unwrap();
    assert_eq!(status(&output), 2);
    assert!(
        err(&output).contains("needs the `git` program"),
        "{}",
        err(&output)
    );
}

#[test]
fn a_library_that_is_missing_at_one_side_is_a_finding_there() {
    let work = Work::committed(&[("kit.clutch", KIT)]);
    work.write("parts/cylinders.clutch", CYLINDERS);
    let output = work.compare(&["kit.clutch", "--from", "HEAD"]);
    let text = out(&output);
    assert_eq!(status(&output), 0, "{text}");
    assert!(
        text.contains("went: error use-missing: `parts/cylinders.clutch` does not exist at that"),
        "{text}"
    );
}

/// Names, titles and reasons end up in a comment that others read.
#[test]
fn nothing_in_a_spec_breaks_a_comment() {
    let odd = OTHER.replace(
        "system other {",
        "system other \"<img src=x> @team [a](http://x.y) `|` #1\" {",
    );
    let work = Work::committed(&[("o|`<b>.clutch", &odd)]);
    work.write("o|`<b>.clutch", &odd.replace("7/8 in", "28 mm"));
    let comment = out(&work.compare(&["--from", "HEAD", "--format", "markdown"]));
    let outside_code: String = comment
        .replace("\\]", "")
        .split("``")
        .step_by(2)
        .flat_map(|text| text.split('`').step_by(2))
        .collect();
    for wrong in ["<img", "<b>", "@team", "](http", "//x.y\u{20}[", " #1"] {
        assert!(!outside_code.contains(wrong), "{wrong}: {comment}");
    }
    // Every row of a table has as many cells as its head.
    let bars = |line: &str| line.replace("\\|", "").matches('|').count();
    let mut wanted = None;
    for line in comment.lines() {
        wanted = match (line.starts_with('|'), wanted) {
            (false, _) => None,
            (true, None) => Some(bars(line)),
            (true, Some(count)) => {
                assert_eq!(bars(line), count, "{line}");
                Some(count)
            }
        };
    }
}

/// A comment that would be too long for where comments are kept says what it leaves out.
#[test]
fn a_comment_has_an_end() {
    let name = |i: usize| format!("car{i}.clutch");
    let names: Vec<String> = (0..40).map(name).collect();
    let files: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), OTHER)).collect();
    let work = Work::committed(&files);
    for name in &names {
        work.write(name, &OTHER.replace("3/4 in", "5/8 in"));
    }
    let comment = out(&work.compare(&["--from", "HEAD", "--format", "markdown"]));
    assert!(comment.len() < 65_000, "{}", comment.len());
    assert!(
        comment.contains("which a comment has no room for"),
        "{}",
        comment.len()
    );
}

#[test]
fn settings_are_those_of_each_side() {
    let work = Work::committed(&[
        ("o.clutch", OTHER),
        (
            "bitepoint.toml",
            "[limits]\nheavy-pedal.effort = \"100 N\"\n",
        ),
    ]);
    // The same settings on both sides: nothing comes.
    let same = work.compare(&["--from", "HEAD", "--fail-on", "hint"]);
    assert_eq!(status(&same), 0, "{}", out(&same));
    assert!(out(&same).ends_with("nothing changed\n"), "{}", out(&same));
    // Settings that changed change what is found.
    std::fs::remove_file(work.path().join("bitepoint.toml")).unwrap();
    let text = out(&work.compare(&["--from", "HEAD"]));
    assert!(text.contains("went: warning heavy-pedal"), "{text}");
    let without = out(&work.compare(&["--from", "HEAD", "--no-config"]));
    assert!(without.ends_with("nothing changed\n"), "{without}");
}

#[test]
fn of_a_kit_it_is_said_how_many_combinations_work_and_what_went() {
    let more = format!("{CYLINDERS}part slave large {{ bore = 1 1/8 in  stroke = 30 mm }}\n");
    let kit = |slaves: &str| {
        KIT.replace(
            "    slave shelf {",
            &format!("    choose slave {slaves}\n    slave {{"),
        )
    };
    let work = Work::committed(&[
        ("kit.clutch", &kit("shelf, large")),
        ("parts/cylinders.clutch", &more),
    ]);
    work.write("kit.clutch", &kit("shelf"));
    let output = work.compare(&["--from", "HEAD"]);
    assert_eq!(status(&output), 0, "{}", err(&output));
    let text = out(&output);
    assert!(
        text.contains("1 of 2 combinations work → 1 of 1 combinations work"),
        "{text}"
    );
    assert!(text.contains("went: error short-release"), "{text}");
    assert!(!text.contains("nothing can be compared"), "{text}");
}
