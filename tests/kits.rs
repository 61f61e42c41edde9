//! Kits from a shop's library: which combinations fit and which work. The matrix of a kit agrees with each
//! combination alone.

mod common;

use bitepoint::analysis::{
    BomRequest, Candidate, Order, Report, Search, Sizes, Work, analyse, bom, completions, import,
    read_vary, size,
};
use bitepoint::finding::Severity;
use common::{Library, source};
use proptest::prelude::*;
use proptest::sample;
use std::fmt::Write;

/// The fields of the table, each with its unit.
const COLUMNS: [&str; 15] = [
    "bore [mm]",
    "stroke [mm]",
    "bolt spacing [mm]",
    "outlet",
    "inlet",
    "rod ball [mm]",
    "free play [mm]",
    "release travel [mm]",
    "release load [N]",
    "slave arm [mm]",
    "bearing arm [mm]",
    "seat [mm]",
    "number",
    "supplier",
    "price [USD]",
];

/// An invented shop's table of 60 parts, with numbers, prices, threads, seats and bolt spacings, as a
/// spreadsheet writes it.
fn table() -> String {
    let mut out = format!("block,part,{}\n", COLUMNS.join(","));
    let mut part = |block: &str, name: String, cells: &[(&str, String)], price: u32| {
        let number = name.to_uppercase().replace('_', "-");
        let supplier = match price.is_multiple_of(2) {
            true => "Heron Yard Supply",
            false => "Larkfield Tube",
        };
        let _ = write!(out, "{block},{name}");
        for column in COLUMNS {
            let cell = cells
                .iter()
                .find(|(name, _)| column.split(" [").next() == Some(name));
            let cell = match column {
                "number" => number.clone(),
                "supplier" => supplier.to_owned(),
                "price [USD]" => format!("{}.{:02}", price / 100, price % 100),
                _ => cell.map_or(String::new(), |(_, cell)| cell.clone()),
            };
            let _ = write!(out, ",{cell}");
        }
        out.push('\n');
    };
    for i in 0..12u32 {
        // The last of the first six takes other bolts and another thread.
        let (spacing, thread) = if i % 6 == 5 {
            ("52", "7/16-24")
        } else {
            ("44.5", "3/8-24")
        };
        let cells = [
            ("bore", (19.05 + 0.05 * f64::from(i)).to_string()),
            ("stroke", "36".to_owned()),
            ("bolt spacing", spacing.to_owned()),
            ("outlet", format!("{thread} inverted flare")),
        ];
        part("master", format!("m_{i}"), &cells, 4850 + 7 * i);
    }
    for i in 0..12u32 {
        // The last of the first six is a metric one of another pattern, with a large ball.
        let (port, spacing, ball) = match i % 6 {
            5 => ("M10x1 bubble flare", "92", "14"),
            _ => ("3/8-24 inverted flare", "60", "12"),
        };
        let cells = [
            ("bore", (22.2 + 0.3 * f64::from(i)).to_string()),
            ("stroke", "32".to_owned()),
            ("inlet", port.to_owned()),
            ("bolt spacing", spacing.to_owned()),
            ("rod ball", ball.to_owned()),
        ];
        part("slave", format!("s_{i}"), &cells, 3990 + 11 * i);
    }
    for i in 0..12u32 {
        let cells = [
            ("free play", (f64::from(i) * 0.1).to_string()),
            ("bore", format!("38.{}", 1 + i % 3)),
        ];
        part("bearing", format!("b_{i}"), &cells, 2100 + 3 * i);
    }
    for i in 0..12u32 {
        let cells = [
            ("release travel", "7.2 to 10.7".to_owned()),
            ("release load", (1200 + 20 * i).to_string()),
        ];
        part("cover", format!("c_{i}"), &cells, 18_900 + 101 * i);
    }
    for i in 0..12u32 {
        let cells = [
            ("slave arm", "112".to_owned()),
            ("bearing arm", (68 + i).to_string()),
            ("seat", "12.2".to_owned()),
        ];
        part("fork", format!("f_{i}"), &cells, 3000 + i);
    }
    out
}

