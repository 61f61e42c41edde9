//! What a cure may change in a field: in which direction, how far, in which sizes, and with which words.

use super::sizes::{
    COMMON_BORES, Rounding, bore_named, bore_written, is_inch_size, rounded, with_article, written,
};
use crate::field;
use crate::model::{System, Value};
use crate::quantity::{Dimension, Display, UnitExpr, UnitSystem, hose_figure};
use crate::result;
use crate::schema::{Better, FieldId, Presence};
use crate::solve::Outcome;

/// What two settings differ by at the least, mm: less cannot be set on a car. Common practice, no source.
const SMALLEST_STEP: f64 = 1.0;

/// A field that a cure may change.
#[derive(Debug)]
pub struct Adjustment {
    pub field: FieldId,
    /// The least and the greatest value that a cure asks for, in internal units.
    pub reach: (f64, f64),
    /// A field of the same system whose value a cure stays below.
    pub below: Option<FieldId>,
    /// What cars that work have.
    pub usual: Option<Usual>,
    pub work: Work,
    /// What is asked for, `{}` standing for the value as [`Adjustment::named`] says it.
    pub asks: &'static str,
    /// The words where the spec does not give the field yet; `None` if only a given value is changed.
    pub asks_new: Option<&'static str>,
    pub sizes: Sizes,
    /// The directions in which a cure may go.
    pub way: Way,
    /// Whether a cure that raises the value asks for the highest that cures, instead of the lowest.
    pub takes_most: bool,
    /// A field that gives the same thing in another way. If it is given, this one is not changed.
    pub unless: Option<FieldId>,
    /// Whether another part also changes the load at the pedal. The spec does not give that load, so the effort with
    /// it is not known.
    pub changes_load: bool,
}

/// The directions in which a cure may change a value. A cure never asks for a softer fork or hose, although either
/// would take up travel. Where another field lowers the same thing, this one is only raised.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Way {
    Either,
    Up,
    Down,
}

/// The usual values of a field in cars that work, in internal units.
#[derive(Clone, Copy, Debug)]
pub struct Usual {
    pub low: f64,
    pub high: f64,
    /// Which direction makes a loss smaller; `None` for a matter of design.
    pub better: Option<Better>,
}

/// How much work a change is, the least first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Work {
    /// Set with a spanner on parts that are there.
    Adjust,
    /// Another part of the same kind.
    Replace,
    /// Something is made or moved.
    Rebuild,
}

/// The sizes in which a part can be bought or made.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Sizes {
    /// Commonly made bores.
    Bores,
    /// Any size, rounded to what people measure.
    Measured,
    /// Hoses, by how much a foot of them swells at 1000 psi.
    Hoses,
}

impl Adjustment {
    /// The present value in a system, in internal units; `None` where the system has nothing that a cure could
    /// change.
    pub fn present(&self, system: &System, outcome: &Outcome, line: Option<usize>) -> Option<f64> {
        let component = system.component_at(self.field, line)?;
        let other_way = self
            .unless
            .is_some_and(|other| system.given(other).is_some());
        // If other values depend on this one, changing it would change them too.
        if other_way || system.read_by_expressions.contains(&self.field) {
            return None;
        }
        match component.given(self.field) {
            Some(given) => match given.value {
                Value::Quantity { band, .. } => Some(band.nominal),
                _ => None,
            },
            None if self.asks_new.is_none() => None,
            // Alone it would say nothing.
            None if !system.uses(component, self.field) => None,
            None if self.field == field!(pedal.rod_offset) => Some(outcome.chain.pedal.rod_offset),
            None if self.field == field!(pedal.stop) => outcome.get(result!(pedal_travel_used)),
            None => match self.field.field().presence {
                Presence::Default { value, .. } => Some(value),
                _ => None,
            },
        }
    }

