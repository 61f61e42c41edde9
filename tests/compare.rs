//! Comparisons of two versions of a spec, by the real program with the real git.

use serde_json::Value;
use std::path::{Path, PathBuf};
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

/// A folder with files, in a git repository if one is asked for.
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

    /// A folder with files under version control, in its first commit.
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

    fn git(&self, arguments: &[&str]) -> String {
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
        out(&output).trim_end().to_owned()
    }

    /// The hash of the object at a path, and the file in which git keeps it.
    fn object(&self, name: &str) -> (String, PathBuf) {
        let hash = self.git(&["rev-parse", name]);
        let file = format!(".git/objects/{}/{}", &hash[..2], &hash[2..]);
        (hash, self.path().join(file))
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
    smaller_bore_in(CYLINDERS)
}

fn smaller_bore_in(text: &str) -> String {
    text.replace("3/4 in", "5/8 in")
}

/// A change for review: a smaller bore in a library that a spec uses.
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
    // However it is put together, it is laid out as one piece.
    for path in [".", "o.clutch"] {
        let written = out(&work.compare(&[path, "--from", "HEAD", "--format", "json"]));
        let read: Value = serde_json::from_str(&written).unwrap();
        assert_eq!(written, format!("{read:#}\n"));
    }
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
    assert_eq!(system["inputs"][0]["part"], "master shelf.bore");
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
        "the disc does not come free within the pedal's travel"
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
fn new_and_deleted_files_are_reported() {
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
fn a_side_that_does_not_parse_is_reported() {
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

/// A finding that can no longer be searched for is not gone.
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
fn a_change_hidden_by_an_allow_is_reported() {
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
    assert!(text.contains("worse; its tolerance range was"), "{text}");
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
fn a_run_that_is_not_possible_says_why_with_status_2() {
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

/// Names, titles and reasons appear in a comment that others read.
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

/// A comment that would be too long for its host says what it leaves out.
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
    // An error came in each of them: none is left out for the details of another.
    for name in &names {
        assert!(comment.contains(name), "{name}: {comment}");
    }
    assert_eq!(comment.matches("**came**: error").count(), names.len());
    assert!(
        comment.contains("There is no room here for the details of"),
        "{comment}"
    );
}

/// The only file with an error is kept, wherever it is among files whose results only moved.
#[test]
fn a_comment_without_room_for_all_keeps_the_worst() {
    let name = |i: usize| format!("car{i:03}.clutch");
    let names: Vec<String> = (0..400).map(name).collect();
    let files: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), OTHER)).collect();
    let work = Work::committed(&files);
    for name in &names {
        work.write(name, &OTHER.replace("1500 N", "1490 N"));
    }
    work.write("car399.clutch", &smaller_bore_in(OTHER));
    let output = work.compare(&["--from", "HEAD", "--format", "markdown"]);
    let comment = out(&output);
    assert_eq!(status(&output), 1);
    assert!(comment.len() < 65_000, "{}", comment.len());
    assert!(comment.contains("#### `car399.clutch`"), "{comment}");
    assert!(
        comment.contains("| `master.bore` | 3/4 in | 5/8 in |"),
        "it has room for its details"
    );
    assert!(comment.contains("**came**: error `short-release`"));
    assert!(comment.contains("1 error came"));
    assert!(comment.contains("There is no room here for"), "{comment}");
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

/// A change in a library is told once, under the part that contains it, with the systems that it affects. A system
/// that gives the field itself or takes another part is not affected.
#[test]
fn a_change_in_a_library_is_told_once_with_the_systems_it_reaches() {
    let library = format!("{CYLINDERS}part master other {{ bore = 3/4 in  stroke = 36 mm }}\n");
    let kit = KIT.replace("slave shelf {", "slave shelf { note = \"ours\"");
    let more = "
system light from kit { pedal { free_play = 5 mm } }
system own from kit { master { bore = 19 mm } }
system another from kit { master other }
";
    let second = KIT.replace("system kit", "system second");
    let work = Work::committed(&[
        ("kit.clutch", &format!("{kit}{more}")),
        ("second.clutch", &second),
        ("parts/cylinders.clutch", &library),
    ]);
    let changed = smaller_bore_in(CYLINDERS).replace("30 mm }", "30 mm  price = 40 USD }");
    let changed = format!("{changed}part master other {{ bore = 3/4 in  stroke = 36 mm }}\n");
    work.write("parts/cylinders.clutch", &changed);
    let text = out(&work.compare(&["--from", "HEAD"]));
    let told = text.split_once("parts that changed\n").unwrap().1;
    let told = told.split_once("\n\n").unwrap().0;
    insta::assert_snapshot!(told);
    assert_eq!(text.matches("master shelf.bore").count(), 1, "{text}");
    assert!(!text.contains("master.bore"), "{text}");
    let markdown = out(&work.compare(&["--from", "HEAD", "--format", "markdown"]));
    assert_eq!(
        markdown.matches("master shelf.bore").count(),
        1,
        "{markdown}"
    );
    // A system that only gets dearer is named there, and needs no section.
    assert!(
        text.contains("\n  light\n") && !text.contains("\n  own\n"),
        "{text}"
    );
    assert!(!markdown.contains("**`another`**"), "{markdown}");
    let json = work.json(&["--from", "HEAD"]);
    let part = &json["parts"][0];
    assert_eq!(part["what"], "master shelf.bore");
    assert_eq!(
        (&part["before"], &part["after"]),
        (&"3/4 in".into(), &"5/8 in".into())
    );
    let reached = part["systems"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| &one["system"]);
    assert_eq!(reached.collect::<Vec<_>>(), ["kit", "light", "second"]);
    let of_kit = &json["files"][0]["systems"][0]["inputs"][0];
    assert_eq!(
        (&of_kit["what"], &of_kit["part"]),
        (&"master.bore".into(), &"master shelf.bore".into())
    );
}

#[test]
fn a_kits_working_and_lost_combinations_are_reported() {
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

const SETTINGS: &str = "[limits]\nheavy-pedal.effort = \"200 N\"\n";

/// An object that git cannot give does not count as missing.
#[test]
fn an_object_that_git_cannot_give_is_no_pass() {
    let files = [
        ("kit.clutch", KIT),
        ("parts/cylinders.clutch", CYLINDERS),
        ("o.clutch", OTHER),
        ("bitepoint.toml", SETTINGS),
    ];
    for (name, not_compared) in [
        ("kit.clutch", 1),
        // The kit uses it.
        ("parts/cylinders.clutch", 2),
        ("parts", 2),
        ("bitepoint.toml", 3),
    ] {
        for damage in ["deleted", "cut short", "overwritten"] {
            let work = Work::committed(&files);
            let (hash, file) = work.object(&format!("HEAD:{name}"));
            let bytes = std::fs::read(&file).unwrap();
            std::fs::remove_file(&file).unwrap();
            match damage {
                "cut short" => std::fs::write(&file, &bytes[..bytes.len() / 2]).unwrap(),
                "overwritten" => std::fs::write(&file, "nothing of git's").unwrap(),
                _ => {}
            }
            let case = format!("{name} {damage}");
            for form in ["text", "markdown", "json"] {
                let output = work.compare(&["--from", "HEAD", "--format", form]);
                let (text, said) = (out(&output), err(&output));
                assert_eq!(status(&output), 2, "{case} {form}: {text}");
                assert!(said.contains(&hash), "{case}: {said}");
                assert!(!text.contains("nothing changed\n"), "{case}: {text}");
                assert!(!text.contains("use-missing"), "{case}: {text}");
            }
            let found = work.json(&["--from", "HEAD"]);
            // Below a folder that is not known nothing can be counted.
            if name != "parts" {
                assert_eq!(found["not_compared"], not_compared, "{case}");
                assert_eq!(found["same"], 3 - not_compared, "{case}");
            }
            assert!(found["unread"].to_string().contains(&hash), "{found}");
        }
    }
    // The rest is compared all the same.
    let work = Work::committed(&files);
    std::fs::remove_file(work.object("HEAD:kit.clutch").1).unwrap();
    work.write("o.clutch", &smaller_bore_in(OTHER));
    let output = work.compare(&["--from", "HEAD"]);
    assert_eq!(status(&output), 2);
    let text = out(&output);
    assert!(text.contains("came: error short-release"), "{text}");
    let said = err(&output);
    assert!(said.contains("`kit.clutch` at HEAD ("), "{said}");
    assert!(text.contains(", 1 not compared: 1 error came"), "{text}");
    // One file alone, and a commit.
    let alone = work.compare(&["kit.clutch", "--from", "HEAD"]);
    assert_eq!((status(&alone), &*out(&alone)), (2, ""));
    let (hash, file) = work.object("HEAD");
    std::fs::remove_file(file).unwrap();
    let output = work.compare(&["--from", &hash]);
    assert_eq!(status(&output), 2);
    assert!(err(&output).contains(&hash), "{}", err(&output));
}

#[test]
fn a_partial_clone_without_its_remote_is_no_pass() {
    let work = Work::new(&[]);
    work.write("origin/o.clutch", OTHER);
    work.git(&["init", "--quiet", "origin"]);
    work.git(&["-C", "origin", "config", "uploadpack.allowFilter", "true"]);
    work.git(&["-C", "origin", "add", "--all"]);
    work.git(&["-C", "origin", "commit", "--quiet", "--message", "a step"]);
    let from = format!("file://{}", work.path().join("origin").display());
    let partial = [
        "clone",
        "--quiet",
        "--no-checkout",
        "--filter=blob:none",
        &from,
        "clone",
    ];
    work.git(&partial);
    let hash = work.git(&["-C", "origin", "rev-parse", "HEAD:o.clutch"]);
    work.write("clone/o.clutch", OTHER);
    for has_remote in [true, false] {
        if !has_remote {
            std::fs::remove_dir_all(work.path().join("origin")).unwrap();
        }
        // Nothing is fetched, be the remote there or not.
        let output = work.compare_in("clone", &["--from", "HEAD"]);
        assert_eq!(status(&output), 2, "{}", out(&output));
        assert!(err(&output).contains(&hash), "{}", err(&output));
    }
}

/// No program that a repository's settings name is run.
#[cfg(unix)]
#[test]
fn no_program_named_by_a_repository_is_run() {
    use std::os::unix::fs::PermissionsExt;
    let work = Work::committed(&[("kit.clutch", KIT), ("parts/cylinders.clutch", CYLINDERS)]);
    let mark = work.path().join("was-run");
    let script = work.path().join(".git/harm");
    let text = format!(
        "#!/bin/sh\necho \"$0 $*\" >> '{}'\nexit 1\n",
        mark.display()
    );
    let write_script = |path: &Path| {
        std::fs::write(path, &text).unwrap();
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o755)).unwrap();
    };
    write_script(&script);
    let harm = script.to_str().unwrap();
    std::fs::create_dir_all(work.path().join(".git/hooks")).unwrap();
    for hook in [
        "fsmonitor-watchman",
        "post-index-change",
        "post-checkout",
        "pre-auto-gc",
        "reference-transaction",
    ] {
        write_script(&work.path().join(".git/hooks").join(hook));
    }
    for (name, value) in [
        ("core.fsmonitor", harm),
        ("core.pager", harm),
        ("core.editor", harm),
        ("core.sshCommand", harm),
        ("core.gitProxy", harm),
        ("core.askPass", harm),
        ("core.alternateRefsCommand", harm),
        ("credential.helper", harm),
        ("gpg.program", harm),
        ("diff.external", harm),
        ("diff.clutch.textconv", harm),
        ("diff.clutch.command", harm),
        ("filter.clutch.smudge", harm),
        ("filter.clutch.clean", harm),
        ("filter.clutch.process", harm),
        ("pager.rev-parse", harm),
        ("pager.cat-file", harm),
        ("alias.rev-parse", &format!("!{harm}")),
        ("alias.cat-file", &format!("!{harm}")),
        ("core.repositoryFormatVersion", "1"),
        ("extensions.partialClone", "origin"),
        ("remote.origin.promisor", "true"),
        ("remote.origin.url", work.path().to_str().unwrap()),
        ("remote.origin.uploadpack", harm),
        ("remote.two.promisor", "true"),
        ("remote.two.url", &format!("ext::{harm}")),
        ("remote.three.promisor", "true"),
        ("remote.three.url", "ssh://example.org/x"),
        ("protocol.allow", "always"),
        ("protocol.ext.allow", "always"),
    ] {
        work.git(&["config", name, value]);
    }
    work.write(".gitattributes", "*.clutch filter=clutch diff=clutch\n");
    let _ = std::fs::remove_file(&mark);
    let whole = work.compare(&["--from", "HEAD"]);
    assert_eq!(status(&whole), 0, "{}", err(&whole));
    std::fs::remove_file(work.object("HEAD:kit.clutch").1).unwrap();
    // To ask for its name may have had the object fetched: by the test, not by the program.
    let _ = std::fs::remove_file(&mark);
    for form in ["text", "markdown", "json"] {
        let output = work.compare(&["--from", "HEAD", "--format", form]);
        assert_eq!(status(&output), 2, "{}", out(&output));
    }
    let two = work.compare(&["--from", "HEAD", "--to", "HEAD"]);
    assert_eq!(status(&two), 2, "{}", out(&two));
    let run = std::fs::read_to_string(&mark).unwrap_or_default();
    assert_eq!(run, "");
}

