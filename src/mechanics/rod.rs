//! The slave's rod: how long it is, and how far it leans out of its cylinder's bore as the lever at its end
//! swings.

use std::f64::consts::FRAC_PI_2;

use super::domain::{finite, positive};

/// The slave's rod between its piston and the fork's outer end: a slider-crank whose crank is the fork and
/// whose slide is the slave's bore.
///
/// Sideways is square to the bore, in the plane in which the fork swings, and counts away from the fork's
/// pivot. Travel is along the bore, from rest, and counts the way the piston moves out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlaveRod {
    /// Fork's pivot to the rod's seat in the fork, straight across, mm. An arm measured square to the bore
    /// with the fork at rest is this times the cosine of `to_square`.
    pub arm: f64,
    /// Angle by which the fork has yet to come square to the bore at rest, rad; below zero when it is
    /// already past.
    pub to_square: f64,
    /// Seat to seat, mm.
    pub length: f64,
    /// How far the seat in the fork lies sideways of the bore's line at rest, mm.
    pub offset: f64,
}

impl SlaveRod {
    /// Angle of the rod to the bore's line, rad, with the fork's end moved by `travel`, mm; above zero where
    /// the fork's end leans away from the pivot. `None` where arm or rod do not reach, or a number has no
    /// meaning.
    ///
    /// The fork's end swings to the angle φ from square with `sin φ = travel/r − sin(to_square)`, and so
    /// moves sideways to `offset + r·(cos φ − cos(to_square))`; the rod's length against that is the sine of
    /// its angle.
    ///
    /// Source: slider-crank, planar kinematics. The travel is that of the fork's end; the piston's differs
    /// from it by what the rod gains or loses in leaning, `l·(1 − cos)` of its angle.
    pub fn angle(&self, travel: f64) -> Option<f64> {
        let swing = self.swing(travel, travel)?;
        lean(self.offset + swing.low, self.length)
    }

    /// Greatest angle of the rod to the bore's line, rad, either way, while the fork's end moves between two
    /// travels, mm. The travels count from rest with a new disc: with a worn one the fork stands further
    /// back, and its stroke begins below zero. `None` as for [`SlaveRod::angle`].
    pub fn worst_angle(&self, from: f64, to: f64) -> Option<f64> {
        let swing = self.swing(from, to)?;
        let outer = lean(self.offset + swing.high, self.length)?;
        let inner = lean(self.offset + swing.low, self.length)?;
        Some(outer.abs().max(inner.abs()))
    }

    /// The offset, mm, that makes [`SlaveRod::worst_angle`] least for these travels: with it the fork's end
    /// goes as far to one side of the bore's line as to the other, by half of what it swings sideways. Moving
    /// the bracket by this less the present offset, towards the pivot where that is above zero, does it.
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

/// Length of a rod, mm, seat to seat, whose ends lie `along`, mm, from each other in the bore's direction and
/// `offset`, mm, beside each other. `None` where nothing is left along the bore, or a number has no meaning.
///
/// Source: Pythagoras.
pub fn rod_length(along: f64, offset: f64) -> Option<f64> {
    finite(positive(along)?.hypot(offset))
}

/// How far the end of a swinging arm goes sideways, from where it stands at rest, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Swing {
    low: f64,
    high: f64,
}

impl Swing {
    /// The arm of the given length swings between two angles from square, given by their sines; at rest it
    /// stands at the angle whose cosine is `rest`. `None` if it cannot reach.
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

    /// Greatest lean, rad, of a rod of the given length whose bore lies beside its end at rest, mm, while that end swings
    /// with an arm between two angles from square, rad.
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

    /// How far the middle of the swing lies beside the place at rest, mm.
    pub(super) fn middle(arm: f64, rest: f64, to: f64) -> Option<f64> {
        let swing = Self::new(arm, rest.cos(), rest.sin(), to.sin())?;
        finite(0.5 * (swing.low + swing.high))
    }
}

/// Angle, rad, of a rod whose ends lie `across`, mm, beside each other.
fn lean(across: f64, length: f64) -> Option<f64> {
    finite((across / positive(length)?).asin())
}
