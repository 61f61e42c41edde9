//! Files on the disk. Files that others use are read and parsed once.

use super::paths::seen_from;
use super::read::read_bounded;
use super::read_policy::ReadPolicy;
use super::settings_file::{SettingsFile, settings_files};
use crate::analysis::{Report, report_settings};
use crate::faces::sanitize;
use crate::faces::sync::lock;
use crate::finding::FileName;
use crate::model::{Files, ReadError, Source};
use crate::settings::Settings;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::iter::once;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// How many files are kept in memory besides those in use.
const MOST_KEPT: usize = 1_000;

/// Reads specs and their settings from the disk and keeps them.
#[derive(Default)]
pub struct Disk {
    choice: SettingsChoice,
    policy: ReadPolicy,
    read: Mutex<HashMap<FileName, Arc<Source>>>,
    /// Every file that was read, kept or not.
    inputs: Mutex<HashSet<FileName>>,
    /// For each folder with specs: the real paths of the files that they use, if they may be read.
    used: Mutex<HashMap<String, Used>>,
    /// The settings files by name; `None` for a file that does not exist.
    settings: Mutex<BTreeMap<FileName, Option<SettingsFile>>>,
}

type Used = HashMap<FileName, Result<PathBuf, ReadError>>;

/// Which settings hold for specs.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub enum SettingsChoice {
    /// Those in the nearest `bitepoint.toml`, in the folder of a spec or above it.
    #[default]
    Nearest,
    /// Those in one file, for every spec.
    File(FileName),
    /// The checks' own defaults.
    None,
}

impl Disk {
    /// A disk whose specs have these settings.
    pub fn with_settings(choice: SettingsChoice) -> Self {
        Self {
            choice,
            ..Self::default()
        }
    }

    /// The disk for work in some folders. A spec may use the files in them.
    pub fn working_in(self, paths: &[PathBuf]) -> Self {
        let folders: Vec<PathBuf> = paths.iter().filter(|p| p.is_dir()).cloned().collect();
        Self {
            policy: ReadPolicy::of_folders(&folders),
            ..self
        }
    }

    /// A file by its name below a folder, unless links lead out of the project.
    ///
    /// # Errors
    /// Why it is not read, as the end of a sentence.
    pub fn read_below(&self, folder: &Path, name: &FileName) -> Result<Arc<Source>, String> {
        let any_spec = Self::name(&folder.join("any.clutch"));
        self.used(&any_spec, name).map_err(|refused| refused.why)
    }

    /// A file that a spec uses, if its settings allow that.
    ///
    /// # Errors
    /// Why it is not read.
    pub(crate) fn used_under(
        &self,
        settings: &Settings,
        spec: &FileName,
        name: &FileName,
    ) -> Result<Arc<Source>, ReadError> {
        let [spec, file] = [spec, name].map(|name| Path::new(&**name));
        let path = self.policy.used(spec, &settings.library, file)?;
        Ok(self.read_and_keep(&path, name)?)
    }

    /// The names of all files that were read, of the settings, and of the pictures that these name.
    pub fn inputs(&self) -> Vec<FileName> {
        let settings = lock(&self.settings);
        let settings = settings.iter().filter_map(|(name, read)| {
            let logo = &read.as_ref()?.settings.shop.logo;
            Some(once(name).chain(logo))
        });
        let read = lock(&self.inputs);
        read.iter().chain(settings.flatten()).cloned().collect()
    }

    /// The name under which a path goes in findings.
    pub fn name(path: &Path) -> FileName {
        let text = path.to_string_lossy();
        let text = text.strip_prefix("./").unwrap_or(&text);
        if std::path::MAIN_SEPARATOR == '/' {
            text.into()
        } else {
            text.replace(std::path::MAIN_SEPARATOR, "/").into()
        }
    }

    /// The reports of the settings that held for the specs read so far, in the order of their names.
    pub fn settings_reports(&self) -> Vec<Report> {
        let settings = lock(&self.settings);
        let read = settings.values().flatten().cloned();
        read.map(|read| report_settings(read.source, read.settings))
            .collect()
    }