/// The library that `import` makes from a table. No cell has a comma or a quote.
fn imported(table: &str) -> String {
    let rows = table.lines();
    let rows: Vec<Vec<String>> = rows
        .map(|row| row.split(',').map(str::to_owned).collect())
        .collect();
    import(&rows).unwrap().text
}

/// The library of the table.
fn library() -> String {
    imported(&table())
}

const KIT: &str = r#"use "library.clutch"

system kit "the yard's kit" {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }
    firewall { bolt_spacing = 44.5 mm }
    line hard { bore = 3.2 mm  length = 900 mm  wall = 0.75 mm  inlet = "3/8-24 inverted flare"  outlet = "3/8-24 inverted flare"  price = 12.40 USD }
    bracket { slots = 50 mm to 75 mm }
    fork f_0
    gearbox { guide = 38 mm }
    choose master m_0, m_1, m_2, m_3, m_4, m_5
    choose slave s_0, s_1, s_2, s_3, s_4, s_5
    choose bearing b_0, b_1, b_2, b_3, b_4
    choose cover c_0, c_1, c_2, c_3, c_4, c_5
}
"#;

fn files() -> Library {
    Library::new(&[("library.clutch", &library())])
}

fn kit() -> Report {
    analyse(source("kit.clutch", KIT), &files())
}

#[test]
fn the_library_has_sixty_parts() {
    // The real program makes the same of the file.
    let folder = common::folder(&[("parts.csv", &table())]);
    let arguments = ["import", "parts.csv", "--output", "library.clutch"];
    let (status, out, err) = common::bitepoint(folder.path(), &arguments);
    assert_eq!(
        (status, out.as_str()),
        (0, "library.clutch is written: 60 parts\n"),
        "{err}"
    );
    let written = std::fs::read_to_string(folder.path().join("library.clutch")).unwrap();
    assert_eq!(written, library());
    assert_eq!(
        library()
            .lines()
            .filter(|line| line.starts_with("part "))
            .count(),
        60
    );
    let report = analyse(source("library.clutch", &library()), &Library::default());
    let louder = report
        .findings
        .iter()
        .filter(|f| f.severity > Severity::Hint);
    assert_eq!(
        louder.map(|f| &f.problem.message).collect::<Vec<_>>(),
        Vec::<&String>::new()
    );
}

#[test]
fn a_kit_of_1080_tells_what_does_not_fit_from_what_does_not_work() {
    let report = kit();
    let worked = report.worked_systems().next().unwrap();
    let tried = &worked.kit.as_ref().unwrap().tried;
    assert_eq!(tried.count, 1080);
    // One master of six and one slave of six.
    assert_eq!(tried.unfit, 1080 - 5 * 5 * 30);
    assert!(tried.failing > tried.unfit && tried.failing < tried.count);
    let told = report
        .findings
        .iter()
        .filter(|f| f.check.name() == "does-not-fit");
    let mut told: Vec<&str> = told.map(|f| f.problem.message.as_str()).collect();
    told.sort_unstable();
    // Five joints, each told once: bolts, thread, seat, slots, ball.
    let joints = [
        "`firewall.bolt_spacing`",
        "the threads 7/16-24 and 3/8-24 differ",
        "never seal together",
        "outside the slots",
        "`fork.seat`",
    ];
    for joint in joints {
        let count = told.iter().filter(|told| told.contains(joint)).count();
        assert_eq!(count, 1, "{joint}");
    }
    assert_eq!(told.len(), joints.len());
    insta::assert_snapshot!(told.join("\n\n"));
}

