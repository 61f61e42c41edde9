//! The fitting sheet: its contents, that it is well-formed, and that nothing in a spec has an effect in it.

mod common;

use bitepoint::analysis::{Report, Worked, analyse};
use bitepoint::check_id::CheckId;
use bitepoint::checks::Finding;
use bitepoint::faces::Disk;
use bitepoint::faces::render::{MAX_ANSWER_BYTES, chain_drawing};
use bitepoint::faces::sheet::{Extent, Form, SheetOptions, sheet, sheet_with};
use bitepoint::finding::Severity;
use bitepoint::model::Files;
use bitepoint::quantity::Dimension;
use common::{Library, SOUND, source};
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

/// The page as a tree. It is XML as well as HTML, and an XML parser accepts no mistakes.
fn parsed(html: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(html, options).unwrap()
}

fn of(report: &Report, form: Form) -> String {
    let systems: Vec<&Worked> = report.worked_systems().collect();
    sheet(report, &systems, form).0
}

/// No script and no fetches.
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
        "img",
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
            assert!(!name.starts_with("on"), "{name}");
            assert!(name != "src" || attribute.value().starts_with("data:image/"));
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
            let mut output = bitepoint(&["sheet", path, "--full"]);
            if path.ends_with("kit.clutch") {
                assert_eq!(output.status.code(), Some(2), "a kit is more than one car");
                let pick = "master=yard_19,slave=hy_s22";
                output = bitepoint(&["sheet", path, "larkfield_kit", "--pick", pick, "--full"]);
            }
            let html = out(&output);
            assert_inert(&html);
            let heads = ["DO NOT FIT AS IT IS", "It dragged as measured"];
            let said = heads.iter().find_map(|head| html.find(head));
            assert_eq!(
                output.status.code(),
                Some(i32::from(said.is_some())),
                "{path}"
            );
            assert!(said.is_none_or(|at| at < html.find("What to buy").unwrap()));
            let drawings = html.matches("role=\"img\"").count();
            assert_eq!(drawings, 2 * html.matches("<article").count(), "{path}");
        }
    }
}

/// Two pages for the fitter; the rest only with `--full`.
#[test]
fn the_sheet_has_only_what_the_fitter_needs() {
    let sheet = |full: &[&str]| {
        let arguments = [
            "sheet",
            "examples/larkfield.clutch",
            "larkfield",
            "--format",
            "md",
        ];
        out(&bitepoint(&[&arguments[..], full].concat()))
    };
    let (short, full) = (sheet(&[]), sheet(&["--full"]));
    let sections = |page: &str| -> Vec<String> {
        let heads = page.lines().filter_map(|line| line.strip_prefix("## "));
        heads.map(str::to_owned).collect()
    };
    let fitting = [
        "Verdict",
        "What to buy or make",
        "Cut and set",
        "Bleed it",
        "Check it on the car",
        "What the reading means",
        "Cautions",
    ];
    assert_eq!(sections(&short), fitting);
    assert_eq!(sections(&full)[..fitting.len()], fitting);
    assert!(sections(&full).contains(&"All results".to_owned()));
    assert!(full.starts_with(short.trim_end()), "the same two pages");
}

