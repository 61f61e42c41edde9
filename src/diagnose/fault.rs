//! What is known of a fault: the columns of the table of faults.

use super::base::{Base, Moment};
use crate::mechanics::Chain;

/// One fault, by its place in [`FAULTS`](super::FAULTS).
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "each has its row in the table, with its words")]
pub enum FaultId {
    NothingWrong,
    Air,
    HoseSwell,
    FirewallFlex,
    ForkFlex,
    ForkOffPivot,
    SmallMaster,
    LargeSlave,
    LostFreePlay,
    ShortPedal,
    PortOpen,
    LeakBy,
    StretchedCable,
    LooseLinkage,
    Friction,
    Binding,
    StiffCover,
    LateRelease,
    Bottomed,
    LargeMaster,
    SmallSlave,
    LongPedal,
    LessFreePlay,
    LightCover,
    EarlyRelease,
}

/// Words of the foot that a fault may bring about.
pub type Feel = &'static [&'static str];

/// How large a fault may be. In internal units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Size {
    /// It has none.
    None,
    /// From the least that matters to the most that occurs; `usual` is what is commonly met.
    Between {
        /// The least that matters.
        low: f64,
        /// The most that occurs.
        high: f64,
        /// What is commonly met.
        usual: f64,
    },
    /// A factor on something, below or above one, by up to `most` as a logarithm.
    Factor {
        /// The most that occurs, as a logarithm.
        most: f64,
        /// What is commonly met, as a logarithm.
        usual: f64,
    },
    /// Another bore of those commonly made, smaller or larger by up to `most` as a logarithm.
    Bore {
        /// Whether it is larger than the spec's.
        larger: bool,
        /// The most that occurs, as a logarithm.
        most: f64,
        /// What is commonly met, as a logarithm.
        usual: f64,
    },
}

/// A row of [`FAULTS`](super::FAULTS).
#[derive(Debug)]
pub struct Fault {
    /// Which fault it is.
    pub id: FaultId,
    /// Its name in machine output: `hose-swell`.
    pub name: &'static str,
    /// What a mechanic calls it, for a list: "a swelling hose".
    pub called: &'static str,
    /// What is wrong, as a short clause in which `{}` stands for its value: "the firewall gives {} more than it should".
    pub says: &'static str,
    /// What its value is: "air in the fluid, at atmospheric pressure".
    pub what: &'static str,
    /// The unit of its value in machine output; empty for a plain number.
    pub unit: &'static str,
    /// How large it may be.
    pub size: Size,
    /// How often it is met beside the others, 0 to 1.
    pub often: f64,
    /// Where range, usual size and frequency come from.
    pub source: &'static str,
    /// What the foot may say of it.
    pub feels: Feel,
    /// How to confirm it.
    pub confirm: &'static str,
    /// What cures it.
    pub cure: &'static str,
    /// What to be careful of.
    pub caution: &'static str,
    /// The chain with it; `None` where a car of this kind cannot have it.
    pub(super) apply: fn(&mut Chain, &Base, f64, Moment) -> Option<()>,
}
