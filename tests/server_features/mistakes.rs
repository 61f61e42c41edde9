//! What is shown and published about other files while one file has a mistake.

use super::super::errors;
use super::*;
use tower_lsp::lsp_types::{Diagnostic, DiagnosticSeverity};

const VANS: &str = "part slave big { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }
system van {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave big
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between }
    cover { release_travel = 7 mm to 11 mm  release_load = 1500 N }
}
";

const CARS: &str = "use \"parts/vans.clutch\"
system car from van { slave { stroke = 32 mm } }
system other from van { slave { stroke = 33 mm } }
";

/// What is shown about the systems of a document: above them, at line ends, in the hover of the first, in the
/// preview.
fn shown(client: &mut Client, document: &Document) -> [Value; 4] {
    let lenses = ask(client, "textDocument/codeLens", document, json!({}));
    let everything = json!({ "start": { "line": 0, "character": 0 },
        "end": { "line": 99, "character": 0 } });
    let range = json!({ "range": everything });
    let hints = ask(client, "textDocument/inlayHint", document, range);
    let name = at(document.before("car "));
    let hover = ask(client, "textDocument/hover", document, name);
    let curve = ask(client, "bitepoint/curve", document, json!({}));
    let titles = |lenses: &Value| -> Value {
        let lenses = lenses.as_array().unwrap().iter();
        lenses
            .map(|lens| lens["command"]["title"].clone())
            .collect()
    };
    [
        titles(&lenses),
        hints,
        hover["contents"]["value"].clone(),
        json!({ "rows": curve["rows"].as_array().unwrap().len(), "why": curve["why"] }),
    ]
}

fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

#[test]
fn half_a_word_in_a_base_keeps_results_and_is_reported_once_for_each_use() {
    let folder = Folder::new(PARTS);
    folder.write("parts/vans.clutch", VANS);
    let mut client = start_in(&folder, &json!({}));
    let car = client.open(&folder.uri("car.clutch"), CARS);
    assert_eq!(codes(&client.diagnostics(&car)), [""; 0]);
    let before = shown(&mut client, &car);
    assert!(text(&before[0][0]).starts_with("margin "), "{}", before[0]);
    assert_eq!(before[3], json!({ "rows": 101, "why": null }));

    let mut vans = client.open(&folder.uri("parts/vans.clutch"), VANS);
    client.diagnostics(&vans);
    let mark = "before the mistake in parts/vans.clutch:3";
    for (old, new) in [
        ("travel = 150 mm  free", "trav  free"),
        ("trav  free", "trave  free"),
    ] {
        client.change(&mut vans, &[(old, new)]);
        assert!(!errors(&client.diagnostics(&vans)).is_empty());
        let shown_now = shown(&mut client, &car);
        let found = ask(&mut client, "textDocument/foldingRange", &car, json!({}));
        assert!(found.is_array());
        let lenses = shown_now[0].as_array().unwrap();
        for (lens, then) in lenses.iter().zip(before[0].as_array().unwrap()) {
            assert_eq!(text(lens), format!("{} · {mark}", text(then)));
        }
        let hints = shown_now[1].as_array().unwrap();
        for (hint, then) in hints.iter().zip(before[1].as_array().unwrap()) {
            let then = text(&then["label"]);
            assert_eq!(text(&hint["label"]), format!("{then} (before the mistake)"));
            let tooltip = text(&hint["tooltip"]["value"]);
            assert!(tooltip.starts_with(&format!("*From {mark}.*")), "{tooltip}");
        }
        assert_eq!(hints.len(), before[1].as_array().unwrap().len());
        let hover = text(&shown_now[2]);
        assert!(hover.replace('\\', "").contains(mark), "{hover}");
        assert_eq!(shown_now[3], json!({ "rows": 101, "why": mark }));
    }
    // Told each time that the library changes, the last time with the mistake.
    let told = loop {
        let told = client.published(&car.uri, |_| true);
        if told.diagnostics.iter().any(|d| d.range.start.line == 0) {
            break told;
        }
    };
    let of_use = |d: &&Diagnostic| d.range.start.line == 0;
    let at_use: Vec<_> = told.diagnostics.iter().filter(of_use).collect();
    assert_eq!(at_use.len(), 1, "{told:#?}");
    assert_eq!(at_use[0].severity, Some(DiagnosticSeverity::WARNING));
    assert!(
        at_use[0].message.starts_with(
            "`parts/vans.clutch` has a mistake on line 3; what depends on it is not worked out"
        ),
        "{}",
        at_use[0].message
    );
    assert!(errors(&told.diagnostics).is_empty(), "{told:#?}");

    client.change(&mut vans, &[("trave  free", "travel = 150 mm  free")]);
    client.diagnostics(&vans);
    assert_eq!(shown(&mut client, &car), before);
    client.finish();
}

