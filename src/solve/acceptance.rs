//! What the finished clutch must measure, and what a measured stroke means.

use super::Outcome;
use crate::mechanics::Reading;
use crate::quantity::{Dimension, Display, UnitExpr, UnitSystem, usual_unit};
use crate::result;
use crate::schema::ResultId;

/// What strokes measured at the fork's outer end at full pedal mean for a clutch. Lengths in mm, volumes in mm³,
/// forces in N.
#[derive(Clone, PartialEq, Debug)]
pub struct Acceptance {
    /// The least stroke that releases the disc, rounded up to what can be measured in either system of units:
    /// `14.1 mm (0.554 in)`.
    pub least: String,
    /// The greatest stroke that the cover may take, rounded down to what can be measured in either system of units.
    /// `None` where the calculation gives none.
    pub most: Option<String>,
    /// Strokes that may be measured, the longest first: the calculated one, the least that releases if full pedal
    /// reaches it, and round ones down to zero. No two are shown alike.
    pub readings: Vec<StrokeReading>,
    /// Why a firm pedal does not prove that the fluid is free of air; `None` where no amount of air explains a drag.
    pub firm_pedal: Option<FirmPedal>,
}

/// What a stroke measured at full pedal means.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct StrokeReading {
    /// The measured travel of the fork's outer end, mm.
    pub stroke: f64,
    /// Finger travel beyond what releases the disc; below zero where it drags.
    pub margin: f64,
    /// Whether the disc is released at this stroke.
    pub frees: bool,
    /// Whether the fingers go past the limit of the cover.
    pub past_limit: bool,
    /// The air in the fluid that explains the stroke, as its volume at rest. `None` where there is no fluid, or no
    /// air explains it.
    pub air: Option<f64>,
    /// Whether it is the calculated stroke or the least that releases.
    pub is_mark: bool,
}

/// How a clutch feels that has just so much air that it still releases.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FirmPedal {
    /// Volume of the air at rest, mm³.
    pub air: f64,
    /// Pad travel, mm, at which half of the compression is done.
    pub half_done: f64,
    /// Effort that holds the pedal down with the air in the fluid, N.
    pub effort: f64,
    /// Effort that holds the pedal down with no air in the fluid, N.
    pub effort_without: f64,
}

impl Acceptance {
    /// What measurements of `travel`, a result, mean, in a display's units. `None` where the result is absent.
    pub fn new(outcome: &Outcome, travel: ResultId, display: &Display) -> Option<Self> {
        let full = outcome.get(travel)?;
        let least = outcome.freeing_stroke()?;
        let hydraulic = outcome.hydraulics().is_some();
        let unit = display.unit_for(full, Dimension::LENGTH);
        let most = outcome.chain.most_stroke();
        let least_read = Bound::Least.rounded(least, display);
        let reading = |(stroke, is_mark): (f64, bool)| {
            Some(StrokeReading {
                stroke,
                margin: outcome.chain.release_margin_at(stroke)?,
                frees: stroke >= least,
                past_limit: most.is_some_and(|most| stroke > most),
                air: air_at(outcome, stroke).filter(|_| hydraulic),
                is_mark,
            })
        };
        let mut strokes: Vec<(f64, bool)> = strokes(full, least, unit.as_ref())
            .into_iter()
            .map(|stroke| (stroke, false))
            .chain([(full, true)])
            // A clutch that does not release at full pedal has no row that releases.
            .chain((least <= full).then_some((least_read, true)))
            .collect();
        // The calculated stroke and the least one come before a round stroke that is shown alike.
        strokes.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut kept: Vec<(f64, bool)> = Vec::new();
        for stroke in strokes {
            match kept
                .last_mut()
                .filter(|last| is_shown_alike(display, last.0, stroke.0))
            {
                Some(last) if stroke.1 && !last.1 => *last = stroke,
                Some(_) => {}
                None => kept.push(stroke),
            }
        }
        Some(Self {
            least: Bound::Least.in_both(least, display),
            most: most.map(|most| Bound::Most.in_both(most, display)),
            readings: kept.into_iter().filter_map(reading).collect(),
            firm_pedal: firm_pedal(outcome, least).filter(|_| hydraulic),
        })
    }
}

/// Whether two lengths, mm, look alike in a display's units.
fn is_shown_alike(display: &Display, one: f64, other: f64) -> bool {
    let shown = |mm| display.show(mm, Dimension::LENGTH);
    shown(one) == shown(other)
}

/// A bound, by the way in which it is rounded: a reading that keeps to the number shown keeps to the bound.
#[derive(Clone, Copy)]
enum Bound {
    /// No less: rounded up.
    Least,
    /// No more: rounded down.
    Most,
}