/// The choices of a kit: blocks, each with the parts that it may take.
type Choices = Vec<(&'static str, Vec<String>)>;

/// The rest of the kit, which does not vary.
const REST: &str = r#"    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }
    firewall { bolt_spacing = 44.5 mm }
    line hard { bore = 3.2 mm  length = 900 mm  wall = 0.75 mm  inlet = "3/8-24 inverted flare"  outlet = "3/8-24 inverted flare"  price = 12.40 USD }
    bracket { slots = 50 mm to 75 mm }
    gearbox { guide = 38 mm }
"#;

/// Every combination of some choices, the last varying fastest, as the digits of its choices.
fn combinations(choices: &Choices) -> Vec<Vec<usize>> {
    let mut all = vec![Vec::new()];
    for (_, parts) in choices {
        let longer = |digits: Vec<usize>| {
            (0..parts.len()).map(move |at| digits.iter().copied().chain([at]).collect::<Vec<_>>())
        };
        all = all.into_iter().flat_map(longer).collect();
    }
    all
}

/// A kit, compared with each of its combinations written out as a system. Every cell of every two axes must count
/// what those systems give.
fn matrix_agrees_with_each_alone(choices: &Choices) {
    let mut kit = format!("use \"library.clutch\"\nsystem kit {{\n{REST}");
    for (block, parts) in choices {
        let _ = writeln!(kit, "    choose {block} {}", parts.join(", "));
    }
    kit.push_str("}\n");
    let all = combinations(choices);
    // Of each: whether it fails, does not fit, and has no more than a warning.
    let mut fares: Vec<[bool; 3]> = Vec::new();
    // So few in a file that none of what is found is left out.
    for some in all.chunks(60) {
        let mut alone = "use \"library.clutch\"\n".to_owned();
        for (at, digits) in some.iter().enumerate() {
            let _ = writeln!(alone, "system one_{at} {{\n{REST}");
            for ((block, parts), digit) in choices.iter().zip(digits) {
                let _ = writeln!(alone, "    {block} {}", parts[*digit]);
            }
            alone.push_str("}\n");
        }
        let report = analyse(source("alone.clutch", &alone), &files());
        assert_eq!(report.systems.len(), some.len());
        for at in 0..some.len() {
            let name = format!("one_{at}");
            let mut own = report
                .findings
                .iter()
                .filter(|f| f.system.as_ref() == Some(&name));
            let has = |severity| own.clone().any(|f| f.severity == severity);
            let (fails, warned) = (has(Severity::Error), has(Severity::Warning));
            let unfit = own.any(|f| f.check.name() == "does-not-fit");
            fares.push([fails, unfit, warned && !fails]);
        }
        assert!(
            !report
                .findings
                .iter()
                .any(|f| f.check.name() == "too-large")
        );
    }
    let fares = |at: usize| fares[at].map(u64::from);
    let report = analyse(source("kit.clutch", &kit), &files());
    let worked = report.worked_systems().next().unwrap();
    let tried = &worked.kit.as_ref().unwrap_or_else(|| panic!("{kit}")).tried;
    let mut pairs = tried.pairs.iter();
    for a in 0..choices.len() {
        for b in a + 1..choices.len() {
            let pairs = pairs.next().unwrap();
            assert_eq!((pairs.rows, pairs.columns), (a, b));
            let columns = choices[b].1.len();
            let mut wanted = vec![[0; 4]; choices[a].1.len() * columns];
            for (at, digits) in all.iter().enumerate() {
                let cell = &mut wanted[digits[a] * columns + digits[b]];
                let [fails, unfit, warned] = fares(at);
                *cell = [
                    cell[0] + 1,
                    cell[1] + fails,
                    cell[2] + unfit,
                    cell[3] + warned,
                ];
            }
            let cells = pairs.cells.iter();
            let cells: Vec<_> = cells
                .map(|cell| [cell.tried, cell.failing, cell.unfit, cell.warned])
                .collect();
            assert_eq!(
                cells, wanted,
                "{} and {}\n{kit}",
                choices[a].0, choices[b].0
            );
        }
    }
    let total = |of: usize| (0..all.len()).map(|at| fares(at)[of]).sum::<u64>();
    assert_eq!(
        [tried.count, tried.failing, tried.unfit, tried.warned],
        [all.len() as u64, total(0), total(1), total(2)]
    );
}

/// The kit of 1,080 combinations against each of them written out.
#[test]
fn the_matrix_of_1080_agrees_with_each_combination_alone() {
    let parts = |lead: &str, count: usize| (0..count).map(|i| format!("{lead}_{i}")).collect();
    let choices: Choices = vec![
        ("master", parts("m", 6)),
        ("slave", parts("s", 6)),
        ("bearing", parts("b", 5)),
        ("cover", parts("c", 6)),
        ("fork", parts("f", 1)),
    ];
    matrix_agrees_with_each_alone(&choices);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Small kits of any parts of the library, all of their combinations.
    #[test]
    fn the_matrix_of_any_kit_agrees_with_each_combination_alone(
        masters in sample::subsequence((0..12).collect::<Vec<u32>>(), 1..4),
        slaves in sample::subsequence((0..12).collect::<Vec<u32>>(), 1..4),
        bearings in sample::subsequence((0..12).collect::<Vec<u32>>(), 1..3),
        covers in sample::subsequence((0..12).collect::<Vec<u32>>(), 1..3),
        forks in sample::subsequence((0..12).collect::<Vec<u32>>(), 1..3),
    ) {
        let named = |lead: &str, some: &[u32]| -> Vec<String> {
            some.iter().map(|i| format!("{lead}_{i}")).collect()
        };
        let choices: Choices = vec![
            ("master", named("m", &masters)),
            ("slave", named("s", &slaves)),
            ("bearing", named("b", &bearings)),
            ("cover", named("c", &covers)),
            ("fork", named("f", &forks)),
        ];
        matrix_agrees_with_each_alone(&choices);
    }
}

#[test]
fn parts_that_do_not_fit_are_no_near_miss_and_the_cheapest_comes_first() {
    let search = |order| Search {
        system: "kit".to_owned(),
        vary: Vec::new(),
        picks: Vec::new(),
        order,
        best: 10,
    };
    let by = |order| {
        size(
            source("kit.clutch", KIT),
            &files(),
            &search(order),
            &Work::default(),
        )
    };
    let sizes = by(Order::Price).unwrap();
    assert_eq!((sizes.tried, sizes.unfit), (1080, 330));
    let prices: Vec<String> = sizes
        .best
        .iter()
        .map(|one| one.price.unwrap().to_string())
        .collect();
    let amounts: Vec<_> = sizes
        .best
        .iter()
        .map(|one| one.price.unwrap().amount)
        .collect();
    assert!(amounts.is_sorted() && amounts.len() == 10, "{prices:?}");
    assert!(
        sizes
            .nearest
            .iter()
            .all(|one| one.errors.iter().all(|(c, _)| *c != "does-not-fit"))
    );
    // The bill of the cheapest is its price.
    let cheapest = &sizes.best[0];
    let picks = sizes.name_of(cheapest);
    let picks = picks.split(", ").map(|pick| {
        let (block, part) = pick.split_once(' ').unwrap();
        (block.to_owned(), part.to_owned())
    });
    let request = BomRequest {
        system: Some("kit".to_owned()),
        picks: picks.collect(),
        ..BomRequest::default()
    };
    let bill = bom(
        source("kit.clutch", KIT),
        &files(),
        &request,
        &Work::default(),
    )
    .unwrap();
    assert_eq!(bill.sums.only(), cheapest.price);
    assert_eq!(bill.failing_count, 0);
    assert!(read_vary("slave").is_ok());
}

/// Every combination of the kit that passes, the cheapest first.
fn all_by_price() -> Sizes {
    let search = Search {
        system: "kit".to_owned(),
        vary: Vec::new(),
        picks: Vec::new(),
        order: Order::Price,
        best: 2000,
    };
    let work = Work::default();
    size(source("kit.clutch", KIT), &files(), &search, &work).unwrap()
}

/// A star marks a combination that is unbeaten in all three values, and so also some that are only cheap.
#[test]
fn a_star_marks_what_nothing_beats_in_margin_effort_and_price() {
    let sizes = all_by_price();
    let worth = |one: &Candidate| {
        let steps = |value: f64, step: f64| (value / step).round() as i64;
        let margin = steps(one.margin.unwrap(), 1e-4);
        (
            margin,
            steps(one.effort.unwrap(), 1e-3),
            one.price.unwrap().amount,
        )
    };
    let all: Vec<_> = sizes.best.iter().map(worth).collect();
    assert_eq!(all.len() as u64, sizes.passing);
    let is_beaten = |one: &(i64, i64, _), with_price: bool| {
        all.iter().any(|other| {
            let cheaper_or_so = !with_price || other.2 <= one.2;
            let is_better = other.0 > one.0 || other.1 < one.1 || (with_price && other.2 < one.2);
            other.0 >= one.0 && other.1 <= one.1 && cheaper_or_so && is_better
        })
    };
    for (one, worth) in sizes.best.iter().zip(&all) {
        assert_eq!(one.on_front, !is_beaten(worth, true), "{one:?}");
    }
    let by_price_alone = sizes.best.iter().zip(&all);
    let mut by_price_alone =
        by_price_alone.filter(|(one, worth)| one.on_front && is_beaten(worth, false));
    assert!(sizes.is_priced && by_price_alone.next().is_some());
    let starred = sizes.best.iter().filter(|one| one.on_front).count();
    assert_eq!(starred as u64, sizes.unbeaten);
}

/// The matrix of a kit gives the price range of its combinations, and which have the ends.
#[test]
fn a_kit_names_its_cheapest_and_its_dearest() {
    let report = kit();
    let kit = report
        .worked_systems()
        .next()
        .unwrap()
        .kit
        .as_ref()
        .unwrap();
    let sizes = all_by_price();
    let [range] = kit.tried.prices.ranges.as_slice() else {
        panic!("{:?}", kit.tried.prices)
    };
    let (first, last) = (&sizes.best[0], sizes.best.last().unwrap());
    assert_eq!(
        (Some(range.low), Some(range.high)),
        (first.price, last.price)
    );
    assert_eq!(kit.labels.name_of(range.low_at), sizes.name_of(first));
    let folder = common::folder(&[("library.clutch", &library()), ("kit.clutch", KIT)]);
    let (_, out, _) = common::bitepoint(folder.path(), &["calc", "kit.clutch", "kit"]);
    let said = format!(
        "  price of those that work: {} ({}) to {} (",
        range.low,
        sizes.name_of(first),
        range.high
    );
    assert!(out.contains(&said), "{said}{out}");
}

/// A customer swaps the slave for a metric one. The finding names the fitting that cures it, and after its fix the
/// joint has no finding.
#[test]
fn a_metric_slave_is_cured_by_a_fitting() {
    let text = format!(
        "{}\nsystem metric {{\n    pedal {{ pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }}\n    \
         master m_0\n    line hard {{ bore = 3.2 mm  length = 900 mm  \
         inlet = \"3/8-24 inverted flare\"  outlet = \"3/8-24 inverted flare\" }}\n    \
         slave s_5\n    fork f_0\n    cover c_0\n}}\n",
        "use \"library.clutch\""
    );
    let unfit = |text: &str| -> Vec<bitepoint::checks::Finding> {
        let report = analyse(source("metric.clutch", text), &files());
        let all = report.findings.into_iter();
        all.filter(|f| f.check.name() == "does-not-fit" && f.problem.message.contains("inlet"))
            .collect()
    };
    let found = unfit(&text);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].problem.message.contains("never seal"),
        "{}",
        found[0].problem.message
    );
    let help = found[0].problem.help.as_deref().unwrap();
    assert!(
        help.contains(
            "fitting adapter { inlet = \"3/8-24 inverted flare\"  outlet = \"M10x1 bubble flare\" }"
        ),
        "{help}"
    );
    assert!(
        help.contains("SAE J533") && help.contains("ISO 4038"),
        "{help}"
    );
    let cured = common::with_fix(&text, &found[0].problem.fixes[0]);
    assert_eq!(unfit(&cured).len(), 0, "{cured}");
}

