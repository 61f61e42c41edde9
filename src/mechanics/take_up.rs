//! Where the clutch bites as the pedal comes up. The springs between the disc's facings are compressed again, and the
//! torque that the clutch carries rises with their force.

use super::domain::{finite, not_negative, positive};
use super::efficiency::Stroke;
use super::interpolation::Curve;
use super::numeric::{first_crossing, root};
use super::walk::{FullPedal, Walk};

/// The springs between the facings.
#[derive(Clone, Debug, PartialEq)]
pub enum Cushion {
    /// Force as a power of their compression; at full compression it is the clamp load.
    Power(f64),
    /// Force, N, over their compression, mm; never more than the clamp load.
    Curve(Curve),
}

/// What decides where the clutch bites: cushion, clamp load, capacity and finger ratio.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// How far the springs between the facings are compressed from free to clamped, mm, for all discs together.
    pub cushion: f64,
    /// How their force grows.
    pub law: Cushion,
    /// Clamp load without a load on the fingers, N: the cover's own, before a riding bearing reduces it.
    pub clamp: f64,
    /// Torque, N·mm, at which the clutch slips under that load.
    pub capacity: f64,
    /// Finger travel over plate travel.
    pub finger_ratio: f64,
    /// Bearing load per deflection of the fingers, N/mm; `None` for rigid.
    pub finger_stiffness: Option<f64>,
}

impl Plate {
    /// Lift of the plate from its clamped position, mm, at which the clutch carries `torque`, N·mm; `None` where it
    /// cannot carry it.
    fn lift_at(&self, torque: f64) -> Option<f64> {
        let share = not_negative(torque)? / positive(self.capacity)?;
        if share > 1.0 {
            return None;
        }
        let cushion = not_negative(self.cushion)?;
        let pressed = match &self.law {
            Cushion::Power(power) => cushion * share.powf(1.0 / positive(*power)?),
            Cushion::Curve(curve) => {
                let off = |q: f64| curve.value(q).min(self.clamp) - share * self.clamp;
                let (none, all) = (off(0.0), off(cushion));
                if none >= 0.0 {
                    0.0
                } else if all < 0.0 {
                    return None;
                } else {
                    root(off, (0.0, none), (cushion, all), f64::EPSILON * cushion)
                }
            }
        };
        finite(cushion - pressed)
    }
}

impl Walk<'_> {
    /// Pad travel, mm, on the way up at which the clutch carries `torque`, N·mm. There the plate's lift `(f − F/k)/i`
    /// equals the lift at which the compressed springs give that torque. The fingers are at `f` with the load `F` and
    /// the stiffness `k`; `i` is the finger ratio. `None` where full pedal does not lift the plate that far, where
    /// the clutch cannot carry the torque, and for numbers without meaning.
    ///
    /// Source: balance of forces at the pressure plate; torque by uniform wear, as [`Disc`](super::Disc) has it.
    pub fn pad_travel_at_torque(
        &self,
        full: &FullPedal,
        plate: &Plate,
        torque: f64,
    ) -> Option<f64> {
        let wanted = plate.lift_at(torque)? * positive(plate.finger_ratio)?;
        let compliance = match plate.finger_stiffness {
            Some(stiffness) => 1.0 / positive(stiffness)?,
            None => 0.0,
        };
        let most = full.state.finger_travel;
        let lifted = |f: f64| f - compliance * self.chain.cover.load_at(f) - wanted;
        let fingers = match lifted(0.0) {
            on_rest if on_rest >= 0.0 => 0.0,
            _ => most * first_crossing(|t| lifted(t * most), Self::cuts(1))?,
        };
        let bearing = self.chain.bearing.free_play + fingers;
        Some(self.on_cover(bearing, Stroke::Return)?.pad_travel)
    }
}
