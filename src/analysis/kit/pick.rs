//! One combination of a system, by the names of its parts.

use crate::model::{Built, Rebuild, Space};
use crate::quantity::nearest;

/// A part that is picked: the block's name and the part's.
pub type Pick = (String, String);

/// The combination of some picks, as a system with nothing left to choose.
///
/// # Errors
/// A pick that is not possible or one that is missing, as a sentence.
pub(in crate::analysis) fn picked(
    built: Built,
    rebuild: Rebuild<'_>,
    picks: &[Pick],
) -> Result<Built, String> {
    let Some(space) = &built.space else {
        return Err(nothing_to_choose(&built.system.name));
    };
    let digits = chosen(&built.system.name, space, picks)?;
    let digits = space.axes.iter().zip(digits).map(|(axis, digit)| {
        digit.ok_or_else(|| {
            let names: Vec<&str> = axis.choices.iter().map(|c| c.name.as_str()).collect();
            let block = axis.subject.words();
            format!("pick a {block} as well: {}", names.join(", "))
        })
    });
    let digits: Vec<usize> = digits.collect::<Result<_, _>>()?;
    let index = space.index_of(&digits);
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

/// The message that a system has no choices to pick from.
pub(in crate::analysis) fn nothing_to_choose(system: &str) -> String {
    format!("`{system}` leaves nothing to choose")
}

/// The picked choice of each axis; `None` for an axis without a pick.
///
/// # Errors
/// A pick that is not possible, as a sentence.
pub(in crate::analysis) fn chosen(
    system: &str,
    space: &Space,
    picks: &[Pick],
) -> Result<Vec<Option<usize>>, String> {
    let mut digits = vec![None; space.axes.len()];
    for (block, wanted) in picks {
        let at = (space.axes.iter()).position(|axis| axis.subject.words() == *block);
        let Some(at) = at else {
            let blocks: Vec<String> = space.axes.iter().map(|a| a.subject.words()).collect();
            return Err(format!(
                "`{system}` leaves no `{block}` to choose, but {}",
                blocks.join(", ")
            ));
        };
        let names = || space.axes[at].choices.iter().map(|c| c.name.as_str());
        let Some(choice) = names().position(|name| name == wanted) else {
            let meant = match nearest(wanted, names()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("there are {}", names().collect::<Vec<_>>().join(", ")),
            };
            return Err(format!(
                "`{wanted}` is not among the choices of a {block}; {meant}"
            ));
        };
        if digits[at].replace(choice).is_some() {
            return Err(format!("the {block} is picked more than once"));
        }
    }
    Ok(digits)
}
