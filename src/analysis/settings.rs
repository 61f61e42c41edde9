//! Reads the settings in a `bitepoint.toml`.

use super::Report;
use super::kept::Kept;
use crate::check_id::CheckId;
use crate::checks::{CHECKS, Check, Finding, Limit};
use crate::finding::{FileName, Place, Problem, Severity};
use crate::model::{Bundle, FileFindings, Source, article, join, standalone_value};
use crate::quantity::{Dimension, nearest};
use crate::settings::{Level, Settings, WrittenPath};
use crate::syntax::{Span, TextRange};
use std::collections::HashMap;
use std::ops::Range;
use std::sync::{Arc, OnceLock};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The largest settings file; a longer one is refused.
const MAX_SETTINGS_BYTES: usize = 1 << 20;

/// The keys that may be set: name, meaning, and what is written.
pub(super) const KEYS: [(&str, &str, &str); 4] = [
    (
        "library",
        "Folders in which a `use` is looked up behind the folder of the file that uses it.",
        "library = [\"parts\"]",
    ),
    (
        "limits",
        "What the checks hold results against, in place of their own limits.",
        "[limits]\nheavy-pedal.effort = \"140 N\"",
    ),
    (
        "severities",
        "How bad what a check finds is, or \"off\" for a check that is not wanted.",
        "[severities]\nodd-size = \"off\"",
    ),
    (
        "shop",
        "The heading of the fitting sheets: the shop's `name`, a `contact`, and a `logo`, a PNG, JPEG or SVG \
         picture in the folder of this file or below it.",
        "[shop]\nname = \"Heron Yard Clutches\"\ncontact = \"555 0100\"",
    ),
];

/// The keys of a shop, each with its meaning.
pub(super) const SHOP: [(&str, &str); 3] = [
    ("name", "The name of the shop."),
    ("contact", "How it is reached, on one line."),
    (
        "logo",
        "A PNG, JPEG or SVG picture in the folder of this file or below it.",
    ),
];

/// Reads settings.
///
/// Never fails. What is wrong is in [`Settings::problems`], and everything else holds.
pub fn read_settings(source: &Source) -> Settings {
    let mut reader = Reader {
        source,
        settings: Settings::of(&source.name),
    };
    reader.read();
    let mut settings = reader.settings;
    let at = |problem: &Problem| source.range(problem.place.span);
    settings.problems.sort_by_key(at);
    settings
}

/// The mistakes of a settings file, as a report like that of any other file.
pub fn report_settings(source: Arc<Source>, settings: Arc<Settings>) -> Report {
    // Settings hold for specs and not for the settings file itself.
    let mut kept = Kept::under(&Arc::default(), std::slice::from_ref(&source));
    for problem in &settings.problems {
        kept.problem(problem.clone());
    }
    let (findings, _) = kept.finish();
    Report {
        bundle: Bundle::alone(source.clone()),
        source,
        settings,
        findings,
        used: Vec::new(),
        uses: Vec::new(),
        by_statement: OnceLock::new(),
        file: FileFindings::default(),
        systems: Vec::new(),
        allowed: Vec::new(),
        is_whole: true,
        shown: HashMap::new(),
    }
}

/// A finding in a spec that its settings have mistakes, for users who look only at the spec.
pub(super) fn mistaken_settings(settings: &Settings, spec: &Source) -> Option<Finding> {
    let file = settings.file.as_ref()?;
    let first = settings.problems.first()?;
    let more = match settings.problems.len() - 1 {
        0 => String::new(),
        n => format!(", and {n} more"),
    };
    let message = format!(
        "in `{}`, which holds for this spec: {}{more}",
        file.rsplit('/').next().unwrap_or(file),
        first.message
    );
    let mut problem = Problem::new(CheckId::WrongSetting, spec.place(Span::default()), message);
    problem.help = first.help.clone();
    let problem = problem.related(first.place.clone(), "it stands here");
    Some(Finding::new(problem, None))
}

struct Reader<'a> {
    source: &'a Source,
    settings: Settings,
}

type Item<'a, 'i> = &'a Spanned<DeValue<'i>>;