/// A fitting of the library that cures the joint is named with its order details, and can be inserted. It is tried
/// with every check, so that a fitting over the price limit is not offered.
#[test]
fn a_fitting_of_the_library_is_named_and_put_in() {
    let with = |fittings: &str, rest: &str| {
        format!(
            "use \"library.clutch\"\n{fittings}\nsystem metric {{\n    \
             pedal {{ pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }}\n    \
             master m_0\n    line hard {{ bore = 3.2 mm  length = 900 mm  \
             inlet = \"3/8-24 inverted flare\"  outlet = \"3/8-24 inverted flare\"  price = 12.40 USD }}\n    \
             slave s_5\n    fork f_0\n    cover c_0\n{rest}}}\n"
        )
    };
    let cheap = "part fitting bush { inlet = \"3/8-24 double flare\"  outlet = \"M10 × 1 bubble flare\"  \
                 number = \"HY-310\"  supplier = \"Heron Yard Supply\"  price = 4.20 USD }\n";
    let dear = "part fitting gold { inlet = metal  outlet = \"M10x1 bubble flare\"  price = 900 USD }\n\
                let metal = \"3/8-24 inverted flare\"\n";
    let wrong = "part fitting back { inlet = \"M10x1 bubble flare\"  outlet = \"3/8-24 inverted flare\" }\n";
    let found = |text: &str| -> Vec<bitepoint::checks::Finding> {
        let report = analyse(source("metric.clutch", text), &files());
        let all = report.findings.into_iter();
        all.filter(|f| f.check.name() == "does-not-fit" && f.problem.message.contains("inlet"))
            .collect()
    };
    let titles = |finding: &bitepoint::checks::Finding| -> Vec<String> {
        finding.fixes().map(|fix| fix.title.clone()).collect()
    };
    let text = with(
        &format!("{wrong}{cheap}{dear}"),
        "    require price <= 400 USD\n",
    );
    let [one] = &found(&text)[..] else {
        panic!("{text}")
    };
    let help = one.help().unwrap();
    assert!(
        help.starts_with(
            "put the fitting `bush` (HY-310, Heron Yard Supply, 4.20 USD) between them. Never seal"
        ),
        "{help}"
    );
    // The dear one would pass the limit on the price.
    assert_eq!(
        titles(one),
        [
            "put the fitting `bush` between them",
            "put a fitting between them"
        ]
    );
    let cured = common::with_fix(&text, one.fixes().next().unwrap());
    assert!(cured.contains("\n    fitting bush\n"), "{cured}");
    assert_eq!(found(&cured).len(), 0, "{cured}");
    // Without the limit it is offered as well, though a let says one of its ports.
    let text = with(&format!("{wrong}{cheap}{dear}"), "");
    assert_eq!(
        titles(&found(&text)[0])[..2],
        [
            "put the fitting `bush` between them",
            "put the fitting `gold` between them",
        ]
    );
    // One the wrong way round cures nothing: the advice is what it was.
    let text = with(wrong, "");
    let one = &found(&text)[0];
    assert_eq!(titles(one), ["put a fitting between them"]);
    assert!(
        one.help()
            .unwrap()
            .starts_with("put a fitting between them: `fitting adapter {")
    );
}

