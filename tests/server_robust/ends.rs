//! Ends of sessions, and clients that only seem to have ended.

use super::*;
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use sysinfo::{Pid, ProcessesToUpdate, System};

const PATIENCE: Duration = Duration::from_secs(60);

/// A server without a client around it.
struct Bare(Child);

impl Bare {
    fn start() -> Self {
        let server = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
            .arg("serve")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn();
        Self(server.expect("the server starts"))
    }

    fn send(&mut self, message: Value) {
        let input = self.0.stdin.as_mut().expect("the input is open");
        // A server that has ended is seen by its status.
        let _ = input.write_all(frame(&message.to_string()).as_bytes());
    }

    fn begin(&mut self, capabilities: Value) {
        let params = json!({ "processId": null, "capabilities": capabilities });
        self.send(json!({ "jsonrpc": "2.0", "id": 0, "method": "initialize", "params": params }));
        self.send(json!({ "jsonrpc": "2.0", "method": "initialized", "params": {} }));
    }

    fn open(&mut self, text: &str) {
        let document = json!({ "uri": SPEC, "languageId": "clutch", "version": 1, "text": text });
        self.send(json!({ "jsonrpc": "2.0", "method": "textDocument/didOpen",
            "params": { "textDocument": document } }));
    }

    fn code(&mut self) -> Option<i32> {
        let begun = Instant::now();
        loop {
            if let Some(status) = self.0.try_wait().expect("it is a child") {
                return status.code();
            }
            assert!(begun.elapsed() < PATIENCE, "the server does not end");
            std::thread::sleep(Duration::from_millis(2));
        }
    }
}

impl Drop for Bare {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

#[test]
fn a_server_whose_output_nobody_takes_ends() {
    for open_first in [false, true] {
        let mut server = Bare::start();
        if open_first {
            server.begin(json!({}));
            server.open(&dragging());
        }
        drop(server.0.stdout.take());
        server.begin(json!({}));
        // The input stays open.
        assert_eq!(server.code(), Some(1));
    }
}

/// A server with more output than its pipe holds, which nobody reads.
fn clogged() -> Bare {
    let mut server = Bare::start();
    server.begin(json!({}));
    server.open(&"let spare = 3 mm\n".repeat(2000));
    let params = json!({ "textDocument": { "uri": SPEC } });
    for id in 1..50 {
        server.send(
            json!({ "jsonrpc": "2.0", "id": id, "method": "textDocument/documentSymbol",
            "params": params }),
        );
    }
    server
}

#[test]
fn a_server_whose_client_neither_reads_nor_writes_ends() {
    let mut server = clogged();
    drop(server.0.stdin.take());
    assert_eq!(server.code(), Some(1));
}

#[test]
fn a_server_that_was_told_to_exit_does_not_wait_for_its_output_to_be_read() {
    let mut server = clogged();
    server.send(json!({ "jsonrpc": "2.0", "id": 99, "method": "shutdown" }));
    server.send(json!({ "jsonrpc": "2.0", "method": "exit" }));
    assert_eq!(server.code(), Some(0));
}

#[test]
fn a_session_that_never_began_ends_too() {
    let mut client = Client::silent();
    client.tell_raw("exit", Value::Null);
    assert_eq!(client.exit_code(), Some(1));
    let mut client = Client::silent();
    client.close_input();
    assert_eq!(client.exit_code(), Some(1));
    let mut client = Client::silent();
    client.send_bytes(b"garbage, and then nothing");
    client.close_input();
    assert_eq!(client.exit_code(), Some(1));
}

#[test]
fn a_server_ends_with_the_process_of_its_client() {
    // Any process that stays until it is told to go.
    let mut parent = Bare::start();
    let said = json!({ "processId": parent.0.id(), "capabilities": {} });
    let (mut client, _) = Client::start_saying(said, Encoding::Utf16);
    still_serves(&mut client);
    parent.0.kill().unwrap();
    parent.0.wait().unwrap();
    // Its input and output stay open.
    assert_eq!(client.exit_code(), Some(1));
}

#[test]
fn a_client_whose_process_cannot_be_seen_is_served() {
    let mut gone = Bare::start();
    gone.0.kill().unwrap();
    gone.0.wait().unwrap();
    for id in [gone.0.id(), 0, u32::MAX] {
        let said = json!({ "processId": id, "capabilities": {} });
        let (mut client, _) = Client::start_saying(said, Encoding::Utf16);
        still_serves(&mut client);
        client.finish();
    }
}

/// The memory that a process has, in bytes.
fn memory(system: &mut System, process: u32) -> u64 {
    let id = Pid::from_u32(process);
    system.refresh_processes(ProcessesToUpdate::Some(&[id]), true);
    system.process(id).expect("it lives").memory()
}

#[test]
fn a_client_that_reads_nothing_for_a_while_costs_little_and_loses_nothing() {
    const ASKED: u64 = 1_500;
    const MOST: u64 = 112 << 20;
    let mut server = Bare::start();
    server.begin(json!({ "textDocument": { "documentSymbol": { "hierarchicalDocumentSymbolSupport": true } } }));
    server.open(&"let a_spare_part_with_a_name_that_goes_on_and_on = 3 mm\n".repeat(500));
    let mut input = server.0.stdin.take().unwrap();
    let writer = std::thread::spawn(move || {
        let params = json!({ "textDocument": { "uri": SPEC } });
        for id in 1..=ASKED {
            let message = json!({ "jsonrpc": "2.0", "id": id,
                "method": "textDocument/documentSymbol", "params": params });
            input
                .write_all(frame(&message.to_string()).as_bytes())
                .expect("the server reads");
        }
        input
    });
    // Until it does nothing more, as far as can be seen.
    let mut system = System::new();
    let (mut before, mut still) = (0, 0);
    while still < 20 {
        let now = memory(&mut system, server.0.id());
        assert!(now < MOST, "{now} bytes");
        still = if now.abs_diff(before) < 1 << 16 {
            still + 1
        } else {
            0
        };
        before = now;
        std::thread::sleep(Duration::from_millis(50));
    }

    let mut output = BufReader::new(server.0.stdout.take().unwrap());
    let mut bytes = 0;
    let mut seen = Vec::new();
    while (seen.len() as u64) < ASKED {
        let mut header = String::new();
        output.read_line(&mut header).unwrap();
        let length: usize = header
            .trim()
            .strip_prefix("Content-Length: ")
            .unwrap()
            .parse()
            .unwrap();
        let mut body = vec![0; length + 2];
        output.read_exact(&mut body).unwrap();
        bytes += length as u64;
        // Beyond their ids the answers are alike, and there is much of them.
        let tail = String::from_utf8_lossy(&body[body.len().saturating_sub(40)..]).into_owned();
        let id = tail
            .rsplit_once("\"id\":")
            .and_then(|(_, id)| id.trim_end().trim_end_matches('}').parse().ok());
        seen.extend(id.filter(|id: &u64| *id > 0));
    }
    seen.sort_unstable();
    assert!(seen.into_iter().eq(1..=ASKED));
    assert!(bytes > MOST, "{bytes} bytes would not have filled it");
    drop(writer.join().unwrap());
    assert_eq!(server.code(), Some(1));
}
