//! Formatting requests of an editor: the edits come over the wire and are applied all at once.

use super::super::layouts::Statements;
use super::*;
use bitepoint::syntax::{TextRange, format_closed, format_edits, format_range, parse};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use tower_lsp::lsp_types::Position;

const ENCODINGS: [Encoding; 3] = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32];

fn options() -> Value {
    json!({ "tabSize": 4, "insertSpaces": true })
}

fn whole(client: &mut Client, document: &Document) -> Option<String> {
    let more = json!({ "options": options() });
    made(
        ask(client, "textDocument/formatting", document, more),
        document,
    )
}

fn within(client: &mut Client, document: &Document, start: usize, end: usize) -> Option<String> {
    let more = json!({ "range": document.range(start, end), "options": options() });
    made(
        ask(client, "textDocument/rangeFormatting", document, more),
        document,
    )
}

/// The result of a brace that was typed right before a place.
fn typed(client: &mut Client, document: &Document, behind: Position) -> Option<String> {
    let mut more = at(behind);
    more["ch"] = json!("}");
    more["options"] = options();
    made(
        ask(client, "textDocument/onTypeFormatting", document, more),
        document,
    )
}

/// The document after the edits of an answer, which may not overlap.
fn made(answer: Value, document: &Document) -> Option<String> {
    (!answer.is_null()).then(|| document.edited(&edits(answer)))
}

#[test]
fn a_typed_brace_leaves_the_next_system_alone() {
    let text = "system a \"ü 🚗\" {\npedal { travel=150 mm\n  rod_arm  =50 mm \n}}\nsystem b { pedal {travel=3 mm\n}\n}\n";
    let tidy = "system a \"ü 🚗\" {\n    pedal { travel = 150 mm  rod_arm = 50 mm }\n}\nsystem b { pedal {travel=3 mm\n}\n}\n";
    // The same on one line, behind characters that each encoding counts in its own way.
    let joined = text.replace('\n', " ");
    let apart = "system a \"ü 🚗\" {\n    pedal { travel = 150 mm  rod_arm = 50 mm }\n}\nsystem b { pedal {travel=3 mm } } ";
    let wide = joined.replace("}} ", "} } ");
    for encoding in ENCODINGS {
        let mut client = Client::start_in(encoding);
        for (text, tidy) in [(text, tidy), (&wide, apart)] {
            // Everything but the brace is there, and then it is typed.
            let end = text.find("system b").unwrap() - 1;
            let mut before = text.to_owned();
            before.remove(end - 1);
            let mut document = client.open(SPEC, &before);
            client.type_before(&mut document, &text[end..], "}");
            let position = document.position(end);
            assert_eq!(document.text, text);
            assert_eq!(
                typed(&mut client, &document, position).as_deref(),
                Some(tidy)
            );
            client.close(&document);
        }
        client.finish();
    }
}

/// In every encoding, the edits over the wire are those of the library. The library's properties are tested in
/// `tests/formatting.rs`.
#[test]
fn edits_over_the_wire_equal_the_librarys() {
    const LAYOUTS: usize = 100;
    let known = Statements::known();
    for encoding in ENCODINGS {
        let mut client = Client::start_in(encoding);
        let mut rng = StdRng::seed_from_u64(LAYOUTS as u64);
        for _ in 0..LAYOUTS {
            let text = known.layout(&mut rng).replace("a car", "ü 🚗 car");
            let tree = parse(&text);
            let document = client.open(SPEC, &text);
            let place = |rng: &mut StdRng| {
                let at = rng.random_range(0..=text.len());
                let (left, right) =
                    text.split_at((0..=at).rfind(|at| text.is_char_boundary(*at)).unwrap());
                // No position is in the middle of a line's end.
                left.len() - usize::from(left.ends_with('\r') && right.starts_with('\n'))
            };
            let (one, other) = (place(&mut rng), place(&mut rng));
            let (start, end) = (one.min(other), one.max(other));
            let mended = |edits: Option<Vec<bitepoint::syntax::Edit>>| {
                edits.map(|edits| {
                    let mut mended = text.clone();
                    for edit in edits.iter().rev() {
                        mended.replace_range(edit.span.range(), &edit.text);
                    }
                    mended
                })
            };
            assert_eq!(
                whole(&mut client, &document),
                mended(format_edits(&text, &tree)),
                "{text:?}"
            );
            let range = format_range(&text, &tree, TextRange::new(start, end));
            assert_eq!(
                within(&mut client, &document, start, end),
                mended(range),
                "{text}"
            );
            for (at, _) in text.match_indices('}') {
                let closed = format_closed(&text, &tree, at as u32 + 1);
                let behind = document.position(at + 1);
                assert_eq!(
                    typed(&mut client, &document, behind),
                    mended(closed),
                    "{text}"
                );
            }
            client.close(&document);
        }
        client.finish();
    }
}

#[test]
fn only_the_requested_range_is_formatted() {
    let mut client = Client::start();
    let untidy = "let  a=1 mm\nlet  b=2 mm\nsystem s {\n  slave { bore=a\n  stroke=b }\n}\n";
    let document = client.open(SPEC, untidy);
    let options = json!({ "tabSize": 4, "insertSpaces": true });
    let line =
        json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 0, "character": 3 } });
    let more = json!({ "range": line, "options": options });
    let found = edits(ask(
        &mut client,
        "textDocument/rangeFormatting",
        &document,
        more,
    ));
    let first = document.edited(&found);
    assert!(
        first.starts_with("let a = 1 mm\n") && first.contains("slave { bore=a"),
        "{first}"
    );

    let mut more = at(document.behind("stroke=b }"));
    more["ch"] = json!("}");
    more["options"] = options;
    let found = edits(ask(
        &mut client,
        "textDocument/onTypeFormatting",
        &document,
        more,
    ));
    let closed = document.edited(&found);
    assert!(closed.starts_with("let  a=1 mm\n"), "{closed}");
    assert!(
        closed.contains("slave { bore = a  stroke = b }"),
        "{closed}"
    );
    client.finish();
}