    /// Whether each spec has the settings of the nearest settings file.
    pub(crate) fn takes_nearest_settings(&self) -> bool {
        self.choice == SettingsChoice::Nearest
    }

    /// The nearest settings of a spec, among the files that `counts` accepts.
    pub(crate) fn settings_outside(
        &self,
        spec: &FileName,
        counts: impl Fn(&FileName) -> bool,
    ) -> Arc<Settings> {
        let mut names = settings_files(spec).filter(|name| counts(name));
        names
            .find_map(|name| self.settings_in(name))
            .unwrap_or_default()
    }

    /// The settings in a file, if there is one.
    fn settings_in(&self, name: FileName) -> Option<Arc<Settings>> {
        let mut known = lock(&self.settings);
        let read = known.entry(name).or_insert_with_key(|name| {
            let path = Path::new(&**name);
            if matches!(self.choice, SettingsChoice::File(_)) {
                return Some(SettingsFile::new(name.clone(), read_bounded(path)));
            }
            // A link that leads nowhere is a mistake and not a missing settings file.
            path.symlink_metadata().is_ok().then(|| {
                let bytes = self.policy.settings(path);
                let bytes = bytes.and_then(|path| read_bounded(&path));
                SettingsFile::new(name.clone(), bytes)
            })
        });
        Some(read.as_ref()?.settings.clone())
    }
}

impl Disk {
    /// A file by its name, read from its real path.
    fn read_from(&self, path: &Path, name: &FileName) -> Result<Arc<Source>, String> {
        if let Some(known) = lock(&self.read).get(name) {
            return Ok(known.clone());
        }
        let bytes = read_bounded(path)?;
        lock(&self.inputs).insert(name.clone());
        Ok(Arc::new(Source::from_bytes(name.clone(), &bytes)))
    }

    /// A file that others use.
    fn read_and_keep(&self, path: &Path, name: &FileName) -> Result<Arc<Source>, String> {
        if let Some(known) = lock(&self.read).get(name) {
            return Ok(known.clone());
        }
        let source = self.read_from(path, name)?;
        let mut known = lock(&self.read);
        if known.len() >= MOST_KEPT {
            known.retain(|_, source| Arc::strong_count(source) > 1);
        }
        known.insert(name.clone(), source.clone());
        Ok(source)
    }
}

impl Files for Disk {
    /// A file that the user named or that was found in a folder, wherever its links lead.
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        self.read_from(Path::new(&**name), name)
    }

    fn used(&self, spec: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        let folder = spec.rsplit_once('/').map_or("", |(folder, _)| folder);
        let known = lock(&self.used)
            .get(folder)
            .and_then(|used| used.get(name).cloned());
        let path = match known {
            Some(known) => known,
            None => {
                let library = &self.settings(spec).library;
                let path = self
                    .policy
                    .used(Path::new(&**spec), library, Path::new(&**name));
                let mut used = lock(&self.used);
                let used = used.entry(folder.to_owned()).or_default();
                used.insert(name.clone(), path.clone());
                path
            }
        }?;
        Ok(self.read_and_keep(&path, name)?)
    }

    /// The path of a file as seen from the user's folder.
    fn shown(&self, name: &FileName) -> FileName {
        let path = Path::new(&**name);
        if !path.is_absolute() {
            return name.clone();
        }
        let here = std::env::current_dir().ok();
        let seen = here.and_then(|here| seen_from(&here, path));
        seen.map_or_else(|| name.clone(), |seen| Self::name(&seen))
    }

    fn settings(&self, spec: &FileName) -> Arc<Settings> {
        let found = match &self.choice {
            SettingsChoice::None => None,
            SettingsChoice::File(name) => self.settings_in(name.clone()),
            SettingsChoice::Nearest => settings_files(spec).find_map(|name| self.settings_in(name)),
        };
        found.unwrap_or_default()
    }
}

/// A path as people read it.
pub(crate) fn shown(path: &Path) -> String {
    sanitize::name(&Disk::name(path))
}
