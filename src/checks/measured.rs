//! Readings on the car that differ from the calculated ones: the clutch drags, and which faults explain that.

use super::context::problem_of_component;
use super::fault_words::{display_for, fault_in_words, read_again, seen_in_words};
use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::diagnose::{Explanation, FaultId, NextReading, Reading, Sized, Value, VisitReport};
use crate::finding::{Problem, Severity};
use crate::model::Component;
use crate::quantity::{Dimension, Display};
use crate::result;
use crate::schema::COMMON;

const FIT: &str = "the chain with one thing changed, fitted to all readings by least squares; Boyle's law; what is \
                   usual: common practice, no source";

pub const DRAGS: Check = Check {
    id: CheckId::DragsAsMeasured,
    severity: Severity::Error,
    finds: "What was measured on the car gives the fingers less travel than frees the disc.",
    why: "The disc drags on this car, whatever the spec works out: gears grind going in, and the car creeps with the pedal down.",
    limits: &[],
    source: FIT,
    bad: Example::System("measured { pedal_travel = 150 mm  slave_travel = 10.5 mm }"),
    good: Example::System("measured { pedal_travel = 150 mm  slave_travel = 15.75 mm }"),
    run: Run::Outcome(drags),
};

pub const AIR_IN_LINE: Check = Check {
    id: CheckId::AirInLine,
    severity: Severity::Warning,
    finds: "The readings of the car fall short of what is worked out, and air in the fluid is the likeliest cause.",
    why: "Air takes part of every stroke, and more of it as the fluid warms.",
    limits: &[
        Limit {
            name: "air",
            value: 50.0,
            dimension: Dimension::VOLUME,
            what: "the most air that is let pass as a misreading",
            source: COMMON,
        },
        Limit {
            name: "difference",
            value: 0.0,
            dimension: Dimension::NUMBER,
            what: "the part by which a measured travel, effort or pressure may differ, whatever its accuracy",
            source: COMMON,
        },
    ],
    source: FIT,
    bad: Example::System("measured { pedal_travel = 150 mm  slave_travel = 13 mm }"),
    good: Example::System("measured { pedal_travel = 150 mm  slave_travel = 15.75 mm }"),
    run: Run::Outcome(air_in_line),
};

pub const READING_OFF: Check = Check {
    id: CheckId::ReadingOff,
    severity: Severity::Warning,
    finds: "The readings of the car are not what is worked out, and something other than air is the likeliest cause.",
    why: "A part is worn, wrong or out of place, or a reading is: what the spec works out does not hold for this car.",
    limits: &[],
    source: FIT,
    bad: Example::System(
        "measured { pedal_travel = 150 mm  slave_travel = 13.5 mm  master_travel = 20 mm }",
    ),
    good: Example::System(
        "measured { pedal_travel = 150 mm  slave_travel = 15.75 mm  master_travel = 23.6 mm }",
    ),
    run: Run::Outcome(reading_off),
};

/// How many of the possible faults a finding names.
const NAMED: usize = 3;

fn drags(cx: &Context<'_>, out: &mut Found) {
    for (component, visit) in visits(cx).filter(|(_, visit)| visit.drags) {
        if !out.noted(component.block) {
            out.extend(problem(cx, component, visit));
        }
    }
}

fn air_in_line(cx: &Context<'_>, out: &mut Found) {
    warn(cx, out, true);
}

fn reading_off(cx: &Context<'_>, out: &mut Found) {
    warn(cx, out, false);
}

/// Reports each visit that does not drag and that some fault explains better than a healthy car does.
fn warn(cx: &Context<'_>, out: &mut Found, of_air: bool) {
    for (component, visit) in visits(cx) {
        let is_air = first(visit) == Some(FaultId::Air) && reads_slave(visit);
        let is_let_pass = is_air && passes_as_misread(cx, visit);
        if visit.drags || is_quiet(cx, visit) || is_air != of_air || is_let_pass {
            continue;
        }
        if !out.noted(component.block) {
            out.extend(problem(cx, component, visit));
        }
    }
}

/// Every visit with its block.
fn visits<'a>(cx: &Context<'a>) -> impl Iterator<Item = (&'a Component, &'a VisitReport)> {
    cx.system.measured().zip(&cx.diagnosis().visits)
}

fn first(visit: &VisitReport) -> Option<FaultId> {
    let first = visit.faults.first().filter(|fault| fault.explains);
    first.map(|fault| fault.sized.fault)
}

/// Whether the slave's own travel was read. Only that reading points to the fluid first.
fn reads_slave(visit: &VisitReport) -> bool {
    let of_slave = [
        Reading::SlaveTravel,
        Reading::ForkTravel,
        Reading::HalfTravel,
    ];
    visit
        .taken
        .iter()
        .any(|taken| of_slave.contains(&taken.reading))
}

