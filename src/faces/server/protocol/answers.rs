//! The answer to each request, independent of what runs the server. It comes from one state of a document or of the
//! whole workspace.

use super::client::Client;
use super::client_settings::ClientSettings;
use super::to_lsp::{Lsp, Standing, edits_of_moves, moves_of};
use crate::analysis;
use crate::faces::server::state::{Documents, World};
use crate::finding::Place;
use lsp_types::request::{
    CallHierarchyIncomingCalls, CallHierarchyOutgoingCalls, CallHierarchyPrepare,
    CodeActionRequest, CodeLensRequest, Completion, DocumentHighlightRequest, DocumentLinkRequest,
    DocumentSymbolRequest, FoldingRangeRequest, Formatting, GotoDefinition, HoverRequest,
    InlayHintRequest, OnTypeFormatting, PrepareRenameRequest, RangeFormatting, References, Rename,
    Request, SelectionRangeRequest, SemanticTokensRangeRequest, SignatureHelpRequest,
    TypeHierarchyPrepare, TypeHierarchySubtypes, TypeHierarchySupertypes, WillRenameFiles,
    WorkspaceSymbolRequest,
};
use lsp_types::*;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// A request that is answered from one document alone.
pub(crate) trait OfDocument: Request<Params: Send, Result: Default + Send> {
    /// The document that it is about.
    fn uri(params: &Self::Params) -> &Url;

    /// The answer of the document in one state.
    fn answer(lsp: Lsp<'_>, params: Self::Params) -> Self::Result;
}

/// A request about one document that is answered from it and all other files.
pub(crate) trait AmongFiles: Request<Params: Send, Result: Default + Send> {
    /// The document that it is about.
    fn uri(params: &Self::Params) -> &Url;

