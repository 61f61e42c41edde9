//! One side of a comparison: files on the disk or at a revision.

use super::{CannotRun, Request};
use crate::faces::cli::{input, shown};
use crate::faces::files::disk::Disk;
use crate::faces::files::read::reason;
use crate::faces::git::{Entry, NotRead, Revision, checked_out};
use crate::faces::render::Unread;
use crate::finding::FileName;
use crate::model::{Files, ReadError, Source};
use crate::settings::Settings;
use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};
use std::io::ErrorKind;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

pub struct Side {
    pub path: PathBuf,
    /// The side's name for people.
    pub name: String,
    files: From,
    /// Whether the other side is a revision. Files below the folder that belong to another repository are then left
    /// out.
    is_beside_revision: bool,
}

enum From {
    Disk(Box<Disk>),
    Revision(Box<Revision>),
}

/// The files below a folder, by their paths in it.
#[derive(Default)]
pub struct Below {
    pub specs: Vec<String>,
    /// Submodules, with their commits if those are known.
    pub submodules: Vec<(String, Option<String>)>,
    pub unread: Vec<Unread>,
}

/// The two sides that a request asks for.
///
/// # Errors
/// The arguments do not define two sides, or one does not exist; the error is a sentence.
pub fn sides(request: &Request) -> Result<(Side, Side), CannotRun> {
    let path = &plain_path(&request.path);
    let is_beside_revision = request.from.is_some();
    let disk = |path: &Path, name: String| -> Result<Side, CannotRun> {
        Ok(Side {
            path: path.to_owned(),
            name,
            files: From::Disk(Box::new(
                request.config.disk()?.working_in(&[path.to_owned()]),
            )),
            is_beside_revision,
        })
    };
    let at = |name: &str| -> Result<Side, CannotRun> {
        if input::is_standard_input(path) {
            return Err("standard input has no revisions; name a file or a folder".to_owned());
        }
        let revision = Revision::new(path, name, request.config.disk()?)?;
        Ok(Side {
            path: path.clone(),
            name: format!("{name} ({})", revision.short()),
            files: From::Revision(Box::new(revision)),
            is_beside_revision,
        })
    };
    let (before, after) = match (&request.from, &request.to, &request.other) {
        (Some(from), to, _) => {
            let before = at(from)?;
            let after = match to {
                Some(to) => at(to)?,
                None => disk(path, "the working tree".to_owned())?,
            };
            (before, after)
        }
        (None, _, Some(other)) => {
            let named = |path: &Path| disk(path, path.display().to_string());
            (named(path)?, named(&plain_path(other))?)
        }
        (None, _, None) if request.systems.is_some() => {
            let named = || disk(path, path.display().to_string());
            (named()?, named()?)
        }
        (None, _, None) => {
            return Err(
                "compare with what? Name a second file, `--from` a revision, or two `--systems` \
                 of this file"
                    .to_owned(),
            );
        }
    };
    if let (From::Disk(_), From::Disk(_)) = (&before.files, &after.files) {
        for side in [&before, &after] {
            if side.entry()? == Entry::Nothing {
                return Err(format!("`{}` does not exist", shown(&side.path)));
            }
        }
        if [&before, &after]
            .iter()
            .all(|side| input::is_standard_input(&side.path))
            && request.systems.is_none()
        {
            return Err("standard input cannot be both sides".to_owned());
        }
    }
    Ok((before, after))
}

