//! The search for sizes, through the real program.

mod common;

use bitepoint::analysis::{actions, analyse};
use bitepoint::faces::Disk;
use bitepoint::finding::Severity;
use bitepoint::model::{Files, Source};
use bitepoint::syntax::TextRange;
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};
use std::sync::Arc;

fn bitepoint(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

fn size(arguments: &[&str]) -> Output {
    let mut all = vec!["size", "examples/larkfield.clutch"];
    all.extend(arguments);
    bitepoint(&all)
}

fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn json(arguments: &[&str]) -> Value {
    let mut all = arguments.to_vec();
    all.extend(["--format", "json"]);
    serde_json::from_slice(&size(&all).stdout).unwrap()
}

/// A folder with `one.clutch`, which uses the examples as a library.
fn beside_the_examples(spec: &str) -> tempfile::TempDir {
    let examples = concat!(env!("CARGO_MANIFEST_DIR"), "/examples");
    let settings = format!("library = [\"{examples}\"]\n");
    let spec = format!("use \"larkfield.clutch\"\nuse \"parts/cylinders.clutch\"\n{spec}\n");
    common::folder(&[("bitepoint.toml", &settings), ("one.clutch", &spec)])
}

/// How many errors a text has in the folder of the examples.
fn errors(spec: &str) -> u64 {
    let folder = beside_the_examples(spec);
    let path = folder.path().join("one.clutch");
    let output = bitepoint(&["check", path.to_str().unwrap(), "--format", "json"]);
    let found: Value = serde_json::from_slice(&output.stdout).unwrap();
    found["counts"]["error"].as_u64().unwrap()
}

#[test]
fn parts_are_ranked_and_the_misses_explained() {
    let output = size(&[
        "larkfield",
        "--vary",
        "master=hy_m16,hy_m19,hy_m21,slave=hy_s19,hy_s22,hy_s25",
    ]);
    assert_eq!(output.status.code(), Some(0));
    insta::assert_snapshot!(text(&output));
}

#[test]
fn combinations_that_pass_check_clean_alone() {
    let found = json(&[
        "larkfield",
        "--vary",
        "master=hy_m16,hy_m19,hy_m21,slave=hy_s19,hy_s22,hy_s25",
        "--best",
        "99",
    ]);
    let mut passing = Vec::new();
    for master in ["hy_m16", "hy_m19", "hy_m21"] {
        for slave in ["hy_s19", "hy_s22", "hy_s25"] {
            let spec = format!("system one from larkfield {{ master {master}\nslave {slave} }}");
            if errors(&spec) == 0 {
                passing.push((master, slave));
            }
        }
    }
    let mut best: Vec<_> = found["best"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            let part = |block: &str| one["choices"][block].as_str().unwrap();
            (part("master"), part("slave"))
        })
        .collect();
    best.sort_unstable();
    assert_eq!(best, passing);
}

#[test]
fn bores_that_pass_check_clean() {
    let found = json(&["larkfield_ring"]);
    assert_eq!(found["tried"], 35);
    for one in found["best"].as_array().unwrap() {
        let bore = one["choices"]["master.bore"].as_str().unwrap();
        let spec = format!("system one from larkfield_ring {{ master {{ bore = {bore} }} }}");
        assert_eq!(errors(&spec), 0, "{bore}");
    }
    for one in found["nearest"].as_array().unwrap() {
        let bore = one["choices"]["master.bore"].as_str().unwrap();
        let spec = format!("system one from larkfield_ring {{ master {{ bore = {bore} }} }}");
        assert!(errors(&spec) > 0, "{bore}");
    }
}

