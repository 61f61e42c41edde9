//! What may vary in a search: as it was asked for, and in the model's terms.

use super::super::meant;
use crate::checks::{COMMON_BORES, bore_named, written};
use crate::field;
use crate::model::{Bundle, System, Wanted};
use crate::quantity::significant;
use crate::schema::{BLOCKS, Block, BlockId, FieldId, Kind};
use std::collections::HashSet;

/// Something that may vary, as it was asked for.
#[derive(Clone, PartialEq, Debug)]
pub struct Vary {
    /// A block or a field: `master`, `master.bore`.
    pub subject: String,
    /// The choices: parts, values in the language's words, or a range such as `280 mm to 320 mm step 10 mm`. If
    /// empty, all parts that the file knows, or all commonly made sizes.
    pub choices: Vec<String>,
}

/// The most values in one range.
const MOST_STEPS: usize = 10_000;

/// What varies in a system, in the model's terms. The choices that it keeps are not included.
pub(super) fn wanted(
    system: &System,
    bundle: &Bundle,
    vary: &[Vary],
    is_choosing: bool,
) -> Result<Vec<Wanted>, String> {
    if !vary.is_empty() {
        let mut seen = HashSet::new();
        if let Some(twice) = vary.iter().find(|vary| !seen.insert(&vary.subject)) {
            return Err(format!(
                "`{}` is named twice in what may vary",
                twice.subject
            ));
        }
        return vary.iter().map(|vary| one(system, bundle, vary)).collect();
    }
    if is_choosing {
        return Ok(Vec::new());
    }
    let bores = [field!(master.bore), field!(slave.bore)];
    let given = bores
        .into_iter()
        .filter(|field| system.given(*field).is_some());
    let wanted: Vec<Wanted> = given
        .map(|field| Wanted::Values(field, bores_made(system)))
        .collect();
    match wanted.is_empty() {
        true => Err(format!(
            "say what may vary in `{}`, such as `--vary \"pedal.rod_arm={}\"`",
            system.name,
            range_around(system, field!(pedal.rod_arm))
        )),
        false => Ok(wanted),
    }
}

fn bores_made(system: &System) -> Vec<(f64, String)> {
    let units = system.display.system();
    let bores = COMMON_BORES.iter();
    bores
        .map(|bore| (*bore, bore_named(*bore, units)))
        .collect()
}

fn one(system: &System, bundle: &Bundle, vary: &Vary) -> Result<Wanted, String> {
    match vary.subject.split_once('.') {
        None => parts(system, bundle, vary),
        Some((block, name)) => {
            let id = block_named(block)?;
            let schema = &BLOCKS[id as usize];
            let Some(field) = schema.field_index(name) else {
                let known = schema.fields.iter().map(|field| field.name);
                return Err(format!(
                    "`{block}` has no field `{name}`{}",
                    meant(name, known)
                ));
            };
            values(system, FieldId { block: id, field }, vary)
        }
    }
}

fn block_named(name: &str) -> Result<BlockId, String> {
    let known = BLOCKS.iter().map(|block| block.name);
    let id = Block::named(name)
        .ok_or_else(|| format!("there is no block `{name}`{}", meant(name, known)))?;
    match BLOCKS[id as usize].repeated {
        true => Err(format!(
            "`{name}` may stand many times and cannot be varied"
        )),
        false => Ok(id),
    }
}

fn parts(system: &System, bundle: &Bundle, vary: &Vary) -> Result<Wanted, String> {
    let block = &vary.subject;
    let id = block_named(block)?;
    let known: Vec<&str> = bundle.known_parts(0, block).collect();
    if system.component(id).is_none() {
        return Err(format!("`{}` has no `{block}` to vary", system.name));
    }
    if let Some(unknown) = vary
        .choices
        .iter()
        .find(|name| !known.contains(&name.as_str()))
    {
        return Err(format!(
            "there is no part `{block} {unknown}`{}",
            meant(unknown, known)
        ));
    }
    let mut names: Vec<String> = match vary.choices.is_empty() {
        true => known.into_iter().map(str::to_owned).collect(),
        false => vary.choices.clone(),
    };
    // A repeated value would be listed twice.
    let mut seen = HashSet::new();
    names.retain(|name| seen.insert(name.clone()));
    match names.is_empty() {
        true => Err(format!(
            "this spec knows no `part {block}`: add `use \"….clutch\"` for a library that has some, or vary a field of it, as \
             `{block}.bore`"
        )),
        false => Ok(Wanted::Parts(id, names)),
    }
}

