//! Bytes that are no frame, or a frame with something else.

use super::*;

const PARSE_ERROR: i64 = -32700;

/// Bytes on the wire, and the errors that answer them.
fn garbage() -> Vec<(&'static str, Vec<u8>, Vec<i64>)> {
    let lost = frame(r#"{"jsonrpc":"2.0","id":"lost","method":"textDocument/hover"}"#);
    let text = |text: &str| text.as_bytes().to_vec();
    let one = || vec![PARSE_ERROR];
    vec![
        ("empty lines", text("\r\n\n\r\n"), vec![]),
        ("a line of garbage", text("garbage\r\n"), vec![]),
        ("garbage right before a header", text("garbage"), vec![]),
        (
            "garbage that ends like a header",
            text("garbage\r\n\r\n"),
            one(),
        ),
        ("a very long line", vec![b'x'; 100_000], vec![]),
        ("bytes that are no text", vec![0xff; 5000], vec![]),
        (
            "a body without a header",
            text(r#"{"jsonrpc":"2.0"}"#),
            vec![],
        ),
        (
            "another protocol",
            text("GET / HTTP/1.1\r\nHost: here\r\n\r\n"),
            one(),
        ),
        ("no length", text("Content-Type: x\r\n\r\n{}"), one()),
        ("an empty length", text("Content-Length:\r\n\r\n"), one()),
        (
            "a length in words",
            text("Content-Length: two\r\n\r\n{}"),
            one(),
        ),
        (
            "a negative length",
            text("Content-Length: -2\r\n\r\n{}"),
            one(),
        ),
        (
            "a fractional length",
            text("Content-Length: 2.0\r\n\r\n{}"),
            one(),
        ),
        (
            "a length beyond all numbers",
            text("Content-Length: 99999999999999999999999\r\n\r\n{}"),
            one(),
        ),
        (
            "a length beyond all messages",
            text("Content-Length: 9223372036854775807\r\n\r\n{}"),
            one(),
        ),
        (
            "two lengths",
            text("Content-Length: 2\r\nContent-Length: 4\r\n\r\nnull"),
            one(),
        ),
        ("nothing", text("Content-Length: 0\r\n\r\n"), one()),
        (
            "too short a length",
            text("Content-Length: 3\r\n\r\n{\"a\": 1}"),
            one(),
        ),
        (
            "too long a length",
            text(&format!("Content-Length: 30\r\n\r\n{{}}{lost}")),
            one(),
        ),
        (
            "another charset",
            text("Content-Length: 4\r\nContent-Type: x; charset=utf-16\r\n\r\n{\0}\0"),
            one(),
        ),
        ("no JSON", text(&frame("{ not JSON")), one()),
        (
            "no UTF-8",
            text("Content-Length: 4\r\n\r\n")
                .into_iter()
                .chain(*b"\"\xff\xff\"")
                .collect(),
            one(),
        ),
        ("a byte order mark", text(&frame("\u{feff}{}")), one()),
        (
            "JSON without a bottom",
            text(&frame(&"[".repeat(100_000))),
            one(),
        ),
    ]
}

#[test]
fn garbage_on_the_wire_is_reported_and_the_next_message_is_served() {
    let mut client = Client::start();
    for (what, bytes, errors) in garbage() {
        client.send_bytes(&bytes);
        ping(&mut client);
        assert_eq!(client.answers_to_garbage(), errors, "{what}");
    }
    still_serves(&mut client);
    client.finish();
}

#[test]
fn unknown_headers_are_ignored() {
    let mut client = Client::start();
    let body = |id: &str| {
        format!(
            r#"{{"jsonrpc":"2.0","id":"{id}","method":"textDocument/documentSymbol","params":{{"textDocument":{{"uri":"untitled:x"}}}}}}"#
        )
    };
    let length = body("a").len();
    for (id, header) in [
        (
            "a",
            format!("Content-Length: {length}\r\nX-Content-Length: 3\r\nX: y"),
        ),
        ("b", format!("content-length:{length}")),
        (
            "c",
            format!("CONTENT-LENGTH:  {length}  \r\nContent-Length: {length}"),
        ),
        (
            "d",
            format!(
                "Content-Type: application/vscode-jsonrpc; charset=utf-8\r\nContent-Length: {length}"
            ),
        ),
        (
            "e",
            format!(
                "Content-Type: application/vscode-jsonrpc; charset=\"UTF8\"\r\nContent-Length: {length}"
            ),
        ),
    ] {
        client.send_bytes(format!("{header}\r\n\r\n{}", body(id)).as_bytes());
        ping(&mut client);
        assert_eq!(client.answers_to_garbage(), [0_i64; 0], "{header}");
        let answered = |message: &Value| message["id"] == id && message["result"].is_null();
        assert!(client.unclaimed().iter().any(answered), "{header}");
    }
    client.finish();
}

#[test]
fn frames_may_arrive_in_pieces_or_several_at_once() {
    let mut client = Client::start();
    let notify = |method: &str, params: Value| {
        frame(&json!({ "jsonrpc": "2.0", "method": method, "params": params }).to_string())
    };
    let open = notify(
        "textDocument/didOpen",
        json!({ "textDocument": { "uri": SPEC, "languageId": "clutch", "version": 1, "text": dragging().replace("A car", "🚗 ±") } }),
    );
    // Split at every byte, through the middle of whatever is made of several.
    for byte in open.as_bytes() {
        client.send_bytes(&[*byte]);
    }
    let uri = SPEC.parse().unwrap();
    let published = client.published(&uri, |version| version == 1);
    assert_eq!(codes(&published.diagnostics), ["short-release"]);

    let mut heap = String::new();
    for version in 2..1000 {
        let text = if version % 2 == 0 { CAR } else { "}" };
        heap += &notify(
            "textDocument/didChange",
            json!({
                "textDocument": { "uri": SPEC, "version": version },
                "contentChanges": [{ "text": text }],
            }),
        );
    }
    client.send_bytes(heap.as_bytes());
    let published = client.published(&uri, |version| version == 999);
    assert_eq!(codes(&published.diagnostics), ["syntax"]);
    client.finish();
}
