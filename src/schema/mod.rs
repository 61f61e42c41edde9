//! The words of the trade: which blocks, fields and results exist, what they mean, in which
//! dimension, with which default and from which source.
//!
//! One table for all: validation, hover, completion, formatting, `explain` and the model read
//! it. A new field is a row here.
//!
//! **Never knows files or text positions.**

mod blocks;
mod results;

pub use blocks::BLOCKS;
pub use results::RESULTS;

use crate::quantity::Dimension;
use std::sync::LazyLock;

/// One kind of component, such as `master`.
#[derive(Debug)]
pub struct Block {
    pub name: &'static str,
    /// What it is, in a sentence or two.
    pub doc: &'static str,
    pub fields: &'static [Field],
    /// Fields that say one thing in different ways.
    pub alternatives: &'static [Alternatives],
    /// A block that may stand many times takes a label instead of a part's name.
    pub repeated: bool,
    /// What else must be given before anything in it is used, as [`Field::needs`].
    pub needs: Ways,
}

/// One field of a block.
#[derive(Debug)]
pub struct Field {
    pub name: &'static str,
    /// What it is and how it is measured.
    pub doc: &'static str,
    pub kind: Kind,
    pub presence: Presence,
    /// What is physically possible.
    pub range: Range,
    /// What is usually met, in internal units: far outside, another unit was probably meant.
    pub usual: Option<(f64, f64)>,
    /// What else must be given before the value is used: one of these ways, in full. Empty where
    /// the value is used by itself.
    pub needs: Ways,
    /// Where the meaning or the default comes from.
    pub source: &'static str,
}

/// Several ways, each of them fields as expressions write them (`master.bore`) and blocks
/// (`master`). A repeated block's own fields mean those of the same block.
pub type Ways = &'static [&'static [&'static str]];

/// What a way of [`Field::needs`] names.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Need {
    Block(BlockId),
    Field(FieldId),
}

impl Need {
    /// What a path means; `None` for what the schema does not know.
    const fn of(path: &str) -> Option<Self> {
        let path = path.as_bytes();
        let mut dot = 0;
        while dot < path.len() && path[dot] != b'.' {
            dot += 1;
        }
        let (block, rest) = path.split_at(dot);
        let Some(block) = find_block(block) else {
            return None;
        };
        match rest {
            [] => Some(Self::Block(block)),
            [_, name @ ..] => match find_field(block, name) {
                Some(field) => Some(Self::Field(FieldId { block, field })),
                None => None,
            },
        }
    }

    /// As [`Ways`] write it.
    pub fn path(self) -> String {
        match self {
            Self::Block(block) => BLOCKS[block as usize].name.to_owned(),
            Self::Field(field) => field.path(),
        }
    }

    /// The block itself, or that of the field.
    pub fn block(self) -> BlockId {
        match self {
            Self::Block(block) => block,
            Self::Field(field) => field.block,
        }
    }
}

/// A need that names nothing in the table does not compile.
const _: () = {
    const fn are_known(ways: Ways) -> bool {
        let mut w = 0;
        while w < ways.len() {
            let mut n = 0;
            while n < ways[w].len() {
                if Need::of(ways[w][n]).is_none() {
                    return false;
                }
                n += 1;
            }
            w += 1;
        }
        true
    }
    let mut b = 0;
    while b < BLOCKS.len() {
        assert!(
            are_known(BLOCKS[b].needs),
            "a block needs what the schema does not know"
        );
        let mut f = 0;
        while f < BLOCKS[b].fields.len() {
            assert!(
                are_known(BLOCKS[b].fields[f].needs),
                "a field needs what the schema does not know"
            );
            f += 1;
        }
        b += 1;
    }
};

/// The needs of every field, by block and field, looked up once.
static FIELD_NEEDS: LazyLock<Vec<Vec<Vec<Vec<Need>>>>> = LazyLock::new(|| {
    let of_block = |block: &Block| block.fields.iter().map(|f| looked_up(f.needs)).collect();
    BLOCKS.iter().map(of_block).collect()
});

/// The needs of every block, looked up once.
static BLOCK_NEEDS: LazyLock<Vec<Vec<Vec<Need>>>> =
    LazyLock::new(|| BLOCKS.iter().map(|block| looked_up(block.needs)).collect());

fn looked_up(ways: Ways) -> Vec<Vec<Need>> {
    let way = |way: &&[&str]| way.iter().filter_map(|path| Need::of(path)).collect();
    ways.iter().map(way).collect()
}

/// The ways of [`Block::needs`].
pub fn block_needs(block: BlockId) -> &'static [Vec<Need>] {
    BLOCK_NEEDS.get(block as usize).map_or(&[], Vec::as_slice)
}

