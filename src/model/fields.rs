//! Evaluates the fields and lets of one merged system, each once, in whatever order they refer to one another.

use super::bundle::Bundle;
use super::expression::{Evaluated, LetValue, Names};
use super::field_value;
use super::layers::{Merged, MergedBlock, MergedField};
use super::merge::is_bad;
use super::shared_blocks::SharedBlocks;
use super::source::Source;
use super::system::{Component, Given, Origin, Value};
use super::value;
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::quantity::{Band, Dimension, UNITS, nearest};
use crate::schema::{BLOCKS, BlockId, FieldId, Kind, Presence, Purpose};
use crate::syntax::{self, Expr};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// How far the evaluation of one value has come.
enum State<T> {
    /// Being evaluated. A second request for it now is a circle of references.
    Running,
    /// Evaluated. `None` if it has a mistake, which is reported at its place.
    Done(Option<T>),
}

pub(super) struct Builder<'a> {
    pub bundle: &'a Bundle,
    pub merged: Merged<'a>,
    fields: FxHashMap<FieldId, State<Given>>,
    lets: HashMap<Place, State<LetValue>>,
    pub used_lets: HashSet<Place>,
    /// Values that replace those in the text, in internal units.
    pub values: Vec<(FieldId, f64)>,
    pub reads: FxHashSet<(Option<BlockId>, FieldId)>,
    /// Whether nothing replaces what the text says.
    pub is_unchanged: bool,
    /// The block whose field is being evaluated.
    inside: Option<BlockId>,
    pub problems: Vec<Problem>,
    /// The place of the mistake because of which a let that was read has no value.
    unknown: Option<Place>,
    /// Whether a single part is evaluated, without a system around it. Other blocks are then unknown and not missing.
    pub alone: bool,
    /// How deep the current chain of lets and fields is.
    depth: usize,
    /// How many times a name was looked up.
    asked: usize,
    /// Blocks that other systems of the file may have as well.
    pub shared: Option<SharedBlocks<'a>>,
}

/// How long a chain of lets and fields that refer to one another may be. A longer one is an error.
pub const MAX_REFERENCE_DEPTH: usize = 64;

impl<'a> Merged<'a> {
    pub fn alone(block: MergedBlock<'a>) -> Self {
        let mut merged = Self::empty();
        if BLOCKS[block.block as usize].repeated {
            merged.lines.push(block);
        } else {
            let index = block.block as usize;
            merged.blocks[index] = Some(block);
        }
        merged
    }
}

impl<'a> Builder<'a> {
    pub fn new(bundle: &'a Bundle, merged: Merged<'a>) -> Self {
        Self {
            bundle,
            merged,
            fields: FxHashMap::default(),
            lets: HashMap::new(),
            used_lets: HashSet::new(),
            values: Vec::new(),
            reads: FxHashSet::default(),
            is_unchanged: false,
            inside: None,
            problems: Vec::new(),
            unknown: None,
            alone: false,
            depth: 0,
            asked: 0,
            shared: None,
        }
    }

    pub fn record(&mut self, problem: Problem) {
        self.merged.mark_unworkable(&problem.place);
        self.problems.push(problem);
    }

    /// Records a problem of something that no number depends on.
    pub fn record_minor(&mut self, problem: Problem) {
        self.problems.push(problem);
        self.merged.mark_unsound();
    }

    pub fn names(&mut self, source: usize) -> Scope<'a, '_> {
        Scope {
            builder: self,
            source,
        }
    }