/// However many files there are, each side uses one git process for them.
#[cfg(unix)]
#[test]
fn all_files_of_a_side_are_asked_of_one_process() {
    use std::os::unix::fs::PermissionsExt;
    let names: Vec<String> = (0..60)
        .map(|i| format!("deep/f{i}/car{i}.clutch"))
        .collect();
    let files = names.iter().map(|name| (name.as_str(), OTHER));
    let files: Vec<(&str, &str)> = files.chain([("bitepoint.toml", SETTINGS)]).collect();
    let work = Work::committed(&files);
    work.write(&names[7], &smaller_bore_in(OTHER));
    work.commit();
    let tools = tempfile::tempdir().unwrap();
    let log = tools.path().join("log");
    let path = std::env::var("PATH").unwrap();
    let script = format!(
        "#!/bin/sh\necho \"$*\" >> '{}'\nPATH='{path}' exec git \"$@\"\n",
        log.display()
    );
    let git = tools.path().join("git");
    std::fs::write(&git, script).unwrap();
    std::fs::set_permissions(&git, std::fs::Permissions::from_mode(0o755)).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(["compare", "--from", "HEAD~1", "--to", "HEAD"])
        .current_dir(work.path())
        .env("PATH", format!("{}:{path}", tools.path().display()))
        .output()
        .unwrap();
    assert_eq!(status(&output), 1, "{}", err(&output));
    let run = std::fs::read_to_string(log).unwrap();
    assert_eq!(run.matches("cat-file").count(), 2, "{run}");
    assert!(run.lines().count() < 10, "{run}");
}

