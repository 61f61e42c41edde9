//! The readings of a car with one or more faults, as the chain itself gives them.

use super::base::{Base, Moment};
use super::fault::{Fault, FaultId};
use super::readings::{PerReading, Reading, Taken, Value, Visit};
use crate::mechanics::Chain;

/// Some faults with their sizes, and the chain that results.
#[derive(Clone, Copy, Debug)]
pub struct Case<'f> {
    pub faults: &'f [(&'static Fault, f64)],
}

impl Case<'_> {
    fn chain(&self, base: &Base, moment: Moment) -> Option<Chain> {
        let mut chain = base.chain.clone();
        for (fault, size) in self.faults {
            (fault.apply)(&mut chain, base, *size, moment)?;
        }
        Some(chain)
    }

    fn has(&self, name: FaultId) -> bool {
        self.faults.iter().any(|(fault, _)| fault.id == name)
    }

    /// The readings of the wanted kinds on a car with these faults, with the pad held at `said`, mm; `None` is full
    /// pedal. The result is `None` where the car cannot have the faults.
    pub fn predict(
        &self,
        base: &Base,
        said: Option<f64>,
        wanted: impl Fn(Reading) -> bool,
    ) -> Option<PerReading> {
        let chain = self.chain(base, Moment::Read)?;
        let walk = chain.walk()?;
        let mut found: PerReading = [None; _];
        let mut set = |reading: Reading, value: Option<f64>| {
            if wanted(reading) {
                found[reading as usize] = value.filter(|value| value.is_finite());
            }
        };
        let there = walk.readings(said, wanted(Reading::PedalEffort))?;
        // A pad that was measured went that far: no stop ends it sooner.
        set(Reading::PedalTravel, Some(there.pad_travel));
        let is_hydraulic = there.master_travel.is_some();
        set(
            Reading::SlaveTravel,
            Some(there.output_travel).filter(|_| is_hydraulic),
        );
        set(Reading::MasterTravel, there.master_travel);
        set(
            Reading::ForkTravel,
            Some(there.fork_travel).filter(|_| base.has_fork()),
        );
        set(Reading::BearingTravel, Some(there.bearing_travel));
        set(Reading::PedalEffort, there.pedal_effort);
        set(Reading::HeldEffort, Some(there.held_effort));
        set(Reading::LinePressure, there.line_pressure);
        if wanted(Reading::LetUpEffort) {
            set(Reading::LetUpEffort, walk.let_up_effort(said));
        }
        set(Reading::PedalDrag, Some(chain.pedal.drag));
        set(
            Reading::ForkDrag,
            Some(chain.fork.drag).filter(|_| base.has_fork()),
        );
        if wanted(Reading::ReleasePoint) {
            set(Reading::ReleasePoint, walk.release_pad_travel());
        }
        if wanted(Reading::HalfTravel) {
            let half = 0.5 * said.unwrap_or(base.full.pad_travel);
            let there = walk.readings(Some(half), false)?;
            let travel = match is_hydraulic {
                true => there.output_travel,
                false => there.fork_travel,
            };
            set(Reading::HalfTravel, Some(travel));
        }
        if wanted(Reading::BlockedTravel)
            && base.has_fork()
            && let Some(effort) = base.full.pedal_effort
        {
            set(Reading::BlockedTravel, walk.blocked_pad_travel(effort));
        }
        if wanted(Reading::FreePlay) {
            set(Reading::FreePlay, walk.free_pad_travel());
        }
        if wanted(Reading::Sink) && is_hydraulic {
            let sunk = match self.has(FaultId::LeakBy) {
                true => {
                    let held = self.chain(base, Moment::AfterAMinute)?;
                    let held = held.walk()?.readings(said, false)?;
                    there.output_travel - held.output_travel
                }
                // Nothing else changes while the pedal is held.
                false => 0.0,
            };
            set(Reading::Sink, Some(sunk));
        }
        if wanted(Reading::Frees) {
            let full = match said {
                Some(_) => walk.readings(None, false)?,
                None => there,
            };
            set(
                Reading::Frees,
                Some(full.finger_travel - chain.cover.needed),
            );
        }
        if wanted(Reading::ComesUp) {
            let least = walk.least_effort_up();
            set(Reading::ComesUp, least.map(|least| least + base.unnamed_up));
        }
        Some(found)
    }

    /// The miss of each reading of a visit, in accuracies; `None` for a car that cannot have these faults.
    pub fn misses(&self, base: &Base, visit: &Visit) -> Option<PerReading> {
        let wanted = |reading| visit.taken(reading).is_some();
        let predicted = self.predict(base, visit.pedal_travel(), wanted)?;
        Some(self.held_against(base, &predicted, visit))
    }

    /// By how many accuracies each reading of a visit is above its prediction.
    pub fn held_against(&self, base: &Base, predicted: &PerReading, visit: &Visit) -> PerReading {
        let mut found: PerReading = [None; _];
        for taken in &visit.taken {
            let value = predicted[taken.reading as usize].map(|value| match taken.value {
                // No disc is seen to be released past the pedal's end.
                Value::Number(read)
                    if taken.reading == Reading::ReleasePoint
                        && is_past(base, read)
                        && !self.has(FaultId::LongPedal) =>
                {
                    value.min(base.pedal_end)
                }
                _ => value,
            });
            found[taken.reading as usize] = Some(self.miss(taken, value));
        }
        found
    }

    fn miss(&self, taken: &Taken, predicted: Option<f64>) -> f64 {
        /// The miss of a reading that no size of a fault can give.
        const IMPOSSIBLE: f64 = 100.0;
        /// The miss of a word for the pedal's feel that a fault does not cause.
        const WRONG_WORD: f64 = 3.0;
        match (taken.value, taken.reading) {
            (Value::Word(word), Reading::Feel) => {
                let feels = |fault: &Fault| fault.feels.contains(&word);
                let known = self.faults.iter().any(|(fault, _)| feels(fault));
                if known { 0.0 } else { WRONG_WORD }
            }
            (Value::Word(word), _) => {
                // Above zero where it is so.
                let Some(margin) = predicted else {
                    return IMPOSSIBLE;
                };
                match word == "yes" {
                    true => (-margin).max(0.0) / taken.accuracy,
                    false => -margin.max(0.0) / taken.accuracy,
                }
            }
            (Value::Number(value), _) => match predicted {
                Some(predicted) => (value - predicted) / taken.accuracy,
                None => IMPOSSIBLE,
            },
        }
    }
}

/// Whether a pad travel, mm, is past the pedal's own end by more than a misreading.
fn is_past(base: &Base, pad_travel: f64) -> bool {
    pad_travel > base.pedal_end + Reading::PedalTravel.accuracy(pad_travel)
}
