//! Values that the spec gives and that nothing uses.

use super::{Check, Example, Found, Run, problem_of_component, problem_of_field, wrong_way};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::model::{Component, Given, Origin, System};
use crate::quantity::{listed, ways_listed};
use crate::schema::{BLOCKS, BlockId, FieldId, Need, Presence, Purpose, block_needs};
use crate::solve::cold_fluid;
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::NotUsed,
    severity: Severity::Info,
    finds: "The spec gives a value that changes nothing, because something that belongs to it is missing.",
    why: "It looks as if the value were checked, and it is not.",
    limits: &[],
    source: "the schema: what each field needs",
    bad: Example::System("slave { slope = 5 deg }"),
    good: Example::System("slave { slope = -5 deg  chamber = 30 mm }"),
    run: Run::System(run),
};

/// Fields of one component that lack the same needs.
struct Idle<'a> {
    component: &'a Component,
    fields: Vec<FieldId>,
    /// The ways to have them used, each with what is missing.
    missing: Vec<Vec<Need>>,
}

fn run(system: &System, out: &mut Found) {
    // A field that is written but cannot be read is not missing.
    if !system.is_workable() || !system.chooses.is_empty() {
        return;
    }
    for idle in idle(system) {
        if !out.noted(idle.component.block) {
            out.extend(problem(system, &idle));
        }
    }
    for relay in reversing_at_pedal(system) {
        if !out.noted(block!(relay)) {
            let problem = problem_of_component(
                CHECK.id,
                system,
                relay,
                field!(relay.reverses),
                format!(
                    "`relay {}.reverses` is not used: which way the fork is driven is said behind this lever",
                    relay.label.as_deref().unwrap_or_default(),
                ),
            );
            out.push(problem.help(
                "remove it, or say `at = fork` of a lever that stands behind what drives the fork",
            ));
        }
    }
    if has_no_viscosity(system) && !out.noted(block!(fluid)) {
        out.push(
            problem_of_field(
                CHECK.id,
                system,
                field!(fluid.coldest),
                format!(
                    "`fluid.coldest` is not used: {}, so the return in the cold is not worked out",
                    match system.word(field!(fluid.grade)) {
                        Some("mineral") => "no limit on how thick mineral oil gets in the cold is known",
                        _ => "how thick a grade of brake fluid may be is known from -40 degC to 100 degC",
                    }
                ),
            )
            .help("give `fluid.viscosity` at that temperature, from the fluid's data sheet"),
        );
    }
}

/// The levers at the pedal for which `reverses` is given.
fn reversing_at_pedal(system: &System) -> impl Iterator<Item = &Component> {
    let says_so = |relay: &&Component| relay.given(field!(relay.reverses)).is_some();
    system.relays_at_pedal().filter(says_so)
}

/// Whether a coldest temperature is given at which the fluid's viscosity is not known.
fn has_no_viscosity(system: &System) -> bool {
    let given = |field| system.given(field).is_some();
    given(field!(fluid.coldest))
        && given(field!(fluid.grade))
        && system.component(block!(master)).is_some()
        && cold_fluid(system).is_none()
}

fn idle(system: &System) -> Vec<Idle<'_>> {
    let direction = wrong_way::is_unknown(system);
    let mut found: Vec<Idle<'_>> = Vec::new();
    for component in system.components() {
        let of_block = block_needs(component.block);
        let is_block_used = system.gives_one(component, of_block);
        let first = found.len();
        for (index, _) in (0u8..).zip(&component.fields).filter(|(_, f)| f.is_some()) {
            let field = FieldId {
                block: component.block,
                field: index,
            };
            match field.field().purpose {
                Purpose::Mechanics => {}
                // The checks of fit report what it meets, or that it meets nothing.
                Purpose::Fit if is_block_used => continue,
                Purpose::Fit => {}
                Purpose::Order => continue,
            }
            let told = direction && wrong_way::decides(field);
            let ways = match is_block_used {
                true => field.needs(),
                false => of_block,
            };
            if told || system.gives_one(component, ways) {
                continue;
            }
            let missing = nearest(system, component, ways);
            let given = component.given(field);
            if given.is_some_and(|given| is_of_base(system, given, &missing)) {
                continue;
            }
            match found[first..].iter_mut().find(|i| i.missing == missing) {
                Some(same) => same.fields.push(field),
                None => found.push(Idle {
                    component,
                    fields: vec![field],
                    missing,
                }),
            }
        }
    }
    found
}

/// Whether a base gives a field, and the system itself changes nothing that bears on its use. A derived system does
/// not repeat a finding of its base.
fn is_of_base(system: &System, given: &Given, missing: &[Vec<Need>]) -> bool {
    let is_own = |block: BlockId| system.component(block).is_some_and(|other| other.own);
    let needed = missing.iter().flatten().map(|need| match need {
        Need::Block(block) => *block,
        Need::Field(field) => field.block,
    });
    // Which slave it is decides what the fork is used for.
    let mut bears = needed.chain([block!(slave)]);
    given.origin == Origin::Base && !bears.any(is_own)
}

/// What is missing for the ways that lack the least.
fn nearest(system: &System, component: &Component, ways: &[Vec<Need>]) -> Vec<Vec<Need>> {
    let missing = |way: &Vec<Need>| -> Vec<Need> {
        let lacks = way.iter().filter(|need| !system.gives(component, **need));
        lacks.copied().collect()
    };
    let mut all: Vec<Vec<Need>> = ways.iter().map(missing).collect();
    let least = all.iter().map(Vec::len).min().unwrap_or(0);
    all.retain(|way| way.len() == least);
    all
}

fn problem(system: &System, idle: &Idle<'_>) -> Option<Problem> {
    let Idle {
        component,
        fields,
        missing,
    } = idle;
    let name = BLOCKS[component.block as usize].name;
    let path = |field: &FieldId| match &component.label {
        Some(label) => format!("`{name} {label}.{}`", field.field().name),
        None => format!("`{}`", field.path()),
    };
    let paths: Vec<String> = fields.iter().map(path).collect();
    let verb = if fields.len() == 1 { "is" } else { "are" };
    let subject = format!("{} {verb} not used", listed(&paths, " and "));
    let first = *fields.first()?;
    let at = |message: String| problem_of_component(CHECK.id, system, component, first, message);
    let is_of_fork = |need: &Need| match need {
        Need::Block(block) => *block == block!(fork),
        Need::Field(field) => field.block == block!(fork),
    };
    let concentric = system.given(field!(slave.outer)).is_some();
    if concentric && missing.iter().all(|way| way.iter().any(is_of_fork)) {
        let problem = at(format!("{subject}: a concentric slave has no fork"));
        return Some(problem.help(format!("remove {}", listed(&paths, " and "))));
    }
    let ways: Vec<Vec<String>> = missing
        .iter()
        .map(|way| way.iter().map(|n| format!("`{}`", n.path())).collect())
        .collect();
    let wanted = ways_listed(&ways);
    let problem = at(format!("{subject} without {wanted}"));
    // A field that its block requires cannot be removed alone.
    let is_required = |field: &FieldId| matches!(field.field().presence, Presence::Required);
    Some(match fields.iter().any(is_required) {
        true => problem.help(format!("give {wanted}")),
        false => problem.help(format!(
            "give {wanted}, or remove {}",
            listed(&paths, " and ")
        )),
    })
}