/// The way in which a folder's path is written does not change its files.
#[test]
fn a_path_that_goes_up_and_down_is_the_path_that_it_leads_to() {
    let kit = KIT.replace("parts/", "../parts/");
    let work = Work::committed(&[
        ("kits/kit.clutch", &kit),
        ("kits/more/o.clutch", OTHER),
        ("parts/cylinders.clutch", CYLINDERS),
    ]);
    for path in [
        "kits",
        "kits/",
        "./kits/.",
        "kits//",
        "kits/../kits",
        "kits/more/..",
        "kits/more/../../kits/more/..",
        "./parts/../kits",
    ] {
        for arguments in [
            &[path, "--from", "HEAD"][..],
            &[path, "--from", "HEAD", "--to", "HEAD"],
            &[path, "kits"],
        ] {
            let output = work.compare(arguments);
            assert_eq!(status(&output), 0, "{arguments:?}: {}", err(&output));
            assert!(
                out(&output).ends_with("0 files changed, 2 as before: nothing changed\n"),
                "{arguments:?}: {}",
                out(&output)
            );
        }
    }
    for (folder, path) in [("kits/more", "../../kits/more/.."), ("parts", "../kits")] {
        let output = work.compare_in(folder, &[path, "--from", "HEAD"]);
        assert!(
            out(&output).ends_with("nothing changed\n"),
            "{}",
            out(&output)
        );
    }
    let file = work.compare(&["kits/../kits/kit.clutch", "--from", "HEAD"]);
    assert!(out(&file).ends_with("nothing changed\n"), "{}", out(&file));
    // A folder that is no more goes by the same name.
    std::fs::remove_dir_all(work.path().join("kits")).unwrap();
    let gone = out(&work.compare(&["kits/../kits", "--from", "HEAD"]));
    assert!(gone.contains("kits/kit.clutch is gone"), "{gone}");
}

