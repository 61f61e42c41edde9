//! Edits of a system's own text. Parts may serve many systems, so that nothing here edits them.

use crate::finding::Place;
use crate::model::{Component, Origin, System};
use crate::schema::{BLOCKS, FieldId};

/// The edit that sets a field of a block to `text`. It replaces the value that the system itself gives. Else it adds
/// the field to the block in the system's own text, or adds a block that overlies the base's. `line` is the number of
/// a line of the system. `None` where the system has no such block, or where an unclosed body would have to be
/// extended.
pub fn edit_field(
    system: &System,
    field: FieldId,
    line: Option<usize>,
    text: &str,
) -> Option<(Place, String)> {
    let component = system.component_at(field, line)?;
    if let Some(given) = component.given(field)
        && given.origin == Origin::Own
    {
        return Some((given.place.clone(), text.to_owned()));
    }
    // If a brace is missing, it is not known what else is in the body.
    let whole = system.body.as_ref()?;
    let name = field.field().name;
    if let Some(body) = component.body.as_ref().filter(|_| component.own) {
        return Some((before_brace(body)?, format!("  {name} = {text} ")));
    }
    if let Some(part) = component.part.as_ref().filter(|_| component.own) {
        return Some((
            point(&part.mention, part.mention.span.end),
            format!(" {{ {name} = {text} }}"),
        ));
    }
    let block = field.block().name;
    let label = component.label.as_ref().map(|label| format!(" {label}"));
    Some((
        before_brace(whole)?,
        format!(
            "    {block}{} {{ {name} = {text} }}\n",
            label.unwrap_or_default()
        ),
    ))
}

/// The place in a system's own text that says most about a field of a component.
pub fn place_in(system: &System, component: &Component, field: FieldId) -> Place {
    if component.label.is_none() && !BLOCKS[component.block as usize].repeated {
        return system.place_of(field);
    }
    match component.given(field) {
        Some(given) if given.origin == Origin::Own => given.place.clone(),
        _ if component.own => component.place.clone(),
        _ => system.place.clone(),
    }
}

/// The place before the brace that ends a body.
pub(super) fn before_brace(body: &Place) -> Option<Place> {
    Some(point(body, body.span.end.checked_sub(1)?))
}

pub(super) fn point(place: &Place, offset: u32) -> Place {
    Place::new(&place.file, place.span.at(offset))
}
