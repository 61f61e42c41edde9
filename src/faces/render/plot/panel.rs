//! One diagram over the pedal's travel.

use super::{FINE, Size};
use crate::quantity::{UnitExpr, significant};
use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

pub const INK: RGBColor = RGBColor(30, 30, 30);
pub const PRESS: RGBColor = RGBColor(21, 67, 128);
pub const BACK: RGBColor = RGBColor(178, 84, 10);
pub const FREE: RGBColor = RGBColor(20, 110, 50);
pub const LIMIT: RGBColor = RGBColor(165, 25, 25);

/// A line of a panel, in the units that are shown.
pub struct Trace {
    pub points: Vec<(f64, f64)>,
    pub colour: RGBColor,
    pub dashed: bool,
}

/// A level across a panel.
pub struct Level {
    pub at: f64,
    pub label: String,
    pub colour: RGBColor,
}

/// A place on the pedal's travel, in mm.
pub struct Mark {
    pub at: f64,
    pub label: String,
    pub colour: RGBColor,
    /// Where the tolerances may put it.
    pub spread: Option<(f64, f64)>,
}

/// One diagram over the pedal's travel.
pub struct Panel {
    pub title: String,
    pub key: &'static str,
    pub traces: Vec<Trace>,
    /// The outline of the tolerances' band.
    pub bands: Vec<(Vec<(f64, f64)>, RGBColor)>,
    pub window: Option<(f64, f64)>,
    pub levels: Vec<Level>,
    /// What must not be missed.
    pub warning: Option<&'static str>,
    /// Whether the marks are named in this panel.
    pub names_marks: bool,
    pub tall: bool,
}

/// The pedal's travel, which all panels share.
pub struct Axis {
    pub size: Size,
    pub unit: Option<UnitExpr>,
    /// In mm.
    pub end: f64,
}

/// Room for the words below the last panel, in drawn pixels.
pub const FOOT: u32 = 17 * FINE;
/// Height of a line of text.
const LETTERS: u32 = 13 * FINE;
/// Room around a panel.
const LEFT: u32 = 4 * FINE;
const RIGHT: u32 = 12 * FINE;
const TOP: i32 = 4 * FINE as i32;
/// The widths of a curve and of a line that marks something.
const THICK: u32 = 2 * FINE;
const THIN: u32 = FINE;
/// Lengths of dashes and of the gaps between them.
const DASHES: (i32, i32) = (7 * FINE as i32, 4 * FINE as i32);
const DOTS: (i32, i32) = (2 * FINE as i32, 3 * FINE as i32);
/// How far words stand off the line that they name.
const BESIDE: i32 = 4 * FINE as i32;
const LIFTED: i32 = FINE as i32;

pub fn outward(unit: Option<&UnitExpr>, value: f64) -> f64 {
    unit.map_or(value, |unit| unit.outward(value))
}

pub fn titled(what: &str, unit: Option<&UnitExpr>) -> String {
    match unit {
        Some(unit) => format!("{what} ({unit})"),
        None => what.to_owned(),
    }
}

pub type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;
pub type Drawn = Result<(), DrawingAreaErrorKind<std::io::Error>>;

impl Panel {
    fn key(&self) -> String {
        let band = match self.bands.is_empty() {
            true => "",
            false => "; pale band: worst case of the tolerances",
        };
        format!("{}{band}", self.key)
    }

    /// The values that must fit.
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

    pub fn draw(&self, area: &Area, axis: &Axis, marks: &[Mark], last: bool) -> Drawn {
        let size = axis.size;
        let letters = f64::from(LETTERS);
        let font = |bold: bool| {
            let style = if bold {
                FontStyle::Bold
            } else {
                FontStyle::Normal
            };
            FontDesc::new(FontFamily::SansSerif, letters, style)
        };
        area.draw(&Text::new(
            self.title.clone(),
            (LEFT as i32, TOP),
            font(true).color(&INK),
        ))?;
        if size == Size::Page {
            let right = Pos::new(HPos::Right, VPos::Top);
            let style = font(false).color(&INK).pos(right);
            let edge = (size.width() - RIGHT) as i32;
            area.draw(&Text::new(self.key(), (edge, TOP), style))?;
        }
        let (low, high) = self.range();
        let end = outward(axis.unit.as_ref(), axis.end);
        let mut chart = ChartBuilder::on(area)
            .margin_top(LETTERS + 5 * FINE)
            .margin_right(RIGHT)
            .margin_left(LEFT)
            .set_label_area_size(LabelAreaPosition::Left, 40 * FINE)
            .set_label_area_size(
                LabelAreaPosition::Bottom,
                if last { 20 * FINE + FOOT } else { 20 * FINE },
            )
            .build_cartesian_2d(0.0..end * 1.02, low..high)?;
        let label = |value: &f64| significant(*value, 4);
        let mut mesh = chart.configure_mesh();
        mesh.light_line_style(TRANSPARENT)
            .bold_line_style(INK.mix(0.15).stroke_width(THIN))
            .axis_style(INK.stroke_width(THIN))
            .set_all_tick_mark_size(5 * FINE)
            .label_style(font(false).color(&INK))
            .x_labels(if size == Size::Page { 16 } else { 8 })
            .y_labels(if self.tall { 8 } else { 5 })
            .x_label_formatter(&label)
            .y_label_formatter(&label);
        if last {
            mesh.x_desc(titled("Travel of the pedal", axis.unit.as_ref()));
        }
        mesh.draw()?;
        self.draw_inside(&mut chart, axis, marks, (low, high), &font(false))
    }