/// The heading has the shop's name; its picture is embedded, and none is read from elsewhere.
#[test]
fn the_heading_is_the_shops() {
    const PNG: &[u8] = b"\x89PNG\r\n\x1a\n and the rest of it";
    let folder = common::folder(&[("shop/a.clutch", SOUND)]);
    let shop = folder.path().join("shop");
    std::fs::write(shop.join("logo.png"), PNG).unwrap();
    std::fs::write(folder.path().join("secret.png"), PNG).unwrap();
    let sheet = |logo: &str| {
        let toml =
            format!("[shop]\nname = \"Heron <Yard>\"\ncontact = \"555 0100\"\nlogo = \"{logo}\"\n");
        std::fs::write(shop.join("bitepoint.toml"), toml).unwrap();
        common::bitepoint(&shop, &["sheet", "a.clutch"])
    };
    let (status, html, _) = sheet("logo.png");
    assert_eq!(status, 0);
    assert_inert(&html);
    assert!(html.contains("Heron &lt;Yard&gt;") && html.contains("555 0100"));
    assert!(
        html.contains("src=\"data:image/png;base64,iVBORw0KGgog"),
        "{html}"
    );
    let (status, _, said) =
        common::bitepoint(&shop, &["sheet", "a.clutch", "--output", "logo.png"]);
    assert_eq!(
        (status, std::fs::read(shop.join("logo.png")).unwrap()),
        (2, PNG.to_vec()),
        "{said}"
    );
    for (logo, why) in [
        ("../secret.png", "lies outside the folder of the settings"),
        ("none.png", "does not exist"),
        ("a.clutch", "is no PNG, JPEG or SVG picture"),
    ] {
        let (status, html, said) = sheet(logo);
        assert_eq!((status, &*html), (2, ""), "{logo}");
        assert!(said.contains(why), "{logo}: {said}");
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
fn the_chain_is_drawn_to_scale_with_a_note_on_what_is_not() {
    let html = out(&bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "larkfield",
        "--full",
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
    for wanted in [300.0, 128.0, 112.0 / 4_f64.to_radians().cos() + 68.0] {
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
        "--full",
    ]));
    assert!(ratios.contains("only their ratio is given"));
}

#[test]
fn the_fork_is_drawn_the_same_whichever_word_says_its_way() {
    let drawn = |moves: &str, gearbox: &str| {
        let text = SOUND
            .replace("moves = rearward", &format!("moves = {moves}"))
            .replace("slave {", &format!("{gearbox}\n    slave {{"));
        let report = analyse(source("a.clutch", &text), &Library::default());
        chain_drawing(report.worked_systems().next().unwrap()).unwrap()
    };
    let (behind, ahead) = ("", "gearbox { side = ahead }");
    let away = drawn("rearward", behind);
    let towards = drawn("forward", behind);
    assert_ne!(away, towards);
    assert_eq!(drawn("from_engine", behind), away);
    assert_eq!(drawn("to_engine", behind), towards);
    // A gearbox ahead of its engine turns the car's ends about, and the engine's side stays.
    assert_eq!(drawn("forward", ahead), away);
    assert_eq!(drawn("rearward", ahead), towards);
    assert_eq!(drawn("from_engine", ahead), away);
    assert_eq!(drawn("to_engine", ahead), towards);
}

/// A relay lever is drawn between slave and fork, to scale, and turns.
#[test]
fn relay_levers_are_drawn() {
    let drawn = |relay: &str| {
        let text = SOUND.replace("slave {", &format!("{relay}\n    slave {{"));
        let report = analyse(source("a.clutch", &text), &Library::default());
        chain_drawing(report.worked_systems().next().unwrap()).unwrap()
    };
    let relay = |at: &str, more: &str| {
        drawn(&format!(
            "relay idler {{ at = {at}  in_arm = 60 mm  out_arm = 60 mm {more} }}"
        ))
    };
    let (without, same) = (drawn(""), relay("fork", "reverses = no"));
    assert!(!without.contains("idler") && same.contains("idler, turns"));
    // The arms are on one side of the shaft or on both.
    let both = relay("fork", "reverses = yes");
    assert_ne!(same, both);
    let guess = "on which sides of its shaft";
    assert!(!both.contains(guess) && relay("fork", "").contains(guess));
    let ahead = relay("pedal", "");
    assert!(ahead.contains("idler, turns") && ahead != relay("fork", ""));
    // 60 mm apart, shaft and pin, whatever else is in the picture.
    let lines = parsed(&both);
    let arms = lines
        .descendants()
        .filter_map(|node| node.attribute("points"));
    let is_lever = |points: &str| {
        let points: Vec<(f64, f64)> = points
            .split_whitespace()
            .filter_map(|point| point.split_once(','))
            .map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()))
            .collect();
        let [a, shaft, b] = points.as_slice() else {
            return false;
        };
        let length = |to: &(f64, f64)| (to.0 - shaft.0).hypot(to.1 - shaft.1);
        (length(a) - 60.0).abs() < 0.02 && (length(b) - 60.0).abs() < 0.02
    };
    assert_eq!(arms.filter(|points| is_lever(points)).count(), 2);
    // A cable in a lever's place has no arms.
    let cable = drawn("relay pull { at = fork  bends = 90 deg  friction = 0.06 }");
    assert!(!cable.contains("pull, turns"));
}

