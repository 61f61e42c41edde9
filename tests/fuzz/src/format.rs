//! Formatting twice equals formatting once. It keeps every word, every comment and the spec's meaning. Formatting of
//! a range or at a brace is a part of it.

use super::input::{Dice, Pair};
use super::requests::Sound;
use bitepoint::analysis::Report;
use bitepoint::syntax::{TextRange, TokenKind, format, parse, tokens};

pub fn holds(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let before = Pair::new(&text);
    let text = &before.car.text;
    requests(text, &mut Dice::new(data));
    let Some(once) = format(text, &before.car.tree) else {
        assert!(!before.car.tree.is_flawless());
        return;
    };
    let again = parse(&once);
    assert!(again.is_flawless(), "{again:?}\n{once}");
    assert_eq!(format(&once, &again).as_deref(), Some(once.as_str()));
    assert_eq!(words(text), words(&once));
    assert_eq!(comments(text), comments(&once));
    let after = before.with(once);
    same(&before.report(), &after.report());
}

/// Some of an editor's formatting requests.
fn requests(text: &str, dice: &mut Dice) {
    let Some(sound) = Sound::new(text) else {
        return;
    };
    sound.whole();
    let (one, other) = (dice.offset(text) as usize, dice.offset(text) as usize);
    sound.range(TextRange::new(one.min(other), one.max(other)));
    sound.range(TextRange::new(one, one));
    let braces: Vec<usize> = text.match_indices('}').map(|(at, _)| at).collect();
    if !braces.is_empty() {
        sound.typed(braces[dice.below(braces.len())] as u32 + 1);
    }
    if text.len() < MOST_ONE_BY_ONE {
        sound.one_by_one();
    }
}

/// The longest text for this check; longer ones take too long, as they are read again at each statement.
const MOST_ONE_BY_ONE: usize = 2000;

/// Everything with a meaning is unchanged; only places may differ.
fn same(before: &Report, after: &Report) {
    assert_eq!(findings(before), findings(after));
    assert_eq!(before.allowed.len(), after.allowed.len());
    assert_eq!(before.systems.len(), after.systems.len());
    for (before, after) in before.worked_systems().zip(after.worked_systems()) {
        let outcome = |worked: &bitepoint::analysis::Worked| format!("{:?}", worked.outcome);
        assert_eq!(outcome(before), outcome(after));
    }
}

fn findings(report: &Report) -> Vec<[String; 3]> {
    let mut said: Vec<[String; 3]> = report
        .findings
        .iter()
        .map(|finding| {
            let problem = &finding.problem;
            [
                finding.check.name().to_owned(),
                problem.message.clone(),
                problem.help.clone().unwrap_or_default(),
            ]
        })
        .collect();
    said.sort_unstable();
    said
}

/// The words and texts in order, in the spelling of the canonical form.
fn words(text: &str) -> Vec<String> {
    tokens(text)
        .iter()
        .filter(|token| matches!(token.kind, TokenKind::Word | TokenKind::Text))
        .map(|token| token.range.of(text).replace(['²', '³'], ""))
        .flat_map(|word| match word.strip_prefix(['e', 'E']) {
            // What stands right behind a number's exponent is its unit.
            Some(rest) if rest.starts_with(|c: char| c.is_ascii_digit()) => {
                let unit = rest.trim_start_matches(|c: char| c.is_ascii_digit());
                let power = format!("e{}", &rest[..rest.len() - unit.len()]);
                vec![power, unit.to_owned()]
            }
            _ => vec![word],
        })
        .filter(|word| !word.is_empty())
        .collect()
}

fn comments(text: &str) -> Vec<&str> {
    let mut comments: Vec<&str> = tokens(text)
        .iter()
        .filter(|token| token.is(TokenKind::Comment))
        .map(|token| token.range.of(text).trim_start_matches('#').trim())
        .collect();
    // A comment inside a value may come to stand before or behind it.
    comments.sort_unstable();
    comments
}
