//! `bitepoint compare`

use super::{CannotRun, Config, Status, input, print, style};
use crate::analysis::compare::{Comparison, Pairing, compare, same_text};
use crate::analysis::{Report, analyse};
use crate::faces::disk::Disk;
use crate::faces::git::{Entry, Revision};
use crate::faces::render::compare::{Compared, Sides, to_json, to_markdown, to_text};
use crate::finding::Severity;
use crate::model::{Files, Source};
use crate::quantity::nearest;
use clap::ValueEnum;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[derive(ValueEnum, Clone, Copy, PartialEq, Debug)]
pub enum Form {
    /// For people
    Text,
    /// For a review comment
    Markdown,
    /// For machines; documented in the README
    Json,
}

pub struct Request {
    pub path: PathBuf,
    /// The path that holds the other version, where it is not another revision.
    pub other: Option<PathBuf>,
    pub from: Option<String>,
    pub to: Option<String>,
    /// The two systems, where they do not go by their names.
    pub systems: Option<[String; 2]>,
    pub form: Form,
    pub fail_on: Severity,
    pub config: Config,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    let (before, after) = sides(request)?;
    let keys = keys(&before, &after)?;
    let single = keys.iter().all(String::is_empty);
    if request.systems.is_some() && !single {
        return Err("`--systems` compares two systems of files, not of folders".to_owned());
    }
    let reports = keys
        .iter()
        .filter_map(|key| changed(&before, &after, key, single).transpose())
        .collect::<Result<Vec<Reports>, CannotRun>>()?;
    let pairing = match &request.systems {
        Some([before, after]) => Pairing::These { before, after },
        None => Pairing::ByName,
    };
    if let Some([one, other]) = &request.systems {
        known(&reports, one, |reports| reports.before.as_ref(), &before)?;
        known(&reports, other, |reports| reports.after.as_ref(), &after)?;
    }
    let comparisons: Vec<Comparison<'_>> = reports
        .iter()
        .map(|reports| compare(reports.before.as_ref(), reports.after.as_ref(), pairing))
        .filter(|comparison| !comparison.is_same())
        .collect();
    let compared = Compared {
        sides: Sides {
            before: before.name.clone(),
            after: after.name.clone(),
        },
        same: keys.len() - comparisons.len(),
        files: comparisons,
    };
    print(&match request.form {
        Form::Text => to_text(&compared, style()),
        Form::Markdown => to_markdown(&compared),
        Form::Json => to_json(&compared),
    })?;
    let worse = |file: &Comparison<'_>| file.is_worse(request.fail_on);
    Ok(match compared.files.iter().any(worse) {
        true => Status::Findings,
        false => Status::Clean,
    })
}

/// One side of a comparison.
struct Side {
    path: PathBuf,
    /// What it is called for people.
    name: String,
    files: From,
}

enum From {
    Disk(Disk),
    Revision(Box<Revision>),
}

/// One file on both sides; `None` where it is not there.
struct Reports {
    before: Option<Report>,
    after: Option<Report>,
}

fn sides(request: &Request) -> Result<(Side, Side), CannotRun> {
    let path = &request.path;
    let disk = |path: &Path, name: String| -> Result<Side, CannotRun> {
        Ok(Side {
            path: path.to_owned(),
            name,
            files: From::Disk(request.config.disk()?),
        })
    };
    let at = |name: &str| -> Result<Side, CannotRun> {
        if input::is_standard_input(path) {
            return Err("standard input has no revisions; name a file or a folder".to_owned());
        }
        let revision = Revision::new(path, name, request.config.disk()?)?;
        Ok(Side {
            path: path.clone(),
            name: format!("{name} ({})", revision.short()),
            files: From::Revision(Box::new(revision)),
        })
    };
    let (before, after) = match (&request.from, &request.to, &request.other) {
        (Some(from), to, _) => {
            let before = at(from)?;
            let after = match to {
                Some(to) => at(to)?,
                None => disk(path, "the working tree".to_owned())?,
            };
            (before, after)
        }
        (None, _, Some(other)) => {
            let named = |path: &Path| disk(path, path.display().to_string());
            (named(path)?, named(other)?)
        }
        (None, _, None) if request.systems.is_some() => {
            let named = || disk(path, path.display().to_string());
            (named()?, named()?)
        }
        (None, _, None) => {
            return Err(
                "compare with what? Name a second file, `--from` a revision, or two `--systems` \
                 of this file"
                    .to_owned(),
            );
        }
    };
    if let (From::Disk(_), From::Disk(_)) = (&before.files, &after.files) {
        for side in [&before, &after] {
            if !input::is_standard_input(&side.path) && !side.path.exists() {
                return Err(format!("`{}` does not exist", side.path.display()));
            }
        }
        if [&before, &after]
            .iter()
            .all(|side| input::is_standard_input(&side.path))
            && request.systems.is_none()
        {
            return Err("standard input cannot be both sides".to_owned());
        }
    }
    Ok((before, after))
}

