//! What the real program writes: a file has either its old text or the whole new one, and no output ever replaces an
//! input.
#![cfg(unix)]

mod common;

use bitepoint::syntax::{self, MAX_FILE_BYTES};
use common::{SOUND, bitepoint, folder};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs::{self, Permissions};
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown, symlink};
use std::os::unix::process::{CommandExt, ExitStatusExt};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::Instant;

const PROGRAM: &str = env!("CARGO_BIN_EXE_bitepoint");

/// How many runs are killed, unless `BITEPOINT_KILLS` says otherwise.
const KILLS: u32 = 12;

/// A user who is not root and owns nothing.
const NOBODY: u32 = 65_534;

/// A spec of some systems that is not in canonical form.
fn untidy(systems: u32) -> String {
    let mut text = String::new();
    for number in 0..systems {
        let system = SOUND
            .replace("sound", &format!("s{number}"))
            .replace("    ", " ");
        writeln!(text, "{system}").unwrap();
    }
    text
}

fn tidy(text: &str) -> String {
    let formatted = syntax::format(text, &syntax::parse(text)).unwrap();
    assert_ne!(formatted, text);
    formatted
}

/// Every file of a folder with its text.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
    entries
        .map(|entry| {
            let name = entry.file_name().into_string().unwrap();
            (name, fs::read(entry.path()).unwrap_or_default())
        })
        .collect()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_owned()).unwrap()
}

