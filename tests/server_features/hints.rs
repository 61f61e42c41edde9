//! Hints: the parameters of a function or a curve, and the meaning of a value at a line's end.

use super::*;
use tower_lsp::lsp_types::Position;

fn signature(
    client: &mut Client,
    document: &Document,
    position: Position,
) -> Option<(String, String)> {
    let found = ask(client, "textDocument/signatureHelp", document, at(position));
    let signature = found["signatures"].get(0)?;
    let label = signature["label"].as_str().unwrap();
    let active = found["activeParameter"].as_u64().unwrap() as usize;
    let parameter = match &signature["parameters"][active]["label"] {
        Value::String(words) => words.clone(),
        offsets => {
            let [start, end] = [0, 1].map(|at| offsets[at].as_u64().unwrap() as usize);
            let units: Vec<u16> = label.encode_utf16().collect();
            String::from_utf16(&units[start..end]).unwrap()
        }
    };
    Some((label.to_owned(), parameter))
}

#[test]
fn a_function_says_what_it_takes_while_it_is_written() {
    for able in [
        json!({}),
        json!({ "textDocument": { "signatureHelp": { "signatureInformation": {
            "parameterInformation": { "labelOffsetSupport": true } } } } }),
    ] {
        let folder = Folder::new(PARTS);
        let mut client = start_in(&folder, &able);
        for (value, label, parameter) in [
            ("max(|", "max(value, other, …)", "value"),
            ("max(1 mm, |", "max(value, other, …)", "other"),
            ("max(1 mm, 2 mm, 3 mm|)", "max(value, other, …)", "…"),
            (
                "2 * min((1 mm + |2 mm), 3 mm)",
                "min(value, other, …)",
                "value",
            ),
            ("max(sqrt(4 mm^2), sin(|", "sin(angle)", "angle"),
            (
                "max(sqrt(4 mm^2), sin(0 deg) * |",
                "max(value, other, …)",
                "other",
            ),
        ] {
            let mark = value.find('|').unwrap();
            let text = CAR.replace(
                "travel = 150 mm",
                &format!("travel = {}", value.replace('|', "")),
            );
            let document = client.open(SPEC, &text);
            let start = document.find("travel = ") + "travel = ".len();
            let found = signature(&mut client, &document, document.position(start + mark));
            assert_eq!(
                found,
                Some((label.to_owned(), parameter.to_owned())),
                "{value}"
            );
            client.close(&document);
        }
        let document = client.open(SPEC, CAR);
        for mark in ["pad_arm = 300", "\"A car", "pedal {", "slave { bore"] {
            assert_eq!(
                signature(&mut client, &document, document.behind(mark)),
                None,
                "{mark}"
            );
        }
        client.finish();
    }
}

#[test]
fn a_curve_says_what_its_points_are() {
    let mut client = Client::start();
    let curve = "curve { 0 mm: 100 N, 2 mm: 500 N\n 8 mm: 900 N }";
    let text = CAR.replace("release_load = 1500 N", &format!("release_load = {curve}"));
    let document = client.open(SPEC, &text);
    let mut at =
        |mark: &str| signature(&mut client, &document, document.behind(mark)).expect("a signature");
    let label = "curve { length [mm]: force [N], … }";
    for (mark, parameter) in [
        ("curve { ", "length [mm]"),
        ("0 mm: ", "force [N]"),
        ("100 N, ", "length [mm]"),
        ("100 N, 2 mm: 5", "force [N]"),
        ("500 N\n 8", "length [mm]"),
        ("8 mm: 9", "force [N]"),
    ] {
        assert_eq!(at(mark), (label.to_owned(), parameter.to_owned()), "{mark}");
    }
    client.finish();
}

#[test]
fn a_value_behind_a_line_says_what_it_is_and_how_it_comes_about() {
    let range = |document: &Document| json!({ "range": document.all() });
    let mut client = Client::start();
    let document = client.open(SPEC, CAR);
    let whole = ask(
        &mut client,
        "textDocument/inlayHint",
        &document,
        range(&document),
    );
    let tooltip = whole[0]["tooltip"]["value"].as_str().unwrap();
    insta::assert_snapshot!(tooltip);
    client.finish();

    let folder = Folder::new(PARTS);
    let able = json!({ "textDocument": { "inlayHint": { "resolveSupport": { "properties": ["tooltip"] } } } });
    let mut client = start_in(&folder, &able);
    let mut document = client.open(SPEC, CAR);
    let lazy = ask(
        &mut client,
        "textDocument/inlayHint",
        &document,
        range(&document),
    );
    for (lazy, whole) in lazy
        .as_array()
        .unwrap()
        .iter()
        .zip(whole.as_array().unwrap())
    {
        assert_eq!(lazy.get("tooltip"), None);
        let resolved = client.ask_raw("inlayHint/resolve", lazy.clone()).unwrap();
        assert_eq!(resolved["tooltip"], whole["tooltip"]);
        assert_eq!(resolved["label"], whole["label"]);
    }
    // A value that has changed since the hint was shown gets no tooltip.
    client.change(&mut document, &[("travel = 150 mm", "travel = 140 mm")]);
    let late = client
        .ask_raw("inlayHint/resolve", lazy[0].clone())
        .unwrap();
    assert_eq!(late, lazy[0]);
    client.finish();
}
