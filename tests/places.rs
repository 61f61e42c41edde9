//! Facts about places of a file: hovers, completions, definitions, words at line ends, and the outline. A `|` marks
//! the cursor.

use bitepoint::analysis::{
    Completion, Report, Shelf, SymbolKind, analyse, completions, completions_among, definition,
    hover, inlays, symbols,
};
use bitepoint::model::Source;
use bitepoint::syntax::TextRange;
use std::sync::Arc;

#[path = "common/library.rs"]
mod library;

use library::Library;

const PARTS: &str = "let lean = 4 deg
let reach = 30 mm
part slave sl_22 { bore = 7/8 in  stroke = 30 mm }
part slave sl_25 { bore = 1 in  stroke = reach }
part master mc_19 { bore = 3/4 in  stroke = 36 mm }
";

/// A car that works; a test replaces `SLAVE`.
const CAR: &str = "use \"parts.clutch\"
let rest = 6 mm
system car \"A *car*\" {
    pedal { ratio = 6  travel = 150 mm ± 3 mm  free_play = 6 mm }
    master mc_19
    line flex { bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }
    SLAVE
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
";

/// The file that the cars use.
fn library() -> Library {
    Library::new(&[("parts.clutch", PARTS)])
}

/// A file with its cursor.
fn marked(text: &str) -> (Report, u32) {
    let at = text.find('|').expect("a cursor");
    let text = text.replacen('|', "", 1);
    let source = Source::new("car.clutch".into(), text);
    (analyse(Arc::new(source), &library()), at as u32)
}

fn car(slave: &str) -> String {
    CAR.replace("SLAVE", slave)
}

/// The car with a cursor right after a text.
fn car_at(mark: &str) -> String {
    let text = car("slave sl_22 { rest_extension = rest }");
    assert!(text.contains(mark), "{mark}");
    text.replacen(mark, &format!("{mark}|"), 1)
}

fn hover_at(text: &str) -> Option<String> {
    let (report, offset) = marked(text);
    let hover = hover(&report, offset)?;
    assert!(hover.span.touches(offset));
    Some(hover.markdown)
}

fn says(text: &str, wanted: &[&str]) {
    let markdown = hover_at(text).unwrap_or_else(|| panic!("nothing is known at\n{text}"));
    for wanted in wanted {
        assert!(
            markdown.contains(wanted),
            "`{wanted}` is not in\n{markdown}"
        );
    }
}

fn complete(text: &str) -> Vec<Completion> {
    let (report, offset) = marked(text);
    let found = completions(&report, offset);
    for item in &found {
        assert!(item.span.touches(offset), "{item:?}");
        let covered = item.span.of(&report.source.text);
        assert!(!covered.contains(['\n', '\r']), "{item:?}");
    }
    found
}

fn labels(text: &str) -> Vec<String> {
    complete(text).into_iter().map(|item| item.label).collect()
}

/// The text with a completion accepted, its places to fill in left unchanged.
fn accepted(text: &str, label: &str) -> String {
    let found = complete(text);
    let item = found.iter().find(|item| item.label == label);
    let item = item.unwrap_or_else(|| {
        let labels: Vec<&str> = found.iter().map(|item| item.label.as_str()).collect();
        panic!("`{label}` is not among {labels:?} at\n{text}")
    });
    let mut text = text.replacen('|', "", 1);
    text.replace_range(item.span.range(), &item.insert);
    text
}

// ---- hover ----

#[test]
fn a_bore_comes_with_its_area_and_what_it_does() {
    let text = car("slave { bo|re = 7/8 in  stroke = 30 mm }");
    says(
        &text,
        &[
            "**`slave.bore`** · length",
            "Diameter of the bore",
            "**7/8 in (22.225 mm)**",
            // π/4 · 22.225²
            "| area | 388 mm^2 (0.601 in^2) |",
            // 1500 N · 68/112 on the rod, through 95 % at the fork and 95 % at the seals
            "| force at full pedal, area × pressure | 1009 N (227 lbf) |",
            "| pressure at full pedal | 2.6 MPa (377 psi) |",
            "| one step | now | 13/16 in | 15/16 in |",
            "| `slave_reserve` | 12.7 mm | 10 mm | 14.9 mm |",
        ],
    );
}

