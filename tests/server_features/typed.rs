//! What is published while someone is typing: nothing that is only unfinished, and everything once the cursor has
//! moved on.

use super::*;
use tower_lsp::lsp_types::notification::DidSaveTextDocument;
use tower_lsp::lsp_types::{DidSaveTextDocumentParams, Url};

const MARK: &str = "    fork {";

/// A car with a value that is half typed, and what is published about it.
fn half_a_value(client: &mut Client) -> (Document, Vec<String>) {
    let text = CAR.replace(
        "rest_extension = 6 mm }",
        "rest_extension = 6 mm\n        preload = #\n}",
    );
    let mut document = client.open(SPEC, &text);
    client.diagnostics(&document);
    client.type_before(&mut document, "#", "2");
    let found = client.diagnostics(&document);
    let found = codes(&found)
        .iter()
        .map(|code| (*code).to_owned())
        .collect();
    (document, found)
}

/// The next diagnostics published for the present version of a document.
fn told_again(client: &mut Client, document: &Document) -> Vec<String> {
    let again = client.published(&document.uri, |version| version == document.version);
    codes(&again.diagnostics)
        .iter()
        .map(|code| (*code).to_owned())
        .collect()
}

#[test]
fn an_unfinished_statement_is_reported_once_the_cursor_leaves_it() {
    let mut client = Client::start();
    let (mut document, found) = half_a_value(&mut client);
    assert_eq!(found, [""; 0], "while it is typed");
    // The next edit is elsewhere.
    client.type_before(&mut document, MARK, " ");
    assert_eq!(codes(&client.diagnostics(&document)), ["wrong-unit"]);
    client.finish();
}

#[test]
fn an_unfinished_statement_is_reported_on_the_next_line() {
    let mut client = Client::start();
    let (mut document, _) = half_a_value(&mut client);
    client.type_before(&mut document, "#", "\n");
    assert_eq!(codes(&client.diagnostics(&document)), ["wrong-unit"]);
    client.finish();
}

#[test]
fn an_unfinished_statement_is_reported_on_save() {
    let mut client = Client::start();
    let (document, found) = half_a_value(&mut client);
    assert_eq!(found, [""; 0], "while it is typed");
    client.tell::<DidSaveTextDocument>(DidSaveTextDocumentParams {
        text_document: document.id(),
        text: None,
    });
    assert_eq!(told_again(&mut client, &document), ["wrong-unit"]);
    client.finish();
}

#[test]
fn an_unfinished_statement_is_reported_when_another_document_is_edited() {
    let mut client = Client::start();
    let mut other = client.open("untitled:other.clutch", CAR);
    let (document, found) = half_a_value(&mut client);
    assert_eq!(found, [""; 0], "while it is typed");
    client.type_before(&mut other, MARK, " ");
    assert_eq!(told_again(&mut client, &document), ["wrong-unit"]);
    client.finish();
}

#[test]
fn an_unfinished_statement_is_reported_after_a_pause() {
    let mut client = Client::start();
    let (document, found) = half_a_value(&mut client);
    assert_eq!(found, [""; 0], "while it is typed");
    assert_eq!(told_again(&mut client, &document), ["wrong-unit"]);
    client.finish();
}

#[test]
fn findings_about_results_are_reported_at_once() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, CAR);
    client.diagnostics(&document);
    client.change(
        &mut document,
        &[("slave { bore = 7/8 in", "slave { bore = 1 1/16 in")],
    );
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    client.finish();
}

#[test]
fn a_pulling_client_is_notified_when_there_is_more() {
    for refreshes in [true, false] {
        let able = json!({
            "textDocument": { "diagnostic": {} },
            "workspace": { "diagnostics": { "refreshSupport": refreshes } },
        });
        let folder = Folder::new(PARTS);
        let mut client = start_in(&folder, &able);
        let text = CAR.replace(
            "rest_extension = 6 mm }",
            "rest_extension = 6 mm\n        preload = #\n}",
        );
        let mut document = client.open(SPEC, &text);
        client.type_before(&mut document, "#", "2");
        let codes_of = |client: &mut Client| {
            let found = ask(client, "textDocument/diagnostic", &document, json!({}));
            let items = found["items"].as_array().unwrap().clone();
            let errors = items.into_iter().filter(|item| item["severity"] == 1);
            errors
                .map(|item| item["code"].as_str().unwrap().to_owned())
                .collect::<Vec<_>>()
        };
        let first = codes_of(&mut client);
        match refreshes {
            true => {
                assert_eq!(first, [""; 0]);
                client.answer_to("workspace/diagnostic/refresh", &Value::Null);
                assert_eq!(codes_of(&mut client), ["wrong-unit"]);
            }
            // Who could not be told later is told at once.
            false => assert_eq!(first, ["wrong-unit"]),
        }
        client.finish();
    }
}

/// The real server with a whole spec that is typed key by key.
#[test]
fn a_spec_that_is_typed_key_by_key_never_has_an_error_at_the_cursor() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, "#");
    client.diagnostics(&document);
    let uri: Url = document.uri.clone();
    for key in CAR.chars() {
        client.type_before(&mut document, "#", &key.to_string());
        let told = client.published(&uri, |version| version == document.version);
        let line = document.before("#").line;
        let here: Vec<_> = super::super::errors(&told.diagnostics)
            .into_iter()
            .filter(|d| (d.range.start.line..=d.range.end.line).contains(&line))
            .map(|d| d.message.clone())
            .collect();
        assert_eq!(here, [""; 0], "{}", document.text);
    }
    client.finish();
}
