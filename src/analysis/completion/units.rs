//! Units, and values in the units that the author of a spec writes.

use super::writer::Writer;
use crate::analysis::completion_item::CompletionKind;
use crate::quantity::{Dimension, Display, UNITS, UnitExpr, UnitSystem, usual_unit};

impl Writer<'_> {
    pub(super) fn units(&mut self, dimension: Option<Dimension>, spread: bool) {
        let own = self.author_system();
        let mut units: Vec<UnitExpr> = Vec::new();
        let named = UNITS.iter().map(UnitExpr::of);
        let products = PRODUCTS
            .iter()
            .filter_map(|text| UnitExpr::parse(text).ok());
        for unit in named.chain(products) {
            let fits = match dimension {
                None => true,
                Some(dimension) => {
                    unit.dimension() == dimension || (spread && unit.to_string() == "%")
                }
            };
            if fits && !units.contains(&unit) {
                units.push(unit);
            }
        }
        let usual = dimension.and_then(|dimension| usual_unit(dimension, own));
        units.sort_by_key(|unit| (Some(unit) != usual.as_ref(), unit.system() != own));
        for unit in units {
            let doc = UNITS.iter().find(|known| known.name == unit.to_string());
            let dimension = unit.dimension();
            let item = self.add(CompletionKind::Unit, unit.to_string());
            item.detail = doc.map_or_else(|| dimension.to_string(), |unit| unit.doc.to_owned());
        }
    }

    // ---- the author's habits ----

    pub(super) fn show(&self, value: f64, dimension: Dimension) -> String {
        match self.worked() {
            Some(worked) => worked.system.show(value, dimension),
            None => self.display().show(value, dimension),
        }
    }

    pub(super) fn author_system(&self) -> UnitSystem {
        self.display().system()
    }

    /// How values are shown to the author at this place.
    pub(super) fn display(&self) -> &Display {
        let made = || self.report.display(self.worked());
        self.display.get_or_init(made)
    }

    /// The unit that this author uses for a dimension, with a blank before it.
    pub(super) fn unit(&self, dimension: Dimension) -> String {
        let unit = self.display().unit(dimension);
        unit.map_or_else(String::new, |unit| format!(" {unit}"))
    }
}

/// Products of units in which values are given.
const PRODUCTS: &[&str] = &[
    "mm^2",
    "cm^2",
    "in^2",
    "mm^3",
    "in^3",
    "N/mm",
    "kN/mm",
    "lbf/in",
    "N*m",
    "lbf*ft",
    "lbf*in",
    "cc/m/MPa",
    "cc/ft/psi",
    "in^3/ft/psi",
    "mm^2/s",
    "kg/m^3",
    "g/cc",
];
