//! The search for sizes: every combination of what may vary, the best of those that pass every
//! check, and why the nearest of the others do not.

mod front;

use self::front::{Front, Shortlist};
use super::judge::{Bench, judge};
use super::no_system;
use super::side_by_side::side_by_side;
use super::{Work, meant};
use crate::check_id::CheckId;
use crate::checks::{COMMON_BORES, Check, Told, bore_written};
use crate::finding::Severity;
use crate::model::{
    Bundle, Files, MAX_COMBINATIONS, Rebuild, Source, Space, System, Wanted, build,
};
use crate::quantity::Display;
use crate::schema::{BLOCKS, Block, BlockId, FieldId, Kind};
use crate::settings::Settings;
use crate::solve::{Outcome, Tolerances};
use crate::{field, result};
use std::cmp::Ordering;
use std::collections::HashSet;
use std::sync::Arc;

/// What is looked for.
#[derive(Clone, Debug)]
pub struct Search {
    pub system: String,
    /// What may vary; the system's own choices, or else the commonly made bores, where it is
    /// empty.
    pub vary: Vec<Vary>,
    pub order: Order,
    /// How many of the best are kept.
    pub best: usize,
}

/// Something that may vary, as it was asked for.
#[derive(Clone, PartialEq, Debug)]
pub struct Vary {
    /// A block or a field: `master`, `master.bore`.
    pub subject: String,
    /// Parts, or values in the language's words, or `280 mm to 320 mm step 10 mm`; empty for all
    /// parts that the file knows, or for all sizes commonly made.
    pub choices: Vec<String>,
}

/// What the best has most of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Order {
    /// The release margin at the worst of the tolerances.
    Margin,
    /// The least pedal effort.
    Effort,
    /// The point of release nearest to the middle of where it should lie.
    Bite,
}

/// Why there is nothing to search, as a sentence.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NoSizes {
    /// The spec has mistakes in it.
    Mistakes(String),
    /// What is asked for cannot be.
    Asked(String),
}

impl From<String> for NoSizes {
    fn from(why: String) -> Self {
        Self::Asked(why)
    }
}

/// What a search found.
#[derive(Debug)]
pub struct Sizes {
    pub space: Space,
    pub display: Display,
    pub tried: u64,
    pub passing: u64,
    /// Those that pass every check, the best first.
    pub best: Vec<Candidate>,
    /// How many of those that pass nothing beats in both margin and effort.
    pub unbeaten: u64,
    /// Those that nothing beats, by margin, as many as are told.
    pub front: Vec<Candidate>,
    /// Of those that fail, the ones with the fewest errors, those nearest to the cover's window
    /// first.
    pub nearest: Vec<Candidate>,
}

