//! The language server as an editor uses it.

#[path = "common/layouts.rs"]
mod layouts;
mod lsp_client;
mod server_features;
mod server_robust;

use lsp_client::{Client, Document, Encoding, capabilities};
use serde_json::{Value, json};
use tower_lsp::lsp_types::request::{
    CodeActionRequest, Completion, DocumentSymbolRequest, Formatting, GotoDefinition, HoverRequest,
    InlayHintRequest,
};
use tower_lsp::lsp_types::*;

const SPEC: &str = "untitled:car.clutch";

const CAR: &str = "system car \"A car that works\" {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }
    master { bore = 3/4 in  stroke = 36 mm  port_travel = 1 mm  mount_stiffness = 900 N/mm }
    line flex { bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }
    slave { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between  stiffness = 1200 N/mm }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
";

/// The car with a slave that is too big.
fn dragging() -> String {
    CAR.replace("slave { bore = 7/8 in", "slave { bore = 1 1/16 in")
}

fn code(diagnostic: &Diagnostic) -> &str {
    match &diagnostic.code {
        Some(NumberOrString::String(code)) => code,
        other => panic!("no check is called {other:?}"),
    }
}

/// The errors. Other findings about a car may change as checks are added.
fn errors(diagnostics: &[Diagnostic]) -> Vec<&Diagnostic> {
    let is_error = |d: &&Diagnostic| d.severity == Some(DiagnosticSeverity::ERROR);
    diagnostics.iter().filter(is_error).collect()
}

fn codes(diagnostics: &[Diagnostic]) -> Vec<&str> {
    errors(diagnostics).into_iter().map(code).collect()
}

fn hover(client: &mut Client, document: &Document, position: Position) -> Option<(String, String)> {
    let hover = client.ask::<HoverRequest>(HoverParams {
        text_document_position_params: document.at(position),
        work_done_progress_params: Default::default(),
    })?;
    let HoverContents::Markup(markup) = hover.contents else {
        panic!("a hover is markup");
    };
    let covered = document.covered(hover.range.expect("a range")).to_owned();
    Some((markup.value, covered))
}

fn complete(client: &mut Client, document: &Document, position: Position) -> Vec<CompletionItem> {
    let found = client.ask::<Completion>(CompletionParams {
        text_document_position: document.at(position),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
        context: None,
    });
    match found {
        Some(CompletionResponse::List(list)) => list.items,
        other => panic!("no list: {other:?}"),
    }
}

fn accept(document: &Document, item: &CompletionItem) -> String {
    let Some(CompletionTextEdit::Edit(edit)) = &item.text_edit else {
        panic!("no edit: {:?}", item.text_edit);
    };
    let mut edits = item.additional_text_edits.clone().unwrap_or_default();
    edits.push(edit.clone());
    document.edited(&edits)
}

fn format(client: &mut Client, document: &Document) -> Option<Vec<TextEdit>> {
    client.ask::<Formatting>(DocumentFormattingParams {
        text_document: document.id(),
        options: FormattingOptions::default(),
        work_done_progress_params: Default::default(),
    })
}

fn define(client: &mut Client, document: &Document, position: Position) -> Option<Location> {
    let found = client.ask::<GotoDefinition>(GotoDefinitionParams {
        text_document_position_params: document.at(position),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    });
    match found {
        None => None,
        Some(GotoDefinitionResponse::Scalar(location)) => Some(location),
        other => panic!("no single place: {other:?}"),
    }
}

fn actions(client: &mut Client, document: &Document, range: Range) -> Vec<CodeAction> {
    let found = client.ask::<CodeActionRequest>(CodeActionParams {
        text_document: document.id(),
        range,
        // What a client says here must not matter.
        context: CodeActionContext {
            diagnostics: vec![Diagnostic::new_simple(
                Range::new(Position::new(99, 99), Position::new(0, 0)),
                "something else".to_owned(),
            )],
            only: None,
            trigger_kind: None,
        },
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    });
    found
        .expect("a list")
        .into_iter()
        .map(|action| match action {
            CodeActionOrCommand::CodeAction(action) => action,
            CodeActionOrCommand::Command(command) => panic!("a command: {command:?}"),
        })
        .collect()
}

