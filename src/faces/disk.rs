//! Files on the disk, each read and parsed once.

use super::read_policy::ReadPolicy;
use super::sanitize;
use crate::analysis::{Report, read_settings, report_settings};
use crate::finding::{FileName, Problem};
use crate::model::{Files, ReadError, Source, join};
use crate::settings::{SETTINGS_FILE, Settings};
use crate::syntax::{MAX_FILE_BYTES, Span};
use ignore::WalkBuilder;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How many files are kept as read, beside those in use.
const MOST_KEPT: usize = 1_000;

/// Reads specs and their settings from the disk and keeps them.
#[derive(Default)]
pub struct Disk {
    choice: SettingsChoice,
    policy: ReadPolicy,
    read: Mutex<HashMap<FileName, Arc<Source>>>,
    /// Every file that was read, kept or not.
    inputs: Mutex<HashSet<FileName>>,
    /// For each folder with specs, where the files that these use really are, if they may be read.
    used: Mutex<HashMap<String, Used>>,
    /// `None` where there is no such file.
    settings: Mutex<BTreeMap<FileName, Option<SettingsRead>>>,
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
            Err(why) => {
                // Its place says where it is.
                let last = name.rsplit('/').next().unwrap_or_default();
                (Vec::new(), Some(format!("`{last}` {why}")))
            }
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

    /// The disk for somebody who works in some folders: a spec may use what lies in them.
    pub fn working_in(self, paths: &[PathBuf]) -> Self {
        let folders: Vec<PathBuf> = paths.iter().filter(|p| p.is_dir()).cloned().collect();
        Self {
            policy: ReadPolicy::of_folders(&folders),
            ..self
        }
    }

    /// A file by the name that it has below a folder, unless links lead out of the project there.
    ///
    /// # Errors
    /// Why it is not read, as the end of a sentence.
    pub fn read_below(&self, folder: &Path, name: &FileName) -> Result<Arc<Source>, String> {
        let any_spec = Self::name(&folder.join("any.clutch"));
        self.used(&any_spec, name).map_err(|refused| refused.why)
    }

    /// A file that a spec uses, if it may under some settings.
    ///
    /// # Errors
    /// Why it is not read.
    pub(super) fn used_under(
        &self,
        settings: &Settings,
        spec: &FileName,
        name: &FileName,
    ) -> Result<Arc<Source>, ReadError> {
        let [spec, file] = [spec, name].map(|name| Path::new(&**name));
        let path = self.policy.used(spec, &settings.library, file)?;
        Ok(self.read_from(&path, name)?)
    }

    /// The names of all files that were read, and of the settings.
    pub fn inputs(&self) -> Vec<FileName> {
        let settings = lock(&self.settings);
        let settings = settings.iter().filter(|(_, read)| read.is_some());
        let read = lock(&self.inputs);
        read.iter()
            .chain(settings.map(|(name, _)| name))
            .cloned()
            .collect()
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
            if matches!(self.choice, SettingsChoice::File(_)) {
                return Some(SettingsRead::new(name.clone(), read_bounded(path)));
            }
            // A link that leads nowhere is a mistake, and not the same as no settings.
            path.symlink_metadata().is_ok().then(|| {
                let bytes = self.policy.settings(path);
                let bytes = bytes.and_then(|path| read_bounded(&path));
                SettingsRead::new(name.clone(), bytes)
            })
        });
        Some(read.as_ref()?.settings.clone())
    }
}

impl Disk {
    /// A file by its name, from where it really is.
    fn read_from(&self, path: &Path, name: &FileName) -> Result<Arc<Source>, String> {
        if let Some(known) = lock(&self.read).get(name) {
            return Ok(known.clone());
        }
        let bytes = read_bounded(path)?;
        lock(&self.inputs).insert(name.clone());
        let source = Arc::new(Source::from_bytes(name.clone(), &bytes));
        let mut known = lock(&self.read);
        if known.len() >= MOST_KEPT {
            known.retain(|_, source| Arc::strong_count(source) > 1);
        }
        known.insert(name.clone(), source.clone());
        Ok(source)
    }
}

impl Files for Disk {
    /// A file that the user names or that was found in a folder, wherever it leads.
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
        Ok(self.read_from(&path, name)?)
    }

    /// Its path as seen from where the user is.
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

/// A path without symbolic links. What does not exist is where it would be.
pub(super) fn real(path: &Path) -> PathBuf {
    // Nothing can be opened by a longer one, and there are very many folders above it.
    const LONGEST: usize = 4096;
    let is_short = path.as_os_str().len() <= LONGEST;
    let above = path.ancestors().filter(|_| is_short);
    let known = above.map(|above| match above.as_os_str().is_empty() {
        true => (above, Path::new(".").canonicalize()),
        false => (above, above.canonicalize()),
    });
    let mut known = known.filter_map(|(above, real)| Some((above, real.ok()?)));
    match known.next() {
        Some((above, real)) if above == path => real,
        Some((above, real)) => match path.strip_prefix(above) {
            Ok(rest) => real.join(rest),
            Err(_) => path.to_owned(),
        },
        None => path.to_owned(),
    }
}

/// A path for people.
pub(super) fn shown(path: &Path) -> String {
    sanitize::name(&Disk::name(path))
}

/// A path as seen from a folder; `None` where they have nothing in common.
pub(super) fn seen_from(folder: &Path, path: &Path) -> Option<PathBuf> {
    let is_common = |(a, b): &(Component<'_>, Component<'_>)| a == b;
    let common = folder.components().zip(path.components());
    let common = common.take_while(is_common).count();
    let is_root = |part: &Component<'_>| matches!(part, Component::RootDir | Component::Prefix(_));
    let is_nothing = path.components().take(common).all(|part| is_root(&part));
    let up = folder
        .components()
        .skip(common)
        .map(|_| Component::ParentDir);
    (!is_nothing).then(|| up.chain(path.components().skip(common)).collect())
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
        .is_some_and(|extension| extension.eq_ignore_ascii_case("clutch"))
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
