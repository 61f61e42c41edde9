//! One result of a system by itself, for whoever tries many values and asks each for no more.

use super::inputs::{chain, chain_inputs};
use super::outcome::can_be_worked_out;
use crate::mechanics::{Chain, FullPedal, Walk};
use crate::model::System;
use crate::result;
use crate::schema::ResultId;

/// A result that comes of the walk of a chain alone, and so takes a part of the work of all.
#[derive(Clone, Copy)]
pub(crate) struct OneResult(&'static Row);

struct Row {
    id: ResultId,
    value: OfWalk,
    /// What the result is not below, where that is had for less.
    at_least: Option<OfWalk>,
}

type OfWalk = fn(&Chain, &Walk<'_>, &FullPedal) -> Option<f64>;

/// Those that cures are mostly looked for by, each as the summary of a chain has it.
static OF_WALK: [Row; 6] = [
    Row {
        id: result!(pedal_effort),
        value: |_, walk, full| walk.highest_effort(full),
        at_least: Some(|_, walk, full| Some(walk.effort_under_load(full))),
    },
    Row {
        id: result!(pedal_effort_return),
        value: |_, walk, full| walk.least_return_effort(full),
        at_least: None,
    },
    Row {
        id: result!(pedal_effort_slack),
        value: |_, walk, full| walk.least_slack_effort(full),
        at_least: None,
    },
    Row {
        id: result!(pedal_travel_used),
        value: |_, _, full| Some(full.state.pad_travel),
        at_least: None,
    },
    Row {
        id: result!(release_margin),
        value: |chain, _, full| Some(full.state.finger_travel - chain.cover.needed),
        at_least: None,
    },
    Row {
        id: result!(overtravel_margin),
        value: |chain, _, full| Some(chain.cover.most - full.state.finger_travel),
        at_least: None,
    },
];

/// What is known of a result.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Known {
    /// Its value in its internal unit; `None` where it is absent, or the system is not worked out.
    Value(Option<f64>),
    /// It is not below this.
    AtLeast(f64),
}

impl OneResult {
    /// The result, if it is one that comes of the walk alone.
    pub fn of(id: ResultId) -> Option<Self> {
        OF_WALK.iter().find(|row| row.id == id).map(Self)
    }

    /// The result of a system as [`work_out`](super::work_out) has it, or what it is not below, where that is `enough` to
    /// know.
    pub fn in_system(self, system: &System, enough: impl Fn(f64) -> bool) -> Known {
        self.known(system, enough).unwrap_or(Known::Value(None))
    }

    fn known(self, system: &System, enough: impl Fn(f64) -> bool) -> Option<Known> {
        can_be_worked_out(system).ok()?;
        let chain = chain(system, &chain_inputs(system))?;
        let walk = chain.walk()?;
        let full = walk.full_pedal()?;
        let Row {
            value, at_least, ..
        } = self.0;
        let at_least = at_least.and_then(|at_least| at_least(&chain, &walk, &full));
        Some(match at_least.filter(|at_least| enough(*at_least)) {
            Some(at_least) => Known::AtLeast(at_least),
            None => Known::Value(value(&chain, &walk, &full)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{Known, OF_WALK, OneResult};
    use crate::finding::FileName;
    use crate::model::{Bundle, Files, Source, build};
    use crate::solve::work_out;
    use proptest::prelude::*;
    use std::sync::Arc;

    struct NoFiles;

    impl Files for NoFiles {
        fn read(&self, _: &FileName) -> Result<Arc<Source>, String> {
            Err("does not exist".to_owned())
        }
    }

    /// A car with one of the ways to work a fork; some release, some do not.
    fn car() -> impl Strategy<Value = String> {
        let ways = prop_oneof![
            (15.0..26.0, 18.0..30.0, 0.0..12.0).prop_map(|(master, slave, preload)| format!(
                "master {{ bore = {master} mm  mount_stiffness = 900 N/mm  return_force = 20 N }}
                 slave {{ bore = {slave} mm  preload = {preload} N  drag = 8 N }}
                 line flex {{ bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }}"
            )),
            (0.0..3.0, 60.0..500.0).prop_map(|(play, stiffness)| format!(
                "cable {{ bends = 120 deg  friction = 0.06  play = {play} mm  stiffness = {stiffness} N/mm }}"
            )),
        ];
        let levers = (25.0..90.0, 80.0..180.0, 0.0..25.0, 40.0..90.0, 0.0..30.0);
        let rest = (0.0..2.0, 500.0..2500.0, 0.0..800.0);
        (ways, levers, rest).prop_map(
            |(way, (rod_arm, travel, play, bearing_arm, spring), (gap, peak, first))| {
                let free_play = if way.contains("cable") { 0.0 } else { play / 5.0 };
                format!(
                    "system car {{
                        pedal {{
                            pad_arm = 300 mm  rod_arm = {rod_arm} mm  travel = {travel} mm
                            free_play = {free_play} mm  return_force = {spring} N
                        }}
                        {way}
                        fork {{ slave_arm = 112 mm  bearing_arm = {bearing_arm} mm  stiffness = 1200 N/mm }}
                        bearing {{ free_play = {gap} mm }}
                        cover {{
                            release_travel = 7 mm to 11 mm
                            release_load = curve {{ 0 mm: {first} N, 4 mm: {peak} N, 8 mm: 1400 N, 12 mm: 1300 N }}
                        }}
                    }}"
                )
            },
        )
    }

    proptest! {
        #[test]
        fn a_result_by_itself_is_the_one_of_the_whole_solution(text in car(), limit in 0.0..400.0) {
            let source = Arc::new(Source::new("a.clutch".into(), text));
            let model = build(&Bundle::load(source, &NoFiles));
            let system = &model.systems[0].system;
            let outcome = work_out(system);
            for row in &OF_WALK {
                let whole = outcome.as_ref().ok().and_then(|outcome| outcome.get(row.id));
                let one = OneResult::of(row.id).unwrap();
                prop_assert_eq!(one.in_system(system, |_| false), Known::Value(whole));
                match one.in_system(system, |at_least| at_least > limit) {
                    Known::Value(value) => prop_assert_eq!(value, whole),
                    Known::AtLeast(least) => prop_assert!(whole.is_some_and(|whole| least > limit && least <= whole)),
                }
            }
        }
    }
}
