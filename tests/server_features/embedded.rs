//! The server inside another program, compared with the real server, and without a disk.

use super::*;
use bitepoint::faces::server::{Embedded, FILES, QUIET};
use tower_lsp::lsp_types::Url;

/// A client of the embedded server.
struct Inside {
    server: Embedded,
    /// The messages that were no answers.
    told: Vec<Value>,
}

impl Inside {
    fn start(able: &Value, folder: &str) -> Self {
        let mut inside = Self {
            server: Embedded::default(),
            told: Vec::new(),
        };
        let folders = json!([{ "uri": folder, "name": "cars" }]);
        let said = json!({ "processId": null, "rootUri": null, "capabilities": able, "workspaceFolders": folders });
        inside.ask("initialize", said).expect("a beginning");
        inside.tell("initialized", json!({}));
        inside
    }

    fn send(&mut self, message: &Value) -> Vec<Value> {
        serde_json::from_str(&self.server.take(&message.to_string())).expect("a list")
    }

    fn ask(&mut self, method: &str, params: Value) -> Result<Value, Value> {
        let message = json!({ "jsonrpc": "2.0", "id": 7, "method": method, "params": params });
        let mut said = self.send(&message);
        let answers: Vec<Value> = said.extract_if(.., |m| m["id"] == 7).collect();
        self.told.extend(said);
        let [answer] = &answers[..] else {
            panic!("{method} has {} answers", answers.len());
        };
        match answer.get("error") {
            Some(error) => Err(error.clone()),
            None => Ok(answer["result"].clone()),
        }
    }

    fn tell(&mut self, method: &str, params: Value) {
        let said = self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
        self.told.extend(said);
    }

    fn open(&mut self, uri: &str, text: &str) {
        let document = json!({ "uri": uri, "languageId": "clutch", "version": 1, "text": text });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
    }

    fn give(&mut self, files: &[(&str, Option<&str>)]) {
        let files: Vec<Value> = files
            .iter()
            .map(|(uri, text)| json!({ "uri": uri, "text": text }))
            .collect();
        self.tell(FILES, json!({ "files": files }));
    }

    fn found(&mut self, uri: &str) -> Vec<String> {
        let params = json!({ "textDocument": { "uri": uri } });
        let report = self.ask("textDocument/diagnostic", params).unwrap();
        let items = report["items"].as_array().expect("a full report").iter();
        items
            .map(|one| one["code"].as_str().unwrap().to_owned())
            .collect()
    }

    fn heard(&mut self, method: &str) -> usize {
        let heard = self
            .told
            .extract_if(.., |message| message["method"] == method);
        heard.count()
    }
}

fn able() -> Value {
    let mut able = capabilities(Encoding::Utf16);
    let more = json!({
        "textDocument": { "diagnostic": {} },
        "workspace": { "diagnostics": { "refreshSupport": true }, "fileOperations": { "willRename": true } },
    });
    merge(&mut able, &more);
    able
}