fn is_quiet(cx: &Context<'_>, visit: &VisitReport) -> bool {
    let part = match Check::of(CheckId::AirInLine).limit("difference", cx.settings) {
        Some(part) if part > 0.0 => part,
        _ => return visit.taken.is_empty() || first(visit) == Some(FaultId::NothingWrong),
    };
    visit.taken.iter().all(|taken| {
        let expected = expected(visit, taken.reading);
        match (taken.value, expected) {
            (Value::Number(value), Some(Value::Number(expected))) => {
                (value - expected).abs() <= part * expected.abs()
            }
            _ => visit.agrees,
        }
    }) || first(visit) == Some(FaultId::NothingWrong)
}

fn passes_as_misread(cx: &Context<'_>, visit: &VisitReport) -> bool {
    let most = Check::of(CheckId::AirInLine).limit("air", cx.settings);
    let air = visit.faults.first().and_then(|fault| fault.sized.value);
    most.zip(air).is_some_and(|(most, air)| air <= most)
}

fn expected(visit: &VisitReport, reading: Reading) -> Option<Value> {
    let (_, value) = visit.expected.iter().find(|(one, _)| *one == reading)?;
    *value
}

fn problem(cx: &Context<'_>, component: &Component, visit: &VisitReport) -> Option<Problem> {
    let decides = visit.decides?;
    let taken = visit.taken.iter().find(|taken| taken.reading == decides)?;
    let expected = expected(visit, decides);
    let display = &display_for(visit, &cx.system.display);
    let length = |mm| display.show(mm, Dimension::LENGTH);
    let mut message = String::new();
    if let Some(past) = visit.past_limit {
        message.push_str(&format!(
            "stop pressing: the fingers move {}, past the cover's limit of {}; ",
            length(past.travel),
            length(visit.most)
        ));
    }
    if visit.drags {
        message.push_str("the clutch drags as measured: ");
    }
    message.push_str(&said(display, decides, taken.value, expected));
    let fingers = visit.finger_travel.map(|fingers| fingers.travel);
    let is_short = |travel: &f64| visit.drags && *travel < visit.needed;
    if let Some(travel) = fingers.filter(is_short) {
        message.push_str(&format!(
            ", and the fingers move {} of the {} that free the disc",
            length(travel),
            length(visit.needed)
        ));
    }
    message.push_str(&explained(cx, display, visit));
    let mut problem = problem_of_component(
        cx.check,
        cx.system,
        component,
        decides.kind().field,
        message,
    );
    if let (Value::Number(value), Some(Value::Number(expected))) = (taken.value, expected)
        && let Some(dimension) = decides.dimension()
    {
        problem = problem.short_by((value - expected).abs(), dimension);
    }
    let help = match cx.diagnosis().is_cured(visit) {
        true => format!(
            "the last visit shows that it is cured. To close this one, write `allow {} \"…\"` with the reason into its block",
            cx.check.name()
        ),
        false => help(cx, display, visit),
    };
    Some(problem.help(help))
}

/// A reading beside the calculated value: "the slave's rod moved 13.5 mm, 2.09 mm less than the 15.6 mm worked out".
fn said(display: &Display, reading: Reading, value: Value, expected: Option<Value>) -> String {
    let what = match reading {
        Reading::PedalTravel => "the pad went to",
        Reading::SlaveTravel => "the slave's rod moved",
        Reading::MasterTravel => "the master's piston moved",
        Reading::ForkTravel => "the fork's end moved",
        Reading::BearingTravel => "the bearing moved",
        Reading::PedalEffort => "the pedal took",
        Reading::HeldEffort => "the pedal is held by",
        Reading::LetUpEffort => "let up, the pedal pushes back with",
        Reading::LinePressure => "the line showed",
        Reading::ReleasePoint => "the disc came free at",
        Reading::HalfTravel => "at half pedal the rod had moved",
        Reading::BlockedTravel => "with the slave's rod blocked the pad went to",
        Reading::FreePlay => "the free play at the pad is",
        Reading::PedalDrag => "the pedal alone drags with",
        Reading::ForkDrag => "the fork alone drags with",
        Reading::Sink => "in a minute's hold the slave lost",
        Reading::Frees | Reading::ComesUp | Reading::Feel => "",
    };
    let dimension = reading.dimension().unwrap_or(Dimension::NUMBER);
    match (value, expected) {
        (Value::Number(value), Some(Value::Number(expected))) => {
            let way = if value > expected { "more" } else { "less" };
            format!(
                "{what} {}, {} {way} than the {} that is worked out",
                display.show(value, dimension),
                display.show((value - expected).abs(), dimension),
                display.show(expected, dimension)
            )
        }
        (Value::Number(value), _) => format!(
            "{what} {}, and nothing is worked out for it",
            display.show(value, dimension)
        ),
        (Value::Word("no"), _) if reading == Reading::ComesUp => {
            "the pedal does not come up by itself".to_owned()
        }
        (Value::Word("yes"), _) if reading == Reading::ComesUp => {
            "the pedal comes up by itself, and it should not".to_owned()
        }
        (Value::Word("no"), _) => "the disc does not come free".to_owned(),
        (Value::Word("yes"), _) => "the disc comes free, and it should not".to_owned(),
        (Value::Word(word), _) => format!("the pedal is `{word}`"),
    }
}