fn inlays(client: &mut Client, document: &Document) -> Vec<(String, String)> {
    let hints = client.ask::<InlayHintRequest>(InlayHintParams {
        text_document: document.id(),
        range: document.all(),
        work_done_progress_params: Default::default(),
    });
    let behind = |hint: InlayHint| {
        let line = document.covered(Range::new(
            Position::new(hint.position.line, 0),
            hint.position,
        ));
        let InlayHintLabel::String(label) = hint.label else {
            panic!("a label is a text");
        };
        (line.trim().to_owned(), label)
    };
    hints.expect("a list").into_iter().map(behind).collect()
}

// ---- diagnostics ----

#[test]
fn typing_a_slave_that_is_too_big_shows_that_the_disc_drags() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, CAR);
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);

    client.change(
        &mut document,
        &[("slave { bore = 7/8 in", "slave { bore = ")],
    );
    client.type_before(&mut document, "  stroke = 30 mm", "1 1/16 in");

    let found = client.diagnostics(&document);
    assert_eq!(codes(&found), ["short-release"]);
    let drags = errors(&found)[0];
    assert_eq!(document.covered(drags.range), "1 1/16 in");
    assert_eq!(drags.severity, Some(DiagnosticSeverity::ERROR));
    assert_eq!(drags.source.as_deref(), Some("bitepoint"));
    assert!(
        drags.message.contains("it drags\nuse a "),
        "{}",
        drags.message
    );
    let related = drags.related_information.as_ref().expect("related places");
    let covered: Vec<&str> = related
        .iter()
        .map(|related| document.covered(related.location.range))
        .collect();
    assert_eq!(covered, ["7.5 mm to 11 mm", "3/4 in"]);
    client.finish();
}

#[test]
fn many_quick_edits_end_in_the_diagnostics_of_the_final_text() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, CAR);
    let (good, bad) = ("slave { bore = 7/8 in", "slave { bore = 1 1/16 in");
    for _ in 0..100 {
        client.change(&mut document, &[(good, bad)]);
        client.change(&mut document, &[(bad, good)]);
    }
    client.change(&mut document, &[(good, bad)]);
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    // Whatever came before was of an earlier version, and nothing comes after.
    let versions: Vec<i64> = client
        .unclaimed()
        .iter()
        .filter(|message| message["method"] == "textDocument/publishDiagnostics")
        .map(|message| message["params"]["version"].as_i64().unwrap())
        .collect();
    assert!(versions.is_sorted(), "{versions:?}");
    assert!(
        versions
            .iter()
            .all(|version| *version < i64::from(document.version))
    );
    client.finish();
}

#[test]
fn edits_of_one_notification_apply_in_their_order() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, CAR);
    client.change(
        &mut document,
        &[
            ("7/8 in", "1 in"),
            ("{ bore = 1 in", "{\n bore = 1 in"),
            ("1 in", "1 1/16 in"),
        ],
    );
    let found = client.diagnostics(&document);
    assert_eq!(codes(&found), ["short-release"]);
    assert_eq!(document.covered(errors(&found)[0].range), "1 1/16 in");
    // A change without a range is the whole text.
    document.text = "}".to_owned();
    let whole = TextDocumentContentChangeEvent {
        range: None,
        range_length: None,
        text: document.text.clone(),
    };
    client.send_changes(&mut document, vec![whole]);
    assert_eq!(codes(&client.diagnostics(&document)), ["syntax"]);
    client.finish();
}

#[test]
fn ranges_outside_of_the_text_are_brought_back_into_it() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, "let a = 1 mm\n");
    client.diagnostics(&document);
    let events = [((9, 9), (12, 0), "let b = 1 mm\n"), ((0, 99), (0, 4), "0")];
    let events = events.map(|(from, to, text)| TextDocumentContentChangeEvent {
        range: Some(Range::new(
            Position::new(from.0, from.1),
            Position::new(to.0, to.1),
        )),
        range_length: None,
        text: text.to_owned(),
    });
    client.send_changes(&mut document, events.to_vec());
    document.text = "let a = 1 mm0\nlet b = 1 mm\n".to_owned();
    client.stop_typing(&mut document);
    let found = client.diagnostics(&document);
    assert_eq!(codes(&found), ["unknown-unit"]);
    assert_eq!(document.covered(errors(&found)[0].range), "mm0");
    client.finish();
}

