//! A system with choices before and after: which combinations stopped or began to work, which lost most, and which
//! parts changed.

use super::inputs::{self, InputChange, Speaker};
use crate::analysis::judge::{Bench, FAILS, judge};
use crate::analysis::{Report, Worked};
use crate::checks::Check;
use crate::model::{Built, Rebuild, Space, Subject, System, build_named};
use crate::quantity::Money;
use crate::result;
use crate::schema::ResultId;
use crate::settings::Settings;

/// With more combinations, only the number that works is compared.
const MOST_COMPARED: u64 = 100_000;
/// How many combinations are named.
const MOST_NAMED: usize = 10;

/// The least and the greatest of a result, in its internal unit.
type Ends = (f64, f64);

/// How the combinations of a system with choices changed.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct KitChange {
    /// Combinations that worked and no longer do, with the first reason; at most [`MOST_NAMED`].
    pub died: Vec<(String, String)>,
    /// How many combinations stopped working.
    pub died_count: u64,
    /// Combinations that did not work and now do; at most [`MOST_NAMED`].
    pub came: Vec<String>,
    /// How many combinations began to work.
    pub came_count: u64,
    /// Choices that are no longer offered, as `slave hy_s22`.
    pub withdrawn: Vec<String>,
    /// Choices that are new.
    pub offered: Vec<String>,
    /// The combination that lost the largest share of its release margin, of those that work before and after: its
    /// name, the margin in mm before and after.
    pub margin: Option<(String, f64, f64)>,
    /// The combination whose pedal effort rose most: its name, the effort in N before and after.
    pub heavier: Option<(String, f64, f64)>,
    /// The combination whose price rose most: its name, the price before and after.
    pub dearer: Option<(String, Money, Money)>,
    /// The results whose range changed, over the combinations that work: the range before and after, in
    /// internal units.
    pub ranges: Vec<(ResultId, Ends, Ends)>,
}

impl KitChange {
    /// Whether nothing changed.
    pub fn is_same(&self) -> bool {
        *self == Self::default()
    }
}

/// The combinations of one version.
struct KitSide<'a> {
    speaker: Speaker<'a>,
    built: Built,
    report: &'a Report,
}

impl<'a> KitSide<'a> {
    fn of(report: &'a Report, worked: &'a Worked) -> Option<Self> {
        Some(Self {
            speaker: Speaker::new(report, worked),
            built: build_named(&report.bundle, &worked.system.name)?,
            report,
        })
    }

    fn space(&self) -> Option<&Space> {
        let space = self.built.space.as_ref()?;
        space
            .count()
            .is_some_and(|count| count <= MOST_COMPARED)
            .then_some(space)
    }

    fn rebuild(&self) -> Option<Rebuild<'_>> {
        Rebuild::of(&self.report.bundle, &self.built.system)
    }

    fn settings(&self) -> &Settings {
        &self.report.settings
    }
}

/// What is compared of one combination.
struct Look {
    works: bool,
    margin: Option<f64>,
    effort: Option<f64>,
    price: Option<Money>,
}

fn look(system: &System, bench: &mut Bench<'_>, settings: &Settings) -> Look {
    let glance = bench.judge(system);
    let fails = glance.raised.iter().any(|(raised, allow)| {
        allow.is_none() && Check::of(raised.check).severity_under(settings) >= Some(FAILS)
    });
    let get = |id| glance.outcome.as_ref().ok()?.get(id);
    Look {
        works: system.is_sound() && !fails && glance.outcome.is_ok(),
        margin: get(result!(release_margin)),
        effort: get(result!(pedal_effort)),
        price: system.price(),
    }
}

/// What changed in a kit, and which of its parts changed; `None` where a version has no choices, or too many.
pub(super) fn change(
    before: (&Report, &Worked),
    after: (&Report, &Worked),
) -> Option<(KitChange, Vec<String>, Vec<InputChange>)> {
    let (kit_before, kit_after) = (before.1.kit.as_ref()?, after.1.kit.as_ref()?);
    let old_side = KitSide::of(before.0, before.1)?;
    let new_side = KitSide::of(after.0, after.1)?;
    let (old, new) = (old_side.space()?, new_side.space()?);
    let subjects =
        |space: &Space| -> Vec<Subject> { space.axes.iter().map(|a| a.subject).collect() };
    let blocks: Vec<String> = subjects(new)
        .iter()
        .map(|subject| subject.words())
        .collect();
    let mut kit = KitChange::default();
    for (own, other, list) in [(old, new, &mut kit.withdrawn), (new, old, &mut kit.offered)] {
        for axis in &own.axes {
            let known = other
                .axes
                .iter()
                .find(|known| known.subject == axis.subject);
            let is_known = |name: &str| {
                known.is_some_and(|known| known.choices.iter().any(|choice| choice.name == name))
            };
            let gone = axis.choices.iter().filter(|choice| !is_known(&choice.name));
            list.extend(gone.map(|choice| format!("{} {}", axis.subject.words(), choice.name)));
        }
    }
    let parts = parts(&old_side, &new_side)?;
    for range in &kit_before.tried.ranges {
        let other = kit_after
            .tried
            .ranges
            .iter()
            .find(|r| r.result == range.result);
        let Some(other) = other else { continue };
        let [was, is] = [(range.low, range.high), (other.low, other.high)];
        let differ = |a: f64, b: f64| (a - b).abs() > 1e-9 * a.abs().max(b.abs()).max(1e-3);
        if differ(was.0, is.0) || differ(was.1, is.1) {
            kit.ranges.push((range.result, was, is));
        }
    }
    if subjects(old) == subjects(new) {
        pairs(&old_side, &new_side, (old, new), &mut kit);
    }
    Some((kit, blocks, parts))
}

