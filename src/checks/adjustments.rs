//! What a workshop can change to cure a finding: which field, how far, and what is usual for it.

use super::sizes::{
    COMMON_BORES, Rounding, bore_named, bore_written, is_inch_size, rounded, written,
};
use crate::field;
use crate::model::{System, Value};
use crate::quantity::{Dimension, Display, UnitExpr, UnitSystem, significant};
use crate::result;
use crate::schema::{Better, FieldId, HOSE, Presence, TYPICAL, Typical};
use crate::solve::Outcome;

/// A field that a cure may change.
#[derive(Debug)]
pub struct Adjustment {
    pub field: FieldId,
    /// The least and the most that a cure asks for, in internal units.
    pub reach: (f64, f64),
    /// What cars that work have.
    pub usual: Option<Usual>,
    pub work: Work,
    /// What is asked for, `{}` standing for the value.
    pub asks: &'static str,
    /// What is asked for where the spec does not give the field yet; `None` where only what is given is changed.
    pub asks_new: Option<&'static str>,
    pub sizes: Sizes,
    /// Which way a cure may go.
    pub way: Way,
    /// Whether the most that cures is asked for where a cure asks for more, and not the least.
    pub takes_most: bool,
    /// A field that says the same thing in another way: where it is given, this one is left alone.
    pub unless: Option<FieldId>,
    /// Whether the part comes with another load at the pedal, which the spec does not say: the effort with it is not known.
    pub changes_load: bool,
}

/// Which way a cure may go: the other way is another part's, or is no cure in a workshop. A softer fork or hose would
/// take up travel as well, and is never fitted for it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Way {
    Either,
    Up,
    Down,
}

/// The values of a field in cars that work, in internal units.
#[derive(Clone, Copy, Debug)]
pub struct Usual {
    pub low: f64,
    pub high: f64,
    /// Which way a loss is the smaller; `None` for what is a matter of design.
    pub better: Option<Better>,
}

/// How much work a change is, the least first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Work {
    /// Set with a spanner on parts that are there.
    Adjust,
    /// Another part of the same kind.
    Replace,
    /// Something is made or moved.
    Rebuild,
}

/// The sizes in which a thing is had.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Sizes {
    /// Commonly made bores.
    Bores,
    /// Any, rounded to what people measure.
    Measured,
    /// Hoses, told by what a foot of them gains at 1000 psi.
    Hoses,
}

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// What is usual for a loss, of which less is better, or of a stiffness, of which more is.
const fn loss(field: FieldId, better: Better) -> Option<Usual> {
    usual(field, Some(better))
}

/// What is usual for a matter of design.
const fn design(field: FieldId) -> Option<Usual> {
    usual(field, None)
}

/// A field without a row in [`TYPICAL`] does not compile.
const fn usual(field: FieldId, better: Option<Better>) -> Option<Usual> {
    let row = &TYPICAL[Typical::place_of(field)];
    Some(Usual {
        low: row.low,
        high: row.high,
        better,
    })
}

/// What the rows share; each fills in the rest.
const ROW: Adjustment = Adjustment {
    field: field!(pedal.stop),
    reach: (0.0, f64::INFINITY),
    usual: None,
    work: Work::Replace,
    asks: "",
    asks_new: None,
    sizes: Sizes::Measured,
    way: Way::Either,
    takes_most: false,
    unless: None,
    changes_load: false,
};

