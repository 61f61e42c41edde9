//! The two hierarchies: which systems start from which, and what uses a part.

use super::*;
use tower_lsp::lsp_types::Range;

const LIBRARY: &str = "part slave mine { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }\n";

fn workspace() -> (Folder, Client) {
    let folder = Folder::new(LIBRARY);
    folder.write(
        "vans/van.clutch",
        "use \"../car.clutch\"\nsystem van \"The van\" from car {\n    slave mine\n}\nsystem late from van {}\n",
    );
    let client = start_in(&folder, &json!({}));
    (folder, client)
}

fn prepared(client: &mut Client, kind: &str, document: &Document, mark: &str) -> Value {
    let method = format!("textDocument/prepare{kind}Hierarchy");
    ask(client, &method, document, at(document.behind(mark)))
}

fn names(items: &Value) -> Vec<&str> {
    let items = items.as_array().expect("items").iter();
    items.map(|item| item["name"].as_str().unwrap()).collect()
}

fn follow(client: &mut Client, method: &str, item: &Value) -> Value {
    client.ask_raw(method, json!({ "item": item })).unwrap()
}

#[test]
fn systems_lead_to_what_they_start_from_and_to_what_starts_from_them() {
    let (folder, mut client) = workspace();
    let car = client.open(&folder.uri("car.clutch"), &with_part());
    let found = prepared(&mut client, "Type", &car, "system ca");
    assert_eq!(names(&found), ["car"]);
    assert_eq!(found[0]["detail"], "A car that works");
    let none = follow(&mut client, "typeHierarchy/supertypes", &found[0]);
    assert_eq!(none, json!([]));
    let vans = follow(&mut client, "typeHierarchy/subtypes", &found[0]);
    assert_eq!(names(&vans), ["van"]);
    assert_eq!(vans[0]["uri"], folder.uri("vans/van.clutch"));
    assert_eq!(
        vans[0]["selectionRange"]["start"],
        json!({ "line": 1, "character": 7 })
    );
    let late = follow(&mut client, "typeHierarchy/subtypes", &vans[0]);
    assert_eq!(names(&late), ["late"]);
    let back = follow(&mut client, "typeHierarchy/supertypes", &vans[0]);
    assert_eq!(back, found);
    // A part starts from nothing, and a field is neither.
    for mark in ["slave mi", "pad_ar"] {
        assert_eq!(
            prepared(&mut client, "Type", &car, mark),
            Value::Null,
            "{mark}"
        );
    }
    client.finish();
}

/// The server read the workspace before a document was open; the open text still counts.
#[test]
fn open_documents_count_from_the_first_request_on() {
    let folder = Folder::new(LIBRARY);
    folder.write("van.clutch", "use \"car.clutch\"\nsystem van from car {}\n");
    let mut client = start_in(&folder, &json!({ "window": { "workDoneProgress": true } }));
    client.answer_to("window/workDoneProgress/create", &Value::Null);
    while client.told("$/progress")["value"]["kind"] != "end" {}
    let car = client.open(&folder.uri("car.clutch"), &with_part());
    let found = prepared(&mut client, "Type", &car, "system ca");
    let vans = follow(&mut client, "typeHierarchy/subtypes", &found[0]);
    assert_eq!(names(&vans), ["van"]);
    client.finish();
}

#[test]
fn a_part_knows_who_uses_it_and_a_system_what_it_uses() {
    let (folder, mut client) = workspace();
    let car = client.open(&folder.uri("car.clutch"), &with_part());
    let part = prepared(&mut client, "Call", &car, "slave mi");
    assert_eq!(names(&part), ["mine"]);
    assert_eq!(part[0]["uri"], folder.uri("parts é.clutch"));
    let users = follow(&mut client, "callHierarchy/incomingCalls", &part[0]);
    let mut users: Vec<(&str, usize)> = users
        .as_array()
        .unwrap()
        .iter()
        .map(|call| {
            (
                call["from"]["name"].as_str().unwrap(),
                call["fromRanges"].as_array().unwrap().len(),
            )
        })
        .collect();
    users.sort_unstable();
    assert_eq!(users, [("car", 1), ("van", 1)]);
    // A part refers to nothing.
    assert_eq!(
        follow(&mut client, "callHierarchy/outgoingCalls", &part[0]),
        json!([])
    );
    let system = prepared(&mut client, "Call", &car, "system ca");
    let used = follow(&mut client, "callHierarchy/outgoingCalls", &system[0]);
    assert_eq!(used[0]["to"], part[0]);
    let place: Range = serde_json::from_value(used[0]["fromRanges"][0].clone()).unwrap();
    assert_eq!(car.covered(place), "mine");
    let derived = follow(&mut client, "callHierarchy/incomingCalls", &system[0]);
    assert_eq!(derived[0]["from"]["name"], "van");
    let both = follow(
        &mut client,
        "callHierarchy/outgoingCalls",
        &derived[0]["from"],
    );
    let both: Vec<&str> = both
        .as_array()
        .unwrap()
        .iter()
        .map(|call| call["to"]["name"].as_str().unwrap())
        .collect();
    assert_eq!(both, ["car", "mine"]);
    client.finish();
}

#[test]
fn an_item_that_is_gone_leads_nowhere() {
    let (folder, mut client) = workspace();
    let mut car = client.open(&folder.uri("car.clutch"), &with_part());
    let found = prepared(&mut client, "Type", &car, "system ca");
    client.change(&mut car, &[("system car", "system caravan")]);
    for method in ["typeHierarchy/subtypes", "callHierarchy/incomingCalls"] {
        assert_eq!(follow(&mut client, method, &found[0]), Value::Null);
    }
    client.finish();
}
