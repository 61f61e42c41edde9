//! Typed systems out of a bundle of files.

use super::evaluate::{self, Evaluated, LetValue, Names};
use super::merge::merge;
use super::merge::{Changes, MOST_LISTED, Merged, MergedAllow, MergedBlock, is_bad};
use super::source::known_block;
use super::taken::taken_names;
use super::{
    Allow, Bundle, Choose, Component, Given, PartName, Require, Source, Space, System, Value,
};
use crate::finding::{FileName, Place, Problem};
use crate::quantity::{Dimension, Display, UNITS, nearest};
use crate::schema::{BLOCKS, Block, BlockId, FieldId, Kind, Presence, RESULTS, ResultId};
use crate::syntax::{self, Expr, StatementKind};
use rustc_hash::{FxHashMap, FxHashSet};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

/// Everything a file says, resolved.
#[derive(Debug)]
pub struct Model {
    /// The file's systems, in its order.
    pub systems: Vec<Built>,
    pub problems: Vec<Problem>,
}

/// A system, and what it stands for if it leaves something to choose.
#[derive(Debug)]
pub struct Built {
    /// With the first part of each choice, where it has any.
    pub system: System,
    /// Every combination of its choices.
    pub space: Option<Space>,
    /// The names of the lets that it reads and of the parts that it takes, where they are
    /// defined.
    pub uses: Vec<Place>,
    /// Whether nothing was wrong with it.
    pub is_clean: bool,
}

/// Builds the systems of a bundle's first file, and checks its parts and lets on their own.
pub fn build(bundle: &Bundle) -> Model {
    let mut problems = Vec::new();
    let systems = build_after(bundle, |_| None, &mut |problem| problems.push(problem));
    Model {
        systems: systems.into_iter().flatten().collect(),
        problems,
    }
}

/// The same, but for systems that the caller knows already: of those it says which lets and
/// parts they use, and they are `None` in what is returned. Each problem of the others is told as
/// soon as it is known: there may be more of them than anybody wants to keep.
pub fn build_after<'k>(
    bundle: &Bundle,
    mut known: impl FnMut(&syntax::System) -> Option<Cow<'k, [Place]>>,
    tell: &mut dyn FnMut(Problem),
) -> Vec<Option<Built>> {
    let root = &bundle.sources[0];
    let mut told = Once {
        bundle,
        known: HashSet::new(),
        elsewhere: HashMap::new(),
        tell,
    };
    let flaws = root.tree.flaws.iter();
    told.tell(flaws.map(|flaw| Problem::from_flaw(flaw, &root.name)));
    told.tell(bundle.problems.iter().cloned());
    told.tell(bundle.repeated_names());
    told.tell(taken_names(root));
    for source in &bundle.sources[1..] {
        let flaws = source.tree.flaws.iter();
        told.tell(flaws.map(|flaw| Problem::from_flaw(flaw, &source.name)));
    }
    let mut used = HashSet::new();
    let systems: Vec<Option<Built>> = root
        .systems()
        .map(|tree| {
            if let Some(uses) = known(tree) {
                used.extend(uses.into_owned());
                return None;
            }
            let built = build_system(Rebuild { bundle, tree }, &mut told);
            used.extend(built.uses.iter().cloned());
            Some(built)
        })
        .collect();
    check_unused(bundle, root, &mut used, &mut told);
    let built = systems.iter().flatten();
    let mistakes = built.filter_map(|built| Some(&built.system.mistake.as_ref()?.file));
    let broken = told.broken_uses(&mistakes.collect());
    told.tell(broken);
    systems
}

/// Bases and parts are evaluated for every system that takes from them; what is wrong with them
/// is told once. What is wrong in a file that is used is told in full where that file is checked
/// itself; here, once for each `use` that leads to it.
struct Once<'t> {
    bundle: &'t Bundle,
    known: HashSet<u128>,
    elsewhere: HashMap<FileName, Mistakes>,
    tell: &'t mut dyn FnMut(Problem),
}

/// What is wrong in one of the files that are used.
struct Mistakes {
    /// The first in the order of its text.
    first: Problem,
    /// The lines with mistakes, from 0.
    lines: BTreeSet<u32>,
}

impl Mistakes {
    fn words(&self) -> String {
        let mut lines = self.lines.iter().map(|line| line + 1);
        match (lines.next(), lines.next(), lines.len()) {
            (Some(line), Some(other), 0) => format!("mistakes on lines {line} and {other}"),
            (Some(line), Some(_), more) => {
                format!("mistakes on {} lines, the first on line {line}", more + 2)
            }
            (line, ..) => format!("a mistake on line {}", line.unwrap_or(1)),
        }
    }
}

