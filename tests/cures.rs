//! Cures and hovers on random cars with every way of actuation. A cure never does harm, each offered number can be
//! entered, and each result that a hover says will move does move.
//!
//! `BITEPOINT_CARS` sets the number of cars (CI: 400).

mod common;

use bitepoint::analysis::{Report, analyse, hover};
use bitepoint::check_id::CheckId;
use bitepoint::checks::{Detail, Finding, Found, REFERENCE, Run, run};
use bitepoint::finding::Severity;
use bitepoint::settings::Settings;
use common::cars::Cars;
use common::{Library, source, with_fix};
use rand::SeedableRng;
use rand::rngs::StdRng;
use std::collections::BTreeMap;

/// How many cars a property is tried on.
fn count() -> u64 {
    let said = std::env::var("BITEPOINT_CARS").ok();
    said.and_then(|count| count.parse().ok()).unwrap_or(60)
}

/// A spec for each seed.
fn cars() -> impl Iterator<Item = String> {
    (0..count()).map(|seed| Cars::new(StdRng::seed_from_u64(seed)).spec())
}

fn analysed(text: &str) -> Report {
    analyse(source("car.clutch", text), &Library::default())
}

/// A system's name, and a check's.
type About = (Option<String>, &'static str);

fn times(tally: &BTreeMap<About, usize>, about: &About) -> usize {
    tally.get(about).copied().unwrap_or(0)
}

/// How many times each check reports each system, counting findings of at least a severity.
fn tally(report: &Report, least: Severity) -> BTreeMap<About, usize> {
    let mut tally = BTreeMap::new();
    for finding in report.findings.iter().filter(|f| f.severity >= least) {
        *tally
            .entry((finding.system.clone(), finding.check.name()))
            .or_default() += 1;
    }
    tally
}

fn is_of_car(finding: &Finding) -> bool {
    matches!(finding.check.run, Run::Outcome(_) | Run::System(_))
}

/// The findings about the spec's main system.
fn own(report: &Report) -> impl Iterator<Item = &Finding> {
    report
        .findings
        .iter()
        .filter(|finding| finding.system.as_deref() == Some("car") && is_of_car(finding))
}

#[test]
fn no_fix_brings_an_error_or_leaves_its_own_and_a_number_that_is_named_can_be_taken() {
    let (mut fixes, mut errors) = (0, 0);
    for text in cars() {
        let report = analysed(&text);
        let before = tally(&report, Severity::Hint);
        for finding in own(&report) {
            let check = finding.check.name();
            if finding.severity == Severity::Error {
                errors += 1;
                let help = finding.problem.help.as_deref().unwrap_or_default();
                let names_a_number = help.chars().any(|c| c.is_ascii_digit());
                assert!(
                    !names_a_number || !finding.problem.fixes.is_empty(),
                    "{check}: {help}\n{text}"
                );
            }
            for fix in &finding.problem.fixes {
                fixes += 1;
                let fixed = with_fix(&text, fix);
                let after = analysed(&fixed);
                let own = (finding.system.clone(), check);
                assert!(
                    times(&tally(&after, Severity::Hint), &own) < times(&before, &own),
                    "{check}: `{}` leaves it standing in\n{fixed}",
                    fix.title
                );
                for (error, now) in tally(&after, Severity::Error) {
                    assert!(
                        now <= times(&before, &error),
                        "{check}: `{}` brings {error:?} to\n{fixed}",
                        fix.title
                    );
                }
            }
        }
    }
    assert!(
        fixes > count() / 2 && errors > count() / 4,
        "{fixes} fixes of {errors} errors"
    );
}

/// Only two checks look beyond a car's nominal values. So tolerances need not be worked out for a change before it is
/// accepted as a cure of another check.
#[test]
fn only_two_checks_look_at_the_tolerances() {
    let settings = Settings::default();
    let mut more = 0;
    // Among random cars a margin that is thin at the worst alone is rare.
    let thin = "system thin from reference { pedal { travel = 150 mm ± 30 mm } }";
    for text in cars().chain([format!("{REFERENCE}\n{thin}")]) {
        for one in &analysed(&text).systems {
            let Ok(outcome) = &one.outcome else { continue };
            let [with, without] = [one.tolerances.as_ref(), None].map(|tolerances| {
                let mut found = Found::new(Detail::Brief);
                run(&one.system, Ok(outcome), tolerances, &settings, &mut found);
                let raised = found.raised.iter().map(|raised| raised.check);
                raised.collect::<Vec<_>>()
            });
            let others = |raised: &[CheckId]| {
                let at_worst = [CheckId::ThinMargin, CheckId::PortShut];
                let others = raised.iter().filter(|check| !at_worst.contains(check));
                others.copied().collect::<Vec<_>>()
            };
            assert_eq!(others(&with), others(&without), "{text}");
            more += usize::from(with != without);
        }
    }
    assert!(more > 0, "no tolerance made a difference");
}

/// The author's own limit on a result replaces the check's limit.
#[test]
fn a_require_takes_the_place_of_a_default_limit() {
    let car = |require: &str| {
        format!(
            "system car {{
    pedal {{ ratio = 6  travel = 150 mm }}
    master {{ bore = 3/4 in  stroke = 36 mm }}
    slave {{ bore = 7/8 in  stroke = 30 mm }}
    fork {{ ratio = 1.65 }}
    cover {{ release_travel = 6 mm to 12 mm  release_load = 1800 N }}
    {require}
}}
"
        )
    };
    let raised = |require: &str, check: &str| {
        let report = analysed(&car(require));
        own(&report).any(|finding| finding.check.name() == check)
    };
    assert!(raised("", "heavy-pedal"));
    assert!(!raised("require pedal_effort <= 250 N", "heavy-pedal"));
    // It says the least, and not the most.
    assert!(raised("require pedal_effort >= 10 N", "heavy-pedal"));
    // Past the author's own limit there is one finding, the author's.
    assert!(raised("require pedal_effort <= 100 N", "require-failed"));
    assert!(!raised("require pedal_effort <= 100 N", "heavy-pedal"));
}

