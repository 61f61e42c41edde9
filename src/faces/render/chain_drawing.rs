//! The chain drawn to one scale where the spec gives its geometry: pedal, cylinders, cross-shaft, fork and fingers,
//! at rest and with the pedal down. Parts that are not given are drawn pale, with a note.
//!
//! The engine is left of the gearbox, wherever in the car it is. All places are in mm, right and down.

use crate::analysis::Worked;
use crate::faces::sanitize::name;
use crate::model::System;
use crate::quantity::{Dimension, UnitSystem};
use crate::solve::{
    ConcentricSlave, Drive, FarEnd, Fingers, ForkSwing, Kinematics, LeverSwing, PedalSwing,
    RoundSlave, StandIns, SteppedPiston,
};
use maud::{Markup, html};

/// The drawing as one SVG; `None` for a system that is not worked out.
pub fn chain_drawing(worked: &Worked) -> Option<String> {
    let outcome = worked.outcome.as_ref().ok()?;
    let chain = Kinematics::new(&worked.system, outcome, STAND_INS);
    let mut sketch = Sketch {
        system: &worked.system,
        strokes: Vec::new(),
        words: Vec::new(),
        assumed: Vec::new(),
    };
    let mut pin = Pin {
        at: sketch.pedal(&chain.pedal),
        way: -1.0,
    };
    for lever in &chain.at_pedal {
        pin = sketch.lever_from(lever, pin);
    }
    let driven = match &chain.far_end {
        FarEnd::Concentric(slave) => sketch.concentric(slave, &chain.fingers),
        FarEnd::Fork {
            swing,
            slave,
            travel,
        } => {
            let mut pin = Pin {
                at: sketch.fork(swing, &chain.fingers),
                way: swing.way,
            };
            if slave.is_none() {
                sketch.fork_end(*travel, pin.at);
            }
            for lever in chain.at_fork.iter().rev() {
                pin = sketch.lever_up_to(lever, pin);
            }
            match slave {
                Some(slave) => sketch.slave(slave, pin.way, pin.at),
                None => pin.at,
            }
        }
    };
    sketch.between(&chain.drive, pin, driven);
    Some(sketch.finish())
}

type Point = (f64, f64);

/// A pin that a rod drives, and the direction along x in which it moves with the pedal.
#[derive(Clone, Copy)]
struct Pin {
    at: Point,
    way: f64,
}

impl LeverSwing {
    /// −1 if its rods move in opposite directions, else 1.
    fn turns_round(&self) -> f64 {
        if self.reverses == Some(true) {
            -1.0
        } else {
            1.0
        }
    }

    /// The drawn length of its rod towards the end that is fixed in the picture.
    fn rod(&self) -> f64 {
        match self.reverses {
            Some(true) => RELAY_ROD_BACK,
            _ => RELAY_ROD,
        }
    }
}

/// The style of a line.
#[derive(Clone, Copy, PartialEq)]
enum Pen {
    /// A part at rest.
    Rest,
    /// A part with the pedal down.
    Down,
    /// A guide: a limit, an axis, a line that is not to scale.
    Guide,
}

struct Word {
    at: Point,
    text: String,
    anchor: &'static str,
}

struct Sketch<'a> {
    system: &'a System,
    strokes: Vec<(Vec<Point>, Pen)>,
    words: Vec<Word>,
    /// The parts whose geometry is assumed.
    assumed: Vec<&'static str>,
}

/// Dimensions drawn where the spec gives none, mm.
const STAND_INS: StandIns = StandIns {
    pad_arm: 300.0,
    bearing_arm: 60.0,
};
const PEDAL_ROD: f64 = 90.0;
const SLAVE_ROD: f64 = 70.0;
const RELAY_ROD: f64 = 80.0;
/// Length of the rod at a lever that reverses. It is long, so that the cylinder that points back does not cover it.
const RELAY_ROD_BACK: f64 = 210.0;
/// The pedal's pivot, with the fork's pivot at the origin.
const PEDAL_PIVOT: Point = (430.0, -150.0);
/// Half of the drawn height of bearing and fingers.
const HALF: f64 = 28.0;

