//! Frames with JSON that is no message, or a message that cannot be served.

use super::super::Url;
use super::*;

const INVALID_REQUEST: i64 = -32600;
const METHOD_NOT_FOUND: i64 = -32601;
const INVALID_PARAMS: i64 = -32602;
const NOT_INITIALIZED: i64 = -32002;

#[test]
fn an_invalid_message_is_refused() {
    let mut client = Client::start();
    for body in [
        "null",
        "3",
        "\"text\"",
        "true",
        "[]",
        r#"[{"jsonrpc":"2.0","id":1,"method":"textDocument/hover"}]"#,
        "{}",
        r#"{"jsonrpc":"2.0"}"#,
        r#"{"jsonrpc":"2.0","method":"$/cancelRequest","id":null}"#,
        r#"{"jsonrpc":"2.0","id":null,"method":"textDocument/hover","params":{}}"#,
        r#"{"jsonrpc":"2.0","id":1.5,"method":"textDocument/hover","params":{}}"#,
        r#"{"jsonrpc":"2.0","id":true,"method":"textDocument/hover","params":{}}"#,
        r#"{"jsonrpc":"2.0","id":[1],"method":"textDocument/hover","params":{}}"#,
        r#"{"jsonrpc":"2.0","id":{},"method":"textDocument/hover","params":{}}"#,
        r#"{"jsonrpc":"2.0","id":99999999999999999999,"method":"x","params":{}}"#,
        r#"{"method":"initialized"}"#,
    ] {
        client.send(body);
        ping(&mut client);
        assert_eq!(client.answers_to_garbage(), [INVALID_REQUEST], "{body}");
    }
    still_serves(&mut client);
    client.finish();
}

