//! Renaming of files and folders.

use super::Lsp;
use crate::analysis::{Edit, Moves, moved_settings, moved_uses};
use crate::faces::server::protocol::client::Client;
use crate::faces::server::protocol::client_settings::ClientSettings;
use crate::faces::server::state::{Snapshot, World, name_of};
use crate::finding::FileName;
use lsp_types as lsp;
use std::collections::BTreeSet;
use std::sync::Arc;

/// The moves in a client's request to rename files.
pub(crate) fn moves_of(renamed: &[lsp::FileRename]) -> Moves {
    let name = |uri: &str| -> Option<FileName> {
        let name = name_of(&lsp::Url::parse(uri).ok()?);
        // A folder's name may end with a slash.
        Some(match name.strip_suffix('/') {
            Some(folder) => folder.into(),
            None => name,
        })
    };
    let moves = renamed.iter();
    Moves::new(moves.filter_map(|one| Some((name(&one.old_uri)?, name(&one.new_uri)?))))
}

/// The edits after which every `use`, and every path of the settings, still leads to its present target when files
/// and folders have their new names. `None` if no edit is needed.
pub(crate) fn edits_of_moves(
    moves: &Moves,
    world: &World,
    client: Client,
    settings: &ClientSettings,
) -> Option<lsp::WorkspaceEdit> {
    let after = world.after(moves);
    let files = world.all();
    let edited = |file: &Snapshot, edits: Vec<Edit>| {
        let edits = Lsp::new(file, client, settings).edits(edits);
        let buffer = &file.buffer;
        (!edits.is_empty()).then(|| (buffer.uri.clone(), buffer.version, edits))
    };
    let uses = files
        .iter()
        .filter_map(|file| edited(file, moved_uses(file.scope(), moves, &after)));
    let settings_files = settings_of(&files, world);
    let paths = settings_files.iter().filter_map(|file| {
        let report = file.report();
        edited(
            file,
            moved_settings(&report.source, &report.settings, moves),
        )
    });
    let edited: Vec<_> = uses.chain(paths).collect();
    let any = files.iter().find(|_| !edited.is_empty())?;
    Some(Lsp::new(any, client, settings).changes(edited))
}

/// The settings files that hold for any of these files and that name other files.
fn settings_of(files: &[Arc<Snapshot>], world: &World) -> Vec<Arc<Snapshot>> {
    // Files of one folder have the same settings.
    let mut folders = BTreeSet::new();
    let mut names = BTreeSet::new();
    for file in files {
        let folder = file.buffer.name.rsplit_once('/').map(|(folder, _)| folder);
        if folders.insert(folder) {
            let settings = file.settings();
            let with_paths = settings.file.clone().filter(|_| !settings.paths.is_empty());
            names.extend(with_paths);
        }
    }
    names.iter().filter_map(|name| world.file(name)).collect()
}
