//! A system's curves as a drawing over the pedal's travel: the fingers' travel against the release window, the
//! effort, and the pressure or pull.
//!
//! Colors also differ in brightness, and lines in their dashes, so that a print in black and white still tells them
//! apart. The drawing has its own white background for dark pages.

mod panel;
mod ticks;

use crate::analysis::Worked;
use crate::faces::sanitize::sanitize;
use crate::quantity::{Dimension, UnitExpr};
use crate::result;
use crate::schema::ResultId;
use crate::solve::Outcome;
use crate::solve::curve::{
    Curve, CurveColumn, FINGER_TRAVEL, LINE_PRESSURE, PEDAL_EFFORT, PEDAL_EFFORT_RETURN, ROD_FORCE,
};
use crate::syntax::Comparison;
use maud::html;
use panel::{
    Axis, BACK, FOOT, FREE, INK, LIMIT, Level, Mark, PRESS, Panel, Trace, outward, titled,
};

/// The size of a drawing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Size {
    /// The width of a printed page, with every panel.
    Page,
    /// The width of a hover, with only release and effort.
    Small,
}

/// The curves as one SVG: without script and fetches, with all text escaped. `None` for a system that is not worked
/// out.
pub fn curves(worked: &Worked, size: Size) -> Option<String> {
    let outcome = worked.outcome.as_ref().ok()?;
    let tolerances = worked.tolerances.as_ref();
    let curve = Curve::new(&worked.system, outcome, tolerances, size.samples());
    let end = curve.end()?;
    if end <= 0.0 {
        return None;
    }
    let curves = Curves {
        worked,
        outcome,
        curve,
    };
    let panels = curves.panels(size);
    let marks = curves.marks();
    let axis = Axis {
        size,
        unit: curves.unit(end, Dimension::LENGTH),
        end: marks
            .iter()
            .filter_map(|mark| Some(mark.spread?.1))
            .fold(end.max(outcome.chain.pedal.travel), f64::max),
    };
    let (width, mut height) = (size.width(), 0.0);
    let mut drawn = Vec::new();
    for (i, panel) in panels.iter().enumerate() {
        let tall = size.panel(panel.tall);
        drawn.push(panel.drawn((height, tall), &axis, &marks, i + 1 == panels.len()));
        height += tall;
    }
    height += FOOT;
    let title = sanitize(&format!(
        "{}: curves over the pedal's travel",
        worked.system.name
    ));
    let drawing = html! {
        svg xmlns="http://www.w3.org/2000/svg" role="img" width=(width) height=(height)
            viewBox={ "0 0 " (width) " " (height) } {
            title { (title) }
            desc { (sanitize(&curves.in_words())) }
            rect width=(width) height=(height) fill="#ffffff" {}
            @for panel in drawn { (panel) }
        }
    };
    Some(drawing.into_string())
}

// All in pixels of the page.
impl Size {
    fn width(self) -> f64 {
        match self {
            Self::Page => 700.0,
            Self::Small => 380.0,
        }
    }

    fn panel(self, tall: bool) -> f64 {
        match (self, tall) {
            (Self::Page, true) => 230.0,
            (Self::Page, false) => 165.0,
            (Self::Small, _) => 125.0,
        }
    }

    fn samples(self) -> usize {
        match self {
            Self::Page => 161,
            Self::Small => 61,
        }
    }
}

struct Curves<'a> {
    worked: &'a Worked,
    outcome: &'a Outcome,
    curve: Curve,
}

