//! Servers that die, and several servers at once.

use super::super::{PARTS, with_part};
use super::*;
use std::time::Duration;

/// What a server publishes about some documents when they are opened.
fn look(client: &mut Client, folder: &Folder, texts: &[(&str, String)]) -> Vec<Value> {
    let documents: Vec<Document> = texts
        .iter()
        .map(|(name, text)| client.open(&folder.uri(name), text))
        .collect();
    documents
        .iter()
        .map(|document| json!(client.diagnostics(document)))
        .collect()
}

fn texts() -> [(&'static str, String); 3] {
    [
        ("parts é.clutch", PARTS.replace("7/8 in", "1 1/16 in")),
        ("car.clutch", with_part()),
        ("broken.clutch", "system car {\n".to_owned()),
    ]
}

#[test]
fn a_server_that_was_killed_starts_again_where_it_was() {
    let folder = Folder::new(PARTS);
    let mut client = Client::start();
    let before = look(&mut client, &folder, &texts());
    assert!(
        before
            .iter()
            .any(|found| found.to_string().contains("short-release"))
    );
    // In the middle of things.
    let mut document = client.open(SPEC, CAR);
    for _ in 0..20 {
        client.change(&mut document, &[("7/8 in", "1 in")]);
        client.change(&mut document, &[("1 in", "7/8 in")]);
    }
    client.kill();

    let mut client = Client::start();
    assert_eq!(look(&mut client, &folder, &texts()), before);
    client.finish();
}

#[test]
fn servers_in_one_workspace_do_not_disturb_each_other() {
    let folder = Folder::new(PARTS);
    let mut clients = [Client::start(), Client::start(), Client::start()];
    let mut opened: Vec<Document> = Vec::new();
    for client in &mut clients {
        opened.push(client.open(&folder.uri("car.clutch"), &with_part()));
    }
    for (client, document) in clients.iter_mut().zip(&opened) {
        assert_eq!(codes(&client.diagnostics(document)), [""; 0]);
    }
    // What one of them has open is its own:
    let mut library = clients[0].open(&folder.uri("parts é.clutch"), PARTS);
    clients[0].change(&mut library, &[("7/8 in", "1 1/16 in")]);
    // it may be told of the opening, of which nothing comes, before it is told of the change.
    let mut found = clients[0].diagnostics(&opened[0]);
    while codes(&found).is_empty() {
        found = clients[0].diagnostics(&opened[0]);
    }
    assert_eq!(codes(&found), ["short-release"]);
    let (other, document) = (&mut clients[1], &mut opened[1]);
    other.change(document, &[("A car", "The car")]);
    assert_eq!(codes(&other.diagnostics(document)), [""; 0]);
    // and what it writes to the disk is there for all.
    folder.write("parts é.clutch", &library.text);
    for (client, document) in clients.iter_mut().zip(&mut opened).skip(1) {
        client.change(document, &[("car that", "car which")]);
        assert_eq!(codes(&client.diagnostics(document)), ["short-release"]);
    }
    clients.into_iter().for_each(Client::finish);
}

/// Kits that take some time.
fn kits() -> String {
    let mut text = String::new();
    let mut names = [String::new(), String::new()];
    for i in 0..45 {
        text += &format!(
            "part master m{i} {{ bore = {} mm  stroke = 36 mm  port_travel = 1 mm }}\n",
            15.0 + f64::from(i) * 0.2
        );
        text += &format!(
            "part slave s{i} {{ bore = {} mm  stroke = 30 mm  rest_extension = 6 mm }}\n",
            18.0 + f64::from(i) * 0.2
        );
        for (names, kind) in names.iter_mut().zip(["m", "s"]) {
            *names += if i > 0 { ", " } else { "" };
            *names += &format!("{kind}{i}");
        }
    }
    let [masters, slaves] = names;
    let lines = CAR
        .lines()
        .filter(|line| !line.contains("master {") && !line.contains("slave {"));
    let rest = lines.skip(1).collect::<Vec<_>>().join("\n");
    for i in 0..16 {
        text +=
            &format!("system kit{i} {{\nchoose master {masters}\nchoose slave {slaves}\n{rest}\n");
    }
    text
}

#[test]
fn an_edit_stops_the_analysis_of_large_kits() {
    let mut client = Client::start();
    let document = client.open("untitled:whole.clutch", &kits());
    let whole = client.diagnostics(&document);
    let tried = |message: &str| message.contains("combinations were tried");
    assert!(whole.iter().any(|found| tried(&found.message)), "{whole:?}");
    client.close(&document);

    // What the processor does, whatever else this machine does beside it.
    let all = client.work_done();
    let mut document = client.open("untitled:edited.clutch", &kits());
    while client.work_done() < all + all / 5 {
        std::thread::sleep(Duration::from_millis(2));
    }
    document.text = dragging();
    let new = serde_json::from_value(json!({ "text": dragging() })).unwrap();
    client.send_changes(&mut document, vec![new]);
    assert_eq!(codes(&client.diagnostics(&document)), ["short-release"]);
    let took = client.work_done() - all;
    assert!(
        took < all * 3 / 5,
        "{took} ms with the edit, and {all} ms for all of it"
    );
    client.finish();
}