/// Where a part is completed, parts that fit come first, and the others say why they do not fit.
#[test]
fn completion_offers_what_fits_first() {
    let text = KIT.replace(
        "    choose slave s_0, s_1, s_2, s_3, s_4, s_5\n",
        "    slave |\n",
    );
    let text = text.replace(
        "    choose master m_0, m_1, m_2, m_3, m_4, m_5\n",
        "    master m_0\n",
    );
    let offset = text.find('|').unwrap() as u32;
    let text = text.replace('|', "");
    let report = analyse(source("kit.clutch", &text), &files());
    let found = completions(&report, offset);
    let slaves: Vec<_> = found
        .iter()
        .filter(|item| item.label.starts_with("s_"))
        .collect();
    assert_eq!(slaves.len(), 12);
    let of = |label: &str| slaves.iter().position(|item| item.label == label).unwrap();
    let metric = slaves[of("s_5")];
    assert!(
        metric.detail.starts_with("does not fit here"),
        "{}",
        metric.detail
    );
    assert!(metric.doc.contains("never seal"), "{}", metric.doc);
    assert!(
        slaves[0].detail.starts_with("works here"),
        "{}",
        slaves[0].detail
    );
    // In the order of how they fare.
    let rank = |detail: &str| {
        let words = [
            "works here,",
            "works here with",
            "does not work",
            "does not fit",
        ];
        words
            .iter()
            .position(|words| detail.starts_with(words))
            .unwrap()
    };
    let ranks: Vec<usize> = slaves.iter().map(|item| rank(&item.detail)).collect();
    assert!(ranks.is_sorted(), "{ranks:?}");
    assert_eq!(ranks.iter().filter(|rank| **rank == 3).count(), 2);
}

