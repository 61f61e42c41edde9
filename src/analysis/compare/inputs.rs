//! The inputs of a spec before and after: field by field, as the author writes them.

use crate::analysis::{Report, Worked};
use crate::checks::written;
use crate::finding::FileName;
use crate::model::{Allow, Component, Given, PRICE, Points, Require, Value};
use crate::quantity::{Band, Dimension, Display, UNITS, UnitExpr, significant};
use crate::schema::{BLOCKS, FieldId, Kind};
use crate::syntax::quoted;

/// An input that changed.
#[derive(Clone, PartialEq, Debug)]
pub struct InputChange {
    /// The input's name: `master.bore`, `line flex.length`, `master` for its part, `require pedal_effort`,
    /// `allow heavy-pedal`.
    pub what: String,
    /// The field of the part that gives it, if both versions have a part of that name. Every system with the part has
    /// the change.
    pub part: Option<PartField>,
    /// The input before; `None` where the spec did not give it.
    pub before: Option<Said>,
    pub after: Option<Said>,
}

/// A field of a part, the same for all systems that use the part.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PartField {
    /// The field's name: `slave hy_s22.bore`.
    pub name: String,
    /// The file that defines the part.
    pub file: FileName,
}

/// What a spec gives for an input.
#[derive(Clone, PartialEq, Debug)]
pub struct Said {
    pub text: String,
    /// Whether the spec does not give it, so that this default is assumed.
    pub assumed: bool,
}

impl Said {
    fn given(text: String) -> Self {
        Self {
            text,
            assumed: false,
        }
    }
}

/// A system with the texts from which it was read.
#[derive(Clone, Copy)]
pub(super) struct Speaker<'a> {
    report: &'a Report,
    worked: &'a Worked,
}

/// The longest value that is shown in full.
const LONGEST_VALUE: usize = 60;

/// The inputs that differ between two systems that can be read in full.
pub(super) fn changes(before: Speaker<'_>, after: Speaker<'_>) -> Vec<InputChange> {
    let mut changes = Vec::new();
    for (old, new) in components(before, after) {
        component(&mut changes, (before, old), (after, new));
    }
    let said = |text: &String| Said::given(text.clone());
    for (what, old, new) in paired(before.statements(), after.statements()) {
        if old != new {
            changes.push(InputChange {
                what,
                part: None,
                before: old.as_ref().map(said),
                after: new.as_ref().map(said),
            });
        }
    }
    changes
}

/// What changed between two versions of a part that may be chosen. Each field has the part's name:
/// `slave hy_s22.bore`. What the system itself gives for the block has the block's name.
pub(super) fn of_part(
    before: (Speaker<'_>, &Component),
    after: (Speaker<'_>, &Component),
) -> Vec<InputChange> {
    let mut changes = Vec::new();
    component(
        &mut changes,
        (before.0, Some(before.1)),
        (after.0, Some(after.1)),
    );
    for change in &mut changes {
        if let Some(part) = &change.part {
            change.what.clone_from(&part.name);
        }
    }
    changes
}

/// A field's name: `slave hy_s22.bore`.
fn part_field(block: &str, part: &str, field: &str) -> String {
    format!("{block} {part}.{field}")
}

type Pair<'a> = (Option<&'a Component>, Option<&'a Component>);

/// The blocks of both systems in the schema's order. Repeated blocks are paired by their labels, those without one by
/// their order.
fn components<'a>(before: Speaker<'a>, after: Speaker<'a>) -> Vec<Pair<'a>> {
    let keyed = |speaker: Speaker<'a>| -> Vec<((u8, String), &'a Component)> {
        let key = |c: &Component| (c.block, c.label.clone().unwrap_or_default());
        let system = &speaker.worked.system;
        system.components().map(|c| (key(c), c)).collect()
    };
    let mut pairs = paired(keyed(before), keyed(after));
    pairs.sort_by_key(|((block, _), ..)| *block);
    pairs.into_iter().map(|(_, old, new)| (old, new)).collect()
}

/// Pairs two lists by key. Several with one key in a list are paired in order.
fn paired<K: PartialEq + Clone, V>(
    before: Vec<(K, V)>,
    after: Vec<(K, V)>,
) -> Vec<(K, Option<V>, Option<V>)> {
    let mut new: Vec<Option<(K, V)>> = after.into_iter().map(Some).collect();
    let mut pairs = Vec::new();
    for (key, value) in before {
        let same = new
            .iter_mut()
            .find(|slot| slot.as_ref().is_some_and(|(other, _)| *other == key));
        let same = same.and_then(Option::take).map(|(_, value)| value);
        pairs.push((key, Some(value), same));
    }
    let rest = new.into_iter().flatten();
    pairs.extend(rest.map(|(key, value)| (key, None, Some(value))));
    pairs
}

type Side<'a> = (Speaker<'a>, Option<&'a Component>);

fn component(changes: &mut Vec<InputChange>, before: Side<'_>, after: Side<'_>) {
    let Some(shown) = after.1.or(before.1) else {
        return;
    };
    let block = &BLOCKS[shown.block as usize];
    let name = match &shown.label {
        Some(label) => format!("{} {label}", block.name),
        None => block.name.to_owned(),
    };
    let part_of = |side: Side<'_>| Some(side.1?.part.as_ref()?.name.clone());
    let (old, new) = (part_of(before), part_of(after));
    if old != new {
        // A block that no longer takes a part is worth telling.
        let said = |name: Option<String>| name.map(|name| Said::given(format!("part {name}")));
        changes.push(InputChange {
            what: name.clone(),
            part: None,
            before: said(old),
            after: said(new),
        });
    }
    for field in 0..block.fields.len() as u8 {
        let id = FieldId {
            block: shown.block,
            field,
        };
        let given = |side: Side<'_>| side.1.and_then(|component| component.given(id).cloned());
        let (old, new) = (given(before), given(after));
        if alike(old.as_ref(), new.as_ref()) {
            continue;
        }
        let says = |side: Side<'_>, given: Option<&Given>| match given {
            Some(given) => Some(Said::given(side.0.text(id, given))),
            None => side
                .1
                .and_then(|_| assumed(id, &side.0.worked.system.display)),
        };
        let field = block.fields[field as usize].name;
        let of_part = |side: Side<'_>, given: &Option<Given>| match given {
            Some(given) => side.0.says_part(side.1, given),
            // A field that a part leaves out counts as the part's, unless something else gives it.
            None => true,
        };
        let named = after.1.and_then(|component| component.part.as_ref());
        let is_of_part =
            part_of(before) == part_of(after) && of_part(before, &old) && of_part(after, &new);
        let part = named.filter(|_| is_of_part).map(|named| PartField {
            name: part_field(block.name, &named.name, field),
            file: named.definition.file.clone(),
        });
        let (mut old_said, mut new_said) = (says(before, old.as_ref()), says(after, new.as_ref()));
        if old_said == new_said {
            // The two look alike in brief but not in full.
            let full = |side: Side<'_>, given: &Option<Given>| {
                let display = &side.0.worked.system.display;
                let value = &given.as_ref()?.value;
                Some(Said::given(in_full(id, value, display)))
            };
            (old_said, new_said) = (full(before, &old), full(after, &new));
        }
        changes.push(InputChange {
            what: format!("{name}.{field}"),
            part,
            before: old_said,
            after: new_said,
        });
    }
}

