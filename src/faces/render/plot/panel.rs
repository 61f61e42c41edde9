//! One diagram over the pedal's travel.

use super::Size;
use super::ticks::ticks;
use crate::faces::sanitize::name;
use crate::quantity::{UnitExpr, significant};
use maud::{Markup, html};

pub const INK: &str = "#1e1e1e";
pub const PRESS: &str = "#154380";
pub const BACK: &str = "#b2540a";
pub const FREE: &str = "#146e32";
pub const LIMIT: &str = "#a51919";

/// A line of a panel, in the units shown.
pub struct Trace {
    pub points: Vec<(f64, f64)>,
    pub colour: &'static str,
    pub dashed: bool,
}

/// A level across a panel.
pub struct Level {
    pub at: f64,
    pub label: String,
    pub colour: &'static str,
}

/// A place on the pedal's travel, in mm.
pub struct Mark {
    pub at: f64,
    pub label: String,
    pub colour: &'static str,
    /// The range of the place under the tolerances.
    pub spread: Option<(f64, f64)>,
}

/// One diagram over the pedal's travel.
pub struct Panel {
    pub title: String,
    pub key: &'static str,
    pub traces: Vec<Trace>,
    /// The outline of the tolerances' band.
    pub bands: Vec<(Vec<(f64, f64)>, &'static str)>,
    pub window: Option<(f64, f64)>,
    pub levels: Vec<Level>,
    /// A warning that must not be missed.
    pub warning: Option<&'static str>,
    /// Whether the marks are named in this panel.
    pub names_marks: bool,
    pub tall: bool,
}

/// The pedal's travel, which all panels share.
pub struct Axis {
    pub size: Size,
    pub unit: Option<UnitExpr>,
    /// Its end, mm.
    pub end: f64,
}

/// Room for the words below the last panel, in pixels of the page.
pub const FOOT: f64 = 17.0;
/// Height of a line of text, and the size of its letters.
const LINE: f64 = 13.0;
const LETTERS: &str = "10.5";
/// Room around a panel, and around its diagram.
const LEFT: f64 = 4.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 4.0;
const BESIDE_AXIS: f64 = 40.0;
const BELOW_AXIS: f64 = 20.0;
/// Length of the marks at the numbers of an axis.
const TICK: f64 = 5.0;
/// Widths of a curve and of a line that marks something.
const THICK: &str = "2";
const THIN: &str = "1";
/// Lengths of dashes and of the gaps between them.
const SOLID: &str = "none";
const DASHES: &str = "7 4";
const DOTS: &str = "2 3";
/// Distance of words from the line that they name.
const BESIDE: f64 = 4.0;
const LIFTED: f64 = 3.0;

pub fn outward(unit: Option<&UnitExpr>, value: f64) -> f64 {
    unit.map_or(value, |unit| unit.outward(value))
}

pub fn titled(what: &str, unit: Option<&UnitExpr>) -> String {
    match unit {
        Some(unit) => format!("{what} ({unit})"),
        None => what.to_owned(),
    }
}

/// The place of a diagram on the drawing, and the values at its edges.
struct Frame {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    /// The travel at the right edge, in the unit shown; at the left edge it is zero.
    end: f64,
    low: f64,
    high: f64,
}

impl Frame {
    fn x(&self, travel: f64) -> f64 {
        self.left + (self.right - self.left) * (travel / self.end).clamp(0.0, 1.0)
    }

    fn y(&self, value: f64) -> f64 {
        let up = (value - self.low) / (self.high - self.low);
        self.bottom - (self.bottom - self.top) * up.clamp(0.0, 1.0)
    }
}

impl Panel {
    fn key(&self) -> String {
        let band = match self.bands.is_empty() {
            true => "",
            false => "; pale band: worst case of the tolerances",
        };
        format!("{}{band}", self.key)
    }