/// One combination and what matters about it. Lengths in mm, forces in N.
#[derive(Clone, PartialEq, Debug)]
pub struct Candidate {
    /// Which combination of the space it is.
    pub index: u64,
    /// The release margin, at the worst of the tolerances where the spec has some.
    pub margin: Option<f64>,
    pub effort: Option<f64>,
    /// Pad travel at release as a share of the travel used.
    pub bite: Option<f64>,
    /// How far the fingers' travel is outside the cover's window.
    pub outside: f64,
    /// The checks that warn of it.
    pub warnings: Vec<&'static str>,
    /// The checks that it fails, each with what it says.
    pub errors: Vec<(&'static str, String)>,
    /// Whether it passes and nothing beats it in both margin and effort.
    pub on_front: bool,
}

/// How many of the nearest misses are told.
const MISSES: usize = 5;
/// Of a front of more than this those of the most margin are told.
const MOST_FRONT: usize = 50;
/// Values in one range.
const MOST_STEPS: usize = 10_000;

/// Looks for the sizes that do.
///
/// # Errors
/// What is asked for that cannot be, or the mistakes of the spec.
pub fn size(
    source: Arc<Source>,
    files: &dyn Files,
    search: &Search,
    work: &Work<'_>,
) -> Result<Sizes, NoSizes> {
    let bundle = Bundle::load(source, files);
    let settings = bundle.settings.clone();
    let model = build(&bundle);
    let named = |built: &&crate::model::Built| built.system.name == search.system;
    let Some(built) = model.systems.iter().find(named) else {
        return Err(no_system(&bundle.sources[0], &search.system).into());
    };
    let system = &built.system;
    let rebuild = Rebuild::of(&bundle, system)
        .filter(|_| system.is_sound())
        .ok_or_else(|| {
            NoSizes::Mistakes(format!(
                "`{}` is incomplete or has mistakes in it; `bitepoint check` lists them",
                system.name
            ))
        })?;
    let wanted = wanted(system, &bundle, &search.vary)?;
    let space = Space::vary(rebuild, wanted).map_err(|problems| {
        let why = problems.first().map(|problem| problem.message.as_str());
        format!(
            "`{}` cannot be worked out with these: {}",
            system.name,
            why.unwrap_or("something is missing")
        )
    })?;
    let all = match space.count() {
        Some(count) if count <= MAX_COMBINATIONS => count,
        _ => {
            return Err(format!(
                "that makes more than {MAX_COMBINATIONS} combinations; vary less, or in wider steps"
            )
            .into());
        }
    };
    let display = system.display.clone();
    Ok(search_all(
        space, display, rebuild, all, search, &settings, work,
    ))
}

/// What varies, in the model's terms.
fn wanted(system: &System, bundle: &Bundle, vary: &[Vary]) -> Result<Vec<Wanted>, String> {
    if !vary.is_empty() {
        let mut seen = HashSet::new();
        if let Some(twice) = vary.iter().find(|vary| !seen.insert(&vary.subject)) {
            return Err(format!(
                "`{}` is named twice in what may vary",
                twice.subject
            ));
        }
        return vary.iter().map(|vary| one(system, bundle, vary)).collect();
    }
    if !system.chooses.is_empty() {
        return Ok(Vec::new());
    }
    let bores = [field!(master.bore), field!(slave.bore)];
    let given = bores
        .into_iter()
        .filter(|field| system.given(*field).is_some());
    let wanted: Vec<Wanted> = given
        .map(|field| Wanted::Values(field, bores_made()))
        .collect();
    match wanted.is_empty() {
        true => Err(format!(
            "say what may vary in `{}`, such as `--vary \"pedal.rod_arm=45 mm to 60 mm step 1 mm\"`",
            system.name
        )),
        false => Ok(wanted),
    }
}

fn bores_made() -> Vec<(f64, String)> {
    let bores = COMMON_BORES.iter();
    bores.map(|bore| (*bore, bore_written(*bore))).collect()
}

fn one(system: &System, bundle: &Bundle, vary: &Vary) -> Result<Wanted, String> {
    match vary.subject.split_once('.') {
        None => parts(system, bundle, vary),
        Some((block, name)) => {
            let id = block_named(block)?;
            let schema = &BLOCKS[id as usize];
            let Some(field) = schema.field_index(name) else {
                let known = schema.fields.iter().map(|field| field.name);
                return Err(format!(
                    "`{block}` has no field `{name}`{}",
                    meant(name, known)
                ));
            };
            values(system, FieldId { block: id, field }, vary)
        }
    }
}

fn block_named(name: &str) -> Result<BlockId, String> {
    let known = BLOCKS.iter().map(|block| block.name);
    let id = Block::named(name)
        .ok_or_else(|| format!("there is no block `{name}`{}", meant(name, known)))?;
    match BLOCKS[id as usize].repeated {
        true => Err(format!(
            "`{name}` may stand many times and cannot be varied"
        )),
        false => Ok(id),
    }
}

fn parts(system: &System, bundle: &Bundle, vary: &Vary) -> Result<Wanted, String> {
    let block = &vary.subject;
    let id = block_named(block)?;
    let known: Vec<&str> = bundle.known_parts(0, block).collect();
    if system.component(id).is_none() {
        return Err(format!("`{}` has no `{block}` to vary", system.name));
    }
    if let Some(unknown) = vary
        .choices
        .iter()
        .find(|name| !known.contains(&name.as_str()))
    {
        return Err(format!(
            "there is no part `{block} {unknown}`{}",
            meant(unknown, known)
        ));
    }
    let mut names: Vec<String> = match vary.choices.is_empty() {
        true => known.into_iter().map(str::to_owned).collect(),
        false => vary.choices.clone(),
    };
    // Twice the same would be listed twice.
    let mut seen = HashSet::new();
    names.retain(|name| seen.insert(name.clone()));
    match names.is_empty() {
        true => Err(format!("no part for a `{block}` is known to this file")),
        false => Ok(Wanted::Parts(id, names)),
    }
}

fn values(system: &System, field: FieldId, vary: &Vary) -> Result<Wanted, String> {
    let path = &vary.subject;
    if !matches!(field.field().kind, Kind::Quantity(_)) {
        return Err(format!(
            "`{path}` is not a single value and cannot be varied"
        ));
    }
    let Some(component) = system.component(field.block) else {
        return Err(format!(
            "`{}` has no `{}` to vary",
            system.name,
            field.block().name
        ));
    };
    let schema = field.block();
    if let Some((alternatives, way)) = schema.way_of(field.field().name) {
        let others = (0..).zip(alternatives.ways).filter(|(i, _)| *i != way);
        let said = others.flat_map(|(_, names)| *names).find(|name| {
            let id = schema.field_index(name).map(|field| FieldId {
                block: component.block,
                field,
            });
            id.is_some_and(|id| component.given(id).is_some())
        });
        if let Some(said) = said {
            return Err(format!(
                "`{path}` follows from `{}.{said}` here; vary that",
                schema.name
            ));
        }
    }
    if vary.choices.is_empty() {
        let is_bore = [field!(master.bore), field!(slave.bore)].contains(&field);
        return match is_bore {
            true => Ok(Wanted::Values(field, bores_made())),
            false => Err(format!(
                "no sizes of `{path}` are commonly made; give some, such as \
                 `{path}=50 mm to 60 mm step 2 mm`"
            )),
        };
    }
    let mut all: Vec<(f64, String)> = Vec::new();
    for text in &vary.choices {
        match text.split_once(" to ") {
            None => all.push((value(field, path, text)?, text.trim().to_owned())),
            Some((low, rest)) => all.extend(range(system, field, path, low, rest)?),
        }
    }
    let mut seen = HashSet::new();
    all.retain(|(value, _)| seen.insert(value.to_bits()));
    let written = system.given(field);
    let meets = |value: f64| field.field().range.contains(value);
    for (value, name) in &all {
        let Some(band) = written.map(|given| given.band_around(*value)) else {
            continue;
        };
        if !(meets(band.low) && meets(band.high)) {
            return Err(format!(
                "`{path}` must be {}, and {name} with the tolerance that it has here may be {} to {}",
                field.field().range.words,
                system.show(band.low, field.field().dimension().unwrap_or_default()),
                system.show(band.high, field.field().dimension().unwrap_or_default()),
            ));
        }
    }
    Ok(Wanted::Values(field, all))
}

/// `280 mm to 320 mm step 10 mm`, from the first word on.
fn range(
    system: &System,
    field: FieldId,
    path: &str,
    low: &str,
    rest: &str,
) -> Result<Vec<(f64, String)>, String> {
    let wrong = || format!("a range of `{path}` is written `280 mm to 320 mm step 10 mm`");
    let (high, step) = rest.split_once(" step ").ok_or_else(wrong)?;
    let (low, high) = (value(field, path, low)?, value(field, path, high)?);
    let step = quantity(field, path, step)?;
    let steps = (high - low) / step;
    if !(steps.is_finite() && step > 0.0 && steps >= 0.0) {
        return Err(wrong());
    }
    // A step that fits but for rounding is meant to be there.
    let last = (steps + 1e-9).floor();
    if last >= MOST_STEPS as f64 {
        return Err(format!(
            "that range of `{path}` has more than {MOST_STEPS} values"
        ));
    }
    let dimension = field.field().dimension().unwrap_or_default();
    let at = |i: u32| {
        let value = low + f64::from(i) * step;
        (value, system.display.show(value, dimension))
    };
    Ok((0..=last as u32).map(at).collect())
}

/// A value of a field, in internal units, inside what the field can be.
fn value(field: FieldId, path: &str, text: &str) -> Result<f64, String> {
    let value = quantity(field, path, text)?;
    let range = &field.field().range;
    match range.contains(value) {
        true => Ok(value),
        false => Err(format!(
            "`{path}` must be {}, not `{}`",
            range.words,
            text.trim()
        )),
    }
}

fn quantity(field: FieldId, path: &str, text: &str) -> Result<f64, String> {
    let wanted = field.field().dimension().unwrap_or_default();
    let file = "--vary".into();
    match crate::model::standalone_value(text.trim(), &file, 0) {
        Ok((value, dimension)) if dimension == wanted => Ok(value),
        Ok((_, dimension)) => Err(format!(
            "`{path}` is {wanted}, and `{}` is {dimension}",
            text.trim()
        )),
        Err(problems) => Err(match problems.first() {
            Some(problem) => format!("`{}` cannot be read: {}", text.trim(), problem.message),
            None => format!("`{}` cannot be read", text.trim()),
        }),
    }
}

/// Reads what may vary: `master.bore=5/8 in,3/4 in,slave`. What stands behind a comma belongs to
/// the one before it, unless it names a block or a field.
///
/// # Errors
/// There is a choice of nothing.
pub fn read_vary(text: &str) -> Result<Vec<Vary>, String> {
    let mut all: Vec<Vary> = Vec::new();
    for piece in text.split(',').map(str::trim) {
        let (head, first) = match piece.split_once('=') {
            Some((head, first)) => (head.trim(), Some(first.trim())),
            None => (piece, None),
        };
        let block = head.split('.').next().unwrap_or_default();
        if first.is_some() || Block::named(block).is_some() {
            all.push(Vary {
                subject: head.to_owned(),
                choices: first.into_iter().map(str::to_owned).collect(),
            });
            continue;
        }
        match all.last_mut() {
            Some(last) if !piece.is_empty() => last.choices.push(piece.to_owned()),
            _ => {
                return Err(
                    "it wants what may vary, such as `master.bore` or `slave=hy_s22,hy_s25`"
                        .to_owned(),
                );
            }
        }
    }
    Ok(all)
}

/// What one thread has found.
struct Found<'s> {
    tried: u64,
    passing: u64,
    best: Shortlist<'s>,
    front: Front,
    nearest: Shortlist<'s>,
}

