//! The whole travel of the pedal as a curve, with what the tolerances do to it, and its columns.

use super::{CurveBand, Outcome, Tolerances};
use crate::mechanics::Sample;
use crate::model::System;
use crate::quantity::Dimension;

/// A system's curve over the pedal's travel.
#[derive(Clone, PartialEq, Debug)]
pub struct Curve {
    /// Evenly spaced in pad travel, from rest to full pedal.
    pub samples: Vec<Sample>,
    /// The worst case of the tolerances at each sample; `None` where the spec has none.
    pub band: Option<CurveBand>,
}

impl Curve {
    /// The curve of a system in so many samples.
    pub fn new(
        system: &System,
        outcome: &Outcome,
        tolerances: Option<&Tolerances>,
        samples: usize,
    ) -> Self {
        let band = |tolerances: &Tolerances| tolerances.curve(system, &outcome.chain, samples);
        Self {
            samples: outcome.curve(samples),
            band: tolerances.map(band),
        }
    }

    /// The columns that some sample has a value for: a cable has no pressure.
    pub fn columns(samples: &[Sample]) -> impl Iterator<Item = &'static CurveColumn> + '_ {
        let has = |column: &&CurveColumn| samples.iter().any(|s| (column.value)(s).is_some());
        CURVE_COLUMNS.iter().filter(has)
    }
}

impl Outcome {
    /// So many samples from rest to full pedal, without what tolerances do to them.
    pub fn curve(&self, samples: usize) -> Vec<Sample> {
        self.chain.curve(samples)
    }
}

/// What a curve tells of each sample.
#[derive(Debug)]
pub struct CurveColumn {
    /// Snake case, without a unit.
    pub name: &'static str,
    /// The same for people.
    pub label: &'static str,
    pub dimension: Dimension,
    /// In internal units; `None` where there is none.
    pub value: fn(&Sample) -> Option<f64>,
}

/// Every column, the pad's travel first.
pub static CURVE_COLUMNS: &[CurveColumn] = &[
    CurveColumn {
        name: "pad_travel",
        label: "pad travel",
        dimension: Dimension::LENGTH,
        value: |s| Some(s.pad_travel),
    },
    CurveColumn {
        name: "master_travel",
        label: "master travel",
        dimension: Dimension::LENGTH,
        value: |s| s.master_travel,
    },
    CurveColumn {
        name: "fork_travel",
        label: "travel at the fork's end",
        dimension: Dimension::LENGTH,
        value: |s| Some(s.fork_travel),
    },
    CurveColumn {
        name: "bearing_travel",
        label: "bearing travel",
        dimension: Dimension::LENGTH,
        value: |s| Some(s.bearing_travel),
    },
    CurveColumn {
        name: "finger_travel",
        label: "finger travel",
        dimension: Dimension::LENGTH,
        value: |s| Some(s.finger_travel),
    },
    CurveColumn {
        name: "release_load",
        label: "release load",
        dimension: Dimension::FORCE,
        value: |s| Some(s.release_load),
    },
    CurveColumn {
        name: "line_pressure",
        label: "line pressure",
        dimension: Dimension::PRESSURE,
        value: |s| s.pressure,
    },
    CurveColumn {
        name: "rod_force",
        label: "force in the pedal's rod",
        dimension: Dimension::FORCE,
        value: |s| Some(s.rod_force),
    },
    CurveColumn {
        name: "pedal_effort",
        label: "pedal effort",
        dimension: Dimension::FORCE,
        value: |s| Some(s.effort),
    },
    CurveColumn {
        name: "pedal_effort_return",
        label: "pedal effort on the return",
        dimension: Dimension::FORCE,
        value: |s| Some(s.effort_return),
    },
];
