//! A spec in inches is answered in inches: no metric number is outside of brackets.

mod common;
// A preview is asked for, and not all that a server can do.
#[allow(dead_code)]
mod lsp_client;

use bitepoint::analysis::diagnosis::diagnosis;
use bitepoint::analysis::{
    BomRequest, Report, Work, Worked, actions, analyse, bom, completions, hover,
    inlays_with_tooltips, lenses,
};
use bitepoint::faces::render::{
    CheckForm, CheckRenderer, Ending, ResultsLayout, TextStyle, bom_markdown, bom_text,
    diagnosis_markdown, diagnosis_text, results_text,
};
use bitepoint::faces::sheet::{Extent, Form, SheetOptions, sheet_with};
use bitepoint::finding::Severity;
use bitepoint::syntax::TextRange;
use common::cars::Cars;
use common::{Library, bitepoint, examples, folder, source};
use lsp_client::Client;
use rand::SeedableRng;
use rand::rngs::StdRng;
use serde_json::json;

/// The metric units, which a spec in inches must not show. The cc is excepted, as the trade uses it in both systems.
const METRIC: [&str; 13] = [
    "mm", "cm", "m", "N", "kN", "MPa", "GPa", "kPa", "bar", "J", "N*m", "N/mm", "mm^2",
];

/// Each metric unit with the one used with inches, and the factor between them.
const INCHES: [(&str, &str, f64); 12] = [
    ("N/mm", "lbf/in", 5.710_147),
    ("N*m", "lbf*ft", 0.737_562),
    ("mm", "in", 0.039_370_08),
    ("cm", "in", 0.393_700_8),
    ("m", "ft", 3.280_84),
    ("kN", "lbf", 224.808_9),
    ("N", "lbf", 0.224_808_9),
    ("MPa", "psi", 145.037_7),
    ("GPa", "psi", 145_037.7),
    ("bar", "psi", 14.503_77),
    ("kPa", "psi", 0.145_037_7),
    ("cc", "in^3", 0.061_023_74),
];

fn is_of_unit(c: char) -> bool {
    c.is_ascii_alphabetic() || "/*^".contains(c)
}

/// A number followed by a unit, and the rest of the text.
fn quantity(text: &str) -> Option<(f64, &str, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.')?;
    let (number, rest) = text.split_at(end);
    let unit = rest.strip_prefix(' ').unwrap_or(rest);
    let end = unit.find(|c| !is_of_unit(c)).unwrap_or(unit.len());
    Some((number.parse().ok()?, &unit[..end], &unit[end..]))
}

/// Where numbers begin in a text.
fn numbers(text: &str) -> impl Iterator<Item = usize> {
    let mut before = ' ';
    text.char_indices().filter_map(move |(at, c)| {
        let begins = c.is_ascii_digit() && !before.is_alphanumeric() && !"._/".contains(before);
        before = c;
        begins.then_some(at)
    })
}

/// A spec with every metric value in inches.
fn in_inches(text: &str) -> String {
    let (mut out, mut copied) = (String::new(), 0);
    for at in numbers(text) {
        let Some((number, unit, rest)) = quantity(&text[at..]) else {
            continue;
        };
        let known = INCHES.iter().find(|(metric, ..)| *metric == unit);
        let known = known.filter(|_| !rest.starts_with(" /"));
        let converted = match (unit, known) {
            // A rule's marks: a bore is a size that is made.
            ("mm", _) if number >= 10.0 => {
                Some(format!("{} in", (number / 25.4 * 16.0).round() / 16.0))
            }
            (_, Some((_, inches, factor))) => Some(format!("{:.6} {inches}", number * factor)),
            _ => None,
        };
        if let Some(converted) = converted {
            out.push_str(&text[copied..at]);
            out.push_str(&converted);
            copied = text.len() - rest.len();
        }
    }
    out + &text[copied..]
}

/// A text without what is in brackets.
fn without_brackets(text: &str) -> String {
    let mut depth = 0_usize;
    let mut outside = |c: char| {
        match c {
            '(' => depth += 1,
            ')' => {
                depth = depth.saturating_sub(1);
                return false;
            }
            _ => {}
        }
        depth == 0
    };
    text.chars().filter(|c| outside(*c)).collect()
}

/// A metric number outside of brackets, with the text around it.
fn metric_number(text: &str) -> Option<String> {
    let text = without_brackets(text);
    let found = numbers(&text)
        .find(|at| quantity(&text[*at..]).is_some_and(|(_, unit, _)| METRIC.contains(&unit)))?;
    let around: String = text[..found].chars().rev().take(80).collect();
    let around: String = around.chars().rev().collect();
    let rest: String = text[found..].chars().take(20).collect();
    Some(format!("{around}{rest}"))
}

fn checked(report: &Report) -> String {
    let style = TextStyle {
        colour: false,
        width: 5_000,
    };
    let mut renderer = CheckRenderer::new(CheckForm::Text(style, Severity::Hint), None);
    let first = renderer.add(report);
    let (rest, _) = renderer.finish(&Ending::default()).unwrap();
    first + &rest.concat()
}