impl Once<'_> {
    fn tell(&mut self, problems: impl IntoIterator<Item = Problem>) {
        for mut problem in problems {
            let file = &problem.place.file;
            if *file != self.bundle.sources[0].name
                && let Some(source) = self.bundle.sources.iter().find(|s| s.name == *file)
            {
                let line = source.lines.line_of(problem.place.span.start);
                match self.elsewhere.get_mut(file) {
                    Some(known) => {
                        known.lines.insert(line);
                        if problem.place.span < known.first.place.span {
                            known.first = problem;
                        }
                    }
                    None => {
                        let mistakes = Mistakes {
                            lines: BTreeSet::from([line]),
                            first: problem,
                        };
                        self.elsewhere
                            .insert(mistakes.first.place.file.clone(), mistakes);
                    }
                }
                continue;
            }
            for (place, text) in problem.fixes.iter_mut().flat_map(|fix| &mut fix.edits) {
                keep_apart(self.bundle, place, text);
            }
            if self.known.insert(mark(&problem)) {
                (self.tell)(problem);
            }
        }
    }

    /// One problem for each `use` that leads to mistakes. `lost` are the files whose mistakes keep
    /// systems from being worked out.
    fn broken_uses(&self, lost: &HashSet<&FileName>) -> Vec<Problem> {
        let mut by_use: BTreeMap<Place, Vec<&Mistakes>> = BTreeMap::new();
        for (source, place) in self.bundle.ways_in() {
            let mistakes = self.elsewhere.get(&self.bundle.sources[source].name);
            if let Some(mistakes) = mistakes {
                by_use.entry(place).or_default().push(mistakes);
            }
        }
        let problem = |(place, broken): (Place, Vec<&Mistakes>)| {
            let loses = |mistakes: &&&Mistakes| lost.contains(&mistakes.first.place.file);
            // The one that matters most is named.
            let worst = broken.iter().find(loses).or(broken.first())?;
            let first = &worst.first;
            let more = match broken.len() - 1 {
                0 => String::new(),
                1 => ", and another file that it uses has mistakes too".to_owned(),
                n => format!(", and {n} other files that it uses have mistakes too"),
            };
            let effect = match broken.iter().any(|mistakes| loses(&mistakes)) {
                true => "; what depends on it is not worked out",
                false => "",
            };
            let file = self.bundle.shown(&first.place.file);
            let message = format!("`{file}` has {}{more}{effect}", worst.words());
            let line = worst.lines.first().map_or(1, |line| line + 1);
            let problem = Problem::new("use-missing", place, message)
                .help(format!("line {line}: {}", first.message))
                .related(first.place.clone(), "the mistake");
            Some(problem)
        };
        by_use.into_iter().filter_map(problem).collect()
    }
}

/// Puts a blank behind what is to stand right before a word: in `12travel = 150 mm` the field begins
/// without one.
fn keep_apart(bundle: &Bundle, place: &Place, text: &mut String) {
    let is_of_word = |c: char| c.is_alphanumeric() || c == '_';
    let source = bundle.sources.iter().find(|s| s.name == place.file);
    let behind = source.and_then(|s| s.text.get(place.span.end as usize..));
    if text.ends_with(is_of_word) && behind.is_some_and(|behind| behind.starts_with(is_of_word)) {
        text.push(' ');
    }
}

/// A number that no other problem has; of 128 bits, no two meet by chance.
fn mark(problem: &Problem) -> u128 {
    let mut hasher = DefaultHasher::new();
    problem.hash(&mut hasher);
    let first = hasher.finish();
    hasher.write_u8(0);
    (u128::from(first) << 64) | u128::from(hasher.finish())
}

fn build_system(rebuild: Rebuild<'_>, told: &mut Once<'_>) -> Built {
    let mut ground = rebuild.with(Changes::default());
    let mut is_clean = ground.problems.is_empty();
    told.tell(std::mem::take(&mut ground.problems));
    let system = ground.system.clone();
    let mut uses: Vec<Place> = ground.used_lets.iter().cloned().collect();
    let own = system.components().filter_map(|c| c.part.as_ref());
    let chosen = system.chooses.iter().flat_map(|choose| &choose.parts);
    uses.extend(own.chain(chosen).map(|part| part.definition.clone()));
    let made = match system.chooses.is_empty() {
        true => None,
        false => Space::of_choices(rebuild, ground),
    };
    let space = made.map(|made| {
        is_clean &= made.problems.is_empty();
        told.tell(made.problems);
        uses.extend(made.used_lets);
        made.space
    });
    Built {
        system,
        space,
        uses,
        is_clean,
    }
}

/// A system of a bundle's first file, to be built again with something else in it.
#[derive(Clone, Copy)]
pub struct Rebuild<'a> {
    pub(super) bundle: &'a Bundle,
    pub(super) tree: &'a syntax::System,
}

impl<'a> Rebuild<'a> {
    /// A system that was built from a bundle's first file.
    pub fn of(bundle: &'a Bundle, system: &System) -> Option<Self> {
        let root = &bundle.sources[0];
        let is_meant = |tree: &&syntax::System| tree.name.span == system.place.span;
        let tree = root
            .system(&system.name)
            .filter(is_meant)
            .or_else(|| root.systems().find(is_meant))?;
        Some(Self { bundle, tree })
    }

    pub(super) fn with(self, changes: Changes) -> One {
        build_one(self.bundle, self.tree, changes)
    }
}

/// One system, and what came up while it was built.
pub(super) struct One {
    pub system: System,
    pub problems: Vec<Problem>,
    pub used_lets: HashSet<Place>,
    /// The fields that expressions ask for, each with the block that it is asked for in; `None`
    /// in what belongs to no block.
    pub reads: FxHashSet<(Option<BlockId>, FieldId)>,
    /// Allows that come with the parts that are chosen.
    pub taken_allows: Vec<Allow>,
}

