use super::*;

#[test]
fn the_first_search_of_the_workspace_shows_its_progress() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(&folder, &json!({ "window": { "workDoneProgress": true } }));
    let created = client.answer_to("window/workDoneProgress/create", &Value::Null);
    for kind in ["begin", "report", "end"] {
        let told = client.told("$/progress");
        assert_eq!(told["token"], created["token"]);
        assert_eq!(told["value"]["kind"], kind);
    }
    client.finish();
}

#[test]
fn files_are_watched_where_the_client_can() {
    let folder = Folder::new(PARTS);
    let able = json!({ "workspace": {
        "didChangeWatchedFiles": { "dynamicRegistration": true },
        "didChangeConfiguration": { "dynamicRegistration": true },
    }});
    let mut client = start_in(&folder, &able);
    let asked = client.answer_to("client/registerCapability", &Value::Null);
    let methods: Vec<&str> = asked["registrations"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["method"].as_str().unwrap())
        .collect();
    assert_eq!(
        methods,
        [
            "workspace/didChangeWatchedFiles",
            "workspace/didChangeConfiguration"
        ]
    );
    client.finish();
}

#[test]
fn no_file_outside_of_the_workspace_is_used_unless_allowed() {
    let outside = Folder::new(PARTS);
    let folder = Folder::new(PARTS);
    let library = outside.path("parts é.clutch");
    let spec = with_part().replace("parts é.clutch", &library);
    let mut client = start_in(&folder, &json!({}));
    let document = client.open(&folder.uri("car.clutch"), &spec);
    let found = client.diagnostics(&document);
    let missing = found
        .iter()
        .find(|d| super::super::code(d) == "use-missing")
        .unwrap();
    assert!(
        missing.message.contains("is outside the project")
            && missing.message.contains("the workspace and its own folder")
            && missing.message.contains("`bitepoint.libraries`"),
        "{}",
        missing.message
    );

    let settings = json!({ "bitepoint": { "libraries": [outside.path("")] } });
    client.tell_raw(
        "workspace/didChangeConfiguration",
        json!({ "settings": settings }),
    );
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    // A mistake in the settings is told, and changes nothing.
    let wrong = json!({ "bitepoint": { "libraries": 7 } });
    client.tell_raw(
        "workspace/didChangeConfiguration",
        json!({ "settings": wrong }),
    );
    let told = client.told("window/logMessage");
    assert!(
        told["message"].as_str().unwrap().contains("bitepoint"),
        "{told}"
    );
    client.finish();
}

#[test]
fn the_configuration_is_requested_if_the_client_supports_it() {
    let outside = Folder::new(PARTS);
    let folder = Folder::new(PARTS);
    let spec = with_part().replace("parts é.clutch", &outside.path("parts é.clutch"));
    let mut client = start_in(&folder, &json!({ "workspace": { "configuration": true } }));
    let asked = client.answer_to(
        "workspace/configuration",
        &json!([{ "libraries": [outside.path("")] }]),
    );
    assert_eq!(asked["items"], json!([{ "section": "bitepoint" }]));
    let document = client.open(&folder.uri("car.clutch"), &spec);
    assert_eq!(codes(&client.diagnostics(&document)), [""; 0]);
    client.tell_raw(
        "workspace/didChangeConfiguration",
        json!({ "settings": null }),
    );
    client.answer_to("workspace/configuration", &json!([{ "libraries": [] }]));
    assert!(codes(&client.diagnostics(&document)).contains(&"use-missing"));
    client.finish();
}

#[test]
fn folders_come_and_go() {
    let folder = Folder::new(PARTS);
    let other = Folder::new(PARTS);
    other.write("elsewhere.clutch", &CAR.replace("system car", "system far"));
    let mut client = start_in(&folder, &json!({}));
    let search = |client: &mut Client| {
        let found = client
            .ask_raw("workspace/symbol", json!({ "query": "far" }))
            .unwrap();
        found.as_array().unwrap().len()
    };
    assert_eq!(search(&mut client), 0);
    let change =
        |added: Value, removed: Value| json!({ "event": { "added": added, "removed": removed } });
    let there = json!([{ "uri": other.uri(""), "name": "other" }]);
    client.tell_raw(
        "workspace/didChangeWorkspaceFolders",
        change(there.clone(), json!([])),
    );
    assert_eq!(search(&mut client), 1);
    client.tell_raw(
        "workspace/didChangeWorkspaceFolders",
        change(json!([]), there),
    );
    assert_eq!(search(&mut client), 0);

    // A file that comes later is found as well, and one that goes is not.
    let new = folder.uri("new.clutch");
    let tell = |client: &mut Client, kind: i32| {
        client.tell_raw(
            "workspace/didChangeWatchedFiles",
            json!({ "changes": [{ "uri": new, "type": kind }] }),
        );
    };
    folder.write("new.clutch", &CAR.replace("system car", "system far"));
    tell(&mut client, 1);
    assert_eq!(search(&mut client), 1);
    std::fs::remove_file(folder.path("new.clutch")).unwrap();
    tell(&mut client, 3);
    assert_eq!(search(&mut client), 0);
    client.finish();
}

#[test]
fn only_the_users_of_a_library_are_analysed_again() {
    let folder = Folder::new(PARTS);
    let mut client = start_in(&folder, &json!({}));
    let user = client.open(&folder.uri("car.clutch"), &with_part());
    let stranger = client.open(&folder.uri("own.clutch"), CAR);
    client.diagnostics(&user);
    client.diagnostics(&stranger);
    folder.write("parts é.clutch", &PARTS.replace("7/8 in", "1 1/16 in"));
    client.tell_raw(
        "workspace/didChangeWatchedFiles",
        json!({ "changes": [{ "uri": folder.uri("parts é.clutch"), "type": 2 }] }),
    );
    assert_eq!(codes(&client.diagnostics(&user)), ["short-release"]);
    // Whatever had been told of the other would have come by the end of the session.
    assert_eq!(client.ask_raw("shutdown", Value::Null), Ok(Value::Null));
    let again = |message: &Value| message["params"]["uri"] == stranger.uri.as_str();
    assert!(!client.unclaimed().iter().any(again));
}
