//! `bitepoint compare`

mod renames;
mod side;

use super::{CannotRun, Config, Status, print, shown, style};
use crate::analysis::compare::{Pairing, compare, same_text};
use crate::analysis::{CureSearch, Report, Work, analyse_with};
use crate::faces::git::Entry;
use crate::faces::render::Unread;
use crate::faces::render::compare::{
    Compared, FileChange, Form, Sides, Submodule, tell, to_json, to_markdown, to_text,
};
use crate::finding::Severity;
use crate::quantity::nearest;
use clap::ValueEnum;
use rayon::prelude::*;
use side::{Side, SideFiles, sides};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

#[derive(ValueEnum, Clone, Copy, PartialEq, Debug)]
pub enum Format {
    /// For people
    Text,
    /// For a review comment
    Markdown,
    /// For machines; documented in grammar/formats.md
    Json,
}

impl Format {
    fn form(self) -> Form {
        match self {
            Self::Text => Form::Text(style()),
            Self::Markdown => Form::Markdown,
            Self::Json => Form::Json,
        }
    }
}

pub struct Request {
    pub path: PathBuf,
    /// The path with the other version, if that is not another revision.
    pub other: Option<PathBuf>,
    pub from: Option<String>,
    pub to: Option<String>,
    /// The names of the two systems, if they differ.
    pub systems: Option<[String; 2]>,
    pub format: Format,
    pub fail_on: Severity,
    pub config: Config,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    let (before, after) = sides(request)?;
    let scope = Scope::new(&before, &after)?;
    let single = scope.pairs.iter().all(Pair::is_whole);
    if request.systems.is_some() && !single {
        return Err("`--systems` compares two systems of files, not of folders".to_owned());
    }
    let pairing = match &request.systems {
        Some([before, after]) => Pairing::These { before, after },
        None => Pairing::ByName,
    };
    let names = Sides {
        before: before.name.clone(),
        after: after.name.clone(),
    };
    let one = |pair: &Pair| {
        let reports = match read(pair, &before, &after, pairing) {
            Ok(Some(reports)) => reports,
            Ok(None) => return Ok(None),
            Err(unread) => return Err(NotCompared::Unread(unread)),
        };
        let (old, new) = (reports.before.as_ref(), reports.after.as_ref());
        if let Some([one, other]) = &request.systems {
            known(old, one, &before)
                .and_then(|()| known(new, other, &after))
                .map_err(NotCompared::Asked)?;
        }
        let comparison = compare(old, new, pairing);
        let was = old.filter(|_| pair.is_renamed());
        let was = was.map(|report| &*report.source.name);
        if comparison.is_same() && was.is_none() {
            return Ok(None);
        }
        let told = tell(&comparison, was, &names, request.format.form());
        Ok(Some((told, comparison.is_worse(request.fail_on))))
    };
    // Only the text about each pair is kept.
    let done: Vec<Result<Option<(FileChange, bool)>, NotCompared>> =
        scope.pairs.par_iter().map(one).collect();
    let mut compared = Compared {
        sides: names.clone(),
        files: Vec::new(),
        same: 0,
        submodules: scope.submodules,
        unread: scope.unread,
        not_compared: 0,
    };
    let mut status = Status::Clean;
    for one in done {
        match one {
            Ok(None) => compared.same += 1,
            Ok(Some((told, is_worse))) => {
                compared.files.push(told);
                if is_worse {
                    status = Status::Findings;
                }
            }
            Err(NotCompared::Asked(why)) => return Err(why),
            Err(NotCompared::Unread(unread)) => {
                compared.not_compared += 1;
                compared.unread.extend(unread);
            }
        }
    }
    compared.unread.sort();
    compared.unread.dedup();
    let cannot: Vec<String> = compared.unread.iter().map(ToString::to_string).collect();
    let nothing_is = compared.files.is_empty() && compared.same == 0;
    if !cannot.is_empty() && nothing_is && request.format == Format::Text {
        return Err(cannot.join("\n"));
    }
    match request.format {
        Format::Text => print(&to_text(&compared, style()))?,
        Format::Markdown => print(&to_markdown(&compared))?,
        Format::Json => to_json(compared).try_for_each(|piece| print(&piece))?,
    }
    match cannot.is_empty() {
        true => Ok(status),
        false => Err(cannot.join("\n")),
    }
}

/// Why two versions of a file were not compared.
enum NotCompared {
    /// The files that cannot be read.
    Unread(Vec<Unread>),
    /// The request names something that does not exist.
    Asked(CannotRun),
}

/// The files to compare.
struct Scope {
    pairs: Vec<Pair>,
    submodules: Vec<Submodule>,
    unread: Vec<Unread>,
}

/// A file on both sides, by its path in the folder. The path is empty where the sides are files.
struct Pair {
    before: Option<String>,
    after: Option<String>,
}

impl Pair {
    fn same(key: String) -> Self {
        Self {
            before: Some(key.clone()),
            after: Some(key),
        }
    }

    fn is_whole(&self) -> bool {
        [&self.before, &self.after]
            .iter()
            .all(|key| key.as_deref() == Some(""))
    }

    fn is_renamed(&self) -> bool {
        self.before.is_some() && self.after.is_some() && self.before != self.after
    }

    /// Its name for the order among the others.
    fn order(&self) -> Option<&str> {
        self.after.as_deref().or(self.before.as_deref())
    }
}

