//! The fitting sheet: what is on it, that it is well-formed, and that nothing in a spec can make it do anything.

mod common;

use bitepoint::analysis::{Report, Worked, analyse};
use bitepoint::faces::sheet::{Form, sheet};
use common::{Library, source};
use roxmltree::{Document, ParsingOptions};
use std::path::Path;
use std::process::{Command, Output};

fn bitepoint(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// The page as a tree: it is XML as well as HTML, and XML forgives nothing.
fn parsed(html: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(html, options).unwrap()
}

fn of(report: &Report, form: Form) -> String {
    let systems: Vec<&Worked> = report.worked_systems().collect();
    sheet(report, &systems, form)
}

/// Nothing that runs, nothing that is fetched.
fn assert_inert(html: &str) {
    let document = parsed(html);
    let known = [
        "html",
        "head",
        "meta",
        "title",
        "style",
        "body",
        "nav",
        "article",
        "section",
        "h1",
        "h2",
        "p",
        "ol",
        "ul",
        "li",
        "a",
        "div",
        "strong",
        "span",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "figure",
        "figcaption",
        "svg",
        "desc",
        "g",
        "rect",
        "line",
        "polyline",
        "polygon",
        "path",
        "circle",
        "text",
    ];
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        let name = node.tag_name().name();
        assert!(known.contains(&name), "<{name}>");
        for attribute in node.attributes() {
            let name = attribute.name();
            assert!(!name.starts_with("on") && name != "src", "{name}");
            assert!(name != "href" || attribute.value().starts_with("#system-"));
        }
    }
    let policy = document
        .descendants()
        .find(|node| node.attribute("http-equiv") == Some("Content-Security-Policy"))
        .and_then(|node| node.attribute("content"));
    assert!(policy.is_some_and(|policy| policy.starts_with("default-src 'none'")));
    assert!(
        !html
            .chars()
            .any(|c| c.is_control() && c != '\n' && c != '\t')
    );
    assert!(!html.contains('\u{202e}'), "text is turned round");
}

#[test]
fn every_example_has_a_sheet_and_a_failing_one_says_so_first() {
    for folder in ["examples", "examples/fails"] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_none_or(|e| e != "clutch") {
                continue;
            }
            let path = path.to_str().unwrap();
            let mut output = bitepoint(&["sheet", path]);
            if path.ends_with("kit.clutch") {
                assert_eq!(output.status.code(), Some(2), "a kit is more than one car");
                let pick = "master=yard_19,slave=hy_s22";
                output = bitepoint(&["sheet", path, "larkfield_kit", "--pick", pick]);
            }
            let html = out(&output);
            assert_inert(&html);
            let fails = html.contains("DO NOT FIT AS IT IS");
            assert_eq!(output.status.code(), Some(i32::from(fails)), "{path}");
            if fails {
                assert!(html.find("DO NOT FIT").unwrap() < html.find("What to buy").unwrap());
            }
            let drawings = html.matches("role=\"img\"").count();
            assert_eq!(drawings, 2 * html.matches("<article").count(), "{path}");
        }
    }
}

#[test]
fn each_system_has_a_page_and_the_contents_lead_to_it() {
    let html = out(&bitepoint(&["sheet", "examples/larkfield.clutch"]));
    let document = parsed(&html);
    let links: Vec<&str> = document
        .descendants()
        .filter_map(|n| n.attribute("href"))
        .collect();
    assert_eq!(links.len(), 4);
    for link in links {
        assert!(
            document
                .descendants()
                .any(|n| n.attribute("id") == link.strip_prefix('#'))
        );
    }
}

