//! A comparison for machines; documented in grammar/formats.md.

use super::parts::PartChange;
use super::{Compared, Told, file_name};
use crate::analysis::Report;
use crate::analysis::compare::{
    Comparison, Fate, Figure, FindingChange, InputChange, KitChange, ResultChange, Said, Standing,
    SystemChange, Way,
};
use crate::faces::render::json::{VERSION, finding_json, outward};
use crate::faces::render::json_money::money;
use crate::faces::render::written;
use crate::finding::Severity;
use serde_json::{Map, Value, json};

/// What changed, file by file, in pieces that are written one after another. One text for many files would need as
/// much memory again.
pub fn to_json(compared: Compared) -> impl Iterator<Item = String> {
    // In a string the quotes would be escaped.
    const FILES: &str = "\n  \"files\": []";
    let tally = compared.tally();
    let came: Map<String, Value> = Severity::ALL
        .iter()
        .zip(tally.came)
        .rev()
        .map(|(severity, count)| (severity.name().to_owned(), json!(count)))
        .collect();
    let submodules: Vec<Value> = compared
        .submodules
        .iter()
        .map(|one| json!({ "path": one.path, "before": one.before, "after": one.after }))
        .collect();
    let unread: Vec<Value> = compared
        .unread
        .iter()
        .map(|unread| json!({ "file": unread.file, "why": unread.why }))
        .collect();
    let value = json!({
        "version": VERSION,
        "before": compared.sides.before,
        "after": compared.sides.after,
        "parts": compared.parts().iter().map(part).collect::<Vec<_>>(),
        "files": [],
        "same": compared.same,
        "not_compared": compared.not_compared,
        "unread": unread,
        "submodules": submodules,
        "counts": { "came": came, "went": tally.went, "moved": tally.moved, "worse": tally.worse },
    });
    let whole = written(&value);
    let (head, tail) = whole.split_once(FILES).unwrap_or((&whole, ""));
    let begin = format!("{head}\n  \"files\": [");
    let end = match compared.files.is_empty() {
        true => format!("]{tail}"),
        false => format!("\n  ]{tail}"),
    };
    let told = compared
        .files
        .into_iter()
        .filter_map(|file| match file.told {
            Told::Json(text) => Some(text),
            _ => None,
        });
    let commas = std::iter::once("").chain(std::iter::repeat(","));
    let files = commas
        .zip(told)
        .map(|(comma, text)| format!("{comma}\n    {text}"));
    std::iter::once(begin).chain(files).chain([end])
}

fn part(part: &PartChange) -> Value {
    let reaches = part.reaches.iter();
    let reaches = reaches.map(|(file, system)| json!({ "file": &**file, "system": system }));
    json!({
        "what": part.what,
        "file": &*part.file,
        "before": part.before,
        "after": part.after,
        "systems": reaches.collect::<Vec<_>>(),
    })
}

/// One file; `was` is its former name, if it was renamed.
pub(super) fn file(file: &Comparison<'_>, was: Option<&str>) -> String {
    let changed = file.systems.iter().filter(|system| !system.is_same());
    let state = match was {
        Some(_) => "renamed",
        None => state(file.before.is_some(), file.after.is_some()),
    };
    let value = json!({
        "file": file_name(file),
        "was": was,
        "state": state,
        "findings": findings(file, &file.findings),
        "systems": changed.map(|change| system(file, change)).collect::<Vec<_>>(),
    });
    written(&value).trim_end().replace('\n', "\n    ")
}

fn state(before: bool, after: bool) -> &'static str {
    match (before, after) {
        (false, _) => "added",
        (true, false) => "removed",
        (true, true) => "changed",
    }
}

