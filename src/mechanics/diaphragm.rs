//! The diaphragm spring, from its dimensions.

use std::f64::consts::PI;

use super::domain::{finite, not_negative, positive};
use super::interpolation::Curve;

/// The closed cone of a diaphragm or disc spring, loaded at its edges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cone {
    /// Outer diameter, mm.
    pub outer: f64,
    /// Inner diameter, mm.
    pub inner: f64,
    /// Thickness of the sheet, mm.
    pub thickness: f64,
    /// Height of the free cone from inner to outer edge, without the thickness, mm.
    pub height: f64,
    /// Young's modulus, MPa.
    pub modulus: f64,
    /// Poisson's ratio, −1 to 0.5.
    pub poisson: f64,
}

impl Cone {
    /// The constant K₁ of the cone spring, with `δ = outer/inner`:
    /// `1/π·((δ − 1)/δ)² / ((δ + 1)/(δ − 1) − 2/ln δ)`.
    ///
    /// Source: Almen–László, **the DIN 2092 form**. The textbooks' logarithmic form, `6/(π·ln δ)·((δ − 1)/δ)²`, is
    /// half a percent less at δ = 1.75 and differs less for a narrower ring. Digits are lost where δ is close to 1.
    pub fn k1(&self) -> f64 {
        let delta = self.outer / self.inner;
        let width = (delta - 1.0) / delta;
        width * width / (PI * ((delta + 1.0) / (delta - 1.0) - 2.0 / delta.ln()))
    }

    /// Force between the edges, N, with the cone pressed flatter by `deflection`, mm, than its free height. At
    /// `height` it is flat, beyond it coned the other way. With `s` the deflection:
    /// `4E/(1 − ν²)·t⁴/(K₁·D²)·s/t·((h/t − s/t)·(h/t − s/(2t)) + 1)`.
    ///
    /// `None` if a number has no meaning.
    ///
    /// Source: Almen–László, DIN 2092 form (see [`Cone::k1`]), without contact flats. The section is assumed to turn
    /// without bending, and the slope to stay small.
    pub fn load(&self, deflection: f64) -> Option<f64> {
        finite(self.stiffened()?.load(deflection))
    }

    /// The constants of the load; `None` if a number has no meaning.
    fn stiffened(&self) -> Option<Stiffened> {
        positive(self.inner)?;
        positive(self.outer - self.inner)?;
        let t = positive(self.thickness)?;
        not_negative(self.height)?;
        (-1.0..=0.5).contains(&self.poisson).then_some(())?;
        let plate = 4.0 * positive(self.modulus)? / (1.0 - self.poisson * self.poisson);
        Some(Stiffened {
            scale: positive(plate * t.powi(4) / (self.k1() * self.outer * self.outer))?,
            thickness: t,
            coned: finite(self.height / t)?,
        })
    }
}

/// The load of a cone with its constants worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stiffened {
    /// N.
    scale: f64,
    thickness: f64,
    /// Free height over thickness.
    coned: f64,
}

impl Stiffened {
    fn load(&self, deflection: f64) -> f64 {
        let s = deflection / self.thickness;
        self.scale * s * ((self.coned - s) * (self.coned - 0.5 * s) + 1.0)
    }
}

/// A diaphragm spring in its cover. With pushed fingers it tips on a fulcrum inside the plate's circle, with pulled
/// ones on a fulcrum outside. The formulas are the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diaphragm {
    /// The cone, without the fingers.
    pub cone: Cone,
    /// Diameter of the circle on which the spring presses on the plate, mm.
    pub plate_circle: f64,
    /// Diameter of the circle on which the spring tips in the cover, mm.
    pub fulcrum_circle: f64,
    /// Diameter of the circle on which the bearing touches the fingers, mm.
    pub finger_circle: f64,
    /// How far the cone is pressed flatter than free with the cover bolted down on a new disc, mm, **from edge to
    /// edge as `cone.height` is measured**. At the plate's circle the spring deflects by this times the circles'
    /// distance over the cone's width.
    pub set_deflection: f64,
}

