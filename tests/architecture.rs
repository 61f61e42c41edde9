//! The order of the rooms and the other rules of the architecture, checked on the code's syntax trees.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use imports::{Import, Sources};

#[path = "architecture/imports.rs"]
mod imports;

/// The rooms in order; each imports only those above it.
const STAIR: &[&str] = &[
    "check_id",
    "quantity",
    "syntax",
    "schema",
    "finding",
    "settings",
    "model",
    "mechanics",
    "solve",
    "diagnose",
    "checks",
    "analysis",
    "faces",
];

/// Pairs of rooms that must not import each other although the order would permit it, and why.
const APART: &[(&str, &[&str], &str)] = &[
    (
        "mechanics",
        &[
            "check_id", "quantity", "syntax", "schema", "finding", "settings", "model",
        ],
        "plain numbers in, plain numbers out",
    ),
    (
        "faces",
        &["mechanics"],
        "a face shows, and computes nothing",
    ),
];

/// Crates that the core may use. None of them does input or output.
const CORE_CRATES: &[&str] = &[
    "alloc",
    "core",
    "iso_currency",
    "pest",
    "pest_derive",
    "rayon",
    "rust_decimal",
    "rustc_hash",
    "std",
    "strsim",
    "toml",
    "toml_writer",
];

/// Modules of the standard library for input and output.
const OUTSIDE_WORLD: &[&str] = &["env", "fs", "io", "net", "os", "process"];

const PRINTING: &[&str] = &["dbg!", "eprint!", "eprintln!", "print!", "println!"];

const PANICS: &[&str] = &[
    ".expect",
    ".unwrap",
    "assert!",
    "assert_eq!",
    "assert_ne!",
    "panic!",
    "todo!",
    "unimplemented!",
    "unreachable!",
];

const MOST_LINES: usize = 600;

/// Files that may be longer, since they are one table.
const TABLES: &[(&str, &str)] = &[
    (
        "schema/blocks.rs",
        "a row for each field of the language, with its help",
    ),
    (
        "schema/results.rs",
        "a row for each result, with its formula",
    ),
];

/// Known exceptions. An entry that is no longer true fails the test, so that the list only shrinks.
const NOT_YET: &[(Wall, &str)] = &[];

/// A rule that the code must follow.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Wall {
    /// Each room of the crate is in the order of rooms, and the order names no other.
    Room,
    /// No import from a room further down in the order.
    Stair,
    /// No import between two rooms that are kept apart.
    Apart,
    /// No circle of imports between the modules of one folder. A module counts with everything inside it.
    Circle,
    /// The core does no input or output, and knows neither the editor nor the terminal.
    Core,
    /// The core never panics on purpose.
    Panic,
    /// A file has at most 600 lines.
    Length,
}

/// Where the code breaks a rule, with the lines that show it.
type Breaches = BTreeMap<(Wall, String), Vec<String>>;

fn room(file: &str) -> &str {
    file.split(['/', '.']).next().unwrap()
}

fn rank(file: &str) -> Option<usize> {
    STAIR.iter().position(|name| *name == room(file))
}

