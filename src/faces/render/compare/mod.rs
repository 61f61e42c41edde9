//! A comparison of two versions, for people, for review comments and for machines.

mod json;
mod markdown;
mod parts;
mod text;

pub use json::to_json;
pub use markdown::to_markdown;
pub use text::to_text;

use parts::PartChange;

use super::{TextStyle, Unread, counted};
use crate::analysis::compare::{
    Comparison, Fate, Figure, FindingChange, InputChange, KitChange, ResultChange, Said, Standing,
    SystemChange, Way,
};
use crate::analysis::{Report, Worked};
use crate::checks::Finding;
use crate::faces::sanitize;
use crate::finding::Severity;
use crate::model::System;
use crate::quantity::Dimension;
use crate::syntax::Encoding;

/// What was compared, and the result.
#[derive(Debug)]
pub struct Compared {
    /// The names of the two versions.
    pub sides: Sides,
    /// The files in which something changed.
    pub files: Vec<FileChange>,
    /// How many files are unchanged.
    pub same: usize,
    /// Other repositories below the folder. They must be compared by themselves.
    pub submodules: Vec<Submodule>,
    /// The files that could not be read.
    pub unread: Vec<Unread>,
    /// How many files were not compared because of that.
    pub not_compared: usize,
}

/// The names of the two versions.
#[derive(Clone, Debug)]
pub struct Sides {
    /// The earlier one.
    pub before: String,
    /// The later one.
    pub after: String,
}

/// A repository inside the repository, with its commits if they are known.
#[derive(Debug)]
pub struct Submodule {
    /// Its path in the folder.
    pub path: String,
    /// Its earlier commit.
    pub before: Option<String>,
    /// Its later commit.
    pub after: Option<String>,
}

/// The form of a comparison.
#[derive(Clone, Copy, Debug)]
pub enum Form {
    /// For people, in lines.
    Text(TextStyle),
    /// For a review comment.
    Markdown,
    /// For machines.
    Json,
}

/// What is told about one file that changed.
#[derive(Debug)]
pub struct FileChange {
    tally: Tally,
    parts: Vec<PartChange>,
    told: Told,
}

#[derive(Debug)]
enum Told {
    Text(String),
    Markdown(markdown::Section),
    Json(String),
}

/// Tells what changed in a file. `was` is its former name, if it was renamed.
pub fn tell(
    comparison: &Comparison<'_>,
    was: Option<&str>,
    sides: &Sides,
    form: Form,
) -> FileChange {
    FileChange {
        tally: Tally::of(comparison.all_findings(), &comparison.systems),
        parts: parts::of_file(comparison),
        told: match form {
            Form::Text(style) => Told::Text(text::file(comparison, was, sides, style)),
            Form::Markdown => Told::Markdown(markdown::section(comparison, was, sides)),
            Form::Json => Told::Json(json::file(comparison, was)),
        },
    }
}

impl Compared {
    fn tally(&self) -> Tally {
        let mut sum = Tally::default();
        for FileChange { tally: one, .. } in &self.files {
            for (all, new) in sum.came.iter_mut().zip(one.came) {
                *all += new;
            }
            sum.went += one.went;
            sum.moved += one.moved;
            sum.worse += one.worse;
        }
        sum
    }

    /// The result, if nothing changed in what could be compared.
    fn nothing(&self) -> &'static str {
        match self.unread.is_empty() {
            true => "nothing changed",
            false => "nothing changed in what could be compared",
        }
    }

    /// The number of the other files: `, 3 as before, 1 not compared`.
    fn others(&self) -> String {
        let counts = [
            (self.same, "as before"),
            (self.not_compared, "not compared"),
        ];
        let some = counts.iter().filter(|(count, _)| *count > 0);
        some.map(|(count, what)| format!(", {count} {what}"))
            .collect()
    }
}

