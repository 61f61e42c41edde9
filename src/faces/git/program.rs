//! Runs the `git` program so that nothing that a repository names runs with it.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Git's full hash for a revision.
pub(super) fn commit(folder: &Path, revision: &str) -> Result<String, String> {
    let unknown = || {
        format!(
            "git knows no revision `{revision}` here{}",
            depth_hint(folder)
        )
    };
    // Git takes text that begins with a dash for an option; no revision begins with one.
    if revision.is_empty() || revision.starts_with('-') || revision.contains('\0') {
        return Err(unknown());
    }
    let hash_of = |name: &str| ask(folder, &["rev-parse", "--verify", "--quiet", name]);
    let hash = hash_of(&format!("{revision}^{{commit}}")).map_err(|_| match hash_of(revision) {
        // Any full hash counts as a name, even of an object that is not here.
        Ok(hash) if hash.trim() != revision => format!(
            "`{revision}` names the object {}, which is no commit or is not here{}",
            hash.trim(),
            depth_hint(folder)
        ),
        _ => unknown(),
    })?;
    let hash = hash.trim();
    let is_hash = hash.len() >= 40 && hash.bytes().all(|b| b.is_ascii_hexdigit());
    if is_hash {
        Ok(hash.to_owned())
    } else {
        Err(unknown())
    }
}

/// A hint for an unknown revision in a shallow clone, which has only the end of the history.
fn depth_hint(folder: &Path) -> &'static str {
    let is_shallow = ask(folder, &["rev-parse", "--is-shallow-repository"]);
    match is_shallow.is_ok_and(|answer| answer.trim() == "true") {
        true => {
            "; this clone holds only the end of the history: `git fetch --unshallow` gets the \
             rest, in CI a checkout with `fetch-depth: 0`"
        }
        false => "",
    }
}

/// The commit that is checked out in a folder's own repository.
pub fn checked_out(folder: &Path) -> Option<String> {
    commit(folder, "HEAD").ok()
}

/// The folder that a path is or is in. If folders above it are gone, it is the nearest one that exists.
pub(super) fn standing_folder(path: &Path) -> PathBuf {
    let folder = path.ancestors().find(|folder| folder.is_dir());
    match folder {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

pub(super) const NO_GIT: &str =
    "comparing revisions needs the `git` program, which is not on the path";

/// Why git gave no answer.
pub(super) enum Refused {
    NoGit,
    /// Its message, on one line.
    Said(String),
}

/// Repository settings that name programs, turned off. In all known versions the commands used here ask for none of
/// them; a later version may.
const OFF: &[&str] = &[
    "core.fsmonitor=false",
    "core.hooksPath=/dev/null",
    "core.sshCommand=false",
    "core.gitProxy=",
    "core.askPass=",
    "credential.helper=",
    "core.alternateRefsCommand=false",
];

/// Git in a folder. The repository is the one around the folder, whatever the environment says, and no password is
/// asked for.
pub(super) fn git(folder: &Path, arguments: &[&str]) -> Command {
    let mut git = Command::new("git");
    git.arg("-C").arg(folder).arg("--no-pager");
    for setting in OFF {
        git.args(["-c", setting]);
    }
    git.args(arguments)
        .env_remove("GIT_DIR")
        .env_remove("GIT_WORK_TREE")
        .env_remove("GIT_PREFIX")
        // A missing object is not fetched, since the remote's settings may name programs. Git before 2.45 does not
        // know the first variable; for it no protocol is left for fetching.
        .env("GIT_NO_LAZY_FETCH", "1")
        .env("GIT_ALLOW_PROTOCOL", "none")
        // Reads what the commit really holds; a replacement object could hide it.
        .env("GIT_NO_REPLACE_OBJECTS", "1")
        .env("GIT_TERMINAL_PROMPT", "0")
        .env("GIT_OPTIONAL_LOCKS", "0")
        .env("LC_ALL", "C")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    git
}

/// What git prints.
pub(super) fn ask(folder: &Path, arguments: &[&str]) -> Result<String, Refused> {
    let output = git(folder, arguments)
        .output()
        .map_err(|error| match error.kind() {
            ErrorKind::NotFound => Refused::NoGit,
            _ => Refused::Said(error.to_string()),
        })?;
    if output.status.success() {
        return Ok(String::from_utf8_lossy(&output.stdout).into_owned());
    }
    let said = String::from_utf8_lossy(&output.stderr);
    let first = said.lines().next().unwrap_or_default();
    Err(Refused::Said(
        first.trim_start_matches("fatal: ").to_owned(),
    ))
}
