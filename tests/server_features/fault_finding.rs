use super::super::{codes, hover};
use super::*;

/// The car with readings.
fn measured(readings: &str) -> String {
    format!("{CAR}system on_the_phone from car {{\n    {readings}\n}}\n")
}

fn offered(client: &mut Client, document: &Document, before: &str) -> Vec<Value> {
    let position = document.before(before);
    let more = json!({
        "range": { "start": position, "end": position },
        "context": { "diagnostics": [], "only": ["quickfix"] },
    });
    let found = ask(client, "textDocument/codeAction", document, more);
    found.as_array().unwrap().clone()
}

#[test]
fn a_hover_on_measured_has_the_table_and_what_to_read_next() {
    let mut client = Client::start();
    let text = measured("measured first_call { slave_travel = 10 mm }");
    let document = client.open(SPEC, &text);
    let found = client.diagnostics(&document);
    assert_eq!(codes(&found), ["drags-as-measured"]);
    for place in ["measured first", "first_call"] {
        let (text, _) = hover(&mut client, &document, document.before(place)).unwrap();
        for part in [
            "The clutch drags as measured",
            "| reading | measured | worked out | |",
            "| slave travel | 10 mm | 15.",
            " cc of air in the fluid",
            "Measure next `master_travel`: ",
        ] {
            assert!(text.contains(part), "no `{part}`: {text}");
        }
    }
    client.finish();
}

#[test]
fn the_reading_to_take_next_is_put_in_and_left_to_be_typed() {
    let mut client = Client::start();
    let mut document = client.open(SPEC, &measured("measured { slave_travel = 10 mm }"));
    let actions = offered(&mut client, &document, "measured {");
    let title = "add the reading to take next: `master_travel`";
    let action = actions.iter().find(|action| action["title"] == title);
    let action = action.unwrap_or_else(|| panic!("{actions:#?}"));
    assert_eq!(action["kind"], "quickfix");
    assert_eq!(action["diagnostics"][0]["code"], "drags-as-measured");
    let edits = edits(action["edit"]["documentChanges"][0]["edits"].clone());
    let before = document.text.clone();
    let after = document.edited(&edits);
    assert!(
        after.contains("measured { slave_travel = 10 mm  master_travel = mm }"),
        "{after}"
    );
    client.change(&mut document, &[(&before, &after)]);
    // What is typed into it counts: the master moves as it should, and what shortens it is out.
    client.change(
        &mut document,
        &[("master_travel = mm", "master_travel = 23 mm")],
    );
    client.stop_typing(&mut document);
    assert_eq!(codes(&client.diagnostics(&document)), ["drags-as-measured"]);
    let (text, _) = hover(&mut client, &document, document.before("measured {")).unwrap();
    assert!(
        text.contains("| master travel | 23 mm | 22.9 mm | agrees |"),
        "{text}"
    );
    assert!(!text.contains("lost free play"), "{text}");
    client.finish();
}

#[test]
fn nothing_is_offered_where_no_reading_tells_more() {
    let mut client = Client::start();
    let document = client.open(
        SPEC,
        &measured("measured { slave_travel = 15.7 mm  frees = yes }"),
    );
    let actions = offered(&mut client, &document, "measured {");
    let titles: Vec<&str> = actions
        .iter()
        .map(|a| a["title"].as_str().unwrap())
        .collect();
    assert!(
        !titles.iter().any(|title| title.contains("reading")),
        "{titles:?}"
    );
    client.finish();
}