/// What is set on the pedal besides its stop: the switches, and where the master is.
#[test]
fn switches_and_the_masters_place_are_on_the_sheet() {
    let pedal = "pad_arm = 300 mm  rod_arm = 50 mm  start_switch = 137 mm  cruise_switch = 7 mm  rod_length = 120 mm  \
                 rod_offset = -3.5 mm";
    let text = SOUND.replace("ratio = 6  travel", &format!("{pedal}  travel"));
    let report = analyse(source("a.clutch", &text), &Library::default());
    let sheet = of(&report, Form::Markdown);
    for (step, value) in [
        ("starter runs from this pad travel on", "137 mm"),
        ("cruise control turns off at this pad travel", "7 mm"),
        ("toward the pedal's pivot by", "3.5 mm"),
    ] {
        let line = sheet.lines().find(|line| line.contains(step));
        assert!(
            line.is_some_and(|line| line.contains(value)),
            "{step} in {sheet}"
        );
    }
}

/// Where the fork's pivot is, and the shim under it if the fork is not square.
#[test]
fn the_pivots_shim_is_on_the_sheet() {
    let sheet = |path: &str| out(&bitepoint(&["sheet", path, "--format", "md"]));
    let right = sheet("examples/fork-on-its-pivot.clutch");
    assert!(right.contains("Center of the fork pivot's ball"), "{right}");
    assert!(right.contains("54.7 mm"), "{right}");
    let off = sheet("examples/fails/fork-angle.clutch");
    assert!(off.contains("Lower the fork pivot by this much"), "{off}");
    let none = sheet("examples/pull-cover.clutch");
    assert!(!none.contains("fork pivot's ball"));
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

/// Every stroke that a tape may show has a row near it, down to zero, in the author's units.
#[test]
fn the_readings_reach_down_to_zero() {
    let inches = SOUND
        .replace("150 mm", "5 7/8 in")
        .replace("36 mm", "1 3/8 in");
    let report = analyse(source("inches.clutch", &inches), &Library::default());
    let larkfield = out(&bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "--format",
        "md",
    ]));
    for text in [of(&report, Form::Markdown), larkfield] {
        let tables = text.split("| Measured at full pedal |").skip(1);
        assert!(tables.clone().count() > 0, "{text}");
        for table in tables {
            let rows = table
                .lines()
                .skip(2)
                .take_while(|line| line.starts_with('|'));
            let strokes: Vec<f64> = rows
                .map(|row| {
                    let cell = row.split('|').nth(1).unwrap().replace('*', "");
                    cell.split_whitespace().next().unwrap().parse().unwrap()
                })
                .collect();
            let full = strokes[0];
            assert_eq!(strokes.last(), Some(&0.0), "{table}");
            assert!(strokes.len() < 24, "{table}");
            for pair in strokes.windows(2) {
                let step = pair[0] - pair[1];
                assert!(step > 0.0 && step < 0.26 * full, "{pair:?}: {table}");
            }
        }
    }
}

#[test]
fn a_stroke_that_is_too_short_leads_to_the_next_reading() {
    let page = out(&bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "larkfield",
        "--full",
        "--format",
        "md",
    ]));
    let (_, short) = page.split_once("## When it falls short").unwrap();
    let (short, _) = short.split_once("\n## ").unwrap();
    for part in [
        "- there is 1.18 cc of air in the fluid",
        "| master travel | ",
        "bitepoint diagnose",
    ] {
        assert!(short.contains(part), "no `{part}`: {short}");
    }
}

