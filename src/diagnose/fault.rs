//! The columns of the table of faults.

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
    StickingSlave,
    StickingMaster,
    DryFork,
    BindingPedal,
    WeakPedalSpring,
    WeakMasterSpring,
    WeakForkSpring,
}

/// Words for the pedal's feel that a fault may cause.
pub type Feel = &'static [&'static str];

/// How large a fault may be. In internal units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Size {
    /// The fault has no size.
    None,
    /// From the least that matters to the most that occurs; `usual` is the common size.
    Between {
        /// The least that matters.
        low: f64,
        /// The most that occurs.
        high: f64,
        /// The common size.
        usual: f64,
    },
    /// A factor on a value, above or below one. The sizes are logarithms of it.
    Factor {
        /// The most that occurs, as a logarithm.
        most: f64,
        /// The common factor, as a logarithm.
        usual: f64,
    },
    /// Another commonly made bore, smaller or larger than the spec's. The sizes are logarithms of the factor.
    Bore {
        /// Whether it is larger than the spec's.
        larger: bool,
        /// The most that occurs, as a logarithm.
        most: f64,
        /// The common factor, as a logarithm.
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
    /// What is wrong, as a short clause in which `{}` is replaced by its size: "the firewall gives {} more than it
    /// should".
    pub says: &'static str,
    /// The meaning of its value: "air in the fluid, at atmospheric pressure".
    pub what: &'static str,
    /// The unit of its value in machine output; empty for a plain number.
    pub unit: &'static str,
    /// The sizes that it may have.
    pub size: Size,
    /// How often it occurs compared with the others, 0 to 1.
    pub often: f64,
    /// Where range, usual size and frequency come from.
    pub source: &'static str,
    /// Words for the pedal's feel that fit it.
    pub feels: Feel,
    /// How to confirm it.
    pub confirm: &'static str,
    /// What cures it.
    pub cure: &'static str,
    /// What to be careful of.
    pub caution: &'static str,
    /// Applies the fault to a chain; `None` where a car of this kind cannot have it.
    pub(super) apply: fn(&mut Chain, &Base, f64, Moment) -> Option<()>,
}
