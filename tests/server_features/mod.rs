//! The server's features beyond findings and facts: names across files, the shape of a file, pulled diagnostics, the
//! workspace around the documents.

mod actions;
mod asked;
mod embedded;
mod fault_finding;
mod formatting;
mod hierarchy;
mod hints;
mod log;
mod mistakes;
mod moved;
mod names;
mod preview;
mod shape;
mod typed;
mod workspace;

use super::lsp_client::{Client, Document, Encoding, capabilities};
use super::{CAR, Folder, PARTS, SPEC, codes, dragging, with_part};
use serde_json::{Value, json};
use tower_lsp::lsp_types::TextEdit;

/// Sends a request about a document, with further parameters.
fn ask(client: &mut Client, method: &str, document: &Document, more: Value) -> Value {
    let mut params = json!({ "textDocument": { "uri": document.uri } });
    for (key, value) in more.as_object().expect("an object") {
        params[key] = value.clone();
    }
    match client.ask_raw(method, params) {
        Ok(answer) => answer,
        Err(error) => panic!("{method} failed: {error}"),
    }
}

fn edits(value: Value) -> Vec<TextEdit> {
    serde_json::from_value(value).unwrap()
}

fn at(position: tower_lsp::lsp_types::Position) -> Value {
    json!({ "position": position })
}

/// An editor in a folder, with further capabilities.
fn start_in(folder: &Folder, more: &Value) -> Client {
    let mut able = capabilities(Encoding::Utf16);
    merge(&mut able, more);
    let said = json!({
        "capabilities": able,
        "workspaceFolders": [{ "uri": folder.uri(""), "name": "cars" }],
    });
    Client::start_saying(said, Encoding::Utf16).0
}

fn merge(into: &mut Value, more: &Value) {
    match (into, more) {
        (Value::Object(into), Value::Object(more)) => {
            for (key, value) in more {
                merge(into.entry(key.clone()).or_insert(Value::Null), value);
            }
        }
        (into, more) => *into = more.clone(),
    }
}
