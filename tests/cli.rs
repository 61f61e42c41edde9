//! The command line, as the real program that people run.

mod common;

use common::{SOUND, folder};
use serde_json::Value;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Runs the program in the project's folder.
fn bitepoint(arguments: &[&str]) -> Output {
    bitepoint_in(Path::new(env!("CARGO_MANIFEST_DIR")), arguments, b"")
}

fn bitepoint_in(folder: &Path, arguments: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(arguments)
        .current_dir(folder)
        .env_remove("NO_COLOR")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that has seen enough may leave before it has read everything.
    let _ = child.stdin.take().unwrap().write_all(input);
    child.wait_with_output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn status(output: &Output) -> i32 {
    output.status.code().unwrap()
}

#[test]
fn check_shows_the_lines_and_fails() {
    let output = bitepoint(&["check", "examples/fails/short-release.clutch"]);
    assert_eq!(status(&output), 1);
    insta::assert_snapshot!(out(&output));
}

#[test]
fn a_clean_folder_is_clean() {
    let output = bitepoint(&["check", "examples/larkfield.clutch", "examples/parts"]);
    assert_eq!(out(&output), "4 systems in 3 files: nothing to report\n");
    assert_eq!(status(&output), 0);
}

#[test]
fn the_failing_level_is_the_users() {
    let folder = folder(&[("a.clutch", &format!("let spare = 3 mm\n{SOUND}"))]);
    let run = |level: &[&str]| {
        let arguments = [&["check", "a.clutch"], level].concat();
        status(&bitepoint_in(folder.path(), &arguments, b""))
    };
    assert_eq!(run(&[]), 0);
    assert_eq!(run(&["--fail-on", "hint"]), 1);
}

#[test]
fn folders_are_searched_and_ignore_files_respected() {
    let folder = folder(&[
        ("a.clutch", SOUND),
        ("deep/er/b.clutch", SOUND),
        ("deep/note.txt", "no spec"),
        ("old/c.clutch", "nonsense {"),
        (".gitignore", "old/\n"),
    ]);
    let output = bitepoint_in(folder.path(), &["check", "--format", "json"], b"");
    let found: Value = serde_json::from_str(&out(&output)).unwrap();
    assert_eq!(found["version"], 1);
    assert_eq!(
        found["files"],
        serde_json::json!(["a.clutch", "deep/er/b.clutch"])
    );
    assert_eq!(found["counts"]["error"], 0);
}

#[test]
fn standard_input_is_a_file_like_any_other() {
    let text = SOUND.replace("7/8 in", "22,2 mm");
    let output = bitepoint_in(
        Path::new("."),
        &["check", "-", "--format", "json"],
        text.as_bytes(),
    );
    assert_eq!(status(&output), 1);
    let found: Value = serde_json::from_str(&out(&output)).unwrap();
    let finding = &found["findings"][0];
    assert_eq!(finding["check"], "syntax");
    assert_eq!(finding["file"], "<standard input>");
    assert_eq!(finding["start"]["line"], 4);
    assert_eq!(finding["start"]["column"], 20);
    assert_eq!(finding["fixes"][0]["edits"][0]["text"], "22.2");
}

#[test]
fn columns_count_characters() {
    let output = bitepoint_in(
        Path::new("."),
        &["check", "-", "--format", "json"],
        "let é = 1 mm ± 2 🚗 mm".as_bytes(),
    );
    let found: Value = serde_json::from_str(&out(&output)).unwrap();
    let place = &found["findings"][0];
    assert_eq!(
        place["start"],
        serde_json::json!({"line": 1, "column": 18, "offset": 19})
    );
}

#[test]
fn a_run_that_is_not_possible_says_why_with_status_2() {
    let empty = tempfile::tempdir().unwrap();
    for (arguments, words) in [
        (
            &["check", "gone.clutch"][..],
            "`gone.clutch` does not exist",
        ),
        (&["check"], "there is no `.clutch` file in ."),
        (&["calc", "gone.clutch"], "`gone.clutch` does not exist"),
        (
            &["explain", "short-relaese"],
            "did you mean `short-release`?",
        ),
        (&["frobnicate"], "unrecognized subcommand"),
        (&["check", "--format", "xml"], "invalid value 'xml'"),
    ] {
        let output = bitepoint_in(empty.path(), arguments, b"");
        assert_eq!(status(&output), 2, "{arguments:?}");
        assert!(
            err(&output).contains(words),
            "{arguments:?}: {}",
            err(&output)
        );
        assert_eq!(out(&output), "");
    }
}

#[test]
fn a_system_that_is_not_there_names_the_nearest() {
    let output = bitepoint(&["calc", "examples/larkfield.clutch", "larkfeild"]);
    assert_eq!(status(&output), 2);
    assert!(err(&output).contains("did you mean `larkfield`?"));
}

#[test]
fn calc_shows_every_result() {
    let output = bitepoint(&["calc", "examples/larkfield.clutch", "larkfield"]);
    assert_eq!(status(&output), 0);
    insta::assert_snapshot!(out(&output));
}

#[test]
fn calc_for_machines_has_units_reasons_and_assumptions() {
    let folder = folder(&[("a.clutch", SOUND)]);
    let output = bitepoint_in(
        folder.path(),
        &["calc", "a.clutch", "--format", "json"],
        b"",
    );
    let found: Value = serde_json::from_str(&out(&output)).unwrap();
    assert_eq!(found["version"], 1);
    let system = &found["systems"][0];
    assert_eq!(system["name"], "sound");
    // Pascal: (22.225 / 19.05)²
    let ratio = system["results"]["hydraulic_ratio"]["value"]
        .as_f64()
        .unwrap();
    assert!((ratio - 1.361_111).abs() < 1e-6);
    assert_eq!(system["results"]["release_margin"]["unit"], "mm");
    assert_eq!(
        system["absent"]["wear_reserve"],
        "needs disc.wear, and cover.finger_ratio or diaphragm"
    );
    let assumed: Vec<&str> = system["assumed"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row["field"].as_str().unwrap())
        .collect();
    assert!(assumed.contains(&"slave.efficiency"), "{assumed:?}");
}

#[test]
fn calc_holds_the_pedal_where_it_is_told() {
    let at = |travel: &str| {
        let output = bitepoint(&[
            "calc",
            "examples/larkfield.clutch",
            "--at",
            travel,
            "--format",
            "json",
        ]);
        let found: Value = serde_json::from_str(&out(&output)).unwrap();
        found["systems"][0]["results"]["pedal_travel_used"]["value"]
            .as_f64()
            .unwrap()
    };
    assert!((at("90 mm") - 90.0).abs() < 1e-9);
    assert!((at("4 in") - 101.6).abs() < 1e-9);
    // What tolerances do at full pedal says nothing of a pedal held before it.
    let held = bitepoint(&[
        "calc",
        "examples/larkfield.clutch",
        "larkfield",
        "--at",
        "90 mm",
    ]);
    let text = out(&held);
    let used = text.lines().find(|line| line.contains("pedal travel used"));
    assert!(used.is_some_and(|line| line.contains(" 90 mm (")), "{text}");
    assert!(!out(&held).contains("worst case"), "{}", out(&held));
    assert!(text.contains("with the pedal held at 90 mm"), "{text}");
    for wrong in ["90 N", "90", "-90 mm", "90 mm }", "90,5 mm", "90 mm ± 1 mm"] {
        let wrong = bitepoint(&[
            "calc",
            "examples/larkfield.clutch",
            &format!("--at={wrong}"),
        ]);
        assert_eq!(status(&wrong), 2, "{}", out(&wrong));
        assert!(err(&wrong).contains("`--at` needs a length"));
    }
    assert!((at("3 1/2 in") - 88.9).abs() < 1e-9);
    assert!((at("7/2 in") - 88.9).abs() < 1e-9);
}

#[test]
fn calc_reports_a_pedal_travel_that_is_not_reached() {
    let held = |at: &str, file: &str| {
        bitepoint_in(Path::new("."), &["calc", "-", "--at", at], file.as_bytes())
    };
    let stopped = "system a {
    pedal { ratio = 6  travel = 150 mm  stop = 140 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork { ratio = 1.6 }
    cover { release_travel = 7 mm to 11 mm  release_load = 1500 N }
}
";
    let text = out(&held("145 mm", stopped));
    assert!(
        text.contains("145 mm is past full pedal: the pedal stop sets it, at 140 mm. These are the results at 140 mm."),
        "{text}"
    );
    let overrun = stopped.replace("stroke = 30 mm", "stroke = 12 mm");
    let text = out(&held("145 mm", &overrun));
    assert!(
        text.contains(
            "145 mm is past full pedal: the slave reaching the end of its stroke sets it, at 98 mm."
        ),
        "{text}"
    );
    // What is found at full pedal is not said of a pedal held before it.
    let full = bitepoint_in(Path::new("."), &["calc", "-"], overrun.as_bytes());
    assert!(out(&full).contains("slave-overrun"));
    assert!(!out(&held("90 mm", &overrun)).contains("slave-overrun"));
    // What keeps a system from being worked out is.
    let broken = stopped.replace("ratio = 1.6", "ratio = 1.6 mm");
    assert!(out(&held("90 mm", &broken)).contains("wrong-unit"));
}

#[test]
fn the_curve_is_csv_from_rest_to_full_pedal() {
    let output = bitepoint(&[
        "calc",
        "examples/larkfield.clutch",
        "larkfield",
        "--curve",
        "--points",
        "11",
    ]);
    let text = out(&output);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(reader.headers().unwrap().get(1), Some("pad_travel_mm"));
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 11);
    let pad = |row: &csv::StringRecord| row[1].parse::<f64>().unwrap();
    assert_eq!(pad(&rows[0]), 0.0);
    assert!((pad(&rows[10]) - 150.0).abs() < 1e-9);
}

