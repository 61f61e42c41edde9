//! The server with a client, a wire or a machine that misbehaves. It answers as the protocol requires, or ends, and
//! never hangs. Each wait of the scripted client is bounded.

mod documents;
mod ends;
mod messages;
mod restart;
mod storms;
mod wire;

use super::lsp_client::{Client, Document, Encoding, capabilities};
use super::{CAR, Folder, SPEC, codes, dragging};
use serde_json::{Value, json};

/// A frame around a message.
fn frame(body: &str) -> String {
    format!("Content-Length: {}\r\n\r\n{body}", body.len())
}

/// Sends a request that any server can answer at any time. All earlier messages have then arrived.
fn ping(client: &mut Client) {
    let params = json!({ "textDocument": { "uri": "file:///nowhere.clutch" } });
    let answer = client.ask_raw("textDocument/documentSymbol", params);
    assert_eq!(answer, Ok(Value::Null));
}

/// Whether a document is still analysed as usual.
fn still_serves(client: &mut Client) {
    let document = client.open("untitled:still.clutch", &dragging());
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    client.close(&document);
    assert_eq!(client.published(&document.uri, |_| true).diagnostics, []);
}
