//! The edits of a file after files and folders are renamed.

use super::Scope;
use crate::finding::FileName;
use crate::model::{Files, Source, join, relative, use_target};
use crate::settings::{Settings, WrittenPath};
use crate::syntax::{Edit, quoted};
use toml_writer::ToTomlValue;

/// Files and folders with their new names, all renamed at once.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Moves(Vec<(FileName, FileName)>);

impl Moves {
    /// Renames from the first name of each pair to the second. A folder moves with everything in it.
    pub fn new(moves: impl IntoIterator<Item = (FileName, FileName)>) -> Self {
        Self(moves.into_iter().collect())
    }

    /// The name that a file will have.
    pub fn new_name(&self, old: &FileName) -> FileName {
        let moved = self.0.iter().filter_map(|(from, to)| {
            let rest = below(from, old)?;
            Some((from.len(), format!("{to}{rest}")))
        });
        // For a folder and one inside it, the inner one says where its files go.
        let nearest = moved.max_by_key(|(length, _)| *length);
        nearest.map_or_else(|| old.clone(), |(_, new)| new.into())
    }

    /// The present name of the file that will have a name; `None` if no file will.
    pub fn old_name(&self, new: &FileName) -> Option<FileName> {
        let came = self.0.iter().filter_map(|(from, to)| {
            let rest = below(to, new)?;
            Some(FileName::from(format!("{from}{rest}")))
        });
        let mut stayed = came.chain([new.clone()]);
        stayed.find(|old| self.new_name(old) == *new)
    }
}

/// The rest of a name after that of a folder, or the empty rest of the name itself. `None` for a name elsewhere.
fn below<'n>(folder: &str, name: &'n str) -> Option<&'n str> {
    let rest = name.strip_prefix(folder.trim_end_matches('/'))?;
    (rest.is_empty() || rest.starts_with('/')).then_some(rest)
}

/// The edits of a file's `use` paths so that after the moves each leads to the file that it leads to now. `after`
/// reads files by their new names.
pub fn moved_uses(scope: &Scope, moves: &Moves, after: &dyn Files) -> Vec<Edit> {
    let source = scope.root();
    let name = moves.new_name(&source.name);
    let mut edits = Vec::new();
    for (span, old) in scope.uses() {
        let wanted = moves.new_name(old);
        if name == source.name && wanted == *old {
            continue;
        }
        let Some(written) = source.uses().find(|used| used.path.span == span) else {
            continue;
        };
        let written = &written.path.text;
        let leads_there = |path: &str| use_target(&name, path, after).as_ref() == Some(&wanted);
        if leads_there(written) {
            continue;
        }
        let way = relative(&name, &wanted);
        // The path keeps its form: absolute, relative to the folder, or through the library.
        let whole = written.starts_with('/').then(|| wanted.to_string());
        let dotted = written.starts_with("./") && !way.starts_with("../");
        let library = &after.settings(&name).library;
        let is_shelved = join(&source.name, written) != *old;
        let shelf = library.iter().filter_map(|folder| {
            let rest = below(folder, &wanted).filter(|_| is_shelved)?;
            Some(rest.trim_start_matches('/').to_owned())
        });
        let ways = [dotted.then(|| format!("./{way}")), Some(way.clone())];
        let mut paths = whole
            .into_iter()
            .chain(shelf)
            .chain(ways.into_iter().flatten());
        if let Some(path) = paths.find(|path| leads_there(path)) {
            edits.push(Edit {
                span: source.range(span),
                text: quoted(&path),
            });
        }
    }
    edits
}

/// The edits of the paths in a settings file so that after the moves each leads to what it leads to now.
pub fn moved_settings(source: &Source, settings: &Settings, moves: &Moves) -> Vec<Edit> {
    let name = moves.new_name(&source.name);
    let edit = |written: &WrittenPath| {
        let wanted = moves.new_name(&written.target);
        let plain = written.text.replace('\\', "/");
        let leads_there = |path: &str| join(&name, path) == wanted;
        if leads_there(&plain) {
            return None;
        }
        let way = match written.is_folder {
            true => way_to_folder(&name, &wanted),
            false => relative(&name, &wanted),
        };
        // The path keeps its form: absolute or relative to the folder.
        let whole = plain.starts_with('/').then(|| wanted.to_string());
        let dotted = plain.starts_with("./") && !way.starts_with('.');
        let ways = [whole, dotted.then(|| format!("./{way}")), Some(way)];
        let mut path = ways.into_iter().flatten().find(|path| leads_there(path))?;
        if plain.ends_with('/') {
            path.push('/');
        }
        Some(Edit {
            span: source.range(written.place.span),
            text: path.to_toml_value(),
        })
    };
    settings.paths.iter().filter_map(edit).collect()
}

/// The path from a file to a folder, which may be a folder that contains the file.
fn way_to_folder(from: &str, folder: &str) -> String {
    let inside = relative(from, &format!("{folder}/_"));
    let way = inside.trim_end_matches('_').trim_end_matches('/');
    match way {
        "" => ".".to_owned(),
        way => way.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_paths_of_settings_are_rewritten_as_they_were_written() {
        for (written, from, to, wanted) in [
            ("shelf", "/w/shelf", "/w/parts", Some("parts")),
            ("./shelf/", "/w/shelf", "/w/parts", Some("./parts/")),
            ("/w/shelf", "/w/shelf", "/w/a/parts", Some("/w/a/parts")),
            ("shelf", "/w/shelf", "/v/parts", Some("../v/parts")),
            ("../v", "/v", "/w", Some(".")),
            ("shelf", "/w", "/v", None),
            ("shelf", "/w/shelf/s.clutch", "/w/s.clutch", None),
            (
                "shelf",
                "/w/bitepoint.toml",
                "/w/cars/bitepoint.toml",
                Some("../shelf"),
            ),
            (
                ".",
                "/w/bitepoint.toml",
                "/w/cars/bitepoint.toml",
                Some(".."),
            ),
        ] {
            let text = format!("library = [\"{written}\"]\n");
            let source = Source::plain("/w/bitepoint.toml".into(), text);
            let settings = crate::analysis::read_settings(&source);
            let moves = Moves::new([(from.into(), to.into())]);
            let edits = moved_settings(&source, &settings, &moves);
            let texts: Vec<&str> = edits.iter().map(|edit| edit.text.as_str()).collect();
            let quoted = wanted.map(|path| format!("\"{path}\""));
            assert_eq!(texts, quoted.as_slice(), "{written} once {from} is {to}");
        }
    }

    #[test]
    fn a_folder_takes_along_what_is_in_it() {
        let moves = Moves::new([
            ("/w/parts".into(), "/w/library".into()),
            ("/w/parts/old".into(), "/w/attic".into()),
            ("/w/a.clutch".into(), "/w/b.clutch".into()),
            ("/w/b.clutch".into(), "/w/a.clutch".into()),
        ]);
        for (old, new) in [
            ("/w/parts/x.clutch", "/w/library/x.clutch"),
            ("/w/parts/old/x.clutch", "/w/attic/x.clutch"),
            ("/w/partsx/x.clutch", "/w/partsx/x.clutch"),
            ("/w/a.clutch", "/w/b.clutch"),
            ("/w/b.clutch", "/w/a.clutch"),
        ] {
            assert_eq!(&*moves.new_name(&old.into()), new);
            assert_eq!(moves.old_name(&new.into()).as_deref(), Some(old));
        }
        assert_eq!(moves.old_name(&"/w/parts/x.clutch".into()), None);
    }
}
