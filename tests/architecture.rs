//! The rooms of the code: what each may know of the others.

use std::path::Path;

/// From the text to the faces: a room imports only rooms above it in this list.
const STAIR: &[&str] = &[
    "quantity",
    "syntax",
    "schema",
    "finding",
    "settings",
    "model",
    "mechanics",
    "solve",
    "checks",
    "analysis",
    "faces",
];

fn sources(folder: &Path) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            let name = path.to_string_lossy().replace('\\', "/");
            found.push((name, std::fs::read_to_string(&path).unwrap()));
        }
    }
    found
}

/// Where each file stands on the stair.
fn rooms() -> Vec<(usize, String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let prefix = format!("{}/", root.to_string_lossy().replace('\\', "/"));
    sources(&root)
        .into_iter()
        .filter_map(|(path, text)| {
            let inner = path.strip_prefix(&prefix)?.to_owned();
            let room = inner.split(['/', '.']).next()?;
            let rank = STAIR.iter().position(|name| *name == room)?;
            Some((rank, inner, text))
        })
        .collect()
}

#[test]
fn every_room_imports_only_rooms_above_it() {
    let rooms = rooms();
    assert!(rooms.len() > 30, "the sources are elsewhere");
    for (rank, path, text) in &rooms {
        for (number, line) in text.lines().enumerate() {
            for (at, _) in line.match_indices("crate::") {
                let rest = &line[at + "crate::".len()..];
                let named: String = rest
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                let Some(other) = STAIR.iter().position(|name| *name == named) else {
                    continue;
                };
                assert!(
                    other <= *rank,
                    "{path}:{}: {} imports {named}",
                    number + 1,
                    STAIR[*rank]
                );
            }
        }
    }
}

#[test]
fn the_mechanics_take_and_give_plain_numbers() {
    let mechanics: Vec<_> = rooms()
        .into_iter()
        .filter(|(rank, ..)| STAIR[*rank] == "mechanics")
        .collect();
    assert!(mechanics.len() > 20, "the mechanics are elsewhere");
    for (_, path, text) in mechanics {
        for (at, _) in text.match_indices("crate::") {
            let rest = &text[at + "crate::".len()..];
            assert!(
                rest.starts_with("mechanics"),
                "{path} knows {}",
                rest.lines().next().unwrap()
            );
        }
    }
}

#[test]
fn the_faces_know_no_mechanics() {
    for (rank, path, text) in rooms() {
        if STAIR[rank] == "faces" {
            assert!(
                !text.contains("crate::mechanics"),
                "{path} knows mechanics: what it works out belongs into solve"
            );
        }
    }
}

#[test]
fn the_core_knows_neither_the_editor_nor_the_terminal_and_reads_nothing() {
    let forbidden = [
        "tower_lsp",
        "tokio",
        "miette",
        "clap",
        "std::fs",
        "std::io",
        "println!",
        "std::env",
    ];
    for (rank, path, text) in rooms() {
        if STAIR[rank] == "faces" {
            continue;
        }
        for word in forbidden {
            assert!(!text.contains(word), "{path} speaks of {word}");
        }
    }
}

#[test]
fn the_core_never_panics_on_purpose() {
    for (_, path, text) in rooms() {
        // The schema's look-ups panic while the program is compiled, and never later.
        if path == "schema/mod.rs" {
            continue;
        }
        let code = text.split("#[cfg(test)]").next().unwrap();
        for word in [
            "panic!(",
            "unreachable!(",
            "todo!(",
            "unimplemented!(",
            ".unwrap()",
            ".expect(",
        ] {
            assert!(!code.contains(word), "{path} has {word}");
        }
    }
}
