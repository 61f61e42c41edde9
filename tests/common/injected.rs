//! Cars with an injected fault, their readings as a workshop takes them, and the diagnosis.

use super::cars::Cars;
use super::last_system;
use bitepoint::diagnose::{
    Explanation, FAULTS, FaultId, Reading, Sized, Taken, Value, Visit, VisitReport, best_fit,
    diagnose_visits, readings_with, usual_sizes,
};
use bitepoint::model::System;
use bitepoint::result;
use bitepoint::solve::{Outcome, work_out};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

/// A car with its fault and its readings.
pub struct Injected {
    pub text: String,
    pub system: System,
    pub outcome: Outcome,
    pub fault: Sized,
    pub visit: Visit,
}

/// How well a diagnosis finds an injected fault.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord)]
pub enum Rank {
    /// The fault is named first.
    First,
    /// The readings cannot tell it from the first fault.
    LikeFirst,
    /// It is among the faults that explain the readings.
    Explains,
    /// It is not among them.
    Lost,
}

/// A value as a tape, a scale or a gauge shows it.
fn rounded(reading: Reading, value: f64) -> f64 {
    let step = match reading {
        // A tape is read to half a millimetre, at the pad to one.
        Reading::PedalTravel | Reading::ReleasePoint | Reading::BlockedTravel => 1.0,
        Reading::PedalEffort | Reading::HeldEffort | Reading::LetUpEffort => 1.0,
        Reading::PedalDrag | Reading::ForkDrag | Reading::FreePlay => 1.0,
        // A gauge of good class, to a part of what it shows.
        Reading::LinePressure => 0.02,
        _ => 0.5,
    };
    ((value / step).round() * step).max(0.0)
}

fn taken(reading: Reading, value: Value) -> Taken {
    match value {
        Value::Number(value) => Taken::number(reading, rounded(reading, value), None),
        Value::Word(word) => Taken::word(reading, word),
    }
}

impl Injected {
    /// A random car that releases, with a fault of a usual size or healthy.
    pub fn draw(seed: u64, is_healthy: bool) -> Option<Self> {
        let mut random = StdRng::seed_from_u64(seed ^ 0x5eed_0fa1);
        let text = Cars::new(StdRng::seed_from_u64(seed)).spec();
        let system = last_system(&text);
        let outcome = work_out(&system).ok()?;
        if outcome.get(result!(release_margin))? < 0.0 {
            return None;
        }
        let fault = if is_healthy {
            Sized {
                fault: FaultId::NothingWrong,
                value: None,
            }
        } else {
            let possible: Vec<Sized> = FAULTS
                .iter()
                .filter_map(|row| {
                    let sizes = usual_sizes(&system, &outcome, row.id);
                    let size = *sizes.get(random.random_range(0..sizes.len().max(1)))?;
                    let sized = Sized {
                        fault: row.id,
                        value: Some(size),
                    };
                    readings_with(&system, &outcome, &[sized], None)?;
                    Some(sized)
                })
                .collect();
            possible[random.random_range(0..possible.len())]
        };
        let mut car = Self {
            text,
            system,
            outcome,
            fault,
            visit: Visit::default(),
        };
        // What people read, and how often.
        for (reading, part) in [
            (Reading::SlaveTravel, 0.8),
            (Reading::ForkTravel, 0.3),
            (Reading::MasterTravel, 0.4),
            (Reading::BearingTravel, 0.3),
            (Reading::PedalEffort, 0.4),
            (Reading::ReleasePoint, 0.4),
            (Reading::LinePressure, 0.15),
            (Reading::HalfTravel, 0.15),
            (Reading::BlockedTravel, 0.1),
            (Reading::Frees, 0.5),
            (Reading::FreePlay, 0.15),
        ] {
            if random.random::<f64>() < part {
                car.read(reading);
            }
        }
        if car.visit.taken.is_empty() {
            car.read(Reading::BearingTravel);
        }
        Some(car)
    }

    /// Every reading that the car would show at full pedal.
    pub fn truth(&self) -> Vec<(Reading, Value)> {
        readings_with(&self.system, &self.outcome, &[self.fault], None).unwrap_or_default()
    }

    /// Takes a reading, if the car gives it.
    pub fn read(&mut self, reading: Reading) {
        let truth = self.truth();
        let of_car = |reading: Reading| {
            let (_, value) = truth.iter().find(|(one, _)| *one == reading)?;
            Some(*value)
        };
        if let Some(value) = of_car(reading) {
            let is_past = match (value, of_car(Reading::PedalTravel)) {
                (Value::Number(value), Some(Value::Number(full))) => value > full,
                _ => false,
            };
            if reading == Reading::ReleasePoint && is_past {
                // The pad does not get there: what is seen is that the disc does not come free.
                return self.read(Reading::Frees);
            }
            // What is lost at full pedal is read where the pad stops, and was said to be full pedal.
            self.visit.put(taken(reading, value));
        }
    }

    pub fn report(&self) -> VisitReport {
        let visits = std::slice::from_ref(&self.visit);
        let report = diagnose_visits(&self.system, &self.outcome, visits);
        report.visits.into_iter().next().expect("a report")
    }

    /// The rank of the fault in a report.
    pub fn rank(&self, report: &VisitReport) -> Rank {
        let first = report.faults.first().filter(|first| first.explains);
        let Some(first) = first else {
            return Rank::Lost;
        };
        if first.sized.fault == self.fault.fault {
            return Rank::First;
        }
        let of_fault = |one: &&Explanation| one.sized.fault == self.fault.fault;
        let fitted = || best_fit(&self.system, &self.outcome, &self.visit, self.fault.fault);
        if fitted().is_some_and(|own| is_like(&own, first)) {
            return Rank::LikeFirst;
        }
        let own = report.faults.iter().find(of_fault);
        match own.is_some_and(|own| own.explains) {
            true => Rank::Explains,
            false => Rank::Lost,
        }
    }
}

/// Whether the predictions of two faults for the readings are within one accuracy of each other.
fn is_like(one: &Explanation, other: &Explanation) -> bool {
    let pairs = one.misses.iter().zip(&other.misses);
    pairs.into_iter().all(|((reading, one), (same, other))| {
        assert_eq!(reading, same);
        (one - other).abs() <= 1.0
    })
}
