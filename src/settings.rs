//! What a user sets for many specs at once: limits, severities, folders of libraries.
//!
//! Plain data. `analysis` reads it from a text; the faces read the files.

use crate::check_id::CheckId;
use crate::finding::{FileName, Place, Problem, Severity};
use std::collections::HashMap;

/// The name of a settings file.
pub const SETTINGS_FILE: &str = "bitepoint.toml";

/// Whether a file holds settings, judged by its name.
pub fn is_settings(file: &str) -> bool {
    file.rsplit('/').next() == Some(SETTINGS_FILE)
}

/// The settings that hold for a spec. The default leaves every check at its own severity and limits.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Settings {
    /// The file that the settings are in; `None` for the default ones.
    pub file: Option<FileName>,
    /// Folders in which a `use` is looked up after the folder of the file that uses it. They are named as files are.
    pub library: Vec<FileName>,
    /// The shop whose name is on the fitting sheets.
    pub shop: Shop,
    /// Every path in the file, in the order of the text.
    pub paths: Vec<WrittenPath>,
    /// What is wrong with the file.
    pub problems: Vec<Problem>,
    limits: HashMap<(CheckId, &'static str), f64>,
    severities: HashMap<CheckId, Level>,
}

/// A path as it is written in the file of settings.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct WrittenPath {
    /// Where it is, with its quotes.
    pub place: Place,
    /// The path without its quotes.
    pub text: String,
    /// The file or folder that it leads to, named as files are.
    pub target: FileName,
    /// Whether the target is a folder.
    pub is_folder: bool,
}

/// The shop that fits the clutch or sells the kit, for the heading of a fitting sheet.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Shop {
    /// The name of the shop.
    pub name: Option<String>,
    /// How it is reached, on one line.
    pub contact: Option<String>,
    /// The picture beside the name, named as files are.
    pub logo: Option<FileName>,
}

/// How a check is reported.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Level {
    /// The check reports nothing.
    Off,
    /// The check's findings have this severity.
    At(Severity),
}

impl Level {
    pub(crate) const ALL: [Self; 5] = [
        Self::At(Severity::Error),
        Self::At(Severity::Warning),
        Self::At(Severity::Info),
        Self::At(Severity::Hint),
        Self::Off,
    ];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::At(severity) => severity.name(),
        }
    }

    pub(crate) fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|level| level.name() == name)
    }
}

impl Settings {
    /// The settings of a file before anything is read from it.
    pub fn of(file: &FileName) -> Self {
        Self {
            file: Some(file.clone()),
            ..Self::default()
        }
    }

    /// Sets a limit of a check, in internal units.
    pub(crate) fn set_limit(&mut self, check: CheckId, limit: &'static str, value: f64) {
        self.limits.insert((check, limit), value);
    }

    pub(crate) fn set_level(&mut self, check: CheckId, level: Level) {
        self.severities.insert(check, level);
    }

    /// A check's limit in internal units; `None` where the settings do not change it.
    pub fn limit(&self, check: CheckId, limit: &'static str) -> Option<f64> {
        self.limits.get(&(check, limit)).copied()
    }

    /// How a check is reported; `None` where the settings do not change it.
    pub fn level(&self, check: CheckId) -> Option<Level> {
        self.severities.get(&check).copied()
    }
}