impl Scope {
    fn new(before: &Side, after: &Side) -> Result<Self, CannotRun> {
        let entries = (before.entry()?, after.entry()?);
        let there = |side: &Side| format!("`{}` at {}", shown(&side.path), side.name);
        match entries {
            (Entry::Nothing, Entry::Nothing) => Err(format!(
                "`{}` exists neither at {} nor at {}",
                shown(&before.path),
                before.name,
                after.name
            )),
            (Entry::Submodule, _) | (_, Entry::Submodule) => Err(format!(
                "`{}` is a submodule that is not checked out; what is in it is not here",
                shown(&before.path)
            )),
            (Entry::Folder, Entry::File(_)) | (Entry::File(_), Entry::Folder) => Err(format!(
                "one side is a folder and the other a file: {} and {}",
                there(before),
                there(after)
            )),
            (Entry::File(_), _) | (_, Entry::File(_)) => Ok(Self {
                pairs: vec![Pair::same(String::new())],
                submodules: Vec::new(),
                unread: Vec::new(),
            }),
            (old, new) => Self::of_folders(before, after, old, new),
        }
    }

    fn of_folders(before: &Side, after: &Side, old: Entry, new: Entry) -> Result<Self, CannotRun> {
        let below = |side: &Side, entry: Entry| match entry {
            Entry::Folder => side.below(),
            _ => Ok(side::Below::default()),
        };
        let (old, new) = (below(before, old)?, below(after, new)?);
        let mut unread: Vec<Unread> = old.unread.into_iter().chain(new.unread).collect();
        let mut commits: BTreeMap<String, [Option<String>; 2]> = BTreeMap::new();
        for (i, submodules) in [old.submodules, new.submodules].into_iter().enumerate() {
            for (path, commit) in submodules {
                commits.entry(path).or_default()[i] = commit;
            }
        }
        let keys: BTreeSet<String> = old.specs.into_iter().chain(new.specs).collect();
        let mut pairs = Vec::new();
        let (mut gone, mut came) = (Vec::new(), Vec::new());
        for key in keys {
            match (before.has(&key), after.has(&key)) {
                (Ok(true), Ok(false)) => gone.push(key),
                (Ok(false), Ok(true)) => came.push(key),
                (Ok(true), Ok(true)) => pairs.push(Pair::same(key)),
                (Ok(false), Ok(false)) => {}
                (Err(why), _) | (_, Err(why)) => unread.push(why),
            }
        }
        let submodules: Vec<Submodule> = commits
            .into_iter()
            .map(|(path, [before, after])| Submodule {
                path,
                before,
                after,
            })
            .collect();
        if pairs.is_empty() && gone.is_empty() && came.is_empty() && unread.is_empty() {
            let mut why = format!(
                "there is no `.clutch` file in `{}` on either side",
                shown(&before.path)
            );
            for submodule in submodules {
                why += &format!("; `{}` is a submodule", submodule.path);
            }
            return Err(why);
        }
        pairs.extend(renames::paired(before, after, gone, came));
        pairs.sort_by(|a, b| a.order().cmp(&b.order()));
        Ok(Self {
            pairs,
            submodules,
            unread,
        })
    }
}

/// The reports of one file on both sides; `None` where the file does not exist.
struct Reports {
    before: Option<Report>,
    after: Option<Report>,
}

/// The reports of a file on both sides; `None` where nothing can have changed.
fn read(
    pair: &Pair,
    before: &Side,
    after: &Side,
    pairing: Pairing<'_>,
) -> Result<Option<Reports>, Vec<Unread>> {
    let [old_files, new_files] = [before, after].map(SideFiles::new);
    let new = match &pair.after {
        Some(key) => after.read(key, None).map_err(|why| vec![why])?,
        None => None,
    };
    let old = match &pair.before {
        // If both sides have the same text, it is parsed once.
        Some(key) => before.read(key, new.as_ref()).map_err(|why| vec![why])?,
        None => None,
    };
    let is_same = pairing == Pairing::ByName
        && !pair.is_renamed()
        && match (&old, &new) {
            (Some(old), Some(new)) => same_text((old, &old_files), (new, &new_files)),
            (old, new) => old.is_none() && new.is_none(),
        };
    // Only new findings are told with their cures.
    let work = Work {
        cures: CureSearch::WhenAsked,
        ..Work::default()
    };
    let reports = match is_same {
        true => None,
        false => Some(Reports {
            before: old.map(|source| analyse_with(source, &old_files, &work).with_settings()),
            after: new.map(|source| analyse_with(source, &new_files, &work).with_settings()),
        }),
    };
    let broken: Vec<Unread> = [old_files, new_files]
        .into_iter()
        .flat_map(SideFiles::broken)
        .collect();
    match broken.is_empty() {
        true => Ok(reports),
        false => Err(broken),
    }
}

/// Checks that a system exists on a side.
fn known(report: Option<&Report>, name: &str, place: &Side) -> Result<(), CannotRun> {
    let names = || {
        let systems = report.into_iter().flat_map(|report| &report.systems);
        systems.map(|worked| worked.system.name.as_str())
    };
    if names().any(|known| known == name) {
        return Ok(());
    }
    let meant = match nearest(name, names()) {
        Some(meant) => format!("; did you mean `{meant}`?"),
        None => String::new(),
    };
    Err(format!(
        "there is no system `{name}` in {}{meant}",
        place.name
    ))
}