#[test]
fn symbolic_links_are_followed_at_a_revision() {
    let work = Work::new(&[("real/o.clutch", OTHER), ("parts/a.clutch", CYLINDERS)]);
    work.write("kit.clutch", &KIT.replace("parts/cylinders", "lib/link"));
    #[cfg(unix)]
    {
        let link = |to: &str, at: &str| std::os::unix::fs::symlink(to, work.path().join(at));
        link("real", "kits").unwrap();
        link("parts", "lib").unwrap();
        link("../parts/a.clutch", "parts/link.clutch").unwrap();
        link("round", "round").unwrap();
        work.git(&["init", "--quiet"]);
        work.commit();
        for path in ["kits", ".", "kits/o.clutch"] {
            let output = work.compare(&[path, "--from", "HEAD"]);
            assert_eq!(status(&output), 0, "{path}: {}", err(&output));
            assert!(
                out(&output).ends_with("nothing changed\n"),
                "{}",
                out(&output)
            );
        }
    }
}

/// A file with another name is compared with its former self.
#[test]
fn a_renamed_file_is_compared_with_what_it_was() {
    let work = Work::committed(&[("kit.clutch", KIT), ("parts/cylinders.clutch", CYLINDERS)]);
    std::fs::create_dir(work.path().join("heron")).unwrap();
    let faulty = OTHER.replace("7/8 in", "28 mm");
    work.write("o.clutch", &faulty);
    work.commit();
    // Moved, with its path to the library; and moved with an error that it had before.
    work.git(&["rm", "--quiet", "kit.clutch", "o.clutch"]);
    work.write("heron/kit.clutch", &KIT.replace("parts/", "../parts/"));
    work.write("faulty.clutch", &faulty);
    for arguments in [
        &["--from", "HEAD"][..],
        &["--from", "HEAD", "--to", "main~0"],
    ] {
        if arguments.len() > 2 {
            work.git(&["checkout", "--quiet", "-B", "main"]);
            work.commit();
            work.git(&["checkout", "--quiet", "HEAD~1"]);
        }
        let output = work.compare(arguments);
        let text = out(&output);
        assert_eq!(status(&output), 0, "{text}{}", err(&output));
        assert!(
            text.contains("heron/kit.clutch (before: kit.clutch)\n"),
            "{text}"
        );
        assert!(
            text.contains("faulty.clutch (before: o.clutch)\n"),
            "{text}"
        );
        assert!(!text.contains("came:") && !text.contains("went:"), "{text}");
        assert!(
            text.contains("2 files changed, 1 as before: no finding came"),
            "{text}"
        );
    }
    work.git(&["checkout", "--quiet", "main"]);
    // What came with the move is told.
    work.write(
        "heron/kit.clutch",
        &KIT.replace("parts/", "../parts/").replace("1.65", "1.2"),
    );
    let found = work.json(&["--from", "HEAD~1"]);
    let kit = &found["files"][1];
    assert_eq!(kit["file"], "heron/kit.clutch");
    assert_eq!(kit["was"], "kit.clutch");
    assert_eq!(kit["state"], "renamed");
    assert_eq!(kit["systems"][0]["inputs"][0]["what"], "fork.ratio");
}

