//! Documents are opened, edited, asked about and closed in any order. The server answers each request once. Its final
//! diagnostics are those of the same texts opened again, in the same session and sometimes in a new server.

use super::framing::bodies;
use super::input::Dice;
use bitepoint::faces::server::serve_on;
use bitepoint::syntax::{Encoding, LineColumn, LineIndex};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{self, Cursor, Read, Write};
use std::sync::{Arc, Condvar, Mutex};
use std::time::Duration;

const URIS: [&str; 2] = ["file:///storm/car.clutch", "file:///storm/parts.clutch"];

/// The first texts of the documents.
const TEXTS: [&str; 2] = [
    "use \"parts.clutch\"\r\nsystem car \"🚗 é\" {\r\n    master { bore = 3/4 in  stroke = reach }\r\n    \
     slave mine\r\n    pedal { ratio = 6  travel = 150 mm }\r\n    fork { ratio = 1.6 }\r\n    \
     cover { release_travel = 7 mm to 12 mm  release_load = 1 kN }\r\n}\r\n",
    "let reach = 36 mm # ±\npart slave mine { bore = 7/8 in  stroke = 30 mm }\n",
];

/// Requests about a place during the session.
const QUESTIONS: [&str; 8] = [
    "textDocument/hover",
    "textDocument/completion",
    "textDocument/definition",
    "textDocument/documentHighlight",
    "textDocument/documentSymbol",
    "textDocument/formatting",
    "textDocument/codeAction",
    "textDocument/diagnostic",
];

/// The most steps of a session. Faults that need more are found by storms of edits in the tests.
const MOST: usize = 12;

/// One of this many sessions is compared with a new server.
const FRESH: usize = 16;

pub fn holds(data: &[u8]) {
    let (encoding, name) = match data.first().unwrap_or(&0) % 3 {
        0 => (Encoding::Utf16, "utf-16"),
        1 => (Encoding::Utf8, "utf-8"),
        _ => (Encoding::Utf32, "utf-32"),
    };
    let mut session = Session::new(name);
    let mut texts = TEXTS.map(str::to_owned);
    for (uri, text) in URIS.iter().zip(&texts) {
        session.open(uri, text);
    }
    let mut bytes = data.iter().skip(1).copied();
    for _ in 0..MOST {
        let Some(operation) = bytes.next() else {
            break;
        };
        let which = usize::from(operation >> 7);
        let (uri, text) = (URIS[which], &mut texts[which]);
        let mut next = || bytes.next().unwrap_or(0);
        let at = usize::from(u16::from_le_bytes([next(), next()]));
        match operation & 0x0f {
            0 => {
                session.close(uri);
                session.open(uri, text);
            }
            1 => session.question(usize::from(next()), uri, position(text, at, encoding)),
            _ => {
                let to = at + usize::from(next());
                let length = usize::from(next() & 0x1f);
                let new: Vec<u8> = bytes.by_ref().take(length).collect();
                let new = String::from_utf8_lossy(&new).into_owned();
                let ends = [at, to].map(|at| position(text, at, encoding));
                *text = applied(text, ends, &new, encoding);
                session.change(uri, ends, &new);
            }
        }
    }
    let ended = session.ask_for_all();
    URIS.iter().for_each(|uri| session.close(uri));
    for (uri, text) in URIS.iter().zip(&texts) {
        session.open(uri, text);
    }
    let again = session.ask_for_all();
    let answers = session.answers();
    let found = |asked: [usize; 2]| asked.map(|id| &answers[&id]["items"]);
    assert_eq!(found(ended), found(again), "{texts:#?}");
    if Dice::new(data).below(FRESH) == 0 {
        let mut fresh = Session::new(name);
        for (uri, text) in URIS.iter().zip(&texts) {
            fresh.open(uri, text);
        }
        let asked = fresh.ask_for_all();
        let answers = fresh.answers();
        assert_eq!(
            found(ended),
            asked.map(|id| &answers[&id]["items"]),
            "{texts:#?}"
        );
    }
}

/// The position of an offset, sometimes outside of the text.
fn position(text: &str, offset: usize, encoding: Encoding) -> LineColumn {
    if offset > 0xff00 {
        return LineColumn {
            line: offset as u32 % 16,
            column: offset as u32 / 16 % 16,
        };
    }
    let offset = offset % (text.len() + 1);
    LineIndex::new(text).position(offset as u32, encoding)
}

/// The client's text after a change.
fn applied(text: &str, ends: [LineColumn; 2], new: &str, encoding: Encoding) -> String {
    let index = LineIndex::new(text);
    let [start, end] = ends.map(|place| index.offset(place, encoding) as usize);
    format!("{}{new}{}", &text[..start], &text[end.max(start)..])
}

fn lsp(place: LineColumn) -> Value {
    json!({ "line": place.line, "character": place.column })
}

/// The messages of a client, from the first on.
struct Session {
    wire: Vec<u8>,
    requests: usize,
    version: i32,
}

