//! The preview beside a spec: its findings, and the sheet with the shop's heading.

use super::*;

/// A client in a folder whose shop has a name and a picture.
#[test]
fn the_sheet_in_an_editor_has_the_picture_of_the_shop() {
    let settings = "[shop]\nname = \"Heron Yard\"\nlogo = \"logo.svg\"\n";
    let folder = Folder::new("");
    folder.write("bitepoint.toml", settings);
    folder.write("logo.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"/>");
    let mut client = start_in(&folder, &json!({}));
    let document = client.open(&folder.uri("car.clutch"), CAR);
    let sheet = ask(&mut client, "bitepoint/sheet", &document, json!({}));
    let html = sheet["html"].as_str().expect("a page");
    assert!(html.contains("Heron Yard"));
    assert!(html.contains("data:image/svg+xml;base64,"), "no picture");
    client.finish();
}

#[test]
fn the_preview_lists_what_is_found_the_worst_first() {
    let mut client = Client::start();
    let document = client.open(SPEC, &dragging());
    let curve = ask(&mut client, "bitepoint/curve", &document, json!({}));
    let findings = curve["findings"].as_array().expect("a list");
    assert_eq!(findings[0]["severity"], "error");
    assert_eq!(findings[0]["check"], "short-release");
    assert!(
        findings[0]["message"]
            .as_str()
            .unwrap()
            .contains("short of")
    );
    assert!(findings[0]["range"]["start"]["line"].is_number());
    client.finish();
}
