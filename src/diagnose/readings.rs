//! What can be read on a car, and how well.

use crate::field;
use crate::model::{Component, System};
use crate::quantity::{Dimension, UnitExpr, UnitSystem};
use crate::schema::{COMMON, FieldId};

/// One kind of reading, by its place in [`READINGS`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Reading {
    /// Pad travel at which the others were taken.
    PedalTravel,
    /// Travel of the slave's rod.
    SlaveTravel,
    /// Travel of the master's piston.
    MasterTravel,
    /// Travel of the fork's outer end.
    ForkTravel,
    /// Travel of the release bearing.
    BearingTravel,
    /// Highest force at the pad on the way down.
    PedalEffort,
    /// Force at the pad that holds it down.
    HeldEffort,
    /// Highest pressure on the way down.
    LinePressure,
    /// Pad travel at which the disc comes free.
    ReleasePoint,
    /// Travel of the fork's outer end at half the pad's travel.
    HalfTravel,
    /// Pad travel with the slave's rod blocked, pressed with the highest effort that is worked out.
    BlockedTravel,
    /// Pad travel that a finger feels before anything pushes back.
    FreePlay,
    /// Travel of the slave's rod lost in a minute's hold.
    Sink,
    /// Whether the disc comes free at full pedal.
    Frees,
    /// What the foot says.
    Feel,
}

/// How well a reading is known where its author does not say.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Accuracy {
    /// In internal units.
    Absolute(f64),
    /// As a share of the reading, and no less than the tool's own step, in internal units.
    Share {
        /// The share.
        of: f64,
        /// The tool's own step.
        step: f64,
    },
    /// A word is right or wrong.
    Word,
}

/// A row of [`READINGS`].
#[derive(Debug)]
pub struct ReadingKind {
    /// Which reading it is.
    pub reading: Reading,
    /// The field of `measured` that holds it.
    pub field: FieldId,
    /// How well it is known by itself.
    pub accuracy: Accuracy,
    /// Where the accuracy comes from.
    pub source: &'static str,
    /// How readily a workshop takes it, 0 to 1: by how much less of what it tells is asked for. Common practice, no
    /// source.
    pub ease: f64,
}

/// A reading for which a part must come off its mount.
const PART_OFF: f64 = 0.6;

/// What a tape shows of a travel, mm.
const TRAVEL: Accuracy = Accuracy::Absolute(0.5);
/// What a tape shows at the pad, mm.
const PAD: Accuracy = Accuracy::Absolute(3.0);
/// At half pedal the pad is not where it should be by a few mm either, and a slave moves with it.
const HALF: Accuracy = Accuracy::Absolute(1.0);
/// A rule beside the pad shows this of what a finger feels, mm.
const PLAY: Accuracy = Accuracy::Absolute(2.0);
/// A spring scale is read to about half a pound, N.
const FORCE: Accuracy = Accuracy::Share {
    of: 0.05,
    step: 2.0,
};
/// A gauge for a clutch's line is read to about 1.5 psi, MPa.
const PRESSURE: Accuracy = Accuracy::Share {
    of: 0.02,
    step: 0.01,
};

const fn row(reading: Reading, field: FieldId, accuracy: Accuracy) -> ReadingKind {
    ReadingKind {
        reading,
        field,
        accuracy,
        source: COMMON,
        ease: 1.0,
    }
}

/// Every kind of reading, in the order of [`Reading`].
pub static READINGS: [ReadingKind; 15] = [
    row(Reading::PedalTravel, field!(measured.pedal_travel), PAD),
    row(Reading::SlaveTravel, field!(measured.slave_travel), TRAVEL),
    row(
        Reading::MasterTravel,
        field!(measured.master_travel),
        TRAVEL,
    ),
    row(Reading::ForkTravel, field!(measured.fork_travel), TRAVEL),
    row(
        Reading::BearingTravel,
        field!(measured.bearing_travel),
        TRAVEL,
    ),
    row(Reading::PedalEffort, field!(measured.pedal_effort), FORCE),
    row(Reading::HeldEffort, field!(measured.held_effort), FORCE),
    row(
        Reading::LinePressure,
        field!(measured.line_pressure),
        PRESSURE,
    ),
    row(Reading::ReleasePoint, field!(measured.release_point), PAD),
    row(Reading::HalfTravel, field!(measured.half_travel), HALF),
    ReadingKind {
        ease: PART_OFF,
        ..row(Reading::BlockedTravel, field!(measured.blocked_travel), PAD)
    },
    row(Reading::FreePlay, field!(measured.free_play), PLAY),
    row(Reading::Sink, field!(measured.sink), TRAVEL),
    row(Reading::Frees, field!(measured.frees), Accuracy::Word),
    row(Reading::Feel, field!(measured.feel), Accuracy::Word),
];

/// How near to what frees the disc the finger travel may come before `frees` contradicts it, mm: as a travel.
pub(super) const FREES: f64 = 0.5;

/// A number for each reading, by its place in [`READINGS`].
pub(super) type PerReading = [Option<f64>; READINGS.len()];