/// What a field's value is made of.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// One value, which may carry a tolerance.
    Quantity(Dimension),
    /// A window, `least to most`.
    Window(Dimension),
    /// Points of `x: y` with x rising.
    Curve { x: Dimension, y: Dimension },
    /// A curve, or a single value of `y` that stands for its peak.
    CurveOrPeak { x: Dimension, y: Dimension },
    /// One of a few bare words.
    Choice(&'static [Choice]),
}

/// One word that a field may say.
#[derive(PartialEq, Debug)]
pub struct Choice {
    pub name: &'static str,
    pub doc: &'static str,
}

/// Whether a field must be given.
#[derive(Clone, Copy, Debug)]
pub enum Presence {
    Required,
    /// Left out of the model when absent.
    Optional,
    /// One of the block's [`Alternatives`].
    Alternative,
    /// Assumed when absent.
    Default {
        /// In internal units.
        value: f64,
        /// As it would be written.
        text: &'static str,
    },
    /// The word assumed when absent.
    DefaultWord(&'static str),
}

/// Ways of giving the same thing: exactly one of them, in full.
#[derive(Debug)]
pub struct Alternatives {
    pub ways: &'static [&'static [&'static str]],
    /// Whether one of the ways must be given.
    pub required: bool,
}

/// The physically possible values of a quantity, in internal units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Range {
    pub low: f64,
    pub high: f64,
    /// Whether the ends themselves are possible.
    pub closed: bool,
    /// As a sentence ends: "must be …".
    pub words: &'static str,
}

impl Range {
    pub const ANY: Self = Self {
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        closed: true,
        words: "any number",
    };
    pub const POSITIVE: Self = Self {
        low: 0.0,
        high: f64::INFINITY,
        closed: false,
        words: "above zero",
    };
    pub const NOT_NEGATIVE: Self = Self {
        low: 0.0,
        high: f64::INFINITY,
        closed: true,
        words: "zero or more",
    };
    /// For efficiencies: something must come through, and never more than goes in.
    pub const EFFICIENCY: Self = Self {
        low: 0.01,
        high: 1.0,
        closed: true,
        words: "from 1 % to 100 %",
    };
    /// An isotropic solid that neither swells sideways when pulled nor gains stiffness.
    pub const POISSON: Self = Self {
        low: 0.0,
        high: 0.5,
        closed: true,
        words: "from 0 to 0.5",
    };
    /// An arm further round than this drives nothing.
    pub const ACUTE: Self = Self {
        low: -std::f64::consts::FRAC_PI_2,
        high: std::f64::consts::FRAC_PI_2,
        closed: false,
        words: "between -90 deg and 90 deg",
    };
    pub const ABSOLUTE: Self = Self {
        low: 0.0,
        high: f64::INFINITY,
        closed: false,
        words: "above absolute zero",
    };

    pub fn contains(&self, value: f64) -> bool {
        if self.closed {
            self.low <= value && value <= self.high
        } else {
            self.low < value && value < self.high
        }
    }
}

/// One computed result.
#[derive(Debug)]
pub struct ResultSpec {
    pub name: &'static str,
    /// What it means for whoever reads it.
    pub doc: &'static str,
    /// How it is worked out, in words or symbols of the mechanics.
    pub formula: &'static str,
    pub dimension: Dimension,
    /// The unit of machine output; empty for a plain number.
    pub unit: &'static str,
    /// What the spec must say beyond the blocks that every system has: all of these, and of each one of its
    /// alternatives.
    pub needs: &'static [&'static [Need]],
    /// Which way is better, all else alike.
    pub better: Better,
    pub source: &'static str,
}

impl ResultSpec {
    /// What it needs, in words: `cover.finger_ratio or diaphragm`, one text for each need.
    pub fn needs_in_words(&self) -> impl Iterator<Item = String> {
        self.needs.iter().map(|any| in_words(any))
    }
}

/// Alternatives of which one is needed: `cover.finger_ratio or diaphragm`.
pub fn in_words(alternatives: &[Need]) -> String {
    let paths: Vec<String> = alternatives.iter().map(|need| need.path()).collect();
    paths.join(" or ")
}

/// Which way a result is better.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Better {
    More,
    Less,
    /// More of it is good for one thing and bad for another.
    Neither,
}

/// The place of a field in [`BLOCKS`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct FieldId {
    pub block: u8,
    pub field: u8,
}

/// The place of a result in [`RESULTS`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct ResultId(u8);

/// The place of a block in [`BLOCKS`].
pub type BlockId = u8;

