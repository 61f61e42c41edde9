//! `bitepoint bom`

use super::{CannotRun, Config, Status, input, print, progress, say};
use crate::analysis::{BomRequest, NoBom, bom};
use crate::faces::render::{bom_csv, bom_json, bom_markdown, bom_text};
use crate::faces::sanitize;
use clap::ValueEnum;
use std::path::PathBuf;

pub struct Request {
    pub file: PathBuf,
    pub wanted: BomRequest,
    /// Whether the list is sorted and summed by supplier.
    pub by_supplier: bool,
    pub format: Format,
    pub config: Config,
}

#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Format {
    /// For people
    Text,
    /// For a spreadsheet
    Csv,
    /// Markdown
    Md,
    /// For machines; documented in grammar/formats.md
    Json,
}

/// What the list is sorted and summed by.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum By {
    /// Who sells the parts
    Supplier,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    let disk = request.config.disk()?;
    let source = input::read(&request.file, &disk)?;
    let found = progress::with(|work| bom(source, &disk, &request.wanted, work));
    let mut found = match found {
        Ok(found) => found,
        Err(NoBom::Mistakes(why)) => {
            say(&sanitize::sanitize(&why));
            return Ok(Status::Findings);
        }
        Err(NoBom::Asked(why)) => return Err(why),
    };
    let by_supplier = request.by_supplier;
    if by_supplier {
        found.sort_by_supplier();
    }
    print(&match request.format {
        Format::Text => bom_text(&found, by_supplier),
        Format::Csv => bom_csv(&found, by_supplier)?,
        Format::Md => bom_markdown(&found, by_supplier),
        Format::Json => bom_json(&found),
    })?;
    // A table for a spreadsheet has no room for it.
    if found.failing_count > 0 && request.format == Format::Csv {
        for failing in &found.failing {
            say(&sanitize::sanitize(&format!("fails its check: {failing}")));
        }
    }
    Ok(match found.failing_count {
        0 => Status::Clean,
        _ => Status::Findings,
    })
}

/// Reads `slave=hy_s22:30`, one part of a mix.
pub fn mixed(text: &str) -> Result<Mixed, String> {
    let wrong = || "give a block, a part and how many, such as `slave=hy_s22:30`".to_owned();
    let (rest, count) = text.rsplit_once(':').ok_or_else(wrong)?;
    let (block, part) = match rest.split_once('=') {
        Some((block, part)) => (Some(block.trim().to_owned()), part.trim().to_owned()),
        None => (None, rest.trim().to_owned()),
    };
    let count: u32 = count.trim().parse().map_err(|_| wrong())?;
    if part.is_empty() || count == 0 || block.as_deref() == Some("") {
        return Err(wrong());
    }
    Ok(Mixed { block, part, count })
}

/// One part of a mix; without a block, of the block of the part before it.
#[derive(Clone, Debug)]
pub struct Mixed {
    block: Option<String>,
    part: String,
    count: u32,
}

/// The parts of a mix by block: `slave=hy_s22:30,hy_s25:10`.
///
/// # Errors
/// The first part has no block.
pub fn mixes(parts: Vec<Mixed>) -> Result<Vec<crate::analysis::Mix>, CannotRun> {
    let mut mixes: Vec<crate::analysis::Mix> = Vec::new();
    for Mixed { block, part, count } in parts {
        match (block, mixes.last_mut()) {
            (Some(block), Some((known, parts))) if *known == block => parts.push((part, count)),
            (Some(block), _) => mixes.push((block, vec![(part, count)])),
            (None, Some((_, parts))) => parts.push((part, count)),
            (None, None) => {
                return Err(format!(
                    "the mix does not say which block `{part}` is of, as in `slave={part}:{count}`"
                ));
            }
        }
    }
    Ok(mixes)
}