impl Curves<'_> {
    fn show(&self, id: ResultId) -> Option<String> {
        let value = self.outcome.get(id)?;
        Some(id.show(value, &self.worked.system.display))
    }

    fn unit(&self, greatest: f64, dimension: Dimension) -> Option<UnitExpr> {
        self.worked.system.display.unit_for(greatest, dimension)
    }

    fn panels(&self, size: Size) -> Vec<Panel> {
        let mut panels = vec![self.release(), self.effort()];
        if size == Size::Page {
            panels.push(self.drive());
        }
        panels
    }

    fn release(&self) -> Panel {
        let cover = &self.outcome.chain.cover;
        let unit = self.unit(cover.most, Dimension::LENGTH);
        let shown = |value| outward(unit.as_ref(), value);
        let level = |at, what, colour| Level {
            at: shown(at),
            label: format!("{what} {}", self.worked.system.show(at, Dimension::LENGTH)),
            colour,
        };
        Panel {
            title: titled("Travel of the fingers", unit.as_ref()),
            key: "shaded: the release window",
            traces: self.trace(unit.as_ref(), &FINGER_TRAVEL, PRESS, false),
            bands: self.banded(unit.as_ref(), &FINGER_TRAVEL, PRESS),
            window: Some((shown(cover.needed), shown(cover.most))),
            warning: match self.outcome.get(result!(release_point)) {
                Some(_) => None,
                None => Some("the disc does not come free"),
            },
            levels: vec![
                level(cover.needed, "frees the disc from", FREE),
                level(cover.most, "most the cover may take", LIMIT),
            ],
            names_marks: true,
            tall: true,
        }
    }

    fn effort(&self) -> Panel {
        let greatest = self.curve.greatest(&PEDAL_EFFORT);
        let unit = self.unit(greatest, Dimension::FORCE);
        let mut traces = self.trace(unit.as_ref(), &PEDAL_EFFORT, PRESS, false);
        traces.extend(self.trace(unit.as_ref(), &PEDAL_EFFORT_RETURN, BACK, true));
        let mut bands = self.banded(unit.as_ref(), &PEDAL_EFFORT, PRESS);
        bands.extend(self.banded(unit.as_ref(), &PEDAL_EFFORT_RETURN, BACK));
        let system = &self.worked.system;
        let wanted = system.requires.iter().filter(|require| {
            require.result == result!(pedal_effort)
                && matches!(require.comparison, Comparison::AtMost | Comparison::Below)
        });
        Panel {
            title: titled("Effort at the pad", unit.as_ref()),
            key: "full line: pressing; dashes: coming back",
            traces,
            bands,
            window: None,
            warning: None,
            levels: wanted
                .map(|require| Level {
                    at: outward(unit.as_ref(), require.limit.nominal),
                    label: format!(
                        "no more than {} wanted",
                        system.show(require.limit.nominal, Dimension::FORCE)
                    ),
                    colour: LIMIT,
                })
                .collect(),
            names_marks: false,
            tall: false,
        }
    }

    /// The pressure in the line; if there is none, the force in the pedal's rod or cable.
    fn drive(&self) -> Panel {
        let hydraulic = self.curve.has(&LINE_PRESSURE);
        let (column, what) = if hydraulic {
            (&LINE_PRESSURE, "Pressure in the line")
        } else if self.outcome.get(result!(cable_tension)).is_some() {
            (&ROD_FORCE, "Pull in the cable, at the pedal")
        } else {
            (&ROD_FORCE, "Force in the pedal's rod")
        };
        let unit = self.unit(self.curve.greatest(column), column.dimension);
        Panel {
            title: titled(what, unit.as_ref()),
            key: "pressing",
            traces: self.trace(unit.as_ref(), column, PRESS, false),
            bands: self.banded(unit.as_ref(), column, PRESS),
            window: None,
            warning: None,
            levels: Vec::new(),
            names_marks: false,
            tall: false,
        }
    }

    fn trace(
        &self,
        unit: Option<&UnitExpr>,
        column: &CurveColumn,
        colour: &'static str,
        dashed: bool,
    ) -> Vec<Trace> {
        vec![Trace {
            points: in_unit(self.curve.points(column), unit),
            colour,
            dashed,
        }]
    }

    fn banded(
        &self,
        unit: Option<&UnitExpr>,
        column: &CurveColumn,
        colour: &'static str,
    ) -> Vec<(Vec<(f64, f64)>, &'static str)> {
        /// A band narrower than this share of the values around it would not be seen.
        const NARROWEST: f64 = 1e-3;
        let Some(ends) = self.curve.band_points(column) else {
            return Vec::new();
        };
        let [mut outline, back] = ends.map(|points| in_unit(points, unit));
        let pairs = outline.iter().zip(&back);
        let widest = pairs.map(|(a, b)| b.1 - a.1).fold(0.0, f64::max);
        if widest <= NARROWEST * back.iter().map(|(_, v)| v.abs()).fold(0.0, f64::max) {
            return Vec::new();
        }
        outline.extend(back.into_iter().rev());
        vec![(outline, colour)]
    }

    fn marks(&self) -> Vec<Mark> {
        let show = |mm| self.worked.system.show(mm, Dimension::LENGTH);
        let mark = |id: ResultId, what: &str, colour| {
            let at = self.outcome.get(id)?;
            let spread = self.worked.tolerances.as_ref().and_then(|t| t.get(id));
            let spread = spread.map(|spread| (spread.worst.low, spread.worst.high));
            let ends = spread.map(|(low, high)| (show(low), show(high)));
            let label = match ends.filter(|(low, high)| low != high) {
                Some((low, high)) => format!("{what} {} ({low} to {high})", show(at)),
                None => format!("{what} {}", show(at)),
            };
            Some(Mark {
                at,
                label,
                colour,
                spread,
            })
        };
        [
            mark(result!(pedal_travel_used), "full pedal", INK),
            mark(result!(release_point), "disc free at", FREE),
            mark(result!(stop_travel), "cover's limit at", LIMIT),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    /// The content of the drawing in words, for people who cannot see it.
    fn in_words(&self) -> String {
        let said = |what: &str, id| self.show(id).map(|value| format!("{what} {value}"));
        let parts = [
            said("full pedal at", result!(pedal_travel_used)),
            match self.show(result!(release_point)) {
                Some(point) => Some(format!("the disc comes free at {point} of pedal")),
                None => Some("the disc does not come free".to_owned()),
            },
            said("the fingers travel", result!(finger_travel)),
            said("the effort peaks at", result!(pedal_effort)),
            said("the pressure peaks at", result!(line_pressure)),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        format!("{}.", parts.join("; "))
    }
}

/// Points with their values in a unit.
fn in_unit(points: Vec<(f64, f64)>, unit: Option<&UnitExpr>) -> Vec<(f64, f64)> {
    let shown = points.into_iter();
    shown
        .map(|(pad_travel, value)| (pad_travel, outward(unit, value)))
        .collect()
}