/// Runs a line of shell in a folder; `$0` is the program.
fn shell(folder: &Path, line: &str) -> Output {
    Command::new("sh")
        .args(["-c", line, PROGRAM])
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

/// A shell in which no file may grow beyond some blocks of 512 bytes. Writing more is an error, as on a disk that is
/// almost full.
fn shell_with_room_for(blocks: u32, folder: &Path, line: &str) -> Output {
    shell(folder, &format!("trap '' XFSZ; ulimit -f {blocks}; {line}"))
}

/// Runs the program in a folder as a user who is not root and who owns the files in it.
fn as_nobody(folder: &Path, arguments: &[&str]) -> Output {
    let is_root = fs::metadata(folder).unwrap().uid() == 0;
    let place = tempfile::tempdir().unwrap();
    let mut command = match is_root {
        false => Command::new(PROGRAM),
        true => {
            let give = |path: &Path| chown(path, Some(NOBODY), Some(NOBODY)).unwrap();
            give(folder);
            for entry in fs::read_dir(folder).unwrap() {
                give(&entry.unwrap().path());
            }
            // The program's own folder may be closed to others.
            fs::set_permissions(place.path(), Permissions::from_mode(0o755)).unwrap();
            let program = place.path().join("bitepoint");
            fs::copy(PROGRAM, &program).unwrap();
            let mut command = Command::new(program);
            command.uid(NOBODY).gid(NOBODY);
            command
        }
    };
    command
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

#[test]
fn a_disk_without_room_leaves_every_file_whole_and_the_rest_is_done() {
    let (small, large) = (untidy(1), untidy(120));
    let specs = [
        ("a.clutch", &*small),
        ("b.clutch", &large),
        ("c.clutch", &small),
    ];
    let folder = folder(&specs);
    let output = shell_with_room_for(8, folder.path(), "exec $0 fmt");
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("`b.clutch` cannot be written"), "{said}");
    assert!(
        !said.contains("a.clutch") && !said.contains("c.clutch"),
        "{said}"
    );
    let wanted = [
        ("a.clutch", tidy(&small)),
        ("b.clutch", large),
        ("c.clutch", tidy(&small)),
    ];
    let wanted = wanted.map(|(name, text)| (name.to_owned(), text.into_bytes()));
    assert!(files(folder.path()) == BTreeMap::from(wanted));
}

#[test]
fn a_disk_without_room_leaves_every_output_as_it_was() {
    let many = untidy(40);
    let folder = folder(&[("many.clutch", &*many), ("old", "what was there\n")]);
    for line in [
        "$0 check many.clutch --format json --output old",
        "$0 check many.clutch --format sarif --output new",
        "$0 check many.clutch --baseline old --write-baseline",
        "$0 sheet many.clutch --output old",
        "$0 sheet many.clutch --output new",
        "$0 new hydraulic old --force",
        "$0 new hydraulic new",
        "$0 man .",
    ] {
        let before = files(folder.path());
        // A baseline without a finding is short.
        let room = u32::from(!line.contains("baseline"));
        let output = shell_with_room_for(room, folder.path(), line);
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{line}: {said}");
        assert!(said.contains("cannot be written"), "{line}: {said}");
        assert!(files(folder.path()) == before, "{line}");
    }
}

#[test]
fn a_run_that_is_killed_in_the_middle_of_a_write_leaves_the_file_whole() {
    let old = untidy(60);
    for blocks in [0, 1, 2, 7, 20] {
        let folder = folder(&[("a.clutch", &*old)]);
        // The signal that comes with the write which is one too many ends the program.
        let output = shell(folder.path(), &format!("ulimit -f {blocks}; exec $0 fmt"));
        assert!(output.status.signal().is_some(), "{output:?}");
        let left = files(folder.path());
        assert!(left["a.clutch"] == old.as_bytes(), "{blocks} blocks");
        // What was left behind is no spec.
        let (status, out, _) = bitepoint(folder.path(), &["check"]);
        assert_eq!(status, 0, "{out}");
        assert!(out.contains("60 systems in 1 file:"), "{out}");
    }
}

#[test]
fn runs_that_are_killed_at_any_moment_leave_every_file_old_or_new() {
    let kills = std::env::var("BITEPOINT_KILLS").map_or(KILLS, |count| count.parse().unwrap());
    let old = untidy(150);
    let new = tidy(&old).into_bytes();
    let names = ["a", "b", "c", "d", "e", "f"].map(|name| format!("{name}.clutch"));
    let folder = folder(&names.each_ref().map(|name| (&**name, &*old)));
    let run = || {
        Command::new(PROGRAM)
            .arg("fmt")
            .current_dir(folder.path())
            .spawn()
            .unwrap()
    };
    let begun = Instant::now();
    assert!(run().wait().unwrap().success());
    let whole = begun.elapsed();
    let (mut early, mut late) = (0, 0);
    for _ in 0..kills {
        for name in &names {
            fs::write(folder.path().join(name), &old).unwrap();
        }
        let mut child = run();
        std::thread::sleep(whole.mul_f64(1.1 * rand::random::<f64>()));
        child.kill().unwrap();
        child.wait().unwrap();
        for name in &names {
            let now = fs::read(folder.path().join(name)).unwrap();
            match now == new {
                true => late += 1,
                false => early += 1,
            }
            assert!(
                now == new || now == old.as_bytes(),
                "{name}: {} bytes",
                now.len()
            );
        }
    }
    println!("{kills} runs killed: {late} files were new, {early} old, all whole");
}

#[test]
fn permissions_and_owner_are_kept() {
    let folder = folder(&[("a.clutch", &*untidy(1)), ("page.html", "")]);
    let path = |name: &str| folder.path().join(name);
    let is_root = fs::metadata(folder.path()).unwrap().uid() == 0;
    for (name, mode) in [("a.clutch", 0o640), ("page.html", 0o604)] {
        if is_root {
            chown(path(name), Some(12_345), Some(54_321)).unwrap();
        }
        fs::set_permissions(path(name), Permissions::from_mode(mode)).unwrap();
    }
    let before = ["a.clutch", "page.html"].map(|name| fs::metadata(path(name)).unwrap());
    assert_eq!(bitepoint(folder.path(), &["fmt"]).0, 0);
    assert_eq!(
        bitepoint(folder.path(), &["sheet", "a.clutch", "-o", "page.html"]).0,
        0
    );
    for (name, before) in ["a.clutch", "page.html"].into_iter().zip(before) {
        let after = fs::metadata(path(name)).unwrap();
        assert_ne!(after.ino(), before.ino(), "{name} was not written");
        let of = |data: &fs::Metadata| (data.mode(), data.uid(), data.gid());
        assert_eq!(of(&after), of(&before), "{name}");
    }
    // A new file is as open as the user's mask has it.
    let line = "umask 027; exec $0 sheet a.clutch -o new.html";
    assert!(shell(folder.path(), line).status.success());
    assert_eq!(
        fs::metadata(path("new.html")).unwrap().mode() & 0o777,
        0o640
    );
}

#[test]
fn links_are_kept() {
    let old = untidy(1);
    let folder = folder(&[("store/real.clutch", &*old), ("store/page", "old page")]);
    let path = |name: &str| folder.path().join(name);
    symlink("store/real.clutch", path("one.clutch")).unwrap();
    symlink("one.clutch", path("two.clutch")).unwrap();
    symlink("store/new page.html", path("nowhere.html")).unwrap();
    symlink("store/page", path("page.html")).unwrap();
    assert_eq!(bitepoint(folder.path(), &["fmt", "two.clutch"]).0, 0);
    assert_eq!(
        fs::read_to_string(path("store/real.clutch")).unwrap(),
        tidy(&old)
    );
    for page in ["page.html", "nowhere.html"] {
        assert_eq!(
            bitepoint(folder.path(), &["sheet", "one.clutch", "-o", page]).0,
            0
        );
    }
    for page in ["store/page", "store/new page.html"] {
        assert!(
            fs::read_to_string(path(page))
                .unwrap()
                .starts_with("<!DOCTYPE html>"),
            "{page}"
        );
    }
    for link in ["one.clutch", "two.clutch", "nowhere.html", "page.html"] {
        assert!(path(link).is_symlink(), "{link}");
    }
    assert_eq!(files(&path("store")).len(), 3);
    // A circle of links is no place to write to.
    symlink("round.html", path("round.html")).unwrap();
    let (status, _, said) = bitepoint(folder.path(), &["sheet", "one.clutch", "-o", "round.html"]);
    assert_eq!(status, 2, "{said}");
}

#[test]
fn the_other_name_of_a_file_keeps_its_old_text_and_that_is_reported() {
    let old = untidy(1);
    let folder = folder(&[("a.clutch", &*old)]);
    let path = |name: &str| folder.path().join(name);
    fs::hard_link(path("a.clutch"), path("backup")).unwrap();
    let (status, _, said) = bitepoint(folder.path(), &["fmt"]);
    assert_eq!(status, 0);
    assert!(said.contains("`a.clutch` had another name"), "{said}");
    assert_eq!(fs::read_to_string(path("a.clutch")).unwrap(), tidy(&old));
    assert_eq!(fs::read_to_string(path("backup")).unwrap(), old);
}

#[test]
fn a_file_that_may_not_be_written_is_named_and_the_others_are_done() {
    let old = untidy(1);
    let folder = folder(&[("a.clutch", &*old), ("b.clutch", &old), ("c.clutch", &old)]);
    let path = folder.path().join("b.clutch");
    fs::set_permissions(path, Permissions::from_mode(0o444)).unwrap();
    let output = as_nobody(folder.path(), &["fmt"]);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("`b.clutch` may not be written"), "{said}");
    let new = tidy(&old);
    let wanted = [("a.clutch", &new), ("b.clutch", &old), ("c.clutch", &new)];
    let wanted = wanted.map(|(name, text)| (name.to_owned(), text.clone().into_bytes()));
    assert_eq!(files(folder.path()), BTreeMap::from(wanted));
}