impl Sketch<'_> {
    fn line(&mut self, points: &[Point], pen: Pen) {
        self.strokes.push((points.to_vec(), pen));
    }

    fn word(&mut self, at: Point, anchor: &'static str, text: impl Into<String>) {
        let text = text.into();
        self.words.push(Word { at, text, anchor });
    }

    fn length(&self, mm: f64) -> String {
        self.system.show(mm, Dimension::LENGTH)
    }

    /// A rectangle along x, centered on a height.
    fn bar(&mut self, from: f64, to: f64, middle: f64, height: f64, pen: Pen) {
        let (top, bottom) = (middle - 0.5 * height, middle + 0.5 * height);
        let corners = [
            (from, top),
            (to, top),
            (to, bottom),
            (from, bottom),
            (from, top),
        ];
        self.line(&corners, pen);
    }

    /// Draws the pedal. Gives the place of its rod's pin at rest.
    fn pedal(&mut self, pedal: &PedalSwing) -> Point {
        if !pedal.arms_given {
            self.assumed
                .push("the pedal's arms (only their ratio is given)");
        }
        let (pad_arm, rod_arm, rest) = (pedal.pad_arm, pedal.rod_arm, pedal.turn.rest);
        let at = |arm: f64, angle: f64| {
            (
                PEDAL_PIVOT.0 + arm * angle.sin(),
                PEDAL_PIVOT.1 + arm * angle.cos(),
            )
        };
        for (angle, pen) in [(pedal.turn.down, Pen::Down), (rest, Pen::Rest)] {
            let pad = at(pad_arm, angle);
            self.line(&[PEDAL_PIVOT, pad], pen);
            // The pad lies along the arm, on the driver's side of it.
            let corner = |along: f64, thick: f64| {
                let (sin, cos) = angle.sin_cos();
                (
                    pad.0 + along * sin + thick * cos,
                    pad.1 + along * cos - thick * sin,
                )
            };
            let face = [
                corner(-22.0, 0.0),
                corner(-22.0, 7.0),
                corner(22.0, 7.0),
                corner(22.0, 0.0),
            ];
            self.line(&face, pen);
        }
        self.cross(PEDAL_PIVOT);
        let pad = at(pad_arm, rest);
        self.word((pad.0 + 14.0, pad.1 - 30.0), "start", "pedal");
        let travel = format!("travel {}", self.length(pedal.travel));
        self.word((pad.0 + 14.0, pad.1 - 12.0), "start", travel);
        at(rod_arm, rest)
    }

    /// Draws a fixed pivot.
    fn cross(&mut self, at: Point) {
        const ARM: f64 = 7.0;
        self.line(&[(at.0 - ARM, at.1), (at.0 + ARM, at.1)], Pen::Rest);
        self.line(&[(at.0, at.1 - ARM), (at.0, at.1 + ARM)], Pen::Rest);
    }

    /// Draws fork, bearing and fingers. Gives the place of the fork's outer end at rest.
    fn fork(&mut self, fork: &ForkSwing, fingers: &Fingers) -> Point {
        if !fork.pivot_given {
            self.assumed.push("where the fork's pivot lies");
        }
        if !fork.arms_given {
            self.assumed
                .push("the fork's arms (only their ratio is given)");
        }
        let (outer, inner) = (fork.outer_arm, fork.inner_arm);
        let side = if fork.outboard { 1.0 } else { -1.0 };
        let outer_end = |angle: f64| (outer * angle.sin(), -outer * angle.cos());
        let inner_end = |angle: f64| (side * inner * angle.sin(), -side * inner * angle.cos());
        for (angle, pen) in [(fork.turn.down, Pen::Down), (fork.turn.rest, Pen::Rest)] {
            let far = if fork.outboard {
                (0.0, 0.0)
            } else {
                inner_end(angle)
            };
            self.line(&[outer_end(angle), far], pen);
            let (x, y) = inner_end(angle);
            self.bar(x - 14.0, x, y, HALF, pen);
        }
        self.cross((0.0, 0.0));
        self.word((14.0, 5.0), "start", "fork's pivot");
        let (x, y) = inner_end(fork.turn.rest);
        self.fingers(fingers, x - 14.0, y);
        outer_end(fork.turn.rest)
    }

    /// Draws the slave beside the fork's outer end. Gives the place where the line meets it.
    fn slave(&mut self, slave: &RoundSlave, way: f64, end: Point) -> Point {
        if slave.rod_length.is_none() {
            self.assumed.push("the slave's rod");
        }
        let bore = slave.bore;
        let seat = end.0 - way * slave.rod_length.unwrap_or(SLAVE_ROD);
        self.line(&[(seat, end.1), end], Pen::Rest);
        let home = seat - way * slave.rest_extension;
        self.bar(
            home - way * 14.0,
            home + way * slave.stroke,
            end.1,
            bore,
            Pen::Rest,
        );
        let piston = |x: f64| [(x, end.1 - 0.5 * bore), (x, end.1 + 0.5 * bore)];
        self.line(&piston(seat), Pen::Rest);
        self.line(&piston(seat + way * slave.travel), Pen::Down);
        let text = format!("slave, moves {}", self.length(slave.travel));
        self.word((home, end.1 - 0.5 * bore - 8.0), "middle", text);
        (home - way * 7.0, end.1 + 0.5 * bore)
    }

    /// Draws the fork's outer end where a cable or a rod moves it.
    fn fork_end(&mut self, travel: f64, end: Point) {
        let text = format!("fork's end, moves {}", self.length(travel));
        self.word((end.0, end.1 - 12.0), "middle", text);
    }

    /// Draws a relay lever after the pin that drives it. Gives the lever's own pin, which drives what follows.
    fn lever_from(&mut self, lever: &LeverSwing, pin: Pin) -> Pin {
        let worked = (pin.at.0 + pin.way * lever.rod(), pin.at.1);
        self.line(&[pin.at, worked], Pen::Rest);
        let (sin, cos) = lever.in_angle.sin_cos();
        let shaft = (
            worked.0 + pin.way * lever.in_arm * sin,
            worked.1 + lever.in_arm * cos,
        );
        let way = pin.way * lever.turns_round();
        let at = self.lever(
            lever,
            shaft,
            [(1.0, pin.way), (lever.turns_round(), pin.way)],
        )[1];
        Pin { at, way }
    }

    /// Draws a relay lever before the pin that it drives. Gives the lever's own driven pin.
    fn lever_up_to(&mut self, lever: &LeverSwing, pin: Pin) -> Pin {
        let works = (pin.at.0 - pin.way * lever.rod(), pin.at.1);
        self.line(&[works, pin.at], Pen::Rest);
        let (sin, cos) = lever.out_angle.sin_cos();
        let shaft = (
            works.0 + pin.way * lever.out_arm * sin,
            works.1 + lever.out_arm * cos,
        );
        let way = pin.way * lever.turns_round();
        let at = self.lever(
            lever,
            shaft,
            [(lever.turns_round(), pin.way), (1.0, pin.way)],
        )[0];
        Pin { at, way }
    }

    /// Draws the two arms of a relay lever about its shaft. Each arm points up (1) or down (−1). The direction is
    /// that in which an upward arm moves. Gives the places of the two pins at rest.
    fn lever(&mut self, lever: &LeverSwing, shaft: Point, arms: [(f64, f64); 2]) -> [Point; 2] {
        let lengths = [lever.in_arm, lever.out_arm];
        let angles = [lever.in_angle, lever.out_angle];
        let pins = |turned: f64| {
            [0, 1].map(|i| {
                let (up, way) = arms[i];
                let (sin, cos) = (turned - angles[i]).sin_cos();
                (
                    shaft.0 + up * way * lengths[i] * sin,
                    shaft.1 - up * lengths[i] * cos,
                )
            })
        };
        for (turned, pen) in [(lever.turn, Pen::Down), (0.0, Pen::Rest)] {
            let [worked, works] = pins(turned);
            self.line(&[worked, shaft, works], pen);
        }
        self.cross(shaft);
        let turn = self.system.show(lever.turn, Dimension::ANGLE);
        let text = format!("{}, turns {turn}", lever.name);
        self.word((shaft.0 + 12.0, shaft.1 + 5.0), "start", text);
        if lever.reverses.is_none() {
            self.assume("on which sides of its shaft a relay lever's arms are");
        }
        self.assume("the rods at relay levers");
        pins(0.0)
    }

    /// Notes an assumed part, once.
    fn assume(&mut self, what: &'static str) {
        if !self.assumed.contains(&what) {
            self.assumed.push(what);
        }
    }

    /// Draws the fingers at rest and the two ends of their window.
    fn fingers(&mut self, fingers: &Fingers, face: f64, middle: f64) {
        let (way, needed, most) = (fingers.way, fingers.needed, fingers.most);
        let rest = face + way * fingers.free_play;
        let upright = |x: f64| [(x, middle - HALF), (x, middle + HALF)];
        self.line(&upright(rest), Pen::Rest);
        self.line(&upright(rest + way * needed), Pen::Guide);
        self.line(&upright(rest + way * most), Pen::Guide);
        let text = format!(
            "fingers: free at {}, limit {}",
            self.length(needed),
            self.length(most)
        );
        self.word((rest + way * most, middle + HALF + 16.0), "middle", text);
    }

    /// Draws a concentric slave around the input shaft. Gives the place where the line meets it.
    fn concentric(&mut self, slave: &ConcentricSlave, fingers: &Fingers) -> Point {
        let (outer, stroke, way) = (slave.outer, slave.stroke, fingers.way);
        let wall = 0.5 * (outer - slave.inner);
        let middle = 0.25 * (outer + slave.inner);
        let places = [
            (slave.rest_extension + slave.travel, Pen::Down),
            (slave.rest_extension, Pen::Rest),
        ];
        self.line(&[(-120.0, 0.0), (90.0, 0.0)], Pen::Guide);
        for side in [-1.0, 1.0] {
            let at = side * middle;
            self.bar(-way * 14.0, way * stroke, at, wall, Pen::Rest);
            for (moved, pen) in places {
                let face = way * (stroke + moved);
                self.bar(way * moved, face, at, 0.6 * wall, pen);
            }
        }
        for (moved, pen) in places {
            let face = way * (stroke + moved);
            self.bar(face, face + way * 12.0, 0.0, outer, pen);
        }
        let face = way * (stroke + slave.rest_extension + 12.0);
        self.fingers(fingers, face, 0.0);
        let text = format!("concentric slave, moves {}", self.length(slave.travel));
        self.word((0.0, -0.5 * outer - 10.0), "middle", text);
        (-way * 14.0, -middle)
    }

    /// Draws what joins the pedal's pin to the far end.
    fn between(&mut self, drive: &Drive, from: Pin, driven: Point) {
        let (pin, way) = (from.at, from.way);
        match *drive {
            Drive::Master {
                bore,
                stroke,
                travel,
                rod_length,
                stepped,
            } => {
                if rod_length.is_none() {
                    self.assumed.push("the pedal's rod");
                }
                let seat = pin.0 + way * rod_length.unwrap_or(PEDAL_ROD);
                self.line(&[pin, (seat, pin.1)], Pen::Rest);
                let end = seat + way * (stroke + 10.0);
                self.bar(end, seat - way * 4.0, pin.1, bore, Pen::Rest);
                let piston = |x: f64| [(x, pin.1 - 0.5 * bore), (x, pin.1 + 0.5 * bore)];
                self.line(&piston(seat), Pen::Rest);
                self.line(&piston(seat + way * travel), Pen::Down);
                let text = format!("master, moves {}", self.length(travel));
                self.word(
                    (0.5 * (end + seat), pin.1 - 0.5 * bore - 8.0),
                    "middle",
                    text,
                );
                let end = match stepped {
                    Some(stepped) => self.stepped(&stepped, way, (end, pin.1)),
                    None => (end, pin.1),
                };
                self.run(end, driven);
                self.assumed.push("the run of the line");
            }
            Drive::Cable => {
                self.run(pin, driven);
                self.assumed.push("the run of the cable");
            }
            Drive::CrossShaft { in_arm, out_arm } => self.shaft(in_arm, out_arm, pin, driven),
        }
    }

    /// Draws the intensifier after the master. Gives the place where its line begins.
    fn stepped(&mut self, stepped: &SteppedPiston, way: f64, from: Point) -> Point {
        const APART: f64 = 24.0;
        let near = from.0 + way * APART;
        let step = near + way * (stepped.stroke + 10.0);
        let far = step + way * (stepped.stroke + 10.0);
        self.line(&[from, (near, from.1)], Pen::Guide);
        self.bar(near, step, from.1, stepped.in_bore, Pen::Rest);
        self.bar(step, far, from.1, stepped.out_bore, Pen::Rest);
        let piston = |bore: f64, x: f64| [(x, from.1 - 0.5 * bore), (x, from.1 + 0.5 * bore)];
        for (bore, face) in [(stepped.in_bore, near), (stepped.out_bore, step)] {
            let rest = face + way * 5.0;
            self.line(&piston(bore, rest), Pen::Rest);
            self.line(&piston(bore, rest + way * stepped.travel), Pen::Down);
        }
        let text = format!("intensifier, moves {}", self.length(stepped.travel));
        let below = from.1 + 0.5 * stepped.in_bore.max(stepped.out_bore) + 14.0;
        self.word((0.5 * (near + far), below), "middle", text);
        self.assumed.push("the place of the intensifier");
        (far, from.1)
    }

    /// Draws a line or cable, whose course no spec gives.
    fn run(&mut self, from: Point, to: Point) {
        let middle = 0.5 * (from.0 + to.0);
        let low = to.1 + 18.0;
        self.line(
            &[from, (middle, from.1), (middle, low), (to.0, low), to],
            Pen::Guide,
        );
    }

    fn shaft(&mut self, in_arm: f64, out_arm: f64, pin: Point, driven: Point) {
        let axis = (0.5 * (pin.0 + driven.0), pin.1 + in_arm);
        let (top, bottom) = ((axis.0, pin.1), (axis.0, axis.1 + out_arm));
        self.line(&[top, bottom], Pen::Rest);
        self.cross(axis);
        self.word((axis.0 + 12.0, axis.1 + 5.0), "start", "cross-shaft");
        self.line(&[pin, top], Pen::Guide);
        self.line(&[bottom, driven], Pen::Guide);
        self.assumed.push("the run of the rods");
    }

    /// Adds the frame, the scale, and the note on what is not to scale.
    fn finish(self) -> String {
        const MARGIN: f64 = 26.0;
        const ROOM_FOR_WORDS: f64 = 110.0;
        // A round length in the author's units, mm.
        let scale = match self.system.display.system() {
            UnitSystem::Imperial => 4.0 * 25.4,
            UnitSystem::Metric | UnitSystem::Common => 100.0,
        };
        let points = || self.strokes.iter().flat_map(|(points, _)| points);
        let x = points()
            .map(|p| p.0)
            .fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
        let y = points()
            .map(|p| p.1)
            .fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
        let (left, top) = (x.0 - MARGIN - 90.0, y.0 - MARGIN);
        let (width, height) = (x.1 - left + MARGIN + ROOM_FOR_WORDS, y.1 - top + 78.0);
        let foot = y.1 + 46.0;
        let bar = self.length(scale);
        let guess = match self.assumed.is_empty() {
            true => "All of it to scale.".to_owned(),
            false => format!("Not to scale: {}.", self.assumed.join("; ")),
        };
        let title = format!(
            "{}: the chain from the pedal to the fingers",
            self.system.name
        );
        let drawing: Markup = html! {
            svg xmlns="http://www.w3.org/2000/svg" role="img" width="700"
                height=(format!("{:.0}", 700.0 * height / width))
                viewBox=(format!("{left:.1} {top:.1} {width:.1} {height:.1}")) {
                title { (name(&title)) }
                desc { "Full lines: at rest; dashes: pedal down. " (guess) }
                rect x=(format!("{left:.1}")) y=(format!("{top:.1}")) width=(format!("{width:.1}"))
                    height=(format!("{height:.1}")) fill="#ffffff" {}
                @for (points, pen) in &self.strokes { (stroke(points, *pen)) }
                @for word in &self.words {
                    (written(word.at, word.anchor, &word.text))
                }
                (stroke(&[(left + 20.0, foot), (left + 20.0 + scale, foot)], Pen::Rest))
                (written((left + 28.0 + scale, foot + 4.0), "start", &format!("{bar}. Full lines: at rest; dashes: pedal down.")))
                (written((left + 20.0, foot + 22.0), "start", &guess))
            }
        };
        drawing.into_string()
    }
}

fn stroke(points: &[Point], pen: Pen) -> Markup {
    let places: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{x:.2},{y:.2}"))
        .collect();
    let (colour, width, dashes) = match pen {
        Pen::Rest => ("#1e1e1e", "2.2", "none"),
        Pen::Down => ("#154380", "1.8", "7 4"),
        Pen::Guide => ("#146e32", "1.2", "2 3"),
    };
    html! {
        polyline points=(places.join(" ")) fill="none" stroke=(colour) stroke-width=(width)
            stroke-dasharray=(dashes) stroke-linejoin="round" {}
    }
}

fn written(at: Point, anchor: &str, words: &str) -> Markup {
    html! {
        text x=(format!("{:.1}", at.0)) y=(format!("{:.1}", at.1)) text-anchor=(anchor)
            font-family="sans-serif" font-size="12.5" fill="#1e1e1e" { (name(words)) }
    }
}
