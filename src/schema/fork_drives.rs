//! The ways of actuation: what can work a fork, one row for each. Whatever differs between them and is
//! neither mechanics nor a check stands here.

use super::{BLOCKS, BlockId, FieldId};
use crate::{block, field};

/// What can work a fork.
#[derive(Debug)]
pub struct ForkDrive {
    /// Its blocks: first the one by which this way of actuation is known, such as the master.
    pub blocks: &'static [DriveBlock],
    /// Says which way it moves the fork's outer end; its block is the one that does so.
    pub moves: FieldId,
    /// Says how far the fork's outer end may come back for a worn disc.
    pub room: FieldId,
    /// Says what adjusts it as the disc wears, and how far that goes at the fork's end.
    pub adjuster: (FieldId, FieldId),
    /// Says what its adjuster pulls with at rest.
    pub adjust_preload: FieldId,
    /// What decides its ratio: the first of these that a spec gives, or else the last.
    pub ratio: &'static [FieldId],
    /// What to mind before work on it. Common practice, no source, but for what a fluid's own label
    /// says.
    pub cautions: &'static [&'static str],
}

/// A block of which no other way of actuation makes use.
#[derive(Debug)]
pub struct DriveBlock {
    /// Which block it is.
    pub block: BlockId,
    /// Whether nothing works without it.
    pub is_needed: bool,
    /// The sizes by which it is known to whoever sells it.
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
            "Rods and cross-shaft shear whatever lies between them, and over-centre springs throw the \
             pedal either way: unhook the springs with the right tool before you take a pin out.",
        ],
    },
];

impl ForkDrive {
    /// What moves the fork's outer end, as a message names it.
    pub fn name(&self) -> &'static str {
        self.moves.block().name
    }

    /// The blocks without which it does not work.
    pub fn needed(&self) -> impl Iterator<Item = BlockId> {
        let needed = self.blocks.iter().filter(|part| part.is_needed);
        needed.map(|part| part.block)
    }

    /// The ways of which something is there, by what says whether a block is.
    pub fn among(has: impl Fn(BlockId) -> bool) -> impl Iterator<Item = &'static Self> {
        let drives = FORK_DRIVES.iter();
        drives.filter(move |drive| drive.needed().any(&has))
    }

    /// The way of actuation that a block belongs to; `None` for one that belongs to every way.
    pub fn of_block(block: BlockId) -> Option<&'static Self> {
        let has = |drive: &&Self| drive.blocks.iter().any(|part| part.block == block);
        FORK_DRIVES.iter().find(has)
    }

    /// Every way, as what to give: ``a `master` and a `slave`, a `cable` or a `linkage` ``.
    pub fn all_in_words() -> String {
        let part = |block: BlockId| format!("a `{}`", BLOCKS[block as usize].name);
        let way = |drive: &Self| drive.needed().map(part).collect::<Vec<_>>().join(" and ");
        let mut ways: Vec<String> = FORK_DRIVES.iter().map(way).collect();
        match ways.pop() {
            Some(last) if !ways.is_empty() => format!("{} or {last}", ways.join(", ")),
            last => last.unwrap_or_default(),
        }
    }
}
