use super::super::hover;
use super::*;
use tower_lsp::lsp_types::{Location, Position, Range, TextEdit, Url};

const LIBRARY: &str = "part slave mine { bore = 7/8 in  stroke = 30 mm  rest_extension = rest }
let rest = 6 mm
";

fn workspace() -> (Folder, Client) {
    let folder = Folder::new(LIBRARY);
    folder.write("other.clutch", &with_part());
    let client = start_in(&folder, &json!({}));
    (folder, client)
}

fn references(client: &mut Client, document: &Document, position: Position) -> Vec<Location> {
    let mut more = at(position);
    more["context"] = json!({ "includeDeclaration": true });
    let found = ask(client, "textDocument/references", document, more);
    let mut found: Vec<Location> = serde_json::from_value(found).unwrap();
    found.sort_by_key(|location| (location.uri.to_string(), location.range.start));
    found
}

#[test]
fn a_part_is_found_wherever_it_is_used_open_or_not() {
    let (folder, mut client) = workspace();
    let document = client.open(&folder.uri("car.clutch"), &with_part());
    let found = references(&mut client, &document, document.behind("slave mi"));
    let uris: Vec<String> = found.iter().map(|l| l.uri.to_string()).collect();
    let wanted = ["car.clutch", "other.clutch", "parts é.clutch"].map(|name| folder.uri(name));
    assert_eq!(uris, wanted);
    assert_eq!(document.covered(found[0].range), "mine");
    assert_eq!(
        found[2].range,
        Range::new(Position::new(0, 11), Position::new(0, 15))
    );
    client.finish();
}

#[test]
fn renaming_a_part_changes_every_file_and_no_result() {
    let (folder, mut client) = workspace();
    let document = client.open(&folder.uri("car.clutch"), &with_part());
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    let position = document.behind("slave mi");
    let mut more = at(position);
    more["newName"] = json!("ours");
    let edit = ask(&mut client, "textDocument/rename", &document, more);
    let changes = edit["documentChanges"].as_array().unwrap();
    assert_eq!(changes.len(), 3);
    for change in changes {
        let uri = Url::parse(change["textDocument"]["uri"].as_str().unwrap()).unwrap();
        let is_open = uri == document.uri;
        assert_eq!(
            change["textDocument"]["version"],
            if is_open { json!(1) } else { Value::Null }
        );
        let edits: Vec<TextEdit> = serde_json::from_value(change["edits"].clone()).unwrap();
        assert_eq!(edits.len(), 1);
        assert_eq!(edits[0].new_text, "ours");
    }
    client.finish();
}

#[test]
fn a_name_that_may_not_be_renamed_gives_the_reason() {
    let (folder, mut client) = workspace();
    let text = format!("let ours = 1 mm\n{}", with_part());
    let document = client.open(&folder.uri("car.clutch"), &text);
    let mut rename = |mark: &str, new: &str| {
        let params = json!({
            "textDocument": { "uri": document.uri },
            "position": document.behind(mark),
            "newName": new,
        });
        let error = client.ask_raw("textDocument/rename", params).unwrap_err();
        assert_eq!(error["code"], -32803);
        error["message"].as_str().unwrap().to_owned()
    };
    assert!(rename("slave mi", "7up").contains("is no name"));
    assert!(rename("slave mi", "curve").contains("a word of the language"));
    assert!(rename("let ou", "rest").contains("there is a `rest` already"));
    assert!(rename("pedal { pad_a", "arm").contains("nothing here"));
    client.finish();
}

#[test]
fn a_name_that_can_be_changed_is_marked_before_it_is() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(
        &folder,
        &json!({ "textDocument": { "rename": { "prepareSupport": true } } }),
    );
    let document = client.open(&folder.uri("car.clutch"), &with_part());
    let found = ask(
        &mut client,
        "textDocument/prepareRename",
        &document,
        at(document.behind("line fl")),
    );
    assert_eq!(found["placeholder"], "flex");
    let range: Range = serde_json::from_value(found["range"].clone()).unwrap();
    assert_eq!(document.covered(range), "flex");
    let none = ask(
        &mut client,
        "textDocument/prepareRename",
        &document,
        at(document.before("stroke = 36")),
    );
    assert_eq!(none, Value::Null);
    client.finish();
}

#[test]
fn mentions_are_marked_with_where_they_are_defined() {
    let mut client = Client::start();
    let text = CAR.replace(
        "system car",
        "let half = 3 mm\nsystem base { let half = 5 mm }\nsystem car",
    );
    let text = text.replace("{ pad_arm", "{ let_go = half  pad_arm");
    let document = client.open(SPEC, &text);
    let mut marked = |mark: &str| -> Vec<(String, i64)> {
        let found = ask(
            &mut client,
            "textDocument/documentHighlight",
            &document,
            at(document.behind(mark)),
        );
        let found = found.as_array().unwrap().iter();
        found
            .map(|one| {
                let range: Range = serde_json::from_value(one["range"].clone()).unwrap();
                let line = document
                    .text
                    .lines()
                    .nth(range.start.line as usize)
                    .unwrap();
                (line[..11].trim().to_owned(), one["kind"].as_i64().unwrap())
            })
            .collect()
    };
    assert_eq!(
        marked("let ha"),
        [("let half =".to_owned(), 3), ("pedal {".to_owned(), 2)]
    );
    assert_eq!(marked("base { let ha"), [("system base".to_owned(), 3)]);
    client.finish();
}