/// Readings on one car are not a fault of the spec.
#[test]
fn a_clutch_that_drags_by_its_readings_is_reported_about_the_car() {
    let of_readings = |readings: &str| {
        let text = format!("{SOUND}system car from sound {{\n    {readings}\n}}\n");
        let report = analyse(source("car.clutch", &text), &Library::default());
        let worked = report.worked_systems().nth(1).unwrap();
        sheet(&report, &[worked], Form::Markdown).0
    };
    let drags = "measured first { slave_travel = 9 mm }";
    let text = of_readings(drags);
    assert!(
        text.contains("DO NOT DRIVE: the clutch drags as measured"),
        "{text}"
    );
    assert!(!text.contains("DO NOT FIT"), "{text}");
    let text = of_readings(&format!("{drags}\n    measured second {{ frees = yes }}"));
    assert!(text.contains("on the last one it does not"), "{text}");
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
fn files_that_cannot_be_read_or_written_are_reported() {
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

/// A mistake in one system does not affect the sheet of another.
#[test]
fn a_sheet_counts_only_its_own_findings() {
    let other = "system other {
    pedal { ratio = 6  travel = 150 mm  efficiency = 3 }
    master { bore = 3 N  stroke = 36 mm }
}
part slave spare { bore = 3 N  stroke = 30 mm }
let spare = 3 mm + 2 N
";
    let text = format!("{SOUND}system more from sound {{ pedal {{ travel = 90 mm }} }}\n{other}");
    let report = analyse(source("two.clutch", &text), &Library::default());
    let errors = |name: &str| {
        let systems: Vec<&Worked> = report
            .worked_systems()
            .filter(|worked| worked.system.name == name)
            .collect();
        let (page, _) = sheet(&report, &systems, Form::Markdown);
        page.matches("> **error: ").count()
    };
    assert_eq!(errors("sound"), 0);
    assert_eq!(errors("more"), 1, "it is too short of travel");
    assert!(errors("other") >= 3);
    // What a base says wrong is wrong in what starts from it.
    let text = "system base { pedal { ratio = 6  travel = 150 N } }\nsystem two from base {}\n";
    let report = analyse(source("base.clutch", text), &Library::default());
    let page = of(&report, Form::Markdown);
    assert_eq!(page.matches("error: wrong-unit").count(), 2);
}

/// The rod's length is on the sheet once, with its tolerance. If the spec has two lengths, none may be cut.
#[test]
fn a_rod_has_one_length() {
    let page = |slave: &str| {
        let text = SOUND.replace(
            "rest_extension = 6 mm",
            &format!("rest_extension = 0.2 in  {slave}"),
        );
        let report = analyse(source("rod.clutch", &text), &Library::default());
        of(&report, Form::Markdown)
    };
    let cut = "mount_to_fork = 4 in ± 0.02 in  face_to_seat = 0.5 in";
    let one = page(&format!("{cut}  rod_offset = 0.6 in"));
    assert!(
        one.contains("Cut the slave's rod to this length, from seat to seat: **110 mm (4 11/32 in), 110 mm to 111 mm**"),
        "{one}"
    );
    let two = page(&format!("{cut}  rod_offset = 0.6 in  rod_length = 9 in"));
    assert!(
        two.contains("Do not cut the slave's rod yet. The spec says that it is 229 mm (9 in) long"),
        "{two}"
    );
    assert!(two.contains("error: rod-length") && !two.contains("Cut the slave's rod to this"));
    let agreed = page(&format!("{cut}  rod_offset = 0.6 in  rod_length = 4.34 in"));
    assert!(!agreed.contains("rod length"), "{agreed}");
    let given = page("rod_length = 9 in");
    assert!(
        given.contains("from seat to seat, has a length of: **229 mm (9 in)"),
        "{given}"
    );
}

#[test]
fn a_sheet_of_very_many_systems_says_which_it_leaves_out() {
    let derived: String = (0..400)
        .map(|i| format!("system s{i} from sound {{}}\n"))
        .collect();
    let text = format!("{SOUND}{derived}");
    let report = analyse(source("many.clutch", &text), &Library::default());
    let systems: Vec<&Worked> = report.worked_systems().collect();
    let full = SheetOptions {
        extent: Extent::Full,
        ..SheetOptions::default()
    };
    for form in [Form::Html, Form::Markdown] {
        let (page, left_out) = sheet_with(&report, &systems, form, &full);
        assert!(page.len() < MAX_ANSWER_BYTES + (1 << 20), "{}", page.len());
        match left_out {
            Some(left_out) => {
                assert_eq!(left_out.of, 401);
                let kept = left_out.of - left_out.count;
                assert_eq!(left_out.first, systems[kept].system.name);
                let said = format!(
                    "{} of 401 systems are left out, from `{}` on",
                    left_out.count, left_out.first
                );
                assert!(page.replace('\\', "").contains(&said));
            }
            None => assert_eq!(form, Form::Markdown, "the pages are larger than that"),
        }
    }
    assert_inert(&sheet(&report, &systems, Form::Html).0);
}

// ---- what a spec that fails orders, and what one number is for ----

/// The report of an example on the disk, with the files that it uses.
fn report_of(path: &Path) -> Report {
    let disk = Disk::default();
    analyse(disk.read(&Disk::name(path)).unwrap(), &disk)
}

/// The page of one system.
fn page_of(report: &Report, worked: &Worked) -> String {
    sheet(report, &[worked], Form::Markdown).0
}

/// One section of a page.
fn section<'p>(page: &'p str, title: &str) -> &'p str {
    let (_, rest) = page
        .split_once(&format!("## {title}\n"))
        .unwrap_or_default();
    rest.split_once("\n## ")
        .map_or(rest, |(section, _)| section)
}

