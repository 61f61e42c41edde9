//! `bitepoint check`

use super::fix::{self, Fixing};
use super::input::Found;
use super::{CannotRun, Config, Status, input, print_exactly, progress, say, shown, style, write};
use crate::analysis::{CureSearch, Pick, Report, Work, analyse_picked, analyse_with};
use crate::faces::files::disk::Disk;
use crate::faces::files::paths::{folder_of, real};
use crate::faces::files::read::read_at_most;
use crate::faces::output::{Product, is_same, refuse_input, refuse_name};
use crate::faces::render::{
    Baseline, CheckForm, CheckRenderer, Compared, Ending, Files, HeldAgainst, MAX_BASELINE_BYTES,
    Tally, Unread,
};
use crate::faces::sanitize;
use crate::finding::Severity;
use crate::model::Files as _;
use clap::ValueEnum;
use rayon::prelude::*;
use std::collections::HashSet;
use std::path::{Component, Path, PathBuf};

/// How many specs are analysed before their findings are printed, in order.
const AT_ONCE: usize = 128;

pub struct Request {
    pub paths: Vec<PathBuf>,
    pub form: Form,
    /// The least severity that makes the check fail.
    pub fail_on: Severity,
    pub output: Option<PathBuf>,
    pub baseline: Option<PathBuf>,
    pub write_baseline: bool,
    pub fix: Fixing,
    /// The parts picked where a system leaves a choice. With picks, only that system is checked.
    pub picks: Vec<Pick>,
    /// Whether notes are printed in full.
    pub verbose: bool,
    pub config: Config,
}

#[derive(ValueEnum, Clone, Copy, PartialEq, Debug)]
pub enum Form {
    /// For people, with the lines that the findings are about
    Text,
    /// A line a finding: `path:line:column: error[check] message`
    Short,
    /// For machines; documented in grammar/formats.md
    Json,
    /// SARIF 2.1.0, for code scanning and viewers
    Sarif,
    /// JUnit XML: a suite for each file, a case for each system
    Junit,
    /// Workflow commands that CI systems turn into annotations
    Annotations,
}

impl Form {
    /// Whether the form tells cures of silenced findings, and not only that they are silenced.
    fn helps_silenced(self) -> bool {
        match self {
            Self::Text | Self::Short | Self::Annotations => false,
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
    match request.fix {
        Fixing::None => {}
        Fixing::Written => fix::write_fixed(&request.paths, &|| request.disk())?,
        Fixing::Shown => return fix::show(&request.paths, &|| request.disk()),
    }
    let disk = request.disk()?;
    let found = input::specs(&request.paths)?;
    let (answer, ending) = match &request.baseline {
        Some(path) => against_baseline(request, path, found, &disk)?,
        None if !request.picks.is_empty() => one_picked(request, found, &disk)?,
        None => as_they_come(request, found, &disk)?,
    };
    let cannot: Vec<String> = ending.unread.iter().map(ToString::to_string).collect();
    if answer.renderer.tally.files == 0 && matches!(request.form, Form::Text | Form::Short) {
        return Err(cannot.join("\n"));
    }
    let tally = answer.finish(&ending)?;
    if !cannot.is_empty() {
        return Err(cannot.join("\n"));
    }
    Ok(if tally.reaches(request.fail_on) {
        Status::Findings
    } else {
        Status::Clean
    })
}

/// Checks specs one after the other, and drops the report of each once it is printed.
fn as_they_come<'r>(
    request: &'r Request,
    found: Found,
    disk: &Disk,
) -> Result<(Answer<'r>, Ending), CannotRun> {
    let mut answer = Answer::new(request, None);
    let mut unread = found.unread;
    // The short form has no room for cures.
    let helped = Some(request.form).filter(|form| *form != Form::Short);
    // The settings' mistakes are reported once, in their own file, before the specs.
    for path in one_of_each_folder(&found.specs) {
        disk.settings(&input::name_of(path));
    }
    for report in settings_with_mistakes(disk) {
        answer.add(&report)?;
    }
    progress::with_bar(|work, bar| {
        let mut take = |analysed: Analysed| match analysed {
            Ok(report) => bar.aside(|| answer.add(&report)),
            Err(why) => {
                unread.push(why);
                Ok(())
            }
        };
        let mut waiting = Vec::new();
        for next in found.specs.chunks(AT_ONCE) {
            // Finished reports are printed in order while the next are analysed.
            let told = || waiting.drain(..).try_for_each(&mut take);
            let (told, analysed) = rayon::join(told, || analyse_all(next, disk, work, helped));
            told?;
            waiting = analysed;
        }
        waiting.into_iter().try_for_each(take)
    })?;
    refuse_inputs(request, disk)?;
    let ending = Ending {
        unread,
        ..Ending::default()
    };
    Ok((answer, ending))
}

/// Checks one combination of the only system of a spec that leaves something to choose.
fn one_picked<'r>(
    request: &'r Request,
    found: Found,
    disk: &Disk,
) -> Result<(Answer<'r>, Ending), CannotRun> {
    let [spec] = found.specs.as_slice() else {
        return Err(format!(
            "`--pick` is for one file, and there are {}",
            found.specs.len()
        ));
    };
    let source = input::read(spec, disk)?;
    let mut report = analyse_picked(source, disk, None, &request.picks)?;
    report.work_out_cures(request.form.helps_silenced());
    refuse_inputs(request, disk)?;
    let mut answer = Answer::new(request, None);
    for settings in settings_with_mistakes(disk) {
        answer.add(&settings)?;
    }
    answer.add(&report)?;
    let ending = Ending {
        unread: found.unread,
        ..Ending::default()
    };
    Ok((answer, ending))
}

