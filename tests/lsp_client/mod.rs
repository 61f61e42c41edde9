//! A scripted client that drives the real server over its standard input and output. It verifies everything: each
//! message must be exact JSON-RPC 2.0, and each result must pass through the protocol's types without loss.
//!
//! It waits for messages and never for a time. A message that does not arrive fails the test.

use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, HashMap};
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::Mutex;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};
use sysinfo::{Pid, ProcessesToUpdate, System};
use tower_lsp::lsp_types::notification::{
    DidChangeTextDocument, DidCloseTextDocument, DidOpenTextDocument, Initialized, Notification,
};
use tower_lsp::lsp_types::request::Request;
use tower_lsp::lsp_types::*;

/// How long to wait; only a server that hangs takes this long.
const PATIENCE: Duration = Duration::from_secs(60);

/// How many messages of a session are recorded.
const MOST_RECORDED: usize = 1000;

/// How many sessions of each test have ended.
static ENDED: Mutex<BTreeMap<String, usize>> = Mutex::new(BTreeMap::new());

pub struct Client {
    server: Child,
    input: Option<ChildStdin>,
    messages: Receiver<Value>,
    /// Messages that arrived before a test asked for them.
    unclaimed: Vec<Value>,
    next_id: i64,
    encoding: Encoding,
    /// All messages, with the methods of the answers, for other validators.
    record: Vec<Value>,
    methods: HashMap<i64, String>,
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Encoding {
    Utf8,
    Utf16,
    Utf32,
}

impl Encoding {
    pub fn name(self) -> &'static str {
        match self {
            Self::Utf8 => "utf-8",
            Self::Utf16 => "utf-16",
            Self::Utf32 => "utf-32",
        }
    }

    fn length(self, text: &str) -> usize {
        match self {
            Self::Utf8 => text.len(),
            Self::Utf16 => text.encode_utf16().count(),
            Self::Utf32 => text.chars().count(),
        }
    }
}

/// A document as the client has it.
#[derive(Clone)]
pub struct Document {
    pub uri: Url,
    pub version: i32,
    pub text: String,
    encoding: Encoding,
}

/// The capabilities of an editor that supports much.
pub fn capabilities(encoding: Encoding) -> Value {
    json!({
        "general": { "positionEncodings": [encoding.name()] },
        "workspace": { "workspaceEdit": { "documentChanges": true } },
        "textDocument": {
            "completion": { "completionItem": { "snippetSupport": true } },
            "documentSymbol": { "hierarchicalDocumentSymbolSupport": true },
            "publishDiagnostics": {
                "relatedInformation": true,
                "versionSupport": true,
                "tagSupport": { "valueSet": [1, 2] }
            },
            "codeAction": {
                "codeActionLiteralSupport": {
                    "codeActionKind": { "valueSet": ["", "quickfix"] }
                }
            }
        }
    })
}

impl Client {
    /// Starts a server without sending anything.
    pub fn silent() -> Self {
        Self::silent_with(&[])
    }