    /// The answer from the document and the files around it, at the same moment.
    ///
    /// # Errors
    /// Why it cannot be done, for the user.
    fn answer(lsp: Lsp<'_>, world: &World, params: Self::Params) -> Result<Self::Result, String>;
}

/// A request that is not about an open document.
pub(crate) trait OfWorkspace: Request<Params: Send, Result: Send> {
    /// The answer from all files at one moment.
    fn answer(workspace: &WorkspaceView<'_>, params: Self::Params) -> Self::Result;
}

/// All files at one moment, for one client.
pub(crate) struct WorkspaceView<'a> {
    pub world: &'a World,
    pub client: Client,
    pub settings: &'a ClientSettings,
}

/// The most symbols in an answer; nobody looks through more.
const MOST_SYMBOLS: usize = 1000;

/// Requests answered from one document: each with the way from its parameters to the document, and the answer.
macro_rules! of_document {
    ($($request:ty, $params:ident . $($way:ident).+ => |$lsp:ident| $answer:expr;)*) => {
        fn document_answer(method: &str) -> Option<Answer> {
            Some(match method {
                $(<$request as Request>::METHOD => |asked, params| asked.of_document::<$request>(params),)*
                _ => return None,
            })
        }
    $(
        impl OfDocument for $request {
            fn uri($params: &Self::Params) -> &Url {
                &$params.$($way).+
            }

            fn answer($lsp: Lsp<'_>, $params: Self::Params) -> Self::Result {
                // Some answers need only the document.
                let _ = &$params;
                $answer
            }
        }
    )*};
}

of_document! {
    CodeActionRequest, params.text_document.uri => |lsp| Some(lsp.actions(&params));
    Completion, params.text_document_position.text_document.uri => |lsp| {
        let offset = lsp.offset(params.text_document_position.position);
        if let Some(path) = analysis::use_path_at(lsp.report(), offset) {
            return Some(lsp.paths(path));
        }
        let shelves = || lsp.shelves();
        let found = analysis::completions_among(lsp.report(), offset, &shelves);
        Some(lsp.completion(found))
    };
    InlayHintRequest, params.text_document.uri => |lsp| {
        Some(lsp.inlays(params.range))
    };
    SignatureHelpRequest, params.text_document_position_params.text_document.uri => |lsp| {
        let offset = lsp.offset(params.text_document_position_params.position);
        Some(lsp.signature(analysis::signature(lsp.report(), offset)?))
    };
    TypeHierarchyPrepare, params.text_document_position_params.text_document.uri => |lsp| {
        lsp.type_items(params.text_document_position_params.position)
    };
    CallHierarchyPrepare, params.text_document_position_params.text_document.uri => |lsp| {
        lsp.call_items(params.text_document_position_params.position)
    };
    CodeLensRequest, params.text_document.uri => |lsp| {
        let found = analysis::lenses(lsp.report());
        Some(found.into_iter().map(|lens| lsp.lens(lens)).collect())
    };
    GotoDefinition, params.text_document_position_params.text_document.uri => |lsp| {
        let offset = lsp.offset(params.text_document_position_params.position);
        lsp.definition(&analysis::definition(lsp.report(), offset)?)
    };
    DocumentHighlightRequest, params.text_document_position_params.text_document.uri => |lsp| {
        lsp.highlights(params.text_document_position_params.position)
    };
    PrepareRenameRequest, params.text_document.uri => |lsp| lsp.renamable(params.position);
    DocumentSymbolRequest, params.text_document.uri => |lsp| {
        Some(lsp.symbols(analysis::symbols(lsp.snapshot.scope().root())))
    };
    DocumentLinkRequest, params.text_document.uri => |lsp| Some(lsp.links());
    FoldingRangeRequest, params.text_document.uri => |lsp| Some(lsp.folds());
    SelectionRangeRequest, params.text_document.uri => |lsp| {
        let positions = params.positions.iter();
        Some(positions.map(|at| lsp.selection(*at)).collect())
    };
    SemanticTokensRangeRequest, params.text_document.uri => |lsp| {
        let tokens = SemanticTokens {
            result_id: None,
            data: lsp.semantic_tokens(Some(lsp.span(params.range))),
        };
        Some(tokens.into())
    };
    Formatting, params.text_document.uri => |lsp| {
        Some(lsp.edits(analysis::formatting(lsp.report())?))
    };
    RangeFormatting, params.text_document.uri => |lsp| {
        let within = lsp.span(params.range);
        Some(lsp.edits(analysis::formatting_within(lsp.report(), within)?))
    };
    OnTypeFormatting, params.text_document_position.text_document.uri => |lsp| {
        let offset = lsp.offset(params.text_document_position.position);
        Some(lsp.edits(analysis::formatting_typed(lsp.report(), offset)?))
    };
}

/// Requests answered from a document and all other files: each with the way from its parameters to the document, and
/// the answer.
macro_rules! among_files {
    ($($request:ty, $params:ident . $($way:ident).+ => |$lsp:ident, $world:ident| $answer:expr;)*) => {
        fn answer_among_files(method: &str) -> Option<Answer> {
            Some(match method {
                $(<$request as Request>::METHOD => |asked, params| asked.among_files::<$request>(params),)*
                _ => return None,
            })
        }
    $(
        impl AmongFiles for $request {
            fn uri($params: &Self::Params) -> &Url {
                &$params.$($way).+
            }

            fn answer(
                $lsp: Lsp<'_>,
                $world: &World,
                $params: Self::Params,
            ) -> Result<Self::Result, String> {
                $answer
            }
        }
    )*};
}

among_files! {
    HoverRequest, params.text_document_position_params.text_document.uri => |lsp, world| {
        let offset = lsp.offset(params.text_document_position_params.position);
        let users = |part: &Place| lsp.users_elsewhere(part, world);
        let found = analysis::hover_among(lsp.report(), offset, &users);
        Ok(found.map(|found| lsp.hover(found)))
    };
    References, params.text_document_position.text_document.uri => |lsp, world| {
        let with_definitions = params.context.include_declaration;
        Ok(lsp.references(params.text_document_position.position, world, with_definitions))
    };
    Rename, params.text_document_position.text_document.uri => |lsp, world| {
        lsp.rename(params.text_document_position.position, &params.new_name, world)
            .map(Some)
    };
}

impl OfWorkspace for WorkspaceSymbolRequest {
    fn answer(workspace: &WorkspaceView<'_>, params: Self::Params) -> Self::Result {
        let files = workspace.world.all();
        let found = files.iter().flat_map(|file| {
            Lsp::new(file, workspace.client, workspace.settings).named_like(&params.query)
        });
        let found = found.take(MOST_SYMBOLS).collect();
        Some(WorkspaceSymbolResponse::Flat(found))
    }
}

impl WorkspaceView<'_> {
    /// The system or part for which a client's hierarchy item was made; `None` if the text there has changed.
    fn standing(&self, uri: &Url, name: &str, at: Range) -> Option<Standing<'_>> {
        Standing::of(self.world, self.client, self.settings, (uri, name, at))
    }
}

