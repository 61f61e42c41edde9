//! Storms of edits through the real server. Texts are typed, pasted, closed, opened again and renamed in any order.
//! The final findings are those of the final texts. Only the lines above systems may be from before a mistake, and
//! then say so.

use super::*;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use std::sync::atomic::{AtomicU64, Ordering};

/// How many storms there are, unless `BITEPOINT_STORMS` says otherwise; the number of a storm is its seed.
const STORMS: u64 = 1_000;

/// How many storms run at once in a session.
const AT_ONCE: usize = 16;

/// How many systems are shown as they were before a mistake.
static KEPT: AtomicU64 = AtomicU64::new(0);

const CAR: &str = "use \"parts.clutch\"\r\nsystem car \"🚗 é\" {\r\n    master { bore = 3/4 in  stroke = reach }\r\n    slave mine\r\n    pedal { ratio = 6  travel = 150 mm ± 3 mm }\r\n    fork { ratio = 1.6 }\r\n    cover { release_travel = 7 mm to 11 mm  release_load = 1 kN }\r\n}\r\n";
const PARTS: &str = "let reach = 36 mm # ±\npart slave mine { bore = 7/8 in  stroke = 30 mm }\n";

/// The names that the library has, one after the other.
const LIBRARIES: [&str; 3] = [
    "parts.clutch",
    "spare%20parts.clutch",
    "%F0%9F%9A%97.clutch",
];
const USED: [&str; 3] = ["parts.clutch", "spare parts.clutch", "🚗.clutch"];

/// The pieces that are inserted into a text.
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
    "👩‍🔧",
    "é",
    "e\u{301}",
    "\u{200d}",
    "\u{2028}",
    "\u{feff}",
    "#",
    "system s {",
    "part slave mine {",
    "use \"parts.clutch\"\n",
    "use \"spare parts.clutch\"\r",
    "let reach = ",
    "mine",
    "bore",
    "1e9",
    "(",
    "\0",
    "𝟙",
    "curve { 0 mm: 1 N, ",
    "choose slave mine, mine\n",
    "allow short-release \"why\"\n",
];

/// How a client learns of findings.
#[derive(Clone, Copy, PartialEq)]
enum Way {
    Told,
    Asked,
}

/// A text under an address, as the client has it.
struct Text {
    uri: String,
    version: i64,
    text: String,
}

struct Storm {
    seed: u64,
    random: StdRng,
    car: Text,
    library: Text,
    name: usize,
}

impl Text {
    fn open(&self, client: &mut Client) {
        let document = json!({ "uri": self.uri, "languageId": "clutch",
            "version": self.version, "text": self.text });
        client.tell_raw("textDocument/didOpen", json!({ "textDocument": document }));
    }

    fn close(&self, client: &mut Client) {
        client.tell_raw(
            "textDocument/didClose",
            json!({ "textDocument": { "uri": self.uri } }),
        );
    }

    fn change(&mut self, client: &mut Client, changes: &[Value]) {
        self.version += 1;
        let document = json!({ "uri": self.uri, "version": self.version });
        client.tell_raw(
            "textDocument/didChange",
            json!({ "textDocument": document, "contentChanges": changes }),
        );
    }
}

/// Where each line starts, and where its text ends.
fn lines(text: &str) -> Vec<(usize, usize)> {
    let mut lines = Vec::new();
    let mut start = 0;
    let mut rest = text;
    while let Some(at) = rest.find(['\r', '\n']) {
        lines.push((start, start + at));
        let ending = if rest[at..].starts_with("\r\n") { 2 } else { 1 };
        start += at + ending;
        rest = &text[start..];
    }
    lines.push((start, text.len()));
    lines
}

fn units(text: &str, encoding: Encoding) -> usize {
    match encoding {
        Encoding::Utf8 => text.len(),
        Encoding::Utf16 => text.encode_utf16().count(),
        Encoding::Utf32 => text.chars().count(),
    }
}

/// A position in a text, sometimes outside of it, and the offset that it means.
fn place(random: &mut StdRng, text: &str, encoding: Encoding) -> (Value, usize) {
    let lines = lines(text);
    let at = |line: usize, column: usize| json!({ "line": line, "character": column });
    if random.random_range(0..30) == 0 {
        return (
            at(
                lines.len() + random.random_range(0..9),
                random.random_range(0..9),
            ),
            text.len(),
        );
    }
    let line = random.random_range(0..lines.len());
    let (start, end) = lines[line];
    let whole = &text[start..end];
    if random.random_range(0..30) == 0 {
        let beyond = units(whole, encoding) + random.random_range(0..9);
        return (at(line, beyond), end);
    }
    let ends: Vec<usize> = whole
        .char_indices()
        .map(|(at, _)| at)
        .chain([whole.len()])
        .collect();
    let within = ends[random.random_range(0..ends.len())];
    (at(line, units(&whole[..within], encoding)), start + within)
}