#[test]
fn the_order_is_the_one_that_is_asked_for_and_the_front_is_not_beaten() {
    let vary = "pedal.rod_arm=44 mm to 60 mm step 1 mm,slave.bore=22 mm,7/8 in,23 mm,24 mm";
    let margin = |one: &Value| one["release_margin_mm"].as_f64().unwrap();
    let effort = |one: &Value| one["pedal_effort_n"].as_f64().unwrap();
    let by_margin = json(&["larkfield", "--vary", vary, "--best", "99"]);
    let all = by_margin["best"].as_array().unwrap();
    assert_eq!(by_margin["tried"], 68);
    assert_eq!(by_margin["passing"].as_u64().unwrap(), all.len() as u64);
    assert!(all.len() > 3);
    assert!(all.is_sorted_by(|a, b| margin(a) >= margin(b)));
    let by_effort = json(&["larkfield", "--vary", vary, "--by", "effort"]);
    let best = by_effort["best"].as_array().unwrap();
    assert!(best.is_sorted_by(|a, b| effort(a) <= effort(b)));
    for one in all {
        let beaten = all.iter().any(|other| {
            margin(other) >= margin(one)
                && effort(other) <= effort(one)
                && (margin(other) > margin(one) || effort(other) < effort(one))
        });
        assert_eq!(one["front"].as_bool().unwrap(), !beaten, "{one}");
    }
}

/// The program's answer for a spec that uses the examples.
fn size_of(spec: &str, vary: &str) -> Value {
    let folder = beside_the_examples(spec);
    let path = folder.path().join("one.clutch");
    let path = path.to_str().unwrap();
    let output = bitepoint(&["size", path, "one", "--vary", vary, "--format", "json"]);
    let said = String::from_utf8_lossy(&output.stderr);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{said}"))
}

/// The worst release margin of a spec, from `calc`.
fn worst_of(spec: &str) -> f64 {
    let folder = beside_the_examples(spec);
    let path = folder.path().join("one.clutch");
    let output = bitepoint(&["calc", path.to_str().unwrap(), "one", "--format", "json"]);
    let found: Value = serde_json::from_slice(&output.stdout).unwrap();
    let margin = &found["systems"][0]["results"]["release_margin"];
    margin["tolerance"]["low"].as_f64().unwrap()
}

/// A varied value keeps the tolerance of the value it replaces: as wide, or the same share if written in percent.
/// That also holds for a part's value, and if other values follow from it.
#[test]
fn a_varied_value_keeps_its_tolerance() {
    for (path, body, values) in [
        (
            "pedal.travel",
            "pedal { travel = # ± 2 mm }",
            ["151 mm", "149 mm", "155 mm"],
        ),
        (
            "pedal.travel",
            "pedal { travel = # ± 4 % }",
            ["151 mm", "149 mm", "155 mm"],
        ),
        (
            "slave.bore",
            "slave hy_s22 { bore = # ± 0.5 mm }",
            ["7/8 in", "22 mm", "21.5 mm"],
        ),
        (
            "pedal.travel",
            "pedal { travel = # ± 3 %  stop = pedal.travel + 1 mm }",
            ["151 mm", "149 mm", "155 mm"],
        ),
    ] {
        let spec = |value: &str| {
            let body = body.replace('#', value);
            format!("system one from larkfield {{ {body} }}")
        };
        let found = size_of(
            &spec("150 mm").replace("bore = 150 mm", "bore = 22 mm"),
            &format!("{path}={}", values.join(",")),
        );
        for value in values {
            let alone = worst_of(&spec(value));
            let all = ["best", "nearest"].map(|list| found[list].as_array().unwrap().clone());
            let ours = all
                .iter()
                .flatten()
                .find(|one| one["choices"][path] == value);
            let ours = ours.unwrap()["release_margin_mm"].as_f64().unwrap();
            assert!(
                (ours - alone).abs() < 1e-9,
                "{path} {value}: {ours}, alone {alone}"
            );
        }
    }
}

