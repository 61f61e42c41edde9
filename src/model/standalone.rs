//! Values outside of any spec, such as those in settings.

use super::expression::{Evaluated, LetValue, Names};
use super::value::let_value;
use crate::check_id::CheckId;
use crate::finding::{FileName, Place, Problem};
use crate::quantity::Dimension;
use crate::syntax::{Expr, Span, StatementKind, TextRange, parse};

/// The statement put before a value, since the grammar reads values only inside statements.
const LEAD: &str = "let value = ";

/// The value of an expression in another file, such as a setting, in internal units with its dimension. `at` is where
/// it begins in that file.
///
/// # Errors
/// What is wrong with it, at its places in that file.
pub fn standalone_value(
    text: &str,
    file: &FileName,
    at: u32,
) -> Result<(f64, Dimension), Vec<Problem>> {
    let whole = TextRange::new(LEAD.len(), LEAD.len() + text.len());
    let tree = parse(&format!("{LEAD}{text}"));
    let moved = |mut problem: Problem| {
        let related = problem.related.iter_mut().map(|related| &mut related.place);
        let edits = problem.fixes.iter_mut().flat_map(|fix| &mut fix.edits);
        let places = related.chain(edits.map(|(place, _)| place));
        for place in places.chain([&mut problem.place]) {
            let inside = |offset: u32| at + offset.clamp(whole.start, whole.end) - whole.start;
            let range = tree.range(place.span);
            place.span = Span::from(TextRange {
                start: inside(range.start),
                end: inside(range.end),
            });
        }
        problem
    };
    if !tree.is_flawless() {
        return Err(tree
            .flaws()
            .map(|flaw| moved(Problem::from_flaw(flaw, file)))
            .collect());
    }
    let wrong = |message: &str| {
        let problem = Problem::new(
            CheckId::Syntax,
            Place::new(file, tree.anchor(whole)),
            message,
        );
        Err(vec![moved(problem.help("write one number with its unit"))])
    };
    let [statement] = tree.items.as_slice() else {
        return wrong("one value is wanted here");
    };
    let StatementKind::Let(item) = &statement.kind else {
        return wrong("a value is wanted here");
    };
    match let_value(&item.value, &mut NoNames(file)) {
        Err(problem) => Err(vec![moved(problem)]),
        Ok(Some(LetValue::Quantity(value))) if value.band.low == value.band.high => {
            Ok((value.band.nominal, value.dimension))
        }
        Ok(Some(LetValue::Quantity(_))) => wrong("this is a range, and one value is wanted"),
        Ok(Some(LetValue::Curve { .. })) => wrong("this is a curve, and one value is wanted"),
        Ok(Some(LetValue::Text(_))) => wrong("this is a text, and one value is wanted"),
        Ok(None) => wrong("this has no value"),
    }
}

/// A set of names that has none.
struct NoNames<'a>(&'a FileName);

impl Names for NoNames<'_> {
    fn let_value(&mut self, name: &str, place: &Place) -> Result<Option<LetValue>, Problem> {
        let message = format!("nothing is called `{name}` here");
        Err(Problem::new(CheckId::UnknownName, place.clone(), message)
            .help("only numbers and units stand here"))
    }

    fn field_value(
        &mut self,
        block: &str,
        field: &str,
        place: &Place,
    ) -> Result<Option<Evaluated>, Problem> {
        let message = format!("there is no `{block}.{field}` here");
        Err(Problem::new(CheckId::UnknownName, place.clone(), message)
            .help("only numbers and units stand here"))
    }

    fn place(&self, expr: &Expr) -> Place {
        Place::new(self.0, expr.span)
    }
}