impl Submodule {
    /// A sentence that its files are not compared, and which command compares them.
    fn words(&self) -> String {
        let short = |commit: &Option<String>| {
            let commit = commit.as_deref()?;
            Some(commit.get(..10).unwrap_or(commit).to_owned())
        };
        let (before, after) = (short(&self.before), short(&self.after));
        let moved = match (&before, &after) {
            (Some(before), Some(after)) if before != after => format!(", {before} → {after}"),
            _ => String::new(),
        };
        let from = before.or(after).unwrap_or_else(|| "REVISION".to_owned());
        format!(
            "`{path}` is a submodule{moved}: `bitepoint compare {path} --from {from}` compares it",
            path = self.path
        )
    }
}

/// The systems of a file that changed in more than the parts that they take.
fn told_systems<'c, 'a>(file: &'c Comparison<'a>) -> impl Iterator<Item = &'c SystemChange<'a>> {
    let systems = file.systems.iter();
    systems.filter(|system| !system.is_same() && !system.is_told_by_parts())
}

/// Whether only the parts of a file's systems changed.
fn is_told_by_parts(file: &Comparison<'_>, was: Option<&str>) -> bool {
    let on_both_sides = file.before.is_some() == file.after.is_some();
    let of_text = file.findings.iter().all(FindingChange::is_same);
    on_both_sides && was.is_none() && of_text && told_systems(file).next().is_none()
}

/// The changed inputs of a system itself, without those of its parts.
fn own_inputs<'c>(system: &'c SystemChange<'_>) -> Vec<&'c InputChange> {
    let inputs = system.inputs.iter();
    inputs.filter(|input| input.part.is_none()).collect()
}

/// Numbers of changes.
#[derive(Clone, Copy, Default, Debug)]
struct Tally {
    /// New findings by severity, as in [`Severity::ALL`].
    came: [usize; Severity::ALL.len()],
    went: usize,
    moved: usize,
    worse: usize,
}

impl Tally {
    fn of<'a>(
        findings: impl Iterator<Item = &'a FindingChange<'a>>,
        systems: &[SystemChange<'_>],
    ) -> Self {
        let mut tally = Self::default();
        for change in findings {
            match (change.fate, change.after) {
                (Fate::Came | Fate::Unsilenced, Some(finding)) => {
                    tally.came[finding.severity as usize] += 1;
                }
                (Fate::Went, _) => tally.went += 1,
                _ => {}
            }
        }
        for result in systems.iter().flat_map(|system| &system.results) {
            tally.moved += 1;
            tally.worse += usize::from(result.way == Some(Way::Worse));
        }
        tally
    }

    /// The numbers in words: `1 error came, 2 findings went; 12 results moved, 5 of them for the worse`.
    fn words(self) -> String {
        let of = |severity: Severity| self.came[severity as usize];
        let mut found: Vec<String> = [
            (of(Severity::Error), Severity::Error),
            (of(Severity::Warning), Severity::Warning),
            (of(Severity::Info) + of(Severity::Hint), Severity::Info),
        ]
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, severity)| format!("{} came", counted(count, severity.word())))
        .collect();
        if self.went > 0 {
            found.push(format!("{} went", counted(self.went, "finding")));
        }
        let mut parts = Vec::new();
        if found.is_empty() {
            parts.push("no finding came or went".to_owned());
        } else {
            parts.push(found.join(", "));
        }
        if self.moved > 0 {
            let moved = counted(self.moved, "result");
            parts.push(match self.worse {
                0 => format!("{moved} moved"),
                worse => format!("{moved} moved, {worse} of them for the worse"),
            });
        }
        parts.join("; ")
    }
}

/// What happened to a whole file or system that is on one side only.
fn one_sided(before: bool, after: bool) -> Option<&'static str> {
    match (before, after) {
        (false, true) => Some("is new"),
        (true, false) => Some("is gone"),
        _ => None,
    }
}