impl Session {
    fn new(encoding: &str) -> Self {
        let mut session = Self {
            wire: Vec::new(),
            requests: 0,
            version: 0,
        };
        let capabilities = json!({
            "general": { "positionEncodings": [encoding] },
            "textDocument": { "diagnostic": {} },
        });
        session.request("initialize", &json!({ "capabilities": capabilities }));
        session.notify("initialized", &json!({}));
        session
    }

    fn send(&mut self, message: &Value) {
        let body = message.to_string();
        let framed = format!("Content-Length: {}\r\n\r\n{body}", body.len());
        self.wire.extend_from_slice(framed.as_bytes());
    }

    fn notify(&mut self, method: &str, params: &Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    fn request(&mut self, method: &str, params: &Value) {
        let id = self.requests;
        self.requests += 1;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
    }

    fn open(&mut self, uri: &str, text: &str) {
        self.version += 1;
        let document =
            json!({ "uri": uri, "languageId": "clutch", "version": self.version, "text": text });
        self.notify("textDocument/didOpen", &json!({ "textDocument": document }));
    }

    fn change(&mut self, uri: &str, ends: [LineColumn; 2], new: &str) {
        self.version += 1;
        let range = json!({ "start": lsp(ends[0]), "end": lsp(ends[1]) });
        let params = json!({
            "textDocument": { "uri": uri, "version": self.version },
            "contentChanges": [{ "range": range, "text": new }],
        });
        self.notify("textDocument/didChange", &params);
    }

    fn question(&mut self, which: usize, uri: &str, place: LineColumn) {
        let params = json!({
            "textDocument": { "uri": uri },
            "position": lsp(place),
            "range": { "start": lsp(place), "end": lsp(place) },
            "context": { "diagnostics": [], "triggerKind": 1 },
            "options": { "tabSize": 4, "insertSpaces": true },
        });
        self.request(QUESTIONS[which % QUESTIONS.len()], &params);
    }

    fn close(&mut self, uri: &str) {
        let params = json!({ "textDocument": { "uri": uri } });
        self.notify("textDocument/didClose", &params);
    }

    /// Asks for the diagnostics of both documents, and gives the ids of the requests.
    fn ask_for_all(&mut self) -> [usize; 2] {
        URIS.map(|uri| {
            self.request(
                "textDocument/diagnostic",
                &json!({ "textDocument": { "uri": uri } }),
            );
            self.requests - 1
        })
    }

    /// Passes all messages to a server. Gives its answer to each request.
    fn answers(self) -> BTreeMap<usize, Value> {
        let output = Output::default();
        let input = Input {
            wire: Cursor::new(self.wire),
            output: output.clone(),
            requests: self.requests,
        };
        serve_on(input, output.clone()).expect("a server starts");
        let written = output.written();
        assert!(
            written.rest.is_empty(),
            "half a message: {:?}",
            written.rest
        );
        let mut answers = BTreeMap::new();
        for message in &written.answers {
            assert!(message.get("error").is_none(), "{message}");
            let id = message["id"].as_u64().expect("an answer has an id") as usize;
            let again = answers.insert(id, message["result"].clone());
            assert!(again.is_none(), "{id} was answered twice");
        }
        assert!(answers.keys().copied().eq(0..self.requests), "{answers:?}");
        answers
    }
}

/// The server's input. It ends when every request is answered, since a server whose client is gone does not wait for
/// running work, and this computer may be slow.
struct Input {
    wire: Cursor<Vec<u8>>,
    output: Output,
    requests: usize,
}

/// How long to wait; only a server that hangs takes this long.
const PATIENCE: Duration = Duration::from_secs(60);

impl Read for Input {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        let read = self.wire.read(bytes)?;
        if read == 0 {
            let Output(written, more) = &self.output;
            let waits = |written: &mut Written| written.answers.len() < self.requests;
            let written = written.lock().expect("no writer panicked");
            let waited = more.wait_timeout_while(written, PATIENCE, waits);
            drop(waited.expect("no writer panicked"));
        }
        Ok(read)
    }
}

/// The server's output, and a signal for new output.
#[derive(Clone, Default)]
struct Output(Arc<Mutex<Written>>, Arc<Condvar>);

/// The answers so far, and the bytes of an incomplete message.
#[derive(Default)]
struct Written {
    answers: Vec<Value>,
    rest: Vec<u8>,
}

impl Output {
    fn written(&self) -> std::sync::MutexGuard<'_, Written> {
        self.0.lock().expect("no writer panicked")
    }
}

impl Write for Output {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.written().rest.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    /// A message is whole when it is flushed.
    fn flush(&mut self) -> io::Result<()> {
        let mut written = self.written();
        for body in bodies(std::mem::take(&mut written.rest)) {
            let message: Value = serde_json::from_slice(&body).expect("a message is JSON");
            if message.get("method").is_none() {
                written.answers.push(message);
            }
        }
        self.1.notify_all();
        Ok(())
    }
}
