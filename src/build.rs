//! The version that the program prints: the package's, and in a release build the commit that it was built from.
//!
//! Other builds do not ask git for the commit, as each commit would then build the whole crate again.

use std::path::Path;
use std::process::Command;
use std::{env, fs};

fn main() {
    println!("cargo::rerun-if-changed=src");
    let version = env::var("CARGO_PKG_VERSION").unwrap_or_default();
    let release = env::var("PROFILE").is_ok_and(|profile| profile == "release");
    let version = match release.then(commit).flatten() {
        Some(commit) => format!("{version} ({commit})"),
        None => version,
    };
    println!("cargo::rustc-env=BITEPOINT_VERSION={version}");
}

/// The commit of a published package or of a clone, in nine digits, which are enough to find it.
fn commit() -> Option<String> {
    let here = env::var("CARGO_MANIFEST_DIR").ok()?;
    published(Path::new(&here)).or_else(|| cloned(Path::new(&here)))
}

fn published(here: &Path) -> Option<String> {
    let text = fs::read_to_string(here.join(".cargo_vcs_info.json")).ok()?;
    let (_, rest) = text.split_once("\"sha1\": \"")?;
    Some(rest.get(..9)?.to_owned())
}

fn cloned(here: &Path) -> Option<String> {
    let git = |arguments: &[&str]| {
        let told = Command::new("git")
            .current_dir(here)
            .args(arguments)
            .output();
        let told = told.ok().filter(|told| told.status.success())?;
        Some(String::from_utf8(told.stdout).ok()?.trim().to_owned())
    };
    // A copy inside another project must not take that project's commit.
    let top = fs::canonicalize(git(&["rev-parse", "--show-toplevel"])?).ok()?;
    if top != fs::canonicalize(here).ok()? {
        return None;
    }
    // This log grows by a line with each commit and each change of branch.
    let log = git(&["rev-parse", "--git-path", "logs/HEAD"])?;
    println!("cargo::rerun-if-changed={log}");
    let commit = git(&["rev-parse", "--short=9", "HEAD"])?;
    let clean = git(&["status", "--porcelain", "--untracked-files=no"])?.is_empty();
    Some(if clean { commit } else { commit + ", modified" })
}
