//! Files as they stand at a revision of a git repository, read through the `git` program.
//!
//! Only plumbing commands that read objects are run, and nothing that the repository's own settings
//! name is: no hook, filter, monitor, pager, and no fetch of an object that is not there.

use super::disk::{Disk, SettingsRead, lock, real, settings_files};
use crate::faces::render::Unread;
use crate::finding::FileName;
use crate::model::{Files, ReadError, Source};
use crate::settings::Settings;
use crate::syntax::MAX_FILE_BYTES;
use std::collections::HashMap;
use std::io::{BufRead, BufReader, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::{Arc, Mutex};

/// How many symbolic links are followed on the way to one file.
const MAX_LINKS: u32 = 40;
/// The bytes of one folder's list of files.
const MAX_TREE_BYTES: usize = 64 << 20;
/// How many files and folders are looked at in search of specs.
const MAX_ENTRIES: usize = 10_000_000;
/// The bytes of a path inside the repository.
const MAX_PATH_BYTES: usize = 4096;
/// How many used files are kept as read, beside those in use.
const MOST_KEPT: usize = 1000;

/// A revision of the repository that a folder lies in. Files go by the names that they would
/// have on the disk.
pub struct Revision {
    /// The folder's name, as names of files begin; its parts.
    name: Vec<String>,
    has_root: bool,
    /// Where the folder stands in the repository; its parts.
    prefix: Vec<String>,
    /// Where the repository's files are checked out.
    top: PathBuf,
    commit: String,
    files: Arc<Snapshot>,
    /// The submodules that were read, by their paths; `None` where one is not checked out.
    submodules: Mutex<HashMap<String, Option<Arc<Snapshot>>>>,
    /// For settings that are not of the repository.
    disk: Disk,
    used: Mutex<HashMap<FileName, Result<Arc<Source>, NotRead>>>,
    settings: Mutex<HashMap<FileName, KnownSettings>>,
}

/// What a file sets, `None` where the revision has no such file; or why git cannot give it.
type KnownSettings = Result<Option<Arc<Settings>>, String>;

/// Why there is no text, as the end of a sentence.
#[derive(Clone, Debug)]
pub enum NotRead {
    /// The revision has no such file.
    Absent(String),
    /// It would be outside of the repository.
    Outside,
    /// The revision has one, which git cannot give.
    Broken(String),
}

/// What stands under a path at a revision.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Entry {
    /// A file, and the hash of its contents.
    File(String),
    Folder,
    Submodule,
    Nothing,
}

/// What is below a folder.
#[derive(Default)]
pub struct Listing {
    /// Specs, by their paths in the folder.
    pub specs: Vec<String>,
    /// Submodules, by their paths in the folder, with their commits.
    pub submodules: Vec<(String, String)>,
    /// What cannot be looked into or named.
    pub unread: Vec<Unread>,
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
        let prefix = parts(prefix.trim_end_matches(['\n', '\r']));
        let top = real(&folder);
        let top = top.ancestors().nth(prefix.len()).unwrap_or(&top).to_owned();
        let files = Snapshot::new(&folder, &commit)
            .map_err(|why| format!("`{revision}` cannot be compared with: {why}"))?;
        Ok(Self {
            name: parts(&named),
            has_root: folder.has_root(),
            prefix,
            top,
            commit,
            files: Arc::new(files),
            submodules: Mutex::default(),
            disk,
            used: Mutex::default(),
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
    /// Git does not say, as the end of a sentence.
    pub fn entry(&self, name: &str) -> Result<Entry, String> {
        Ok(match self.find(name)?.1 {
            Found::File(hash) => Entry::File(hash),
            Found::Folder(_) => Entry::Folder,
            Found::Submodule { .. } => Entry::Submodule,
            Found::Nothing | Found::Outside => Entry::Nothing,
        })
    }

    /// The specs below a folder, symbolic links not followed.
    ///
    /// # Errors
    /// Git cannot list the folder, as the end of a sentence.
    pub fn below(&self, folder: &str) -> Result<Listing, String> {
        match self.find(folder)? {
            (files, Found::Folder(tree)) => files.below(&tree),
            _ => Ok(Listing::default()),
        }
    }

    /// A file, not kept. `same` is one that may say the same, and is taken for it then.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub fn read(
        &self,
        name: &FileName,
        same: Option<&Arc<Source>>,
    ) -> Result<Arc<Source>, NotRead> {
        let bytes = self.bytes(name)?;
        match same.filter(|same| same.name == *name && same.text.as_bytes() == bytes) {
            Some(same) => Ok(same.clone()),
            None => Ok(Arc::new(Source::from_bytes(name.clone(), &bytes))),
        }
    }

    /// What a spec uses from outside of the repository: it has no revisions, and is what it is on
    /// the disk. Only a library in the settings leads there.
    ///
    /// # Errors
    /// Why it is not read.
    pub fn outside(&self, spec: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        let settings = self.settings(spec).unwrap_or_default();
        self.disk.used_under(&settings, spec, name)
    }

    /// A file that others use, read once.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub fn used(&self, name: &FileName) -> Result<Arc<Source>, NotRead> {
        if let Some(known) = lock(&self.used).get(name) {
            return known.clone();
        }
        let source = self.read(name, None);
        let mut used = lock(&self.used);
        if used.len() >= MOST_KEPT {
            used.retain(|_, kept| matches!(kept, Ok(source) if Arc::strong_count(source) > 1));
        }
        used.insert(name.clone(), source.clone());
        source
    }

