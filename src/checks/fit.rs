//! Components that do not go together where they meet.

use super::edit::{before_brace, point};
use super::{Check, Example, Found, Limit, Run, problem_of_component};
use crate::block;
use crate::check_id::CheckId;
use crate::finding::{Measure, Place, Problem, Severity};
use crate::model::{Component, Given, Joint, Origin, Side, System, Value};
use crate::quantity::{Band, Dimension};
use crate::schema::{Agree, COMMON, Port, Seat};
use crate::settings::Settings;
use crate::syntax::quoted;

pub const CHECK: Check = Check {
    id: CheckId::DoesNotFit,
    severity: Severity::Error,
    finds: "Two components do not go together where they meet: thread or seat, bolt spacing, \
            diameter, spline or bolt pattern.",
    why: "The parts arrive, and cannot be fitted; or they are made to fit, and leak or wear.",
    limits: &[
        length("spacing", 0.2, "how far two bolt spacings may differ"),
        length(
            "ball-play",
            0.5,
            "how much wider than the rod's end its seat may be",
        ),
        length(
            "guide-least",
            0.02,
            "the least clearance of the release bearing on its guide",
        ),
        length(
            "guide-most",
            0.5,
            "the most clearance of the release bearing on its guide",
        ),
        length(
            "pilot-most",
            0.2,
            "the most clearance of the input shaft in the pilot bearing",
        ),
        length(
            "register-most",
            0.1,
            "the most clearance of the gearbox in the bell housing",
        ),
    ],
    source: COMMON,
    bad: Example::System(
        "master { outlet = \"3/8-24 inverted flare\" }\n\
         line hard { inlet = \"M10x1 bubble flare\" }",
    ),
    good: Example::System(
        "master { outlet = \"3/8-24 inverted flare\" }\n\
         line hard { inlet = \"3/8-24 inverted flare\" }",
    ),
    run: Run::Limited(run),
};

pub const NOT_CHECKED: Check = Check {
    id: CheckId::FitNotChecked,
    severity: Severity::Info,
    finds: "One side of a joint is given and the other is not, so the two were not held against \
            each other.",
    why: "It looks as if the joint were checked, and it is not.",
    limits: &[],
    source: "the schema: what meets what",
    bad: Example::System("slave { bolt_spacing = 60 mm }"),
    good: Example::System("slave { bolt_spacing = 60 mm }\nbracket { slots = 50 mm to 75 mm }"),
    run: Run::System(not_checked),
};

const fn length(name: &'static str, value: f64, what: &'static str) -> Limit {
    Limit {
        name,
        value,
        dimension: Dimension::LENGTH,
        what,
        source: COMMON,
    }
}

/// Why two sides of a joint do not agree.
enum Misfit {
    Seats(&'static Seat, &'static Seat),
    Threads(Port, Port),
    Texts,
    /// The difference of two lengths, and the limit on it.
    Apart(f64, f64),
    Outside,
    /// The worst-case clearance is below the least.
    Tight(f64, f64),
    /// The worst-case clearance is above the greatest.
    Loose(f64, f64),
}

fn run(system: &System, settings: &Settings, out: &mut Found) {
    // Each combination is looked at by itself.
    if !system.chooses.is_empty() {
        return;
    }
    for joint in system.joints() {
        let (Some(first), Some(second)) = (joint.first.given(), joint.second.given()) else {
            continue;
        };
        if let Some(misfit) = misfit(&joint, first, second, settings)
            && !out.noted(sides(&joint).0.field.block)
        {
            out.extend(problem(system, &joint, first, second, &misfit));
        }
    }
}

fn misfit(joint: &Joint<'_>, first: &Given, second: &Given, settings: &Settings) -> Option<Misfit> {
    let limit = |name| CHECK.limit(name, settings).unwrap_or(0.0);
    match joint.meets.agree {
        Agree::Ports => {
            let (first, second) = (first.text()?, second.text()?);
            if first == second {
                return None;
            }
            let (first, second) = (Port::read(first), Port::read(second));
            match (first.seat, second.seat) {
                _ if first == second => None,
                (Some(one), Some(other)) if one != other => Some(Misfit::Seats(one, other)),
                (Some(_), Some(_)) => Some(Misfit::Threads(first, second)),
                _ => Some(Misfit::Texts),
            }
        }
        Agree::SameText => {
            let agree = joint
                .meets
                .agree
                .texts_agree(first.text()?, second.text()?)?;
            (!agree).then_some(Misfit::Texts)
        }
        Agree::SameLength => {
            let (first, second) = (first.band()?, second.band()?);
            let apart = (first.high - second.low).max(second.high - first.low);
            let most = limit("spacing");
            (apart > most).then_some(Misfit::Apart(apart, most))
        }
        Agree::Inside => {
            let first = first.band()?;
            let (low, high) = ends(second)?;
            (first.low < low.nominal || first.high > high.nominal).then_some(Misfit::Outside)
        }
        Agree::Clearance { least, most } => {
            // A difference below this is a rounding error.
            const NOTHING: f64 = 1e-9;
            let (first, second) = (first.band()?, second.band()?);
            let (tight, loose) = (second.low - first.high, second.high - first.low);
            let (least, most) = (least.map_or(0.0, limit), limit(most));
            if tight < least - NOTHING {
                Some(Misfit::Tight(tight, least))
            } else {
                (loose > most + NOTHING).then_some(Misfit::Loose(loose, most))
            }
        }
    }
}