#[test]
fn closing_takes_the_diagnostics_away() {
    let mut client = Client::start();
    let document = client.open(SPEC, &dragging());
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    client.close(&document);
    let last = client.published(&document.uri, |_| true);
    assert_eq!(last.diagnostics, []);

    // Closed before or after anybody looked at it: the empty list comes last.
    let document = client.open(SPEC, &dragging());
    client.close(&document);
    while !client
        .published(&document.uri, |_| true)
        .diagnostics
        .is_empty()
    {}
    let again = client.open(SPEC, CAR);
    assert_eq!(codes(&client.diagnostics(&again)), [""; 0]);
    client.finish();
}

#[test]
fn unused_names_are_marked() {
    let mut client = Client::start();
    let document = client.open(SPEC, &format!("let spare = 3 mm\n{CAR}"));
    let found = client.diagnostics(&document);
    let unused = found.iter().find(|d| code(d) == "unused-let").unwrap();
    assert_eq!(unused.tags, Some(vec![DiagnosticTag::UNNECESSARY]));
    assert_eq!(unused.severity, Some(DiagnosticSeverity::HINT));
    client.finish();
}

#[test]
fn a_client_with_few_capabilities_gets_only_those() {
    let (mut client, _) = Client::start_with(json!({}), Encoding::Utf16);
    let document = client.open(SPEC, &format!("let spare = 3 mm\n{}", dragging()));
    let found = client.diagnostics(&document);
    assert_eq!(codes(&found), ["short-release"]);
    assert!(found.iter().any(|d| code(d) == "unused-let"));
    assert!(
        found
            .iter()
            .all(|d| d.related_information.is_none() && d.tags.is_none())
    );
    let position = document.before("1 1/16 in");
    assert!(actions(&mut client, &document, Range::new(position, position)).is_empty());
    let slave = complete(&mut client, &document, document.before("pedal"));
    assert!(slave.iter().all(|item| item.insert_text_format.is_none()));
    let symbols = client.ask::<DocumentSymbolRequest>(DocumentSymbolParams {
        text_document: document.id(),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    });
    let Some(DocumentSymbolResponse::Flat(symbols)) = symbols else {
        panic!("a flat list");
    };
    let bore = symbols.iter().find(|symbol| symbol.name == "bore").unwrap();
    assert_eq!(bore.container_name.as_deref(), Some("master"));
    client.finish();
}

// ---- several files ----

/// A folder with a library, and the addresses of files in it.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new(parts: &str) -> Self {
        let folder = Self(tempfile::tempdir().unwrap());
        folder.write("parts é.clutch", parts);
        folder
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.0.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).to_string_lossy().into_owned()
    }

    fn uri(&self, name: &str) -> String {
        Url::from_file_path(self.0.path().join(name))
            .unwrap()
            .to_string()
    }
}

const PARTS: &str = "part slave mine { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }\n";

/// The car with its slave from the library.
fn with_part() -> String {
    let own = "slave { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }";
    assert!(CAR.contains(own));
    format!("use \"parts é.clutch\"\n{}", CAR.replace(own, "slave mine"))
}

#[test]
fn a_part_is_found_in_the_file_that_defines_it() {
    let folder = Folder::new(PARTS);
    let mut client = Client::start();
    let document = client.open(&folder.uri("car.clutch"), &with_part());
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    let found = define(&mut client, &document, document.behind("slave mi")).expect("a place");
    assert_eq!(found.uri.as_str(), folder.uri("parts é.clutch"));
    assert_eq!(
        found.range,
        Range::new(Position::new(0, 11), Position::new(0, 15))
    );
    assert_eq!(
        define(&mut client, &document, document.before("pedal")),
        None
    );
    client.finish();
}

