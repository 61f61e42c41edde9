//! The readings that may be taken on a car, and readings given outside of a spec.

use super::super::{Worked, meant};
use crate::diagnose::{READINGS, Reading, Taken, Value, Visit, readings_with};
use crate::finding::FileName;
use crate::model::{Bundle, Source, System, build};
use crate::quantity::{Dimension, Display};
use crate::result;
use crate::schema::{Kind, Need};
use crate::syntax::StatementKind;
use std::sync::Arc;

/// A reading that may be taken on a car.
#[derive(Clone, PartialEq, Debug)]
pub struct Askable {
    /// The kind of reading.
    pub reading: Reading,
    /// What it is and how to take it.
    pub how: String,
    /// The reading at full pedal on a healthy car, in the author's unit. For a reading in words, the words to choose
    /// from. Empty if nothing is calculated.
    pub right: String,
}

/// The readings that may be taken on the car of a system.
pub fn askable(worked: &Worked) -> Vec<Askable> {
    let system = &worked.system;
    let sound = match &worked.outcome {
        Ok(outcome) => readings_with(system, outcome, &[], None).unwrap_or_default(),
        Err(_) => Vec::new(),
    };
    let readings = READINGS.iter().map(|row| row.reading);
    readings
        .filter(|reading| lacks(system, *reading).is_none())
        .map(|reading| {
            let field = reading.kind().field.field();
            let how = how_taken(worked, &system.display, reading);
            let value = sound.iter().find(|(known, _)| *known == reading);
            let right = match (value, reading.dimension(), field.kind) {
                (Some((_, Value::Number(value))), Some(dimension), _) => {
                    system.show(*value, dimension)
                }
                (_, _, Kind::Choice(choices)) => {
                    let names: Vec<&str> = choices.iter().map(|choice| choice.name).collect();
                    names.join(", ")
                }
                _ => String::new(),
            };
            Askable {
                reading,
                how,
                right,
            }
        })
        .collect()
}

/// How to take a reading on the car of a system, with the force to press with if there is one.
pub(super) fn how_taken(worked: &Worked, display: &Display, reading: Reading) -> String {
    let doc = reading.kind().field.field().doc;
    let outcome = worked.outcome.as_deref().ok();
    let effort = outcome.and_then(|outcome| outcome.get(result!(pedal_effort)));
    match effort.filter(|_| reading == Reading::BlockedTravel) {
        // This car's own number.
        Some(effort) => doc.replace(
            "the clutch's highest effort",
            &display.show(effort, Dimension::FORCE),
        ),
        None => doc.to_owned(),
    }
}

/// The block that a system lacks for a reading, such as `master`. `None` if the reading can be taken.
fn lacks(system: &System, reading: Reading) -> Option<String> {
    let lacking = |way: &Vec<Need>| {
        let is_lacking =
            |need: &&Need| matches!(need, Need::Block(block) if system.component(*block).is_none());
        way.iter().find(is_lacking).map(|need| need.path())
    };
    let ways = reading.kind().field.needs();
    let first = ways.first().and_then(lacking)?;
    ways.iter()
        .all(|way| lacking(way).is_some())
        .then_some(first)
}

/// Why a reading cannot be taken on the car of a system, as a sentence; `None` if it can.
pub fn not_on_this_car(worked: &Worked, reading: Reading) -> Option<String> {
    let block = lacks(&worked.system, reading)?;
    Some(format!(
        "`{}` has no `{block}`, so there is no `{}` to read on it",
        worked.system.name,
        reading.name()
    ))
}