/// A request about an item of a hierarchy, with its answer.
macro_rules! of_item {
    ($($request:ty => $answer:ident;)*) => {$(
        impl OfWorkspace for $request {
            fn answer(workspace: &WorkspaceView<'_>, params: Self::Params) -> Self::Result {
                let item = params.item;
                let standing = workspace.standing(&item.uri, &item.name, item.selection_range)?;
                Some(standing.$answer())
            }
        }
    )*};
}

of_item! {
    TypeHierarchySupertypes => supertypes;
    TypeHierarchySubtypes => subtypes;
    CallHierarchyIncomingCalls => incoming;
    CallHierarchyOutgoingCalls => outgoing;
}

impl OfWorkspace for WillRenameFiles {
    fn answer(workspace: &WorkspaceView<'_>, params: Self::Params) -> Self::Result {
        let moves = moves_of(&params.files);
        edits_of_moves(
            &moves,
            workspace.world,
            workspace.client,
            workspace.settings,
        )
    }
}

// ---- answers by the name of the method ----

/// The documents that requests are about, for one client.
pub(crate) struct Asked<'a> {
    pub documents: &'a Documents,
    pub client: Client,
    pub settings: &'a ClientSettings,
}

/// Why there is no answer.
pub(crate) enum NoAnswer {
    /// There is no such request.
    Unknown,
    /// The parameters are not those of the request.
    Misunderstood(String),
    /// It cannot be done, and why.
    Failed(String),
}

type Answer = fn(&Asked<'_>, Value) -> Result<Value, NoAnswer>;

/// The answer to a request in the form of the wire, from the present state of the documents.
///
/// # Errors
/// There is no such request, its parameters cannot be read, or it cannot be done.
pub(crate) fn answer(method: &str, params: Value, asked: &Asked<'_>) -> Result<Value, NoAnswer> {
    let found = document_answer(method).or_else(|| answer_among_files(method));
    match found.or_else(|| workspace_answer(method)) {
        Some(found) => found(asked, params),
        None => Err(NoAnswer::Unknown),
    }
}

fn workspace_answer(method: &str) -> Option<Answer> {
    Some(match method {
        WorkspaceSymbolRequest::METHOD => {
            |asked, params| asked.of_workspace::<WorkspaceSymbolRequest>(params)
        }
        TypeHierarchySupertypes::METHOD => {
            |asked, params| asked.of_workspace::<TypeHierarchySupertypes>(params)
        }
        TypeHierarchySubtypes::METHOD => {
            |asked, params| asked.of_workspace::<TypeHierarchySubtypes>(params)
        }
        CallHierarchyIncomingCalls::METHOD => {
            |asked, params| asked.of_workspace::<CallHierarchyIncomingCalls>(params)
        }
        CallHierarchyOutgoingCalls::METHOD => {
            |asked, params| asked.of_workspace::<CallHierarchyOutgoingCalls>(params)
        }
        WillRenameFiles::METHOD => |asked, params| asked.of_workspace::<WillRenameFiles>(params),
        _ => return None,
    })
}

fn read<T: DeserializeOwned>(params: Value) -> Result<T, NoAnswer> {
    serde_json::from_value(params).map_err(|error| NoAnswer::Misunderstood(error.to_string()))
}

fn written(answer: impl Serialize) -> Result<Value, NoAnswer> {
    serde_json::to_value(answer).map_err(|error| NoAnswer::Failed(error.to_string()))
}

impl Asked<'_> {
    fn of_document<R: OfDocument>(&self, params: Value) -> Result<Value, NoAnswer> {
        let params: R::Params = read(params)?;
        let Some(document) = self.documents.get(R::uri(&params)) else {
            return written(R::Result::default());
        };
        let lsp = Lsp::new(&document.snapshot, self.client, self.settings);
        written(R::answer(lsp, params))
    }

    fn among_files<R: AmongFiles>(&self, params: Value) -> Result<Value, NoAnswer> {
        let params: R::Params = read(params)?;
        let Some(document) = self.documents.get(R::uri(&params)) else {
            return written(R::Result::default());
        };
        let lsp = Lsp::new(&document.snapshot, self.client, self.settings);
        let answer = R::answer(lsp, &self.documents.world(), params);
        written(answer.map_err(NoAnswer::Failed)?)
    }

    fn of_workspace<R: OfWorkspace>(&self, params: Value) -> Result<Value, NoAnswer> {
        let view = WorkspaceView {
            world: &self.documents.world(),
            client: self.client,
            settings: self.settings,
        };
        written(R::answer(&view, read(params)?))
    }
}
