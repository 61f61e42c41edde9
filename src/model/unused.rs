//! Parts and lets that no system uses: the mistakes in them, and a notice that they are unused.

use super::bundle::Bundle;
use super::fields::Builder;
use super::layers::{Merged, MergedBlock};
use super::source::Source;
use super::value::let_value;
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::schema::{BLOCKS, Block};
use crate::syntax;
use std::collections::HashSet;

/// Checks the parts and lets that no system uses. It looks for mistakes and, in a file with systems, reports them as
/// unused. A file of parts alone is a library for others. A file with broken uses counts as one too, as a use may be
/// in what the mistake hides.
pub(super) fn unused(
    bundle: &Bundle,
    root: &Source,
    used: &mut HashSet<Place>,
    is_library: bool,
) -> Vec<Problem> {
    let mut found = Vec::new();
    for part in root.parts() {
        let place = root.place(part.name.span);
        if used.contains(&place) {
            continue;
        }
        let is_no_part =
            Block::named(&part.block.text).is_some_and(|block| !BLOCKS[block as usize].takes_parts);
        if is_no_part {
            found.push(no_use_as_part(root, part));
        }
        if let Some(block) = MergedBlock::of_part(bundle, part, &mut found) {
            let mut builder = Builder::new(bundle, Merged::alone(block));
            builder.alone = true;
            builder.evaluate_all();
            found.append(&mut builder.problems);
            used.extend(builder.used_lets);
        }
        if !is_library && !is_no_part {
            let message = format!("no system here uses the part `{}`", part.name.text);
            let whole = root.place(root.statement_around(part.name.span));
            let problem = Problem::new(CheckId::UnusedPart, place, message);
            found.push(problem.fix("remove it", whole, ""));
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
        found.append(&mut builder.problems);
        used.extend(builder.used_lets);
    }
    if is_library {
        return found;
    }
    for (item, statement) in root.all_lets() {
        let place = root.place(item.name.span);
        // If a name is defined twice, it is not known which one was meant.
        let repeated = root
            .let_named(&item.name.text)
            .is_some_and(|first| root.range(first.name.span) < root.range(item.name.span));
        if !used.contains(&place) && !repeated {
            let message = format!("nothing here uses `{}`", item.name.text);
            let problem = Problem::new(CheckId::UnusedLet, place, message);
            found.push(problem.fix("remove it", root.place(statement), ""));
        }
    }
    found
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