/// The page of an example that fails.
fn failing(name: &str) -> String {
    let path = format!("examples/fails/{name}.clutch");
    out(&bitepoint(&["sheet", &path, "--format", "md"]))
}

const NOT_YET: &str = "This spec does not work yet (see above). Do not cut or set anything by it.";

#[test]
fn a_setting_that_a_finding_contradicts_is_not_given() {
    for (name, against, ordered) in [
        (
            "over-release.twin-disc",
            "The pedal stop: not as this spec has it. See “over-release” above",
            "148 mm",
        ),
        (
            "no-wear-room",
            "The slave's rod: not as this spec has it. See “no-wear-room” above",
            "136 mm",
        ),
        (
            "free-travel-twice",
            "Free play at the pad: not as this spec has it. See “free-travel-twice” above",
            "28.8 mm",
        ),
    ] {
        let page = failing(name);
        let orders = section(&page, "Cut and set");
        assert!(orders.contains(against), "{name}: {orders}");
        assert!(!orders.contains(ordered), "{name}: {orders}");
    }
    let gap = failing("setup-gap");
    let gap = section(&gap, "Cut and set");
    assert!(gap.contains("until this gap is left: **6 mm"), "{gap}");
    assert!(!gap.contains("**9 mm"), "{gap}");
}

#[test]
fn a_bearing_that_goes_the_wrong_way_frees_no_disc() {
    for name in ["wrong-way", "wrong-way.pull-cover"] {
        let page = failing(name);
        assert!(page.contains("The pedal never frees the disc"), "{page}");
        for said in ["Releases at", "| frees |", "still frees", "comes free"] {
            assert!(!page.contains(said), "{name}: {said}: {page}");
        }
    }
    let short = failing("short-release");
    assert!(!short.contains("frees**"), "{short}");
}

