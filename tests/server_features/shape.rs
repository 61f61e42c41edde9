use super::*;
use tower_lsp::lsp_types::Range;

#[test]
fn a_line_above_each_system_gives_its_verdict() {
    let options = json!({ "lensCommand": "bitepoint.preview" });
    let said = json!({ "capabilities": {}, "initializationOptions": options });
    let (mut client, _) = Client::start_saying(said, Encoding::Utf16);
    let document = client.open(SPEC, CAR);
    let found = ask(&mut client, "textDocument/codeLens", &document, json!({}));
    let lens = &found[0];
    let title = lens["command"]["title"].as_str().unwrap();
    assert_eq!(title, "margin 1.56 mm · 135 N · releases at 86 %");
    assert_eq!(lens["command"]["command"], "bitepoint.preview");
    assert_eq!(lens["command"]["arguments"], json!([SPEC, "car"]));
    client.finish();
}

#[test]
fn a_failing_system_does_not_look_like_a_passing_one() {
    let mut client = Client::start();
    let document = client.open(SPEC, &dragging());
    let found = ask(&mut client, "textDocument/codeLens", &document, json!({}));
    let title = found[0]["command"]["title"].as_str().unwrap();
    assert!(
        title.starts_with("✗ drags: ") && title.ends_with(" mm short"),
        "{title}"
    );
    let curve = ask(&mut client, "bitepoint/curve", &document, json!({}));
    assert_eq!(
        (&curve["verdict"], &curve["standing"]),
        (&json!(title), &json!("error"))
    );
    client.finish();
}

#[test]
fn bodies_comments_and_uses_fold() {
    let text = "use \"a\"\nuse \"b\"\n# one\n# two\nsystem s {\n    slave {\n        bore = 1 in\n    }\n}\n";
    for (said, wanted) in [
        (json!({}), json!([[0, 1], [2, 3], [4, 8], [5, 7]])),
        (
            json!({ "lineFoldingOnly": true }),
            json!([[0, 1], [2, 3], [4, 7], [5, 6]]),
        ),
        (
            json!({ "lineFoldingOnly": true, "rangeLimit": 1 }),
            json!([[0, 1]]),
        ),
    ] {
        let able = json!({ "textDocument": { "foldingRange": said } });
        let (mut client, _) = Client::start_with(able, Encoding::Utf16);
        let document = client.open(SPEC, text);
        let found = ask(
            &mut client,
            "textDocument/foldingRange",
            &document,
            json!({}),
        );
        let lines: Vec<Value> = found
            .as_array()
            .unwrap()
            .iter()
            .map(|fold| json!([fold["startLine"], fold["endLine"]]))
            .collect();
        assert_eq!(json!(lines), wanted);
        client.finish();
    }
}

#[test]
fn a_selection_grows_from_the_word_to_the_file() {
    let mut client = Client::start();
    let document = client.open(SPEC, CAR);
    let positions = json!({ "positions": [document.behind("slave { bore = 7/8 i")] });
    let found = ask(
        &mut client,
        "textDocument/selectionRange",
        &document,
        positions,
    );
    let mut covered = Vec::new();
    let mut next = &found[0];
    while next.is_object() {
        let range: Range = serde_json::from_value(next["range"].clone()).unwrap();
        covered.push(document.covered(range).to_owned());
        next = &next["parent"];
    }
    assert_eq!(&covered[..3], ["in", "7/8 in", "bore = 7/8 in"]);
    assert!(covered[4].starts_with("{ bore") && covered[5].starts_with("slave {"));
    assert_eq!(covered.last().unwrap(), CAR);
    client.finish();
}

#[test]
fn a_use_is_a_link_to_its_file() {
    let folder = Folder::new(PARTS);
    let mut client = Client::start();
    let document = client.open(&folder.uri("car.clutch"), &with_part());
    let found = ask(
        &mut client,
        "textDocument/documentLink",
        &document,
        json!({}),
    );
    assert_eq!(found[0]["target"], folder.uri("parts é.clutch"));
    let range: Range = serde_json::from_value(found[0]["range"].clone()).unwrap();
    assert_eq!(document.covered(range), "parts é.clutch");
    client.finish();
}

/// The words and their types, as numbers in the legend's list.
fn words(document: &Document, data: &[Value], legend: &Value) -> Vec<(String, String)> {
    let lines: Vec<&str> = document.text.split('\n').collect();
    let (mut line, mut start) = (0, 0);
    data.chunks(5)
        .map(|five| {
            let n: Vec<usize> = five.iter().map(|n| n.as_u64().unwrap() as usize).collect();
            if n[0] > 0 {
                start = 0;
            }
            line += n[0];
            start += n[1];
            let units: Vec<u16> = lines[line].encode_utf16().skip(start).take(n[2]).collect();
            let kind = legend["tokenTypes"][n[3]].as_str().unwrap().to_owned();
            (String::from_utf16(&units).unwrap(), kind)
        })
        .collect()
}

#[test]
fn every_word_has_its_colour_and_edits_bring_only_what_changes() {
    let (mut client, told) = Client::start_with(capabilities(Encoding::Utf16), Encoding::Utf16);
    let told = serde_json::to_value(told.capabilities.semantic_tokens_provider).unwrap();
    let text = CAR.replace("\"A car that works\"", "\"🚗\"");
    let mut document = client.open(SPEC, &text);
    let full = ask(
        &mut client,
        "textDocument/semanticTokens/full",
        &document,
        json!({}),
    );
    let mut data = full["data"].as_array().unwrap().clone();
    let seen = words(&document, &data, &told["legend"]);
    let has = |word: &str, kind: &str| {
        let pair = (word.to_owned(), kind.to_owned());
        assert!(seen.contains(&pair), "{pair:?} is not in {seen:?}");
    };
    for (word, kind) in [
        ("system", "keyword"),
        ("car", "namespace"),
        ("\"🚗\"", "string"),
        ("master", "type"),
        ("bore", "property"),
        ("psi", "modifier"),
        ("flex", "parameter"),
        ("between", "enumMember"),
        ("to", "keyword"),
        ("350", "number"),
    ] {
        has(word, kind);
    }

    client.change(
        &mut document,
        &[("pivot = between", "pivot = beyond # or so")],
    );
    let more = json!({ "previousResultId": full["resultId"] });
    let delta = ask(
        &mut client,
        "textDocument/semanticTokens/full/delta",
        &document,
        more.clone(),
    );
    let edit = &delta["edits"][0];
    let number = |name: &str| edit[name].as_u64().unwrap() as usize;
    let new = edit["data"].as_array().unwrap().clone();
    assert!(new.len() < data.len() / 2);
    data.splice(
        number("start")..number("start") + number("deleteCount"),
        new,
    );
    let again = ask(
        &mut client,
        "textDocument/semanticTokens/full",
        &document,
        json!({}),
    );
    assert_eq!(json!(data), again["data"]);
    // Of what is not known any more, everything is told.
    let lost = ask(
        &mut client,
        "textDocument/semanticTokens/full/delta",
        &document,
        more,
    );
    assert_eq!(lost["data"], again["data"]);

    let line = document.before("    master");
    let range = json!({ "range": { "start": line, "end": document.before("    line") } });
    let part = ask(
        &mut client,
        "textDocument/semanticTokens/range",
        &document,
        range,
    );
    let part = words(&document, part["data"].as_array().unwrap(), &told["legend"]);
    assert_eq!(part[0], ("master".to_owned(), "type".to_owned()));
    assert!(part.iter().all(|(word, _)| word != "slave"));
    client.finish();
}