// ---- hovers ----

/// The table of a hover: the steps, and each result with its value now and after each step.
struct Steps {
    steps: Vec<String>,
    rows: Vec<(String, Vec<String>)>,
}

fn steps_of(markdown: &str) -> Option<Steps> {
    let mut lines = markdown
        .lines()
        .skip_while(|line| !line.starts_with("| one step"));
    let cells = |line: &str| -> Vec<String> {
        let cells = line.trim_matches('|').split(" | ");
        cells.map(|cell| cell.trim().to_owned()).collect()
    };
    let head = cells(lines.next()?);
    let rows = lines
        .skip(1)
        .take_while(|line| line.starts_with('|'))
        .map(|line| {
            let mut cells = cells(line);
            let name = cells.remove(0).trim_matches('`').to_owned();
            (name, cells)
        });
    Some(Steps {
        steps: head[2..].to_vec(),
        rows: rows.collect(),
    })
}

/// A result as a number and as a person reads it. On the edge between two roundings it is both of them.
struct Shown {
    value: f64,
    texts: [String; 3],
}

fn results(report: &Report) -> Option<BTreeMap<String, Shown>> {
    let worked = report.systems.iter().find(|w| w.system.name == "car")?;
    let outcome = worked.outcome.as_deref().ok()?;
    let shown = outcome.results.iter().map(|(id, value)| {
        let spec = id.spec();
        let texts = [1.0, 1.0 - 1e-9, 1.0 + 1e-9]
            .map(|part| id.show_finely(value * part, &worked.system.display));
        (spec.name.to_owned(), Shown { value, texts })
    });
    Some(shown.collect())
}

#[test]
fn every_row_of_a_hover_moves_as_it_says_and_nothing_that_moves_more_is_left_out() {
    let (mut tables, mut rows) = (0, 0);
    // Each takes a look for every field: a third of the cars is enough.
    for text in cars().step_by(3) {
        if text.contains("from base_car") {
            continue;
        }
        let report = analysed(&text);
        let Some(now) = results(&report) else {
            continue;
        };
        let fields = text.match_indices(" = ").map(|(at, _)| at);
        for at in fields {
            let Some(steps) = hover(&report, at as u32).and_then(|h| steps_of(&h.markdown)) else {
                continue;
            };
            // A value in one piece stands up to the next two blanks, and windows and curves change in part.
            let start = at + " = ".len();
            let line = text[start..].lines().next().unwrap_or_default();
            let value = line.split("  ").next().unwrap_or_default();
            let value = value.trim_end_matches(['}', ' ']);
            if value.contains(" to ") || value.contains("curve") {
                continue;
            }
            tables += 1;
            let mut moved: BTreeMap<&str, f64> = BTreeMap::new();
            for (i, step) in steps.steps.iter().enumerate() {
                let mut changed = text.clone();
                changed.replace_range(start..start + value.len(), step);
                let Some(after) = results(&analysed(&changed)) else {
                    continue;
                };
                for (name, cells) in &steps.rows {
                    rows += 1;
                    let says = |of: &BTreeMap<String, Shown>, cell: &String| match of.get(name) {
                        Some(shown) => shown.texts.contains(cell),
                        None => cell == "–",
                    };
                    assert!(
                        says(&now, &cells[0]),
                        "{name} is not {} now, at {value} in\n{text}",
                        cells[0]
                    );
                    assert!(
                        says(&after, &cells[i + 1]),
                        "{name} is not {} with {step} for {value} in\n{text}",
                        cells[i + 1]
                    );
                }
                for (name, before) in &now {
                    let before = before.value;
                    let extent = match after.get(name).map(|shown| shown.value) {
                        Some(after) if (after - before).abs() < 1e-9 => 0.0,
                        Some(after) => (after - before).abs() / before.abs().max(after.abs()),
                        None => 1.0,
                    };
                    let most = moved.entry(name).or_default();
                    *most = most.max(extent);
                }
            }
            let listed = |name: &str| steps.rows.iter().any(|(row, _)| row == name);
            let least = moved
                .iter()
                .filter(|(name, _)| listed(name))
                .map(|(_, extent)| *extent)
                .fold(f64::INFINITY, f64::min);
            for (name, extent) in moved.iter().filter(|(name, _)| !listed(name)) {
                // Below the rounding of what is shown nothing is to be seen.
                assert!(
                    *extent <= least.max(0.005) * (1.0 + 1e-6)
                        || steps.rows.len() < 8 && *extent < 0.05,
                    "{name} moves by {extent} of itself, more than what is listed, at {value} in\n{text}"
                );
            }
        }
    }
    assert!(
        tables as u64 > count() && rows > tables,
        "{tables} tables, {rows} rows"
    );
}
