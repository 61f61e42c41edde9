//! The places of results in their table, found by name while the program is compiled.

use super::ids::same;
use super::{RESULTS, ResultSpec};

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

    /// Every result, in the order of [`RESULTS`].
    pub fn all() -> impl Iterator<Item = Self> {
        (0..RESULTS.len() as u8).map(Self)
    }

    pub(crate) fn named(name: &str) -> Option<Self> {
        Self::all().find(|id| id.spec().name == name)
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
