//! The command line.

mod calc;
mod check;
mod compare;
mod describe;
mod diagnose;
mod explain;
mod format;
mod generate;
mod input;
mod manual;
mod new;
mod options;
mod progress;
mod sheet;
mod size;

use super::files::disk::shown;
use super::output::{self, Written};
use super::render::{LeftOut, TextStyle};
use super::sanitize;
use super::server::Log;
use super::streams::{is_all_said, print, print_exactly, say, say_exactly};
use crate::analysis::diagnosis::read_reading;
use crate::analysis::{Pick, Report, Search, Worked, no_system, read_vary};
use crate::checks::Finding;
use crate::diagnose::Taken;
use crate::finding::Severity;
use crate::model::Source;
use clap::{Parser, Subcommand};
use options::{Best, Config, FailOn, Format, SheetFormat, VaryList, pick};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// A language server and linter for clutch-actuation specs.
#[derive(Parser, Debug)]
#[command(name = "bitepoint", version, about, long_about = None, propagate_version = true)]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand, Debug)]
enum Verb {
    /// Check specs: what will not work, what will trouble someone, what is not written right
    #[command(after_help = STATUS)]
    Check {
        /// Files or folders, or `-` for standard input [default: this folder]
        paths: Vec<PathBuf>,
        /// The form of the findings
        #[arg(long, value_enum, default_value_t = check::Form::Text)]
        format: check::Form,
        /// The least severity that makes the exit status 1
        #[arg(long, value_enum, default_value_t = FailOn::Error)]
        fail_on: FailOn,
        /// Write the findings to this file
        #[arg(long, value_name = "FILE")]
        output: Option<PathBuf>,
        /// Report only what is not in this file of known findings
        #[arg(long, value_name = "FILE")]
        baseline: Option<PathBuf>,
        /// Write everything that is found into the baseline first
        #[arg(long, requires = "baseline")]
        write_baseline: bool,
        #[command(flatten)]
        config: Config,
    },
    /// Work systems out: every result, with what is assumed and what is missing
    #[command(after_help = STATUS)]
    Calc {
        /// A file, or `-` for standard input
        file: PathBuf,
        /// One system of it [default: all]
        system: Option<String>,
        /// One combination of a system that leaves something to choose: `slave=hy_s22`
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick,
              requires = "system")]
        pick: Vec<Pick>,
        /// The form of the results
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
        /// Hold the pedal at this travel of the pad, such as `"90 mm"`
        #[arg(long, value_name = "TRAVEL")]
        at: Option<String>,
        /// The whole travel as comma-separated values
        #[arg(long, conflicts_with_all = ["format", "at"])]
        curve: bool,
        /// How many points the curve has
        #[arg(long, default_value_t = 101, requires = "curve",
              value_parser = clap::value_parser!(u32).range(2..=100_000))]
        points: u32,
        #[command(flatten)]
        config: Config,
    },
    /// Hold two versions of a spec against each other: what changed, which results moved, which
    /// findings came and went
    #[command(after_help = COMPARED)]
    Compare {
        /// A file or a folder [default with `--from`: this folder]
        #[arg(required_unless_present = "from")]
        path: Option<PathBuf>,
        /// The file or folder that holds the later version
        #[arg(conflicts_with_all = ["from", "to"])]
        other: Option<PathBuf>,
        /// Compare with the path at this git revision
        #[arg(long, value_name = "REVISION")]
        from: Option<String>,
        /// The later git revision [default: the files as they are]
        #[arg(long, value_name = "REVISION", requires = "from")]
        to: Option<String>,
        /// Compare two systems, by their names before and after; without a second file, both
        /// of the one file
        #[arg(long, num_args = 2, value_names = ["BEFORE", "AFTER"])]
        systems: Option<Vec<String>>,
        /// The form of the comparison
        #[arg(long, value_enum, default_value_t = compare::Format::Text)]
        format: compare::Format,
        /// The least severity of a new finding that makes the exit status 1
        #[arg(long, value_enum, default_value_t = FailOn::Error)]
        fail_on: FailOn,
        #[command(flatten)]
        config: Config,
    },
    /// Find a fault by what was measured on the car: what explains the readings, and what to measure next
    #[command(after_help = DIAGNOSED)]
    Diagnose {
        /// A file, or `-` for standard input
        file: PathBuf,
        /// One system of it [default: those with readings]
        system: Option<String>,
        /// What was read besides what the spec says: `slave_travel="0.45 in"`, `frees=no`. It goes
        /// into the last visit
        #[arg(long = "reading", value_name = "NAME=VALUE", value_parser = read_reading)]
        readings: Vec<Taken>,
        /// One combination of a system that leaves something to choose: `slave=hy_s22`
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick,
              requires = "system")]
        pick: Vec<Pick>,
        /// The form of the answer
        #[arg(long, value_enum, default_value_t = diagnose::Form::Text)]
        format: diagnose::Form,
        #[command(flatten)]
        config: Config,
    },
    /// Write a commented spec to start with, for each way of actuation
    New {
        /// What to start with
        #[arg(value_enum, default_value_t = new::Way::Hydraulic)]
        way: new::Way,
        /// Where to write it [default: standard output]
        file: Option<PathBuf>,
        /// Write over a file that is there already
        #[arg(long, requires = "file")]
        force: bool,
        /// List the ways
        #[arg(long, conflicts_with_all = ["file", "force"])]
        list: bool,
    },
    /// Write the fitting sheet: what to buy, to cut, to set and to check on the car, for print
    #[command(after_help = STATUS)]
    Sheet {
        /// A file, or `-` for standard input
        file: PathBuf,
        /// One system of it [default: all, a page each]
        system: Option<String>,
        /// One combination of a system that leaves something to choose: `slave=hy_s22`
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick,
              requires = "system")]
        pick: Vec<Pick>,
        /// The form of the sheet
        #[arg(long, value_enum, default_value_t = SheetFormat::Html)]
        format: SheetFormat,
        /// Write it to this file [default: standard output]
        #[arg(long, short, value_name = "FILE")]
        output: Option<PathBuf>,
        #[command(flatten)]
        config: Config,
    },
    /// Look for sizes: every combination of what may vary, those that pass best first
    #[command(after_help = SIZED)]
    Size {
        /// A file, or `-` for standard input
        file: PathBuf,
        /// One system of it [default: the only one]
        system: Option<String>,
        /// What may vary: a bore (`master.bore`), values (`master.bore=5/8 in,3/4 in`), a range
        /// (`pedal.rod_arm=45 mm to 60 mm step 1 mm`), parts (`slave=hy_s22,hy_s25`), or all parts
        /// of a block (`slave`) [default: the system's choices, or else all bores]
        #[arg(long, value_name = "WHAT", value_parser = read_vary)]
        vary: Vec<VaryList>,
        /// What the best has most of
        #[arg(long, value_enum, default_value_t = Best::Margin)]
        by: Best,
        /// How many of the best to list
        #[arg(long, default_value_t = 12, value_parser = clap::value_parser!(u16).range(1..))]
        best: u16,
        /// The form of the answer
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
        #[command(flatten)]
        config: Config,
    },
    /// Say what a check, a block, a field, a result or the units mean
    Explain {
        /// A check, a `block`, a `block.field`, a result, or `units` [default: a list of all]
        what: Option<String>,
        /// All of it on one page, as Markdown
        #[arg(long, conflicts_with = "what")]
        manual: bool,
    },
    /// Bring specs into canonical form
    #[command(after_help = STATUS)]
    Fmt {
        /// Files or folders, or `-` to read standard input and write standard output
        /// [default: this folder]
        paths: Vec<PathBuf>,
        /// Change nothing; say which files would change
        #[arg(long)]
        check: bool,
    },
    /// Serve an editor over standard input and output
    Serve {
        /// Add to this file what is said and done, when, and how long it takes: no text of a spec,
        /// only sizes
        #[arg(long, value_name = "FILE")]
        log: Option<PathBuf>,
        /// Put the messages themselves into the log, and so the texts of specs
        #[arg(long, requires = "log")]
        log_text: bool,
    },
    /// Print what a shell needs to complete this program's arguments
    Completions {
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    Man {
        /// Write it into this folder instead, with the pages of the verbs
        folder: Option<PathBuf>,
    },
}

