//! The files as they will be once some have new names.

use super::file_view::FileView;
use crate::analysis::Moves;
use crate::faces::files::settings_file::settings_files;
use crate::finding::FileName;
use crate::model::{Files, ReadError, Source};
use crate::settings::Settings;
use std::sync::Arc;

/// Reads files by their new names.
pub(crate) struct AfterMoves<'a> {
    pub(super) files: &'a FileView,
    pub(super) moves: &'a Moves,
}

impl AfterMoves<'_> {
    fn old_name(&self, new: &FileName) -> Result<FileName, String> {
        let old = self.moves.old_name(new);
        old.ok_or_else(|| "will not exist".to_owned())
    }
}

impl Files for AfterMoves<'_> {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        self.used(name, name).map_err(|refused| refused.why)
    }

    fn used(&self, spec: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        let spec = self.old_name(spec)?;
        self.files.read(&spec, &self.old_name(name)?)
    }

    fn settings(&self, spec: &FileName) -> Arc<Settings> {
        let found = settings_files(spec).find_map(|name| {
            let old = self.moves.old_name(&name)?;
            let settings = self.files.settings(&old, |_, _| {});
            (settings.file.as_ref() == Some(&old)).then_some(settings)
        });
        let mut settings = found.unwrap_or_default();
        // Its entries follow the folders that they name.
        let moved = |folder: &FileName| self.moves.new_name(folder);
        let library: Vec<FileName> = settings.library.iter().map(moved).collect();
        if library != settings.library {
            Arc::make_mut(&mut settings).library = library;
        }
        settings
    }
}
