//! Libraries made from a spreadsheet: the result, and every mistake at its row and column.

mod common;

use bitepoint::analysis::{analyse, import};
use bitepoint::syntax::{format, parse};
use common::{Library, bitepoint, folder, source};
use proptest::prelude::*;

const TABLE: &str = "\u{feff}block,part,number,supplier,bore [in],stroke [mm],bolt spacing [mm],outlet,price [USD],note
master,hy_m19,HH-750-R,Heron Yard Supply,3/4,36,44.5 ± 0.1,3/8-24 inverted flare,48.50,\"comes with its rod, and a boot\"
master,hy_m22,HH-875-R,Heron Yard Supply,7/8,36,,3/8-24 inverted flare,52.00,
slave,hy_s22,22-S,,22.2 mm,32,60,,39.95,
,,,,,,,,,
";

#[test]
fn a_table_becomes_a_library() {
    let folder = folder(&[("parts.csv", TABLE)]);
    let (status, out, err) = bitepoint(folder.path(), &["import", "parts.csv"]);
    assert_eq!((status, err.as_str()), (0, ""));
    insta::assert_snapshot!(out);
    let report = analyse(source("parts.clutch", &out), &Library::default());
    assert!(
        report
            .findings
            .iter()
            .all(|f| f.severity < bitepoint::finding::Severity::Warning)
    );
    assert_eq!(
        format(&out, &parse(&out)).unwrap(),
        out,
        "it is in canonical form"
    );
}

#[test]
fn nothing_is_overwritten_and_semicolons_are_read() {
    let semicolons = "block;part;bore [mm]\nslave;s_22;22.2\n";
    let folder = folder(&[("parts.csv", semicolons), ("there.clutch", "# mine\n")]);
    let import = |to: &str| bitepoint(folder.path(), &["import", "parts.csv", "--output", to]);
    let (status, _, err) = import("there.clutch");
    assert_eq!(status, 2);
    assert!(
        err.contains("is there already and is left as it is"),
        "{err}"
    );
    let kept = std::fs::read_to_string(folder.path().join("there.clutch")).unwrap();
    assert_eq!(kept, "# mine\n");
    let (status, out, _) = import("new.clutch");
    assert_eq!(
        (status, out.as_str()),
        (0, "new.clutch is written: 1 part\n")
    );
    let new = std::fs::read_to_string(folder.path().join("new.clutch")).unwrap();
    assert_eq!(new, "part slave s_22 {\n    bore = 22.2 mm\n}\n");
}

#[test]
fn every_mistake_is_at_its_row_and_column() {
    let table = "block,part,bore [in],strok,seals,price [USD],number,release_load,wall [furlong]
master,hy m19,3/4,36,epdm,48.50,HH,,
mastr,hy_m22,7/8,36,epdm,1,HH,,
slave,hy_s22,22;2,36,rubber,-3,=1+1,,
slave,hy_s22,1 mm mm,36,,\"1,50\",\"7/8\"\" bolt\",,
cover,c,3/4,,,,,curve { 0 mm: 1 N },
pedal,,,,,$4,,,
slave,x,abc,,,USD,a} system x {,,
";
    let folder = folder(&[("parts.csv", table)]);
    let (status, out, err) = bitepoint(folder.path(), &["import", "parts.csv"]);
    assert_eq!((status, out.as_str()), (1, ""));
    insta::assert_snapshot!(err);
    for (text, why) in [
        ("", "the table is empty"),
        ("a,b\n", "no block has a field `a`"),
    ] {
        let folder = common::folder(&[("parts.csv", text)]);
        let (status, _, err) = bitepoint(folder.path(), &["import", "parts.csv"]);
        assert!(status == 1 && err.contains(why), "{status} {err}");
    }
}

proptest! {
    #![proptest_config(common::cases(200))]

    /// For any cells, the import gives a library that checks and keeps every row, or mistakes at existing cells.
    #[test]
    fn any_table_gives_a_library_or_mistakes(
        cells in prop::collection::vec(
            prop::collection::vec("[ -~]{0,12}|[0-9]{1,3}(\\.[0-9]{1,2})?|[a-z_]{1,6}|\u{2028}|\u{202e}a", 4),
            0..6,
        ),
    ) {
        let header = ["block", "part", "bore [mm]", "number"].map(str::to_owned).to_vec();
        let mut rows = vec![header];
        for (i, mut row) in cells.into_iter().enumerate() {
            row[0] = ["master", "slave"][i % 2].to_owned();
            if i % 3 > 0 {
                row[1] = format!("p_{i}");
            }
            rows.push(row);
        }
        match import(&rows) {
            Ok(imported) => {
                let report = analyse(source("parts.clutch", &imported.text), &Library::default());
                prop_assert!(report.findings.iter().all(|f| f.severity < bitepoint::finding::Severity::Warning));
                let parts = imported.text.lines().filter(|line| line.starts_with("part ")).count();
                prop_assert_eq!(parts, imported.count);
                for row in &rows[1..] {
                    if !row[3].trim().is_empty() {
                        let text = bitepoint::syntax::quoted(row[3].trim());
                        let is_kept = imported.text.contains(&text);
                        prop_assert!(is_kept, "{}", row[3]);
                    }
                }
            }
            Err(mistakes) => {
                prop_assert!(!mistakes.is_empty());
                for mistake in mistakes {
                    prop_assert!(mistake.row <= rows.len() && mistake.column < 4, "{mistake:?}");
                }
            }
        }
    }
}