/// A reading in the form of a command line: `slave_travel=0.45 in`, with its value as in a spec.
///
/// # Errors
/// What is wrong with it, as a sentence.
pub fn read_reading(text: &str) -> Result<Taken, String> {
    let Some((name, value)) = text.split_once('=') else {
        if let Some(reading) = Reading::named(text.trim()) {
            let name = reading.name();
            return Err(format!(
                "`{name}` has no value: write --reading {name}=\"{}\"",
                example(reading)
            ));
        }
        return Err(format!(
            "`{text}` is no reading: give a name and a value, such as `slave_travel=\"0.45 in\"`"
        ));
    };
    let (name, value) = (name.trim(), value.trim());
    let Some(reading) = Reading::named(name) else {
        return Err(unknown(name));
    };
    let wrong = |why: &str| Err(format!("the reading `{name}` cannot be read: {why}"));
    if value.is_empty() {
        return wrong(&format!(
            "give its value, such as `{name}={}`",
            example(reading)
        ));
    }
    let spec = format!("system car {{\n    measured {{\n        {name} = {value}\n    }}\n}}\n");
    let source = Arc::new(Source::new(FileName::from("--reading"), spec));
    let model = build(&Bundle::alone(source.clone()));
    let Some(body) = source.systems().next().map(|system| &system.body) else {
        return wrong("it is not one value");
    };
    let block = body
        .statements
        .first()
        .and_then(|statement| statement.body());
    let field = block.and_then(|body| body.statements.first());
    let count = (
        source.tree.items.len(),
        body.statements.len(),
        block.map(|body| body.statements.len()),
    );
    let within = field.map(|field| source.range(field.span));
    let problem = model.problems.iter().find(|problem| {
        let at = source.range(problem.place.span);
        within.is_some_and(|within| within.start <= at.end && at.start <= within.end)
    });
    if let Some(problem) = problem {
        let help = problem.help.as_ref().map(|help| format!("; {help}"));
        return wrong(&format!("{}{}", problem.message, help.unwrap_or_default()));
    }
    let is_field = |kind: &StatementKind| matches!(kind, StatementKind::Field(_));
    let is_alone = count == (1, 1, Some(1)) && field.is_some_and(|field| is_field(&field.kind));
    if !is_alone || !source.tree.is_flawless() {
        return wrong(&format!(
            "`{value}` is not one value, such as `{}`",
            example(reading)
        ));
    }
    let taken = model.systems.first().and_then(|built| {
        let visit = Visit::of(built.system.measured().next()?);
        visit.taken(reading).copied()
    });
    match taken {
        Some(taken) => Ok(taken),
        None => wrong(&format!(
            "`{value}` is no value of it; write one such as `{}`",
            example(reading)
        )),
    }
}

/// An example of a value for a reading.
fn example(reading: Reading) -> &'static str {
    use Dimension as D;
    match (reading.kind().field.field().kind, reading.dimension()) {
        (Kind::Choice(choices), _) => choices.first().map_or("", |choice| choice.name),
        (_, Some(D::FORCE)) => "30 lbf",
        (_, Some(D::PRESSURE)) => "350 psi",
        _ => "0.45 in",
    }
}

fn unknown(name: &str) -> String {
    let known = || READINGS.iter().map(|row| row.reading.name());
    let meant = match meant(name, known()) {
        meant if meant.is_empty() => {
            let all: Vec<&str> = known().collect();
            format!("; there are {}", all.join(", "))
        }
        meant => meant,
    };
    format!("there is no reading `{name}`{meant}")
}

#[cfg(test)]
mod tests {
    use super::read_reading;
    use crate::diagnose::{Reading, Value};

    #[test]
    fn a_value_is_read_as_a_spec_would() {
        for (text, reading, value, accuracy) in [
            ("slave_travel=0.45 in", Reading::SlaveTravel, 11.43, 0.5),
            (
                "slave_travel = 7/16 in + 1/64 in",
                Reading::SlaveTravel,
                11.509_375,
                0.5,
            ),
            (
                "slave_travel=0.45 in ± 1/32 in",
                Reading::SlaveTravel,
                11.43,
                0.793_75,
            ),
            (
                "release_point=148 mm # by the tape",
                Reading::ReleasePoint,
                148.0,
                3.0,
            ),
            ("sink=0 mm", Reading::Sink, 0.0, 0.5),
        ] {
            let taken = read_reading(text).unwrap();
            assert_eq!(taken.reading, reading);
            let Value::Number(read) = taken.value else {
                panic!("{text}: {taken:?}");
            };
            assert!((read - value).abs() < 1e-9, "{text}: {read}");
            assert!(
                (taken.accuracy - accuracy).abs() < 1e-9,
                "{text}: {taken:?}"
            );
        }
        assert_eq!(read_reading("frees=no").unwrap().value, Value::Word("no"));
        assert_eq!(
            read_reading("line_pressure").unwrap_err(),
            "`line_pressure` has no value: write --reading line_pressure=\"350 psi\""
        );
        assert_eq!(
            read_reading("feel=firm").unwrap().value,
            Value::Word("firm")
        );
    }
}
