//! The readings that can be taken on a car, and how accurate each is.

use crate::field;
use crate::model::{Component, System};
use crate::quantity::{Dimension, UnitExpr, UnitSystem};
use crate::schema::{COMMON, FieldId, TYPICAL, Typical};

/// One kind of reading, by its place in [`READINGS`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Reading {
    /// Pad travel at which the other readings were taken.
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
    /// Force at the pad that is let up from there, as the clutch starts back.
    LetUpEffort,
    /// Highest pressure on the way down.
    LinePressure,
    /// Pad travel at which the disc is released.
    ReleasePoint,
    /// Travel of the fork's outer end at half the pad's travel.
    HalfTravel,
    /// Pad travel with the slave's rod blocked, pressed with the highest calculated effort.
    BlockedTravel,
    /// Pad travel that a finger feels before anything pushes back.
    FreePlay,
    /// Friction of the pedal alone, its rod off, at the pad.
    PedalDrag,
    /// Friction of the fork alone, its rod or cable off, at its outer end.
    ForkDrag,
    /// Travel of the slave's rod lost in a minute's hold.
    Sink,
    /// Whether the disc is released at full pedal.
    Frees,
    /// Whether the pad comes all the way up by itself.
    ComesUp,
    /// How the pedal feels to the foot.
    Feel,
}

/// How accurate a reading is if its author does not say.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Accuracy {
    /// A fixed amount, in internal units.
    Absolute(f64),
    /// A share of the reading, but at least the tool's own step, in internal units.
    Share {
        /// The share.
        of: f64,
        /// The tool's own step.
        step: f64,
    },
    /// A word is right or wrong.
    Word,
    /// Yes for what is above zero and no for what is below it; so near to zero, in internal units, either may be seen.
    Sign(f64),
}

/// A row of [`READINGS`].
#[derive(Debug)]
pub struct ReadingKind {
    /// Which reading it is.
    pub reading: Reading,
    /// The field of `measured` that holds it.
    pub field: FieldId,
    /// Its accuracy if its author gives none.
    pub accuracy: Accuracy,
    /// Where the accuracy comes from.
    pub source: &'static str,
    /// How easy it is to take in a workshop, 0 to 1. A reading's worth is multiplied by it when the next readings are
    /// ranked. Common practice, no source.
    pub ease: f64,
}

/// The ease of a reading for which a part must be taken off its mount.
const PART_OFF: f64 = 0.6;

/// A tape's accuracy on a travel, mm.
const TRAVEL: Accuracy = Accuracy::Absolute(0.5);
/// A tape's accuracy at the pad, mm.
const PAD: Accuracy = Accuracy::Absolute(3.0);
/// Accuracy of a travel at half pedal, mm. The pad is also a few mm off its place, and the slave moves with it.
const HALF: Accuracy = Accuracy::Absolute(1.0);
/// Accuracy of a rule beside the pad for what a finger feels, mm.
const PLAY: Accuracy = Accuracy::Absolute(2.0);
/// A spring scale's accuracy: about half a pound, N.
const FORCE: Accuracy = Accuracy::Share {
    of: 0.05,
    step: 2.0,
};
/// Accuracy of a gauge for a clutch's line: about 1.5 psi, MPa.
const PRESSURE: Accuracy = Accuracy::Share {
    of: 0.02,
    step: 0.01,
};

/// A sound part has some friction that a spec need not say: what is read is told from that only where it is more. The
/// most that is usual, N.
const fn drag(field: FieldId) -> Accuracy {
    Accuracy::Share {
        of: 0.1,
        step: TYPICAL[Typical::place_of(field)].high,
    }
}

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
pub static READINGS: [ReadingKind; 19] = [
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
    row(Reading::LetUpEffort, field!(measured.let_up_effort), FORCE),
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
    ReadingKind {
        ease: PART_OFF,
        ..row(
            Reading::PedalDrag,
            field!(measured.pedal_drag),
            drag(field!(pedal.drag)),
        )
    },
    ReadingKind {
        ease: PART_OFF,
        ..row(
            Reading::ForkDrag,
            field!(measured.fork_drag),
            drag(field!(fork.drag)),
        )
    },
    row(Reading::Sink, field!(measured.sink), TRAVEL),
    row(
        Reading::Frees,
        field!(measured.frees),
        Accuracy::Sign(FREES),
    ),
    row(
        Reading::ComesUp,
        field!(measured.comes_up),
        Accuracy::Sign(COMES_UP),
    ),
    row(Reading::Feel, field!(measured.feel), Accuracy::Word),
];

