//! Places on the walk, and the straight legs between them.

/// A place on the walk. First the rod takes up its slack. Then force builds up against drag and the fork's spring,
/// and the bearing takes up its free play. Then the load comes on, and at last the fingers move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct WalkPoint {
    /// Rod travel while the bearing does not move, mm. It keeps its end value once the bearing moves.
    pub(super) slack: f64,
    /// Bearing travel, mm.
    pub(super) bearing: f64,
    /// Load on the bearing, N.
    pub(super) load: f64,
    /// Share of the load-independent forces between slave and bearing that is overcome, 0 to 1. It rises before
    /// anything moves.
    pub(super) taken_up: f64,
}

/// A straight piece of the walk.
#[derive(Clone, Copy, Debug)]
pub(super) struct Leg {
    pub(super) from: WalkPoint,
    pub(super) to: WalkPoint,
}

impl WalkPoint {
    pub(super) const REST: Self = Self {
        slack: 0.0,
        bearing: 0.0,
        load: 0.0,
        taken_up: 0.0,
    };
}

impl Leg {
    /// The place at `t`, 0 to 1. Both ends are met exactly, and so are values that do not change on the leg.
    pub(super) fn at(&self, t: f64) -> WalkPoint {
        if t >= 1.0 {
            return self.to;
        }
        let mix = |from: f64, to: f64| from + (to - from) * t;
        WalkPoint {
            slack: mix(self.from.slack, self.to.slack),
            bearing: mix(self.from.bearing, self.to.bearing),
            load: mix(self.from.load, self.to.load),
            taken_up: mix(self.from.taken_up, self.to.taken_up),
        }
    }

    pub(super) fn part(&self, from: f64, to: f64) -> Self {
        Self {
            from: self.at(from),
            to: self.at(to),
        }
    }

    /// The leg split in two where the load passes `load`, or the whole leg.
    pub(super) fn halves(self, load: f64) -> (Self, Option<Self>) {
        let t = (load - self.from.load) / (self.to.load - self.from.load);
        if t > 0.0 && t < 1.0 {
            (self.part(0.0, t), Some(self.part(t, 1.0)))
        } else {
            (self, None)
        }
    }

    /// The leg split into `count` equal pieces, one after the other.
    pub(super) fn pieces(self, count: u32) -> impl Iterator<Item = Self> + Clone {
        let t = move |i: u32| f64::from(i) / f64::from(count);
        (0..count).map(move |i| self.part(t(i), t(i + 1)))
    }

    /// Whether the load falls along the leg.
    pub(super) fn falls(&self) -> bool {
        self.to.load < self.from.load
    }

    /// Whether all travels are linear along the leg: they are unless a force changes.
    pub(super) fn is_linear(&self) -> bool {
        let takes_up = self.from.slack == self.to.slack && self.from.taken_up != self.to.taken_up;
        self.from.load == self.to.load && !takes_up
    }
}

/// How far inward from its end, as a share of a piece, to check whether the function rises or falls there.
pub(super) const INWARD: f64 = 1e-4;