#[test]
fn a_value_comes_with_what_one_step_each_way_would_do() {
    // A larger slave moves less and makes a lighter pedal.
    let text = car("slave { bo|re = 7/8 in  stroke = 30 mm }");
    let markdown = hover_at(&text).expect("a hover");
    let row = |name: &str| -> Vec<f64> {
        let line = markdown
            .lines()
            .find(|line| line.starts_with(&format!("| `{name}` | ")));
        let line = line.unwrap_or_else(|| panic!("no {name} in {markdown}"));
        let cells = line.split('|').map(str::trim).skip(2);
        let numbers = cells.filter_map(|cell| cell.split(' ').next()?.parse().ok());
        numbers.collect()
    };
    assert!(markdown.contains("| one step | now | 13/16 in | 15/16 in |"));
    for name in ["release_margin", "pedal_effort"] {
        let [now, smaller, larger] = row(name)[..] else {
            panic!("three values of {name}: {markdown}");
        };
        assert!(smaller > now && now > larger, "{name}: {markdown}");
    }
}

#[test]
fn a_value_comes_in_both_systems_with_its_tolerance() {
    says(
        &car_at("tra"),
        &["**150 mm (5.906 in)**, anywhere from 147 mm to 153 mm"],
    );
    says(
        &car_at("release_tra"),
        &["**7.5 mm (0.2953 in)** to **11 mm (0.4331 in)**"],
    );
    says(
        &car_at("expan"),
        &["**0.157 cc/m/MPa (0.00002014 in^3/ft/psi)**"],
    );
    let text = car("slave sl_22\n pedal { effi|ciency = 0.9 }");
    says(&text, &["Left out, it is taken as 0.95."]);
}

#[test]
fn a_parts_field_is_seen_through_the_first_system_that_uses_it() {
    let part = "part slave mine { bo|re = 7/8 in  stroke = 30 mm }";
    let text = format!("{}{part}", car("slave mine"));
    says(
        &text,
        &["| in `car` | |", "| area | 388 mm^2 (0.601 in^2) |"],
    );
    let text = format!("{}{part}", car("slave mine { bore = 22 mm }"));
    says(&text, &["`car` gives its own value in place of this one"]);
    says(
        "part slave x { bo|re = 7/8 in }",
        &["**7/8 in (22.225 mm)**"],
    );
}

#[test]
fn a_block_lists_its_fields_and_where_they_come_from() {
    says(
        &car_at("sla"),
        &[
            "| `bore` | 7/8 in (22.225 mm) | part `sl_22` |",
            "| `rest_extension` | 6 mm (0.2362 in) |  |",
            "| `efficiency` | 0.95 | assumed |",
            "| `slave_reserve` | 6.74 mm (0.265 in), 6.37 mm to 7.1 mm |",
        ],
    );
    says(
        &car_at("line fl"),
        &[
            "**`line`**",
            "| `length` | 350 mm (13.78 in) |",
            "`lost_hose`",
        ],
    );
    let derived = "system two from car {\n fo|rk { pivot = outboard }\n}";
    let derived = format!("{}{derived}", car("slave sl_22"));
    says(
        &derived,
        &[
            "| `slave_arm` | 112 mm (4.409 in) | base |",
            "| `pivot` | `outboard` |  |",
        ],
    );
}

#[test]
fn a_system_is_summed_up_by_its_verdict_first() {
    says(
        &car_at("system ca"),
        &[
            "**margin 2.98 mm · 137 N · releases at ",
            r"A \*car\*",
            "| Highest pedal effort | 137 N (30.8 lbf) |",
            "| Margin past release | 2.98 mm (0.117 in), 2.76 mm to 3.2 mm |",
            "Assumed: `pedal.efficiency` 0.95",
        ],
    );
    let dragging =
        car("slave { bore = 1 1/16 in  stroke = 30 mm }").replace("system ca", "system ca|");
    let markdown = hover_at(&dragging).expect("a hover");
    assert!(markdown.starts_with("**✗ drags: "), "{markdown}");
    says(
        "system ba|re { pedal { ratio = 6 } }",
        &["**not worked out: nothing works the fork of"],
    );
}

