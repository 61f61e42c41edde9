use super::*;

fn asking() -> Value {
    json!({ "textDocument": { "diagnostic": {} } })
}

#[test]
fn a_pulling_client_gets_answers_and_nothing_is_published() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(&folder, &asking());
    let mut document = client.open(SPEC, &dragging());
    let first = ask(&mut client, "textDocument/diagnostic", &document, json!({}));
    assert_eq!(first["kind"], "full");
    let checks: Vec<&str> = first["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|item| item["code"].as_str().unwrap())
        .collect();
    assert!(checks.contains(&"short-release"), "{checks:?}");

    let before = json!({ "previousResultId": first["resultId"] });
    let same = ask(
        &mut client,
        "textDocument/diagnostic",
        &document,
        before.clone(),
    );
    assert_eq!(
        same,
        json!({ "kind": "unchanged", "resultId": first["resultId"] })
    );
    client.change(&mut document, &[("1 1/16 in", "7/8 in")]);
    let other = ask(&mut client, "textDocument/diagnostic", &document, before);
    assert_eq!(other["kind"], "full");
    assert_ne!(other["resultId"], first["resultId"]);
    client.close(&document);
    let closed = ask(&mut client, "textDocument/diagnostic", &document, json!({}));
    assert_eq!(closed, json!({ "kind": "full", "items": [] }));
    let told = |message: &Value| message["method"] == "textDocument/publishDiagnostics";
    assert!(!client.unclaimed().iter().any(told));
    client.finish();
}

#[test]
fn the_workspace_is_analysed_and_unchanged_reports_are_not_repeated() {
    let folder = Folder::new(PARTS);
    folder.write("bad.clutch", &dragging());
    let mut client = start_in(&folder, &asking());
    let ask_all = |client: &mut Client, before: Value| {
        let params = json!({ "previousResultIds": before });
        let mut items = client.ask_raw("workspace/diagnostic", params).unwrap()["items"].take();
        let items = items.as_array_mut().unwrap();
        items.sort_by_key(|item| item["uri"].as_str().unwrap().to_owned());
        std::mem::take(items)
    };
    let first = ask_all(&mut client, json!([]));
    let uris: Vec<&str> = first
        .iter()
        .map(|item| item["uri"].as_str().unwrap())
        .collect();
    assert_eq!(
        uris,
        [folder.uri("bad.clutch"), folder.uri("parts é.clutch")]
    );
    assert!(first.iter().all(|item| item["kind"] == "full"));
    assert!(
        first[0]["items"]
            .as_array()
            .unwrap()
            .iter()
            .any(|d| d["code"] == "short-release")
    );

    folder.write("bad.clutch", CAR);
    let before = |item: &Value| json!({ "uri": item["uri"], "value": item["resultId"] });
    let second = ask_all(&mut client, first.iter().map(before).collect());
    let kinds: Vec<&str> = second
        .iter()
        .map(|item| item["kind"].as_str().unwrap())
        .collect();
    assert_eq!(kinds, ["full", "unchanged"]);
    client.finish();
}

#[test]
fn a_pulling_client_is_notified_when_its_edit_changes_another_file() {
    let folder = Folder::new(PARTS);
    let refreshed = json!({
        "textDocument": { "diagnostic": {} },
        "workspace": {
            "diagnostics": { "refreshSupport": true },
            "inlayHint": { "refreshSupport": true },
            "codeLens": { "refreshSupport": true },
            "semanticTokens": { "refreshSupport": true },
        },
    });
    let mut client = start_in(&folder, &refreshed);
    let document = client.open(&folder.uri("car.clutch"), &with_part());
    let clean = ask(&mut client, "textDocument/diagnostic", &document, json!({}));
    let mut library = client.open(&folder.uri("parts é.clutch"), PARTS);
    client.change(&mut library, &[("7/8 in", "1 1/16 in")]);
    for method in ["diagnostic", "inlayHint", "codeLens", "semanticTokens"] {
        client.answer_to(&format!("workspace/{method}/refresh"), &Value::Null);
    }
    let now = ask(&mut client, "textDocument/diagnostic", &document, json!({}));
    assert_ne!(now["resultId"], clean["resultId"]);
    client.finish();
}

#[test]
fn a_check_is_linked_to_its_explanation_where_the_editor_can_show_it() {
    let mut able = capabilities(Encoding::Utf16);
    able["textDocument"]["publishDiagnostics"]["codeDescriptionSupport"] = json!(true);
    let options = json!({ "explainLink": "bitepoint-explain:/{name}.md" });
    let said = json!({ "capabilities": able, "initializationOptions": options });
    let (mut client, _) = Client::start_saying(said, Encoding::Utf16);
    let document = client.open(SPEC, &dragging());
    let found = client.diagnostics(&document);
    let link = found[0].code_description.as_ref().expect("a link");
    let check = super::super::code(&found[0]);
    assert_eq!(link.href.as_str(), format!("bitepoint-explain:/{check}.md"));
    // So is one that an author names.
    let text = CAR.replace("pedal {", "allow short-release \"tried\"\n    pedal {");
    let document = client.open("untitled:other.clutch", &text);
    let found = ask(
        &mut client,
        "textDocument/documentLink",
        &document,
        json!({}),
    );
    assert_eq!(found[0]["target"], "bitepoint-explain:/short-release.md");
    let range = serde_json::from_value(found[0]["range"].clone()).unwrap();
    assert_eq!(document.covered(range), "short-release");
    client.finish();
}

/// The hover at a text of a document.
fn hovered(client: &mut Client, document: &Document, text: &str) -> String {
    let place = at(document.before(text));
    let said = ask(client, "textDocument/hover", document, place);
    said["contents"]["value"]
        .as_str()
        .expect("words")
        .to_owned()
}

#[test]
fn a_word_of_the_trade_is_explained_in_its_hover_and_linked_where_a_link_is_set() {
    let mut client = Client::start();
    let document = client.open(SPEC, &dragging());
    let plain = hovered(&mut client, &document, "fork {");
    let meaning = "- clutch fork: ";
    assert!(plain.contains(meaning), "{plain}");
    client.finish();

    let options = json!({ "explainLink": "command:bitepoint.explain?%5B%22{name}%22%5D" });
    let said =
        json!({ "capabilities": capabilities(Encoding::Utf16), "initializationOptions": options });
    let (mut client, _) = Client::start_saying(said, Encoding::Utf16);
    let document = client.open(SPEC, &dragging());
    let linked = hovered(&mut client, &document, "fork {");
    let link = "- [clutch fork](command:bitepoint.explain?%5B%22clutch%20fork%22%5D): ";
    assert!(linked.contains(link), "{linked}");
    assert_eq!(linked.replace(link, meaning), plain);
    client.finish();
}