/// A list by price says if prices do not order it: if no price is complete, if only some are, and if there are two
/// currencies.
#[test]
fn a_list_by_price_says_what_it_is_ordered_by_instead() {
    let by_price = |prices: [&str; 3]| {
        let part = |(i, price): (usize, &&str)| {
            let price = match price.is_empty() {
                true => String::new(),
                false => format!("  price = {price}"),
            };
            format!(
                "part slave s_{i} {{ bore = {} mm  stroke = 34 mm{price} }}\n",
                22.0 + 0.1 * i as f64
            )
        };
        let parts: String = prices.iter().enumerate().map(part).collect();
        let folder = common::folder(&[("kit.clutch", &format!("{parts}{PRICED}"))]);
        let run = |more: &[&str]| {
            let arguments = ["size", "kit.clutch", "kit", "--by", "price"];
            common::bitepoint(folder.path(), &[&arguments[..], more].concat()).1
        };
        let found: Value = serde_json::from_str(&run(&["--format", "json"])).unwrap();
        assert_eq!(found["passing"], 3);
        let priced = prices.iter().filter(|price| !price.is_empty()).count();
        assert_eq!(found["priced"], priced);
        (run(&[]), found["ranked_by"].as_str().unwrap().to_owned())
    };
    let none = by_price(["", "", ""]);
    let some = by_price(["48 USD", "", "47 USD"]);
    let two = by_price(["48 USD", "47 EUR", "46 USD"]);
    let all = by_price(["48 USD", "47.50 USD", "46 USD"]);
    let by = [&none, &some, &two, &all].map(|(_, by)| by.as_str());
    assert_eq!(by, ["margin", "price", "price", "price"]);
    insta::assert_snapshot!([none.0, some.0, two.0, all.0].join("\n"));
}

