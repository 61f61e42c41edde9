//! Every result, the assumed values, and the results that are not known.

use super::content::{Block, Section, Table};
use super::view::View;
use crate::schema::ResultId;
use crate::solve::absences;

pub fn sections(view: &View<'_>) -> Vec<Section> {
    let mut sections = vec![results(view)];
    sections.push(assumed(view));
    sections.extend(unknown(view));
    sections
}

fn name(id: ResultId) -> String {
    id.spec().name.replace('_', " ")
}

fn results(view: &View<'_>) -> Section {
    let toleranced = view.worked.tolerances.is_some();
    let worn = view.outcome.worn();
    let mut head = vec!["Result", "With a new disc"];
    if toleranced {
        head.push("Worst case of the tolerances");
    }
    if worn.is_some() {
        head.push("Disc worn out");
    }
    let mut table = Table::new(&head);
    for (id, value) in view.outcome.results.iter() {
        let mut cells = vec![name(id), id.show_both(value, &view.system.display)];
        if toleranced {
            cells.push(view.spread(id).unwrap_or_default());
        }
        if let Some(worn) = worn {
            let later = worn
                .get(id)
                .map(|value| id.show(value, &view.system.display));
            let now = id.show(value, &view.system.display);
            cells.push(later.filter(|later| *later != now).unwrap_or_default());
        }
        table.row(cells);
    }
    let mut blocks = Vec::new();
    if toleranced || worn.is_some() {
        blocks.push(Block::Text(
            "An empty cell: no change that shows. “bitepoint explain” with a result's name, its words joined by \
             “_”, says what it means and how it is worked out."
                .to_owned(),
        ));
    }
    blocks.push(Block::Table(table));
    Section::new("All results", blocks)
}

fn assumed(view: &View<'_>) -> Section {
    let assumed = view.system.assumed_shown();
    if assumed.is_empty() {
        let none = "Nothing is assumed but what the model itself leaves out: inertia, and flow resistance while \
                    pressing.";
        return Section::new("Assumed", vec![Block::Text(none.to_owned())]);
    }
    let mut table = Table::new(&[
        "The spec does not say",
        "Taken instead",
        "Where that comes from",
    ]);
    for (field, text) in assumed {
        table.row(vec![field.path(), text, field.field().source.to_owned()]);
    }
    Section::new("Assumed", vec![Block::Table(table)])
}

fn unknown(view: &View<'_>) -> Option<Section> {
    let absent = absences(view.system, view.outcome)
        // Paper has no code in it.
        .map(|(id, why)| format!("{}: {}", name(id), why.replace('`', "")))
        .collect::<Vec<_>>();
    if absent.is_empty() {
        return None;
    }
    Some(Section::new(
        "Not known, and why",
        vec![Block::List(absent)],
    ))
}