/// For each side: how many combinations work, if it leaves something to choose, and why its results are not compared,
/// if it has none.
fn not_worked_words(system: &SystemChange<'_>, sides: &Sides) -> Vec<String> {
    if system.before.is_none() || system.after.is_none() {
        return Vec::new();
    }
    let names = [&sides.before, &sides.after];
    let words = system.not_worked().into_iter().zip(names);
    let whys = words
        .filter_map(|(why, name)| Some((why?, name)))
        .map(|(why, name)| format!("nothing can be compared: {} ({name})", why.words()));
    let work = |of: Option<(u64, u64)>| match of {
        Some((working, tried)) => format!("{working} of {tried} combinations work"),
        None => "nothing to choose".to_owned(),
    };
    let [before, after] = system.combinations();
    let combinations = (before != after).then(|| format!("{} → {}", work(before), work(after)));
    let kit = system.kit.iter().flat_map(|kit| kit_words(system, kit));
    combinations.into_iter().chain(kit).chain(whys).collect()
}

/// The changes of the combinations, starting with those that stopped working.
fn kit_words(system: &SystemChange<'_>, kit: &KitChange) -> Vec<String> {
    /// The most combinations that are named. They are enough to see what they share; machines get more.
    const MOST_NAMED: usize = 3;
    let mut words = Vec::new();
    if kit.died_count > 0 {
        let count = counted(kit.died_count as usize, "combination");
        words.push(format!("{count} stopped working"));
        let first = kit.died.iter().take(MOST_NAMED);
        words.extend(first.map(|(name, reason)| format!("stopped working: {name}: {reason}")));
    }
    if kit.came_count > 0 {
        let first: Vec<&str> = kit
            .came
            .iter()
            .take(MOST_NAMED)
            .map(String::as_str)
            .collect();
        let more = kit.came_count - first.len() as u64;
        let more = if more > 0 {
            format!("; and {more} more")
        } else {
            String::new()
        };
        words.push(format!("now working: {}{more}", first.join("; ")));
    }
    if !kit.withdrawn.is_empty() {
        words.push(format!("no longer offered: {}", kit.withdrawn.join(", ")));
    }
    if !kit.offered.is_empty() {
        words.push(format!("newly offered: {}", kit.offered.join(", ")));
    }
    let Some(worked) = system.after else {
        return words;
    };
    let show = |value, dimension| worked.system.show(value, dimension);
    if let Some((name, before, after)) = &kit.margin {
        let lost = (before - after) / before * 100.0;
        let [before, after] = [before, after].map(|value| show(*value, Dimension::LENGTH));
        words.push(format!(
            "lost most release margin: {name}: {before} → {after} ({lost:.0} % of it)"
        ));
    }
    if let Some((name, before, after)) = &kit.heavier {
        let [before, after] = [before, after].map(|value| show(*value, Dimension::FORCE));
        words.push(format!("got heaviest: {name}: {before} → {after}"));
    }
    if let Some((name, before, after)) = &kit.dearer {
        words.push(format!("price rose most: {name}: {before} → {after}"));
    }
    let ranges = kit.ranges.iter().filter_map(|(result, before, after)| {
        let spec = result.spec();
        let range = |(low, high): &(f64, f64)| {
            format!(
                "{} to {}",
                result.show(*low, &worked.system.display),
                result.show(*high, &worked.system.display)
            )
        };
        let (before, after) = (range(before), range(after));
        (before != after).then(|| format!("{} {before} → {after}", spec.name))
    });
    let ranges: Vec<String> = ranges.collect();
    if !ranges.is_empty() {
        words.push(format!("ranges of what works: {}", ranges.join("; ")));
    }
    words
}

fn fate_words(fate: Fate) -> &'static str {
    match fate {
        Fate::Came => "came",
        Fate::Unsilenced => "no longer allowed",
        Fate::Changed => "changed",
        Fate::Silenced => "allowed now",
        Fate::Went => "went",
        Fate::Stayed => "stayed",
    }
}

fn way_words(way: Way) -> &'static str {
    match way {
        Way::Better => "better",
        Way::Worse => "worse",
    }
}

/// The move of a result as it is shown, all in one unit.
struct Row {
    name: &'static str,
    before: String,
    after: String,
    by: String,
    /// Notes: its direction, its place relative to the old band, why it is absent.
    notes: Vec<String>,
}

