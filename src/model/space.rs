//! All systems that one system stands for: one for each way to choose its parts or to vary its values.
//!
//! Each choice is built from the text once. A combination is put together by exchanging blocks, so that a million
//! combinations cost little. If an expression reads something that varies, each combination is built from the text
//! instead.

use super::assemble::{BuildOutput, Rebuild};
use super::layers::{Overrides, PartOverride};
use super::soundness::Soundness;
use super::system::{Allow, Choose, Component, Given, Origin, System, Value};
use crate::finding::{Place, Problem};
use crate::quantity::Band;
use crate::schema::{BLOCKS, BlockId, FieldId};
use std::collections::HashSet;
use std::sync::Arc;

/// How many combinations one system may stand for.
pub const MAX_COMBINATIONS: u64 = 10_000_000;

/// What an axis varies.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Subject {
    /// The part that a block takes.
    Part(BlockId),
    /// The value of a field.
    Value(FieldId),
}

/// One thing that varies, and all that it can be.
#[derive(Clone, Debug)]
pub struct Axis {
    /// What varies.
    pub subject: Subject,
    /// All that it can be, in the order of the spec or of the request.
    pub choices: Vec<Choice>,
}

/// One of the things that an axis can be.
#[derive(Clone, Debug)]
pub struct Choice {
    /// A part's name, or a value as it would be written.
    pub name: String,
    /// Where the text names it.
    pub mention: Option<Place>,
    replacement: Replacement,
}

#[derive(Clone, Debug)]
enum Replacement {
    Part {
        component: Option<Arc<Component>>,
        allows: Vec<Allow>,
        soundness: Soundness,
    },
    /// A value, in internal units.
    Value(f64),
    /// Not looked at, because there are too many choices.
    Unknown,
}

/// The choices of an axis, before they are built.
#[derive(Clone, Debug)]
pub enum Wanted {
    /// Parts of a block, by name.
    Parts(BlockId, Vec<String>),
    /// Values in internal units, and as they would be written.
    Values(FieldId, Vec<(f64, String)>),
}

/// The axes of a [`Space`] by name. This is what is kept of a space once its combinations are counted. Nothing in it
/// is a place in a text.
#[derive(Clone, PartialEq, Debug)]
pub struct Labels {
    /// The labels of each axis, in the order of the space.
    pub axes: Vec<AxisLabels>,
}

/// One thing that varies, and what it can be, by name.
#[derive(Clone, PartialEq, Debug)]
pub struct AxisLabels {
    /// What varies.
    pub subject: Subject,
    /// The names of its choices, in order.
    pub choices: Vec<String>,
}

/// All combinations that a system stands for.
#[derive(Clone, Debug)]
pub struct Space {
    /// What varies; a combination takes one choice of each.
    pub axes: Vec<Axis>,
    /// The combination of all first choices.
    first: System,
    /// Whether an expression asks for something that varies.
    is_coupled: bool,
}

/// A space, and the problems found while it was made.
pub(super) struct SpaceOutput {
    pub space: Space,
    pub problems: Vec<Problem>,
    pub used_lets: HashSet<Place>,
}

impl Space {
    /// The combinations of a system's own choices; `None` if one of its choices has no part.
    pub(super) fn of_choices(rebuild: Rebuild<'_>, first: BuildOutput) -> Option<SpaceOutput> {
        let axes = choices_of(&first.system);
        let enough = axes.iter().all(|(_, axis)| match axis {
            Wanted::Parts(_, names) => !names.is_empty(),
            Wanted::Values(..) => true,
        });
        enough.then(|| Self::make(rebuild, first, axes))
    }

    /// All combinations of what is wanted with the system's own choices. A choice named in `kept` is held at that one
    /// part.
    ///
    /// # Errors
    /// What is wrong with the system that would result.
    pub fn vary(
        rebuild: Rebuild<'_>,
        wanted: Vec<Wanted>,
        kept: &[(BlockId, &str)],
    ) -> Result<Self, Vec<Problem>> {
        let plain = rebuild.with(Overrides::default());
        let mut axes = choices_of(&plain.system);
        axes.retain(|(_, own)| !wanted.iter().any(|other| other.subject() == own.subject()));
        for (mentions, own) in &mut axes {
            if let Wanted::Parts(block, names) = own
                && let Some((_, part)) = kept.iter().find(|(kept, _)| kept == block)
                && let Some(at) = names.iter().position(|name| name == part)
            {
                *mentions = mentions.drain(..).skip(at).take(1).collect();
                *names = vec![(*part).to_owned()];
            }
        }
        axes.extend(wanted.into_iter().map(|wanted| (Vec::new(), wanted)));
        let first = rebuild.with(firsts(&axes));
        let mut made = Self::make(rebuild, first, axes);
        if made.space.first.is_sound() {
            return Ok(made.space);
        }
        made.problems.extend(plain.problems);
        Err(made.problems)
    }