#[test]
fn an_open_library_wins_over_the_disk_and_its_users_follow_it() {
    let folder = Folder::new(PARTS);
    let mut client = Client::start();
    let document = client.open(&folder.uri("car.clutch"), &with_part());
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);

    let mut library = client.open(&folder.uri("parts é.clutch"), PARTS);
    client.diagnostics(&library);
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    client.change(&mut library, &[("7/8 in", "1 1/16 in")]);
    let found = client.diagnostics(&document);
    assert_eq!(codes(&found), ["short-release"]);
    assert_eq!(document.covered(errors(&found)[0].range), "mine");
    let related = errors(&found)[0]
        .related_information
        .as_ref()
        .expect("related places");
    assert!(related.iter().any(|place| {
        place.location.uri == library.uri && library.covered(place.location.range) == "1 1/16 in"
    }));

    client.close(&library);
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    client.finish();
}

#[test]
fn a_library_that_changes_on_the_disk_is_read_again() {
    let folder = Folder::new(PARTS);
    let mut client = Client::start();
    let mut document = client.open(&folder.uri("car.clutch"), &with_part());
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    folder.write("parts é.clutch", &PARTS.replace("7/8 in", "1 1/16 in"));
    client.tell_raw(
        "workspace/didChangeWatchedFiles",
        json!({ "changes": [{ "uri": folder.uri("parts é.clutch"), "type": 2 }] }),
    );
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    folder.write("parts é.clutch", PARTS);
    client.change(&mut document, &[("A car", "The car")]);
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    client.finish();
}

#[test]
fn a_document_that_is_not_on_the_disk_uses_nothing_from_it() {
    let mut client = Client::start();
    let document = client.open(SPEC, "use \"Cargo.toml\"\n");
    let found = client.diagnostics(&document);
    assert_eq!(codes(&found), ["use-missing"]);
    assert!(
        errors(&found)[0].message.contains("not on the disk"),
        "{}",
        errors(&found)[0].message
    );
    client.finish();
}

// ---- facts ----

#[test]
fn hovering_a_bore_says_what_follows_from_it() {
    let mut client = Client::start();
    let document = client.open(SPEC, CAR);
    let position = document.behind("slave { bo");
    let (text, covered) = hover(&mut client, &document, position).expect("a hover");
    assert_eq!(covered, "bore");
    for said in [
        "**`slave.bore`** · length",
        "**7/8 in (22.225 mm)**",
        // π/4 · 22.225²
        "| area | 388 mm^2 (0.601 in^2) |",
        // 1500 N · 68/112 on the rod, through 95 % at the fork and 95 % at the seals
        "| force at full pedal, area × pressure | 1009 N (227 lbf) |",
        "| `release_margin` | ",
    ] {
        assert!(text.contains(said), "{said} is not in\n{text}");
    }
    assert_eq!(hover(&mut client, &document, Position::new(0, 0)), None);
    client.finish();
}

#[test]
fn accepting_completions_makes_the_text_whole() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, CAR);
    client.change(&mut document, &[("stroke = 30 mm  rest", "st  rest")]);
    assert!(codes(&client.diagnostics(&document)).contains(&"syntax"));
    let found = complete(&mut client, &document, document.behind("7/8 in  st"));
    assert_eq!(found[0].label, "stroke", "what is missing comes first");
    let (before, after) = (document.text.clone(), accept(&document, &found[0]));
    client.change(&mut document, &[(&before, &after)]);

    client.type_before(&mut document, "  rest_extension", "30 ");
    let units = complete(&mut client, &document, document.behind("stroke = 30 "));
    let labels: Vec<&str> = units.iter().map(|item| item.label.as_str()).collect();
    assert_eq!(labels, ["mm", "cm", "m", "in", "ft"]);
    let (before, after) = (document.text.clone(), accept(&document, &units[0]));
    client.change(&mut document, &[(&before, &after)]);
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    assert!(document.text.contains("stroke = 30 mm  rest_extension"));
    client.finish();
}

