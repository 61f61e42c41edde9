//! One typed system: its blocks, their values in internal units, and where the text says each.

use super::points::Points;
use super::price_limit::PriceLimit;
use super::soundness::Soundness;
use crate::check_id::CheckId;
use crate::field;
use crate::finding::Place;
use crate::quantity::{Band, Dimension, Display, Money, UnitExpr};
use crate::schema::{BLOCKS, BlockId, FieldId, ForkDrive, Need, Presence, block_needs};
use crate::syntax::Comparison;
use rust_decimal::Decimal;
use std::sync::Arc;

/// One system, as far as the spec says it.
#[derive(Clone, PartialEq, Debug)]
pub struct System {
    /// Its name as the spec writes it.
    pub name: String,
    /// A longer name for people, where one is given.
    pub title: Option<String>,
    /// Its name in its head.
    pub place: Place,
    /// Its braces with all between them, for fixes that add a block; `None` while one is missing.
    pub body: Option<Place>,
    /// Blocks by [`BlockId`]; `None` where the spec has none. Repeated and labelled blocks are in the lists below.
    pub blocks: Vec<Option<Arc<Component>>>,
    /// The lines, in the order of the text, each with its label.
    pub lines: Vec<Arc<Component>>,
    /// Its `measured` blocks that have a label, in the order of the visits.
    pub visits: Vec<Arc<Component>>,
    /// Its relay levers, in the order of the text.
    pub relays: Vec<Arc<Component>>,
    /// The fittings between its lines, in the order of the text.
    pub fittings: Vec<Fitting>,
    /// The limits that its author sets on results.
    pub requires: Vec<Require>,
    /// The limits that its author sets on what its parts cost together.
    pub price_limits: Vec<PriceLimit>,
    /// The checks that its author silences, in the whole system or in one block.
    pub allows: Vec<Allow>,
    /// The choices among parts that are left open.
    pub chooses: Vec<Choose>,
    /// The units that the author writes in.
    pub display: Display,
    /// The fields that expressions of the system read. Changing one of them changes more than that field.
    pub read_by_expressions: Vec<FieldId>,
    /// How much of the system could be read.
    pub soundness: Soundness,
    /// Where the first mistake is that keeps the system from being worked out.
    pub mistake: Option<Place>,
}

/// One block of a system, with the values that the spec gives for it.
#[derive(Clone, PartialEq, Debug)]
pub struct Component {
    /// Which kind of component it is.
    pub block: BlockId,
    /// The part that it takes its fields from.
    pub part: Option<PartName>,
    /// The label of a block that may occur many times.
    pub label: Option<String>,
    /// The block's name where the system names it, in the system itself or in its base.
    pub place: Place,
    /// Whether the system itself names this block. `false` if only its base does.
    pub own: bool,
    /// The braces of this block in the system's own text, for fixes that add to it. `None` if it has none or they are
    /// not closed.
    pub body: Option<Place>,
    /// Values by the field's place in the schema; `None` where the spec has none.
    pub fields: Vec<Option<Given>>,
}

/// A fitting, and its place among the lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitting {
    /// How many lines are before it.
    pub lines_before: usize,
    /// What the spec says of it.
    pub component: Arc<Component>,
}

/// A part and where it is defined.
#[derive(Clone, PartialEq, Debug)]
pub struct PartName {
    /// Its name as the spec writes it.
    pub name: String,
    /// Its name where it is defined.
    pub definition: Place,
    /// Where the system names it.
    pub mention: Place,
}

/// A value that the spec gives, and where.
#[derive(Clone, PartialEq, Debug)]
pub struct Given {
    /// What is given.
    pub value: Value,
    /// The field's name.
    pub name: Place,
    /// The value after the equals sign.
    pub place: Place,
    /// Where the value comes from: the system itself, a part or a base.
    pub origin: Origin,
    /// How far below and above the value may be, as shares of it. `None` unless its tolerance is written as a share:
    /// `± 2 %`.
    pub share: Option<[f64; 2]>,
}

