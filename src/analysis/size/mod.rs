//! The search for sizes. It tries every combination of what may vary, and gives the best of those that pass every
//! check. For the nearest of the others it says why they fail.

mod front;
mod request;

use self::front::{Front, Shortlist};
use self::request::wanted;
pub use self::request::{Vary, read_vary};
use super::judge::{Bench, judge};
use super::kit::{chosen, nothing_to_choose};
use super::side_by_side::side_by_side;
use super::{Pick, Work, no_system};
use crate::check_id::CheckId;
use crate::checks::{Check, Told};
use crate::finding::Severity;
use crate::model::{
    Axis, Built, Bundle, Files, MAX_COMBINATIONS, Rebuild, Source, Space, Subject, System,
    build_named,
};
use crate::quantity::{Display, Money};
use crate::result;
use crate::schema::BlockId;
use crate::settings::Settings;
use crate::solve::{Outcome, Tolerances};
use std::cmp::Ordering;
use std::collections::BTreeSet;
use std::sync::Arc;

/// What a search is asked for.
#[derive(Clone, Debug)]
pub struct Search {
    /// The name of the system to find sizes for.
    pub system: String,
    /// What may vary. If empty, the system's own choices vary, or else the commonly made bores.
    pub vary: Vec<Vary>,
    /// The parts that a system with choices keeps while something else varies. If something is asked to vary, one
    /// part of each other choice must be picked.
    pub picks: Vec<Pick>,
    /// The order of the combinations that pass.
    pub order: Order,
    /// How many of the best are kept.
    pub best: usize,
}

impl Search {
    /// How many of the best are kept unless a search asks for another number.
    pub const USUAL_BEST: u16 = 12;

    /// A search in a system as it is, for the most release margin.
    pub fn of(system: String) -> Self {
        Self {
            system,
            vary: Vec::new(),
            picks: Vec::new(),
            order: Order::Margin,
            best: usize::from(Self::USUAL_BEST),
        }
    }
}

/// The order in which combinations are ranked.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Order {
    /// The largest release margin in the worst case of the tolerances.
    Margin,
    /// The least pedal effort.
    Effort,
    /// The point of release nearest to the middle of its window.
    Bite,
    /// The lowest price of all parts together.
    Price,
}

impl Order {
    /// The name on the command line and in machine output.
    pub fn name(self) -> &'static str {
        match self {
            Self::Margin => "margin",
            Self::Effort => "effort",
            Self::Bite => "bite",
            Self::Price => "price",
        }
    }
}

/// Why there is nothing to search, as a sentence.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NoSizes {
    /// The spec has mistakes in it.
    Mistakes(String),
    /// The request cannot be fulfilled.
    Asked(String),
}

impl From<String> for NoSizes {
    fn from(why: String) -> Self {
        Self::Asked(why)
    }
}

/// The result of a search.
#[derive(Debug)]
pub struct Sizes {
    /// The combinations that were searched.
    pub space: Space,
    /// The blocks whose choices keep one part.
    kept: Vec<BlockId>,
    /// How values are shown: in the units of the system.
    pub display: Display,
    /// How many combinations were tried.
    pub tried: u64,
    /// How many of them have parts that do not fit together.
    pub unfit: u64,
    /// How many of them pass every check.
    pub passing: u64,
    /// The order that was asked for.
    pub order: Order,
    /// The prices of those that pass.
    pub priced: Priced,
    /// Those that pass every check, the best first.
    pub best: Vec<Candidate>,
    /// How many of those that pass are unbeaten in margin, effort and price together.
    pub unbeaten: u64,
    /// Whether there may be more unbeaten ones than were counted, all with less margin.
    pub is_cut: bool,
    /// Whether any of the unbeaten ones has a price.
    pub is_priced: bool,
    /// The unbeaten ones by margin, as many as are reported.
    pub front: Vec<Candidate>,
    /// Of those that fail, the ones with the fewest errors, those nearest to the cover's window first.
    pub nearest: Vec<Candidate>,
}

/// How many combinations that pass have a price, and in which currencies.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Priced {
    /// How many have a price.
    pub count: u64,
    /// The codes of their currencies, in order. Prices in different currencies are not compared.
    pub currencies: BTreeSet<&'static str>,
}

impl Priced {
    fn add(&mut self, price: Option<Money>) {
        if let Some(price) = price {
            self.count += 1;
            self.currencies.insert(price.currency.code());
        }
    }

    fn merge(&mut self, other: Self) {
        self.count += other.count;
        self.currencies.extend(other.currencies);
    }
}