    fn make(
        rebuild: Rebuild<'_>,
        first: BuildOutput,
        wanted: Vec<(Vec<Place>, Wanted)>,
    ) -> SpaceOutput {
        let firsts = firsts(&wanted);
        // A space that will not be worked out is not built choice by choice.
        let count = count_of(wanted.iter().map(|(_, wanted)| wanted.len()));
        let too_many = count.is_none_or(|count| count > MAX_COMBINATIONS);
        let mut reads = first.reads;
        let mut problems = first.problems;
        let mut used_lets = first.used_lets;
        let mut axes = Vec::with_capacity(wanted.len());
        for (mentions, axis) in wanted {
            let subject = axis.subject();
            let choices = match axis {
                Wanted::Values(_, values) => values
                    .into_iter()
                    .map(|(value, name)| Choice {
                        name,
                        mention: None,
                        replacement: Replacement::Value(value),
                    })
                    .collect(),
                Wanted::Parts(block, names) => {
                    let mut mentions = mentions.into_iter();
                    let mut choice = |name: String| {
                        if too_many {
                            return Choice {
                                name,
                                mention: mentions.next(),
                                replacement: Replacement::Unknown,
                            };
                        }
                        let mut changes = firsts.clone();
                        let mention = mentions.next();
                        changes.parts.retain(|part| part.block != block);
                        changes.parts.push(PartOverride {
                            block,
                            name: name.clone(),
                            mention: mention.clone(),
                        });
                        let one = rebuild.with(changes);
                        reads.extend(one.reads);
                        problems.extend(one.problems);
                        used_lets.extend(one.used_lets);
                        let of_block = |allow: &Allow| allow.block == Some(block);
                        Choice {
                            name,
                            mention,
                            replacement: Replacement::Part {
                                component: one.system.blocks[block as usize].clone(),
                                allows: one.choice_allows.into_iter().filter(of_block).collect(),
                                soundness: one.system.soundness,
                            },
                        }
                    };
                    names.into_iter().map(&mut choice).collect()
                }
            };
            axes.push(Axis { subject, choices });
        }
        let is_coupled = axes.iter().any(|axis| match axis.subject {
            Subject::Part(block) => reads
                .iter()
                .any(|(inside, field)| field.block == block && *inside != Some(block)),
            Subject::Value(field) => reads.iter().any(|(_, read)| *read == field),
        });
        SpaceOutput {
            space: Self {
                axes,
                first: first.system,
                is_coupled,
            },
            problems,
            used_lets,
        }
    }

    /// How many combinations there are; `None` if the number is too large to count.
    pub fn count(&self) -> Option<u64> {
        count_of(self.axes.iter().map(|axis| axis.choices.len()))
    }

    /// Which choice of each axis makes a combination. The last axis turns fastest.
    pub fn digits(&self, index: u64) -> Vec<usize> {
        let mut digits = vec![0; self.axes.len()];
        self.digits_into(index, &mut digits);
        digits
    }

    /// Writes [`Space::digits`] into a list that exists already, with one entry for each axis.
    pub fn digits_into(&self, index: u64, digits: &mut [usize]) {
        let sizes = self.axes.iter().map(|axis| axis.choices.len());
        write_digits(index, sizes, digits);
    }

    /// The combination made of one choice of each axis: the inverse of [`Space::digits`].
    pub fn index_of(&self, digits: &[usize]) -> u64 {
        let sizes = self.axes.iter().map(|axis| axis.choices.len() as u64);
        sizes
            .zip(digits)
            .fold(0, |index, (size, digit)| index * size + *digit as u64)
    }

    /// The combination of one choice of one axis with the first of every other.
    pub fn index_of_choice(&self, axis: usize, choice: usize) -> u64 {
        let mut digits = vec![0; self.axes.len()];
        digits[axis] = choice;
        self.index_of(&digits)
    }

    /// The names of all axes and of their choices.
    pub fn labels(&self) -> Labels {
        let names = |axis: &Axis| {
            axis.choices
                .iter()
                .map(|choice| choice.name.clone())
                .collect()
        };
        let axes = self.axes.iter().map(|axis| AxisLabels {
            subject: axis.subject,
            choices: names(axis),
        });
        Labels {
            axes: axes.collect(),
        }
    }

