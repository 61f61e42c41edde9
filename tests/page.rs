//! The program inside a page. Its answers are those of the command line, byte for byte, and its places are those of
//! an editor.

mod common;

use bitepoint::faces::page::Session;
use common::examples;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

/// A session with every example of the project under its name.
fn session() -> Session {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let texts: BTreeMap<String, String> = examples()
        .iter()
        .map(|path| {
            let name = path.strip_prefix(root).unwrap().to_str().unwrap();
            (name.to_owned(), std::fs::read_to_string(path).unwrap())
        })
        .collect();
    session_of(&json!(texts))
}

fn session_of(texts: &Value) -> Session {
    let mut session = Session::default();
    answer(&mut session, json!({ "verb": "texts", "texts": texts }));
    session
}

fn reply(session: &mut Session, request: Value) -> Value {
    serde_json::from_str(&session.answer(&request.to_string())).unwrap()
}

fn answer(session: &mut Session, request: Value) -> Value {
    let mut reply = reply(session, request);
    assert_eq!(reply.get("error"), None, "{reply}");
    reply["answer"].take()
}

/// The output of the command line, run at the root of the project.
fn printed(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    String::from_utf8(output.stdout).unwrap()
}

fn names() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let names = examples().into_iter();
    names
        .map(|path| {
            path.strip_prefix(root)
                .unwrap()
                .to_str()
                .unwrap()
                .to_owned()
        })
        .collect()
}

#[test]
fn every_example_has_the_command_lines_json() {
    let mut session = session();
    for file in names() {
        let check = answer(&mut session, json!({ "verb": "check", "file": file }));
        assert_eq!(
            check,
            printed(&["check", "--format", "json", &file]),
            "{file}"
        );
        let calc = answer(&mut session, json!({ "verb": "calc", "file": file }));
        assert_eq!(
            calc,
            printed(&["calc", "--format", "json", &file]),
            "{file}"
        );
    }
}

#[test]
fn a_sheet_and_a_diagnosis_are_the_command_lines() {
    let mut session = session();
    let file = "examples/larkfield.clutch";
    let sheet = answer(
        &mut session,
        json!({ "verb": "sheet", "file": file, "system": "larkfield", "full": true }),
    );
    assert_eq!(sheet, printed(&["sheet", "--full", file, "larkfield"]));
    let calc = answer(
        &mut session,
        json!({ "verb": "calc", "file": file, "system": "larkfield_cable" }),
    );
    assert_eq!(
        calc,
        printed(&["calc", "--format", "json", file, "larkfield_cable"])
    );
    let reading = "slave_travel=0.45 in";
    let found = answer(
        &mut session,
        json!({ "verb": "diagnose", "file": file, "system": "larkfield", "readings": [reading] }),
    );
    let wanted = printed(&[
        "diagnose",
        "--format",
        "json",
        file,
        "larkfield",
        "--reading",
        reading,
    ]);
    assert_eq!(found["json"], wanted);
    assert!(!found["visits"][0]["causes"].as_array().unwrap().is_empty());
}

const CAR: &str = "# Größe 🚗
system car {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 1 in  stroke = 30 mm }
    fork { ratio = 1.5 }
    cover { release_travel = 11 mm to 14 mm  release_load = 1500 N }
}
";

#[test]
fn findings_hovers_and_fixes_have_an_editors_places() {
    let mut session = session_of(&json!({ "car.clutch": CAR }));
    let findings = answer(
        &mut session,
        json!({ "verb": "findings", "file": "car.clutch" }),
    );
    let short = findings.as_array().unwrap().iter();
    let short = short
        .clone()
        .find(|one| one["check"] == "short-release")
        .unwrap();
    assert_eq!(short["system"], "car");
    assert!(!short["fixes"].as_array().unwrap().is_empty(), "{short}");
    let at = json!({ "line": 4, "character": 13 });
    let hover = answer(
        &mut session,
        json!({ "verb": "hover", "file": "car.clutch", "at": at }),
    );
    assert!(
        hover["markdown"].as_str().unwrap().contains("bore"),
        "{hover}"
    );
    assert_eq!(hover["range"]["start"]["line"], 4);
    let actions = answer(
        &mut session,
        json!({ "verb": "actions", "file": "car.clutch", "start": at, "end": at }),
    );
    let edits = actions.as_array().unwrap().iter().map(|one| &one["edits"]);
    assert!(edits.clone().count() > 0 && edits.clone().all(|e| e[0]["file"] == "car.clutch"));
}