/// A path without steps upward. Files are known by the names that users would give them.
fn plain_path(path: &Path) -> PathBuf {
    let parts: PathBuf = path
        .components()
        .filter(|part| *part != Component::CurDir)
        .collect();
    let is_up = |part: &Component<'_>| *part == Component::ParentDir;
    let comes_back = parts
        .components()
        .skip_while(is_up)
        .any(|part| is_up(&part));
    if !comes_back {
        return match parts.as_os_str().is_empty() {
            true => PathBuf::from("."),
            false => parts,
        };
    }
    // A path that no longer exists has no links that could lead elsewhere.
    let whole = path.canonicalize().unwrap_or_else(|_| {
        let mut plain = PathBuf::new();
        for part in parts.components() {
            let last = plain.components().next_back();
            match part {
                Component::ParentDir if matches!(last, Some(Component::Normal(_))) => {
                    plain.pop();
                }
                part => plain.push(part),
            }
        }
        plain
    });
    let here = std::env::current_dir().and_then(|here| here.canonicalize());
    let inside = here
        .ok()
        .and_then(|here| Some(whole.strip_prefix(here).ok()?.to_owned()));
    match inside {
        Some(inside) if inside.as_os_str().is_empty() => PathBuf::from("."),
        Some(inside) => inside,
        None => whole,
    }
}

impl Side {
    /// # Errors
    /// It is not known what exists there; the error is a sentence.
    pub fn entry(&self) -> Result<Entry, CannotRun> {
        let why = |why| format!("`{}` {why}", shown(&self.path));
        match &self.files {
            From::Disk(_) if input::is_standard_input(&self.path) => Ok(Entry::File(String::new())),
            From::Disk(_) => match kind(&self.path).map_err(why)? {
                Some(kind) if kind.is_dir() => Ok(Entry::Folder),
                Some(_) => Ok(Entry::File(String::new())),
                None => Ok(Entry::Nothing),
            },
            From::Revision(revision) => revision.entry(&Disk::name(&self.path)).map_err(why),
        }
    }

    /// # Errors
    /// The folder cannot be read; the error is a sentence.
    pub fn below(&self) -> Result<Below, CannotRun> {
        let revision = match &self.files {
            From::Revision(revision) => revision,
            From::Disk(_) => return Ok(self.below_on_disk()),
        };
        let listing = revision
            .below(&Disk::name(&self.path))
            .map_err(|why| format!("`{}` {why}", shown(&self.path)))?;
        let named = |(path, commit)| (path, Some(commit));
        Ok(Below {
            specs: listing.specs,
            submodules: listing.submodules.into_iter().map(named).collect(),
            unread: listing.unread,
        })
    }

    fn below_on_disk(&self) -> Below {
        let (found, unread) = input::specs_below(&self.path);
        let mut below = Below {
            unread,
            ..Below::default()
        };
        let mut others = BTreeSet::new();
        let mut known = HashMap::new();
        for spec in found {
            let inside = spec.strip_prefix(&self.path).unwrap_or(&spec);
            if inside.to_str().is_none() {
                below.unread.push(Unread {
                    file: Disk::name(&spec).to_string(),
                    why: input::NOT_UTF8.to_owned(),
                });
                continue;
            }
            // Another repository's files are neither new nor gone: they are compared in it.
            match self.other_repository(inside, &mut known) {
                Some(other) => drop(others.insert(other)),
                None => below.specs.push(Disk::name(inside).to_string()),
            }
        }
        below.submodules = others
            .into_iter()
            .map(|folder| {
                let commit = checked_out(&self.path.join(&folder));
                (Disk::name(&folder).to_string(), commit)
            })
            .collect();
        below
    }

    /// The outermost folder around a file, below this one, that is a repository of its own.
    fn other_repository(
        &self,
        inside: &Path,
        known: &mut HashMap<PathBuf, bool>,
    ) -> Option<PathBuf> {
        if !self.is_beside_revision {
            return None;
        }
        let is_other = |folder: &&Path| {
            let known = known.entry(folder.to_path_buf());
            *known.or_insert_with(|| self.path.join(folder).join(".git").exists())
        };
        let folders = inside.ancestors().skip(1);
        let mut below = folders.filter(|folder| !folder.as_os_str().is_empty());
        // The innermost first: the last that is found is the outermost.
        below.by_ref().filter(is_other).last().map(Path::to_owned)
    }

    fn path_of(&self, key: &str) -> PathBuf {
        match key {
            "" => self.path.clone(),
            key => self.path.join(key),
        }
    }

