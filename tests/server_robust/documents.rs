//! Clients that send wrong documents, and addresses that lead nowhere.

use super::*;
use std::fmt::Write;
use tower_lsp::lsp_types::Url;

fn change(client: &mut Client, uri: &str, version: i64, changes: Value) {
    client.tell_raw(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": uri, "version": version }, "contentChanges": changes }),
    );
}

fn range(from: (i64, i64), to: (i64, i64)) -> Value {
    let at = |(line, character): (i64, i64)| json!({ "line": line, "character": character });
    json!({ "start": at(from), "end": at(to) })
}

/// The findings in a version of the only document.
fn found(client: &mut Client, version: i32) -> Vec<String> {
    let uri = Url::parse(SPEC).unwrap();
    let published = client.published(&uri, |published| published == version);
    let codes = codes(&published.diagnostics).into_iter();
    codes.map(str::to_owned).collect()
}

#[test]
fn a_change_of_an_unopened_document_is_reported_and_ignored() {
    let mut client = Client::start();
    change(&mut client, SPEC, 2, json!([{ "text": dragging() }]));
    let told = client.told("window/logMessage");
    assert!(
        told["message"].as_str().unwrap().contains("is not open"),
        "{told}"
    );
    let closed = json!({ "textDocument": { "uri": SPEC } });
    client.tell_raw("textDocument/didClose", closed.clone());
    client.tell_raw("textDocument/didSave", closed);
    ping(&mut client);
    assert_eq!(client.unclaimed(), [Value::Null; 0]);
    still_serves(&mut client);
    client.finish();
}

#[test]
fn a_document_opened_twice_has_its_last_text() {
    let mut client = Client::start();
    client.open(SPEC, CAR);
    let again = json!({ "uri": SPEC, "languageId": "other", "version": 7, "text": dragging() });
    client.tell_raw("textDocument/didOpen", json!({ "textDocument": again }));
    assert_eq!(found(&mut client, 7), ["short-release"]);
    client.tell_raw(
        "textDocument/didClose",
        json!({ "textDocument": { "uri": SPEC } }),
    );
    let uri = Url::parse(SPEC).unwrap();
    assert_eq!(client.published(&uri, |_| true).diagnostics, []);
    ping(&mut client);
    client.finish();
}

#[test]
fn versions_go_wherever_the_client_lets_them() {
    let mut client = Client::start();
    client.open(SPEC, CAR);
    for (version, text, codes) in [
        (5, dragging(), vec!["short-release"]),
        (3, CAR.to_owned(), vec![]),
        (3, "}".to_owned(), vec!["syntax"]),
        (-1, dragging(), vec!["short-release"]),
        (i32::MAX, CAR.to_owned(), vec![]),
        (i32::MIN, "}".to_owned(), vec!["syntax"]),
    ] {
        change(&mut client, SPEC, version.into(), json!([{ "text": text }]));
        assert_eq!(found(&mut client, version), codes, "{version}");
    }
    client.finish();
}

#[test]
fn an_invalid_change_is_reported_and_changes_nothing() {
    let mut client = Client::start();
    client.open(SPEC, CAR);
    assert_eq!(found(&mut client, 1), [""; 0]);
    let text = |range: Value| json!([{ "range": range, "text": "}" }]);
    for changes in [
        Value::Null,
        json!({}),
        json!([3]),
        json!([{}]),
        json!([{ "text": 3 }]),
        json!([{ "text": "}" }, { "text": null }]),
        text(range((0, -1), (0, 0))),
        text(range((0, 0), (1 << 40, 0))),
        text(
            json!({ "start": { "line": 0.5, "character": 0 }, "end": { "line": 1, "character": 0 } }),
        ),
        text(json!({ "start": { "line": 0, "character": 0 } })),
    ] {
        change(&mut client, SPEC, 2, changes.clone());
        let told = client.told("window/logMessage");
        let why = told["message"].as_str().unwrap();
        assert!(
            why.starts_with("`textDocument/didChange` is not understood"),
            "{changes}: {why}"
        );
    }
    for (method, params) in [
        (
            "textDocument/didOpen",
            json!({ "textDocument": { "uri": SPEC } }),
        ),
        ("textDocument/didClose", json!({ "textDocument": SPEC })),
        ("textDocument/didSave", Value::Null),
        (
            "workspace/didChangeWatchedFiles",
            json!({ "changes": [{ "uri": SPEC, "type": "x" }] }),
        ),
        ("workspace/didChangeWorkspaceFolders", json!([])),
    ] {
        client.tell_raw(method, params);
        let told = client.told("window/logMessage");
        assert!(told["message"].as_str().unwrap().contains(method), "{told}");
    }
    change(&mut client, SPEC, 3, json!([]));
    assert_eq!(found(&mut client, 3), [""; 0]);
    client.finish();
}

