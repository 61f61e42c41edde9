//! Which files the real program reads. A spec uses specs of its own project and of the libraries in its settings, and
//! no other text is ever shown.
#![cfg(unix)]

mod common;

use common::{SOUND, bitepoint, cases, folder};
use proptest::prelude::*;
use serde_json::Value;
use std::fs;
use std::io::Read;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// The text in every file that must not be read.
const SECRET: &str = "TOPSECRET";

/// How long a run may take before it counts as hanging.
const PATIENCE: Duration = Duration::from_secs(60);

const FORMATS: [&str; 5] = ["text", "json", "sarif", "junit", "annotations"];

/// The whole output of a run, on both streams; a run that hangs fails.
#[track_caller]
fn all_output(folder: &Path, arguments: &[&str]) -> String {
    let mut child = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let (mut out, mut err) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
    let read = std::thread::spawn(move || {
        let mut bytes = Vec::new();
        out.read_to_end(&mut bytes).unwrap();
        err.read_to_end(&mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    });
    let begun = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if begun.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("{arguments:?} hangs");
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    read.join().unwrap()
}

/// A project, and files beside it.
fn place() -> tempfile::TempDir {
    let secret = format!("{SECRET} {SECRET}\npart slave {SECRET} {{ bore = {SECRET} }}\n");
    let place = folder(&[
        ("project/bitepoint.toml", ""),
        ("project/notes.txt", &secret),
        (
            "project/deep/inner.clutch",
            "use \"../../outside/secret.clutch\"\n",
        ),
        ("outside/token", &secret),
        ("outside/secret.clutch", &secret),
        ("outside/bitepoint.toml", &secret),
    ]);
    let project = place.path().join("project");
    symlink("../outside/secret.clutch", project.join("link.clutch")).unwrap();
    symlink("../outside/token", project.join("token.clutch")).unwrap();
    symlink("../outside", project.join("out")).unwrap();
    symlink("notes.txt", project.join("notes.clutch")).unwrap();
    let made = Command::new("mkfifo")
        .arg(project.join("pipe.clutch"))
        .status();
    assert!(made.unwrap().success());
    place
}

/// The errors that a check finds, as JSON.
fn found(folder: &Path, arguments: &[&str]) -> Vec<Value> {
    let arguments = [&["check", "--format", "json"], arguments].concat();
    let (_, out, said) = bitepoint(folder, &arguments);
    let found: Value = serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out}{said}"));
    let mut found = found["findings"].as_array().unwrap().clone();
    found.retain(|finding| finding["severity"] == "error");
    found
}

/// The names of the checks that find something.
fn checks(folder: &Path, arguments: &[&str]) -> Vec<String> {
    let found = found(folder, arguments);
    let check = |finding: &Value| finding["check"].as_str().unwrap().to_owned();
    found.iter().map(check).collect()
}

