//! `bitepoint check --fix`

use super::input::Found;
use super::{CannotRun, Status, input, print, say, shown, write};
use crate::analysis::{CureSearch, Mended, Work, mended};
use crate::faces::files::disk::Disk;
use crate::faces::output::{Product, refuse_name};
use crate::faces::sanitize;
use crate::model::Source;
use crate::syntax::MAX_FILE_BYTES;
use similar::TextDiff;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How mistakes in the text that have a single certain fix are treated.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fixing {
    /// They are reported like all others.
    None,
    /// They are fixed in the files.
    Written,
    /// The changes are shown, and nothing is written.
    Shown,
}

/// Makes a new disk, which has read nothing yet.
type Disks<'d> = &'d dyn Fn() -> Result<Disk, CannotRun>;

/// Fixes the mistakes with a single certain fix in every spec that can be read and written, even if others fail.
/// Specs that cannot be read are left to the check that follows.
///
/// # Errors
/// A file could not be written. The error has a sentence for each.
pub fn write_fixed(paths: &[PathBuf], disks: Disks<'_>) -> Result<(), CannotRun> {
    let Found { specs, .. } = input::specs(paths)?;
    if specs.iter().any(|path| input::is_standard_input(path)) {
        return Err(
            "`--fix` writes files, and standard input is none; `--diff` shows what it would change"
                .to_owned(),
        );
    }
    let mut cannot = Vec::new();
    // A name corrected in a library may be the one that an earlier spec needed.
    let mut counts = vec![0; specs.len()];
    for _ in 0..=specs.len() {
        let mut changed = false;
        for (path, count) in specs.iter().zip(&mut counts) {
            match fix_one(path, &disks()?) {
                Ok(0) => {}
                Ok(fixed) => {
                    *count += fixed;
                    changed = true;
                }
                Err(why) if !cannot.contains(&why) => cannot.push(why),
                Err(_) => {}
            }
        }
        if !changed || !cannot.is_empty() {
            break;
        }
    }
    for (path, count) in specs.iter().zip(counts).filter(|(_, count)| *count > 0) {
        let fixes = if count == 1 { "fix" } else { "fixes" };
        say(&format!("made {count} {fixes} in `{}`", shown(path)));
    }
    match cannot.is_empty() {
        true => Ok(()),
        false => Err(cannot.join("\n")),
    }
}

/// Writes one spec with its fixes. Gives the number of fixed mistakes.
fn fix_one(path: &Path, disk: &Disk) -> Result<usize, CannotRun> {
    let Ok(source) = input::read_one(path, disk) else {
        return Ok(0);
    };
    let Mended { text, count } = mend(&source, disk)?;
    if count == 0 {
        return Ok(0);
    }
    refuse_name(path, Product::Spec)?;
    if !path.is_file() {
        return Err(format!(
            "`{}` is not a regular file and cannot be written back; `--diff` shows what would change",
            shown(path)
        ));
    }
    write(path, &text)?;
    Ok(count)
}

/// The text of a spec after its fixes.
fn mend(source: &Arc<Source>, disk: &Disk) -> Result<Mended, CannotRun> {
    let work = Work {
        cures: CureSearch::WhenAsked,
        ..Work::default()
    };
    let mended = mended(source, disk, &work);
    match mended.text.len() > MAX_FILE_BYTES {
        true => Err(format!(
            "`{}` would be too large to be read again, and is left as it is",
            sanitize::name(&source.name)
        )),
        false => Ok(mended),
    }
}

/// Shows what the fixes would change, as a unified diff.
///
/// # Errors
/// A file cannot be read, or its fixed text would be too large. The error has a sentence for each.
pub fn show(paths: &[PathBuf], disks: Disks<'_>) -> Result<Status, CannotRun> {
    let found = input::specs(paths)?;
    let mut cannot: Vec<String> = found.unread.iter().map(ToString::to_string).collect();
    let mut status = Status::Clean;
    let disk = disks()?;
    for path in &found.specs {
        let mended = input::read(path, &disk).and_then(|source| {
            let mended = mend(&source, &disk)?;
            Ok((source, mended))
        });
        match mended {
            Ok((_, Mended { count: 0, .. })) => {}
            Ok((source, mended)) => {
                status = Status::Findings;
                print(&diff(&source, &mended.text))?;
            }
            Err(why) => cannot.push(why),
        }
    }
    match cannot.is_empty() {
        true => Ok(status),
        false => Err(cannot.join("\n")),
    }
}

fn diff(source: &Source, after: &str) -> String {
    let diff = TextDiff::from_lines(source.text.as_str(), after);
    let mut unified = diff.unified_diff();
    unified.context_radius(2).header(&source.name, &source.name);
    sanitize::sanitize(&unified.to_string())
}