fn search_all(
    space: Space,
    display: Display,
    rebuild: Rebuild<'_>,
    all: u64,
    search: &Search,
    settings: &Settings,
    work: &Work<'_>,
) -> Sizes {
    let new_bench = || Bench::new(settings, space.may_be_toleranced());
    let better = |a: &Candidate, b: &Candidate| by(a, b, search.order);
    let nearer = |a: &Candidate, b: &Candidate| {
        a.errors
            .len()
            .cmp(&b.errors.len())
            .then(a.outside.total_cmp(&b.outside))
            .then_with(|| by(a, b, search.order))
    };
    let (found, ..) = side_by_side(
        all,
        work,
        || {
            let found = Found {
                tried: 0,
                passing: 0,
                best: Shortlist::new(search.best, &better),
                front: Front::default(),
                nearest: Shortlist::new(MISSES, &nearer),
            };
            (found, space.picker(rebuild), new_bench())
        },
        |(found, picker, bench), index| {
            let system = picker.pick(index);
            found.take(candidate(index, system, bench, settings));
        },
        |(found, ..), (more, ..)| found.merge(more),
    );
    let (mut best, mut nearest) = (found.best.into_sorted(), found.nearest.into_sorted());
    for one in &mut best {
        one.on_front = found.front.holds(one);
    }
    let (mut picker, mut bench) = (space.picker(rebuild), new_bench());
    let front = found
        .front
        .indices()
        .take(MOST_FRONT)
        .map(|index| Candidate {
            on_front: true,
            ..candidate(index, picker.pick(index), &mut bench, settings)
        });
    let front: Vec<Candidate> = front.collect();
    // What was wrong is only put into words for those that are told.
    for candidate in &mut nearest {
        candidate.say(picker.pick(candidate.index), settings);
    }
    drop(picker);
    Sizes {
        display,
        tried: found.tried,
        passing: found.passing,
        unbeaten: found.front.count(),
        best,
        front,
        nearest,
        space,
    }
}

