//! A diagnosis for machines; documented in grammar/formats.md.

use super::super::json::{VERSION, left_out_json, outward};
use super::super::{LeftOut, written};
use crate::analysis::Worked;
use crate::diagnose::{
    Diagnosis, Explanation, FaultId, NextReading, Pair, Reading, Sized, Taken, Value as Read,
    VisitReport,
};
use crate::quantity::Dimension;
use serde_json::{Map, Value, json};

/// The systems of an answer.
pub fn diagnosis_json(systems: Vec<Value>, file: &str, left_out: Option<&LeftOut>) -> String {
    let mut value = json!({ "version": VERSION, "systems": systems });
    if let Some(left_out) = left_out {
        value["left_out"] = left_out_json(left_out, "diagnose", file);
    }
    written(&value)
}

/// One system with its visits; empty if it has no readings or is not worked out.
pub fn system_json(worked: &Worked, diagnosis: Option<&Diagnosis>) -> Value {
    let visits = diagnosis
        .into_iter()
        .flat_map(|diagnosis| &diagnosis.visits);
    let visits: Vec<Value> = visits.map(visit_json).collect();
    json!({ "name": worked.system.name, "visits": visits })
}

fn visit_json(visit: &VisitReport) -> Value {
    let readings: Map<String, Value> = visit
        .taken
        .iter()
        .map(|taken| (taken.reading.name().to_owned(), reading_json(visit, taken)))
        .collect();
    let ruled_out: Vec<Value> = visit
        .ruled_out
        .iter()
        .map(|one| json!({ "fault": one.fault.name(), "by": one.by.name() }))
        .collect();
    json!({
        "label": visit.label,
        "drags": visit.drags,
        "agrees": visit.agrees,
        "readings": readings,
        "faults": visit.faults.iter().map(fault_json).collect::<Vec<Value>>(),
        "pairs": visit.pairs.iter().map(pair_json).collect::<Vec<Value>>(),
        "ruled_out": ruled_out,
        "contradicting": visit.odd.iter().map(|odd| odd.name()).collect::<Vec<&str>>(),
        "next": visit.next.iter().map(next_json).collect::<Vec<Value>>(),
    })
}

fn reading_json(visit: &VisitReport, taken: &Taken) -> Value {
    let expected = visit
        .expected
        .iter()
        .find(|(known, _)| *known == taken.reading);
    let expected = expected.and_then(|(_, value)| *value).map(read_json);
    let mut carried = visit.carried.iter();
    json!({
        "measured": read_json(taken.value),
        "worked_out": expected,
        "unit": unit(taken.reading),
        "accuracy": taken.reading.dimension().map(|_| taken.accuracy),
        "visit": match carried.find(|(known, _)| *known == taken.reading) {
            Some((_, label)) => label,
            None => &visit.label,
        },
    })
}

fn fault_json(fault: &Explanation) -> Value {
    let mut value = sized_json(fault.sized);
    value["explains"] = json!(fault.explains);
    value["plausibility"] = json!(fault.plausibility);
    value["misses"] = misses_json(&fault.misses);
    value
}

fn pair_json(pair: &Pair) -> Value {
    json!({
        "faults": pair.faults.map(sized_json),
        "plausibility": pair.plausibility,
        "misses": misses_json(&pair.misses),
    })
}

fn sized_json(sized: Sized) -> Value {
    let unit = sized.fault.fault().unit;
    json!({
        "fault": sized.fault.name(),
        "value": sized.value.map(|value| outward(value, unit)),
        "unit": unit,
    })
}

fn misses_json(misses: &[(Reading, f64)]) -> Value {
    let misses = misses.iter();
    let misses: Map<String, Value> = misses
        .map(|(reading, miss)| (reading.name().to_owned(), json!(miss)))
        .collect();
    Value::Object(misses)
}

fn next_json(next: &NextReading) -> Value {
    let unit = unit(next.reading);
    let predictions: Map<String, Value> = next
        .predictions
        .iter()
        .map(|prediction| {
            let value = json!({ "value": read_json(prediction.value), "unit": unit });
            (FaultId::name(prediction.fault).to_owned(), value)
        })
        .collect();
    json!({ "reading": next.reading.name(), "predictions": predictions })
}

fn read_json(value: Read) -> Value {
    match value {
        Read::Number(value) => json!(value),
        Read::Word(word) => json!(word),
    }
}

/// The unit of a reading, which is also its internal unit; empty for words.
fn unit(reading: Reading) -> &'static str {
    match reading.dimension() {
        Some(Dimension::LENGTH) => "mm",
        Some(Dimension::FORCE) => "N",
        Some(Dimension::PRESSURE) => "MPa",
        _ => "",
    }
}