#[test]
fn parts_and_files_say_what_they_hold() {
    says(
        &car_at("sl_2"),
        &[
            "**`part slave sl_22`** · parts.clutch",
            "bore = 7/8 in",
            "Used by `car`",
        ],
    );
    says(
        "part slave x|y { bore = 1 in }",
        &["No system of this file uses it."],
    );
    says(
        &car_at("use \"par"),
        &["Parts: `slave sl_22`, `slave sl_25`, `master mc_19`"],
    );
}

#[test]
fn units_lets_choices_results_and_checks_are_explained() {
    says(
        &car_at("free_play = 6 m"),
        &["millimeter", "6 mm (0.2362 in)"],
    );
    says(
        "let soft = 0.33 cc/f|t / 1000 psi",
        &["**`cc/ft`** · area", "cubic centimetre per foot"],
    );
    says(&car_at("let re"), &["**6 mm (0.2362 in)** · length"]);
    says(&car_at("= re"), &["**`let rest`**", "**6 mm (0.2362 in)**"]);
    says(
        "let a = 2 * (b| + 1 in)\nlet b = 1 in",
        &["**`let b`**", "**1 in (25.4 mm)**"],
    );
    says(
        &car_at("betw"),
        &["moves against the slave's way", "Otherwise: `outboard`"],
    );
    let text = car("slave sl_22\n require pedal_|effort <= 150 N");
    says(
        &text,
        &[
            "on the way down",
            "In `car`: **137 N (30.8 lbf)**",
            "the peak of F_m",
        ],
    );
    let text = car("slave sl_22\n allow short-|release \"x\"");
    says(&text, &["The disc drags", "slave { bore = 1 in }"]);
    let text = car("slave { bore = master.bo|re  stroke = 30 mm }");
    says(
        &text,
        &[
            "**`master.bore`**",
            "**3/4 in (19.05 mm)**",
            "Given in parts.clutch.",
        ],
    );
}

#[test]
fn blanks_have_no_hover() {
    for text in [
        "|",
        "| system a {}",
        "# com|ment",
        "slave {|",
        "system a { slave { x|yz = 1 } }",
    ] {
        assert_eq!(hover_at(text), None, "{text}");
    }
}

#[test]
fn lets_that_double_the_work_with_each_are_worked_out_once() {
    let lets: String = (0..60)
        .map(|i| format!("let a{i} = a{} + a{}\n", i + 1, i + 1))
        .collect();
    let text = format!("{lets}let a60 = 1 mm\nlet a|61 = a0\n");
    // Two to the power of sixty.
    says(
        &text,
        &["**`let a61`**", "1152921504606846976 mm", "length"],
    );
}

#[test]
fn a_let_is_worked_out_with_all_that_a_spec_can_say() {
    let text = "let wide = sqrt(min(9 mm^2, 16 mm^2)) + 1 mm\nlet twice = wide to 3 * wide";
    says(&text.replace("let wi", "let w|i"), &["**4 mm"]);
    says(&text.replace("let tw", "let t|w"), &["**8 mm"]);
    // What leads back to itself has no value, and is no trouble.
    for text in ["let a|a = bb + 1 mm\nlet bb = aa", "let a|a = aa"] {
        assert_eq!(hover_at(text).as_deref(), Some("**`let aa`**\n\n"));
    }
}

// ---- completion ----

#[test]
fn a_file_begins_with_its_statements() {
    assert_eq!(labels("|"), ["system", "part", "let", "use"]);
    assert_eq!(labels("sys|"), ["system", "part", "let", "use"]);
    assert!(labels("part |").contains(&"slave".to_owned()));
    assert_eq!(labels("system one {}\nsystem two from |"), ["one"]);
    assert_eq!(labels("use \"|"), [""; 0]);
}