/// Completion between quotes, after characters of several units in every encoding, with and without the second quote.
#[test]
fn a_completion_between_quotes_takes_the_place_of_the_whole_text() {
    let spec = |port: &str| {
        format!(
            "part slave ring {{ supplier = \"Größe 🚗 \"\"7/8\"\"\" }}\n\
             system car \"für später 🔧\" {{\n    master {{ supplier = \"Größe 🚗 \"\"7/8\"\"\"  outlet = \"é-24 flare\" }}\n    \
             line hard {{ note = \"🚗🚗é\"  inlet = {port} }}\n}}\n"
        )
    };
    let wanted = spec("\"é-24 flare\"");
    for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
        for port in ["\"\"", "\"é-2", "\"é-24\"", "\"x \"\"é\"\" y\""] {
            let mut client = Client::start_in(encoding);
            let document = client.open(SPEC, &spec(port));
            let begun = port.strip_suffix('"').filter(|begun| !begun.is_empty());
            let mark = format!("inlet = {}", begun.unwrap_or(port));
            let found = complete(&mut client, &document, document.behind(&mark));
            assert_eq!(found[0].label, "é-24 flare", "{port}");
            assert_eq!(
                found[0].detail.as_deref(),
                Some("fits master.outlet, said once"),
                "{port}"
            );
            assert_eq!(
                accept(&document, &found[0]),
                wanted,
                "{port} in {encoding:?}"
            );
            client.finish();
        }
    }
    // What is written in another way than it reads is filtered by how it is written.
    let mut client = Client::start();
    let document = client.open(SPEC, &spec("\"\"  supplier = \"\""));
    let found = complete(
        &mut client,
        &document,
        document.behind("inlet = \"\"  supplier = \""),
    );
    assert_eq!(found[0].label, "Größe 🚗 \"7/8\"");
    assert_eq!(
        found[0].filter_text.as_deref(),
        Some("Größe 🚗 \"\"7/8\"\"")
    );
    client.finish();
}

#[test]
fn formatting_brings_the_canonical_form_and_then_nothing() {
    let mut client = Client::start();
    let untidy = CAR
        .replace("    ", "  ")
        .replace("slave { bore = 7/8 in", "slave   {bore=7/8 in");
    let mut document = client.open(SPEC, &untidy);
    let edits = format(&mut client, &document).expect("edits");
    let tidy = document.edited(&edits);
    let before = document.text.clone();
    client.change(&mut document, &[(&before, &tidy)]);
    assert_eq!(format(&mut client, &document), Some(Vec::new()));
    assert!(tidy.contains("    slave { bore = 7/8 in"), "{tidy}");
    client.change(&mut document, &[("7/8 in", "7/8 in =")]);
    assert_eq!(
        format(&mut client, &document),
        None,
        "a broken text stays as it is"
    );
    client.finish();
}

#[test]
fn calculated_values_are_shown_after_lines() {
    let mut client = Client::start();
    let document = client.open(SPEC, CAR);
    let hints = inlays(&mut client, &document);
    let at = |block: &str| {
        let hint = hints.iter().find(|(line, _)| line.starts_with(block));
        hint.map(|(line, label)| (line.ends_with('}'), label.as_str()))
    };
    assert_eq!(hints.len(), 5, "{hints:?}");
    let (at_the_end, label) = at("pedal").expect("a hint");
    assert!(
        at_the_end && label.starts_with("ratio 6.0:1, effort "),
        "{label}"
    );
    let (_, label) = at("master").expect("a hint");
    assert!(label.ends_with(" of 36 mm"), "{label}");
    client.finish();
}

#[test]
fn the_outline_nests() {
    let mut client = Client::start();
    let document = client.open(SPEC, CAR);
    let symbols = client.ask::<DocumentSymbolRequest>(DocumentSymbolParams {
        text_document: document.id(),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    });
    let Some(DocumentSymbolResponse::Nested(symbols)) = symbols else {
        panic!("a tree");
    };
    assert_eq!(symbols.len(), 1);
    assert_eq!(symbols[0].detail.as_deref(), Some("A car that works"));
    assert_eq!(document.covered(symbols[0].selection_range), "car");
    let blocks: Vec<&str> = symbols[0]
        .children
        .iter()
        .flatten()
        .map(|block| block.name.as_str())
        .collect();
    assert_eq!(
        blocks,
        ["pedal", "master", "line", "slave", "fork", "cover"]
    );
    client.finish();
}