fn row(system: &System, change: &ResultChange) -> Row {
    let spec = change.id.spec();
    let show = |value| change.id.show(value, &system.display);
    let (before, after) = (change.before, change.after);
    let shift = before
        .zip(after)
        .and_then(|(a, b)| change.id.shift(a.value, b.value, &system.display));
    let plain = |figure: Option<Figure>| figure.map_or("absent".to_owned(), |f| show(f.value));
    let mut notes: Vec<String> = change.why_absent.iter().cloned().collect();
    notes.extend(change.way.map(|way| way_words(way).to_owned()));
    // A band narrower than the shown digits is not worth showing.
    let band = |figure: Option<Figure>| {
        let band = figure?.band?;
        let (low, high) = (show(band.low), show(band.high));
        (low != high).then(|| format!("{low} to {high}"))
    };
    if let (Some(standing), Some(had)) = (change.standing, band(before)) {
        notes.push(match (standing, band(after)) {
            // Only the band moved.
            (_, Some(has)) if shift.is_none() => {
                format!("its tolerance range was {had}, and is {has}")
            }
            (Standing::Inside, _) => format!("inside its tolerance range, {had}"),
            (Standing::Outside, _) => match tie(system, change) {
                Some([now, bound]) => format!("outside its tolerance range: {now}, past {bound}"),
                None => format!("outside its tolerance range, {had}"),
            },
            (Standing::Clear, _) => {
                format!("no overlap with its earlier tolerance range, {had}")
            }
        });
    }
    match shift {
        Some(shift) => Row {
            name: spec.name,
            before: shift.before,
            after: shift.after,
            by: shift.by,
            notes,
        },
        None => Row {
            name: spec.name,
            before: plain(before),
            after: plain(after),
            by: String::new(),
            notes,
        },
    }
}

/// A value now outside its earlier tolerance range and the bound that it passed, where both would read alike: to as many
/// digits as tell them apart.
fn tie(system: &System, change: &ResultChange) -> Option<[String; 2]> {
    let (now, had) = (change.after?.value, change.before?.band?);
    let bound = if now < had.low { had.low } else { had.high };
    let show = |value| change.id.show(value, &system.display);
    let dimension = change.id.spec().dimension;
    (show(now) == show(bound)).then(|| system.display.told_apart(now, bound, dimension))
}

/// The results with the disc worn out that are told: those with a better and a worse direction.
fn worn<'a>(system: &'a SystemChange<'_>) -> Vec<&'a ResultChange> {
    let weighed = |change: &&ResultChange| change.way.is_some();
    system.worn.iter().filter(weighed).collect()
}

/// The system whose units are used for results.
fn speaker<'a>(system: &SystemChange<'a>) -> Option<&'a Worked> {
    system.after.or(system.before)
}

fn said(said: Option<&Said>) -> String {
    match said {
        None => "not given".to_owned(),
        Some(said) if said.assumed => format!("{} (assumed)", said.text),
        Some(said) => said.text.clone(),
    }
}

/// `file:line:column` of a finding, counted from one in characters.
fn location(report: Option<&Report>, finding: &Finding) -> String {
    let place = &finding.problem.place;
    let sources = report.map(|report| std::iter::once(&report.source).chain(&report.used));
    let source = sources.and_then(|mut all| all.find(|source| source.name == place.file));
    let shown = report.map_or(&place.file, |report| report.shown_name(&place.file));
    let file = sanitize::name(shown);
    match source {
        Some(source) => {
            let at = source.range(place.span).start;
            let at = source.lines.position(at, Encoding::Utf32);
            format!("{file}:{}:{}", at.line + 1, at.column + 1)
        }
        None => file,
    }
}

/// The name of a file on its later side.
fn file_name<'a>(file: &Comparison<'a>) -> &'a str {
    file.after
        .or(file.before)
        .map_or("", |report| report.shown_name(&report.source.name))
}

/// The report in which a finding was made last.
fn report_of<'a>(file: &Comparison<'a>, change: &FindingChange<'_>) -> Option<&'a Report> {
    match change.after {
        Some(_) => file.after,
        None => file.before,
    }
}
