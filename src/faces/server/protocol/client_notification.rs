//! The client's notifications that change the state of the server, with their parameters.

use lsp_types::notification::{
    DidChangeConfiguration, DidChangeTextDocument, DidChangeWatchedFiles,
    DidChangeWorkspaceFolders, DidCloseTextDocument, DidOpenTextDocument, DidRenameFiles,
    DidSaveTextDocument, Notification,
};
use lsp_types::request::{Request as _, Shutdown};
use lsp_types::*;
use serde::de::DeserializeOwned;
use serde_json::Value;
use tower_lsp::jsonrpc::Request;

/// A notification that changes the state of the server.
#[derive(Debug)]
pub(crate) enum ClientNotification {
    Opened(DidOpenTextDocumentParams),
    Changed(DidChangeTextDocumentParams),
    Closed(DidCloseTextDocumentParams),
    Saved(DidSaveTextDocumentParams),
    FilesChanged(DidChangeWatchedFilesParams),
    FilesRenamed(RenameFilesParams),
    Configured(DidChangeConfigurationParams),
    FoldersChanged(DidChangeWorkspaceFoldersParams),
}

/// The kind of a message.
pub(crate) enum Sorted {
    Notification(ClientNotification),
    /// A request, or a notification that changes nothing.
    Other(Request),
    /// A notification that cannot be read, with the reason. A notification has no answer. If it changed a text,
    /// client and server now have different texts.
    Misunderstood(String),
}

impl ClientNotification {
    /// Reads the parameters of a message, if it is such a notification.
    pub fn read(message: Request) -> Sorted {
        type Read = fn(Value) -> serde_json::Result<ClientNotification>;
        fn params<P: DeserializeOwned>(params: Value) -> serde_json::Result<P> {
            serde_json::from_value(params)
        }
        if message.id().is_some() {
            return Sorted::Other(message);
        }
        let read: Read = match message.method() {
            DidOpenTextDocument::METHOD => |value| params(value).map(Self::Opened),
            DidChangeTextDocument::METHOD => |value| params(value).map(Self::Changed),
            DidCloseTextDocument::METHOD => |value| params(value).map(Self::Closed),
            DidSaveTextDocument::METHOD => |value| params(value).map(Self::Saved),
            DidChangeWatchedFiles::METHOD => |value| params(value).map(Self::FilesChanged),
            DidRenameFiles::METHOD => |value| params(value).map(Self::FilesRenamed),
            DidChangeConfiguration::METHOD => |value| params(value).map(Self::Configured),
            DidChangeWorkspaceFolders::METHOD => |value| params(value).map(Self::FoldersChanged),
            // Without an id it is no request, and must not end anything.
            Shutdown::METHOD => {
                return Sorted::Misunderstood(
                    "`shutdown` is a request, and needs an id".to_owned(),
                );
            }
            _ => return Sorted::Other(message),
        };
        let (method, _, params) = message.into_parts();
        match read(params.unwrap_or_default()) {
            Ok(notification) => Sorted::Notification(notification),
            Err(why) => {
                Sorted::Misunderstood(format!("`{method}` is not understood and left out: {why}"))
            }
        }
    }

    pub fn method(&self) -> &'static str {
        match self {
            Self::Opened(_) => DidOpenTextDocument::METHOD,
            Self::Changed(_) => DidChangeTextDocument::METHOD,
            Self::Closed(_) => DidCloseTextDocument::METHOD,
            Self::Saved(_) => DidSaveTextDocument::METHOD,
            Self::FilesChanged(_) => DidChangeWatchedFiles::METHOD,
            Self::FilesRenamed(_) => DidRenameFiles::METHOD,
            Self::Configured(_) => DidChangeConfiguration::METHOD,
            Self::FoldersChanged(_) => DidChangeWorkspaceFolders::METHOD,
        }
    }
}