/// Everything that a cure may change.
pub static ADJUSTMENTS: &[Adjustment] = &[
    Adjustment {
        field: field!(pedal.stop),
        reach: (30.0, 300.0),
        work: Work::Adjust,
        asks: "move the pedal stop to {}",
        asks_new: Some("fit a pedal stop at {}"),
        // A stop is there for the cover, and is set where its window ends.
        takes_most: true,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.start_switch),
        reach: (30.0, 300.0),
        work: Work::Adjust,
        asks: "set the clutch switch for the starter to {} of pedal",
        ..ROW
    },
    Adjustment {
        field: field!(pedal.cruise_switch),
        reach: (1.0, 100.0),
        work: Work::Adjust,
        asks: "set the switch for cruise control to {} of pedal",
        ..ROW
    },
    Adjustment {
        field: field!(pedal.free_play),
        reach: (5.0, 15.0),
        usual: loss(field!(pedal.free_play), Better::Less),
        work: Work::Adjust,
        asks: "set the pedal's free play to {}",
        ..ROW
    },
    Adjustment {
        field: field!(master.rod_clearance),
        reach: (0.5, 2.5),
        usual: loss(field!(master.rod_clearance), Better::Less),
        work: Work::Adjust,
        asks: "set the pushrod's clearance to {}",
        unless: Some(field!(pedal.free_play)),
        ..ROW
    },
    Adjustment {
        field: field!(bearing.free_play),
        reach: (0.5, 5.0),
        usual: loss(field!(bearing.free_play), Better::Less),
        work: Work::Adjust,
        asks: "set the bearing's gap to the fingers to {}",
        ..ROW
    },
    Adjustment {
        field: field!(slave.rest_extension),
        reach: (0.0, 60.0),
        work: Work::Adjust,
        asks: "set the slave's rod for a rest extension of {}",
        asks_new: Some("set the slave's rod for a rest extension of {}"),
        ..ROW
    },
    Adjustment {
        field: field!(cable.play),
        reach: (0.0, 3.0),
        usual: loss(field!(cable.play), Better::Less),
        work: Work::Adjust,
        asks: "take up the cable's play to {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(fluid.air),
        reach: (0.0, 0.0),
        usual: loss(field!(fluid.air), Better::Less),
        work: Work::Adjust,
        asks: "bleed the air out, to {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.return_force),
        reach: (0.0, 120.0),
        work: Work::Adjust,
        asks: "fit a return spring of {} at the pad in place of this one",
        asks_new: Some("fit a return spring of {} at the pad"),
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(master.return_force),
        reach: (0.0, 80.0),
        asks: "use a master whose return spring pushes with {}",
        ..ROW
    },
    Adjustment {
        field: field!(pedal.assist_rate),
        reach: (2.0, 60.0),
        asks: "use an over-center spring of {}",
        ..ROW
    },
    Adjustment {
        field: field!(intensifier.stroke),
        reach: (10.0, 80.0),
        asks: "use an intensifier with {} of stroke or more",
        ..ROW
    },
    Adjustment {
        field: field!(slave.bore),
        reach: (12.0, 32.0),
        asks: "use a {} slave",
        sizes: Sizes::Bores,
        ..ROW
    },
    Adjustment {
        field: field!(master.bore),
        reach: (12.0, 32.0),
        asks: "use a {} master",
        sizes: Sizes::Bores,
        ..ROW
    },
    Adjustment {
        field: field!(master.stroke),
        reach: (10.0, 60.0),
        asks: "use a master with {} of stroke or more",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(slave.stroke),
        reach: (10.0, 60.0),
        asks: "use a slave with {} of stroke or more",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(line.expansion),
        reach: (0.05 * HOSE, 1.04 * HOSE),
        usual: loss(field!(line.expansion), Better::Less),
        asks: "use a hose of {} or less",
        sizes: Sizes::Hoses,
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(cable.bends),
        reach: (90.0 * DEGREE, 270.0 * DEGREE),
        usual: loss(field!(cable.bends), Better::Less),
        asks: "run the cable with {} of bends in all",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(cable.friction),
        reach: (0.05, 0.2),
        usual: loss(field!(cable.friction), Better::Less),
        asks: "use a lined cable with a friction of {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(cable.stiffness),
        reach: (50.0, 400.0),
        usual: loss(field!(cable.stiffness), Better::More),
        asks: "use a cable and sheath of {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(linkage.play),
        reach: (0.0, 3.0),
        usual: loss(field!(linkage.play), Better::Less),
        asks: "renew bushes and clevis pins, for a play of {} or less",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(linkage.stiffness),
        reach: (100.0, 2000.0),
        usual: loss(field!(linkage.stiffness), Better::More),
        work: Work::Rebuild,
        asks: "brace the cross-shaft to {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(cover.clamp_load),
        reach: (1500.0, 12_000.0),
        asks: "use a cover with {} of clamp load, and enter its own release load, which makes the pedal heavier",
        way: Way::Up,
        changes_load: true,
        ..ROW
    },
    Adjustment {
        field: field!(master.mount_stiffness),
        reach: (300.0, 3000.0),
        usual: loss(field!(master.mount_stiffness), Better::More),
        work: Work::Rebuild,
        asks: "brace the firewall to {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(slave.mount_stiffness),
        reach: (300.0, 3000.0),
        usual: loss(field!(slave.mount_stiffness), Better::More),
        work: Work::Rebuild,
        asks: "brace the slave's bracket to {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(disc.cushion),
        reach: (0.3, 1.5),
        asks: "use a disc with {} of cushion",
        ..ROW
    },
    Adjustment {
        field: field!(fork.stiffness),
        reach: (500.0, 3000.0),
        usual: loss(field!(fork.stiffness), Better::More),
        asks: "use a fork of {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.travel),
        reach: (80.0, 180.0),
        usual: design(field!(pedal.travel)),
        work: Work::Rebuild,
        asks: "let the pedal travel {}",
        // Less is what a stop does.
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.ratio),
        reach: (3.5, 8.0),
        usual: design(field!(pedal.ratio)),
        work: Work::Rebuild,
        asks: "use a pedal ratio of {}",
        unless: Some(field!(pedal.rod_arm)),
        ..ROW
    },
    Adjustment {
        field: field!(pedal.rod_arm),
        reach: (25.0, 120.0),
        work: Work::Rebuild,
        asks: "move the rod's pin on the pedal to {} from the pivot",
        unless: Some(field!(pedal.ratio)),
        ..ROW
    },
    Adjustment {
        field: field!(pedal.arm_angle),
        reach: (-60.0 * DEGREE, 60.0 * DEGREE),
        work: Work::Rebuild,
        asks: "set the pedal's rod arm {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(linkage.in_arm),
        reach: (25.0, 200.0),
        work: Work::Rebuild,
        asks: "use a cross-shaft with an arm of {} at the pedal's rod",
        ..ROW
    },
    Adjustment {
        field: field!(linkage.out_arm),
        reach: (25.0, 200.0),
        work: Work::Rebuild,
        asks: "use a cross-shaft with an arm of {} at the fork's rod",
        ..ROW
    },
    Adjustment {
        field: field!(cable.adjust_range),
        reach: (5.0, 60.0),
        work: Work::Replace,
        asks: "use a cable whose adjuster goes {} at the fork's end",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(linkage.adjust_range),
        reach: (5.0, 60.0),
        work: Work::Replace,
        asks: "use a rod with {} of thread for adjusting",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(slave.adjust_range),
        reach: (5.0, 60.0),
        work: Work::Replace,
        asks: "use a slave's rod with {} of thread for adjusting",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(relay.in_arm),
        reach: (25.0, 200.0),
        work: Work::Rebuild,
        asks: "use a relay lever with an in arm of {}",
        ..ROW
    },
    Adjustment {
        field: field!(relay.out_arm),
        reach: (25.0, 200.0),
        work: Work::Rebuild,
        asks: "use a relay lever with an out arm of {}",
        ..ROW
    },
    Adjustment {
        field: field!(relay.in_angle),
        reach: (-45.0 * DEGREE, 45.0 * DEGREE),
        usual: design(field!(relay.in_angle)),
        work: Work::Rebuild,
        asks: "set the in arm of the relay lever {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(relay.out_angle),
        reach: (-45.0 * DEGREE, 45.0 * DEGREE),
        usual: design(field!(relay.out_angle)),
        work: Work::Rebuild,
        asks: "set the out arm of the relay lever {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(linkage.in_angle),
        reach: (-45.0 * DEGREE, 45.0 * DEGREE),
        work: Work::Rebuild,
        asks: "set the cross-shaft's arm at the pedal's rod {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(linkage.out_angle),
        reach: (-45.0 * DEGREE, 45.0 * DEGREE),
        work: Work::Rebuild,
        asks: "set the cross-shaft's arm at the fork's rod {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(fork.ratio),
        reach: (1.2, 2.8),
        work: Work::Rebuild,
        asks: "use a fork ratio of {}",
        unless: Some(field!(fork.slave_arm)),
        ..ROW
    },
    Adjustment {
        field: field!(fork.slave_arm),
        reach: (60.0, 250.0),
        work: Work::Rebuild,
        asks: "use a fork with an arm of {} at its outer end",
        unless: Some(field!(fork.ratio)),
        ..ROW
    },
    Adjustment {
        field: field!(fork.pivot_height),
        reach: (-60.0, 200.0),
        work: Work::Adjust,
        asks: "shim the fork pivot to stand {} from the gearbox's face",
        ..ROW
    },
    Adjustment {
        field: field!(fork.window),
        reach: (10.0, 60.0),
        work: Work::Rebuild,
        asks: "open the fork's window in the housing to {}",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(bearing.max_travel),
        reach: (8.0, 40.0),
        work: Work::Rebuild,
        asks: "use a guide that lets the bearing slide {} or more",
        way: Way::Up,
        ..ROW
    },
];

