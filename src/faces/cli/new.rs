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

/// The units of a starter's values.
#[derive(ValueEnum, Clone, Copy, PartialEq, Debug)]
pub enum Units {
    /// Millimetres, newtons and megapascals
    Mm,
    /// Inches, pounds-force and psi
    In,
}

impl Way {
    /// The text of the starter.
    fn starter(self, units: Units) -> &'static str {
        match (self, units) {
            (Self::Hydraulic, Units::Mm) => include_str!("../../../examples/new/hydraulic.clutch"),
            (Self::Hydraulic, Units::In) => {
                include_str!("../../../examples/new/inches/hydraulic.clutch")
            }
            (Self::Concentric, Units::Mm) => {
                include_str!("../../../examples/new/concentric.clutch")
            }
            (Self::Concentric, Units::In) => {
                include_str!("../../../examples/new/inches/concentric.clutch")
            }
            (Self::Cable, Units::Mm) => include_str!("../../../examples/new/cable.clutch"),
            (Self::Cable, Units::In) => {
                include_str!("../../../examples/new/inches/cable.clutch")
            }
            (Self::Linkage, Units::Mm) => include_str!("../../../examples/new/linkage.clutch"),
            (Self::Linkage, Units::In) => {
                include_str!("../../../examples/new/inches/linkage.clutch")
            }
            (Self::Parts, Units::Mm) => include_str!("../../../examples/new/parts.clutch"),
            (Self::Parts, Units::In) => {
                include_str!("../../../examples/new/inches/parts.clutch")
            }
        }
    }
}

pub struct Request {
    pub way: Way,
    pub units: Units,
    /// The file to write; `None` for standard output.
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
        None => print_exactly(request.way.starter(request.units))?,
        Some(file) => {
            write(file, request.way.starter(request.units), request.force)?;
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

/// Writes a file; over an existing one only with `force`.
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