/// A car with three slaves to choose from, the only parts with a price.
const PRICED: &str = "system kit {
    pedal { ratio = 6  travel = 150 mm  free_play = 6 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    line flex { bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
    choose slave s_0, s_1, s_2
}
";

/// In a system with choices only the requested values vary, and the rest stays as picked. The product of both is
/// never tried.
#[test]
fn what_is_picked_is_kept_while_something_else_varies() {
    let kit = |rest: &[&str]| {
        let mut all = vec!["size", "examples/kit.clutch", "larkfield_kit"];
        all.extend(rest);
        bitepoint(&all)
    };
    let of_picked = ["--pick", "master=yard_19,slave=hy_s22"];
    let output = kit(&[&of_picked[..], &["--vary", "slave.bore=22 mm,7/8 in"]].concat());
    insta::assert_snapshot!(text(&output));
    // The same as the system that has nothing to choose.
    let found = kit(&[
        &of_picked[..],
        &["--vary", "slave.bore", "--format", "json"],
    ]
    .concat());
    let found: Value = serde_json::from_slice(&found.stdout).unwrap();
    let alone = size_of(
        "use \"kit.clutch\"\nsystem one from larkfield { master yard_19\nslave hy_s22\n\
         require pedal_effort <= 150 N }",
        "slave.bore",
    );
    for key in ["tried", "passing"] {
        assert_eq!(found[key], alone[key], "{key}");
    }
    assert_eq!(found["tried"], 35);
    let numbers = |found: &Value| -> Vec<Value> {
        let best = found["best"].as_array().unwrap().iter();
        best.map(|one| one["release_margin_mm"].clone()).collect()
    };
    assert_eq!(numbers(&found), numbers(&alone));
    // Without anything asked for, what is not picked is tried.
    let output = kit(&["--pick", "slave=yard_22"]);
    let said = text(&output);
    assert!(
        said.contains(" of 2 combinations (2 master) have no error")
            && said.contains("in all of them: slave yard_22"),
        "{said}"
    );
    let output = kit(&["--pick", "master=yard_19,slave=yard_22"]);
    assert!(
        text(&output)
            .contains(" of 1225 combinations (35 master.bore × 35 slave.bore) have no error"),
        "{}",
        text(&output)
    );
    let mut said = String::new();
    for rest in [
        &["--vary", "slave.bore"][..],
        &["--vary", "slave"],
        &["--vary", "slave", "--pick", "master=yard_19,slave=yard_22"],
        &["--vary", "slave", "--pick", "master=yard_91"],
        &["--vary", "slave", "--pick", "pedal=yard_19"],
        &["--pick", "slave=yard_22,slave=hy_s22"],
    ] {
        let output = kit(rest);
        assert_eq!(output.status.code(), Some(2), "{rest:?}");
        said.push_str(&format!(
            "{}\n    {}",
            rest.join(" "),
            String::from_utf8_lossy(&output.stderr)
        ));
    }
    let output = size(&["larkfield", "--pick", "slave=hy_s22"]);
    assert_eq!(output.status.code(), Some(2));
    said.push_str(&String::from_utf8_lossy(&output.stderr));
    insta::assert_snapshot!(said);
}

#[test]
fn a_subject_is_varied_once_and_a_value_tried_once() {
    let twice = size(&["larkfield", "--vary", "slave.bore=22 mm,slave.bore=23 mm"]);
    assert_eq!(twice.status.code(), Some(2));
    insta::assert_snapshot!(String::from_utf8_lossy(&twice.stderr));
    let found = json(&[
        "larkfield",
        "--vary",
        "slave.bore=22 mm,23 mm,22 mm,22 mm to 24 mm step 1 mm",
    ]);
    assert_eq!(found["tried"], 3);
}

/// The existing tolerance applies to each value that is tried.
#[test]
fn a_value_that_its_tolerance_takes_out_of_range_is_said() {
    let output = size(&["larkfield", "--vary", "pedal.travel=1 mm,150 mm"]);
    assert_eq!(output.status.code(), Some(2));
    insta::assert_snapshot!(String::from_utf8_lossy(&output.stderr));
}

#[test]
fn nothing_that_passes_is_an_answer_too() {
    let output = size(&["larkfield", "--vary", "slave.bore=30 mm,31 mm"]);
    assert_eq!(output.status.code(), Some(1));
    insta::assert_snapshot!(text(&output));
}

#[test]
fn what_cannot_be_varied_is_said() {
    let mut said = String::new();
    for vary in [
        "pedal.ratio=5",
        "slave.bores=20 mm",
        "slave.bore=5 N",
        "slave.bore=0 mm",
        "slave.bore=20 mm to 10 mm step 1 mm",
        "slave.bore=20 mm to 30 mm",
        "slave.bore=20 mm to 30 mm step 1e-9 mm",
        "fork.slave_arm",
        "cover.release_load=900 N",
        "line",
        "cable",
        "slave=hy_s99",
        "mast=hy_m19",
        "pedal.travel=(150 mm",
    ] {
        let output = size(&["larkfield", "--vary", vary]);
        assert_eq!(output.status.code(), Some(2), "{vary}");
        said.push_str(&format!(
            "{vary}\n    {}",
            String::from_utf8_lossy(&output.stderr)
        ));
    }
    insta::assert_snapshot!(said);
}

/// The editor's offers come from the same search.
#[test]
fn an_editor_offers_the_parts_that_cure() {
    let text = std::fs::read_to_string("examples/fails/short-release.clutch").unwrap();
    let disk = Disk::default();
    let path = Path::new("examples/fails/short-release.clutch");
    let report = analyse(disk.read(&Disk::name(path)).unwrap(), &disk);
    let at = text.find("hy_s25").unwrap() as u32;
    let offered: Vec<_> = actions(&report, TextRange { start: at, end: at })
        .into_iter()
        .filter(|action| action.fix.title.starts_with("take the slave"))
        .map(|action| action.fix)
        .collect();
    let titles: Vec<&str> = offered.iter().map(|fix| fix.title.as_str()).collect();
    insta::assert_snapshot!(titles.join("\n"));
    for fix in &offered {
        let mut mended = text.clone();
        for (place, new) in fix.edits.iter().rev() {
            mended.replace_range(common::range_in(&text, place).range(), new);
        }
        let name = Disk::name(path);
        let after = analyse(Arc::new(Source::new(name, mended)), &disk);
        let errors = after
            .findings
            .iter()
            .filter(|f| f.severity == Severity::Error);
        assert_eq!(errors.count(), 0, "{}", fix.title);
    }
}
