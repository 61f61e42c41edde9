//! The search for values that cure a finding.

use super::edit::edit_field;
use super::sizes::{COMMON_BORES, bore_written, is_inch_size, rounded_down};
use super::{Context, Detail, over_pressure, require_failed};
use crate::finding::{Place, Problem};
use crate::mechanics::{Chain, EndedBy, Outcome, SlaveBore};
use crate::model::System;
use crate::schema::FieldId;
use crate::{field, result};

/// Collects the changes that cure a problem: each is tried before it is offered, and must
/// neither leave the problem nor bring another error.
pub struct Cures<'c, 'a> {
    cx: &'c Context<'a>,
    problem: Problem,
    cured: &'c dyn Fn(&Outcome) -> bool,
    told: Vec<String>,
}

/// A change that cures, and what comes of it.
struct Cure {
    /// The new value, in internal units.
    value: f64,
    outcome: Outcome,
}

impl<'c, 'a> Cures<'c, 'a> {
    pub fn of(cx: &'c Context<'a>, problem: Problem, cured: &'c dyn Fn(&Outcome) -> bool) -> Self {
        Self {
            cx,
            problem,
            cured,
            told: Vec::new(),
        }
    }

    /// A pedal stop, as late as it may be.
    pub fn stop(self) -> Self {
        let Some(cure) = self.find_stop() else {
            return self;
        };
        let stop = self.cx.written(field!(pedal.stop), cure.value);
        let verb = match self.cx.system.given(field!(pedal.stop)) {
            Some(_) => "move the pedal stop to",
            None => "fit a pedal stop at",
        };
        let edit = edit_field(self.cx.system, field!(pedal.stop), &stop);
        self.tell(edit, &format!("{verb} {stop}"), &cure.outcome)
    }

    /// The pedal stop that is fitted, moved to where the cover's window or the pedal ends.
    pub fn later_stop(self) -> Self {
        if self.cx.outcome.ended_by != EndedBy::PedalStop || self.cx.detail == Detail::Brief {
            return self;
        }
        let free = self.cx.what_if(|chain| chain.pedal.stop = None);
        let latest = free
            .and_then(|free| free.get(result!(stop_travel)))
            .unwrap_or(self.cx.outcome.chain.pedal.travel);
        let unit = self.cx.unit(field!(pedal.stop));
        let stop = rounded_down(latest, unit.as_ref(), false);
        self.value(
            field!(pedal.stop),
            stop,
            "move the pedal stop to",
            |chain| chain.pedal.stop = Some(stop),
        )
    }

    /// Another slave of a commonly made bore; not for a concentric one.
    pub fn slave_bore(self) -> Self {
        let slave = self.cx.outcome.hydraulics().map(|h| &h.slave.bore);
        let Some(&SlaveBore::Round(present)) = slave else {
            return self;
        };
        let cure = self.find_bore(field!(slave.bore), present, |chain, bore| {
            chain.change_hydraulics(|h| h.slave.bore = SlaveBore::Round(bore));
        });
        self.tell_bore(field!(slave.bore), cure)
    }

    /// Another master of a commonly made bore.
    pub fn master_bore(self) -> Self {
        let Some(hydraulics) = self.cx.outcome.hydraulics() else {
            return self;
        };
        let present = hydraulics.master.bore;
        let cure = self.find_bore(field!(master.bore), present, |chain, bore| {
            chain.change_hydraulics(|h| h.master.bore = bore);
        });
        self.tell_bore(field!(master.bore), cure)
    }

    /// Another value of a field, if it cures.
    pub fn value(
        self,
        field: FieldId,
        value: f64,
        what: &str,
        change: impl FnOnce(&mut Chain),
    ) -> Self {
        let text = self.cx.written(field, value);
        let edit = edit_field(self.cx.system, field, &text);
        self.edit(edit, &format!("{what} {text}"), change)
    }

    /// A change with the edit that makes it, if there is one, if it cures.
    pub fn edit(
        self,
        edit: Option<(Place, String)>,
        what: &str,
        change: impl FnOnce(&mut Chain),
    ) -> Self {
        match self.cured_by(change) {
            Some(outcome) => self.tell(edit, what, &outcome),
            None => self,
        }
    }

    /// A change that no single field says, or that wants another part, if it cures.
    pub fn say(mut self, what: impl Into<String>, change: impl FnOnce(&mut Chain)) -> Self {
        if self.cured_by(change).is_some() {
            self.told.push(what.into());
        }
        self
    }

    /// The problem with its cures; where there are none, with what else can be done.
    pub fn or_else(self, help: impl Into<String>) -> Problem {
        let help = if self.told.is_empty() {
            help.into()
        } else {
            self.told.join("; or ")
        };
        self.problem.help(help)
    }

    /// The same, saying first that no bore cures it, of a system that has bores.
    pub fn or_else_than_bores(self, no_bore: &str, help: impl Into<String>) -> Problem {
        let help = help.into();
        match self.cx.outcome.hydraulics() {
            Some(_) => self.or_else(format!("{no_bore}: {help}")),
            None => self.or_else(help),
        }
    }

