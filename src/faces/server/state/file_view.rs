//! The files around a document at one moment, as the document may read them.

use super::address::{HAS_DISK, has_folder};
use super::buffer::Buffer;
use super::disk_cache::DiskCache;
use super::workspace::Workspace;
use crate::analysis::{Report, Work, analyse_after, read_settings};
use crate::faces::files::read_policy::ReadPolicy;
use crate::faces::files::settings_file::{SettingsFile, settings_files};
use crate::finding::FileName;
use crate::model::{Files, ReadError, Source};
use crate::settings::Settings;
use std::path::Path;
use std::sync::Arc;

/// Analyses a document, with its report from before an edit.
pub(crate) type Analyse = fn(Option<&Report>, Arc<Source>, &dyn Files, &Work<'_>) -> Report;

/// The function that analyses documents.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Analyst(pub Analyse);

impl Default for Analyst {
    fn default() -> Self {
        Self(analyse_after)
    }
}

/// The open texts. They share what they have in common with earlier states, which snapshots keep.
pub(super) type OpenBuffers = imbl::HashMap<FileName, Arc<Buffer>>;

/// The files around a document at one moment. An open text is preferred to the one on the disk.
#[derive(Clone, Debug, Default)]
pub(crate) struct FileView {
    pub open: OpenBuffers,
    pub disk: Arc<DiskCache>,
    pub policy: Arc<ReadPolicy>,
    pub analyst: Analyst,
    pub workspace: Workspace,
}

impl FileView {
    /// A file as a document reads it.
    pub fn read(&self, document: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        if let Some(buffer) = self.open.get(name) {
            return Ok(buffer.source());
        }
        let path = Path::new(&**name);
        if !has_folder(name) {
            let why = "cannot be found from a document that is not on the disk";
            return Err(why.to_owned().into());
        }
        if !HAS_DISK {
            return Err("does not exist".to_owned().into());
        }
        let library = &self.settings(document, |_, _| {}).library;
        self.policy.used(Path::new(&**document), library, path)?;
        Ok(self.disk.read(name)?)
    }

    /// A spec of the workspace; `None` where it cannot be read.
    pub fn spec(&self, name: &FileName) -> Option<Arc<Source>> {
        match self.open.get(name) {
            Some(buffer) => Some(buffer.source()),
            None => self.disk.read(name).ok(),
        }
    }

    /// The present text of a settings file.
    fn settings_file(&self, name: &FileName) -> Result<Arc<Source>, String> {
        if let Some(buffer) = self.open.get(name) {
            return Ok(buffer.source());
        }
        self.policy.settings(Path::new(&**name))?;
        self.disk.read(name)
    }

    /// The settings that hold for a document, and which files were searched for.
    pub fn settings(
        &self,
        document: &FileName,
        mut looked: impl FnMut(&FileName, Option<Arc<Source>>),
    ) -> Arc<Settings> {
        if !has_folder(document) {
            return Arc::default();
        }
        let found = settings_files(document).find_map(|name| {
            let is_there = || Path::new(&*name).symlink_metadata().is_ok();
            // Most folders have no such file, and all of them are searched with each key.
            if !self.open.contains_key(&name) && !is_there() {
                looked(&name, None);
                return None;
            }
            let read = self.settings_file(&name);
            looked(&name, read.as_ref().ok().cloned());
            match read {
                Ok(source) => Some(Arc::new(read_settings(&source))),
                Err(_) if !is_there() => None,
                Err(why) => Some(SettingsFile::new(name, Err(why)).settings),
            }
        });
        found.unwrap_or_default()
    }
}
