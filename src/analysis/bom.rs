//! Bills of materials: what to order for one combination, for a mix of combinations, or to stock for all that work.

use super::judge::judge;
use super::kit::{judge_kit, nothing_to_choose};
use super::{Pick, Work, meant, no_system};
use crate::model::{
    Built, Bundle, Files, OrderItem, Rebuild, Source, Space, Subject, System, build_named,
};
use crate::quantity::{Money, Sums, nearest};
use crate::settings::Settings;
use rust_decimal::Decimal;
use std::sync::Arc;

/// How many kits of a mix take each part of a block: the block's name, and the parts' names.
pub type Mix = (String, Vec<(String, u32)>);

/// What a bill is asked for.
#[derive(Clone, Debug, Default)]
pub struct BomRequest {
    /// The system; the file's only one if none is named.
    pub system: Option<String>,
    /// The parts picked where the system leaves a choice.
    pub picks: Vec<Pick>,
    /// The parts mixed where the system leaves a choice.
    pub mix: Vec<Mix>,
    /// The number of kits; 1 if neither this nor a mix gives it.
    pub kits: Option<u32>,
}

/// A bill of materials.
#[derive(Debug)]
pub struct Bom {
    /// The system whose bill it is.
    pub system: String,
    /// A longer name for people, where one is given.
    pub title: Option<String>,
    /// What it is for.
    pub purpose: BomPurpose,
    /// A row for each part, in the order from the pedal to the pressure plate. Parts with the same number, supplier
    /// and price share a row.
    pub rows: Vec<BomRow>,
    /// The sum of all prices, for each currency.
    pub sums: Sums,
    /// Blocks that neither take a part nor have any field of an order.
    pub unlisted: Vec<String>,
    /// Combinations in the bill that fail, each with its first reason; at most [`MOST_FAILING`].
    pub failing: Vec<String>,
    /// How many combinations in the bill fail.
    pub failing_count: u64,
}

/// What a bill is for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum BomPurpose {
    /// Kits to build, and how many.
    Kits(u32),
    /// One of each part of the combinations that work.
    Shelf {
        /// How many combinations work.
        works: u64,
        /// How many combinations there are.
        of: u64,
        /// Parts that work in no combination, which are left out.
        left_out: Vec<String>,
    },
}

/// One part of a bill.
#[derive(Clone, PartialEq, Debug)]
pub struct BomRow {
    /// The component: `master`, `line hard`.
    pub what: String,
    /// The name of the part, where one is taken.
    pub part: Option<String>,
    /// The part number.
    pub number: Option<String>,
    /// The supplier.
    pub supplier: Option<String>,
    /// The author's note on it.
    pub note: Option<String>,
    /// How many of it, for all kits together.
    pub quantity: Decimal,
    /// The price of one.
    pub price: Option<Money>,
    /// Price times quantity.
    pub sum: Option<Money>,
}

/// The total for one supplier.
#[derive(Clone, PartialEq, Debug)]
pub struct SupplierTotal {
    /// The supplier; `None` for rows that name none.
    pub supplier: Option<String>,
    /// The sum of all prices, for each currency.
    pub sums: Sums,
    /// How many rows have no price.
    pub unpriced: usize,
}

/// Why there is no bill.
#[derive(Debug)]
pub enum NoBom {
    /// The spec has mistakes in it.
    Mistakes(String),
    /// The request cannot be fulfilled.
    Asked(String),
}

/// How many failing combinations are named.
pub const MOST_FAILING: usize = 5;

/// How many combinations of a mix are checked one by one.
const MOST_CHECKED: u64 = 100_000;