#[test]
fn files_that_may_not_be_read_are_refused_and_never_shown() {
    let place = place();
    let project = place.path().join("project");
    let absolute = place.path().join("outside/token");
    let absolute = absolute.to_str().unwrap();
    let uses = [
        (absolute, "is outside the project"),
        ("../outside/token", "is outside the project"),
        ("../outside/secret.clutch", "is outside the project"),
        ("../outside/there-is-none.clutch", "is outside the project"),
        ("../outside/bitepoint.toml", "is outside the project"),
        ("/dev/stdout", "is outside the project"),
        ("/dev/stdin", "is outside the project"),
        ("/dev/zero", "is outside the project"),
        ("/proc/self/environ", "is outside the project"),
        ("link.clutch", "is a link that leads outside the project"),
        ("token.clutch", "is a link that leads outside the project"),
        (
            "out/secret.clutch",
            "is a link that leads outside the project",
        ),
        ("notes.txt", "is not a spec"),
        ("bitepoint.toml", "is not a spec"),
        ("notes.clutch", "leads to a file that is not a spec"),
        ("pipe.clutch", "is not a regular file"),
        ("deep", "is a folder"),
        ("deep/inner.clutch", "has a mistake on line 1"),
        ("there-is-none.clutch", "does not exist"),
    ];
    for (path, why) in uses {
        let text = format!("use \"{path}\"\n{SOUND}");
        fs::write(project.join("car.clutch"), text).unwrap();
        let found = found(&project, &["car.clutch"]);
        let [finding] = found.as_slice() else {
            panic!("{path}: {found:#?}");
        };
        assert_eq!(finding["check"], "use-missing", "{path}");
        assert_eq!(finding["start"]["line"], 1, "{path}");
        let message = finding["message"].as_str().unwrap();
        assert!(message.contains(why), "{path}: {message}");
        let is_refused = why.contains("outside");
        let help = finding["help"].as_str().unwrap_or_default();
        assert_eq!(
            help.contains("project folder"),
            is_refused,
            "{path}: {help}"
        );
        assert_eq!(help.contains("`library`"), is_refused, "{path}: {help}");
        for format in FORMATS {
            let out = all_output(&project, &["check", "car.clutch", "--format", format]);
            assert!(!out.contains(SECRET), "{path}: {out}");
        }
        for verb in ["calc", "sheet", "size"] {
            let out = all_output(&project, &[verb, "car.clutch"]);
            assert!(!out.contains(SECRET), "{path}: {out}");
        }
    }
}

#[test]
fn settings_that_lead_out_of_the_project_are_refused_and_never_shown() {
    let place = place();
    let project = place.path().join("project");
    let settings = project.join("bitepoint.toml");
    fs::write(project.join("car.clutch"), SOUND).unwrap();
    fs::create_dir(project.join(".git")).unwrap();
    let set = |target: &str| {
        fs::remove_file(&settings).unwrap();
        symlink(target, &settings).unwrap();
    };
    for target in [
        "../outside/bitepoint.toml",
        "../outside/token",
        "out/bitepoint.toml",
        "notes.txt",
        "pipe.clutch",
        "deep",
        "nowhere",
    ] {
        set(target);
        for format in FORMATS {
            let out = all_output(&project, &["check", "car.clutch", "--format", format]);
            assert!(!out.contains(SECRET), "{target}: {out}");
            assert!(
                out.contains("`bitepoint.toml` "),
                "{target}, {format}: {out}"
            );
        }
        let found = checks(&project, &["car.clutch"]);
        assert_eq!(found, ["wrong-setting"], "{target}");
    }
    // Within the project a link is as good as a file.
    fs::write(project.join("deep/strict.toml"), "[severities]\nodd = 1\n").unwrap();
    set("deep/strict.toml");
    let out = all_output(&project, &["check", "car.clutch"]);
    assert!(out.contains("odd"), "{out}");
}