/// The side at which a misfit is reported, then the other. The first is the one in the system's own text.
fn sides<'j, 's>(joint: &'j Joint<'s>) -> (&'j Side<'s>, &'j Side<'s>) {
    let is_own = |side: &Side<'_>| side.component.is_some_and(|component| component.own);
    match is_own(&joint.first) && !is_own(&joint.second) {
        true => (&joint.first, &joint.second),
        false => (&joint.second, &joint.first),
    }
}

fn ends(given: &Given) -> Option<(Band, Band)> {
    match given.value {
        Value::Window { low, high } => Some((low, high)),
        _ => None,
    }
}

fn problem(
    system: &System,
    joint: &Joint<'_>,
    first: &Given,
    second: &Given,
    misfit: &Misfit,
) -> Option<Problem> {
    let show = |value| system.show(value, Dimension::LENGTH);
    let quoted = |given: &Given| quoted(given.text().unwrap_or_default());
    let said = |given: &Given| match (given.band(), ends(given)) {
        (Some(band), _) => show(band.nominal),
        (_, Some((low, high))) => format!("{} to {}", show(low.nominal), show(high.nominal)),
        _ => quoted(given),
    };
    let (one, other) = (joint.first.name(), joint.second.name());
    let both = format!("`{one}` is {}, `{other}` is {}", said(first), said(second));
    let why = match misfit {
        Misfit::Seats(one, other) => {
            format!("{} and {} never seal together", one.seals, other.seals)
        }
        Misfit::Threads(one, other) => {
            format!("the threads {} and {} differ", one.thread, other.thread)
        }
        Misfit::Texts => "the two differ".to_owned(),
        Misfit::Apart(by, most) => {
            format!("they differ by {}, and may by {}", show(*by), show(*most))
        }
        Misfit::Outside => "that is outside the slots".to_owned(),
        Misfit::Tight(clearance, least) if *clearance < 0.0 && *least == 0.0 => {
            format!("it is {} too large to go in", show(-clearance))
        }
        Misfit::Tight(clearance, least) => format!(
            "the clearance is {}, and must be at least {}",
            show(*clearance),
            show(*least)
        ),
        Misfit::Loose(clearance, most) => format!(
            "the clearance is {}, and may be {} at the most",
            show(*clearance),
            show(*most)
        ),
    };
    let message = format!("{both}: {why}; {}", joint.meets.harm);
    let (here, there) = sides(joint);
    let component = here.component?;
    let mut problem = problem_of_component(CHECK.id, system, component, here.field, message);
    if let Some(given) = there.given() {
        problem = problem.related(
            given.place.clone(),
            format!("{} is given here", there.name()),
        );
    }
    // A misfit that a baseline accepts is reported again once it grows.
    if let Some(past) = past(first, second, misfit) {
        problem = problem.short_by(past, Measure::Other(Dimension::LENGTH));
    }
    Some(match misfit {
        Misfit::Seats(..) | Misfit::Threads(..) => adapted(system, joint, problem, misfit),
        _ => problem.help(format!(
            "measure both; then change `{}` or `{}`",
            joint.first.field.path(),
            joint.second.field.path()
        )),
    })
}

/// By how much two lengths exceed their limit, in mm.
fn past(first: &Given, second: &Given, misfit: &Misfit) -> Option<f64> {
    match misfit {
        Misfit::Seats(..) | Misfit::Threads(..) | Misfit::Texts => None,
        Misfit::Apart(by, most) => Some(by - most),
        Misfit::Tight(clearance, least) => Some(least - clearance),
        Misfit::Loose(clearance, most) => Some(clearance - most),
        Misfit::Outside => {
            let (first, (low, high)) = (first.band()?, ends(second)?);
            Some((low.nominal - first.low).max(first.high - high.nominal))
        }
    }
}

/// Two ports that do not fit and between which a fitting can be put.
#[derive(Clone, Debug)]
pub(crate) struct PortGap {
    /// The port towards the master, which the fitting's inlet must fit.
    pub first: String,
    /// The port towards the slave, which its outlet must fit.
    pub second: String,
    /// Where the fitting's block is inserted.
    pub place: Place,
    /// The text around the inserted block, which replaces `{}`.
    pub layout: &'static str,
    /// How such a joint must not be made tight.
    pub caution: String,
}