#[test]
fn a_code_action_cures() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, &dragging());
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);

    let position = document.before("1 1/16 in");
    let offered = actions(&mut client, &document, Range::new(position, position));
    let cures = |action: &&CodeAction| {
        let found = action.diagnostics.as_deref();
        found.is_some_and(|found| codes(found) == ["short-release"])
    };
    assert!(offered.iter().any(|action| cures(&action)));
    let silences = |action: &CodeAction| action.title.starts_with("allow ");
    for action in offered
        .iter()
        .filter(cures)
        .filter(|action| !silences(action))
    {
        assert!(action.title.contains("release margin"), "{}", action.title);
        assert_eq!(action.kind, Some(CodeActionKind::QUICKFIX));
        let edit = action.edit.as_ref().unwrap();
        let Some(DocumentChanges::Edits(changes)) = &edit.document_changes else {
            panic!("the client wants versions: {edit:?}");
        };
        assert_eq!(changes.len(), 1);
        assert_eq!(changes[0].text_document.version, Some(1));
        let edits: Vec<TextEdit> = changes[0]
            .edits
            .iter()
            .map(|edit| match edit {
                OneOf::Left(edit) => edit.clone(),
                OneOf::Right(other) => panic!("{other:?}"),
            })
            .collect();
        let dragging = document.text.clone();
        let cured = document.edited(&edits);
        client.change(&mut document, &[(&dragging, &cured)]);
        assert_eq!(
            codes(&client.diagnostics(&document)),
            [""; 0],
            "{}",
            action.title
        );
        client.change(&mut document, &[(&cured, &dragging)]);
        client.diagnostics(&document);
    }
    let elsewhere = document.before("cover");
    let others = actions(&mut client, &document, Range::new(elsewhere, elsewhere));
    assert!(
        others.iter().all(|action| action.diagnostics.is_none()),
        "{others:?}"
    );
    client.finish();
}

// ---- the preview ----

#[test]
fn a_preview_draws_the_curve_and_is_notified_to_draw_again() {
    let (mut client, _) = Client::start_saying(
        json!({
            "capabilities": capabilities(Encoding::Utf16),
            "initializationOptions": { "preview": true },
        }),
        Encoding::Utf16,
    );
    let two = format!("{CAR}system other from car {{ pedal {{ travel = 140 mm }} }}\n");
    let mut document = client.open(SPEC, &two);
    let told = client.told("bitepoint/worked");
    assert_eq!(told, json!({ "uri": SPEC, "version": 1 }));

    let ask = |client: &mut Client, document: &Document, more: Value| {
        let mut params = json!({ "textDocument": { "uri": document.uri } });
        for (key, value) in more.as_object().unwrap() {
            params[key] = value.clone();
        }
        client.ask_raw("bitepoint/curve", params).expect("a curve")
    };
    let curve = ask(&mut client, &document, json!({}));
    assert_eq!(
        (&curve["version"], &curve["system"]),
        (&json!(1), &json!("car"))
    );
    assert_eq!(curve["title"], "A car that works");
    assert_eq!(
        curve["columns"][0],
        json!({ "name": "pad_travel", "unit": "mm", "label": "pad travel" })
    );
    let rows = curve["rows"].as_array().unwrap();
    let columns = curve["columns"].as_array().unwrap();
    assert!(
        rows.iter()
            .all(|row| row.as_array().unwrap().len() == columns.len())
    );
    let last = |curve: &Value| curve["rows"].as_array().unwrap().last().unwrap()[0].clone();
    assert_eq!(
        (rows[0][0].as_f64(), last(&curve).as_f64()),
        (Some(0.0), Some(150.0))
    );

    assert!(curve["svg"].as_str().unwrap().starts_with("<svg"));
    let params = json!({ "textDocument": { "uri": SPEC }, "system": "car" });
    let sheet = client.ask_raw("bitepoint/sheet", params).unwrap();
    assert!(sheet["html"].as_str().unwrap().contains("A car that works"));

    let at = serde_json::to_value(document.before("travel = 140")).unwrap();
    let there = ask(&mut client, &document, json!({ "position": at }));
    assert_eq!(
        (&there["system"], last(&there).as_f64()),
        (&json!("other"), Some(140.0))
    );
    let named = ask(
        &mut client,
        &document,
        json!({ "system": "other", "position": null }),
    );
    assert_eq!(named, there);
    let nobody = ask(&mut client, &document, json!({ "system": "nobody" }));
    assert_eq!(
        (&nobody["system"], nobody["rows"].as_array().unwrap().len()),
        (&Value::Null, 0)
    );
    assert_eq!(nobody["why"], "there is no system of this name");

    client.change(&mut document, &[("bore = 3/4 in", "bore = 3/4")]);
    assert_eq!(client.told("bitepoint/worked")["version"], 2);
    let broken = ask(&mut client, &document, json!({}));
    assert_eq!(
        (&broken["version"], &broken["system"]),
        (&json!(2), &json!("car"))
    );
    let mark = "before the mistake on line 3";
    assert_eq!(
        (&broken["rows"], &broken["why"]),
        (&curve["rows"], &json!(mark))
    );
    client.finish();
}

