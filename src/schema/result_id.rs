//! The places of results in their table, found by name while the program is compiled.

use super::ids::same;
use super::{NumberKind, RESULTS, ResultSpec};
use crate::quantity::{Display, Shift, significant};

/// The place of a result in [`RESULTS`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct ResultId(u8);

impl ResultId {
    /// Its row in the table.
    pub fn spec(self) -> &'static ResultSpec {
        &RESULTS[self.index()]
    }

    /// Its place in [`RESULTS`].
    pub fn index(self) -> usize {
        self.0 as usize
    }

    /// A value of it as its author reads it, no finer than a workshop can measure: `1.83 mm`, `84 %`,
    /// `6.0:1`.
    pub fn show(self, value: f64, display: &Display) -> String {
        let spec = self.spec();
        match spec.kind() {
            NumberKind::Share => format!("{:.0} %", value * 100.0),
            NumberKind::Ratio => ratio(value),
            NumberKind::Quantity => display.show(value, spec.dimension),
        }
    }

    /// [`show`](Self::show) to three digits, by which steps of one size are told apart: `84.3 %`.
    pub fn show_finely(self, value: f64, display: &Display) -> String {
        let spec = self.spec();
        match spec.kind() {
            NumberKind::Share => format!("{} %", significant(value * 100.0, 3)),
            NumberKind::Ratio => ratio(value),
            NumberKind::Quantity => display.show_finely(value, spec.dimension),
        }
    }

    /// [`show`](Self::show), with the other system's unit behind it: `1.83 mm (0.072 in)`.
    pub fn show_both(self, value: f64, display: &Display) -> String {
        match self.spec().kind() {
            NumberKind::Quantity => display.show_both(value, self.spec().dimension),
            NumberKind::Share | NumberKind::Ratio => self.show(value, display),
        }
    }

    /// Two values of it as [`show`](Self::show) has them, or to as many digits as tell them apart.
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

    /// What a value is shown as: so many times what it is, and with what behind it.
    fn scale(self) -> (f64, &'static str) {
        match self.spec().kind() {
            NumberKind::Quantity => (1.0, ""),
            NumberKind::Ratio => (1.0, ":1"),
            NumberKind::Share => (100.0, " %"),
        }
    }

    /// Two values of it and the step between them; `None` where they are alike as they are shown.
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

/// The place of a result by name, at compile time: a name that is not in the table does not
/// compile. Use through [`result!`](crate::result).
///
/// # Panics
/// Where no such name is in the table: at compile time.
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

    /// Both are shown as 84 % where they stand alone.
    #[test]
    fn shares_that_are_told_apart_are_still_shares() {
        let told = result!(cable_efficiency).told_apart(0.838, 0.84, &Display::default());
        assert_eq!(told, ["83.8 %", "84 %"]);
    }
}