/// Where a value comes from, seen from the system.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Origin {
    /// Written in the system itself.
    Own,
    /// From a part that it names.
    Part,
    /// From the system that it starts from.
    Base,
}

/// A value held against the schema, in internal units.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// One value.
    Quantity {
        /// The value, and what its tolerance allows.
        band: Band,
        /// The unit that the author wrote; `None` unless the value is written as a plain quantity.
        unit: Option<UnitExpr>,
    },
    /// Each end may carry a tolerance.
    Window {
        /// The near end.
        low: Band,
        /// The far end.
        high: Band,
    },
    /// `curve { 0 mm: 0 N, 3 mm: 900 N }`.
    Curve(Points),
    /// One of the words of a field that is a choice.
    Word(&'static str),
    /// A text in quotes.
    Text(Arc<str>),
    /// An exact amount of money.
    Money(Money),
    /// An exact number of pieces.
    Count(Decimal),
}

/// A limit of the author's own on a result.
#[derive(Clone, PartialEq, Debug)]
pub struct Require {
    /// The result that it limits.
    pub result: crate::schema::ResultId,
    /// How the result must compare with the limit.
    pub comparison: Comparison,
    /// What the result is held against, in internal units.
    pub limit: Band,
    /// The author's reason, where one is given.
    pub why: Option<String>,
    /// The result's name in it.
    pub place: Place,
}

/// A check silenced by the author.
#[derive(Clone, PartialEq, Debug)]
pub struct Allow {
    /// The name of the check, as the author wrote it.
    pub check: String,
    /// The author's reason.
    pub why: String,
    /// The check's name in it.
    pub place: Place,
    /// The block that the `allow` is written in. `None` if it holds for the whole system.
    pub block: Option<BlockId>,
    /// Whether the system itself says it. `false` if its base or a part does.
    pub own: bool,
}

/// A choice among parts, each of which makes a system of its own.
#[derive(Clone, PartialEq, Debug)]
pub struct Choose {
    /// The block that takes one of the parts.
    pub block: BlockId,
    /// The parts to choose from, in order; those that could not be found are left out.
    pub parts: Vec<PartName>,
    /// The block's name in the `choose`.
    pub place: Place,
}

impl System {
    /// Whether everything in it could be read and nothing that must be there is missing.
    pub fn is_sound(&self) -> bool {
        self.soundness == Soundness::Sound
    }

    /// Whether everything that the system's numbers depend on could be read, and nothing needed for them is missing.
    pub fn is_workable(&self) -> bool {
        self.soundness >= Soundness::Workable
    }

    /// The first of the system's allows that silences a check for a block, by its place in `allows`.
    pub fn allow_for(&self, check: CheckId, block: Option<BlockId>) -> Option<usize> {
        self.allows.iter().position(|allow| {
            allow.check == check.name() && (allow.block.is_none() || allow.block == block)
        })
    }

    /// The blocks that results are worked out from and that may be repeated: relay levers for `relay`, lines for any
    /// other block. Both are in the order of the text.
    pub fn repeated(&self, block: BlockId) -> &[Arc<Component>] {
        match block == crate::block!(relay) {
            true => &self.relays,
            false => &self.lines,
        }
    }

    /// The block that a field belongs to. For a repeated block, `line` is its place in [`System::repeated`].
    pub fn component_at(&self, field: FieldId, line: Option<usize>) -> Option<&Component> {
        match line {
            Some(line) => self.repeated(field.block).get(line).map(|line| &**line),
            None => self.component(field.block),
        }
    }

    /// Sets a quantity, in internal units, as if its block gave it. The tolerance that it had is kept. Does nothing
    /// where the system has no such block.
    pub fn set(&mut self, field: FieldId, line: Option<usize>, value: f64) {
        let Some(component) = self.component_mut(field, line) else {
            return;
        };
        let place = component.place.clone();
        let Some(slot) = component.fields.get_mut(field.field as usize) else {
            return;
        };
        let band = slot
            .as_ref()
            .map_or(Band::exact(value), |given| given.band_around(value));
        let given = slot.get_or_insert_with(|| Given {
            value: Value::Quantity { band, unit: None },
            name: place.clone(),
            place,
            origin: Origin::Own,
            share: None,
        });
        let unit = given.unit().cloned();
        given.value = Value::Quantity { band, unit };
    }