/// No line gives a setting that an error is about, judged by the places in the text alone. The sheet of a spec with
/// an error says once that nothing may be cut or set by it.
#[test]
fn no_setting_is_given_that_an_error_is_about() {
    let (mut with_errors, mut held) = (0, 0);
    for path in common::examples() {
        let report = report_of(&path);
        for worked in report.worked_systems().filter(|w| w.outcome.is_ok()) {
            let page = page_of(&report, worked);
            let orders = section(&page, "Cut and set");
            let errors: Vec<_> = report
                .findings_of(worked)
                .filter(|f| f.severity == Severity::Error)
                .filter(|f| f.check.id != CheckId::DragsAsMeasured)
                .collect();
            let said = page.matches(NOT_YET).count();
            assert_eq!(said, usize::from(!errors.is_empty()), "{path:?}: {page}");
            with_errors += said;
            let fields = worked
                .system
                .components()
                .flat_map(|c| c.fields.iter().flatten());
            for given in fields {
                let Some(value) = given.number() else {
                    continue;
                };
                let is_about = |f: &&&Finding| {
                    let places = f.problem.related.iter();
                    let mut of_field = places.filter(|r| r.message.ends_with(" is given here"));
                    f.problem.place == given.place || of_field.any(|r| r.place == given.place)
                };
                let Some(error) = errors.iter().find(is_about) else {
                    continue;
                };
                let shown = worked.system.display.show(value, Dimension::LENGTH);
                let ends = [format!(": **{shown}**"), format!(": **{shown} (")];
                let is_ordered = ends.iter().any(|end| orders.contains(end));
                assert!(
                    !is_ordered,
                    "{path:?}: {}: {shown}: {orders}",
                    error.check.name()
                );
                held += 1;
            }
        }
    }
    assert!(with_errors > 10 && held >= 10, "{with_errors}, {held}");
}

/// The rows as people read them. None occurs twice, and no stroke that drags is as long as one that releases. The
/// least stroke that releases does release, in either system of units.
#[test]
fn a_reading_has_one_row_and_one_verdict() {
    let inches = SOUND
        .replace("150 mm", "5 7/8 in")
        .replace("36 mm", "1 3/8 in");
    let mut reports: Vec<Report> = common::examples().iter().map(|p| report_of(p)).collect();
    reports.push(analyse(
        source("inches.clutch", &inches),
        &Library::default(),
    ));
    for travel in 0..40 {
        let travel = format!("{} mm", 140.0 + 0.37 * f64::from(travel));
        let text = SOUND.replace("150 mm", &travel);
        reports.push(analyse(source("travel.clutch", &text), &Library::default()));
    }
    let (mut tables, mut leasts) = (0, 0);
    for report in &reports {
        for worked in report.worked_systems() {
            let Ok(outcome) = &worked.outcome else {
                continue;
            };
            let page = page_of(report, worked);
            let rows: Vec<Vec<String>> = section(&page, "What the reading means")
                .lines()
                .filter(|line| line.starts_with('|'))
                .skip(2)
                .map(|row| {
                    row.replace("**", "")
                        .split('|')
                        .map(|c| c.trim().to_owned())
                        .collect()
                })
                .collect();
            tables += usize::from(!rows.is_empty());
            let strokes: Vec<&String> = rows.iter().map(|row| &row[1]).collect();
            let number = |text: &str| text.split(' ').next().unwrap().parse::<f64>().unwrap();
            let falls = strokes
                .windows(2)
                .all(|pair| number(pair[0]) > number(pair[1]));
            assert!(falls, "{strokes:?}: {page}");
            let drags = rows
                .iter()
                .position(|row| row[3] == "drags")
                .unwrap_or(rows.len());
            assert!(rows[drags..].iter().all(|row| row[3] == "drags"), "{page}");
            let Some((_, least)) = page.split_once("With less, do not drive: **") else {
                continue;
            };
            leasts += 1;
            let least = least.split(" or more").next().unwrap();
            let frees = outcome.freeing_stroke().unwrap();
            for shown in least.trim_end_matches(')').split(" (") {
                let (number, unit) = shown.split_once(' ').unwrap();
                let scale = if unit == "in" { 25.4 } else { 1.0 };
                let mm = number.parse::<f64>().unwrap() * scale;
                assert!(
                    mm >= frees - 1e-9 && mm < 1.011 * frees,
                    "{least} of {frees} mm"
                );
            }
        }
    }
    assert!(tables > 40 && leasts > 40, "{tables}, {leasts}");
}

