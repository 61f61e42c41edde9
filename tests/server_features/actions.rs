use super::super::{accept, complete};
use super::*;
use tower_lsp::lsp_types::{Position, TextEdit};

/// The actions offered at a position.
fn offered(
    client: &mut Client,
    document: &Document,
    position: Position,
    only: Value,
) -> Vec<Value> {
    let mut context = json!({ "diagnostics": [] });
    if !only.is_null() {
        context["only"] = only;
    }
    let more = json!({ "range": { "start": position, "end": position }, "context": context });
    let found = ask(client, "textDocument/codeAction", document, more);
    found.as_array().unwrap().clone()
}

fn titled<'a>(offered: &'a [Value], begin: &str) -> &'a Value {
    let found = offered
        .iter()
        .find(|action| action["title"].as_str().unwrap().starts_with(begin));
    found.unwrap_or_else(|| panic!("no `{begin}` among {offered:#?}"))
}

fn after(document: &Document, action: &Value) -> String {
    let edits = action["edit"]["documentChanges"][0]["edits"].clone();
    let edits: Vec<TextEdit> = serde_json::from_value(edits).unwrap();
    document.edited(&edits)
}

/// Changes the document's text, and gives the checks with findings in it.
fn found_in(client: &mut Client, document: &mut Document, text: &str) -> Vec<String> {
    let before = document.text.clone();
    client.change(document, &[(&before, text)]);
    client.stop_typing(document);
    let found = client.diagnostics(document);
    found
        .iter()
        .map(|diagnostic| super::super::code(diagnostic).to_owned())
        .collect()
}

#[test]
fn a_check_is_silenced_with_a_reason_to_fill_in() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, &dragging());
    let actions = offered(
        &mut client,
        &document,
        document.before("1 1/16 in"),
        Value::Null,
    );
    let text = after(&document, titled(&actions, "allow `short-release`"));
    assert!(
        text.contains("\n    allow short-release  \"say why\"\n}"),
        "{text}"
    );
    let checks = found_in(&mut client, &mut document, &text);
    assert!(!checks.contains(&"short-release".to_owned()), "{checks:?}");
    assert!(!checks.contains(&"syntax".to_owned()), "{checks:?}");
    client.finish();
}

#[test]
fn a_value_is_written_in_the_other_units_and_back() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, CAR);
    let only = json!(["refactor.rewrite"]);
    let actions = offered(
        &mut client,
        &document,
        document.behind("slave { bore = 7/8"),
        only.clone(),
    );
    let metric = after(&document, titled(&actions, "write `bore` as 22.225 mm"));
    let checks = found_in(&mut client, &mut document, &metric);
    assert!(
        !checks
            .iter()
            .any(|check| check == "syntax" || check == "odd-size"),
        "{checks:?}"
    );
    let actions = offered(&mut client, &document, document.behind("22.2"), only);
    assert_eq!(
        after(&document, titled(&actions, "write `bore` as 7/8 in")),
        CAR
    );
    client.finish();
}

#[test]
fn a_block_becomes_a_part_and_nothing_else_changes() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, CAR);
    let before: Vec<String> = client
        .diagnostics(&document)
        .iter()
        .map(|diagnostic| super::super::code(diagnostic).to_owned())
        .collect();
    let actions = offered(
        &mut client,
        &document,
        document.behind("sla"),
        json!(["refactor"]),
    );
    let text = after(&document, titled(&actions, "make a part `car_slave`"));
    assert!(
        text.starts_with("part slave car_slave { bore = 7/8 in"),
        "{text}"
    );
    assert!(text.contains("\n    slave car_slave\n"), "{text}");
    assert_eq!(found_in(&mut client, &mut document, &text), before);
    client.finish();
}

#[test]
fn assumed_defaults_are_written_out() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, CAR);
    let actions = offered(&mut client, &document, document.behind("mast"), Value::Null);
    let text = after(
        &document,
        titled(&actions, "write out what is assumed: efficiency"),
    );
    assert!(
        text.contains("mount_stiffness = 900 N/mm  efficiency = "),
        "{text}"
    );
    let checks = found_in(&mut client, &mut document, &text);
    assert!(!checks.contains(&"syntax".to_owned()), "{checks:?}");
    client.finish();
}

#[test]
fn a_missing_block_is_taken_from_the_library() {
    let folder = Folder::new(PARTS);
    let mut client = Client::start();
    let text = with_part().replace("    slave mine\n", "");
    let mut document = client.open(&folder.uri("car.clutch"), &text);
    assert_eq!(codes(&client.diagnostics(&document)), ["missing-block"]);
    let actions = offered(
        &mut client,
        &document,
        document.behind("system c"),
        Value::Null,
    );
    let action = titled(&actions, "add `slave mine`: release margin ");
    let text = after(&document, action);
    let checks = found_in(&mut client, &mut document, &text);
    assert!(!checks.contains(&"missing-block".to_owned()), "{checks:?}");
    client.finish();
}

