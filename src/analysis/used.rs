//! The files that a report has already read, to look at them again.

use super::Report;
use crate::finding::FileName;
use crate::model::{Files, Source};
use crate::settings::Settings;
use std::sync::Arc;

/// The files that a report has already read.
pub(super) struct Used<'a>(pub &'a Report);

impl Files for Used<'_> {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let used = self.0.used.iter().find(|source| source.name == *name);
        used.cloned().ok_or_else(|| "does not exist".to_owned())
    }

    fn settings(&self, _spec: &FileName) -> Arc<Settings> {
        self.0.settings.clone()
    }
}
