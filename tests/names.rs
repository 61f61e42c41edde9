//! Every name means one thing: hovers, look-ups and renaming agree with what the system is built from.

use bitepoint::analysis::{Entity, Report, Scope, analyse, definition, entity_at, hover};
use bitepoint::finding::{FileName, Place};
use bitepoint::model::{Bundle, Files, Source, What, build, spots};
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;

/// Files by name. Later files use none of those before them.
#[derive(Clone)]
struct World(BTreeMap<String, String>);

impl Files for World {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let text = self.0.get(&**name).ok_or("does not exist")?;
        Ok(Arc::new(Source::new(name.clone(), text.clone())))
    }
}

impl World {
    fn source(&self, name: &str) -> Arc<Source> {
        self.read(&name.into()).expect("one of the files")
    }

    fn report(&self, name: &str) -> Report {
        analyse(self.source(name), self)
    }

    fn shown(&self) -> String {
        let files = self.0.iter();
        files
            .map(|(name, text)| format!("--- {name}\n{text}\n"))
            .collect()
    }
}

/// Few names, so that they meet; some are also words of the language.
const NAMES: &[&str] = &["a", "b", "c", "pi", "dot4", "outboard", "bore"];
const LENGTHS: &[(&str, &str)] = &[
    ("slave", "bore"),
    ("slave", "stroke"),
    ("slave", "rest_extension"),
    ("master", "bore"),
    ("master", "stroke"),
    ("pedal", "pad_arm"),
    ("pedal", "travel"),
    ("fork", "slave_arm"),
];
const CHOICES: &[(&str, &str)] = &[("fork", "pivot"), ("fluid", "grade")];

struct Writer(StdRng);

impl Writer {
    fn pick<'t>(&mut self, from: &[&'t str]) -> &'t str {
        from.choose(&mut self.0).expect("something to pick")
    }

    fn odds(&mut self, percent: u32) -> bool {
        self.0.random_range(0..100) < percent
    }

    fn value(&mut self) -> String {
        match self.0.random_range(0..8) {
            0..2 => format!("{} mm", self.0.random_range(5..40)),
            2..6 => self.pick(NAMES).to_owned(),
            6 => format!("{} + {} mm", self.pick(NAMES), self.0.random_range(1..9)),
            _ => {
                let (block, field) = LENGTHS.choose(&mut self.0).expect("a field");
                format!("2 * {block}.{field}")
            }
        }
    }

    fn lets(&mut self, odds: u32) -> String {
        let mut lets = String::new();
        for name in NAMES {
            if self.odds(odds) {
                let _ = writeln!(lets, "let {name} = {}", self.value());
            }
        }
        lets
    }

    fn fields(&mut self, block: &str) -> String {
        let mut fields = String::new();
        for (of, field) in LENGTHS.iter().filter(|(of, _)| *of == block) {
            let _ = (
                of,
                self.odds(50)
                    .then(|| write!(fields, " {field} = {} ", self.value())),
            );
        }
        for (_, field) in CHOICES.iter().filter(|(of, _)| *of == block) {
            let _ = write!(fields, " {field} = {} ", self.pick(NAMES));
        }
        fields
    }

    /// A file with systems of two names, each of which may start from one of several others.
    fn file(&mut self, uses: &[&str], systems: [&str; 2], bases: &[&str]) -> String {
        let mut text: String = uses
            .iter()
            .map(|name| format!("use \"{name}\"\n"))
            .collect();
        text += &self.lets(40);
        for block in ["slave", "master"] {
            for name in ["p", "q"] {
                if self.odds(50) {
                    let _ = writeln!(text, "part {block} {name} {{{}}}", self.fields(block));
                }
            }
        }
        let mut bases = bases.to_vec();
        for name in systems {
            if self.odds(70) {
                let base = match self.odds(60) && !bases.is_empty() {
                    true => format!(" from {}", self.pick(&bases)),
                    false => String::new(),
                };
                bases.push(name);
                let _ = writeln!(text, "system {name}{base} {{\n{}", self.lets(25));
                for block in ["slave", "master", "pedal", "fork", "fluid"] {
                    let is_part = matches!(block, "slave" | "master");
                    let part = match (is_part, self.0.random_range(0..5)) {
                        (true, 0..3) => format!(" {}", self.pick(&["p", "q"])),
                        (true, 3) => {
                            let _ = writeln!(text, "choose {block} p, q");
                            continue;
                        }
                        _ => String::new(),
                    };
                    let _ = writeln!(text, "{block}{part} {{{}}}", self.fields(block));
                }
                let line = format!("line h {{ length = {} }}", self.value());
                let _ = writeln!(
                    text,
                    "{line}\nrequire release_margin >= {}\n}}",
                    self.pick(NAMES)
                );
            }
        }
        text
    }

    fn world(&mut self) -> World {
        let mut uses = vec!["one.clutch", "two.clutch"];
        if self.odds(50) {
            uses.reverse();
        }
        let mut files = BTreeMap::new();
        let inner = ["u", "v", "w", "x"];
        let mut add = |name: &str, text: String| files.insert(name.to_owned(), text);
        add("car.clutch", self.file(&uses, ["s", "t"], &inner));
        add(
            "one.clutch",
            self.file(&["three.clutch"], ["u", "v"], &["w"]),
        );
        // Names that another file defines as well.
        add("two.clutch", self.file(&[], ["x", "v"], &[]));
        add("three.clutch", self.file(&[], ["w", "y"], &[]));
        World(files)
    }

    /// A text with something missing or misplaced.
    fn damage(&mut self, text: &mut String) {
        for _ in 0..self.0.random_range(1..4) {
            let at = self.0.random_range(0..=text.len());
            if !text.is_char_boundary(at) {
                continue;
            }
            match self.odds(50) {
                true => text.insert_str(at, self.pick(&["{", "}", "=", "a", "\"", " let a = "])),
                false => text.truncate(text.len().min(at.max(text.len() / 2))),
            }
        }
    }
}

