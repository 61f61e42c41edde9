//! Options that several verbs have: settings, forms, orders, levels.

use super::CannotRun;
use crate::analysis::{Order, Pick, Vary};
use crate::faces::files::disk::{Disk, SettingsChoice, shown};
use crate::faces::sheet::Form;
use crate::finding::Severity;
use clap::ValueEnum;
use std::path::PathBuf;

/// Where limits, severities and library folders come from.
#[derive(clap::Args, Clone, Debug)]
pub struct Config {
    /// Take the settings from this file [default: the nearest `bitepoint.toml`, in the folder of
    /// a spec or above it]
    #[arg(long, value_name = "FILE", conflicts_with = "no_config")]
    pub config: Option<PathBuf>,
    /// Take no settings from any file
    #[arg(long)]
    pub no_config: bool,
}

impl Config {
    /// A disk with these settings.
    ///
    /// # Errors
    /// The settings file cannot be read.
    pub fn disk(&self) -> Result<Disk, CannotRun> {
        let choice = match &self.config {
            None if self.no_config => SettingsChoice::None,
            None => SettingsChoice::Nearest,
            Some(path) if path.is_file() => SettingsChoice::File(Disk::name(path)),
            Some(path) => return Err(format!("there is no file `{}`", shown(path))),
        };
        Ok(Disk::with_settings(choice))
    }
}

#[derive(ValueEnum, Clone, Copy, PartialEq, Debug)]
pub enum Format {
    /// For people, with the lines that the findings are about
    Text,
    /// For machines; documented in grammar/formats.md
    Json,
}

#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum SheetFormat {
    /// One page without script or network, for a browser and for print
    Html,
    /// Markdown
    Md,
}

impl SheetFormat {
    pub fn form(self) -> Form {
        match self {
            Self::Html => Form::Html,
            Self::Md => Form::Markdown,
        }
    }
}

/// The value of one `--vary`. The alias keeps the option's reader from taking the list for the option's own.
pub type VaryList = Vec<Vary>;

#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum Best {
    /// The release margin at the worst of the tolerances
    Margin,
    /// The lowest pedal effort
    Effort,
    /// The point of release nearest to the middle of where it should lie
    Bite,
    /// The lowest total price
    Price,
}

impl Best {
    pub fn order(self) -> Order {
        match self {
            Self::Margin => Order::Margin,
            Self::Effort => Order::Effort,
            Self::Bite => Order::Bite,
            Self::Price => Order::Price,
        }
    }
}

#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum FailOn {
    Error,
    Warning,
    Info,
    Hint,
}

impl FailOn {
    pub fn severity(self) -> Severity {
        match self {
            Self::Error => Severity::Error,
            Self::Warning => Severity::Warning,
            Self::Info => Severity::Info,
            Self::Hint => Severity::Hint,
        }
    }
}

/// Reads `slave=hy_s22`.
pub fn pick(text: &str) -> Result<Pick, String> {
    match text.split_once('=') {
        Some((block, part)) if !block.trim().is_empty() && !part.trim().is_empty() => {
            Ok((block.trim().to_owned(), part.trim().to_owned()))
        }
        _ => Err("give a block and a part, such as `slave=hy_s22`".to_owned()),
    }
}
