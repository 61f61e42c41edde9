//! Which files a spec may use: one policy for the command line and for the server.
//!
//! A spec may come from anyone, and the text of a used file is shown where it has mistakes. So a `use` reads only
//! specs. They must be in the spec's own project, in the folders that the user works in, or in libraries that the
//! user names.

use super::paths::{folder_of, is_spec, real};
use super::read::reason;
use crate::finding::FileName;
use crate::model::{ReadError, join};
use crate::settings::SETTINGS_FILE;
use std::path::{Path, PathBuf};

/// What marks the root of a repository.
const REPOSITORY: &str = ".git";

/// Which files may be read on behalf of a spec.
#[derive(Debug, Default)]
pub struct ReadPolicy {
    /// The folders that the user works in: those of an editor's workspace, or those named on the command line.
    folders: Vec<PathBuf>,
    /// Folders outside of those from which every spec may read.
    libraries: Vec<PathBuf>,
    /// Whether the user works in an editor, where such libraries can be set.
    in_editor: bool,
}

impl ReadPolicy {
    /// The policy for folders named on the command line.
    pub fn of_folders(folders: &[PathBuf]) -> Self {
        Self {
            folders: folders.iter().map(|folder| real(folder)).collect(),
            ..Self::default()
        }
    }

    /// The policy for an editor's workspace.
    pub fn of_workspace(folders: &[PathBuf], libraries: &[PathBuf]) -> Self {
        Self {
            libraries: libraries.iter().map(|folder| real(folder)).collect(),
            in_editor: true,
            ..Self::of_folders(folders)
        }
    }

    /// The real path of a file that a spec uses, if the spec may read it. `library` holds the library folders of the
    /// spec's settings.
    ///
    /// # Errors
    /// Why it may not be read, and how to allow it.
    pub fn used(
        &self,
        spec: &Path,
        library: &[FileName],
        file: &Path,
    ) -> Result<PathBuf, ReadError> {
        // A name that leads to where the program runs is empty.
        let is_here = file.as_os_str().is_empty();
        let file = if is_here { Path::new(".") } else { file };
        let target = real(file);
        if !is_in(&target, &self.folders) {
            self.in_project_or_library(spec, library, file, &target)?;
        }
        regular(&target)?;
        if is_spec(&target) {
            return Ok(target);
        }
        let why = match is_spec(file) {
            true => "leads to a file that is not a spec, and is not read",
            false => "is not a spec, and is not read",
        };
        Err(ReadError {
            why: why.to_owned(),
            help: Some("the name of a spec ends in `.clutch`".to_owned()),
        })
    }

    fn in_project_or_library(
        &self,
        spec: &Path,
        library: &[FileName],
        file: &Path,
        target: &Path,
    ) -> Result<(), ReadError> {
        let library = library.iter().map(|folder| real(Path::new(&**folder)));
        let libraries: Vec<PathBuf> = library.chain(self.libraries.iter().cloned()).collect();
        if is_in(target, &libraries) {
            return Ok(());
        }
        let root = Root::of(folder_of(spec));
        if target.starts_with(&root.folder) {
            return Ok(());
        }
        let written = written(file);
        let allowed = [&libraries, &self.folders];
        let is_link = written.starts_with(&root.folder)
            || allowed.into_iter().any(|folders| is_in(&written, folders));
        Err(ReadError {
            why: format!("{} the project, and is not read", outside(is_link)),
            help: Some(self.help(&root)),
        })
    }

    /// What a spec may use, and how to allow more.
    fn help(&self, root: &Root) -> String {
        let name = match root.folder.file_name() {
            Some(name) => format!("`{}`", name.to_string_lossy()),
            None => "the root of the file system".to_owned(),
        };
        let workspace = match self.in_editor && !self.folders.is_empty() {
            true => "the workspace and ",
            false => "",
        };
        let (kind, wider) = match root.is_marked {
            true => ("project", ""),
            false => (
                "own",
                "an empty `bitepoint.toml` in a folder above allows all of that folder; ",
            ),
        };
        let setting = match self.in_editor {
            true => ", or in the setting `bitepoint.libraries`",
            false => "",
        };
        format!(
            "a spec may use `.clutch` files in {workspace}its {kind} folder, here {name}; {wider}to \
             allow any other folder, list it under `library` in `bitepoint.toml`{setting}"
        )
    }

    /// The real path of a settings file, if it may be read. It must be no link, or a link to a settings file in the
    /// same project.
    ///
    /// # Errors
    /// Why it is not read, as the end of a sentence.
    pub fn settings(&self, file: &Path) -> Result<PathBuf, String> {
        let target = real(file);
        let folder = real(folder_of(file));
        let is_own = target.parent() == Some(&folder);
        if !is_own && !is_in(&target, &self.folders) {
            let root = Root::of(&folder).folder;
            if !target.starts_with(&root) {
                return Err(format!(
                    "{} the project, and is not read; `--config` takes settings from anywhere",
                    outside(written(file).starts_with(&root))
                ));
            }
        }
        if target.is_symlink() {
            return Err("is a link that leads nowhere".to_owned());
        }
        regular(&target).map_err(|refused| refused.why)?;
        match target.extension() {
            Some(extension) if extension == "toml" => Ok(target),
            _ => Err("leads to a file that holds no settings, and is not read".to_owned()),
        }
    }
}

