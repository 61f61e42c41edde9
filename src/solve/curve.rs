//! The chain's values over the whole travel of the pedal, with their tolerance bands, and the columns of that table.

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
    /// The curve of a system with `samples` rows, and its tolerance band.
    pub fn new(
        system: &System,
        outcome: &Outcome,
        tolerances: Option<&Tolerances>,
        samples: usize,
    ) -> Self {
        let band = |tolerances: &Tolerances| tolerances.curve(system, &outcome.chain, samples);
        Self {
            band: tolerances.map(band),
            ..Self::nominal(outcome, samples)
        }
    }

    /// The curve with `samples` rows, without tolerances.
    pub fn nominal(outcome: &Outcome, samples: usize) -> Self {
        Self {
            samples: outcome.curve(samples),
            band: None,
        }
    }

    /// Pad travel at its end, mm; `None` for a curve without samples.
    pub fn end(&self) -> Option<f64> {
        Some(self.samples.last()?.pad_travel)
    }

    /// The columns for which some sample has a value. A cable has no pressure.
    pub fn columns(&self) -> impl Iterator<Item = &'static CurveColumn> + '_ {
        CURVE_COLUMNS.iter().filter(|column| self.has(column))
    }

    /// Whether some sample has a value for a column.
    pub fn has(&self, column: &CurveColumn) -> bool {
        self.samples.iter().any(|s| (column.value)(s).is_some())
    }

    /// A column's value in a row, with its least and greatest where there is a band.
    pub fn at(&self, row: usize, column: &CurveColumn) -> [Option<f64>; 3] {
        let of = |samples: &[Sample]| samples.get(row).and_then(column.value);
        let band = self.band.as_ref();
        [
            of(&self.samples),
            band.and_then(|band| of(&band.low)),
            band.and_then(|band| of(&band.high)),
        ]
    }

    /// The greatest value of a column; at least zero.
    pub fn greatest(&self, column: &CurveColumn) -> f64 {
        let values = self.samples.iter().filter_map(column.value);
        values.fold(0.0, f64::max)
    }

    /// A column over pad travel.
    pub fn points(&self, column: &CurveColumn) -> Vec<(f64, f64)> {
        self.over(&self.samples, column)
    }

    /// The least and greatest of a column over pad travel; `None` without a band.
    pub fn band_points(&self, column: &CurveColumn) -> Option<[Vec<(f64, f64)>; 2]> {
        let band = self.band.as_ref()?;
        Some([&band.low, &band.high].map(|samples| self.over(samples, column)))
    }

    fn over(&self, samples: &[Sample], column: &CurveColumn) -> Vec<(f64, f64)> {
        let pairs = self.samples.iter().zip(samples);
        pairs
            .filter_map(|(place, sample)| Some((place.pad_travel, (column.value)(sample)?)))
            .collect()
    }
}

impl Outcome {
    /// The chain's states at `samples` places from rest to full pedal, without tolerances.
    pub fn curve(&self, samples: usize) -> Vec<Sample> {
        self.chain.curve(samples)
    }
}

/// One column of a curve: a value of each sample.
#[derive(Debug)]
pub struct CurveColumn {
    /// The name in snake case, without a unit.
    pub name: &'static str,
    /// The name in plain words.
    pub label: &'static str,
    pub dimension: Dimension,
    /// In internal units; `None` where there is none.
    pub value: fn(&Sample) -> Option<f64>,
}

pub const PAD_TRAVEL: CurveColumn = CurveColumn {
    name: "pad_travel",
    label: "pad travel",
    dimension: Dimension::LENGTH,
    value: |s| Some(s.pad_travel),
};
pub const MASTER_TRAVEL: CurveColumn = CurveColumn {
    name: "master_travel",
    label: "master travel",
    dimension: Dimension::LENGTH,
    value: |s| s.master_travel,
};
pub const FORK_TRAVEL: CurveColumn = CurveColumn {
    name: "fork_travel",
    label: "travel at the fork's end",
    dimension: Dimension::LENGTH,
    value: |s| Some(s.fork_travel),
};
pub const BEARING_TRAVEL: CurveColumn = CurveColumn {
    name: "bearing_travel",
    label: "bearing travel",
    dimension: Dimension::LENGTH,
    value: |s| Some(s.bearing_travel),
};
pub const FINGER_TRAVEL: CurveColumn = CurveColumn {
    name: "finger_travel",
    label: "finger travel",
    dimension: Dimension::LENGTH,
    value: |s| Some(s.finger_travel),
};
pub const RELEASE_LOAD: CurveColumn = CurveColumn {
    name: "release_load",
    label: "release load",
    dimension: Dimension::FORCE,
    value: |s| Some(s.release_load),
};
pub const LINE_PRESSURE: CurveColumn = CurveColumn {
    name: "line_pressure",
    label: "line pressure",
    dimension: Dimension::PRESSURE,
    value: |s| s.pressure,
};
pub const ROD_FORCE: CurveColumn = CurveColumn {
    name: "rod_force",
    label: "force in the pedal's rod",
    dimension: Dimension::FORCE,
    value: |s| Some(s.rod_force),
};
pub const PEDAL_EFFORT: CurveColumn = CurveColumn {
    name: "pedal_effort",
    label: "pedal effort",
    dimension: Dimension::FORCE,
    value: |s| Some(s.effort),
};
pub const PEDAL_EFFORT_RETURN: CurveColumn = CurveColumn {
    name: "pedal_effort_return",
    label: "pedal effort on the return",
    dimension: Dimension::FORCE,
    value: |s| Some(s.effort_return),
};

/// Every column, the pad's travel first.
pub static CURVE_COLUMNS: &[CurveColumn] = &[
    PAD_TRAVEL,
    MASTER_TRAVEL,
    FORK_TRAVEL,
    BEARING_TRAVEL,
    FINGER_TRAVEL,
    RELEASE_LOAD,
    LINE_PRESSURE,
    ROD_FORCE,
    PEDAL_EFFORT,
    PEDAL_EFFORT_RETURN,
];