/// Every request about one document is answered alike.
#[test]
fn the_embedded_servers_answers_equal_the_real_servers() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(&folder, &able());
    let mut inside = Inside::start(&able(), &folder.uri(""));
    let text = format!(
        "{}system bigger from car {{ slave {{ bore = max(1 in, 22 mm) }} }}\n",
        dragging()
    );
    let document = client.open(SPEC, &text);
    inside.open(SPEC, &text);
    let here = json!({ "textDocument": { "uri": SPEC } });
    let at = |mark: &str| merged(&here, &json!({ "position": document.behind(mark) }));
    let range = merged(&here, &json!({ "range": document.all() }));
    let options = json!({ "options": { "tabSize": 4, "insertSpaces": true } });
    let mut asked = 0;
    for (method, params) in [
        ("textDocument/diagnostic", here.clone()),
        ("textDocument/hover", at("pad_ar")),
        ("textDocument/hover", at("system ca")),
        ("textDocument/completion", at("pedal { ")),
        ("textDocument/inlayHint", range.clone()),
        ("textDocument/codeLens", here.clone()),
        ("textDocument/signatureHelp", at("max(1 in, ")),
        ("textDocument/definition", at("from ca")),
        (
            "textDocument/references",
            merged(
                &at("from ca"),
                &json!({ "context": { "includeDeclaration": true } }),
            ),
        ),
        ("textDocument/documentHighlight", at("line fl")),
        ("textDocument/prepareRename", at("line fl")),
        (
            "textDocument/rename",
            merged(&at("line fl"), &json!({ "newName": "hose" })),
        ),
        (
            "textDocument/rename",
            merged(&at("line fl"), &json!({ "newName": "7up" })),
        ),
        ("textDocument/documentSymbol", here.clone()),
        ("textDocument/documentLink", here.clone()),
        ("textDocument/foldingRange", here.clone()),
        (
            "textDocument/selectionRange",
            merged(&here, &json!({ "positions": [document.behind("pad_ar")] })),
        ),
        ("textDocument/semanticTokens/range", range.clone()),
        ("textDocument/formatting", merged(&here, &options)),
        ("textDocument/rangeFormatting", merged(&range, &options)),
        (
            "textDocument/codeAction",
            merged(&range, &json!({ "context": { "diagnostics": [] } })),
        ),
        ("textDocument/prepareTypeHierarchy", at("system ca")),
        ("textDocument/prepareCallHierarchy", at("system ca")),
        ("bitepoint/curve", here.clone()),
        ("bitepoint/sheet", here.clone()),
        (
            "textDocument/hover",
            json!({ "textDocument": { "uri": "untitled:none" }, "position": { "line": 0, "character": 0 } }),
        ),
    ] {
        let there = client.ask_raw(method, params.clone());
        assert_eq!(inside.ask(method, params), there, "{method}");
        asked += usize::from(there.is_ok_and(|answer| !answer.is_null()));
    }
    assert!(asked >= 22, "only {asked} had an answer");
    let item = |kind: &str| json!({ "item": kind });
    assert!(inside.ask("typeHierarchy/subtypes", item("none")).is_err());
    client.finish();
}

fn merged(one: &Value, more: &Value) -> Value {
    let mut all = one.clone();
    merge(&mut all, more);
    all
}

const CAR_AT: &str = "file:///w/cars/car.clutch";
const PARTS_AT: &str = "file:///w/parts.clutch";

fn car() -> String {
    with_part().replace("parts é.clutch", "../parts.clutch")
}

#[test]
fn a_spec_uses_the_files_that_the_client_gives() {
    let mut inside = Inside::start(&able(), "file:///w");
    let car = car();
    inside.open(CAR_AT, &car);
    assert_eq!(inside.found(CAR_AT)[0], "use-missing");
    inside.give(&[(PARTS_AT, Some(PARTS)), (CAR_AT, Some(&car))]);
    assert_eq!(inside.heard("workspace/diagnostic/refresh"), 1);
    assert!(!inside.found(CAR_AT).contains(&"use-missing".to_owned()));
    // A file that is given and not open is part of the workspace.
    let found = inside
        .ask("workspace/symbol", json!({ "query": "mine" }))
        .unwrap();
    assert_eq!(found[0]["location"]["uri"], PARTS_AT);
    // What is open stays as it is there, and what is closed is what was given last.
    inside.give(&[(CAR_AT, Some("system other {}\n"))]);
    let named = |inside: &mut Inside, query: &str| {
        let found = inside
            .ask("workspace/symbol", json!({ "query": query }))
            .unwrap();
        found.as_array().unwrap().len()
    };
    assert_eq!(
        (named(&mut inside, "car"), named(&mut inside, "other")),
        (1, 0)
    );
    let closed = json!({ "textDocument": { "uri": CAR_AT } });
    inside.tell("textDocument/didClose", closed);
    assert_eq!(
        (named(&mut inside, "car"), named(&mut inside, "other")),
        (0, 1)
    );
    // One that is gone is missed.
    inside.open(CAR_AT, &car);
    inside.give(&[(PARTS_AT, None)]);
    assert_eq!(inside.found(CAR_AT)[0], "use-missing");
    assert_eq!(named(&mut inside, "mine"), 0);
}