/// The fault that explains a visit, and the others that do.
fn explained(cx: &Context<'_>, display: &Display, visit: &VisitReport) -> String {
    let standing: Vec<&Explanation> = visit.faults.iter().filter(|f| f.explains).collect();
    let Some((best, others)) = standing.split_first() else {
        return match visit.pairs.first() {
            Some(pair) => {
                let [one, other] = pair.faults.map(|sized| fault_in_words(display, sized));
                format!(". No single fault explains all that was read; two do: {one}, and {other}")
            }
            None => ". No fault explains all that was read".to_owned(),
        };
    };
    if best.sized.fault == FaultId::NothingWrong {
        return ". Nothing needs to be wrong with the parts: the spec itself gives no more"
            .to_owned();
    }
    // Faults that fit equally well are named together.
    let (equals, rest): (Vec<&Explanation>, Vec<_>) = others.iter().partition(|one| one.equal);
    let first = fault_in_words(display, best.sized);
    let mut text = match equals.as_slice() {
        [] => format!(". Likeliest: {first}"),
        equals => format!(
            ". These explain the readings equally well: {first}; {}",
            some_of(display, equals)
        ),
    };
    if best.sized.fault == FaultId::Air {
        text.push_str(&firm(cx, display, best.sized).unwrap_or_default());
    }
    if !rest.is_empty() {
        text.push_str(&format!(". Less well: {}", some_of(display, &rest)));
    }
    text
}

/// The first of some faults, and the number of the others.
fn some_of(display: &Display, faults: &[&Explanation]) -> String {
    let named = faults.iter().take(NAMED);
    let mut listed: Vec<String> = named
        .map(|fault| fault_in_words(display, fault.sized))
        .collect();
    let more = faults.len().saturating_sub(NAMED);
    if more > 0 {
        listed.push(format!("{more} more"));
    }
    listed.join("; ")
}

/// Why the pedal can feel firm with that much air.
fn firm(cx: &Context<'_>, display: &Display, sized: Sized) -> Option<String> {
    let air = sized.value?;
    let explained = cx.what_if(|chain| chain.change_hydraulics(|h| h.fluid.air += air))?;
    let squeeze = explained.squeeze()?;
    let pressure = explained.get(result!(line_pressure))?;
    Some(format!(
        ". At {} the air is squeezed to {}, and half of the squeezing is over by {} of pedal: from there on the pedal feels \
         firm",
        display.show(pressure, Dimension::PRESSURE),
        display.show(squeeze.left, Dimension::VOLUME),
        display.show(squeeze.half_done, Dimension::LENGTH)
    ))
}

/// What to read next, or how to cure the remaining fault.
fn help(cx: &Context<'_>, display: &Display, visit: &VisitReport) -> String {
    let standing: Vec<FaultId> = visit
        .faults
        .iter()
        .filter(|fault| fault.explains)
        .map(|fault| fault.sized.fault)
        .collect();
    let Some(best) = standing.first() else {
        return match visit.pairs.first() {
            Some(pair) => pair.faults[0].fault.fault().confirm.to_owned(),
            None => read_again(visit),
        };
    };
    let fault = best.fault();
    if let Some(next) = visit.next.first() {
        return format!(
            "read `{}` next: {}",
            next.reading.name(),
            predictions(display, next)
        );
    }
    let alike = match standing.len() {
        0 | 1 => "",
        _ => "no reading that a workshop takes tells them apart. ",
    };
    let confirm = match fault.confirm.is_empty() {
        true => String::new(),
        false => format!("to confirm: {}. ", fault.confirm),
    };
    let mut text = format!("{alike}{confirm}Then {}. {}", fault.cure, fault.caution);
    if *best == FaultId::Air
        && let Some(travel) = cx.get(result!(slave_travel))
    {
        text = format!(
            "{alike}{}: {} of slave travel at full pedal is what to look for. {}",
            fault.cure,
            display.show(travel, Dimension::LENGTH),
            fault.caution
        );
    }
    text.trim_end().to_owned()
}

/// What each reading would mean: "23 mm means air, a leaking seal or a swelling hose; 20 mm means more free play".
fn predictions(display: &Display, next: &NextReading) -> String {
    let meanings = next.meanings().into_iter().map(|meaning| {
        let faults: Vec<&str> = meaning.faults.iter().map(|id| id.fault().called).collect();
        let seen = seen_in_words(display, next.reading, meaning.seen);
        format!("{seen} means {}", any_of(&faults))
    });
    meanings.collect::<Vec<_>>().join("; ")
}

/// Some faults as alternatives: "air, a leaking seal or a swelling hose".
fn any_of(faults: &[&str]) -> String {
    match faults {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}