/// Checks specs and compares their findings with a baseline, or writes them into it.
fn against_baseline<'r>(
    request: &'r Request,
    baseline: &Path,
    found: Found,
    disk: &Disk,
) -> Result<(Answer<'r>, Ending), CannotRun> {
    // Findings that the baseline knows are silenced, and need no cures.
    let analysed = progress::with(|work| analyse_all(&found.specs, disk, work, None));
    let mut reports = settings_with_mistakes(disk);
    let mut ending = Ending {
        unread: found.unread,
        ..Ending::default()
    };
    for one in analysed {
        match one {
            Ok(report) => reports.push(report.listed()),
            Err(unread) => ending.unread.push(unread),
        }
    }
    refuse_inputs(request, disk)?;
    let compared = compare(&mut reports, baseline, request.write_baseline)?;
    let silenced_too = request.form.helps_silenced();
    let each = reports.par_iter_mut();
    each.for_each(|report| report.work_out_cures(silenced_too));
    ending.gone = compared.gone;
    let held = HeldAgainst {
        baseline: Disk::name(baseline).to_string(),
        worse: compared.worse,
    };
    let mut answer = Answer::new(request, Some(held));
    reports.iter().try_for_each(|report| answer.add(report))?;
    Ok((answer, ending))
}

/// An answer to standard output or into a file.
struct Answer<'r> {
    renderer: CheckRenderer,
    output: Option<&'r Path>,
    /// The text that is written into the file at the end.
    text: String,
}

impl<'r> Answer<'r> {
    fn new(request: &'r Request, held: Option<HeldAgainst>) -> Self {
        let form = match request.form {
            Form::Text => {
                // Findings that fail the run are shown in full.
                let least = match request.verbose {
                    true => Severity::Hint,
                    false => request.fail_on.min(Severity::Warning),
                };
                CheckForm::Text(style(), least)
            }
            Form::Short => CheckForm::Short(style()),
            Form::Json => CheckForm::Json,
            Form::Sarif => CheckForm::Sarif,
            Form::Junit => CheckForm::Junit(request.fail_on),
            Form::Annotations => CheckForm::Annotations,
        };
        Self {
            renderer: CheckRenderer::new(form, held),
            output: request.output.as_deref(),
            text: String::new(),
        }
    }

    fn add(&mut self, report: &Report) -> Result<(), CannotRun> {
        let piece = self.renderer.add(report);
        self.tell(&piece)
    }

    fn tell(&mut self, piece: &str) -> Result<(), CannotRun> {
        match self.output {
            Some(_) => self.text.push_str(piece),
            // Safe by now, and the annotations are commands.
            None if !piece.is_empty() => print_exactly(piece)?,
            None => {}
        }
        Ok(())
    }

    fn finish(mut self, ending: &Ending) -> Result<Tally, CannotRun> {
        let form = CheckForm::Annotations;
        let renderer = std::mem::replace(&mut self.renderer, CheckRenderer::new(form, None));
        let (pieces, tally) = renderer.finish(ending)?;
        for piece in pieces {
            self.tell(&piece)?;
        }
        if let Some(path) = self.output {
            write(path, &self.text)?;
        }
        Ok(tally)
    }
}

impl Request {
    /// The disk, for work in the named folders.
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

/// Refuses to write over a file that was read.
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

/// The report of a spec, or why it is not read.
type Analysed = Result<Report, Unread>;

/// Analyses specs side by side, with their cures if the form tells them.
fn analyse_all(
    paths: &[PathBuf],
    disk: &Disk,
    work: &Work<'_>,
    cures: Option<Form>,
) -> Vec<Analysed> {
    let work = Work {
        cures: CureSearch::WhenAsked,
        ..*work
    };
    let analyse = |path: &PathBuf| match input::read_one(path, disk) {
        Ok(source) => {
            let mut report = analyse_with(source, disk, &work);
            if let Some(form) = cures {
                report.work_out_cures(form.helps_silenced());
            }
            Ok(report)
        }
        Err(why) => Err(Unread {
            file: Disk::name(path).to_string(),
            why,
        }),
    };
    paths.par_iter().map(analyse).collect()
}

/// The reports of settings files that hold for specs and have findings.
fn settings_with_mistakes(disk: &Disk) -> Vec<Report> {
    let mut settings = disk.settings_reports();
    settings.retain(|report| !report.findings.is_empty());
    settings
}

/// One spec of each folder that can be read. The same settings hold for all specs in it.
fn one_of_each_folder(specs: &[PathBuf]) -> impl Iterator<Item = &PathBuf> {
    let mut folders = HashSet::new();
    let is_there = |path: &&PathBuf| input::is_standard_input(path) || path.exists();
    let there = specs.iter().filter(is_there);
    there.filter(move |path| folders.insert(path.parent()))
}

/// Silences the findings that the baseline knows, or writes all of them into it.
fn compare(reports: &mut [Report], path: &Path, write_it: bool) -> Result<Compared, CannotRun> {
    let folder = real(folder_of(path));
    let relative = |file: &str| relative(file, &folder);
    let name = Disk::name(path);
    let baseline = if write_it {
        let baseline = Baseline::of(reports, &relative);
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
    Ok(baseline.silence(reports, &name, &files))
}

/// The path of a file from a folder. It does not depend on where the program runs.
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
