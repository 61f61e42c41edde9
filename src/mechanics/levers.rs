//! The levers of a train and how far each turns up to full pedal.

use std::f64::consts::FRAC_PI_2;

use super::actuation::Actuation;
use super::chain::Chain;
use super::efficiency::Stroke;
use super::relay::{Relay, through};

/// One lever of a chain.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Lever {
    /// A relay lever at the pedal, counted from the pedal.
    AtPedal(usize),
    /// The cross-shaft of a linkage.
    CrossShaft,
    /// A relay lever at the fork, counted from the slave.
    AtFork(usize),
}

/// How a lever turns from rest to full pedal.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Swing {
    /// Which lever.
    pub lever: Lever,
    /// How far its in arm has to turn from rest until it is square, rad.
    pub in_angle: f64,
    /// How far it turns up to full pedal, rad.
    pub turn: f64,
    /// How much further it could turn, rad, before one of its arms is in line with its rod.
    pub until_dead_centre: f64,
}

impl Swing {
    fn new(lever: Lever, relay: &Relay, turn: f64) -> Self {
        let (in_angle, out_angle) = (relay.in_angle, relay.out_angle);
        Self {
            lever,
            in_angle,
            turn,
            until_dead_centre: FRAC_PI_2 + in_angle.min(out_angle) - turn,
        }
    }

    /// The greatest angle of its in arm from square to its rod, rad.
    pub fn most_off_square(&self) -> f64 {
        self.in_angle.abs().max((self.in_angle - self.turn).abs())
    }
}

/// How far each of some levers turns, for a travel and a force at the last one's output.
fn turns(relays: &[Relay], travel: f64, force: f64) -> Vec<f64> {
    let of = |i: usize| {
        let behind = through(
            relays.get(i + 1..).unwrap_or_default(),
            travel,
            force,
            Stroke::Press,
        );
        relays
            .get(i)
            .map(|relay| relay.at_output(behind.travel).angle)
    };
    (0..relays.len()).filter_map(of).collect()
}

impl Chain {
    /// How the chain's levers turn, from the pedal to the fork: relay levers, and a cross-shaft whose angles are
    /// given. Empty where a number has no meaning.
    pub fn swings(&self) -> Vec<Swing> {
        self.try_swings().unwrap_or_default()
    }

    fn try_swings(&self) -> Option<Vec<Swing>> {
        let mut found = Vec::new();
        if self.relays.is_empty() && self.cross_shaft().is_none() {
            return Some(found);
        }
        let walk = self.walk()?;
        let full = walk.full_pedal()?;
        let (state, driven) = (&full.state, walk.driven(&full.place, Stroke::Press));
        let drive = &driven.drive;
        let input = walk.clearance + drive.rod_travel();
        let at_pedal = turns(&self.relays.at_pedal, input, drive.input_force);
        let at_fork = turns(&self.relays.at_fork, state.fork_travel, state.fork_force);
        let pairs = self.relays.at_pedal.iter().zip(at_pedal).enumerate();
        found.extend(
            pairs
                .filter(|(_, (relay, _))| !relay.is_cable())
                .map(|(i, (relay, turn))| Swing::new(Lever::AtPedal(i), relay, turn)),
        );
        found.extend(self.cross_shaft().map(|shaft| {
            let turn = shaft.at_output(state.output_travel).angle;
            Swing::new(Lever::CrossShaft, &shaft, turn)
        }));
        let pairs = self.relays.at_fork.iter().zip(at_fork).enumerate();
        found.extend(
            pairs
                .filter(|(_, (relay, _))| !relay.is_cable())
                .map(|(i, (relay, turn))| Swing::new(Lever::AtFork(i), relay, turn)),
        );
        Some(found)
    }

    fn cross_shaft(&self) -> Option<Relay> {
        match &self.actuation {
            Actuation::Linkage(linkage) => linkage.lever(),
            _ => None,
        }
    }

    /// Sets both arms of a lever so that it is as far before square at rest as it is past square after a `turn`, rad.
    pub fn set_square(&mut self, lever: Lever, turn: f64) {
        let angle = 0.5 * turn;
        let relay = match lever {
            Lever::AtPedal(i) => self.relays.at_pedal.get_mut(i),
            Lever::AtFork(i) => self.relays.at_fork.get_mut(i),
            Lever::CrossShaft => {
                if let Actuation::Linkage(linkage) = &mut self.actuation {
                    (linkage.in_angle, linkage.out_angle) = (angle, angle);
                }
                None
            }
        };
        if let Some(relay) = relay {
            (relay.in_angle, relay.out_angle) = (angle, angle);
        }
    }
}