/// The completions at the places of a text, with their documentation.
fn offered(report: &Report) -> String {
    let text = &report.source.text;
    let values = text.match_indices("= ").map(|(at, sign)| at + sign.len());
    // A number with a blank behind it is offered units, and a block its fields.
    let others = text.match_indices(" {").map(|(at, sign)| at + sign.len());
    let places = values.chain(others).filter(|at| text.is_char_boundary(*at));
    let items = places
        .step_by(3)
        .flat_map(|at| completions(report, at as u32));
    let lines = items.map(|item| {
        format!(
            "{} | {} | {} | {}\n",
            item.label, item.detail, item.insert, item.doc
        )
    });
    lines.collect()
}

/// The changes offered at the places of a text, as an editor lists them.
fn changes(report: &Report) -> String {
    let text = &report.source.text;
    let places = text.match_indices("= ").map(|(at, _)| at);
    let titles = places
        .step_by(3)
        .flat_map(|at| actions(report, TextRange::new(at, at)));
    titles
        .map(|action| action.fix.title.clone() + "\n")
        .collect()
}

/// The text on every face, each with its name.
fn faces(report: &Report) -> Vec<(&'static str, String)> {
    let systems: Vec<&Worked> = report.worked_systems().collect();
    let layout = ResultsLayout {
        width: 5_000,
        all: true,
        names: false,
    };
    let cars: Vec<&Worked> = systems
        .iter()
        .copied()
        .filter(|s| s.kit.is_none())
        .collect();
    let options = SheetOptions {
        extent: Extent::Full,
        ..SheetOptions::default()
    };
    let sheet = |form| sheet_with(report, &cars, form, &options).0;
    let text = &report.source.text;
    let starts = (0..text.len()).filter(|at| {
        text.is_char_boundary(*at) && text[*at..].starts_with(|c: char| c.is_alphanumeric())
    });
    let hovers: Vec<String> = starts
        .step_by(5)
        .filter_map(|at| hover(report, at as u32))
        .map(|hover| hover.markdown)
        .collect();
    let html = sheet(Form::Html);
    let drawings = html.split_once("<body").map_or("", |(_, body)| body);
    let diagnoses = cars.iter().filter_map(|car| {
        let found = diagnosis(car, &[])?;
        Some(diagnosis_text(car, &found, 5_000) + &diagnosis_markdown(car, &found))
    });
    let fixes = report.findings.iter().flat_map(|finding| {
        let fixes = finding.problem.fixes.iter();
        fixes.flat_map(|fix| {
            let edits = fix.edits.iter().map(|(_, text)| text.clone());
            std::iter::once(fix.title.clone()).chain(edits)
        })
    });
    let whole = TextRange::new(0, text.len());
    let beside = inlays_with_tooltips(report, whole).into_iter();
    let beside = beside.map(|(inlay, more)| format!("{}\n{more}", inlay.label));
    let above = lenses(report).into_iter().map(|lens| lens.label);
    vec![
        ("diagnose", diagnoses.collect()),
        ("fixes", fixes.collect::<Vec<_>>().join("\n")),
        (
            "hints and lenses",
            beside.chain(above).collect::<Vec<_>>().join("\n"),
        ),
        ("check", checked(report)),
        ("calc", results_text(report, &systems, None, layout)),
        ("sheet", sheet(Form::Markdown)),
        ("drawings", drawings.replace('<', "\n<")),
        ("hover", hovers.join("\n")),
        ("completion", offered(report)),
        ("changes", changes(report)),
    ]
}

fn leaks(report: &Report) -> Vec<String> {
    let found = faces(report).into_iter().filter_map(|(face, text)| {
        // Each line by itself: a bracket that one leaves open would hide the next.
        let leak = text.lines().find_map(metric_number);
        leak.map(|found| format!("{face} of {}: {found}", report.source.name))
    });
    found.collect()
}

#[test]
fn a_metric_number_is_seen() {
    assert!(metric_number("margin 1.83 mm of").is_some());
    assert!(metric_number("margin 0.07 in (1.83 mm) of 2 in").is_none());
    assert_eq!(
        in_inches("bore = 25.4 mm ± 1 mm }"),
        "bore = 1 in ± 0.039370 in }"
    );
}

#[test]
fn every_example_in_inches_is_answered_in_inches() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/");
    let texts: Vec<_> = examples()
        .iter()
        // What slipped in it is a millimetre.
        .filter(|path| !path.ends_with("unit-slip.clutch"))
        .map(|path| {
            let name = path.to_string_lossy().replace(folder, "");
            let text = in_inches(&std::fs::read_to_string(path).unwrap());
            source(&name, &text)
        })
        .collect();
    let files: Library = texts.iter().cloned().collect();
    let mut found = Vec::new();
    let mut worked = 0;
    for text in texts {
        let report = analyse(text, &files);
        worked += report
            .worked_systems()
            .filter(|s| s.is_worked_out())
            .count();
        found.extend(leaks(&report));
    }
    assert!(worked > 20, "only {worked} systems are worked out");
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The bill of materials of a kit in inches, and of its cheapest combination.
#[test]
fn a_bill_of_materials_in_inches_is_in_inches() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/");
    let read = |path: &std::path::PathBuf| {
        let name = path.to_string_lossy().replace(folder, "");
        source(&name, &in_inches(&std::fs::read_to_string(path).unwrap()))
    };
    let texts: Vec<_> = examples().iter().map(read).collect();
    let files: Library = texts.iter().cloned().collect();
    let mut bills = 0;
    for text in texts {
        let request = BomRequest::default();
        let Ok(found) = bom(text.clone(), &files, &request, &Work::default()) else {
            continue;
        };
        bills += 1;
        let said = bom_text(&found, true) + &bom_markdown(&found, false);
        let leak = said.lines().find_map(metric_number);
        assert_eq!(leak, None, "{}", text.name);
    }
    assert!(bills > 3, "only {bills} bills");
}