#[test]
fn ranges_that_run_backwards_or_out_of_the_text_stay_in_it() {
    let mut client = Client::start();
    client.open(SPEC, "# one\n# two\n");
    // Backwards: what is new goes where the range starts, and nothing is taken away.
    change(
        &mut client,
        SPEC,
        2,
        json!([{ "range": range((1, 2), (0, 2)), "text": "2" }]),
    );
    let far = i64::from(i32::MAX);
    change(
        &mut client,
        SPEC,
        3,
        json!([{ "range": range((far, far), (far, far)), "text": "let a = 1 ccm" }]),
    );
    change(&mut client, SPEC, 4, json!([]));
    let uri = Url::parse(SPEC).unwrap();
    let published = client.published(&uri, |version| version == 4);
    let unknown = &published.diagnostics[0];
    let expected = range((2, 10), (2, 13));
    assert_eq!(json!(unknown.range), expected, "{unknown:?}");
    change(
        &mut client,
        SPEC,
        5,
        json!([{ "range": range((0, 0), (far, 0)), "text": "}" }]),
    );
    assert_eq!(found(&mut client, 5), ["syntax"]);
    client.finish();
}

#[test]
fn addresses_that_lead_nowhere_are_served_like_any_other() {
    let mut client = Client::start();
    let deep = format!("file:///{}car.clutch", "a/".repeat(100_000));
    let long = format!("file:///{}.clutch", "a".repeat(1_000_000));
    for uri in [
        "file:///nowhere/at/all/car.clutch",
        "file:///",
        "file:///tmp",
        "file:///%ff%fe.clutch",
        "file:///%00.clutch",
        "file:///%2e%2e/%2e%2e/car.clutch",
        "file:///a%b%.clutch",
        "file:///c%3A/car.clutch",
        "file://host/share/car.clutch",
        "untitled:Untitled-1",
        "https://example.invalid/car.clutch?x=1#y",
        "data:,car",
        "urn:🚗",
        "x:",
        &*deep,
        &*long,
    ] {
        let first: String = uri.chars().take(40).collect();
        let document = client.open(uri, &format!("use \"parts.clutch\"\n{}", dragging()));
        let seen = client.diagnostics(&document);
        assert_eq!(codes(&seen)[0], "use-missing", "{first}");
        client.close(&document);
        assert_eq!(client.published(&document.uri, |_| true).diagnostics, []);
    }
    // What is no address at all opens nothing.
    for uri in [
        "",
        "car.clutch",
        "/car.clutch",
        "//car",
        "1:2",
        "http://[",
        "file://%%/x",
    ] {
        let nowhere = json!({ "uri": uri, "languageId": "clutch", "version": 1, "text": CAR });
        client.tell_raw("textDocument/didOpen", json!({ "textDocument": nowhere }));
        let told = client.told("window/logMessage");
        assert!(
            told["message"].as_str().unwrap().contains("not understood"),
            "{uri}: {told}"
        );
    }
    still_serves(&mut client);
    client.finish();
}

#[cfg(unix)]
#[test]
fn a_path_that_is_no_file_is_not_waited_for() {
    let folder = Folder::new("");
    let pipe = folder.path("pipe.clutch");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.expect("every Unix has it").success());
    let mut client = Client::start();
    for (number, name) in [
        "pipe.clutch",
        "../../../../../../../dev/zero",
        ".",
        "/dev/null",
    ]
    .into_iter()
    .enumerate()
    {
        let document = client.open(
            &folder.uri(&format!("car{number}.clutch")),
            &format!("use \"{name}\"\n"),
        );
        assert_eq!(
            codes(&client.diagnostics(&document)),
            ["use-missing"],
            "{name}"
        );
        client.close(&document);
    }
    still_serves(&mut client);
    client.finish();
}

#[test]
fn a_document_of_fifty_megabytes_is_too_large_and_can_be_edited() {
    const LINE: &str = "# a comment that is a hundred bytes long, so that half a million of them make fifty megabytes ____\n";
    let mut text = LINE.repeat((50 << 20) / LINE.len());
    let mut client = Client::start();
    write!(text, "{}", dragging()).unwrap();
    let mut document = client.open(SPEC, &text);
    assert_eq!(codes(&client.diagnostics(&document)), ["too-large"]);
    client.change(&mut document, &[("# a comment", "# 🚗")]);
    assert_eq!(codes(&client.diagnostics(&document)), ["too-large"]);
    // More than any message may have.
    let beyond = format!("Content-Length: {}\r\n\r\n", 65 << 20);
    client.send_bytes(beyond.as_bytes());
    assert_eq!(client.answer_to_garbage()["code"], -32700);
    client.send_bytes(&vec![b' '; 65 << 20]);
    document.text = dragging();
    client.send_changes(
        &mut document,
        vec![serde_json::from_value(json!({ "text": dragging() })).unwrap()],
    );
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    client.finish();
}