impl Adjustment {
    /// The value that stands in a system now, in internal units; `None` where the system has nothing
    /// of the kind that a cure could change.
    pub fn present(&self, system: &System, outcome: &Outcome, line: Option<usize>) -> Option<f64> {
        let component = system.component_at(self.field, line)?;
        let other_way = self
            .unless
            .is_some_and(|other| system.given(other).is_some());
        // Of a value that others are worked out from, the rest would change with it.
        if other_way || system.read_by_expressions.contains(&self.field) {
            return None;
        }
        match component.given(self.field) {
            Some(given) => match given.value {
                Value::Quantity { band, .. } => Some(band.nominal),
                _ => None,
            },
            None if self.asks_new.is_none() => None,
            None if self.field == field!(pedal.stop) => outcome.get(result!(pedal_travel_used)),
            None => match self.field.field().presence {
                Presence::Default { value, .. } => Some(value),
                _ => None,
            },
        }
    }

    /// Where the thing stands in a system that has it: at once, or once for each line.
    pub fn lines(&self, system: &System) -> impl Iterator<Item = Option<usize>> + use<> {
        let repeated = self.field.block().repeated;
        let count = match repeated {
            true => system.repeated(self.field.block).len(),
            false => 1,
        };
        (0..count).map(move |line| repeated.then_some(line))
    }