#[test]
fn a_system_that_cannot_be_worked_out_is_said_to_be() {
    let folder = folder(&[("a.clutch", &SOUND.replace("ratio = 6", "ratio = 6 N"))]);
    let output = bitepoint_in(folder.path(), &["calc", "a.clutch"], b"");
    assert_eq!(status(&output), 1);
    assert!(out(&output).contains("not worked out: the spec is incomplete or has mistakes in it"));
}

#[test]
fn fmt_writes_checks_and_pipes() {
    let untidy = SOUND.replace(" = ", "=");
    let folder = folder(&[("a.clutch", &untidy), ("b.clutch", "let x = \n")]);
    let run =
        |arguments: &[&str], input: &str| bitepoint_in(folder.path(), arguments, input.as_bytes());
    let check = run(&["fmt", "--check"], "");
    assert_eq!(status(&check), 1);
    assert_eq!(out(&check), "a.clutch\n");
    assert!(err(&check).contains("`b.clutch` has mistakes in it and is left as it is"));
    assert_eq!(
        std::fs::read_to_string(folder.path().join("a.clutch")).unwrap(),
        untidy
    );
    assert_eq!(out(&run(&["fmt", "-"], &untidy)), SOUND);
    assert_eq!(status(&run(&["fmt", "a.clutch"], "")), 0);
    assert_eq!(
        std::fs::read_to_string(folder.path().join("a.clutch")).unwrap(),
        SOUND
    );
    assert_eq!(
        std::fs::read_to_string(folder.path().join("b.clutch")).unwrap(),
        "let x = \n"
    );
}

