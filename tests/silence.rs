//! No field is silent: each given value is used, or the spec gets a finding that it is not.

mod common;

use bitepoint::analysis::{Report, Worked, analyse};
use bitepoint::checks::{Finding, REFERENCE, written};
use bitepoint::field;
use bitepoint::quantity::{Dimension, UnitSystem, usual_unit};
use bitepoint::schema::{
    BLOCKS, Block, Field, FieldId, Kind, Need, Presence, Purpose, block_needs,
};
use common::{Library, source};
use std::collections::BTreeMap;

/// Cars with every way of actuation that check without an error.
const CABLE: &str = "system reference {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }
    cable { bends = 120 deg  friction = 0.05 }
    fork { slave_arm = 132 mm  bearing_arm = 60 mm }
    bearing { free_play = 0.5 mm }
    cover { release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }
}
";
const LINKAGE: &str = "system reference {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }
    linkage { in_arm = 60 mm  out_arm = 60 mm }
    fork { slave_arm = 132 mm  bearing_arm = 60 mm }
    cover { release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }
}
";
const CONCENTRIC: &str = "system reference {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }
    master { bore = 13/16 in  stroke = 36 mm }
    line hard { bore = 3.2 mm  length = 900 mm }
    slave { outer = 44 mm  inner = 32 mm  stroke = 20 mm }
    cover { release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }
}
";
/// A car whose line is rigid.
const RIGID: &str = "system reference {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    line hard { bore = 3.2 mm  length = 900 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork { ratio = 1.65 }
    cover { release_travel = 7 mm to 11 mm  release_load = 1500 N }
}
";

/// A car whose cover is given by its diaphragm.
const DIAPHRAGM: &str = "system reference {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork { ratio = 1.65 }
    diaphragm {
        outer = 206 mm  inner = 164 mm  thickness = 2.4 mm  height = 3.9 mm  plate_circle = 202 mm
        fulcrum_circle = 168 mm  finger_circle = 44 mm  set_deflection = 4 mm
    }
    cover { release_travel = 7 mm to 11 mm }
}
";

const CARS: [&str; 6] = [REFERENCE, CABLE, LINKAGE, CONCENTRIC, RIGID, DIAPHRAGM];

/// A car with a relay lever behind its slave.
const RELAY: &str = "system reference {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 40 mm  moves = rearward }
    relay one { at = fork  in_arm = 60 mm  out_arm = 60 mm  in_angle = 10 deg  out_angle = 10 deg  reverses = no }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between }
    cover { release_travel = 7 mm to 11 mm  release_load = 1500 N  action = push }
}
";

/// The car in which a field is tried.
fn car_for(block: &str) -> &'static str {
    match block {
        "cable" => CABLE,
        "linkage" => LINKAGE,
        "relay" => RELAY,
        _ => REFERENCE,
    }
}