const STATUS: &str = "Exit status: 0 nothing found at or above the failing level; 1 findings; \
                      2 could not run.";

const COMPARED: &str = "Exit status: 0 nothing came at or above the failing level; 1 such findings \
                        came; 2 could not run.";

const DIAGNOSED: &str = "Exit status: 0 no visit drags as measured, and the spec has no error; 1 one drags, or \
                         the spec has errors; 2 could not run, or nothing was read.";

const SIZED: &str = "Exit status: 0 something passes every check; 1 nothing does; 2 could not run.";

/// What a verb came to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Status {
    Clean,
    Findings,
}

/// Why a verb could not run, as a sentence.
type CannotRun = String;

/// Runs the program on the process's arguments.
pub fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            return told(&error);
        }
    };
    let done = match arguments.verb {
        Verb::Check {
            paths,
            format,
            fail_on,
            output,
            baseline,
            write_baseline,
            config,
        } => check::run(&check::Request {
            paths,
            form: format,
            fail_on: fail_on.severity(),
            output,
            baseline,
            write_baseline,
            config,
        }),
        Verb::Calc {
            file,
            system,
            pick: picks,
            format,
            at,
            curve,
            points,
            config,
        } => calc::run(&calc::Request {
            file,
            system,
            picks,
            format,
            at,
            curve: curve.then_some(points as usize),
            config,
        }),
        Verb::Compare {
            path,
            other,
            from,
            to,
            systems,
            format,
            fail_on,
            config,
        } => compare::run(&compare::Request {
            path: path.unwrap_or_else(|| PathBuf::from(".")),
            other,
            from,
            to,
            systems: systems.and_then(|names| <[String; 2]>::try_from(names).ok()),
            format,
            fail_on: fail_on.severity(),
            config,
        }),
        Verb::Diagnose {
            file,
            system,
            readings,
            pick: picks,
            format,
            config,
        } => diagnose::run(&diagnose::Request {
            file,
            system,
            picks,
            readings,
            form: format,
            config,
        }),
        Verb::New {
            way,
            file,
            force,
            list,
        } => new::run(&new::Request {
            way,
            file,
            force,
            list,
        }),
        Verb::Sheet {
            file,
            system,
            pick: picks,
            format,
            output,
            config,
        } => sheet::run(&sheet::Request {
            file,
            system,
            picks,
            form: format.form(),
            output,
            config,
        }),
        Verb::Size {
            file,
            system,
            vary,
            by,
            best,
            format,
            config,
        } => size::run(size::Request {
            file,
            system,
            search: Search {
                system: String::new(),
                vary: vary.into_iter().flatten().collect(),
                order: by.order(),
                best: usize::from(best),
            },
            format,
            config,
        }),
        Verb::Explain { what, manual } => explain::run(what.as_deref(), manual),
        Verb::Fmt { paths, check } => format::run(&paths, check),
        Verb::Completions { shell } => generate::completions(shell),
        Verb::Man { folder } => generate::man(folder.as_deref()),
        Verb::Serve { log, log_text } => {
            let log = log.as_deref().map(|path| Log {
                path,
                with_text: log_text,
            });
            return super::server::serve(log);
        }
    };
    ended(done)
}

