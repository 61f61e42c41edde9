//! The completions at every place of every example, and what accepting them does.

mod common;

use bitepoint::analysis::{
    Completion, CompletionKind, Report, Role, Work, analyse, analyse_after, completions, highlights,
};
use bitepoint::faces::Disk;
use bitepoint::model::{Files, Source};
use bitepoint::syntax::{TextRange, TokenKind, parse, tokens};
use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;

use bitepoint::syntax::{StatementKind, ValueKind, quoted};
use common::{Library, source};
use proptest::prelude::*;

/// Runs a test on each example, on all processors. Gives what is wrong.
fn each_spec(wrong: impl Fn(&Path) -> Vec<String> + Sync) {
    let specs = common::examples();
    let workers = std::thread::available_parallelism().map_or(2, usize::from);
    let failures: Vec<String> = std::thread::scope(|scope| {
        let (specs, wrong) = (&specs, &wrong);
        let work = move |first: usize| {
            let some = specs.iter().skip(first).step_by(workers);
            some.flat_map(|path| wrong(path)).collect::<Vec<_>>()
        };
        let threads: Vec<_> = (0..workers)
            .map(|first| scope.spawn(move || work(first)))
            .collect();
        let joined = threads
            .into_iter()
            .flat_map(|thread| thread.join().unwrap());
        joined.collect()
    });
    let count = failures.len();
    let first: Vec<_> = failures.into_iter().take(60).collect();
    assert!(
        count == 0,
        "{count}, of which the first:\n{}",
        first.join("\n")
    );
}

/// The words and signs of a text.
fn words(text: &str) -> Vec<(TextRange, &str)> {
    let all = tokens(text).into_iter();
    let told = all.filter(|t| !matches!(t.kind, TokenKind::Newline | TokenKind::Comment));
    told.map(|t| (t.range, t.range.of(text))).collect()
}

/// A snippet with its proposed texts filled in.
fn filled(snippet: &str) -> String {
    let mut out = String::new();
    let mut rest = snippet;
    while let Some(at) = rest.find('$') {
        out.push_str(&rest[..at]);
        rest = &rest[at + 1..];
        if let Some(inside) = rest.strip_prefix('{') {
            let (place, behind) = inside.split_once('}').expect("closed");
            out.push_str(place.split_once(':').map_or("", |(_, words)| words));
            rest = behind;
        } else {
            rest = rest.trim_start_matches(|c: char| c.is_ascii_digit());
        }
    }
    out.push_str(rest);
    out
}

/// The text with a completion accepted, and the range of the new text.
fn accepted(text: &str, item: &Completion, put_in: &str) -> (String, TextRange) {
    let mut text = text.to_owned();
    let start = item.span.start as usize;
    text.replace_range(item.span.range(), put_in);
    let mut at = TextRange::new(start, start + put_in.len());
    for edit in &item.edits {
        assert!(edit.span.end <= item.span.start, "before it");
        text.replace_range(edit.span.range(), &edit.text);
        let by = edit.text.len() - edit.span.range().len();
        at = TextRange::new(at.start as usize + by, at.end as usize + by);
    }
    (text, at)
}

/// A word that occurs twice in a row: at the end of the new text and after it, or before the new text and at its
/// beginning.
fn doubled(text: &str, at: TextRange) -> Option<String> {
    let words = words(text);
    let inside = |span: TextRange| at.start <= span.start && span.end <= at.end;
    let first = words.iter().position(|(span, _)| inside(*span))?;
    let count = words[first..]
        .iter()
        .take_while(|(span, _)| inside(*span))
        .count();
    let texts: Vec<&str> = words.iter().map(|(_, text)| *text).collect();
    // On other lines stand other statements.
    let is_near = |(from, to): (u32, u32)| !text[from as usize..to as usize].contains('\n');
    let behind_end = words
        .iter()
        .position(|(span, _)| span.start >= at.end && !is_near((at.end, span.start)));
    let before_start = words
        .iter()
        .position(|(span, _)| is_near((span.end.min(at.start), at.start)));
    let texts = &texts[..behind_end.unwrap_or(texts.len())];
    let (before, rest) = texts.split_at(first);
    let before = &before[before_start.unwrap_or(first).min(first)..];
    let (new, behind) = rest.split_at(count);
    // Bodies end one behind the other.
    let means_something = |run: &[&str]| run.iter().any(|text| *text != "}");
    for k in 1..=new.len() {
        if k <= behind.len() && new[new.len() - k..] == behind[..k] && means_something(&behind[..k])
        {
            return Some(behind[..k].join(" "));
        }
        if k <= before.len() && before[before.len() - k..] == new[..k] && means_something(&new[..k])
        {
            return Some(new[..k].join(" "));
        }
    }
    None
}

/// Whether an inserted text is the beginning of something that the author continues.
fn is_begun(item: &Completion, put_in: &str) -> bool {
    matches!(
        item.kind,
        CompletionKind::Keyword | CompletionKind::Operator
    ) || put_in.ends_with([' ', '.'])
        || item.snippet.is_some()
}

