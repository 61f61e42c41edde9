//! What CI relies on, tested on the real program: exit statuses, and output that controls neither a terminal nor the
//! CI host.

mod common;

use common::{SOUND, bitepoint, cases, folder};
use proptest::prelude::*;
use serde_json::Value;
use std::fs::File;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// A system with a heavy pedal, which is only a warning.
fn warned() -> String {
    SOUND.replace("1500 N", "2000 N")
}

/// A clutch that does not release.
fn faulty() -> String {
    SOUND.replace("7/8 in", "28 mm")
}

const LIBRARY: &str = "part slave shelf { bore = 7/8 in  stroke = 30 mm }\n";
const BROKEN: &str = "this is { no spec at all\n";

fn specs() -> tempfile::TempDir {
    folder(&[
        ("sound.clutch", SOUND),
        ("warned.clutch", &warned()),
        ("faulty.clutch", &faulty()),
        ("broken.clutch", BROKEN),
        ("library.clutch", LIBRARY),
        ("untidy/untidy.clutch", &SOUND.replace(" = ", "=")),
    ])
}

/// Every verb in every form with every kind of file, against the table in `grammar/commands.md`.
#[test]
fn exit_statuses_follow_one_table() {
    let files = ["sound", "warned", "faulty", "broken", "library", "missing"];
    let folder = specs();
    for (arguments, wanted) in [
        ("check FILE", [0, 0, 1, 1, 0, 2]),
        ("check FILE --fail-on warning", [0, 1, 1, 1, 0, 2]),
        ("check FILE --format json", [0, 0, 1, 1, 0, 2]),
        ("check FILE --format sarif", [0, 0, 1, 1, 0, 2]),
        ("check FILE --format junit", [0, 0, 1, 1, 0, 2]),
        ("check FILE --format annotations", [0, 0, 1, 1, 0, 2]),
        ("check FILE sound.clutch", [0, 0, 1, 1, 0, 2]),
        ("check FILE --output out.txt", [0, 0, 1, 1, 0, 2]),
        ("check FILE --output no/such/out.txt", [2, 2, 2, 2, 2, 2]),
        ("check FILE --config no.toml", [2, 2, 2, 2, 2, 2]),
        ("check FILE --baseline no.json", [2, 2, 2, 2, 2, 2]),
        ("calc FILE", [0, 0, 1, 1, 2, 2]),
        ("calc FILE --format json", [0, 0, 1, 1, 2, 2]),
        ("calc FILE --curve --points 3", [0, 0, 1, 1, 2, 2]),
        // What is found of full pedal says nothing of another place.
        ("calc FILE --at 90mm", [0, 0, 0, 1, 2, 2]),
        ("calc FILE --at nowhere", [2, 2, 2, 2, 2, 2]),
        ("calc FILE sound", [0, 0, 1, 2, 2, 2]),
        ("calc FILE no_such", [2, 2, 2, 2, 2, 2]),
        ("sheet FILE", [0, 0, 1, 1, 2, 2]),
        ("sheet FILE --format md", [0, 0, 1, 1, 2, 2]),
        ("sheet FILE --output out.html", [0, 0, 1, 1, 2, 2]),
        ("sheet FILE --output no/such/out.html", [2, 2, 2, 1, 2, 2]),
        ("size FILE --vary master.bore=19mm", [0, 0, 1, 1, 2, 2]),
        (
            "size FILE --vary master.bore=19mm --format json",
            [0, 0, 1, 1, 2, 2],
        ),
        ("size FILE --vary no.such", [2, 2, 2, 2, 2, 2]),
        ("fmt FILE --check", [0, 0, 0, 1, 0, 2]),
        ("fmt FILE", [0, 0, 0, 1, 0, 2]),
        ("fmt FILE untidy --check", [1, 1, 1, 1, 1, 2]),
        ("compare FILE FILE", [0, 0, 0, 0, 0, 2]),
        ("compare sound.clutch FILE", [0, 0, 1, 1, 0, 2]),
        (
            "compare sound.clutch FILE --fail-on warning",
            [0, 1, 1, 1, 0, 2],
        ),
        (
            "compare sound.clutch FILE --format json",
            [0, 0, 1, 1, 0, 2],
        ),
        (
            "compare sound.clutch FILE --format markdown",
            [0, 0, 1, 1, 0, 2],
        ),
        ("compare FILE", [2, 2, 2, 2, 2, 2]),
        ("compare FILE --from HEAD", [2, 2, 2, 2, 2, 2]),
        ("new hydraulic FILE", [2, 2, 2, 2, 2, 0]),
    ] {
        for (file, wanted) in files.iter().zip(wanted) {
            let file = format!("{file}.clutch");
            let words: Vec<String> = arguments
                .split(' ')
                .map(|word| word.replace("FILE", &file))
                .collect();
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let (status, out, err) = bitepoint(folder.path(), &words);
            assert_eq!(status, wanted, "{}\n{out}\n{err}", words.join(" "));
            assert!(
                status != 2 || err.starts_with("bitepoint: ") || err.starts_with("error: "),
                "{}: why it could not run is said: {err}",
                words.join(" ")
            );
            let _ = std::fs::remove_file(folder.path().join("missing.clutch"));
        }
    }
    for (arguments, wanted) in [
        (&["explain"][..], 0),
        (&["explain", "short-release"], 0),
        (&["explain", "short-relaese"], 2),
        (&["new", "--list"], 0),
        (&["new"], 0),
        (&["new", "hydraulic", "no/such/x.clutch"], 2),
        (&["completions", "bash"], 0),
        (&["completions", "no-such"], 2),
        (&["man"], 0),
        (&["man", "no/such"], 2),
        (&["check", "no-such-folder"], 2),
        (&["fmt", "no-such-folder"], 2),
        (&["--help"], 0),
        (&["--version"], 0),
        (&["check", "--help"], 0),
        (&["frobnicate"], 2),
        (&[], 2),
    ] {
        let (status, _, err) = bitepoint(folder.path(), arguments);
        assert_eq!(status, wanted, "{arguments:?}: {err}");
    }
}

