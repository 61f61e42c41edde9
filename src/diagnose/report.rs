//! What the readings of every visit say, as data for the checks and the faces.

use super::base::Base;
use super::bleeding::BleedingPlan;
use super::fault::FaultId;
use super::faults::FAULTS;
use super::fit::{EXPLAINED, Fit, NEARLY, squares, worst};
use super::forward::Case;
use super::next::{next, value as reading_of};
use super::pairs::pairs;
use super::readings::{PerReading, READINGS, Reading, Value, Visit};
use super::types::{Diagnosis, Explanation, FingerTravel, Pair, RuledOut, Sized, VisitReport};
use super::visits::{Together, changes};
use crate::block;
use crate::model::System;
use crate::solve::Outcome;

/// What the readings of a system's visits say. Empty where the system has none.
pub fn diagnose(system: &System, outcome: &Outcome) -> Diagnosis {
    let visits = Visit::all(system);
    diagnose_visits(system, outcome, &visits)
}

/// What the readings of some visits to a system say.
pub fn diagnose_visits(system: &System, outcome: &Outcome, visits: &[Visit]) -> Diagnosis {
    if visits.is_empty() {
        return Diagnosis::default();
    }
    let Some(base) = base_of(system, outcome) else {
        return Diagnosis::default();
    };
    let mut before: Option<(&Visit, Together)> = None;
    let reports = visits.iter().filter_map(|visit| {
        let (changes, mut together) = match &before {
            Some((last, known)) => (changes(last, visit), known.then(visit)),
            None => (Vec::new(), Together::alone(visit)),
        };
        let mut found = report(&base, &together.visit)?;
        let is_explained = |found: &VisitReport| {
            found.faults.iter().any(|fault| fault.explains) || !found.pairs.is_empty()
        };
        if !together.carried.is_empty() && !is_explained(&found) {
            // No number was read twice, so that something may have changed.
            together = Together::alone(visit);
            found = report(&base, visit)?;
        }
        found.changes = changes;
        found.carried.clone_from(&together.carried);
        let mut standing = found.faults.iter().filter(|fault| fault.explains);
        found.bleeding = standing
            .find(|fault| fault.sized.fault == FaultId::Air)
            .and_then(|air| BleedingPlan::new(system, outcome, Some(air.sized.value?)));
        before = Some((visit, together));
        Some(found)
    });
    Diagnosis {
        visits: reports.collect(),
    }
}

/// The readings of a car with some faults, in internal units, with the pad held at `pedal_travel`, mm, or at full
/// pedal. They are every number of [`READINGS`] that the car gives, and whether it releases. `None` where the car
/// cannot have such faults.
pub fn readings_with(
    system: &System,
    outcome: &Outcome,
    faults: &[Sized],
    pedal_travel: Option<f64>,
) -> Option<Vec<(Reading, Value)>> {
    let base = base_of(system, outcome)?;
    let sized = |one: &Sized| (one.fault.fault(), one.value.unwrap_or_default());
    let faults: Vec<_> = faults.iter().map(sized).collect();
    let predicted = Case { faults: &faults }.predict(&base, pedal_travel, |_| true)?;
    let readings = READINGS.iter().map(|row| row.reading).zip(predicted);
    Some(
        readings
            .filter_map(|(reading, value)| Some((reading, reading_of(reading, value?))))
            .collect(),
    )
}

/// The size of one fault that explains a visit best, even if badly; `None` where the car cannot have it.
pub fn best_fit(
    system: &System,
    outcome: &Outcome,
    visit: &Visit,
    fault: FaultId,
) -> Option<Explanation> {
    let fit = Fit::best(fault.fault(), &base_of(system, outcome)?, visit)?;
    Some(explanation(&fit, fit.within(EXPLAINED), false))
}

/// Common sizes of a fault on a car, from half of the usual one to twice as much. Empty where the car cannot have it.
pub fn usual_sizes(system: &System, outcome: &Outcome, fault: FaultId) -> Vec<f64> {
    base_of(system, outcome).map_or_else(Vec::new, |base| fault.fault().usual_sizes(&base))
}

fn base_of(system: &System, outcome: &Outcome) -> Option<Base> {
    Base::new(&outcome.chain, system.component(block!(fork)).is_some())
}

