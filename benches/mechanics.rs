//! How long it takes to work out a system: `cargo bench`.

#[path = "common/mod.rs"]
mod common;

use bitepoint::analysis::analyse;
use bitepoint::checks::REFERENCE;
use bitepoint::model::{Source, System};
use bitepoint::solve::{Tolerances, work_out};
use common::{Library, last};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use std::fmt::Write;
use std::sync::Arc;

fn main() {
    divan::main();
}

/// The reference system with more in its body.
fn with(body: &str) -> System {
    last(&format!(
        "{REFERENCE}\nsystem more from reference {{ {body} }}"
    ))
}

const LEVERED: &str = "pedal { rod_length = 140 mm }";
const ASSISTED: &str =
    "pedal { assist = curve { 0 mm: -5 N, 50 mm: 20 N, 90 mm: 35 N, 150 mm: 10 N } }";
const WORN: &str = "cover { finger_ratio = 3.4 } disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1.8 mm }";

#[divan::bench(args = ["", LEVERED, ASSISTED, WORN])]
fn one_system(bencher: Bencher, body: &str) {
    let system = with(body);
    bencher.bench(|| work_out(black_box(&system)));
}

#[divan::bench]
fn curve_of_256_points(bencher: Bencher) {
    let outcome = work_out(&with("")).expect("sound");
    bencher.bench(|| black_box(&outcome.chain).curve(256));
}

#[divan::bench]
fn nine_tolerances(bencher: Bencher) {
    let system = with(
        "pedal { pad_arm = 300 mm ± 1 mm  rod_arm = 50 mm ± 0.5 mm  travel = 150 mm ± 3 mm }
        master { bore = 19.05 mm to 19.12 mm  port_travel = 1 mm ± 0.3 mm }
        line flex { length = 350 mm ± 5 % }
        slave { bore = 22.22 mm to 22.30 mm  rest_extension = 6 mm ± 1 mm }
        fork { slave_arm = 112 mm ± 1 % }",
    );
    let outcome = work_out(&system).expect("sound");
    bencher.bench(|| Tolerances::new(black_box(&system), black_box(&outcome)));
}

#[divan::bench]
fn sixteen_tolerances(bencher: Bencher) {
    let system = with(
        "pedal { pad_arm = 300 mm ± 1 mm  rod_arm = 50 mm ± 0.5 mm  travel = 150 mm ± 3 mm  free_play = 6 mm ± 2 mm }
        master { bore = 19.05 mm to 19.12 mm  port_travel = 1 mm ± 0.3 mm  stroke = 36 mm ± 0.5 mm  mount_stiffness = 900 N/mm ± 20 % }
        line flex { length = 350 mm ± 5 % }
        slave { bore = 22.22 mm to 22.30 mm  rest_extension = 6 mm ± 1 mm  preload = 20 N ± 5 N }
        fork { slave_arm = 112 mm ± 1 %  bearing_arm = 68 mm ± 1 %  stiffness = 1200 N/mm ± 20 % }
        fluid { bulk_modulus = 1.6 GPa ± 10 % }",
    );
    assert_eq!(system.toleranced().len(), 16);
    let outcome = work_out(&system).expect("sound");
    bencher.bench(|| Tolerances::new(black_box(&system), black_box(&outcome)));
}

/// A kit of `count` combinations, from the text to its report, on all cores. Almost all of the time is spent on the
/// combinations, so that items per second are combinations per second.
#[divan::bench(args = [4_096, 65_536])]
fn combinations_of_a_kit(bencher: Bencher, count: u32) {
    let masters = 64;
    let slaves = count / masters;
    let mut text = REFERENCE.to_owned();
    let mut choose = String::new();
    for (block, count, rest) in [
        ("master", masters, "stroke = 36 mm  port_travel = 1 mm"),
        ("slave", slaves, "stroke = 32 mm  rest_extension = 6 mm"),
    ] {
        let mut names = Vec::new();
        for i in 0..count {
            let bore = 17.0 + 8.0 * f64::from(i) / f64::from(count);
            writeln!(
                text,
                "part {block} {block}_{i} {{ bore = {bore} mm  {rest} }}"
            )
            .expect("a string takes it");
            names.push(format!("{block}_{i}"));
        }
        writeln!(choose, "choose {block} {}", names.join(", ")).expect("a string takes it");
    }
    writeln!(text, "system kit from reference {{ {choose} }}").expect("a string takes it");
    let source = Arc::new(Source::new("bench.clutch".into(), text));
    let report = analyse(source.clone(), &Library::default());
    let kit = report.systems.iter().find_map(|worked| worked.kit.as_ref());
    assert_eq!(kit.map(|kit| kit.tried.count), Some(u64::from(count)));
    bencher
        .counter(ItemsCount::new(count))
        .bench(|| analyse(black_box(source.clone()), &Library::default()));
}