/// Runs the program with its output or its errors going nowhere.
#[cfg(target_os = "linux")]
fn into_full(folder: &Path, arguments: &[&str], is_output: bool) -> Output {
    let full = || Stdio::from(File::options().write(true).open("/dev/full").unwrap());
    let mut command = Command::new(env!("CARGO_BIN_EXE_bitepoint"));
    command
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null());
    match is_output {
        true => command.stdout(full()),
        false => command.stderr(full()),
    };
    command.output().unwrap()
}

#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_is_no_pass() {
    let folder = specs();
    for arguments in [
        "--help",
        "--version",
        "check --help",
        "help calc",
        "check sound.clutch",
        "check sound.clutch --format json",
        "check sound.clutch --format annotations --fail-on hint warned.clutch",
        "calc sound.clutch",
        "calc sound.clutch --curve",
        "sheet sound.clutch",
        "size sound.clutch --vary master.bore=19mm",
        "compare sound.clutch sound.clutch",
        "explain",
        "explain --manual",
        "new",
        "new --list",
        "fmt --check untidy",
        "completions bash",
        "completions zsh",
        "man",
    ] {
        let words: Vec<&str> = arguments.split(' ').collect();
        let output = into_full(folder.path(), &words, true);
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments}: {err}");
        assert!(
            err.starts_with("bitepoint: cannot write the answer: "),
            "{arguments}: {err}"
        );
    }
}

/// A message that could not be printed may be the reason why the run should fail.
#[cfg(target_os = "linux")]
#[test]
fn a_message_that_cannot_be_written_is_no_pass() {
    let folder = specs();
    for arguments in [
        "check missing.clutch",
        "check missing.clutch sound.clutch",
        "check sound.clutch --baseline known.json --write-baseline",
        "calc missing.clutch",
        "sheet broken.clutch",
        "size broken.clutch",
        "fmt --check broken.clutch",
        "explain no-such",
        "no-such-verb",
    ] {
        let words: Vec<&str> = arguments.split(' ').collect();
        let output = into_full(folder.path(), &words, false);
        assert_eq!(output.status.code(), Some(2), "{arguments}");
    }
    // What says nothing there is as good as ever.
    for (arguments, status) in [("check sound.clutch", 0), ("check faulty.clutch", 1)] {
        let words: Vec<&str> = arguments.split(' ').collect();
        let output = into_full(folder.path(), &words, false);
        assert_eq!(output.status.code(), Some(status), "{arguments}");
    }
}

