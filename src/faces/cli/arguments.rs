//! The arguments of the command line.

use super::options::{Best, Config, FailOn, Format, SheetFormat, VaryList, pick};
use super::{COMPARED, DIAGNOSED, FORMATTED, IMPORTED, ORDERED, SIZED, STATUS, WORKED_OUT};
use super::{bom, check, compare, diagnose, new};
use crate::analysis::diagnosis::read_reading;
use crate::analysis::{Pick, Search, read_vary};
use crate::diagnose::Taken;
use crate::faces::VERSION;
use clap::{Parser, Subcommand};
use std::path::PathBuf;

/// A language server and linter for clutch-actuation specs.
#[derive(Parser, Debug)]
#[command(name = "bitepoint", version = VERSION, about, long_about = None, propagate_version = true)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub verb: Verb,
}

#[derive(Subcommand, Debug)]
pub(super) enum Verb {
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
        /// First mend every mistake in the text that has one sure fix, write the files, then check
        /// them
        #[arg(long, conflicts_with = "write_baseline")]
        fix: bool,
        /// One combination of the only system of a file that leaves something to choose, and nothing
        /// else of that file: `slave=hy_s22`
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick,
              conflicts_with_all = ["fix", "diff", "baseline"])]
        pick: Vec<Pick>,
        /// Show notes whole, not only how many there are
        #[arg(long, short)]
        verbose: bool,
        /// Show what `--fix` would change, and change nothing
        #[arg(long, conflicts_with_all = ["write_baseline", "output", "format", "baseline"])]
        diff: bool,
        #[command(flatten)]
        config: Config,
    },
    /// Work systems out: every result, with what is assumed and what is missing
    #[command(after_help = WORKED_OUT)]
    Calc {
        /// A file, or `-` for standard input
        file: PathBuf,
        /// One system of it [default: all]
        system: Option<String>,
        /// One combination of a system that leaves something to choose: `slave=hy_s22`
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick)]
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
        /// Also list what needs more input, what is assumed, and which tolerance brings what
        #[arg(long)]
        all: bool,
        /// Call results by the names that a spec and the machine forms use: `release_margin`
        #[arg(long)]
        names: bool,
        #[command(flatten)]
        config: Config,
    },
    /// List what to order: part numbers, suppliers, quantities, prices and their sums
    #[command(after_help = ORDERED)]
    Bom {
        /// A file, or `-` for standard input
        file: PathBuf,
        /// One system of it [default: the only one]
        system: Option<String>,
        /// One combination of a system that leaves something to choose: `slave=hy_s22` [default:
        /// one of each part of the combinations that work]
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick)]
        pick: Vec<Pick>,
        /// How many kits take which part: `slave=hy_s22:30,hy_s25:10`
        #[arg(long, value_name = "BLOCK=PART:KITS", value_delimiter = ',',
              value_parser = bom::mixed)]
        mix: Vec<bom::Mixed>,
        /// How many kits to order for [default: as many as are mixed, or 1]
        #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..))]
        kits: Option<u32>,
        /// Sort the list, and sum it up, by this
        #[arg(long, value_enum)]
        by: Option<bom::By>,
        /// The form of the list
        #[arg(long, value_enum, default_value_t = bom::Format::Text)]
        format: bom::Format,
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
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick)]
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
        /// The units of its values
        #[arg(long, value_enum, default_value_t = new::Units::Mm)]
        units: new::Units,
        /// Write over a file that is there already
        #[arg(long, requires = "file")]
        force: bool,
        /// List the ways
        #[arg(long, conflicts_with_all = ["file", "force", "units"])]
        list: bool,
    },
    /// Put a spec, with the libraries that it uses, into a page that checks it in a browser
    Page {
        /// The spec, such as a kit
        file: PathBuf,
        /// The page to write
        #[arg(long, value_name = "FILE")]
        output: PathBuf,
        /// The page to put it into [default: `bitepoint-page.html` beside the program]
        #[arg(long, value_name = "FILE")]
        page: Option<PathBuf>,
        #[command(flatten)]
        config: Config,
    },
    /// Write the fitting sheet: what to buy, to cut, to set and to check on the car, for print
    #[command(after_help = WORKED_OUT)]
    Sheet {
        /// A file, or `-` for standard input
        file: PathBuf,
        /// One system of it [default: all, a sheet each]
        system: Option<String>,
        /// One combination of a system that leaves something to choose: `slave=hy_s22`
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick)]
        pick: Vec<Pick>,
        /// Also say what the parts cost
        #[arg(long)]
        prices: bool,
        /// Behind the two pages, also every result, the curves, the drawing and what is assumed
        #[arg(long)]
        full: bool,
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
        /// Of a system with choices, the parts to keep: `slave=hy_s22,master=hy_m19`. What varies
        /// is tried with these alone
        #[arg(long, value_name = "BLOCK=PART", value_delimiter = ',', value_parser = pick)]
        pick: Vec<Pick>,
        /// What to rank by
        #[arg(long, value_enum, default_value_t = Best::Margin)]
        by: Best,
        /// How many of the best to list
        #[arg(long, default_value_t = Search::USUAL_BEST, value_parser = clap::value_parser!(u16).range(1..))]
        best: u16,
        /// The form of the answer
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
        #[command(flatten)]
        config: Config,
    },
    /// Make a library of parts out of a table: a header row of `block`, `part` and fields with
    /// their units (`bore [in]`), then a row for each part
    #[command(after_help = IMPORTED)]
    Import {
        /// A table of comma-separated values in UTF-8, or `-` for standard input
        file: PathBuf,
        /// Write the library to this file, unless it is there already [default: standard output]
        #[arg(long, short, value_name = "FILE")]
        output: Option<PathBuf>,
        #[command(flatten)]
        config: Config,
    },
    /// Say what a check, a block, a field, a result, a word of the trade or the units mean
    Explain {
        /// A check, a `block`, a `block.field`, a result, a word such as `drag`, or `units` or
        /// `words` for a list of them [default: a list of all]
        what: Vec<String>,
        /// All of it on one page, as Markdown
        #[arg(long, conflicts_with = "what")]
        manual: bool,
    },
    /// Bring specs into canonical form
    #[command(after_help = FORMATTED)]
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