    /// The range of values that must fit.
    fn range(&self) -> (f64, f64) {
        let shown = self
            .traces
            .iter()
            .map(|trace| &trace.points)
            .chain(self.bands.iter().map(|(outline, _)| outline))
            .flatten()
            .map(|(_, value)| *value)
            .chain(self.levels.iter().map(|level| level.at));
        let (low, high) = shown
            .filter(|value| value.is_finite())
            .fold((0.0_f64, 0.0_f64), |(low, high), value| {
                (low.min(value), high.max(value))
            });
        let room = if high > low { high - low } else { 1.0 };
        let below = if low < 0.0 { low - 0.05 * room } else { 0.0 };
        (below, high + 0.12 * room)
    }

    /// The panel as a part of a drawing, from a height downward. The last panel names the axis.
    pub fn drawn(
        &self,
        (top, tall): (f64, f64),
        axis: &Axis,
        marks: &[Mark],
        last: bool,
    ) -> Markup {
        let width = axis.size.width();
        let (low, high) = self.range();
        let frame = Frame {
            left: LEFT + BESIDE_AXIS,
            right: width - RIGHT,
            top: top + TOP + LINE + 1.0,
            bottom: top + tall - BELOW_AXIS,
            end: outward(axis.unit.as_ref(), axis.end) * 1.02,
            low,
            high,
        };
        let title_line = top + TOP + 0.75 * LINE;
        html! {
            (bold((LEFT, title_line), "start", INK, &self.title))
            @if axis.size == Size::Page {
                (text((width - RIGHT, title_line), "end", INK, &self.key()))
            }
            (self.axes(&frame, axis.size))
            @if last {
                @let middle = 0.5 * (frame.left + frame.right);
                @let title = titled("Travel of the pedal", axis.unit.as_ref());
                (text((middle, frame.bottom + BELOW_AXIS + 0.75 * LINE), "middle", INK, &title))
            }
            (self.grounds(&frame, axis, marks))
            @for level in &self.levels {
                @let y = frame.y(level.at);
                (line(&[(frame.left, y), (frame.right, y)], level.colour, THIN, DASHES))
            }
            @for trace in &self.traces {
                @let points = curve_points(&trace.points, &frame, axis);
                (line(&points, trace.colour, THICK, if trace.dashed { DASHES } else { SOLID }))
            }
            @if axis.size == Size::Page { (self.names(&frame, axis, marks)) }
        }
    }

    /// The axes with their numbers, and a pale line at each number.
    fn axes(&self, frame: &Frame, size: Size) -> Markup {
        let along = ticks(0.0, frame.end, if size == Size::Page { 16 } else { 8 });
        let up = ticks(frame.low, frame.high, if self.tall { 8 } else { 5 });
        let number = |value: f64| significant(value, 4);
        html! {
            @for value in along {
                @let x = frame.x(value);
                (pale(&[(x, frame.top), (x, frame.bottom)]))
                (line(&[(x, frame.bottom), (x, frame.bottom + TICK)], INK, THIN, SOLID))
                (text((x, frame.bottom + TICK + 0.9 * LINE), "middle", INK, &number(value)))
            }
            @for value in up {
                @let y = frame.y(value);
                (pale(&[(frame.left, y), (frame.right, y)]))
                (line(&[(frame.left - TICK, y), (frame.left, y)], INK, THIN, SOLID))
                (text((frame.left - TICK - 3.0, y + 0.3 * LINE), "end", INK, &number(value)))
            }
            @let corner = (frame.left, frame.bottom);
            (line(&[(frame.left, frame.top), corner, (frame.right, frame.bottom)], INK, THIN, SOLID))
        }
    }

