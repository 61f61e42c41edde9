//! The places of blocks and fields in their table, found by name while the program is compiled.

use super::{BLOCKS, Block, Field};

/// The place of a field in [`BLOCKS`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct FieldId {
    /// The place of its block in [`BLOCKS`].
    pub block: u8,
    /// Its place in [`Block::fields`].
    pub field: u8,
}

/// The place of a block in [`BLOCKS`].
pub type BlockId = u8;

impl FieldId {
    /// The row of its block.
    pub fn block(self) -> &'static Block {
        &BLOCKS[self.block as usize]
    }

    /// Its own row in the table.
    pub fn field(self) -> &'static Field {
        &self.block().fields[self.field as usize]
    }

    /// The field that `block.field` names.
    pub fn named(block: &str, field: &str) -> Option<Self> {
        let block = Block::named(block)?;
        let field = BLOCKS[block as usize].field_index(field)?;
        Some(Self { block, field })
    }

    /// The field as expressions write it: `master.bore`.
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
}

pub(super) const fn same(a: &[u8], b: &[u8]) -> bool {
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

pub(super) const fn find_block(name: &[u8]) -> Option<BlockId> {
    let mut b = 0;
    while b < BLOCKS.len() {
        if same(BLOCKS[b].name.as_bytes(), name) {
            return Some(b as BlockId);
        }
        b += 1;
    }
    None
}

pub(super) const fn find_field(block: BlockId, name: &[u8]) -> Option<u8> {
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

/// The place of a block by its name, found at compile time. A name that is not in the table does not compile. Use it
/// through [`block!`](crate::block).
///
/// # Panics
/// If the table has no such name, at compile time.
pub const fn block_id(block: &str) -> BlockId {
    match find_block(block.as_bytes()) {
        Some(block) => block,
        None => panic!("no such block in the schema"),
    }
}

/// The place of a field by its name, found at compile time. A name that is not in the table does not compile. Use it
/// through [`field!`](crate::field).
///
/// # Panics
/// If the table has no such name, at compile time.
pub const fn field_id(block: &str, field: &str) -> FieldId {
    let block = block_id(block);
    match find_field(block, field.as_bytes()) {
        Some(field) => FieldId { block, field },
        None => panic!("no such field in the schema"),
    }
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