#[test]
fn a_request_that_cannot_be_answered_gives_the_reason() {
    let mut session = session_of(&json!({ "car.clutch": CAR }));
    for (request, why) in [
        (
            json!({ "verb": "check", "file": "van.clutch" }),
            "`van.clutch` does not exist",
        ),
        (
            json!({ "verb": "calc", "file": "car.clutch", "system": "kar" }),
            "there is no system `kar` in `car.clutch`; did you mean `car`?",
        ),
        (
            json!({ "verb": "diagnose", "file": "car.clutch", "readings": ["slave_travel"] }),
            "`slave_travel` has no value: write --reading slave_travel=\"0.45 in\"",
        ),
        (
            json!({ "verb": "dance" }),
            "this is no request: unknown variant `dance`",
        ),
    ] {
        let reply = reply(&mut session, request);
        let error = reply["error"].as_str().unwrap();
        assert!(error.starts_with(why), "{error}");
    }
}

#[test]
fn settings_and_parts_are_found_among_the_texts() {
    let mut session = session_of(&json!({
        "kit/bitepoint.toml": "[severities]\nodd = 1\n",
        "kit/car.clutch": format!("use \"parts/slaves.clutch\"\n{CAR}").replace("slave { bore = 1 in  stroke = 30 mm }", "slave big"),
        "kit/parts/slaves.clutch": "part slave big { bore = 1 in  stroke = 30 mm }\n",
    }));
    let check = answer(
        &mut session,
        json!({ "verb": "check", "file": "kit/car.clutch" }),
    );
    let check: Value = serde_json::from_str(check.as_str().unwrap()).unwrap();
    assert_eq!(
        check["files"],
        json!(["kit/bitepoint.toml", "kit/car.clutch"])
    );
    let checks = check["findings"].as_array().unwrap().iter();
    let checks: Vec<_> = checks.map(|one| one["check"].as_str().unwrap()).collect();
    assert!(
        checks.contains(&"wrong-setting") && checks.contains(&"short-release"),
        "{checks:?}"
    );
}

#[test]
fn a_choice_is_picked() {
    let file = "examples/kit.clutch";
    let mut session = session();
    let systems = answer(&mut session, json!({ "verb": "systems", "file": file }));
    let kit = systems
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["choices"] != json!([]));
    let kit = kit.unwrap();
    let choices = kit["choices"].as_array().unwrap().iter();
    let pick: BTreeMap<&str, &str> = choices
        .map(|one| {
            (
                one["block"].as_str().unwrap(),
                one["parts"][0].as_str().unwrap(),
            )
        })
        .collect();
    let picks: Vec<String> = pick
        .iter()
        .map(|(block, part)| format!("{block}={part}"))
        .collect();
    let name = kit["name"].as_str().unwrap();
    let calc = answer(
        &mut session,
        json!({ "verb": "calc", "file": file, "system": name, "pick": pick }),
    );
    let wanted = printed(&[
        "calc",
        "--format",
        "json",
        file,
        name,
        "--pick",
        &picks.join(","),
    ]);
    assert_eq!(calc, wanted);
}

/// A page as in a release, without its functions.
const BARE: &str = "<!doctype html>\n<script type=\"application/json\" id=\"texts\">{\"van.clutch\":\"\"}</script>\n<p>after</p>\n";