/// One number for one setting; a better value is only in the full sheet.
#[test]
fn a_setting_has_one_number() {
    let sheet = |path: &str, full: &[&str]| {
        let arguments = [&["sheet", path, "--format", "md"], full].concat();
        out(&bitepoint(&arguments))
    };
    let larkfield = sheet("examples/larkfield.clutch", &[]);
    assert!(
        larkfield.contains("Set the slave's bore nearer the fork pivot than the rod's seat in the fork, by: **0.5 mm (0.02 in)**"),
        "{larkfield}"
    );
    assert!(!larkfield.contains("0.36 mm"), "{larkfield}");
    assert!(
        sheet("examples/larkfield.clutch", &["--full"]).contains("| rod offset best | 0.36 mm")
    );
    let pivot = sheet("examples/fork-on-its-pivot.clutch", &[]);
    assert!(!pivot.contains("2.91 mm"), "{pivot}");
}

/// An accepted runout needs nothing; beyond it, offset dowels move the housing.
#[test]
fn a_housing_is_moved_by_dowels_or_left_alone() {
    let page = |bell: &str| {
        let text = SOUND.replace(
            "slave {",
            &format!("bellhousing {{ {bell} }}\n    slave {{"),
        );
        of(
            &analyse(source("a.clutch", &text), &Library::default()),
            Form::Markdown,
        )
    };
    let good = page("runout = 0.14 mm");
    assert!(
        good.contains("Bell housing runout reads 0.14 mm (0.006 in) in all; 0.2 mm (0.008 in) is accepted: leave it"),
        "{good}"
    );
    let off = page("runout = 0.5 mm");
    assert!(
        off.contains("Fit offset dowels so that the housing moves towards the high reading, then measure again. Move it by: **0.25 mm"),
        "{off}"
    );
    assert!(
        !off.contains("leave it") && !off.contains("on its dowels"),
        "{off}"
    );
    let cured = page("runout = 0.5 mm  dowel_offset = 0.25 mm");
    assert!(cured.contains("Dowel offset: **0.25 mm"), "{cured}");
}

/// The pad's free play comes first; the cable's end is a part of it.
#[test]
fn free_play_is_set_at_the_pad() {
    let page = out(&bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "larkfield_cable",
        "--format",
        "md",
    ]));
    let orders = section(&page, "Cut and set");
    let whole = orders.find("Free play at the pad, until the bearing touches the fingers: **");
    let part = orders.find("Slack of the cable, measured at its pedal end, not at the pad: **");
    assert!(whole.is_some() && whole < part, "{orders}");
}

/// The missing fields are named, and no others.
#[test]
fn a_rod_that_is_not_worked_out_says_what_it_needs() {
    let page = |slave: &str| {
        let text = SOUND.replace(
            "rest_extension = 6 mm",
            &format!("rest_extension = 12 mm  {slave}"),
        );
        of(
            &analyse(source("a.clutch", &text), &Library::default()),
            Form::Markdown,
        )
    };
    let none = page("").replace('\\', "");
    assert!(
        none.contains(
            "Rod length: not worked out; it needs slave.mount_to_fork and slave.face_to_seat. Cut the rod so that, pedal up \
             and new disc, the piston is out of its fully home position by: **12 mm"
        ),
        "{none}"
    );
    assert_eq!(none.matches("fully home position by").count(), 1);
    let one = page("mount_to_fork = 118 mm").replace('\\', "");
    assert!(one.contains("it needs slave.face_to_seat. Cut"), "{one}");
}

/// A reading to take next is no cure, and a lack of bearing room is reported as that.
#[test]
fn the_verdict_distinguishes_cures_from_readings() {
    let text =
        format!("{SOUND}system car from sound {{\n    measured {{ slave_travel = 9 mm }}\n}}\n");
    let report = analyse(source("car.clutch", &text), &Library::default());
    let page = page_of(&report, report.worked_systems().nth(1).unwrap());
    assert!(page.contains("> Measure next: half travel. "), "{page}");
    assert!(!page.contains("To cure it: Read"), "{page}");
    let worn = failing("no-wear-room");
    assert!(worn.contains("short of room on a worn disc"), "{worn}");
    assert!(
        !worn.contains("left for wear") && !worn.contains("left on a worn disc"),
        "{worn}"
    );
}

