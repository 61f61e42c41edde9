//! Paths: where they really lead, how they are seen from elsewhere, and which are specs.

use std::path::{Component, Path, PathBuf};

/// A path without symbolic links. For a file that does not exist it is the path that it would have.
pub(crate) fn real(path: &Path) -> PathBuf {
    // No longer path can be opened, and it would have very many folders above it.
    const LONGEST: usize = 4096;
    let is_short = path.as_os_str().len() <= LONGEST;
    let above = path.ancestors().filter(|_| is_short);
    let known = above.map(|above| match above.as_os_str().is_empty() {
        true => (above, Path::new(".").canonicalize()),
        false => (above, above.canonicalize()),
    });
    let mut known = known.filter_map(|(above, real)| Some((above, real.ok()?)));
    match known.next() {
        Some((above, real)) if above == path => real,
        Some((above, real)) => match path.strip_prefix(above) {
            Ok(rest) => real.join(rest),
            Err(_) => path.to_owned(),
        },
        None => path.to_owned(),
    }
}

/// A path as seen from a folder; `None` if they have no folder in common.
pub(crate) fn seen_from(folder: &Path, path: &Path) -> Option<PathBuf> {
    let is_common = |(a, b): &(Component<'_>, Component<'_>)| a == b;
    let common = folder.components().zip(path.components());
    let common = common.take_while(is_common).count();
    let is_root = |part: &Component<'_>| matches!(part, Component::RootDir | Component::Prefix(_));
    let is_nothing = path.components().take(common).all(|part| is_root(&part));
    let up = folder
        .components()
        .skip(common)
        .map(|_| Component::ParentDir);
    (!is_nothing).then(|| up.chain(path.components().skip(common)).collect())
}

/// The folder that a path leads into; for a bare name, the current folder.
pub(crate) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Whether a file is a spec, judged by its name.
pub(crate) fn is_spec(path: &Path) -> bool {
    path.extension()
        .is_some_and(|extension| extension.eq_ignore_ascii_case("clutch"))
}