fn build_one(bundle: &Bundle, tree: &syntax::System, changes: Changes) -> One {
    let mut problems = Vec::new();
    let merged = merge(bundle, tree, &changes, &mut problems);
    let mut builder = Builder::new(bundle, merged);
    builder.is_ground = changes.parts.is_empty() && changes.values.is_empty();
    builder.values = changes.values;
    let system = builder.system(tree);
    problems.append(&mut builder.problems);
    let taken_allows = builder.allows(true);
    One {
        system,
        problems,
        used_lets: builder.used_lets,
        reads: builder.reads,
        taken_allows,
    }
}

/// Looks at the parts and lets that no system brought up: for mistakes in them, and, in a file
/// that has systems, for being of no use. A file of parts alone is a library for others.
fn check_unused(bundle: &Bundle, root: &Source, used: &mut HashSet<Place>, told: &mut Once<'_>) {
    // What is of use may be so in what a mistake hides.
    let is_library = root.systems().next().is_none() || !told.elsewhere.is_empty();
    for statement in &root.tree.statements {
        let StatementKind::Part(part) = &statement.kind else {
            continue;
        };
        let place = root.place(part.name.span);
        if used.contains(&place) {
            continue;
        }
        let is_repeated =
            Block::named(&part.block.text).is_some_and(|block| BLOCKS[block as usize].repeated);
        if is_repeated {
            told.tell([no_use_as_part(root, part)]);
        }
        let mut problems = Vec::new();
        if let Some(block) = MergedBlock::of_part(bundle, part, &mut problems) {
            let mut builder = Builder::new(bundle, Merged::alone(block));
            builder.alone = true;
            builder.evaluate_all();
            problems.append(&mut builder.problems);
            used.extend(builder.used_lets);
        }
        told.tell(problems);
        if !is_library && !is_repeated {
            told.tell([Problem::new(
                "unused-part",
                place,
                format!("no system here uses the part `{}`", part.name.text),
            )
            .fix("remove it", root.place(statement.span), "")]);
        }
    }
    for item in root.lets() {
        let place = root.place(item.name.span);
        if used.contains(&place) {
            continue;
        }
        let mut builder = Builder::new(bundle, Merged::empty());
        builder.alone = true;
        let mut names = builder.names(0);
        let result = evaluate::let_value(&item.value, &mut names);
        if let Err(problem) = result {
            builder.problem(problem);
        }
        told.tell(builder.problems);
        used.extend(builder.used_lets);
    }
    if is_library {
        return;
    }
    let of_systems = root.systems().flat_map(|system| &system.body.statements);
    for statement in root.tree.statements.iter().chain(of_systems) {
        let StatementKind::Let(item) = &statement.kind else {
            continue;
        };
        let place = root.place(item.name.span);
        // Of a name that is given twice it is not known which was meant.
        let repeated = root
            .let_named(&item.name.text)
            .is_some_and(|first| first.name.span < item.name.span);
        if !used.contains(&place) && !repeated {
            told.tell([Problem::new(
                "unused-let",
                place,
                format!("nothing here uses `{}`", item.name.text),
            )
            .fix("remove it", root.place(statement.span), "")]);
        }
    }
}

/// A part of a block whose name in a system is a label, such as a `line`.
fn no_use_as_part(root: &Source, part: &syntax::Part) -> Problem {
    let (block, name) = (&part.block.text, &part.name.text);
    Problem::new(
        "not-used",
        root.place(part.name.span),
        format!(
            "no system can use the part `{name}`: the name behind `{block}` is a label, not a part"
        ),
    )
    .help(format!(
        "write its fields into each system, as `{block} {name} {{ … }}`; values that many systems \
         share can stand in a `let`"
    ))
}

/// How far the evaluation of one value has come.
enum State<T> {
    /// Being evaluated: whoever asks for it now goes round in a circle.
    Running,
    /// `None`: something is wrong with it that is reported where it stands.
    Done(Option<T>),
}

struct Builder<'a> {
    bundle: &'a Bundle,
    merged: Merged<'a>,
    fields: FxHashMap<FieldId, State<Given>>,
    lets: HashMap<Place, State<LetValue>>,
    used_lets: HashSet<Place>,
    /// Values that are taken instead of those in the text, in internal units.
    values: Vec<(FieldId, f64)>,
    reads: FxHashSet<(Option<BlockId>, FieldId)>,
    /// Whether nothing is taken instead of what the text says.
    is_ground: bool,
    /// The block whose field is being evaluated.
    inside: Option<BlockId>,
    problems: Vec<Problem>,
    /// Where the mistake stands because of which a let that was asked for has no value.
    unknown: Option<Place>,
    /// Whether there is only one part and no system around it, so that other blocks are unknown
    /// rather than missing.
    alone: bool,
    /// How deep lets and fields lead to one another here.
    depth: usize,
}

/// Lets and fields that lead to one another in a longer row than this are refused.
const MAX_REFERENCE_DEPTH: usize = 64;

impl<'a> Merged<'a> {
    fn alone(block: MergedBlock<'a>) -> Self {
        let mut merged = Self::empty();
        if BLOCKS[block.block as usize].repeated {
            merged.lines.push(block);
        } else {
            let index = block.block as usize;
            merged.blocks[index] = Some(block);
        }
        merged
    }
}