impl Bound {
    /// The length nearest to `mm`, mm, that keeps to the bound and is shown with all of its digits.
    fn rounded(self, mm: f64, display: &Display) -> f64 {
        /// More decimals than any length is shown with.
        const MOST_DECIMALS: i32 = 6;
        /// Rounding of arithmetic, in the unit that is shown.
        const ROUNDING: f64 = 1e-9;
        let unit = display.unit_for(mm, Dimension::LENGTH);
        let out = |mm: f64| unit.as_ref().map_or(mm, |unit| unit.outward(mm));
        let inward = |value: f64| unit.as_ref().map_or(value, |unit| unit.inward(value));
        let is_shown_whole = |value: &f64| {
            let shown = display.show(inward(*value), Dimension::LENGTH);
            let number = shown
                .split(' ')
                .next()
                .and_then(|number| number.parse::<f64>().ok());
            number.is_some_and(|number| (number - value).abs() < ROUNDING)
        };
        let to = |decimals: i32| {
            let steps = 10f64.powi(decimals);
            match self {
                Self::Least => ((out(mm) - ROUNDING) * steps).ceil() / steps,
                Self::Most => ((out(mm) + ROUNDING) * steps).floor() / steps,
            }
        };
        let finest = (0..=MOST_DECIMALS).rev().map(to).find(is_shown_whole);
        // What is shown whole may lie a rounding on the wrong side.
        finest.map_or(mm, |value| match self {
            Self::Least => inward(value).max(mm),
            Self::Most => inward(value).min(mm),
        })
    }

    /// The bound rounded in the display's own unit, followed by that length in the other system, rounded the same way.
    fn in_both(self, mm: f64, display: &Display) -> String {
        let own = display.unit_for(mm, Dimension::LENGTH);
        let other = match own.map(|unit| unit.system()) {
            Some(UnitSystem::Imperial) => UnitSystem::Metric,
            _ => UnitSystem::Imperial,
        };
        let mut others = Display::default();
        if let Some(unit) = usual_unit(Dimension::LENGTH, other) {
            others.learn(&unit);
        }
        let read = self.rounded(mm, display);
        let show = |display: &Display, mm| display.show(mm, Dimension::LENGTH);
        let other = show(&others, self.rounded(read, &others));
        format!("{} ({other})", show(display, read))
    }
}

impl Outcome {
    /// Travel of the fork's outer end, mm, that just releases the disc; `None` for numbers without meaning.
    pub fn freeing_stroke(&self) -> Option<f64> {
        self.chain.freeing_stroke()
    }

    /// Gap between the fingers and a concentric slave with its piston fully home, mm, that rest extension and free
    /// play need. `None` where the gap that the stack leaves is not known.
    pub fn right_setup_gap(&self) -> Option<f64> {
        self.get(result!(setup_gap))?;
        Some(self.hydraulics()?.slave.rest_extension + self.chain.bearing.free_play)
    }

    /// Total reading of a gauge that turns with the crankshaft in the bell housing's bore, mm: twice the bore's
    /// offset.
    pub fn bell_reading(&self) -> Option<f64> {
        Some(2.0 * self.get(result!(bell_offset))?)
    }
}

/// The air that explains a stroke at full pedal, mm³.
fn air_at(outcome: &Outcome, stroke: f64) -> Option<f64> {
    let pad_travel = outcome.get(result!(pedal_travel_used))?;
    let found = outcome
        .chain
        .trapped_air(pad_travel, Reading::SlaveTravel(stroke))?;
    // Rounding alone may bring it below nothing.
    (found.air > -1.0).then_some(found.air.max(0.0))
}

/// Round strokes to list, mm. They are close together down to a little below the least that releases, then in longer
/// steps down to zero. Any measured stroke thus has a row near it.
fn strokes(full: f64, least: f64, unit: Option<&UnitExpr>) -> Vec<f64> {
    const MOST_CLOSE: u8 = 9;
    const MOST_BELOW: u8 = 6;
    let out = |mm: f64| unit.map_or(mm, |unit| unit.outward(mm));
    let inward = |value: f64| unit.map_or(value, |unit| unit.inward(value));
    let bottom = out(0.9 * full.min(least)).max(0.0);
    let close = round_values(bottom, out(full), MOST_CLOSE);
    let below = round_values(0.0, bottom, MOST_BELOW);
    close
        .into_iter()
        .chain(below)
        .map(inward)
        .chain([0.0])
        .collect()
}

/// About `most` round values from `bottom` up to below `top`, the highest first.
fn round_values(bottom: f64, top: f64, most: u8) -> Vec<f64> {
    // Each shows whole with the digits of a length that has so many steps.
    const STEPS: [f64; 10] = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0];
    let span = top - bottom;
    if span <= 0.0 {
        return Vec::new();
    }
    let rows = f64::from(most);
    let step = STEPS.into_iter().find(|step| span / step <= rows);
    let step = step.unwrap_or(span / rows);
    let highest = (top / step).ceil() - 1.0;
    (0..=most)
        .map(|i| (highest - f64::from(i)) * step)
        .filter(|value| *value >= bottom)
        .collect()
}

fn firm_pedal(outcome: &Outcome, least: f64) -> Option<FirmPedal> {
    let air = air_at(outcome, least).filter(|air| *air > 0.0)?;
    let with_air = outcome.with(|chain| chain.change_hydraulics(|h| h.fluid.air = air))?;
    let squeeze = with_air.squeeze()?;
    Some(FirmPedal {
        air,
        half_done: squeeze.half_done,
        effort: with_air.get(result!(pedal_effort_full))?,
        effort_without: outcome.get(result!(pedal_effort_full))?,
    })
}