/// Works out a bill of materials.
///
/// # Errors
/// The spec has mistakes, or the request cannot be fulfilled.
pub fn bom(
    source: Arc<Source>,
    files: &dyn Files,
    request: &BomRequest,
    work: &Work<'_>,
) -> Result<Bom, NoBom> {
    let bundle = Bundle::load(source, files);
    let root = &bundle.sources[0];
    let names: Vec<&str> = root.systems().map(|s| s.name.text.as_str()).collect();
    let name = match (request.system.as_deref(), names.as_slice()) {
        (Some(name), _) => name,
        (None, [only]) => *only,
        (None, []) if !root.tree.is_flawless() => return Err(mistakes(&root.name)),
        (None, []) => {
            return Err(NoBom::Asked(format!(
                "there is no system in `{}`",
                root.name
            )));
        }
        (None, all) => {
            return Err(NoBom::Asked(format!(
                "`{}` has several systems; name one: {}",
                root.name,
                all.join(", ")
            )));
        }
    };
    let built = build_named(&bundle, name).ok_or_else(|| NoBom::Asked(no_system(root, name)))?;
    if !built.system.is_sound() {
        return Err(mistakes(&built.system.name));
    }
    let Some(rebuild) = Rebuild::of(&bundle, &built.system) else {
        return Err(mistakes(&built.system.name));
    };
    match &built.space {
        None => of_one(&built.system, request, &bundle.settings),
        Some(space) => of_many(&built, space, rebuild, request, &bundle.settings, work),
    }
}

fn mistakes(what: &str) -> NoBom {
    NoBom::Mistakes(format!(
        "`{what}` has mistakes in it, so its bill would not be whole; `bitepoint check` lists them"
    ))
}

/// The bill of a system that leaves nothing to choose.
fn of_one(system: &System, request: &BomRequest, settings: &Settings) -> Result<Bom, NoBom> {
    if !request.picks.is_empty() || !request.mix.is_empty() {
        return Err(NoBom::Asked(nothing_to_choose(&system.name)));
    }
    let kits = request.kits.unwrap_or(1);
    let mut bill = Bill::new(system, BomPurpose::Kits(kits));
    for item in system.order_items() {
        bill.add(&item, kits.into());
    }
    bill.judge(system, settings, String::new);
    Ok(bill.bom)
}

/// The bill of a system that leaves something to choose.
fn of_many(
    built: &Built,
    space: &Space,
    rebuild: Rebuild<'_>,
    request: &BomRequest,
    settings: &Settings,
    work: &Work<'_>,
) -> Result<Bom, NoBom> {
    let name = &built.system.name;
    let chosen = chosen(space, request).map_err(|why| NoBom::Asked(format!("`{name}`: {why}")))?;
    let (purpose, counts) = match chosen {
        Chosen::Kits(kits, counts) => (BomPurpose::Kits(kits), counts),
        Chosen::Shelf => {
            let judged = judge_kit(&built.system, space.clone(), rebuild, settings, work);
            let Some(kit) = judged.kit else {
                return Err(mistakes(name));
            };
            let works = |(tried, failing): &(u64, u64)| tried > failing;
            let counts: Vec<Vec<u32>> = kit
                .tried
                .singles
                .iter()
                .map(|axis| axis.iter().map(|single| u32::from(works(single))).collect())
                .collect();
            let none = space.axes.iter().zip(&counts).flat_map(|(axis, counts)| {
                let choices = axis.choices.iter().zip(counts);
                let none = choices.filter(|(_, count)| **count == 0);
                none.map(|(choice, _)| format!("{} {}", axis.subject.words(), choice.name))
            });
            let purpose = BomPurpose::Shelf {
                works: kit.tried.count - kit.tried.failing,
                of: kit.tried.count,
                left_out: none.collect(),
            };
            (purpose, counts)
        }
    };
    let mut picker = space.picker(rebuild);
    let firsts: Vec<usize> = counts
        .iter()
        .map(|axis| axis.iter().position(|count| *count > 0).unwrap_or(0))
        .collect();
    let first = picker.pick(space.index_of(&firsts)).clone();
    if !first.is_sound() {
        return Err(mistakes(name));
    }
    let fixed = match purpose {
        BomPurpose::Kits(kits) => kits,
        BomPurpose::Shelf { .. } => 1,
    };
    let mut bill = Bill::new(&first, purpose);
    for component in first.components() {
        let axis = space
            .axes
            .iter()
            .position(|axis| axis.subject == Subject::Part(component.block));
        let Some(axis) = axis else {
            if let Some(item) = component.order_item() {
                bill.add(&item, fixed.into());
            }
            continue;
        };
        for (choice, count) in counts[axis].iter().enumerate().filter(|(_, n)| **n > 0) {
            let mut digits = firsts.clone();
            digits[axis] = choice;
            let system = picker.pick(space.index_of(&digits));
            if !system.is_sound() {
                return Err(mistakes(name));
            }
            if let Some(item) = system
                .component(component.block)
                .and_then(|c| c.order_item())
            {
                bill.add(&item, (*count).into());
            }
        }
    }
    if matches!(bill.bom.purpose, BomPurpose::Kits(_)) {
        check_mix(space, rebuild, &counts, &mut bill, settings)?;
    }
    Ok(bill.bom)
}