impl Side {
    fn entry(&self) -> Result<Entry, CannotRun> {
        match &self.files {
            From::Disk(_) if self.path.is_dir() => Ok(Entry::Folder),
            From::Disk(_) if input::is_standard_input(&self.path) || self.path.exists() => {
                Ok(Entry::File)
            }
            From::Disk(_) => Ok(Entry::Nothing),
            From::Revision(revision) => revision.entry(&Disk::name(&self.path)),
        }
    }

    /// The specs in a folder, by their paths in it.
    fn specs(&self) -> Result<Vec<String>, CannotRun> {
        match &self.files {
            From::Revision(revision) => revision.specs(&Disk::name(&self.path)),
            From::Disk(_) => {
                let found = input::specs_below(&self.path)?;
                let inside =
                    |spec: &Path| Disk::name(spec.strip_prefix(&self.path).unwrap_or(spec));
                Ok(found.iter().map(|spec| inside(spec).to_string()).collect())
            }
        }
    }

    fn files(&self) -> &dyn Files {
        match &self.files {
            From::Disk(disk) => disk,
            From::Revision(revision) => &**revision,
        }
    }

    /// One file of it; `None` where it is not there.
    fn read(&self, key: &str) -> Result<Option<Arc<Source>>, CannotRun> {
        let path = match key {
            "" => self.path.clone(),
            key => self.path.join(key),
        };
        match &self.files {
            From::Disk(disk) => {
                if !input::is_standard_input(&path) && !path.exists() {
                    return Ok(None);
                }
                input::read(&path, disk).map(Some)
            }
            From::Revision(revision) => {
                let name = Disk::name(&path);
                if revision.entry(&name)? == Entry::Nothing {
                    return Ok(None);
                }
                let source = revision.read(&name);
                source.map(Some).map_err(|why| format!("`{name}` {why}"))
            }
        }
    }
}

/// The files to compare: paths inside two folders, or a single empty one for two files.
fn keys(before: &Side, after: &Side) -> Result<BTreeSet<String>, CannotRun> {
    let entries = (before.entry()?, after.entry()?);
    let missing = |side: &Side| format!("`{}` at {}", side.path.display(), side.name);
    match entries {
        (Entry::Nothing, Entry::Nothing) => Err(format!(
            "`{}` exists neither at {} nor at {}",
            before.path.display(),
            before.name,
            after.name
        )),
        (Entry::Folder, Entry::File) | (Entry::File, Entry::Folder) => Err(format!(
            "one side is a folder and the other a file: {} and {}",
            missing(before),
            missing(after)
        )),
        (Entry::File, _) | (_, Entry::File) => Ok(BTreeSet::from([String::new()])),
        _ => {
            let mut keys = BTreeSet::new();
            for side in [before, after] {
                if side.entry()? == Entry::Folder {
                    keys.extend(side.specs()?);
                }
            }
            if keys.is_empty() {
                return Err(format!(
                    "there is no `.clutch` file in `{}` on either side",
                    before.path.display()
                ));
            }
            Ok(keys)
        }
    }
}

/// What is known of a file on both sides; `None` where nothing can have changed.
fn changed(
    before: &Side,
    after: &Side,
    key: &str,
    single: bool,
) -> Result<Option<Reports>, CannotRun> {
    let (old, new) = (before.read(key)?, after.read(key)?);
    if let (Some(old), Some(new), false) = (&old, &new, single)
        && same_text((old, before.files()), (new, after.files()))
    {
        return Ok(None);
    }
    let report = |side: &Side, source: Option<Arc<Source>>| {
        source.map(|source| analyse(source, side.files()))
    };
    Ok(Some(Reports {
        before: report(before, old),
        after: report(after, new),
    }))
}

/// That a system is there to be compared.
fn known(
    reports: &[Reports],
    name: &str,
    side: fn(&Reports) -> Option<&Report>,
    place: &Side,
) -> Result<(), CannotRun> {
    let names = || {
        let reports = reports.iter().filter_map(side);
        reports.flat_map(|report| report.systems.iter().map(|w| w.system.name.as_str()))
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