/// A colleague changes one slave's bore and one price. The review says which combinations no longer work, which lost
/// most, which got dearer, and names the changed part.
#[test]
fn a_change_in_the_library_is_reviewed_by_combinations() {
    let mut table = table();
    for (cell, new) in [
        ("slave,s_1,22.5,", "slave,s_1,27,"),
        (
            ",M-2,Heron Yard Supply,48.64",
            ",M-2,Heron Yard Supply,58.64",
        ),
    ] {
        assert_eq!(table.matches(cell).count(), 1, "{cell}");
        table = table.replace(cell, new);
    }
    let changed = imported(&table);
    let folder = common::folder(&[
        ("before/library.clutch", &library()),
        ("before/kit.clutch", KIT),
        ("after/library.clutch", &changed),
        ("after/kit.clutch", KIT),
    ]);
    let compare = |format: &str| {
        common::bitepoint(
            folder.path(),
            &[
                "compare",
                "before/kit.clutch",
                "after/kit.clutch",
                "--format",
                format,
            ],
        )
    };
    let (status, markdown, err) = compare("markdown");
    assert_eq!((status, err.as_str()), (1, ""), "{markdown}");
    insta::assert_snapshot!(markdown);
    let (_, json, _) = compare("json");
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let kit = json.pointer("/files/0/systems/0/kit").unwrap();
    // Every combination of that slave that worked.
    let before = kit_of(&library());
    let after = kit_of(&changed);
    let lost = (before.0 - after.0) as u64;
    assert_eq!(kit["stopped_working"]["count"], lost);
    assert_eq!(kit["now_working"]["count"], 0);
    assert_eq!(kit["price_rose_most"]["before"]["currency"], "USD");
    // The same against itself: nothing.
    let (status, text, _) = common::bitepoint(
        folder.path(),
        &["compare", "before/kit.clutch", "before/kit.clutch"],
    );
    assert_eq!(status, 0, "{text}");
}

/// How many combinations work, and how many there are.
fn kit_of(library: &str) -> (i64, i64) {
    let files = Library::new(&[("library.clutch", library)]);
    let report = analyse(source("kit.clutch", KIT), &files);
    let worked = report.worked_systems().next().unwrap();
    let tried = &worked.kit.as_ref().unwrap().tried;
    ((tried.count - tried.failing) as i64, tried.count as i64)
}
