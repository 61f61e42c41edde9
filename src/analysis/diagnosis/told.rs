//! The diagnosis of a visit in plain words and in the author's units.

use super::super::Worked;
use super::asked::{how_taken, not_on_this_car};
use super::bleeding::bleeding_steps;
use crate::checks::{display_for, fault_in_words, read_again, seen_in_words};
use crate::diagnose::{
    Explanation, FaultId, FingerTravel, NextReading, READINGS, Reading, ReadingKind, RuledOut,
    Sized, Taken, Value, VisitReport, readings_with,
};
use crate::quantity::{Dimension, Display, listed};

/// The diagnosis of a visit in words.
#[derive(Clone, PartialEq, Debug)]
pub struct VisitTold {
    /// Its label in the spec; `None` for readings without one.
    pub label: Option<String>,
    /// Whether the clutch drags as measured.
    pub drags: bool,
    /// The conclusions, the gravest first, as sentences.
    pub verdict: Vec<String>,
    /// The readings beside their calculated values.
    pub readings: Vec<ReadingLine>,
    /// What changed since the previous visit, as sentences.
    pub changes: Vec<String>,
    /// The faults that explain all readings, the likeliest first; if none does, those that nearly do.
    pub causes: Vec<Cause>,
    /// Whether the causes explain all readings.
    pub explains: bool,
    /// Pairs of faults that explain the readings together, if no single one does, the likeliest first.
    pub pairs: Vec<String>,
    /// The faults that are ruled out, by the reading that rules them out.
    pub ruled_out: Vec<(String, Vec<String>)>,
    /// What to measure next, the most telling reading first.
    pub next: Vec<Next>,
    /// The cures of the causes, in the order in which to do them.
    pub cures: Vec<Cure>,
    /// What to know before the cures, as sentences.
    pub before_cures: Vec<String>,
    /// What to be careful of.
    pub cautions: Vec<&'static str>,
}

/// A reading beside its calculated value.
#[derive(Clone, PartialEq, Debug)]
pub struct ReadingLine {
    /// Its name in plain words, with its visit if that is an earlier one: `slave travel (first_call)`.
    pub name: String,
    /// What was measured.
    pub measured: String,
    /// The calculated value; a dash if there is none.
    pub worked_out: String,
    /// `agrees`, or by how much the reading is more or less; empty if that is not known.
    pub off: String,
}

/// A fault that explains the readings.
#[derive(Clone, PartialEq, Debug)]
pub struct Cause {
    /// What is wrong, with its size: `there is air in the fluid (0.83 cc)`.
    pub words: String,
    /// Whether the readings cannot tell it from the first cause. The first is equal to itself.
    pub is_equal: bool,
}

/// A reading to take next.
#[derive(Clone, PartialEq, Debug)]
pub struct Next {
    /// The kind of reading.
    pub reading: Reading,
    /// How to take it.
    pub how: String,
    /// Possible values, each with the faults that it would mean. Faults that the reading cannot tell apart share a
    /// value.
    pub values: Vec<(String, Vec<String>)>,
}

/// How to confirm and cure a fault.
#[derive(Clone, PartialEq, Debug)]
pub struct Cure {
    /// The fault's name: `air`.
    pub of: String,
    /// Sentences, in the order in which to do them.
    pub steps: Vec<String>,
}

/// The name of a visit without a label among others.
const UNLABELLED: &str = "the visit without a label";

/// The most equally likely faults for which cures are given.
const CURED: usize = 3;

/// Puts the diagnosis of a visit into words.
pub fn told(worked: &Worked, visit: &VisitReport) -> VisitTold {
    let display = &display_for(visit, &worked.system.display);
    let teller = Teller {
        worked,
        display,
        visit,
    };
    let (causes, explains) = teller.causes();
    let next: Vec<Next> = visit.next.iter().map(|next| teller.next(next)).collect();
    let (before_cures, cures, cautions) = teller.cures(explains, &next);
    VisitTold {
        label: visit.label.clone(),
        drags: visit.drags,
        verdict: teller.verdict(),
        readings: visit.taken.iter().map(|taken| teller.line(taken)).collect(),
        changes: teller.changes(),
        causes,
        explains,
        pairs: teller.pairs(),
        ruled_out: teller.ruled_out(),
        next,
        cures,
        before_cures,
        cautions,
    }
}