    /// The settings of the revision; above the repository, and where the user names a file,
    /// those on the disk.
    ///
    /// # Errors
    /// The file of settings that git cannot give, and why.
    pub fn settings(&self, spec: &FileName) -> Result<Arc<Settings>, Unread> {
        if !self.disk.takes_nearest_settings() {
            return Ok(self.disk.settings(spec));
        }
        let inside = settings_files(spec).take_while(|name| self.path(name).is_some());
        for name in inside {
            // Several threads may read it at once: what they read is the same.
            let known = lock(&self.settings).get(&name).cloned();
            let read = known.unwrap_or_else(|| {
                let read = match self.bytes(&name) {
                    Ok(bytes) => Ok(Some(SettingsRead::new(name.clone(), Ok(bytes)).settings)),
                    Err(NotRead::Absent(_) | NotRead::Outside) => Ok(None),
                    Err(NotRead::Broken(why)) => Err(why),
                };
                lock(&self.settings).insert(name.clone(), read.clone());
                read
            });
            match read {
                Ok(None) => {}
                Ok(Some(settings)) => return Ok(settings),
                Err(why) => {
                    let file = name.to_string();
                    return Err(Unread { file, why });
                }
            }
        }
        let outside = |name: &FileName| self.path(name).is_none();
        Ok(self.disk.settings_outside(spec, outside))
    }

    fn bytes(&self, name: &FileName) -> Result<Vec<u8>, NotRead> {
        let absent = |why: &str| Err(NotRead::Absent(why.to_owned()));
        let (files, found) = self.find(name).map_err(NotRead::Broken)?;
        match found {
            Found::File(hash) => files
                .objects
                .get(&hash, MAX_FILE_BYTES)
                .map_err(NotRead::Broken),
            Found::Folder(_) => absent("is a folder at that revision"),
            Found::Submodule { .. } => absent("is a submodule at that revision"),
            Found::Nothing => absent("does not exist at that revision"),
            Found::Outside => Err(NotRead::Outside),
        }
    }

    /// What a name leads to, through submodules too, and the files in which that is.
    fn find(&self, name: &str) -> Result<(Arc<Snapshot>, Found), String> {
        let mut files = self.files.clone();
        let Some(mut path) = self.path(name) else {
            return Ok((files, Found::Outside));
        };
        let mut place = String::new();
        loop {
            match files.find(&path)? {
                Found::Submodule { at, commit, rest } if !rest.is_empty() => {
                    place = if place.is_empty() {
                        at
                    } else {
                        format!("{place}/{at}")
                    };
                    files = self.submodule(&place, &commit)?;
                    path = rest;
                }
                found => return Ok((files, found)),
            }
        }
    }

    fn submodule(&self, place: &str, commit: &str) -> Result<Arc<Snapshot>, String> {
        let mut known = lock(&self.submodules);
        let files = known.entry(place.to_owned()).or_insert_with(|| {
            let folder = self.top.join(place);
            // Git would speak for the repository around an empty folder.
            let is_here = folder.join(".git").exists();
            is_here.then(|| Snapshot::new(&folder, commit).ok().map(Arc::new))?
        });
        files.clone().ok_or_else(|| {
            format!("is in the submodule `{place}`, whose commit {commit} is not here")
        })
    }

