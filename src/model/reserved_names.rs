//! Lets whose names are reserved by the language.

use super::expression::{Function, PI};
use super::source::Source;
use crate::check_id::CheckId;
use crate::finding::Problem;
use crate::quantity::UnitExpr;
use crate::syntax::Let;

/// Problems of lets whose names the language reserves.
pub(super) fn reserved_names(source: &Source) -> impl Iterator<Item = Problem> {
    source
        .all_lets()
        .filter_map(|(item, _)| taken(source, item))
}

fn taken(source: &Source, item: &Let) -> Option<Problem> {
    let name = &item.name.text;
    let message = if name == PI {
        "`pi` is 3.14159… in every expression, and this `let` is not used".to_owned()
    } else if Function::named(name).is_some() {
        format!("`{name}` is also a function of the language")
    } else if let Ok(unit) = UnitExpr::parse(name) {
        format!(
            "`{name}` is also a unit, of {}: after a number it is read as that",
            unit.dimension()
        )
    } else {
        return None;
    };
    Some(
        Problem::new(CheckId::TakenName, source.place(item.name.span), message)
            .help("give it another name"),
    )
}