/// Another similar system in a new file is new, however much of it was copied.
#[test]
fn a_copy_with_another_system_is_no_renamed_file() {
    let work = Work::committed(&[("o.clutch", OTHER)]);
    std::fs::remove_file(work.path().join("o.clutch")).unwrap();
    work.write("p.clutch", &OTHER.replace("other", "fresh"));
    let text = out(&work.compare(&["--from", "HEAD"]));
    assert!(
        text.contains("o.clutch is gone") && text.contains("p.clutch is new"),
        "{text}"
    );
}

#[test]
fn a_submodule_is_one_line() {
    let library = Work::committed(&[("cylinders.clutch", CYLINDERS), ("o.clutch", OTHER)]);
    let work = Work::committed(&[("kit.clutch", &KIT.replace("parts/", "vendor/parts/"))]);
    let from = library.path().to_str().unwrap();
    let add = [
        "-c",
        "protocol.file.allow=always",
        "submodule",
        "--quiet",
        "add",
        from,
    ];
    work.git(&[&add[..], &["vendor/parts"]].concat());
    work.commit();
    let first = library.git(&["rev-parse", "--short=10", "HEAD"]);
    let line =
        format!("`vendor/parts` is a submodule: `bitepoint compare vendor/parts --from {first}`");
    for arguments in [&["--from", "HEAD"][..], &["--from", "HEAD", "--to", "HEAD"]] {
        let output = work.compare(arguments);
        let text = out(&output);
        assert_eq!(status(&output), 0, "{text}{}", err(&output));
        assert!(text.contains(&line), "{text}");
        assert_eq!(text.lines().count(), 4, "nothing else is told: {text}");
        assert!(
            text.contains("\n0 files changed, 1 as before: nothing changed\n"),
            "{text}"
        );
    }
    // What a spec uses of it is read from it, as it was at the revision.
    library.write("cylinders.clutch", &smaller_bore());
    library.commit();
    let second = library.git(&["rev-parse", "--short=10", "HEAD"]);
    let inside = work.path().join("vendor/parts");
    let inside = inside.to_str().unwrap();
    work.git(&["-C", inside, "pull", "--quiet"]);
    let output = work.compare(&["--from", "HEAD"]);
    let text = out(&output);
    assert_eq!(status(&output), 1, "{text}");
    assert!(
        text.contains(&format!("is a submodule, {first} → {second}: ")),
        "{text}"
    );
    assert!(
        text.contains("master shelf.bore  3/4 in → 5/8 in"),
        "{text}"
    );
    assert!(!text.contains("use-missing"), "{text}");
    // And compared with the line that is told.
    let output = work.compare(&["vendor/parts", "--from", &first]);
    assert_eq!(status(&output), 0, "{}", err(&output));
    // Where it is not checked out, what it holds is not known.
    let bare = tempfile::tempdir().unwrap();
    let clone = bare.path().join("clone");
    work.git(&[
        "clone",
        "--quiet",
        work.path().to_str().unwrap(),
        clone.to_str().unwrap(),
    ]);
    let output = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(["compare", "--from", "HEAD"])
        .current_dir(&clone)
        .output()
        .unwrap();
    assert_eq!(status(&output), 2, "{}", out(&output));
    assert!(
        err(&output).contains("is in the submodule `vendor/parts`, whose commit"),
        "{}",
        err(&output)
    );
}

