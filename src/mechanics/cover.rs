//! The clutch cover, as the release bearing feels it.

use super::domain::{finite, not_negative};
use super::interpolation::Curve;

/// A clutch cover, seen from its diaphragm fingers (or release levers).
#[derive(Clone, Debug, PartialEq)]
pub struct Cover {
    /// Finger travel that releases the disc, mm.
    pub needed: f64,
    /// Greatest finger travel that the cover allows, mm.
    pub most: f64,
    /// The force with which the fingers press back.
    pub load: Load,
}

/// The corners of a load past first contact, as (finger travel, mm; load, N).
#[derive(Clone, Copy, Debug)]
pub(super) enum Corners<'a> {
    Knots(&'a [(f64, f64)]),
    Peak(Option<(f64, f64)>),
}

impl Corners<'_> {
    pub(super) fn len(&self) -> usize {
        match self {
            Self::Knots(knots) => knots.len(),
            Self::Peak(peak) => usize::from(peak.is_some()),
        }
    }

    pub(super) fn get(&self, i: usize) -> Option<(f64, f64)> {
        match self {
            Self::Knots(knots) => knots.get(i).copied(),
            Self::Peak(peak) => peak.filter(|_| i == 0),
        }
    }
}

/// Release load over finger travel.
#[derive(Clone, Debug, PartialEq)]
pub enum Load {
    /// Finger travel, mm, to load, N. The end values hold outside.
    Curve(Curve),
    /// Only the highest load is known, N: a line from zero to it at the needed finger travel, then flat.
    Peak(f64),
}

impl Cover {
    /// Release load, N, at a finger travel, mm.
    pub fn load_at(&self, finger_travel: f64) -> f64 {
        match &self.load {
            Load::Curve(curve) => curve.value(finger_travel),
            Load::Peak(peak) if finger_travel < self.needed => {
                peak * (finger_travel / self.needed).max(0.0)
            }
            Load::Peak(peak) => *peak,
        }
    }

    /// The corners of the load past first contact, as (finger travel, mm; load, N). The load is straight between them
    /// and flat past the last.
    pub(super) fn corners(&self) -> Corners<'_> {
        match &self.load {
            Load::Curve(curve) => {
                let knots = curve.knots();
                let contact = knots.partition_point(|(finger_travel, _)| *finger_travel <= 0.0);
                Corners::Knots(knots.get(contact..).unwrap_or_default())
            }
            Load::Peak(peak) => Corners::Peak((self.needed > 0.0).then_some((self.needed, *peak))),
        }
    }

    /// `Some` if every number has a meaning.
    pub(super) fn check(&self) -> Option<()> {
        not_negative(self.needed)?;
        not_negative(self.most)?;
        if let Load::Peak(peak) = self.load {
            finite(peak)?;
        }
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::{Cover, Load};

    #[test]
    fn a_lone_peak_is_a_line_to_it_and_flat_past_it() {
        let cover = Cover {
            needed: 8.0,
            most: 10.0,
            load: Load::Peak(1600.0),
        };
        assert_eq!(cover.load_at(0.0), 0.0);
        assert_eq!(cover.load_at(2.0), 400.0);
        assert_eq!(cover.load_at(8.0), 1600.0);
        assert_eq!(cover.load_at(9.5), 1600.0);
        let corners = cover.corners();
        assert_eq!((corners.len(), corners.get(0)), (1, Some((8.0, 1600.0))));
        assert_eq!(corners.get(1), None);
    }
}
