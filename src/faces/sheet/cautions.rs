//! Safety of the fitter. Common practice of the trade, no source, except for what a fluid's own label says.

use super::content::{Block, Section};
use super::view::is_concentric;
use crate::model::System;

/// The title of the section, to link to it from the top of the page.
pub const CAUTIONS: &str = "Cautions";

/// For every clutch.
const ALWAYS: &[&str] = &[
    "Support the vehicle on stands on firm level ground, wheels chocked, before any part of you is below it. Never \
     rely on a jack.",
    "Carry the gearbox on a gearbox jack or with a helper; never let it hang on its input shaft.",
    "Measure with the engine off, the battery disconnected, out of gear and the parking brake on. The wheel test alone is \
     in gear; let the parking brake off only if it holds a drive wheel.",
    "Never trust the clutch pedal, or whoever stands on it, to keep a shaft still.",
    "Agree on words with whoever presses the pedal, and keep hands out of fork, rods and housing while it moves.",
    "Cover, diaphragm and return springs are under load: release them evenly, and wear eye protection.",
    "Do not blow out clutch dust: old facings may hold asbestos. Wipe it up wet.",
];

const CONCENTRIC: &str = "Do not press the pedal of a concentric slave before gearbox and cover hold its piston: \
                          it comes off its guide.";

const LAST_WORD: &str = "The vehicle maker's data, local rules and a qualified mechanic have the last word over this \
                         sheet. The model behind it is quasi-static and knows only what the spec says. After \
                         fitting, try the clutch standing, then slowly, away from traffic.";

pub fn section(system: &System) -> Section {
    let mut cautions: Vec<&str> = ALWAYS.to_vec();
    cautions.extend(system.fork_drives().flat_map(|drive| drive.cautions));
    if is_concentric(system) {
        cautions.push(CONCENTRIC);
    }
    cautions.push(LAST_WORD);
    let cautions = cautions.into_iter().map(str::to_owned).collect();
    Section::new(CAUTIONS, vec![Block::List(cautions)])
}