    fn tell_bore(self, field: FieldId, cure: Option<Cure>) -> Self {
        let Some(cure) = cure else {
            return self;
        };
        let bore = bore_written(cure.value);
        let what = format!("use a {bore} {}", field.block().name);
        let edit = edit_field(self.cx.system, field, &bore);
        self.tell(edit, &what, &cure.outcome)
    }

    fn tell(mut self, edit: Option<(Place, String)>, what: &str, outcome: &Outcome) -> Self {
        let title = format!("{what}: {}", self.cx.leads_to(outcome));
        if let Some((place, text)) = edit {
            self.problem = self.problem.fix(title.clone(), place, text);
        }
        self.told.push(title);
        self
    }

    fn cured_by(&self, change: impl FnOnce(&mut Chain)) -> Option<Outcome> {
        if self.cx.detail == Detail::Brief {
            return None;
        }
        let outcome = self.cx.what_if(change)?;
        let cures = (self.cured)(&outcome) && breaks_nothing(self.cx, &outcome);
        cures.then_some(outcome)
    }

    /// The commonly made bore nearest to the present one that cures; one of the same habit,
    /// inch or metric, before any of the other.
    fn find_bore(
        &self,
        field: FieldId,
        present: f64,
        change: impl Fn(&mut Chain, f64),
    ) -> Option<Cure> {
        if self.cx.detail == Detail::Brief {
            return None;
        }
        let in_inches = self
            .cx
            .unit(field)
            .is_some_and(|unit| unit.to_string() == "in");
        let mut bores: Vec<f64> = COMMON_BORES.to_vec();
        bores.sort_by(|a, b| (a - present).abs().total_cmp(&(b - present).abs()));
        let (own, other): (Vec<f64>, Vec<f64>) = bores
            .into_iter()
            .partition(|bore| is_inch_size(*bore) == in_inches);
        own.into_iter().chain(other).find_map(|value| {
            let outcome = self.cured_by(|chain| change(chain, value))?;
            Some(Cure { value, outcome })
        })
    }

    /// The latest pedal stop that cures, as a round value.
    fn find_stop(&self) -> Option<Cure> {
        if self.cx.detail == Detail::Brief {
            return None;
        }
        let with_stop = |chain: &mut Chain, stop: f64| chain.pedal.stop = Some(stop);
        let unit = self.cx.unit(field!(pedal.stop));
        let used = self.cx.get(result!(pedal_travel_used))?;
        let latest = last_good(0.0, used, |stop| {
            self.cx
                .what_if(|chain| with_stop(chain, stop))
                .is_some_and(|outcome| (self.cured)(&outcome))
        });
        // A round value leaves something in hand; where that is too much, a finer one.
        [false, true].into_iter().find_map(|fine| {
            let value = rounded_down(latest, unit.as_ref(), fine);
            let outcome = self
                .cured_by(|chain| with_stop(chain, value))
                .filter(|_| value > 0.0)?;
            Some(Cure { value, outcome })
        })
    }
}

/// The last value between `low`, which is taken as good, and `high` that is still good.
pub fn last_good(mut low: f64, mut high: f64, good: impl Fn(f64) -> bool) -> f64 {
    /// Enough for a millionth of any travel.
    const HALVINGS: usize = 24;
    for _ in 0..HALVINGS {
        let middle = low + (high - low) / 2.0;
        if good(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Whether a change brings no error that is not there already, and makes none worse.
fn breaks_nothing(cx: &Context<'_>, outcome: &Outcome) -> bool {
    let before = margins(cx.system, cx.outcome);
    let after = margins(cx.system, outcome);
    before
        .into_iter()
        .zip(after)
        .all(|(before, after)| after >= 0.0 || (before < 0.0 && after >= before))
}

/// How far a system is from each of the errors that a change of size can bring; below zero
/// where it has one.
fn margins(system: &System, outcome: &Outcome) -> Vec<f64> {
    let get = |id| outcome.get(id).unwrap_or(f64::INFINITY);
    let left = |most: Option<f64>, id| match (most, outcome.get(id)) {
        (Some(most), Some(value)) => most - value,
        _ => f64::INFINITY,
    };
    let not_ended_by = |end| if outcome.ended_by == end { -1.0 } else { 0.0 };
    let mut margins = vec![
        get(result!(release_margin)),
        get(result!(overtravel_margin)),
        get(result!(slave_reserve)),
        get(result!(wear_reserve)),
        not_ended_by(EndedBy::MasterStroke),
        not_ended_by(EndedBy::Geometry),
        left(
            over_pressure::least(system).map(|(_, _, most)| most),
            result!(line_pressure),
        ),
        left(
            system.given_number(field!(bearing.max_travel)),
            result!(bearing_travel),
        ),
        left(
            system.given_number(field!(fork.window)),
            result!(slave_travel),
        ),
    ];
    let requires = system.requires.iter();
    margins.extend(requires.map(|require| require_failed::margin(require, outcome)));
    margins
}

#[cfg(test)]
mod tests {
    use super::last_good;

    #[test]
    fn the_last_good_value_is_found_from_below() {
        let last = last_good(0.0, 150.0, |stop| stop <= 134.5);
        assert!(last <= 134.5 && last > 134.499);
    }
}