/// An ordinary value, for a field that another one needs.
fn ordinary(path: &str) -> String {
    let value = match path {
        "slave.outer" => "44 mm",
        "slave.inner" => "32 mm",
        "slave.stroke" => "30 mm",
        "slave.bore" => "7/8 in",
        "disc.clearance" => "0.35 mm",
        "slave.height" => "82 mm",
        "slave.mount_to_fork" => "118 mm",
        "slave.face_to_seat" => "22 mm",
        "slave.rod_length" => "134 mm",
        "slave.rod_offset" => "10 mm",
        "slave.slope" => "4 deg",
        "slave.chamber" | "master.chamber" => "30 mm",
        "master.slope" => "4 deg",
        "line.orifice" => "1 mm",
        "pedal.rod_length" => "120 mm",
        "pedal.assist_rate" => "20 N/mm",
        "pedal.assist_free_length" => "85 mm",
        "pedal.assist_anchor" => "70 mm",
        "pedal.assist_hook" => "40 mm",
        "pedal.assist_angle" => "8 deg",
        "intensifier.in_bore" => "1 in",
        "intensifier.out_bore" => "7/8 in",
        "intensifier.stroke" => "30 mm",
        "fluid.viscosity" => "250 mm^2/s",
        "fluid.coldest" => "-15 degC",
        "fluid.grade" => "dot4",
        "master.seals" | "slave.seals" => "epdm",
        "slave.moves" | "cable.moves" | "linkage.moves" => "rearward",
        "fork.pivot" => "between",
        "cable.bends" => "120 deg",
        "cable.friction" => "0.05",
        "cable.tightest_bend" => "110 mm",
        "cable.min_bend" => "80 mm",
        "linkage.in_arm" | "linkage.out_arm" => "60 mm",
        "cable.adjuster" | "linkage.adjuster" | "slave.adjuster" => "auto",
        "cable.adjust_range" | "linkage.adjust_range" | "slave.adjust_range" => "20 mm",
        "relay.in_arm" | "relay.out_arm" => "60 mm",
        "relay.at" => "fork",
        "relay.reverses" => "no",
        "relay.in_angle" | "relay.out_angle" => "10 deg",
        "linkage.in_angle" | "linkage.out_angle" => "10 deg",
        "fork.slave_arm" => "112 mm",
        "fork.bearing_arm" => "68 mm",
        "pedal.free_play" => "0 mm",
        "master.rod_clearance" => "0.1 mm",
        "fluid.hottest" => "120 degC",
        "disc.cushion" => "0.8 mm",
        "disc.cushion_power" => "1",
        "disc.cushion_load" => "curve { 0 mm: 0 N, 0.4 mm: 1000 N, 0.8 mm: 6500 N }",
        "bellhousing.face_circle" => "150 mm",
        "fork.pivot_height" => "42 mm",
        "bearing.length" => "38 mm",
        "cover.finger_ratio" => "3.4",
        "cover.clamp_load" => "6500 N",
        "cover.release_load" => "1400 N",
        "cover.action" => "push",
        "disc.wear" => "0.5 mm",
        "cover.finger_height" => "83 mm",
        "disc.outer" => "228 mm",
        "disc.inner" => "150 mm",
        "disc.friction" => "0.3",
        "engine.torque" => "210 N*m",
        "bellhousing.depth" => "165 mm",
        "bellhousing.runout" => "0.1 mm",
        "bellhousing.face_runout" => "0.1 mm",
        "bellhousing.dial" => "curve { 0 deg: 0.06 mm, 90 deg: 0.03 mm, 180 deg: -0.05 mm }",
        "gearbox.input_length" => "195 mm",
        "gearbox.pilot_reach" => "12 mm",
        "gearbox.spline_start" => "28 mm",
        "gearbox.spline_length" => "60 mm",
        "flywheel.face" => "30 mm",
        "disc.thickness" => "8 mm",
        "disc.hub_length" => "26 mm",
        "disc.hub_offset" => "4 mm",
        "diaphragm.outer" => "206 mm",
        "diaphragm.inner" => "164 mm",
        "diaphragm.thickness" => "2.4 mm",
        "diaphragm.height" => "3.9 mm",
        "diaphragm.plate_circle" => "202 mm",
        "diaphragm.fulcrum_circle" => "168 mm",
        "diaphragm.finger_circle" => "44 mm",
        "diaphragm.set_deflection" => "4 mm",
        "measured.pedal_travel" => "150 mm",
        "measured.slave_travel" => "15 mm",
        "measured.master_travel" => "24 mm",
        "measured.bearing_travel" => "9 mm",
        "measured.pedal_effort" => "140 N",
        "measured.line_pressure" => "2.6 MPa",
        "measured.release_point" => "130 mm",
        "measured.fork_travel" => "15 mm",
        "measured.held_effort" => "130 N",
        "measured.let_up_effort" => "110 N",
        "measured.pedal_drag" => "3 N",
        "measured.fork_drag" => "10 N",
        "measured.half_travel" => "7 mm",
        "measured.free_play" => "6 mm",
        "measured.sink" => "0 mm",
        "line.bore" => "3.2 mm",
        "line.length" => "900 mm",
        "line.expansion" => "0.33 cc/ft / 1000 psi",
        "line.wall" => "0.7 mm",
        "fluid.air" => "0.5 cc",
        "fluid.bulk_modulus" => "1.6 GPa",
        "fitting.inlet" | "fitting.outlet" => "\"M10x1 bubble flare\"",
        "pedal.rod_arm" => "50 mm",
        "pedal.pad_arm" => "300 mm",
        "master.bore" => "3/4 in",
        "master.stroke" => "36 mm",
        _ => panic!("{path} has no ordinary value"),
    };
    value.to_owned()
}