/// Findings of many files are printed in the order of their names, and do not wait for the last file.
#[cfg(unix)]
#[test]
fn findings_go_out_as_they_come() {
    use std::io::{BufRead, BufReader};
    const FILES: usize = 300;
    let folder = folder(&[]);
    let names: Vec<String> = (0..FILES).map(|n| format!("a{n:03}.clutch")).collect();
    for name in &names {
        std::fs::write(folder.path().join(name), faulty()).unwrap();
    }
    let pipe = folder.path().join("z.clutch");
    let made = Command::new("mkfifo").arg(&pipe).status().unwrap();
    assert!(made.success());
    let mut check = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .arg("check")
        .args(&names)
        .arg("z.clutch")
        .current_dir(folder.path())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let output = BufReader::new(check.stdout.take().unwrap());
    let (sender, lines) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        for line in output.lines() {
            let _ = sender.send(line.unwrap());
        }
    });
    // Only a program that waits for the pipe takes as long.
    let patience = std::time::Duration::from_secs(60);
    let mut said = vec![lines.recv_timeout(patience).expect("a finding")];
    std::fs::write(&pipe, faulty()).unwrap();
    said.extend(lines);
    assert_eq!(check.wait().unwrap().code(), Some(1));
    let mut told: Vec<&str> = said
        .iter()
        .filter_map(|line| line.trim_start().strip_prefix("╭─[")?.split(':').next())
        .collect();
    assert!(told.is_sorted());
    told.dedup();
    assert_eq!(told.len(), FILES + 1);
    assert!(
        said.last()
            .unwrap()
            .starts_with("301 systems in 301 files: 301 errors")
    );
}

/// Makes a folder that nobody can read, not even root: its path is longer than allowed.
#[cfg(target_os = "linux")]
fn too_deep(folder: &Path) {
    let name = "0".repeat(250);
    let levels = |count: usize| vec![&*name; count].join("/");
    let near = folder.join(levels(15));
    std::fs::create_dir_all(&near).unwrap();
    let other = folder.join("other");
    std::fs::create_dir_all(other.join(levels(5))).unwrap();
    std::fs::rename(other, near.join("1")).unwrap();
}

#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_cannot_be_entered_is_reported_and_the_rest_is_done() {
    let untidy = SOUND.replace(" = ", "=");
    let folder = folder(&[("a/faulty.clutch", &faulty()), ("z/untidy.clutch", &untidy)]);
    too_deep(folder.path());
    let run = |arguments: &[&str]| bitepoint(folder.path(), arguments);
    for format in ["text", "json", "sarif", "junit", "annotations"] {
        let (status, out, err) = run(&["check", "--format", format]);
        assert_eq!(status, 2, "{format}: {err}");
        assert!(out.contains("short-release"), "{format}: {out}");
        assert!(err.contains("cannot be read: File name too long"), "{err}");
    }
    let found: Value = serde_json::from_str(&run(&["check", "--format", "json"]).1).unwrap();
    assert_eq!(found["files"].as_array().unwrap().len(), 2);
    assert_eq!(found["unread"].as_array().unwrap().len(), 1);
    let (status, out, _) = run(&["fmt", "--check"]);
    assert_eq!((status, &*out), (2, "z/untidy.clutch\n"));
    assert_eq!(run(&["fmt"]).0, 2);
    let written = std::fs::read_to_string(folder.path().join("z/untidy.clutch")).unwrap();
    assert_eq!(written, SOUND, "the rest is formatted");
    let (status, out, _) = run(&["compare", ".", "a"]);
    assert_eq!(status, 2, "{out}");
    assert!(out.contains("z/untidy.clutch is gone"), "{out}");
}

/// Root may read every folder, so the program runs as another user.
#[cfg(target_os = "linux")]
#[test]
fn a_locked_folder_is_reported_and_the_rest_is_done() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder(&[("a.clutch", &faulty()), ("locked/b.clutch", SOUND)]);
    let allow = |path: &Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    let program = folder.path().join("program");
    std::fs::copy(env!("CARGO_BIN_EXE_bitepoint"), &program).unwrap();
    allow(folder.path(), 0o755);
    allow(&folder.path().join("locked"), 0o000);
    let is_locked = std::fs::read_dir(folder.path().join("locked")).is_err();
    let run = |arguments: &[&str]| {
        let mut command = match is_locked {
            true => Command::new(&program),
            false => {
                let mut command = Command::new("setpriv");
                let nobody = ["--reuid=65534", "--regid=65534", "--clear-groups"];
                command.args(nobody).arg(&program);
                command
            }
        };
        let output = command.args(arguments).current_dir(folder.path()).output();
        let output = output.expect("as root, `setpriv` of util-linux is needed");
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (
            output.status.code(),
            text(output.stdout),
            text(output.stderr),
        )
    };
    let (status, out, err) = run(&["check"]);
    assert_eq!(status, Some(2), "{out}");
    assert_eq!(err, "bitepoint: `locked` may not be read\n");
    assert!(out.contains("short-release"), "{out}");
    let (status, _, err) = run(&["compare", ".", ".", "--fail-on", "error"]);
    assert_eq!(
        (status, &*err),
        (Some(2), "bitepoint: `locked` may not be read\n")
    );
    let (status, _, err) = run(&["check", "locked/b.clutch", "a.clutch"]);
    assert_eq!(status, Some(2));
    assert_eq!(err, "bitepoint: `locked/b.clutch` may not be read\n");
    allow(&folder.path().join("locked"), 0o755);
}