/// What all systems of a file are built from, without the places.
fn values(report: &Report) -> Vec<String> {
    let systems = report.worked_systems().map(|worked| &worked.system);
    systems
        .map(|system| {
            let components = system.components().map(|component| {
                let given = component
                    .fields
                    .iter()
                    .map(|given| given.as_ref().map(|g| &g.value));
                format!("{} {:?}\n", component.block, given.collect::<Vec<_>>())
            });
            let limits = system
                .requires
                .iter()
                .map(|require| format!("{:?}\n", require.limit));
            components.chain(limits).collect()
        })
        .collect()
}

fn differences(new: &[String], old: &[String]) -> String {
    let lines = |all: &[String]| all.join("").lines().map(str::to_owned).collect::<Vec<_>>();
    let (new, old) = (lines(new), lines(old));
    let pairs = new.iter().zip(&old).filter(|(new, old)| new != old);
    pairs
        .map(|(new, old)| format!("{old}\nis now\n{new}\n"))
        .collect()
}

/// Everything known about the names of a file agrees.
fn agrees(world: &World, file: &str) {
    let report = world.report(file);
    let scope = Scope::load(world.source(file), world);
    let mut found = Vec::new();
    spots(&report.source.tree, &mut |spot| {
        found.push((spot.span, spot.what))
    });
    let is_name = |what: &What<'_>| !matches!(what, What::LetValue(_) | What::FieldValue(_));
    for (span, what) in found.into_iter().filter(|(_, what)| is_name(what)) {
        let here = || format!("{what:?} at {span:?} of {file} in\n{}", world.shown());
        let target = definition(&report, span.start).filter(|found| found.span == span);
        let named = entity_at(&report, span.start).filter(|found| found.0 == span);
        let named = named.map(|(_, entity)| entity);
        if let Some(entity) = &named {
            let mentions = scope.mentions(entity);
            let is_here = mentions.iter().any(|mention| mention.span == span);
            assert!(is_here, "{entity:?} is not renamed with {}", here());
        }
        let is_name = matches!(
            what,
            What::Word { .. } | What::PartMention { .. } | What::Base(_) | What::LetName(_)
        );
        if is_name {
            assert_eq!(target.is_some(), named.is_some(), "{}", here());
        }
        if let (Some(target), Some(entity)) = (&target, &named)
            && *target.target.file == *file
        {
            let there =
                entity_at(&report, report.range(&target.target).start).map(|(_, entity)| entity);
            assert_eq!(there.as_ref(), Some(entity), "{}", here());
        }
        if let (What::Word { word, .. }, Some(_)) = (what, &target) {
            let hover = hover(&report, span.start).unwrap_or_else(|| panic!("{}", here()));
            assert!(
                hover.markdown.starts_with(&format!("**`let {word}`**")),
                "{}",
                here()
            );
        }
    }
}

#[test]
fn a_name_is_shown_found_and_renamed_as_one_thing_also_in_damaged_text() {
    for seed in 0..100 {
        let mut writer = Writer(StdRng::seed_from_u64(seed));
        let mut world = writer.world();
        for file in ["car.clutch", "one.clutch"] {
            agrees(&world, file);
            let text = world.0.get_mut(file).expect("the file");
            writer.damage(text);
            agrees(&world, file);
        }
    }
}

#[test]
fn a_plain_name_leads_to_the_let_that_its_system_is_built_with() {
    let mut asked = 0;
    for seed in 0..100 {
        let world = Writer(StdRng::seed_from_u64(seed)).world();
        let report = world.report("car.clutch");
        let bundle = Bundle::load(report.source.clone(), &world);
        let built = build(&bundle).systems;
        spots(&report.source.tree, &mut |spot| {
            let (What::Word { .. }, Some(system), Some(_)) = (spot.what, spot.system, spot.block)
            else {
                return;
            };
            let Some(found) = definition(&report, spot.span.start) else {
                return;
            };
            let is_its =
                |built: &&bitepoint::model::Built| built.system.place.span == system.name.span;
            let built = built.iter().find(is_its).expect("the system");
            let here = || format!("{:?} in\n{}", spot.what, world.shown());
            assert!(built.uses.contains(&found.target), "{}", here());
            asked += 1;
        });
    }
    assert!(asked > 200, "{asked}");
}

