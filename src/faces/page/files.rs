//! The texts of a session, which replace a disk.

use super::named;
use crate::analysis::{Report, Shelf, read_settings, report_settings};
use crate::faces::sheet::Logo;
use crate::finding::FileName;
use crate::model::{Files, Source, join, relative};
use crate::settings::{SETTINGS_FILE, Settings};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Specs, settings and pictures by their names.
#[derive(Debug, Default)]
pub(super) struct Texts {
    specs: BTreeMap<FileName, Arc<Source>>,
    settings: BTreeMap<FileName, (Arc<Source>, Arc<Settings>)>,
    pictures: BTreeMap<FileName, Logo>,
}

impl Texts {
    /// Replaces all texts. Unchanged ones are not parsed again.
    pub fn replace(&mut self, texts: BTreeMap<String, String>) {
        let before = std::mem::take(self);
        for (name, text) in texts {
            // Another spelling of the same path is the same file.
            let name = join("", &name);
            if name.rsplit('/').next() == Some(SETTINGS_FILE) {
                let source = Arc::new(Source::plain(name.clone(), text));
                let settings = Arc::new(read_settings(&source));
                self.settings.insert(name, (source, settings));
                continue;
            }
            if let Some(picture) = Logo::from_url(&text) {
                self.pictures.insert(name, picture);
                continue;
            }
            let same = before.specs.get(&name).filter(|source| source.text == text);
            let source = same.cloned();
            let source = source.unwrap_or_else(|| Arc::new(Source::new(name.clone(), text)));
            self.specs.insert(name, source);
        }
    }

    /// A spec by its name.
    ///
    /// # Errors
    /// There is none; the error is a sentence.
    pub fn spec(&self, file: &str) -> Result<Arc<Source>, String> {
        self.read(&named(file))
            .map_err(|why| format!("`{file}` {why}"))
    }

    /// The settings that hold for a spec: those of the nearest folder that has any.
    fn settings_of(&self, spec: &str) -> Option<&(Arc<Source>, Arc<Settings>)> {
        let folders = spec.matches('/').count();
        let mut names =
            (0..=folders).map(|up| join(spec, &format!("{}{SETTINGS_FILE}", "../".repeat(up))));
        names.find_map(|name| self.settings.get(&name))
    }

    /// The findings in the settings that hold for a spec.
    pub fn settings_report(&self, spec: &str) -> Option<Report> {
        let (source, settings) = self.settings_of(spec)?;
        Some(report_settings(source.clone(), settings.clone()))
    }

    /// The shop's picture from the settings that hold for a spec; `None` if it is not among the texts.
    pub fn logo(&self, spec: &str) -> Option<Logo> {
        let (_, settings) = self.settings_of(&named(spec))?;
        self.pictures.get(settings.shop.logo.as_ref()?).cloned()
    }

    /// The files of parts beside a spec.
    pub fn shelves(&self, spec: &str) -> Vec<Shelf> {
        let others = self.specs.values().filter(|source| *source.name != *spec);
        others
            .filter(|source| source.systems().next().is_none() && source.parts().next().is_some())
            .map(|source| Shelf {
                path: relative(spec, &source.name),
                source: source.clone(),
            })
            .collect()
    }

    /// The other specs, by their paths from one.
    pub fn paths_from(&self, spec: &str) -> Vec<String> {
        let others = self.specs.keys().filter(|name| ***name != *spec);
        others.map(|name| relative(spec, name)).collect()
    }
}

impl Files for Texts {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let source = self.specs.get(name).cloned();
        source.ok_or_else(|| "does not exist".to_owned())
    }

    fn settings(&self, spec: &FileName) -> Arc<Settings> {
        let found = self.settings_of(spec);
        found
            .map(|(_, settings)| settings.clone())
            .unwrap_or_default()
    }
}