    /// What is behind the curves: the window, the tolerance bands, and the marks.
    fn grounds(&self, frame: &Frame, axis: &Axis, marks: &[Mark]) -> Markup {
        let along = |pad_travel| frame.x(outward(axis.unit.as_ref(), pad_travel));
        html! {
            @if let Some((from, to)) = self.window {
                (ground((frame.left, frame.y(to)), (frame.right, frame.y(from)), FREE, "0.12"))
            }
            @for mark in marks {
                @if let Some((from, to)) = mark.spread.filter(|_| self.names_marks) {
                    (ground((along(from), frame.top), (along(to), frame.bottom), mark.colour, "0.15"))
                }
                @let x = along(mark.at);
                (line(&[(x, frame.bottom), (x, frame.top)], mark.colour, THIN, DOTS))
            }
            @for (outline, colour) in &self.bands {
                polygon points=(places(&curve_points(outline, frame, axis))) fill=(colour) fill-opacity="0.22" {}
            }
        }
    }

    /// The names of the levels and of the marks, and the warning.
    fn names(&self, frame: &Frame, axis: &Axis, marks: &[Mark]) -> Markup {
        let width = frame.right - frame.left;
        html! {
            @for level in &self.levels {
                @let at = (frame.left + 0.012 * width, frame.y(level.at) - LIFTED);
                (text(at, "start", level.colour, &level.label))
            }
            @for (i, mark) in marks.iter().enumerate().filter(|_| self.names_marks) {
                @let x = frame.x(outward(axis.unit.as_ref(), mark.at));
                // Named to the left of its line, below the rising curve, where there is room.
                @let (anchor, off) = if x - frame.left > 0.4 * width { ("end", -BESIDE) } else { ("start", BESIDE) };
                @let up = (frame.bottom - frame.top) * (0.03 + 0.1 * i as f64);
                (text((x + off, frame.bottom - up), anchor, mark.colour, &mark.label))
            }
            @if let Some(warning) = self.warning {
                @let from = self.window.map_or(frame.high, |(from, _)| from);
                (bold((frame.right - BESIDE, frame.y(from) - LIFTED), "end", LIMIT, warning))
            }
        }
    }
}

type Point = (f64, f64);

/// The points of a curve on the drawing.
fn curve_points(points: &[Point], frame: &Frame, axis: &Axis) -> Vec<Point> {
    let finite = points
        .iter()
        .filter(|(x, y)| x.is_finite() && y.is_finite());
    finite
        .map(|(x, y)| (frame.x(outward(axis.unit.as_ref(), *x)), frame.y(*y)))
        .collect()
}

fn places(points: &[Point]) -> String {
    let places: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{x:.1},{y:.1}"))
        .collect();
    places.join(" ")
}

fn line(points: &[Point], colour: &str, width: &str, dashes: &str) -> Markup {
    html! {
        polyline points=(places(points)) fill="none" stroke=(colour) stroke-width=(width)
            stroke-dasharray=(dashes) stroke-linejoin="round" {}
    }
}

fn pale(points: &[Point]) -> Markup {
    html! { polyline points=(places(points)) fill="none" stroke=(INK) stroke-width=(THIN) stroke-opacity="0.15" {} }
}

/// A shaded rectangle, from its upper left corner to the lower right one.
fn ground((left, top): Point, (right, bottom): Point, colour: &str, opacity: &str) -> Markup {
    let shown = |length: f64| format!("{length:.1}");
    html! {
        rect x=(shown(left)) y=(shown(top)) width=(shown((right - left).max(0.0)))
            height=(shown((bottom - top).max(0.0))) fill=(colour) fill-opacity=(opacity) {}
    }
}

fn text(at: Point, anchor: &str, colour: &str, words: &str) -> Markup {
    lettered(at, anchor, colour, "normal", words)
}

fn bold(at: Point, anchor: &str, colour: &str, words: &str) -> Markup {
    lettered(at, anchor, colour, "bold", words)
}

fn lettered(at: Point, anchor: &str, colour: &str, weight: &str, words: &str) -> Markup {
    html! {
        text x=(format!("{:.1}", at.0)) y=(format!("{:.1}", at.1)) text-anchor=(anchor)
            font-family="sans-serif" font-size=(LETTERS) font-weight=(weight) fill=(colour) { (name(words)) }
    }
}
