//! Air in the fluid: where it is caught, and what a measurement says of it.

use super::limits;
use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::mechanics::{Chain, TrappedAir};
use crate::quantity::{Dimension, significant};
use crate::result;
use crate::schema::COMMON;
use crate::{block, field};

pub const BUBBLE_TRAP: Check = Check {
    id: CheckId::BubbleTrap,
    severity: Severity::Warning,
    finds: "The slave's far end lies higher than its bleed screw, and a bubble stays there.",
    why: "Bleeding never gets it out, and it takes part of every stroke.",
    limits: &[limits::BUBBLE],
    source: "volume of a cylinder's hoof; Boyle's law",
    bad: Example::System("slave { slope = 5 deg  chamber = 30 mm }"),
    good: Example::System("slave { slope = -5 deg  chamber = 30 mm }"),
    run: Run::Outcome(bubble_trap),
};

pub const AIR_IN_LINE: Check = Check {
    id: CheckId::AirInLine,
    severity: Severity::Warning,
    finds: "What was measured on the car is not what is worked out.",
    why: "A short stroke means air in the fluid, or a part that is not what the spec says.",
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
            value: 0.1,
            dimension: Dimension::NUMBER,
            what: "the part by which a measured travel, effort or pressure may differ",
            source: COMMON,
        },
    ],
    source: "Boyle's law, isothermal; that a stroke short of the ideal means air: common practice, no source",
    bad: Example::System("measured { pedal_travel = 150 mm  slave_travel = 12 mm }"),
    good: Example::System("measured { pedal_travel = 150 mm  slave_travel = 15.75 mm }"),
    run: Run::Outcome(air_in_line),
};

fn bubble_trap(cx: &Context<'_>, out: &mut Found) {
    let (Some(volume), Some(most)) = (
        cx.get(result!(bubble_volume)),
        cx.bound(result!(bubble_volume)),
    ) else {
        return;
    };
    if volume <= most {
        return;
    }
    let Some(travel) = cx.get(result!(slave_travel)) else {
        return;
    };
    if out.noted(block!(slave)) {
        return;
    }
    let with_bubble = cx.what_if(|chain| chain.change_hydraulics(|h| h.fluid.air += volume));
    let costs = with_bubble.and_then(|outcome| {
        let short = travel - outcome.get(result!(slave_travel))?;
        Some(format!(
            "; left in, it costs {} of the slave's {} and leaves a release margin of {}",
            cx.length(short),
            cx.length(travel),
            cx.length(outcome.get(result!(release_margin))?)
        ))
    });
    out.push(
        cx.problem(
            field!(slave.slope),
            format!(
                "a bubble of {} stays above the bleed screw{}",
                cx.show(volume, Dimension::VOLUME),
                costs.unwrap_or_default()
            ),
        )
        .help(
            "bleed the slave off the car with the screw at the top, or turn it so that its far \
             end lies lower. Support the vehicle, and keep brake fluid off eyes, skin and paint",
        ),
    );
}

fn air_in_line(cx: &Context<'_>, out: &mut Found) {
    if let Some(problem) = out_of_reach(cx) {
        out.push(problem);
        return;
    }
    if let Some(air) = cx.outcome.trapped_air {
        out.extend(explained(cx, &air));
    }
    out.extend(contradictions(cx));
}

/// A reading that the pedal never gets to.
fn out_of_reach(cx: &Context<'_>) -> Option<Problem> {
    let field = field!(measured.pedal_travel);
    let at = cx.system.given_number(field)?;
    let end = cx.outcome.chain.pedal.travel;
    (at > end).then(|| {
        cx.problem(
            field,
            format!(
                "the readings were taken at {} of pedal, and the pedal ends at {}: they are not \
                 held against anything there",
                cx.length(at),
                cx.length(end)
            ),
        )
        .short_by(at - end, Dimension::LENGTH)
        .help("both count at the pad, from rest: measure them again")
    })
}

/// The field that holds the reading that the air is worked out from.
fn reading_field(cx: &Context<'_>) -> crate::schema::FieldId {
    [
        field!(measured.slave_travel),
        field!(measured.bearing_travel),
    ]
    .into_iter()
    .find(|field| cx.system.given(*field).is_some())
    .unwrap_or(field!(measured.release_point))
}

