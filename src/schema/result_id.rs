//! The places of results in their table, found by name while the program is compiled.

use super::ids::same;
use super::{NumberKind, RESULTS, ResultSpec};
use crate::quantity::{Display, Shift, significant};

/// The place of a result in [`RESULTS`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct ResultId(u8);

impl ResultId {
    /// The result's row in the table.
    pub fn spec(self) -> &'static ResultSpec {
        &RESULTS[self.index()]
    }

    /// The result's place in [`RESULTS`].
    pub fn index(self) -> usize {
        self.0 as usize
    }

    /// A value as its author reads it, no finer than a workshop can measure: `1.83 mm`, `84 %`, `6.0:1`.
    pub fn show(self, value: f64, display: &Display) -> String {
        let spec = self.spec();
        match spec.kind() {
            NumberKind::Share => format!("{:.0} %", value * 100.0),
            NumberKind::Ratio => ratio(value),
            NumberKind::Quantity => display.show(value, spec.dimension),
        }
    }

    /// A value as [`show`](Self::show) gives it, but to three digits, so that steps of one size can be told apart:
    /// `84.3 %`.
    pub fn show_finely(self, value: f64, display: &Display) -> String {
        let spec = self.spec();
        match spec.kind() {
            NumberKind::Share => format!("{} %", significant(value * 100.0, 3)),
            NumberKind::Ratio => ratio(value),
            NumberKind::Quantity => display.show_finely(value, spec.dimension),
        }
    }

    /// A value as [`show`](Self::show) gives it, followed by the other system's unit: `1.83 mm (0.072 in)`.
    pub fn show_both(self, value: f64, display: &Display) -> String {
        match self.spec().kind() {
            NumberKind::Quantity => display.show_both(value, self.spec().dimension),
            NumberKind::Share | NumberKind::Ratio => self.show(value, display),
        }
    }

    /// Two values as [`show`](Self::show) gives them, or with as many digits as tell them apart.
    pub fn told_apart(self, one: f64, other: f64, display: &Display) -> [String; 2] {
        let shown = [one, other].map(|value| self.show(value, display));
        match shown[0] == shown[1] {
            true => {
                let (times, behind) = self.scale();
                display
                    .told_apart(times * one, times * other, self.spec().dimension)
                    .map(|shown| shown + behind)
            }
            false => shown,
        }
    }

    /// How a value is shown: the factor for its number, and the text after the number.
    fn scale(self) -> (f64, &'static str) {
        match self.spec().kind() {
            NumberKind::Quantity => (1.0, ""),
            NumberKind::Ratio => (1.0, ":1"),
            NumberKind::Share => (100.0, " %"),
        }
    }

    /// Two values and the step between them; `None` where both look alike when shown.
    pub fn shift(self, before: f64, after: f64, display: &Display) -> Option<Shift> {
        let spec = self.spec();
        let (times, behind) = self.scale();
        let shift = display.shift(times * before, times * after, spec.dimension)?;
        let by = match spec.kind() {
            NumberKind::Ratio => shift.by,
            NumberKind::Share | NumberKind::Quantity => shift.by + behind,
        };
        Some(Shift {
            before: shift.before + behind,
            after: shift.after + behind,
            by,
        })
    }

    /// Every result, in the order of [`RESULTS`].
    pub fn all() -> impl Iterator<Item = Self> {
        (0..RESULTS.len() as u8).map(Self)
    }

    pub(crate) fn named(name: &str) -> Option<Self> {
        Self::all().find(|id| id.spec().name == name)
    }
}

/// A ratio as the trade writes it: `6.0:1`.
fn ratio(value: f64) -> String {
    let number = significant(value, 3);
    match number.contains('.') {
        true => format!("{number}:1"),
        false => format!("{number}.0:1"),
    }
}

/// The place of a result by its name, found at compile time. A name that is not in the table does not compile. Use it
/// through [`result!`](crate::result).
///
/// # Panics
/// If the table has no such name, at compile time.
pub const fn result_id(name: &str) -> ResultId {
    let mut r = 0;
    while r < RESULTS.len() {
        if same(RESULTS[r].name.as_bytes(), name.as_bytes()) {
            return ResultId(r as u8);
        }
        r += 1;
    }
    panic!("no such result in the schema")
}

/// `result!(release_margin)`: the [`ResultId`](crate::schema::ResultId) of a result, found at compile time.
#[macro_export]
macro_rules! result {
    ($name:ident) => {
        const { $crate::schema::result_id(stringify!($name)) }
    };
}

#[cfg(test)]
mod tests {
    use crate::quantity::Display;

    /// Alone, each of them is shown as 84 %.
    #[test]
    fn shares_that_are_told_apart_are_still_shares() {
        let told = result!(cable_efficiency).told_apart(0.838, 0.84, &Display::default());
        assert_eq!(told, ["83.8 %", "84 %"]);
    }
}
