//! The lets that a system reads when it is built, and which of the names that it reads are free. A free name may mean
//! a let of the system that reads it.

use super::bundle::Bundle;
use super::expression::PI;
use super::layers::Merged;
use super::source::Source;
use super::spot::{words_in, words_in_expression};
use crate::finding::Place;
use crate::schema::{BLOCKS, Block, Kind};
use crate::syntax::{self, Let, StatementKind};
use std::collections::HashSet;

/// Something that a file defines.
#[derive(Debug)]
pub struct Defined<'a, T> {
    /// The number of the file in its bundle.
    pub(super) file: usize,
    pub source: &'a Source,
    pub node: &'a T,
}

impl<T> Clone for Defined<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Defined<'_, T> {}

impl Defined<'_, Let> {
    /// The place of its name.
    pub fn place(self) -> Place {
        self.source.place(self.node.name.span)
    }
}

impl Defined<'_, syntax::Part> {
    /// The place of its name.
    pub fn place(self) -> Place {
        self.source.place(self.node.name.span)
    }
}

impl Defined<'_, syntax::System> {
    /// The place of its name.
    pub fn place(self) -> Place {
        self.source.place(self.node.name.span)
    }
}

impl<'a, T> Defined<'a, T> {
    pub(super) fn new(bundle: &'a Bundle, file: usize, node: &'a T) -> Self {
        Self {
            file,
            source: &bundle.sources[file],
            node,
        }
    }
}

/// What a system reads when it is built.
#[derive(Default)]
pub(super) struct Reads<'a> {
    pub free: Vec<FreeRead<'a>>,
    /// All lets, by the places of their names.
    pub lets: HashSet<Place>,
}

/// A read of a free name in an expression, and the let that it means in one system that reads it. A name is free if
/// neither the system around it nor a base of that system has a let of the name.
pub(super) struct FreeRead<'a> {
    pub place: Place,
    pub file: usize,
    pub name: &'a str,
    /// Whether it means a let of the reading system or of one of its bases.
    pub is_bound: bool,
    pub item: Defined<'a, Let>,
}

/// A value or limit that is still to be searched for names.
struct Pending<'a> {
    file: usize,
    /// The layer that it is in; `None` outside of systems.
    layer: Option<usize>,
    read: Read<'a>,
}

enum Read<'a> {
    Value(&'a syntax::Value),
    Limit(&'a syntax::Expr),
}

impl<'a> Reads<'a> {
    /// What a system of the bundle's first file reads, found in its merged text.
    pub fn of(bundle: &'a Bundle, system: &'a syntax::System, merged: &Merged<'a>) -> Self {
        let layers = &merged.layers;
        let mut pending: Vec<Pending<'a>> = Vec::new();
        for block in merged.blocks.iter().flatten().chain(&merged.lines) {
            let schema = BLOCKS[block.block as usize].fields;
            for (field, schema) in block.fields.iter().zip(schema) {
                if let Some(field) = field
                    && !matches!(schema.kind, Kind::Choice(_))
                {
                    pending.push(Pending {
                        file: field.source,
                        layer: (!field.from_part).then_some(field.layer),
                        read: Read::Value(&field.field.value),
                    });
                }
            }
        }
        for part in chosen_parts(bundle, merged) {
            let block = Block::named(&part.node.block.text);
            let is_read = |field: &&'a syntax::Field| {
                let schema = block.map(|block| &BLOCKS[block as usize]);
                let row =
                    schema.and_then(|s| s.fields.get(s.field_index(&field.name.text)? as usize));
                row.is_some_and(|row| !matches!(row.kind, Kind::Choice(_)))
            };
            let fields = fields_of(part.node).filter(is_read);
            pending.extend(fields.map(|field| Pending {
                file: part.file,
                layer: None,
                read: Read::Value(&field.value),
            }));
        }
        for (layer, (file, system)) in layers.0.iter().enumerate() {
            let of_layer = |require: &syntax::Require| {
                let known = merged.requires.iter();
                known
                    .into_iter()
                    .any(|(_, known)| std::ptr::eq(*known, require))
            };
            let limits = system.body.statements.iter().filter_map(|s| match &s.kind {
                StatementKind::Require(require) if of_layer(require) => Some(&require.limit),
                _ => None,
            });
            pending.extend(limits.map(|limit| Pending {
                file: *file,
                layer: Some(layer),
                read: Read::Limit(limit),
            }));
        }
        let own = bundle.sources[0].lets_of(system);
        pending.extend(own.map(|item| Pending {
            file: 0,
            layer: layers.0.len().checked_sub(1),
            read: Read::Value(&item.value),
        }));
        let mut reads = Reads::default();
        while let Some(Pending { file, layer, read }) = pending.pop() {
            let mut words = Vec::new();
            let mut take = |expr: &'a syntax::Expr, name: &'a str| words.push((expr, name));
            match read {
                Read::Value(value) => words_in(value, &mut take),
                Read::Limit(expr) => words_in_expression(expr, &mut take),
            }
            for (expr, name) in words.into_iter().filter(|(_, name)| *name != PI) {
                let Some((at, item)) = layers.find_let(bundle, file, name) else {
                    continue;
                };
                let has_let = |(file, system): &(usize, &'a syntax::System)| {
                    bundle.sources[*file].let_of(system, name).is_some()
                };
                let binding = layers.0.iter().rposition(has_let);
                let around = layers.0.iter().take(layer.map_or(0, |layer| layer + 1));
                if !around.clone().any(has_let) {
                    reads.free.push(FreeRead {
                        place: bundle.place(file, expr.span),
                        file,
                        name,
                        is_bound: binding.is_some(),
                        item: Defined::new(bundle, at, item),
                    });
                }
                if reads.lets.insert(bundle.place(at, item.name.span)) {
                    pending.push(Pending {
                        file: at,
                        layer: binding,
                        read: Read::Value(&item.value),
                    });
                }
            }
        }
        reads
    }
}

/// The parts that a system leaves open to choose from.
pub(super) fn chosen_parts<'a>(
    bundle: &'a Bundle,
    merged: &Merged<'a>,
) -> impl Iterator<Item = Defined<'a, syntax::Part>> {
    merged.chooses.iter().flat_map(move |(source, choose)| {
        choose.parts.iter().filter_map(move |name| {
            let block = &choose.block.text;
            let (file, part) = bundle.part(*source, block, &name.text)?;
            Some(Defined::new(bundle, file, part))
        })
    })
}

fn fields_of(part: &syntax::Part) -> impl Iterator<Item = &syntax::Field> {
    part.body
        .statements
        .iter()
        .filter_map(|statement| match &statement.kind {
            StatementKind::Field(field) => Some(field),
            _ => None,
        })
}
