//! The car as the spec describes it, to which faults are applied.

use super::readings::COMES_UP;
use crate::mechanics::{Chain, Readings};

/// A sound pedal comes up with no less than this at the pad, N, by the least that a foot feels: common practice, no source.
const SOUND: f64 = 3.0 * COMES_UP;

/// What brings a pad up beside what the spec names, N, for the least force that it names; nothing where by the spec
/// itself the pedal stays down.
fn unnamed_up(least: f64) -> f64 {
    match least < -COMES_UP {
        true => 0.0,
        false => (SOUND - least).max(0.0),
    }
}

/// The time of a reading while the pad is held for a minute.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Moment {
    /// As soon as the pad is at its place.
    Read,
    /// After the pad was held for a minute.
    AfterAMinute,
}

/// A car with nothing wrong.
#[derive(Debug)]
pub struct Base {
    /// Its chain.
    pub chain: Chain,
    /// The readings at full pedal.
    pub full: Readings,
    /// Pad travel at which the pedal itself ends, mm. On a healthy car the slave, the fork or the bearing may stop
    /// the pad sooner. A fault that leaves the slave short of its stroke lets it come this far.
    pub pedal_end: f64,
    /// Pad travel at which the pedal's rod has taken up its clearance, mm.
    pub clearance: f64,
    /// Force at the pad, N, of what brings it up and is not in the spec, which need not name its springs.
    pub unnamed_up: f64,
    has_fork: bool,
}

impl Base {
    /// The base of a chain; `None` for a chain without meaning.
    pub fn new(chain: &Chain, has_fork: bool) -> Option<Self> {
        let walk = chain.walk()?;
        Some(Self {
            full: walk.readings(None, true)?,
            pedal_end: walk.pedal_end(),
            clearance: walk.clearance_pad_travel()?,
            unnamed_up: unnamed_up(walk.least_effort_up()?),
            chain: chain.clone(),
            has_fork,
        })
    }

    /// Whether the car has a fork.
    pub fn has_fork(&self) -> bool {
        self.has_fork
    }

    /// `Some` if the car has a fork that could be faulty.
    pub fn forked(&self) -> Option<()> {
        self.has_fork.then_some(())
    }
}