#[test]
fn the_chain_is_drawn_to_scale_and_says_what_is_not() {
    let html = out(&bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "larkfield",
    ]));
    let document = parsed(&html);
    let lengths: Vec<f64> = document
        .descendants()
        .filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "polyline")))
        .filter_map(|node| {
            let points: Vec<f64> = node
                .attribute("points")?
                .split([' ', ','])
                .filter_map(|number| number.parse().ok())
                .collect();
            let &[x, y, to_x, to_y] = points.as_slice() else {
                return None;
            };
            Some((to_x - x).hypot(to_y - y))
        })
        .collect();
    // The pedal's arm at rest and down, the slave's rod, and both arms of the fork, which lean by 4 degrees
    // at the slave's end.
    for wanted in [300.0, 110.0, 112.0 / 4_f64.to_radians().cos() + 68.0] {
        assert!(
            lengths.iter().any(|length| (length - wanted).abs() < 0.05),
            "{wanted} mm is not in {lengths:?}"
        );
    }
    assert!(html.contains("Not to scale: the pedal's rod"));
    let ratios = out(&bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "larkfield_shaft",
    ]));
    assert!(ratios.contains("only their ratio is given"));
}

#[test]
fn in_markdown() {
    let output = bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "larkfield",
        "--format",
        "md",
    ]);
    assert_eq!(output.status.code(), Some(0));
    insta::assert_snapshot!("hydraulic", out(&output));
    let output = bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "larkfield_cable",
        "--format",
        "md",
    ]);
    insta::assert_snapshot!("cable", out(&output));
    let output = bitepoint(&[
        "sheet",
        "examples/fails/short-release.clutch",
        "--format",
        "md",
    ]);
    assert_eq!(output.status.code(), Some(1));
    insta::assert_snapshot!("fails", out(&output));
}

#[test]
fn a_system_that_is_not_worked_out_says_why() {
    let text = "system half \"half a car\" { pedal { travel = 150 mm } }\n";
    let report = analyse(source("half.clutch", text), &Library::default());
    let html = of(&report, Form::Html);
    assert_inert(&html);
    assert!(html.contains("DO NOT BUILD FROM THIS SHEET"));
    assert!(html.contains("missing-block"));
    assert!(!html.contains("All results"));
}

#[test]
fn what_cannot_be_read_or_written_is_said() {
    for arguments in [
        &["sheet", "no-such-file.clutch"][..],
        &["sheet", "examples/larkfield.clutch", "nobody"],
        &["sheet", "examples/parts/covers.clutch"],
        &[
            "sheet",
            "examples/larkfield.clutch",
            "-o",
            "no/such/folder/sheet.html",
        ],
    ] {
        let output = bitepoint(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(out(&output).is_empty() && !output.stderr.is_empty());
    }
}

#[test]
fn texts_of_the_spec_stay_texts() {
    let evil = "</title><script>alert(1)</script><img src=x onerror=alert(2)> ' & ]]> --> \u{1}\u{7f}\u{202e}\u{fffe}";
    let text = format!(
        "part cover c \"{evil}\" {{ release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }}
system s \"{evil}\" {{
    pedal {{ ratio = 6  travel = 150 mm ± 2 mm }}
    master {{ bore = 19 mm  stroke = 36 mm }}
    line hard {{ bore = 3 mm  length = 900 mm }}
    slave {{ bore = 22.2 mm  stroke = 32 mm }}
    fork {{ ratio = 1.65 }}
    cover {{ release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }}
    require pedal_effort <= 10 N \"{evil}\"
    allow over-release \"{evil}\"
}}
"
    );
    let name = "<img src=x onerror=alert(3)>\".clutch";
    let report = analyse(source(name, &text), &Library::default());
    assert_eq!(report.systems.len(), 1);
    let html = of(&report, Form::Html);
    assert_inert(&html);
    assert!(
        html.contains("&lt;script&gt;alert(1)"),
        "the title is not shown"
    );
    let markdown = of(&report, Form::Markdown);
    assert!(markdown.contains("&lt;script&gt;alert(1)"));
    assert!(
        !markdown.contains("<script") && !markdown.contains("<img") && !markdown.contains('\u{1}')
    );
}