/// How close to the releasing travel the finger travel may be before `frees` contradicts it, mm, as a travel.
const FREES: f64 = 0.5;
/// How near to zero the force that brings the pad up may come before `comes_up` contradicts it, N: as a spring scale.
pub(super) const COMES_UP: f64 = 2.0;

/// A number for each reading, by its place in [`READINGS`].
pub(super) type PerReading = [Option<f64>; READINGS.len()];

impl Reading {
    /// The reading's row.
    pub fn kind(self) -> &'static ReadingKind {
        &READINGS[self as usize]
    }

    /// The reading's name in the language and in machine output: `slave_travel`.
    pub fn name(self) -> &'static str {
        self.kind().field.field().name
    }

    /// The reading with a name.
    pub fn named(name: &str) -> Option<Self> {
        let mut rows = READINGS.iter();
        Some(rows.find(|row| row.reading.name() == name)?.reading)
    }

    /// The dimension of its values; `None` for words.
    pub fn dimension(self) -> Option<Dimension> {
        self.kind().field.field().dimension()
    }

    /// The accuracy of a value if its author gives none, in internal units. A word is right or wrong: 1.
    pub fn accuracy(self, value: f64) -> f64 {
        match self.kind().accuracy {
            Accuracy::Absolute(accuracy) => accuracy,
            Accuracy::Share { of, step } => (of * value.abs()).max(step),
            Accuracy::Word => 1.0,
            Accuracy::Sign(near) => near,
        }
    }
}

/// What a reading says.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Value {
    /// A number, in internal units.
    Number(f64),
    /// One of the words of its field.
    Word(&'static str),
}

/// A reading that was taken.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Taken {
    /// The kind of reading.
    pub reading: Reading,
    /// Its value.
    pub value: Value,
    /// Its accuracy, in internal units.
    pub accuracy: f64,
    /// The system of units in which it was read; `Common` where it names none.
    pub units: UnitSystem,
}

impl Taken {
    /// A number with its author's accuracy, or with that of its kind.
    pub fn number(reading: Reading, value: f64, accuracy: Option<f64>) -> Self {
        let accuracy = accuracy.filter(|accuracy| *accuracy > 0.0);
        Self {
            reading,
            value: Value::Number(value),
            accuracy: accuracy.unwrap_or_else(|| reading.accuracy(value)),
            units: UnitSystem::Common,
        }
    }

    /// A reading that is a word.
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
    /// The readings, in the order of [`READINGS`].
    pub taken: Vec<Taken>,
}

impl Visit {
    /// The visit of a `measured` block.
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

    /// The reading of one kind, if it was taken.
    pub fn taken(&self, reading: Reading) -> Option<&Taken> {
        self.taken.iter().find(|taken| taken.reading == reading)
    }

    /// The number read for one kind, in internal units.
    pub fn number(&self, reading: Reading) -> Option<f64> {
        match self.taken(reading)?.value {
            Value::Number(number) => Some(number),
            Value::Word(_) => None,
        }
    }

    /// The word read for one kind.
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

    /// The one system of units of all readings; `None` where they use several, or none.
    pub fn units(&self) -> Option<UnitSystem> {
        let all = self.taken.iter().map(|taken| taken.units);
        let mut told = all.filter(|units| *units != UnitSystem::Common);
        let first = told.next()?;
        told.all(|other| other == first).then_some(first)
    }

    /// Replaces the reading of the same kind, or adds it.
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
