//! The folders that the client works in, and the specs in them.

use super::address::{has_folder, path_of, specs_in};
use crate::faces::files::disk::Disk;
use crate::faces::files::paths::{is_spec, seen_from};
use crate::finding::FileName;
use lsp_types::{InitializeParams, WorkspaceFoldersChangeEvent};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// The most specs that are searched. A workspace with more is served, but only this many unopened specs are read.
const MAX_SPECS: usize = 10_000;

#[derive(Clone, Debug, Default)]
pub(crate) struct Workspace {
    folders: Vec<PathBuf>,
    /// The specs, searched for on the first request.
    specs: Arc<OnceLock<BTreeSet<FileName>>>,
}

impl Workspace {
    /// The folders that a client names at the start.
    // Clients from before the protocol had several folders give a root.
    #[allow(deprecated)]
    pub fn of_client(params: &InitializeParams) -> Self {
        let folders = match &params.workspace_folders {
            Some(folders) => folders.iter().filter_map(|f| path_of(&f.uri)).collect(),
            None => params.root_uri.iter().filter_map(path_of).collect(),
        };
        Self {
            folders,
            specs: Arc::default(),
        }
    }

    pub fn folders(&self) -> &[PathBuf] {
        &self.folders
    }

    pub fn change_folders(&mut self, event: &WorkspaceFoldersChangeEvent) {
        let removed: Vec<PathBuf> = event
            .removed
            .iter()
            .filter_map(|folder| path_of(&folder.uri))
            .collect();
        self.folders.retain(|folder| !removed.contains(folder));
        for folder in &event.added {
            if let Some(path) = path_of(&folder.uri)
                && !self.folders.contains(&path)
            {
                self.folders.push(path);
            }
        }
        self.specs = Arc::default();
    }

    /// The name of a file in messages: its path from the folder that contains it, or else from the first one. With
    /// several folders, the folder's own name comes first.
    pub fn shown(&self, name: &FileName) -> FileName {
        let path = Path::new(&**name);
        let is_in = |folder: &&PathBuf| path.starts_with(folder);
        let folder = self.folders.iter().find(is_in).or(self.folders.first());
        let Some(folder) = folder.filter(|_| has_folder(name)) else {
            return name.clone();
        };
        let seen = match (path.strip_prefix(folder), folder.file_name()) {
            (Ok(inside), Some(own)) if self.folders.len() > 1 => Path::new(own).join(inside),
            (Ok(inside), _) => inside.to_owned(),
            (Err(_), _) => match seen_from(folder, path) {
                Some(seen) => seen,
                None => return name.clone(),
            },
        };
        match seen.as_os_str().is_empty() {
            true => ".".into(),
            false => Disk::name(&seen),
        }
    }

    /// The specs in the folders, by their names. The first caller waits for the search.
    pub fn specs(&self) -> &BTreeSet<FileName> {
        self.specs.get_or_init(|| {
            let all = self.folders.iter().flat_map(|folder| specs_in(folder));
            all.take(MAX_SPECS).map(|path| Disk::name(&path)).collect()
        })
    }

    /// Notes that the client gives a file, on the disk or not, or takes it away.
    pub fn given(&mut self, name: &FileName, is_there: bool) {
        if !is_spec(Path::new(&**name)) {
            return;
        }
        // The specs on the disk must be known first.
        self.specs();
        self.put(name, is_there);
    }

    /// Notes that a file was added or is gone.
    pub fn noted(&mut self, name: &FileName, is_there: bool) {
        let path = Path::new(&**name);
        if !is_spec(path) || !self.folders.iter().any(|folder| path.starts_with(folder)) {
            return;
        }
        match self.specs.get() {
            Some(_) => self.put(name, is_there),
            // A running search may have passed the file's folder already.
            None => self.specs = Arc::default(),
        }
    }

    /// Adds a name to the known specs or removes it. Holders of an earlier state keep that state.
    fn put(&mut self, name: &FileName, is_there: bool) {
        if self
            .specs
            .get()
            .is_some_and(|known| known.contains(name) == is_there)
        {
            return;
        }
        if let Some(specs) = Arc::make_mut(&mut self.specs).get_mut() {
            match is_there {
                true => specs.insert(name.clone()),
                false => specs.remove(name),
            };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_called_by_their_path_in_the_workspace() {
        let folders = |names: &[&str]| Workspace {
            folders: names.iter().map(PathBuf::from).collect(),
            specs: Arc::default(),
        };
        for (names, file, shown) in [
            (&["/a/vans"][..], "/a/vans/cars/x.clutch", "cars/x.clutch"),
            (&["/a/vans"], "/a/parts/x.clutch", "../parts/x.clutch"),
            (&["/a/vans"], "/a/vans", "."),
            (&["/a/vans"], "/b/x.clutch", "/b/x.clutch"),
            (
                &["/a/vans", "/b/trucks"],
                "/b/trucks/x.clutch",
                "trucks/x.clutch",
            ),
            (&["/a/vans"], "untitled:x.clutch", "untitled:x.clutch"),
            (&[], "/a/x.clutch", "/a/x.clutch"),
        ] {
            assert_eq!(&*folders(names).shown(&file.into()), shown, "{file}");
        }
    }
}