fn candidate(index: u64, system: &System, bench: &mut Bench<'_>, settings: &Settings) -> Candidate {
    let judged = bench.judge(system);
    let mut candidate = Candidate {
        index,
        margin: None,
        effort: None,
        bite: None,
        outside: 0.0,
        warnings: Vec::new(),
        errors: Vec::new(),
        on_front: false,
    };
    if let Ok(outcome) = &judged.outcome {
        candidate.measure(outcome, judged.tolerances.as_ref());
    } else if judged.raised.is_empty() {
        let why = "it cannot be worked out".to_owned();
        candidate.errors.push((CheckId::NotWorked.name(), why));
    }
    let loud = judged.raised.iter().filter(|(_, allow)| allow.is_none());
    for check in loud.map(|(raised, _)| Check::of(raised.check)) {
        match check.severity_under(settings) {
            Some(Severity::Error) => candidate.errors.push((check.name(), String::new())),
            Some(Severity::Warning) if !candidate.warnings.contains(&check.name()) => {
                candidate.warnings.push(check.name());
            }
            _ => {}
        }
    }
    candidate
}

impl Candidate {
    fn measure(&mut self, outcome: &Outcome, tolerances: Option<&Tolerances>) {
        let margin = result!(release_margin);
        self.margin = match tolerances {
            None => outcome.get(margin),
            // Where it cannot be worked out somewhere in the bands, it has no worst.
            Some(tolerances) => tolerances.get(margin).map(|spread| spread.worst.low),
        };
        self.effort = outcome.get(result!(pedal_effort));
        let ends = [result!(release_margin), result!(overtravel_margin)];
        let past = ends.into_iter().filter_map(|end| Some(-outcome.get(end)?));
        self.outside = past.fold(0.0, f64::max);
        let point = outcome.get(result!(release_point));
        let used = outcome.get(result!(pedal_travel_used));
        self.bite = point.zip(used).map(|(point, used)| point / used);
    }

