//! What is read and kept, but leads to nothing so far.

use super::edit::place_in;
use super::{Check, Example, Run};
use crate::field;
use crate::finding::{Place, Problem, Severity};
use crate::model::{Component, Given, Origin, System};
use crate::schema::{BLOCKS, COMMON, FieldId};

pub const CHECK: Check = Check {
    name: "not-used-yet",
    severity: Severity::Info,
    finds: "A field is given that no result and no check reads so far, or a whole way of actuation.",
    why: "Nothing here is held against it: it may be wrong, and nobody says so.",
    limits: &[],
    source: COMMON,
    bad: Example::System("fluid { density = 1060 kg/m^3 }"),
    good: Example::System("fluid { grade = dot4 }"),
    run: Run::System(run),
};

fn run(system: &System, out: &mut Vec<Problem>) {
    for choose in &system.chooses {
        out.push(
            Problem::new(
                CHECK.name,
                choose.place.clone(),
                format!(
                    "the {} combinations of `choose {}` are read, but not worked out yet",
                    choose.parts.len(),
                    BLOCKS[choose.block as usize].name
                ),
            )
            .about(choose.block)
            .help("to work one out, write a system `from` this one that names the part"),
        );
    }
    for component in system.components() {
        match whole_block(system, component) {
            Some(message) => out.push(
                Problem::new(CHECK.name, block_place(system, component), message)
                    .about(component.block),
            ),
            None => out.extend(unread_fields(system, component)),
        }
    }
}

/// What is said of a block without which nothing can be worked out, and which is not yet.
fn whole_block(system: &System, component: &Component) -> Option<String> {
    let what = match BLOCKS[component.block as usize].name {
        "cable" => "a clutch that is worked by cable",
        "linkage" => "a clutch that is worked by rods",
        "diaphragm" if system.given(field!(cover.release_load)).is_none() => {
            "a cover that is given by its diaphragm"
        }
        _ => return None,
    };
    Some(format!(
        "{what} is read, but not worked out yet: this system has no results"
    ))
}

fn block_place(system: &System, component: &Component) -> Place {
    if component.own {
        component.place.clone()
    } else {
        system.place.clone()
    }
}

fn unread_fields(system: &System, component: &Component) -> Option<Problem> {
    let schema = &BLOCKS[component.block as usize];
    let unread: Vec<(FieldId, &Given)> = (0u8..)
        .zip(schema.fields)
        .filter(|(_, row)| !row.used)
        .filter_map(|(field, _)| {
            let id = FieldId {
                block: component.block,
                field,
            };
            Some((id, component.given(id)?))
        })
        .collect();
    let (first, _) = *unread.first()?;
    let written_here = unread
        .iter()
        .find(|(_, given)| given.origin == Origin::Own)
        .map(|(_, given)| given.name.clone());
    let names: Vec<&str> = unread.iter().map(|(id, _)| id.field().name).collect();
    let verb = if names.len() == 1 { "is" } else { "are" };
    Some(
        Problem::new(
            CHECK.name,
            written_here.unwrap_or_else(|| place_in(system, component, first)),
            format!(
                "`{}` of the {} {verb} read, but no result and no check uses {} yet",
                names.join("`, `"),
                schema.name,
                if names.len() == 1 { "it" } else { "them" },
            ),
        )
        .about(component.block)
        .help("keep it, and hold it against the car yourself for now"),
    )
}
