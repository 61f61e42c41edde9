//! The chain with a worn disc.
//!
//! As the disc wears, the plate follows towards the flywheel. The fingers come back towards the gearbox by the wear
//! times the finger ratio, and first close the gap to the bearing. After that they push back the bearing, and with it
//! the fork and the slave's piston, towards fully home. A cable or a linkage without an adjuster has only the free
//! play as its room; an adjuster has its range.

use super::chain::Chain;
use super::cover::Load;
use super::domain::not_negative;
use super::numeric::root;

/// By how much the room may be short because of rounding, mm. A rest extension is often calculated from the wear.
const ROUNDING: f64 = 1e-9;

impl Chain {
    /// How far the fingers can come back, mm, before the bearing stops them: the bearing's free play plus the slave's
    /// rest extension at the bearing. With an adjuster, which keeps the free play, it is the adjuster's range at the
    /// bearing.
    pub fn wear_room(&self) -> f64 {
        let (free_play, back) = match self.adjust_range {
            Some(range) => (0.0, range),
            None => (
                self.bearing.free_play,
                self.relays.fork_back(self.rest_extension()),
            ),
        };
        let even = back / self.fork.ratio;
        if self.fork.bend.is_none() || back <= 0.0 {
            return free_play + even;
        }
        // A bent fork goes back by another ratio at every place.
        let left = |far: f64| -self.fork.outer_travel(-far) - back;
        let mut far = even;
        while left(far) < 0.0 {
            far *= 2.0;
        }
        let tolerance = f64::EPSILON * far;
        free_play + root(left, (0.0, -back), (far, left(far)), tolerance)
    }

    /// This chain after the fingers have come back by `wear_at_fingers`, mm (the disc's wear times the finger ratio),
    /// with nothing adjusted since. Travels count from the new rest.
    ///
    /// `load` is the worn cover's release load over finger travel from the new rest, calculated from a diaphragm's
    /// dimensions. Without it the new cover's load is kept, though a real one differs. The release window is kept
    /// too: the lift that releases the disc and the cover's greatest travel do not change.
    ///
    /// `None` once the room is used up, and for numbers without meaning. Without room the bearing takes load off the
    /// disc all the time, and the clutch slips.
    pub fn worn(&self, wear_at_fingers: f64, load: Option<Load>) -> Option<Self> {
        not_negative(wear_at_fingers)?;
        not_negative(self.bearing.free_play)?;
        if self.adjust_range.is_some() {
            return self.adjusted(wear_at_fingers, load);
        }
        let mut worn = self.clone();
        let pushed_back = (wear_at_fingers - self.bearing.free_play).max(0.0);
        worn.bearing.free_play = (self.bearing.free_play - wear_at_fingers).max(0.0);
        // Housing and guide stay where they are, and the new rest is further from where they end the travel.
        let set_back = self.fork_set_back(wear_at_fingers);
        worn.fork.window = self.fork.window.map(|most| most + set_back);
        if let Some(bend) = &mut worn.fork.bend {
            bend.tips -= pushed_back;
        }
        worn.bearing.max_travel = self.bearing.max_travel.map(|most| most + pushed_back);
        if pushed_back > 0.0 {
            let (relays, back) = self.relays.fork_set_back(set_back)?;
            worn.relays.at_fork = relays;
            let hydraulics = worn.actuation.hydraulics_mut()?;
            let left = hydraulics.slave.rest_extension - back;
            if left.is_nan() || left < -ROUNDING {
                return None;
            }
            hydraulics.slave.rest_extension = left.max(0.0);
        }
        if let Some(load) = load {
            worn.cover.load = load;
        }
        Some(worn)
    }

    /// This chain after the fingers have come back and the adjuster has restored the free play and the slave's rest.
    /// The fork is then further from the stops of housing and guide.
    fn adjusted(&self, wear_at_fingers: f64, load: Option<Load>) -> Option<Self> {
        let needed = self.adjust_needed(wear_at_fingers);
        if needed > self.adjust_range? + ROUNDING {
            return None;
        }
        let mut worn = self.clone();
        worn.fork.window = self.fork.window.map(|most| most + needed);
        if let Some(bend) = &mut worn.fork.bend {
            bend.tips -= wear_at_fingers;
        }
        worn.bearing.max_travel = self.bearing.max_travel.map(|most| most + wear_at_fingers);
        if let Some(load) = load {
            worn.cover.load = load;
        }
        Some(worn)
    }

    /// Travel that an adjuster at the fork's outer end needs, mm, when the fingers have come back by
    /// `wear_at_fingers`, mm.
    pub fn adjust_needed(&self, wear_at_fingers: f64) -> f64 {
        -self.fork.outer_travel(-wear_at_fingers)
    }

    /// How far the fork's outer end is behind its rest with a new disc, mm, after the fingers have come back by
    /// `wear_at_fingers`, mm.
    pub fn fork_set_back(&self, wear_at_fingers: f64) -> f64 {
        let closed = match self.adjust_range {
            Some(_) => 0.0,
            None => self.bearing.free_play,
        };
        self.adjust_needed((wear_at_fingers - closed).max(0.0))
    }

    /// How far the slave's rod is behind its rest with a new disc, mm, after the fingers have come back by
    /// `wear_at_fingers`, mm. `None` where a relay lever comes in line with its rod.
    pub fn output_set_back(&self, wear_at_fingers: f64) -> Option<f64> {
        if self.adjust_range.is_some() {
            return Some(0.0);
        }
        let at_fork = self.fork_set_back(wear_at_fingers);
        Some(self.relays.fork_set_back(at_fork)?.1)
    }

    fn rest_extension(&self) -> f64 {
        self.actuation
            .hydraulics()
            .map_or(0.0, |hydraulics| hydraulics.slave.rest_extension)
    }
}
