//! The values of a system that have a tolerance, and how to hold each somewhere in its band.

use super::system::{System, Value};
use crate::quantity::Band;
use crate::schema::FieldId;

/// A value with a tolerance, and its place in the system.
#[derive(Clone, PartialEq, Debug)]
pub struct Toleranced {
    /// The field that it is given for.
    pub field: FieldId,
    /// Which line or relay it belongs to, for fields of repeated blocks.
    pub line: Option<usize>,
    /// Which part of the value it is.
    pub part: ValuePart,
    /// Its limits. For a curve they run from −1, with every point at its low, to 1, with every point at its high.
    pub band: Band,
}

/// The part of a value that has a tolerance.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ValuePart {
    /// The one number of a quantity.
    Whole,
    /// The near end of a window.
    Near,
    /// The far end of a window.
    Far,
    /// All points of a curve together. They belong to one part, measured on one bench: a strong spring is strong all
    /// along, and so is a gauge that reads high. Points that varied independently would give a curve that no part
    /// has.
    Curve,
}

impl Value {
    /// The parts of the value that have a tolerance, each with its limits.
    pub(super) fn toleranced(&self) -> impl Iterator<Item = (ValuePart, Band)> {
        let [first, second] = match self {
            Self::Quantity { band, .. } => [Some((ValuePart::Whole, *band)), None],
            Self::Window { low, high } => {
                [Some((ValuePart::Near, *low)), Some((ValuePart::Far, *high))]
            }
            Self::Curve(curve) if curve.bands().iter().any(|(_, y)| !y.is_exact()) => {
                [Some((ValuePart::Curve, Band::around(0.0, 1.0))), None]
            }
            Self::Curve(_) | Self::Word(_) => [None, None],
            Self::Text(_) | Self::Money(_) | Self::Count(_) => [None, None],
        };
        let parts = first.into_iter().chain(second);
        parts.filter(|(_, band)| !band.is_exact())
    }

    /// Holds one part of the value at a place in its band.
    fn hold(&mut self, part: ValuePart, at: f64) {
        match (self, part) {
            (Self::Quantity { band, .. }, ValuePart::Whole)
            | (Self::Window { low: band, .. }, ValuePart::Near)
            | (Self::Window { high: band, .. }, ValuePart::Far) => band.nominal = at,
            (Self::Curve(curve), ValuePart::Curve) => curve.held = at,
            _ => {}
        }
    }
}

impl System {
    /// Every value of the system that has a tolerance.
    pub fn toleranced(&self) -> Vec<Toleranced> {
        let blocks = self.blocks.iter().flatten().map(|c| (None, &**c));
        let lines = self.lines.iter().enumerate().map(|(i, c)| (Some(i), &**c));
        let relays = self.relays.iter().enumerate().map(|(i, c)| (Some(i), &**c));
        let mut found = Vec::new();
        for (line, component) in blocks.chain(lines).chain(relays) {
            for (field, given) in (0u8..).zip(&component.fields) {
                let Some(given) = given else {
                    continue;
                };
                let id = FieldId {
                    block: component.block,
                    field,
                };
                found.extend(given.value.toleranced().map(|(part, band)| Toleranced {
                    field: id,
                    line,
                    part,
                    band,
                }));
            }
        }
        found
    }

    /// A value as a message names it: `pedal.travel`, `line flex.expansion`, `cover.release_travel near end`.
    pub fn name_of(&self, input: &Toleranced) -> String {
        let label = input
            .line
            .and_then(|line| self.repeated(input.field.block).get(line)?.label.as_deref());
        let field = match label {
            Some(label) => {
                let (block, field) = (input.field.block(), input.field.field());
                format!("{} {label}.{}", block.name, field.name)
            }
            None => input.field.path(),
        };
        match input.part {
            ValuePart::Whole | ValuePart::Curve => field,
            ValuePart::Near => field + " near end",
            ValuePart::Far => field + " far end",
        }
    }

    /// Holds a value from [`System::toleranced`] at a place in its band.
    pub fn hold(&mut self, input: &Toleranced, at: f64) {
        if let Some(given) = self.given_mut(input.field, input.line) {
            given.value.hold(input.part, at);
        }
    }
}