/// How many kits take each choice of each axis.
enum Chosen {
    Kits(u32, Vec<Vec<u32>>),
    Shelf,
}

fn chosen(space: &Space, request: &BomRequest) -> Result<Chosen, String> {
    if request.picks.is_empty() && request.mix.is_empty() {
        return match request.kits {
            None => Ok(Chosen::Shelf),
            Some(kits) => Err(format!(
                "it leaves something to choose; say which parts the {kits} kits take, with `--pick` \
                 or `--mix`"
            )),
        };
    }
    let asked = request.picks.iter().map(|(block, _)| block);
    for block in asked.chain(request.mix.iter().map(|(block, _)| block)) {
        if !space.axes.iter().any(|axis| axis.subject.words() == *block) {
            let axes: Vec<String> = space.axes.iter().map(|a| a.subject.words()).collect();
            return Err(format!(
                "it leaves no `{block}` to choose, but {}",
                axes.join(", ")
            ));
        }
    }
    let totals = request.mix.iter().map(|(block, parts)| {
        let total: u64 = parts.iter().map(|(_, count)| u64::from(*count)).sum();
        (block, total)
    });
    let mut kits = request.kits.map(u64::from);
    for (block, total) in totals {
        let wanted = *kits.get_or_insert(total);
        if wanted != total {
            return Err(format!(
                "the mix of each {block} is for {total} kits, and {wanted} are wanted"
            ));
        }
    }
    let kits = u32::try_from(kits.unwrap_or(1)).map_err(|_| "that is too many kits".to_owned())?;
    let mut counts = Vec::with_capacity(space.axes.len());
    for axis in &space.axes {
        let block = axis.subject.words();
        let names: Vec<&str> = axis
            .choices
            .iter()
            .map(|choice| choice.name.as_str())
            .collect();
        let mut own = vec![0u32; names.len()];
        let mut take = |part: &str, count: u32| match names.iter().position(|name| *name == part) {
            None => Err(match nearest(part, names.iter().copied()) {
                Some(_) => format!(
                    "`{part}` is not among the choices of a {block}{}",
                    meant(part, names.iter().copied())
                ),
                None => format!(
                    "`{part}` is not among the choices of a {block}; there are {}",
                    names.join(", ")
                ),
            }),
            Some(at) if own[at] > 0 => Err(format!("`{part}` is asked for twice")),
            Some(at) => {
                own[at] = count;
                Ok(())
            }
        };
        let mixes: Vec<&Mix> = request
            .mix
            .iter()
            .filter(|(other, _)| *other == block)
            .collect();
        let picks: Vec<&Pick> = request
            .picks
            .iter()
            .filter(|(other, _)| *other == block)
            .collect();
        match (mixes.as_slice(), picks.as_slice()) {
            ([], []) => {
                return Err(format!(
                    "pick or mix a {block} as well: {}",
                    names.join(", ")
                ));
            }
            ([], [(_, part)]) => take(part, kits)?,
            ([(_, parts)], []) => {
                for (part, count) in parts {
                    take(part, *count)?;
                }
            }
            _ => return Err(format!("the {block} is picked or mixed more than once")),
        }
        counts.push(own);
    }
    Ok(Chosen::Kits(kits, counts))
}

/// Checks every combination in which a mix may be built.
fn check_mix(
    space: &Space,
    rebuild: Rebuild<'_>,
    counts: &[Vec<u32>],
    bill: &mut Bill,
    settings: &Settings,
) -> Result<(), NoBom> {
    let taken: Vec<Vec<usize>> = counts
        .iter()
        .map(|axis| (0..axis.len()).filter(|i| axis[*i] > 0).collect())
        .collect();
    let sizes = taken.iter().map(|axis| axis.len() as u64);
    let all = sizes.clone().try_fold(1u64, u64::checked_mul);
    let Some(all) = all.filter(|all| *all <= MOST_CHECKED) else {
        return Err(NoBom::Asked(format!(
            "the mix makes more than {MOST_CHECKED} combinations; mix fewer parts"
        )));
    };
    let mut picker = space.picker(rebuild);
    for mut index in 0..all {
        let mut digits = vec![0; taken.len()];
        for (digit, axis) in digits.iter_mut().zip(&taken).rev() {
            *digit = axis[(index % axis.len() as u64) as usize];
            index /= axis.len() as u64;
        }
        let index = space.index_of(&digits);
        bill.judge(picker.pick(index), settings, || space.name_of(index));
    }
    Ok(())
}