#[test]
fn an_incomplete_request_is_refused_by_its_id() {
    let mut client = Client::start();
    for (id, rest) in [
        (json!("a"), r#""method":"textDocument/hover""#),
        (json!("b"), r#""jsonrpc":2.0,"method":"textDocument/hover""#),
        (
            json!("c"),
            r#""jsonrpc":"1.0","method":"textDocument/hover""#,
        ),
        (json!("d"), r#""jsonrpc":"2.0","method":3"#),
        (json!("e"), r#""jsonrpc":"2.0","method":null"#),
        (json!("f"), r#""jsonrpc":"2.0","params":{}"#),
        (json!(-1), r#""jsonrpc":"2.0","method":["shutdown"]"#),
        (json!(i64::MAX), r#""jsonrpc":"2.0""#),
    ] {
        client.send(&format!(r#"{{"id":{id},{rest}}}"#));
        let error = client.error_of(&id);
        assert_eq!(error["code"], INVALID_REQUEST, "{id}: {error}");
    }
    still_serves(&mut client);
    client.finish();
}

#[test]
fn every_kind_of_id_comes_back_as_it_is() {
    let mut client = Client::start();
    for id in [
        json!("text"),
        json!(""),
        json!("1"),
        json!(-7),
        json!(0),
        json!(i64::MAX),
    ] {
        let request = json!({ "jsonrpc": "2.0", "id": id, "method": "none/such", "params": {} });
        client.send(&request.to_string());
        assert_eq!(client.error_of(&id)["code"], METHOD_NOT_FOUND);
    }
    client.finish();
}

#[test]
fn unknown_methods_are_refused() {
    let mut client = Client::start();
    for method in [
        "none/such",
        "textDocument/",
        "",
        "🚗",
        "$/none",
        "$/cancelRequestNot",
    ] {
        for params in [Value::Null, json!({}), json!([]), json!({ "uri": 3 })] {
            let error = client.ask_raw(method, params.clone()).unwrap_err();
            assert_eq!(error["code"], METHOD_NOT_FOUND, "{method}");
            // As a notification it is not for this server.
            client.tell_raw(method, params);
        }
    }
    ping(&mut client);
    assert_eq!(client.unclaimed(), [Value::Null; 0]);
    client.finish();
}

#[test]
fn requests_sent_as_notifications_and_the_reverse() {
    let mut client = Client::start();
    for notification in [
        "initialized",
        "textDocument/didOpen",
        "textDocument/didChange",
        "workspace/didChangeConfiguration",
        "$/cancelRequest",
    ] {
        let error = client.ask_raw(notification, json!({})).unwrap_err();
        let code = error["code"].as_i64().unwrap();
        assert!(
            [INVALID_REQUEST, METHOD_NOT_FOUND, INVALID_PARAMS].contains(&code),
            "{error}"
        );
    }
    for request in [
        "textDocument/hover",
        "textDocument/formatting",
        "initialize",
    ] {
        client.tell_raw(request, json!({}));
    }
    ping(&mut client);
    assert_eq!(client.unclaimed(), [Value::Null; 0]);
    client.tell_raw("shutdown", Value::Null);
    let told = client.told("window/logMessage");
    assert!(
        told["message"].as_str().unwrap().contains("needs an id"),
        "{told}"
    );
    still_serves(&mut client);
    client.finish();
}

#[test]
fn answers_to_nothing_are_dropped() {
    let mut client = Client::start();
    for answer in [
        json!({ "jsonrpc": "2.0", "id": 99, "result": null }),
        json!({ "jsonrpc": "2.0", "id": "99", "error": { "code": 1, "message": "no" } }),
        json!({ "jsonrpc": "2.0", "id": null, "error": { "code": -32700, "message": "what?" } }),
        json!({ "jsonrpc": "2.0", "id": {}, "result": 3 }),
        json!({ "id": 1, "result": 3 }),
        json!({ "jsonrpc": "2.0", "id": 1, "result": 3, "error": 3 }),
        json!({ "jsonrpc": "2.0", "id": 1, "error": "none" }),
    ] {
        client.send(&answer.to_string());
    }
    ping(&mut client);
    assert_eq!(client.unclaimed(), [Value::Null; 0]);
    client.finish();
}

#[test]
fn parameters_of_the_wrong_kind_are_refused() {
    let mut client = Client::start();
    client.open(SPEC, CAR);
    let methods = [
        "textDocument/hover",
        "textDocument/completion",
        "textDocument/codeAction",
        "textDocument/diagnostic",
        "textDocument/semanticTokens/full",
        "textDocument/rename",
        "workspace/symbol",
        "bitepoint/curve",
        "bitepoint/sheet",
    ];
    for method in methods {
        for params in [
            Value::Null,
            json!({}),
            json!([]),
            json!([1, 2]),
            json!(3),
            json!("text"),
            json!({ "textDocument": 3, "query": 3 }),
            json!({ "textDocument": { "uri": 3 } }),
            json!({ "textDocument": { "uri": "no address" } }),
            json!({ "textDocument": { "uri": SPEC }, "position": "here", "range": [], "query": [] }),
        ] {
            // A tree is right for those that take nothing but a document.
            let whole = params["textDocument"]["uri"] == SPEC;
            match client.ask_raw(method, params.clone()) {
                Err(error) => assert_eq!(error["code"], INVALID_PARAMS, "{method}: {params}"),
                Ok(_) => assert!(whole, "{method} takes {params}"),
            }
        }
    }
    still_serves(&mut client);
    client.finish();
}

/// Requests that take a position or a range, with their other parameters.
const AT_A_PLACE: &[(&str, &str)] = &[
    ("textDocument/hover", "{}"),
    ("textDocument/completion", "{}"),
    ("textDocument/definition", "{}"),
    (
        "textDocument/references",
        r#"{"context":{"includeDeclaration":true}}"#,
    ),
    ("textDocument/documentHighlight", "{}"),
    ("textDocument/prepareRename", "{}"),
    ("textDocument/rename", r#"{"newName":"other"}"#),
    (
        "textDocument/onTypeFormatting",
        r#"{"ch":"}","options":{"tabSize":4,"insertSpaces":true}}"#,
    ),
    (
        "textDocument/rangeFormatting",
        r#"{"options":{"tabSize":4,"insertSpaces":true}}"#,
    ),
    ("textDocument/inlayHint", "{}"),
    (
        "textDocument/codeAction",
        r#"{"context":{"diagnostics":[]}}"#,
    ),
    ("textDocument/semanticTokens/range", "{}"),
    ("textDocument/selectionRange", "{}"),
    ("bitepoint/curve", "{}"),
];

fn ask_at(
    client: &mut Client,
    method: &str,
    more: &str,
    from: &Value,
    to: &Value,
) -> Result<Value, Value> {
    let mut params: Value = serde_json::from_str(more).unwrap();
    params["textDocument"] = json!({ "uri": SPEC });
    params["position"] = from.clone();
    params["range"] = json!({ "start": from, "end": to });
    params["positions"] = json!([from, to]);
    client.ask_raw(method, params)
}

#[test]
fn places_outside_of_the_text_are_brought_back_into_it() {
    const FAR: u32 = i32::MAX as u32;
    let mut client = Client::start();
    let document = client.open(SPEC, &dragging());
    let at = |line: u32, character: u32| json!({ "line": line, "character": character });
    for (from, to) in [
        (at(99, 0), at(99, 9)),
        (at(0, 9999), at(3, 9999)),
        (at(FAR, FAR), at(FAR, FAR)),
        (at(u32::MAX, u32::MAX), at(u32::MAX, u32::MAX)),
        (at(5, 3), at(2, 1)),
        (at(FAR, 0), at(0, 0)),
    ] {
        for (method, more) in AT_A_PLACE {
            if let Err(error) = ask_at(&mut client, method, more, &from, &to) {
                // Nothing that has a name stands there.
                assert_eq!(error["code"], -32803, "{method} at {from}: {error}");
            }
        }
    }
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    client.finish();
}

#[test]
fn invalid_positions_are_refused() {
    let mut client = Client::start();
    client.open(SPEC, CAR);
    let fine = json!({ "line": 0, "character": 0 });
    for place in [
        json!({ "line": -1, "character": 0 }),
        json!({ "line": 0, "character": -1 }),
        json!({ "line": 1.5, "character": 0 }),
        json!({ "line": 0, "character": 0.1 }),
        json!({ "line": 4_294_967_296_u64, "character": 0 }),
        json!({ "line": "0", "character": 0 }),
        json!({ "line": 0 }),
        json!({}),
        json!(0),
    ] {
        for (method, more) in AT_A_PLACE {
            let error = ask_at(&mut client, method, more, &place, &fine).unwrap_err();
            assert_eq!(
                error["code"], INVALID_PARAMS,
                "{method} at {place}: {error}"
            );
        }
    }
    still_serves(&mut client);
    client.finish();
}

#[test]
fn nothing_is_served_or_published_before_initialize() {
    let mut client = Client::silent();
    for method in [
        "textDocument/hover",
        "shutdown",
        "workspace/symbol",
        "bitepoint/curve",
    ] {
        let early = client.ask_raw(method, Value::Null).unwrap_err();
        assert_eq!(early["code"], NOT_INITIALIZED, "{method}");
    }
    client.open(SPEC, &dragging());
    client.tell_raw("textDocument/didChange", json!({ "contentChanges": 3 }));
    client.tell_raw("initialized", json!({}));
    for params in [
        Value::Null,
        json!([]),
        json!({ "capabilities": 3 }),
        json!({ "processId": "x" }),
    ] {
        let wrong = client.ask_raw("initialize", params).unwrap_err();
        assert_eq!(wrong["code"], INVALID_PARAMS);
    }
    assert_eq!(client.unclaimed(), [Value::Null; 0]);
    // It can still begin; what came before was never heard.
    let begun = client.ask_raw("initialize", json!({ "capabilities": {} }));
    assert!(begun.unwrap()["capabilities"].is_object());
    let hover =
        json!({ "textDocument": { "uri": SPEC }, "position": { "line": 0, "character": 0 } });
    assert_eq!(client.ask_raw("textDocument/hover", hover), Ok(Value::Null));
    client.finish();
}

#[test]
fn a_second_initialize_is_refused() {
    let mut client = Client::start();
    let document = client.open(SPEC, &dragging());
    let again = client.ask_raw("initialize", json!({ "capabilities": {} }));
    assert_eq!(again.unwrap_err()["code"], INVALID_REQUEST);
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    client.finish();
}

#[test]
fn cancelling_an_unknown_request_has_no_effect() {
    let mut client = Client::start();
    ping(&mut client);
    for id in [
        json!(1),
        json!(2),
        json!(9999),
        json!("none"),
        json!(null),
        json!(1.5),
        json!({}),
    ] {
        client.tell_raw("$/cancelRequest", json!({ "id": id }));
    }
    client.tell_raw("$/cancelRequest", Value::Null);
    client.tell_raw("$/cancelRequest", json!([1]));
    still_serves(&mut client);
    client.finish();
}

#[test]
fn two_requests_under_one_id_are_both_answered() {
    let mut client = Client::start();
    client.open(SPEC, CAR);
    let request = json!({ "jsonrpc": "2.0", "id": "twice", "method": "textDocument/codeLens",
        "params": { "textDocument": { "uri": SPEC } } });
    let both = frame(&request.to_string()).repeat(2);
    client.send_bytes(both.as_bytes());
    ping(&mut client);
    let mut seen = 0;
    while seen < 2 {
        ping(&mut client);
        let answers = client
            .unclaimed()
            .iter()
            .filter(|message| message["id"] == "twice");
        seen = answers.count();
    }
    client.finish();
}

#[test]
fn only_exit_is_served_after_shutdown() {
    let mut client = Client::start();
    client.open(SPEC, CAR);
    assert_eq!(client.ask_raw("shutdown", Value::Null), Ok(Value::Null));
    for method in [
        "textDocument/hover",
        "shutdown",
        "initialize",
        "bitepoint/curve",
        "workspace/symbol",
    ] {
        let late = client.ask_raw(method, json!({})).unwrap_err();
        assert_eq!(late["code"], INVALID_REQUEST, "{method}");
    }
    let document = client.open("untitled:late.clutch", &dragging());
    let late = client.ask_raw("none/such", json!({})).unwrap_err();
    assert!([INVALID_REQUEST, METHOD_NOT_FOUND].contains(&late["code"].as_i64().unwrap()));
    let told = |uri: &Url| {
        let uri = uri.to_string();
        move |message: &Value| message["params"]["uri"] == uri
    };
    assert!(!client.unclaimed().iter().any(told(&document.uri)));
    client.tell_raw("exit", Value::Null);
    assert_eq!(client.exit_code(), Some(0));
}