#[test]
fn explain_explains_everything_that_it_lists() {
    let list = out(&bitepoint(&["explain"]));
    let names: Vec<&str> = list
        .lines()
        .filter_map(|line| line.strip_prefix("  "))
        .filter(|line| !line.starts_with(' '))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(names.len() > 60, "{names:?}");
    for name in ["short-release", "pedal", "release_margin"] {
        assert!(names.contains(&name), "{name} is not listed");
    }
    for name in names {
        let output = bitepoint(&["explain", name]);
        assert_eq!(status(&output), 0, "{name}");
        assert!(out(&output).starts_with(name), "{name}");
    }
}

#[test]
fn explain_gives_meaning_source_and_examples() {
    let texts: Vec<String> = [
        "short-release",
        "pedal",
        "slave.rest_extension",
        "wear_reserve",
        "engine.torque",
        "units",
    ]
    .iter()
    .map(|what| out(&bitepoint(&["explain", what])))
    .collect();
    insta::assert_snapshot!(texts.join("\n----\n"));
}

#[test]
fn nothing_in_a_spec_controls_a_terminal() {
    let text = "system a \"\u{1b}[31mred\u{7}\" { pedal { travel = \u{1b}[0m } }\nrequire \u{9b}31m <= 3\n";
    for arguments in [&["check", "-"][..], &["calc", "-"]] {
        let output = bitepoint_in(Path::new("."), arguments, text.as_bytes());
        let steering: Vec<char> = out(&output)
            .chars()
            .filter(|c| c.is_control() && *c != '\n')
            .collect();
        assert!(steering.is_empty(), "{steering:?}");
    }
}

