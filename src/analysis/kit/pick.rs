//! One combination of a system, by the names of its parts.

use crate::model::{Built, Rebuild, Space, Subject};
use crate::quantity::nearest;

/// A part that is picked: the block's name and the part's.
pub type Pick = (String, String);

/// The combination that some picks make, as a system with nothing left to choose.
///
/// # Errors
/// What is picked that cannot be, or not picked that must be, as a sentence.
pub(in crate::analysis) fn picked(
    built: Built,
    rebuild: Rebuild<'_>,
    picks: &[Pick],
) -> Result<Built, String> {
    let name = &built.system.name;
    let Some(space) = &built.space else {
        return Err(format!("`{name}` leaves nothing to choose"));
    };
    for (block, _) in picks {
        if !space.axes.iter().any(|axis| axis.subject.words() == *block) {
            return Err(format!(
                "`{name}` leaves no `{block}` to choose, but {}",
                list(space, |axis| axis.subject.words())
            ));
        }
    }
    let mut index = 0;
    for axis in &space.axes {
        let Subject::Part(_) = axis.subject else {
            continue;
        };
        let block = axis.subject.words();
        let names = || axis.choices.iter().map(|choice| choice.name.as_str());
        let listed = || names().collect::<Vec<_>>().join(", ");
        let Some((_, wanted)) = picks.iter().find(|(other, _)| *other == block) else {
            return Err(format!("pick a {block} as well: {}", listed()));
        };
        let Some(at) = names().position(|name| name == wanted) else {
            let meant = match nearest(wanted, names()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("there are {}", listed()),
            };
            return Err(format!(
                "`{wanted}` is not among the choices of a {block}; {meant}"
            ));
        };
        index = index * axis.choices.len() as u64 + at as u64;
    }
    let title = space.name_of(index);
    let mut system = space.picker(rebuild).pick(index).clone();
    system.title = Some(match &system.title {
        Some(text) => format!("{text} ({title})"),
        None => title,
    });
    // An allow may be for another combination.
    for allow in &mut system.allows {
        allow.own = false;
    }
    Ok(Built {
        system,
        space: None,
        ..built
    })
}

fn list(space: &Space, name: impl Fn(&crate::model::Axis) -> String) -> String {
    let names: Vec<String> = space.axes.iter().map(name).collect();
    names.join(", ")
}