#[test]
fn a_given_library_is_renamed_with_its_users() {
    let mut inside = Inside::start(&able(), "file:///w");
    inside.give(&[(PARTS_AT, Some(PARTS)), (CAR_AT, Some(&car()))]);
    let moved =
        json!({ "files": [{ "oldUri": PARTS_AT, "newUri": "file:///w/cars/slaves.clutch" }] });
    let edit = inside.ask("workspace/willRenameFiles", moved).unwrap();
    assert_eq!(edit["documentChanges"][0]["textDocument"]["uri"], CAR_AT);
    assert_eq!(
        edit["documentChanges"][0]["edits"][0]["newText"],
        "\"slaves.clutch\""
    );
}

#[test]
fn an_edit_is_analysed_and_unfinished_statements_are_reported_later() {
    let mut inside = Inside::start(&able(), "file:///w");
    inside.open(SPEC, CAR);
    let line = CAR[..CAR.find("fork").unwrap()].matches('\n').count();
    let place = json!({ "line": line, "character": 4 });
    let change = json!({
        "textDocument": { "uri": SPEC, "version": 2 },
        "contentChanges": [{ "range": { "start": place, "end": place }, "text": "li" }],
    });
    inside.tell("textDocument/didChange", change);
    assert_eq!(inside.found(SPEC), [""; 0]);
    inside.tell(QUIET, json!({}));
    assert_eq!(inside.heard("workspace/diagnostic/refresh"), 1);
    assert_eq!(inside.found(SPEC), ["unknown-block"]);
    // A client that cannot ask is told.
    let mut inside = Inside::start(&json!({}), "file:///w");
    inside.open(SPEC, &dragging());
    let told = inside.told.last().expect("findings");
    assert_eq!(told["method"], "textDocument/publishDiagnostics");
    let found = told["params"]["diagnostics"].as_array().unwrap();
    assert!(
        found.iter().any(|one| one["code"] == "short-release"),
        "{told}"
    );
}

#[test]
fn a_request_that_cannot_be_answered_gives_the_reason() {
    let mut inside = Inside {
        server: Embedded::default(),
        told: Vec::new(),
    };
    let error = |inside: &mut Inside, method, params| {
        inside.ask(method, params).unwrap_err()["code"].clone()
    };
    assert_eq!(error(&mut inside, "textDocument/hover", json!({})), -32002);
    let mut inside = Inside::start(&able(), "file:///w");
    assert_eq!(error(&mut inside, "textDocument/hover", json!({})), -32602);
    assert_eq!(error(&mut inside, "textDocument/none", json!({})), -32601);
    let said: Value = serde_json::from_str(&inside.server.take("{")).unwrap();
    assert_eq!(said[0]["error"]["code"], -32700);
    inside.tell("textDocument/didOpen", json!({ "textDocument": 3 }));
    assert_eq!(inside.heard("window/logMessage"), 1);
    // It goes on all the same.
    inside.open(SPEC, CAR);
    assert!(inside.ask("shutdown", Value::Null).is_ok());
}

/// The program's output and its complaints.
fn program(args: &[&str]) -> Value {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let complaint = String::from_utf8(output.stderr).unwrap();
    let complaint = complaint.trim_end().trim_start_matches("bitepoint: ");
    json!({ "text": String::from_utf8(output.stdout).unwrap(), "complaint": complaint })
}

