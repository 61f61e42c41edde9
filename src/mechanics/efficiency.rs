//! Friction as an efficiency per stage.

use super::domain::finite;

/// The direction in which the pedal moves. Friction works against the foot on the press and against the clutch's
/// spring on the return.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stroke {
    /// The foot presses the pedal down.
    Press,
    /// The clutch pushes the pedal back up.
    Return,
}

impl Stroke {
    /// Force at a stage's input, N, for `output` at its output, N: divided by the efficiency on the press, multiplied
    /// by it on the return.
    ///
    /// Source: definition of mechanical efficiency, work out over work in. On the return the two ends exchange roles.
    pub fn input_force(self, output: f64, efficiency: f64) -> f64 {
        match self {
            Self::Press => output / efficiency,
            Self::Return => output * efficiency,
        }
    }

    /// What friction independent of the load, N, adds to the force at the input: its own value on the press, minus it
    /// on the return.
    pub fn against(self, drag: f64) -> f64 {
        match self {
            Self::Press => drag,
            Self::Return => -drag,
        }
    }

    /// Inverse of [`Stroke::input_force`], N.
    pub fn output_force(self, input: f64, efficiency: f64) -> f64 {
        match self {
            Self::Press => input * efficiency,
            Self::Return => input / efficiency,
        }
    }
}

/// A factor that depends on the direction of the stroke, worked out for both.
#[derive(Clone, Copy, Debug)]
pub(super) struct PerStroke {
    press: f64,
    back: f64,
}

impl PerStroke {
    /// A factor of 1: the force is equal at both ends.
    pub(super) const ONE: Self = Self {
        press: 1.0,
        back: 1.0,
    };

    /// The factor for both strokes; `None` if either is not finite.
    pub(super) fn new(of: impl Fn(Stroke) -> f64) -> Option<Self> {
        Some(Self {
            press: finite(of(Stroke::Press))?,
            back: finite(of(Stroke::Return))?,
        })
    }

    pub(super) fn on(&self, stroke: Stroke) -> f64 {
        match stroke {
            Stroke::Press => self.press,
            Stroke::Return => self.back,
        }
    }
}
