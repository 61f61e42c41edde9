//! The curves as drawings: well-formed, inert, and complete.

mod common;

use bitepoint::analysis::{Located, Worked, analyse};
use bitepoint::faces::Disk;
use bitepoint::faces::render::{Size, curves};
use bitepoint::model::Files;
use common::{Library, source};
use roxmltree::Document;
use std::path::Path;

fn worked(path: &str) -> Vec<Located> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    let disk = Disk::default();
    analyse(disk.read(&Disk::name(&path)).unwrap(), &disk).systems
}

fn of_text(text: &str) -> Located {
    let mut systems = analyse(source("test.clutch", text), &Library::default()).systems;
    systems.pop().unwrap()
}

fn drawn(worked: &Worked, size: Size) -> String {
    let svg = curves(worked, size).unwrap();
    // Kept for a look at them.
    let name = format!("{}-{size:?}.svg", worked.system.name);
    std::fs::write(Path::new(env!("CARGO_TARGET_TMPDIR")).join(name), &svg).unwrap();
    svg
}

/// All texts in a drawing.
fn texts(svg: &str) -> Vec<String> {
    let document = Document::parse(svg).unwrap();
    let texts = document
        .descendants()
        .filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "text")));
    texts
        .map(|node| node.text().unwrap_or_default().trim().to_owned())
        .collect()
}

const SVG: &str = "http://www.w3.org/2000/svg";

fn plain(title: &str, more: &str) -> String {
    format!(
        "system s \"{title}\" {{
    pedal {{ ratio = 6  travel = 150 mm }}
    master {{ bore = 19 mm  stroke = 36 mm }}
    slave {{ bore = 22.2 mm  stroke = 32 mm }}
    fork {{ ratio = 1.65 }}
    cover {{ release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }}
    {more}
}}
"
    )
}

#[test]
fn every_example_is_drawn_in_both_sizes() {
    for file in [
        "examples/larkfield.clutch",
        "examples/fails/short-release.clutch",
    ] {
        for worked in worked(file) {
            for size in [Size::Page, Size::Small] {
                let svg = drawn(&worked, size);
                let document = Document::parse(&svg).unwrap();
                let root = document.root_element();
                assert_eq!(root.attribute("role"), Some("img"));
                for child in ["title", "desc"] {
                    let child = root.children().find(|node| node.has_tag_name((SVG, child)));
                    assert!(
                        child
                            .and_then(|node| node.text())
                            .is_some_and(|text| text.len() > 20)
                    );
                }
                for node in document.descendants().filter(roxmltree::Node::is_element) {
                    assert!(
                        !["script", "image", "style", "a", "use"].contains(&node.tag_name().name())
                    );
                    for attribute in node.attributes() {
                        assert!(!attribute.value().contains("NaN"), "{}", attribute.value());
                        assert!(!attribute.name().starts_with("on"));
                    }
                }
            }
        }
    }
}

#[test]
fn the_window_the_release_point_and_the_limit_are_named() {
    let texts = texts(&drawn(&worked("examples/larkfield.clutch")[0], Size::Page));
    for wanted in [
        "Travel of the fingers (mm)",
        "Effort at the pad (N)",
        "Pressure in the line (MPa)",
        "Travel of the pedal (mm)",
        "frees the disc from 7.2 mm",
        "most the cover may take 10.8 mm",
        "disc free at 126 mm",
        "no more than 145 N wanted",
    ] {
        assert!(
            texts.iter().any(|text| text == wanted),
            "{wanted} is not in {texts:?}"
        );
    }
}

#[test]
fn a_clutch_that_does_not_free_has_no_point_of_release() {
    let svg = drawn(
        &worked("examples/fails/short-release.clutch")[0],
        Size::Page,
    );
    assert!(!texts(&svg).iter().any(|text| text.contains("disc free at")));
    assert!(svg.contains("the disc does not come free"));
}

#[test]
fn a_cable_has_a_pull_and_no_pressure() {
    let systems = worked("examples/larkfield.clutch");
    let cable = systems
        .iter()
        .find(|w| w.system.name == "larkfield_cable")
        .unwrap();
    let texts = texts(&drawn(cable, Size::Page));
    assert!(texts.iter().any(|text| text.contains("Pull in the cable")));
    assert!(!texts.iter().any(|text| text.contains("Pressure")));
}

#[test]
fn the_authors_units_are_on_the_axes() {
    let text = plain("inches", "")
        .replace("150 mm", "6 in")
        .replace("19 mm", "0.75 in")
        .replace("22.2 mm", "0.875 in")
        .replace("36 mm", "1.4 in")
        .replace("32 mm", "1.25 in")
        .replace("7.2 mm to 10.8 mm", "0.28 in to 0.42 in")
        .replace("1500 N", "340 lbf");
    let texts = texts(&drawn(&of_text(&text), Size::Page));
    for wanted in [
        "Travel of the fingers (in)",
        "Effort at the pad (lbf)",
        "Travel of the pedal (in)",
    ] {
        assert!(texts.iter().any(|text| text == wanted), "{texts:?}");
    }
}

#[test]
fn tolerances_make_a_band() {
    let bands = |worked: &Worked| drawn(worked, Size::Page).matches("<polygon").count();
    let exact = of_text(&plain("exact", ""));
    let toleranced = of_text(
        &plain("toleranced", "")
            .replace("150 mm", "150 mm ± 3 mm")
            .replace("22.2 mm", "22.2 mm ± 0.2 mm"),
    );
    assert_eq!(bands(&exact), 0);
    assert_eq!(bands(&toleranced), 4);
}

#[test]
fn a_system_that_is_not_worked_out_is_not_drawn() {
    let text = plain("half", "").replace("ratio = 6", "");
    assert_eq!(curves(&of_text(&text), Size::Page), None);
}