fn breaches(sources: &Sources) -> Breaches {
    let mut found = Breaches::new();
    let mut add = |wall, what: String, shown: String| {
        found.entry((wall, what)).or_default().push(shown);
    };

    let rooms: BTreeSet<&str> = sources.files.keys().map(|file| room(file)).collect();
    for name in rooms.iter().filter(|name| **name != "lib") {
        if !STAIR.contains(name) {
            add(Wall::Room, (*name).to_owned(), "has no place".into());
        }
    }
    for name in STAIR.iter().filter(|name| !rooms.contains(*name)) {
        add(Wall::Room, (*name).to_owned(), "is not in the code".into());
    }

    let imports = sources.imports();
    for Import {
        from,
        to,
        through,
        line,
        ..
    } in &imports
    {
        let shown = format!("{from}:{line} imports {to}");
        let (Some(lower), Some(upper)) = (rank(from), rank(to)) else {
            continue;
        };
        if upper > lower {
            add(Wall::Stair, format!("{from} imports {to}"), shown.clone());
        }
        for (one, others, why) in APART {
            let named = through.as_deref().unwrap_or(room(to));
            if room(from) == *one && others.contains(&named) {
                let what = format!("{from} imports {named}");
                add(Wall::Apart, what, format!("{shown}: {why}"));
            }
        }
    }
    for (what, shown) in circles(&imports) {
        for line in shown {
            add(Wall::Circle, what.clone(), line);
        }
    }

    let core = |file: &str| rank(file).is_some() && room(file) != "faces";
    for path in sources.outside().iter().filter(|path| core(&path.file)) {
        let first = path.path[0].as_str();
        if !CORE_CRATES.contains(&first)
            || first == "std" && OUTSIDE_WORLD.contains(&path.path[1].as_str())
        {
            let named = path.path.join("::");
            let what = format!("{} uses {named}", path.file);
            add(Wall::Core, what, format!("{}:{}", path.file, path.line));
        }
    }
    for (file, content) in &sources.files {
        for call in content.calls.iter().filter(|_| core(file)) {
            let shown = format!("{file}:{}", call.line);
            let name = call.name.as_str();
            if PRINTING.contains(&name) {
                add(Wall::Core, format!("{file} uses {name}"), shown);
            } else if PANICS.contains(&name)
                // The look-ups of the schema are evaluated while the program is compiled.
                && !(call.constant && room(file) == "schema")
            {
                add(Wall::Panic, format!("{file} has {name}"), shown);
            }
        }
        if content.lines > MOST_LINES && !TABLES.iter().any(|(table, _)| table == file) {
            let shown = format!("{} lines", content.lines);
            add(Wall::Length, file.clone(), shown);
        }
    }
    found
}

/// The modules that a file is in: `checks/text/cable.rs` is in `checks`, `text`, `cable`.
fn modules(file: &str) -> Vec<&str> {
    let path = file.strip_suffix(".rs").unwrap();
    path.strip_suffix("/mod")
        .unwrap_or(path)
        .split('/')
        .collect()
}

/// Circles of imports between modules of one folder, with the imports that make them. A module counts with everything
/// inside it, as a folder's own file may share names with its files.
fn circles(imports: &BTreeSet<Import>) -> Vec<(String, Vec<String>)> {
    type Edges<'a> = BTreeMap<&'a str, BTreeMap<&'a str, &'a Import>>;
    let mut folders: BTreeMap<&[&str], Edges> = BTreeMap::new();
    let paths: BTreeMap<&str, Vec<&str>> = imports
        .iter()
        .flat_map(|import| [&*import.from, &*import.to])
        .map(|file| (file, modules(file)))
        .collect();
    for import in imports.iter().filter(|import| !import.test) {
        let (from, to) = (&paths[&*import.from], &paths[&*import.to]);
        let shared = from.iter().zip(to).take_while(|(a, b)| a == b).count();
        if shared == 0 || shared == from.len() || shared == to.len() {
            continue;
        }
        let edges = folders.entry(&from[..shared]).or_default();
        let edges = edges.entry(from[shared]).or_default();
        edges.entry(to[shared]).or_insert(import);
    }
    let mut found = Vec::new();
    for (folder, edges) in folders {
        let reach = |start: &str| {
            let mut seen = BTreeSet::new();
            let mut open = vec![start];
            while let Some(module) = open.pop() {
                for &next in edges.get(module).into_iter().flat_map(BTreeMap::keys) {
                    if seen.insert(next) {
                        open.push(next);
                    }
                }
            }
            seen
        };
        let reached: BTreeMap<&str, BTreeSet<&str>> = edges
            .keys()
            .map(|module| (*module, reach(module)))
            .collect();
        let mut done = BTreeSet::new();
        for (module, there) in &reached {
            if !there.contains(module) || done.contains(module) {
                continue;
            }
            let circle: Vec<&str> = there
                .iter()
                .copied()
                .filter(|other| reached.get(other).is_some_and(|back| back.contains(module)))
                .collect();
            done.extend(circle.iter().copied());
            let shown = circle
                .iter()
                .flat_map(|from| &edges[from])
                .filter(|(to, _)| circle.contains(to))
                .map(|(_, i)| format!("{}:{} imports {}", i.from, i.line, i.to))
                .collect();
            let what = format!("{}: {}", folder.join("/"), circle.join(", "));
            found.push((what, shown));
        }
    }
    found
}

