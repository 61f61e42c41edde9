//! What to buy: the parts, with the sizes by which they are known.

use super::content::{Block, Section, Table};
use crate::checks::written;
use crate::field;
use crate::model::{Component, Given, System, Value};
use crate::quantity::{Band, Dimension, UnitSystem, usual_unit};
use crate::schema::{BLOCKS, BlockId, FORK_DRIVES, FieldId, Kind};

/// The blocks that are things to buy or make, what works the fork apart, with the fields that size them.
const SIZED: &[&[FieldId]] = &[
    &[
        field!(fork.slave_arm),
        field!(fork.bearing_arm),
        field!(fork.ratio),
        field!(fork.pivot),
    ],
    &[field!(bearing.max_travel)],
    &[
        field!(cover.action),
        field!(cover.release_travel),
        field!(cover.release_load),
        field!(cover.finger_ratio),
        field!(cover.finger_height),
        field!(cover.clamp_load),
    ],
    &[
        field!(disc.outer),
        field!(disc.inner),
        field!(disc.faces),
        field!(disc.wear),
    ],
    &[field!(bellhousing.depth), field!(bellhousing.adapter)],
];

/// The fields that size a block; `None` for what nobody buys.
fn sizes_of(block: BlockId) -> Option<&'static [FieldId]> {
    let mut parts = FORK_DRIVES.iter().flat_map(|drive| drive.blocks);
    let of_drive = parts.find(|part| part.block == block);
    let is_it = |sizes: &&&[FieldId]| sizes.iter().all(|field| field.block == block);
    of_drive
        .map(|part| part.sizes)
        .or_else(|| SIZED.iter().find(is_it).copied())
}

pub fn section(system: &System) -> Section {
    let mut table = Table::new(&["", "What", "Part", "Sizes"]);
    for component in system.components() {
        let name = BLOCKS[component.block as usize].name;
        let Some(fields) = sizes_of(component.block) else {
            continue;
        };
        let what = match &component.label {
            Some(label) => format!("{name} {label}"),
            None => name.to_owned(),
        };
        let part = component
            .part
            .as_ref()
            .map_or("–", |part| part.name.as_str());
        let sizes = sizes(system, component, fields);
        table.row(vec![TICK.to_owned(), what, part.to_owned(), sizes]);
    }
    Section::new("What to buy or make", vec![Block::Table(table)])
}

/// A cell to be ticked off.
pub const TICK: &str = "\u{2610}";

fn sizes(system: &System, component: &Component, fields: &[FieldId]) -> String {
    let schema = &BLOCKS[component.block as usize];
    let sizes: Vec<String> = (0u8..)
        .zip(schema.fields.iter().zip(&component.fields))
        .filter(|(at, _)| fields.iter().any(|sized| sized.field == *at))
        .filter_map(|(_, (field, given))| {
            let value = size(system, given.as_ref()?, field.kind)?;
            Some(format!("{} {value}", field.name.replace('_', " ")))
        })
        .collect();
    if sizes.is_empty() {
        "the spec gives no size".to_owned()
    } else {
        sizes.join("; ")
    }
}

fn size(system: &System, given: &Given, kind: Kind) -> Option<String> {
    match (&given.value, kind) {
        (Value::Word(word), _) => Some((*word).to_owned()),
        (
            Value::Quantity { band, .. },
            Kind::Quantity(dimension) | Kind::CurveOrPeak { y: dimension, .. },
        ) => {
            let own = exactly(system, given, band.nominal, dimension);
            Some(format!("{own}{}", tolerance(system, *band, dimension)))
        }
        (Value::Window { low, high }, Kind::Window(dimension)) => {
            let end = |band: &Band| {
                let nominal = system.show(band.nominal, dimension);
                format!("{nominal}{}", tolerance(system, *band, dimension))
            };
            Some(format!("{} to {}", end(low), end(high)))
        }
        (Value::Curve(points), Kind::Curve { y, .. } | Kind::CurveOrPeak { y, .. }) => {
            let peak = points.iter().map(|(_, load)| load).fold(f64::NAN, f64::max);
            Some(format!("up to {}", system.show(peak, y)))
        }
        _ => None,
    }
}

/// The limits of a band, behind its nominal value; nothing for an exact one.
fn tolerance(system: &System, band: Band, dimension: Dimension) -> String {
    if band.is_exact() {
        return String::new();
    }
    let show = |value| system.show(value, dimension);
    format!(" ({} to {})", show(band.low), show(band.high))
}

/// A value in the unit by which its author names it, inches as fractions, with the other system's behind a
/// length: a part is bought by its exact size.
fn exactly(system: &System, given: &Given, value: f64, dimension: Dimension) -> String {
    let unit = given
        .unit()
        .cloned()
        .or_else(|| system.display.unit_for(value, dimension));
    let own = written(value, unit.as_ref());
    if dimension != Dimension::LENGTH {
        return own;
    }
    let other = match unit.map(|unit| unit.system()) {
        Some(UnitSystem::Imperial) => UnitSystem::Metric,
        _ => return own,
    };
    format!(
        "{own} ({})",
        written(value, usual_unit(dimension, other).as_ref())
    )
}
