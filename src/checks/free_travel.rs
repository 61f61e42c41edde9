//! A manual's free travel entered where only a part of it belongs, and how often an adjuster must be set.

use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::schema::COMMON;
use crate::{field, result};

/// The share of the remaining free travel from which the pedal's own play looks like all of it.
const SHARE: Limit = Limit {
    name: "share",
    value: 0.8,
    dimension: Dimension::NUMBER,
    what: "the least share of the free travel behind the pedal at which pedal.free_play looks like all of it",
    source: COMMON,
};

/// Less free travel than this behind the pedal is not mistaken for a manual's free travel.
const LEAST: Limit = Limit {
    name: "least",
    value: 10.0,
    dimension: Dimension::LENGTH,
    what: "the free travel behind the pedal, at the pad, below which nothing is said",
    source: COMMON,
};

pub const TWICE: Check = Check {
    id: CheckId::FreeTravelTwice,
    severity: Severity::Warning,
    finds: "The pedal's own free play is as large as all the play behind it, as if it were the service manual's free travel.",
    why: "The service manual's free travel includes the bearing's gap and the play on the way. Entered as the pedal's own play, it counts twice, and the spec loses travel that the car has.",
    limits: &[SHARE, LEAST],
    source: COMMON,
    bad: Example::System(
        "pedal { free_play = 20 mm  travel = 170 mm }\nbearing { free_play = 1.2 mm }",
    ),
    good: Example::System(
        "pedal { free_play = 6 mm  travel = 160 mm }\nbearing { free_play = 1.2 mm }",
    ),
    run: Run::Outcome(twice),
};

pub const AGAIN: Check = Check {
    id: CheckId::AdjustAgain,
    severity: Severity::Info,
    finds: "The free play is used up before the disc is worn out, so the adjuster must be set again on the way.",
    why: "Once the free play is gone the bearing holds the fingers back, and the clutch slips.",
    limits: &[],
    source: COMMON,
    bad: Example::System(
        "disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1.6 mm }
cover { finger_ratio = 3.4 }
bearing { free_play = 1.5 mm }
slave { adjuster = manual  adjust_range = 20 mm  stroke = 36 mm }",
    ),
    good: Example::System(
        "disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1.6 mm }
cover { finger_ratio = 3.4 }
slave { adjuster = auto  adjust_range = 20 mm }",
    ),
    run: Run::Outcome(again),
};

fn twice(cx: &Context<'_>, out: &mut Found) {
    let (Some(whole), Some(given), Some(share), Some(least)) = (
        cx.get(result!(free_travel)),
        cx.system.given_number(field!(pedal.free_play)),
        cx.limit(SHARE.name),
        cx.limit(LEAST.name),
    ) else {
        return;
    };
    let behind = whole - given;
    if behind < least || given < share * behind || out.noted(field!(pedal.free_play).block) {
        return;
    }
    let cost = cx.what_if(|chain| chain.pedal.free_play = Some(0.0));
    let cost = cost.and_then(|outcome| {
        Some(outcome.get(result!(bearing_travel))? - cx.get(result!(bearing_travel))?)
    });
    let message = format!(
        "free play seems to be counted twice: the pedal's own is {}, and the gaps behind it take {} more, so that the pad moves \
         {} before the bearing touches the fingers",
        cx.length(given),
        cx.length(behind),
        cx.length(whole),
    );
    let problem = cx.problem(field!(pedal.free_play), message);
    let problem = cx.beside(
        problem,
        field!(bearing.free_play),
        "this gap is part of the service manual's free travel",
    );
    let twice = match cost {
        Some(cost) => format!(
            ": counting it twice costs {} at the bearing",
            cx.length(cost)
        ),
        None => String::new(),
    };
    out.push(problem.help(format!(
        "if this is the free travel from the service manual, delete it here and compare it with the result \
         `free_travel`{twice}; if it is play in the pedal's pin and rod alone, keep it with \
         `allow free-travel-twice`"
    )));
}

fn again(cx: &Context<'_>, out: &mut Found) {
    let side = &cx.outcome.side_inputs;
    let chain = &cx.outcome.chain;
    let (Some(wear), Some(ratio), Some(_)) = (side.wear, side.finger_ratio, chain.adjust_range)
    else {
        return;
    };
    let Some(drive) = cx.system.fork_drives().next() else {
        return;
    };
    let (adjuster, _) = drive.adjuster;
    if cx.system.word(adjuster) != Some("manual") || side.is_self_adjusting {
        return;
    }
    let every = chain.bearing.free_play / ratio;
    if every >= wear || out.noted(adjuster.block) {
        return;
    }
    let message = match every > 0.0 {
        true => format!(
            "set the {} again before the disc has worn by another {}: then the bearing's free play of {} is gone. The pad's \
             free travel shows it",
            drive.name(),
            cx.length(every),
            cx.length(chain.bearing.free_play),
        ),
        false => format!(
            "an adjuster that is set by hand needs free play at the bearing, and none is given: the {} must be set again with \
             every bit of wear",
            drive.name(),
        ),
    };
    out.push(
        cx.problem(adjuster, message)
            .help("write the interval into the car's service plan"),
    );
}