    /// Evaluates every field of every block.
    pub fn evaluate_all(&mut self) -> (Vec<Option<Arc<Component>>>, Vec<Arc<Component>>) {
        let blocks = (0..self.merged.blocks.len())
            .map(|block| {
                let merged = self.merged.blocks[block].as_ref()?;
                if let Some(known) = self.shared.as_ref().and_then(|shared| shared.get(merged)) {
                    return Some(known.clone());
                }
                let (count, asked) = (merged.fields.len(), self.asked);
                // Reads of another block belong to that block.
                let is_known = |id: &FieldId| usize::from(id.block) == block;
                let is_asked_for = asked > 0 && self.fields.keys().any(is_known);
                let fields = (0..count)
                    .map(|field| {
                        self.field(FieldId {
                            block: block as BlockId,
                            field: field as u8,
                        })
                    })
                    .collect();
                let merged = self.merged.blocks[block].as_ref()?;
                let is_free = self.asked == asked && !is_asked_for;
                let shared = self.shared.as_mut().filter(|_| is_free);
                Some(component(merged, fields, shared))
            })
            .collect();
        let lines = (0..self.merged.lines.len())
            .map(|line| {
                let merged = &self.merged.lines[line];
                if let Some(known) = self.shared.as_ref().and_then(|shared| shared.get(merged)) {
                    return known.clone();
                }
                let (count, asked) = (merged.fields.len(), self.asked);
                let fields = (0..count)
                    .map(|field| {
                        let merged = self.merged.lines[line].fields[field]?;
                        let id = FieldId {
                            block: self.merged.lines[line].block,
                            field: field as u8,
                        };
                        self.evaluate(id, merged)
                    })
                    .collect();
                let is_free = self.asked == asked;
                let shared = self.shared.as_mut().filter(|_| is_free);
                component(&self.merged.lines[line], fields, shared)
            })
            .collect();
        (blocks, lines)
    }

    /// The value of a field of a block that is not repeated.
    fn field(&mut self, id: FieldId) -> Option<Given> {
        if let Some(State::Done(given)) = self.fields.get(&id) {
            return given.clone();
        }
        if self.changed(id).is_some() {
            let given = self.changed_value(id);
            self.fields.insert(id, State::Done(given.clone()));
            return given;
        }
        let merged = self.merged.blocks[id.block as usize].as_ref()?.fields[id.field as usize]?;
        self.fields.insert(id, State::Running);
        let given = self.evaluate(id, merged);
        self.fields.insert(id, State::Done(given.clone()));
        given
    }

    /// The number that replaces a field's value in the text.
    fn changed(&self, id: FieldId) -> Option<f64> {
        let (_, value) = self.values.iter().find(|(field, _)| *field == id)?;
        Some(*value)
    }

    /// The value that replaces the one in the text, with the tolerance of the replaced one.
    fn changed_value(&mut self, id: FieldId) -> Option<Given> {
        let value = self.changed(id)?;
        let block = self.merged.blocks[id.block as usize].as_ref()?;
        let Some(merged) = block.fields[id.field as usize] else {
            return Some(Given {
                value: Value::Quantity {
                    band: Band::exact(value),
                    unit: None,
                },
                name: block.place.clone(),
                place: block.place.clone(),
                origin: Origin::Own,
                share: None,
            });
        };
        self.fields.insert(id, State::Running);
        let written = self.evaluate(id, merged)?;
        Some(Given {
            value: Value::Quantity {
                band: written.band_around(value),
                unit: None,
            },
            ..written
        })
    }

    fn evaluate(&mut self, id: FieldId, merged: MergedField<'a>) -> Option<Given> {
        let place = self.bundle.place(merged.source, merged.field.value.span);
        if is_bad(&merged.field.value) {
            self.mark(id, &place);
            return None;
        }
        self.unknown = None;
        let outside = self.inside.replace(id.block);
        let mut names = self.names(merged.source);
        let value = field_value::field(id.field(), &merged.field.value, place.clone(), &mut names);
        self.inside = outside;
        match value {
            Ok(Some(value)) => Some(Given {
                share: value::share(&merged.field.value, &value),
                value,
                name: self.bundle.place(merged.source, merged.field.name.span),
                place,
                origin: merged.origin,
            }),
            Ok(None) => {
                // The value that it reads is unknown because of a mistake elsewhere.
                let mistake = self.unknown.take().unwrap_or(place);
                self.mark(id, &mistake);
                None
            }
            Err(problem) => {
                self.mark(id, &problem.place);
                self.problems.push(problem.about(id.block));
                None
            }
        }
    }

    /// Notes a mistake in a field. No number depends on fields of fit or of an order, so those leave the system
    /// workable.
    fn mark(&mut self, id: FieldId, mistake: &Place) {
        match id.field().purpose {
            Purpose::Mechanics => self.merged.mark_unworkable(mistake),
            Purpose::Fit | Purpose::Order => self.merged.mark_unsound(),
        }
    }

