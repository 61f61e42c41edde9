//! Files as they stand at a revision of a git repository, read through the `git` program.

use super::disk::{Disk, SettingsRead, bounded, lock, settings_files};
use crate::finding::FileName;
use crate::model::{Files, Source};
use crate::settings::Settings;
use crate::syntax::MAX_FILE_BYTES;
use std::collections::HashMap;
use std::io::{BufRead, BufReader, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex};

/// A revision of the repository that a folder lies in. Files go by the names that they would
/// have on the disk.
pub struct Revision {
    /// The folder in which git is asked.
    folder: PathBuf,
    /// The same folder's name, as names of files begin; its parts.
    name: Vec<String>,
    /// Where the folder stands in the repository; its parts.
    prefix: Vec<String>,
    /// The commit's full hash.
    commit: String,
    /// For settings that are not of the repository.
    disk: Disk,
    read: Mutex<HashMap<FileName, Result<Arc<Source>, String>>>,
    /// `None` where the revision has no such file.
    settings: Mutex<HashMap<FileName, Option<Arc<Settings>>>>,
}

/// What stands under a path at a revision.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Entry {
    File,
    Folder,
    Nothing,
}

impl Revision {
    /// A revision by any name that git knows it by, of the repository around a path. The path
    /// itself need not exist any more.
    ///
    /// # Errors
    /// There is no git, no repository or no such revision, as a sentence.
    pub fn new(path: &Path, revision: &str, disk: Disk) -> Result<Self, String> {
        let folder = standing_folder(path);
        let named = Disk::name(&folder);
        let prefix = ask(&folder, &["rev-parse", "--show-prefix"]).map_err(|why| match why {
            Refused::NoGit => NO_GIT.to_owned(),
            Refused::Said(said) if said.contains("not a git repository") => format!(
                "`{}` is not in a git repository, so there is no revision to compare with",
                path.display()
            ),
            Refused::Said(said) => format!("git cannot read the repository: {said}"),
        })?;
        let commit = commit(&folder, revision)?;
        let parts = |text: &str| -> Vec<String> {
            let parts = text.trim_end_matches(['\n', '\r']).split('/');
            parts
                .filter(|part| !matches!(*part, "" | "."))
                .map(str::to_owned)
                .collect()
        };
        Ok(Self {
            name: parts(&named),
            prefix: parts(&prefix),
            folder,
            commit,
            disk,
            read: Mutex::default(),
            settings: Mutex::default(),
        })
    }

    /// The first digits of the commit's hash.
    pub fn short(&self) -> &str {
        self.commit.get(..10).unwrap_or(&self.commit)
    }

    /// What a path was at the revision.
    ///
    /// # Errors
    /// Git does not say.
    pub fn entry(&self, name: &str) -> Result<Entry, String> {
        let Some(object) = self.object(name) else {
            return Ok(Entry::Nothing);
        };
        let kind = ask(&self.folder, &["cat-file", "-t", &object]);
        match kind.as_deref().map(str::trim) {
            Ok("blob") => Ok(Entry::File),
            Ok("tree") => Ok(Entry::Folder),
            Ok(_) | Err(Refused::Said(_)) => Ok(Entry::Nothing),
            Err(Refused::NoGit) => Err(NO_GIT.to_owned()),
        }
    }

    /// The specs below a folder, by their paths in it.
    ///
    /// # Errors
    /// Git cannot list them.
    pub fn specs(&self, folder: &str) -> Result<Vec<String>, String> {
        let Some(object) = self.object(folder) else {
            return Ok(Vec::new());
        };
        let arguments = ["ls-tree", "-r", "-z", "--full-tree", "--name-only", &object];
        let listed = ask(&self.folder, &arguments).map_err(|why| match why {
            Refused::NoGit => NO_GIT.to_owned(),
            Refused::Said(said) => format!("git cannot list `{folder}`: {said}"),
        })?;
        let specs = listed.split('\0').filter(|path| path.ends_with(".clutch"));
        Ok(specs.map(str::to_owned).collect())
    }

    /// How git names a file of this revision; `None` for what is outside of the repository or
    /// has a name that its line protocol cannot say.
    fn object(&self, name: &str) -> Option<String> {
        if name.contains(['\n', '\r', '\0']) || Path::new(name).has_root() != self.folder.has_root()
        {
            return None;
        }
        let parts: Vec<&str> = name
            .split('/')
            .filter(|p| !matches!(*p, "" | "."))
            .collect();
        let shared = self
            .name
            .iter()
            .zip(&parts)
            .take_while(|(a, b)| *a == *b)
            .count();
        let up = self.name.get(shared..)?;
        // The way from the folder to a file beside it does not go through a parent's name.
        if up.iter().any(|part| part == "..") {
            return None;
        }
        let mut path: Vec<&str> = self.prefix.iter().map(String::as_str).collect();
        for _ in up {
            path.pop()?;
        }
        for part in parts.get(shared..)? {
            match *part {
                ".." => drop(path.pop()?),
                part => path.push(part),
            }
        }
        Some(format!("{}:{}", self.commit, path.join("/")))
    }

    fn fetch(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let object = self
            .object(name)
            .ok_or_else(|| "is outside of the git repository".to_owned())?;
        let bytes = contents(&self.folder, &object)?;
        Ok(Arc::new(Source::from_bytes(name.clone(), &bytes)))
    }
}

