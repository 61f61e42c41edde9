//! Specs at a revision of a git repository.

use super::commit::{Commit, Found, Listing, parts};
use super::program::{NO_GIT, Refused, ask, commit, standing_folder};
use crate::faces::files::disk::Disk;
use crate::faces::files::paths::real;
use crate::faces::files::settings_file::{SettingsFile, settings_files};
use crate::faces::render::Unread;
use crate::faces::sync::lock;
use crate::finding::FileName;
use crate::model::{Files, ReadError, Source};
use crate::settings::Settings;
use crate::syntax::MAX_FILE_BYTES;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// How many used files are kept in memory besides those in use.
const MOST_KEPT: usize = 1000;

/// A revision of the repository around a folder. Files have the names that they would have on the disk.
pub struct Revision {
    /// The parts of the folder's name, with which the names of its files begin.
    name: Vec<String>,
    has_root: bool,
    /// The parts of the folder's path in the repository.
    prefix: Vec<String>,
    /// Where the repository's files are checked out.
    top: PathBuf,
    commit: String,
    files: Arc<Commit>,
    /// The submodules read so far, by their paths; `None` for one that is not checked out.
    submodules: Mutex<HashMap<String, Option<Arc<Commit>>>>,
    /// The disk, for settings that are outside of the repository.
    disk: Disk,
    used: Mutex<HashMap<FileName, Result<Arc<Source>, NotRead>>>,
    settings: Mutex<HashMap<FileName, KnownSettings>>,
}

/// The settings in a file, `None` where the revision has no such file; or why git cannot give it.
type KnownSettings = Result<Option<Arc<Settings>>, String>;

/// Why there is no text, as the end of a sentence.
#[derive(Clone, Debug)]
pub enum NotRead {
    /// The revision has no such file.
    Absent(String),
    /// The file would be outside of the repository.
    Outside,
    /// The revision has the file, but git cannot give it.
    Broken(String),
}

/// What is at a path at a revision.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Entry {
    /// A file, and the hash of its contents.
    File(String),
    Folder,
    Submodule,
    Nothing,
}

impl Revision {
    /// A revision, by any name that git knows, of the repository around a path. The path itself need not exist any
    /// more.
    ///
    /// # Errors
    /// There is no git, no repository or no such revision; the error is a sentence.
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
        let files = Commit::new(&folder, &commit)
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
    /// Git gives no answer; the error is the end of a sentence.
    pub fn entry(&self, name: &str) -> Result<Entry, String> {
        Ok(match self.find(name)?.1 {
            Found::File(hash) => Entry::File(hash),
            Found::Folder(_) => Entry::Folder,
            Found::Submodule { .. } => Entry::Submodule,
            Found::Nothing | Found::Outside => Entry::Nothing,
        })
    }

    /// The specs below a folder. Symbolic links are not followed.
    ///
    /// # Errors
    /// Git cannot list the folder, as the end of a sentence.
    pub fn below(&self, folder: &str) -> Result<Listing, String> {
        match self.find(folder)? {
            (files, Found::Folder(tree)) => files.below(&tree),
            _ => Ok(Listing::default()),
        }
    }

    /// A file, which is not kept. If `same` has equal contents, it is returned instead.
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

    /// A file outside of the repository that a spec uses. It has no revisions and is read from the disk. Only a
    /// library in the settings leads there.
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

    /// The settings of the revision. Above the repository, and where the user names a file, the settings on the disk
    /// hold.
    ///
    /// # Errors
    /// The settings file that git cannot give, and why.
    pub fn settings(&self, spec: &FileName) -> Result<Arc<Settings>, Unread> {
        if !self.disk.takes_nearest_settings() {
            return Ok(self.disk.settings(spec));
        }
        let inside = settings_files(spec).take_while(|name| self.path(name).is_some());
        for name in inside {
            // Several threads may read it at once; all read the same.
            let known = lock(&self.settings).get(&name).cloned();
            let read = known.unwrap_or_else(|| {
                let read = match self.bytes(&name) {
                    Ok(bytes) => Ok(Some(SettingsFile::new(name.clone(), Ok(bytes)).settings)),
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

    /// What a name leads to, through submodules too, with the commit that contains it.
    fn find(&self, name: &str) -> Result<(Arc<Commit>, Found), String> {
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

    fn submodule(&self, place: &str, commit: &str) -> Result<Arc<Commit>, String> {
        let mut known = lock(&self.submodules);
        let files = known.entry(place.to_owned()).or_insert_with(|| {
            let folder = self.top.join(place);
            // In an empty folder git would answer for the repository around it.
            let is_here = folder.join(".git").exists();
            is_here.then(|| Commit::new(&folder, commit).ok().map(Arc::new))?
        });
        files.clone().ok_or_else(|| {
            format!("is in the submodule `{place}`, whose commit {commit} is not here")
        })
    }

    /// The parts of a file's path in the repository; `None` for a file outside of it.
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