fn values(system: &System, field: FieldId, vary: &Vary) -> Result<Wanted, String> {
    let path = &vary.subject;
    if !matches!(field.field().kind, Kind::Quantity(_)) {
        return Err(format!(
            "`{path}` is not a single value and cannot be varied"
        ));
    }
    let Some(component) = system.component(field.block) else {
        return Err(format!(
            "`{}` has no `{}` to vary",
            system.name,
            field.block().name
        ));
    };
    let schema = field.block();
    if let Some((alternatives, way)) = schema.way_of(field.field().name) {
        let others = (0..).zip(alternatives.ways).filter(|(i, _)| *i != way);
        let said = others.flat_map(|(_, names)| *names).find(|name| {
            let id = schema.field_index(name).map(|field| FieldId {
                block: component.block,
                field,
            });
            id.is_some_and(|id| component.given(id).is_some())
        });
        if let Some(said) = said {
            return Err(format!(
                "`{path}` follows from `{}.{said}` here; vary that",
                schema.name
            ));
        }
    }
    if vary.choices.is_empty() {
        let is_bore = [field!(master.bore), field!(slave.bore)].contains(&field);
        return match is_bore {
            true => Ok(Wanted::Values(field, bores_made(system))),
            false => Err(format!(
                "no sizes of `{path}` are commonly made; give some, such as \
                 `{path}={}`",
                range_around(system, field)
            )),
        };
    }
    let mut all: Vec<(f64, String)> = Vec::new();
    for text in &vary.choices {
        match text.split_once(" to ") {
            None => all.push((value(field, path, text)?, text.trim().to_owned())),
            Some((low, rest)) => all.extend(range(system, field, path, low, rest)?),
        }
    }
    let mut seen = HashSet::new();
    all.retain(|(value, _)| seen.insert(value.to_bits()));
    let written = system.given(field);
    let meets = |value: f64| field.field().range.contains(value);
    for (value, name) in &all {
        let Some(band) = written.map(|given| given.band_around(*value)) else {
            continue;
        };
        if !(meets(band.low) && meets(band.high)) {
            return Err(format!(
                "`{path}` must be {}, and {name} with the tolerance that it has here may be {} to {}",
                field.field().range.words,
                system.show(band.low, field.field().dimension().unwrap_or_default()),
                system.show(band.high, field.field().dimension().unwrap_or_default()),
            ));
        }
    }
    Ok(Wanted::Values(field, all))
}

/// The values of a range such as `280 mm to 320 mm step 10 mm`.
fn range(
    system: &System,
    field: FieldId,
    path: &str,
    low: &str,
    rest: &str,
) -> Result<Vec<(f64, String)>, String> {
    let wrong = || {
        let example = range_around(system, field);
        format!("a range of `{path}` is written `{example}`")
    };
    let (high, step) = rest.split_once(" step ").ok_or_else(wrong)?;
    let (low, high) = (value(field, path, low)?, value(field, path, high)?);
    let step = quantity(field, path, step)?;
    let steps = (high - low) / step;
    if !(steps.is_finite() && step > 0.0 && steps >= 0.0) {
        return Err(wrong());
    }
    // A last step that fits up to rounding is included.
    let last = (steps + 1e-9).floor();
    if last >= MOST_STEPS as f64 {
        return Err(format!(
            "that range of `{path}` has more than {MOST_STEPS} values"
        ));
    }
    let unit = system
        .display
        .unit(field.field().dimension().unwrap_or_default());
    let at = |i: u32| {
        let value = low + f64::from(i) * step;
        (value, written(value, unit.as_ref()))
    };
    Ok((0..=last as u32).map(at).collect())
}

/// A range as one writes it, around the value that a field has in a system: `45 mm to 55 mm step 1 mm`.
fn range_around(system: &System, field: FieldId) -> String {
    let dimension = field.field().dimension().unwrap_or_default();
    let unit = system.display.unit(dimension);
    let outward = |value: f64| unit.as_ref().map_or(value, |unit| unit.outward(value));
    let value = system
        .number(field)
        .map(outward)
        .filter(|value| *value != 0.0);
    let value = value.unwrap_or(10.0);
    let rounded = |value: f64, digits| match &unit {
        Some(unit) => format!("{} {unit}", significant(value, digits)),
        None => significant(value, digits),
    };
    let [low, high, step] =
        [(0.9, 2), (1.1, 2), (0.02, 1)].map(|(share, digits)| rounded(share * value, digits));
    format!("{low} to {high} step {step}")
}

/// A value of a field, in internal units, inside what the field can be.
fn value(field: FieldId, path: &str, text: &str) -> Result<f64, String> {
    let value = quantity(field, path, text)?;
    let range = &field.field().range;
    match range.contains(value) {
        true => Ok(value),
        false => Err(format!(
            "`{path}` must be {}, not `{}`",
            range.words,
            text.trim()
        )),
    }
}

fn quantity(field: FieldId, path: &str, text: &str) -> Result<f64, String> {
    let wanted = field.field().dimension().unwrap_or_default();
    let file = "--vary".into();
    match crate::model::standalone_value(text.trim(), &file, 0) {
        Ok((value, dimension)) if dimension == wanted => Ok(value),
        Ok((_, dimension)) => Err(format!(
            "`{path}` is {wanted}, and `{}` is {dimension}",
            text.trim()
        )),
        Err(problems) => Err(match problems.first() {
            Some(problem) => format!("`{}` cannot be read: {}", text.trim(), problem.message),
            None => format!("`{}` cannot be read", text.trim()),
        }),
    }
}

/// Reads what may vary: `master.bore=5/8 in,3/4 in,slave`. What follows a comma belongs to the subject before it,
/// unless it names a block or a field.
///
/// # Errors
/// A choice of nothing.
pub fn read_vary(text: &str) -> Result<Vec<Vary>, String> {
    let mut all: Vec<Vary> = Vec::new();
    for piece in text.split(',').map(str::trim) {
        let (head, first) = match piece.split_once('=') {
            Some((head, first)) => (head.trim(), Some(first.trim())),
            None => (piece, None),
        };
        let block = head.split('.').next().unwrap_or_default();
        if first.is_some() || Block::named(block).is_some() {
            all.push(Vary {
                subject: head.to_owned(),
                choices: first.into_iter().map(str::to_owned).collect(),
            });
            continue;
        }
        match all.last_mut() {
            Some(last) if !piece.is_empty() => last.choices.push(piece.to_owned()),
            _ => {
                return Err(
                    "give what may vary, such as `master.bore` or `slave=hy_s22,hy_s25`".to_owned(),
                );
            }
        }
    }
    Ok(all)
}
