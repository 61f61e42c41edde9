//! What the finished clutch must show when it is measured at the fork's outer end, and what a reading says.

use super::Outcome;
use crate::mechanics::Reading;
use crate::quantity::UnitExpr;
use crate::result;
use crate::schema::ResultId;

/// What measurements at the fork's outer end at full pedal say of a clutch. Lengths in mm, volumes in mm³, forces in N.
#[derive(Clone, PartialEq, Debug)]
pub struct Acceptance {
    /// Travel of the fork's outer end that is worked out.
    pub full: f64,
    /// The least that still frees the disc.
    pub least: f64,
    /// Strokes that one may measure, the longest first: those two, and round ones down to none.
    pub readings: Vec<StrokeReading>,
    /// Why a firm pedal does not prove that there is no air; `None` where no air explains a drag.
    pub firm_pedal: Option<FirmPedal>,
}

/// What a stroke measured at full pedal means.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct StrokeReading {
    /// Travel of the fork's outer end that is measured, mm.
    pub stroke: f64,
    /// Finger travel beyond what frees the disc; below zero where it drags.
    pub margin: f64,
    /// Whether the disc is free at it.
    pub frees: bool,
    /// The air in the fluid that explains it, as its volume at rest; `None` where there is no fluid, or none does.
    pub air: Option<f64>,
    /// Whether it is what is worked out, or the least that frees.
    pub is_mark: bool,
}

/// How a clutch feels with so much air that it only just frees.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FirmPedal {
    /// Volume of the air at rest, mm³.
    pub air: f64,
    /// What is left of it at full pedal.
    pub left: f64,
    /// Pad travel, mm, by which half of the squeezing is done.
    pub half_done: f64,
    /// Effort that holds the pedal down, with the air and without.
    pub effort: f64,
    /// Effort that holds the pedal down with no air in the fluid, N.
    pub effort_without: f64,
}

impl Acceptance {
    /// What measurements of `travel`, the result that is measured, say; round strokes are round in `unit`. `None`
    /// where the result is absent.
    pub fn new(outcome: &Outcome, travel: ResultId, unit: Option<&UnitExpr>) -> Option<Self> {
        let full = outcome.get(travel)?;
        let least = outcome.freeing_stroke()?;
        let hydraulic = outcome.hydraulics().is_some();
        let reading = |stroke: f64| {
            Some(StrokeReading {
                stroke,
                margin: outcome.chain.release_margin_at(stroke)?,
                frees: stroke >= least,
                air: air_at(outcome, stroke).filter(|_| hydraulic),
                is_mark: stroke == full || stroke == least,
            })
        };
        let strokes = strokes(full, least, unit);
        Some(Self {
            full,
            least,
            readings: strokes.into_iter().filter_map(reading).collect(),
            firm_pedal: firm_pedal(outcome, least).filter(|_| hydraulic),
        })
    }
}

impl Outcome {
    /// Travel of the fork's outer end, mm, that just frees the disc; `None` for numbers without meaning.
    pub fn freeing_stroke(&self) -> Option<f64> {
        self.chain.freeing_stroke()
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

/// Strokes to list, mm, the longest first: close together down to a little below the least that frees, and from there
/// in longer steps down to none, so that whatever is measured has its row.
fn strokes(full: f64, least: f64, unit: Option<&UnitExpr>) -> Vec<f64> {
    const MOST_CLOSE: u8 = 9;
    const MOST_BELOW: u8 = 6;
    let out = |mm: f64| unit.map_or(mm, |unit| unit.outward(mm));
    let inward = |value: f64| unit.map_or(value, |unit| unit.inward(value));
    let bottom = out(0.9 * full.min(least)).max(0.0);
    let close = round_values(bottom, out(full), MOST_CLOSE);
    let below = round_values(0.0, bottom, MOST_BELOW);
    let mut strokes: Vec<f64> = close
        .into_iter()
        .chain(below)
        .map(inward)
        .chain([full, least, 0.0])
        .collect();
    strokes.sort_by(|a, b| b.total_cmp(a));
    strokes.dedup();
    strokes
}

/// Round values from `bottom` on and below `top`, about `most` of them, the highest first.
fn round_values(bottom: f64, top: f64, most: u8) -> Vec<f64> {
    const STEPS: [f64; 10] = [0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0];
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
        left: squeeze.left,
        half_done: squeeze.half_done,
        effort: with_air.get(result!(pedal_effort_full))?,
        effort_without: outcome.get(result!(pedal_effort_full))?,
    })
}
