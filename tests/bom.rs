//! Bills of materials: their contents, their sums to the cent, and that texts in them have no effect.

mod common;

use bitepoint::analysis::{Bom, BomPurpose, BomRequest, NoBom, Work, analyse, bom};
use bitepoint::quantity::{Currency, Money, Sums, decimal};
use common::{Library, source};
use proptest::prelude::*;
use std::path::Path;
use std::process::{Command, Output};

const KIT: &str = r#"let yard = "Heron Yard Supply"
let rate = 0.92 EUR/USD

part master hy_m19 { bore = 3/4 in  stroke = 36 mm  number = "HH-750-R"  supplier = yard  price = 48.50 USD }
part master hy_m30 { bore = 30 mm  stroke = 36 mm  number = "HH-30"  supplier = yard  price = 61.10 USD }
part slave hy_s22 { bore = 7/8 in  stroke = 32 mm  number = "22-S"  supplier = "Tube Works"  price = 39.95 USD * rate }
part slave hy_s25 { bore = 22.22 mm  stroke = 32 mm  number = "25-S"  supplier = "Tube Works" }

system kit "Heron Yard kit" {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }
    master hy_m19
    line front { bore = 3.2 mm  length = 900 mm  wall = 0.75 mm  number = "T-316"  price = 0.10 USD  quantity = 2 }
    line rear { bore = 3.2 mm  length = 300 mm  wall = 0.75 mm  number = "T-316"  price = 0.10 USD }
    slave hy_s22 { note = "with its rod" }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm }
    cover { release_travel = 7.2 mm to 10.8 mm  release_load = 1300 N }
}

system season "Heron Yard season" from kit {
    choose master hy_m19, hy_m30
    choose slave hy_s22, hy_s25
}
"#;

fn request(system: &str, picks: &[(&str, &str)], mix: &[(&str, &[(&str, u32)])]) -> BomRequest {
    let own = |text: &str| text.to_owned();
    BomRequest {
        system: Some(own(system)),
        picks: picks.iter().map(|(a, b)| (own(a), own(b))).collect(),
        mix: mix
            .iter()
            .map(|(block, parts)| {
                (
                    own(block),
                    parts.iter().map(|(p, n)| (own(p), *n)).collect(),
                )
            })
            .collect(),
        kits: None,
    }
}

fn bill(text: &str, request: &BomRequest) -> Result<Bom, NoBom> {
    bom(
        source("kit.clutch", text),
        &Library::default(),
        request,
        &Work::default(),
    )
}

fn sums(bom: &Bom) -> Vec<String> {
    bom.sums.iter().map(|sum| sum.to_string()).collect()
}

#[test]
fn a_bill_adds_up_by_hand() {
    let bill = bill(KIT, &request("kit", &[], &[])).unwrap();
    let rows: Vec<String> = bill
        .rows
        .iter()
        .map(|row| format!("{} {}", row.quantity, row.title()))
        .collect();
    assert_eq!(
        rows,
        [
            "1 master hy_m19",
            "3 line front, line rear",
            "1 slave hy_s22"
        ]
    );
    // 39.95 × 0.92 = 36.754, and a bill is in whole cents; 48.50 + 3 × 0.10.
    assert_eq!(sums(&bill), ["36.75 EUR", "48.80 USD"]);
    assert_eq!(bill.unlisted, ["pedal", "fork", "cover"]);
    assert_eq!(bill.unpriced().count(), 0);
    assert_eq!(bill.failing_count, 0);
}

#[test]
fn a_mix_is_ordered_for_a_season_and_every_combination_in_it_is_checked() {
    let mix: &[(&str, &[(&str, u32)])] = &[("slave", &[("hy_s22", 30), ("hy_s25", 10)])];
    let bill = bill(KIT, &request("season", &[("master", "hy_m19")], mix)).unwrap();
    assert_eq!(bill.purpose, BomPurpose::Kits(40));
    let rows: Vec<String> = bill
        .rows
        .iter()
        .map(|row| format!("{} {}", row.quantity, row.title()))
        .collect();
    assert_eq!(
        rows,
        [
            "40 master hy_m19",
            "120 line front, line rear",
            "30 slave hy_s22",
            "10 slave hy_s25"
        ]
    );
    assert_eq!(sums(&bill), ["1102.50 EUR", "1952.00 USD"]);
    assert_eq!(bill.unpriced().collect::<Vec<_>>(), ["slave hy_s25"]);
    assert_eq!(bill.failing_count, 0);
    // The large master drives everything too far.
    let bad = self::bill(KIT, &request("season", &[("master", "hy_m30")], mix)).unwrap();
    assert_eq!(bad.failing_count, 2);
    assert!(
        bad.failing[0].starts_with("master hy_m30, slave hy_s22: "),
        "{:?}",
        bad.failing
    );
}

