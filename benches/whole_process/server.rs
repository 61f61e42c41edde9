//! A server on its standard input and output, and a client that counts the time.

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

pub struct Server {
    process: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
    /// Whether the server only returns each message unchanged.
    echoes: bool,
}

impl Server {
    pub fn start(command: &mut Command, echoes: bool) -> Self {
        let mut process = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the server starts");
        Self {
            input: process.stdin.take().expect("an input"),
            output: BufReader::new(process.stdout.take().expect("an output")),
            process,
            echoes,
        }
    }

    /// Begins a session in a folder, as a client to which diagnostics are published.
    pub fn initialize(&mut self, folder: &Path) {
        let uri = address(folder);
        self.say(&json!({
            "jsonrpc": "2.0", "id": 1, "method": "initialize",
            "params": {
                "processId": null,
                "rootUri": uri,
                "workspaceFolders": [{ "uri": uri, "name": "vans" }],
                "capabilities": { "textDocument": { "publishDiagnostics": { "versionSupport": true } } },
            },
        }));
        self.hear(|message| self_answers(message, 1));
        self.say(&json!({ "jsonrpc": "2.0", "method": "initialized", "params": {} }));
        if self.echoes {
            self.hear(|_| true);
        }
    }

    pub fn open(&mut self, uri: &str, text: &str) {
        self.say(&json!({
            "jsonrpc": "2.0", "method": "textDocument/didOpen",
            "params": { "textDocument": { "uri": uri, "languageId": "clutch", "version": 0, "text": text } },
        }));
    }

    /// Waits until the diagnostics of a version of some document are there.
    pub fn diagnosed(&mut self, version: i32) {
        if self.echoes {
            return self.hear(|_| true);
        }
        let published = format!("\"version\":{version}");
        self.hear(|message| {
            message.contains("textDocument/publishDiagnostics") && message.contains(&published)
        });
    }

    /// Types a character, or removes it. Gives the time to the diagnostics of that version.
    pub fn key(&mut self, uri: &str, version: i32, (line, column): (u32, u32)) -> Duration {
        let (end, text) = match version % 2 {
            1 => (column, "0"),
            _ => (column + 1, ""),
        };
        let message = json!({
            "jsonrpc": "2.0", "method": "textDocument/didChange",
            "params": {
                "textDocument": { "uri": uri, "version": version },
                "contentChanges": [{
                    "range": {
                        "start": { "line": line, "character": column },
                        "end": { "line": line, "character": end },
                    },
                    "text": text,
                }],
            },
        });
        let began = Instant::now();
        self.say(&message);
        self.diagnosed(version);
        began.elapsed()
    }

    /// The memory that it holds, in bytes.
    pub fn memory(&self) -> Option<u64> {
        let status = format!("/proc/{}/status", self.process.id());
        let status = std::fs::read_to_string(status).ok()?;
        let line = status.lines().find(|line| line.starts_with("VmRSS:"))?;
        let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
        Some(kilobytes << 10)
    }

    fn say(&mut self, message: &Value) {
        let body = message.to_string();
        let frame = format!("Content-Length: {}\r\n\r\n{body}", body.len());
        self.input.write_all(frame.as_bytes()).expect("it listens");
        self.input.flush().expect("it listens");
    }

    fn hear(&mut self, is_it: impl Fn(&str) -> bool) {
        loop {
            let body = frame(&mut self.output).expect("it answers");
            if is_it(&String::from_utf8(body).expect("text")) {
                return;
            }
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

pub fn address(path: &Path) -> String {
    format!("file://{}", path.display())
}

fn self_answers(message: &str, id: i64) -> bool {
    serde_json::from_str::<Value>(message).is_ok_and(|message| message["id"] == id)
}

/// The body of the next message; `None` at the end.
fn frame(input: &mut impl BufRead) -> Option<Vec<u8>> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if input.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim().split_once(": ") {
            Some(("Content-Length", value)) => length = value.parse().ok()?,
            Some(_) => {}
            None => break,
        }
    }
    let mut body = vec![0; length];
    input.read_exact(&mut body).ok()?;
    Some(body)
}

/// Returns every message unchanged: the least time that an answer can take.
pub fn echo() {
    let (mut input, mut output) = (std::io::stdin().lock(), std::io::stdout().lock());
    while let Some(body) = frame(&mut input) {
        let written = write!(output, "Content-Length: {}\r\n\r\n", body.len())
            .and_then(|()| output.write_all(&body))
            .and_then(|()| output.flush());
        if written.is_err() {
            return;
        }
    }
}