#[test]
fn a_client_without_a_preview_gets_no_preview_notifications() {
    let mut client = Client::start();
    let document = client.open(SPEC, CAR);
    client.diagnostics(&document);
    assert_eq!(client.ask_raw("shutdown", Value::Null), Ok(Value::Null));
    let unknown = |message: &Value| message["method"] == "bitepoint/worked";
    assert!(!client.unclaimed().iter().any(unknown));
}

// ---- encodings ----

#[test]
fn columns_count_in_the_units_that_were_agreed_on() {
    for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
        for ending in ["\n", "\r\n"] {
            let (mut client, told) = Client::start_with(capabilities(encoding), encoding);
            let agreed = told.capabilities.position_encoding.expect("an encoding");
            assert_eq!(agreed.as_str(), encoding.name());
            let text = CAR
                .replace(
                    "\"A car that works\" {",
                    "\"🚗 ± µ\" { let half = 11 mm # 🚗",
                )
                .replace("11 mm  release_load", "half  release_load")
                .replace(
                    "pedal { pad_arm",
                    "# ± 🚗 µ\n    pedal { travel = 150 mm ± 2 mm  pad_arm",
                )
                .replace("  travel = 150 mm  free", "  free")
                .replace('\n', ending);
            let mut document = client.open(SPEC, &text);
            assert_eq!(
                codes(&client.diagnostics(&document)),
                [""; 0],
                "{encoding:?}"
            );
            // Behind the car, on the same line, in the title.
            let (_, covered) =
                hover(&mut client, &document, document.behind("{ let ha")).expect("a hover");
            assert_eq!(covered, "half");
            // Behind `±`, on the same line.
            let (_, covered) =
                hover(&mut client, &document, document.behind("± 2 mm  pad_")).expect("a hover");
            assert_eq!(covered, "pad_arm");
            client.change(&mut document, &[("🚗 ± µ", "🚗🚗 ± µµ")]);
            client.change(&mut document, &[("± 2 mm  pad_arm", "± 2 mm  pad_amr")]);
            client.stop_typing(&mut document);
            let found = client.diagnostics(&document);
            assert_eq!(codes(&found)[0], "unknown-field");
            assert_eq!(document.covered(errors(&found)[0].range), "pad_amr");
            let related = define(&mut client, &document, document.behind("to ha")).expect("a let");
            assert_eq!(document.covered(related.range), "half");
            client.finish();
        }
    }
}

#[test]
fn the_first_encoding_that_is_known_is_taken() {
    for (offered, agreed) in [
        (json!(["utf-8", "utf-16"]), "utf-8"),
        (json!(["utf-7", "utf-32", "utf-16"]), "utf-32"),
        (json!([]), "utf-16"),
        (Value::Null, "utf-16"),
    ] {
        let capabilities = json!({ "general": { "positionEncodings": offered } });
        let (client, told) = Client::start_with(capabilities, Encoding::Utf16);
        let told = told.capabilities.position_encoding.expect("an encoding");
        assert_eq!(told.as_str(), agreed);
        client.finish();
    }
}

// ---- the protocol ----