impl Storm {
    fn new(seed: u64) -> Self {
        let text = |name: &str, text: &str| Text {
            uri: format!("file:///a/{seed}/{name}"),
            version: 1,
            text: text.to_owned(),
        };
        Self {
            seed,
            random: StdRng::seed_from_u64(seed),
            car: text("car.clutch", CAR),
            library: text(LIBRARIES[0], PARTS),
            name: 0,
        }
    }

    fn chance(&mut self, of: u32) -> bool {
        self.random.random_range(0..of) == 0
    }

    /// Runs a storm. Gives the requests that it sent.
    fn rage(&mut self, client: &mut Client, encoding: Encoding) -> Vec<i64> {
        let mut asked = Vec::new();
        self.library.open(client);
        self.car.open(client);
        // Half of them are looked at while they are whole, so that there is something to keep.
        if self.seed.is_multiple_of(2) {
            let params = json!({ "textDocument": { "uri": self.car.uri } });
            let id = client.send_request("textDocument/codeLens", params);
            client.answer(id).expect("lenses");
        }
        for _ in 0..self.random.random_range(3..10) {
            self.edit(client, encoding);
            match self.random.random_range(0..8) {
                0 => asked.push(self.ask(client)),
                1 => self.reopen(client),
                2 => self.rename(client),
                _ => {}
            }
        }
        asked
    }

    fn edit(&mut self, client: &mut Client, encoding: Encoding) {
        let library = self.chance(3);
        let mut changes = Vec::new();
        for _ in 0..self.random.random_range(1..4) {
            let whole = self.chance(30);
            let new = PIECES[self.random.random_range(0..PIECES.len())];
            let one_place = !self.chance(3);
            let text = if library {
                &mut self.library.text
            } else {
                &mut self.car.text
            };
            if whole {
                *text = match one_place {
                    true => format!("{text}{new}"),
                    false => new.to_owned(),
                };
                changes.push(json!({ "text": text }));
                continue;
            }
            let mut ends = [0, 1].map(|_| place(&mut self.random, text, encoding));
            ends.sort_by_key(|(_, offset)| *offset);
            let [start, end] = &ends;
            let end = if one_place { start } else { end };
            // Between places that stand for the same offset there is no order to keep.
            let range = json!({ "start": start.0, "end": if end.1 == start.1 { &start.0 } else { &end.0 } });
            text.replace_range(start.1..end.1, new);
            changes.push(json!({ "range": range, "text": new }));
        }
        let text = if library {
            &mut self.library
        } else {
            &mut self.car
        };
        text.change(client, &changes);
    }

    /// Sends a request in the middle of the storm.
    fn ask(&mut self, client: &mut Client) -> i64 {
        const QUESTIONS: [&str; 5] = [
            "hover",
            "completion",
            "documentSymbol",
            "foldingRange",
            "codeLens",
        ];
        let question = QUESTIONS[self.random.random_range(0..QUESTIONS.len())];
        let (line, character) = (
            self.random.random_range(0..6),
            self.random.random_range(0..30),
        );
        let params = json!({
            "textDocument": { "uri": self.car.uri },
            "position": { "line": line, "character": character },
        });
        let id = client.send_request(&format!("textDocument/{question}"), params);
        if self.chance(2) {
            client.tell_raw("$/cancelRequest", json!({ "id": id }));
        }
        id
    }

    fn reopen(&mut self, client: &mut Client) {
        let text = if self.chance(2) {
            &self.car
        } else {
            &self.library
        };
        text.close(client);
        text.open(client);
    }

    /// Renames the library, and changes the car's `use` if possible.
    fn rename(&mut self, client: &mut Client) {
        let before = format!("\"{}\"", USED[self.name]);
        self.name = (self.name + 1) % LIBRARIES.len();
        self.library.close(client);
        self.library.uri = format!("file:///a/{}/{}", self.seed, LIBRARIES[self.name]);
        self.library.open(client);
        self.car.text = self
            .car
            .text
            .replace(&before, &format!("\"{}\"", USED[self.name]));
        let whole = json!({ "text": self.car.text });
        self.car.change(client, &[whole]);
    }

    /// The same texts as if no storm had happened.
    fn calm(&self) -> [Text; 2] {
        [&self.library, &self.car].map(|text| Text {
            uri: text.uri.replacen("/a/", "/b/", 1),
            version: 1,
            text: text.text.clone(),
        })
    }
}