#[test]
fn a_file_that_may_not_be_read_is_named_and_the_others_are_done() {
    let old = untidy(1);
    let folder = folder(&[("a.clutch", &*old), ("b.clutch", &old), ("c.clutch", &old)]);
    let path = folder.path().join("b.clutch");
    fs::set_permissions(path, Permissions::from_mode(0o200)).unwrap();
    let output = as_nobody(folder.path(), &["fmt"]);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("`b.clutch` may not be read"), "{said}");
    assert_eq!(files(folder.path())["c.clutch"], tidy(&old).into_bytes());
}

#[test]
fn a_folder_that_may_not_be_written_is_reported() {
    let old = untidy(1);
    let folder = folder(&[("a.clutch", &*old)]);
    fs::set_permissions(folder.path(), Permissions::from_mode(0o555)).unwrap();
    let output = as_nobody(folder.path(), &["fmt"]);
    fs::set_permissions(folder.path(), Permissions::from_mode(0o755)).unwrap();
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("its folder may not be written"), "{said}");
    assert_eq!(files(folder.path())["a.clutch"], old.into_bytes());
}

#[test]
fn nothing_is_formatted_into_a_file_that_is_too_large_to_be_read() {
    // Comments are the quickest to read.
    let mut old = String::new();
    while old.len() + 2_000 < MAX_FILE_BYTES {
        writeln!(old, "# {:0900}", old.len()).unwrap();
    }
    while old.len() + 20 < MAX_FILE_BYTES {
        writeln!(old, "let a{}=1mm", old.len()).unwrap();
    }
    let folder = folder(&[("large.clutch", &*old), ("small.clutch", &untidy(1))]);
    for arguments in [&["fmt"][..], &["fmt", "--check"]] {
        let (status, _, said) = bitepoint(folder.path(), arguments);
        assert_eq!(status, 2, "{said}");
        assert!(
            said.contains("`large.clutch` would be too large to be read again"),
            "{said}"
        );
        assert!(files(folder.path())["large.clutch"] == old.as_bytes());
    }
    assert_eq!(
        files(folder.path())["small.clutch"],
        tidy(&untidy(1)).into_bytes()
    );
    let output = shell(folder.path(), "exec $0 fmt - < large.clutch");
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout == old.as_bytes(), "what came in is lost");
}