impl Reader<'_> {
    fn read(&mut self) {
        let text = &self.source.text;
        for flaw in self.source.tree.flaws() {
            let problem = Problem::from_flaw(flaw, &self.source.name);
            self.settings.problems.push(problem);
        }
        if text.len() > MAX_SETTINGS_BYTES {
            let message = format!("settings are no longer than {MAX_SETTINGS_BYTES} bytes");
            self.problem(CheckId::TooLarge, 0..0, message);
            return;
        }
        let (root, errors) = DeTable::parse_recoverable(text);
        for error in errors {
            let span = error.span().unwrap_or_default();
            let message = format!("this is not written as TOML has it: {}", error.message());
            self.problem(CheckId::Syntax, span, message);
        }
        for (key, value) in root.get_ref() {
            match &**key.get_ref() {
                "library" => self.library(value),
                "limits" => self.limits(value),
                "severities" => self.severities(value),
                "shop" => self.shop(value),
                name => {
                    let problem = self.wrong(key.span(), format!("there is no setting `{name}`"));
                    self.put(match nearest(name, KEYS.map(|(name, ..)| name)) {
                        Some(meant) => problem.did_you_mean(Some(meant)),
                        None => problem.help(
                            "there are `library`, a list of folders, and the tables `limits`, \
                             `severities` and `shop`",
                        ),
                    });
                }
            }
        }
    }

    fn library(&mut self, value: Item) {
        let Some(folders) = value.get_ref().as_array() else {
            let help = "write a list of folders: `library = [\"parts\"]`";
            self.put(
                self.wrong(value.span(), "`library` is a list of folders")
                    .help(help),
            );
            return;
        };
        for folder in folders {
            match folder.get_ref().as_str() {
                Some(path) if !path.is_empty() => {
                    let name = self.path(&folder.span(), path, true);
                    self.settings.library.push(name);
                }
                _ => self.put(self.wrong(folder.span(), "a folder of the library is a path")),
            }
        }
    }

    fn shop(&mut self, value: Item) {
        let Some(table) = value.get_ref().as_table() else {
            let help = "write a table: `[shop]`, and below it `name = \"Heron Yard Clutches\"`";
            self.put(self.wrong(value.span(), "`shop` is a table").help(help));
            return;
        };
        for (key, value) in table {
            let word = &**key.get_ref();
            let Some(known) = SHOP.iter().find(|(name, _)| *name == word) else {
                let problem = self.wrong(key.span(), format!("`shop` has no `{word}`"));
                self.put(match nearest(word, SHOP.map(|(name, _)| name)) {
                    Some(meant) => problem.did_you_mean(Some(meant)),
                    None => problem.help("it has `name`, `contact` and `logo`"),
                });
                continue;
            };
            let text = value
                .get_ref()
                .as_str()
                .filter(|text| !text.trim().is_empty());
            let Some(text) = text else {
                let what = format!("`{word}` is a text in quotes");
                self.put(self.wrong(value.span(), what));
                continue;
            };
            match known.0 {
                "name" => self.settings.shop.name = Some(text.to_owned()),
                "contact" => self.settings.shop.contact = Some(text.to_owned()),
                _ => self.settings.shop.logo = Some(self.path(&value.span(), text, false)),
            }
        }
    }

    /// Notes a path, and gives its target.
    fn path(&mut self, span: &Range<usize>, text: &str, is_folder: bool) -> FileName {
        let target = join(&self.source.name, &text.replace('\\', "/"));
        self.settings.paths.push(WrittenPath {
            place: self.place(span),
            text: text.to_owned(),
            target: target.clone(),
            is_folder,
        });
        target
    }

    fn severities(&mut self, value: Item) {
        let Some(table) = value.get_ref().as_table() else {
            let help = "write a table: `[severities]`, and below it `odd-size = \"off\"`";
            let what = "`severities` is a table of checks";
            self.put(self.wrong(value.span(), what).help(help));
            return;
        };
        for (key, value) in table {
            if let Some(check) = self.check(&key.span(), key.get_ref()) {
                self.severity(check, value);
            }
        }
    }

    fn severity(&mut self, check: &'static Check, value: Item) {
        let word = value.get_ref().as_str().unwrap_or_default();
        let Some(level) = Level::named(word) else {
            let names = Level::ALL.map(Level::name);
            let what = format!("a severity is one of \"{}\"", names.join("\", \""));
            let problem = self.wrong(value.span(), what);
            self.put(match nearest(word, names) {
                Some(meant) => Self::instead(problem, &format!("\"{meant}\"")),
                None => problem,
            });
            return;
        };
        if check.is_fatal() && level != Level::At(Severity::Error) {
            let what = format!(
                "`{}` is always an error: with that in it, a spec cannot be worked out",
                check.name()
            );
            self.put(self.wrong(value.span(), what));
            return;
        }
        self.settings.set_level(check.id, level);
    }

    fn limits(&mut self, value: Item) {
        let Some(table) = value.get_ref().as_table() else {
            let help = "write a table: `[limits]`, and below it `heavy-pedal.effort = \"140 N\"`";
            let what = "`limits` is a table of checks";
            self.put(self.wrong(value.span(), what).help(help));
            return;
        };
        for (key, value) in table {
            if let Some(check) = self.check(&key.span(), key.get_ref()) {
                self.limits_of(check, &key.span(), value);
            }
        }
    }

    fn limits_of(&mut self, check: &'static Check, key: &Range<usize>, value: Item) {
        let name = check.id;
        if check.limits.is_empty() {
            self.put(self.wrong(key.clone(), format!("`{name}` has no limits")));
            return;
        }
        let known = || check.limits.iter().map(|limit| limit.name);
        let list = || {
            known()
                .map(|limit| format!("`{name}.{limit}`"))
                .collect::<Vec<_>>()
        };
        let Some(table) = value.get_ref().as_table() else {
            let what = format!("which limit of `{name}` is meant?");
            let help = format!("it has {}", list().join(", "));
            self.put(self.wrong(key.clone(), what).help(help));
            return;
        };
        for (key, value) in table {
            let word = &**key.get_ref();
            let Some(limit) = check.limits.iter().find(|limit| limit.name == word) else {
                let problem = self.wrong(key.span(), format!("`{name}` has no limit `{word}`"));
                self.put(match nearest(word, known()) {
                    Some(meant) => problem.did_you_mean(Some(meant)),
                    None => problem.help(format!("it has {}", list().join(", "))),
                });
                continue;
            };
            if let Some(number) = self.limit(limit, value) {
                self.settings.set_limit(name, limit.name, number);
            }
        }
    }

    /// A limit's value in internal units, if it is one.
    fn limit(&mut self, limit: &Limit, value: Item) -> Option<f64> {
        let (number, dimension) = match value.get_ref() {
            DeValue::String(text) => self.quantity(text, &value.span())?,
            DeValue::Integer(number) => {
                let number = i64::from_str_radix(number.as_str(), number.radix());
                (
                    number.map_or(f64::NAN, |number| number as f64),
                    Dimension::NUMBER,
                )
            }
            DeValue::Float(number) => (
                number.as_str().parse().unwrap_or(f64::NAN),
                Dimension::NUMBER,
            ),
            _ => {
                let what = format!("`{}` is {}", limit.name, article(limit.dimension));
                self.put(self.wrong(value.span(), what).help(in_quotes(limit)));
                return None;
            }
        };
        if dimension != limit.dimension {
            let what = format!(
                "`{}` is {}, and this is {}",
                limit.name,
                article(limit.dimension),
                article(dimension)
            );
            let problem = Problem::new(CheckId::WrongUnit, self.place(&value.span()), what);
            self.put(problem.help(in_quotes(limit)));
            return None;
        }
        if !(number.is_finite() && number >= 0.0) {
            let what = "a limit is not below zero";
            let problem = Problem::new(CheckId::OutOfRange, self.place(&value.span()), what);
            self.put(problem.help("to silence a check, set its severity to \"off\""));
            return None;
        }
        Some(number)
    }

    /// A quantity in quotes, read as the language reads it.
    fn quantity(&mut self, text: &str, span: &Range<usize>) -> Option<(f64, Dimension)> {
        let whole = self.place(span);
        // A text with escapes is written differently from its value.
        let begins = whole.span.start + 1;
        let inner = begins as usize..begins as usize + text.len();
        let as_written = self.source.text.get(inner) == Some(text);
        match standalone_value(text, &self.source.name, begins) {
            Ok(value) => Some(value),
            Err(problems) => {
                for mut problem in problems {
                    if !as_written {
                        problem.place = whole.clone();
                        problem.related.clear();
                        problem.fixes.clear();
                    }
                    self.put(problem);
                }
                None
            }
        }
    }

    fn check(&mut self, span: &Range<usize>, name: &str) -> Option<&'static Check> {
        let check = Check::named(name);
        if check.is_none() {
            let known = CHECKS.iter().map(|check| check.name());
            let problem = self.wrong(span.clone(), format!("there is no check `{name}`"));
            self.put(match nearest(name, known) {
                Some(meant) => problem.did_you_mean(Some(meant)),
                None => problem.help("`bitepoint explain` lists the checks"),
            });
        }
        check
    }

    fn place(&self, span: &Range<usize>) -> Place {
        self.source.place_at(TextRange::new(span.start, span.end))
    }

    fn wrong(&self, span: Range<usize>, message: impl Into<String>) -> Problem {
        Problem::new(CheckId::WrongSetting, self.place(&span), message)
    }

    /// Adds a fix that replaces a wrong text.
    fn instead(problem: Problem, text: &str) -> Problem {
        let place = problem.place.clone();
        problem
            .help(format!("did you mean {text}?"))
            .fix(format!("write {text}"), place, text)
    }

    fn problem(&mut self, check: CheckId, span: Range<usize>, message: impl Into<String>) {
        let place = self.place(&span);
        self.put(Problem::new(check, place, message));
    }

    fn put(&mut self, problem: Problem) {
        self.settings.problems.push(problem);
    }
}

/// How a limit is written, with the check's own limit as the example.
fn in_quotes(limit: &Limit) -> String {
    match limit.dimension {
        Dimension::NUMBER => format!("write a number, such as {}", written(limit)),
        _ => format!("write it in quotes, with its unit: {}", written(limit)),
    }
}

/// The check's own limit, as a settings file would write it.
pub(super) fn written(limit: &Limit) -> String {
    let own = crate::quantity::Display::default().show_finely(limit.value, limit.dimension);
    match limit.dimension {
        Dimension::NUMBER => own,
        _ => format!("\"{own}\""),
    }
}