#[cfg(target_os = "linux")]
#[test]
fn a_name_that_is_not_utf_8_is_reported_and_the_rest_is_done() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let folder = folder(&[
        ("a.clutch", &faulty()),
        ("z.clutch", &SOUND.replace(" = ", "=")),
    ]);
    let odd = folder.path().join(OsStr::from_bytes(b"odd\xff.clutch"));
    std::fs::write(odd, SOUND).unwrap();
    let said =
        "bitepoint: `odd\u{fffd}.clutch` has a name that is not UTF-8; give it another one\n";
    for format in ["text", "json", "sarif", "junit", "annotations"] {
        let (status, out, err) = bitepoint(folder.path(), &["check", "--format", format]);
        assert_eq!((status, &*err), (2, said), "{format}");
        assert!(out.contains("short-release"), "{format}: {out}");
    }
    let (status, out, err) = bitepoint(folder.path(), &["fmt", "--check"]);
    assert_eq!((status, &*out, &*err), (2, "z.clutch\n", said));
}

/// Pieces of text that are special somewhere, and those that a CI host obeys.
const FRAGMENTS: &[&str] = &[
    "::error::x",
    "::set-output name=a::b",
    "##[error]x",
    "##vso[task.complete]",
    "#",
    "\u{1b}[31m",
    "\u{1b}]0;x\u{7}",
    "\u{9b}2J",
    "\u{85}",
    "\u{7f}",
    "\u{202e}",
    "\u{2066}",
    "\u{200f}",
    "\u{61c}",
    "\u{2028}",
    "\r",
    "\n",
    "\n::warning::y",
    "\t",
    " ",
    "a long word after another, so that lines are wrapped somewhere near here or there ",
    "name",
    "é",
    "%0A::error::z",
    "<b>",
    "`|`",
    "]]>",
    "&amp;",
    "'",
    "\\",
    "-",
    "%",
    "=",
];

fn hostile() -> impl Strategy<Value = String> {
    let some = proptest::collection::vec(proptest::sample::select(FRAGMENTS), 1..6);
    some.prop_map(|parts| parts.concat())
}

/// The text as the name of a file or a folder.
fn as_name(text: &str) -> String {
    let mut name: String = text.chars().filter(|c| !matches!(c, '/' | '\0')).collect();
    while name.len() > 180 {
        name.pop();
    }
    // One that begins with a dot is hidden, and one with a dash is an option.
    format!("{name}n").trim_start_matches(['.', '-']).to_owned()
}

/// Nothing in an output controls a terminal, and no line of it is a command except our annotations.
fn is_inert(text: &str, has_annotations: bool, what: &str) {
    let steers = |c: &char| {
        let turns = matches!(
            c,
            '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
        );
        turns || matches!(c, '\u{2028}' | '\u{2029}') || c.is_control() && !matches!(c, '\n' | '\t')
    };
    assert_eq!(text.chars().find(steers), None, "{what}: {text:?}");
    for line in text.lines() {
        let ours = ["::error ", "::warning ", "::notice ", "::debug "];
        let is_ours = has_annotations
            && ours
                .iter()
                .any(|command| line.starts_with(&format!("{command}file=")));
        assert!(
            is_ours || !line.trim_start().starts_with("::"),
            "{what}: {line:?}"
        );
        for (at, _) in line.match_indices("##") {
            let behind = line[at + 2..].trim_start_matches(|c: char| c.is_ascii_alphabetic());
            assert!(!behind.starts_with('['), "{what}: {line:?}");
        }
    }
}