impl FieldId {
    pub fn block(self) -> &'static Block {
        &BLOCKS[self.block as usize]
    }

    pub fn field(self) -> &'static Field {
        &self.block().fields[self.field as usize]
    }

    /// The field that `block.field` names.
    pub fn named(block: &str, field: &str) -> Option<Self> {
        let block = Block::named(block)?;
        let field = BLOCKS[block as usize].field_index(field)?;
        Some(Self { block, field })
    }

    /// As expressions write it: `master.bore`.
    pub fn path(self) -> String {
        format!("{}.{}", self.block().name, self.field().name)
    }

    /// Every field of every block.
    pub fn all() -> impl Iterator<Item = Self> {
        (0u8..).zip(BLOCKS).flat_map(|(block, row)| {
            let fields = 0..row.fields.len() as u8;
            fields.map(move |field| Self { block, field })
        })
    }

    /// The ways of [`Field::needs`].
    pub fn needs(self) -> &'static [Vec<Need>] {
        let of_block = FIELD_NEEDS.get(self.block as usize);
        of_block
            .and_then(|fields| fields.get(self.field as usize))
            .map_or(&[], Vec::as_slice)
    }
}

impl ResultId {
    pub fn spec(self) -> &'static ResultSpec {
        &RESULTS[self.index()]
    }

    pub fn index(self) -> usize {
        self.0 as usize
    }

    pub fn all() -> impl Iterator<Item = Self> {
        (0..RESULTS.len() as u8).map(Self)
    }

    pub fn named(name: &str) -> Option<Self> {
        Self::all().find(|id| id.spec().name == name)
    }
}

impl Block {
    pub fn named(name: &str) -> Option<BlockId> {
        BLOCKS
            .iter()
            .position(|block| block.name == name)
            .map(|i| i as BlockId)
    }

    pub fn field_index(&self, name: &str) -> Option<u8> {
        self.fields
            .iter()
            .position(|field| field.name == name)
            .map(|i| i as u8)
    }

    /// The alternatives and the way among them that a field is part of.
    pub fn way_of(&self, field: &str) -> Option<(&'static Alternatives, usize)> {
        self.alternatives.iter().find_map(|alternatives| {
            let way = alternatives
                .ways
                .iter()
                .position(|way| way.contains(&field))?;
            Some((alternatives, way))
        })
    }
}

impl Field {
    /// The dimension of a value or of a window's ends; `None` for curves and words.
    pub fn dimension(&self) -> Option<Dimension> {
        match self.kind {
            Kind::Quantity(dimension) | Kind::Window(dimension) => Some(dimension),
            Kind::Curve { .. } | Kind::CurveOrPeak { .. } | Kind::Choice(_) => None,
        }
    }

    // The rows of the table are written with these.

    const fn new(name: &'static str, kind: Kind, doc: &'static str) -> Self {
        Self {
            name,
            doc,
            kind,
            presence: Presence::Optional,
            range: Range::NOT_NEGATIVE,
            usual: None,
            needs: &[],
            source: COMMON,
        }
    }

    const fn required(mut self) -> Self {
        self.presence = Presence::Required;
        self
    }

    const fn alternative(mut self) -> Self {
        self.presence = Presence::Alternative;
        self
    }

    const fn default(mut self, value: f64, text: &'static str) -> Self {
        self.presence = Presence::Default { value, text };
        self
    }

    const fn default_word(mut self, word: &'static str) -> Self {
        self.presence = Presence::DefaultWord(word);
        self
    }

    const fn range(mut self, range: Range) -> Self {
        self.range = range;
        self
    }

    const fn usual(mut self, low: f64, high: f64) -> Self {
        self.usual = Some((low, high));
        self
    }

    const fn needs(mut self, ways: Ways) -> Self {
        self.needs = ways;
        self
    }

    const fn source(mut self, source: &'static str) -> Self {
        self.source = source;
        self
    }
}

/// What is said of a fact of the trade that has no published source.
pub const COMMON: &str = "common practice, no source";

const fn same(a: &[u8], b: &[u8]) -> bool {
    if a.len() != b.len() {
        return false;
    }
    let mut i = 0;
    while i < a.len() {
        if a[i] != b[i] {
            return false;
        }
        i += 1;
    }
    true
}

const fn find_block(name: &[u8]) -> Option<BlockId> {
    let mut b = 0;
    while b < BLOCKS.len() {
        if same(BLOCKS[b].name.as_bytes(), name) {
            return Some(b as BlockId);
        }
        b += 1;
    }
    None
}

const fn find_field(block: BlockId, name: &[u8]) -> Option<u8> {
    let fields = BLOCKS[block as usize].fields;
    let mut f = 0;
    while f < fields.len() {
        if same(fields[f].name.as_bytes(), name) {
            return Some(f as u8);
        }
        f += 1;
    }
    None
}