/// One combination and its values. Lengths in mm, forces in N.
#[derive(Clone, PartialEq, Debug)]
pub struct Candidate {
    /// The index of the combination in the space.
    pub index: u64,
    /// The release margin, in the worst case of the tolerances if the spec has any.
    pub margin: Option<f64>,
    /// The highest pedal effort; `None` where nothing can be worked out.
    pub effort: Option<f64>,
    /// What all parts cost together, if each has a price and all are in one currency.
    pub price: Option<Money>,
    /// Pad travel at release as a share of the travel used.
    pub bite: Option<f64>,
    /// By how much the fingers' travel is outside the cover's window.
    pub outside: f64,
    /// The checks that warn about it.
    pub warnings: Vec<&'static str>,
    /// The checks that it fails, each with its message.
    pub errors: Vec<(&'static str, String)>,
    /// Whether it passes and no other beats it in margin, effort and price together.
    pub on_front: bool,
}

/// How many of the nearest misses are reported.
const MISSES: usize = 5;
/// The most unbeaten candidates that are reported. If there are more, those with the most margin are.
const MOST_FRONT: usize = 50;

/// Searches for sizes that pass every check.
///
/// # Errors
/// Why the request cannot be fulfilled, or the mistakes of the spec.
pub fn size(
    source: Arc<Source>,
    files: &dyn Files,
    search: &Search,
    work: &Work<'_>,
) -> Result<Sizes, NoSizes> {
    let bundle = Bundle::load(source, files);
    let settings = bundle.settings.clone();
    let Some(built) = build_named(&bundle, &search.system) else {
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
    let kept = Kept::of(&built, search)?;
    let space = |wanted, kept: &[(BlockId, &str)]| {
        Space::vary(rebuild, wanted, kept).map_err(|problems| {
            let why = problems.first().map(|problem| problem.message.as_str());
            format!(
                "`{}` cannot be worked out with these: {}",
                system.name,
                why.unwrap_or("something is missing")
            )
        })
    };
    let plain = space(Vec::new(), &kept.with_firsts)?;
    let wanted = wanted(
        plain.picker(rebuild).pick(0),
        &bundle,
        &search.vary,
        kept.is_choosing,
    )?;
    let space = space(wanted, &kept.parts)?;
    let all = match space.count() {
        Some(count) if count <= MAX_COMBINATIONS => count,
        _ => {
            return Err(format!(
                "that makes more than {MAX_COMBINATIONS} combinations; vary less, or in wider steps"
            )
            .into());
        }
    };
    let sizes = search_all(space, system, rebuild, all, search, &settings, work);
    let kept = kept.parts.iter().map(|(block, _)| *block).collect();
    Ok(Sizes { kept, ..sizes })
}

/// How a search treats a system's own choices.
struct Kept<'s> {
    /// The parts that are kept.
    parts: Vec<(BlockId, &'s str)>,
    /// The parts that are kept, and the first part of each other choice.
    with_firsts: Vec<(BlockId, &'s str)>,
    /// Whether any choice is left for the search to try.
    is_choosing: bool,
}

impl<'s> Kept<'s> {
    fn of(built: &'s Built, search: &Search) -> Result<Self, String> {
        let name = &built.system.name;
        let mut kept = Kept {
            parts: Vec::new(),
            with_firsts: Vec::new(),
            is_choosing: false,
        };
        let Some(space) = &built.space else {
            return match search.picks.is_empty() {
                true => Ok(kept),
                false => Err(nothing_to_choose(name)),
            };
        };
        let picked = chosen(name, space, &search.picks)?;
        let mut missing = Vec::new();
        for (axis, picked) in space.axes.iter().zip(picked) {
            let (block, words) = (axis.subject.block(), axis.subject.words());
            let is_varied = search.vary.iter().any(|vary| vary.subject == words);
            let Some(part) = axis.choices.get(picked.unwrap_or(0)) else {
                continue;
            };
            kept.with_firsts.push((block, &part.name));
            if is_varied && picked.is_some() {
                return Err(format!(
                    "the {words} is picked and varied; leave one of the two out"
                ));
            }
            if picked.is_some() || (!is_varied && axis.choices.len() == 1) {
                kept.parts.push((block, &part.name));
            } else if search.vary.is_empty() {
                kept.is_choosing = true;
            } else if !is_varied {
                missing.push((words, &part.name));
            }
        }
        match missing.is_empty() {
            true => Ok(kept),
            false => Err(must_pick(name, &missing)),
        }
    }
}

/// The message that one part of each choice must be picked before values can vary.
fn must_pick(system: &str, missing: &[(String, &String)]) -> String {
    let blocks: Vec<&str> = missing.iter().map(|(block, _)| block.as_str()).collect();
    let picks = missing
        .iter()
        .map(|(block, part)| format!("{block}={part}"));
    format!(
        "`{system}` leaves {} to choose; pick what to keep while something else varies, such as \
         `--pick {}`; without `--vary` its combinations are ranked",
        blocks.join(", "),
        picks.collect::<Vec<_>>().join(",")
    )
}

/// The findings of one thread.
struct Found<'s> {
    tried: u64,
    unfit: u64,
    passing: u64,
    priced: Priced,
    best: Shortlist<'s>,
    front: Front,
    nearest: Shortlist<'s>,
}

fn search_all(
    space: Space,
    system: &System,
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
                unfit: 0,
                passing: 0,
                priced: Priced::default(),
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
    let unbeaten = found.front.finish();
    for one in &mut best {
        one.on_front = unbeaten.holds(one);
    }
    let (mut picker, mut bench) = (space.picker(rebuild), new_bench());
    let front = unbeaten.indices().take(MOST_FRONT).map(|index| Candidate {
        on_front: true,
        ..candidate(index, picker.pick(index), &mut bench, settings)
    });
    let front: Vec<Candidate> = front.collect();
    // Errors are put into words only for the candidates that are reported.
    for candidate in &mut nearest {
        candidate.say(picker.pick(candidate.index), settings);
    }
    drop(picker);
    Sizes {
        display: system.display.clone(),
        kept: Vec::new(),
        tried: found.tried,
        unfit: found.unfit,
        passing: found.passing,
        order: search.order,
        priced: found.priced,
        unbeaten: unbeaten.count(),
        is_cut: unbeaten.is_cut,
        is_priced: unbeaten.is_priced(),
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
        price: system.price(),
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
            // A system that cannot be worked out somewhere in the bands has no worst case.
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

    /// Whether parts of it do not go together.
    fn is_unfit(&self) -> bool {
        let unfit = CheckId::DoesNotFit.name();
        self.errors.iter().any(|(check, _)| *check == unfit)
    }

    /// Writes the errors of a candidate in words.
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

/// Which of two candidates is better. Of equal ones the first counts, so that the order of the work does not show.
fn by(a: &Candidate, b: &Candidate, order: Order) -> Ordering {
    let middle = middle_bite();
    if order == Order::Price {
        // A candidate without a price, or with one in another currency, comes last.
        let key = |one: &Candidate| one.price.map(|price| (price.currency.code(), price.amount));
        let known = a.price.is_none().cmp(&b.price.is_none());
        return known
            .then_with(|| key(a).cmp(&key(b)))
            .then_with(|| by(a, b, Order::Margin));
    }
    let worth = |candidate: &Candidate| match order {
        Order::Margin => candidate.margin,
        Order::Effort => candidate.effort.map(|effort| -effort),
        Order::Bite => candidate.bite.map(|bite| -(bite - middle).abs()),
        Order::Price => None,
    };
    let worth = |candidate: &Candidate| worth(candidate).unwrap_or(f64::NEG_INFINITY);
    worth(b).total_cmp(&worth(a)).then(a.index.cmp(&b.index))
}

/// The middle of the window for the point of release, from the limits of its checks.
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
            self.priced.add(candidate.price);
            self.front.take(&candidate);
            self.best.take(candidate);
        } else if candidate.is_unfit() {
            // No other size cures it, so that it is no near miss.
            self.unfit += 1;
        } else {
            self.nearest.take(candidate);
        }
    }

    fn merge(&mut self, other: Self) {
        self.tried += other.tried;
        self.unfit += other.unfit;
        self.passing += other.passing;
        self.priced.merge(other.priced);
        self.front.merge(other.front);
        self.best.merge(other.best);
        self.nearest.merge(other.nearest);
    }
}

impl Sizes {
    /// The order of those that pass: the one asked for, or the margin if none has a price.
    pub fn ranked_by(&self) -> Order {
        match self.order {
            Order::Price if self.priced.count == 0 => Order::Margin,
            order => order,
        }
    }

