//! Renaming of files and folders in an editor's file tree.

use super::*;
use proptest::prelude::*;
use std::collections::BTreeMap;
use tower_lsp::lsp_types::{TextEdit, Url};

fn start(folder: &Folder) -> Client {
    let able = json!({ "workspace": {
        "fileOperations": { "willRename": true, "didRename": true },
        "workspaceEdit": { "documentChanges": true },
    } });
    start_in(folder, &able)
}

/// Renames files or folders as an editor does: asks, applies the edits, renames, and notifies. Gives the names of the
/// edited files.
fn rename(folder: &Folder, client: &mut Client, moves: &[(&str, &str)]) -> Vec<String> {
    let renamed: Vec<Value> = moves
        .iter()
        .map(|(old, new)| json!({ "oldUri": folder.uri(old), "newUri": folder.uri(new) }))
        .collect();
    let params = json!({ "files": renamed });
    let edit = client.ask_raw("workspace/willRenameFiles", params.clone());
    let edit = edit.expect("an answer");
    let mut edited = Vec::new();
    for change in edit["documentChanges"].as_array().into_iter().flatten() {
        let uri = Url::parse(change["textDocument"]["uri"].as_str().unwrap()).unwrap();
        let path = uri.to_file_path().unwrap();
        let edits: Vec<TextEdit> = serde_json::from_value(change["edits"].clone()).unwrap();
        let text = std::fs::read_to_string(&path).unwrap();
        let document = client.open(uri.as_str(), &text);
        let text = document.edited(&edits);
        client.close(&document);
        std::fs::write(&path, text).unwrap();
        let changed = json!({ "changes": [{ "uri": uri, "type": 2 }] });
        client.tell_raw("workspace/didChangeWatchedFiles", changed);
        let name = path.strip_prefix(folder.path("")).unwrap();
        edited.push(name.to_string_lossy().into_owned());
    }
    for (old, new) in moves {
        let new = folder.path(new);
        std::fs::create_dir_all(std::path::Path::new(&new).parent().unwrap()).unwrap();
        std::fs::rename(folder.path(old), new).unwrap();
    }
    client.tell_raw("workspace/didRenameFiles", params);
    edited.sort();
    edited
}