/// A diaphragm spring with its constants worked out.
///
/// DIN 2092 treats loads away from the edges by the law of the lever. Forces between the circles are those between
/// the edges times `(outer − inner)/|plate_circle − fulcrum_circle|`; deflections are divided by it. The fingers are
/// assumed rigid. Real fingers bend, so that more finger travel is needed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DiaphragmSpring {
    cone: Stiffened,
    /// Width of the cone over the distance of the circles.
    lever: f64,
    finger_ratio: f64,
    set_deflection: f64,
}

/// Pieces of a release curve. Over one piece the load differs from a straight line by less than a thousandth.
const PIECES: usize = 32;
/// Number of those pieces on which the cushion still presses back.
const PIECES_ON_CUSHION: usize = 8;

impl Diaphragm {
    /// The spring with its constants worked out. `None` if its numbers have no meaning, or if the finger circle is
    /// not inside both other circles.
    pub fn spring(&self) -> Option<DiaphragmSpring> {
        let arm = positive((self.plate_circle - self.fulcrum_circle).abs())?;
        positive(self.plate_circle.min(self.fulcrum_circle) - positive(self.finger_circle)?)?;
        Some(DiaphragmSpring {
            cone: self.cone.stiffened()?,
            lever: positive((self.cone.outer - self.cone.inner) / arm)?,
            finger_ratio: positive((self.fulcrum_circle - self.finger_circle) / arm)?,
            set_deflection: not_negative(self.set_deflection)?,
        })
    }
}

impl DiaphragmSpring {
    /// Finger travel over the plate's lift, which is also plate load over finger load:
    /// `(r_fulcrum − r_finger)/|r_plate − r_fulcrum|`.
    ///
    /// Source: law of the lever.
    pub fn finger_ratio(&self) -> f64 {
        self.finger_ratio
    }

    /// Lift of the plate, mm, for a finger travel, mm.
    pub fn plate_lift(&self, finger_travel: f64) -> f64 {
        finger_travel / self.finger_ratio
    }

    /// Force on the plate, N, with the plate lifted by `lift`, mm, from where it clamps a new disc. A lift below zero
    /// is towards the flywheel.
    fn plate_load(&self, lift: f64) -> f64 {
        self.lever * self.cone.load(self.set_deflection + lift * self.lever)
    }

    /// Clamp load, N, with a disc thinner by `wear`, mm, both faces together. The plate is then closer to the
    /// flywheel by the wear, and the cone is less deflected by it. `None` for a number without meaning.
    pub fn clamp_load(&self, wear: f64) -> Option<f64> {
        finite(self.plate_load(-not_negative(wear)?))
    }

    /// Load at the fingers, N, after `finger_travel`, mm, from their rest on a disc thinner by `wear`, mm. It is the
    /// spring's force at the plate, less the plate's force on the disc, over the finger ratio.
    ///
    /// The disc's `cushion`, mm, is assumed to spring back linearly from the clamp load to zero. Without one (zero)
    /// the plate leaves the disc at once, and the load begins at its full height. `None` for a negative travel and a
    /// number without meaning.
    pub fn release_load(&self, finger_travel: f64, wear: f64, cushion: f64) -> Option<f64> {
        not_negative(cushion)?;
        let lift = self.plate_lift(not_negative(finger_travel)?);
        let on_disc = if lift < cushion {
            self.clamp_load(wear)? * (1.0 - lift / cushion)
        } else {
            0.0
        };
        finite((self.plate_load(lift - not_negative(wear)?) - on_disc) / self.finger_ratio)
    }

    /// [`DiaphragmSpring::release_load`] as a curve of 33 points from rest to the finger travel `up_to`, mm,
    /// one of them where the plate leaves the disc. `None` for a number without meaning.
    pub fn release_curve(&self, wear: f64, cushion: f64, up_to: f64) -> Option<Curve> {
        positive(up_to)?;
        let free = self.finger_ratio * not_negative(cushion)?;
        let on_cushion = if free > 0.0 && free < up_to {
            PIECES_ON_CUSHION
        } else {
            0
        };
        let off = if on_cushion > 0 { free } else { 0.0 };
        let points = (0..=PIECES).map(|i| {
            let travel = if i < on_cushion {
                free * (i as f64 / on_cushion as f64)
            } else {
                let share = (i - on_cushion) as f64 / (PIECES - on_cushion) as f64;
                off + (up_to - off) * share
            };
            Some((travel, self.release_load(travel, wear, cushion)?))
        });
        Curve::new(points.collect::<Option<_>>()?)
    }
}
