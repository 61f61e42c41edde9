//! The ways of actuation, one row for each thing that can work a fork. A row holds every difference between them that
//! is neither mechanics nor a check.

use super::{BLOCKS, BlockId, FieldId};
use crate::quantity::listed;
use crate::{block, field};

/// What can work a fork.
#[derive(Debug)]
pub struct ForkDrive {
    /// The blocks of this way of actuation. The first one, such as the master, tells which way it is.
    pub blocks: &'static [DriveBlock],
    /// The field that says which way the fork's outer end moves. Its block is the one that moves it.
    pub moves: FieldId,
    /// The field that says how far the fork's outer end may come back as the disc wears.
    pub room: FieldId,
    /// The field that says what adjusts for wear, and the field for how far that goes at the fork's end.
    pub adjuster: (FieldId, FieldId),
    /// The field for the force with which the adjuster pulls at rest.
    pub adjust_preload: FieldId,
    /// The fields that can set the ratio. The first one that a spec gives counts, or else the last.
    pub ratio: &'static [FieldId],
    /// What to mind before work on it. Common practice, no source, except for what a fluid's own label says.
    pub cautions: &'static [&'static str],
}

/// A block that belongs to only one way of actuation.
#[derive(Debug)]
pub struct DriveBlock {
    /// Which block it is.
    pub block: BlockId,
    /// Whether the actuation needs it.
    pub is_needed: bool,
    /// The sizes by which it is sold.
    pub sizes: &'static [FieldId],
}

/// Every way of actuation.
pub const FORK_DRIVES: &[ForkDrive] = &[
    ForkDrive {
        blocks: &[
            DriveBlock {
                block: block!(master),
                is_needed: true,
                sizes: &[
                    field!(master.bore),
                    field!(master.stroke),
                    field!(master.port_travel),
                    field!(master.reservoir),
                    field!(master.seals),
                    field!(master.max_pressure),
                ],
            },
            DriveBlock {
                block: block!(slave),
                is_needed: true,
                sizes: &[
                    field!(slave.bore),
                    field!(slave.outer),
                    field!(slave.inner),
                    field!(slave.stroke),
                    field!(slave.height),
                    field!(slave.rod_end),
                    field!(slave.seals),
                    field!(slave.max_pressure),
                ],
            },
            DriveBlock {
                block: block!(line),
                is_needed: false,
                sizes: &[
                    field!(line.bore),
                    field!(line.length),
                    field!(line.wall),
                    field!(line.expansion),
                    field!(line.max_pressure),
                ],
            },
            DriveBlock {
                block: block!(fluid),
                is_needed: false,
                sizes: &[field!(fluid.grade)],
            },
        ],
        moves: field!(slave.moves),
        room: field!(slave.rest_extension),
        adjuster: (field!(slave.adjuster), field!(slave.adjust_range)),
        adjust_preload: field!(slave.adjust_preload),
        ratio: &[field!(slave.outer), field!(slave.bore)],
        cautions: &[
            "Brake fluid harms eyes and skin and strips paint: gloves and glasses, wash spills off with water, take old \
             fluid to where it is collected.",
            "Use only the fluid that the seals are made for, from a fresh sealed can; never top up with another kind.",
        ],
    },
    ForkDrive {
        blocks: &[DriveBlock {
            block: block!(cable),
            is_needed: true,
            sizes: &[field!(cable.stiffness), field!(cable.min_bend)],
        }],
        moves: field!(cable.moves),
        room: field!(cable.play),
        adjuster: (field!(cable.adjuster), field!(cable.adjust_range)),
        adjust_preload: field!(cable.adjust_preload),
        // A cable has no size: the pedal's levers decide.
        ratio: &[field!(pedal.rod_arm), field!(pedal.ratio)],
        cautions: &[
            "Slacken the cable at its adjuster before you take its end off: under load it can whip. Keep \
             fingers out of its hooks and clips.",
        ],
    },
    ForkDrive {
        blocks: &[DriveBlock {
            block: block!(linkage),
            is_needed: true,
            sizes: &[field!(linkage.in_arm), field!(linkage.out_arm)],
        }],
        moves: field!(linkage.moves),
        room: field!(linkage.play),
        adjuster: (field!(linkage.adjuster), field!(linkage.adjust_range)),
        adjust_preload: field!(linkage.adjust_preload),
        ratio: &[field!(linkage.in_arm)],
        cautions: &[
            "Rods and cross-shaft shear whatever lies between them, and over-center springs throw the \
             pedal either way: unhook the springs with the right tool before you take a pin out.",
        ],
    },
];

impl ForkDrive {
    /// The name of what moves the fork's outer end, for a message.
    pub fn name(&self) -> &'static str {
        self.moves.block().name
    }

    /// The blocks that this way of actuation needs.
    pub fn needed(&self) -> impl Iterator<Item = BlockId> {
        let needed = self.blocks.iter().filter(|part| part.is_needed);
        needed.map(|part| part.block)
    }

    /// The ways of actuation that have at least one block; `has` says whether a block is there.
    pub fn among(has: impl Fn(BlockId) -> bool) -> impl Iterator<Item = &'static Self> {
        let drives = FORK_DRIVES.iter();
        drives.filter(move |drive| drive.needed().any(&has))
    }

    /// The way of actuation that a block belongs to; `None` for one that belongs to every way.
    pub fn of_block(block: BlockId) -> Option<&'static Self> {
        let has = |drive: &&Self| drive.blocks.iter().any(|part| part.block == block);
        FORK_DRIVES.iter().find(has)
    }

    /// Every way of actuation, as what to add to a spec: ``a `master` and a `slave`, a `cable` or a `linkage` ``.
    pub fn all_in_words() -> String {
        let part = |block: BlockId| format!("a `{}`", BLOCKS[block as usize].name);
        let way = |drive: &Self| listed(&drive.needed().map(part).collect::<Vec<_>>(), " and ");
        listed(&FORK_DRIVES.iter().map(way).collect::<Vec<_>>(), " or ")
    }
}