    /// The commonly made bores, nearest first; those of the author's own series before any other.
    pub fn bores(present: f64, unit: Option<&UnitExpr>) -> Vec<f64> {
        let in_inches = unit.is_some_and(|unit| unit.to_string() == "in");
        let mut bores: Vec<f64> = COMMON_BORES.to_vec();
        bores.sort_by(|a, b| (a - present).abs().total_cmp(&(b - present).abs()));
        let (own, other): (Vec<f64>, Vec<f64>) = bores
            .into_iter()
            .partition(|bore| is_inch_size(*bore) == in_inches);
        own.into_iter().chain(other).collect()
    }

    /// With how many digits people ask for it: what is set is set finer than what is bought or made.
    pub fn digits(&self) -> i32 {
        match self.work {
            Work::Adjust => 3,
            Work::Replace | Work::Rebuild => 2,
        }
    }

    /// A value rounded to so many digits as it is written.
    pub fn rounded(&self, value: f64, unit: Option<&UnitExpr>, way: Rounding, digits: i32) -> f64 {
        let hose = hose_unit();
        let unit = match self.sizes {
            Sizes::Hoses => hose.as_ref(),
            _ => unit,
        };
        let per = self.per();
        rounded(value * per, unit, way, digits) / per
    }

    /// A value as its author reads it: a hose's by the figures of its data sheet.
    pub fn shown(&self, value: f64, display: &Display) -> String {
        match (self.sizes, hose_unit()) {
            (Sizes::Hoses, Some(unit)) => {
                let number = significant(unit.outward(value * self.per()), 2);
                format!("{number} {unit} / 1000 psi")
            }
            _ => display.show(value, self.dimension()),
        }
    }

    /// A value in a sentence: a metric bore for an author in inches has the name by which it is sold.
    pub fn named(&self, value: f64, unit: Option<&UnitExpr>, system: UnitSystem) -> String {
        match self.sizes {
            Sizes::Bores => bore_named(value, system),
            _ => self.written(value, unit, system),
        }
    }

    /// A value as it is written into the spec of an author in one system of units.
    pub fn written(&self, value: f64, unit: Option<&UnitExpr>, system: UnitSystem) -> String {
        match self.sizes {
            Sizes::Bores => bore_written(value, system),
            Sizes::Measured => written(value, unit),
            Sizes::Hoses => {
                let value = written(value * self.per(), hose_unit().as_ref());
                format!("{value} / 1000 psi")
            }
        }
    }

    /// By how much a value is multiplied before it is written.
    fn per(&self) -> f64 {
        match self.sizes {
            Sizes::Hoses => UnitExpr::parse("psi").map_or(1.0, |psi| psi.inward(1000.0)),
            _ => 1.0,
        }
    }

    /// The dimension of the field.
    pub fn dimension(&self) -> Dimension {
        self.field.field().dimension().unwrap_or(Dimension::NUMBER)
    }
}

fn hose_unit() -> Option<UnitExpr> {
    UnitExpr::parse("cc/ft").ok()
}

#[cfg(test)]
mod tests {
    use super::ADJUSTMENTS;

    #[test]
    fn every_row_is_whole_and_stands_once() {
        for (i, row) in ADJUSTMENTS.iter().enumerate() {
            let path = row.field.path();
            assert!(row.asks.contains("{}"), "{path}");
            assert!(
                row.asks_new.is_none_or(|asks| asks.contains("{}")),
                "{path}"
            );
            assert!(row.reach.0 <= row.reach.1, "{path}");
            if let Some(usual) = row.usual {
                assert!(usual.low <= usual.high, "{path}");
            }
            let again = ADJUSTMENTS[..i]
                .iter()
                .any(|other| other.field == row.field);
            assert!(!again, "{path} stands twice");
        }
    }
}
