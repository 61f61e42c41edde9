//! `bitepoint size`

use super::{
    CannotRun, Config, Format, Status, input, print, progress, say, status, without_system,
};
use crate::analysis::{NoSizes, Search, analyse, size};
use crate::faces::render::{size_json, size_text};
use std::path::PathBuf;

pub struct Request {
    pub file: PathBuf,
    /// The system; the file's only one if none is named.
    pub system: Option<String>,
    /// The request; its system is filled in from the file.
    pub search: Search,
    pub format: Format,
    pub config: Config,
}

pub fn run(request: Request) -> Result<Status, CannotRun> {
    let disk = request.config.disk()?;
    let source = input::read(&request.file, &disk)?;
    let system = match request.system {
        Some(system) => system,
        None => {
            let names: Vec<&str> = source.systems().map(|s| s.name.text.as_str()).collect();
            match names.as_slice() {
                [] => {
                    let report = analyse(source, &disk).with_settings();
                    return without_system(&report, status(&report, &[]));
                }
                [one] => (*one).to_owned(),
                all => {
                    return Err(format!(
                        "`{}` has several systems; name one: {}",
                        source.name,
                        all.join(", ")
                    ));
                }
            }
        }
    };
    let search = Search {
        system,
        ..request.search
    };
    let sizes = match progress::with(|work| size(source, &disk, &search, work)) {
        Ok(sizes) => sizes,
        Err(NoSizes::Mistakes(why)) => {
            say(&why);
            return Ok(Status::Findings);
        }
        Err(NoSizes::Asked(why)) => return Err(why),
    };
    print(&match request.format {
        Format::Text => size_text(&search.system, &sizes),
        Format::Json => size_json(&search.system, &sizes),
    })?;
    Ok(match sizes.passing {
        0 => Status::Findings,
        _ => Status::Clean,
    })
}
