//! Why a result is absent, and which results a system has at all.

use super::Outcome;
use crate::model::System;
use crate::schema::{BLOCKS, Block, FieldId, ResultId};
use crate::{block, result};

/// Whether a result is one of the way in which this system is worked; a cable has no slave.
pub fn belongs(system: &System, id: ResultId) -> bool {
    let has = |need: &str| {
        let drive = match need.split('.').next() {
            Some("master" | "slave" | "line" | "fluid") => block!(master),
            Some("cable") => block!(cable),
            Some("linkage") => block!(linkage),
            _ => return true,
        };
        system.component(drive).is_some()
    };
    id.spec()
        .needs
        .iter()
        .all(|need| need.split(" or ").any(has))
}

/// Why a result is absent although the system is worked out, as a sentence.
pub fn why_absent(system: &System, id: ResultId) -> String {
    let is_given = |path: &str| {
        let found = || {
            let (block, name) = path.split_once('.')?;
            let block = Block::named(block)?;
            let field = BLOCKS[block as usize].field_index(name)?;
            system.given(FieldId { block, field })
        };
        match path.contains('.') {
            true => found().is_some(),
            false => Block::named(path).is_some_and(|block| system.component(block).is_some()),
        }
    };
    // `a or b` is there when either is.
    let missing: Vec<&str> = id
        .spec()
        .needs
        .iter()
        .copied()
        .filter(|path| !path.split(" or ").any(is_given))
        .collect();
    if missing.is_empty() && id == result!(rod_cut_length) {
        "no rod fits between its ends".to_owned()
    } else if missing.is_empty() {
        "full pedal does not get there".to_owned()
    } else {
        format!("needs {}", missing.join(" and "))
    }
}

/// The results that a system lacks although they are of the way in which it is worked, each with why, as a sentence.
pub fn absences<'a>(
    system: &'a System,
    outcome: &'a Outcome,
) -> impl Iterator<Item = (ResultId, String)> + 'a {
    ResultId::all()
        .filter(|id| outcome.get(*id).is_none() && belongs(system, *id))
        .map(|id| (id, why_absent(system, id)))
}