fn is_in(path: &Path, folders: &[PathBuf]) -> bool {
    folders.iter().any(|folder| path.starts_with(folder))
}

/// Where a path would lead if it had no links.
fn written(path: &Path) -> PathBuf {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    PathBuf::from(&*join("", &whole.to_string_lossy()))
}

/// How a file can be outside of a project, in words.
fn outside(is_link: bool) -> &'static str {
    match is_link {
        true => "is a link that leads outside",
        false => "is outside",
    }
}

/// Checks that a path is a regular file. Opening a pipe would wait until something writes to it.
fn regular(file: &Path) -> Result<(), ReadError> {
    match std::fs::metadata(file) {
        Ok(data) if data.is_file() => Ok(()),
        Ok(data) if data.is_dir() => Err("is a folder".to_owned().into()),
        Ok(_) => Err("is not a regular file, and is not read".to_owned().into()),
        Err(error) => Err(reason(&error).into()),
    }
}

/// The root of the project from which a spec may read.
struct Root {
    folder: PathBuf,
    /// Whether something marks it as the root of a project.
    is_marked: bool,
}

impl Root {
    /// The root of the project around a folder: its repository, else the nearest folder with settings, else the
    /// folder itself.
    fn of(folder: &Path) -> Self {
        let folder = real(folder);
        let with = |mark: &str| {
            let mut above = folder.ancestors();
            above.find(|folder| folder.join(mark).exists())
        };
        let marked = with(REPOSITORY).or_else(|| with(SETTINGS_FILE));
        Self {
            is_marked: marked.is_some(),
            folder: marked.map_or_else(|| folder.clone(), Path::to_owned),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spec(folder: &Path, name: &str) -> PathBuf {
        let path = folder.join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, "").unwrap();
        path
    }

    fn lets(policy: &ReadPolicy, spec: &Path, file: &Path) -> bool {
        policy.used(spec, &[], file).is_ok()
    }

    #[test]
    fn no_file_outside_of_the_workspace_is_read_unless_allowed() {
        let place = tempfile::tempdir().unwrap();
        let car = spec(place.path(), "work/cars/car.clutch");
        let parts = spec(place.path(), "work/parts.clutch");
        let library = spec(place.path(), "library/parts.clutch");
        let [work, libraries] = ["work", "library"].map(|name| place.path().join(name));
        let policy = ReadPolicy::of_workspace(std::slice::from_ref(&work), &[]);
        assert!(lets(&policy, &car, &parts));
        assert!(!lets(&policy, &car, &library));
        assert!(!lets(&policy, &car, &place.path().join("missing.clutch")));
        assert!(
            lets(&policy, &library, &library),
            "a document from elsewhere"
        );
        assert!(!lets(
            &policy,
            &library,
            &spec(place.path(), "other/parts.clutch")
        ));
        assert!(lets(
            &ReadPolicy::of_workspace(&[work], &[libraries]),
            &car,
            &library
        ));
        let settings = place.path().join("library").to_string_lossy().into();
        assert!(policy.used(&car, &[settings], &library).is_ok());
    }

    #[test]
    fn without_a_workspace_a_spec_reads_its_project() {
        let place = tempfile::tempdir().unwrap();
        let car = spec(place.path(), "work/cars/car.clutch");
        let near = spec(place.path(), "work/cars/deep/parts.clutch");
        let far = spec(place.path(), "work/parts.clutch");
        let policy = ReadPolicy::default();
        assert!(lets(&policy, &car, &near));
        assert!(!lets(&policy, &car, &far));
        spec(place.path(), "work/bitepoint.toml");
        assert!(lets(&policy, &car, &far));
        // A repository is one project, whatever settings its folders have.
        spec(place.path(), "work/cars/bitepoint.toml");
        assert!(!lets(&policy, &car, &far));
        spec(place.path(), "work/.git/HEAD");
        assert!(lets(&policy, &car, &far));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_out_of_the_workspace_is_not_followed() {
        let place = tempfile::tempdir().unwrap();
        let car = spec(place.path(), "work/car.clutch");
        let outside = spec(place.path(), "outside.clutch");
        let link = place.path().join("work/link.clutch");
        std::os::unix::fs::symlink(outside, &link).unwrap();
        let policy = ReadPolicy::of_folders(&[place.path().join("work")]);
        assert!(!lets(&policy, &car, &link));
    }
}
