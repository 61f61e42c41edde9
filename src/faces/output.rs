//! Everything that the program writes, except to standard output.
//!
//! A file has either its old text or the whole new one, whatever happens in between. The new text goes into a
//! temporary file beside it, which then replaces it. The file keeps its permissions, and its owner where the system
//! permits that. A symbolic link is kept, and the file that it leads to is written. If a file has several names (hard
//! links), its other names keep the old text.
//!
//! A run that is killed may leave the temporary file behind. The file is hidden and its name is not that of a spec,
//! so that nothing reads it.

use super::files::disk::shown;
use super::files::paths::{folder_of, is_spec, real};
use crate::settings::SETTINGS_FILE;
use std::fs::{File, Metadata, OpenOptions};
use std::io::{Error, ErrorKind, Result as IoResult, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// How many links may lead to one another in a row, as on Linux.
const MAX_LINKS: usize = 40;

/// The kind of output.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Product {
    Spec,
    /// Any other output, with its name for messages.
    Other(&'static str),
}

impl Product {
    fn name(self) -> &'static str {
        match self {
            Self::Spec => "the spec",
            Self::Other(name) => name,
        }
    }
}

/// How a file was written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Written {
    /// Everything that was there before is replaced.
    Whole,
    /// It had other names, which still have the old text.
    Parted,
}

/// Writes a whole file, replacing an existing one.
///
/// # Errors
/// Why it is not written, as a sentence. A regular file is then unchanged.
pub fn write(path: &Path, text: &[u8]) -> Result<Written, String> {
    let written = target(path).and_then(|target| match target {
        Target::File(file) => replace(&file, text),
        Target::Stream(stream) => {
            // After the present contents of an open file.
            let stream = OpenOptions::new().append(true).open(stream)?;
            pour(stream, text)
        }
        Target::StandardOutput => pour(std::io::stdout().lock(), text),
        Target::StandardError => pour(std::io::stderr().lock(), text),
    });
    written.map_err(|error| sentence(path, &error))
}

/// Writes a whole file if there is none yet. Says whether it was written.
///
/// # Errors
/// Why it is not written, as a sentence.
pub fn create(path: &Path, text: &[u8]) -> Result<bool, String> {
    if path.symlink_metadata().is_ok() {
        return Ok(false);
    }
    let created = temporary(path, text).and_then(|new| {
        new.as_file().sync_all()?;
        new.persist_noclobber(path).map_err(|failed| failed.error)
    });
    match created {
        Ok(_) => Ok(true),
        Err(error) if error.kind() == ErrorKind::AlreadyExists => Ok(false),
        Err(error) => Err(sentence(path, &error)),
    }
}

/// Refuses a name for an output that only another kind of output has.
///
/// # Errors
/// The output has such a name; the error is a sentence.
pub fn refuse_name(path: &Path, product: Product) -> Result<(), String> {
    let target = place(path);
    let either = |is: fn(&Path) -> bool| is(path) || is(&target);
    let what = if either(is_settings) {
        "a file of settings"
    } else if product != Product::Spec && either(is_spec) {
        "a spec"
    } else {
        return Ok(());
    };
    Err(format!(
        "`{}` is {what} by its name; write {} to a file with another name",
        shown(path),
        product.name(),
    ))
}

/// Refuses an output that would replace a file read in this run.
///
/// # Errors
/// It would replace one; the error is a sentence.
pub fn refuse_input<'p>(
    path: &Path,
    product: Product,
    inputs: impl IntoIterator<Item = &'p Path>,
) -> Result<(), String> {
    let Some(output) = identity(path) else {
        return Ok(());
    };
    let mut inputs = inputs.into_iter();
    match inputs.find(|input| identity(input).as_ref() == Some(&output)) {
        None => Ok(()),
        Some(_) => Err(format!(
            "`{}` is read in this run; write {} to another file",
            shown(path),
            product.name(),
        )),
    }
}

/// Whether two outputs are the same file, even if it does not exist yet.
pub fn is_same(one: &Path, other: &Path) -> bool {
    place(one) == place(other) || identity(one).is_some_and(|one| Some(one) == identity(other))
}

fn is_settings(path: &Path) -> bool {
    path.file_name()
        .is_some_and(|name| name.eq_ignore_ascii_case(SETTINGS_FILE))
}

/// The path where an output is really written.
fn place(path: &Path) -> PathBuf {
    match target(path) {
        Ok(Target::File(file) | Target::Stream(file)) => real(&file),
        _ => path.to_owned(),
    }
}

/// The identity of a regular file, by whichever of its names.
#[cfg(unix)]
fn identity(path: &Path) -> Option<(u64, u64)> {
    use std::os::unix::fs::MetadataExt;
    let data = path.metadata().ok().filter(Metadata::is_file)?;
    Some((data.dev(), data.ino()))
}

#[cfg(not(unix))]
fn identity(path: &Path) -> Option<PathBuf> {
    path.is_file().then(|| path.canonicalize().ok())?
}