impl<'a> Builder<'a> {
    fn new(bundle: &'a Bundle, merged: Merged<'a>) -> Self {
        Self {
            bundle,
            merged,
            fields: FxHashMap::default(),
            lets: HashMap::new(),
            used_lets: HashSet::new(),
            values: Vec::new(),
            reads: FxHashSet::default(),
            is_ground: false,
            inside: None,
            problems: Vec::new(),
            unknown: None,
            alone: false,
            depth: 0,
        }
    }

    fn problem(&mut self, problem: Problem) {
        self.merged.lose(&problem.place);
        self.problems.push(problem);
    }

    /// A problem of what no number hangs on.
    fn problem_aside(&mut self, problem: Problem) {
        self.problems.push(problem);
        self.merged.sound = false;
    }

    fn names(&mut self, source: usize) -> Scope<'a, '_> {
        Scope {
            builder: self,
            source,
        }
    }

    fn system(&mut self, tree: &'a syntax::System) -> System {
        let (blocks, lines) = self.evaluate_all();
        self.check_own_lets(tree);
        let requires = self.requires();
        let chooses = match self.is_ground {
            true => self.chooses(),
            false => Vec::new(),
        };
        let allows = self.allows(false);
        let mut system = System {
            name: tree.name.text.clone(),
            title: tree.title.as_ref().map(|title| title.text.clone()),
            place: self.bundle.place(0, tree.name.span),
            body: self.bundle.place(0, tree.body.span),
            blocks,
            lines,
            requires,
            allows,
            chooses,
            display: self.display(),
            read_by_expressions: self.read_by_expressions(),
            sound: false,
            workable: false,
            mistake: None,
        };
        self.check_complete(&system);
        system.sound = self.merged.sound;
        system.workable = self.merged.workable;
        system.mistake.clone_from(&self.merged.mistake);
        system
    }

    /// The fields that expressions asked for so far, each once, in the schema's order.
    fn read_by_expressions(&self) -> Vec<FieldId> {
        let mut fields: Vec<FieldId> = self.reads.iter().map(|(_, field)| *field).collect();
        fields.sort_unstable();
        fields.dedup();
        fields
    }