    fn draw_inside(
        &self,
        chart: &mut Chart,
        axis: &Axis,
        marks: &[Mark],
        (low, high): (f64, f64),
        font: &FontDesc,
    ) -> Drawn {
        let along = |pad_travel| outward(axis.unit.as_ref(), pad_travel);
        let end = along(axis.end) * 1.02;
        if let Some((from, to)) = self.window {
            let window = Rectangle::new([(0.0, from), (end, to)], FREE.mix(0.12).filled());
            chart.draw_series([window])?;
        }
        for mark in marks {
            if let Some((from, to)) = mark.spread.filter(|_| self.names_marks) {
                let corners = [(along(from), low), (along(to), high)];
                chart.draw_series([Rectangle::new(corners, mark.colour.mix(0.15).filled())])?;
            }
            let line = [(along(mark.at), low), (along(mark.at), high)];
            dashed(chart, line, mark.colour, THIN, DOTS)?;
        }
        for (outline, colour) in &self.bands {
            chart.draw_series([Polygon::new(outline.clone(), colour.mix(0.22))])?;
        }
        for level in &self.levels {
            let line = [(0.0, level.at), (end, level.at)];
            dashed(chart, line, level.colour, THIN, DASHES)?;
        }
        for trace in &self.traces {
            let points = trace.points.iter().map(|(x, y)| (along(*x), *y));
            if trace.dashed {
                dashed(chart, points, trace.colour, THICK, DASHES)?;
            } else {
                chart.draw_series([PathElement::new(
                    points.collect::<Vec<_>>(),
                    trace.colour.stroke_width(THICK),
                )])?;
            }
        }
        if axis.size == Size::Small {
            return Ok(());
        }
        for level in &self.levels {
            let style = font
                .color(&level.colour)
                .pos(Pos::new(HPos::Left, VPos::Bottom));
            let place = (end * 0.012, level.at);
            chart.draw_series([
                EmptyElement::at(place) + Text::new(level.label.clone(), (0, -LIFTED), style)
            ])?;
        }
        for (i, mark) in marks.iter().enumerate().filter(|_| self.names_marks) {
            // Named to the left of its line, below the rising curve, where there is room.
            let (side, off) = if along(mark.at) > 0.4 * end {
                (HPos::Right, -BESIDE)
            } else {
                (HPos::Left, BESIDE)
            };
            let style = font.color(&mark.colour).pos(Pos::new(side, VPos::Bottom));
            let up = low + (high - low) * (0.03 + 0.1 * i as f64);
            chart.draw_series([EmptyElement::at((along(mark.at), up))
                + Text::new(mark.label.clone(), (off, 0), style)])?;
        }
        if let Some(warning) = self.warning {
            let bold = FontDesc::new(FontFamily::SansSerif, f64::from(LETTERS), FontStyle::Bold);
            let style = bold.color(&LIMIT).pos(Pos::new(HPos::Right, VPos::Bottom));
            let window = self.window.map_or(high, |(from, _)| from);
            chart.draw_series([
                EmptyElement::at((end, window)) + Text::new(warning, (-BESIDE, -LIFTED), style)
            ])?;
        }
        Ok(())
    }
}

fn dashed(
    chart: &mut Chart,
    points: impl IntoIterator<Item = (f64, f64), IntoIter: Clone>,
    colour: RGBColor,
    width: u32,
    (dash, gap): (i32, i32),
) -> Drawn {
    let style = colour.stroke_width(width);
    chart.draw_series(DashedLineSeries::new(points, dash, gap, style))?;
    Ok(())
}
