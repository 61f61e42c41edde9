//! The named results of a chain and of the inputs beside it.

use super::fork_places::set_fork_places;
use super::heat::Cold;
use super::inputs::{DiscState, SideInputs};
use crate::mechanics::{
    Actuation, Chain, ColdReturn, EndedBy, SlaveBore, TrappedAir, bubble_volume, rod_length,
    torque_margin,
};
use crate::result;
use crate::schema::{RESULTS, ResultId};

/// Every result of a system that its spec supports.
#[derive(Clone, Debug)]
pub struct Results {
    /// The values by the results' places in the schema; NaN for an absent result.
    values: [f64; RESULTS.len()],
}

impl PartialEq for Results {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

/// The results of a chain and of the inputs beside it.
pub(super) struct Solution {
    pub results: Results,
    pub ended_by: EndedBy,
    /// What a measurement on the car says about air in the fluid.
    pub trapped_air: Option<TrappedAir>,
    /// How the fluid flows back in the cold.
    pub cold_return: Option<ColdReturn>,
}

/// The part of the fingers' travel after whose return the clutch counts as back. In the model the last of it takes
/// forever, and in the car it carries nothing. Common practice, no source.
const RETURNED: f64 = 0.9;

impl Results {
    /// A result in internal units; `None` where the spec does not give enough for it, or where the pedal does not
    /// reach it.
    pub fn get(&self, id: ResultId) -> Option<f64> {
        let value = *self.values.get(id.index())?;
        (!value.is_nan()).then_some(value)
    }

    /// The results that are not absent, in the order of the schema.
    pub fn iter(&self) -> impl Iterator<Item = (ResultId, f64)> + '_ {
        ResultId::all().filter_map(|id| Some((id, self.get(id)?)))
    }
}

impl Results {
    /// The results that differ from those of another set.
    pub fn differing_from<'r>(
        &'r self,
        those: &'r Self,
    ) -> impl Iterator<Item = (ResultId, f64)> + 'r {
        self.iter()
            .filter(|(id, value)| those.get(*id) != Some(*value))
    }
}