/// A session in the project's folder, which gives its examples.
fn in_project() -> (Inside, impl Fn(&str) -> (String, String)) {
    let folder = Url::from_directory_path(env!("CARGO_MANIFEST_DIR")).unwrap();
    let inside = Inside::start(&able(), folder.as_str());
    let document = move |name: &str| {
        let text = std::fs::read_to_string(format!("{}/{name}", env!("CARGO_MANIFEST_DIR")));
        (folder.join(name).unwrap().into(), text.unwrap())
    };
    (inside, document)
}

#[test]
fn a_verbs_answer_equals_the_programs_output() {
    let (mut inside, document) = in_project();
    let (size, bom, diagnose) = (
        ("size", &[][..]),
        ("bom", &["--format", "md"][..]),
        ("diagnose", &["--format", "md"][..]),
    );
    let all = [size, bom, diagnose];
    for (file, system, verbs) in [
        ("examples/kit.clutch", "larkfield_kit", &all[..]),
        ("examples/cable-adjuster.clutch", "ratchet", &all),
        ("examples/larkfield.clutch", "none", &all),
        ("examples/larkfield.clutch", "larkfield", &[bom, diagnose]),
        (
            "examples/fails/drags-as-measured.clutch",
            "the_call",
            &[bom, diagnose],
        ),
    ] {
        let (uri, text) = document(file);
        inside.open(&uri, &text);
        for (verb, more) in verbs {
            let args = [&[verb, file, system][..], more].concat();
            let asked = json!({ "textDocument": { "uri": uri }, "verb": verb, "system": system });
            let said = inside.ask("bitepoint/verb", asked).unwrap();
            assert_eq!(said, program(&args), "{args:?}");
        }
    }
    let explained = [
        "drag",
        "slave.bore",
        "slave bore",
        "short-release",
        "slave_travel",
        "psi",
        "pedal",
        "units",
        "words",
        "reference",
        "nothing of the kind",
        "short-relaese",
    ];
    for what in explained {
        let said = inside.ask("bitepoint/explain", json!({ "what": what }));
        assert_eq!(said.unwrap(), program(&["explain", what]), "{what}");
    }
}

#[test]
fn a_verb_uses_the_present_text() {
    let (mut inside, document) = in_project();
    let (uri, saved) = document("examples/larkfield.clutch");
    let edited = saved.replace("    slave hy_s22 {", "    slave hy_s25 {");
    assert_ne!(saved, edited);
    inside.open(&uri, &edited);
    let ask = |inside: &mut Inside, more: Value| {
        let asked = merged(&json!({ "textDocument": { "uri": uri } }), &more);
        let said = inside.ask("bitepoint/verb", asked).unwrap();
        assert_eq!(said["complaint"], "", "{more}");
        said["text"].as_str().unwrap().to_owned()
    };
    let bill = ask(&mut inside, json!({ "verb": "bom", "system": "larkfield" }));
    assert!(
        bill.contains("hy\\_s25") && !bill.contains("hy\\_s22"),
        "{bill}"
    );
    let compared = ask(&mut inside, json!({ "verb": "compare", "before": saved }));
    assert!(
        compared.contains("| `slave` | part hy\\_s22 | part hy\\_s25 |"),
        "{compared}"
    );
    assert!(compared.contains("`saved`"), "{compared}");
    assert!(
        compared.contains("`examples/larkfield.clutch:"),
        "{compared}"
    );
    let compared = ask(&mut inside, json!({ "verb": "compare", "before": edited }));
    assert!(compared.contains("**Nothing changed.**"), "{compared}");
    // What is not open is not answered.
    let asked = json!({ "textDocument": { "uri": "untitled:none" }, "verb": "bom" });
    assert_eq!(inside.ask("bitepoint/verb", asked).unwrap(), Value::Null);
    let asked = json!({ "textDocument": { "uri": uri }, "verb": "sing" });
    assert_eq!(
        inside.ask("bitepoint/verb", asked).unwrap_err()["code"],
        -32602
    );
}
