//! What to buy: the parts, with the sizes by which they are sold.

use super::Prices;
use super::content::{Block, Section, Table};
use crate::checks::written;
use crate::field;
use crate::model::{Component, Given, OrderItem, System, Value};
use crate::quantity::{Band, Dimension, UnitSystem, hose_figure, usual_unit};
use crate::schema::{BLOCKS, BlockId, FORK_DRIVES, FieldId, Kind};
use rust_decimal::Decimal;

/// The blocks to buy or make, each with the fields that size it. What drives the fork is left out: `FORK_DRIVES`
/// lists it.
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

/// The fields that size a block; `None` for a block that is not bought.
fn sizes_of(block: BlockId) -> Option<&'static [FieldId]> {
    let mut parts = FORK_DRIVES.iter().flat_map(|drive| drive.blocks);
    let of_drive = parts.find(|part| part.block == block);
    let is_it = |sizes: &&&[FieldId]| sizes.iter().all(|field| field.block == block);
    of_drive
        .map(|part| part.sizes)
        .or_else(|| SIZED.iter().find(is_it).copied())
}

/// The parts, with their numbers and suppliers if any has one, and their prices if they are wanted.
pub fn section(system: &System, prices: Prices) -> Section {
    let items: Vec<OrderItem<'_>> = system.order_items().collect();
    let has_numbers = items.iter().any(|item| item.number().is_some());
    let has_suppliers = items.iter().any(|item| item.supplier().is_some());
    let has_prices = prices == Prices::Shown;
    let has_quantities = items.iter().any(|item| item.quantity != Decimal::ONE);
    let mut titles = vec!["", "What", "Part"];
    let optional = [
        (has_quantities, "Quantity"),
        (has_numbers, "Number"),
        (has_suppliers, "Supplier"),
        (has_prices, "Price"),
    ];
    titles.extend(
        optional
            .iter()
            .filter(|(is_there, _)| *is_there)
            .map(|(_, title)| *title),
    );
    titles.push("Sizes");
    let mut table = Table::new(&titles);
    for component in system.components() {
        let fields = sizes_of(component.block);
        let item = component.order_item();
        if fields.is_none() && item.is_none() {
            continue;
        }
        let cell = |text: Option<String>| text.unwrap_or_else(|| "–".to_owned());
        let own = |text: Option<&str>| text.map(str::to_owned);
        let of_item =
            |read: &dyn Fn(&OrderItem<'_>) -> Option<String>| cell(item.as_ref().and_then(read));
        let mut row = vec![
            TICK.to_owned(),
            component.title(),
            cell(component.part.as_ref().map(|part| part.name.clone())),
        ];
        if has_quantities {
            row.push(of_item(&|item| Some(item.quantity.normalize().to_string())));
        }
        if has_numbers {
            row.push(of_item(&|item| own(item.number())));
        }
        if has_suppliers {
            row.push(of_item(&|item| own(item.supplier())));
        }
        if has_prices {
            row.push(of_item(&|item| item.price.map(|price| price.to_string())));
        }
        let sizes = fields.map(|fields| sizes(system, component, fields));
        let note = item.as_ref().and_then(|item| own(item.note()));
        row.push(cell(match (sizes, note) {
            (Some(sizes), Some(note)) => Some(format!("{sizes}; {note}")),
            (sizes, note) => sizes.or(note),
        }));
        table.row(row);
    }
    let mut blocks = vec![Block::Table(table)];
    if has_prices {
        let cost = system.cost();
        let sums: Vec<String> = cost.sums.iter().map(|sum| sum.to_string()).collect();
        let mut text = match sums.is_empty() {
            true => "No price is listed.".to_owned(),
            false => format!("Total: {}.", sums.join(" + ")),
        };
        if !cost.unpriced.is_empty() {
            text.push_str(&format!(
                " No price is listed for {}.",
                cost.unpriced.join(", ")
            ));
        }
        blocks.push(Block::Text(text));
    }
    Section::new("What to buy or make", blocks)
}

/// A box to tick.
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
            let show = |value| match is_by_foot(system, given, dimension) {
                true => hose_figure(value),
                false => system.show(value, dimension),
            };
            Some(format!("{own}{}", tolerance(*band, show)))
        }
        (Value::Window { low, high }, Kind::Window(dimension)) => {
            let end = |band: &Band| {
                let nominal = system.show(band.nominal, dimension);
                let show = |value| system.show(value, dimension);
                format!("{nominal}{}", tolerance(*band, show))
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

/// The limits of a band, after its nominal value; empty for an exact value.
fn tolerance(band: Band, show: impl Fn(f64) -> String) -> String {
    if band.is_exact() {
        return String::new();
    }
    format!(" ({} to {})", show(band.low), show(band.high))
}

/// Whether a value is a hose's swelling and its author uses inches. It is then given as on a data sheet.
fn is_by_foot(system: &System, given: &Given, dimension: Dimension) -> bool {
    let units = match given.unit() {
        Some(unit) => unit.system(),
        None => system.display.system(),
    };
    dimension == Dimension::EXPANSION && units == UnitSystem::Imperial
}

/// A value in the unit in which its author names it, with inches as fractions. A length is followed by the other
/// system's unit. The value is exact, since a part is bought by its size.
fn exactly(system: &System, given: &Given, value: f64, dimension: Dimension) -> String {
    if is_by_foot(system, given, dimension) {
        return hose_figure(value);
    }
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