    /// The varying values of a candidate, in words: `master.bore 3/4 in, slave.bore 7/8 in`.
    pub fn name_of(&self, candidate: &Candidate) -> String {
        self.in_words(candidate.index, |axis| !self.is_kept(axis))
    }

    /// The parts from the system's choices that all candidates have: `slave hy_s22`. Empty if there are none.
    pub fn kept(&self) -> String {
        self.in_words(0, |axis| self.is_kept(axis))
    }

    fn in_words(&self, index: u64, is_meant: impl Fn(&Axis) -> bool) -> String {
        let axes = self.space.axes.iter().zip(self.space.digits(index));
        let words = axes
            .filter(|(axis, _)| is_meant(axis))
            .map(|(axis, at)| format!("{} {}", axis.subject.words(), axis.choices[at].name));
        words.collect::<Vec<_>>().join(", ")
    }

    fn is_kept(&self, axis: &Axis) -> bool {
        matches!(axis.subject, Subject::Part(block) if self.kept.contains(&block))
    }

    /// How many of each thing were tried: `35 master.bore × 35 slave.bore`.
    pub fn axes(&self) -> String {
        let axes = self.space.axes.iter().filter(|axis| !self.is_kept(axis));
        let axes = axes.map(|axis| format!("{} {}", axis.choices.len(), axis.subject.words()));
        axes.collect::<Vec<_>>().join(" × ")
    }
}
