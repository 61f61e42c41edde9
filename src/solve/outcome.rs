//! A system worked out: its chain and its results, and the results of a changed chain.

use super::inputs::{DiscState, SideInputs, chain, side_inputs};
use super::results::{Results, solution};
use super::worn::{stated_worn_load, worn_results};
use crate::mechanics::{
    Chain, ColdReturn, EndedBy, Hydraulics, Load, PressedOn, Squeeze, TrappedAir,
};
use crate::model::System;
use crate::result;
use crate::schema::ResultId;
use std::fmt;
use std::sync::OnceLock;

/// A system worked out.
#[derive(Clone, PartialEq, Debug)]
pub struct Outcome {
    /// The chain's inputs, from which the results with another value are worked out.
    pub chain: Chain,
    /// The inputs that results need beside the chain.
    pub(crate) side_inputs: SideInputs,
    /// The release load with the disc worn out, if the cover's maker states it.
    worn_load: Option<Load>,
    /// What ends the pedal's travel.
    pub ended_by: EndedBy,
    /// Every result that the spec supports, with the disc new.
    pub results: Results,
    worn: Worn,
    /// What a measurement on the car says about air in the fluid.
    pub trapped_air: Option<TrappedAir>,
    /// How the fluid flows back in the cold.
    pub cold_return: Option<ColdReturn>,
}

/// The results with the disc worn out, worked out on the first request. Most outcomes never need them, and they take
/// as long as everything else.
#[derive(Clone, Default)]
struct Worn(OnceLock<Option<Results>>);

/// Outcomes of equal chains are equal, whether their worn results are worked out yet or not.
impl PartialEq for Worn {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl fmt::Debug for Worn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Worn")
    }
}

/// Why a system has no results.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NotWorked {
    /// The spec is incomplete or has mistakes in it.
    Unsound,
    /// The system leaves something to choose: it is many systems and has no single result.
    Choices,
    /// The system's numbers have no meaning together: nothing moves, or a lever cannot reach.
    Impossible,
}

impl NotWorked {
    /// The reason, as the end of a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::Unsound => "the spec is incomplete or has mistakes in it",
            Self::Choices => "it stands for many systems, one for each choice",
            Self::Impossible => "the numbers have no meaning together",
        }
    }
}

/// Works out a system.
///
/// # Errors
/// Why nothing can be worked out.
pub fn work_out(system: &System) -> Result<Outcome, NotWorked> {
    can_be_worked_out(system)?;
    let side = side_inputs(system);
    chain(system, &side)
        .and_then(|chain| Outcome::new(chain, side, stated_worn_load(system)))
        .ok_or(NotWorked::Impossible)
}

/// Whether a system is whole, and one.
///
/// # Errors
/// Why nothing can be worked out.
pub(super) fn can_be_worked_out(system: &System) -> Result<(), NotWorked> {
    if !system.is_workable() {
        return Err(NotWorked::Unsound);
    }
    if !system.chooses.is_empty() {
        return Err(NotWorked::Choices);
    }
    Ok(())
}

/// The results of a system by themselves, as [`work_out`] has them; what becomes of them with a worn disc is left
/// out. `None` where nothing can be worked out.
pub(super) fn results_alone(system: &System) -> Option<Results> {
    can_be_worked_out(system).ok()?;
    let side = side_inputs(system);
    Some(solution(&chain(system, &side)?, &side, DiscState::New)?.results)
}

impl EndedBy {
    /// The name in machine output.
    pub fn name(self) -> &'static str {
        match self {
            Self::PedalTravel => "pedal_travel",
            Self::PedalStop => "pedal_stop",
            Self::MasterStroke => "master_stroke",
            Self::Geometry => "geometry",
            Self::RelayGeometry => "relay_geometry",
            Self::IntensifierStroke => "intensifier_stroke",
            Self::SlaveStroke => "slave_stroke",
            Self::ForkWindow => "fork_window",
            Self::BearingGuide => "bearing_guide",
        }
    }

    /// Whether the pedal's travel ends only at its own end.
    pub fn is_own_travel(self) -> bool {
        self == Self::PedalTravel
    }

    /// What ends the pedal's travel, as the end of a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::PedalTravel => "the end of the pedal's travel",
            Self::PedalStop => "the pedal stop",
            Self::MasterStroke => "the master bottoming",
            Self::Geometry => "the pedal reaching dead center",
            Self::RelayGeometry => "a lever reaching dead center",
            Self::IntensifierStroke => "the intensifier bottoming",
            Self::SlaveStroke => "the slave reaching the end of its stroke",
            Self::ForkWindow => "the fork striking the edge of its window",
            Self::BearingGuide => "the release bearing reaching the end of its guide",
        }
    }
}

impl Outcome {
    /// The results of a chain; `None` if its numbers have no meaning together.
    pub(crate) fn new(
        chain: Chain,
        side_inputs: SideInputs,
        worn_load: Option<Load>,
    ) -> Option<Self> {
        let solution = solution(&chain, &side_inputs, DiscState::New)?;
        Some(Self {
            worn: Worn::default(),
            chain,
            side_inputs,
            worn_load,
            ended_by: solution.ended_by,
            results: solution.results,
            trapped_air: solution.trapped_air,
            cold_return: solution.cold_return,
        })
    }

    /// A result in its internal unit; `None` where the spec does not support it.
    pub fn get(&self, id: ResultId) -> Option<f64> {
        self.results.get(id)
    }

    /// The results with the disc worn out and nothing adjusted since. `None` where the wear is not known, or where
    /// there is no room for it and the clutch slips first.
    pub fn worn(&self) -> Option<&Results> {
        let worn = || worn_results(&self.chain, &self.side_inputs, self.worn_load.as_ref());
        self.worn.0.get_or_init(worn).as_ref()
    }

    /// Whether full pedal reaches a pad travel, mm.
    pub fn reaches(&self, pad_travel: f64) -> bool {
        /// How near counts as reached, mm.
        const NEAR: f64 = 1e-6;
        let used = self.get(result!(pedal_travel_used)).unwrap_or_default();
        used >= pad_travel - NEAR
    }

    /// The outcome of a changed chain; `None` if it has no meaning.
    pub fn with(&self, change: impl FnOnce(&mut Chain)) -> Option<Self> {
        let mut chain = self.chain.clone();
        change(&mut chain);
        Self::new(chain, self.side_inputs.clone(), self.worn_load.clone())
    }

    /// Distance between the two seats of the slave's rod along the bore with a new disc, mm; `None` where the spec
    /// does not say.
    pub fn rod_span(&self) -> Option<f64> {
        self.side_inputs.rod_span(self.hydraulics())
    }

    /// The hydraulic part of the chain, if it has one.
    pub fn hydraulics(&self) -> Option<&Hydraulics> {
        self.chain.actuation.hydraulics()
    }

    /// The forces at full pedal of a foot that presses on with `foot`, N. `None` where no hard stop of slave, fork or
    /// bearing ends the travel.
    pub fn pressed_on(&self, foot: f64) -> Option<PressedOn> {
        let walk = self.chain.walk()?;
        walk.pressed_on(&walk.full_pedal()?, foot)
    }

    /// How the air in the fluid is compressed up to full pedal; `None` where there is none.
    pub fn squeeze(&self) -> Option<Squeeze> {
        let walk = self.chain.walk()?;
        walk.squeeze(&walk.full_pedal()?)
    }
}