#[test]
fn a_system_offers_the_blocks_that_it_lacks() {
    let offered = labels(&car("slave sl_22\n    |"));
    for block in [
        "line", "fluid", "bearing", "disc", "require", "allow", "choose", "let",
    ] {
        assert!(offered.contains(&block.to_owned()), "{block}: {offered:?}");
    }
    for block in ["pedal", "master", "slave", "fork", "cover"] {
        assert!(!offered.contains(&block.to_owned()), "{block}: {offered:?}");
    }
    let found = complete("system a {\n    |");
    let slave = found.iter().find(|item| item.label == "slave").unwrap();
    assert_eq!(
        slave.snippet.as_deref(),
        Some("slave {\n    bore   = $1\n    stroke = $2\n}")
    );
    // The word that is being typed is not one that is there.
    assert_eq!(labels("system a {\n    pe|").first().unwrap(), "pedal");
}

#[test]
fn parts_are_offered_behind_their_block() {
    let found = complete(&car("slave |"));
    let names: Vec<(&str, &str)> = found
        .iter()
        .map(|item| (item.label.as_str(), item.detail.as_str()))
        .collect();
    assert_eq!(
        names,
        [
            ("sl_22", "works here, parts.clutch"),
            ("sl_25", "works here with a warning, parts.clutch")
        ]
    );
    assert_eq!(labels(&car("choose slave sl_22, |")), ["sl_25"]);
    assert_eq!(labels(&car("choose |")), ["master", "slave"]);
    assert_eq!(labels(&car("line |")), [""; 0]);
}

#[test]
fn missing_fields_come_first_and_given_ones_last() {
    let offered = labels(&car("slave { bore = 7/8 in  | }"));
    assert_eq!(offered[0], "stroke");
    assert!(!offered.contains(&"bore".to_owned()));
    // `outer` and `inner` say what `bore` says.
    let place = |name: &str| offered.iter().position(|label| label == name).unwrap();
    assert!(place("outer") > place("rest_extension"));

    let found = complete(&car("slave sl_22 { | }"));
    let stroke = found.iter().find(|item| item.label == "stroke").unwrap();
    assert_eq!(stroke.detail, "length, changes what is given");
    let offered = labels(&car("fork { slave_arm = 112 mm\n | }"));
    assert_eq!(offered[0], "bearing_arm");
}

#[test]
fn a_field_is_completed_with_its_equals_sign_once() {
    assert_eq!(
        accepted("system a { slave { str| }", "stroke"),
        "system a { slave { stroke =  }"
    );
    assert_eq!(
        accepted("system a { slave { str| = 3 mm }", "stroke"),
        "system a { slave { stroke = 3 mm }"
    );
}

/// The text with a completion accepted by an editor that supports snippets.
fn taken(text: &str, label: &str) -> String {
    let found = complete(text);
    let item = found.iter().find(|item| item.label == label).expect(label);
    let mut text = text.replacen('|', "", 1);
    let put_in = item.snippet.as_ref().unwrap_or(&item.insert);
    text.replace_range(item.span.range(), put_in);
    text
}

#[test]
fn text_after_the_cursor_is_not_inserted_again() {
    for (text, label, wanted) in [
        (
            "system a {\n mas|{ bore = 3/4 in }\n}",
            "master",
            "system a {\n master { bore = 3/4 in }\n}",
        ),
        (
            "system a {\n mas| { bore = 3/4 in }\n}",
            "master",
            "system a {\n master { bore = 3/4 in }\n}",
        ),
        (
            "system a {\n sla| sl_22\n}",
            "slave",
            "system a {\n slave sl_22\n}",
        ),
        ("sys| a \"t\" {\n}", "system", "system a \"t\" {\n}"),
        ("us| \"parts.clutch\"", "use", "use \"parts.clutch\""),
        (
            "system a { slave { stroke = 12 | mm } }",
            "in",
            "system a { slave { stroke = 12 in } }",
        ),
        (
            "system a { slave { bore = | 7/8 in  stroke = 3 mm } }",
            "22 mm",
            "system a { slave { bore = 22 mm  stroke = 3 mm } }",
        ),
        (
            "system a { slave { bore = 7/|8 in  stroke = 3 mm } }",
            "3/4 in",
            "system a { slave { bore = 3/4 in  stroke = 3 mm } }",
        ),
        (
            "system a { fork { pivot = | between } }",
            "outboard",
            "system a { fork { pivot = outboard } }",
        ),
        (
            "system a { require pedal_effort | <= 9 N }",
            "<",
            "system a { require pedal_effort < 9 N }",
        ),
        (
            "system a { allow short-rel| \"why\" }",
            "short-release",
            "system a { allow short-release \"why\" }",
        ),
    ] {
        assert_eq!(taken(text, label), wanted, "{text}");
    }
}