#[test]
fn the_code_follows_every_rule_of_the_architecture() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let sources = Sources::read(&root);
    assert!(sources.files.len() > 100, "the sources are elsewhere");
    let found = breaches(&sources);
    let not_yet: BTreeSet<(Wall, String)> = NOT_YET
        .iter()
        .map(|(wall, what)| (*wall, (*what).to_owned()))
        .collect();
    assert_eq!(not_yet.len(), NOT_YET.len(), "an entry stands twice");
    let mut wrong = String::new();
    for ((wall, what), lines) in &found {
        if !not_yet.contains(&(*wall, what.clone())) {
            wrong += &format!("broken: (Wall::{wall:?}, {what:?}),\n");
            for line in lines {
                wrong += &format!("    {line}\n");
            }
        }
    }
    for (wall, what) in &not_yet {
        if !found.contains_key(&(*wall, what.clone())) {
            wrong += &format!("holds now, delete from NOT_YET: (Wall::{wall:?}, {what:?}),\n");
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
}

/// The breaches in a crate of these files.
fn breaches_of(files: &[(&str, &str)]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let mut mods = BTreeSet::new();
    for (name, text) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
        mods.insert(format!("pub mod {};\n", room(name)));
    }
    let root = mods.into_iter().collect::<String>();
    std::fs::write(folder.path().join("lib.rs"), root).unwrap();
    breaches(&Sources::read(folder.path()))
        .into_keys()
        .filter(|(wall, _)| *wall != Wall::Room)
        .map(|(wall, what)| format!("{wall:?} {what}"))
        .collect()
}

/// Whether a line of code is documentation that depends on what is before it.
fn leans_on_another(line: &str) -> bool {
    let comment = line.trim_start();
    ["/// The same", "//! The same"]
        .iter()
        .any(|start| comment.starts_with(start))
}

/// Documentation is read alone, under the name that was looked up.
#[test]
fn every_doc_comment_can_stand_alone() {
    let mut open = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src")];
    let mut found = Vec::new();
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = std::fs::read_to_string(&path).unwrap();
                let lines = text.lines().filter(|line| leans_on_another(line));
                found.extend(lines.map(|line| format!("{}: {}", path.display(), line.trim())));
            }
        }
    }
    assert!(leans_on_another("    /// The same with no assist."));
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn an_upward_import_is_seen_however_it_is_written() {
    let face = (
        "faces.rs",
        "pub struct View;\npub mod deep { pub struct Far; }",
    );
    for text in [
        "use crate::faces::View;",
        "use crate::{faces::{self, View as Seen}};",
        "use super::faces as shown;",
        "use crate::*;\nfn f(_: faces::View) {}",
        "fn f() { let _ = crate::faces::View; }",
        "fn f() { use crate::faces::View; let _ = View; }",
        "fn f() { format!(\"{}\", vec![crate::faces::View].len()); }",
        "use crate as root;\nfn f(_: root::faces::deep::Far) {}",
        "pub use crate::faces::View;\nfn f(_: View) {}",
        "impl From<super::faces::View> for u8 { }",
        "#[cfg(test)]\nmod tests { use crate::faces::View; }",
    ] {
        assert_eq!(
            breaches_of(&[("model.rs", text), face]),
            ["Stair model.rs imports faces.rs"],
            "{text}"
        );
    }
    let down = "use crate::model::System;\nfn f(_: System) {}";
    let none: [&str; 0] = [];
    assert_eq!(
        breaches_of(&[("model.rs", "pub struct System;"), ("faces.rs", down)]),
        none
    );
    // Words in comments and strings import nothing.
    let told = "/// [`crate::faces::View`]\npub const WORDS: &str = \"crate::faces::View\";";
    assert_eq!(breaches_of(&[("model.rs", told), face]), none);
}

