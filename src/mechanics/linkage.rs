//! Rods and a cross-shaft.

use super::domain::positive;
use super::relay::Relay;
use super::train::Train;

/// A linkage that drives the fork through a cross-shaft.
#[derive(Clone, Debug, PartialEq)]
pub struct Linkage {
    /// Arm of the cross-shaft that the pedal's rod drives, mm.
    pub in_arm: f64,
    /// Arm of the cross-shaft that drives the fork's rod, mm.
    pub out_arm: f64,
    /// How far the in arm has to turn from rest until it is square to its rod, rad; below zero when it is already
    /// past.
    pub in_angle: f64,
    /// How far the out arm has to turn from rest until it is square to its rod, rad; below zero when it is already
    /// past.
    pub out_angle: f64,
    /// Slack of all joints together, at the pedal's rod, mm.
    pub play: f64,
    /// Force at the pedal's rod per travel there with the fork's end held, N/mm; `None` for rigid.
    pub stiffness: Option<f64>,
    /// Work at the fork over work at the pedal's rod, on the press.
    pub efficiency: f64,
}

impl Linkage {
    /// Travel at the pedal's rod over travel at the fork's outer end. Without friction it is also force at the fork
    /// over force at the rod.
    ///
    /// Source: law of the lever; OpenStax College Physics 2e s 9.5. If no angle is given, the arms are assumed to
    /// stay about square to their rods. Otherwise this is the ratio at rest, and the lever turns as a [`Relay`] does.
    pub fn ratio(&self) -> f64 {
        self.in_arm / self.out_arm
    }

    /// The linkage with its constants worked out; `None` if a number has no meaning.
    pub(super) fn train(&self) -> Option<Train> {
        positive(self.in_arm)?;
        positive(self.out_arm)?;
        let mut train = Train::new(self.ratio(), self.play, self.stiffness, self.efficiency)?;
        if let Some(lever) = self.lever() {
            lever.check()?;
            train.lever = Some(lever);
        }
        Some(train)
    }

    /// The cross-shaft as a lever that turns; `None` where both arms are assumed to stay square to their rods.
    pub fn lever(&self) -> Option<Relay> {
        (self.in_angle != 0.0 || self.out_angle != 0.0).then_some(Relay {
            in_arm: self.in_arm,
            out_arm: self.out_arm,
            in_angle: self.in_angle,
            out_angle: self.out_angle,
            play: 0.0,
            stiffness: None,
            efficiency: self.efficiency,
        })
    }
}