/// The target of an output.
#[derive(Debug)]
enum Target {
    /// A regular file or a path without one yet; never a link.
    File(PathBuf),
    /// A pipe, a terminal, a device.
    Stream(PathBuf),
    StandardOutput,
    StandardError,
}

fn target(path: &Path) -> IoResult<Target> {
    let mut path = path.to_owned();
    for _ in 0..MAX_LINKS {
        if let Some(open) = descriptor(&path) {
            return Ok(open);
        }
        let data = match path.symlink_metadata() {
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Target::File(path)),
            data => data?,
        };
        if data.is_dir() {
            return Err(ErrorKind::IsADirectory.into());
        } else if data.is_file() {
            return Ok(Target::File(path));
        } else if !data.is_symlink() {
            return Ok(Target::Stream(path));
        }
        path = folder_of(&path).join(path.read_link()?);
    }
    Err(Error::other("its links lead to one another"))
}

/// A stream that is open already, under a name that the system gives to it. Replacing it by a file would not reach
/// its reader.
fn descriptor(path: &Path) -> Option<Target> {
    let folder = real(folder_of(path));
    if !folder.is_absolute() || !(folder.starts_with("/proc") || folder.starts_with("/dev/fd")) {
        return None;
    }
    let is_own = folder == real(Path::new("/dev/fd"));
    let number = path.file_name().filter(|_| is_own);
    Some(match number.and_then(|name| name.to_str()) {
        Some("1") => Target::StandardOutput,
        Some("2") => Target::StandardError,
        _ => Target::Stream(path.to_owned()),
    })
}

/// Writes to a stream. A reader that has seen enough and left is no error.
fn pour(mut stream: impl Write, text: &[u8]) -> IoResult<Written> {
    match stream.write_all(text).and_then(|()| stream.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(error),
        _ => Ok(Written::Whole),
    }
}

/// Replaces a file by a new one, or makes it.
fn replace(file: &Path, text: &[u8]) -> IoResult<Written> {
    // Whether a file may be written depends on the file and not on its folder.
    let before = match OpenOptions::new().write(true).open(file) {
        Ok(before) => Some(before.metadata()?),
        Err(error) if error.kind() == ErrorKind::NotFound => None,
        Err(error) => return Err(error),
    };
    let new = temporary(file, text)?;
    if let Some(before) = &before {
        keep_permissions(new.as_file(), before)?;
    }
    new.as_file().sync_all()?;
    new.persist(file).map_err(|failed| failed.error)?;
    Ok(match before {
        Some(before) if has_other_names(&before) => Written::Parted,
        _ => Written::Whole,
    })
}

/// A text in a temporary file beside another. It is removed when dropped.
fn temporary(beside: &Path, text: &[u8]) -> IoResult<NamedTempFile> {
    let folder = folder_of(beside);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".bitepoint-").suffix(".tmp");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As for any new file, limited by the user's mask.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut new = builder.tempfile_in(folder).map_err(|error| {
        match error.kind() {
            ErrorKind::NotFound => Error::other(format!("there is no folder `{}`", shown(folder))),
            ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
                Error::other("its folder may not be written, so no new file can take its place")
            }
            // Without the name of the temporary file, which says nothing to a reader.
            kind => match error.get_ref().and_then(|error| error.source()) {
                Some(cause) => Error::new(kind, cause.to_string()),
                None => error,
            },
        }
    })?;
    new.as_file_mut().write_all(text)?;
    Ok(new)
}

/// Gives a file the permissions of another, and its owner where the system permits that.
#[cfg(unix)]
fn keep_permissions(file: &File, before: &Metadata) -> IoResult<()> {
    use std::os::unix::fs::{MetadataExt, PermissionsExt, fchown};
    let now = file.metadata()?;
    let (owner, group) = (Some(before.uid()), Some(before.gid()));
    let is_same = (now.uid(), now.gid()) == (before.uid(), before.gid());
    let keeps_group =
        is_same || fchown(file, owner, group).is_ok() || fchown(file, None, group).is_ok();
    let mode = before.permissions().mode();
    file.set_permissions(std::fs::Permissions::from_mode(match keeps_group {
        true => mode,
        // A new group gets no more permissions than everyone.
        false => mode & !0o070 | (mode & 0o007) << 3,
    }))
}

#[cfg(not(unix))]
fn keep_permissions(_: &File, _: &Metadata) -> IoResult<()> {
    // The folder decides the permissions.
    Ok(())
}

#[cfg(unix)]
fn has_other_names(data: &Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(data) > 1
}

#[cfg(not(unix))]
fn has_other_names(_: &Metadata) -> bool {
    false
}

/// Why a file cannot be written, as a sentence.
pub fn sentence(path: &Path, error: &Error) -> String {
    let path = shown(path);
    match error.kind() {
        ErrorKind::IsADirectory => format!("`{path}` is a folder and cannot be written"),
        ErrorKind::PermissionDenied => format!("`{path}` may not be written"),
        _ => format!("`{path}` cannot be written: {error}"),
    }
}