proptest! {
    #![proptest_config(cases(6))]

    #[test]
    fn no_outside_text_controls_a_terminal_or_a_ci_host(
        texts in proptest::collection::vec(hostile(), 12),
    ) {
        let [title, reason, comment, limit, used, part, word, file, place, key, value, unit] =
            <[String; 12]>::try_from(texts).unwrap();
        let quoted = |text: &str| text.replace('"', "'");
        let spec = format!(
            "use \"{}\"\n# {comment}\npart slave {part} {{ bore = 7/8 in }} # {comment}\n{}system s \"{}\" from sound {{\n    \
             require pedal_effort <= 1 N \"{}\"\n    allow heavy-pedal \"{}\"\n    slvae {{ bore = 1 {unit} }}\n}}\n\
             system t \"{}\" from sound {{\n    choose slave {part}\n    require release_margin >= 90 mm \"{}\"\n}}\n{word}\n",
            quoted(&used), faulty(), quoted(&title), quoted(&limit), quoted(&reason),
            quoted(&title), quoted(&limit),
        );
        let tame = format!("{}system u \"{}\" from sound {{ }}\n", SOUND, quoted(&title));
        let file = format!("{}.clutch", as_name(&file));
        let place = as_name(&place);
        let folder = folder(&[
            (&file, &spec),
            (&format!("{place}/{file}"), &tame),
            ("plain.clutch", SOUND),
            ("bitepoint.toml", &format!("# {comment}\nlibrary = [\"{}\"]\n[limits]\n\"{}\" = \"{}\"\n",
                quoted(&value).escape_default(), quoted(&key).escape_default(), quoted(&value).escape_default())),
        ]);
        for arguments in [&["init", "--quiet"][..], &["add", "--all"],
            &["-c", "user.name=a", "-c", "user.email=a@example.org", "commit", "--quiet", "-m", "a"]] {
            let done = Command::new("git").args(arguments).current_dir(folder.path()).output().unwrap();
            prop_assert!(done.status.success(), "{done:?}");
        }
        std::fs::write(folder.path().join(&file), spec.replace("28 mm", "29 mm")).unwrap();
        let inner = format!("{place}/{file}");
        let (file, inner) = (&*file, &*inner);
        let missing = format!("{place}.no");
        for arguments in [
            &["check"][..],
            &["check", "--format", "json"],
            &["check", "--format", "sarif"],
            &["check", "--format", "junit"],
            &["check", "--format", "annotations"],
            &["check", &missing, file, "--format", "annotations"],
            &["check", &missing, file, "--format", "junit"],
            &["check", "--baseline", &missing],
            &["check", "--config", &missing],
            &["check", "--baseline", &place],
            &["calc", file],
            &["calc", inner],
            &["calc", inner, "--format", "json"],
            &["calc", inner, &word],
            &["calc", inner, "--curve", "--points", "2"],
            &["calc", inner, &format!("--at={word}")],
            &["calc", inner, "sound", &format!("--pick=slave={word}")],
            &["diagnose", file],
            &["diagnose", inner, "--format", "json"],
            &["diagnose", inner, "--format", "md"],
            &["diagnose", inner, &word, "--reading", "frees=no"],
            &["diagnose", inner, "sound", "--reading", "slave_travel=9 mm"],
            &["diagnose", inner, "sound", "--reading", "slave_travel=9 mm", "--format", "md"],
            &["diagnose", inner, "--reading", &word],
            &["diagnose", inner, "--reading", &format!("slave_travel={word}")],
            &["diagnose", inner, "--reading", &format!("{word}=9 mm")],
            &["sheet", inner],
            &["sheet", inner, "--format", "md"],
            &["sheet", file],
            &["sheet", inner, "--output", &format!("{missing}/x")],
            &["size", inner, "u", "--vary", "master.bore=19mm"],
            &["size", inner, "u", "--vary", "master.bore=19mm", "--format", "json"],
            &["size", inner, "u", &format!("--vary={word}")],
            &["size", file],
            &["size", inner],
            &["fmt", "--check"],
            &["explain", &word],
            &["compare", inner, file],
            &["compare", "--from", "HEAD"],
            &["compare", "--from", "HEAD", "--format", "markdown"],
            &["compare", "--from", "HEAD", "--format", "json"],
            &["compare", &place, "--from", &word],
            &["compare", &missing, "--from", "HEAD"],
            &["compare", inner, "plain.clutch", "--systems", &word, &word],
            &["new", "hydraulic", file],
            &["new", "hydraulic", &format!("{missing}.new")],
            &["completions", &word],
            &["man", &missing],
            &[&word],
        ] {
            let run = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
                .args(arguments)
                .current_dir(folder.path())
                .stdin(Stdio::null())
                .output()
                .unwrap();
            let out = String::from_utf8(run.stdout).unwrap();
            let err = String::from_utf8(run.stderr).unwrap();
            let what = format!("{arguments:?}");
            prop_assert!(run.status.code().is_some_and(|code| code <= 2), "{what}: {err}");
            is_inert(&out, arguments.contains(&"annotations"), &what);
            is_inert(&err, false, &what);
            if arguments.contains(&"json") && !out.is_empty() {
                let found: Value = serde_json::from_str(&out).unwrap();
                // A machine has the names as they are.
                if arguments[0] == "check" {
                    let files = found["files"].as_array().unwrap();
                    prop_assert!(files.contains(&Value::from(file)), "{files:?}");
                }
            }
        }
    }
}