#[test]
fn a_project_is_read_from_everywhere_in_it() {
    const VAN: &str = "kits/vans/car.clutch";
    let line = SOUND.lines().find(|line| line.contains("slave {")).unwrap();
    let parts = format!("part{line}\n").replace("slave", "slave mine");
    let car = |path: &str| {
        let body = SOUND.replace(line, "    slave mine");
        format!("use \"{path}\"\n{body}")
    };
    let near = car("../parts/slaves.clutch");
    let far = car("slaves.clutch");
    let place = folder(&[
        ("work/kits/vans/car.clutch", &*near.replace("../", "../../")),
        ("work/parts/slaves.clutch", &parts),
    ]);
    let path = |name: &str| place.path().join(name);
    let run = |from: &str, arguments: &[&str]| checks(&path(from), arguments);
    // Without a mark, a project is the spec's own folder, or the folder that is named.
    assert_eq!(run("work", &[VAN])[0], "use-missing");
    assert_eq!(run("work/kits", &["."])[0], "use-missing");
    assert_eq!(run("work", &["."]), [""; 0]);
    assert_eq!(run("work/kits", &["vans", "../parts"]), [""; 0]);
    // A mark makes the project larger: settings, or a repository, whichever is there.
    for mark in ["work/bitepoint.toml", "work/.git"] {
        fs::write(path(mark), "").unwrap();
        assert_eq!(run("work", &[VAN]), [""; 0], "{mark}");
        assert_eq!(run("", &[&format!("work/{VAN}")]), [""; 0], "{mark}");
        let absolute = path("work").join(VAN);
        assert_eq!(run("/", &[absolute.to_str().unwrap()]), [""; 0], "{mark}");
        fs::remove_file(path(mark)).unwrap();
    }
    // Settings of a folder's own do not cut it off from its repository.
    fs::write(path("work/.git"), "").unwrap();
    fs::write(path("work/kits/bitepoint.toml"), "").unwrap();
    assert_eq!(run("work", &[VAN]), [""; 0]);
    fs::remove_file(path("work/.git")).unwrap();
    assert_eq!(run("work", &[VAN])[0], "use-missing");
    // A library in the settings may be anywhere, and is not left by a link.
    fs::write(path("work/kits/far.clutch"), far).unwrap();
    fs::write(path("work/kits/bitepoint.toml"), "library = [\"../parts\"]").unwrap();
    assert_eq!(run("work", &["kits/far.clutch", VAN]), [""; 0]);
    fs::create_dir(path("elsewhere")).unwrap();
    fs::rename(
        path("work/parts/slaves.clutch"),
        path("elsewhere/slaves.clutch"),
    )
    .unwrap();
    symlink(
        path("elsewhere/slaves.clutch"),
        path("work/parts/slaves.clutch"),
    )
    .unwrap();
    let refused = found(&path("work"), &["kits/far.clutch"]);
    let message = refused[0]["message"].as_str().unwrap();
    assert!(
        message.contains("is a link that leads outside"),
        "{message}"
    );
}

#[test]
fn a_spec_that_is_named_is_read_wherever_it_is() {
    let place = folder(&[("here/note", ""), ("there/car.txt", SOUND)]);
    let here = place.path().join("here");
    let sound = "1 system in 1 file:";
    let out = bitepoint(&here, &["check", "../there/car.txt"]).1;
    assert!(out.contains(sound), "{out}");
    symlink("../there/car.txt", here.join("link.clutch")).unwrap();
    let out = bitepoint(&here, &["check", "link.clutch"]).1;
    assert!(out.contains(sound), "{out}");
    // A pipe is what the shell makes of `<(…)`.
    let line = "mkfifo pipe; cat ../there/car.txt > pipe & exec $0 check pipe";
    let output = Command::new("sh")
        .args(["-c", line, env!("CARGO_BIN_EXE_bitepoint")])
        .current_dir(&here)
        .output()
        .unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    assert!(out.contains(sound), "{out}");
    // A folder is searched for files, and a link is none.
    assert_eq!(bitepoint(&here, &["check", "."]).0, 2);
}

#[test]
fn a_comparison_does_not_leave_its_folders_either() {
    let van = format!("use \"../parts/x.clutch\"\n{SOUND}");
    let place = folder(&[
        ("old/kits/van.clutch", &*van),
        ("old/parts/x.clutch", "let spare = 1 mm\n"),
        ("new/kits/van.clutch", &van),
        ("new/parts/x.clutch", "let spare = 2 mm\n"),
        ("secret/x.clutch", &format!("{SECRET}\n")),
    ]);
    let compare = || all_output(place.path(), &["compare", "old", "new"]);
    let out = compare();
    assert!(!out.contains("use-missing"), "{out}");
    let parts = place.path().join("new/parts");
    let leads_out = || {
        let out = compare();
        assert!(!out.contains(SECRET), "{out}");
        assert!(out.contains("is a link that leads outside"), "{out}");
    };
    fs::remove_file(parts.join("x.clutch")).unwrap();
    symlink("../../secret/x.clutch", parts.join("x.clutch")).unwrap();
    leads_out();
    fs::remove_dir_all(&parts).unwrap();
    symlink("../secret", parts).unwrap();
    leads_out();
}

