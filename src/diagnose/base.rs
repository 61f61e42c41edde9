//! The car as the spec has it: what a fault is laid over.

use crate::mechanics::{Chain, Readings};

/// When in a minute's hold a reading is taken.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Moment {
    /// As soon as the pad is there.
    Read,
    /// After it was held for a minute.
    AfterAMinute,
}

/// A car with nothing wrong.
#[derive(Debug)]
pub struct Base {
    /// Its chain.
    pub chain: Chain,
    /// What is read at full pedal.
    pub full: Readings,
    /// Pad travel at which the pedal itself ends, mm. A fault that leaves the slave short of its stroke lets the pad come
    /// this far, where on a car with nothing wrong the slave, the fork or the bearing stops it sooner.
    pub pedal_end: f64,
    /// Pad travel at which the pedal's rod has taken up its clearance, mm.
    pub clearance: f64,
    has_fork: bool,
}

impl Base {
    /// `None` for a chain without meaning.
    pub fn new(chain: &Chain, has_fork: bool) -> Option<Self> {
        let walk = chain.walk()?;
        Some(Self {
            full: walk.readings(None, true)?,
            pedal_end: walk.pedal_end(),
            clearance: walk.clearance_pad_travel()?,
            chain: chain.clone(),
            has_fork,
        })
    }

    /// Whether it has a fork.
    pub fn has_fork(&self) -> bool {
        self.has_fork
    }

    /// `None` where there is no fork that could be wrong.
    pub fn forked(&self) -> Option<()> {
        self.has_fork.then_some(())
    }
}