#[test]
fn a_circle_is_seen_through_names_that_are_passed_on() {
    let facade = "mod a;\nmod b;\nmod c;\npub use a::A;\npub use b::B;\npub use c::*;";
    let a = "use super::B;\npub struct A(B);";
    let c = "pub struct C;";
    let through = |b: &str| {
        breaches_of(&[
            ("model/mod.rs", facade),
            ("model/a.rs", a),
            ("model/b/mod.rs", "mod inner;\npub use inner::B;"),
            ("model/b/inner.rs", b),
            ("model/c.rs", c),
        ])
    };
    let none: [&str; 0] = [];
    assert_eq!(through("pub struct B;"), none);
    assert_eq!(through("pub struct B(crate::model::C);"), none);
    assert_eq!(
        through("pub struct B(Box<crate::model::A>);"),
        ["Circle model: a, b"]
    );
    assert_eq!(
        through("pub struct B;\n#[cfg(test)]\nmod tests { use crate::model::A; }"),
        none
    );
}

#[test]
fn each_of_the_other_rules_finds_a_violation() {
    for (file, text, breach) in [
        ("model.rs", "use std::fs;", "Core model.rs uses std::fs"),
        (
            "model.rs",
            "use std::{collections, io::Write};",
            "Core model.rs uses std::io::Write",
        ),
        (
            "model.rs",
            "use std as s;\nfn f() { s::process::exit(1) }",
            "Core model.rs uses std::process::exit",
        ),
        (
            "model.rs",
            "pub use tower_lsp::lsp_types;",
            "Core model.rs uses tower_lsp::lsp_types",
        ),
        (
            "model.rs",
            "fn f() { eprintln!() }",
            "Core model.rs uses eprintln!",
        ),
        (
            "model.rs",
            "fn f() { None::<u8>.unwrap(); }",
            "Panic model.rs has .unwrap",
        ),
        (
            "model.rs",
            "fn f() { format!(\"{}\", None::<u8>.expect(\"one\")); }",
            "Panic model.rs has .expect",
        ),
        (
            "model.rs",
            "fn f() { match 1 { 1 => {} _ => unreachable!() } }",
            "Panic model.rs has unreachable!",
        ),
    ] {
        assert_eq!(breaches_of(&[(file, text)]), [breach], "{text}");
    }
    let outcome = ("mechanics.rs", "pub struct Outcome;");
    assert_eq!(
        breaches_of(&[outcome, ("faces.rs", "use crate::mechanics::Outcome;")]),
        ["Apart faces.rs imports mechanics"]
    );
    let passes_on = ("solve.rs", "pub use crate::mechanics::Outcome;");
    for (text, breaches) in [
        ("use crate::solve::Outcome;", &[][..]),
        (
            "mod sheet { use super::super::mechanics as m; fn f(_: m::Outcome) {} }",
            &["Apart faces.rs imports mechanics"],
        ),
    ] {
        assert_eq!(
            breaches_of(&[outcome, passes_on, ("faces.rs", text)]),
            breaches
        );
    }
    let model = ("model.rs", "pub struct System;");
    assert_eq!(
        breaches_of(&[model, ("mechanics.rs", "use crate::model::System;")]),
        ["Apart mechanics.rs imports model"]
    );
    let long = "// a line\n".repeat(MOST_LINES + 1);
    assert_eq!(breaches_of(&[("model.rs", &long)]), ["Length model.rs"]);
    let harmless = "use std::collections::BTreeMap;\nfn f() -> u8 { None.unwrap_or(1) }\n\
                    const _: () = assert!(1 < 2);\n\
                    #[cfg(test)]\nmod tests { fn f() { println!(\"{}\", None::<u8>.unwrap()) } }";
    let none: [&str; 0] = [];
    assert_eq!(breaches_of(&[("model.rs", harmless)]), none);
    assert_eq!(
        breaches_of(&[("faces.rs", "fn f() { std::fs::read(\"x\").unwrap(); }")]),
        none
    );
}