    fn allows(&self, taken: bool) -> Vec<Allow> {
        let of_kind = |merged: &&MergedAllow<'_>| merged.taken == taken;
        let typed = |merged: &MergedAllow<'_>| Allow {
            check: merged.allow.check.text.clone(),
            why: merged.allow.why.text.clone(),
            place: self.bundle.place(merged.source, merged.allow.check.span),
            block: merged.block,
            own: merged.own,
        };
        self.merged
            .allows
            .iter()
            .filter(of_kind)
            .map(typed)
            .collect()
    }

    /// The units that the values of this system are written in.
    fn display(&self) -> Display {
        let mut display = Display::default();
        let blocks = self.merged.blocks.iter().flatten();
        let fields = blocks.chain(&self.merged.lines).flat_map(|b| &b.fields);
        for field in fields.flatten() {
            evaluate::learn_units(&field.field.value.kind, &mut display);
        }
        display
    }

    /// Every field of every block.
    fn evaluate_all(&mut self) -> (Vec<Option<Arc<Component>>>, Vec<Component>) {
        let blocks = (0..self.merged.blocks.len())
            .map(|block| {
                let count = self.merged.blocks[block].as_ref()?.fields.len();
                let fields = (0..count)
                    .map(|field| {
                        self.field(FieldId {
                            block: block as BlockId,
                            field: field as u8,
                        })
                    })
                    .collect();
                let merged = self.merged.blocks[block].as_ref()?;
                Some(Arc::new(component(merged, fields)))
            })
            .collect();
        let lines = (0..self.merged.lines.len())
            .map(|line| {
                let count = self.merged.lines[line].fields.len();
                let fields = (0..count)
                    .map(|field| {
                        let merged = self.merged.lines[line].fields[field]?;
                        let id = FieldId {
                            block: self.merged.lines[line].block,
                            field: field as u8,
                        };
                        self.evaluate(id, merged)
                    })
                    .collect();
                component(&self.merged.lines[line], fields)
            })
            .collect();
        (blocks, lines)
    }

    /// The value of a field of a block that stands at most once.
    fn field(&mut self, id: FieldId) -> Option<Given> {
        if let Some(State::Done(given)) = self.fields.get(&id) {
            return given.clone();
        }
        if self.changed(id).is_some() {
            let given = self.changed_value(id);
            self.fields.insert(id, State::Done(given.clone()));
            return given;
        }
        let merged = self.merged.blocks[id.block as usize].as_ref()?.fields[id.field as usize]?;
        self.fields.insert(id, State::Running);
        let given = self.evaluate(id, merged);
        self.fields.insert(id, State::Done(given.clone()));
        given
    }

    /// The number that is taken instead of the value in the text.
    fn changed(&self, id: FieldId) -> Option<f64> {
        let (_, value) = self.values.iter().find(|(field, _)| *field == id)?;
        Some(*value)
    }

    /// A value that is taken instead of the one in the text, with the tolerance of that.
    fn changed_value(&mut self, id: FieldId) -> Option<Given> {
        let value = self.changed(id)?;
        let block = self.merged.blocks[id.block as usize].as_ref()?;
        let Some(merged) = block.fields[id.field as usize] else {
            return Some(Given {
                value: Value::Quantity {
                    band: crate::quantity::Band::exact(value),
                    unit: None,
                },
                name: block.place.clone(),
                place: block.place.clone(),
                origin: super::Origin::Own,
                share: None,
            });
        };
        self.fields.insert(id, State::Running);
        let written = self.evaluate(id, merged)?;
        Some(Given {
            value: Value::Quantity {
                band: written.band_around(value),
                unit: None,
            },
            ..written
        })
    }

    fn evaluate(&mut self, id: FieldId, merged: super::merge::MergedField<'a>) -> Option<Given> {
        let place = self.bundle.place(merged.source, merged.field.value.span);
        if is_bad(&merged.field.value) {
            self.merged.lose(&place);
            return None;
        }
        self.unknown = None;
        let outside = self.inside.replace(id.block);
        let mut names = self.names(merged.source);
        let value = evaluate::field(id.field(), &merged.field.value, place.clone(), &mut names);
        self.inside = outside;
        match value {
            Ok(Some(value)) => Some(Given {
                share: evaluate::share(&merged.field.value, &value),
                value,
                name: self.bundle.place(merged.source, merged.field.name.span),
                place,
                origin: merged.origin,
            }),
            Ok(None) => {
                // What it asks for is not known because of a mistake elsewhere.
                let mistake = self.unknown.take().unwrap_or(place);
                self.merged.lose(&mistake);
                None
            }
            Err(problem) => {
                self.problem(problem.about(id.block));
                None
            }
        }
    }

    /// Evaluates the lets of the system's own body, for the mistakes in those that nothing asks
    /// for. Those of its bases are theirs.
    fn check_own_lets(&mut self, tree: &'a syntax::System) {
        let root: &'a Source = &self.bundle.sources[0];
        for item in root.lets_of(tree) {
            if let Err(problem) = self.let_value(0, item) {
                self.problem_aside(problem);
            }
        }
    }

    fn let_value(
        &mut self,
        source: usize,
        item: &'a syntax::Let,
    ) -> Result<Option<LetValue>, Problem> {
        let place = self.bundle.place(source, item.name.span);
        match self.lets.get(&place) {
            Some(State::Done(value)) => {
                if value.is_none() {
                    self.unknown.get_or_insert(place);
                }
                return Ok(value.clone());
            }
            Some(State::Running) => {
                return Err(Problem::new(
                    "use-cycle",
                    place,
                    format!("`{}` leads back to itself", item.name.text),
                ));
            }
            None => {}
        }
        if self.depth >= MAX_REFERENCE_DEPTH {
            return Err(Problem::new(
                "too-large",
                place,
                format!("values refer to one another more than {MAX_REFERENCE_DEPTH} deep"),
            ));
        }
        self.lets.insert(place.clone(), State::Running);
        self.depth += 1;
        // It is evaluated once, whoever asks for it.
        let inside = self.inside.take();
        let mut names = self.names(source);
        let value = evaluate::let_value(&item.value, &mut names);
        self.inside = inside;
        self.depth -= 1;
        let value = match value {
            Ok(value) => value,
            Err(problem) => {
                self.unknown.get_or_insert_with(|| problem.place.clone());
                self.problem_aside(problem);
                None
            }
        };
        if value.is_none() {
            self.unknown.get_or_insert_with(|| place.clone());
        }
        self.lets.insert(place, State::Done(value.clone()));
        Ok(value)
    }

    fn requires(&mut self) -> Vec<Require> {
        let mut requires = Vec::new();
        for (source, require) in self.merged.requires.clone() {
            let place = self.bundle.place(source, require.result.span);
            let name = &require.result.text;
            let Some(result) = ResultId::named(name) else {
                self.problem_aside(
                    Problem::new(
                        "unknown-result",
                        place,
                        format!("there is no result `{name}`"),
                    )
                    .did_you_mean(nearest(name, RESULTS.iter().map(|result| result.name))),
                );
                continue;
            };
            let mut names = self.names(source);
            let limit = match evaluate::expression(&require.limit, &mut names) {
                Ok(Some(limit)) => limit,
                Ok(None) => {
                    self.merged.sound = false;
                    continue;
                }
                Err(problem) => {
                    self.problem_aside(problem);
                    continue;
                }
            };
            let wanted = result.spec().dimension;
            let written = syntax::ValueKind::Plain(require.limit.clone());
            let limit_place = self.bundle.place(source, require.limit.span);
            if let Err(problem) =
                evaluate::check_dimension(name, wanted, limit.dimension, &written, &limit_place)
            {
                self.problem_aside(problem);
                continue;
            }
            requires.push(Require {
                result,
                comparison: require.comparison,
                limit: limit.band,
                why: require.why.as_ref().map(|why| why.text.clone()),
                place,
            });
        }
        requires
    }

    fn chooses(&mut self) -> Vec<Choose> {
        let mut chooses = Vec::new();
        let mut known: HashSet<(&str, &str)> = HashSet::new();
        for (source, choose) in self.merged.chooses.clone() {
            let place = self.bundle.place(source, choose.block.span);
            let Some(block) = known_block(&choose.block, &place, &mut self.problems) else {
                self.merged.lose(&place);
                continue;
            };
            let mut parts = Vec::new();
            for name in &choose.parts {
                let mention = self.bundle.place(source, name.span);
                match self.bundle.part(source, &choose.block.text, &name.text) {
                    Some(_) if !known.insert((&choose.block.text, &name.text)) => {
                        self.problem(
                            Problem::new(
                                "given-twice",
                                mention,
                                format!("`{}` is among the choices twice", name.text),
                            )
                            .help("remove one of them"),
                        );
                    }
                    Some((defined, part)) => parts.push(PartName {
                        name: name.text.clone(),
                        definition: self.bundle.place(defined, part.name.span),
                        mention,
                    }),
                    None => {
                        let known = self.bundle.known_parts(source, &choose.block.text);
                        let unknown = || {
                            Problem::new(
                                "unknown-name",
                                mention,
                                format!("there is no part `{} {}`", choose.block.text, name.text),
                            )
                            .did_you_mean(self.bundle.suggest(&name.text, known))
                        };
                        let problem = self.bundle.hidden(source).unwrap_or_else(unknown);
                        self.problem(problem);
                    }
                }
            }
            chooses.push(Choose {
                block,
                parts,
                place,
            });
        }
        chooses
    }

    /// Blocks and fields that must be there.
    fn check_complete(&mut self, system: &System) {
        let blocks = system.blocks.iter().zip(&self.merged.blocks);
        let blocks = blocks.filter_map(|(c, m)| Some((&**c.as_ref()?, m.as_ref()?)));
        let with_fields: Vec<(&Component, Option<Vec<bool>>)> = blocks
            .chain(system.lines.iter().zip(&self.merged.lines))
            .map(|(component, merged)| {
                // Written but unreadable is not missing.
                let given = merged.fields.iter().zip(&component.fields);
                let written = given.map(|(m, c)| m.is_some() || c.is_some()).collect();
                (component, (!merged.field_lost).then_some(written))
            })
            .collect();
        for (component, written) in with_fields {
            match written {
                Some(written) => self.check_fields(component, &written),
                None => self.merged.lose(&component.place),
            }
        }
        if self.merged.block_lost {
            self.merged.lose(&system.place);
            return;
        }
        let has = |block: BlockId| {
            system.component(block).is_some()
                || system.chooses.iter().any(|choose| choose.block == block)
        };
        let hydraulic = has(crate::block!(master)) || has(crate::block!(slave));
        let drives = [
            hydraulic,
            has(crate::block!(cable)),
            has(crate::block!(linkage)),
        ];
        // Told once, where all that start from it would have it from.
        let (place, name) = match self.merged.ground() {
            Some((source, ground)) => (
                self.bundle.place(source, ground.name.span),
                ground.name.text.clone(),
            ),
            None => (system.place.clone(), system.name.clone()),
        };
        let mut missing = Vec::new();
        if !has(crate::block!(pedal)) {
            missing.push("pedal");
        }
        match drives.iter().filter(|drive| **drive).count() {
            0 => {
                let problem = Problem::new(
                    "missing-block",
                    place.clone(),
                    format!("nothing works the fork of `{name}`"),
                )
                .help("give a `master` and a `slave`, a `cable` or a `linkage`");
                self.problem(problem);
            }
            1 => {
                if hydraulic && !has(crate::block!(master)) {
                    missing.push("master");
                }
                if hydraulic && !has(crate::block!(slave)) {
                    missing.push("slave");
                }
            }
            _ => {
                let problem = Problem::new(
                    "over-stated",
                    system.place.clone(),
                    format!("more than one thing works the fork of `{}`", system.name),
                )
                .help("keep one: `master` and `slave`, a `cable`, or a `linkage`");
                self.problem(problem);
            }
        }
        // Written is enough: what is wrong with it is reported where it stands.
        let concentric = [crate::field!(slave.outer), crate::field!(slave.inner)]
            .into_iter()
            .any(|field| self.merged_field(field).is_some());
        let is_lost = |block: BlockId| {
            let merged = self.merged.blocks[block as usize].as_ref();
            merged.is_some_and(|merged| merged.field_lost)
        };
        let slave_lost = is_lost(crate::block!(slave));
        let cover_lost = is_lost(crate::block!(cover));
        match (concentric, system.component(crate::block!(fork))) {
            (false, None) if !has(crate::block!(fork)) && !slave_lost => missing.push("fork"),
            (true, Some(fork)) => {
                let place = fork.place.clone();
                self.problem(
                    Problem::new(
                        "over-stated",
                        place,
                        "a concentric slave pushes the bearing itself and has no fork",
                    )
                    .help("remove the `fork`, or give the slave a plain `bore`"),
                );
            }
            _ => {}
        }
        match system.component(crate::block!(cover)) {
            None if !has(crate::block!(cover)) => missing.push("cover"),
            Some(cover)
                if cover.given(crate::field!(cover.release_load)).is_none()
                    && !cover_lost
                    && !has(crate::block!(diaphragm))
                    && self
                        .merged_field(crate::field!(cover.release_load))
                        .is_none() =>
            {
                let place = cover.place.clone();
                self.problem(
                    Problem::new(
                        "missing-field",
                        place,
                        "`cover` does not say how hard the fingers push back",
                    )
                    .help("give `release_load`, as a curve or as its peak"),
                );
            }
            _ => {}
        }
        if has(crate::block!(diaphragm)) {
            for given in [
                crate::field!(cover.release_load),
                crate::field!(cover.clamp_load),
            ]
            .map(|field| system.given(field))
            .into_iter()
            .flatten()
            {
                let problem = Problem::new(
                    "over-stated",
                    given.name.clone(),
                    "the `diaphragm` says how hard the cover pushes, and so does this",
                )
                .help("keep the measured one and remove the `diaphragm`, or the other way round");
                self.problem(problem);
            }
        }
        for block in missing {
            let problem = Problem::new(
                "missing-block",
                place.clone(),
                format!("`{name}` has no `{block}`"),
            )
            .help({
                let parts = self.bundle.known_parts(0, block).take(MOST_LISTED);
                match parts.collect::<Vec<_>>().as_slice() {
                    [] => format!("add `{block} {{ … }}`"),
                    parts => format!(
                        "add `{block} {{ … }}`, or take a part: {}",
                        parts.join(", ")
                    ),
                }
            });
            self.problem(problem);
        }
    }

    fn merged_field(&self, id: FieldId) -> Option<super::merge::MergedField<'a>> {
        self.merged.blocks[id.block as usize].as_ref()?.fields[id.field as usize]
    }

    fn check_fields(&mut self, component: &Component, written: &[bool]) {
        let schema = &BLOCKS[component.block as usize];
        let written = |index: u8| written[index as usize];
        let mut problems = Vec::new();
        let missing: Vec<&str> = (0u8..)
            .zip(schema.fields)
            .filter(|(i, field)| matches!(field.presence, Presence::Required) && !written(*i))
            .map(|(_, field)| field.name)
            .collect();
        if !missing.is_empty() {
            problems.push(missing_fields(component, schema.name, &missing));
        }
        for alternatives in schema.alternatives {
            let given = |way: &&[&str]| {
                way.iter()
                    .filter(|name| schema.field_index(name).is_some_and(&written))
                    .count()
            };
            let full: Vec<&&[&str]> = alternatives
                .ways
                .iter()
                .filter(|way| given(way) == way.len())
                .collect();
            let begun = alternatives.ways.iter().find(|way| given(way) > 0);
            match (full.as_slice(), begun) {
                ([], None) if alternatives.required => {
                    let ways: Vec<String> = alternatives
                        .ways
                        .iter()
                        .map(|way| format!("`{}`", way.join("` and `")))
                        .collect();
                    problems.push(
                        Problem::new(
                            "missing-field",
                            component.place.clone(),
                            format!("`{}` wants {}", schema.name, ways.join(", or ")),
                        )
                        .about(component.block),
                    );
                }
                ([], Some(way)) => {
                    let absent: Vec<&str> = way
                        .iter()
                        .copied()
                        .filter(|name| !schema.field_index(name).is_some_and(&written))
                        .collect();
                    problems.push(missing_fields(component, schema.name, &absent));
                }
                _ => {}
            }
        }
        for problem in problems {
            self.problem(problem);
        }
        self.check_over_stated(component);
    }

    /// Two ways of saying one thing, where both are given: they must agree.
    fn check_over_stated(&mut self, component: &Component) {
        /// Ratios measured on a car agree to about this much.
        const AGREEMENT: f64 = 0.005;
        let number = |id: FieldId| Some((component.given(id)?.number()?, component.given(id)?));
        let ratios = [
            (
                crate::field!(pedal.ratio),
                crate::field!(pedal.pad_arm),
                crate::field!(pedal.rod_arm),
            ),
            (
                crate::field!(fork.ratio),
                crate::field!(fork.slave_arm),
                crate::field!(fork.bearing_arm),
            ),
        ];
        for (ratio, long, short) in ratios {
            if ratio.block != component.block {
                continue;
            }
            let (Some((ratio, given)), Some((long, arm)), Some((short, _))) =
                (number(ratio), number(long), number(short))
            else {
                continue;
            };
            let from_arms = long / short;
            if (from_arms / ratio - 1.0).abs() > AGREEMENT {
                let number = |v| crate::quantity::significant(v, 4);
                self.problem(
                    Problem::new(
                        "over-stated",
                        given.place.clone(),
                        format!(
                            "the ratio is given as {}, and the arms make it {}",
                            number(ratio),
                            number(from_arms)
                        ),
                    )
                    .help("keep the arms: they say more")
                    .related(arm.place.clone(), "from here")
                    .about(component.block),
                );
            }
        }
        let exclusive = [
            (crate::field!(slave.bore), crate::field!(slave.outer)),
            (crate::field!(line.expansion), crate::field!(line.wall)),
            (
                crate::field!(bellhousing.runout),
                crate::field!(bellhousing.dial),
            ),
        ];
        for (one, other) in exclusive {
            if one.block != component.block {
                continue;
            }
            if let (Some(first), Some(second)) = (component.given(one), component.given(other)) {
                let problem = Problem::new(
                    "over-stated",
                    second.name.clone(),
                    format!(
                        "`{}` and `{}` say the same thing in two ways",
                        one.field().name,
                        other.field().name
                    ),
                )
                .help("keep the one that you know best")
                .related(first.name.clone(), "also given here")
                .about(component.block);
                self.problem(problem);
            }
        }
    }
}

