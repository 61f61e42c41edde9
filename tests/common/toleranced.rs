//! Random systems with tolerances of all kinds and sizes, as text.

use bitepoint::model::System;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;

use super::last_system;

/// A field, the least and most of its values, their unit, and how often it is given.
type Row = (&'static str, f64, f64, &'static str, f64);

const PEDAL: &[Row] = &[
    ("pedal.pad_arm", 260.0, 330.0, "mm", 1.0),
    ("pedal.rod_arm", 42.0, 60.0, "mm", 1.0),
    ("pedal.travel", 110.0, 170.0, "mm", 1.0),
    ("pedal.free_play", 2.0, 12.0, "mm", 0.5),
    ("pedal.arm_angle", -30.0, 20.0, "deg", 0.3),
    ("pedal.rod_length", 90.0, 200.0, "mm", 0.3),
    ("pedal.efficiency", 80.0, 97.0, "%", 0.5),
    ("pedal.return_force", 2.0, 20.0, "N", 0.5),
    ("pedal.stop", 110.0, 170.0, "mm", 0.3),
    ("fork.slave_arm", 95.0, 125.0, "mm", 1.0),
    ("fork.bearing_arm", 55.0, 75.0, "mm", 1.0),
    ("fork.efficiency", 80.0, 97.0, "%", 0.5),
    ("fork.stiffness", 200.0, 3000.0, "N/mm", 0.6),
    ("bearing.free_play", 0.2, 2.5, "mm", 0.4),
    ("cover.finger_ratio", 2.8, 4.5, "", 0.5),
];

const HYDRAULIC: &[Row] = &[
    ("master.bore", 17.0, 21.0, "mm", 1.0),
    ("master.stroke", 18.0, 36.0, "mm", 1.0),
    ("master.port_travel", 0.5, 2.0, "mm", 0.7),
    ("master.efficiency", 80.0, 97.0, "%", 0.5),
    ("master.return_force", 2.0, 30.0, "N", 0.3),
    ("master.mount_stiffness", 150.0, 3000.0, "N/mm", 0.6),
    ("slave.bore", 19.0, 25.0, "mm", 1.0),
    ("slave.stroke", 20.0, 40.0, "mm", 1.0),
    ("slave.rest_extension", 2.0, 10.0, "mm", 0.7),
    ("slave.preload", 2.0, 80.0, "N", 0.5),
    ("slave.efficiency", 80.0, 97.0, "%", 0.5),
    ("slave.rod_length", 80.0, 140.0, "mm", 0.4),
    ("slave.rod_offset", -2.0, 2.0, "mm", 0.3),
    ("slave.mount_to_fork", 105.0, 125.0, "mm", 0.3),
    ("slave.face_to_seat", 15.0, 25.0, "mm", 0.3),
    ("fluid.bulk_modulus", 0.8, 2.2, "GPa", 0.6),
    ("fluid.air", 0.05, 2.5, "cc", 0.4),
];

const CABLE: &[Row] = &[
    ("cable.bends", 30.0, 200.0, "deg", 1.0),
    ("cable.friction", 0.03, 0.12, "", 1.0),
    ("cable.stiffness", 100.0, 900.0, "N/mm", 0.7),
    ("cable.play", 0.2, 3.0, "mm", 0.7),
];

const LINKAGE: &[Row] = &[
    ("linkage.in_arm", 50.0, 70.0, "mm", 1.0),
    ("linkage.out_arm", 50.0, 70.0, "mm", 1.0),
    ("linkage.play", 0.2, 3.0, "mm", 0.7),
    ("linkage.stiffness", 100.0, 900.0, "N/mm", 0.7),
    ("linkage.efficiency", 80.0, 97.0, "%", 0.5),
];

const DISC: &[Row] = &[
    ("disc.outer", 220.0, 240.0, "mm", 1.0),
    ("disc.inner", 140.0, 160.0, "mm", 1.0),
    ("disc.friction", 0.25, 0.35, "", 1.0),
    ("disc.cushion", 0.4, 1.2, "mm", 0.7),
    ("disc.clearance", 0.2, 0.5, "mm", 0.8),
    ("engine.torque", 150.0, 260.0, "N*m", 0.7),
    ("cover.clamp_load", 5.0, 7.0, "kN", 0.7),
];

