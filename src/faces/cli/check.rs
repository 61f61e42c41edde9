//! `bitepoint check`

use super::{CannotRun, Config, Status, input, print_exactly, progress, say, shown, style, write};
use crate::analysis::{CureSearch, Report, Work, analyse_with};
use crate::faces::files::disk::Disk;
use crate::faces::files::paths::{folder_of, real};
use crate::faces::files::read::read_at_most;
use crate::faces::output::{Product, is_same, refuse_input, refuse_name};
use crate::faces::render::{
    Baseline, Checked, Files, MAX_BASELINE_BYTES, Unread, check_annotations, check_json,
    check_junit, check_sarif, findings, findings_text, kits_text, summary,
};
use crate::faces::sanitize;
use crate::finding::Severity;
use clap::ValueEnum;
use rayon::prelude::*;
use std::path::{Component, Path, PathBuf};

pub struct Request {
    pub paths: Vec<PathBuf>,
    pub form: Form,
    /// The least severity that makes it fail.
    pub fail_on: Severity,
    pub output: Option<PathBuf>,
    pub baseline: Option<PathBuf>,
    pub write_baseline: bool,
    pub config: Config,
}

#[derive(ValueEnum, Clone, Copy, PartialEq, Debug)]
pub enum Form {
    /// For people, with the lines that the findings are about
    Text,
    /// For machines; documented in the README
    Json,
    /// SARIF 2.1.0, for code scanning and viewers
    Sarif,
    /// JUnit XML: a suite for each file, a case for each system
    Junit,
    /// Workflow commands that CI systems turn into annotations
    Annotations,
}

impl Form {
    /// Whether it tells how to cure what is silenced, and not only that it is.
    fn helps_silenced(self) -> bool {
        match self {
            Self::Text | Self::Annotations => false,
            Self::Json | Self::Sarif | Self::Junit => true,
        }
    }
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    for (path, product) in request.outputs() {
        refuse_name(path, product)?;
    }
    if let [(one, _), (other, _)] = request.outputs().as_slice()
        && is_same(one, other)
    {
        return Err(format!(
            "`{}` cannot hold both the baseline and the findings",
            shown(one)
        ));
    }
    let disk = request.disk()?;
    let found = input::specs(&request.paths)?;
    // What a baseline knows is silenced, and then needs no cures.
    let cures_first = request.baseline.is_none().then_some(request.form);
    let mut checked = progress::with(|work| checked(&found.specs, &disk, work, cures_first));
    checked.unread.splice(..0, found.unread);
    refuse_inputs(request, &disk)?;
    if let Some(path) = &request.baseline {
        compare(&mut checked, path, request.write_baseline)?;
        let silenced_too = request.form.helps_silenced();
        let reports = checked.reports.par_iter_mut();
        reports.for_each(|report| report.work_out_cures(silenced_too));
    }
    let cannot: Vec<String> = checked.unread.iter().map(ToString::to_string).collect();
    if checked.reports.is_empty() && request.form == Form::Text {
        return Err(cannot.join("\n"));
    }
    let text = match request.form {
        Form::Text => {
            let findings = findings_text(&checked.reports, style());
            let kits = kits_text(&checked.reports, style().width);
            let text = format!("{findings}{kits}{}\n", summary(&checked));
            sanitize::lines(&text).into_owned()
        }
        Form::Json => check_json(&checked),
        Form::Sarif => check_sarif(&checked),
        Form::Junit => check_junit(&checked, request.fail_on)?,
        Form::Annotations => check_annotations(&checked),
    };
    match &request.output {
        Some(path) => write(path, &text)?,
        // Safe by now, and the annotations are commands.
        None => print_exactly(&text)?,
    }
    if !cannot.is_empty() {
        return Err(cannot.join("\n"));
    }
    let fails = findings(&checked.reports).any(|(_, finding)| finding.severity >= request.fail_on);
    // The process ends now, and frees it all at once.
    std::mem::forget(checked);
    Ok(if fails {
        Status::Findings
    } else {
        Status::Clean
    })
}

impl Request {
    /// The disk, for somebody who works in the folders that are named.
    fn disk(&self) -> Result<Disk, CannotRun> {
        let disk = self.config.disk()?;
        Ok(match self.paths.as_slice() {
            [] => disk.working_in(&[PathBuf::from(".")]),
            paths => disk.working_in(paths),
        })
    }