    /// Whether any combination may have a value with a tolerance.
    pub fn may_be_toleranced(&self) -> bool {
        let choices = self.axes.iter().flat_map(|axis| &axis.choices);
        let of_choice = |choice: &Choice| match &choice.replacement {
            Replacement::Part { component, .. } => {
                component.as_ref().is_some_and(|part| part.is_toleranced())
            }
            Replacement::Value(_) => false,
            Replacement::Unknown => true,
        };
        self.is_coupled || !self.first.toleranced().is_empty() || choices.into_iter().any(of_choice)
    }

    /// A combination in words: `master hy_m19, slave hy_s22`.
    pub fn name_of(&self, index: u64) -> String {
        let chosen = self.axes.iter().zip(self.digits(index));
        in_words(chosen.filter_map(|(axis, digit)| {
            let choice = axis.choices.get(digit)?;
            Some((axis.subject, choice.name.as_str()))
        }))
    }

    /// A picker that puts combinations together, one after the other.
    pub fn picker<'s>(&'s self, rebuild: Rebuild<'s>) -> Picker<'s> {
        let mut system = self.first.clone();
        system.chooses.clear();
        Picker {
            space: self,
            rebuild,
            digits: vec![usize::MAX; self.axes.len()],
            next: vec![0; self.axes.len()],
            system,
        }
    }

    fn changes(&self, digits: &[usize]) -> Overrides {
        let mut changes = Overrides::default();
        for (axis, digit) in self.axes.iter().zip(digits) {
            match (axis.subject, axis.choices.get(*digit)) {
                (Subject::Part(block), Some(choice)) => {
                    changes.parts.push(PartOverride {
                        block,
                        name: choice.name.clone(),
                        mention: choice.mention.clone(),
                    });
                }
                (Subject::Value(field), Some(choice)) => {
                    if let Replacement::Value(value) = choice.replacement {
                        changes.values.push((field, value));
                    }
                }
                (_, None) => {}
            }
        }
        changes
    }
}

impl Labels {
    /// A combination in words, as [`Space::name_of`] gives it.
    pub fn name_of(&self, index: u64) -> String {
        let mut digits = vec![0; self.axes.len()];
        let sizes = self.axes.iter().map(|axis| axis.choices.len());
        write_digits(index, sizes, &mut digits);
        let chosen = self.axes.iter().zip(digits);
        in_words(chosen.filter_map(|(axis, digit)| {
            let choice = axis.choices.get(digit)?;
            Some((axis.subject, choice.as_str()))
        }))
    }
}

/// The choice of each axis in a combination, from the number of choices that each axis has.
fn write_digits(
    mut index: u64,
    sizes: impl DoubleEndedIterator<Item = usize> + ExactSizeIterator,
    digits: &mut [usize],
) {
    for (digit, choices) in digits.iter_mut().zip(sizes).rev() {
        let choices = choices as u64;
        *digit = index.checked_rem(choices).unwrap_or(0) as usize;
        index = index.checked_div(choices).unwrap_or(0);
    }
}

/// A combination by what is chosen on each axis: `master hy_m19, slave hy_s22`.
fn in_words<'c>(chosen: impl Iterator<Item = (Subject, &'c str)>) -> String {
    let words: Vec<String> = chosen
        .map(|(subject, choice)| format!("{} {choice}", subject.words()))
        .collect();
    words.join(", ")
}

impl Subject {
    pub(crate) fn block(self) -> BlockId {
        match self {
            Self::Part(block) => block,
            Self::Value(field) => field.block,
        }
    }

    /// The subject as a message names it: `master`, `pedal.pad_arm`.
    pub fn words(self) -> String {
        match self {
            Self::Part(block) => BLOCKS[block as usize].name.to_owned(),
            Self::Value(field) => field.path(),
        }
    }
}

impl Wanted {
    fn len(&self) -> usize {
        match self {
            Self::Parts(_, names) => names.len(),
            Self::Values(_, values) => values.len(),
        }
    }

    fn subject(&self) -> Subject {
        match self {
            Self::Parts(block, _) => Subject::Part(*block),
            Self::Values(field, _) => Subject::Value(*field),
        }
    }
}

fn count_of(mut sizes: impl Iterator<Item = usize>) -> Option<u64> {
    sizes.try_fold(1, |n: u64, size| n.checked_mul(size as u64))
}

