//! Completion and hover for `bitepoint.toml`, from the registry of checks. It works line by line, since it is needed
//! while the text is not yet valid TOML.

use super::Report;
use super::completion_item::{Completion, CompletionKind};
use super::hover_content::{Hover, check_markdown};
use super::settings::{KEYS, SHOP, written};
use crate::checks::{CHECKS, Check, Limit};
use crate::settings::Level;
use crate::syntax::TextRange;

/// A place in the settings.
struct Spot<'t> {
    /// The names that lead to it: those of the table above it, and those before it on its line.
    path: Vec<&'t str>,
    kind: Kind,
    /// The word around it, with its quotes.
    span: TextRange,
    text: &'t str,
    /// Whether a value follows on the line.
    is_given: bool,
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    /// The name of a table, in its brackets.
    Table,
    Key,
    Value,
}

fn is_of_word(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '_' || c == '-'
}

impl<'t> Spot<'t> {
    fn of(text: &'t str, offset: u32) -> Option<Self> {
        let offset = offset as usize;
        let before = text.get(..offset)?;
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        let end = text[offset..]
            .find('\n')
            .map_or(text.len(), |at| offset + at);
        let line = &text[start..end];
        let mut headers = text[..start].lines().rev().map(str::trim_start);
        let header = headers.find_map(|line| line.strip_prefix('['));
        let header = header.map(|rest| rest.split(']').next().unwrap_or_default());
        let names = |path: &'t str| {
            path.split('.')
                .map(str::trim)
                .filter(|name| !name.is_empty())
        };
        let typed = &line[..offset - start];
        if typed.contains('#') {
            return None;
        }
        let equals = line.find('=');
        let opened = line.find('[').filter(|at| line[..*at].trim().is_empty());
        let (kind, from) = match (opened, equals) {
            (Some(at), _) if at < typed.len() => (Kind::Table, at + 1),
            (_, Some(at)) if at < typed.len() => (Kind::Value, at + 1),
            _ => (Kind::Key, 0),
        };
        // The word around the place; for a value with its quotes.
        let is_inside = |c: char| match kind {
            Kind::Value => !matches!(c, ',' | '[' | ']' | '#' | '{' | '}' | '\r'),
            Kind::Table | Kind::Key => is_of_word(c),
        };
        let head = typed[from..].trim_end_matches(is_inside).len() + from;
        let rest = line[typed.len()..].find(|c| !is_inside(c));
        let tail = rest.map_or(line.len(), |at| typed.len() + at);
        let word = &line[head..tail];
        let head = head + word.len() - word.trim_start().len();
        let text = word.trim();
        let mut path = Vec::new();
        if kind != Kind::Table {
            path.extend(header.into_iter().flat_map(names));
        }
        let before = match kind {
            Kind::Value => &line[..from - 1],
            Kind::Table | Kind::Key => &line[from..head.max(from)],
        };
        path.extend(names(before));
        Some(Self {
            path,
            kind,
            span: TextRange::new(start + head, start + head + text.len()),
            text,
            is_given: equals.is_some_and(|at| at >= typed.len()),
        })
    }
}