/// Compares each combination with the same one of the other version.
fn pairs(
    old_side: &KitSide<'_>,
    new_side: &KitSide<'_>,
    (old, new): (&Space, &Space),
    kit: &mut KitChange,
) -> Option<()> {
    let mut old_picker = old.picker(old_side.rebuild()?);
    let mut new_picker = new.picker(new_side.rebuild()?);
    let mut old_bench = Bench::new(old_side.settings(), old.may_be_toleranced());
    let mut new_bench = Bench::new(new_side.settings(), new.may_be_toleranced());
    // For each axis, the place of each of its choices among the choices after, if it is there.
    let places: Vec<Vec<Option<usize>>> = old
        .axes
        .iter()
        .zip(&new.axes)
        .map(|(old, new)| {
            let place = |name: &str| new.choices.iter().position(|choice| choice.name == name);
            let choices = old.choices.iter();
            choices.map(|choice| place(&choice.name)).collect()
        })
        .collect();
    let mut digits = vec![0; old.axes.len()];
    let (mut lost, mut rise, mut dearer) = (0.0, 0.0, rust_decimal::Decimal::ZERO);
    for index in 0..old.count()? {
        old.digits_into(index, &mut digits);
        let chosen = digits.iter().zip(&places);
        let same: Option<Vec<usize>> = chosen.map(|(digit, places)| places[*digit]).collect();
        let Some(same) = same else { continue };
        let same = new.index_of(&same);
        let was = look(old_picker.pick(index), &mut old_bench, old_side.settings());
        let system = new_picker.pick(same);
        let is = look(system, &mut new_bench, new_side.settings());
        match (was.works, is.works) {
            (true, false) => {
                kit.died_count += 1;
                if kit.died.len() < MOST_NAMED {
                    let judged = judge(system, new_side.settings());
                    let reason = judged.reason(new_side.settings());
                    let reason = reason.unwrap_or("it cannot be worked out");
                    kit.died.push((new.name_of(same), reason.to_owned()));
                }
            }
            (false, true) => {
                kit.came_count += 1;
                if kit.came.len() < MOST_NAMED {
                    kit.came.push(new.name_of(same));
                }
            }
            (true, true) => {
                if let (Some(a), Some(b)) = (was.margin, is.margin)
                    && a > 0.0
                    && (a - b) / a > lost + 1e-9
                {
                    lost = (a - b) / a;
                    kit.margin = Some((new.name_of(same), a, b));
                }
                if let (Some(a), Some(b)) = (was.effort, is.effort)
                    && b - a > rise + 1e-6
                {
                    rise = b - a;
                    kit.heavier = Some((new.name_of(same), a, b));
                }
                if let (Some(a), Some(b)) = (was.price, is.price)
                    && a.currency == b.currency
                    && b.amount - a.amount > dearer
                {
                    dearer = b.amount - a.amount;
                    kit.dearer = Some((new.name_of(same), a, b));
                }
            }
            (false, false) => {}
        }
    }
    Some(())
}

/// The changes of the parts that both versions offer, each by its name.
fn parts(old_side: &KitSide<'_>, new_side: &KitSide<'_>) -> Option<Vec<InputChange>> {
    let (old, new) = (old_side.space()?, new_side.space()?);
    let mut old_picker = old.picker(old_side.rebuild()?);
    let mut new_picker = new.picker(new_side.rebuild()?);
    let mut changes = Vec::new();
    for (old_at, axis) in old.axes.iter().enumerate() {
        let Subject::Part(block) = axis.subject else {
            continue;
        };
        let Some(new_at) = new
            .axes
            .iter()
            .position(|other| other.subject == axis.subject)
        else {
            continue;
        };
        for (old_choice, choice) in axis.choices.iter().enumerate() {
            let mut choices = new.axes[new_at].choices.iter();
            let Some(new_choice) = choices.position(|other| other.name == choice.name) else {
                continue;
            };
            let one = old_picker.pick(old.index_of_choice(old_at, old_choice));
            let other = new_picker.pick(new.index_of_choice(new_at, new_choice));
            if let (Some(one), Some(other)) = (one.component(block), other.component(block)) {
                let sides = ((old_side.speaker, one), (new_side.speaker, other));
                for change in inputs::of_part(sides.0, sides.1) {
                    // What the system itself gives for the block is the same with each of its parts.
                    if change.part.is_some() || !changes.contains(&change) {
                        changes.push(change);
                    }
                }
            }
        }
    }
    Some(changes)
}