/// The body of a random system in which at most `most` values have a tolerance.
pub fn body(random: &mut StdRng, most: usize) -> String {
    let mut some = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
    let drive = match some(0.0, 1.0) {
        part if part < 0.7 => HYDRAULIC,
        part if part < 0.85 => CABLE,
        _ => LINKAGE,
    };
    let mut rows: Vec<&Row> = PEDAL.iter().chain(drive).collect();
    if some(0.0, 1.0) < 0.4 {
        rows.extend(DISC);
    }
    let mut given: Vec<(&str, String, f64, &str)> = Vec::new();
    for (field, low, high, unit, often) in rows {
        let mut value = some(*low, *high);
        // Of every three systems one ends its travel by two things at once, or nearly.
        if *field == "pedal.stop" && some(0.0, 1.0) < 0.5 {
            value = some(140.0, 150.0);
        }
        if some(0.0, 1.0) < *often {
            given.push((field, String::new(), value, unit));
        }
    }
    let count = some(1.0, most as f64 + 0.99) as usize;
    // From a hair to what nobody would make.
    let wide = [0.002, 0.02, 0.08, 0.2][some(0.0, 3.99) as usize];
    for _ in 0..count {
        let at = some(0.0, given.len() as f64) as usize;
        let (_, tolerance, value, unit) = &mut given[at];
        let by = wide * some(0.05, 1.0);
        // Efficiencies end at 100 %.
        let by = if *unit == "%" { by.min(0.02) } else { by };
        *tolerance = match some(0.0, 1.0) {
            part if part < 0.5 => format!(" ± {} %", 100.0 * by),
            _ => format!(" ± {} {unit}", value.abs() * by),
        };
    }
    let mut blocks: BTreeMap<&str, String> = BTreeMap::new();
    for (path, tolerance, value, unit) in given {
        let (block, field) = path.split_once('.').expect("a path");
        let text = format!("  {field} = {value} {unit}{tolerance}");
        blocks.entry(block).or_default().push_str(&text);
    }
    let peak = some(900.0, 2200.0);
    let (first, fall) = (some(0.05, 0.3), some(0.3, 1.1));
    let strength = match some(0.0, 1.0) {
        part if part < 0.3 => format!("1 ± {} %", some(1.0, 10.0)),
        _ => "1".to_owned(),
    };
    let load = format!(
        "  release_travel = {} mm to 11 mm  release_load = curve {{ 0 mm: {} N * strength, 2 mm: {} N * strength, 5 mm: {peak} N * strength, 9 mm: {} N * strength }}",
        some(5.0, 8.0),
        first * peak,
        some(0.5, 0.8) * peak,
        fall * peak,
    );
    blocks.entry("cover").or_default().push_str(&load);
    if some(0.0, 1.0) < 0.25 {
        let help = some(5.0, 60.0);
        let assist = format!("  assist = curve {{ 0 mm: -5 N, 60 mm: {help} N, 150 mm: 5 N }}");
        blocks.entry("pedal").or_default().push_str(&assist);
    }
    if drive.len() == HYDRAULIC.len() {
        blocks.insert(
            "line flex",
            "  bore = 1/8 in  length = 350 mm ± 5 %  expansion = 0.33 cc/ft / 1000 psi".to_owned(),
        );
    }
    let mut body = format!("let strength = {strength}\n");
    for (block, fields) in blocks {
        body.push_str(&format!("{block} {{{fields} }}\n"));
    }
    body
}

/// A random system that works.
pub fn system(seed: u64, most: usize) -> System {
    let mut random = StdRng::seed_from_u64(seed);
    loop {
        let system = last_system(&format!("system a {{\n{}}}\n", body(&mut random, most)));
        assert!(system.is_sound() || !system.is_workable());
        if bitepoint::solve::work_out(&system).is_ok() {
            return system;
        }
    }
}