    /// The places of the field's block in a system: `None` for a single block, or the number of each line.
    pub fn lines(&self, system: &System) -> impl Iterator<Item = Option<usize>> + use<> {
        let repeated = self.field.block().repeated;
        let count = match repeated {
            true => system.repeated(self.field.block).len(),
            false => 1,
        };
        (0..count).map(move |line| repeated.then_some(line))
    }

    /// The least and the most that a cure asks for in a system, in internal units. Of a loss it asks for nothing better than
    /// what is usual: nobody can buy it.
    pub fn reach_in(&self, system: &System) -> (f64, f64) {
        let range = self.field.field().range;
        let (mut low, mut high) = self.reach;
        if let Some(usual) = self.usual {
            match usual.better {
                Some(Better::Less) => low = low.max(usual.low),
                Some(Better::More) => high = high.min(usual.high),
                Some(Better::Neither) | None => {}
            }
        }
        if let Some(limit) = self.below.and_then(|field| system.number(field)) {
            high = high.min(limit - SMALLEST_STEP);
        }
        (low.max(range.low), high.min(range.high))
    }

    /// The commonly made bores, nearest first; those of the author's own series before any other.
    pub fn bores(present: f64, unit: Option<&UnitExpr>) -> Vec<f64> {
        let in_inches = unit.is_some_and(|unit| unit.to_string() == "in");
        let mut bores: Vec<f64> = COMMON_BORES.to_vec();
        bores.sort_by(|a, b| (a - present).abs().total_cmp(&(b - present).abs()));
        let (own, other): (Vec<f64>, Vec<f64>) = bores
            .into_iter()
            .partition(|bore| is_inch_size(*bore) == in_inches);
        own.into_iter().chain(other).collect()
    }

    /// The number of digits that people ask for. What is set has more than what is bought or made.
    pub fn digits(&self) -> i32 {
        match self.work {
            Work::Adjust => 3,
            Work::Replace | Work::Rebuild => 2,
        }
    }

    /// A value rounded to that number of digits in its unit.
    pub fn rounded(&self, value: f64, unit: Option<&UnitExpr>, way: Rounding, digits: i32) -> f64 {
        let hose = hose_unit();
        let unit = match self.sizes {
            Sizes::Hoses => hose.as_ref(),
            _ => unit,
        };
        let per = self.per();
        rounded(value * per, unit, way, digits) / per
    }

    /// A value as its author reads it. A hose is given by the figure on its data sheet.
    pub fn shown(&self, value: f64, display: &Display) -> String {
        match self.sizes {
            Sizes::Hoses => hose_figure(value),
            Sizes::Bores | Sizes::Measured => display.show(value, self.dimension()),
        }
    }

    /// A value in a sentence. For an author in inches, a metric bore is followed by the name under which it is sold.
    pub fn named(&self, value: f64, unit: Option<&UnitExpr>, system: UnitSystem) -> String {
        match self.sizes {
            Sizes::Bores => with_article(&bore_named(value, system)),
            Sizes::Hoses => hose_figure(value),
            Sizes::Measured => self.written(value, unit, system),
        }
    }

    /// A value as it is written into the spec of an author who uses one system of units.
    pub fn written(&self, value: f64, unit: Option<&UnitExpr>, system: UnitSystem) -> String {
        match self.sizes {
            Sizes::Bores => bore_written(value, system),
            Sizes::Measured => written(value, unit),
            Sizes::Hoses => {
                let value = written(value * self.per(), hose_unit().as_ref());
                format!("{value} / 1000 psi")
            }
        }
    }

    /// The factor on a value before it is written.
    fn per(&self) -> f64 {
        match self.sizes {
            Sizes::Hoses => UnitExpr::parse("psi").map_or(1.0, |psi| psi.inward(1000.0)),
            _ => 1.0,
        }
    }

    /// The dimension of the field.
    pub fn dimension(&self) -> Dimension {
        self.field.field().dimension().unwrap_or(Dimension::NUMBER)
    }
}

fn hose_unit() -> Option<UnitExpr> {
    UnitExpr::parse("cc/ft").ok()
}