#[test]
fn a_renaming_changes_nothing_that_is_built() {
    const FILES: [&str; 4] = ["car.clutch", "one.clutch", "two.clutch", "three.clutch"];
    let mut renamed = 0;
    for seed in 0..40 {
        let world = Writer(StdRng::seed_from_u64(seed)).world();
        let before = FILES.map(|file| values(&world.report(file)));
        let scopes = FILES.map(|file| Scope::load(world.source(file), &world));
        let report = world.report("car.clutch");
        let mut entities: Vec<Entity> = Vec::new();
        spots(&report.source.tree, &mut |spot| {
            let named = entity_at(&report, spot.span.start).map(|(_, entity)| entity);
            entities.extend(named.filter(Entity::can_be_renamed));
        });
        entities.sort_by_key(|entity| {
            let Place { file, span } = entity.place();
            (file.clone(), span.statement, span.start)
        });
        entities.dedup();
        for entity in entities {
            let mut after = world.clone();
            let mut objections = Vec::new();
            for (file, scope) in FILES.iter().zip(&scopes) {
                objections.extend(scope.binding_objection(&entity));
                let mentions = scope.mentions(&entity);
                if !mentions.is_empty() {
                    objections.extend(scope.objection(&entity, "other"));
                }
                let text = after.0.get_mut(*file).expect("the file");
                for mention in mentions.iter().rev() {
                    text.replace_range(mention.span.range(), "other");
                }
            }
            if !objections.is_empty() {
                continue;
            }
            for (file, before) in FILES.iter().zip(&before) {
                let values = values(&after.report(file));
                let here = || format!("{entity:?}:\n{}became\n{}", world.shown(), after.shown());
                assert!(
                    values == *before,
                    "{file} after renaming {}\n{}",
                    here(),
                    differences(&values, before)
                );
            }
            renamed += 1;
        }
    }
    assert!(renamed > 200, "{renamed}");
}

/// The line of the definition, with its file, of the name at a `|` in `car.clutch`.
fn leads_to(car: &str, others: &[(&str, &str)]) -> Option<String> {
    let at = car.find('|').expect("a cursor") as u32;
    let mut files: BTreeMap<String, String> = BTreeMap::new();
    files.insert("car.clutch".to_owned(), car.replacen('|', "", 1));
    let others = others.iter();
    files.extend(others.map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
    let world = World(files);
    agrees(&world, "car.clutch");
    let found = definition(&world.report("car.clutch"), at)?.target;
    let source = world.source(&found.file);
    let line = source
        .lines
        .line(source.lines.line_of(source.range(found.span).start))?;
    Some(format!("{}: {}", found.file, source.text.get(line)?.trim()))
}

#[test]
fn a_word_of_the_language_is_no_let_of_that_name() {
    let text = "let dot4 = 3 mm\nsystem s { fluid { grade = do|t4 } }\n";
    assert_eq!(leads_to(text, &[]), None);
    let text = "let pi = 3\nsystem s { pedal { ratio = p|i } }\n";
    assert_eq!(leads_to(text, &[]), None);
}

#[test]
fn a_part_is_read_with_the_lets_of_the_system_that_takes_it() {
    let text = "let rest = 6 mm\npart slave p { rest_extension = re|st }\n";
    let file = leads_to(text, &[]).expect("the file's");
    assert_eq!(file, "car.clutch: let rest = 6 mm");
    let system = format!("{text}system s {{\n let rest = 7 mm\n slave p\n}}\n");
    let own = leads_to(&system, &[]).expect("the system's");
    assert_eq!(own, "car.clutch: let rest = 7 mm");
    let base =
        "system b { slave { rest_extension = re|st } }\nsystem s from b { let rest = 7 mm }\n";
    let own = leads_to(base, &[]).expect("the derived system's");
    assert_eq!(own, "car.clutch: system s from b { let rest = 7 mm }");
}

#[test]
fn of_two_files_with_a_name_the_nearer_one_is_meant() {
    let car = "use \"one.clutch\"\nuse \"two.clutch\"\nsystem s { slave { bore = re|st } }\n";
    let one = ("one.clutch", "use \"three.clutch\"\n");
    let two = ("two.clutch", "let rest = 2 mm\n");
    let three = ("three.clutch", "let rest = 3 mm\n");
    let found = leads_to(car, &[one, two, three]).expect("a let");
    assert_eq!(found, "two.clutch: let rest = 2 mm");
}

#[test]
fn a_base_is_looked_up_where_its_own_file_looks() {
    let car = "use \"one.clutch\"\nsystem b { let rest = 1 mm }\nsystem s from a { slave { bore = re|st } }\n";
    let one = ("one.clutch", "use \"two.clutch\"\nsystem a from b {}\n");
    let two = ("two.clutch", "system b { let rest = 2 mm }\n");
    let found = leads_to(car, &[one, two]).expect("a let");
    assert_eq!(found, "two.clutch: system b { let rest = 2 mm }");
}