/// In CI the base of a review is often not in the clone; the message says what to do.
#[test]
fn a_shallow_clone_without_the_revision_gets_a_hint() {
    let work = Work::committed(&[("o.clutch", OTHER)]);
    let first = work.git(&["rev-parse", "HEAD"]);
    work.write("o.clutch", &smaller_bore_in(OTHER));
    work.commit();
    let clones = tempfile::tempdir().unwrap();
    let clone = clones.path().join("clone");
    let from = format!("file://{}", work.path().display());
    work.git(&[
        "clone",
        "--quiet",
        "--depth",
        "1",
        &from,
        clone.to_str().unwrap(),
    ]);
    for revision in ["HEAD~1", &first, "origin/stable"] {
        let output = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
            .args(["compare", "--from", revision])
            .current_dir(&clone)
            .output()
            .unwrap();
        assert_eq!(status(&output), 2);
        let said = err(&output);
        assert!(
            said.contains(&format!("git knows no revision `{revision}` here")),
            "{said}"
        );
        assert!(said.contains("`git fetch --unshallow`"), "{said}");
        assert!(said.contains("`fetch-depth: 0`"), "{said}");
    }
    assert!(!err(&work.compare(&["--from", "gone"])).contains("unshallow"));
}

#[cfg(target_os = "linux")]
#[test]
fn a_name_that_is_not_utf_8_is_reported_and_the_rest_is_compared() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let work = Work::new(&[("o.clutch", OTHER)]);
    let odd = work.path().join(OsStr::from_bytes(b"odd\xff.clutch"));
    std::fs::write(&odd, OTHER).unwrap();
    work.git(&["init", "--quiet"]);
    work.commit();
    work.write("o.clutch", &smaller_bore_in(OTHER));
    for gone in [false, true] {
        if gone {
            std::fs::remove_file(&odd).unwrap();
        }
        let output = work.compare(&["--from", "HEAD"]);
        assert_eq!(status(&output), 2, "{}", out(&output));
        assert!(
            out(&output).contains("came: error short-release"),
            "{}",
            out(&output)
        );
        assert!(
            err(&output).contains("`odd\u{fffd}.clutch` has a name that is not UTF-8"),
            "{}",
            err(&output)
        );
    }
}