    /// The files to write: the baseline and the findings.
    fn outputs(&self) -> Vec<(&Path, Product)> {
        let baseline = self.baseline.iter().filter(|_| self.write_baseline);
        let baseline = baseline.map(|path| (&**path, Product::Other("the baseline")));
        let output = self.output.iter();
        let output = output.map(|path| (&**path, Product::Other("the findings")));
        baseline.chain(output).collect()
    }
}

/// That nothing is written over what was read.
fn refuse_inputs(request: &Request, disk: &Disk) -> Result<(), CannotRun> {
    let outputs = request.outputs();
    if outputs.is_empty() {
        return Ok(());
    }
    let read = disk.inputs();
    let read = || read.iter().map(|name| Path::new(&**name));
    let known = request.baseline.iter().filter(|_| !request.write_baseline);
    let known = || known.clone().map(|path| &**path);
    let all = |(path, product)| refuse_input(path, product, read().chain(known()));
    outputs.into_iter().try_for_each(all)
}

/// What is known about some specs and the settings that hold for them, with the cures that a form tells, if they
/// are wanted already.
fn checked(paths: &[PathBuf], disk: &Disk, work: &Work<'_>, cures: Option<Form>) -> Checked {
    let work = Work {
        cures: CureSearch::WhenAsked,
        ..*work
    };
    let analysed: Vec<Result<Report, Unread>> = paths
        .par_iter()
        .map(|path| match input::read_one(path, disk) {
            Ok(source) => {
                let mut report = analyse_with(source, disk, &work);
                if let Some(form) = cures {
                    report.work_out_cures(form.helps_silenced());
                }
                Ok(report.listed())
            }
            Err(why) => Err(Unread {
                file: Disk::name(path).to_string(),
                why,
            }),
        })
        .collect();
    let mut checked = Checked::default();
    // The settings' mistakes are reported once, in their own file.
    let mut settings = disk.settings_reports();
    settings.retain(|report| !report.findings.is_empty());
    checked.reports = settings;
    for one in analysed {
        match one {
            Ok(report) => checked.reports.push(report),
            Err(unread) => checked.unread.push(unread),
        }
    }
    checked
}

/// Silences what is known already, or writes down that all of it is.
fn compare(checked: &mut Checked, path: &Path, write_it: bool) -> Result<(), CannotRun> {
    let folder = real(folder_of(path));
    let relative = |file: &str| relative(file, &folder);
    let name = Disk::name(path);
    let baseline = if write_it {
        let baseline = Baseline::of(&checked.reports, &relative);
        write(path, &baseline.to_text()?)?;
        say(&format!(
            "`{}` holds {} findings now",
            sanitize::name(&name),
            baseline.count()
        ));
        baseline
    } else {
        let bytes = read_at_most(path, MAX_BASELINE_BYTES).map_err(|why| {
            let name = shown(path);
            format!("the baseline `{name}` {why}; `--write-baseline` writes it")
        })?;
        let text = String::from_utf8_lossy(&bytes);
        Baseline::parse(&text).map_err(|why| format!("`{}` {why}", shown(path)))?
    };
    if baseline.is_old() {
        say(&format!(
            "`{}` is from an older version and cannot tell what has become worse; \
             `--write-baseline` writes it anew",
            shown(path)
        ));
    }
    let files = Files {
        relative: &relative,
        exists: &|file| folder.join(file).exists(),
    };
    let compared = baseline.silence(&mut checked.reports, &name, &files);
    checked.gone = compared.gone;
    checked.worse = compared.worse;
    checked.baseline = Some(name.to_string());
    Ok(())
}

/// The name of a file as it is seen from a folder, the same wherever the program runs.
fn relative(file: &str, folder: &Path) -> String {
    let Ok(path) = Path::new(file).canonicalize() else {
        return file.to_owned();
    };
    let parts = |path: &Path| -> Vec<String> {
        let parts = path.components();
        parts
            .filter(|part| !matches!(part, Component::RootDir))
            .map(|part| part.as_os_str().to_string_lossy().into_owned())
            .collect()
    };
    let (to, from) = (parts(&path), parts(folder));
    let shared = to.iter().zip(&from).take_while(|(a, b)| a == b).count();
    let up = std::iter::repeat_n("..", from.len() - shared);
    let down = to[shared..].iter().map(String::as_str);
    up.chain(down).collect::<Vec<_>>().join("/")
}
