//! What a system must have: its blocks and their fields. Also that two ways of giving the same thing agree.

use super::fields::Builder;
use super::layers::MOST_LISTED;
use super::system::{Component, System};
use crate::check_id::CheckId;
use crate::finding::Problem;
use crate::quantity::Display;
use crate::schema::{BLOCKS, BlockId, FieldId, ForkDrive, Presence, Typical};

impl Builder<'_> {
    /// Reports blocks and fields that are missing.
    pub(super) fn check_complete(&mut self, system: &System) {
        let blocks = system.blocks.iter().zip(&self.merged.blocks);
        let blocks = blocks.filter_map(|(c, m)| Some((&**c.as_ref()?, m.as_ref()?)));
        // Both are in the order of the text.
        let of_block = |block: BlockId| {
            let merged = self.merged.lines.iter();
            merged.filter(move |merged| merged.block == block)
        };
        let lines = system.lines.iter().map(|line| &**line);
        let visits = system.visits.iter().map(|visit| &**visit);
        let relays = system.relays.iter().map(|relay| &**relay);
        let fittings = system.fittings.iter().map(|fitting| &*fitting.component);
        let with_fields: Vec<(&Component, Option<Vec<bool>>)> = blocks
            .chain(lines.zip(of_block(crate::block!(line))))
            .chain(fittings.zip(of_block(crate::block!(fitting))))
            .chain(relays.zip(of_block(crate::block!(relay))))
            .chain(visits.zip(of_block(crate::block!(measured))))
            .map(|(component, merged)| {
                // A field that is written but unreadable is not missing.
                let given = merged.fields.iter().zip(&component.fields);
                let written = given.map(|(m, c)| m.is_some() || c.is_some()).collect();
                (component, (!merged.fields_incomplete).then_some(written))
            })
            .collect();
        for (component, written) in with_fields {
            match written {
                Some(written) => self.check_fields(component, &written, &system.display),
                None => self.merged.mark_unworkable(&component.place),
            }
        }
        if self.merged.blocks_incomplete {
            self.merged.mark_unworkable(&system.place);
            return;
        }
        let has = |block: BlockId| {
            system.component(block).is_some()
                || system.chooses.iter().any(|choose| choose.block == block)
        };
        let drives: Vec<&ForkDrive> = ForkDrive::among(has).collect();
        // Reported once, at the base from which all derived systems would have it.
        let (place, name) = match self.merged.root_base() {
            Some((source, base)) => (
                self.bundle.place(source, base.name.span),
                base.name.text.clone(),
            ),
            None => (system.place.clone(), system.name.clone()),
        };
        let mut missing = Vec::new();
        if !has(crate::block!(pedal)) {
            missing.push("pedal");
        }
        match drives.as_slice() {
            [] => {
                let problem = Problem::new(
                    CheckId::MissingBlock,
                    place.clone(),
                    format!("nothing works the fork of `{name}`"),
                )
                .help(format!("give {}", ForkDrive::all_in_words()));
                self.record(problem);
            }
            [drive] => {
                let lacking = drive.needed().filter(|block| !has(*block));
                missing.extend(lacking.map(|block| BLOCKS[block as usize].name));
            }
            _ => {
                let problem = Problem::new(
                    CheckId::OverStated,
                    system.place.clone(),
                    format!("more than one thing works the fork of `{}`", system.name),
                )
                .help(format!(
                    "keep one: {}. A cross-shaft that a slave or a cable works is a lever behind it: \
                     `relay shaft {{ at = fork  in_arm = …  out_arm = … }}`",
                    ForkDrive::all_in_words()
                ));
                self.record(problem);
            }
        }
        // It is enough that the field is written; a mistake in it is reported at its place.
        let concentric = [crate::field!(slave.outer), crate::field!(slave.inner)]
            .into_iter()
            .any(|field| self.merged_field(field).is_some());
        let is_lost = |block: BlockId| {
            let merged = self.merged.blocks[block as usize].as_ref();
            merged.is_some_and(|merged| merged.fields_incomplete)
        };
        let slave_lost = is_lost(crate::block!(slave));
        let cover_lost = is_lost(crate::block!(cover));
        match (concentric, system.component(crate::block!(fork))) {
            (false, None) if !has(crate::block!(fork)) && !slave_lost => missing.push("fork"),
            (true, Some(fork)) => {
                let place = fork.place.clone();
                self.record(
                    Problem::new(
                        CheckId::OverStated,
                        place,
                        "a concentric slave pushes the bearing itself and has no fork",
                    )
                    .help("remove the `fork`, or give the slave a plain `bore`"),
                );
            }
            _ => {}
        }
        match system.component(crate::block!(cover)) {
            None if !has(crate::block!(cover)) => missing.push("cover"),
            Some(cover)
                if cover.given(crate::field!(cover.release_load)).is_none()
                    && !cover_lost
                    && !has(crate::block!(diaphragm))
                    && self
                        .merged_field(crate::field!(cover.release_load))
                        .is_none() =>
            {
                let place = cover.place.clone();
                self.record(
                    Problem::new(
                        CheckId::MissingField,
                        place,
                        "`cover` does not say how hard the fingers push back",
                    )
                    .help("give `release_load`, as a curve or as its peak"),
                );
            }
            _ => {}
        }
        if has(crate::block!(diaphragm)) {
            for given in [
                crate::field!(cover.release_load),
                crate::field!(cover.clamp_load),
            ]
            .map(|field| system.given(field))
            .into_iter()
            .flatten()
            {
                let problem = Problem::new(
                    CheckId::OverStated,
                    given.name.clone(),
                    "the `diaphragm` says how hard the cover pushes, and so does this",
                )
                .help("keep the measured one and remove the `diaphragm`, or the other way round");
                self.record(problem);
            }
        }
        for block in missing {
            let problem = Problem::new(
                CheckId::MissingBlock,
                place.clone(),
                format!("`{name}` has no `{block}`"),
            )
            .help({
                let parts = self.bundle.known_parts(0, block).take(MOST_LISTED);
                match parts.collect::<Vec<_>>().as_slice() {
                    [] => format!("add `{block} {{ … }}`"),
                    parts => format!(
                        "add `{block} {{ … }}`, or take a part: {}",
                        parts.join(", ")
                    ),
                }
            });
            self.record(problem);
        }
    }

    fn check_fields(&mut self, component: &Component, written: &[bool], display: &Display) {
        let schema = &BLOCKS[component.block as usize];
        let written = |index: u8| written[index as usize];
        let mut problems = Vec::new();
        let missing: Vec<&str> = (0u8..)
            .zip(schema.fields)
            .filter(|(i, field)| matches!(field.presence, Presence::Required) && !written(*i))
            .map(|(_, field)| field.name)
            .collect();
        if !missing.is_empty() {
            problems.push(missing_fields(component, schema.name, &missing, display));
        }
        for alternatives in schema.alternatives {
            let given = |way: &&[&str]| {
                way.iter()
                    .filter(|name| schema.field_index(name).is_some_and(&written))
                    .count()
            };
            let full: Vec<&&[&str]> = alternatives
                .ways
                .iter()
                .filter(|way| given(way) == way.len())
                .collect();
            let begun = alternatives.ways.iter().find(|way| given(way) > 0);
            match (full.as_slice(), begun) {
                ([], None) if alternatives.required => {
                    let ways: Vec<String> = alternatives
                        .ways
                        .iter()
                        .map(|way| format!("`{}`", way.join("` and `")))
                        .collect();
                    let problem = Problem::new(
                        CheckId::MissingField,
                        component.place.clone(),
                        format!("`{}` needs {}", schema.name, ways.join(", or ")),
                    )
                    .about(component.block);
                    let names = alternatives.ways.iter().copied().flatten().copied();
                    let names: Vec<&str> = names.collect();
                    problems.push(with_usual(problem, schema.name, &names, display));
                }
                ([], Some(way)) => {
                    let absent: Vec<&str> = way
                        .iter()
                        .copied()
                        .filter(|name| !schema.field_index(name).is_some_and(&written))
                        .collect();
                    problems.push(missing_fields(component, schema.name, &absent, display));
                }
                _ => {}
            }
        }
        for problem in problems {
            self.record(problem);
        }
        self.check_over_stated(component);
    }

    /// Reports a thing that is given in two ways that do not agree.
    fn check_over_stated(&mut self, component: &Component) {
        /// Ratios measured on a car agree to about this share.
        const AGREEMENT: f64 = 0.005;
        let number = |id: FieldId| Some((component.given(id)?.number()?, component.given(id)?));
        let ratios = [
            (
                crate::field!(pedal.ratio),
                crate::field!(pedal.pad_arm),
                crate::field!(pedal.rod_arm),
            ),
            (
                crate::field!(fork.ratio),
                crate::field!(fork.slave_arm),
                crate::field!(fork.bearing_arm),
            ),
        ];
        for (ratio, long, short) in ratios {
            if ratio.block != component.block {
                continue;
            }
            let (Some((ratio, given)), Some((long, arm)), Some((short, _))) =
                (number(ratio), number(long), number(short))
            else {
                continue;
            };
            let from_arms = long / short;
            if (from_arms / ratio - 1.0).abs() > AGREEMENT {
                let number = |v| crate::quantity::significant(v, 4);
                self.record(
                    Problem::new(
                        CheckId::OverStated,
                        given.place.clone(),
                        format!(
                            "the ratio is given as {}, and the arms make it {}",
                            number(ratio),
                            number(from_arms)
                        ),
                    )
                    .help("keep the arms: they say more")
                    .related(arm.place.clone(), "from here")
                    .about(component.block),
                );
            }
        }
        let exclusive = [
            (crate::field!(slave.bore), crate::field!(slave.outer)),
            (crate::field!(line.expansion), crate::field!(line.wall)),
            (crate::field!(relay.in_arm), crate::field!(relay.bends)),
            (
                crate::field!(pedal.assist),
                crate::field!(pedal.assist_rate),
            ),
            (
                crate::field!(bellhousing.runout),
                crate::field!(bellhousing.dial),
            ),
        ];
        for (one, other) in exclusive {
            if one.block != component.block {
                continue;
            }
            if let (Some(first), Some(second)) = (component.given(one), component.given(other)) {
                let problem = Problem::new(
                    CheckId::OverStated,
                    second.name.clone(),
                    format!(
                        "`{}` and `{}` say the same thing in two ways",
                        one.field().name,
                        other.field().name
                    ),
                )
                .help("keep the one that you know best")
                .related(first.name.clone(), "also given here")
                .about(component.block);
                self.record(problem);
            }
        }
    }
}

/// Adds the usual values of the missing fields to a problem, as its help.
fn with_usual(problem: Problem, block: &str, missing: &[&str], display: &Display) -> Problem {
    let usual: Vec<String> = missing
        .iter()
        .filter_map(|name| {
            let row = Typical::of(FieldId::named(block, name)?)?;
            Some(format!(
                "`{name}` is usually {} ({})",
                row.words(display),
                row.source
            ))
        })
        .collect();
    match usual.is_empty() {
        true => problem,
        false => problem.help(usual.join("; ")),
    }
}

fn missing_fields(
    component: &Component,
    block: &str,
    missing: &[&str],
    display: &Display,
) -> Problem {
    let list = missing.join("`, `");
    let problem = Problem::new(
        CheckId::MissingField,
        component.place.clone(),
        format!("`{block}` has no `{list}`"),
    )
    .about(component.block);
    let problem = with_usual(problem, block, missing, display);
    match &component.part {
        Some(part) => problem.related(
            part.definition.clone(),
            format!("the part `{}` does not give it either", part.name),
        ),
        None => problem,
    }
}
