//! How to check the clutch on the car, and what a low reading means.

use super::content::{Block, Section, Step, Table};
use super::view::{View, is_concentric, measured_at};
use crate::analysis::diagnosis::{bleeding_on_paper, told_of_one};
use crate::diagnose::Reading;
use crate::field;
use crate::quantity::Dimension;
use crate::result;
use crate::solve::{Acceptance, FirmPedal};

pub fn sections(view: &View<'_>) -> Vec<Section> {
    let mut sections: Vec<Section> = bleeding(view).into_iter().collect();
    sections.push(Section::new(
        "Check it on the car",
        vec![Block::Steps(steps(view))],
    ));
    sections.extend(readings(view));
    sections
}

/// The numbers for bleeding this car.
fn bleeding(view: &View<'_>) -> Option<Section> {
    let hydraulics = view.outcome.hydraulics()?;
    let display = &view.system.display;
    let show = |value, dimension| display.show_both(value, dimension);
    let mut steps = bleeding_on_paper(view.worked, show).unwrap_or_else(|| {
        // A master that moves no fluid has no numbers.
        vec!["Bleed it with the bleed screw at the highest point of the slave.".to_owned()]
    });
    if hydraulics.intensifier.is_some() {
        steps.insert(
            0,
            "Bleed the intensifier first, at its own bleed screw, with its piston all the way back."
                .to_owned(),
        );
    }
    let steps = steps.into_iter().map(Step::to_do).collect();
    Some(Section::new("Bleed it", vec![Block::Steps(steps)]))
}

/// How to see at which pad travel the disc is released. Common practice, no source.
const IN_GEAR: &str = "Wheel test, engine off, in gear: drive wheels off the ground on stands, the others chocked. One \
                       helper holds one drive wheel still, another tries to turn the other, a third presses the pedal \
                       slowly. Travel of the pad at which the wheel turns";

/// What a reading at full pedal means; `None` where the bearing goes the wrong way and no reading releases the disc.
fn accepted(view: &View<'_>) -> Option<Acceptance> {
    let (_, travel) = measured_at(view);
    let acceptance = Acceptance::new(view.outcome, travel, &view.system.display);
    acceptance.filter(|_| !view.goes_wrong_way())
}

fn steps(view: &View<'_>) -> Vec<Step> {
    let (where_at, travel) = measured_at(view);
    let mut steps = Vec::new();
    if let Some(expected) = view.both(travel) {
        let band = view
            .spread(travel)
            .map_or_else(String::new, |band| format!(", {band}"));
        let held = "Engine off, a helper holds the pedal fully down";
        let what = match is_concentric(view.system) {
            true => format!(
                "{held}: measure through the inspection hole how far {where_at} has moved from rest. With no hole, leave \
                 this out and go by the wheel test"
            ),
            false => format!("{held}: measure how far {where_at} has moved from rest"),
        };
        steps.push(Step::to_note(what, format!("{expected}{band}")));
    }
    if let Some(acceptance) = accepted(view) {
        steps.push(Step::to_note(
            format!(
                "Least travel of {where_at} that still frees the disc. With less, do not drive"
            ),
            format!("{} or more", acceptance.least),
        ));
        if let Some(most) = acceptance.most {
            steps.push(Step::to_note(
                format!("Most travel of {where_at} that the cover takes. With more, stop pressing"),
                format!("{most} or less"),
            ));
        }
        if let Some(value) = view.both(result!(release_point)) {
            steps.push(Step::to_note(IN_GEAR, value));
        }
    }
    for (what, id) in [
        (
            "Highest effort while pressing slowly, with a spring scale square to the pad's arm",
            result!(pedal_effort),
        ),
        (
            "The master's piston has this much stroke left at full pedal",
            result!(master_reserve),
        ),
    ] {
        if let Some(value) = view.both(id) {
            steps.push(Step::to_note(what, value));
        }
    }
    if let Some(window) = view.given(field!(fork.window)) {
        let moves = view.result(result!(fork_travel)).unwrap_or_default();
        steps.push(Step::to_note(
            format!(
                "The fork moves {moves} and stays clear of the housing. Measure how far its opening lets it move"
            ),
            window,
        ));
    }
    steps.push(Step::to_do(
        "Let the pedal up slowly: it returns all the way by itself, and the free play is back",
    ));
    steps
}

