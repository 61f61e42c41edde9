//! The effects of heat: fluid grows behind a shut port, hoses soften, facings fade, a cable's liner wears.

use crate::field;
use crate::mechanics::{Actuation, Chain, Disc, Wall};
use crate::model::System;
use crate::result;
use crate::schema::ResultId;

/// What a spec says of heat.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct HeatInputs {
    /// The share of its volume by which the fluid grows; `None` where `fluid.hottest` is not given.
    growth: Option<f64>,
    /// The factor by which each hose swells more; empty where none is given.
    hoses: Vec<f64>,
    /// Coefficient of friction of hot facings.
    friction: Option<f64>,
    /// Coefficient of friction of a worn cable liner.
    liner: Option<f64>,
    /// Whether the port stays open only with a gap at the pushrod.
    port_needs_gap: bool,
}

/// The clutch with a new disc, before it is hot.
pub(super) struct Cold<'a> {
    pub chain: &'a Chain,
    pub disc: Option<Disc>,
    pub finger_ratio: Option<f64>,
    /// Clamp load without a load on the fingers, N, if the cover's maker states it.
    pub stated_clamp: Option<f64>,
    pub clamp: Option<f64>,
    pub capacity: Option<f64>,
}

/// The temperature at which hoses are tested, K.
const TESTED_AT: f64 = 273.15 + 23.0;

impl HeatInputs {
    pub(super) fn new(system: &System) -> Self {
        let given = |id| system.given_number(id);
        let hottest = given(field!(fluid.hottest));
        let growth = || {
            let warmer = hottest? - system.number(field!(fluid.filled_at))?;
            Some(system.number(field!(fluid.growth))? * warmer)
        };
        let of_hose = |heat: f64| hottest.map_or(1.0, |hot| 1.0 + heat * (hot - TESTED_AT));
        let heats = || {
            system
                .lines
                .iter()
                .map(|line| line.number(field!(line.heat)))
        };
        let hoses = match hottest.is_some() && heats().any(|heat| heat.is_some()) {
            true => heats().map(|heat| heat.map_or(1.0, of_hose)).collect(),
            false => Vec::new(),
        };
        // Free play at the pad takes the place of the rod's clearance.
        let gap = given(field!(pedal.free_play)).or_else(|| given(field!(master.rod_clearance)));
        let needs_gap = |gap: f64| port_needs_gap(system) || (gap <= 0.0 && may_need_gap(system));
        Self {
            growth: growth(),
            hoses,
            friction: given(field!(disc.friction_hot)),
            liner: given(field!(cable.friction_worn)),
            port_needs_gap: gap.is_some_and(needs_gap),
        }
    }

    /// Sets the results of heat.
    pub(super) fn set(&self, set: &mut impl FnMut(ResultId, Option<f64>), cold: &Cold<'_>) {
        if self.port_needs_gap && cold.chain.actuation.hydraulics().is_some() {
            let clearance = cold.chain.walk().map(|walk| walk.rod_clearance());
            set(result!(port_clearance), clearance);
        }
        if let Some(growth) = self.growth {
            shut_port(set, cold, growth);
        }
        if !self.hoses.is_empty() {
            set(result!(release_margin_hot), self.margin_hot(cold.chain));
        }
        if let (Some(friction), Some(disc), Some(clamp)) = (self.friction, cold.disc, cold.clamp) {
            let hot = Disc { friction, ..disc };
            set(result!(torque_capacity_hot), hot.torque_capacity(clamp));
        }
        if let Some(friction) = self.liner {
            let effort = effort_on_worn_liner(cold.chain, friction);
            set(result!(pedal_effort_worn_liner), effort);
        }
    }

    fn margin_hot(&self, chain: &Chain) -> Option<f64> {
        let mut hot = chain.clone();
        let lines = &mut hot.actuation.hydraulics_mut()?.lines;
        for (line, more) in lines.iter_mut().zip(&self.hoses) {
            if let Wall::Hose { expansion } = &mut line.wall {
                *expansion *= more.max(0.0);
            }
        }
        hot.release_margin()
    }
}

/// Whether, with this pushrod and pedal, the piston goes home only if there is a gap. The gap itself need not be
/// given.
pub(crate) fn port_needs_gap(system: &System) -> bool {
    let rests = system.word(field!(pedal.rests));
    let is_loose = system.word(field!(master.rod)) == Some("loose");
    rests == Some("on_stop") || (is_loose && rests != Some("on_master"))
}

/// Whether nothing in the spec rules out that the piston needs a gap to go home.
pub(crate) fn may_need_gap(system: &System) -> bool {
    system.word(field!(pedal.rests)).is_none() && system.word(field!(master.rod)).is_none()
}

fn shut_port(set: &mut impl FnMut(ResultId, Option<f64>), cold: &Cold<'_>, growth: f64) {
    let Some(shut) = cold.chain.shut_port(growth) else {
        return;
    };
    set(result!(shut_port_volume), Some(shut.volume));
    set(result!(shut_port_travel), Some(shut.bearing_travel));
    set(result!(shut_port_load), Some(shut.load));
    let lost = cold.finger_ratio.map(|ratio| ratio * shut.load);
    set(result!(shut_port_clamp_lost), lost);
    let left = cold
        .stated_clamp
        .zip(lost)
        .map(|(clamp, lost)| (clamp - lost).max(0.0));
    let capacity = left
        .zip(cold.disc)
        .and_then(|(left, disc)| disc.torque_capacity(left));
    set(
        result!(shut_port_capacity),
        capacity.filter(|_| cold.capacity.is_some()),
    );
}

fn effort_on_worn_liner(chain: &Chain, friction: f64) -> Option<f64> {
    let mut worn = chain.clone();
    let Actuation::Cable(cable) = &mut worn.actuation else {
        return None;
    };
    cable.friction = friction;
    let walk = worn.walk()?;
    walk.highest_effort(&walk.full_pedal()?)
}
