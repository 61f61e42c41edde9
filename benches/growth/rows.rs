//! Things of which there may be very many.

use bitepoint::analysis::{Report, Work, analyse_with};
use bitepoint::checks::REFERENCE;
use library::{Library, source};
use std::collections::HashMap;
use std::fmt::Write;

#[path = "../../tests/common/library.rs"]
mod library;

/// The factor between the two sizes.
pub const MORE: usize = 4;

/// Four times n log n at these sizes is up to 4.8 times as much; the rest is for noise, and for
/// what grows by doubling.
pub const MOST: f64 = 6.0;

/// Files that exist only here.
#[derive(Default)]
pub struct Given {
    pub car: String,
    pub others: HashMap<String, String>,
}

impl Given {
    pub fn bytes(&self) -> usize {
        self.car.len() + self.others.values().map(String::len).sum::<usize>()
    }

    pub fn analyse(&self) -> Report {
        let others = self.others.iter().map(|(name, text)| source(name, text));
        let others: Library = others.collect();
        let work = Work {
            combinations: 1_000,
            ..Work::default()
        };
        analyse_with(source("car.clutch", &self.car), &others, &work)
    }
}

impl From<String> for Given {
    fn from(car: String) -> Self {
        Self {
            car,
            others: HashMap::new(),
        }
    }
}

/// The same piece n times, each with its number in place of `#`.
fn many(n: usize, piece: &str) -> String {
    (0..n).map(|i| piece.replace('#', &i.to_string())).collect()
}

/// A system that works, with more in its body.
fn with(body: &str) -> Given {
    format!("{REFERENCE}\nsystem more from reference {{\n{body}}}\n").into()
}

