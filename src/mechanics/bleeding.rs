//! Air in the fluid: where it escapes bleeding, and how much of it explains a measurement on the car.

use super::chain::Chain;
use super::domain::{finite, not_negative, positive};
use super::efficiency::Stroke;
use super::hydraulics::{SlaveBore, air_compression};
use super::leg::WalkPoint;
use super::line::bore_area;
use super::numeric::first_crossing;
use super::walk::{FullPedal, Walk};
use std::f64::consts::FRAC_PI_2;

/// Air, mm³, that bleeding cannot get out of a slave: the space above a level plane through the top of the bore at
/// the bleed screw. The bore rises away from the screw by the angle `slope`, rad. The fluid space reaches `chamber`,
/// mm, along the bore from the screw to an end that is square to it.
///
/// Zero for a bore that is level or falls away from the screw. `None` for a slope of a right angle or more and
/// for numbers without meaning.
///
/// Source: the hoof (ungula) of a cylinder, plus the whole bore behind the place where the plane leaves the bore's
/// underside. For a concentric slave the inner cylinder is taken out.
pub fn bubble_volume(bore: &SlaveBore, slope: f64, chamber: f64) -> Option<f64> {
    not_negative(chamber)?;
    if slope.is_nan() || slope.abs() >= FRAC_PI_2 {
        return None;
    }
    let rise = slope.tan();
    let volume = match *bore {
        SlaveBore::Round(diameter) => above_plane(positive(diameter)?, rise, chamber),
        SlaveBore::Annulus { outer, inner } => {
            positive(outer)?;
            positive(outer - not_negative(inner)?)?;
            // The plane meets the inner cylinder's top further along.
            let reaches = chamber - 0.5 * (outer - inner) / rise;
            above_plane(outer, rise, chamber) - above_plane(inner, rise, reaches)
        }
    };
    finite(volume.max(0.0))
}

/// Volume, mm³, in a cylinder of the given `length`, mm, above a plane. The plane starts at the cylinder's top and
/// falls across it by `rise` per length.
fn above_plane(diameter: f64, rise: f64, length: f64) -> f64 {
    if rise <= 0.0 || length <= 0.0 || diameter <= 0.0 {
        return 0.0;
    }
    let depth = length * rise;
    let radius = 0.5 * diameter;
    if depth >= diameter {
        // Half of the bore up to where the plane leaves it, all of it from there on.
        return bore_area(diameter) * (length - radius / rise);
    }
    // Half the angle that the plane's last chord spans, seen from the axis.
    let half = 2.0 * (depth / diameter).sqrt().asin();
    radius * radius * (radius / rise) * hoof(half)
}

/// `sin θ − θ·cos θ − sin³θ/3`: the integral of a circle's segment over its depth, for radius 1. θ is half of the
/// angle of its chord.
fn hoof(half: f64) -> f64 {
    let square = half * half;
    if half < 0.06 {
        // The terms all but cancel here; their series does not. Its next term is 1e-13 of the sum.
        let series = 2.0 / 15.0 + square * (-11.0 / 315.0 + square * 17.0 / 3780.0);
        return series * square * square * half;
    }
    let (sin, cos) = half.sin_cos();
    sin - half * cos - sin * sin * sin / 3.0
}

/// What was measured at a known pad travel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// Travel of the slave's rod from rest, mm.
    SlaveTravel(f64),
    /// Travel of the release bearing from rest, mm, its free play included.
    BearingTravel(f64),
    /// The disc has just come free.
    Release,
}

/// What a measurement says about air in the fluid. Air and missing volume are below zero if the slave moved further
/// than the given bores and stiffnesses allow. That is a contradiction and not air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrappedAir {
    /// Air that explains the measurement, as its volume at ambient pressure, mm³.
    pub air: f64,
    /// Fluid that left the master, did not reach the slave's piston and was not taken up by lines and fluid, mm³.
    pub missing_volume: f64,
    /// Travel of the fork's outer end at this pad travel without any air, less the measured travel, mm.
    pub missing_travel: f64,
    /// Gauge pressure at the measurement, MPa.
    pub pressure: f64,
}

