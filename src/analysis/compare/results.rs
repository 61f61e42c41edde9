//! Results before and after.

use crate::analysis::Worked;
use crate::quantity::Band;
use crate::schema::{Better, ResultId};
use crate::solve::{Outcome, Results, belongs, why_absent};

/// A result that moved, appeared or disappeared.
#[derive(Clone, PartialEq, Debug)]
pub struct ResultChange {
    pub id: ResultId,
    /// The value before; `None` where it is absent.
    pub before: Option<Figure>,
    pub after: Option<Figure>,
    /// Why it is absent on one of the sides.
    pub why_absent: Option<String>,
    pub way: Option<Way>,
    pub standing: Option<Standing>,
}

/// A result's value, in internal units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Figure {
    pub value: f64,
    /// Its worst case over the tolerances, if the spec has any.
    pub band: Option<Band>,
}

/// In which direction a result moved.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Way {
    Better,
    Worse,
}

/// Where a result is now, compared with its tolerance band before.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Standing {
    /// In the band: a part of the old make could have given it.
    Inside,
    /// Outside the band, but the two bands touch.
    Outside,
    /// The bands do not touch: no part of the old make could give what a new one gives.
    Clear,
}

/// The results that moved, appeared or disappeared between two systems that are both worked out.
pub(super) fn changes(before: &Worked, after: &Worked) -> Vec<ResultChange> {
    let figure = |worked: &Worked, id| {
        let value = outcome(worked)?.get(id)?;
        let tolerances = worked.tolerances.as_ref();
        let spread = tolerances.and_then(|tolerances| tolerances.get(id));
        let band = spread.map(|spread| spread.worst);
        Some(Figure { value, band })
    };
    ResultId::all()
        .filter_map(|id| change(before, after, id, figure(before, id), figure(after, id)))
        .collect()
}

/// The results with the disc worn out that moved; empty where a side gives no wear.
pub(super) fn worn_changes(before: &Worked, after: &Worked) -> Vec<ResultChange> {
    let worn = |worked| outcome(worked)?.worn();
    let (Some(old), Some(new)) = (worn(before), worn(after)) else {
        return Vec::new();
    };
    let figure = |results: &Results, id| {
        let value = results.get(id)?;
        Some(Figure { value, band: None })
    };
    ResultId::all()
        .filter_map(|id| change(before, after, id, figure(old, id), figure(new, id)))
        .collect()
}

fn outcome(worked: &Worked) -> Option<&Outcome> {
    worked.outcome.as_deref().ok()
}

fn change(
    before: &Worked,
    after: &Worked,
    id: ResultId,
    old: Option<Figure>,
    new: Option<Figure>,
) -> Option<ResultChange> {
    let why = |worked: &Worked| match belongs(&worked.system, id) {
        true => why_absent(&worked.system, id),
        false => "another way of actuation".to_owned(),
    };
    let why_absent = match (old, new) {
        (None, None) => return None,
        (None, Some(_)) => Some(why(before)),
        (Some(_), None) => Some(why(after)),
        (Some(old), Some(new)) => {
            if !moved(after, id, old, new) {
                return None;
            }
            None
        }
    };
    Some(ResultChange {
        id,
        before: old,
        after: new,
        why_absent,
        way: old.zip(new).and_then(|(old, new)| way(after, id, old, new)),
        standing: old.zip(new).and_then(|(old, new)| standing(old, new)),
    })
}

/// Whether the value or an end of its band changed as people read it.
fn moved(after: &Worked, id: ResultId, old: Figure, new: Figure) -> bool {
    let bands_differ = match (old.band, new.band) {
        (Some(a), Some(b)) => differ(after, id, a.low, b.low) || differ(after, id, a.high, b.high),
        _ => false,
    };
    differ(after, id, old.value, new.value) || bands_differ
}

fn differ(after: &Worked, id: ResultId, old: f64, new: f64) -> bool {
    let display = &after.system.display;
    id.shift(old, new, display).is_some()
}

/// The direction in which a result moved. If the value itself is unchanged, its worst end decides.
fn way(after: &Worked, id: ResultId, old: Figure, new: Figure) -> Option<Way> {
    let better = id.spec().better;
    let worst = |figure: Figure| match (figure.band, better) {
        (Some(band), Better::More) => band.low,
        (Some(band), Better::Less) => band.high,
        _ => figure.value,
    };
    let step = match differ(after, id, old.value, new.value) {
        true => new.value - old.value,
        false => worst(new) - worst(old),
    };
    match better {
        Better::Neither => None,
        _ if step == 0.0 => None,
        Better::More if step > 0.0 => Some(Way::Better),
        Better::Less if step < 0.0 => Some(Way::Better),
        Better::More | Better::Less => Some(Way::Worse),
    }
}

fn standing(old: Figure, new: Figure) -> Option<Standing> {
    let had = old.band.filter(|band| !band.is_exact())?;
    let has = new.band.unwrap_or(Band::exact(new.value));
    Some(if had.low <= new.value && new.value <= had.high {
        Standing::Inside
    } else if has.low <= had.high && had.low <= has.high {
        Standing::Outside
    } else {
        Standing::Clear
    })
}
