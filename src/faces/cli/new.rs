//! `bitepoint new`

use super::{CannotRun, Status, print, print_exactly, shown};
use crate::faces::output::{self, Product, refuse_name};
use clap::ValueEnum;
use std::path::{Path, PathBuf};

/// What to start with.
#[derive(ValueEnum, Clone, Copy, PartialEq, Debug)]
pub enum Way {
    /// A master cylinder and a slave outside on the bell housing
    Hydraulic,
    /// A master cylinder and a concentric slave around the input shaft
    Concentric,
    /// A cable
    Cable,
    /// Rods and a cross-shaft
    Linkage,
    /// A library of parts that specs bring in
    Parts,
}

impl Way {
    fn starter(self) -> &'static str {
        match self {
            Self::Hydraulic => include_str!("../../../examples/new/hydraulic.clutch"),
            Self::Concentric => include_str!("../../../examples/new/concentric.clutch"),
            Self::Cable => include_str!("../../../examples/new/cable.clutch"),
            Self::Linkage => include_str!("../../../examples/new/linkage.clutch"),
            Self::Parts => include_str!("../../../examples/new/parts.clutch"),
        }
    }
}

pub struct Request {
    pub way: Way,
    /// Standard output where there is none.
    pub file: Option<PathBuf>,
    pub force: bool,
    pub list: bool,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    if request.list {
        print(&list())?;
        return Ok(Status::Clean);
    }
    match &request.file {
        None => print_exactly(request.way.starter())?,
        Some(file) => {
            write(file, request.way.starter(), request.force)?;
            print(&format!("{} is written\n", shown(file)))?;
        }
    }
    Ok(Status::Clean)
}

fn list() -> String {
    let row = |value: clap::builder::PossibleValue| {
        let help = value
            .get_help()
            .map(ToString::to_string)
            .unwrap_or_default();
        format!("{:12} {help}\n", value.get_name())
    };
    let values = Way::value_variants()
        .iter()
        .filter_map(Way::to_possible_value);
    values.map(row).collect()
}

/// Writes a file; one that is there already only when that is wanted.
fn write(file: &Path, text: &str, force: bool) -> Result<(), CannotRun> {
    refuse_name(file, Product::Spec)?;
    if force {
        return super::write(file, text);
    }
    match output::create(file, text.as_bytes())? {
        true => Ok(()),
        false => Err(format!(
            "`{}` is there already and is left as it is; `--force` writes over it",
            shown(file)
        )),
    }
}