/// The meaning of each stroke that may be measured.
fn readings(view: &View<'_>) -> Option<Section> {
    let (where_at, _) = measured_at(view);
    let acceptance = accepted(view)?;
    let hydraulic = view.outcome.hydraulics().is_some();
    let mut table = Table::new(match hydraulic {
        true => &[
            "Measured at full pedal",
            "Fingers past release by",
            "The disc",
            "Air in the fluid",
        ],
        false => &[
            "Measured at full pedal",
            "Fingers past release by",
            "The disc",
        ],
    });
    for reading in &acceptance.readings {
        let mut cells = vec![
            view.length(reading.stroke),
            view.length(reading.margin),
            match (reading.past_limit, reading.frees) {
                (true, _) => "past the cover's limit",
                (false, true) => "frees",
                (false, false) => "drags",
            }
            .to_owned(),
        ];
        if hydraulic {
            cells.push(match reading.air {
                Some(air) => view.show(air, Dimension::VOLUME),
                None => "–".to_owned(),
            });
        }
        if reading.is_mark {
            table.strong_row(cells);
        } else {
            table.row(cells);
        }
    }
    let mut blocks = vec![
        Block::Text(format!(
            "Travel of {where_at} with the pedal fully down, from rest. Bold rows: what is worked out, and the least that \
             frees. {}",
            if hydraulic {
                "Air is given as the volume that it takes when the pedal is up. It is one cause of several: the full \
                 sheet and “bitepoint diagnose” say what to measure before you bleed. A dash: no air explains it."
            } else {
                "Less than worked out means more play, or more give, than the spec says."
            }
        )),
        Block::Table(table),
    ];
    let firm = acceptance.firm_pedal.map(|firm| why_firm(view, &firm));
    blocks.extend(firm.map(Block::Text));
    Some(Section::new("What the reading means", blocks))
}

/// What explains a stroke that is too short, and what to measure next to find out which.
pub fn falls_short(view: &View<'_>) -> Option<Section> {
    let (where_at, travel) = measured_at(view);
    let full = view.outcome.get(travel)?;
    let least = view
        .outcome
        .freeing_stroke()
        .filter(|least| *least < full && !view.goes_wrong_way())?;
    let reading = match view.outcome.hydraulics() {
        Some(_) => Reading::SlaveTravel,
        None => Reading::ForkTravel,
    };
    let told = told_of_one(view.worked, reading, least)?;
    let least = accepted(view)?.least;
    if !told.explains || told.next.is_empty() {
        return None;
    }
    let causes = told.causes.iter().map(|cause| cause.words.clone());
    let mut table = Table::new(&["Measure next", "If it reads", "It may be"]);
    for next in &told.next {
        let name = next.reading.name().replace('_', " ");
        let names = std::iter::once(name).chain(std::iter::repeat(String::new()));
        for (name, (value, faults)) in names.zip(&next.values) {
            table.row(vec![name, value.clone(), faults.join(", ")]);
        }
    }
    let how = told.next.iter().map(|next| {
        let name = next.reading.name().replace('_', " ");
        // Paper shows no code style.
        format!("{name}: {}", next.how.replace('`', "").replace('_', " "))
    });
    Some(Section::new(
        "When it falls short",
        vec![
            Block::Text(format!(
                "Where {where_at} moves {least}, the least that frees, each of these explains it:"
            )),
            Block::List(causes.collect()),
            Block::Table(table),
            Block::List(how.collect()),
            Block::Text(
                "Give what you read to “bitepoint diagnose”: it says what is left, what is ruled out, and the cure."
                    .to_owned(),
            ),
        ],
    ))
}

/// Why a firm pedal does not prove that there is no air.
fn why_firm(view: &View<'_>, firm: &FirmPedal) -> String {
    let volume = |value| view.show(value, Dimension::VOLUME);
    let force = |value| view.show(value, Dimension::FORCE);
    let [with, without] = [firm.effort, firm.effort_without].map(force);
    let held = match with == without {
        true => format!("Holding it down takes {with}, with that air or without"),
        false => format!("Holding it down takes {with} with that air, {without} without"),
    };
    format!(
        "A firm pedal is no proof that it is bled. {} of air is the most with which this clutch still frees. Half of the \
         squeezing is over by {} of pedal; from there the pedal feels firm. {held}. So measure the travel; do not judge by \
         feel. If a second bleeding does not bring it, look for a seal that leaks or a hose that swells.",
        volume(firm.air),
        view.length(firm.half_done),
    )
}