fn wrong_at(report: &Report, at: u32) -> Vec<String> {
    let text = &report.source.text;
    let mut tried: HashMap<String, usize> = HashMap::new();
    let mut wrong = Vec::new();
    for item in completions(report, at) {
        let last = item.insert.chars().last().filter(|c| !c.is_alphanumeric());
        let alike = format!("{:?}{last:?}{:?}", item.kind, item.span);
        let count = tried.entry(alike).or_default();
        *count += 1;
        if *count > 1 {
            continue;
        }
        let snippet = item.snippet.as_deref().map(filled);
        for put_in in std::iter::once(item.insert.clone()).chain(snippet) {
            let (after, new) = accepted(text, &item, &put_in);
            let line = |text: &str| {
                let start = text[..new.start as usize]
                    .rfind('\n')
                    .map_or(0, |at| at + 1);
                text[start..]
                    .lines()
                    .next()
                    .unwrap_or_default()
                    .trim()
                    .to_owned()
            };
            if let Some(twice) = doubled(&after, new) {
                wrong.push(format!(
                    "`{twice}` twice: `{}` becomes `{}`",
                    line(text),
                    line(&after)
                ));
            }
            let after_tree = parse(&after);
            let flaws: Vec<_> = after_tree.flaws().collect();
            let flaws = (parse(text).flaws().count(), flaws);
            // A point of a curve goes on behind its first value.
            let is_point = item.kind == CompletionKind::Let && !line(text).contains(" = ")
                || line(text).ends_with("curve {");
            if !is_begun(&item, &put_in) && !is_point && flaws.1.len() > flaws.0 {
                wrong.push(format!(
                    "{:?}: {}: `{}` becomes `{}`",
                    item.kind,
                    flaws.1[0].message,
                    line(text),
                    line(&after)
                ));
            }
        }
    }
    wrong
}

#[test]
fn accepting_what_is_offered_doubles_nothing_and_breaks_nothing() {
    each_spec(|path| {
        let disk = Disk::default();
        let report = analyse(disk.read(&Disk::name(path)).unwrap(), &disk);
        let text = &report.source.text;
        let mut places: Vec<u32> = Vec::new();
        for (span, word) in words(text) {
            places.extend([span.start, span.end]);
            if word.len() > 3 {
                places.push(u32::midpoint(span.start, span.end));
            }
            // Behind the blank that follows it.
            if text[span.end as usize..].starts_with(' ') {
                places.push(span.end + 1);
            }
        }
        places.sort_unstable();
        places.retain(|at| text.is_char_boundary(*at as usize));
        places.dedup();
        let name = path.file_name().unwrap().display().to_string();
        let wrong = places.into_iter().flat_map(|at| wrong_at(&report, at));
        wrong.map(|wrong| format!("{name}: {wrong}")).collect()
    });
}

/// Each name of each example is deleted except for its first letters. It is offered, and accepting it restores the
/// text.
#[test]
fn a_word_that_is_deleted_is_offered_and_comes_back() {
    each_spec(|path| {
        let disk = Disk::default();
        let report = analyse(disk.read(&Disk::name(path)).unwrap(), &disk);
        let whole = &report.source.text;
        let mut wrong = Vec::new();
        for highlight in highlights(&report) {
            let is_name = match highlight.role {
                Role::Block | Role::Field | Role::Choice | Role::Unit | Role::Result => true,
                Role::Check => true,
                Role::Part | Role::Let | Role::System => !highlight.is_definition,
                _ => false,
            };
            let word = highlight.span.of(whole);
            // A unit that is made of others is offered whole.
            let made_of = |c: char| "*/^-%".contains(c);
            let around = &whole[(highlight.span.start as usize).saturating_sub(1)..];
            let is_usual = highlight.role != Role::Unit
                || !(word.contains(made_of)
                    || around.starts_with(made_of)
                    || whole[highlight.span.end as usize..].starts_with(made_of));
            if !is_name || !is_usual {
                continue;
            }
            for kept in [0, 1] {
                let cursor = highlight.span.start as usize + kept;
                let mut text = whole.clone();
                text.replace_range(cursor..highlight.span.end as usize, "");
                let source = Arc::new(Source::new(report.source.name.clone(), text.clone()));
                let broken = analyse_after(Some(&report), source, &disk, &Work::default());
                let found = completions(&broken, cursor as u32);
                let place = &whole[whole[..cursor].rfind('\n').map_or(0, |at| at + 1)..];
                let place = place.lines().next().unwrap_or_default().trim();
                let Some(item) = found.iter().find(|item| item.label == word) else {
                    // At the beginning of a field in a row of them the cursor stands behind a value.
                    wrong.push(format!("`{word}` is not offered behind {kept}: `{place}`"));
                    continue;
                };
                let is_back = |put_in: &str| {
                    let (after, _) = accepted(&text, item, put_in);
                    let [after, whole] = [&after, whole].map(|text| {
                        words(text)
                            .into_iter()
                            .map(|(_, word)| word)
                            .collect::<Vec<_>>()
                    });
                    after == whole
                };
                let put_in = item.snippet.as_deref().map_or(item.insert.clone(), filled);
                if !is_back(&put_in) {
                    wrong.push(format!("`{word}` comes back as `{put_in}`: `{place}`"));
                }
            }
        }
        let name = path.file_name().unwrap().display().to_string();
        wrong
            .into_iter()
            .map(|wrong| format!("{name}: {wrong}"))
            .collect()
    });
}

