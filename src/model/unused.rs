//! Parts and lets that no system brought up: mistakes in them, and that they are of no use.

use super::bundle::Bundle;
use super::emit::DedupSink;
use super::fields::Builder;
use super::layers::{Merged, MergedBlock};
use super::source::Source;
use super::value::let_value;
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::schema::{BLOCKS, Block};
use crate::syntax::{self, StatementKind};
use std::collections::HashSet;

/// Looks at the parts and lets that no system brought up: for mistakes in them, and, in a file
/// that has systems, for being of no use. A file of parts alone is a library for others.
pub(super) fn check_unused(
    bundle: &Bundle,
    root: &Source,
    used: &mut HashSet<Place>,
    sink: &mut DedupSink<'_>,
) {
    // What is of use may be so in what a mistake hides.
    let is_library = root.systems().next().is_none() || sink.has_broken_uses();
    for statement in &root.tree.statements {
        let StatementKind::Part(part) = &statement.kind else {
            continue;
        };
        let place = root.place(part.name.span);
        if used.contains(&place) {
            continue;
        }
        let is_repeated =
            Block::named(&part.block.text).is_some_and(|block| BLOCKS[block as usize].repeated);
        if is_repeated {
            sink.emit([no_use_as_part(root, part)]);
        }
        let mut problems = Vec::new();
        if let Some(block) = MergedBlock::of_part(bundle, part, &mut problems) {
            let mut builder = Builder::new(bundle, Merged::alone(block));
            builder.alone = true;
            builder.evaluate_all();
            problems.append(&mut builder.problems);
            used.extend(builder.used_lets);
        }
        sink.emit(problems);
        if !is_library && !is_repeated {
            sink.emit([Problem::new(
                CheckId::UnusedPart,
                place,
                format!("no system here uses the part `{}`", part.name.text),
            )
            .fix("remove it", root.place(statement.span), "")]);
        }
    }
    for item in root.lets() {
        let place = root.place(item.name.span);
        if used.contains(&place) {
            continue;
        }
        let mut builder = Builder::new(bundle, Merged::empty());
        builder.alone = true;
        let mut names = builder.names(0);
        let result = let_value(&item.value, &mut names);
        if let Err(problem) = result {
            builder.record(problem);
        }
        sink.emit(builder.problems);
        used.extend(builder.used_lets);
    }
    if is_library {
        return;
    }
    let of_systems = root.systems().flat_map(|system| &system.body.statements);
    for statement in root.tree.statements.iter().chain(of_systems) {
        let StatementKind::Let(item) = &statement.kind else {
            continue;
        };
        let place = root.place(item.name.span);
        // Of a name that is given twice it is not known which was meant.
        let repeated = root
            .let_named(&item.name.text)
            .is_some_and(|first| first.name.span < item.name.span);
        if !used.contains(&place) && !repeated {
            sink.emit([Problem::new(
                CheckId::UnusedLet,
                place,
                format!("nothing here uses `{}`", item.name.text),
            )
            .fix("remove it", root.place(statement.span), "")]);
        }
    }
}

/// A part of a block whose name in a system is a label, such as a `line`.
fn no_use_as_part(root: &Source, part: &syntax::Part) -> Problem {
    let (block, name) = (&part.block.text, &part.name.text);
    Problem::new(
        CheckId::NotUsed,
        root.place(part.name.span),
        format!(
            "no system can use the part `{name}`: the name behind `{block}` is a label, not a part"
        ),
    )
    .help(format!(
        "write its fields into each system, as `{block} {name} {{ … }}`; values that many systems \
         share can stand in a `let`"
    ))
}