#[test]
fn a_limit_is_offered_from_the_present_result() {
    let derived = format!(
        "{}system b from car {{\n require pedal_effort <= |\n}}",
        car("slave sl_22")
    );
    assert_eq!(labels(&derived)[0], "137 N");
    let derived = format!(
        "{}system b from car {{\n require release_margin |\n}}",
        car("slave sl_22")
    );
    assert_eq!(labels(&derived), [">=", "<=", ">", "<"]);
}

#[test]
fn parts_of_files_that_are_not_used_yet_bring_their_use() {
    let shelf = || {
        let text = "part slave far_22 { bore = 22 mm  stroke = 30 mm }\npart slave sl_22 { bore = 1 in }\n";
        vec![Shelf {
            path: "shelf/far.clutch".to_owned(),
            source: Arc::new(Source::new("shelf/far.clutch".into(), text.to_owned())),
        }]
    };
    for (text, wanted) in [
        (
            car("slave |"),
            car("slave far_22").replace(
                "use \"parts.clutch\"\n",
                "use \"parts.clutch\"\nuse \"shelf/far.clutch\"\n",
            ),
        ),
        (
            "# My car\n\n# It has no parts yet.\nsystem a {\n    slave far|\n}\n".to_owned(),
            "use \"shelf/far.clutch\"\n\n# My car\n\n# It has no parts yet.\nsystem a {\n    slave far_22\n}\n".to_owned(),
        ),
    ] {
        let (report, offset) = marked(&text);
        let found = completions_among(&report, offset, &shelf);
        // A name that is known already means what it means.
        let known = found.iter().filter(|item| item.label == "sl_22").count();
        assert_eq!(known, 1);
        let item = found.iter().find(|item| item.label == "far_22").expect("the part");
        let mut text = report.source.text.clone();
        text.replace_range(item.span.range(), &item.insert);
        for edit in &item.edits {
            text.replace_range(edit.span.range(), &edit.text);
        }
        assert_eq!(text, wanted);
    }
}

#[test]
fn values_are_offered_by_their_kind() {
    assert_eq!(
        labels(&car("slave sl_22\n fork { pivot = | }")),
        ["between", "outboard"]
    );
    assert_eq!(
        labels(&car("slave sl_22\n fork { pivot = bet|")),
        ["between", "outboard"]
    );
    let bores = labels("system a { slave { bore = |");
    assert_eq!(bores[0], "12 mm");
    assert!(bores.contains(&"7/8 in".to_owned()) && !bores.contains(&"22.23 mm".to_owned()));
    let inches = labels("system a { master { bore = 3/4 in  stroke = 1.4 in }\n slave { bore = |");
    assert_eq!(inches[0], "1/2 in");
    assert_eq!(
        accepted("system a { slave { bore = 7/|", "7/8 in"),
        "system a { slave { bore = 7/8 in"
    );
    assert_eq!(
        accepted("system a { slave { bore = 2| stroke = 3 mm }", "22 mm"),
        "system a { slave { bore = 22 mm stroke = 3 mm }"
    );
    let loads = complete("system a { cover { release_load = |");
    assert_eq!(
        loads[0].snippet.as_deref(),
        Some("curve { ${1:0} mm: ${2:0} N, ${3:1} mm: ${4:0} N$0 }")
    );
    assert_eq!(labels("system a { pedal { efficiency = |")[0], "0.95");
}