/// Where a gear must be engaged, the sheet says how to do it safely.
#[test]
fn the_point_of_release_is_measured_in_gear() {
    let page = failing("heavy-pedal");
    let line = page
        .lines()
        .find(|line| line.contains("Travel of the pad at which the wheel turns"));
    let line = line.unwrap();
    for said in [
        "off the ground on stands",
        "engine off, in gear",
        "One helper holds one drive wheel still, another tries to turn the other",
    ] {
        assert!(line.contains(said), "{line}");
    }
    assert!(
        page.contains("let the parking brake off only if it holds a drive wheel"),
        "{page}"
    );
}

/// A hose's swelling is given as on its data sheet.
#[test]
fn a_hose_in_inches_swells_as_its_data_sheet_says() {
    let text = "system s {
    pedal { ratio = 6  travel = 5 7/8 in }
    master { bore = 3/4 in  stroke = 1 3/8 in }
    line flex { bore = 1/8 in  length = 14 in  expansion = 0.33 cc/ft / 1000 psi }
    line other { bore = 1/8 in  length = 14 in  expansion = 0.157 cc/m/MPa }
    slave { bore = 7/8 in  stroke = 1.2 in }
    fork { ratio = 1.65 }
    cover { release_travel = 0.295 in to 0.433 in  release_load = 340 lbf }
}
";
    let report = analyse(source("a.clutch", text), &Library::default());
    let page = of(&report, Form::Markdown);
    assert!(
        page.contains("expansion 0.157 cc/m/MPa"),
        "as its author names it: {page}"
    );
    assert!(page.contains("expansion 0.33 cc/ft at 1000 psi"), "{page}");
    assert!(!page.contains("in^3/ft/psi"), "{page}");
}

/// The screw is open only on the way down. Off the car, only a clamp keeps a piston in its bore.
#[test]
fn bleeding_is_described_step_by_step() {
    let page = out(&bitepoint(&[
        "sheet",
        "examples/larkfield.clutch",
        "larkfield",
        "--format",
        "md",
    ]));
    let bleed = section(&page, "Bleed it");
    let mut from = 0;
    for step in [
        "bleed it on the bench first",
        "Push the slave's piston fully home",
        "eye protection",
        "Open the bleed screw while the pedal goes down; shut it before the pedal comes up.",
        "at least 4 full strokes",
        "Leave no pause between strokes",
        "Pump test",
    ] {
        let at = bleed[from..].find(step);
        assert!(at.is_some(), "{step} in its place: {bleed}");
        from += at.unwrap();
    }
    // Off the car nothing but a clamp keeps a piston in its bore.
    let slave = "slave { slope = 5 deg  chamber = 30 mm ";
    let text = SOUND.replace("slave {", slave);
    let page = of(
        &analyse(source("a.clutch", &text), &Library::default()),
        Form::Markdown,
    );
    let bleed = section(&page, "Bleed it");
    let clamp = bleed.find("and clamp it there: off the car nothing else holds it");
    let off =
        bleed.find("Unbolt the slave, its piston clamped fully home, and tilt it by 5 deg or more");
    assert!(clamp.is_some() && clamp < off, "{bleed}");
}

/// A slave that was clamped fully home works again before the first test presses the pedal.
#[test]
fn a_clamped_slave_is_let_out_before_the_pump_test() {
    let page = failing("over-release");
    let at = |said: &str| page.find(said).unwrap_or_else(|| panic!("{said}: {page}"));
    let steps = ["clamp it there", "Take the clamp off", "Pump test"].map(at);
    assert!(steps.is_sorted(), "{page}");
}

/// The sheet gives one number for the pedal stop: the verdict's. The cover's limit is in brackets, and the rows past it
/// say so.
#[test]
fn a_stroke_past_the_covers_limit_frees_nothing() {
    let page = failing("over-release");
    assert!(page.contains("Fit a pedal stop where the verdict above says"));
    assert!(!page.contains("Fit a pedal stop before this pad travel"));
    assert!(page.contains("that the cover takes. With more, stop pressing"));
    let row = page
        .lines()
        .find(|line| line.contains("past the cover's limit"));
    assert!(row.is_some_and(|row| !row.contains("frees")), "{page}");
}