#[test]
fn a_stream_is_written_to_directly() {
    let folder = folder(&[("a.clutch", SOUND)]);
    let sheet = bitepoint(folder.path(), &["sheet", "a.clutch"]).1;
    let lines = [
        "$0 sheet a.clutch -o /dev/stdout",
        "$0 sheet a.clutch -o /dev/stdout | cat",
        "$0 sheet a.clutch -o /dev/fd/3 3>&1",
        "$0 sheet a.clutch -o /proc/self/fd/1 > page; cat page",
        "$0 sheet a.clutch -o /dev/stderr 2>&1",
        "mkfifo pipe; cat pipe & $0 sheet a.clutch -o pipe; wait; test -p pipe",
        "$0 sheet a.clutch -o /dev/null; $0 sheet a.clutch",
    ];
    for line in lines {
        let output = shell(folder.path(), line);
        assert!(output.status.success(), "{line}: {output:?}");
        assert!(text(&output.stdout) == sheet, "{line}");
    }
    // What stands in the file already, and what comes behind, are kept.
    let line = "{ echo before; $0 sheet a.clutch -o /dev/stdout; echo behind; } > page";
    assert!(shell(folder.path(), line).status.success());
    let page = fs::read_to_string(folder.path().join("page")).unwrap();
    assert!(page == format!("before\n{sheet}behind\n"));
    let (status, _, said) = bitepoint(folder.path(), &["sheet", "a.clutch", "-o", "."]);
    assert_eq!(status, 2);
    assert!(said.contains("`.` is a folder"), "{said}");
    let (status, _, said) = bitepoint(folder.path(), &["sheet", "a.clutch", "-o", "no/page"]);
    assert_eq!(status, 2);
    assert!(
        said.contains("`no/page` cannot be written: there is no folder `no`"),
        "{said}"
    );
}