#[test]
fn the_shelf_holds_what_works_in_any_combination() {
    let bill = bill(KIT, &request("season", &[], &[])).unwrap();
    let BomPurpose::Shelf {
        works,
        of,
        left_out,
    } = &bill.purpose
    else {
        panic!("{:?}", bill.purpose);
    };
    assert_eq!((*works, *of), (2, 4));
    assert_eq!(left_out, &["master hy_m30"]);
    assert_eq!(bill.rows.len(), 4);
}

#[test]
fn an_order_that_is_not_possible_is_refused_with_the_reason() {
    for (request, why) in [
        (
            request("kit", &[("slave", "hy_s22")], &[]),
            "`kit` leaves nothing to choose",
        ),
        (
            request("season", &[("slave", "hy_s22")], &[]),
            "pick or mix a master as well",
        ),
        (
            request(
                "season",
                &[("slave", "hy_s2")],
                &[("master", &[("hy_m19", 1)])],
            ),
            "did you mean `hy_s22`?",
        ),
        (
            request("season", &[("fork", "f")], &[]),
            "it leaves no `fork` to choose, but master, slave",
        ),
        (
            request(
                "season",
                &[],
                &[("master", &[("hy_m19", 3)]), ("slave", &[("hy_s22", 4)])],
            ),
            "the mix of each slave is for 4 kits, and 3 are wanted",
        ),
        (request("kat", &[], &[]), "there is no system `kat`"),
    ] {
        match bill(KIT, &request) {
            Err(NoBom::Asked(said)) => assert!(said.contains(why), "{said}"),
            other => panic!("{other:?}"),
        }
    }
    // A price that cannot be read is no part of a sum.
    let broken = KIT.replace("48.50 USD", "48.50");
    assert!(matches!(
        bill(&broken, &request("kit", &[], &[])),
        Err(NoBom::Mistakes(_))
    ));
}

#[test]
fn a_limit_on_the_price_is_a_limit_like_any_other() {
    let (alone, _) = KIT.split_once("system season").unwrap();
    let price = |limit: &str| {
        let text = alone.replace("39.95 USD * rate", "39.95 USD");
        let text = text.replace(
            "    pedal {",
            &format!("    require price {limit}\n    pedal {{"),
        );
        let report = analyse(source("kit.clutch", &text), &Library::default());
        let findings = report.findings.iter();
        let mut told = findings.filter(|f| f.check.name() == "require-failed");
        told.next().map(|finding| finding.problem.message.clone())
    };
    assert_eq!(price("<= 88.75 USD"), None);
    assert_eq!(
        price("< 88.75 USD \"the budget\"").as_deref(),
        Some("`price` is 88.75 USD, and is required to be below 88.75 USD: the budget")
    );
    assert_eq!(
        price("<= 80 EUR").as_deref(),
        Some("`price` is required to be at most 80.00 EUR, and the parts are priced in USD")
    );
    let text = KIT.replace("    pedal {", "    require price <= 400 USD\n    pedal {");
    let report = analyse(source("kit.clutch", &text), &Library::default());
    let kit = report
        .findings
        .iter()
        .find(|f| f.check.name() == "require-failed");
    assert_eq!(
        kit.unwrap().problem.message,
        "`price` is required to be at most 400.00 USD, and the parts are priced in EUR and USD"
    );
}

proptest! {
    /// Sums of money against whole numbers of the smallest unit, which are exact.
    #[test]
    fn sums_are_exact_to_the_cent(cents in prop::collection::vec((0i64..1_000_000_000, 1u32..100), 1..40)) {
        let mut sums = Sums::default();
        let mut whole: i128 = 0;
        for (cents, count) in &cents {
            // As a spec writes it, read as every number of a spec is.
            let written: f64 = format!("{}.{:02}", cents / 100, cents % 100).parse().unwrap();
            let price = Money { amount: decimal(written).unwrap(), currency: Currency::USD };
            prop_assert!(sums.add(price.times((*count).into()).unwrap()));
            whole += i128::from(*cents) * i128::from(*count);
        }
        let expected = format!("{}.{:02} USD", whole / 100, whole % 100);
        prop_assert_eq!(sums.only().unwrap().to_string(), expected);
    }

    /// From the prices in a spec to the program's JSON, against the sum of whole cents.
    #[test]
    fn a_bill_is_exact_to_the_cent(
        prices in prop::collection::vec((0u64..100_000_000, 1u32..50), 1..6),
    ) {
        let lines: String = prices.iter().enumerate().map(|(i, (cents, count))| format!(
            "    line l{i} {{ bore = 3.2 mm  length = 900 mm  price = {}.{:02} USD  quantity = {count} }}\n",
            cents / 100, cents % 100,
        )).collect();
        let text = KIT.replace("    fork {", &format!("{lines}    fork {{"));
        let whole: u64 = prices.iter().map(|(cents, count)| cents * u64::from(*count)).sum();
        let whole = whole + 4880;
        let bill = bill(&text, &request("kit", &[], &[])).unwrap();
        let expected = format!("{}.{:02} USD", whole / 100, whole % 100);
        prop_assert_eq!(&sums(&bill)[1], &expected);
    }
}