    /// Evaluates the lets in the system's own body, to find mistakes in those that nothing reads. The lets of its
    /// bases are checked with the bases.
    pub fn check_own_lets(&mut self, tree: &'a syntax::System) {
        let root: &'a Source = &self.bundle.sources[0];
        for item in root.lets_of(tree) {
            if let Err(problem) = self.let_value(0, item) {
                self.record_minor(problem);
            }
        }
    }

    pub fn let_value(
        &mut self,
        source: usize,
        item: &'a syntax::Let,
    ) -> Result<Option<LetValue>, Problem> {
        let place = self.bundle.place(source, item.name.span);
        match self.lets.get(&place) {
            Some(State::Done(value)) => {
                if value.is_none() {
                    self.unknown.get_or_insert(place);
                }
                return Ok(value.clone());
            }
            Some(State::Running) => {
                return Err(Problem::new(
                    CheckId::UseCycle,
                    place,
                    format!("`{}` leads back to itself", item.name.text),
                ));
            }
            None => {}
        }
        if self.depth >= MAX_REFERENCE_DEPTH {
            return Err(Problem::new(
                CheckId::TooLarge,
                place,
                format!("values refer to one another more than {MAX_REFERENCE_DEPTH} deep"),
            ));
        }
        self.lets.insert(place.clone(), State::Running);
        self.depth += 1;
        // It is evaluated once, whoever reads it.
        let inside = self.inside.take();
        let mut names = self.names(source);
        let value = value::let_value(&item.value, &mut names);
        self.inside = inside;
        self.depth -= 1;
        let value = match value {
            Ok(value) => value,
            Err(problem) => {
                self.unknown.get_or_insert_with(|| problem.place.clone());
                self.record_minor(problem);
                None
            }
        };
        if value.is_none() {
            self.unknown.get_or_insert_with(|| place.clone());
        }
        self.lets.insert(place, State::Done(value.clone()));
        Ok(value)
    }

    pub fn merged_field(&self, id: FieldId) -> Option<MergedField<'a>> {
        self.merged.blocks[id.block as usize].as_ref()?.fields[id.field as usize]
    }
}

/// A block made of its values. It is noted in `shared` unless one of its values has a mistake.
fn component<'a>(
    merged: &MergedBlock<'a>,
    fields: Vec<Option<Given>>,
    shared: Option<&mut SharedBlocks<'a>>,
) -> Arc<Component> {
    let mut pairs = merged.fields.iter().zip(&fields);
    let is_whole = pairs.all(|(text, value)| text.is_none() || value.is_some());
    let component = Arc::new(Component {
        block: merged.block,
        part: merged.part.clone(),
        label: merged.label.map(str::to_owned),
        place: merged.place.clone(),
        own: merged.own,
        body: merged.body.clone(),
        fields,
    });
    if let Some(shared) = shared.filter(|_| is_whole) {
        shared.note(merged, &component);
    }
    component
}

/// What names mean in one file of a system.
pub(super) struct Scope<'a, 'b> {
    builder: &'b mut Builder<'a>,
    source: usize,
}

impl Names for Scope<'_, '_> {
    fn let_value(&mut self, name: &str, place: &Place) -> Result<Option<LetValue>, Problem> {
        self.builder.asked += 1;
        let bundle = self.builder.bundle;
        let layers = &self.builder.merged.layers;
        if let Some((source, item)) = layers.find_let(bundle, self.source, name) {
            let definition = self.builder.bundle.place(source, item.name.span);
            self.builder.used_lets.insert(definition);
            return self.builder.let_value(source, item);
        }
        let problem = Problem::new(
            CheckId::UnknownName,
            place.clone(),
            format!("nothing is called `{name}`"),
        );
        if UNITS.iter().any(|unit| unit.name == name) {
            return Err(problem.help(format!("`{name}` is a unit: write a number before it")));
        }
        if let Some(problem) = bundle.hidden(self.source) {
            self.builder
                .unknown
                .get_or_insert_with(|| problem.place.clone());
            self.builder.record_minor(problem);
            return Ok(None);
        }
        let of_system = self.builder.merged.layers.lets(bundle);
        let known = bundle
            .visible(self.source)
            .flat_map(|(_, source)| source.lets())
            .chain(of_system)
            .map(|item| item.name.text.as_str());
        Err(match bundle.suggest(name, known) {
            Some(meant) => problem.did_you_mean(Some(meant)),
            None => problem.help(format!("define it: `let {name} = …`")),
        })
    }