/// A system's own choices, each with the places where they are named.
fn choices_of(system: &System) -> Vec<(Vec<Place>, Wanted)> {
    let axis = |choose: &Choose| {
        let mentions = choose.parts.iter().map(|part| part.mention.clone());
        let names = choose.parts.iter().map(|part| part.name.clone());
        let wanted = Wanted::Parts(choose.block, names.collect());
        (mentions.collect(), wanted)
    };
    system.chooses.iter().map(axis).collect()
}

fn firsts(axes: &[(Vec<Place>, Wanted)]) -> Overrides {
    let mut changes = Overrides::default();
    for (mentions, wanted) in axes {
        match wanted {
            Wanted::Parts(block, names) => {
                changes.parts.extend(names.first().map(|name| PartOverride {
                    block: *block,
                    name: name.clone(),
                    mention: mentions.first().cloned(),
                }));
            }
            Wanted::Values(field, values) => {
                changes
                    .values
                    .extend(values.first().map(|(value, _)| (*field, *value)));
            }
        }
    }
    changes
}

/// Puts the combinations of a space together. What two combinations in a row share is not built again.
pub struct Picker<'s> {
    space: &'s Space,
    rebuild: Rebuild<'s>,
    digits: Vec<usize>,
    next: Vec<usize>,
    system: System,
}

impl Picker<'_> {
    /// One combination, as a system with nothing left to choose.
    pub fn pick(&mut self, index: u64) -> &System {
        self.space.digits_into(index, &mut self.next);
        if self.space.is_coupled {
            let one = self.rebuild.with(self.space.changes(&self.next));
            self.system = one.system;
            self.system.allows.extend(one.choice_allows);
            self.system.chooses.clear();
            return &self.system;
        }
        for i in 0..self.next.len() {
            if self.next[i] != self.digits[i] {
                self.set_block(self.space.axes[i].subject.block());
            }
        }
        std::mem::swap(&mut self.digits, &mut self.next);
        self.settle();
        &self.system
    }

    /// What is wrong with a combination that cannot be worked out.
    pub fn problems(&self, index: u64) -> Vec<Problem> {
        let changes = self.space.changes(&self.space.digits(index));
        self.rebuild.with(changes).problems
    }

    /// Puts the chosen part of a block in place.
    fn set_block(&mut self, block: BlockId) {
        let slot = block as usize;
        // If only values vary, they replace the earlier ones, and nothing else changes.
        let mut chosen = self.system.blocks[slot].take();
        let mut written = self.space.first.blocks[slot].as_ref();
        let axes = || self.space.axes.iter().zip(&self.next);
        for (axis, digit) in axes().filter(|(axis, _)| axis.subject == Subject::Part(block)) {
            if let Some(Replacement::Part { component, .. }) =
                axis.choices.get(*digit).map(|c| &c.replacement)
            {
                chosen.clone_from(component);
                written = component.as_ref();
            }
        }
        for (axis, digit) in axes() {
            if let (Subject::Value(field), Some(Replacement::Value(value))) = (
                axis.subject,
                axis.choices.get(*digit).map(|c| &c.replacement),
            ) && field.block == block
                && let Some(chosen) = &mut chosen
            {
                let written = written.and_then(|component| component.given(field));
                let band = written.map_or(Band::exact(*value), |given| given.band_around(*value));
                Arc::make_mut(chosen).put(field, band);
            }
        }
        self.system.blocks[slot] = chosen;
    }

    /// Sets what depends on all choices together.
    fn settle(&mut self) {
        let own = self.space.first.allows.len();
        self.system.allows.truncate(own);
        let first = &self.space.first;
        self.system.soundness = first.soundness;
        for (axis, digit) in self.space.axes.iter().zip(&self.digits) {
            if let Some(Replacement::Part {
                allows, soundness, ..
            }) = axis.choices.get(*digit).map(|choice| &choice.replacement)
            {
                self.system.allows.extend(allows.iter().cloned());
                self.system.soundness = self.system.soundness.min(*soundness);
            }
        }
    }
}

impl Component {
    /// Puts a value into a field, in internal units.
    fn put(&mut self, field: FieldId, band: Band) {
        let Some(slot) = self.fields.get_mut(field.field as usize) else {
            return;
        };
        match slot {
            Some(given) => {
                let unit = given.unit().cloned();
                given.value = Value::Quantity { band, unit };
            }
            None => {
                *slot = Some(Given {
                    value: Value::Quantity { band, unit: None },
                    name: self.place.clone(),
                    place: self.place.clone(),
                    origin: Origin::Own,
                    share: None,
                });
            }
        }
    }
}