fn run(dir: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(arguments)
        .current_dir(dir)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn every_form_of_the_real_program() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("kit.clutch"), KIT).unwrap();
    let mut shown = String::new();
    for arguments in [
        &["bom", "kit.clutch", "kit"][..],
        &["bom", "kit.clutch", "season"],
        &[
            "bom",
            "kit.clutch",
            "season",
            "--pick",
            "master=hy_m19",
            "--mix",
            "slave=hy_s22:30,hy_s25:10",
            "--by",
            "supplier",
        ],
        &[
            "bom",
            "kit.clutch",
            "season",
            "--pick",
            "master=hy_m19",
            "--mix",
            "slave=hy_s22:30,hy_s25:10",
            "--by",
            "supplier",
            "--format",
            "csv",
        ],
        &[
            "bom",
            "kit.clutch",
            "kit",
            "--kits",
            "10",
            "--format",
            "md",
            "--by",
            "supplier",
        ],
        &["bom", "kit.clutch", "kit", "--format", "json"],
        &[
            "bom",
            "kit.clutch",
            "season",
            "--pick",
            "master=hy_m30,slave=hy_s22",
        ],
        &["bom", "kit.clutch"],
        &["bom", "kit.clutch", "season", "--kits", "3"],
        &["bom", "kit.clutch", "season", "--mix", "hy_s22:30"],
    ] {
        let out = run(dir.path(), arguments);
        shown.push_str(&format!(
            "$ bitepoint {}\n{}{}-> {}\n\n",
            arguments.join(" "),
            text(&out.stdout),
            text(&out.stderr),
            out.status.code().unwrap()
        ));
    }
    insta::assert_snapshot!(shown);
}

/// A part's text is shown in every form, and has no effect in any of them.
#[test]
fn hostile_texts_have_no_effect() {
    let hostile = [
        "=HYPERLINK('http://x.y','z')",
        "@SUM(1+1)*cmd|' /C calc'!A0",
        "<script>alert(1)</script>",
        "](http://x.y) ![i](http://x.y/i.png) @someone #12 `a` | b",
        "\u{1b}[2J\u{9b}31m\u{202e}\u{7}",
        "::error::gone ##[error]x",
        "\t=1+1",
    ];
    let dir = tempfile::tempdir().unwrap();
    for text in hostile {
        let spec = KIT
            .replace("\"HH-750-R\"", &format!("\"{text}\""))
            .replace("\"Heron Yard Supply\"", &format!("\"{text}\""))
            .replace("\"with its rod\"", &format!("\"{text}\""));
        std::fs::write(dir.path().join("kit.clutch"), &spec).unwrap();
        for arguments in [
            &["bom", "kit.clutch", "kit", "--by", "supplier"][..],
            &[
                "bom",
                "kit.clutch",
                "kit",
                "--by",
                "supplier",
                "--format",
                "csv",
            ],
            &[
                "bom",
                "kit.clutch",
                "kit",
                "--by",
                "supplier",
                "--format",
                "md",
            ],
            &["bom", "kit.clutch", "kit", "--format", "json"],
            &["sheet", "kit.clutch", "kit", "--prices"],
            &["sheet", "kit.clutch", "kit", "--format", "md"],
            &["check", "kit.clutch"],
        ] {
            let out = run(dir.path(), arguments);
            let said = self::text(&out.stdout) + &self::text(&out.stderr);
            let command = arguments.join(" ");
            assert!(
                !said.contains(['\u{1b}', '\u{9b}', '\u{202e}', '\u{7}']),
                "{command}: {said}"
            );
            let is_page = command.starts_with("sheet") || command.ends_with("md");
            assert!(!is_page || !said.contains("<script>"), "{command}: {said}");
            assert!(!said.contains("##["), "{command}: {said}");
            assert!(
                !said.lines().any(|line| line.trim_start().starts_with("::")),
                "{command}: {said}"
            );
            if command.ends_with("md") {
                let bare = said.replace("\\]", "");
                assert!(!bare.contains("](http"), "{command}: {said}");
                let is_mention = command.starts_with("bom") && said.contains(" @someone");
                assert!(!is_mention, "{command}: {said}");
            }
            if command.ends_with("csv") {
                let mut reader = csv::Reader::from_reader(said.as_bytes());
                for cell in reader.records().flat_map(|record| {
                    let record = record.unwrap();
                    record.iter().map(str::to_owned).collect::<Vec<_>>()
                }) {
                    let begins = cell
                        .trim_start()
                        .starts_with(['=', '+', '-', '@', '\t', '\r']);
                    assert!(!begins, "{cell}");
                }
            }
        }
    }
}
