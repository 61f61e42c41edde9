//! Storms of edits: whatever is typed, pasted and deleted, in whatever order, ends in what a
//! fresh look at the final text finds. Only what is shown as from before a mistake comes from
//! earlier texts.

#[cfg(test)]
mod tests {
    use crate::analysis::lenses as lenses_of;
    use crate::faces::server::protocol::client::Client;
    use crate::faces::server::protocol::client_settings::ClientSettings;
    use crate::faces::server::protocol::to_lsp::Lsp;
    use crate::faces::server::state::Documents;
    use crate::syntax::{Encoding, LineColumn, LineIndex};
    use rand::rngs::StdRng;
    use rand::{RngExt, SeedableRng};
    use std::sync::atomic::{AtomicUsize, Ordering};
    use tower_lsp::lsp_types::{
        ClientCapabilities, Diagnostic, Position, Range, TextDocumentContentChangeEvent, Url,
    };

    /// How many storms there are; each is its own seed.
    const STORMS: u64 = 10_000;

    /// How many systems are shown as they were before a mistake.
    static KEPT: AtomicUsize = AtomicUsize::new(0);

    const NAMES: [&str; 2] = ["file:///storm/car.clutch", "file:///storm/parts.clutch"];

    const CAR: &str = "use \"parts.clutch\"\r\nsystem car \"🚗 é\" {\r\n    master { bore = 3/4 in  stroke = reach }\r\n    slave mine\r\n    pedal { ratio = 6  travel = 150 mm } # ±\r\n    fork { ratio = 1.6 }\r\n    cover { release_travel = 7 mm to 11 mm  release_load = 1 kN }\r\n}\r\n";
    const PARTS: &str =
        "let reach = 36 mm # ±\npart slave mine { bore = 7/8 in  stroke = 30 mm }\n";

    /// What is thrown at a text.
    const PIECES: &[&str] = &[
        "",
        " ",
        "\n",
        "\r\n",
        "\r",
        "{",
        "}",
        "\"",
        "=",
        "7/8 in",
        "mm",
        "±",
        "🚗",
        "é",
        "e\u{301}",
        "\u{200d}",
        "#",
        "system s {",
        "part slave mine {",
        "use \"parts.clutch\"\n",
        "let reach = ",
        "mine",
        "bore",
        "1e9",
        "(",
        "\0",
        "curve { 0 mm: 1 N, ",
    ];

    fn pick<'a>(random: &mut StdRng, from: &[&'a str]) -> &'a str {
        from[random.random_range(0..from.len())]
    }

    /// A place in a text, now and then outside of it.
    fn position(random: &mut StdRng, text: &str, encoding: Encoding) -> Position {
        if random.random_range(0..20) == 0 {
            return Position::new(random.random_range(0..99), random.random_range(0..99));
        }
        let offset = random.random_range(0..=text.len()) as u32;
        let place = LineIndex::new(text).position(offset, encoding);
        Position::new(place.line, place.column)
    }

    /// What the client has after a change, worked out in another way: by characters.
    fn applied(text: &str, range: Range, new: &str, encoding: Encoding) -> String {
        let index = LineIndex::new(text);
        let offset = |position: Position| {
            let place = LineColumn {
                line: position.line,
                column: position.character,
            };
            index.offset(place, encoding) as usize
        };
        let (start, end) = (offset(range.start), offset(range.end));
        format!("{}{new}{}", &text[..start], &text[end.max(start)..])
    }

    fn diagnostics(documents: &Documents, uri: &Url, client: Client) -> Vec<Diagnostic> {
        let snapshot = documents.get(uri).unwrap().snapshot.clone();
        Lsp::new(&snapshot, client, &ClientSettings::default()).diagnostics()
    }

    /// What stands above the systems of a document.
    fn lenses(documents: &Documents, uri: &Url) -> Vec<String> {
        let snapshot = documents.get(uri).unwrap().snapshot.clone();
        let found = lenses_of(snapshot.report()).into_iter();
        found.map(|lens| lens.label).collect()
    }

    fn storm(seed: u64) {
        let random = &mut StdRng::seed_from_u64(seed);
        let encoding = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32][(seed % 3) as usize];
        let client = Client {
            encoding,
            ..Client::new(&ClientCapabilities::default())
        };
        let uris = NAMES.map(|name| Url::parse(name).unwrap());
        let mut texts = [CAR.to_owned(), PARTS.to_owned()];
        let mut documents = Documents::default();
        for (uri, text) in uris.iter().zip(&texts) {
            documents.open(uri.clone(), 1, text.clone());
        }
        if seed.is_multiple_of(2) {
            uris.iter()
                .for_each(|uri| drop(diagnostics(&documents, uri, client)));
        }
        for version in 2..random.random_range(4..12) {
            let which = random.random_range(0..2);
            let (uri, text) = (&uris[which], &mut texts[which]);
            let mut changes = Vec::new();
            for _ in 0..random.random_range(1..4) {
                let ends = [0, 0].map(|_| position(random, text, encoding));
                let (start, end) = match random.random_range(0..3) {
                    0 => (ends[0], ends[1]),
                    _ => (ends[0], ends[0]),
                };
                let range = Range::new(start, end);
                let new = pick(random, PIECES);
                let whole = random.random_range(0..30) == 0;
                *text = match whole {
                    true => new.to_owned(),
                    false => applied(text, range, new, encoding),
                };
                changes.push(TextDocumentContentChangeEvent {
                    range: (!whole).then_some(range),
                    range_length: None,
                    text: new.to_owned(),
                });
            }
            documents.change(uri, version, changes, encoding);
            match random.random_range(0..6) {
                // Somebody looks in the middle of it.
                0 => drop(diagnostics(&documents, uri, client)),
                1 => {
                    documents.close(uri);
                    documents.open(uri.clone(), version, text.clone());
                }
                _ => {}
            }
        }
        let mut fresh = Documents::default();
        for (uri, text) in uris.iter().zip(&texts) {
            fresh.open(uri.clone(), 1, text.clone());
        }
        for uri in &uris {
            let now = diagnostics(&documents, uri, client);
            assert_eq!(
                now,
                diagnostics(&fresh, uri, client),
                "storm {seed}, {uri}, {texts:?}"
            );
            let (now, then) = (lenses(&documents, uri), lenses(&fresh, uri));
            let is_kept = |now: &str, then: &str| {
                now.contains(" · before the mistake ") && then.starts_with("not worked out: ")
            };
            KEPT.fetch_add(
                now.iter()
                    .filter(|label| label.contains(" · before "))
                    .count(),
                Ordering::Relaxed,
            );
            let is_fine = |(now, then): (&String, &String)| now == then || is_kept(now, then);
            assert!(
                now.len() == then.len() && now.iter().zip(&then).all(is_fine),
                "storm {seed}, {uri}, {texts:?}: {now:?} for {then:?}"
            );
        }
    }

    #[test]
    fn every_storm_ends_in_what_a_fresh_look_finds() {
        let workers = std::thread::available_parallelism().map_or(2, usize::from) as u64;
        std::thread::scope(|scope| {
            for worker in 0..workers {
                scope.spawn(move || (worker..STORMS).step_by(workers as usize).for_each(storm));
            }
        });
        assert!(
            KEPT.load(Ordering::Relaxed) > 100,
            "{KEPT:?} systems were kept"
        );
    }
}