fn report(base: &Base, visit: &Visit) -> Option<VisitReport> {
    let healthy = Fit::best(FaultId::NothingWrong.fault(), base, visit)?;
    let agrees = healthy.within(EXPLAINED);
    let mut ruled_out = Vec::new();
    let mut explain: Vec<Fit> = Vec::new();
    let mut nearly: Vec<Fit> = Vec::new();
    // If everything is right, to the accuracy, a fault remains only if its usual size could not be seen.
    let is_right = healthy.within(1.0);
    for fault in &FAULTS {
        if fault.id == FaultId::NothingWrong {
            if agrees {
                explain.push(healthy.clone());
            } else {
                ruled_out.extend(rule_out(&healthy));
            }
            continue;
        }
        let fit = match (is_right, fault.usual(base)) {
            (true, Some(usual)) => Fit::at(fault, usual, base, visit),
            _ => Fit::best(fault, base, visit),
        };
        let Some(fit) = fit else { continue };
        // A fault that explains no better than a healthy car is not needed.
        let adds = squares(&fit.misses) + 1.0 <= squares(&healthy.misses);
        match (fit.within(EXPLAINED), fit.within(NEARLY)) {
            (true, _) if agrees && (is_right || !adds) => {}
            (true, _) => explain.push(fit),
            (false, true) if !agrees => nearly.push(fit),
            _ => ruled_out.extend(rule_out(&fit)),
        }
    }
    explain.sort_by(|a, b| b.plausibility.total_cmp(&a.plausibility));
    nearly.sort_by(|a, b| squares(&a.misses).total_cmp(&squares(&b.misses)));
    let standing: Vec<&Fit> = match explain.is_empty() {
        true => nearly.iter().collect(),
        false => explain.iter().collect(),
    };
    let pairs = match explain.is_empty() {
        true => pairs(base, visit, &healthy.misses),
        false => Vec::new(),
    };
    let fingers = finger_travel(base, visit);
    let pad = Reading::PedalTravel.accuracy(base.full.pad_travel);
    let at_full = |at: f64| at >= base.full.pad_travel - pad;
    let finger_travel = fingers.filter(|_| visit.pedal_travel().is_none_or(at_full));
    let (needed, most) = (base.chain.cover.needed, base.chain.cover.most);
    let is_past = |fingers: &FingerTravel| fingers.travel > most + fingers.accuracy;
    let drags = match visit.word(Reading::Frees) {
        Some(word) => word == "no",
        None => finger_travel.is_some_and(|f| f.travel < needed - f.accuracy),
    };
    let first = explain.first();
    let is_equal = |fit: &Fit| first.is_some_and(|first| fit.is_like(first));
    Some(VisitReport {
        label: visit.label.clone(),
        taken: visit.taken.clone(),
        units: visit.units(),
        expected: visit
            .taken
            .iter()
            .filter(|taken| taken.reading != Reading::Feel)
            .map(|taken| {
                let predicted = healthy.predicted[taken.reading as usize];
                let value = predicted.map(|p| reading_of(taken.reading, p));
                (taken.reading, value)
            })
            .collect(),
        misses: by_reading(&healthy.misses),
        drags,
        finger_travel,
        needed,
        most,
        past_limit: fingers.filter(is_past),
        full_pedal: base.full.pad_travel,
        agrees,
        decides: worst(&healthy.misses).map(|(reading, _)| reading),
        next: next(base, visit, &standing),
        odd: match explain.is_empty() && pairs.is_empty() {
            true => odd(base, visit),
            false => Vec::new(),
        },
        faults: explain
            .iter()
            .map(|fit| explanation(fit, true, is_equal(fit)))
            .chain(nearly.iter().map(|fit| explanation(fit, false, false)))
            .collect(),
        pairs: pairs
            .into_iter()
            .map(|pair| Pair {
                faults: pair.faults.map(|(fault, size)| Sized {
                    fault: fault.id,
                    value: Some(size),
                }),
                plausibility: pair.plausibility,
                misses: by_reading(&pair.misses),
            })
            .collect(),
        ruled_out,
        bleeding: None,
        carried: Vec::new(),
        changes: Vec::new(),
    })
}

/// The readings without which a single fault, or none, explains the rest of a visit.
fn odd(base: &Base, visit: &Visit) -> Vec<Reading> {
    let is_odd = |reading: &Reading| {
        let mut rest = visit.clone();
        rest.taken.retain(|taken| taken.reading != *reading);
        let mut faults = FAULTS.iter();
        let is_left = rest.taken.iter().any(|t| t.reading != Reading::PedalTravel);
        is_left
            && faults
                .any(|fault| Fit::best(fault, base, &rest).is_some_and(|fit| fit.within(EXPLAINED)))
    };
    let readings = visit.taken.iter().map(|taken| taken.reading);
    readings.filter(is_odd).collect()
}

fn rule_out(fit: &Fit) -> Option<RuledOut> {
    let (by, misses) = worst(&fit.misses)?;
    Some(RuledOut {
        fault: fit.fault.id,
        by,
        misses,
    })
}

fn explanation(fit: &Fit, explains: bool, equal: bool) -> Explanation {
    let readings = READINGS.iter().map(|row| row.reading).zip(fit.predicted);
    Explanation {
        sized: Sized {
            fault: fit.fault.id,
            value: (fit.fault.id != FaultId::NothingWrong).then_some(fit.size),
        },
        explains,
        equal,
        plausibility: fit.plausibility,
        misses: by_reading(&fit.misses),
        predictions: readings
            .filter_map(|(reading, value)| Some((reading, reading_of(reading, value?))))
            .collect(),
    }
}

fn by_reading(values: &PerReading) -> Vec<(Reading, f64)> {
    let readings = READINGS.iter().map(|row| row.reading).zip(values);
    readings
        .filter_map(|(reading, value)| Some((reading, (*value)?)))
        .collect()
}

/// The finger travel that follows from the reading nearest to the disc, at the pad travel of the visit. `None` where none
/// was taken.
fn finger_travel(base: &Base, visit: &Visit) -> Option<FingerTravel> {
    let number = |reading: Reading| {
        let taken = visit.taken(reading)?;
        Some((visit.number(reading)?, taken.accuracy))
    };
    let found = |travel, accuracy| Some(FingerTravel { travel, accuracy });
    if let Some((travel, accuracy)) = number(Reading::BearingTravel) {
        return found((travel - base.chain.bearing.free_play).max(0.0), accuracy);
    }
    let ratio = base.chain.fork.ratio;
    if let Some((travel, accuracy)) = number(Reading::SlaveTravel) {
        let fingers = base.chain.finger_travel_at_output(travel)?;
        let ratio = ratio * base.chain.relays.at_fork_ratio_at_rest();
        return found(fingers, accuracy / ratio);
    }
    let (travel, accuracy) = number(Reading::ForkTravel)?;
    let fingers = base.chain.finger_travel_at_fork(travel)?;
    found(fingers, accuracy / ratio)
}