#[test]
fn the_server_says_who_it_is() {
    let (client, told) = Client::start_with(capabilities(Encoding::Utf16), Encoding::Utf16);
    let info = told.server_info.expect("a name");
    assert_eq!(info.name, "bitepoint");
    let version = info.version.expect("a version");
    assert!(version.starts_with(env!("CARGO_PKG_VERSION")), "{version}");
    client.finish();
}

#[test]
fn requests_on_documents_that_are_not_open_have_no_answer() {
    let mut client = Client::start();
    let at = json!({
        "textDocument": { "uri": "file:///nowhere.clutch" },
        "position": { "line": 0, "character": 0 },
    });
    for method in ["hover", "completion", "definition", "documentSymbol"] {
        let answer = client.ask_raw(&format!("textDocument/{method}"), at.clone());
        assert_eq!(answer, Ok(Value::Null), "{method}");
    }
    client.finish();
}

#[test]
fn an_unknown_request_is_refused_and_the_server_continues() {
    let mut client = Client::start();
    let unknown = client.ask_raw("textDocument/nonsense", json!({}));
    assert_eq!(unknown.unwrap_err()["code"], -32601);
    for params in [
        json!({ "textDocument": 3 }),
        json!([]),
        json!({}),
        Value::Null,
    ] {
        let malformed = client.ask_raw("textDocument/hover", params);
        assert_eq!(malformed.unwrap_err()["code"], -32602);
    }
    client.tell_raw("textDocument/didChange", json!({ "contentChanges": "?" }));
    client.tell_raw("$/nonsense", json!({}));
    client.send("{ not JSON");
    assert_eq!(client.answer_to_garbage()["code"], -32700);
    client.send("[]");
    assert_eq!(client.answer_to_garbage()["code"], -32600);
    client.send_bytes(b"garbage\r\n\r\nContent-Length: oops\r\n\r\n");
    assert_eq!(client.answer_to_garbage()["code"], -32700);
    assert_eq!(client.answer_to_garbage()["code"], -32700);
    client.send_bytes(b"Content-Length: 4\r\n\r\n\"\xff\xff\"");
    assert_eq!(client.answer_to_garbage()["code"], -32700);
    let document = client.open(SPEC, &dragging());
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    client.finish();
}

#[test]
fn nothing_is_served_before_initialize_or_after_shutdown() {
    let mut client = Client::silent();
    let early = client.ask_raw("textDocument/hover", json!({}));
    assert_eq!(early.unwrap_err()["code"], -32002);
    drop(client);

    let mut client = Client::start();
    assert_eq!(client.ask_raw("shutdown", Value::Null), Ok(Value::Null));
    let late = client.ask_raw("textDocument/hover", json!({}));
    assert_eq!(late.unwrap_err()["code"], -32600);
    client.tell_raw("exit", Value::Null);
    assert_eq!(client.exit_code(), Some(0));
}

#[test]
fn a_cancelled_request_is_answered() {
    let mut client = Client::start();
    let document = client.open(SPEC, CAR);
    let params = serde_json::to_value(document.at(document.before("pedal"))).unwrap();
    let id = client.send_request("textDocument/hover", params);
    client.tell_raw("$/cancelRequest", json!({ "id": id }));
    // It may have been quicker than the cancellation.
    if let Err(error) = client.answer(id) {
        assert_eq!(error["code"], -32800);
    }
    client.finish();
}

#[test]
fn the_process_ends_with_the_session() {
    let mut client = Client::start();
    client.tell_raw("exit", Value::Null);
    assert_eq!(client.exit_code(), Some(1), "exit without shutdown");

    let mut client = Client::start();
    client.open(SPEC, CAR);
    client.close_input();
    assert_eq!(client.exit_code(), Some(1), "the client is gone");

    let mut client = Client::silent();
    client.send_bytes(b"Content-Length: 100\r\n\r\n{ half");
    client.close_input();
    assert_eq!(client.exit_code(), Some(1), "in the middle of a message");

    // Said in one breath, the end waits for the answer.
    let mut client = Client::start();
    let id = client.send_request("shutdown", Value::Null);
    client.tell_raw("exit", Value::Null);
    assert_eq!(client.answer(id), Ok(Value::Null));
    assert_eq!(client.exit_code(), Some(0));
}
