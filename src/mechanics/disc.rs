//! The clutch disc: the torque that it carries and the lift that it needs.

use super::domain::{finite, not_negative, positive};

/// The rubbing faces of a clutch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Disc {
    /// Outer diameter of the facings, mm.
    pub outer: f64,
    /// Inner diameter of the facings, mm.
    pub inner: f64,
    /// Rubbing faces: two for one disc, four for two.
    pub faces: f64,
    /// Coefficient of friction.
    pub friction: f64,
}

impl Disc {
    /// Torque, N·mm, that slips the clutch under a clamp load, N: `μ·F·(r_o + r_i)/2·faces`. `None` if a
    /// number has no meaning.
    ///
    /// Source: **uniform wear**, the state of run-in facings: pressure in inverse proportion to the radius. Per face
    /// `M = μ·P·(D + d)/4`; Scilab Textbook Companion 764, Ex. 11.1.
    pub fn torque_capacity(&self, clamp_load: f64) -> Option<f64> {
        self.check()?;
        let radius = 0.25 * (self.outer + self.inner);
        finite(self.friction * clamp_load * radius * self.faces)
    }

    /// Torque capacity, N·mm, with **uniform pressure**, the state of new facings:
    /// `μ·F·(D³ − d³)/(3·(D² − d²))·faces`. It is a little more than with uniform wear.
    ///
    /// Source: per face `M = μ·P·(D³ − d³)/(3·(D² − d²))`; Scilab Textbook Companion 764, Ex. 11.2.
    pub fn torque_capacity_uniform_pressure(&self, clamp_load: f64) -> Option<f64> {
        self.check()?;
        let (big, small) = (self.outer, self.inner);
        // (D³ − d³)/(D² − d²), with D − d taken out so that a narrow facing keeps its digits.
        let radius = (big * big + big * small + small * small) / (3.0 * (big + small));
        finite(self.friction * clamp_load * radius * self.faces)
    }

    /// Lift of the plate, mm, that leaves `clearance`, mm, at each face once the `cushion`, mm, has sprung back:
    /// `cushion + faces·clearance`. The cushion is that of all discs together.
    pub fn lift_needed(&self, cushion: f64, clearance: f64) -> Option<f64> {
        positive(self.faces)?;
        finite(not_negative(cushion)? + self.faces * not_negative(clearance)?)
    }

    fn check(&self) -> Option<()> {
        not_negative(self.inner)?;
        positive(self.outer - self.inner)?;
        positive(self.faces)?;
        not_negative(self.friction)?;
        Some(())
    }
}

/// Torque margin, N·mm: `capacity` less the engine's `torque` times the `service_factor`. Below zero the clutch slips
/// where it should hold.
pub fn torque_margin(capacity: f64, torque: f64, service_factor: f64) -> Option<f64> {
    finite(capacity - torque * service_factor)
}