impl Files for Revision {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        if let Some(known) = lock(&self.read).get(name) {
            return known.clone();
        }
        let source = self.fetch(name);
        lock(&self.read).insert(name.clone(), source.clone());
        source
    }

    /// The settings of the revision; above the repository, and where the user names a file,
    /// those on the disk.
    fn settings(&self, spec: &FileName) -> Arc<Settings> {
        if !self.disk.takes_nearest_settings() {
            return self.disk.settings(spec);
        }
        let mut known = lock(&self.settings);
        settings_files(spec)
            .map_while(|name| Some((self.object(&name)?, name)))
            .find_map(|(object, name)| {
                let read = known.entry(name).or_insert_with_key(|name| {
                    let bytes = contents(&self.folder, &object).ok()?;
                    Some(SettingsRead::new(name.clone(), Ok(bytes)).settings)
                });
                read.clone()
            })
            .unwrap_or_else(|| {
                self.disk
                    .settings_outside(spec, |name| self.object(name).is_none())
            })
    }
}

/// Git's full hash for a revision.
fn commit(folder: &Path, revision: &str) -> Result<String, String> {
    let unknown = || format!("git knows no revision `{revision}` here");
    // Git takes what begins with a dash for an option; no revision does.
    if revision.is_empty() || revision.starts_with('-') || revision.contains('\0') {
        return Err(unknown());
    }
    let wanted = format!("{revision}^{{commit}}");
    let hash =
        ask(folder, &["rev-parse", "--verify", "--quiet", &wanted]).map_err(|_| unknown())?;
    let hash = hash.trim();
    let is_hash = hash.len() >= 40 && hash.bytes().all(|b| b.is_ascii_hexdigit());
    if is_hash {
        Ok(hash.to_owned())
    } else {
        Err(unknown())
    }
}

/// The folder that a path is, or lies in, or would lie in if folders above it were still there.
fn standing_folder(path: &Path) -> PathBuf {
    let folder = path.ancestors().find(|folder| folder.is_dir());
    match folder {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

const NO_GIT: &str = "comparing revisions needs the `git` program, which is not on the path";

/// Why git gave no answer.
enum Refused {
    NoGit,
    /// What it said, on one line.
    Said(String),
}

/// Git in a folder: the repository is the one that the folder lies in, whatever the
/// environment says, and nobody is asked for a password.
fn git(folder: &Path, arguments: &[&str]) -> Command {
    let mut git = Command::new("git");
    git.arg("-C")
        .arg(folder)
        .args(arguments)
        .env_remove("GIT_DIR")
        .env_remove("GIT_WORK_TREE")
        .env_remove("GIT_PREFIX")
        .env("GIT_TERMINAL_PROMPT", "0")
        .env("GIT_OPTIONAL_LOCKS", "0")
        .env("LC_ALL", "C")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    git
}

/// What git prints.
fn ask(folder: &Path, arguments: &[&str]) -> Result<String, Refused> {
    let output = git(folder, arguments)
        .output()
        .map_err(|error| refused(&error))?;
    if output.status.success() {
        return Ok(String::from_utf8_lossy(&output.stdout).into_owned());
    }
    let said = String::from_utf8_lossy(&output.stderr);
    let first = said.lines().next().unwrap_or_default();
    Err(Refused::Said(
        first.trim_start_matches("fatal: ").to_owned(),
    ))
}

fn refused(error: &std::io::Error) -> Refused {
    match error.kind() {
        ErrorKind::NotFound => Refused::NoGit,
        _ => Refused::Said(error.to_string()),
    }
}

/// The bytes of a file, but no more of them than it takes to see that there are too many.
/// Symbolic links are followed inside the repository.
fn contents(folder: &Path, object: &str) -> Result<Vec<u8>, String> {
    let failed = |error: std::io::Error| match refused(&error) {
        Refused::NoGit => NO_GIT.to_owned(),
        Refused::Said(said) => format!("cannot be read from git: {said}"),
    };
    let mut child = git(folder, &["cat-file", "--batch", "--follow-symlinks"])
        .stdin(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(failed)?;
    let answer = (|| {
        if let Some(mut input) = child.stdin.take() {
            writeln!(input, "{object}")?;
        }
        match child.stdout.take() {
            Some(output) => answer(BufReader::new(output)),
            None => Ok(Err("cannot be read from git".to_owned())),
        }
    })();
    // It may still have more to say about a file that is too large.
    let _ = child.kill();
    let _ = child.wait();
    answer.map_err(failed)?
}

/// Reads `<hash> blob <size>`, a line break and the file; or why there is none.
fn answer(mut output: impl BufRead) -> std::io::Result<Result<Vec<u8>, String>> {
    let mut head = Vec::new();
    // A head longer than this would be a symbolic link to somewhere beyond all use.
    const LONGEST_HEAD: u64 = 1 << 16;
    (&mut output)
        .take(LONGEST_HEAD)
        .read_until(b'\n', &mut head)?;
    let head = String::from_utf8_lossy(&head);
    let words: Vec<&str> = head.split_whitespace().collect();
    match words.as_slice() {
        [_, "blob", size] => {
            let size: u64 = size.parse().unwrap_or(0);
            Ok(Ok(bounded(
                output.take(size.min(MAX_FILE_BYTES as u64 + 1)),
            )?))
        }
        [_, "tree", _] => Ok(Err("is a folder at that revision".to_owned())),
        ["symlink", _] => Ok(Err("leads out of the git repository".to_owned())),
        _ => Ok(Err("does not exist at that revision".to_owned())),
    }
}
