//! Lists in a sentence.

/// Items with commas between them and `before_last` between the last two, spaces included: `a, b and c`.
pub fn listed(items: &[impl AsRef<str>], before_last: &str) -> String {
    let items: Vec<&str> = items.iter().map(AsRef::as_ref).collect();
    match items.split_last() {
        Some((last, rest)) if !rest.is_empty() => {
            format!("{}{before_last}{last}", rest.join(", "))
        }
        _ => items.concat(),
    }
}

/// Several ways, of several things each, what all have in common first: `a, and either b or c with d`.
pub fn ways_listed(ways: &[Vec<String>]) -> String {
    let Some((first, others)) = ways.split_first() else {
        return String::new();
    };
    if others.is_empty() {
        return listed(first, " and ");
    }
    let is_common = |item: &String| others.iter().all(|way| way.contains(item));
    let common: Vec<&String> = first.iter().filter(|item| is_common(item)).collect();
    let own: Vec<String> = ways
        .iter()
        .map(|way| {
            let own: Vec<&String> = way.iter().filter(|item| !common.contains(item)).collect();
            listed(&own, " and ")
        })
        .collect();
    let own = match own.iter().any(|way| way.contains(" and ")) {
        true => listed(&own, ", or "),
        false => listed(&own, " or "),
    };
    match common.is_empty() {
        true => own,
        false => format!("{}, and either {own}", listed(&common, " and ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ways(ways: &[&[&str]]) -> String {
        let ways: Vec<Vec<String>> = ways
            .iter()
            .map(|way| way.iter().map(|item| (*item).to_owned()).collect())
            .collect();
        ways_listed(&ways)
    }

    #[test]
    fn lists_read_as_one_says_them() {
        assert_eq!(listed(&[""; 0], " and "), "");
        assert_eq!(listed(&["a"], " and "), "a");
        assert_eq!(listed(&["a", "b"], " and "), "a and b");
        assert_eq!(listed(&["a", "b", "c"], " or "), "a, b or c");
    }

    #[test]
    fn what_all_ways_have_in_common_is_said_once() {
        assert_eq!(ways(&[]), "");
        assert_eq!(ways(&[&["wear"]]), "wear");
        assert_eq!(ways(&[&["play"], &["clearance"]]), "play or clearance");
        assert_eq!(
            ways(&[&["load", "ratio"], &["diaphragm"]]),
            "load and ratio, or diaphragm"
        );
        assert_eq!(
            ways(&[&["wear", "ratio"], &["wear", "diaphragm"]]),
            "wear, and either ratio or diaphragm"
        );
        assert_eq!(
            ways(&[&["wear", "load", "ratio"], &["wear", "diaphragm"]]),
            "wear, and either load and ratio, or diaphragm"
        );
    }
}
