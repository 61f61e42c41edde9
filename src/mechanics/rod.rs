//! The slave's rod: its length, and how far it leans from its cylinder's bore as the lever at its end swings.

use std::f64::consts::FRAC_PI_2;

use super::domain::{finite, positive};

/// The slave's rod between its piston and the fork's outer end: a slider-crank whose crank is the fork and
/// whose slide is the slave's bore.
///
/// Sideways means square to the bore, in the plane in which the fork swings, and counts away from the fork's pivot.
/// Travel is along the bore from rest, and counts in the direction in which the piston moves out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlaveRod {
    /// Distance from the fork's pivot straight to the rod's seat in the fork, mm. The arm measured square to the bore
    /// with the fork at rest is this times the cosine of `to_square`.
    pub arm: f64,
    /// Angle that the fork has to turn from rest until it is square to the bore, rad; below zero when it is already
    /// past.
    pub to_square: f64,
    /// Length from seat to seat, mm.
    pub length: f64,
    /// How far the seat in the fork is sideways of the bore's line at rest, mm.
    pub offset: f64,
}

impl SlaveRod {
    /// Angle of the rod to the bore's line, rad, with the fork's end moved by `travel`, mm. It is above zero where
    /// the fork's end leans away from the pivot. `None` where arm or rod do not reach, or a number has no meaning.
    ///
    /// The fork's end swings to the angle φ from square with `sin φ = travel/r − sin(to_square)`. Its sideways place
    /// is then `offset + r·(cos φ − cos(to_square))`. That over the rod's length is the sine of the rod's angle.
    ///
    /// Source: slider-crank, planar kinematics. The travel is that of the fork's end. The piston's travel differs by
    /// what the leaning rod gains or loses in length along the bore, `l·(1 − cos)` of its angle.
    pub fn angle(&self, travel: f64) -> Option<f64> {
        let swing = self.swing(travel, travel)?;
        lean(self.offset + swing.low, self.length)
    }

    /// Greatest angle of the rod to the bore's line, rad, to either side, while the fork's end moves between two
    /// travels, mm. Travels count from rest with a new disc. With a worn disc the fork is further back, and its
    /// stroke begins below zero. `None` where [`SlaveRod::angle`] is.
    pub fn worst_angle(&self, from: f64, to: f64) -> Option<f64> {
        let swing = self.swing(from, to)?;
        let outer = lean(self.offset + swing.high, self.length)?;
        let inner = lean(self.offset + swing.low, self.length)?;
        Some(outer.abs().max(inner.abs()))
    }

    /// The offset, mm, at which [`SlaveRod::worst_angle`] is least for these travels. The fork's end then goes
    /// equally far to both sides of the bore's line, by half of its sideways swing. Move the bracket by this less the
    /// present offset; above zero means towards the pivot.
    pub fn best_offset(&self, from: f64, to: f64) -> Option<f64> {
        let swing = self.swing(from, to)?;
        finite(-0.5 * (swing.low + swing.high))
    }

    fn swing(&self, from: f64, to: f64) -> Option<Swing> {
        positive(self.arm)?;
        // By a right angle or more the arm lies along the bore or stands the other way.
        if self.to_square.is_nan() || self.to_square.abs() >= FRAC_PI_2 {
            return None;
        }
        let sine = -self.to_square.sin();
        let at = |travel: f64| finite(sine + travel / self.arm);
        Swing::new(self.arm, self.to_square.cos(), at(from)?, at(to)?)
    }
}

/// Length of a rod, mm, from seat to seat. Its ends are `along`, mm, apart in the bore's direction and `offset`, mm,
/// apart sideways. `None` where no length is left along the bore, or a number has no meaning.
///
/// Source: Pythagoras.
pub fn rod_length(along: f64, offset: f64) -> Option<f64> {
    finite(positive(along)?.hypot(offset))
}

/// How far the end of a swinging arm moves sideways from its place at rest, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Swing {
    low: f64,
    high: f64,
}

impl Swing {
    /// The swing of an arm of the given length between two angles from square, given by their sines. `rest` is the
    /// cosine of its angle at rest. `None` if the arm cannot reach.
    fn new(arm: f64, rest: f64, from: f64, to: f64) -> Option<Self> {
        let cosine = |sine: f64| finite(((1.0 - sine) * (1.0 + sine)).sqrt());
        let (start, end) = (cosine(from)?, cosine(to)?);
        // The end is farthest out where the arm is square.
        let passes_square = from.min(to) <= 0.0 && from.max(to) >= 0.0;
        let farthest = if passes_square { 1.0 } else { start.max(end) };
        Some(Self {
            low: finite(arm * (start.min(end) - rest))?,
            high: finite(arm * (farthest - rest))?,
        })
    }

    /// Greatest lean, rad, of a rod of the given length, mm, whose end swings with an arm between two angles from
    /// square, rad. The bore's line is `beside` that end at rest, mm.
    pub(super) fn lean_from_line(
        arm: f64,
        rest: f64,
        to: f64,
        length: f64,
        beside: f64,
    ) -> Option<f64> {
        let swing = Self::new(arm, rest.cos(), rest.sin(), to.sin())?;
        let outer = lean(swing.high - beside, length)?;
        let inner = lean(swing.low - beside, length)?;
        Some(outer.abs().max(inner.abs()))
    }

    /// How far the middle of the swing is beside the place at rest, mm.
    pub(super) fn middle(arm: f64, rest: f64, to: f64) -> Option<f64> {
        let swing = Self::new(arm, rest.cos(), rest.sin(), to.sin())?;
        finite(0.5 * (swing.low + swing.high))
    }
}

/// Angle, rad, of a rod whose ends are `across`, mm, apart sideways.
fn lean(across: f64, length: f64) -> Option<f64> {
    finite((across / positive(length)?).asin())
}