#[test]
fn units_follow_a_number() {
    assert_eq!(
        labels("system a { slave { stroke = 12 |"),
        ["mm", "cm", "m", "in", "ft"]
    );
    assert_eq!(
        accepted("system a { slave { stroke = 12 i|", "in"),
        "system a { slave { stroke = 12 in"
    );
    assert_eq!(
        labels("system a { fork { stiffness = 9 |"),
        ["N/mm", "kN/mm", "lbf/in"]
    );
    assert_eq!(
        accepted("system a { fork { stiffness = 9 N/|", "N/mm"),
        "system a { fork { stiffness = 9 N/mm"
    );
    assert!(labels("system a { pedal { travel = 150 mm ± 2 |").contains(&"%".to_owned()));
    assert_eq!(labels("system a { require pedal_effort <= 130 |")[0], "N");
    assert_eq!(
        labels("system a { cover { release_load = curve { 0 mm: 1 |")[0],
        "N"
    );
    assert_eq!(
        labels("system a { cover { release_load = curve { 0 mm: 1 N,\n 2 |")[0],
        "mm"
    );
    // Behind a whole value the next field may come.
    let behind = labels("system a { slave { stroke = 12 mm |");
    assert_eq!(behind[..3], ["±", "to", "bore"].map(str::to_owned));
}

#[test]
fn lets_and_fields_of_the_right_kind_may_be_named() {
    let offered = labels(&car("slave { stroke = |"));
    for name in ["rest", "reach", "master"] {
        assert!(offered.contains(&name.to_owned()), "{name}: {offered:?}");
    }
    assert!(
        !offered.contains(&"lean".to_owned()),
        "an angle is no length"
    );
    let found = complete(&car("slave { stroke = master.| }"));
    let stroke = found.iter().find(|item| item.label == "stroke").unwrap();
    assert_eq!(stroke.detail, "36 mm");
    assert!(
        !found.iter().any(|item| item.label == "efficiency"),
        "a number is no length"
    );
}

#[test]
fn results_checks_and_comparisons_are_offered() {
    let results = complete(&car("slave sl_22\n require |"));
    let effort = results
        .iter()
        .find(|item| item.label == "pedal_effort")
        .unwrap();
    assert_eq!(effort.detail, "now 137 N");
    assert_eq!(
        labels("system a { require pedal_effort |"),
        ["<=", ">=", "<", ">"]
    );
    let checks = complete(&car("slave { bore = 28 mm  stroke = 30 mm }\n allow |"));
    assert_eq!(checks[0].label, "short-release");
    assert_eq!(checks[0].detail, "error, found here");
    assert_eq!(
        accepted("system a { slave { allow short-re|", "short-release"),
        "system a { slave { allow short-release \"\""
    );
}

#[test]
fn completion_works_anywhere_in_any_text() {
    for text in [
        CAR.to_owned(),
        car("slave { bore = 7/8\" 🚗 ± µ \"open"),
        "}}{{(,=.".to_owned(),
    ] {
        let places = text
            .char_indices()
            .map(|(at, _)| at)
            .chain([text.len(), text.len() + 9]);
        let source = Source::new("car.clutch".into(), text.clone());
        let report = analyse(Arc::new(source), &library());
        for at in places {
            for item in completions(&report, at as u32) {
                assert!(
                    report.source.text.get(item.span.range()).is_some(),
                    "{item:?}"
                );
            }
            hover(&report, at as u32);
            definition(&report, at as u32);
        }
    }
}

// ---- definition ----

#[test]
fn names_lead_to_their_definition() {
    let target = |text: &str| -> Option<(String, String)> {
        let (report, offset) = marked(text);
        let found = definition(&report, offset)?;
        let source = report.file(&found.target.file).expect("a known file");
        let covered = source.text_of(found.target.span).to_owned();
        Some((source.name.to_string(), covered))
    };
    let here = |name: &str| Some(("car.clutch".to_owned(), name.to_owned()));
    let there = |name: &str| Some(("parts.clutch".to_owned(), name.to_owned()));
    assert_eq!(target(&car_at("sl_2")), there("sl_22"));
    assert_eq!(target(&car_at("mc_")), there("mc_19"));
    assert_eq!(target(&car_at("use \"p")), there(""));
    assert_eq!(target(&car_at("= re")), here("rest"));
    assert_eq!(target(&car("slave { stroke = rea|ch }")), there("reach"));
    assert_eq!(
        target(&car("slave { stroke = master.str|oke }")),
        there("stroke")
    );
    assert_eq!(
        target(&car("slave { stroke = mas|ter.stroke }")),
        here("master")
    );
    assert_eq!(target(&car("choose slave sl_22, sl|_25")), there("sl_25"));
    assert_eq!(target("system a {}\nsystem b from |a {}"), here("a"));
    assert_eq!(
        target("system a { let x = 1 mm }\nsystem b from a { slave { stroke = |x } }"),
        here("x")
    );
    assert_eq!(target("system a { slave |nowhere }"), None);
}

