//! The log that a user can send with a report.

use super::*;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A word in every place of the spec where the author may choose a word, and nowhere else.
const SECRET: &str = "nobodyelsesname";

fn spec() -> String {
    format!(
        "# {SECRET} in a comment\n{}let {SECRET} = 3 mm\n",
        CAR.replace("system car \"", &format!("system car \"{SECRET} "))
    )
}

/// The log of a whole session.
fn logged(arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("bitepoint.log");
    let mut all = vec!["--log", log.to_str().unwrap()];
    all.extend_from_slice(arguments);
    let said = json!({
        "capabilities": capabilities(Encoding::Utf32),
        "clientInfo": { "name": "Scripted", "version": "7.1" },
    });
    let mut client = Client::start_with_arguments(&all, said, Encoding::Utf32);
    let mut document = client.open(SPEC, &spec());
    client.diagnostics(&document);
    client.change(&mut document, &[("= 3 mm", "= 4 mm")]);
    client.diagnostics(&document);
    let outline = ask(
        &mut client,
        "textDocument/documentSymbol",
        &document,
        json!({}),
    );
    assert!(outline.to_string().contains(SECRET), "{outline}");
    client.finish();
    std::fs::read_to_string(log).unwrap()
}

#[test]
fn a_log_has_messages_and_times_and_no_text_of_the_spec() {
    let log = logged(&[]);
    for told in [
        concat!("started version=\"", env!("CARGO_PKG_VERSION")),
        "client name=\"Scripted\" version=\"7.1\"",
        "encoding: Utf32",
        "received method=\"textDocument/didOpen\" bytes=",
        "received method=\"textDocument/documentSymbol\" id=",
        "answered method=\"textDocument/documentSymbol\" id=",
        "sent method=\"textDocument/publishDiagnostics\" bytes=",
        "analysed file=\"untitled:car.clutch\" version=1 bytes=",
        "ended shut_down=true",
    ] {
        assert!(log.contains(told), "{told} is not in:\n{log}");
    }
    let answered = log.lines().find(|line| line.contains("answered"));
    assert!(answered.unwrap().contains("ms="), "{log}");
    assert!(!log.contains(SECRET), "{log}");
    assert!(!log.contains("slave"), "{log}");
}

#[test]
fn a_log_has_texts_if_they_are_asked_for() {
    let log = logged(&["--log-text"]);
    assert!(log.contains(SECRET), "{log}");
}

fn refused(log: &Path) -> String {
    let ended = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(["serve", "--log"])
        .arg(log)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert_eq!(ended.status.code(), Some(2));
    assert!(ended.stdout.is_empty());
    String::from_utf8(ended.stderr).unwrap()
}

#[test]
fn a_log_that_cannot_be_written_is_reported_first() {
    let folder = tempfile::tempdir().unwrap();
    let missing: PathBuf = folder.path().join("missing/bitepoint.log");
    let said = refused(&missing);
    assert!(said.contains("there is no log: `"), "{said}");
    assert!(
        said.contains("missing/bitepoint.log` cannot be written"),
        "{said}"
    );
    let spec = folder.path().join("car.clutch");
    std::fs::write(&spec, CAR).unwrap();
    let said = refused(&spec);
    assert!(said.contains("is a spec by its name"), "{said}");
    assert_eq!(std::fs::read_to_string(&spec).unwrap(), CAR);
}
