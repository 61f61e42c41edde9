//! What to buy: the parts, with the sizes by which they are known.

use super::content::{Block, Section, Table};
use crate::checks::written;
use crate::model::{Component, Given, System, Value};
use crate::quantity::{Band, Dimension, UnitSystem, usual_unit};
use crate::schema::{BLOCKS, Kind};

/// The blocks that are things to buy or make, with the fields that size them.
const SIZED: &[(&str, &[&str])] = &[
    (
        "master",
        &[
            "bore",
            "stroke",
            "port_travel",
            "reservoir",
            "seals",
            "max_pressure",
        ],
    ),
    (
        "line",
        &["bore", "length", "wall", "expansion", "max_pressure"],
    ),
    ("fluid", &["grade"]),
    (
        "slave",
        &[
            "bore",
            "outer",
            "inner",
            "stroke",
            "height",
            "rod_end",
            "seals",
            "max_pressure",
        ],
    ),
    ("cable", &["stiffness", "min_bend"]),
    ("linkage", &["in_arm", "out_arm"]),
    ("fork", &["slave_arm", "bearing_arm", "ratio", "pivot"]),
    ("bearing", &["max_travel"]),
    (
        "cover",
        &[
            "action",
            "release_travel",
            "release_load",
            "finger_ratio",
            "finger_height",
            "clamp_load",
        ],
    ),
    ("disc", &["outer", "inner", "faces", "wear"]),
    ("bellhousing", &["depth", "adapter"]),
];

pub fn section(system: &System) -> Section {
    let mut table = Table::new(&["", "What", "Part", "Sizes"]);
    for component in system.components() {
        let name = BLOCKS[component.block as usize].name;
        let Some((_, fields)) = SIZED.iter().find(|(block, _)| *block == name) else {
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

fn sizes(system: &System, component: &Component, names: &[&str]) -> String {
    let schema = &BLOCKS[component.block as usize];
    let sizes: Vec<String> = schema
        .fields
        .iter()
        .zip(&component.fields)
        .filter(|(field, _)| names.contains(&field.name))
        .filter_map(|(field, given)| {
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
