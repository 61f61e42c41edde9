//! A fluid that the seals do not withstand.

use super::edit::edit_field;
use super::{Check, Example, Found, Run, problem_of_field};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::model::System;
use crate::quantity::listed;
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::FluidAttacksSeals,
    severity: Severity::Error,
    finds: "The fluid attacks what the seals of a cylinder are made of.",
    why: "The seals swell, stick and tear within days, and the clutch does not come back or fails.",
    limits: &[],
    source: "fluids and rubbers that suit: 49 CFR 571.116, S4, and ISO 4925; the rest is common practice, no source",
    bad: Example::System(
        "fluid { grade = mineral }\nmaster { seals = epdm }\nslave { seals = epdm }",
    ),
    good: Example::System(
        "fluid { grade = dot4 }\nmaster { seals = epdm }\nslave { seals = epdm }",
    ),
    run: Run::System(run),
};

/// Whether a fluid attacks seals. Glycol fluid suits SBR, EPDM and natural rubber; mineral fluid suits none of these:
/// 49 CFR 571.116, S4; ISO 4925. That glycol attacks the others is common practice, no source. Sources disagree on
/// silicone fluid (dot5) with anything but EPDM, so that nothing is said of it.
fn attacks(grade: &str, seals: &str) -> bool {
    match seals {
        "epdm" | "sbr" | "natural_rubber" => grade == "mineral",
        _ => matches!(grade, "dot3" | "dot4" | "dot5_1"),
    }
}

/// The fluid's name as people write it.
fn fluid_name(grade: &str) -> &'static str {
    match grade {
        "dot3" => "DOT 3",
        "dot4" => "DOT 4",
        "dot5" => "DOT 5",
        "dot5_1" => "DOT 5.1",
        _ => "mineral oil",
    }
}

/// The seals' name as people write it.
fn seals_name(seals: &str) -> String {
    match seals {
        "natural_rubber" => "natural rubber".to_owned(),
        _ => seals.to_uppercase(),
    }
}

fn run(system: &System, out: &mut Found) {
    let Some(grade) = system.word(field!(fluid.grade)) else {
        return;
    };
    let sealed = [
        field!(master.seals),
        field!(intensifier.seals),
        field!(slave.seals),
    ];
    let seals: Vec<_> = sealed
        .into_iter()
        .filter_map(|field| Some((field, system.word(field)?)))
        .collect();
    if !seals.iter().any(|(_, seals)| attacks(grade, seals)) || out.noted(block!(fluid)) {
        return;
    }
    let attacked: Vec<String> = seals
        .iter()
        .filter(|(_, seals)| attacks(grade, seals))
        .map(|(field, seals)| format!("the {}'s {} seals", field.block().name, seals_name(seals)))
        .collect();
    let fluid = fluid_name(grade);
    let mut problem = problem_of_field(
        CHECK.id,
        system,
        field!(fluid.grade),
        format!(
            "{fluid} attacks {}: they swell and tear, and the clutch sticks or fails",
            listed(&attacked, " and ")
        ),
    );
    for (field, _) in &seals {
        if let Some(given) = system.given(*field) {
            problem = problem.related(given.place.clone(), "these seals");
        }
    }
    // Silicone is left out: it gives more and does not mix, so it is not advised.
    let suiting = ["dot4", "mineral"]
        .into_iter()
        .find(|grade| seals.iter().all(|(_, seals)| !attacks(grade, seals)));
    let Some(other) = suiting else {
        out.push(problem.help(
            "no fluid suits the seals of both cylinders. Fit a master and a slave that are made for one fluid, and replace \
             the hose and every seal that the wrong fluid has touched",
        ));
        return;
    };
    let name = fluid_name(other);
    if let Some((place, text)) = edit_field(system, field!(fluid.grade), None, other) {
        problem = problem.fix(format!("use {name}"), place, text);
    }
    out.push(problem.help(format!(
        "use {name}, or fit seals that are made for {fluid}. If {fluid} is in the system already, flush it out and \
         replace every seal and the hose. Take care: brake fluid hurts eyes and lifts paint"
    )));
}
