//! The command line.

mod arguments;
mod bom;
mod calc;
mod check;
mod compare;
mod diagnose;
mod explain;
mod fix;
mod format;
mod generate;
mod import;
mod input;
mod manual;
mod new;
mod options;
mod page;
mod progress;
mod sheet;
mod size;

use super::files::disk::shown;
use super::output::{self, Written};
use super::render::{LeftOut, TextStyle};
use super::sanitize;
use super::server::Log;
use super::sheet::{Extent, Prices};
use super::streams::{is_all_said, print, print_exactly, say, say_exactly};
use crate::analysis::{BomRequest, Report, Search, Worked, no_system};
use crate::checks::Finding;
use crate::finding::Severity;
use crate::model::Source;
use arguments::{Arguments, Verb};
use clap::Parser;
use fix::Fixing;
use options::{Config, Format};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

const STATUS: &str = "Exit status: 0 nothing found at or above the failing level; 1 findings; \
                      2 could not run.";

const WORKED_OUT: &str = "Exit status: 0 no error in what was asked for; 1 an error, or a system that cannot be worked \
                          out; 2 could not run.";

const FORMATTED: &str = "Exit status: 0 every file is in canonical form; 1 with `--check`, one is not, or one has \
                         mistakes and is left as it is; 2 could not run.";

const ORDERED: &str = "Exit status: 0 all in the list passes its check; 1 something does not, or the \
                       spec has mistakes; 2 could not run.";

const IMPORTED: &str = "Exit status: 0 all parts are read; 1 the table has mistakes, and nothing is \
                        written; 2 could not run.";

const COMPARED: &str = "Exit status: 0 nothing came at or above the failing level; 1 such findings \
                        came; 2 could not run.";

const DIAGNOSED: &str = "Exit status: 0 no visit drags as measured, and the spec has no error; 1 one drags, or \
                         the spec has errors; 2 could not run. Without a \
                         reading, what can be read is listed.";

const SIZED: &str = "Exit status: 0 something passes every check; 1 nothing does; 2 could not run.";

/// The result of a verb.
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
            fix,
            diff,
            pick: picks,
            verbose,
            config,
        } => check::run(&check::Request {
            paths,
            form: format,
            fail_on: fail_on.severity(),
            output,
            baseline,
            write_baseline,
            fix: match (diff, fix) {
                (true, _) => Fixing::Shown,
                (false, true) => Fixing::Written,
                (false, false) => Fixing::None,
            },
            picks,
            verbose,
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
            all,
            names,
            config,
        } => calc::run(&calc::Request {
            file,
            system,
            picks,
            format,
            at,
            curve: curve.then_some(points as usize),
            all,
            names,
            config,
        }),
        Verb::Bom {
            file,
            system,
            pick: picks,
            mix,
            kits,
            by,
            format,
            config,
        } => bom::mixes(mix).and_then(|mix| {
            bom::run(&bom::Request {
                file,
                wanted: BomRequest {
                    system,
                    picks,
                    mix,
                    kits,
                },
                by_supplier: by == Some(bom::By::Supplier),
                format,
                config,
            })
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
            units,
            force,
            list,
        } => new::run(&new::Request {
            way,
            units,
            file,
            force,
            list,
        }),
        Verb::Page {
            file,
            output,
            page,
            config,
        } => page::run(&page::Request {
            file,
            output,
            page,
            config,
        }),
        Verb::Sheet {
            file,
            system,
            pick: picks,
            prices,
            full,
            format,
            output,
            config,
        } => sheet::run(&sheet::Request {
            file,
            system,
            picks,
            form: format.form(),
            prices: match prices {
                true => Prices::Shown,
                false => Prices::Hidden,
            },
            extent: match full {
                true => Extent::Full,
                false => Extent::Fitting,
            },
            output,
            config,
        }),
        Verb::Import {
            file,
            output,
            config,
        } => import::run(&import::Request {
            file,
            output,
            config,
        }),
        Verb::Size {
            file,
            system,
            vary,
            pick: picks,
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
                picks,
                order: by.order(),
                best: usize::from(best),
            },
            format,
            config,
        }),
        Verb::Explain { what, manual } => {
            // `explain slave travel` needs no quotes.
            let what = (!what.is_empty()).then(|| what.join(" "));
            explain::run(what.as_deref(), manual)
        }
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

/// The exit status of a verb. If standard error did not take a message, the status must not read as a pass.
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

/// Prints a message of clap. Help and versions are answers; the rest are mistakes in the arguments.
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
    // A message with an argument that could control the terminal loses its colors.
    match safe == plain && has_colour(&std::io::stderr()) {
        true => say_exactly(&text.ansi().to_string()),
        false => say_exactly(&safe),
    }
    ExitCode::from(2)
}

/// The systems that a request asks for.
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

/// Adds to an answer which systems it has no room for.
fn tell_left_out(left_out: Option<&LeftOut>, verb: &str, file: &str) {
    if let Some(left_out) = left_out {
        say(&left_out.words(verb, &sanitize::name(file)));
    }
}

/// The reason why an answer for one car needs one combination, for a system that leaves something to choose.
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

/// The status from the findings of some systems and of the text that they are made of. An error fails, and so does a
/// system that cannot be worked out. Without a system the whole text counts.
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

/// The result of a verb that needs a system, for a file without one. Either there is nothing to do, or mistakes in
/// the text are the reason.
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

/// Writes a whole file, and says what is left under its other names.
fn write(path: &Path, text: &str) -> Result<(), CannotRun> {
    if output::write(path, text.as_bytes())? == Written::Parted {
        say(&format!(
            "`{}` had another name, a hard link; the old text is still there under that",
            shown(path)
        ));
    }
    Ok(())
}

/// The style for standard output: color on a terminal, unless color is turned off.
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