    fn field_value(
        &mut self,
        block: &str,
        field: &str,
        place: &Place,
    ) -> Result<Option<Evaluated>, Problem> {
        self.builder.asked += 1;
        let unknown = |what: String| Problem::new(CheckId::UnknownName, place.clone(), what);
        let Some(block_id) = crate::schema::Block::named(block) else {
            return Err(unknown(format!("there is no block `{block}`"))
                .did_you_mean_part(block, BLOCKS.iter().map(|b| b.name)));
        };
        let schema = &BLOCKS[block_id as usize];
        if schema.repeated {
            return Err(unknown(format!(
                "`{block}` may stand many times, so `{block}.{field}` is not one value"
            )));
        }
        let Some(index) = schema.field_index(field) else {
            return Err(unknown(format!("`{block}` has no field `{field}`"))
                .did_you_mean_part(field, schema.fields.iter().map(|f| f.name)));
        };
        let id = FieldId {
            block: block_id,
            field: index,
        };
        self.builder.reads.insert((self.builder.inside, id));
        if !is_one_value(id) {
            return Err(unknown(format!("`{block}.{field}` is not a single value")));
        }
        if matches!(self.builder.fields.get(&id), Some(State::Running)) {
            return Err(Problem::new(
                CheckId::UseCycle,
                place.clone(),
                format!("`{block}.{field}` leads back to itself"),
            ));
        }
        if self.builder.depth >= MAX_REFERENCE_DEPTH {
            return Err(Problem::new(
                CheckId::TooLarge,
                place.clone(),
                format!("values refer to one another more than {MAX_REFERENCE_DEPTH} deep"),
            ));
        }
        if self.builder.merged_field(id).is_none() && self.builder.changed(id).is_none() {
            return match id.field().presence {
                Presence::Default { value, .. } => Ok(Some(Evaluated {
                    band: Band::exact(value),
                    dimension: id.field().dimension().unwrap_or(Dimension::NUMBER),
                })),
                // For a part alone the other blocks are unknown, which is no mistake.
                _ if self.builder.alone => Ok(None),
                _ => Err(unknown(format!("`{block}.{field}` is not given"))),
            };
        }
        self.builder.depth += 1;
        let given = self.builder.field(id);
        self.builder.depth -= 1;
        let given = given.and_then(|given| evaluated(id, &given.value));
        Ok(given)
    }

    fn place(&self, expr: &Expr) -> Place {
        self.builder.bundle.place(self.source, expr.span)
    }
}

/// Whether a field's value can be used in an expression.
fn is_one_value(id: FieldId) -> bool {
    match id.field().kind {
        Kind::Quantity(_) | Kind::CurveOrPeak { .. } | Kind::Money | Kind::Count => true,
        Kind::Window(_) | Kind::Curve { .. } | Kind::Choice(_) | Kind::Text => false,
    }
}

/// A field's value as expressions compute with it.
fn evaluated(id: FieldId, value: &Value) -> Option<Evaluated> {
    let exact = |amount: Decimal, dimension| {
        Some(Evaluated {
            band: Band::exact(amount.to_f64()?),
            dimension,
        })
    };
    match value {
        Value::Quantity { band, .. } => Some(Evaluated {
            band: *band,
            dimension: match id.field().kind {
                Kind::CurveOrPeak { y, .. } => y,
                _ => id.field().dimension()?,
            },
        }),
        Value::Money(money) => exact(money.amount, Dimension::of_currency(money.currency)),
        Value::Count(count) => exact(*count, Dimension::NUMBER),
        _ => None,
    }
}

impl Problem {
    /// Suggests the nearest known name. It offers no fix, because the place covers more than the name.
    fn did_you_mean_part<'n>(self, name: &str, known: impl IntoIterator<Item = &'n str>) -> Self {
        match nearest(name, known) {
            Some(meant) => self.help(format!("did you mean `{meant}`?")),
            None => self,
        }
    }
}
