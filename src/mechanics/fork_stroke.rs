//! The stroke to look for when the finished clutch is measured at the fork's outer end.

use super::chain::Chain;
use super::domain::{finite, not_negative};
use super::efficiency::Stroke;

impl Chain {
    /// Travel of the actuation's output, mm, on the press, at which the disc is released. With a slave, this is the
    /// least stroke of its rod that releases. The deflection of fork and relay levers under that load is included.
    /// How far the pedal can go does not matter. `None` for numbers without meaning.
    pub fn freeing_stroke(&self) -> Option<f64> {
        let walk = self.walk()?;
        let place = walk.place_on_cover(self.bearing.free_play + self.cover.needed);
        finite(walk.driven(&place, Stroke::Press).output_travel)
    }

    /// Travel of the actuation's output, mm, on the press, at which the fingers have moved by the most that the cover
    /// may take, with the deflections of [`freeing_stroke`](Self::freeing_stroke). `None` for numbers without meaning.
    pub fn most_stroke(&self) -> Option<f64> {
        let walk = self.walk()?;
        let place = walk.place_on_cover(self.bearing.free_play + finite(self.cover.most)?);
        finite(walk.driven(&place, Stroke::Press).output_travel)
    }

    /// Finger travel beyond what releases the disc, mm, with the actuation's output moved by `stroke`, mm, from rest
    /// on the press. Below zero the disc drags. `None` for a negative stroke and for numbers without meaning.
    pub fn release_margin_at(&self, stroke: f64) -> Option<f64> {
        let walk = self.walk()?;
        let place = walk.place_at_output_travel(not_negative(stroke)?)?;
        let fingers = (place.bearing - self.bearing.free_play).max(0.0);
        finite(fingers - self.cover.needed)
    }
}

#[cfg(test)]
mod tests {
    use crate::mechanics::{
        Actuation, Bearing, Cable, Chain, Cover, Fork, Leverage, Load, Pedal, Relays,
    };

    fn chain() -> Chain {
        Chain {
            pedal: Pedal {
                drag: 0.0,
                travel: 150.0,
                stop: None,
                free_play: None,
                leverage: Leverage::Ratio(6.0),
                efficiency: 1.0,
                return_force: 0.0,
                rod_offset: 0.0,
                assist: None,
            },
            actuation: Actuation::Cable(Cable {
                bends: 0.0,
                friction: 0.0,
                stiffness: None,
                play: 0.0,
            }),
            relays: Relays::default(),
            adjust_range: None,
            fork: Fork {
                drag: 0.0,
                return_force: 0.0,
                ratio: 2.0,
                efficiency: 1.0,
                stiffness: Some(1000.0),
                window: None,
                bend: None,
            },
            bearing: Bearing {
                free_play: 0.5,
                max_travel: None,
            },
            cover: Cover {
                needed: 7.0,
                most: 11.0,
                load: Load::Peak(1600.0),
            },
        }
    }

    /// By hand: (0.5 + 7) mm at the bearing, twice that at the fork's end, and 800 N there bend it by 0.8 mm.
    #[test]
    fn the_stroke_that_frees_holds_free_play_ratio_and_flex() {
        let stroke = chain().freeing_stroke().unwrap();
        assert!((stroke - 15.8).abs() < 1e-9, "{stroke}");
        assert!(chain().release_margin_at(stroke).unwrap().abs() < 1e-9);
        // Past the peak the load stays, and 2 mm at the fork's end are 1 mm at the fingers.
        let more = chain().release_margin_at(stroke + 2.0).unwrap();
        assert!((more - 1.0).abs() < 1e-9, "{more}");
        let most = chain().most_stroke().unwrap();
        let window = chain().cover.most - chain().cover.needed;
        let margin = chain().release_margin_at(most).unwrap();
        assert!((margin - window).abs() < 1e-9, "{margin}");
    }

    #[test]
    fn a_stroke_within_the_free_play_lacks_all_that_is_needed() {
        assert_eq!(chain().release_margin_at(0.0), Some(-7.0));
        assert_eq!(chain().release_margin_at(-1.0), None);
    }
}