/// The texts in a page.
fn texts_in(page: &str) -> Value {
    let (_, rest) = page.split_once("id=\"texts\">").unwrap();
    let (texts, after) = rest.split_once("</script>").unwrap();
    assert_eq!(after, "\n<p>after</p>\n");
    serde_json::from_str(texts).unwrap()
}

#[test]
fn a_kit_and_its_libraries_go_into_a_page() {
    let folder = common::folder(&[
        ("bare.html", BARE),
        (
            "bitepoint.toml",
            "[shop]\nname = \"Yard\"\nlogo = \"shop/sign.svg\"\n",
        ),
        (
            "shop/sign.svg",
            "<svg xmlns=\"http://www.w3.org/2000/svg\"/>",
        ),
        (
            "kits/van.clutch",
            &format!("use \"../shelf/slaves.clutch\"\n# </script><b>\n{CAR}"),
        ),
        (
            "shelf/slaves.clutch",
            "part slave big { bore = 1 in  stroke = 30 mm }\n",
        ),
        (
            "shelf/other.clutch",
            "part slave none { bore = 1 in  stroke = 30 mm }\n",
        ),
    ]);
    let run = |arguments: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_bitepoint"))
            .args(arguments)
            .current_dir(folder.path())
            .output()
            .unwrap()
    };
    let page = |spec: &str, output: &str, bare: &str| {
        run(&["page", spec, "--output", output, "--page", bare])
    };
    let done = page("kits/van.clutch", "page.html", "bare.html");
    // The spec has an error of its own, which is no reason not to show it.
    assert_eq!(done.status.code(), Some(1), "{done:?}");
    let texts = texts_in(&std::fs::read_to_string(folder.path().join("page.html")).unwrap());
    let names: Vec<&String> = texts.as_object().unwrap().keys().collect();
    assert_eq!(
        names,
        [
            "kits/van.clutch",
            "shelf/slaves.clutch",
            "bitepoint.toml",
            "shop/sign.svg"
        ]
    );
    let mut session = session_of(&texts);
    let check = answer(
        &mut session,
        json!({ "verb": "check", "file": "kits/van.clutch" }),
    );
    let printed = run(&["check", "--format", "json", "kits/van.clutch"]);
    assert_eq!(check, String::from_utf8(printed.stdout).unwrap());
    let sheet = answer(
        &mut session,
        json!({ "verb": "sheet", "file": "kits/van.clutch" }),
    );
    let printed = run(&["sheet", "kits/van.clutch"]);
    assert_eq!(sheet, String::from_utf8(printed.stdout).unwrap());
    assert!(
        sheet
            .as_str()
            .unwrap()
            .contains("data:image/svg+xml;base64,")
    );
    // Nothing is written over what is read, and what is no page is told.
    for (spec, output, bare, why) in [
        ("kits/van.clutch", "bare.html", "bare.html", "bare.html"),
        ("kits/van.clutch", "shop/sign.svg", "bare.html", "sign.svg"),
        (
            "kits/van.clutch",
            "other.html",
            "kits/van.clutch",
            "is no page of this program",
        ),
        (
            "kits/van.clutch",
            "other.html",
            "gone.html",
            "does not exist",
        ),
        (
            "kits/gone.clutch",
            "other.html",
            "bare.html",
            "kits/gone.clutch",
        ),
    ] {
        let refused = page(spec, output, bare);
        let said = String::from_utf8(refused.stderr).unwrap();
        assert_eq!(refused.status.code(), Some(2), "{said}");
        assert!(said.contains(why), "{said}");
        assert!(!folder.path().join("other.html").exists());
    }
    assert_eq!(
        std::fs::read_to_string(folder.path().join("bare.html")).unwrap(),
        BARE
    );
    let without = run(&["page", "kits/van.clutch", "--output", "other.html"]);
    let said = String::from_utf8(without.stderr).unwrap();
    assert!(
        said.contains("bitepoint-page.html") && said.contains("--page"),
        "{said}"
    );
}