struct Teller<'a> {
    worked: &'a Worked,
    display: &'a Display,
    visit: &'a VisitReport,
}

impl<'a> Teller<'a> {
    fn length(&self, mm: f64) -> String {
        self.display.show(mm, Dimension::LENGTH)
    }

    fn value(&self, reading: Reading, value: Value) -> String {
        match value {
            Value::Number(value) => {
                let dimension = reading.dimension().unwrap_or(Dimension::NUMBER);
                self.display.show(value, dimension)
            }
            Value::Word(word) => word.replace('_', " "),
        }
    }

    fn expected(&self, reading: Reading) -> Option<Value> {
        let mut expected = self.visit.expected.iter();
        expected.find(|(known, _)| *known == reading)?.1
    }

    /// The faults that explain all readings.
    fn standing(&self) -> impl Iterator<Item = &'a Explanation> {
        self.visit.faults.iter().filter(|fault| fault.explains)
    }

    fn is_sound(&self) -> bool {
        let first = self.standing().next();
        first.is_some_and(|first| first.sized.fault == FaultId::NothingWrong)
    }

    fn verdict(&self) -> Vec<String> {
        let visit = self.visit;
        if self.is_unread() {
            let mut said = vec!["Nothing was read yet.".to_owned()];
            said.extend(self.left_out());
            return said;
        }
        let mut said: Vec<String> = self.past_limit().into_iter().collect();
        said.push(self.frees());
        said.push(match (visit.drags, self.is_sound(), self.most_off()) {
            (true, true, _) => {
                "The parts do what the spec says, and that does not free the disc: the spec itself \
                                must change. Run `bitepoint check`."
                    .to_owned()
            }
            (false, true, _) => "Every reading agrees with what is worked out.".to_owned(),
            (_, false, Some(off)) => off,
            (_, false, None) => "What was read is not what is worked out.".to_owned(),
        });
        said.extend(self.held_together());
        said.extend(self.left_out());
        said
    }

    /// The earlier visits whose readings are used too, as a sentence.
    fn held_together(&self) -> Option<String> {
        let mut labels: Vec<&str> = Vec::new();
        for (_, label) in &self.visit.carried {
            let label = label.as_deref().unwrap_or(UNLABELLED);
            if !labels.contains(&label) {
                labels.push(label);
            }
        }
        (!labels.is_empty()).then(|| {
            format!(
                "Nothing that was read again has changed, so what was read on {} still holds and counts with it.",
                listed(&labels, " and ")
            )
        })
    }

    /// Whether there is no reading from which anything could follow.
    fn is_unread(&self) -> bool {
        let mut taken = self.visit.taken.iter();
        taken.all(|taken| taken.reading == Reading::PedalTravel)
    }

    /// The readings for which this car has no part, each as a sentence.
    fn left_out(&self) -> Vec<String> {
        let mut visits = self.worked.system.measured();
        let Some(component) = visits.find(|visit| visit.label == self.visit.label) else {
            return Vec::new();
        };
        let is_given = |row: &&ReadingKind| component.given(row.field).is_some();
        let given = READINGS.iter().filter(is_given);
        given
            .filter_map(|row| not_on_this_car(self.worked, row.reading))
            .map(|why| format!("{why}: it is left out."))
            .collect()
    }

    /// A finger travel and how well it is known: `7.37 ± 0.3 mm`.
    fn within(&self, fingers: FingerTravel) -> String {
        let FingerTravel { travel, accuracy } = fingers;
        let number = self
            .display
            .number_beside(travel, accuracy, Dimension::LENGTH);
        format!("{number} ± {}", self.length(accuracy))
    }

    /// That the fingers went past what the cover may take.
    fn past_limit(&self) -> Option<String> {
        let past = self.visit.past_limit?;
        Some(format!(
            "Stop pressing: the fingers move {}, past the cover's limit of {}. The diaphragm may be damaged already.",
            self.length(past.travel),
            self.length(self.visit.most)
        ))
    }

    /// Whether the disc is released, as far as the readings show.
    fn frees(&self) -> String {
        let visit = self.visit;
        let frees = visit.taken.iter().find_map(|taken| match taken.value {
            Value::Word(word) if taken.reading == Reading::Frees => Some(word == "yes"),
            _ => None,
        });
        let needed = self.length(visit.needed);
        match (visit.finger_travel, frees) {
            (Some(fingers), _) if visit.drags && fingers.travel < visit.needed => format!(
                "The clutch drags as measured: the fingers move {} of the {needed} that free the disc.",
                self.length(fingers.travel)
            ),
            (_, Some(false)) => {
                "The clutch drags as measured: the disc does not come free at full pedal."
                    .to_owned()
            }
            (Some(fingers), None) if fingers.is_too_close_to(visit.needed) => format!(
                "Too close to call: the fingers move {}, and {needed} free the disc. Check with the wheel test of `{}`.",
                self.within(fingers),
                Reading::ReleasePoint.name()
            ),
            (Some(fingers), _) if fingers.travel >= visit.needed => format!(
                "As measured the disc comes free: the fingers move {}, and {needed} free it.",
                self.length(fingers.travel)
            ),
            (Some(fingers), _) => format!(
                "The disc was seen to come free, though the fingers move {} of the {needed} that should free it.",
                self.length(fingers.travel)
            ),
            (None, Some(true)) => "The disc comes free at full pedal.".to_owned(),
            (None, None) => {
                "What was read does not say whether the disc comes free at full pedal.".to_owned()
            }
        }
    }

    /// The reading that is furthest off: "Slave travel is 2.69 mm less than the 15.6 mm worked out."
    fn most_off(&self) -> Option<String> {
        let reading = self.visit.decides?;
        let taken = self.visit.taken.iter().find(|t| t.reading == reading)?;
        if let Value::Word(word) = taken.value {
            let says = match (reading, word) {
                (Reading::Frees, "yes") => {
                    "The disc comes free, and by what is worked out it should not."
                }
                (Reading::Frees, _) => {
                    "The disc does not come free, and by what is worked out it should."
                }
                (Reading::ComesUp, "yes") => {
                    "The pedal comes up by itself, and by what is worked out it should not."
                }
                (Reading::ComesUp, _) => {
                    "The pedal does not come up by itself, and by what is worked out it should."
                }
                _ => {
                    return Some(format!(
                        "By foot the pedal is `{}`.",
                        word.replace('_', " ")
                    ));
                }
            };
            return Some(says.to_owned());
        }
        let name = capital(&plain(reading));
        let measured = self.value(reading, taken.value);
        match (taken.value, self.expected(reading)) {
            (Value::Number(value), Some(Value::Number(expected))) => Some(format!(
                "{name} is {measured}, {} {} than the {} worked out.",
                self.value(reading, Value::Number((value - expected).abs())),
                way(value, expected),
                self.value(reading, Value::Number(expected)),
            )),
            _ => Some(format!(
                "{name} is {measured}, and nothing is worked out for it."
            )),
        }
    }

    /// Where the pad was held beside full pedal: both are given, and neither is worked out from the other.
    fn pedal_line(&self, at: f64, taken: &Taken) -> ReadingLine {
        let full = self.visit.full_pedal;
        let off = match at - full {
            off if off > taken.accuracy => format!("{} more", self.length(off)),
            off if off >= -taken.accuracy => "all readings at full pedal".to_owned(),
            _ => "all readings at this pedal travel".to_owned(),
        };
        ReadingLine {
            name: self.named(taken.reading),
            measured: self.length(at),
            worked_out: format!("full pedal {}", self.length(full)),
            off,
        }
    }

    /// A reading, with the visit that it is from where that is an earlier one.
    fn named(&self, reading: Reading) -> String {
        let mut carried = self.visit.carried.iter();
        match carried.find(|(known, _)| *known == reading) {
            Some((_, label)) => {
                let label = label.as_deref().unwrap_or(UNLABELLED);
                format!("{} ({label})", plain(reading))
            }
            None => plain(reading),
        }
    }

    fn line(&self, taken: &Taken) -> ReadingLine {
        let reading = taken.reading;
        if let (Reading::PedalTravel, Value::Number(at)) = (reading, taken.value) {
            return self.pedal_line(at, taken);
        }
        let expected = self.expected(reading);
        let miss = self
            .visit
            .misses
            .iter()
            .find(|(known, _)| *known == reading);
        let agrees = miss.is_some_and(|(_, miss)| miss.abs() <= 1.0);
        let off = match (taken.value, expected) {
            (_, Some(_)) if agrees => "agrees".to_owned(),
            (Value::Number(value), Some(Value::Number(expected))) => format!(
                "{} {}",
                self.value(reading, Value::Number((value - expected).abs())),
                way(value, expected)
            ),
            (_, Some(_)) => "does not agree".to_owned(),
            (_, None) => String::new(),
        };
        ReadingLine {
            name: self.named(reading),
            measured: self.value(reading, taken.value),
            worked_out: expected.map_or_else(|| "–".to_owned(), |value| self.value(reading, value)),
            off,
        }
    }

    fn changes(&self) -> Vec<String> {
        let changes = self.visit.changes.iter();
        changes
            .filter(|change| change.is_real)
            .map(|change| {
                format!(
                    "{}: {}, and {} on the visit before",
                    plain(change.reading),
                    self.value(change.reading, change.now),
                    self.value(change.reading, change.before)
                )
            })
            .collect()
    }

    fn causes(&self) -> (Vec<Cause>, bool) {
        if self.is_unread() {
            // It is not known either that nothing is wrong.
            return (Vec::new(), true);
        }
        let explains = self.standing().next().is_some();
        let shown = self.visit.faults.iter();
        let causes = shown
            .filter(|fault| fault.explains == explains)
            .map(|fault| Cause {
                words: self.cause(fault.sized),
                is_equal: fault.equal,
            })
            .collect();
        (causes, explains)
    }

    /// A fault and its size: `there is air in the fluid (0.83 cc)`.
    fn cause(&self, sized: Sized) -> String {
        fault_in_words(self.display, sized)
    }

    fn pairs(&self) -> Vec<String> {
        let pairs = self.visit.pairs.iter();
        pairs
            .map(|pair| {
                let [one, other] = pair.faults.map(|sized| self.cause(sized));
                format!("{one}; and {other}")
            })
            .collect()
    }

    fn ruled_out(&self) -> Vec<(String, Vec<String>)> {
        let mut by_reading: Vec<(Reading, Vec<String>)> = Vec::new();
        // The verdict already says that something is wrong.
        let is_fault = |one: &&RuledOut| one.fault != FaultId::NothingWrong;
        for one in self.visit.ruled_out.iter().filter(is_fault) {
            let says = called(one.fault);
            match by_reading.iter_mut().find(|(known, _)| *known == one.by) {
                Some((_, faults)) => faults.push(says),
                None => by_reading.push((one.by, vec![says])),
            }
        }
        let named = by_reading.into_iter();
        named
            .map(|(reading, faults)| (plain(reading), faults))
            .collect()
    }

    fn next(&self, next: &NextReading) -> Next {
        Next {
            reading: next.reading,
            how: how_taken(self.worked, self.display, next.reading),
            values: next
                .meanings()
                .into_iter()
                .map(|meaning| {
                    let called = meaning.faults.iter().map(|fault| called(*fault));
                    let seen = seen_in_words(self.display, next.reading, meaning.seen);
                    (seen, called.collect())
                })
                .collect(),
        }
    }

    /// What to know before the cures, the cures, and their cautions.
    fn cures(&self, explains: bool, next: &[Next]) -> (Vec<String>, Vec<Cure>, Vec<&'static str>) {
        let mut before = Vec::new();
        let cured: Vec<Sized> = if explains {
            let standing = self.standing().map(|fault| fault.sized);
            let most = if next.is_empty() { CURED } else { 1 };
            standing.take(most).collect()
        } else if let Some(pair) = self.visit.pairs.first() {
            pair.faults.to_vec()
        } else {
            before.push(read_again(self.visit));
            Vec::new()
        };
        let is_cure = |sized: &&Sized| sized.fault != FaultId::NothingWrong;
        if cured.first().is_some_and(|first| !is_cure(&first)) {
            return (before, Vec::new(), Vec::new());
        }
        if explains && next.is_empty() && cured.len() > 1 {
            before.push(
                "No reading that a workshop takes tells these apart. Begin with the first."
                    .to_owned(),
            );
        }
        let mut cautions: Vec<&'static str> = Vec::new();
        for sized in &cured {
            let caution = sized.fault.fault().caution;
            if !caution.is_empty() && !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
        let cures = cured.iter().filter(is_cure).map(|sized| Cure {
            of: called(sized.fault),
            steps: self.steps(*sized),
        });
        (before, cures.collect(), cautions)
    }

    /// How to confirm and cure a fault, with the numbers to look for.
    fn steps(&self, sized: Sized) -> Vec<String> {
        let fault = sized.fault;
        let row = fault.fault();
        let mut steps = Vec::new();
        if !row.confirm.is_empty() {
            steps.push(format!("To confirm: {}.", row.confirm));
        }
        if fault == FaultId::Air
            && let Some(plan) = &self.visit.bleeding
        {
            let show = |value, dimension| self.display.show(value, dimension);
            steps.extend(bleeding_steps(self.worked, plan, show));
            return steps;
        }
        steps.push(sentence(row.cure));
        let tells = match fault {
            FaultId::ShortPedal | FaultId::LongPedal => Some(Reading::PedalTravel),
            _ => self.moves_most(sized).or(self.visit.decides),
        };
        if let Some(reading) = tells
            && let Some(Value::Number(right)) = self.expected(reading)
        {
            steps.push(format!(
                "Done when the {} is {}.",
                plain(reading),
                self.value(reading, Value::Number(right))
            ));
        }
        steps
    }
}

