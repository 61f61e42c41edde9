//! Layouts that nobody would write: known specs whose blanks, line ends, commas and comments are mangled, sometimes
//! with a piece missing.

use bitepoint::syntax::{StatementKind, Token, TokenKind, parse, tokens};
use rand::prelude::*;
use std::path::Path;

/// The longest statement; longer ones only cost time.
const LONGEST: usize = 100;

/// Statements from the examples and cases, unchanged.
pub struct Statements {
    /// Statements at the level of a file, other than systems.
    of_files: Vec<String>,
    /// Statements in systems.
    of_systems: Vec<String>,
}

impl Statements {
    pub fn known() -> Self {
        let mut known = Self {
            of_files: Vec::new(),
            of_systems: Vec::new(),
        };
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        for folder in ["examples", "tests/cases"] {
            known.add_folder(&root.join(folder));
        }
        known
    }

    fn add_folder(&mut self, folder: &Path) {
        let mut paths: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        paths.sort();
        for path in paths {
            if path.is_dir() {
                self.add_folder(&path);
            } else if path.extension().is_some_and(|e| e == "clutch") {
                self.add_spec(&std::fs::read_to_string(path).unwrap());
            }
        }
    }

    fn add_spec(&mut self, text: &str) {
        let tree = parse(text);
        if !tree.is_flawless() {
            return;
        }
        for item in &tree.items {
            let statement = (*item.statement).clone();
            let (list, statements) = match statement.kind {
                StatementKind::System(system) => (&mut self.of_systems, system.body.statements),
                _ => (&mut self.of_files, vec![statement]),
            };
            for statement in statements {
                let first = statement.before.first().map_or(statement.span, |c| c.span);
                let whole = first.to(statement.after.unwrap_or(statement.span));
                let whole = item.at(whole).of(text).to_owned();
                if whole.len() <= LONGEST && !list.contains(&whole) {
                    list.push(whole);
                }
            }
        }
    }

    /// Some statements, each on a line: of a file, and of systems that have one more each time.
    pub fn spec(&self, rng: &mut StdRng) -> String {
        let mut text = String::new();
        for _ in 0..rng.random_range(1..3) {
            if rng.random_ratio(1, 3) {
                text.push_str(self.of_files.choose(rng).unwrap());
                text.push('\n');
                continue;
            }
            let heads = [
                "system a",
                "system b \"a car\"",
                "system c \"ü # 🚗\" from a",
            ];
            text.push_str(heads.choose(rng).unwrap());
            text.push_str(" {\n");
            for _ in 0..rng.random_range(0..3) {
                text.push_str(self.of_systems.choose(rng).unwrap());
                text.push('\n');
            }
            text.push_str("}\n");
        }
        text
    }

    /// Such a spec in a layout that nobody would write.
    pub fn layout(&self, rng: &mut StdRng) -> String {
        let spec = self.spec(rng);
        let mut text = mangled(&spec, rng);
        if rng.random_ratio(1, 8) {
            text = half_typed(text, rng);
        }
        match rng.random_range(0..8) {
            0 => text.replace("\r\n", "\n").replace('\n', "\r\n"),
            1 => text.replace('\r', ""),
            _ => text,
        }
    }
}

/// The same tokens with other blanks between them.
fn mangled(spec: &str, rng: &mut StdRng) -> String {
    let mut tokens = tokens(spec);
    tokens.retain(|token| !token.is(TokenKind::Newline));
    // How many of the gaps change, in percent.
    let share = *[5, 20, 60].choose(rng).unwrap();
    let mut text = String::new();
    let mut end = 0;
    for (i, token) in tokens.iter().enumerate() {
        let old = &spec[end..token.range.start as usize];
        let before = i.checked_sub(1).map(|before| tokens[before].kind);
        match rng.random_ratio(share, 100) {
            true => text.push_str(gap(old, before, &tokens[i..], rng)),
            false => text.push_str(old),
        }
        text.push_str(token.range.of(spec));
        end = token.range.end as usize;
    }
    let ends = [
        "\n",
        "",
        " ",
        "\n\n\n  \n",
        "\r\n",
        "\n  # end",
        "\n\n\t# end\n\n",
    ];
    text + ends.choose(rng).unwrap()
}

const BLANK: &[&str] = &["", " ", "   ", "\t", " \u{A0} "];
const LINE: &[&str] = &[
    "\n",
    "\n",
    "\n\n",
    "\n\n\n\t",
    "\r\n      ",
    "\n   ",
    " \n ",
    "  # note\n",
    "\n# a\n\n  # b\n",
    "#n\n",
    "",
    " ",
];
const FIELD: &[&str] = &[
    " ",
    "   ",
    ", ",
    ",",
    ",\n",
    " ,\r\n    ",
    "\n",
    "\n\n  ",
    " # note\n",
];

/// A text to put between two tokens.
fn gap(old: &str, before: Option<TokenKind>, after: &[Token], rng: &mut StdRng) -> &'static str {
    use TokenKind as K;
    let starts_field = after[0].is(K::Word) && after.get(1).is_some_and(|next| next.is(K::Equals));
    let choice = match (before, after[0].kind) {
        (Some(K::Comment), _) => &["\n", "\n\n", "\r\n", "\n \n\n  "],
        (None | Some(K::OpenBrace | K::CloseBrace), _) | (_, K::CloseBrace) => LINE,
        (_, K::Comment) => &["", " ", "     ", "\n", "\n\n  "],
        _ if starts_field => FIELD,
        _ if old.contains('\n') => LINE,
        _ => BLANK,
    };
    choice.choose(rng).unwrap()
}

/// A text with something missing or added, as while someone is typing.
fn half_typed(text: String, rng: &mut StdRng) -> String {
    let place = |rng: &mut StdRng| {
        let at = rng.random_range(0..=text.len());
        (0..=at)
            .rev()
            .find(|at| text.is_char_boundary(*at))
            .unwrap_or(0)
    };
    let at = place(rng);
    let (left, right) = text.split_at(at);
    match rng.random_range(0..4) {
        0 => left.to_owned(),
        1 => right.to_owned(),
        2 => {
            let new = ["}", "{", "\"", "pedal {", " x = ", "#"];
            format!("{left}{}{right}", new.choose(rng).unwrap())
        }
        _ => {
            let rest = right.chars().skip(rng.random_range(1..9));
            left.chars().chain(rest).collect()
        }
    }
}