#[test]
fn all_mistakes_of_the_text_are_fixed_at_once() {
    let mut client = Client::start();
    let wrong = CAR
        .replace("stroke = 36 mm", "stroek = 36 mm")
        .replace("7/8 in", "7/8\"");
    let mut document = client.open(SPEC, &wrong);
    let everywhere = document.before("system");
    assert!(
        offered(&mut client, &document, everywhere, json!(["refactor"]))
            .iter()
            .all(|action| action["kind"].as_str().unwrap().starts_with("refactor"))
    );
    let actions = offered(&mut client, &document, everywhere, json!(["source.fixAll"]));
    assert_eq!(actions.len(), 1);
    assert_eq!(actions[0]["kind"], "source.fixAll.bitepoint");
    let text = after(&document, &actions[0]);
    assert_eq!(text, CAR);
    let checks = found_in(&mut client, &mut document, &text);
    assert!(!checks.contains(&"syntax".to_owned()), "{checks:?}");
    client.finish();
}

#[test]
fn edits_are_made_on_request_if_the_client_can_resolve_them() {
    let mut able = capabilities(Encoding::Utf16);
    let lazy = json!({
        "dataSupport": true, "isPreferredSupport": true,
        "resolveSupport": { "properties": ["edit"] },
    });
    merge(&mut able["textDocument"]["codeAction"], &lazy);
    let (mut client, _) = Client::start_with(able, Encoding::Utf16);
    let wrong = CAR.replace("7/8 in", "7/8\"");
    let mut document = client.open(SPEC, &wrong);
    let actions = offered(
        &mut client,
        &document,
        document.behind("7/8"),
        json!(["quickfix"]),
    );
    let action = &actions[0];
    assert_eq!(
        (&action["edit"], &action["isPreferred"]),
        (&Value::Null, &json!(true))
    );
    let resolved = client
        .ask_raw("codeAction/resolve", action.clone())
        .unwrap();
    assert_eq!(after(&document, &resolved), CAR);
    client.change(&mut document, &[("7/8\"", "1\"")]);
    let late = client
        .ask_raw("codeAction/resolve", action.clone())
        .unwrap_err();
    assert_eq!(late["code"], -32801);
    client.finish();
}

#[test]
fn a_path_is_completed_from_the_workspace() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(&folder, &json!({}));
    let document = client.open(&folder.uri("car.clutch"), "use \"p\"\n");
    let position = at(document.behind("use \"p"));
    let found = ask(&mut client, "textDocument/completion", &document, position);
    assert_eq!(found["items"][0]["label"], "parts é.clutch");
    assert_eq!(found["items"].as_array().unwrap().len(), 1);
    client.finish();
}

#[test]
fn a_system_is_drawn_where_images_are_wanted() {
    for wanted in [true, false] {
        let said = json!({
            "capabilities": capabilities(Encoding::Utf16),
            "initializationOptions": { "images": wanted },
        });
        let (mut client, _) = Client::start_saying(said, Encoding::Utf16);
        let document = client.open(SPEC, CAR);
        let position = at(document.behind("system c"));
        let hover = ask(&mut client, "textDocument/hover", &document, position);
        let text = hover["contents"]["value"].as_str().unwrap();
        let drawn = text.find("](data:image/svg+xml,%3C");
        assert_eq!(drawn.is_some(), wanted);
        // Behind the verdict, before the rows.
        let verdict = text.find("margin 1.56 mm").expect("a verdict");
        let rows = text.find("\n| Margin").expect("rows");
        assert!(drawn.is_none_or(|at| verdict < at && at < rows));
        client.finish();
    }
}

#[test]
fn a_path_that_is_being_written_is_completed_with_its_quote() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(&folder, &json!({}));
    let car = format!("use \"\n{CAR}");
    let mut document = client.open(&folder.uri("car.clutch"), &car);
    for written in ["use \"", "use \"par"] {
        let before = document.text.clone();
        let text = car.replacen("use \"", written, 1);
        if text != before {
            client.change(&mut document, &[("use \"", written)]);
        }
        let position = document.behind(written);
        let items = complete(&mut client, &document, position);
        let labels: Vec<&str> = items.iter().map(|item| item.label.as_str()).collect();
        assert_eq!(labels, ["parts é.clutch"]);
        let accepted = accept(&document, &items[0]);
        assert_eq!(
            accepted,
            car.replacen("use \"", "use \"parts é.clutch\"", 1)
        );
    }
    client.finish();
}

