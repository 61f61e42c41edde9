//! The steps of bleeding a car, each with the number to look for.

use super::super::Worked;
use crate::diagnose::BleedingPlan;
use crate::field;
use crate::quantity::Dimension;

/// The steps of bleeding the car of a system, for paper, with values written by `show`. They hold for any amount of
/// air, and leave out what the slave does afterwards. `None` for a car without fluid.
pub fn bleeding_on_paper(
    worked: &Worked,
    show: impl Fn(f64, Dimension) -> String,
) -> Option<Vec<String>> {
    let outcome = worked.outcome.as_deref().ok()?;
    let plan = BleedingPlan::new(&worked.system, outcome, None)?;
    Some(steps_before_reading(worked, &plan, &show))
}

/// The steps of bleeding the car of a system, in the order in which they are done.
pub(super) fn bleeding_steps(
    worked: &Worked,
    plan: &BleedingPlan,
    show: impl Fn(f64, Dimension) -> String,
) -> Vec<String> {
    let mut steps = steps_before_reading(worked, plan, &show);
    steps.push(format!(
        "At full pedal the slave moves {}. Less is air that is still there, or another fault: read it again.",
        show(plan.slave_travel, Dimension::LENGTH)
    ));
    steps
}

/// The steps before the final reading. Common practice, no source; the numbers are those of the car.
fn steps_before_reading(
    worked: &Worked,
    plan: &BleedingPlan,
    show: &impl Fn(f64, Dimension) -> String,
) -> Vec<String> {
    let is_concentric = worked.system.given(field!(slave.outer)).is_some();
    let volume = |value| show(value, Dimension::VOLUME);
    let length = |value| show(value, Dimension::LENGTH);
    let mut steps = Vec::new();
    if let Some(held) = plan.held.filter(|held| *held > 0.0) {
        let rest = match plan.elsewhere.filter(|elsewhere| *elsewhere > 0.0) {
            Some(elsewhere) => format!(
                " The other {} sits in the line or the master, or comes in anew.",
                volume(elsewhere)
            ),
            None => String::new(),
        };
        let of_all = plan
            .air
            .map_or_else(String::new, |air| format!("the {} of ", volume(air)));
        steps.push(format!(
            "As the slave sits, {} of {of_all}air stays above its bleed screw however long you bleed.{rest}",
            volume(held)
        ));
    }
    steps.push(
        "If the master was off the car or ran dry, bleed it on the bench first, its outlet up, until no bubble comes."
            .to_owned(),
    );
    if !is_concentric && plan.push_home > 0.0 {
        let held = match plan.tilt {
            Some(_) => "clamp it there: off the car nothing else holds it",
            None => "clamp it there while you bleed",
        };
        steps.push(format!(
            "Push the slave's piston fully home, by {}, and {held}. {} of fluid comes back: see that the reservoir does \
             not run over.",
            length(plan.push_home),
            volume(plan.pushed_back)
        ));
    }
    steps.push(match plan.tilt {
        Some(tilt) => format!(
            "Unbolt the slave, its piston clamped fully home, and tilt it by {} or more, bleed screw uppermost.",
            show(tilt, Dimension::ANGLE)
        ),
        None => "See that the slave's bleed screw is its highest point.".to_owned(),
    });
    steps.push(
        "Put a clear hose on the bleed screw, its end under fluid in a jar. Wear gloves and eye protection. Keep the \
         reservoir topped up."
            .to_owned(),
    );
    steps.push(
        "A helper works the pedal. Open the bleed screw while the pedal goes down; shut it before the pedal comes up."
            .to_owned(),
    );
    let strokes = match plan.strokes {
        1 => "1 full stroke".to_owned(),
        strokes => format!("{strokes} full strokes"),
    };
    let go_on = "Go on until no bubble comes.";
    steps.push(match plan.to_screw > 0.0 {
        true => format!(
            "From master to bleed screw the line holds {}, and a stroke moves {}: at least {strokes}. {go_on}",
            volume(plan.to_screw),
            volume(plan.per_stroke)
        ),
        // The volume of the line is not known.
        false => format!("A stroke moves {}. {go_on}", volume(plan.per_stroke)),
    });
    if plan.moved.is_some() {
        steps.push(match plan.clears_lines {
            true => "One stroke carries a bubble past any high point of the line.".to_owned(),
            false => "Leave no pause between strokes: the bubble climbs back in the line. Or push fluid in at the bleed \
                      screw, slowly, and see that the reservoir does not run over."
                .to_owned(),
        });
    }
    steps.extend(released(plan, is_concentric, &length));
    // A concentric slave is inside the bell housing.
    let [pumped, held] = match is_concentric {
        true => [
            " Read it through the inspection hole. Without one, a second push that gets hard higher up is air.",
            " Without an inspection hole, a pad that sinks is a leak.",
        ],
        false => ["", ""],
    };
    steps.push(format!(
        "Pump test: a second push straight after the first gains {} of slave travel at most. More is air.{pumped}",
        length(plan.most_change)
    ));
    steps.push(format!(
        "Hold test: in a minute's hold the slave loses {} at most. More is a leak.{held}",
        length(plan.most_change)
    ));
    steps
}

/// How an outside slave that was held fully home works again, before anyone presses the pedal on it; `None` where it was
/// not held.
fn released(
    plan: &BleedingPlan,
    is_concentric: bool,
    length: &impl Fn(f64) -> String,
) -> Option<String> {
    if is_concentric || (plan.push_home <= 0.0 && plan.tilt.is_none()) {
        return None;
    }
    let bolted = match plan.tilt {
        Some(_) => "Bolt the slave on, take",
        None => "Take",
    };
    let out = match plan.push_home > 0.0 {
        true => format!(
            " and see that the piston comes out {} at rest",
            length(plan.push_home)
        ),
        false => String::new(),
    };
    Some(format!(
        "Shut the bleed screw and leave the pedal up. {bolted} the clamp off, refit the rod{out}. Only then press the pedal."
    ))
}
