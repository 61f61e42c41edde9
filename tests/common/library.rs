//! Files that exist only in a test or a benchmark.
#![allow(dead_code, reason = "each test uses its own share of it")]

use bitepoint::finding::FileName;
use bitepoint::model::{Files, Source};
use bitepoint::settings::Settings;
use std::collections::HashMap;
use std::sync::Arc;

/// Files by name, under some settings. Without files, a disk that is empty.
#[derive(Default)]
pub struct Library {
    files: HashMap<FileName, Arc<Source>>,
    settings: Arc<Settings>,
}

impl Library {
    pub fn new(files: &[(&str, &str)]) -> Self {
        files
            .iter()
            .map(|(name, text)| source(name, text))
            .collect()
    }

    pub fn under(self, settings: Settings) -> Self {
        Self {
            settings: Arc::new(settings),
            ..self
        }
    }
}

impl FromIterator<Arc<Source>> for Library {
    fn from_iter<I: IntoIterator<Item = Arc<Source>>>(files: I) -> Self {
        let named = |source: Arc<Source>| (source.name.clone(), source);
        Self {
            files: files.into_iter().map(named).collect(),
            ..Self::default()
        }
    }
}

impl Files for Library {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let file = self.files.get(name);
        file.cloned().ok_or_else(|| "does not exist".to_owned())
    }

    fn settings(&self, _spec: &FileName) -> Arc<Settings> {
        self.settings.clone()
    }
}

pub fn source(name: &str, text: &str) -> Arc<Source> {
    Arc::new(Source::new(name.into(), text.to_owned()))
}