/// How a trapped bubble is compressed as the pedal goes down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Squeeze {
    /// Its volume at full pedal, mm³.
    pub left: f64,
    /// Pad travel at which the pressure begins to rise, mm.
    pub begins: f64,
    /// Pad travel at which half of the volume lost up to full pedal is gone, mm.
    pub half_done: f64,
}

impl Chain {
    /// The air that explains a reading taken with the pedal held at `pad_travel`, mm. What lines, fluid and flex take
    /// up is subtracted; the `air` given in the chain is left out.
    ///
    /// The reading gives the bearing's place, and so the load and the pressure. The pad gives the volume that the
    /// master has displaced, within its stroke. The balance of volumes is the air. `None` for a cable or linkage, for
    /// a reading or a pad travel out of reach, and where no pressure squeezes the air.
    pub fn trapped_air(&self, pad_travel: f64, reading: Reading) -> Option<TrappedAir> {
        let mut airless = self.clone();
        airless.actuation.hydraulics_mut()?.fluid.air = 0.0;
        let walk = airless.walk()?;
        let circuit = walk.mechanism.circuit()?;
        let place = walk.place_of(reading)?;
        let driven = walk.driven(&place, Stroke::Press);
        let drive = &driven.drive;
        let rod_travel = walk.geometry.rod_travel(pad_travel)?;
        let input = walk.input_of_rod(rod_travel, drive.input_force)?;
        let piston = (input - walk.clearance - drive.give).min(circuit.stroke);
        let displaced = (piston - circuit.port_travel) * circuit.master_area;
        let boost = circuit.stepped.boost;
        let arrived = driven.output_travel * circuit.slave_area * boost;
        let missing_volume = finite(displaced - arrived - drive.lost.lines - drive.lost.fluid)?;
        let share = positive(air_compression(1.0, circuit.ambient, drive.pressure))?;
        let without_air = walk.ended_by_pad(pad_travel)?.full_pedal()?.state;
        Some(TrappedAir {
            air: finite(missing_volume / (share * boost))?,
            missing_volume,
            missing_travel: finite(without_air.output_travel - driven.output_travel)?,
            pressure: drive.pressure,
        })
    }
}

impl Walk<'_> {
    fn place_of(&self, reading: Reading) -> Option<WalkPoint> {
        match reading {
            Reading::SlaveTravel(travel) => self.place_at_output_travel(travel),
            Reading::BearingTravel(travel) => Some(self.place_on_cover(not_negative(travel)?)),
            Reading::Release => {
                let free_play = self.chain.bearing.free_play;
                Some(self.place_on_cover(finite(free_play + self.chain.cover.needed)?))
            }
        }
    }

    /// How the air trapped in the fluid is compressed up to full pedal; `None` where there is no air or no pressure.
    pub fn squeeze(&self, full: &FullPedal) -> Option<Squeeze> {
        let circuit = self.mechanism.circuit()?;
        let air = positive(circuit.air)?;
        let pressure = positive(full.state.cylinders?.pressure)?;
        let lost = air_compression(air, circuit.ambient, pressure);
        let pad_travel_at = |wanted: f64| {
            let pressure = |place: &WalkPoint| self.driven(place, Stroke::Press).drive.pressure;
            let place = self.legs(full).find_map(|leg| {
                let short = |t: f64| pressure(&leg.at(t)) - wanted;
                (pressure(&leg.to) >= wanted)
                    .then(|| first_crossing(short, 1))
                    .flatten()
                    .map(|t| leg.at(t))
            })?;
            Some(self.state(&place, Stroke::Press)?.pad_travel)
        };
        // p/(p₀ + p) is half of what it is at full pedal.
        let half = 0.5 * lost / air;
        Some(Squeeze {
            left: air - lost,
            begins: pad_travel_at(f64::MIN_POSITIVE)?,
            half_done: pad_travel_at(finite(circuit.ambient * half / (1.0 - half))?)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::hoof;

    #[test]
    fn series_and_closed_form_meet() {
        let closed = |x: f64| x.sin() - x * x.cos() - x.sin().powi(3) / 3.0;
        for x in [0.03, 0.045, 0.059] {
            assert!((hoof(x) / closed(x) - 1.0).abs() < 1e-8, "{x}");
        }
        assert!((hoof(std::f64::consts::PI) - std::f64::consts::PI).abs() < 1e-15);
    }
}