    fn unread(&self, path: &Path, why: String) -> Unread {
        let file = Disk::name(path).to_string();
        let why = match &self.files {
            From::Disk(_) => why,
            From::Revision(_) => format!("at {} {why}", self.name),
        };
        Unread { file, why }
    }

    /// Whether it has a file.
    ///
    /// # Errors
    /// It is not known.
    pub fn has(&self, key: &str) -> Result<bool, Unread> {
        let path = self.path_of(key);
        let found = match &self.files {
            From::Disk(_) => kind(&path).map(|kind| kind.is_some_and(|kind| !kind.is_dir())),
            From::Revision(revision) => {
                let entry = revision.entry(&Disk::name(&path));
                entry.map(|entry| matches!(entry, Entry::File(_)))
            }
        };
        found.map_err(|why| self.unread(&path, why))
    }

    /// One file of the side; `None` where it does not exist. `same` is the file of the other side.
    ///
    /// # Errors
    /// It exists and cannot be read.
    pub fn read(
        &self,
        key: &str,
        same: Option<&Arc<Source>>,
    ) -> Result<Option<Arc<Source>>, Unread> {
        let path = self.path_of(key);
        match &self.files {
            From::Disk(disk) => {
                if !input::is_standard_input(&path) && !self.has(key)? {
                    return Ok(None);
                }
                let source = match key {
                    "" => input::read_one(&path, disk),
                    // A file on the other side may be a link to anywhere on this one.
                    _ => disk.read_below(&self.path, &Disk::name(&path)),
                };
                source.map(Some).map_err(|why| self.unread(&path, why))
            }
            From::Revision(revision) => match revision.read(&Disk::name(&path), same) {
                Ok(source) => Ok(Some(source)),
                Err(NotRead::Absent(_) | NotRead::Outside) => Ok(None),
                Err(NotRead::Broken(why)) => Err(self.unread(&path, why)),
            },
        }
    }
}

/// What exists on the disk at a path; `None` for nothing.
fn kind(path: &Path) -> Result<Option<std::fs::Metadata>, String> {
    match std::fs::metadata(path) {
        Ok(kind) => Ok(Some(kind)),
        Err(error) => match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => Ok(None),
            _ => Err(reason(&error)),
        },
    }
}

/// Reads the files that one file uses, and remembers those that exist but cannot be read. Nothing can be said about a
/// file with such uses.
pub struct SideFiles<'a> {
    side: &'a Side,
    broken: RefCell<Vec<Unread>>,
}

impl<'a> SideFiles<'a> {
    pub fn new(side: &'a Side) -> Self {
        Self {
            side,
            broken: RefCell::default(),
        }
    }

    pub fn broken(self) -> Vec<Unread> {
        self.broken.into_inner()
    }

    fn note(&self, file: &str, why: &str) {
        let unread = self.side.unread(Path::new(file), why.to_owned());
        self.broken.borrow_mut().push(unread);
    }
}

impl Files for SideFiles<'_> {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        self.used(name, name).map_err(|refused| refused.why)
    }

    fn shown(&self, name: &FileName) -> FileName {
        match &self.side.files {
            From::Disk(disk) => disk.shown(name),
            From::Revision(_) => name.clone(),
        }
    }

    fn used(&self, spec: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        match &self.side.files {
            From::Disk(disk) => disk.used(spec, name),
            From::Revision(revision) => match revision.used(name) {
                Ok(source) => Ok(source),
                Err(NotRead::Outside) => revision.outside(spec, name),
                Err(NotRead::Absent(why)) => Err(why.into()),
                Err(NotRead::Broken(why)) => {
                    self.note(name, &why);
                    Err(why.into())
                }
            },
        }
    }

    fn settings(&self, spec: &FileName) -> Arc<Settings> {
        match &self.side.files {
            From::Disk(disk) => disk.settings(spec),
            From::Revision(revision) => revision.settings(spec).unwrap_or_else(|unread| {
                self.note(&unread.file, &unread.why);
                Arc::default()
            }),
        }
    }
}