fn missing_fields(component: &Component, block: &str, missing: &[&str]) -> Problem {
    let list = missing.join("`, `");
    let problem = Problem::new(
        "missing-field",
        component.place.clone(),
        format!("`{block}` has no `{list}`"),
    )
    .about(component.block);
    match &component.part {
        Some(part) => problem.related(
            part.definition.clone(),
            format!("the part `{}` does not give it either", part.name),
        ),
        None => problem,
    }
}

fn component(merged: &MergedBlock<'_>, fields: Vec<Option<Given>>) -> Component {
    Component {
        block: merged.block,
        part: merged.part.clone(),
        label: merged.label.map(str::to_owned),
        place: merged.place.clone(),
        own: merged.own,
        body: merged.body.clone(),
        fields,
    }
}

/// What names mean in one file of a system.
struct Scope<'a, 'b> {
    builder: &'b mut Builder<'a>,
    source: usize,
}

impl Names for Scope<'_, '_> {
    fn let_value(&mut self, name: &str, place: &Place) -> Result<Option<LetValue>, Problem> {
        let bundle = self.builder.bundle;
        let of_system = self.builder.merged.let_named(bundle, name);
        let found = of_system.or_else(|| bundle.let_named(self.source, name));
        if let Some((source, item)) = found {
            let definition = self.builder.bundle.place(source, item.name.span);
            self.builder.used_lets.insert(definition);
            return self.builder.let_value(source, item);
        }
        let problem = Problem::new(
            "unknown-name",
            place.clone(),
            format!("nothing is called `{name}`"),
        );
        if UNITS.iter().any(|unit| unit.name == name) {
            return Err(problem.help(format!("`{name}` is a unit; it wants a number before it")));
        }
        if let Some(problem) = bundle.hidden(self.source) {
            self.builder
                .unknown
                .get_or_insert_with(|| problem.place.clone());
            self.builder.problem_aside(problem);
            return Ok(None);
        }
        let of_system = self.builder.merged.lets(bundle);
        let known = bundle
            .visible(self.source)
            .flat_map(|(_, source)| source.lets())
            .chain(of_system)
            .map(|item| item.name.text.as_str());
        Err(match bundle.suggest(name, known) {
            Some(meant) => problem.did_you_mean(Some(meant)),
            None => problem.help(format!("define it: `let {name} = …`")),
        })
    }