/// A library beside the repository is the same for both sides.
#[test]
fn files_outside_of_the_repository_are_read_from_the_disk() {
    let outer = Work::new(&[("parts/cylinders.clutch", CYLINDERS)]);
    outer.write(
        "repo/kits/kit.clutch",
        &KIT.replace("parts/", "../../parts/"),
    );
    outer.write("repo/bitepoint.toml", "library = [\"../parts\"]\n");
    outer.write("secret/x.clutch", "TOPSECRET\n");
    outer.git(&["init", "--quiet", "repo"]);
    outer.git(&["-C", "repo", "add", "--all"]);
    outer.git(&["-C", "repo", "commit", "--quiet", "--message", "a step"]);
    for (folder, path) in [
        ("repo", "."),
        ("repo/kits", "kit.clutch"),
        (".", "repo/kits"),
    ] {
        let output = outer.compare_in(folder, &[path, "--from", "HEAD"]);
        assert_eq!(status(&output), 0, "{}", err(&output));
        let text = out(&output);
        assert!(
            text.ends_with("nothing changed\n"),
            "{folder} {path}: {text}"
        );
    }
    outer.write(
        "repo/kits/kit.clutch",
        &KIT.replace("parts/", "../../parts/").replace("1.65", "1.2"),
    );
    let text = out(&outer.compare_in("repo", &["--from", "HEAD"]));
    assert!(text.contains("fork.ratio  1.65 → 1.2"), "{text}");
    assert!(!text.contains("use-missing"), "{text}");
    // Nothing else outside is read at either side.
    let spec = KIT.replace("parts/cylinders", "../../secret/x");
    assert_ne!(spec, KIT);
    outer.write("repo/kits/kit.clutch", &spec);
    outer.git(&[
        "-C",
        "repo",
        "commit",
        "--quiet",
        "--all",
        "--message",
        "a step",
    ]);
    outer.write(
        "repo/kits/kit.clutch",
        &KIT.replace("parts/", "../../parts/"),
    );
    for form in ["text", "json", "markdown"] {
        let output = outer.compare_in("repo", &["--from", "HEAD", "--format", form]);
        let text = out(&output) + &err(&output);
        assert!(text.contains("is outside the project"), "{text}");
        assert!(!text.contains("TOPSECRET"), "{text}");
    }
}