/// The exit status of what was done. Where standard error did not take what had to be said, nobody
/// may read the status as a pass.
fn ended(done: Result<Status, CannotRun>) -> ExitCode {
    if let Err(why) = &done {
        say(why);
    }
    match done {
        _ if !is_all_said() => ExitCode::from(2),
        Ok(Status::Clean) => ExitCode::SUCCESS,
        Ok(Status::Findings) => ExitCode::from(1),
        Err(_) => ExitCode::from(2),
    }
}

/// Tells what clap has to say: help and versions are answers, the rest are mistakes in the
/// arguments.
fn told(error: &clap::Error) -> ExitCode {
    let text = error.render();
    if !error.use_stderr() {
        let printed = match style().colour {
            true => print_exactly(&text.ansi().to_string()),
            false => print_exactly(&text.to_string()),
        };
        return ended(printed.map(|()| Status::Clean));
    }
    let plain = text.to_string();
    let safe = sanitize::sanitize(&plain);
    // An argument that could steer the terminal costs the message its colours.
    match safe == plain && has_colour(&std::io::stderr()) {
        true => say_exactly(&text.ansi().to_string()),
        false => say_exactly(&safe),
    }
    ExitCode::from(2)
}

/// The systems that are asked for.
fn wanted<'a>(report: &'a Report, name: Option<&str>) -> Result<Vec<&'a Worked>, CannotRun> {
    let Some(name) = name else {
        return Ok(report.worked_systems().collect());
    };
    let found: Vec<&Worked> = report
        .worked_systems()
        .filter(|worked| worked.system.name == name)
        .collect();
    if found.is_empty() {
        return Err(no_system(&report.source, name));
    }
    Ok(found)
}