#[test]
fn a_part_of_the_workspace_is_offered_with_its_use() {
    let folder = Folder::new(PARTS);
    folder.write("other car.clutch", CAR);
    let mut client = start_in(&folder, &json!({}));
    let text = with_part().replacen("use \"parts é.clutch\"\n", "", 1);
    let text = text.replace("slave mine", "slave ");
    let mut document = client.open(&folder.uri("car.clutch"), &text);
    let position = document.behind("slave ");
    let items = complete(&mut client, &document, position);
    let labels: Vec<&str> = items.iter().map(|item| item.label.as_str()).collect();
    assert_eq!(labels, ["mine"]);
    let text = accept(&document, &items[0]);
    assert!(
        text.starts_with("use \"parts é.clutch\"\n\nsystem car"),
        "{text}"
    );
    assert!(text.contains("\n    slave mine\n"), "{text}");
    let checks = found_in(&mut client, &mut document, &text);
    assert!(!checks.contains(&"unknown-name".to_owned()), "{checks:?}");
    client.finish();
}

#[test]
fn a_use_of_a_moved_file_is_corrected() {
    let folder = Folder::new(PARTS);
    std::fs::create_dir(folder.path("shelf")).unwrap();
    folder.write(
        "shelf/covers.clutch",
        "part cover c { release_load = 1500 N }\n",
    );
    for (written, meant) in [
        ("covers.clutch", "shelf/covers.clutch"),
        ("shelf/cover.clutch", "shelf/covers.clutch"),
        ("part é.clutch", "parts é.clutch"),
    ] {
        let mut client = start_in(&folder, &json!({}));
        let text = format!("use \"{written}\"\n{CAR}");
        let mut document = client.open(&folder.uri("car.clutch"), &text);
        assert_eq!(codes(&client.diagnostics(&document)), ["use-missing"]);
        let at = document.behind("use \"");
        let actions = offered(&mut client, &document, at, Value::Null);
        let text = after(&document, titled(&actions, &format!("use `{meant}`")));
        let checks = found_in(&mut client, &mut document, &text);
        assert!(!checks.contains(&"use-missing".to_owned()), "{checks:?}");
        client.finish();
    }
}

#[test]
fn a_use_that_brings_in_nothing_is_removed() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(&folder, &json!({}));
    let mut document = client.open(
        &folder.uri("car.clutch"),
        &format!("use \"parts é.clutch\"\n{CAR}"),
    );
    let at = document.behind("use \"");
    let actions = offered(&mut client, &document, at, json!(["quickfix"]));
    let text = after(
        &document,
        titled(&actions, "remove `use \"parts é.clutch\"`"),
    );
    assert_eq!(text, CAR);
    // One that is used stays.
    let whole = document.text.clone();
    client.change(&mut document, &[(whole.as_str(), with_part().as_str())]);
    document.text = with_part();
    let at = document.behind("use \"");
    let actions = offered(&mut client, &document, at, json!(["quickfix"]));
    assert!(
        !actions
            .iter()
            .any(|action| action["title"].as_str().unwrap().starts_with("remove")),
        "{actions:#?}"
    );
    client.finish();
}

#[test]
fn a_missing_field_is_inserted_with_its_unit_and_without_a_number() {
    let mut client = Client::start();
    let cases = [
        (
            "  stroke = 30 mm  rest_extension",
            "sla",
            "add `stroke = mm`",
            "slave { bore = 7/8 in  rest_extension = 6 mm  stroke = mm }",
        ),
        (
            "  release_load = 1500 N",
            "cov",
            "add `release_load = N`",
            "cover { release_travel = 7.5 mm to 11 mm  release_load = N }",
        ),
        (
            "slave_arm = 112 mm  bearing_arm = 68 mm  ",
            "for",
            "add `slave_arm = mm`, `bearing_arm = mm`",
            "stiffness = 1200 N/mm  slave_arm = mm  bearing_arm = mm }",
        ),
        (
            "    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }\n",
            "system c",
            "add `cover { … }`",
            "    cover {\n        release_travel = mm to mm\n        release_load = N\n    }\n}",
        ),
        (
            "    slave { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }\n",
            "system c",
            "add `slave { … }`",
            "    slave {\n        bore = mm\n        stroke = mm\n    }\n}",
        ),
    ];
    for (number, (gone, place, title, put_in)) in cases.into_iter().enumerate() {
        let text = match gone.contains("rest_extension") && !gone.contains('\n') {
            true => CAR.replace(gone, "  rest_extension"),
            false => CAR.replace(gone, ""),
        };
        assert_ne!(text, CAR, "{gone}");
        let document = client.open(&format!("untitled:without-{number}.clutch"), &text);
        let found = client.diagnostics(&document);
        let missing = ["missing-field", "missing-block"].contains(&codes(&found)[0]);
        assert!(missing, "{found:?}");
        let actions = offered(&mut client, &document, document.behind(place), Value::Null);
        let text = after(&document, titled(&actions, title));
        assert!(text.contains(put_in), "{text}");
        // No number is made up: where one is wanted, that is said.
        let mut document = client.open(&format!("untitled:with-{number}.clutch"), CAR);
        let checks = found_in(&mut client, &mut document, &text);
        assert!(checks.contains(&"unknown-name".to_owned()), "{checks:?}");
        assert!(!checks.contains(&"missing-field".to_owned()), "{checks:?}");
    }
    client.finish();
}
