//! Kits out of a shop's library: what fits, what works, and that a matrix says of each combination
//! what that combination says alone.

mod common;

use bitepoint::analysis::{
    BomRequest, Candidate, Order, Report, Search, Sizes, Work, analyse, analyse_picked, bom,
    completions, import, read_vary, size,
};
use bitepoint::finding::Severity;
use common::{Library, source};
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

/// The library that `import` makes of a table. No cell of it has a comma or a quote.
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

fn fails(report: &Report) -> (bool, bool) {
    let mut errors = report
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Error);
    let is_failing = errors.clone().next().is_some();
    (is_failing, errors.any(|f| f.check.name() == "does-not-fit"))
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
    insta::assert_snapshot!(told.join("\n\n"));
}

/// Every two of master and slave, with bearings and covers that turn with them.
#[test]
fn a_matrix_says_of_each_combination_what_that_says_alone() {
    let report = kit();
    let worked = report.worked_systems().next().unwrap();
    let kit = worked.kit.as_ref().unwrap();
    let pairs = &kit.tried.pairs[0];
    assert_eq!((pairs.rows, pairs.columns), (0, 1));
    for (at, cell) in pairs.cells.iter().enumerate() {
        assert_eq!(cell.tried, 30);
        let (master, slave) = (at / 6, at % 6);
        let bearing = (master + slave) % 5;
        let cover = (master * 2 + slave) % 6;
        let picks = [
            ("master", format!("m_{master}")),
            ("slave", format!("s_{slave}")),
            ("bearing", format!("b_{bearing}")),
            ("cover", format!("c_{cover}")),
        ];
        let picks: Vec<_> = picks.map(|(block, part)| (block.to_owned(), part)).into();
        let alone = analyse_picked(source("kit.clutch", KIT), &files(), "kit", &picks).unwrap();
        let (is_failing, is_unfit) = fails(&alone);
        // Whether two fit hangs on the two alone.
        assert_eq!(cell.unfit == cell.tried, is_unfit, "{picks:?}");
        assert!(cell.unfit == 0 || cell.unfit == cell.tried, "{picks:?}");
        if cell.failing == cell.tried || cell.failing == 0 {
            assert_eq!(cell.failing > 0, is_failing, "{picks:?}");
        }
    }
}

#[test]
fn what_does_not_fit_is_no_near_miss_and_the_cheapest_comes_first() {
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

/// A star marks what nothing beats in all three, and so some that are only cheap.
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

/// The matrix of a kit says between which prices its combinations lie, and where.
#[test]
fn a_kit_says_its_cheapest_and_its_dearest() {
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

/// One customer swaps the slave for a metric one: the spec says which fitting cures it, and with the
/// fix applied nothing is wrong with the joint.
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

/// What fits comes first where a part is wanted, and the others say why they do not.
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

/// A colleague's change of one slave's bore and one price: what died, what lost most, what got dearer,
/// and the part that says otherwise by its name.
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
