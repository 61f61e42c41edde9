//! The systems of a long file are built side by side and share what they have from one base. Each equals the system
//! in a file of its own, and all runs are equal.

use bitepoint::analysis::{Report, analyse};
use bitepoint::model::Source;
use std::fmt::Write as _;
use std::sync::Arc;

#[path = "common/library.rs"]
mod library;

use library::Library;

/// More systems than two threads take at once.
const SYSTEMS: usize = 150;

/// Blocks that read lets, other blocks and nothing; a part; lines.
const BASE: &str = "let reach = 300 mm
part master m { bore = 19.05 mm  stroke = 36 mm }
part slave s { bore = 22.2 mm  stroke = 40 mm }
part slave t { bore = 25.4 mm  stroke = slave.bore * 2 }
system base {
    let rest = 6 mm
    pedal { pad_arm = reach  rod_arm = 50 mm  travel = slave.rest_extension * 25 }
    master m
    line hard { bore = 3.2 mm  length = 900 mm  wall = 0.75 mm }
    line flex { bore = 1/8 in  length = reach  expansion = 0.33 cc/ft / 1000 psi }
    slave s { rest_extension = rest }
    fork { ratio = 1.6 }
    cover { release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }
}
";

/// A system's own statements. Some have mistakes.
fn system(number: usize) -> String {
    let own = match number % 10 {
        0 => format!("pedal {{ travel = {} mm }}", 120 + number),
        1 => format!("let rest = {} mm", 4 + number / 20),
        2 => format!("slave t {{ rest_extension = {} mm }}", 5 + number / 30),
        3 => "fork { ratio = slave.stroke / 25 mm }".to_owned(),
        4 => format!("line flex {{ length = {} mm }}", 200 + number),
        5 => "master { bore = 3/4 in }  require pedal_effort <= 80 N".to_owned(),
        6 => format!("from_where {{ travel = {number} mm }}"),
        7 => format!("pedal {{ travl = {number} mm }}"),
        8 => "fork { ratio = raech / 200 mm }".to_owned(),
        _ => String::new(),
    };
    format!("system s{number} from base {{ {own} }}\n")
}

fn look(text: String) -> Report {
    let source = Arc::new(Source::new("spec.clutch".into(), text));
    analyse(source, &Library::default())
}

#[test]
fn each_system_equals_the_system_built_alone() {
    let systems: String = (0..SYSTEMS).map(system).collect();
    let together = look(format!("{BASE}{systems}"));
    for number in 0..SYSTEMS {
        let alone = look(format!("{BASE}{}", system(number)));
        let of_it = |report: &Report| {
            let name = format!("s{number}");
            let worked = report.worked_systems().find(|w| w.system.name == name);
            let system = worked.expect("it is there").system.place.span.statement;
            let found = report
                .findings
                .iter()
                .filter(|finding| finding.problem.place.span.statement == system);
            let mut told = format!("{:#?}", worked.expect("it is there"));
            found.for_each(|finding| {
                let _ = write!(told, "\n{finding:#?}");
            });
            told
        };
        assert_eq!(of_it(&together), of_it(&alone), "{}", system(number));
    }
}

#[test]
fn no_run_differs_from_another_when_more_names_are_misspelled_than_are_looked_up() {
    let misspelled = |number| {
        format!(
            "system s{number} from base {{ pedal {{ travl = {number} mm }} fork {{ ratio = raech }} }}\n"
        )
    };
    let systems: String = (0..3 * SYSTEMS).map(misspelled).collect();
    let text = format!("{BASE}{systems}");
    let told = |report: &Report| format!("{:#?}", report.findings);
    let first = told(&look(text.clone()));
    for _ in 0..5 {
        assert_eq!(told(&look(text.clone())), first);
    }
}
