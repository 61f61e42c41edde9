//! A hydraulic intensifier: a stepped piston in the line. The master works its large bore; its small bore works the
//! slave.

use super::domain::{finite, not_negative, positive};
use super::efficiency::{PerStroke, Stroke};
use super::line::{Expansion, bore_area};

/// A stepped piston between master and slave.
#[derive(Clone, Debug, PartialEq)]
pub struct Intensifier {
    /// Bore towards the master, mm.
    pub in_bore: f64,
    /// Bore towards the slave, mm.
    pub out_bore: f64,
    /// Piston travel from rest to the end of its stroke, mm.
    pub stroke: f64,
    /// Piston travel until its own port is shut, mm.
    pub port_travel: f64,
    /// Work on the fluid towards the slave over work of the fluid from the master, on the press.
    pub efficiency: f64,
}

/// The piston of an intensifier, with its constants worked out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piston {
    pub(super) out_area: f64,
    pub(super) port_travel: f64,
    pub(super) stroke: f64,
}

/// How an intensifier converts volume and pressure. Without one, all factors are 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stepped {
    /// Volume on the master's side per volume on the slave's.
    pub(super) boost: f64,
    /// Pressure on the master's side per pressure on the slave's.
    pub(super) master_pressure: PerStroke,
    /// Volume on the master's side until the intensifier's port is shut, mm³.
    pub(super) port_volume: f64,
    /// `None` without an intensifier.
    pub(super) piston: Option<Piston>,
}

impl Intensifier {
    /// Pressure on the slave's side over pressure on the master's, without friction: `A_in/A_out`. For volumes it is
    /// the inverse.
    ///
    /// Source: balance of forces on the piston; Pascal's law.
    pub fn ratio(&self) -> f64 {
        bore_area(self.in_bore) / bore_area(self.out_bore)
    }

    /// Fluid in the small bore at rest, mm³.
    pub(super) fn held(&self) -> f64 {
        bore_area(self.out_bore) * self.stroke
    }

    /// `None` if a number has no meaning.
    pub(super) fn constants(&self) -> Option<Stepped> {
        positive(self.in_bore)?;
        positive(self.out_bore)?;
        positive(self.efficiency)?;
        let boost = positive(self.ratio())?;
        Some(Stepped {
            boost,
            master_pressure: PerStroke::new(|stroke| {
                stroke.input_force(1.0 / boost, self.efficiency)
            })?,
            port_volume: finite(bore_area(self.in_bore) * not_negative(self.port_travel)?)?,
            piston: Some(Piston {
                out_area: positive(bore_area(self.out_bore))?,
                port_travel: self.port_travel,
                stroke: not_negative(self.stroke)?,
            }),
        })
    }
}

impl Stepped {
    /// No intensifier.
    pub(super) const NONE: Self = Self {
        boost: 1.0,
        master_pressure: PerStroke::ONE,
        port_volume: 0.0,
        piston: None,
    };

    /// How volumes that depend on the pressure on each side, `[master's, slave's]`, add up at the master, by the
    /// slave's pressure, on a stroke.
    pub(super) fn seen(&self, [of_master, of_slave]: [f64; 2], stroke: Stroke) -> f64 {
        of_slave * self.boost + of_master * self.master_pressure.on(stroke)
    }

    /// How lines on both sides expand with the slave's pressure, as the master sees it: on the press, and on the
    /// return. `None` where a number grows without bound.
    pub(super) fn lines(
        &self,
        of_master: &Expansion,
        of_slave: &Expansion,
    ) -> Option<[Expansion; 2]> {
        let on = |stroke: Stroke| {
            let share = self.master_pressure.on(stroke);
            Some(Expansion {
                linear: finite(self.seen([of_master.linear, of_slave.linear], stroke))?,
                quadratic: finite(
                    of_slave.quadratic * self.boost + of_master.quadratic * share * share,
                )?,
            })
        };
        Some([on(Stroke::Press)?, on(Stroke::Return)?])
    }
}

#[cfg(test)]
mod tests {
    use super::Intensifier;
    use crate::mechanics::Stroke;

    /// 25.4 mm over 19.05 mm is a ratio of 16/9: 1 MPa becomes 1.778 MPa without friction, and 1.689 MPa with 5 %
    /// friction.
    #[test]
    fn pressure_goes_up_by_the_areas_and_down_by_friction() {
        let intensifier = Intensifier {
            in_bore: 25.4,
            out_bore: 19.05,
            stroke: 30.0,
            port_travel: 1.0,
            efficiency: 0.95,
        };
        let stepped = intensifier.constants().expect("sound");
        assert!((stepped.boost - 16.0 / 9.0).abs() < 1e-12);
        let press = 1.0 / stepped.master_pressure.on(Stroke::Press);
        assert!((press - 0.95 * 16.0 / 9.0).abs() < 1e-12);
        let back = stepped.master_pressure.on(Stroke::Return);
        assert!((back - 0.95 * 9.0 / 16.0).abs() < 1e-12);
    }
}