// ---- words behind lines ----

/// The text with the words at its line ends.
fn with_inlays(text: &str) -> String {
    let source = Source::new("car.clutch".into(), text.to_owned());
    let report = analyse(Arc::new(source), &library());
    let mut found = inlays(&report, TextRange::new(0, text.len()));
    found.sort_by_key(|inlay| inlay.offset);
    let mut text = text.to_owned();
    for inlay in found.iter().rev() {
        text.insert_str(inlay.offset as usize, &format!(" «{}»", inlay.label));
    }
    text
}

#[test]
fn calculated_values_are_shown_after_the_lines_of_blocks() {
    let text = car("slave {\n        bore = 7/8 in\n        stroke = 30 mm\n    }");
    let text = format!("{text}\nsystem bigger from car {{\n    slave sl_25\n}}\n");
    assert_eq!(
        with_inlays(&text),
        r#"use "parts.clutch"
let rest = 6 mm
system car "A *car*" {
    pedal { ratio = 6  travel = 150 mm ± 3 mm  free_play = 6 mm } «ratio 6.0:1, effort 137 N»
    master mc_19 «2.6 MPa, 24 mm of 36 mm»
    line flex { bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }
    slave { «travel 17.3 mm (ideal 17.6 mm)»
        bore = 7/8 in
        stroke = 30 mm
    }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between } «bearing 10.5 mm»
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N } «margin 2.98 mm, over-travel 0.52 mm»
}

system bigger from car { «margin 0.57 mm, effort 105 N»
    slave sl_25 «travel 13.3 mm (ideal 13.5 mm)»
}
"#
    );
}

#[test]
fn there_is_one_hint_at_each_place() {
    // An editor runs two of them together.
    let text = format!(
        "{}system bigger from car {{ slave sl_25 }}\n",
        car("slave sl_22")
    );
    let hinted = with_inlays(&text);
    let last = hinted.lines().last().unwrap();
    assert_eq!(
        last,
        "system bigger from car { slave sl_25 } «margin 0.57 mm, effort 105 N · travel 13.3 mm (ideal 13.5 mm)»"
    );
}

#[test]
fn a_system_that_is_not_worked_out_has_no_hints() {
    let text = "system bare { pedal { ratio = 6  travel = 150 mm } }";
    assert_eq!(with_inlays(text), text);
}

// ---- outline ----

#[test]
fn the_outline_has_systems_blocks_fields_parts_and_lets() {
    let (report, _) = marked(&car_at("sl_2"));
    let outline = symbols(&report.source);
    let names: Vec<(&str, SymbolKind)> =
        outline.iter().map(|s| (s.name.as_str(), s.kind)).collect();
    assert_eq!(
        names,
        [("rest", SymbolKind::Let), ("car", SymbolKind::System)]
    );
    let blocks: Vec<(&str, &str)> = outline[1]
        .children
        .iter()
        .map(|s| (s.name.as_str(), s.detail.as_str()))
        .collect();
    assert_eq!(
        blocks,
        [
            ("pedal", ""),
            ("master", "mc_19"),
            ("line", "flex"),
            ("slave", "sl_22"),
            ("fork", ""),
            ("cover", "")
        ]
    );
    let travel = &outline[1].children[0].children[1];
    assert_eq!(
        (travel.name.as_str(), travel.detail.as_str()),
        ("travel", "150 mm ± 3 mm")
    );
    let is_inside =
        |outer: TextRange, inner: TextRange| outer.start <= inner.start && inner.end <= outer.end;
    for system in &outline {
        assert!(is_inside(system.span, system.name_span));
        assert!(
            system
                .children
                .iter()
                .all(|child| is_inside(system.span, child.span))
        );
    }
}