#[test]
fn half_a_word_in_a_system_keeps_its_earlier_results() {
    let mut client = Client::start();
    let alone = VANS
        .replace("system van", "system car")
        .replace("slave big\n", "slave big { stroke = 32 mm }\n");
    let mut document = client.open(SPEC, &alone);
    client.diagnostics(&document);
    let before = shown(&mut client, &document);
    client.change(&mut document, &[("rod_arm = 50 mm", "rod_")]);
    client.diagnostics(&document);
    let now = shown(&mut client, &document);
    assert_eq!(
        text(&now[0][0]),
        format!("{} · before the mistake on line 3", text(&before[0][0]))
    );
    // What was never worked out has nothing to show.
    let mut fresh = Client::start();
    let document = fresh.open(SPEC, &document.text);
    let now = shown(&mut fresh, &document);
    assert_eq!(now[0], json!(["not worked out: `pedal` has no `rod_arm`"]));
    assert_eq!(now[3]["rows"], 0);
    for client in [client, fresh] {
        client.finish();
    }
}

#[test]
fn a_missing_file_is_named_by_its_path_in_the_workspace() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(&folder, &json!({}));
    let texts = "use \"\"\nuse \"gone.clutch\"\nuse \"../vans/gone.clutch\"\nuse \"..\"\n";
    let car = client.open(&folder.uri("cars/car.clutch"), texts);
    let found = client.diagnostics(&car);
    let messages: Vec<&str> = found.iter().map(|d| &*d.message).collect();
    let help = "\na path is relative to the file that uses it";
    let said = [
        "this `use` names no file",
        "`cars/gone.clutch` does not exist",
        "`vans/gone.clutch` does not exist",
        "`.` is a folder",
    ];
    assert_eq!(messages, said.map(|said| format!("{said}{help}")));
    client.finish();
}

const SETTINGS: &str = "[limits]\nheavy-pedal.efort = \"140 N\"\n";

/// Two specs with settings that have a mistake.
fn mistaken(able: &Value) -> (Folder, Client, [Document; 2]) {
    let folder = Folder::new(PARTS);
    folder.write("bitepoint.toml", SETTINGS);
    let mut client = start_in(&folder, able);
    let documents = ["a.clutch", "b.clutch"].map(|name| client.open(&folder.uri(name), VANS));
    (folder, client, documents)
}

fn has_wrong_setting(diagnostics: &[Diagnostic]) -> bool {
    diagnostics
        .iter()
        .any(|d| super::super::code(d) == "wrong-setting")
}

/// The next diagnostics published for a file that is not open.
fn told_of(client: &mut Client, uri: &str) -> Vec<String> {
    loop {
        let told = client.told("textDocument/publishDiagnostics");
        if told["uri"] == uri {
            let found = told["diagnostics"].as_array().unwrap().iter();
            return found.map(|d| text(&d["message"]).to_owned()).collect();
        }
    }
}

#[test]
fn a_mistake_in_the_settings_is_published_once_at_its_place() {
    let (folder, mut client, [a, b]) = mistaken(&json!({}));
    let uri = folder.uri("bitepoint.toml");
    let said = ["`heavy-pedal` has no limit `efort`\ndid you mean `effort`?"];
    for document in [&a, &b] {
        assert!(!has_wrong_setting(&client.diagnostics(document)));
    }
    assert_eq!(told_of(&mut client, &uri), said);

    // An open one has findings of its own, under its version, and gives them back.
    let mut settings = client.open(&uri, SETTINGS);
    let own = client.diagnostics(&settings);
    assert_eq!(own.iter().map(|d| &*d.message).collect::<Vec<_>>(), said);
    let completions = ask(
        &mut client,
        "textDocument/completion",
        &settings,
        at(settings.before("efort")),
    );
    assert!(completions["items"].to_string().contains("effort"));
    assert_eq!(
        ask(
            &mut client,
            "textDocument/formatting",
            &settings,
            json!({
                "options": { "tabSize": 4, "insertSpaces": true },
            })
        ),
        Value::Null
    );
    client.change(&mut settings, &[("efort", "effort")]);
    assert_eq!(client.diagnostics(&settings), []);
    client.close(&settings);
    assert_eq!(told_of(&mut client, &uri), [""; 0], "it is closed");
    assert_eq!(told_of(&mut client, &uri), said, "as it is on the disk");

    folder.write("bitepoint.toml", &SETTINGS.replace("efort", "effort"));
    client.tell_raw(
        "workspace/didChangeWatchedFiles",
        json!({ "changes": [{ "uri": uri, "type": 2 }] }),
    );
    assert_eq!(told_of(&mut client, &uri), [""; 0], "it is right");
    client.finish();
}

#[test]
fn a_client_that_pulls_the_workspace_gets_settings_only_there() {
    let (folder, mut client, [a, _]) = mistaken(&json!({ "textDocument": { "diagnostic": {} } }));
    let uri = folder.uri("bitepoint.toml");
    let own = ask(&mut client, "textDocument/diagnostic", &a, json!({}));
    assert!(!own["items"].to_string().contains("wrong-setting"));
    assert_eq!(
        told_of(&mut client, &uri).len(),
        1,
        "nothing else would tell it"
    );
    let params = json!({ "previousResultIds": [] });
    let all = client.ask_raw("workspace/diagnostic", params).unwrap()["items"].take();
    let of_settings: Vec<&Value> = all
        .as_array()
        .unwrap()
        .iter()
        .filter(|item| item["items"].to_string().contains("wrong-setting"))
        .collect();
    assert_eq!(of_settings.len(), 1, "{all}");
    assert_eq!(of_settings[0]["uri"], uri);
    assert_eq!(told_of(&mut client, &uri), [""; 0], "it is not told twice");
    client.finish();
}
