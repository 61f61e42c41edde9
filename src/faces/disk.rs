//! Files on the disk, each read and parsed once.

use crate::analysis::{Report, read_settings, report_settings};
use crate::finding::{FileName, Problem};
use crate::model::{Files, Source, join};
use crate::settings::{SETTINGS_FILE, Settings};
use crate::syntax::{MAX_FILE_BYTES, Span};
use ignore::WalkBuilder;
use std::collections::{BTreeMap, HashMap};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How many files are kept as read, beside those in use.
const MOST_KEPT: usize = 1_000;

/// Reads specs and their settings from the disk and keeps them.
#[derive(Default)]
pub struct Disk {
    choice: SettingsChoice,
    read: Mutex<HashMap<FileName, Arc<Source>>>,
    /// `None` where there is no such file.
    settings: Mutex<BTreeMap<FileName, Option<SettingsRead>>>,
}

/// Which settings hold for specs.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub enum SettingsChoice {
    /// Those in the nearest `bitepoint.toml`, in the folder of a spec or above it.
    #[default]
    Nearest,
    /// Those in one file, for every spec.
    File(FileName),
    /// The checks' own.
    None,
}

/// A file of settings.
#[derive(Clone, Debug)]
pub(super) struct SettingsRead {
    pub source: Arc<Source>,
    pub settings: Arc<Settings>,
}

impl SettingsRead {
    /// Reads a file's bytes, or reports why there are none.
    pub fn new(name: FileName, bytes: Result<Vec<u8>, String>) -> Self {
        let (bytes, failed) = match bytes {
            Ok(bytes) => (bytes, None),
            Err(why) => (Vec::new(), Some(format!("`{name}` {why}"))),
        };
        let source = Arc::new(Source::plain_from_bytes(name, &bytes));
        let mut settings = read_settings(&source);
        let place = source.place(Span::default());
        let unread = failed.map(|why| Problem::new("wrong-setting", place, why));
        settings.problems.extend(unread);
        Self {
            source,
            settings: Arc::new(settings),
        }
    }
}

/// The files that may hold the settings of a spec, the nearest first.
pub(super) fn settings_files(spec: &FileName) -> impl Iterator<Item = FileName> {
    let absolute = std::path::absolute(&**spec);
    let folders = absolute.map_or(1, |path| path.ancestors().skip(1).count());
    (0..folders).map(move |up| join(spec, &format!("{}{SETTINGS_FILE}", "../".repeat(up))))
}

impl Disk {
    pub fn with_settings(choice: SettingsChoice) -> Self {
        Self {
            choice,
            ..Self::default()
        }
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

    /// The reports of the settings that held for what was read, in the order of their names.
    pub fn settings_reports(&self) -> Vec<Report> {
        let settings = lock(&self.settings);
        let read = settings.values().flatten().cloned();
        read.map(|read| report_settings(read.source, read.settings))
            .collect()
    }

    /// Whether the settings are those in the nearest file of that name.
    pub(super) fn takes_nearest_settings(&self) -> bool {
        self.choice == SettingsChoice::Nearest
    }

    /// The nearest settings of a spec among those files that count.
    pub(super) fn settings_outside(
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
            let wanted = matches!(self.choice, SettingsChoice::File(_)) || path.is_file();
            wanted.then(|| SettingsRead::new(name.clone(), read_bounded(path)))
        });
        Some(read.as_ref()?.settings.clone())
    }
}

impl Files for Disk {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        if let Some(known) = lock(&self.read).get(name) {
            return Ok(known.clone());
        }
        let bytes = read_bounded(Path::new(&**name))?;
        let source = Arc::new(Source::from_bytes(name.clone(), &bytes));
        let mut known = lock(&self.read);
        if known.len() >= MOST_KEPT {
            known.retain(|_, source| Arc::strong_count(source) > 1);
        }
        known.insert(name.clone(), source.clone());
        Ok(source)
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

/// A path without symbolic links; of what does not exist, the path as it is.
pub(super) fn real(path: &Path) -> PathBuf {
    path.canonicalize().unwrap_or_else(|_| path.to_owned())
}

/// The folder that a path leads into; of a bare name, the one that the program runs in.
pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// What a mutex holds, also after somebody who held it fell over.
pub(super) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Whether a file is a spec, by its name.
pub(super) fn is_spec(path: &Path) -> bool {
    path.extension()
        .is_some_and(|extension| extension == "clutch")
}

/// The specs in a folder and below it, ignore files respected.
pub(super) fn specs_below(folder: &Path) -> impl Iterator<Item = Result<PathBuf, ignore::Error>> {
    let entries = WalkBuilder::new(folder).require_git(false).build();
    entries.filter_map(|entry| match entry {
        Ok(entry) => {
            let is_file = entry.file_type().is_some_and(|kind| kind.is_file());
            (is_file && is_spec(entry.path())).then(|| Ok(entry.into_path()))
        }
        Err(error) => Some(Err(error)),
    })
}

/// The bytes of a file, but no more of them than it takes to see that there are too many.
pub(super) fn read_bounded(path: &Path) -> Result<Vec<u8>, String> {
    let file = std::fs::File::open(path).map_err(|error| reason(&error))?;
    bounded(file).map_err(|error| reason(&error))
}

/// The bytes of a file of a limited size.
pub(super) fn read_at_most(path: &Path, most: usize) -> Result<Vec<u8>, String> {
    let file = std::fs::File::open(path).map_err(|error| reason(&error))?;
    let mut bytes = Vec::new();
    let read = file.take(most as u64 + 1).read_to_end(&mut bytes);
    read.map_err(|error| reason(&error))?;
    if bytes.len() > most {
        let mib = most >> 20;
        return Err(format!("is larger than {mib} MiB, the most that is read"));
    }
    Ok(bytes)
}

/// Everything from a reader, but no more than it takes to see that it is too much.
pub fn bounded(reader: impl Read) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    reader
        .take(MAX_FILE_BYTES as u64 + 1)
        .read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Why a file or a folder cannot be read, as the end of a sentence.
pub(super) fn reason(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "does not exist".to_owned(),
        std::io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
        std::io::ErrorKind::IsADirectory => "is a folder".to_owned(),
        _ => format!("cannot be read: {error}"),
    }
}