/// A bill while it is being made.
struct Bill {
    bom: Bom,
}

impl Bill {
    fn new(system: &System, purpose: BomPurpose) -> Self {
        let unlisted = system
            .components()
            .filter(|component| component.order_item().is_none());
        Self {
            bom: Bom {
                system: system.name.clone(),
                title: system.title.clone(),
                purpose,
                rows: Vec::new(),
                sums: Sums::default(),
                unlisted: unlisted.map(|component| component.title()).collect(),
                failing: Vec::new(),
                failing_count: 0,
            },
        }
    }

    /// Adds what a number of kits take of a component.
    fn add(&mut self, item: &OrderItem<'_>, kits: Decimal) {
        let own = |text: Option<&str>| text.map(str::to_owned);
        // A product that is too large for a number has no sum, and the row is shown without one.
        let quantity = item.quantity.checked_mul(kits).unwrap_or(Decimal::MAX);
        let sum = item.price.and_then(|price| price.times(quantity));
        let sum = sum.filter(|sum| self.bom.sums.add(*sum));
        let row = BomRow {
            what: item.what(),
            part: own(item.part()),
            number: own(item.number()),
            supplier: own(item.supplier()),
            note: own(item.note()),
            quantity,
            price: item.price,
            sum,
        };
        let is_same = |known: &&mut BomRow| {
            row.number.is_some()
                && known.number == row.number
                && known.supplier == row.supplier
                && known.price == row.price
                && known.part == row.part
                && known.note == row.note
        };
        let Some(known) = self.bom.rows.iter_mut().find(is_same) else {
            self.bom.rows.push(row);
            return;
        };
        known.what = format!("{}, {}", known.what, row.what);
        known.quantity = known
            .quantity
            .checked_add(row.quantity)
            .unwrap_or(Decimal::MAX);
        known.sum = known.price.and_then(|price| price.times(known.quantity));
    }

    /// Notes a combination that fails.
    fn judge(&mut self, system: &System, settings: &Settings, name: impl FnOnce() -> String) {
        let judged = judge(system, settings);
        let Some(reason) = judged.reason(settings) else {
            return;
        };
        self.bom.failing_count += 1;
        if self.bom.failing.len() < MOST_FAILING {
            let name = name();
            self.bom.failing.push(match name.is_empty() {
                true => reason.to_owned(),
                false => format!("{name}: {reason}"),
            });
        }
    }
}

impl Bom {
    /// The components without a price, as the list names them.
    pub fn unpriced(&self) -> impl Iterator<Item = String> {
        let rows = self.rows.iter().filter(|row| row.sum.is_none());
        rows.map(BomRow::title)
    }

    /// Sorts the rows by supplier, those without one last; the order within a supplier is kept.
    pub fn sort_by_supplier(&mut self) {
        let key = |row: &BomRow| (row.supplier.is_none(), row.supplier.clone());
        self.rows.sort_by_key(key);
    }

    /// The total for each supplier, in the order of their names.
    pub fn totals(&self) -> Vec<SupplierTotal> {
        let mut totals: Vec<SupplierTotal> = Vec::new();
        for row in &self.rows {
            let at = totals
                .iter()
                .position(|total| total.supplier == row.supplier);
            let at = at.unwrap_or_else(|| {
                totals.push(SupplierTotal {
                    supplier: row.supplier.clone(),
                    sums: Sums::default(),
                    unpriced: 0,
                });
                totals.len() - 1
            });
            let is_added = row.sum.is_some_and(|sum| totals[at].sums.add(sum));
            totals[at].unpriced += usize::from(!is_added);
        }
        totals.sort_by_key(|total| (total.supplier.is_none(), total.supplier.clone()));
        totals
    }
}

impl BomRow {
    /// As a sentence names it: `slave hy_s22`, `line hard`.
    pub fn title(&self) -> String {
        match &self.part {
            Some(part) => format!("{} {part}", self.what),
            None => self.what.clone(),
        }
    }
}