    /// The entry for a field's value, to read or replace it; `None` where the system has no such block.
    pub(crate) fn slot(
        &mut self,
        field: FieldId,
        line: Option<usize>,
    ) -> Option<&mut Option<Given>> {
        let component = self.component_mut(field, line)?;
        component.fields.get_mut(field.field as usize)
    }

    /// What the spec gives for a field, to replace it. For a repeated block, `line` is its place in
    /// [`System::repeated`].
    pub fn given_mut(&mut self, field: FieldId, line: Option<usize>) -> Option<&mut Given> {
        self.slot(field, line)?.as_mut()
    }

    fn component_mut(&mut self, field: FieldId, line: Option<usize>) -> Option<&mut Component> {
        match line {
            Some(line) => {
                let blocks = match field.block == crate::block!(relay) {
                    true => &mut self.relays,
                    false => &mut self.lines,
                };
                blocks.get_mut(line).map(Arc::make_mut)
            }
            None => self
                .blocks
                .get_mut(field.block as usize)
                .and_then(|slot| slot.as_mut().map(Arc::make_mut)),
        }
    }

    /// A block that is not repeated.
    pub fn component(&self, block: BlockId) -> Option<&Component> {
        self.blocks.get(block as usize)?.as_deref()
    }

    /// What works its fork: one thing, unless the spec has a mistake.
    pub fn fork_drives(&self) -> impl Iterator<Item = &'static ForkDrive> {
        ForkDrive::among(|block| self.component(block).is_some())
    }

    /// What the spec gives for a field of a block that is not repeated.
    pub fn given(&self, field: FieldId) -> Option<&Given> {
        self.component(field.block)?.given(field)
    }

    /// A quantity's nominal value, in internal units: as given, else the schema's default.
    pub fn number(&self, field: FieldId) -> Option<f64> {
        match self.component(field.block) {
            Some(component) => component.number(field),
            None => default_number(field),
        }
    }

    /// A quantity's nominal value, only where the spec gives it.
    pub fn given_number(&self, field: FieldId) -> Option<f64> {
        self.given(field)?.number()
    }

    /// A choice: as given, else the schema's default.
    pub fn word(&self, field: FieldId) -> Option<&'static str> {
        match (self.given(field), field.field().presence) {
            (Some(given), _) => given.word(),
            (None, Presence::DefaultWord(word)) => Some(word),
            _ => None,
        }
    }

    /// Whether the fork's drive moves towards the engine, from its field `moves` and the side on which the gearbox
    /// is. `None` where the spec does not say.
    pub(crate) fn drives_to_engine(&self, moves: FieldId) -> Option<bool> {
        let is_ahead = || self.word(field!(gearbox.side)) == Some("ahead");
        match self.word(moves)? {
            "to_engine" => Some(true),
            "from_engine" => Some(false),
            "rearward" => Some(is_ahead()),
            _ => Some(!is_ahead()),
        }
    }

    /// The relay levers (or cables) between the fork's drive and the fork, from the pedal on.
    pub(crate) fn relays_at_fork(&self) -> impl Iterator<Item = &Component> {
        self.relays_at("fork")
    }

    /// The relay levers (or cables) ahead of the fork's drive, from the pedal on.
    pub(crate) fn relays_at_pedal(&self) -> impl Iterator<Item = &Component> {
        self.relays_at("pedal")
    }

    fn relays_at(&self, place: &'static str) -> impl Iterator<Item = &Component> {
        let relays = self.relays.iter().map(|relay| &**relay);
        relays.filter(move |relay| {
            let at = relay.given(field!(relay.at));
            at.and_then(Given::word) == Some(place)
        })
    }

    /// Whether the fork's outer end is driven towards the engine. Each relay lever that reverses, between the drive
    /// and the fork, turns round what the drive's `moves` says. `None` where the spec does not say.
    pub(crate) fn fork_end_to_engine(&self, moves: FieldId) -> Option<bool> {
        let mut to_engine = self.drives_to_engine(moves)?;
        for relay in self.relays_at_fork() {
            to_engine ^= relay.given(field!(relay.reverses))?.word()? == "yes";
        }
        Some(to_engine)
    }

    /// The two ends of a window at nominal, in internal units; `None` where the spec gives none.
    pub(crate) fn window(&self, field: FieldId) -> Option<(f64, f64)> {
        match self.given(field)?.value {
            Value::Window { low, high } => Some((low.nominal, high.nominal)),
            _ => None,
        }
    }

    /// The points of a curve in internal units, each where it is held in its band. `None` where the spec gives no
    /// curve.
    pub(crate) fn curve(&self, field: FieldId) -> Option<Vec<(f64, f64)>> {
        match &self.given(field)?.value {
            Value::Curve(points) => Some(points.iter().collect()),
            _ => None,
        }
    }

    /// The place in the system's own text that says most about a field. It is the first of these: the value, the
    /// mention of the part that gives it, the block, the system's name.
    pub fn place_of(&self, field: FieldId) -> Place {
        let Some(component) = self.component(field.block).filter(|c| c.own) else {
            return self.place.clone();
        };
        match component.given(field) {
            Some(given) if given.origin == Origin::Own => given.place.clone(),
            Some(given) if given.origin == Origin::Part => component
                .part
                .as_ref()
                .map_or(&component.place, |part| &part.mention)
                .clone(),
            Some(_) => self.place.clone(),
            None => component.place.clone(),
        }
    }

    /// All blocks that the system has, lines among them, in the schema's order.
    pub fn components(&self) -> impl Iterator<Item = &Component> {
        let lines = crate::block!(line) as usize;
        let (before, after) = self.blocks.split_at(lines.min(self.blocks.len()));
        before
            .iter()
            .flatten()
            .map(|component| &**component)
            .chain(self.lines.iter().map(|line| &**line))
            .chain(self.fittings.iter().map(|fitting| &*fitting.component))
            .chain(self.relays.iter().map(|relay| &**relay))
            .chain(after.iter().flatten().map(|component| &**component))
            .chain(self.visits.iter().map(|visit| &**visit))
    }

    /// The system's visits: the readings taken on the car each time. The visit without a label is first.
    pub fn measured(&self) -> impl Iterator<Item = &Component> {
        let lone = self.component(crate::block!(measured));
        lone.into_iter()
            .chain(self.visits.iter().map(|visit| &**visit))
    }

    /// The defaults that stand in for what the spec does not say, each with its text. A block that the spec does not
    /// use adds none. A default of zero is left out.
    pub fn assumed(&self) -> Vec<(FieldId, &'static str)> {
        let mut assumed = Vec::new();
        for one in self.all_assumed() {
            if !assumed.contains(&one) {
                assumed.push(one);
            }
        }
        assumed
    }

    /// Every assumed value in the author's units: a steel's modulus in ksi in a spec that is in inches.
    pub fn assumed_shown(&self) -> Vec<(FieldId, String)> {
        let shown = |(field, text): (FieldId, &str)| {
            let shown = field.field().default_shown(&self.display);
            (field, shown.unwrap_or_else(|| text.to_owned()))
        };
        self.assumed().into_iter().map(shown).collect()
    }

    /// Every assumed value. One that several repeated blocks leave out is listed for each of them.
    pub fn all_assumed(&self) -> impl Iterator<Item = (FieldId, &'static str)> {
        self.components().flat_map(move |component| {
            // No field of an unused block is assumed.
            let is_used = self.gives_one(component, block_needs(component.block));
            let fields = match is_used {
                true => BLOCKS[component.block as usize].fields,
                false => &[],
            };
            (0u8..).zip(fields).filter_map(move |(field, row)| {
                let text = match row.presence {
                    Presence::Default { value, text } if value != 0.0 => text,
                    Presence::DefaultWord(word) => word,
                    _ => return None,
                };
                let id = FieldId {
                    block: component.block,
                    field,
                };
                let counts = component.given(id).is_none() && self.gives_one(component, id.needs());
                counts.then_some((id, text))
            })
        })
    }

    /// Whether the value of a field of a component is used: the system gives what the field's row needs. A hose given
    /// by its expansion does not use a tube's modulus.
    pub fn uses(&self, component: &Component, field: FieldId) -> bool {
        self.gives_one(component, block_needs(component.block))
            && self.gives_one(component, field.needs())
    }

    /// Whether the system gives everything that at least one of some ways needs. Always true if there are no ways.
    pub fn gives_one(&self, component: &Component, ways: &[Vec<Need>]) -> bool {
        let whole = |way: &Vec<Need>| way.iter().all(|need| self.gives(component, *need));
        ways.is_empty() || ways.iter().any(whole)
    }

    /// Whether the system gives one thing that a field of a component needs: a block or another field.
    pub fn gives(&self, component: &Component, need: Need) -> bool {
        match need {
            Need::Block(block) if BLOCKS[block as usize].repeated => {
                !self.repeated(block).is_empty()
            }
            // Each repeated block has a value of its own; it is enough that one gives it.
            Need::Field(field) if field.block().repeated && field.block != component.block => {
                let mut blocks = self.repeated(field.block).iter();
                blocks.any(|one| one.given(field).is_some())
            }
            Need::Block(block) if BLOCKS[block as usize].labelled => {
                self.measured().next().is_some()
            }
            Need::Block(block) => self.component(block).is_some(),
            // A field of a repeated block needs the field in that same block.
            Need::Field(field) if field.block == component.block => {
                component.given(field).is_some()
            }
            Need::Field(field) if field.block().labelled => {
                self.measured().any(|visit| visit.given(field).is_some())
            }
            Need::Field(field) => self.given(field).is_some(),
        }
    }

    /// A value in the author's units.
    pub fn show(&self, value: f64, dimension: Dimension) -> String {
        self.display.show(value, dimension)
    }
}

