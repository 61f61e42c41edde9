//! `bitepoint sheet`

use super::{
    CannotRun, Config, Status, input, needs_pick, print, status, tell_left_out, wanted,
    without_system, write,
};
use crate::analysis::{Pick, Worked, analyse, analyse_picked};
use crate::faces::output::{Product, refuse_input, refuse_name};
use crate::faces::sheet::{Extent, Form, Prices, SheetOptions, logo, sheet_with};
use std::path::{Path, PathBuf};

pub struct Request {
    pub file: PathBuf,
    pub system: Option<String>,
    /// The parts picked where the system leaves a choice.
    pub picks: Vec<Pick>,
    pub form: Form,
    pub prices: Prices,
    pub extent: Extent,
    /// The file to write; `None` for standard output.
    pub output: Option<PathBuf>,
    pub config: Config,
}

const PRODUCT: Product = Product::Other("the sheet");

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    if let Some(path) = &request.output {
        refuse_name(path, PRODUCT)?;
    }
    let disk = request.config.disk()?;
    let source = input::read(&request.file, &disk)?;
    let report = match request.picks.as_slice() {
        picks @ [_, ..] => analyse_picked(source, &disk, request.system.as_deref(), picks)?,
        [] => analyse(source, &disk),
    }
    .with_settings();
    let systems = wanted(&report, request.system.as_deref())?;
    let needs_pick = |worked: &&Worked| needs_pick(worked, "a sheet is for one combination");
    if let Some(why) = systems.iter().find_map(needs_pick) {
        return Err(why);
    }
    let status = status(&report, &systems);
    if systems.is_empty() {
        return without_system(&report, status);
    }
    let options = SheetOptions {
        prices: request.prices,
        extent: request.extent,
        logo: logo(&report.settings)?,
    };
    let (text, left_out) = sheet_with(&report, &systems, request.form, &options);
    tell_left_out(left_out.as_ref(), "sheet", &report.source.name);
    match &request.output {
        None => print(&text)?,
        Some(path) => {
            let read = disk.inputs();
            refuse_input(path, PRODUCT, read.iter().map(|name| Path::new(&**name)))?;
            write(path, &text)?;
        }
    }
    Ok(status)
}