/// Values far apart, all of them possible.
fn extremes(field: &Field) -> Vec<String> {
    let text = |value: f64, dimension: Dimension| match dimension {
        Dimension::TEMPERATURE => format!("{value} K"),
        _ => written(value, usual_unit(dimension, UnitSystem::Metric).as_ref()),
    };
    match field.kind {
        Kind::Choice(choices) => choices.iter().map(|c| c.name.to_owned()).collect(),
        Kind::Window(_) => vec!["2 mm to 3 mm".into(), "30 mm to 40 mm".into()],
        Kind::Curve { .. } if field.name == "dial" => vec![
            "curve { 0 deg: 0 mm, 120 deg: 0.01 mm, 240 deg: 0 mm }".into(),
            "curve { 0 deg: 2 mm, 90 deg: 0 mm, 180 deg: -2 mm, 270 deg: 0 mm }".into(),
            "curve { 0 deg: 2 mm, 10 deg: 0 mm }".into(),
        ],
        Kind::Curve { .. } => vec![
            "curve { 0 mm: 0 N, 150 mm: 1 N }".into(),
            "curve { 0 mm: -10 N, 150 mm: 60 N }".into(),
        ],
        Kind::Text => vec!["\"HH-750-R\"".into(), "\"another\"".into()],
        Kind::Money => vec!["48.50 USD".into(), "9000 EUR".into()],
        Kind::Count => vec!["1".into(), "40".into()],
        Kind::CurveOrPeak { y, .. } => vec![text(300.0, y), text(20_000.0, y)],
        Kind::Quantity(dimension) => {
            let (low, high) = field.usual.unwrap_or(match dimension {
                Dimension::ANGLE => (-1.0, 1.0),
                Dimension::NUMBER if field.range.high <= 1.0 => (0.05, field.range.high * 0.9),
                Dimension::NUMBER => (0.1, 20.0),
                Dimension::FORCE => (1.0, 500.0),
                Dimension::VOLUME => (100.0, 30_000.0),
                Dimension::STIFFNESS => (10.0, 10_000.0),
                _ => (0.3, 40.0),
            });
            let low = low.max(high * 1e-6);
            vec![text(low, dimension), text(high, dimension)]
        }
    }
}

/// Fields by block, as a body of a system.
#[derive(Clone, Default)]
struct Body(BTreeMap<&'static str, BTreeMap<&'static str, String>>);

impl Body {
    fn set(&mut self, id: FieldId, value: String) {
        let block = self.0.entry(id.block().name).or_default();
        block.insert(id.field().name, value);
    }

    /// Adds a block with its required fields, unless the car has it.
    fn bring(&mut self, block: &'static Block, car: &str) {
        if car.contains(&format!("    {} ", block.name)) {
            self.0.entry(block.name).or_default();
            return;
        }
        let fields = block.fields.iter();
        for field in fields.filter(|field| matches!(field.presence, Presence::Required)) {
            let value = ordinary(&format!("{}.{}", block.name, field.name));
            let given = self.0.entry(block.name).or_default();
            given.entry(field.name).or_insert(value);
        }
        self.0.entry(block.name).or_default();
    }