impl Component {
    /// Whether any of its values has a tolerance.
    pub fn is_toleranced(&self) -> bool {
        let mut given = self.fields.iter().flatten();
        given.any(|given| given.value.toleranced().next().is_some())
    }

    /// What the spec gives for one of its fields.
    pub(crate) fn given(&self, field: FieldId) -> Option<&Given> {
        self.fields.get(field.field as usize)?.as_ref()
    }

    /// A quantity's nominal value, in internal units: as given, else the schema's default.
    pub fn number(&self, field: FieldId) -> Option<f64> {
        match self.given(field) {
            Some(given) => given.number(),
            None => default_number(field),
        }
    }
}

impl Given {
    /// A value with the tolerance of this one: as wide, or the same share of it if the tolerance is written as a
    /// share.
    pub fn band_around(&self, value: f64) -> Band {
        let [below, above] = match (self.share, self.band()) {
            (Some(share), _) => share.map(|share| share * value.abs()),
            (None, Some(band)) => [band.nominal - band.low, band.high - band.nominal],
            (None, None) => [0.0; 2],
        };
        Band {
            nominal: value,
            low: value - below,
            high: value + above,
        }
    }

    /// A quantity with its tolerance.
    pub fn band(&self) -> Option<Band> {
        match self.value {
            Value::Quantity { band, .. } => Some(band),
            _ => None,
        }
    }

    /// A quantity's nominal value.
    pub fn number(&self) -> Option<f64> {
        Some(self.band()?.nominal)
    }

    /// The word of a choice; `None` for any other value.
    pub(crate) fn word(&self) -> Option<&'static str> {
        match self.value {
            Value::Word(word) => Some(word),
            _ => None,
        }
    }

    /// The unit that the author wrote.
    pub fn unit(&self) -> Option<&UnitExpr> {
        match &self.value {
            Value::Quantity { unit, .. } => unit.as_ref(),
            _ => None,
        }
    }
}

fn default_number(field: FieldId) -> Option<f64> {
    match field.field().presence {
        Presence::Default { value, .. } => Some(value),
        _ => None,
    }
}