#[test]
fn the_workspace_is_searched_by_name() {
    let (_folder, mut client) = workspace();
    let found = client
        .ask_raw("workspace/symbol", json!({ "query": "MN" }))
        .unwrap();
    let names: Vec<&str> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|symbol| symbol["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["mine"]);
    // By the title of a system as well, which then stands behind its name.
    let found = client
        .ask_raw("workspace/symbol", json!({ "query": "that works" }))
        .unwrap();
    assert_eq!(found.as_array().unwrap().len(), 1);
    assert_eq!(found[0]["name"], "car: A car that works");
    let all = client
        .ask_raw("workspace/symbol", json!({ "query": "" }))
        .unwrap();
    assert_eq!(all.as_array().unwrap().len(), 3, "{all:#}");
    client.finish();
}

#[test]
fn a_part_tells_of_its_users_in_the_whole_workspace() {
    let (folder, mut client) = workspace();
    let van = with_part().replace("system car", "system van");
    let document = client.open(&folder.uri("van.clutch"), &van);
    let library = client.open(&folder.uri("parts é.clutch"), LIBRARY);
    let told = |client: &mut Client, document: &Document, position| {
        let (words, covered) = hover(client, document, position).expect("a hover");
        assert_eq!(covered, "mine");
        let line = words.lines().find(|line| line.starts_with("Used by"));
        line.expect("users").to_owned()
    };
    let there = told(&mut client, &library, library.behind("slave mi"));
    let mut users: Vec<&str> = there.trim_start_matches("Used by ").split(", ").collect();
    users.sort_unstable();
    assert_eq!(users, ["`car` (other.clutch)", "`van` (van.clutch)"]);
    let here = told(&mut client, &document, document.behind("slave mi"));
    assert_eq!(here, "Used by `van`, `car` (other.clutch)");
    client.finish();
}

/// The texts after a rename in files that are all open.
fn renamed(
    client: &mut Client,
    documents: &[&Document],
    at_: &Document,
    mark: &str,
    new: &str,
) -> Vec<String> {
    let mut more = at(at_.behind(mark));
    more["newName"] = json!(new);
    let edit = ask(client, "textDocument/rename", at_, more);
    let changes = edit["documentChanges"].as_array().unwrap();
    let text = |document: &&Document| {
        let its = changes
            .iter()
            .find(|change| change["textDocument"]["uri"] == document.uri.as_str());
        let edits: Vec<TextEdit> = its.map_or(Vec::new(), |its| {
            serde_json::from_value(its["edits"].clone()).unwrap()
        });
        document.edited(&edits)
    };
    documents.iter().map(text).collect()
}

#[test]
fn lets_and_labels_of_a_base_are_renamed_in_every_file() {
    let folder = Folder::new(LIBRARY);
    let base = CAR
        .replace(
            "system car \"A car that works\" {",
            "system base {\n    let reach = 36 mm",
        )
        .replace("stroke = 36 mm", "stroke = reach");
    let car = "use \"base.clutch\"\nsystem car from base {\n    let reach = 35 mm\n    line flex { length = 10 * reach }\n}\n";
    let stranger = "use \"parts é.clutch\"\nsystem other { let reach = 3 mm  line flex { length = 10 * reach } }\n";
    let mut client = start_in(&folder, &json!({}));
    let texts = [("base", &*base), ("car", car), ("stranger", stranger)];
    let opened =
        texts.map(|(name, text)| client.open(&folder.uri(&format!("{name}.clutch")), text));
    let all: Vec<&Document> = opened.iter().collect();
    // From the file that defines it, and from one that only uses it.
    for (from, mark) in [(0, "let rea"), (1, "let rea"), (1, "10 * rea")] {
        let new = renamed(&mut client, &all, all[from], mark, "throw");
        assert_eq!(new[0], base.replace("reach", "throw"), "{mark}");
        assert_eq!(new[1], car.replace("reach", "throw"), "{mark}");
        assert_eq!(new[2], stranger, "{mark}");
    }
    for (from, mark) in [(0, "line fl"), (1, "line fl")] {
        let new = renamed(&mut client, &all, all[from], mark, "hose");
        assert_eq!(new[0], base.replace("line flex", "line hose"), "{mark}");
        assert_eq!(new[1], car.replace("line flex", "line hose"), "{mark}");
        assert_eq!(new[2], stranger, "{mark}");
    }
    // A file's own let, used in another.
    let library = client.open(&folder.uri("parts é.clutch"), LIBRARY);
    let user = client.open(
        &folder.uri("user.clutch"),
        "use \"parts é.clutch\"\nsystem user { pedal { free_play = rest } }\n",
    );
    let new = renamed(
        &mut client,
        &[&library, &user],
        &user,
        "free_play = re",
        "gap",
    );
    assert_eq!(
        new,
        [
            LIBRARY
                .replace("= rest", "= gap")
                .replace("let rest", "let gap"),
            user.text.replace("= rest", "= gap")
        ]
    );
    client.finish();
}