    fn silent_with(arguments: &[&str]) -> Self {
        let mut server = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
            .arg("serve")
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the server starts");
        let output = server.stdout.take().expect("it has an output");
        let (sender, messages) = channel();
        std::thread::spawn(move || {
            let mut output = BufReader::new(output);
            while let Some(message) = read(&mut output) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        Self {
            input: server.stdin.take(),
            server,
            messages,
            unclaimed: Vec::new(),
            next_id: 0,
            encoding: Encoding::Utf16,
            record: Vec::new(),
            methods: HashMap::new(),
        }
    }

    /// Starts a server for an editor that can do everything.
    pub fn start() -> Self {
        Self::start_in(Encoding::Utf16)
    }

    pub fn start_in(encoding: Encoding) -> Self {
        Self::start_with(capabilities(encoding), encoding).0
    }

    pub fn start_with(capabilities: Value, encoding: Encoding) -> (Self, InitializeResult) {
        Self::start_saying(json!({ "capabilities": capabilities }), encoding)
    }

    /// Starts a server with given parameters of `initialize`.
    pub fn start_saying(said: Value, encoding: Encoding) -> (Self, InitializeResult) {
        Self::silent().begin(said, encoding)
    }

    /// Starts a server with arguments and given parameters of `initialize`.
    pub fn start_with_arguments(arguments: &[&str], said: Value, encoding: Encoding) -> Self {
        Self::silent_with(arguments).begin(said, encoding).0
    }

    fn begin(self, said: Value, encoding: Encoding) -> (Self, InitializeResult) {
        let mut client = self;
        client.encoding = encoding;
        let mut params = json!({ "processId": null, "rootUri": null, "capabilities": {} });
        for (key, value) in said.as_object().expect("an object") {
            params[key] = value.clone();
        }
        // As it is: the types know a capability by another name than the protocol.
        let mut result = client.ask_raw("initialize", params).expect("a beginning");
        // The types have no field for it.
        let able = result["capabilities"].as_object_mut().expect("an object");
        assert_eq!(able.remove("typeHierarchyProvider"), Some(json!(true)));
        let result = through(result);
        client.tell::<Initialized>(InitializedParams {});
        (client, result)
    }

    // ---- documents ----

    pub fn open(&mut self, uri: &str, text: &str) -> Document {
        let document = Document {
            uri: Url::parse(uri).unwrap(),
            version: 1,
            text: text.to_owned(),
            encoding: self.encoding,
        };
        self.tell::<DidOpenTextDocument>(DidOpenTextDocumentParams {
            text_document: TextDocumentItem::new(
                document.uri.clone(),
                "clutch".to_owned(),
                document.version,
                text.to_owned(),
            ),
        });
        document
    }

    pub fn close(&mut self, document: &Document) {
        self.tell::<DidCloseTextDocument>(DidCloseTextDocumentParams {
            text_document: document.id(),
        });
    }

    /// Makes changes, one after the other, in one notification.
    pub fn change(&mut self, document: &mut Document, changes: &[(&str, &str)]) {
        let mut events = Vec::new();
        for (old, new) in changes {
            let start = document.find(old);
            let range = document.range(start, start + old.len());
            document.text.replace_range(start..start + old.len(), new);
            events.push(TextDocumentContentChangeEvent {
                range: Some(range),
                range_length: None,
                text: (*new).to_owned(),
            });
        }
        self.send_changes(document, events);
    }

    /// Types a text in front of another, with a notification for each character.
    pub fn type_before(&mut self, document: &mut Document, mark: &str, text: &str) {
        for c in text.chars() {
            let at = document.find(mark);
            let range = document.range(at, at);
            document.text.insert(at, c);
            let event = TextDocumentContentChangeEvent {
                range: Some(range),
                range_length: None,
                text: c.to_string(),
            };
            self.send_changes(document, vec![event]);
        }
    }

    pub fn send_changes(
        &mut self,
        document: &mut Document,
        events: Vec<TextDocumentContentChangeEvent>,
    ) {
        document.version += 1;
        self.tell::<DidChangeTextDocument>(DidChangeTextDocumentParams {
            text_document: VersionedTextDocumentIdentifier::new(
                document.uri.clone(),
                document.version,
            ),
            content_changes: events,
        });
    }

    /// Tells the server that typing has stopped, by a change that changes nothing and leaves no cursor.
    pub fn stop_typing(&mut self, document: &mut Document) {
        self.send_changes(document, Vec::new());
    }

    /// The diagnostics published for the present version of a document.
    pub fn diagnostics(&mut self, document: &Document) -> Vec<Diagnostic> {
        let published = self.published(&document.uri, |version| version >= document.version);
        assert_eq!(
            published.version,
            Some(document.version),
            "of what version?"
        );
        published.diagnostics
    }

    /// The next diagnostics of a document in a wanted version.
    pub fn published(
        &mut self,
        uri: &Url,
        wanted: impl Fn(i32) -> bool,
    ) -> PublishDiagnosticsParams {
        let message = self.wait(&mut |message| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == uri.as_str()
                && wanted(message["params"]["version"].as_i64().expect("a version") as i32)
        });
        through(message["params"].clone())
    }

    /// The parameters of the next notification of a kind.
    pub fn told(&mut self, method: &str) -> Value {
        let message =
            self.wait(&mut |message| message["method"] == method && message.get("id").is_none());
        message["params"].clone()
    }

    /// Answers the server's next request with a method, and gives the request's parameters.
    pub fn answer_to(&mut self, method: &str, result: &Value) -> Value {
        let message =
            self.wait(&mut |message| message["method"] == method && message.get("id").is_some());
        let answer = json!({ "jsonrpc": "2.0", "id": message["id"], "result": result });
        self.send(&answer.to_string());
        message.get("params").cloned().unwrap_or_default()
    }

    // ---- messages ----

    /// Sends a request and passes the answer through the protocol's types.
    pub fn ask<R: Request>(&mut self, params: R::Params) -> R::Result {
        let params = serde_json::to_value(params).unwrap();
        match self.ask_raw(R::METHOD, params) {
            Ok(result) => through(result),
            Err(error) => panic!("{} failed: {error}", R::METHOD),
        }
    }

    /// Sends a request and gives the unchanged result or error.
    pub fn ask_raw(&mut self, method: &str, params: Value) -> Result<Value, Value> {
        let id = self.send_request(method, params);
        self.answer(id)
    }

    pub fn send_request(&mut self, method: &str, params: Value) -> i64 {
        self.next_id += 1;
        self.methods.insert(self.next_id, method.to_owned());
        let mut message = json!({ "jsonrpc": "2.0", "id": self.next_id, "method": method });
        if !params.is_null() {
            message["params"] = params;
        }
        self.send(&message.to_string());
        self.next_id
    }

    pub fn answer(&mut self, id: i64) -> Result<Value, Value> {
        let message =
            self.wait(&mut |message| message.get("method").is_none() && message["id"] == id);
        match message.get("error") {
            Some(error) => Err(error.clone()),
            None => Ok(message["result"].clone()),
        }
    }

    /// The error that answers a message sent unchanged.
    pub fn error_of(&mut self, id: &Value) -> Value {
        let message =
            self.wait(&mut |message| message.get("method").is_none() && message["id"] == *id);
        message["error"].clone()
    }

    /// The codes of the errors so far that answer messages without a readable id.
    pub fn answers_to_garbage(&mut self) -> Vec<i64> {
        let is_one = |message: &mut Value| message.get("id").is_some_and(Value::is_null);
        let answers = self.unclaimed.extract_if(.., is_one);
        answers
            .map(|message| message["error"]["code"].as_i64().expect("a code"))
            .collect()
    }

    /// The error that answers a message without a readable id.
    pub fn answer_to_garbage(&mut self) -> Value {
        let message = self.wait(&mut |message| message.get("id").is_some_and(Value::is_null));
        message["error"].clone()
    }

    pub fn tell<N: Notification>(&mut self, params: N::Params) {
        let params = serde_json::to_value(params).unwrap();
        self.tell_raw(N::METHOD, params);
    }

    pub fn tell_raw(&mut self, method: &str, params: Value) {
        let mut message = json!({ "jsonrpc": "2.0", "method": method });
        if !params.is_null() {
            message["params"] = params;
        }
        self.send(&message.to_string());
    }

    /// Sends a message unchanged.
    pub fn send(&mut self, body: &str) {
        self.send_bytes(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
    }

    pub fn send_bytes(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().expect("the input is open");
        // A server that is gone is noticed by what waits for its answer.
        let _ = input.write_all(bytes).and_then(|()| input.flush());
    }

    /// The first wanted message, of those that arrived and those to come.
    fn wait(&mut self, wanted: &mut dyn FnMut(&Value) -> bool) -> Value {
        if let Some(at) = self.unclaimed.iter().position(&mut *wanted) {
            return self.unclaimed.remove(at);
        }
        let deadline = Instant::now() + PATIENCE;
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            let Ok(message) = self.messages.recv_timeout(left) else {
                panic!(
                    "a message did not come; unclaimed are {:#?}",
                    self.unclaimed
                );
            };
            self.record(&message);
            if wanted(&message) {
                return message;
            }
            self.unclaimed.push(message);
        }
    }

    /// Drops messages that arrived and that no test asked for.
    pub fn forget(&mut self) {
        self.unclaimed();
        self.unclaimed.clear();
    }

    /// Messages that arrived and that no test asked for.
    pub fn unclaimed(&mut self) -> &[Value] {
        while let Ok(message) = self.messages.try_recv() {
            self.record(&message);
            self.unclaimed.push(message);
        }
        &self.unclaimed
    }

    fn record(&mut self, message: &Value) {
        if self.record.len() == MOST_RECORDED {
            return;
        }
        let method = match message.get("method") {
            Some(method) => method.clone(),
            None => json!(message["id"].as_i64().and_then(|id| self.methods.get(&id))),
        };
        // An answer to what a test put on the wire by hand.
        if method.is_null() && message.get("error").is_none() {
            return;
        }
        self.record
            .push(json!({ "method": method, "message": message }));
    }

    /// How long the server has kept a processor busy, in milliseconds.
    pub fn work_done(&self) -> u64 {
        let id = Pid::from_u32(self.server.id());
        let mut system = System::new();
        system.refresh_processes(ProcessesToUpdate::Some(&[id]), true);
        let server = system.process(id).expect("it lives");
        server.accumulated_cpu_time()
    }

    // ---- the end ----

    /// Kills the server, whatever it is doing.
    pub fn kill(&mut self) {
        self.server.kill().expect("it is a child");
        self.server.wait().expect("it is a child");
    }

    pub fn close_input(&mut self) {
        self.input = None;
    }

    /// The exit code of a server that ends by itself.
    pub fn exit_code(&mut self) -> Option<i32> {
        let deadline = Instant::now() + PATIENCE;
        while Instant::now() < deadline {
            if let Some(status) = self.server.try_wait().expect("it is a child") {
                return status.code();
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        panic!("the server does not end");
    }

    /// Ends the session as the protocol requires.
    pub fn finish(mut self) {
        assert_eq!(self.ask_raw("shutdown", Value::Null), Ok(Value::Null));
        self.tell_raw("exit", Value::Null);
        assert_eq!(self.exit_code(), Some(0));
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.server.kill();
        let _ = self.server.wait();
        self.unclaimed();
        let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("lsp-sessions");
        let thread = std::thread::current();
        let name = thread.name().unwrap_or("session").replace("::", "-");
        let number = match ENDED.lock() {
            Ok(mut ended) => {
                let number = ended.entry(name.clone()).or_default();
                *number += 1;
                *number
            }
            Err(_) => 0,
        };
        let lines: String = self
            .record
            .iter()
            .map(|message| format!("{message}\n"))
            .collect();
        // The record is for another validator, which complains if it is not there.
        let _ = std::fs::create_dir_all(&folder)
            .and_then(|()| std::fs::write(folder.join(format!("{name}-{number}.jsonl")), lines));
    }
}

impl Document {
    pub fn id(&self) -> TextDocumentIdentifier {
        TextDocumentIdentifier::new(self.uri.clone())
    }

    /// Where a text occurs first.
    pub fn find(&self, text: &str) -> usize {
        let found = self.text.find(text);
        found.unwrap_or_else(|| panic!("`{text}` is not in\n{}", self.text))
    }

    /// The position right after a text.
    pub fn behind(&self, text: &str) -> Position {
        self.position(self.find(text) + text.len())
    }

    /// The position right before a text.
    pub fn before(&self, text: &str) -> Position {
        self.position(self.find(text))
    }

    pub fn at(&self, position: Position) -> TextDocumentPositionParams {
        TextDocumentPositionParams::new(self.id(), position)
    }

    pub fn all(&self) -> Range {
        self.range(0, self.text.len())
    }

    pub fn range(&self, start: usize, end: usize) -> Range {
        Range::new(self.position(start), self.position(end))
    }

    /// Where each line begins; they end as the protocol says, with `\n`, `\r\n` or `\r`.
    fn line_starts(&self) -> impl Iterator<Item = usize> {
        let bytes = self.text.as_bytes();
        let ends_line = |at: &usize| match bytes[*at] {
            b'\n' => true,
            b'\r' => bytes.get(at + 1) != Some(&b'\n'),
            _ => false,
        };
        let behind_ends = (0..bytes.len()).filter(ends_line).map(|at| at + 1);
        std::iter::once(0).chain(behind_ends)
    }

    pub fn position(&self, offset: usize) -> Position {
        let starts = self.line_starts().take_while(|start| *start <= offset);
        let (line, start) = starts.enumerate().last().unwrap();
        let column = self.encoding.length(&self.text[start..offset]);
        Position::new(line as u32, column as u32)
    }

    fn offset(&self, position: Position) -> usize {
        let line = self.line_starts().nth(position.line as usize).unwrap();
        let rest = &self.text[line..];
        let ends = rest.char_indices().map(|(at, _)| at).chain([rest.len()]);
        let at = ends
            .into_iter()
            .find(|at| self.encoding.length(&rest[..*at]) == position.character as usize);
        line + at.unwrap_or_else(|| panic!("{position:?} is inside of a character"))
    }

    /// The text that a range covers.
    pub fn covered(&self, range: Range) -> &str {
        &self.text[self.offset(range.start)..self.offset(range.end)]
    }

    /// The text after some edits, which may not overlap.
    pub fn edited(&self, edits: &[TextEdit]) -> String {
        let mut edits: Vec<(usize, usize, &str)> = edits
            .iter()
            .map(|edit| {
                (
                    self.offset(edit.range.start),
                    self.offset(edit.range.end),
                    &*edit.new_text,
                )
            })
            .collect();
        edits.sort();
        assert!(
            edits.windows(2).all(|pair| pair[0].1 <= pair[1].0),
            "{edits:?} overlap"
        );
        let mut text = self.text.clone();
        for (start, end, new) in edits.into_iter().rev() {
            text.replace_range(start..end, new);
        }
        text
    }
}

/// A value passed through the protocol's type. Nothing may be unknown to it or lost.
fn through<T: serde::de::DeserializeOwned + serde::Serialize>(value: Value) -> T {
    let typed: T = match serde_json::from_value(value.clone()) {
        Ok(typed) => typed,
        Err(error) => panic!("{error}: {value:#}"),
    };
    assert_eq!(serde_json::to_value(&typed).unwrap(), value);
    typed
}

/// The next message; `None` at the end. Panics on anything that is not exact, which ends the messages.
fn read(output: &mut impl BufRead) -> Option<Value> {
    let mut header = String::new();
    if output.read_line(&mut header).ok()? == 0 {
        return None;
    }
    let length = header
        .strip_prefix("Content-Length: ")
        .and_then(|rest| rest.strip_suffix("\r\n"))
        .unwrap_or_else(|| panic!("no header: {header:?}"));
    let mut blank = String::new();
    output.read_line(&mut blank).ok()?;
    assert_eq!(blank, "\r\n");
    let mut body = vec![0; length.parse().unwrap()];
    output.read_exact(&mut body).ok()?;
    let message: Value = serde_json::from_slice(&body).expect("JSON");
    validate(message.as_object().expect("an object"));
    Some(message)
}

fn validate(message: &Map<String, Value>) {
    assert_eq!(message["jsonrpc"], "2.0");
    let keys: Vec<&str> = message.keys().map(String::as_str).collect();
    let has = |key: &str| message.contains_key(key);
    let known: &[&str] = if has("method") {
        assert!(message["method"].is_string());
        &["jsonrpc", "id", "method", "params"]
    } else {
        assert!(has("id"), "an answer to nothing: {message:?}");
        assert!(has("result") != has("error"), "{message:?}");
        if let Some(error) = message.get("error") {
            assert!(error["code"].is_i64() && error["message"].is_string());
        }
        &["jsonrpc", "id", "result", "error"]
    };
    assert!(keys.iter().all(|key| known.contains(key)), "{message:?}");
}