/// What may be written at a place in a file of settings.
pub(super) fn complete_settings(report: &Report, offset: u32) -> Vec<Completion> {
    let Some(spot) = Spot::of(&report.source.text, offset) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let mut add = |kind, label: &str, insert: String, detail: String, doc: String| {
        found.push(Completion {
            label: label.to_owned(),
            kind,
            detail,
            doc,
            insert,
            snippet: None,
            filter: None,
            edits: Vec::new(),
            span: spot.span,
        });
    };
    let with_value = |name: &str, value: &str| match spot.is_given {
        true => name.to_owned(),
        false => format!("{name} = {value}"),
    };
    match (spot.kind, spot.path.as_slice()) {
        (Kind::Table, []) => {
            for (name, doc, _) in KEYS
                .iter()
                .filter(|(_, _, written)| written.starts_with('['))
            {
                let (insert, doc) = ((*name).to_owned(), (*doc).to_owned());
                add(CompletionKind::Keyword, name, insert, String::new(), doc);
            }
        }
        (Kind::Key, []) => {
            for (name, doc, written) in KEYS {
                // A table is inserted after everything else on its line.
                add(
                    CompletionKind::Keyword,
                    name,
                    written.to_owned(),
                    String::new(),
                    doc.to_owned(),
                );
            }
        }
        (Kind::Key, ["limits"]) => {
            let limits = CHECKS
                .iter()
                .flat_map(|check| check.limits.iter().map(move |l| (check, l)));
            for (check, limit) in limits {
                let name = format!("{}.{}", check.name(), limit.name);
                let insert = with_value(&name, &written(limit));
                add(
                    CompletionKind::Check,
                    &name,
                    insert,
                    detail(limit),
                    limit_doc(limit),
                );
            }
        }
        (Kind::Key | Kind::Table, ["limits", check]) => {
            for limit in Check::named(check).map_or(&[][..], |check| check.limits) {
                let insert = with_value(limit.name, &written(limit));
                add(
                    CompletionKind::Field,
                    limit.name,
                    insert,
                    detail(limit),
                    limit_doc(limit),
                );
            }
        }
        (Kind::Key, ["severities"]) => {
            for check in CHECKS.iter().filter(|check| !check.is_fatal()) {
                let own = format!("\"{}\"", check.severity.name());
                let insert = with_value(check.name(), &own);
                let detail = check.severity.name().to_owned();
                add(
                    CompletionKind::Check,
                    check.name(),
                    insert,
                    detail,
                    check.finds.to_owned(),
                );
            }
        }
        (Kind::Key, ["shop"]) => {
            for (name, doc) in SHOP {
                let insert = with_value(name, "\"\"");
                let doc = doc.to_owned();
                add(CompletionKind::Field, name, insert, String::new(), doc);
            }
        }
        (Kind::Value, ["severities", check]) => {
            let own = Check::named(check).map(|check| check.severity);
            for level in Level::ALL {
                let name = format!("\"{}\"", level.name());
                let is_own = matches!(level, Level::At(severity) if Some(severity) == own);
                let detail = if is_own { "the check's own" } else { "" }.to_owned();
                add(
                    CompletionKind::Value,
                    &name.clone(),
                    name,
                    detail,
                    String::new(),
                );
            }
        }
        (Kind::Value, ["limits", check, name]) => {
            if let Some(limit) = limit_named(check, name) {
                let own = written(limit);
                add(
                    CompletionKind::Value,
                    &own.clone(),
                    own,
                    detail(limit),
                    limit_doc(limit),
                );
            }
        }
        _ => {}
    }
    found
}

fn limit_named(check: &str, name: &str) -> Option<&'static Limit> {
    let limits = Check::named(check)?.limits;
    limits.iter().find(|limit| limit.name == name)
}

fn detail(limit: &Limit) -> String {
    format!("{}, by itself {}", limit.dimension, written(limit))
}

fn limit_doc(limit: &Limit) -> String {
    format!("{}\n\n*{}*", limit.what, limit.source)
}

/// What is known about a place in a settings file.
pub(super) fn hover_settings(report: &Report, offset: u32) -> Option<Hover> {
    let spot = Spot::of(&report.source.text, offset)?;
    let mut path = spot.path.clone();
    if spot.kind != Kind::Value {
        path.push(spot.text);
    }
    let markdown = match (spot.kind, path.as_slice()) {
        (Kind::Table | Kind::Key, [key]) => {
            let (name, doc, written) = KEYS.iter().find(|(name, ..)| name == key)?;
            format!("**`{name}`**\n\n{doc}\n\n```toml\n{written}\n```\n")
        }
        (_, ["limits", check, name]) => {
            let limit = limit_named(check, name)?;
            format!(
                "**`{check}.{name}`** · {}\n\n{}\n",
                detail(limit),
                limit_doc(limit)
            )
        }
        (Kind::Value, ["severities", check]) => {
            let check = Check::named(check)?;
            let own = check.severity.name();
            format!(
                "**`{}`** is by itself \"{own}\".\n\n{}\n",
                check.name(),
                check.finds
            )
        }
        (_, ["shop", key]) => {
            let (name, doc) = SHOP.iter().find(|(name, _)| name == key)?;
            format!("**`shop.{name}`**\n\n{doc}\n")
        }
        (_, ["limits" | "severities", check]) => {
            check_markdown(Check::named(check)?, &report.settings)
        }
        _ => return None,
    };
    Some(Hover {
        markdown,
        drawing_at: None,
        terms: Vec::new(),
        span: spot.span,
    })
}