fn system(file: &Comparison<'_>, change: &SystemChange<'_>) -> Value {
    let [before, after] = [change.before, change.after];
    let name = |side: Option<&crate::analysis::Worked>| side.map(|w| w.system.name.clone());
    let [of_before, of_after] = change.combinations();
    let combinations = |of: Option<(u64, u64)>| {
        of.map(|(working, tried)| json!({ "working": working, "tried": tried }))
    };
    let [why_before, why_after] = change.not_worked().map(|why| why.map(|why| why.words()));
    json!({
        "before": name(before),
        "after": name(after),
        "state": state(before.is_some(), after.is_some()),
        "combinations": { "before": combinations(of_before), "after": combinations(of_after) },
        "kit": change.kit.as_ref().map(kit),
        "not_worked_out": { "before": why_before, "after": why_after },
        "inputs": change.inputs.iter().map(input).collect::<Vec<_>>(),
        "findings": findings(file, &change.findings),
        "ended_by": change.ended_by.map(|(before, after)| {
            json!({ "before": before.name(), "after": after.name() })
        }),
        "results": results(&change.results),
        "worn": results(&change.worn),
    })
}

fn kit(kit: &KitChange) -> Value {
    let died = kit
        .died
        .iter()
        .map(|(name, reason)| json!({ "combination": name, "why": reason }));
    json!({
        "stopped_working": { "count": kit.died_count, "first": died.collect::<Vec<_>>() },
        "now_working": { "count": kit.came_count, "first": kit.came },
        "no_longer_offered": kit.withdrawn,
        "newly_offered": kit.offered,
        "lost_most_margin": kit.margin.as_ref().map(|(name, before, after)| {
            json!({ "combination": name, "before_mm": before, "after_mm": after })
        }),
        "got_heaviest": kit.heavier.as_ref().map(|(name, before, after)| {
            json!({ "combination": name, "before_n": before, "after_n": after })
        }),
        "price_rose_most": kit.dearer.as_ref().map(|(name, before, after)| {
            json!({ "combination": name, "before": money(*before), "after": money(*after) })
        }),
        "ranges": kit.ranges.iter().map(|(result, before, after)| {
            let unit = result.spec().unit;
            let range = |(low, high): &(f64, f64)| json!([outward(*low, unit), outward(*high, unit)]);
            json!({ "result": result.spec().name, "before": range(before), "after": range(after) })
        }).collect::<Vec<_>>(),
    })
}

fn input(change: &InputChange) -> Value {
    let said = |said: &Option<Said>| {
        let said = said.as_ref();
        said.map(|said| json!({ "text": said.text, "assumed": said.assumed }))
    };
    json!({
        "what": change.what,
        "part": change.part.as_ref().map(|part| &part.name),
        "before": said(&change.before),
        "after": said(&change.after),
    })
}

fn findings(file: &Comparison<'_>, changes: &[FindingChange<'_>]) -> Vec<Value> {
    let one = |report: Option<&Report>, finding| Some(finding_json(report?, finding?));
    changes
        .iter()
        .map(|change| {
            json!({
                "fate": fate(change.fate),
                "why": change.why,
                "before": one(file.before, change.before),
                "after": one(file.after, change.after),
            })
        })
        .collect()
}

fn fate(fate: Fate) -> &'static str {
    match fate {
        Fate::Came => "came",
        Fate::Unsilenced => "no_longer_allowed",
        Fate::Changed => "changed",
        Fate::Silenced => "allowed",
        Fate::Went => "went",
        Fate::Stayed => "stayed",
    }
}

fn results(changes: &[ResultChange]) -> Map<String, Value> {
    changes
        .iter()
        .map(|change| (change.id.spec().name.to_owned(), result(change)))
        .collect()
}

fn result(change: &ResultChange) -> Value {
    let unit = change.id.spec().unit;
    let figure = |figure: Option<Figure>| {
        figure.map(|figure| {
            let mut value = json!({ "value": outward(figure.value, unit) });
            if let Some(band) = figure.band {
                value["low"] = json!(outward(band.low, unit));
                value["high"] = json!(outward(band.high, unit));
            }
            value
        })
    };
    let by = change.before.zip(change.after);
    json!({
        "unit": unit,
        "before": figure(change.before),
        "after": figure(change.after),
        "by": by.map(|(a, b)| outward(b.value, unit) - outward(a.value, unit)),
        "way": change.way.map(|way| match way {
            Way::Better => "better",
            Way::Worse => "worse",
        }),
        "standing": change.standing.map(|standing| match standing {
            Standing::Inside => "inside",
            Standing::Outside => "outside",
            Standing::Clear => "clear",
        }),
        "absent": change.why_absent,
    })
}
