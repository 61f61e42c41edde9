//! What happens behind a master's port that stays shut while the fluid warms: the fluid grows and drives the slave
//! out.

use super::chain::Chain;
use super::domain::{finite, positive};
use super::efficiency::Stroke;
use super::leg::{Leg, WalkPoint};
use super::numeric::first_crossing;
use super::walk::{TAKEN_UP, Walk};

/// The clutch with its pedal up, behind a port that is shut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShutPort {
    /// By how much the fluid has grown, mm³.
    pub volume: f64,
    /// How far the bearing has moved, mm.
    pub bearing_travel: f64,
    /// Load on the bearing, N.
    pub load: f64,
}

impl Chain {
    /// How far the bearing moves, and under what load, when the fluid grows by `share` of its volume and can go only
    /// to the slave: `A_s·(R_f·b + F/k) + V_lost(p) = ΔV`. F is `load(b − gap)/R_f` plus what pulls the fork back,
    /// and `p = (F − preload)/A_s`. k is the stiffness of the fork and of the slave's bracket in series. On a bent
    /// fork `R_f·b` is the outer end's travel there, and the `R_f` of the force the local ratio. With relay levers at
    /// the fork, travel and force are those at the slave, behind the levers' play. Friction is left out, since it
    /// holds either way.
    ///
    /// `None` without a master, where nothing grows, and where a number grows without bound.
    ///
    /// Source: balance of volumes; Pascal's law.
    pub fn shut_port(&self, share: f64) -> Option<ShutPort> {
        let mut chain = self.clone();
        chain.fork.efficiency = 1.0;
        chain.fork.drag = 0.0;
        for relay in &mut chain.relays.at_fork {
            relay.efficiency = 1.0;
        }
        let hydraulics = chain.actuation.hydraulics_mut()?;
        hydraulics.slave.efficiency = 1.0;
        hydraulics.slave.drag = 0.0;
        if let Some(intensifier) = &mut hydraulics.intensifier {
            intensifier.efficiency = 1.0;
        }
        let volume = positive(hydraulics.volume() * share)?;
        let grown = hydraulics.volumes().map(|volume| volume * share);
        let place = chain.walk()?.place_at_volumes(grown)?;
        Some(ShutPort {
            volume,
            bearing_travel: finite(place.bearing)?,
            load: finite(place.load)?,
        })
    }
}

impl Walk<'_> {
    /// The first place at which slave, lines, fluid and air have taken up the additional volumes on the master's and
    /// the slave's side of an intensifier, mm³.
    fn place_at_volumes(&self, [of_master, of_slave]: [f64; 2]) -> Option<WalkPoint> {
        let circuit = self.mechanism.circuit()?;
        let boost = circuit.stepped.boost;
        let (area, volume) = (circuit.slave_area * boost, of_slave * boost + of_master);
        let short = |place: &WalkPoint| {
            let driven = self.driven(place, Stroke::Press);
            area * driven.output_travel + driven.drive.lost.total() - volume
        };
        let cuts = Self::cuts(self.count());
        let mut corners = (TAKEN_UP..self.count()).filter_map(|i| self.corner(i));
        let mut from = corners.next()?;
        for to in corners {
            let leg = Leg { from, to };
            if let Some(t) = first_crossing(|t| short(&leg.at(t)), cuts) {
                return Some(leg.at(t));
            }
            from = to;
        }
        self.beyond_last_corner(from, short)
    }
}