#[test]
fn no_output_replaces_a_spec_or_settings_or_anything_that_was_read() {
    let place = folder(&[
        ("a.clutch", &*format!("let spare = 1 mm\n{}", untidy(1))),
        ("b.clutch", &format!("use \"parts.clutch\"\n{SOUND}")),
        (
            "parts.clutch",
            "part slave none { bore = 1 in  stroke = 30 mm }\n",
        ),
        ("plain", SOUND),
        ("bitepoint.toml", "library = []\n"),
        ("other.toml", "library = []\n"),
        ("known.json", ""),
        ("note.txt", ""),
    ]);
    let path = |name: &str| place.path().join(name);
    let made = bitepoint(
        place.path(),
        &["check", "--baseline", "known.json", "--write-baseline"],
    );
    assert_eq!(made.0, 0, "{made:?}");
    symlink("parts.clutch", path("link.json")).unwrap();
    symlink("gone.clutch", path("nowhere.json")).unwrap();
    fs::hard_link(path("parts.clutch"), path("hard.json")).unwrap();
    fs::hard_link(path("bitepoint.toml"), path("settings.json")).unwrap();
    let before = files(place.path());
    let absolute = path("plain");
    for arguments in [
        &["check", "--output", "a.clutch", "b.clutch"][..],
        &[
            "check",
            "b.clutch",
            "--format",
            "json",
            "--output",
            "new.clutch",
        ],
        &["check", "b.clutch", "--output", "./NEW.Clutch"],
        &["check", "b.clutch", "--output", "bitepoint.toml"],
        &[
            "check",
            "b.clutch",
            "--no-config",
            "--output",
            "deep/Bitepoint.toml",
        ],
        &["check", "b.clutch", "--output", "link.json"],
        &["check", "b.clutch", "--output", "nowhere.json"],
        &["check", "b.clutch", "--output", "hard.json"],
        &["check", "b.clutch", "--output", "settings.json"],
        &[
            "check",
            "b.clutch",
            "--config",
            "other.toml",
            "--output",
            "./other.toml",
        ],
        &[
            "check",
            "b.clutch",
            "--baseline",
            "known.json",
            "--output",
            "./known.json",
        ],
        &[
            "check",
            "a.clutch",
            "--baseline",
            "b.clutch",
            "--write-baseline",
        ],
        &[
            "check",
            "a.clutch",
            "--baseline",
            "hard.clutch",
            "--write-baseline",
        ],
        &[
            "check",
            "b.clutch",
            "--baseline",
            "hard.json",
            "--write-baseline",
        ],
        &[
            "check",
            "b.clutch",
            "--baseline",
            "k",
            "--write-baseline",
            "--output",
            "./k",
        ],
        &["check", "plain", "--output", "plain"],
        &["sheet", "plain", "-o", "plain"],
        &["sheet", "plain", "-o", "./plain"],
        &["sheet", "plain", "-o", absolute.to_str().unwrap()],
        &["sheet", "a.clutch", "-o", "parts.clutch"],
        &["sheet", "b.clutch", "-o", "hard.json"],
        &["sheet", "a.clutch", "-o", "bitepoint.toml"],
        &["new", "hydraulic", "bitepoint.toml", "--force"],
        &["new", "hydraulic", "deep.toml/bitepoint.toml"],
        &["fmt", "bitepoint.toml"],
    ] {
        let (status, out, said) = bitepoint(place.path(), arguments);
        assert_eq!(status, 2, "{arguments:?}: {out}{said}");
        assert_eq!(out, "", "{arguments:?}");
        let named = [
            "is a spec",
            "is read in this run",
            "is a file of settings",
            "both",
        ];
        assert!(
            named.iter().any(|words| said.contains(words)),
            "{arguments:?}: {said}"
        );
        assert!(files(place.path()) == before, "{arguments:?}");
    }
    // Anything else is written, whatever it is called.
    for arguments in [
        &["check", "b.clutch", "--output", "note.txt"][..],
        &["sheet", "b.clutch", "-o", "clutch"],
        &["new", "hydraulic", "a.clutch", "--force"],
    ] {
        let (status, _, said) = bitepoint(place.path(), arguments);
        assert_eq!(status, 0, "{arguments:?}: {said}");
    }
}

#[test]
fn a_file_that_cannot_be_written_back_is_not_formatted() {
    let folder = folder(&[("a.clutch", &*untidy(1))]);
    let output = shell(folder.path(), "mkfifo pipe; exec $0 fmt pipe");
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    let said = text(&output.stderr);
    assert!(said.contains("`pipe` is not a regular file"), "{said}");
}

#[test]
fn the_manual_pages_are_whole() {
    let place = folder(&[]);
    assert_eq!(bitepoint(place.path(), &["man", "."]).0, 0);
    let pages: Vec<PathBuf> = files(place.path()).keys().map(PathBuf::from).collect();
    assert!(pages.contains(&PathBuf::from("bitepoint.1")), "{pages:?}");
    assert!(
        pages.contains(&PathBuf::from("bitepoint-check.1")),
        "{pages:?}"
    );
    let (status, _, said) = bitepoint(place.path(), &["man", "nowhere"]);
    assert_eq!(status, 2);
    assert!(said.contains("there is no folder `nowhere`"), "{said}");
}