    /// The parts of a file's path in the repository; `None` for what is outside of it.
    fn path(&self, name: &str) -> Option<Vec<String>> {
        if Path::new(name).has_root() != self.has_root {
            return None;
        }
        let parts = parts(name);
        let same = self.name.iter().zip(&parts).take_while(|(a, b)| a == b);
        let shared = same.count();
        let up = self.name.get(shared..)?;
        // The way from the folder to a file beside it does not go through a parent's name.
        if up.iter().any(|part| part == "..") {
            return None;
        }
        let mut path = self.prefix.clone();
        for _ in up {
            path.pop()?;
        }
        for part in parts.get(shared..)? {
            match part.as_str() {
                ".." => drop(path.pop()?),
                part => path.push(part.to_owned()),
            }
        }
        Some(path)
    }
}

fn parts(path: &str) -> Vec<String> {
    let parts = path.split('/').filter(|part| !matches!(*part, "" | "."));
    parts.map(str::to_owned).collect()
}

/// All files of one commit.
struct Snapshot {
    objects: Objects,
    /// The hash of its topmost folder.
    root: String,
    trees: Mutex<HashMap<String, Arc<Tree>>>,
}

/// What stands at a path.
enum Found {
    /// A file's hash.
    File(String),
    /// A folder's hash.
    Folder(String),
    Submodule {
        at: String,
        commit: String,
        /// What of the path is inside of it.
        rest: Vec<String>,
    },
    Nothing,
    Outside,
}

/// A folder: what its files are, by their names.
type Tree = HashMap<Vec<u8>, (Mode, String)>;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Mode {
    File,
    Folder,
    Link,
    Submodule,
}

impl Snapshot {
    /// # Errors
    /// Git cannot give the commit, as a sentence.
    fn new(folder: &Path, commit: &str) -> Result<Self, String> {
        let objects = Objects::new(folder);
        let (root, tree) = objects
            .named(&format!("{commit}^{{tree}}"), MAX_TREE_BYTES)
            .map_err(|why| format!("its first folder {why}"))?;
        let tree = Arc::new(read_tree(&root, &tree)?);
        Ok(Self {
            objects,
            trees: Mutex::new(HashMap::from([(root.clone(), tree)])),
            root,
        })
    }

    fn tree(&self, hash: &str) -> Result<Arc<Tree>, String> {
        if let Some(known) = lock(&self.trees).get(hash) {
            return Ok(known.clone());
        }
        let tree = Arc::new(read_tree(hash, &self.objects.get(hash, MAX_TREE_BYTES)?)?);
        lock(&self.trees).insert(hash.to_owned(), tree.clone());
        Ok(tree)
    }

    /// What stands at a path, symbolic links followed.
    fn find(&self, path: &[String]) -> Result<Found, String> {
        let mut left: Vec<String> = path.iter().rev().cloned().collect();
        let mut entered: Vec<(String, String)> = Vec::new();
        let mut links = 0;
        while let Some(part) = left.pop() {
            if part == ".." {
                if entered.pop().is_none() {
                    return Ok(Found::Outside);
                }
                continue;
            }
            let here = entered.last().map_or(&self.root, |(_, hash)| hash);
            let tree = self.tree(here)?;
            let Some((mode, hash)) = tree.get(part.as_bytes()) else {
                return Ok(Found::Nothing);
            };
            match mode {
                Mode::Folder => entered.push((part, hash.clone())),
                Mode::File if left.is_empty() => return Ok(Found::File(hash.clone())),
                Mode::File => return Ok(Found::Nothing),
                Mode::Submodule => {
                    let names = entered.iter().map(|(name, _)| name.as_str());
                    let at: Vec<&str> = names.chain([part.as_str()]).collect();
                    return Ok(Found::Submodule {
                        at: at.join("/"),
                        commit: hash.clone(),
                        rest: left.into_iter().rev().collect(),
                    });
                }
                Mode::Link => {
                    links += 1;
                    let target = self.objects.get(hash, MAX_PATH_BYTES)?;
                    let target = String::from_utf8_lossy(&target);
                    if links > MAX_LINKS || target.len() > MAX_PATH_BYTES {
                        return Ok(Found::Nothing);
                    }
                    if target.starts_with('/') {
                        return Ok(Found::Outside);
                    }
                    left.extend(parts(&target).into_iter().rev());
                }
            }
        }
        let here = entered.pop().map_or(self.root.clone(), |(_, hash)| hash);
        Ok(Found::Folder(here))
    }