    fn text(&self, car: &str) -> String {
        let mut text = format!("{car}system probe from reference {{\n");
        for (block, fields) in &self.0 {
            let label = match *block {
                "line" => " hard",
                "relay" => " one",
                _ => "",
            };
            text.push_str(&format!("    {block}{label} {{"));
            for (field, value) in fields {
                text.push_str(&format!(" {field} = {value} "));
            }
            text.push_str("}\n");
        }
        text + "}\n"
    }
}

/// The report of the car with a body on top of it.
struct Known {
    report: Report,
    text: String,
}

impl Known {
    fn of(car: &str, body: &Body) -> Self {
        let text = body.text(car);
        let report = analyse(source("probe.clutch", &text), &Library::default());
        Self { report, text }
    }

    /// The body, and the way of actuation in which it is tried.
    fn said(&self) -> String {
        let way = ["cable", "linkage", "outer", "slave"];
        let way = way.into_iter().find(|way| self.text.contains(way));
        let (_, body) = self.text.split_once("system probe").unwrap();
        let words: Vec<&str> = body.split_whitespace().collect();
        format!("{} {}", way.unwrap_or_default(), words.join(" "))
    }

    fn probe(&self) -> &Worked {
        let mut systems = self.report.worked_systems();
        systems.find(|w| w.system.name == "probe").unwrap()
    }

    fn findings(&self) -> impl Iterator<Item = &Finding> {
        self.report
            .findings
            .iter()
            .filter(|finding| finding.system.as_deref() != Some("reference"))
    }

    /// Results and findings, without those about values as such: that they are assumed, not used, or in an odd unit.
    fn told(&self) -> String {
        const OF_VALUES: [&str; 4] = ["assumed-value", "not-used", "way-unknown", "unit-slip"];
        let mut told: Vec<String> = self
            .findings()
            .filter(|finding| !OF_VALUES.contains(&finding.check.name()))
            .map(|finding| finding.problem.message.clone())
            .collect();
        if let Ok(outcome) = &self.probe().outcome {
            let worn = outcome.worn();
            let results = outcome
                .results
                .iter()
                .chain(worn.into_iter().flat_map(|w| w.iter()));
            told.extend(results.map(|(id, value)| format!("{} {value:e}", id.spec().name)));
        }
        told.join("\n")
    }

    /// Whether a finding names a field.
    fn names(&self, id: FieldId) -> bool {
        self.findings().any(|finding| names(finding, id))
    }
}

fn names(finding: &Finding, id: FieldId) -> bool {
    let paths = [
        format!("`{}`", id.path()),
        format!("`line hard.{}`", id.field().name),
        format!("`relay one.{}`", id.field().name),
    ];
    let help = finding.problem.help.as_deref().unwrap_or_default();
    let text = format!("{} {help}", finding.problem.message);
    paths.iter().any(|path| text.contains(path))
}

/// The reports of a body without a field, and with each of the field's extremes.
fn tried(car: &str, body: &Body, id: FieldId) -> Vec<Known> {
    let mut bodies = Vec::new();
    let mut without = body.clone();
    if let Some(block) = without.0.get_mut(id.block().name) {
        block.remove(id.field().name);
    }
    bodies.push(without);
    for value in extremes(id.field()) {
        let mut with = body.clone();
        with.set(id, value);
        bodies.push(with);
    }
    bodies.iter().map(|body| Known::of(car, body)).collect()
}

fn moves(tried: &[Known]) -> bool {
    let mut told = tried.iter().map(Known::told);
    let first = told.next();
    told.any(|told| Some(told) != first)
}

#[test]
fn the_cars_are_worked_out() {
    for car in CARS {
        let known = Known::of(car, &Body::default());
        assert!(known.probe().outcome.is_ok(), "{car}");
    }
}