    fn field_value(
        &mut self,
        block: &str,
        field: &str,
        place: &Place,
    ) -> Result<Option<Evaluated>, Problem> {
        let unknown = |what: String| Problem::new("unknown-name", place.clone(), what);
        let Some(block_id) = crate::schema::Block::named(block) else {
            return Err(unknown(format!("there is no block `{block}`"))
                .did_you_mean_part(block, BLOCKS.iter().map(|b| b.name)));
        };
        let schema = &BLOCKS[block_id as usize];
        if schema.repeated {
            return Err(unknown(format!(
                "`{block}` may stand many times, so `{block}.{field}` is not one value"
            )));
        }
        let Some(index) = schema.field_index(field) else {
            return Err(unknown(format!("`{block}` has no field `{field}`"))
                .did_you_mean_part(field, schema.fields.iter().map(|f| f.name)));
        };
        let id = FieldId {
            block: block_id,
            field: index,
        };
        self.builder.reads.insert((self.builder.inside, id));
        let Some(dimension) = field_dimension(id) else {
            return Err(unknown(format!("`{block}.{field}` is not a single value")));
        };
        if matches!(self.builder.fields.get(&id), Some(State::Running)) {
            return Err(Problem::new(
                "use-cycle",
                place.clone(),
                format!("`{block}.{field}` leads back to itself"),
            ));
        }
        if self.builder.depth >= MAX_REFERENCE_DEPTH {
            return Err(Problem::new(
                "too-large",
                place.clone(),
                format!("values refer to one another more than {MAX_REFERENCE_DEPTH} deep"),
            ));
        }
        if self.builder.merged_field(id).is_none() && self.builder.changed(id).is_none() {
            return match id.field().presence {
                Presence::Default { value, .. } => Ok(Some(Evaluated {
                    band: crate::quantity::Band::exact(value),
                    dimension,
                })),
                // Around a part alone nothing is known, and nothing is wrong.
                _ if self.builder.alone => Ok(None),
                _ => Err(unknown(format!("`{block}.{field}` is not given"))),
            };
        }
        self.builder.depth += 1;
        let given = self.builder.field(id);
        self.builder.depth -= 1;
        match given.map(|given| given.value) {
            Some(Value::Quantity { band, .. }) => Ok(Some(Evaluated { band, dimension })),
            _ => Ok(None),
        }
    }

    fn place(&self, expr: &Expr) -> Place {
        self.builder.bundle.place(self.source, expr.span)
    }
}

fn field_dimension(id: FieldId) -> Option<Dimension> {
    match id.field().kind {
        Kind::Quantity(dimension) => Some(dimension),
        Kind::CurveOrPeak { y, .. } => Some(y),
        Kind::Window(_) | Kind::Curve { .. } | Kind::Choice(_) => None,
    }
}

impl Problem {
    /// Names the nearest of the known, without a fix: the place holds more than the name.
    fn did_you_mean_part<'n>(self, name: &str, known: impl IntoIterator<Item = &'n str>) -> Self {
        match nearest(name, known) {
            Some(meant) => self.help(format!("did you mean `{meant}`?")),
            None => self,
        }
    }
}