/// What an editor shows beside the text, by the real server.
#[test]
fn previews_of_random_cars_in_inches_are_in_inches() {
    let mut client = Client::start();
    let mut drawn = 0;
    for seed in 0..count() / 6 {
        let document = client.open(&format!("file:///car{seed}.clutch"), &car(seed));
        let about = json!({ "textDocument": { "uri": document.uri } });
        let curve = client.ask_raw("bitepoint/curve", about).unwrap();
        drawn += usize::from(!curve["rows"].as_array().unwrap().is_empty());
        for column in curve["columns"].as_array().unwrap() {
            let unit = column["unit"].as_str().unwrap();
            assert!(!METRIC.contains(&unit), "{seed}: {column}");
        }
        let said = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
        let drawing = said(&curve["svg"]).replace('<', "\n<");
        let findings = curve["findings"].as_array().unwrap().iter();
        let messages = findings.map(|found| said(&found["message"]));
        let lines = messages.chain([said(&curve["verdict"]), said(&curve["why"]), drawing]);
        for text in lines {
            let leak = text.lines().find_map(metric_number);
            assert_eq!(leak, None, "{seed}");
        }
        client.close(&document);
    }
    client.finish();
    assert!(drawn > 2, "only {drawn} curves");
}

/// Readings of a car of each way of actuation, in inches.
fn measured(spec: &str, seed: u64) -> String {
    let part = 0.2 + 0.01 * (seed % 30) as f64;
    let reading = match spec {
        spec if spec.contains("slave {") => "slave_travel",
        spec if spec.contains("fork {") => "fork_travel",
        _ => "bearing_travel",
    };
    let end = spec.rfind('}').expect("a system's end");
    let (body, end) = spec.split_at(end);
    format!("{body}    measured {{ {reading} = {part:.3} in }}\n{end}")
}

/// A random car, in inches, with readings.
fn car(seed: u64) -> String {
    let mut cars = Cars::new(StdRng::seed_from_u64(seed));
    measured(&in_inches(&cars.spec()), seed)
}

/// How many random cars are tried: 60, or `BITEPOINT_CARS`.
fn count() -> u64 {
    let said = std::env::var("BITEPOINT_CARS").ok();
    said.and_then(|count| count.parse().ok()).unwrap_or(60)
}

#[test]
fn random_cars_in_inches_are_answered_in_inches() {
    let mut found = Vec::new();
    let (mut cures, mut diagnoses) = (0, 0);
    for seed in 0..count() {
        let report = analyse(source("car.clutch", &car(seed)), &Library::default());
        let fixes = report.findings.iter().map(|f| f.problem.fixes.len());
        cures += fixes.sum::<usize>();
        let worked = report.worked_systems();
        diagnoses += worked.filter(|car| diagnosis(car, &[]).is_some()).count();
        found.extend(
            leaks(&report)
                .into_iter()
                .map(|leak| format!("{seed}: {leak}")),
        );
    }
    assert!(
        cures > count() as usize / 2,
        "only {cures} fixes are offered"
    );
    assert!(
        diagnoses > count() as usize / 4,
        "only {diagnoses} are diagnosed"
    );
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The search for sizes and the comparison, by the real program.
#[test]
fn sizes_and_comparisons_of_random_cars_in_inches_are_in_inches() {
    let mut found = Vec::new();
    let (mut sizes, mut moved) = (0, 0);
    for seed in 0..count() / 6 {
        let (before, after) = (car(seed), car(seed + 1000));
        let at = folder(&[("a.clutch", &before), ("b.clutch", &after)]);
        let size = bitepoint(at.path(), &["size", "a.clutch", "car"]).1;
        let pair = ["compare", "a.clutch", "b.clutch"];
        let compared = bitepoint(at.path(), &pair).1;
        let review = [pair.as_slice(), &["--format", "markdown"]].concat();
        let review = bitepoint(at.path(), &review).1;
        sizes += usize::from(size.contains("combinations"));
        moved += usize::from(compared.contains("release margin"));
        for (face, text) in [("size", size), ("compare", compared), ("review", review)] {
            let leak = metric_number(&text);
            found.extend(leak.map(|leak| format!("{seed}: {face}: {leak}")));
        }
    }
    assert!(sizes > 2 && moved > 2, "{sizes} searches, {moved} margins");
    assert!(found.is_empty(), "{}", found.join("\n"));
}