/// The final findings of a document.
fn found(client: &mut Client, text: &Text, asked: Option<i64>) -> Value {
    let found = match asked {
        Some(id) => client.answer(id).expect("findings")["items"].take(),
        None => {
            let uri = text.uri.parse().unwrap();
            json!(
                client
                    .published(&uri, |version| i64::from(version) == text.version)
                    .diagnostics
            )
        }
    };
    found.to_string().replace("/b/", "/a/").into()
}

/// The words of a line above a system that is from before a mistake.
const BEFORE: &str = " · before the mistake ";

/// The lines above the systems of a document, during a storm or after it.
fn shown(client: &mut Client, asked: i64) -> Vec<String> {
    let lenses = client.answer(asked).expect("lenses");
    let lenses = lenses.as_array().into_iter().flatten();
    let labels = lenses.map(|lens| lens["command"]["title"].as_str().expect("a label"));
    labels.map(|label| label.replace("/b/", "/a/")).collect()
}

fn rage(seeds: &[u64], client: &mut Client, encoding: Encoding, way: Way) {
    let mut storms: Vec<Storm> = seeds.iter().copied().map(Storm::new).collect();
    let mut asked = Vec::new();
    for storm in &mut storms {
        asked.extend(storm.rage(client, encoding));
    }
    let ask = |client: &mut Client, text: &Text| {
        let params = json!({ "textDocument": { "uri": text.uri } });
        (way == Way::Asked).then(|| client.send_request("textDocument/diagnostic", params))
    };
    let mut endings = Vec::new();
    for storm in &mut storms {
        let calm = storm.calm();
        for text in &calm {
            text.open(client);
        }
        // A version that was never told of before.
        storm.library.change(client, &[]);
        storm.car.change(client, &[]);
        let raged = [&storm.library, &storm.car];
        let all = [raged[0], raged[1], &calm[0], &calm[1]];
        let asked = all.map(|text| ask(client, text));
        let lenses = all.map(|text| {
            let params = json!({ "textDocument": { "uri": text.uri } });
            client.send_request("textDocument/codeLens", params)
        });
        endings.push((calm, asked, lenses));
    }
    for (storm, (calm, asked, lenses)) in storms.iter().zip(&endings) {
        let raged = [&storm.library, &storm.car];
        for (at, (raged, calm)) in raged.into_iter().zip(calm).enumerate() {
            let now = found(client, raged, asked[at]);
            let fresh = found(client, calm, asked[at + 2]);
            assert_eq!(
                now, fresh,
                "storm {}, {:?} of {}",
                storm.seed, raged.text, raged.uri
            );
            let now = shown(client, lenses[at]);
            let fresh = shown(client, lenses[at + 2]);
            let kept = now.iter().filter(|now| now.contains(BEFORE)).count();
            KEPT.fetch_add(kept as u64, Ordering::Relaxed);
            let is_kept = |now: &str, fresh: &str| {
                now.contains(BEFORE) && fresh.starts_with("not worked out: ")
            };
            let mut both = now.iter().zip(&fresh);
            assert!(
                now.len() == fresh.len()
                    && both.all(|(now, fresh)| now == fresh || is_kept(now, fresh)),
                "storm {}, {:?} of {}: {now:?} for {fresh:?}",
                storm.seed,
                raged.text,
                raged.uri
            );
        }
        raged
            .into_iter()
            .chain(calm)
            .for_each(|text| text.close(client));
    }
    for id in asked {
        if let Err(error) = client.answer(id) {
            assert_eq!(error["code"], -32800, "{error}");
        }
    }
    client.forget();
}

#[test]
fn every_storm_ends_in_the_findings_of_a_new_analysis() {
    let count =
        std::env::var("BITEPOINT_STORMS").map_or(STORMS, |count| count.parse().expect("a number"));
    let sessions: Vec<(Encoding, Way)> = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32]
        .into_iter()
        .flat_map(|encoding| [(encoding, Way::Asked), (encoding, Way::Told)])
        .collect();
    let beside = sessions.len();
    std::thread::scope(|scope| {
        for (first, (encoding, way)) in (0..).zip(sessions) {
            scope.spawn(move || {
                let mut able = capabilities(encoding);
                if way == Way::Asked {
                    able["textDocument"]["diagnostic"] = json!({});
                }
                let (mut client, _) = Client::start_with(able, encoding);
                let seeds: Vec<u64> = (first..count).step_by(beside).collect();
                for some in seeds.chunks(AT_ONCE) {
                    rage(some, &mut client, encoding, way);
                }
                client.finish();
            });
        }
    });
    let kept = KEPT.load(Ordering::Relaxed);
    assert!(
        kept >= count / 100,
        "{kept} systems were kept in {count} storms"
    );
}