/// The default that is assumed where a block does not give a field.
fn assumed(id: FieldId, display: &Display) -> Option<Said> {
    Some(Said {
        text: id.field().default_shown(display)?,
        assumed: true,
    })
}

/// Whether two values are equal, whatever units they are written in.
fn alike(before: Option<&Given>, after: Option<&Given>) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * a.abs().max(b.abs());
    let same = |a: &Band, b: &Band| {
        near(a.nominal, b.nominal) && near(a.low, b.low) && near(a.high, b.high)
    };
    match (before.map(|g| &g.value), after.map(|g| &g.value)) {
        (None, None) => true,
        (Some(Value::Quantity { band: a, .. }), Some(Value::Quantity { band: b, .. })) => {
            same(a, b)
        }
        (
            Some(Value::Window { low, high }),
            Some(Value::Window {
                low: other_low,
                high: other_high,
            }),
        ) => same(low, other_low) && same(high, other_high),
        (Some(Value::Curve(a)), Some(Value::Curve(b))) => {
            let (a, b) = (a.bands(), b.bands());
            let alike = |(a, b): (&(f64, Band), &(f64, Band))| near(a.0, b.0) && same(&a.1, &b.1);
            a.len() == b.len() && a.iter().zip(b).all(alike)
        }
        (Some(a), Some(b)) => a == b,
        _ => false,
    }
}

impl<'a> Speaker<'a> {
    pub(super) fn new(report: &'a Report, worked: &'a Worked) -> Self {
        Self { report, worked }
    }

    /// A value as its author wrote it, if that is all numbers and units; else the calculated value.
    fn text(self, id: FieldId, given: &Given) -> String {
        let display = &self.worked.system.display;
        match &given.value {
            Value::Word(_) | Value::Text(_) | Value::Money(_) | Value::Count(_) => {
                in_full(id, &given.value, display)
            }
            Value::Curve(points) => curve(id, points, display),
            Value::Quantity { band, unit } => self.literal(given).unwrap_or_else(|| {
                let unit = unit.clone().or_else(|| display.unit(dimensions(id).1));
                quantity(*band, unit.as_ref())
            }),
            Value::Window { low, high } => self.literal(given).unwrap_or_else(|| {
                let unit = display.unit(dimensions(id).1);
                let end = |band: &Band| quantity(*band, unit.as_ref());
                format!("{} to {}", end(low), end(high))
            }),
        }
    }