    /// The specs below a folder by its hash.
    fn below(&self, tree: &str) -> Result<Listing, String> {
        let mut listing = Listing::default();
        let mut seen = 0;
        let mut left = vec![(Vec::new(), tree.to_owned())];
        while let Some((path, hash)) = left.pop() {
            let tree = match self.tree(&hash) {
                Ok(tree) => tree,
                Err(why) if path.is_empty() => return Err(why),
                Err(why) => {
                    listing.unread.push(unread(&path, why));
                    continue;
                }
            };
            seen += tree.len();
            if seen > MAX_ENTRIES {
                return Err(format!("has more than {MAX_ENTRIES} files below it"));
            }
            for (name, (mode, hash)) in tree.iter() {
                let slash = if path.is_empty() { "" } else { "/" };
                let path = [&*path, slash.as_bytes(), name].concat();
                match mode {
                    Mode::Folder if path.len() > MAX_PATH_BYTES => {
                        listing
                            .unread
                            .push(unread(&path, "has too long a path".to_owned()));
                    }
                    Mode::Folder => left.push((path, hash.clone())),
                    Mode::Submodule => {
                        let place = String::from_utf8_lossy(&path).into_owned();
                        listing.submodules.push((place, hash.clone()));
                    }
                    Mode::File if name.ends_with(b".clutch") => match String::from_utf8(path) {
                        Ok(path) => listing.specs.push(path),
                        Err(error) => {
                            let why = "has a name that is not UTF-8; give it another one";
                            listing
                                .unread
                                .push(unread(error.as_bytes(), why.to_owned()));
                        }
                    },
                    Mode::File | Mode::Link => {}
                }
            }
        }
        listing.submodules.sort();
        listing.unread.sort();
        Ok(listing)
    }
}

fn unread(path: &[u8], why: String) -> Unread {
    Unread {
        file: String::from_utf8_lossy(path).into_owned(),
        why,
    }
}

/// Reads a tree object: `<mode> <name>`, a zero byte and the hash in bytes, again and again.
fn read_tree(hash: &str, bytes: &[u8]) -> Result<Tree, String> {
    let broken = || format!("cannot be read: git gives no folder for its object {hash}");
    let mut tree = Tree::new();
    let mut rest = bytes;
    while !rest.is_empty() {
        let end = rest.iter().position(|b| *b == 0).ok_or_else(broken)?;
        let (head, behind) = rest.split_at(end);
        let space = head.iter().position(|b| *b == b' ').ok_or_else(broken)?;
        let (mode, name) = head.split_at(space);
        let raw = behind.get(1..1 + hash.len() / 2).ok_or_else(broken)?;
        let mode = match mode {
            b"40000" | b"040000" => Mode::Folder,
            b"120000" => Mode::Link,
            b"160000" => Mode::Submodule,
            _ => Mode::File,
        };
        let digits: String = raw.iter().map(|byte| format!("{byte:02x}")).collect();
        tree.insert(name[1..].to_vec(), (mode, digits));
        rest = &behind[1 + raw.len()..];
    }
    Ok(tree)
}

/// The objects of a repository, all asked of one process.
struct Objects {
    folder: PathBuf,
    process: Mutex<Option<Batch>>,
}

impl Objects {
    fn new(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            process: Mutex::default(),
        }
    }

    /// The bytes of an object, but no more of them than it takes to see that there are too many.
    ///
    /// # Errors
    /// Git cannot give it, as the end of a sentence with the object's name in it.
    fn get(&self, hash: &str, most: usize) -> Result<Vec<u8>, String> {
        self.named(hash, most).map(|(_, bytes)| bytes)
    }

    /// An object by any name, with its hash.
    fn named(&self, name: &str, most: usize) -> Result<(String, Vec<u8>), String> {
        let mut process = lock(&self.process);
        let mut batch = match process.take() {
            Some(batch) => batch,
            None => Batch::start(&self.folder).map_err(|error| match error.kind() {
                ErrorKind::NotFound => format!("cannot be read: {NO_GIT}"),
                _ => format!("cannot be read: git does not start: {error}"),
            })?,
        };
        match batch.ask(name, most) {
            Ok(Answer::Whole(hash, bytes)) => {
                *process = Some(batch);
                Ok((hash, bytes))
            }
            // The rest of it is never read: the next object is asked of another process.
            Ok(Answer::Begun(hash, bytes)) => Ok((hash, bytes)),
            Ok(Answer::Missing) => {
                *process = Some(batch);
                Err(format!(
                    "cannot be read: git has no object {name}. The repository is damaged, or a \
                     partial clone; `git fsck` lists what is missing"
                ))
            }
            // It ends over an object that is damaged.
            Err(error) => Err(format!(
                "cannot be read: git's object {name} is damaged ({error}); `git fsck` says more"
            )),
        }
    }
}