fn explained(cx: &Context<'_>, found: &TrappedAir) -> Option<Problem> {
    let most = cx.limit("air")?;
    let hydraulics = cx.outcome.hydraulics()?;
    let told = hydraulics.fluid.air;
    if (found.air - told).abs() <= most {
        return None;
    }
    let field = reading_field(cx);
    let volume = |v| cx.show(v, Dimension::VOLUME);
    if found.air < -most {
        // More than no losses at all would give: something is not what the spec says.
        return Some(
            cx.problem(
                field,
                format!(
                    "the slave moved {} more than this spec can make it: no air explains that",
                    cx.length(-found.missing_travel)
                ),
            )
            .short_by(-found.missing_travel, result!(slave_travel_missing))
            .help(
                "the likeliest first: the slave's bore is smaller or the master's larger than the \
                 spec says; the pedal went further than `measured.pedal_travel`; there is less \
                 free play than the spec says; the reading counts from another rest",
            ),
        );
    }
    let explained = cx.what_if(|chain| chain.change_hydraulics(|h| h.fluid.air = found.air));
    let squeezed = explained.as_ref().and_then(|outcome| outcome.squeeze());
    let ambient = hydraulics.fluid.ambient;
    let left = ambient / (ambient + found.pressure) * found.air;
    let firm = match squeezed {
        Some(squeeze) => format!(
            "; at the {} of this clutch it is squeezed to {}, half of that by {} of pedal, so the \
             pedal feels firm from there on. A brake's pistons hardly move, and the same bubble \
             would make its pedal long; a slave moves all the way, and only its stroke tells",
            cx.pressure(found.pressure),
            volume(left),
            cx.length(squeeze.half_done)
        ),
        None => String::new(),
    };
    Some(
        cx.problem(
            field,
            format!(
                "the slave is {} short of what this system gives without air: {} of air in the \
                 fluid explain it{firm}",
                cx.length(found.missing_travel),
                volume(found.air)
            ),
        )
        .short_by((found.air - told).abs() - most, result!(air_volume))
        .help(format!(
            "bleed it with the screw at the highest point and measure again: {} at full pedal is \
             what to look for. If it stays so, the seals of master or slave leak, or a hose swells \
             more than the spec says. Support the vehicle, and keep brake fluid off eyes, skin \
             and paint",
            cx.get(result!(slave_travel))
                .map_or_else(String::new, |travel| cx.length(travel))
        )),
    )
}

/// Readings that do not fit what is worked out at the same pedal travel, with the air that the
/// first reading showed.
fn contradictions(cx: &Context<'_>) -> Vec<Problem> {
    let given = |id| cx.system.given_number(id);
    let (Some(at), Some(part)) = (given(field!(measured.pedal_travel)), cx.limit("difference"))
    else {
        return Vec::new();
    };
    let air = cx
        .outcome
        .trapped_air
        .map_or(0.0, |found| found.air.max(0.0));
    let with_air = |chain: &mut Chain| {
        if air > 0.0 {
            chain.change_hydraulics(|h| h.fluid.air = air);
        }
    };
    let there = cx.what_if(|chain| {
        chain.pedal.stop = Some(at);
        with_air(chain);
    });
    let (Some(there), Some(everywhere)) = (there, cx.what_if(with_air)) else {
        return Vec::new();
    };
    // The reading that the air is worked out from agrees by itself.
    let explained = cx.outcome.trapped_air.map(|_| reading_field(cx));
    let readings = [
        (
            field!(measured.master_travel),
            result!(master_travel),
            "the master's piston moved",
            "clearance or free play differ from the spec, the mount gives way, or the pedal's arms are others",
        ),
        (
            field!(measured.slave_travel),
            result!(slave_travel),
            "the slave's rod moved",
            "a bore is not what the spec says, or the reading counts from another rest",
        ),
        (
            field!(measured.bearing_travel),
            result!(bearing_travel),
            "the bearing moved",
            "play, give or the fork's ratio differ from the spec, or the reading counts from another rest",
        ),
        (
            field!(measured.release_point),
            result!(release_point),
            "the disc came free at",
            "the cover's window, play or give differ from the spec",
        ),
        (
            field!(measured.pedal_effort),
            result!(pedal_effort),
            "the pedal took",
            "friction differs from the efficiencies of the spec, or the cover is another",
        ),
        (
            field!(measured.line_pressure),
            result!(line_pressure),
            "the line showed",
            "the cover's load or the fork's ratio differ from the spec, or the slave binds",
        ),
    ];
    readings
        .into_iter()
        .filter_map(|(field, result, what, why)| {
            if explained == Some(field) {
                return None;
            }
            let outcome = match field == field!(measured.release_point) {
                true => &everywhere,
                false => &there,
            };
            let (measured, expected) = (given(field)?, outcome.get(result)?);
            if (measured - expected).abs() <= part * expected.abs() {
                return None;
            }
            let show = |value| cx.show(value, result.spec().dimension);
            let off = significant((measured / expected - 1.0).abs() * 100.0, 2);
            let way = if measured > expected { "more" } else { "less" };
            let at = match field == field!(measured.release_point) {
                true => "",
                false => " at this pedal travel",
            };
            Some(
                cx.problem(
                    field,
                    format!(
                        "{what} {}, {off} % {way} than the {} that is worked out{at}",
                        show(measured),
                        show(expected)
                    ),
                )
                .short_by((measured - expected).abs(), result)
                .help(format!("the likeliest: {why}")),
            )
        })
        .collect()
}