#[test]
fn a_message_about_a_use_does_not_show_the_users_home() {
    let place = folder(&[
        (
            "car.clutch",
            &*format!("use \"parts/none.clutch\"\nuse \"deep/round.clutch\"\n{SOUND}"),
        ),
        ("deep/round.clutch", "use \"../car.clutch\"\n"),
        ("bitepoint.toml", "library = [\"shelf\"]"),
    ]);
    let spec = place.path().join("car.clutch");
    let found = found(&place.path().join("deep"), &[spec.to_str().unwrap()]);
    let said: String = found
        .iter()
        .map(|f| format!("{} {}\n", f["message"].as_str().unwrap(), f["help"]))
        .collect();
    assert!(!said.contains(place.path().to_str().unwrap()), "{said}");
    assert!(
        said.contains("`../parts/none.clutch` does not exist"),
        "{said}"
    );
    assert!(said.contains("`../shelf`"), "{said}");
    assert!(
        said.contains("../car.clutch → round.clutch → ../car.clutch"),
        "{said}"
    );
}

/// A name in a tree, and a way to one.
fn way() -> impl Strategy<Value = String> {
    let step = prop::sample::select(vec!["..", "a", "b", "out", "x.clutch", "y.clutch"]);
    prop::collection::vec(step, 1..4).prop_map(|steps| steps.join("/"))
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn no_tree_of_links_shows_a_text_from_outside(
        links in prop::collection::vec((0..3_usize, 0..5_usize, 0..9_usize), 1..8),
        uses in prop::collection::vec((0..3_usize, 0..4_usize, way()), 1..8),
        library in prop::option::of(prop::sample::select(vec!["a", "a/b"])),
    ) {
        let secret = format!("{SECRET} {SECRET}\n");
        let place = folder(&[
            ("in/a/b/none", ""),
            ("outside/token", &*secret),
            ("outside/x.clutch", &secret),
            ("outside/a/y.clutch", &format!("use \"../x.clutch\"\n{secret}")),
            ("outside/bitepoint.toml", &secret),
        ]);
        let inside = place.path().join("in");
        let folders = ["", "a", "a/b"].map(|name| inside.join(name));
        let outside = place.path().join("outside");
        let targets = [
            outside.clone(),
            outside.join("token"),
            outside.join("x.clutch"),
            outside.join("a/y.clutch"),
            outside.join("bitepoint.toml"),
            "..".into(),
            "../..".into(),
            "x.clutch".into(),
            "../out".into(),
        ];
        for (folder, name, target) in links {
            let name = ["out", "x.clutch", "y.clutch", "bitepoint.toml", "b"][name];
            // A name that is taken stays what it is.
            let _ = symlink(&targets[target], folders[folder].join(name));
        }
        for (folder, name, way) in &uses {
            let name = ["car.clutch", "van.clutch", "x.clutch", "y.clutch"][*name];
            let path = folders[*folder].join(name);
            if path.is_symlink() {
                continue;
            }
            fs::write(&path, format!("use \"{way}\"\nuse \"{}/{way}\"\n{SOUND}", outside.display())).unwrap();
        }
        fs::write(inside.join("car.clutch"), SOUND).unwrap();
        let settings = inside.join("bitepoint.toml");
        if let Some(library) = library && !settings.is_symlink() {
            fs::write(settings, format!("library = [\"{library}\"]")).unwrap();
        }
        for arguments in [
            &["check", ".", "--format", "json"][..],
            &["check", "--format", "sarif"],
            &["check", "."],
            &["calc", "car.clutch"],
            &["fmt", "--check"],
            &["compare", "a", "a/b"],
        ] {
            let out = all_output(&inside, arguments);
            prop_assert!(!out.contains(SECRET), "{arguments:?}: {out}");
        }
    }
}
