//! Files and folders that get other names.

use super::Lsp;
use crate::analysis::{Moves, moved_uses};
use crate::faces::server::protocol::client::Client;
use crate::faces::server::protocol::client_settings::ClientSettings;
use crate::faces::server::state::{World, name_of};
use crate::finding::FileName;
use lsp_types as lsp;

/// What a client says that it renames.
pub(crate) fn moves_of(renamed: &[lsp::FileRename]) -> Moves {
    let name = |uri: &str| -> Option<FileName> {
        let name = name_of(&lsp::Url::parse(uri).ok()?);
        // A folder may be named with a stroke behind it.
        Some(match name.strip_suffix('/') {
            Some(folder) => folder.into(),
            None => name,
        })
    };
    let moves = renamed.iter();
    Moves::new(moves.filter_map(|one| Some((name(&one.old_uri)?, name(&one.new_uri)?))))
}

/// The edits after which every `use` leads to what it leads to now, once files and folders have
/// their new names; `None` where none is needed.
pub(crate) fn edits_of_moves(
    moves: &Moves,
    world: &World,
    client: Client,
    settings: &ClientSettings,
) -> Option<lsp::WorkspaceEdit> {
    let after = world.after(moves);
    let files = world.all();
    let edited = files.iter().filter_map(|file| {
        let lsp = Lsp::new(file, client, settings);
        let edits = lsp.edits(moved_uses(file.scope(), moves, &after));
        let buffer = &file.buffer;
        (!edits.is_empty()).then(|| (buffer.uri.clone(), buffer.version, edits))
    });
    let edited: Vec<_> = edited.collect();
    let any = files.iter().find(|_| !edited.is_empty())?;
    Some(Lsp::new(any, client, settings).changes(edited))
}