// ---- texts in quotes ----

const PORTS: &str = "part master mc { bore = 3/4 in  outlet = \"3/8-24 inverted flare\" }
part master mc_m { bore = 19 mm  outlet = \"M10x1 bubble flare\" }
part slave sl { bore = 7/8 in  inlet = \"M10x1 bubble flare\"  supplier = \"Heron Yard\" }
part slave sl_2 { bore = 1 in  inlet = \"M12x1 bubble flare\"  supplier = \"Heron Yard\" }
";

/// The completions between quotes, each with its detail.
fn between_quotes(text: &str) -> Vec<String> {
    let at = text.find('|').expect("a cursor");
    let source = Source::new("car.clutch".into(), text.replacen('|', "", 1));
    let files = Library::new(&[("parts.clutch", PORTS)]);
    let report = analyse(Arc::new(source), &files);
    let found = completions(&report, at as u32);
    let told = found.iter();
    told.map(|item| format!("{}: {}", item.label, item.detail))
        .collect()
}

/// For a port, the text of the port that it meets is offered first, with the reason.
#[test]
fn between_the_quotes_of_a_port_the_neighbor_comes_first() {
    let system = |line: &str| {
        format!(
            "use \"parts.clutch\"\nsystem car {{\n    master mc\n    {line}\n    slave sl\n}}\n"
        )
    };
    for line in [
        "line hose { inlet = \"|\" }",
        "line hose { inlet = \"3/8|-24\" }",
        "line hose { inlet = \"|",
        "line hose { inlet = \"|  outlet = \"M10x1 bubble flare\" }",
    ] {
        let told = between_quotes(&system(line));
        assert_eq!(
            told[0], "3/8-24 inverted flare: fits master.outlet of mc, said once",
            "{line}: {told:?}"
        );
        assert!(
            told[1].starts_with("M10x1 bubble flare: does not fit master.outlet of mc, said "),
            "{line}: {told:?}"
        );
    }
    let told = between_quotes(&system("line hose { outlet = \"|\" }"));
    assert!(
        told[0].starts_with("M10x1 bubble flare: fits slave.inlet of sl, said "),
        "{told:?}"
    );
    // The ports of a fitting meet the lines beside it.
    let told = between_quotes(&system(
        "line hose { outlet = \"1/8-27 NPT\" }\n    fitting bush { inlet = \"|\"  outlet = \"M10x1 bubble flare\" }",
    ));
    assert_eq!(told[0], "1/8-27 NPT: fits line hose.outlet, said once");
    // Faces and splines meet as ports do.
    let told = between_quotes(
        "system car {\n    disc { spline = \"1-1/8 in x 10\" }\n    gearbox { spline = \"|\" }\n}\n",
    );
    assert_eq!(told, ["1-1/8 in x 10: fits disc.spline, said once"]);
    // Of the rest what is said most comes first.
    let told = between_quotes(&system("line hose { supplier = \"|\" }"));
    assert_eq!(told, ["Heron Yard: said 2 times"]);
}

/// In a kit a port meets each part that may be there, and a part that may be chosen meets what is there.
#[test]
fn between_quotes_the_parts_that_may_be_chosen_are_neighbors() {
    let kit = "use \"parts.clutch\"\nsystem car {\n    choose master mc, mc_m\n    line hose { inlet = \"|\" }\n}\n";
    let told = between_quotes(kit);
    assert_eq!(
        told[..2],
        [
            "M10x1 bubble flare: fits master.outlet of mc_m, said 2 times",
            "3/8-24 inverted flare: fits master.outlet of mc, said once",
        ]
    );
    let own = "use \"parts.clutch\"\npart slave mine { inlet = \"|\" }\nsystem car {\n    line hose { outlet = \"1/8-27 NPT\" }\n    choose slave sl, mine\n}\n";
    assert_eq!(
        between_quotes(own)[0],
        "1/8-27 NPT: fits line hose.outlet, said once"
    );
}