/// The place of a block by name, at compile time: a name that is not in the table does not
/// compile. Use through [`block!`](crate::block).
pub const fn block_id(block: &str) -> BlockId {
    match find_block(block.as_bytes()) {
        Some(block) => block,
        None => panic!("no such block in the schema"),
    }
}

/// The place of a field by name, at compile time: a name that is not in the table does not
/// compile. Use through [`field!`](crate::field).
pub const fn field_id(block: &str, field: &str) -> FieldId {
    let block = block_id(block);
    match find_field(block, field.as_bytes()) {
        Some(field) => FieldId { block, field },
        None => panic!("no such field in the schema"),
    }
}

/// The place of a result by name, at compile time: a name that is not in the table does not
/// compile. Use through [`result!`](crate::result).
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

/// `field!(master.bore)`: the [`FieldId`](crate::schema::FieldId) of a field, found at compile time.
#[macro_export]
macro_rules! field {
    ($block:ident . $field:ident) => {
        const { $crate::schema::field_id(stringify!($block), stringify!($field)) }
    };
}

/// `block!(master)`: the place of a block in the schema, found at compile time.
#[macro_export]
macro_rules! block {
    ($block:ident) => {
        const { $crate::schema::block_id(stringify!($block)) }
    };
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
    use super::*;
    use crate::quantity::UnitExpr;
    use std::collections::HashSet;

    fn fields() -> impl Iterator<Item = (&'static Block, &'static Field)> {
        BLOCKS
            .iter()
            .flat_map(|block| block.fields.iter().map(move |field| (block, field)))
    }

    #[test]
    fn names_are_unique_and_every_row_is_documented() {
        let mut seen = HashSet::new();
        for (block, field) in fields() {
            let path = format!("{}.{}", block.name, field.name);
            assert!(field.doc.len() > 10, "{path} has no doc");
            assert!(!field.source.is_empty(), "{path} has no source");
            assert!(seen.insert(path.clone()), "{path} stands twice");
        }
        for result in RESULTS {
            assert!(seen.insert(result.name.to_owned()), "{}", result.name);
            assert!(
                result.doc.len() > 10 && !result.formula.is_empty() && !result.source.is_empty(),
                "{} is not documented",
                result.name
            );
        }
    }

    #[test]
    fn a_defaults_text_says_its_value() {
        for (block, field) in fields() {
            let Presence::Default { value, text } = field.presence else {
                continue;
            };
            let Kind::Quantity(dimension) = field.kind else {
                panic!(
                    "{}.{}: only quantities have numbers",
                    block.name, field.name
                );
            };
            let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
            let number: f64 = number.parse().unwrap();
            let (internal, written) = if unit.is_empty() {
                (number, Dimension::NUMBER)
            } else {
                let unit = UnitExpr::parse(unit).unwrap();
                (unit.inward(number), unit.dimension())
            };
            assert_eq!(written, dimension, "{}.{}", block.name, field.name);
            assert!(
                (internal - value).abs() <= 1e-12 * value.abs(),
                "{}.{}: {text} is {internal}, not {value}",
                block.name,
                field.name
            );
            assert!(field.range.contains(value), "{}.{}", block.name, field.name);
        }
    }

    #[test]
    fn alternatives_name_fields_of_their_block() {
        for block in BLOCKS {
            for name in block.alternatives.iter().flat_map(|a| a.ways.concat()) {
                let field = block.field_index(name).map(|i| &block.fields[i as usize]);
                assert!(
                    field.is_some_and(|f| matches!(f.presence, Presence::Alternative)),
                    "{}.{name}",
                    block.name
                );
            }
            for field in block.fields {
                assert_eq!(
                    matches!(field.presence, Presence::Alternative),
                    block.way_of(field.name).is_some(),
                    "{}.{}",
                    block.name,
                    field.name
                );
            }
        }
    }

    #[test]
    fn the_usual_is_possible() {
        for (block, field) in fields() {
            if let Some((low, high)) = field.usual {
                assert!(low < high, "{}.{}", block.name, field.name);
                assert!(
                    field.range.contains(low.max(f64::MIN_POSITIVE)) && field.range.contains(high),
                    "{}.{}",
                    block.name,
                    field.name
                );
            }
        }
    }

    #[test]
    fn machine_units_have_their_results_dimension() {
        for result in RESULTS {
            let dimension = if result.unit.is_empty() {
                Dimension::NUMBER
            } else {
                UnitExpr::parse(result.unit).unwrap().dimension()
            };
            assert_eq!(dimension, result.dimension, "{}", result.name);
        }
    }
}
