//! A check and its documentation.

use super::{Context, Found, Limit};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::model::System;
use crate::settings::{Level, Settings};
use crate::syntax::{format, parse};

/// The source of findings that come from the language's own rules.
pub const LANGUAGE: &str = "the language's own rule";

/// One check and its documentation.
#[derive(Debug)]
pub struct Check {
    /// The name that findings, `allow` and settings use.
    pub id: CheckId,
    /// The severity of its findings, unless the settings set another.
    pub severity: Severity,
    /// What it finds, as a sentence.
    pub finds: &'static str,
    /// Why that matters, as a sentence.
    pub why: &'static str,
    /// The limits that settings may change; may be empty.
    pub limits: &'static [Limit],
    /// The source of the check: a standard, a textbook or a habit of the trade.
    pub source: &'static str,
    /// An example that the check reports.
    pub bad: Example,
    /// The example without the mistake.
    pub good: Example,
    /// When the check runs, and on what.
    pub run: Run,
}

/// A piece of a spec that shows a check at work.
#[derive(Clone, Copy, Debug)]
pub enum Example {
    /// The body of a system that starts from the system in [`REFERENCE`](super::REFERENCE).
    System(&'static str),
    /// A whole file.
    File(&'static str),
    /// The settings in a `bitepoint.toml`.
    Settings(&'static str),
}

impl Example {
    /// The language of the example, and its text in canonical form if it has no flaws.
    pub fn shown(self) -> (&'static str, String) {
        let (language, text) = match self {
            Self::System(body) => {
                let lines = body.lines().map(|line| format!("    {}\n", line.trim()));
                let body: String = lines.collect();
                (
                    "clutch",
                    format!("system example from reference {{\n{body}}}\n"),
                )
            }
            Self::File(text) => ("clutch", text.to_owned()),
            Self::Settings(text) => ("toml", text.to_owned()),
        };
        let canonical = (language == "clutch").then(|| format(&text, &parse(&text)));
        let shown = canonical.flatten().unwrap_or(text);
        (language, shown.trim().to_owned())
    }
}

/// When a check runs.
pub enum Run {
    /// On a system that could be worked out.
    Outcome(fn(&Context<'_>, &mut Found)),
    /// On what a system says, worked out or not.
    System(fn(&System, &mut Found)),
    /// On what a system says, with limits that may be set.
    Limited(fn(&System, &Settings, &mut Found)),
    /// On a system whose numbers have no meaning together.
    Impossible(fn(&System, &mut Found)),
    /// While the text is read or the names in it are resolved.
    Reading,
}

impl std::fmt::Debug for Run {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Outcome(_) => "Outcome",
            Self::System(_) => "System",
            Self::Limited(_) => "Limited",
            Self::Impossible(_) => "Impossible",
            Self::Reading => "Reading",
        })
    }
}

/// Checks are compared by their names.
impl PartialEq for Check {
    fn eq(&self, other: &Self) -> bool {
        self.id == other.id
    }
}

impl Check {
    /// The name in plain words of the trade, in kebab-case.
    pub fn name(&self) -> &'static str {
        self.id.name()
    }

    /// A limit by name, in internal units: as the settings give it, or else the check's own.
    pub fn limit(&self, name: &str, settings: &Settings) -> Option<f64> {
        let limit = self.limits.iter().find(|limit| limit.name == name)?;
        Some(limit.under(settings, self.id))
    }

    /// The severity of its findings under some settings; `None` where it is off.
    pub fn severity_under(&self, settings: &Settings) -> Option<Severity> {
        match settings.level(self.id) {
            None => Some(self.severity),
            Some(Level::At(severity)) => Some(severity),
            Some(Level::Off) => None,
        }
    }

    /// Whether its findings keep a system from being worked out. The severity cannot then be set below an error.
    pub fn is_fatal(&self) -> bool {
        let found_in_text = self.source == LANGUAGE;
        self.severity == Severity::Error
            && (found_in_text || matches!(self.run, Run::Impossible(_)))
    }
}
