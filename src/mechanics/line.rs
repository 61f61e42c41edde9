//! Lines: their volume, and how they expand under pressure.

use std::f64::consts::{FRAC_PI_4, PI};

use super::domain::{not_negative, positive};

/// One length of line.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Inside diameter, mm.
    pub bore: f64,
    /// Length, mm.
    pub length: f64,
    /// How its wall expands.
    pub wall: Wall,
    /// How fluid flows through it.
    pub flow: Flow,
    /// The side of an intensifier that it is on. Without one this does not matter.
    pub side: Side,
}

/// A side of an intensifier.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Side {
    /// Towards the slave.
    #[default]
    Slave,
    /// Towards the master.
    Master,
}

/// How fluid flows through a line on its way back.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Flow {
    /// Through its whole bore.
    #[default]
    Through,
    /// Through its bore and an orifice in it, diameter in mm.
    Orifice(f64),
    /// Not at all: it is a dead end.
    DeadEnd,
}

/// How a line's wall expands under pressure.
#[derive(Clone, Debug, PartialEq)]
pub enum Wall {
    /// Not at all.
    Rigid,
    /// A hose, by its tested volumetric expansion.
    Hose {
        /// Volume per length per pressure, mm³/(mm·MPa).
        expansion: f64,
    },
    /// A tube, from the elasticity of its wall.
    Tube {
        /// Wall thickness, mm.
        thickness: f64,
        /// Young's modulus, MPa.
        modulus: f64,
        /// Poisson's ratio, −1 to 0.5.
        poisson: f64,
    },
}

/// Area of a round bore, mm²: `π·d²/4`.
pub fn bore_area(diameter: f64) -> f64 {
    FRAC_PI_4 * diameter * diameter
}

/// Outward displacement, mm, of the bore of a thick tube with **open ends** (no axial stress) under inside pressure:
/// `u(a) = p·a/E·((b² + a²)/(b² − a²) + ν)`. Radii are a inside and b outside, mm; p and E in MPa.
///
/// With closed ends the tube also carries the pressure on its end caps. For a steel tube of 4.75 mm with a wall of
/// 0.7 mm that gives 9 % less. Fittings hold brake and clutch tubes, and neither form is exact.
///
/// Source: Lamé, plane stress.
pub fn tube_bore_displacement(
    inner_radius: f64,
    outer_radius: f64,
    modulus: f64,
    poisson: f64,
    pressure: f64,
) -> f64 {
    let (a2, b2) = (inner_radius * inner_radius, outer_radius * outer_radius);
    pressure * inner_radius / modulus * ((b2 + a2) / (b2 - a2) + poisson)
}

/// How a line's volume grows with the pressure: `linear·p + quadratic·p²`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Expansion {
    /// mm³/MPa.
    pub linear: f64,
    /// mm³/MPa².
    pub quadratic: f64,
}

impl Expansion {
    /// Volume gained, mm³, at a pressure, MPa.
    pub fn volume(&self, pressure: f64) -> f64 {
        (self.linear + self.quadratic * pressure) * pressure
    }

    /// Work taken in up to a pressure, N·mm: `∫ p dV`.
    pub(super) fn work(&self, pressure: f64) -> f64 {
        (0.5 * self.linear + 2.0 / 3.0 * self.quadratic * pressure) * pressure * pressure
    }
}

impl Line {
    /// Volume inside at rest, mm³.
    pub fn volume(&self) -> f64 {
        bore_area(self.bore) * self.length
    }

    /// How the line grows under pressure.
    ///
    /// Hose: its tested expansion (49 CFR 571.106, volumetric expansion test), taken as proportional to
    /// pressure. Tube: from [`tube_bore_displacement`], `π·((a + u)² − a²)·length`.
    pub fn expansion(&self) -> Expansion {
        match self.wall {
            Wall::Rigid => Expansion::default(),
            Wall::Hose { expansion } => Expansion {
                linear: expansion * self.length,
                quadratic: 0.0,
            },
            Wall::Tube {
                thickness,
                modulus,
                poisson,
            } => {
                let radius = 0.5 * self.bore;
                let per_pressure =
                    tube_bore_displacement(radius, radius + thickness, modulus, poisson, 1.0);
                let quadratic = PI * per_pressure * per_pressure * self.length;
                Expansion {
                    linear: 2.0 * PI * radius * per_pressure * self.length,
                    quadratic,
                }
            }
        }
    }

    pub(super) fn check(&self) -> Option<()> {
        positive(self.bore)?;
        not_negative(self.length)?;
        if let Flow::Orifice(bore) = self.flow {
            positive(bore)?;
        }
        match self.wall {
            Wall::Rigid => {}
            Wall::Hose { expansion } => {
                not_negative(expansion)?;
            }
            Wall::Tube {
                thickness,
                modulus,
                poisson,
            } => {
                positive(thickness)?;
                positive(modulus)?;
                (-1.0..=0.5).contains(&poisson).then_some(())?;
            }
        }
        Some(())
    }
}
