//! How long it takes to work a system out: `cargo bench`.

use bitepoint::checks::REFERENCE;
use bitepoint::finding::FileName;
use bitepoint::mechanics::{Tolerances, work_out};
use bitepoint::model::{Bundle, Files, Source, System, build};
use divan::{Bencher, black_box};
use std::sync::Arc;

fn main() {
    divan::main();
}

/// A disk with nothing on it.
struct NoFiles;

impl Files for NoFiles {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        Err(format!("cannot be read: nothing is called {name}"))
    }
}

/// The last system of a text.
fn last(text: &str) -> System {
    let source = Source::new("bench.clutch".into(), text.to_owned());
    let model = build(&Bundle::load(Arc::new(source), &NoFiles));
    model
        .systems
        .into_iter()
        .next_back()
        .expect("a system")
        .system
}

/// The reference system with more about it.
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