/// The fields of the first block of the only system in a text: their names, their values as written, and the meaning
/// of those that are texts.
fn fields_of(text: &str) -> Vec<(String, String, Option<String>)> {
    let source = source("car.clutch", text);
    assert_eq!(source.tree.flaws().count(), 0, "{text}");
    let system = source.tree.items.last().expect("a system");
    let system = system.statement.body().expect("a body");
    let body = system.statements[0].body().expect("a block");
    let fields = body.statements.iter().map(|statement| {
        let StatementKind::Field(field) = &statement.kind else {
            panic!("no field: {text}");
        };
        let said = match &field.value.kind {
            ValueKind::Text(text) => Some(text.text.clone()),
            _ => None,
        };
        let written = source.text_of(field.value.span).to_owned();
        (field.name.text.clone(), written, said)
    });
    fields.collect()
}

proptest! {
    /// Between quotes, an accepted text is exactly the field's new value. Nothing else on the line changes, even if
    /// the second quote is missing.
    #[test]
    fn a_text_that_is_accepted_is_what_the_field_says(
        known in prop::collection::vec("[^\n\r\u{FEFF}]{1,10}|[\"a#}=$ ]{1,6}", 1..4),
        others in prop::collection::vec("[^\n\r\u{FEFF}]{0,8}|[\"a#}= ]{0,6}", 2),
        typed in "[^\n\r\u{FEFF}]{0,6}|[\"a#}= ]{0,6}",
        begun in "[a-zé0-9/ -]{0,6}",
        plain in "[A-Zé0-9/ .-]{0,8}",
        is_closed: bool,
        name in prop::sample::select(vec!["number", "supplier", "outlet"]),
        is_row: bool,
        at: prop::sample::Index,
    ) {
        let parts: String = known
            .iter()
            .enumerate()
            .map(|(i, text)| format!("part master m_{i} {{ {name} = {} }}\n", quoted(text)))
            .collect();
        let files = Library::new(&[("parts.clutch", &parts)]);
        let inner = match is_closed {
            true => {
                let written = quoted(&typed);
                written[1..written.len() - 1].to_owned()
            }
            // Of a text without its end, what could be a next field is none of it.
            false => begun.trim_end().to_owned(),
        };
        let gap = if is_row { "  " } else { "\n        " };
        let other = if name == "number" { "note" } else { "number" };
        let before = format!(
            "use \"parts.clutch\"\nsystem car {{ master {{{gap}price = 3 USD{gap}{other} = {}{gap}{name} = \"",
            quoted(&others[0])
        );
        let closing = if is_closed { "\"" } else { "" };
        let last = if name == "supplier" { "note" } else { "supplier" };
        let last = match last == other {
            true => "quantity = 2".to_owned(),
            // Behind a text without its end, `"}` may end that one as well as begin the next.
            false => format!("{last} = {}", quoted(if is_closed { &others[1] } else { &plain })),
        };
        let behind = format!("{closing}{gap}{last}{gap}bore = 3/4 in{gap}}} }}\n");
        let text = format!("{before}{inner}{behind}");
        let cuts: Vec<usize> = (0..=inner.len()).filter(|at| inner.is_char_boundary(*at)).collect();
        let cursor = before.len() + cuts[at.index(cuts.len())];
        let report = analyse(source("car.clutch", &text), &files);
        let found = completions(&report, cursor as u32);
        let mut labels: Vec<&str> = found.iter().map(|item| item.label.as_str()).collect();
        labels.sort_unstable();
        let mut wanted: Vec<&str> = known.iter().map(String::as_str).collect();
        wanted.sort_unstable();
        wanted.dedup();
        // What else the row says of the same kind is offered too; here nothing does.
        prop_assert_eq!(labels, wanted, "{}", &text);
        let whole = fields_of(&format!("{before}\"{}", behind.strip_prefix('"').unwrap_or(&behind)));
        for item in &found {
            let (after, _) = accepted(&text, item, &item.insert);
            let fields = fields_of(&after);
            prop_assert_eq!(fields.len(), whole.len(), "{}", &after);
            for (field, was) in fields.iter().zip(&whole) {
                match field.0 == name {
                    true => prop_assert_eq!(field.2.as_ref(), Some(&item.label), "{}", &after),
                    false => prop_assert_eq!(field, was, "{}", &after),
                }
            }
        }
    }
}
