//! Changes of a system's own text. A part may serve many systems, so it is never changed from
//! here.

use crate::finding::Place;
use crate::model::{Component, Origin, System};
use crate::schema::{BLOCKS, FieldId};
use crate::syntax::Span;

/// The edit that makes a field of a block say `text`; `None` where the system's own text has no
/// room for it.
pub fn edit_field(system: &System, field: FieldId, text: &str) -> Option<(Place, String)> {
    edit_in(system.component(field.block)?, field, text)
}

/// The same for a component at hand, such as one line among several.
pub fn edit_in(component: &Component, field: FieldId, text: &str) -> Option<(Place, String)> {
    if let Some(given) = component.given(field)
        && given.origin == Origin::Own
    {
        return Some((given.place.clone(), text.to_owned()));
    }
    let name = field.field().name;
    if let Some(body) = &component.body {
        let before_brace = body.span.end.checked_sub(1)?;
        return Some((point(body, before_brace), format!("  {name} = {text} ")));
    }
    // What only a base mentions cannot be added to here.
    let part = component.part.as_ref().filter(|_| component.own)?;
    Some((
        point(&part.mention, part.mention.span.end),
        format!(" {{ {name} = {text} }}"),
    ))
}

/// Where a system itself says what a field of a component is, as near as it does.
pub fn place_in(system: &System, component: &Component, field: FieldId) -> Place {
    if !BLOCKS[component.block as usize].repeated {
        return system.place_of(field);
    }
    match component.given(field) {
        Some(given) if given.origin == Origin::Own => given.place.clone(),
        _ if component.own => component.place.clone(),
        _ => system.place.clone(),
    }
}

fn point(place: &Place, offset: u32) -> Place {
    Place::new(
        &place.file,
        Span {
            start: offset,
            end: offset,
        },
    )
}