#[test]
fn a_reader_that_stops_early_is_no_error() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(["explain"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(err(&output), "");
}

#[test]
fn the_pages_show_what_the_program_says() {
    let readme = include_str!("../README.md");
    let commands = include_str!("../grammar/commands.md");
    for (page, arguments) in [
        (
            readme,
            &["check", "examples/fails/short-release.clutch"][..],
        ),
        (
            commands,
            &["calc", "examples/larkfield.clutch", "larkfield"],
        ),
    ] {
        let output = out(&bitepoint(arguments));
        assert!(
            page.contains(output.trim_end()),
            "{arguments:?} says now:\n{output}"
        );
    }
    // The summary alone.
    let calc = out(&bitepoint(&[
        "calc",
        "examples/larkfield.clutch",
        "larkfield",
    ]));
    let (summary, _) = calc.split_once("\n\n  RELEASE").expect("a table");
    assert!(readme.contains(summary), "{summary}");
}

/// The README is the first page that people read. It must be short, and its links must work.
#[test]
fn the_readme_is_short_and_its_links_lead_somewhere() {
    let readme = include_str!("../README.md");
    assert!(readme.lines().count() <= 160, "{}", readme.lines().count());
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let pages = [
        "README.md",
        "grammar/commands.md",
        "grammar/formats.md",
        "editors/README.md",
    ];
    for page in pages {
        let text = std::fs::read_to_string(root.join(page)).unwrap();
        let folder = root.join(page);
        let folder = folder.parent().unwrap();
        for link in text.split("](").skip(1) {
            let link = link.split(')').next().unwrap_or_default();
            let file = link.split('#').next().unwrap_or_default();
            let is_ours = !link.contains("://") && !file.is_empty();
            assert!(!is_ours || folder.join(file).exists(), "{page}: {link}");
        }
    }
    assert_eq!(readme.matches("![").count(), 2, "pictures");
}

#[test]
fn a_clutch_that_will_not_free_leads_to_its_air_and_back() {
    let example = "examples/fails/air-in-line.clutch";
    let output = bitepoint(&["calc", example, "--format", "json"]);
    let found: Value = serde_json::from_str(&out(&output)).unwrap();
    let results = &found["systems"][0]["results"];
    assert_eq!(results["air_volume"]["unit"], "cc");
    let air = results["air_volume"]["value"].as_f64().unwrap();
    assert!(air > 0.5);
    // The volume as it is printed for people, put into the fluid of the same car.
    let text = format!(
        "use \"{}/examples/larkfield.clutch\"\nsystem back from larkfield {{ fluid {{ air = {air:.3} cc }} }}\n",
        env!("CARGO_MANIFEST_DIR")
    );
    let output = bitepoint_in(
        Path::new("."),
        &["calc", "-", "--format", "json"],
        text.as_bytes(),
    );
    let back: Value = serde_json::from_str(&out(&output)).unwrap();
    let travel = back["systems"][0]["results"]["slave_travel"]["value"]
        .as_f64()
        .unwrap();
    assert!(
        (travel - 12.9).abs() < 0.01,
        "measured 12.9 mm, worked out {travel}"
    );
}

#[test]
fn explain_gives_the_formula_and_the_source_of_every_result_and_default() {
    use bitepoint::schema::{BLOCKS, Presence, ResultId};
    for id in ResultId::all() {
        let text = out(&bitepoint(&["explain", id.spec().name]));
        assert!(
            text.contains("Formula: ") && text.contains("Source: "),
            "{text}"
        );
    }
    for block in BLOCKS {
        for field in block.fields {
            if let Presence::Default { text: default, .. } = field.presence {
                let text = out(&bitepoint(&[
                    "explain",
                    &format!("{}.{}", block.name, field.name),
                ]));
                assert!(
                    text.contains(default) && text.contains("Source: "),
                    "{text}"
                );
            }
        }
    }
}

#[test]
fn calc_says_that_a_library_has_no_system() {
    let output = bitepoint(&["calc", "examples/parts/cylinders.clutch"]);
    assert_eq!(status(&output), 2);
    assert_eq!(
        err(&output),
        "bitepoint: there is no system in `examples/parts/cylinders.clutch`\n"
    );
}

#[test]
fn calc_works_one_combination_out_in_full() {
    let kit = ["calc", "examples/kit.clutch", "larkfield_kit"];
    let all = out(&bitepoint(&kit));
    assert!(all.contains("4 combinations: all work"), "{all}");
    let mut one = kit.to_vec();
    one.extend(["--pick", "master=yard_19,slave=hy_s22"]);
    let one = out(&bitepoint(&one));
    assert!(one.contains("(master yard_19, slave hy_s22)"), "{one}");
    assert!(one.contains("release margin"), "{one}");
    let mut none = kit.to_vec();
    none.extend(["--pick", "master=yard_19"]);
    let none = bitepoint(&none);
    assert_eq!(status(&none), 2);
    assert_eq!(
        err(&none),
        "bitepoint: pick a slave as well: hy_s22, yard_22\n"
    );
}

/// Every verb takes picks in the same way. Without a system's name it picks from the only system with choices.
#[test]
fn every_verb_picks_one_combination_alike() {
    let text = "use \"kit.clutch\"\n\
                system short from larkfield_kit { pedal { travel = 90 mm } }\n\
                system fixed from larkfield { }\n";
    let read = |name: &str| std::fs::read_to_string(format!("examples/{name}")).unwrap();
    let files = [
        "kit.clutch",
        "larkfield.clutch",
        "parts/cylinders.clutch",
        "parts/covers.clutch",
    ];
    let files = files.map(|name| (name, read(name)));
    let mut files: Vec<(&str, &str)> = files
        .iter()
        .map(|(name, text)| (*name, text.as_str()))
        .collect();
    files.push(("short.clutch", text));
    files.push((
        "two.clutch",
        "use \"kit.clutch\"\nsystem a from larkfield_kit { }\nsystem b from larkfield_kit { }\n",
    ));
    let folder = folder(&files);
    let run = |arguments: &[&str]| bitepoint_in(folder.path(), arguments, b"");
    let pick = ["--pick", "master=yard_19,slave=hy_s22"];
    for verb in ["check", "calc", "sheet", "diagnose"] {
        for file in ["short.clutch", "kit.clutch"] {
            let output = run(&[&[verb, file][..], &pick].concat());
            let wanted = i32::from(file == "short.clutch");
            assert_eq!(
                status(&output),
                wanted,
                "{verb} {file}: {}{}",
                out(&output),
                err(&output)
            );
            // That a spec has errors is said beside what is diagnosed.
            let is_told = verb == "diagnose" && file == "short.clutch";
            assert_eq!(
                err(&output).contains("errors of its own"),
                is_told,
                "{verb} {file}"
            );
        }
        let output = run(&[verb, "kit.clutch", "--pick", "master=yard_19"]);
        assert_eq!(
            err(&output),
            "bitepoint: pick a slave as well: hy_s22, yard_22\n",
            "{verb}"
        );
        let output = run(&[&[verb, "two.clutch"][..], &pick].concat());
        assert_eq!(
            err(&output),
            "bitepoint: several systems of `two.clutch` leave something to choose, and a pick is for one: a, b\n",
            "{verb}"
        );
        let output = run(&[&[verb, "larkfield.clutch"][..], &pick].concat());
        assert_eq!(
            err(&output),
            "bitepoint: no system of `larkfield.clutch` leaves anything to choose\n",
            "{verb}"
        );
    }
    let told = out(&run(&[&["check", "short.clutch"][..], &pick].concat()));
    assert!(
        told.contains("short: at full pedal") && told.contains("1 system in 1 file"),
        "{told}"
    );
    assert!(!told.contains("combinations"), "{told}");
    let output = run(&[&["check", "."][..], &pick].concat());
    assert_eq!(
        err(&output),
        "bitepoint: `--pick` is for one file, and there are 6\n"
    );
}

/// A request for one system is answered only for that system.
#[test]
fn calc_of_one_system_tells_only_what_is_found_in_it() {
    let text = format!("{SOUND}system short from sound {{ pedal {{ travel = 90 mm }} }}\n");
    let folder = folder(&[("two.clutch", &text)]);
    let found = |arguments: &[&str]| -> Vec<String> {
        let all = [&["calc", "two.clutch", "--format", "json"], arguments].concat();
        let output = bitepoint_in(folder.path(), &all, b"");
        let found: Value = serde_json::from_str(&out(&output)).unwrap();
        assert_eq!(found["left_out"], Value::Null);
        let findings = found["findings"].as_array().unwrap();
        let errors = findings.iter().filter(|f| f["severity"] == "error");
        errors
            .map(|f| f["check"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(found(&[]), ["short-release"]);
    assert_eq!(found(&["short"]), ["short-release"]);
    assert_eq!(found(&["sound"]), [""; 0]);
    let output = bitepoint_in(folder.path(), &["calc", "two.clutch", "sound"], b"");
    assert!(!out(&output).contains("short-release"));
}
