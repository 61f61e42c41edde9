//! What else must be given before a value is used or a result exists.

use super::ids::{find_block, find_field};
use super::{BLOCKS, Block, BlockId, FieldId, ResultSpec};
use crate::quantity::listed;
use std::sync::LazyLock;

/// Several ways, each a list of fields as expressions write them (`master.bore`) and of blocks (`master`). A field of
/// a repeated block means the field in that same block.
pub type Ways = &'static [&'static [&'static str]];

/// One thing that a way of `Field::needs` names.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Need {
    /// The block is there, whatever it says.
    Block(BlockId),
    /// The field is given.
    Field(FieldId),
}

impl Need {
    /// The need that a path names; `None` if the schema does not know it.
    pub(super) const fn of(path: &str) -> Option<Self> {
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

    /// The need as [`Ways`] write it.
    pub fn path(self) -> String {
        match self {
            Self::Block(block) => BLOCKS[block as usize].name.to_owned(),
            Self::Field(field) => field.path(),
        }
    }

    /// The block itself, or the block of the field.
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

impl FieldId {
    /// The ways of `Field::needs`.
    pub fn needs(self) -> &'static [Vec<Need>] {
        let of_block = FIELD_NEEDS.get(self.block as usize);
        of_block
            .and_then(|fields| fields.get(self.field as usize))
            .map_or(&[], Vec::as_slice)
    }
}

impl ResultSpec {
    /// What it needs, in words: `disc.wear, and cover.finger_ratio or diaphragm`.
    pub fn needs_in_words(&self) -> String {
        in_words(self.needs.iter())
    }
}

/// What is needed, of each several alternatives one: `disc.wear, and cover.finger_ratio or diaphragm`.
pub fn in_words<'a>(needs: impl Iterator<Item = &'a &'static [Need]>) -> String {
    let alternatives = |any: &[Need]| {
        let paths: Vec<String> = any.iter().map(|need| need.path()).collect();
        listed(&paths, " or ")
    };
    let (several, single): (Vec<&[Need]>, Vec<&[Need]>) = needs.partition(|any| any.len() > 1);
    let single: Vec<String> = single.into_iter().map(alternatives).collect();
    let several: Vec<String> = several.into_iter().map(alternatives).collect();
    match (single.is_empty(), several.is_empty()) {
        (_, true) => listed(&single, " and "),
        (true, false) => listed(&several, ", and "),
        (false, false) => format!(
            "{}, and {}",
            listed(&single, " and "),
            listed(&several, ", and ")
        ),
    }
}