impl Teller<'_> {
    /// Of the readings that were taken, the one that a fault by itself moves furthest, in accuracies: it shows the cure.
    fn moves_most(&self, sized: Sized) -> Option<Reading> {
        let outcome = self.worked.outcome.as_deref().ok()?;
        let taken = || self.visit.taken.iter();
        let at = taken().find_map(|taken| match (taken.reading, taken.value) {
            (Reading::PedalTravel, Value::Number(at)) => Some(at),
            _ => None,
        });
        let with = readings_with(&self.worked.system, outcome, &[sized], at)?;
        let moved = |taken: &Taken| {
            let (_, with) = with.iter().find(|(known, _)| *known == taken.reading)?;
            match (*with, self.expected(taken.reading)?) {
                (Value::Number(with), Value::Number(right)) => {
                    Some((taken.reading, (with - right).abs() / taken.accuracy))
                }
                _ => None,
            }
        };
        let moved = taken().filter_map(moved).filter(|(_, by)| *by > 0.0);
        let most = moved.max_by(|a, b| a.1.total_cmp(&b.1));
        most.map(|(reading, _)| reading)
    }
}

/// A reading's name in plain words: `slave travel`.
fn plain(reading: Reading) -> String {
    reading.name().replace('_', " ")
}

/// What a mechanic calls a fault: `a firewall that gives`.
fn called(fault: FaultId) -> String {
    fault.fault().called.to_owned()
}

fn way(value: f64, expected: f64) -> &'static str {
    match value > expected {
        true => "more",
        false => "less",
    }
}

/// A sentence's words with a capital letter at the start.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// A clause as a sentence.
fn sentence(clause: &str) -> String {
    format!("{}.", capital(clause))
}