/// A kind of thing that may be very many, and the smaller number of it.
pub type Row = (&'static str, usize, fn(usize) -> Given);

pub const ROWS: &[Row] = &[
    ("bytes of plain systems", 100, |n| {
        let sound = REFERENCE.replace("system reference", "system s#");
        many(n, &sound).into()
    }),
    ("derived systems", 200, |n| {
        let derived = "system s# from reference { pedal { travel = 151 mm } }\n";
        format!("{REFERENCE}\n{}", many(n, derived)).into()
    }),
    ("broken systems", 20_000, |n| {
        many(n, "system s# { master m }\n").into()
    }),
    ("systems of one name", 5_000, |n| {
        many(n, "system s { master m }\n").into()
    }),
    ("files used", 200, |n| {
        let own = many(n, "use \"f#.clutch\"\n");
        let others = (0..n).map(|i| {
            let text = format!("part master m{i} {{ bore = 3/4 in  stroke = 36 mm }}\n");
            (format!("f{i}.clutch"), text)
        });
        Given {
            car: own,
            others: others.collect(),
        }
    }),
    ("files that use one another", 60, |n| {
        // Each uses all that come after it, a few deep.
        let text = many(n, "use \"f#.clutch\"\n");
        let others = (0..n).map(|i| (format!("f{i}.clutch"), text.clone()));
        Given {
            car: text.clone(),
            others: others.collect(),
        }
    }),
    ("uses of one file", 10_000, |n| {
        let part = "part master m { bore = 3/4 in  stroke = 36 mm }\n".to_owned();
        Given {
            car: many(n, "use \"f.clutch\"\n"),
            others: HashMap::from([("f.clutch".to_owned(), part)]),
        }
    }),
    ("files that are not there", 5_000, |n| {
        many(n, "use \"f#.clutch\"\n").into()
    }),
    ("blocks in one line", 5_000, |n| {
        format!("system a {{ {} }}\n", many(n, "pedal { travel = 1 lbs } ")).into()
    }),
    ("wide characters in one line", 100_000, |n| {
        format!(
            "system a \"{}\" {{ {} }}\n",
            many(n, "é"),
            many(n / 50, "pedal { é = 1 } ")
        )
        .into()
    }),
    ("syntax errors", 20_000, |n| many(n, "let x# = \n").into()),
    ("closing braces", 50_000, |n| "}".repeat(n).into()),
    ("opening braces", 50_000, |n| {
        "system a { x { ".repeat(n).into()
    }),
    ("wrong units", 5_000, |n| {
        many(n, "part master m# { bore = 3 N  stroke = 36 kg }\n").into()
    }),
    ("misspelled names", 5_000, |n| {
        many(
            n,
            "part mastr m# { boer = 3 mm }\nsystem s# from t# { fork nofork }\n",
        )
        .into()
    }),
    ("lets", 20_000, |n| many(n, "let x# = 1 mm + 2 mm\n").into()),
    ("lets in a row", 20_000, |n| {
        let rows: String = (0..n).fold(String::new(), |mut rows, i| {
            let _ = writeln!(
                rows,
                "let x{i} = {}",
                if i % 50 == 0 {
                    "1 mm".into()
                } else {
                    format!("x{} * 1", i - 1)
                }
            );
            rows
        });
        rows.into()
    }),
    ("lets of one name", 10_000, |n| {
        many(n, "let x = 1 mm\n").into()
    }),
    ("lets in a system", 5_000, |n| {
        with(&many(n, "let x# = 1 mm\n"))
    }),
    ("a base's lets × derived systems", 250, |n| {
        let lets = many(n, "    let x# = 1 mm + 2 mm\n");
        let base = format!("system base {{\n{lets}    pedal {{ travel = x0 }}\n}}\n");
        format!("{base}{}", many(n, "system s# from base {}\n")).into()
    }),
    ("a from of a from", 1_000, |n| {
        let systems: String = (0..n).fold("system s0 {}\n".to_owned(), |mut all, i| {
            let _ = writeln!(all, "system s{} from s{i} {{}}", i + 1);
            all
        });
        systems.into()
    }),
    ("systems from one another in a circle", 1_000, |n| {
        format!("system s{n} from s0 {{}}\n{}", {
            (0..n).fold(String::new(), |mut all, i| {
                let _ = writeln!(all, "system s{i} from s{} {{}}", i + 1);
                all
            })
        })
        .into()
    }),
    ("parts to choose from", 100, |n| {
        let parts = many(n, "part master m# { bore = 3/4 in  stroke = 36 mm }\n");
        let names: Vec<String> = (0..n).map(|i| format!("m{i}")).collect();
        let kit = format!(
            "system kit from reference {{ choose master {} }}\n",
            names.join(", ")
        );
        format!("{REFERENCE}\n{parts}{kit}").into()
    }),
    ("the same part to choose", 1_000, |n| {
        let parts = "part master m { bore = 3/4 in  stroke = 36 mm }\n";
        let kit = format!(
            "system kit from reference {{ choose master {} }}\n",
            vec!["m"; n].join(", ")
        );
        format!("{REFERENCE}\n{parts}{kit}").into()
    }),
    ("unknown parts to choose", 5_000, |n| {
        let names: Vec<String> = (0..n).map(|i| format!("m{i}")).collect();
        with(&format!("choose master {}\n", names.join(", ")))
    }),
    ("chooses", 5_000, |n| with(&many(n, "choose master m#\n"))),
    ("parentheses", 100_000, |n| {
        format!("let x = {}1{}\n", "(".repeat(n), ")".repeat(n)).into()
    }),
    ("a comment", 500_000, |n| {
        format!("# {}\n", "x".repeat(n)).into()
    }),
    ("a text", 500_000, |n| {
        format!("system a \"{}\" {{}}\n", "x".repeat(n)).into()
    }),
    ("a text that does not end", 500_000, |n| {
        format!("use \"{}", "x".repeat(n)).into()
    }),
    ("a name", 500_000, |n| {
        format!("system {} {{}}\n", "x".repeat(n)).into()
    }),
    ("a number", 500_000, |n| {
        format!("let x = {} mm\n", "1".repeat(n)).into()
    }),
    ("comments", 50_000, |n| many(n, "# comment\n").into()),
    ("points of a curve", 20_000, |n| {
        format!("let c = curve {{ {} }}\n", many(n, "# mm: 1 N, ")).into()
    }),
    ("a curve with comments", 20_000, |n| {
        format!(
            "let c = curve {{\n{}}}\n",
            many(n, "# mm: 1 N, # x\n").replace("# mm", "1 mm")
        )
        .into()
    }),
    ("allows", 10_000, |n| {
        with(&many(n, "allow heavy-pedal \"why\"\n"))
    }),
    ("allows of nothing", 10_000, |n| {
        with(&many(n, "allow no-such-check# \"why\"\n"))
    }),
    ("requires", 5_000, |n| {
        with(&many(n, "require pedal_effort <= # N\n"))
    }),
    ("requires that all fail", 5_000, |n| {
        with(&many(n, "require pedal_effort <= 1.# N\n"))
    }),
    ("a base's requires × requires", 10_000, |n| {
        let base = many(n, "require pedal_effort <= # kN\n");
        let own = many(n, "require release_margin >= -# mm\n");
        format!("{REFERENCE}\nsystem base from reference {{\n{base}}}\nsystem more from base {{\n{own}}}\n").into()
    }),
    ("lines", 3_000, |n| {
        with(&many(n, "line l# { bore = 3.2 mm  length = 1 mm }\n"))
    }),
    ("lines without names", 3_000, |n| {
        with(&many(n, "line { bore = 3.2 mm  length = 1 mm }\n"))
    }),
    ("tolerances", 3_000, |n| {
        with(&many(
            n,
            "line l# { bore = 3.2 mm  length = 1 mm ± 0.1 mm }\n",
        ))
    }),
    ("parts that nothing uses", 5_000, |n| {
        let parts = many(n, "part master m# { bore = 3/4 in  stroke = 36 mm }\n");
        format!("{REFERENCE}\n{parts}").into()
    }),
    ("fields", 20_000, |n| {
        format!(
            "system a {{ pedal {{\n{}}} }}\n",
            many(n, "travel = 1 mm\n")
        )
        .into()
    }),
    ("unknown fields", 20_000, |n| {
        format!("system a {{ pedal {{\n{}}} }}\n", many(n, "zz# = 1 mm\n")).into()
    }),
];
