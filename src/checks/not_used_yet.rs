//! What is read and kept, but not worked out yet.

use super::{Check, Example, Run};
use crate::finding::{Problem, Severity};
use crate::model::System;
use crate::schema::BLOCKS;

pub const CHECK: Check = Check {
    name: "not-used-yet",
    severity: Severity::Info,
    finds: "A statement is read and kept, but nothing is worked out from it yet.",
    why: "Nobody should believe that it has been looked at.",
    limits: &[],
    source: "the language's own rule",
    bad: Example::System(
        "}\npart fork short { ratio = 1.6 }\npart fork long { ratio = 1.7 }\nsystem kit from reference {\n    choose fork short, long",
    ),
    good: Example::System("fork { ratio = 1.65 }"),
    run: Run::System(run),
};

fn run(system: &System, out: &mut Vec<Problem>) {
    let readable = system.chooses.iter().filter(|c| !c.parts.is_empty());
    for choose in readable {
        out.push(
            Problem::new(
                CHECK.name,
                choose.place.clone(),
                format!(
                    "the {} choices of a {} are read, but their combinations are not worked out yet",
                    choose.parts.len(),
                    BLOCKS[choose.block as usize].name
                ),
            )
            .about(choose.block)
            .help("to work one out, write a system `from` this one that names the part"),
        );
    }
}