impl Reading {
    /// Its row.
    pub fn kind(self) -> &'static ReadingKind {
        &READINGS[self as usize]
    }

    /// Its name in the language and in machine output: `slave_travel`.
    pub fn name(self) -> &'static str {
        self.kind().field.field().name
    }

    /// The reading of a name.
    pub fn named(name: &str) -> Option<Self> {
        let mut rows = READINGS.iter();
        Some(rows.find(|row| row.reading.name() == name)?.reading)
    }

    /// What it measures; `None` for words.
    pub fn dimension(self) -> Option<Dimension> {
        self.kind().field.field().dimension()
    }

    /// How well a value of it is known by itself, in internal units. A word is right or wrong: 1.
    pub fn accuracy(self, value: f64) -> f64 {
        match self.kind().accuracy {
            Accuracy::Absolute(accuracy) => accuracy,
            Accuracy::Share { of, step } => (of * value.abs()).max(step),
            Accuracy::Word if self == Self::Frees => FREES,
            Accuracy::Word => 1.0,
        }
    }
}

/// What a reading says.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Value {
    /// In internal units.
    Number(f64),
    /// One of the words of its field.
    Word(&'static str),
}

/// A reading that was taken.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Taken {
    /// Which one.
    pub reading: Reading,
    /// What it says.
    pub value: Value,
    /// How well it is known, in internal units.
    pub accuracy: f64,
    /// The system of units that it was read in: common to all where it says none.
    pub units: UnitSystem,
}

impl Taken {
    /// A number with the accuracy of its kind, or with its author's own.
    pub fn number(reading: Reading, value: f64, accuracy: Option<f64>) -> Self {
        let accuracy = accuracy.filter(|accuracy| *accuracy > 0.0);
        Self {
            reading,
            value: Value::Number(value),
            accuracy: accuracy.unwrap_or_else(|| reading.accuracy(value)),
            units: UnitSystem::Common,
        }
    }

    /// A word.
    pub fn word(reading: Reading, word: &'static str) -> Self {
        Self {
            reading,
            value: Value::Word(word),
            accuracy: reading.accuracy(0.0),
            units: UnitSystem::Common,
        }
    }
}

/// All that was read on one visit.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Visit {
    /// Its label in the spec; `None` for a `measured` that has none.
    pub label: Option<String>,
    /// What was read, in the order of [`READINGS`].
    pub taken: Vec<Taken>,
}

impl Visit {
    /// A `measured` block of a system.
    pub fn of(component: &Component) -> Self {
        let taken = READINGS.iter().filter_map(|row| {
            let given = component.given(row.field)?;
            Some(match (given.word(), given.band()) {
                (Some(word), _) => Taken::word(row.reading, word),
                (None, Some(band)) => {
                    let spread = (band.nominal - band.low).max(band.high - band.nominal);
                    Taken {
                        units: given.unit().map_or(UnitSystem::Common, UnitExpr::system),
                        ..Taken::number(row.reading, band.nominal, Some(spread))
                    }
                }
                (None, None) => return None,
            })
        });
        Self {
            label: component.label.clone(),
            taken: taken.collect(),
        }
    }

    /// Every visit of a system, the one without a label first.
    pub fn all(system: &System) -> Vec<Self> {
        let visits = system.measured().map(|component| {
            let mut visit = Self::of(component);
            // A reading of a part that this car does not have is left out; `not-used` tells its author.
            visit
                .taken
                .retain(|taken| system.uses(component, taken.reading.kind().field));
            visit
        });
        visits.collect()
    }

    /// What was read of one kind.
    pub fn taken(&self, reading: Reading) -> Option<&Taken> {
        self.taken.iter().find(|taken| taken.reading == reading)
    }

    /// The number that was read of one kind, in internal units.
    pub fn number(&self, reading: Reading) -> Option<f64> {
        match self.taken(reading)?.value {
            Value::Number(number) => Some(number),
            Value::Word(_) => None,
        }
    }

    /// The word that was read of one kind.
    pub fn word(&self, reading: Reading) -> Option<&'static str> {
        match self.taken(reading)?.value {
            Value::Word(word) => Some(word),
            Value::Number(_) => None,
        }
    }

    /// Where on the pad's travel the readings were taken, mm; `None` for full pedal.
    pub fn pedal_travel(&self) -> Option<f64> {
        self.number(Reading::PedalTravel)
    }

    /// The one system of units that all of it was read in; `None` where it was read in several, or in none.
    pub fn units(&self) -> Option<UnitSystem> {
        let all = self.taken.iter().map(|taken| taken.units);
        let mut told = all.filter(|units| *units != UnitSystem::Common);
        let first = told.next()?;
        told.all(|other| other == first).then_some(first)
    }

    /// Puts a reading in the place of one of its kind, or adds it.
    pub fn put(&mut self, taken: Taken) {
        let at = self
            .taken
            .partition_point(|one| one.reading < taken.reading);
        match self.taken.get_mut(at) {
            Some(known) if known.reading == taken.reading => *known = taken,
            _ => self.taken.insert(at, taken),
        }
    }
}
