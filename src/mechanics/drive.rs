//! Pressure, travel and force at the input of an actuation for a given travel and force at its output.

/// Volumes, mm³, that the master displaces but the slave does not receive.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lost {
    /// Taken up by widening hoses and tubes.
    pub lines: f64,
    /// Taken up by compression of the fluid.
    pub fluid: f64,
    /// Taken up by compression of trapped air.
    pub air: f64,
}

impl Lost {
    /// All three together, mm³.
    pub fn total(&self) -> f64 {
        self.lines + self.fluid + self.air
    }
}

/// State of the actuation's input side for a given travel and force at its output.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Drive {
    /// Gauge pressure, MPa; zero where there is no fluid.
    pub(super) pressure: f64,
    pub(super) lost: Lost,
    /// Input travel that displaces fluid or moves the output, mm.
    pub(super) active_travel: f64,
    /// Input travel without `give`, mm.
    pub(super) input_travel: f64,
    /// Force at the input, N.
    pub(super) input_force: f64,
    /// Travel of the intensifier's piston, mm; zero without one.
    pub(super) stepped_travel: f64,
    /// Input travel lost to the actuation's own elasticity, mm: the master's mount, the cable, the linkage.
    pub(super) give: f64,
}

impl Drive {
    /// Travel of the pedal's rod beyond its clearance, mm.
    pub(super) fn rod_travel(&self) -> f64 {
        self.input_travel + self.give
    }
}