    /// Puts the errors of a candidate into words.
    fn say(&mut self, system: &System, settings: &Settings) {
        let told = judge(system, settings).told;
        let loud = told.into_iter().filter(|(_, allow)| allow.is_none());
        let errors = loud.filter_map(|(Told { problem, .. }, _)| {
            let check = Check::of(problem.check);
            let severity = check.severity_under(settings)?;
            (severity == Severity::Error).then_some((check.name(), problem.message))
        });
        let errors: Vec<_> = errors.collect();
        if !errors.is_empty() {
            self.errors = errors;
        }
    }
}

/// Which of two is the better; of equals the first counts, so that the order of the work does not
/// show.
fn by(a: &Candidate, b: &Candidate, order: Order) -> Ordering {
    let middle = middle_bite();
    let worth = |candidate: &Candidate| match order {
        Order::Margin => candidate.margin,
        Order::Effort => candidate.effort.map(|effort| -effort),
        Order::Bite => candidate.bite.map(|bite| -(bite - middle).abs()),
    };
    let worth = |candidate: &Candidate| worth(candidate).unwrap_or(f64::NEG_INFINITY);
    worth(b).total_cmp(&worth(a)).then(a.index.cmp(&b.index))
}

/// The middle of where the point of release should lie, by the limits of the checks for it.
fn middle_bite() -> f64 {
    let limit = |check: CheckId| Some(Check::of(check).limits.first()?.value);
    let (left, before) = (limit(CheckId::LowBite), limit(CheckId::HighBite));
    (before.unwrap_or(0.0) + 1.0 - left.unwrap_or(0.0)) / 2.0
}

impl Found<'_> {
    fn take(&mut self, candidate: Candidate) {
        self.tried += 1;
        if candidate.errors.is_empty() {
            self.passing += 1;
            self.front.take(&candidate);
            self.best.take(candidate);
        } else {
            self.nearest.take(candidate);
        }
    }

    fn merge(&mut self, other: Self) {
        self.tried += other.tried;
        self.passing += other.passing;
        self.front.merge(other.front);
        self.best.merge(other.best);
        self.nearest.merge(other.nearest);
    }
}

impl Sizes {
    /// A candidate in words: `master.bore 3/4 in, slave.bore 7/8 in`.
    pub fn name_of(&self, candidate: &Candidate) -> String {
        self.space.name_of(candidate.index)
    }

    /// How many of each thing were tried: `35 master.bore × 35 slave.bore`.
    pub fn axes(&self) -> String {
        let axes = self.space.axes.iter();
        let axes = axes.map(|axis| format!("{} {}", axis.choices.len(), axis.subject.words()));
        axes.collect::<Vec<_>>().join(" × ")
    }
}