impl PortGap {
    /// The gap that a problem is about. `None` for another kind of problem, and where the system itself has no place
    /// for a fitting.
    pub fn of(system: &System, problem: &Problem, settings: &Settings) -> Option<Self> {
        if problem.check != CHECK.id || !system.chooses.is_empty() {
            return None;
        }
        system.joints().into_iter().find_map(|joint| {
            let (first, second) = (joint.first.given()?, joint.second.given()?);
            let misfit = misfit(&joint, first, second, settings)?;
            let is_of_ports = matches!(misfit, Misfit::Seats(..) | Misfit::Threads(..));
            let told = || self::problem(system, &joint, first, second, &misfit);
            if !is_of_ports || told()?.message != problem.message {
                return None;
            }
            let (place, layout) = fitting_place(system, &joint)?;
            Some(Self {
                first: first.text()?.to_owned(),
                second: second.text()?.to_owned(),
                place,
                layout,
                caution: caution(&misfit),
            })
        })
    }
}

fn caution(misfit: &Misfit) -> String {
    let standards = match misfit {
        Misfit::Seats(one, other) => format!(" ({}; {})", one.standard, other.standard),
        _ => String::new(),
    };
    format!("Never seal a joint with tape or by force{standards}")
}

/// Adds the fitting that two ports need to a problem, as its help.
fn adapted(system: &System, joint: &Joint<'_>, problem: Problem, misfit: &Misfit) -> Problem {
    let port = |side: &Side<'_>| {
        let text = side.given().and_then(Given::text);
        quoted(text.unwrap_or_default())
    };
    let labels = || {
        system
            .fittings
            .iter()
            .filter_map(|f| f.component.label.as_deref())
    };
    let label = (1..)
        .map(|n| match n {
            1 => "adapter".to_owned(),
            n => format!("adapter_{n}"),
        })
        .find(|label| !labels().any(|known| known == label))
        .unwrap_or_default();
    let block = format!(
        "fitting {label} {{ inlet = {}  outlet = {} }}",
        port(&joint.first),
        port(&joint.second)
    );
    let problem = problem.help(format!(
        "put a fitting between them: `{block}`. {}",
        caution(misfit)
    ));
    match fitting_place(system, joint) {
        Some((place, text)) => problem.fix(
            "put a fitting between them",
            place,
            text.replace("{}", &block),
        ),
        None => problem,
    }
}

/// Where a fitting for a joint is inserted, and the text around it, in which `{}` is the block. `None` where the
/// system itself has no such place.
fn fitting_place(system: &System, joint: &Joint<'_>) -> Option<(Place, &'static str)> {
    if joint.second.field.block == block!(slave) {
        return Some((before_brace(system.body.as_ref()?)?, "    {}\n"));
    }
    // The fittings of a base keep their places among the lines, and a new fitting comes after all of them.
    let of_base = |component: &Component| {
        let mut given = component.fields.iter().flatten();
        given.any(|given| given.origin == Origin::Base)
    };
    let next = joint.second.component.filter(|component| component.own)?;
    let is_new = next.body.is_some() && !of_base(next);
    is_new.then(|| (point(&next.place, next.place.span.start), "{}\n    "))
}

fn not_checked(system: &System, out: &mut Found) {
    // A field that is written but cannot be read is not missing.
    if !system.is_sound() || !system.chooses.is_empty() {
        return;
    }
    let joints = system.joints();
    let is_held = |side: &Side<'_>| {
        joints.iter().any(|joint| {
            let both = joint.first.given().is_some() && joint.second.given().is_some();
            let has = |own: &Side<'_>| own.field == side.field && own.name() == side.name();
            both && (has(&joint.first) || has(&joint.second))
        })
    };
    // The given fields, and those with which they could be compared.
    let mut open: Vec<(String, Vec<String>)> = Vec::new();
    for joint in &joints {
        let (given, missing) = match (joint.first.given(), joint.second.given()) {
            (Some(_), None) => (&joint.first, &joint.second),
            (None, Some(_)) => (&joint.second, &joint.first),
            _ => continue,
        };
        let name = given.name();
        match open.iter_mut().find(|(known, _)| *known == name) {
            Some((_, others)) => others.push(missing.name()),
            None if is_held(given) => {}
            None => open.push((name, vec![missing.name()])),
        }
    }
    if open.is_empty() || out.noted(None) {
        return;
    }
    let pairs: Vec<String> = open
        .iter()
        .map(|(given, missing)| {
            let missing: Vec<String> = missing.iter().map(|name| format!("`{name}`")).collect();
            format!("`{given}` needs {}", missing.join(" or "))
        })
        .collect();
    out.push(
        Problem::new(
            NOT_CHECKED.id,
            system.place.clone(),
            format!(
                "not checked for fit, the other side is not given: {}",
                pairs.join(", ")
            ),
        )
        .help("give the other side, as measured"),
    );
}