/// The findings of each file of the workspace, by its name: the checks with their lines.
fn findings(folder: &Folder, client: &mut Client) -> BTreeMap<String, Vec<(String, u64)>> {
    let asked = json!({ "previousResultIds": [] });
    let all = client.ask_raw("workspace/diagnostic", asked).unwrap();
    let root = folder.uri("");
    let of_file = |report: &Value| {
        let uri = report["uri"].as_str().unwrap();
        let name = uri.strip_prefix(&*root).unwrap().trim_start_matches('/');
        let found = report["items"].as_array().unwrap().iter();
        let found = found.map(|one| {
            let line = one["range"]["start"]["line"].as_u64().unwrap();
            (one["code"].as_str().unwrap().to_owned(), line)
        });
        (name.to_owned(), found.collect())
    };
    all["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(of_file)
        .collect()
}

fn text(folder: &Folder, name: &str) -> String {
    std::fs::read_to_string(folder.path(name)).unwrap()
}

const SLAVE: &str = "part slave mine { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }\n";

fn car(path: &str) -> String {
    with_part().replace("parts é.clutch", path)
}

#[test]
fn a_moved_library_is_still_found_by_what_uses_it() {
    let folder = Folder::new(SLAVE);
    folder.write("car.clutch", &car("parts é.clutch"));
    folder.write("vans/van.clutch", &car("../parts é.clutch"));
    folder.write(
        "vans/other.clutch",
        &CAR.replace("system car", "system other"),
    );
    let mut client = start(&folder);
    let edited = rename(
        &folder,
        &mut client,
        &[("parts é.clutch", "vans/slaves.clutch")],
    );
    assert_eq!(edited, ["car.clutch", "vans/van.clutch"]);
    assert_eq!(text(&folder, "car.clutch"), car("vans/slaves.clutch"));
    assert_eq!(text(&folder, "vans/van.clutch"), car("slaves.clutch"));
    // The server has followed: nothing is missing, and the library's new name is searched.
    let found = findings(&folder, &mut client);
    let missing = |found: &Vec<(String, u64)>| found.iter().any(|(code, _)| code == "use-missing");
    assert!(!found.values().any(missing), "{found:#?}");
    assert!(found.contains_key("vans/slaves.clutch"), "{found:#?}");
    client.finish();
}

#[test]
fn a_moved_spec_still_finds_what_it_uses() {
    let folder = Folder::new(SLAVE);
    folder.write("car.clutch", &car("parts é.clutch"));
    let mut client = start(&folder);
    let edited = rename(
        &folder,
        &mut client,
        &[("car.clutch", "cars/new/car.clutch")],
    );
    assert_eq!(edited, ["car.clutch"]);
    assert_eq!(
        text(&folder, "cars/new/car.clutch"),
        car("../../parts é.clutch")
    );
    client.finish();
}

#[test]
fn files_that_move_together_need_no_edit() {
    let folder = Folder::new(SLAVE);
    folder.write("a/car.clutch", &car("lib/s.clutch"));
    folder.write("a/lib/s.clutch", SLAVE);
    folder.write("outside.clutch", &car("./a/lib/s.clutch"));
    let mut client = start(&folder);
    assert_eq!(
        rename(&folder, &mut client, &[("a", "b/c")]),
        ["outside.clutch"]
    );
    assert_eq!(text(&folder, "outside.clutch"), car("./b/c/lib/s.clutch"));
    assert_eq!(text(&folder, "b/c/car.clutch"), car("lib/s.clutch"));
    // Two that swap their names are still told apart.
    let folder = Folder::new(SLAVE);
    folder.write("one.clutch", &car("parts é.clutch"));
    folder.write("two.clutch", "part slave other { bore = 1 in }\n");
    let mut client = start(&folder);
    let asked = json!({ "files": [
        { "oldUri": folder.uri("parts é.clutch"), "newUri": folder.uri("two.clutch") },
        { "oldUri": folder.uri("two.clutch"), "newUri": folder.uri("parts é.clutch") },
    ] });
    let edit = client.ask_raw("workspace/willRenameFiles", asked).unwrap();
    assert_eq!(
        edit["documentChanges"][0]["edits"][0]["newText"],
        "\"two.clutch\""
    );
    client.finish();
}

#[test]
fn a_path_through_the_library_of_the_settings_stays_one() {
    let folder = Folder::new(SLAVE);
    folder.write("bitepoint.toml", "library = [\"shelf\"]\n");
    folder.write("shelf/s.clutch", SLAVE);
    folder.write("cars/car.clutch", &car("s.clutch"));
    let mut client = start(&folder);
    // Moved within the library, it is found there by its new name.
    let edited = rename(
        &folder,
        &mut client,
        &[("shelf/s.clutch", "shelf/slaves/t.clutch")],
    );
    assert_eq!(edited, ["cars/car.clutch"]);
    assert_eq!(text(&folder, "cars/car.clutch"), car("slaves/t.clutch"));
    // The spec finds it from wherever the same settings hold.
    let nothing: [&str; 0] = [];
    let moved = rename(
        &folder,
        &mut client,
        &[("cars/car.clutch", "deep/down/car.clutch")],
    );
    assert_eq!(moved, nothing);
    // Moved out of the library, it is found by the way to it.
    let edited = rename(&folder, &mut client, &[("shelf/slaves", "deep/slaves")]);
    assert_eq!(edited, ["deep/down/car.clutch"]);
    assert_eq!(
        text(&folder, "deep/down/car.clutch"),
        car("../slaves/t.clutch")
    );
    client.finish();
}

#[test]
fn a_library_that_moves_is_still_named_by_the_settings() {
    let folder = Folder::new(SLAVE);
    let settings = |library: &str, logo: &str| {
        format!("library = [\"{library}\"]  # ours\n[shop]\nlogo = '{logo}'\n")
    };
    folder.write("bitepoint.toml", &settings("./shelf/", "shelf/shop.svg"));
    folder.write(
        "shelf/shop.svg",
        "<svg xmlns=\"http://www.w3.org/2000/svg\"/>",
    );
    folder.write("shelf/s.clutch", SLAVE);
    folder.write("cars/car.clutch", &car("s.clutch"));
    let mut client = start(&folder);
    let before = findings(&folder, &mut client);
    // Where the settings follow, what uses the library through them stays as it is.
    let edited = rename(&folder, &mut client, &[("shelf", "stock/slaves")]);
    assert_eq!(edited, ["bitepoint.toml"]);
    assert_eq!(
        text(&folder, "bitepoint.toml"),
        settings("./stock/slaves/", "X").replace("'X'", "\"stock/slaves/shop.svg\"")
    );
    assert_eq!(
        findings(&folder, &mut client)["cars/car.clutch"],
        before["cars/car.clutch"]
    );
    // The settings may move as well, by themselves.
    let moved = [("bitepoint.toml", "cars/bitepoint.toml")];
    assert_eq!(rename(&folder, &mut client, &moved), ["bitepoint.toml"]);
    let text = text(&folder, "cars/bitepoint.toml");
    assert!(
        text.starts_with("library = [\"../stock/slaves/\"]  # ours\n"),
        "{text}"
    );
    client.finish();
    let mut fresh = start(&folder);
    assert_eq!(
        findings(&folder, &mut fresh)["cars/car.clutch"],
        before["cars/car.clutch"]
    );
    fresh.finish();
}

#[test]
fn a_client_gets_the_capabilities_for_renaming_files() {
    let able = json!({
        "workspace": { "fileOperations": { "willRename": true } },
    });
    let (client, result) = Client::start_with(able, Encoding::Utf16);
    let operations = result
        .capabilities
        .workspace
        .unwrap()
        .file_operations
        .unwrap();
    let globs: Vec<String> = operations
        .will_rename
        .unwrap()
        .filters
        .iter()
        .map(|filter| filter.pattern.glob.clone())
        .collect();
    assert_eq!(globs, ["**/*.clutch", "**/bitepoint.toml", "**"]);
    assert_eq!(operations.did_rename, None);
    client.finish();
    let (client, result) = Client::start_with(json!({}), Encoding::Utf16);
    assert_eq!(result.capabilities.workspace.unwrap().file_operations, None);
    client.finish();
}

const FOLDERS: [&str; 5] = ["", "cars/", "cars/old/", "shelf/", "shelf/slaves/"];

/// A workspace of three libraries and three cars, and the renames in it.
#[derive(Clone, Debug)]
struct Case {
    /// For each library its folder, and whether it uses the one before it.
    libraries: [(usize, bool); 3],
    /// For each car its folder, the library it uses, and whether it finds that through the settings if possible.
    cars: [(usize, usize, bool); 3],
    moves: Vec<(String, String)>,
}

fn case() -> impl Strategy<Value = Case> {
    let library = || (0..FOLDERS.len(), any::<bool>());
    let car = || (0..FOLDERS.len(), 0..3usize, any::<bool>());
    let file = (0..6usize, 0..FOLDERS.len(), any::<bool>()).prop_map(Some);
    let whole = prop_oneof![
        Just(("cars", "vans")),
        Just(("cars", "shelf/cars")),
        Just(("shelf", "parts")),
        Just(("cars/old", "old")),
        Just(("shelf/slaves", "cars/slaves")),
        Just(("shelf", "cars/old/shelf")),
        Just(("bitepoint.toml", "cars/bitepoint.toml")),
    ];
    let moved = prop_oneof![
        3 => prop::collection::vec(file, 1..3).prop_map(|files| (files, None)),
        2 => whole.prop_map(|folder| (Vec::new(), Some(folder))),
    ];
    (
        [library(), library(), library()],
        [car(), car(), car()],
        moved,
    )
        .prop_map(|(libraries, cars, (files, whole))| {
            let name = |at: usize| match at {
                0..3 => format!("{}lib{at}.clutch", FOLDERS[libraries[at].0]),
                _ => format!("{}car{at}.clutch", FOLDERS[cars[at - 3].0]),
            };
            let mut moves = BTreeMap::new();
            for (at, to, renamed) in files.into_iter().flatten() {
                let end = if renamed { "new" } else { "" };
                let kind = if at < 3 { "lib" } else { "car" };
                moves.insert(name(at), format!("{}{kind}{at}{end}.clutch", FOLDERS[to]));
            }
            moves.extend(whole.map(|(old, new)| (old.to_owned(), new.to_owned())));
            let moves = moves.into_iter().filter(|(old, new)| old != new).collect();
            Case {
                libraries,
                cars,
                moves,
            }
        })
}

fn relative(from: &str, to: &str) -> String {
    let up = "../".repeat(from.matches('/').count());
    format!("{up}{to}")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is renamed, each file keeps its findings.
    #[test]
    fn a_rename_keeps_every_finding(case in case()) {
        let folder = Folder::new(SLAVE);
        folder.write("bitepoint.toml", "library = [\"shelf\"]\n");
        for folder_name in FOLDERS {
            folder.write(&format!("{folder_name}stays.clutch"), "let stays = 1 mm\n");
        }
        let library = |at: usize| format!("{}lib{at}.clutch", FOLDERS[case.libraries[at].0]);
        for (at, (_, uses)) in case.libraries.iter().enumerate() {
            let own = library(at);
            let before = (*uses && at > 0).then(|| relative(&own, &library(at - 1)));
            let uses = before.map_or(String::new(), |path| format!("use \"{path}\"\n"));
            folder.write(&own, &format!("{uses}{}", SLAVE.replace("mine", &format!("s{at}"))));
        }
        for (at, (place, used, shelved)) in case.cars.iter().enumerate() {
            let own = format!("{}car{}.clutch", FOLDERS[*place], at + 3);
            let target = library(*used);
            let path = match target.strip_prefix("shelf/") {
                Some(path) if *shelved => path.to_owned(),
                _ => relative(&own, &target),
            };
            let text = car(&path)
                .replace("slave mine", &format!("slave s{used}"))
                .replace("system car", &format!("system car{at}"))
                // One of them drags, another has a part of its own that nothing uses.
                .replace("travel = 150 mm", if at == 0 { "travel = 90 mm" } else { "travel = 150 mm" });
            let more = if at == 1 { "part slave spare { bore = 1 in  stroke = 30 mm }\n" } else { "" };
            folder.write(&own, &format!("{text}{more}"));
        }
        let mut client = start(&folder);
        let before = findings(&folder, &mut client);
        let any = |code: &str| before.values().flatten().any(|(found, _)| found == code);
        prop_assert!(any("short-release") && !any("use-missing"), "{before:#?}");
        let exists = |(old, _): &&(String, String)| std::path::Path::new(&folder.path(old)).exists();
        let moves: Vec<(&str, &str)> = case.moves.iter().filter(exists)
            .map(|(old, new)| (&**old, &**new))
            .collect();
        rename(&folder, &mut client, &moves);
        let new_name = |name: &String| {
            let moved = moves.iter().find_map(|(old, new)| {
                let rest = name.strip_prefix(old)?;
                (rest.is_empty() || rest.starts_with('/')).then(|| format!("{new}{rest}"))
            });
            moved.unwrap_or_else(|| name.clone())
        };
        let wanted: BTreeMap<_, _> = before.iter().map(|(name, found)| (new_name(name), found.clone())).collect();
        prop_assert_eq!(findings(&folder, &mut client), wanted);
        // A server that knows nothing from before finds the same.
        client.finish();
        let mut fresh = start(&folder);
        let wanted: BTreeMap<_, _> = before.iter().map(|(name, found)| (new_name(name), found.clone())).collect();
        prop_assert_eq!(findings(&folder, &mut fresh), wanted);
        fresh.finish();
    }
}