/// The results with the disc new or worn out; `chain` must be the chain in that state. `None` if its numbers have no
/// meaning together.
pub(super) fn solution(chain: &Chain, side: &SideInputs, disc: DiscState) -> Option<Solution> {
    let walk = chain.walk()?;
    let full = walk.full_pedal()?;
    let (s, slack, cold_return, orifice_time, rod_angle) = {
        let cold_return = side
            .cold
            .and_then(|(viscosity, density)| walk.cold_return(&full, viscosity, density, RETURNED));
        let slack = walk.least_slack_effort(&full);
        let summary = walk.summary(&full)?;
        let rod_angle = walk.worst_pedal_rod_angle(&full);
        let orifice_time = side
            .density
            .and_then(|density| walk.orifice_return(&full, density, RETURNED));
        (summary, slack, cold_return, orifice_time, rod_angle)
    };
    let mut results = Results {
        values: [f64::NAN; RESULTS.len()],
    };
    let mut set = |id: ResultId, value: Option<f64>| {
        results.values[id.index()] = value.unwrap_or(f64::NAN);
    };
    set(result!(pedal_ratio), Some(s.pedal_ratio));
    set(result!(hydraulic_ratio), s.hydraulic_ratio);
    set(
        result!(linkage_ratio),
        matches!(chain.actuation, Actuation::Linkage(_)).then_some(s.actuation_ratio),
    );
    set(result!(relay_ratio), s.relay_ratio);
    set(result!(fork_ratio), Some(s.fork_ratio));
    set(result!(overall_ratio), Some(s.overall_ratio));
    set(result!(pedal_travel_used), Some(s.pedal_travel_used));
    set(result!(free_travel), s.free_travel);
    let start = side.start_switch;
    set(
        result!(start_switch_lead),
        start.zip(s.release_point).map(|(at, free)| at - free),
    );
    set(
        result!(start_switch_room),
        start.map(|at| s.pedal_travel_used - at),
    );
    set(
        result!(cruise_switch_lag),
        side.cruise_switch
            .zip(s.free_travel)
            .map(|(at, free)| at - free),
    );
    set(result!(master_travel), s.master_travel);
    set(result!(master_reserve), s.master_reserve);
    set(result!(slave_travel_ideal), s.slave_travel_ideal);
    set(result!(slave_travel), s.slave_travel);
    set(result!(slave_reserve), s.slave_reserve);
    set(result!(fork_travel), Some(s.fork_travel));
    set(result!(fork_reserve), s.fork_reserve);
    set(result!(lost_hose), s.lost_hose);
    // Without a bulk modulus the fluid's share is left out of the model, not zero.
    let hydraulics = chain.actuation.hydraulics();
    set(
        result!(lost_fluid),
        s.lost_fluid
            .filter(|_| hydraulics.is_some_and(|h| h.fluid.bulk_modulus.is_some())),
    );
    set(result!(lost_air), s.lost_air);
    set(result!(lost_flex), Some(s.lost_flex));
    set(result!(lost_port), s.lost_port);
    set(result!(lost_play), s.lost_play);
    set(result!(bearing_travel), Some(s.bearing_travel));
    set(result!(bearing_reserve), s.bearing_reserve);
    set(result!(finger_travel), Some(s.finger_travel));
    set(result!(release_margin), Some(s.release_margin));
    set(result!(overtravel_margin), Some(s.overtravel_margin));
    set(result!(release_point), s.release_point);
    set(result!(stop_travel), s.stop_travel);
    set(result!(line_pressure), s.line_pressure);
    set(result!(master_pressure), s.master_pressure);
    set(result!(intensifier_travel), s.intensifier_travel);
    set(result!(intensifier_reserve), s.intensifier_reserve);
    set(result!(cable_efficiency), s.cable_efficiency);
    set(
        result!(cable_tension),
        s.cable_efficiency.map(|_| s.input_force),
    );
    set(result!(pedal_effort), Some(s.pedal_effort));
    set(result!(pedal_effort_full), Some(s.pedal_effort_full));
    set(result!(pedal_effort_return), s.pedal_effort_return);
    set(result!(pedal_effort_slack), slack);
    set(result!(pedal_work), Some(s.pedal_work));
    let wear_at_fingers = side.wear_at_fingers();
    let is_adjusted = chain.adjust_range.is_some() || hydraulics.is_none();
    set(
        result!(adjust_needed),
        wear_at_fingers
            .filter(|_| is_adjusted && disc == DiscState::New)
            .map(|wear| chain.adjust_needed(wear)),
    );
    set(
        result!(wear_reserve),
        wear_at_fingers.map(|wear| match disc {
            DiscState::New => chain.wear_room() - wear,
            DiscState::WornOut => chain.wear_room(),
        }),
    );
    set(
        result!(rod_cut_length),
        side.rod_span(hydraulics)
            .and_then(|along| rod_length(along, side.rod_offset.unwrap_or(0.0))),
    );
    if let Some(rod) = &side.rod {
        // Worn, the fork's end stands further back; the offset must serve both.
        let back = wear_at_fingers.and_then(|wear| chain.output_set_back(wear));
        let (from, to) = (-back.unwrap_or(0.0), s.output_travel);
        set(result!(rod_angle), rod.worst_angle(from, to));
        set(result!(rod_offset_best), rod.best_offset(from, to));
    }
    set(result!(pedal_rod_angle), rod_angle);
    set_fork_places(&mut set, side, &s, disc);
    let lift = side.finger_ratio.map(|ratio| s.finger_travel / ratio);
    set(result!(plate_lift), lift);
    set(
        result!(lift_margin),
        lift.zip(side.disc.zip(side.clearance))
            .and_then(|(lift, (facings, clearance))| {
                let wanted = facings.lift_needed(side.cushion.unwrap_or(0.0), clearance)?;
                Some(lift - wanted)
            }),
    );
    let is_as_new = disc == DiscState::New || side.is_self_adjusting;
    let clamp = match side.diaphragm {
        Some(diaphragm) => {
            let plate = if is_as_new { Some(0.0) } else { side.wear };
            diaphragm
                .spring()
                .zip(plate)
                .and_then(|(s, wear)| s.clamp_load(wear))
        }
        None if is_as_new => side.clamp_load,
        None => side.clamp_load_worn,
    };
    // A bearing that stands off the fingers does not press on them.
    let touches = chain.bearing.free_play <= 0.0;
    let riding = side.riding.filter(|_| touches);
    let riding = riding.map(|adjuster| chain.riding_load(adjuster));
    set(result!(riding_load), riding);
    // Without the finger ratio it is not known what the bearing takes off.
    let stated_clamp = clamp;
    let clamp = match riding.zip(side.finger_ratio) {
        Some((riding, ratio)) if riding > 0.0 => {
            clamp.map(|clamp| (clamp - ratio * riding).max(0.0))
        }
        _ => clamp,
    };
    set(result!(clamp_load), clamp);
    let capacity = clamp
        .zip(side.disc)
        .and_then(|(clamp, facings)| facings.torque_capacity(clamp));
    set(result!(torque_capacity), capacity);
    set(
        result!(torque_margin),
        capacity
            .zip(side.engine)
            .and_then(|(capacity, (torque, factor))| torque_margin(capacity, torque, factor)),
    );
    if disc == DiscState::New {
        let cold = Cold {
            chain,
            disc: side.disc,
            finger_ratio: side.finger_ratio,
            stated_clamp,
            clamp,
            capacity,
        };
        side.heat.set(&mut set, &cold);
    }
    // Where the clutch bites the fingers carry the release load, and no longer what a preload presses them with.
    let unloaded = stated_clamp.zip(side.disc).and_then(|(clamp, facings)| {
        let capacity = facings.torque_capacity(clamp)?;
        Some((clamp, capacity))
    });
    if let (Some(bite), Some(clamped), Some(ratio)) = (&side.bite, unloaded, side.finger_ratio) {
        let torque = side.engine.map(|(torque, _)| torque);
        bite.set(&mut set, (&walk, &full), clamped, ratio, torque);
    }
    set(result!(dowel_residual), side.dowel_residual);
    set(result!(shaft_tip_offset), side.shaft_tip_offset);
    set(result!(bell_offset), side.bell_offset);
    set(result!(bell_angle), side.dial.map(|d| d.move_towards));
    set(result!(bell_tilt), side.bell_tilt);
    set(result!(pilot_engagement), side.pilot_engagement);
    set(result!(pilot_room), side.pilot_room);
    set(
        result!(spline_engagement),
        side.splines.map(|(splines, hub)| splines.overlap(hub)),
    );
    set(result!(setup_gap), side.setup_gap);
    set(
        result!(bubble_volume),
        side.chamber
            .zip(hydraulics)
            .and_then(|((slope, length), h)| bubble_volume(&h.slave.bore, slope, length)),
    );
    let trapped_air = side
        .measured
        .and_then(|(pad, reading)| chain.trapped_air(pad.unwrap_or(s.pedal_travel_used), reading));
    // Negative air is a contradiction and no amount; a check reports it.
    set(
        result!(air_volume),
        trapped_air.map(|t| t.air).filter(|air| *air >= 0.0),
    );
    set(
        result!(slave_travel_missing),
        trapped_air.map(|t| t.missing_travel),
    );
    set(
        result!(master_bubble_volume),
        side.master_chamber
            .zip(hydraulics)
            .and_then(|((slope, length), h)| {
                bubble_volume(&SlaveBore::Round(h.master.bore), slope, length)
            }),
    );
    set(result!(return_time), cold_return.map(|cold| cold.time));
    set(result!(orifice_time), orifice_time);
    Some(Solution {
        results,
        ended_by: s.ended_by,
        trapped_air,
        cold_return,
    })
}