/// A running `git cat-file --batch`.
struct Batch {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

enum Answer {
    /// The object's hash and all its bytes.
    Whole(String, Vec<u8>),
    /// The same of an object that is too large, with as many bytes as it takes to see that.
    Begun(String, Vec<u8>),
    Missing,
}

impl Batch {
    fn start(folder: &Path) -> std::io::Result<Self> {
        let mut child = git(folder, &["cat-file", "--batch"])
            .stdin(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        match (child.stdin.take(), child.stdout.take()) {
            (Some(input), Some(output)) => Ok(Self {
                child,
                input,
                output: BufReader::new(output),
            }),
            _ => Err(ErrorKind::BrokenPipe.into()),
        }
    }

    /// Asks for an object and reads `<hash> <kind> <size>`, a line break, the object and another.
    fn ask(&mut self, name: &str, most: usize) -> std::io::Result<Answer> {
        const LONGEST_HEAD: u64 = 1 << 16;
        writeln!(self.input, "{name}")?;
        let mut head = Vec::new();
        let mut bounded = (&mut self.output).take(LONGEST_HEAD);
        bounded.read_until(b'\n', &mut head)?;
        let head = String::from_utf8_lossy(&head);
        let words: Vec<&str> = head.split_whitespace().collect();
        let [hash, _, size] = words.as_slice() else {
            return match words.last() {
                Some(&"missing") => Ok(Answer::Missing),
                _ => Err(ErrorKind::UnexpectedEof.into()),
            };
        };
        let wrong = |_| std::io::Error::from(ErrorKind::InvalidData);
        let size: usize = size.parse().map_err(wrong)?;
        let read = size.min(most.saturating_add(1));
        let mut bytes = vec![0; read];
        self.output.read_exact(&mut bytes)?;
        if read < size {
            return Ok(Answer::Begun((*hash).to_owned(), bytes));
        }
        let mut line_break = [0];
        self.output.read_exact(&mut line_break)?;
        Ok(Answer::Whole((*hash).to_owned(), bytes))
    }
}

impl Drop for Batch {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Git's full hash for a revision.
fn commit(folder: &Path, revision: &str) -> Result<String, String> {
    let unknown = || {
        format!(
            "git knows no revision `{revision}` here{}",
            depth_hint(folder)
        )
    };
    // Git takes what begins with a dash for an option; no revision does.
    if revision.is_empty() || revision.starts_with('-') || revision.contains('\0') {
        return Err(unknown());
    }
    let hash_of = |name: &str| ask(folder, &["rev-parse", "--verify", "--quiet", name]);
    let hash = hash_of(&format!("{revision}^{{commit}}")).map_err(|_| match hash_of(revision) {
        // Any whole hash is a name, of whatever may not be here.
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

/// What may be done about a revision that is not known, where only the end of the history is here.
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

/// Settings of a repository that name programs, turned off. The commands that are run ask for none
/// of them in any version that is known; a later one may.
const OFF: &[&str] = &[
    "core.fsmonitor=false",
    "core.hooksPath=/dev/null",
    "core.sshCommand=false",
    "core.gitProxy=",
    "core.askPass=",
    "credential.helper=",
    "core.alternateRefsCommand=false",
];

/// Git in a folder: the repository is the one that the folder lies in, whatever the
/// environment says, and nobody is asked for a password.
fn git(folder: &Path, arguments: &[&str]) -> Command {
    let mut git = Command::new("git");
    git.arg("-C").arg(folder).arg("--no-pager");
    for setting in OFF {
        git.args(["-c", setting]);
    }
    git.args(arguments)
        .env_remove("GIT_DIR")
        .env_remove("GIT_WORK_TREE")
        .env_remove("GIT_PREFIX")
        // An object that is not there is not fetched: the remote's settings name programs. Before
        // git 2.45, which knows the first, no protocol is left to fetch it by.
        .env("GIT_NO_LAZY_FETCH", "1")
        .env("GIT_ALLOW_PROTOCOL", "none")
        // What a commit holds, and not what somebody put in its place.
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
fn ask(folder: &Path, arguments: &[&str]) -> Result<String, Refused> {
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