/// Says beside an answer which systems it has no room for.
fn tell_left_out(left_out: Option<&LeftOut>, verb: &str, file: &str) {
    if let Some(left_out) = left_out {
        say(&left_out.words(verb, &sanitize::name(file)));
    }
}

/// What is for one car needs one combination of a system that leaves something to choose: why it cannot be given
/// without.
fn needs_pick(worked: &Worked, why: &str) -> Option<CannotRun> {
    let labels = &worked.kit.as_ref()?.labels;
    let firsts = labels.axes.iter().filter_map(|axis| {
        let first = axis.choices.first()?;
        Some(format!("{}={first}", axis.subject.words()))
    });
    Some(format!(
        "`{name}` leaves something to choose, and {why}: name it and pick, such as `{name} --pick {}`",
        firsts.collect::<Vec<_>>().join(","),
        name = worked.system.name,
    ))
}

/// What is found of some systems of a file, and of what they are made of: errors fail, and so does a
/// system that cannot be worked out. Without a system all of the text counts.
fn status(report: &Report, systems: &[&Worked]) -> Status {
    let is_error = |finding: &Finding| finding.severity == Severity::Error;
    let not_worked = |worked: &&Worked| worked.outcome.is_err() && worked.kit.is_none();
    let fails = match systems {
        [] => report.findings.iter().any(is_error),
        _ => systems
            .iter()
            .any(|worked| not_worked(worked) || report.findings_of(worked).any(is_error)),
    };
    match fails {
        true => Status::Findings,
        false => Status::Clean,
    }
}

/// What a verb that needs a system comes to in a file that has none: there is nothing to do, or
/// mistakes in the text are why.
fn without_system(report: &Report, status: Status) -> Result<Status, CannotRun> {
    if status == Status::Clean {
        return Err(no_system_at_all(&report.source));
    }
    say(&format!(
        "`{}` has mistakes in it, and no system could be read; `bitepoint check` lists them",
        sanitize::name(&report.source.name)
    ));
    Ok(status)
}

fn no_system_at_all(source: &Source) -> CannotRun {
    format!("there is no system in `{}`", sanitize::name(&source.name))
}

/// Writes a whole file, and says what that leaves behind.
fn write(path: &Path, text: &str) -> Result<(), CannotRun> {
    if output::write(path, text.as_bytes())? == Written::Parted {
        say(&format!(
            "`{}` had another name, a hard link; the old text is still there under that",
            shown(path)
        ));
    }
    Ok(())
}

/// The style for standard output: colour on a terminal that was not asked to do without.
fn style() -> TextStyle {
    const PIPE_WIDTH: usize = 100;
    const NARROWEST: usize = 40;
    let terminal = std::io::stdout().is_terminal();
    TextStyle {
        colour: has_colour(&std::io::stdout()),
        width: terminal_size::terminal_size()
            .filter(|_| terminal)
            .map_or(PIPE_WIDTH, |(width, _)| usize::from(width.0).max(NARROWEST)),
    }
}

fn has_colour(stream: &impl IsTerminal) -> bool {
    let no_colour = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    stream.is_terminal() && !no_colour
}
