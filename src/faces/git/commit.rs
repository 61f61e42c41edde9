//! The files of one commit: what is at a path, and which specs are below a folder.

use super::objects::Objects;
use crate::faces::render::Unread;
use crate::faces::sync::lock;
use std::collections::HashMap;
use std::path::Path;
use std::sync::{Arc, Mutex};

/// How many symbolic links are followed on the way to one file.
const MAX_LINKS: u32 = 40;
/// The greatest size of the list of one folder's files, in bytes.
const MAX_TREE_BYTES: usize = 64 << 20;
/// How many files and folders are visited in a search for specs.
const MAX_ENTRIES: usize = 10_000_000;
/// The greatest length of a path in the repository, in bytes.
const MAX_PATH_BYTES: usize = 4096;

/// The files below a folder.
#[derive(Default)]
pub struct Listing {
    /// Specs, by their paths in the folder.
    pub specs: Vec<String>,
    /// Submodules, by their paths in the folder, with their commits.
    pub submodules: Vec<(String, String)>,
    /// Files that cannot be read or named.
    pub unread: Vec<Unread>,
}

/// The files of one commit.
pub(super) struct Commit {
    pub(super) objects: Objects,
    /// The hash of its topmost folder.
    root: String,
    trees: Mutex<HashMap<String, Arc<Tree>>>,
}

/// What is at a path.
pub(super) enum Found {
    /// A file's hash.
    File(String),
    /// A folder's hash.
    Folder(String),
    Submodule {
        at: String,
        commit: String,
        /// The rest of the path, inside the submodule.
        rest: Vec<String>,
    },
    Nothing,
    Outside,
}

/// A folder: its files by name.
type Tree = HashMap<Vec<u8>, (Mode, String)>;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Mode {
    File,
    Folder,
    Link,
    Submodule,
}

impl Commit {
    /// # Errors
    /// Git cannot give the commit; the error is a sentence.
    pub(super) fn new(folder: &Path, commit: &str) -> Result<Self, String> {
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

    /// What is at a path, following symbolic links.
    pub(super) fn find(&self, path: &[String]) -> Result<Found, String> {
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

    /// The specs below the folder with a hash.
    pub(super) fn below(&self, tree: &str) -> Result<Listing, String> {
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

/// Reads a tree object, which repeats `<mode> <name>`, a zero byte and the hash in bytes.
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

/// The parts of a path, without those that lead nowhere.
pub(super) fn parts(path: &str) -> Vec<String> {
    let parts = path.split('/').filter(|part| !matches!(*part, "" | "."));
    parts.map(str::to_owned).collect()
}