    /// Whether the part that a component takes gives a value.
    fn says_part(self, component: Option<&Component>, given: &Given) -> bool {
        let Some(part) = component.and_then(|component| component.part.as_ref()) else {
            return false;
        };
        let file = &part.definition.file;
        let mut sources = self.report.sources();
        let Some(source) = sources.find(|source| source.name == *file) else {
            return false;
        };
        let mut parts = source.parts();
        let tree = parts.find(|tree| tree.name.span == part.definition.span);
        tree.is_some_and(|tree| {
            let (body, field) = (source.range(tree.body.span), source.range(given.name.span));
            given.name.file == *file && body.start <= field.start && field.end <= body.end
        })
    }

    /// The text of a value, if it has only numbers and units.
    fn literal(self, given: &Given) -> Option<String> {
        let mut sources = std::iter::once(&self.report.source).chain(&self.report.used);
        let source = sources.find(|source| source.name == given.place.file)?;
        let text = source.text.get(source.range(given.place.span).range())?;
        let known = |word: &str| word == "to" || UNITS.iter().any(|unit| unit.name == word);
        let plain = text.len() <= LONGEST_VALUE
            && text
                .split(|c: char| !c.is_alphabetic())
                .all(|word| word.is_empty() || known(word))
            && !text.contains(['#', '_']);
        plain.then(|| text.split_whitespace().collect::<Vec<_>>().join(" "))
    }

    /// Limits, silenced checks and choices, as a spec would write them.
    fn statements(self) -> Vec<(String, String)> {
        let system = &self.worked.system;
        let requires = system.requires.iter().map(|require| self.require(require));
        let prices = system.price_limits.iter().map(|price| {
            let limit = format!("{} {}", price.comparison.symbol(), price.limit);
            (format!("require {PRICE}"), limit)
        });
        let allows = system.allows.iter().map(allow);
        let chooses = system.chooses.iter().map(|choose| {
            let parts: Vec<&str> = choose.parts.iter().map(|part| part.name.as_str()).collect();
            let what = format!("choose {}", BLOCKS[choose.block as usize].name);
            (what, parts.join(", "))
        });
        requires
            .chain(prices)
            .chain(allows)
            .chain(chooses)
            .collect()
    }

    fn require(self, require: &Require) -> (String, String) {
        let spec = require.result.spec();
        let unit = self.worked.system.display.unit(spec.dimension);
        let limit = quantity(require.limit, unit.as_ref());
        (
            format!("require {}", spec.name),
            format!("{} {limit}", require.comparison.symbol()),
        )
    }
}

fn allow(allow: &Allow) -> (String, String) {
    let what = match allow.block {
        Some(block) => format!("allow {} in {}", allow.check, BLOCKS[block as usize].name),
        None => format!("allow {}", allow.check),
    };
    (what, quoted(&allow.why))
}

/// A value, or its limits if it has a tolerance.
fn quantity(band: Band, unit: Option<&UnitExpr>) -> String {
    match band.is_exact() {
        true => written(band.nominal, unit),
        false => format!(
            "({} … {})",
            written(band.low, unit),
            written(band.high, unit)
        ),
    }
}

fn curve(id: FieldId, points: &Points, display: &Display) -> String {
    let (across, up) = dimensions(id);
    let peak = points
        .iter()
        .reduce(|best, point| if point.1 > best.1 { point } else { best });
    match peak {
        Some((at, most)) => format!(
            "curve of {} points, at most {} at {}",
            points.iter().len(),
            display.show(most, up),
            display.show(at, across)
        ),
        None => "curve".to_owned(),
    }
}

/// A value with every digit and every point, for values that look the same in brief.
fn in_full(id: FieldId, value: &Value, display: &Display) -> String {
    let (across, up) = dimensions(id);
    let number = |value: f64, dimension: Dimension| match display.unit(dimension) {
        Some(unit) => format!("{} {unit}", significant(unit.outward(value), 9)),
        None => significant(value, 9),
    };
    let end = |band: &Band| match band.is_exact() {
        true => number(band.nominal, up),
        false => format!("({} … {})", number(band.low, up), number(band.high, up)),
    };
    match value {
        Value::Quantity { band, .. } => end(band),
        Value::Window { low, high } => format!("{} to {}", end(low), end(high)),
        Value::Curve(points) => {
            let point = |(x, y): &(f64, Band)| format!("{}: {}", number(*x, across), end(y));
            let all: Vec<String> = points.bands().iter().map(point).collect();
            all.join(", ")
        }
        Value::Word(word) => (*word).to_owned(),
        Value::Text(text) => quoted(text),
        Value::Money(money) => money.to_string(),
        Value::Count(count) => count.to_string(),
    }
}

/// The two dimensions of a curve; twice the same for any other field.
fn dimensions(id: FieldId) -> (Dimension, Dimension) {
    match id.field().kind {
        Kind::Curve { x, y } | Kind::CurveOrPeak { x, y } => (x, y),
        Kind::Quantity(own) | Kind::Window(own) => (own, own),
        Kind::Choice(_) | Kind::Text | Kind::Money | Kind::Count => {
            (Dimension::NUMBER, Dimension::NUMBER)
        }
    }
}