/// Every field is given alone in every car. A result moves, a finding changes, or a finding names the field. Fields
/// of an order are excepted.
#[test]
fn a_field_given_alone_is_used_or_reported_as_unused() {
    let mut silent = Vec::new();
    for car in CARS {
        for id in FieldId::all() {
            let mut body = Body::default();
            body.bring(id.block(), car);
            if id == field!(bearing.runs) {
                // `runs` matters only for a bearing that touches the fingers.
                body.set(field!(bearing.free_play), "0 mm".to_owned());
            }
            let tried = tried(car, &body, id);
            let named = || tried[1..].iter().any(|known| known.names(id));
            // A block that does not fit the car is reported as an error.
            let refused = || tried.iter().all(|known| known.probe().outcome.is_err());
            if id.field().purpose == Purpose::Order {
                assert!(!moves(&tried) && !named(), "{}", tried[1].said());
                continue;
            }
            if !moves(&tried) && !named() && !refused() {
                silent.push(tried[1].said());
            }
        }
    }
    assert!(silent.is_empty(), "{}\n{}", silent.len(), silent.join("\n"));
}

/// The needs in the schema are sufficient: with any one of the ways given, the field is used.
#[test]
fn a_field_with_what_it_needs_is_used() {
    // Says at which temperature the viscosity was read, and has no number of its own then.
    let describes = [("fluid.coldest", "fluid.viscosity")];
    let mut silent = Vec::new();
    for id in FieldId::all() {
        for way in id.needs() {
            let first = way.first().map(|need| need.path()).unwrap_or_default();
            if describes.contains(&(id.path().as_str(), first.as_str())) {
                continue;
            }
            let of_way = way.iter().map(|need| need.path()).collect::<Vec<_>>();
            let car = match of_way.iter().find_map(|path| path.split('.').next()) {
                Some(block @ ("cable" | "linkage")) => car_for(block),
                _ if of_way.iter().any(|path| path == "linkage.moves") => LINKAGE,
                _ if of_way.iter().any(|path| path == "cable.moves") => CABLE,
                _ if of_way.iter().any(|path| path == "slave.outer") => CONCENTRIC,
                _ if of_way.iter().any(|path| path == "diaphragm") => DIAPHRAGM,
                _ if id.block().name == "line" => RIGID,
                _ if id.block().name == "relay" => RELAY,
                _ => car_for(id.block().name),
            };
            // A cover that says its load has no say for its spring.
            let of_spring = car.replace("  release_load = 1500 N", "");
            let car = match of_way.iter().any(|path| path == "diaphragm") {
                true => of_spring.as_str(),
                false => car,
            };
            let mut body = Body::default();
            body.bring(id.block(), car);
            for need in way {
                match *need {
                    Need::Block(block) => body.bring(&BLOCKS[block as usize], car),
                    Need::Field(field) => {
                        body.bring(field.block(), car);
                        body.set(field, ordinary(&field.path()));
                    }
                }
            }
            let tried = tried(car, &body, id);
            let told_unused = tried[1..].iter().any(|known| {
                let mut findings = known.findings();
                findings.any(|f| f.check.name() == "not-used" && names(f, id))
            });
            if !moves(&tried) || told_unused {
                silent.push(format!(
                    "{} with {of_way:?}: {}",
                    id.path(),
                    tried[1].said()
                ));
            }
        }
    }
    assert!(silent.is_empty(), "{}\n{}", silent.len(), silent.join("\n"));
}

#[test]
fn blocks_that_need_another_are_reported_once() {
    let known = Known::of(CABLE, &{
        let mut body = Body::default();
        body.bring(&BLOCKS[Block::named("line").unwrap() as usize], "");
        body
    });
    let told: Vec<&str> = known
        .findings()
        .filter(|finding| finding.check.name() == "not-used")
        .map(|finding| finding.problem.message.as_str())
        .collect();
    assert_eq!(
        told,
        ["`line hard.bore` and `line hard.length` are not used without `master`"]
    );
    assert!(!block_needs(Block::named("line").unwrap()).is_empty());
}
