//! Fault-finding on the command line, as the real program that people run.

mod common;

use bitepoint::diagnose::FAULTS;
use common::folder;
use serde_json::Value;
use std::path::Path;

const CALL: &str = "examples/fails/drags-as-measured.clutch";
const LARKFIELD: &str = "examples/larkfield.clutch";

/// A van whose author thinks in inches.
const INCHES: &str = r#"system car "A van in inches" {
    pedal { pad_arm = 12 in  rod_arm = 2 in  travel = 6 in  free_play = 1/4 in }
    master { bore = 3/4 in  stroke = 1 3/8 in  port_travel = 0.04 in  mount_stiffness = 5000 lbf/in }
    line flex { bore = 1/8 in  length = 14 in  expansion = 0.33 cc/ft / 1000 psi }
    slave { bore = 7/8 in  stroke = 1.2 in  rest_extension = 1/4 in }
    fork { slave_arm = 4.4 in  bearing_arm = 2.7 in  pivot = between }
    cover { release_travel = 0.28 in to 0.42 in  release_load = 340 lbf }
}
"#;

/// Status, standard output and standard error.
fn bitepoint(arguments: &[&str]) -> (i32, String, String) {
    common::bitepoint(Path::new(env!("CARGO_MANIFEST_DIR")), arguments)
}

#[track_caller]
fn json(arguments: &[&str]) -> (i32, Value) {
    let (status, out, err) = bitepoint(&[arguments, &["--format", "json"]].concat());
    let value: Value = serde_json::from_str(&out).unwrap_or_else(|why| panic!("{why}: {out}{err}"));
    let schema = include_str!("schemas/diagnose.json");
    let schema = jsonschema::validator_for(&serde_json::from_str(schema).unwrap()).unwrap();
    let wrong: Vec<String> = schema
        .iter_errors(&value)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    (status, value)
}

fn names<'v>(list: &'v Value, member: &str) -> Vec<&'v str> {
    let list = list.as_array().unwrap();
    list.iter()
        .map(|one| one[member].as_str().unwrap())
        .collect()
}

/// A whole call: a short slave, the master's travel that is asked for, and the cure.
#[test]
fn one_call_leads_from_the_first_reading_to_the_cure() {
    let (status, out, _) = bitepoint(&["diagnose", CALL]);
    assert_eq!(status, 1, "the first visits drag");
    insta::assert_snapshot!(out);

    let (_, found) = json(&["diagnose", CALL]);
    let [first, asked, after] = found["systems"][0]["visits"].as_array().unwrap().as_slice() else {
        panic!("{found:#}");
    };
    assert_eq!(first["label"], "first_call");
    assert_eq!(first["drags"], true);
    assert_eq!(names(&first["next"], "reading")[0], "master_travel");
    let upstream = ["short-pedal", "lost-free-play", "firewall-flex", "bottomed"];
    for fault in upstream {
        assert!(names(&first["faults"], "fault").contains(&fault), "{fault}");
        assert!(
            names(&asked["ruled_out"], "fault").contains(&fault),
            "{fault}"
        );
    }
    assert_eq!(asked["faults"][0]["fault"], "air");
    assert_eq!(
        (&after["drags"], &after["agrees"]),
        (&false.into(), &true.into())
    );
    assert_eq!(names(&after["faults"], "fault"), ["nothing-wrong"]);
}

#[test]
fn in_millimetres_in_every_form() {
    let asked = [
        "diagnose",
        LARKFIELD,
        "larkfield",
        "--reading",
        "slave_travel=11.5 mm",
        "--reading",
        "feel=firm",
    ];
    for form in ["text", "md", "json"] {
        let (status, out, err) = bitepoint(&[&asked[..], &["--format", form]].concat());
        assert_eq!((status, err.as_str()), (1, ""));
        // The digits of the fits are not what this is about.
        let out = match form {
            "json" => shape(&serde_json::from_str(&out).unwrap()),
            _ => out,
        };
        insta::assert_snapshot!(format!("millimetres_{form}"), out);
    }
    json(&asked);
}

/// JSON with its numbers to three digits.
fn shape(value: &Value) -> String {
    fn rounded(value: &Value) -> Value {
        match value {
            Value::Number(number) => {
                let number = number.as_f64().unwrap();
                format!("{number:.2}").parse::<f64>().unwrap().into()
            }
            Value::Array(list) => list.iter().map(rounded).collect(),
            Value::Object(map) => {
                let members = map.iter();
                Value::Object(
                    members
                        .map(|(name, value)| (name.clone(), rounded(value)))
                        .collect(),
                )
            }
            other => other.clone(),
        }
    }
    format!("{:#}", rounded(value))
}

#[test]
fn an_author_in_inches_is_answered_in_inches() {
    let folder = folder(&[("car.clutch", INCHES)]);
    for form in ["text", "md"] {
        let arguments = [
            "diagnose",
            "car.clutch",
            "--reading",
            "slave_travel=0.42 in",
            "--format",
            form,
        ];
        let (status, out, err) = common::bitepoint(folder.path(), &arguments);
        assert_eq!((status, err.as_str()), (1, ""), "{out}");
        for metric in [" mm", " cc", " N:", " MPa"] {
            // Bores are told in the unit in which they are sold.
            let bores = out.lines().filter(|line| !line.contains("bore is"));
            assert!(
                !bores.clone().any(|line| line.contains(metric)),
                "{metric}: {out}"
            );
        }
        insta::assert_snapshot!(format!("inches_{form}"), out);
    }
}

/// People read a mechanic's words. The keys of the machine output are only in the machine output.
#[test]
fn no_face_for_people_names_a_fault_by_its_key() {
    let spec = include_str!("../examples/larkfield.clutch").replace("parts/", "examples/parts/");
    let visits = [
        "slave_travel = 12 mm",
        "slave_travel = 18 mm",
        "bearing_travel = 7 mm",
        "pedal_effort = 110 N",
        "pedal_effort = 200 N",
        "release_point = 148 mm",
        "release_point = 105 mm",
        "frees = no",
        "feel = sinks",
        "master_travel = 20 mm  slave_travel = 10.5 mm",
    ];
    let cars: String = visits
        .iter()
        .enumerate()
        .map(|(i, visit)| format!("system car_{i} from larkfield {{ measured {{ {visit} }} }}\n"))
        .collect();
    let folder = folder(&[
        ("cars.clutch", &format!("{spec}{cars}")),
        (
            "examples/parts/cylinders.clutch",
            include_str!("../examples/parts/cylinders.clutch"),
        ),
        (
            "examples/parts/covers.clutch",
            include_str!("../examples/parts/covers.clutch"),
        ),
    ]);
    let keys = FAULTS
        .iter()
        .map(|fault| fault.name)
        .filter(|name| name.contains('-'));
    for arguments in [
        &["check", "cars.clutch"][..],
        &["diagnose", "cars.clutch"],
        &["diagnose", "cars.clutch", "--format", "md"],
    ] {
        let (_, out, err) = common::bitepoint(folder.path(), arguments);
        assert!(out.contains("car_9") && err.is_empty(), "{out}{err}");
        let text: String = out.replace('│', " ");
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for called in [
            "a swelling hose",
            "a master that seals late",
            "a fork off its pivot",
        ] {
            assert!(text.contains(called), "{arguments:?}: {called}: {out}");
        }
        for key in keys.clone() {
            assert!(!out.contains(key), "{arguments:?}: {key}: {out}");
        }
    }
}

/// The sheet's steps for bleeding this car have the numbers that `diagnose` prints when there is air.
#[test]
fn the_sheet_bleeds_this_car_in_numbers() {
    let (_, sheet, _) = bitepoint(&["sheet", LARKFIELD, "larkfield", "--format", "md"]);
    let (_, found, _) = bitepoint(&[
        "diagnose",
        LARKFIELD,
        "larkfield",
        "--reading",
        "slave_travel=12 mm",
        "--format",
        "md",
    ]);
    // By hand in `tests/diagnose.rs`, `bleeding_in_numbers`.
    for number in [
        "4 full strokes",
        "6.21 cc",
        "19.7 cc",
        "by 12 mm",
        "4.66 cc",
    ] {
        assert!(found.contains(number), "{number}: {found}");
        assert!(sheet.contains(number), "{number}: {sheet}");
    }
    // Five degrees nose up: the sheet says where the bubble sits, and how far to tilt the slave.
    let spec = include_str!("../examples/larkfield.clutch").replace("-3 deg", "5 deg");
    let folder = folder(&[
        ("larkfield.clutch", &spec),
        (
            "parts/cylinders.clutch",
            include_str!("../examples/parts/cylinders.clutch"),
        ),
        (
            "parts/covers.clutch",
            include_str!("../examples/parts/covers.clutch"),
        ),
    ]);
    let arguments = ["sheet", "larkfield.clutch", "larkfield", "--format", "md"];
    let (_, sheet, _) = common::bitepoint(folder.path(), &arguments);
    assert!(
        sheet.contains("of air stays above its bleed screw") && sheet.contains("tilt it by 5 deg"),
        "{sheet}"
    );
    // A cable has no fluid.
    let (_, sheet, _) = bitepoint(&["sheet", LARKFIELD, "larkfield_cable", "--format", "md"]);
    assert!(!sheet.contains("Bleed"), "{sheet}");
}

/// A reading that still holds from the first visit is marked as from that visit.
#[test]
fn visits_diagnosed_together_say_so() {
    let folder = folder(&[(
        "car.clutch",
        &format!(
            "{INCHES}system called from car {{\n    measured first_call {{ slave_travel = 0.42 in  master_travel = 0.9 in }}\n    \
             measured called_back {{ slave_travel = 0.43 in }}\n}}\n"
        ),
    )]);
    let arguments = ["diagnose", "car.clutch", "called"];
    let (_, out, _) = common::bitepoint(folder.path(), &arguments);
    let text = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("master travel (first_call)")
            && text.contains("read on first_call still holds"),
        "{out}"
    );
    let path = folder.path().join("car.clutch");
    let (_, found) = json(&["diagnose", path.to_str().unwrap(), "called"]);
    let readings = &found["systems"][0]["visits"][1]["readings"];
    assert_eq!(readings["master_travel"]["visit"], "first_call");
    assert_eq!(readings["slave_travel"]["visit"], "called_back");
}

/// A spec in millimetres whose car was read in inches: the findings answer in inches, as `diagnose` does.
#[test]
fn check_answers_a_reading_in_the_system_that_it_was_read_in() {
    let (_, out, _) = bitepoint(&["check", CALL, "--no-config"]);
    for metric in [" mm ", " mm,", " MPa", " N "] {
        let bores = out.lines().filter(|line| !line.contains("bore"));
        let mut other = bores.filter(|line| line.contains(metric));
        assert_eq!(other.next(), None, "{out}");
    }
    assert!(out.contains("moved 0.45 in, 0.164 in less"), "{out}");
}

/// Readings on the command line are added to the last visit, so that the diagnosis continues where the spec ends.
#[test]
fn a_reading_completes_the_last_visit() {
    let spec = format!(
        "{INCHES}system measured_car from car {{\n    measured {{ slave_travel = 0.42 in }}\n}}\n"
    );
    let folder = folder(&[("car.clutch", &spec)]);
    let path = folder.path().join("car.clutch");
    let path = path.to_str().unwrap();
    let (_, found) = json(&[
        "diagnose",
        path,
        "measured_car",
        "--reading",
        "master_travel=0.92 in",
    ]);
    let visits = found["systems"][0]["visits"].as_array().unwrap();
    assert_eq!(visits.len(), 1);
    assert_eq!(visits[0]["readings"].as_object().unwrap().len(), 2);
    assert_eq!(visits[0]["label"], Value::Null);
    // Without them only the system that was measured answers.
    let (_, found) = json(&["diagnose", path]);
    assert_eq!(names(&found["systems"], "name"), ["measured_car"]);
}

/// Contradicting readings are also named in the JSON, and only if nothing explains the visit.
#[test]
fn readings_that_contradict_each_other_are_in_the_json() {
    let of = |readings: &[&str]| {
        let mut arguments = vec!["diagnose", LARKFIELD, "larkfield"];
        readings
            .iter()
            .for_each(|reading| arguments.extend(["--reading", reading]));
        let (_, found) = json(&arguments);
        found["systems"][0]["visits"][0]["contradicting"].clone()
    };
    let found = of(&["slave_travel=5 mm", "frees=yes"]);
    assert_eq!(found, serde_json::json!(["slave_travel", "frees"]));
    let found = of(&["slave_travel=0 mm", "bearing_travel=9 mm", "frees=yes"]);
    assert_eq!(found, serde_json::json!(["slave_travel"]));
    assert_eq!(
        of(&["slave_travel=12 mm", "frees=no"]),
        serde_json::json!([])
    );
}

#[test]
fn without_readings_it_is_said_how_to_give_them() {
    let (status, out, err) = bitepoint(&["diagnose", LARKFIELD, "larkfield_cable"]);
    assert_eq!((status, err.as_str()), (0, ""), "the list is the answer");
    insta::assert_snapshot!(out);
    let (status, found) = json(&["diagnose", LARKFIELD, "larkfield_cable"]);
    assert_eq!(
        (
            status,
            found["systems"][0]["visits"].as_array().unwrap().len()
        ),
        (0, 0)
    );
    // What it says to type can be typed, also where the file's name has a blank in it.
    let folder = folder(&[("my car.clutch", INCHES)]);
    let run = |arguments: &[&str]| common::bitepoint(folder.path(), arguments);
    let (status, out, err) = run(&["diagnose", "my car.clutch"]);
    assert_eq!((status, err.as_str()), (0, ""));
    let lines: Vec<&str> = out.lines().map(str::trim).collect();
    let typed = lines.iter().find(|line| line.starts_with("bitepoint "));
    assert_eq!(
        typed.copied(),
        Some("bitepoint diagnose 'my car.clutch' car --reading slave_travel=\"0.45 in\"")
    );
    let (_, out, err) = run(&[
        "diagnose",
        "my car.clutch",
        "car",
        "--reading",
        "slave_travel=0.45 in",
    ]);
    assert!(out.contains("0.45 in") && err.is_empty(), "{out}{err}");
    // A spec with an error still says so.
    let broken = INCHES.replacen("bore = ", "bore = -", 1);
    std::fs::write(folder.path().join("my car.clutch"), broken).unwrap();
    assert_eq!(run(&["diagnose", "my car.clutch"]).0, 1);
}

/// The commands on the page on fault-finding do what the page says.
#[test]
fn the_page_on_fault_finding_is_true() {
    let page = include_str!("../grammar/fault-finding.md");
    let example = |fence: &str| {
        let (_, rest) = page.split_once(fence).unwrap();
        rest.split_once("```").unwrap().0
    };
    let spec = format!("use \"larkfield.clutch\"\n{}", example("```clutch\n"));
    let folder = folder(&[
        ("van.clutch", &spec),
        (
            "larkfield.clutch",
            include_str!("../examples/larkfield.clutch"),
        ),
        (
            "parts/cylinders.clutch",
            include_str!("../examples/parts/cylinders.clutch"),
        ),
        (
            "parts/covers.clutch",
            include_str!("../examples/parts/covers.clutch"),
        ),
    ]);
    let command = example("```sh\n")
        .trim()
        .replace('"', "")
        .replace("0.45 in", "0.45_in");
    let arguments: Vec<String> = command
        .split(' ')
        .skip(1)
        .map(|argument| argument.replace("0.45_in", "0.45 in"))
        .collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let (status, out, err) = common::bitepoint(folder.path(), &arguments);
    assert_eq!((status, err.as_str()), (1, ""), "{out}");
    assert!(
        out.contains("first_call") && out.contains("If it is air"),
        "{out}"
    );
}

#[test]
fn a_reading_that_cannot_be_read_says_why() {
    for (reading, why) in [
        ("slave_travl=3 mm", "did you mean `slave_travel`?"),
        ("zz=1", "there are pedal_travel, slave_travel"),
        ("slave", "give a name and a value"),
        ("slave_travel", "write --reading slave_travel=\"0.45 in\""),
        ("=", "there is no reading ``"),
        ("slave_travel=", "give its value"),
        ("slave_travel=3", "add its unit, `mm` or `in`"),
        ("slave_travel=3 N", "is a length, and this is a force"),
        ("slave_travel=3 mn", "did you mean `mm`?"),
        ("slave_travel=nope", "nothing is called `nope`"),
        ("slave_travel=3 mm } }", "is not one value"),
        ("slave_travel=3 mm\nfrees = yes", "is not one value"),
        ("slave_travel=1/0 mm", "divides by zero"),
        ("slave_travel=\u{1b}[31m3 mm", "U+001B"),
        ("slave_travel=\u{202e}3 mm", "belongs nowhere in a spec"),
        ("release_point=-3 mm", "release_point"),
        ("frees=maybe", "must be `yes` or `no`"),
    ] {
        let (status, out, err) =
            bitepoint(&["diagnose", LARKFIELD, "larkfield", "--reading", reading]);
        assert_eq!((status, out.as_str()), (2, ""), "{reading:?}");
        assert!(err.contains(why), "{reading:?}: {err}");
        let steers = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
        assert!(!err.contains(steers), "{reading:?}: {err:?}");
    }
    let deep = format!("slave_travel={}3 mm", "(".repeat(100_000));
    let long = format!("slave_travel={} mm", "9".repeat(100_000));
    for reading in [&deep, &long] {
        let (status, out, _) =
            bitepoint(&["diagnose", LARKFIELD, "larkfield", "--reading", reading]);
        assert_eq!((status, out.as_str()), (2, ""));
    }
}

#[test]
fn readings_are_of_one_car_and_of_one_that_has_them() {
    let run = |arguments: &[&str]| {
        let (status, _, err) = bitepoint(&[&["diagnose", LARKFIELD], arguments].concat());
        (status, err)
    };
    let reading = ["--reading", "slave_travel=3 mm"];
    let (status, err) = run(&reading);
    assert_eq!(status, 2);
    assert!(
        err.contains("larkfield, larkfield_ring, larkfield_cable"),
        "{err}"
    );
    let (status, err) = run(&[&["larkfield_cable"], &reading[..]].concat());
    assert_eq!(status, 2);
    assert!(
        err.contains("has no `master`, so there is no `slave_travel`"),
        "{err}"
    );
    let (status, err) = run(&[&["larkfield"], &reading[..], &reading[..]].concat());
    assert_eq!(status, 2);
    assert!(err.contains("`slave_travel` is given twice"), "{err}");
    let (status, err) = run(&["larkfeld"]);
    assert_eq!(status, 2);
    assert!(err.contains("did you mean `larkfield`?"), "{err}");
}

#[test]
fn settings_are_those_of_check() {
    let folder = folder(&[
        ("car.clutch", INCHES),
        ("bitepoint.toml", "[limits]\nnonsense = 1\n"),
        ("good.toml", ""),
    ]);
    let run = |more: &[&str]| {
        let reading = [
            "diagnose",
            "car.clutch",
            "--reading",
            "slave_travel=0.62 in",
        ];
        common::bitepoint(folder.path(), &[&reading[..], more].concat())
    };
    // A mistake in the settings is an error of whoever asks with them.
    assert_eq!(run(&[]).0, 1);
    assert_eq!(run(&["--no-config"]).0, 0);
    assert_eq!(run(&["--config", "good.toml"]).0, 0);
    let (status, _, err) = run(&["--config", "missing.toml"]);
    assert_eq!(status, 2);
    assert!(err.contains("there is no file `missing.toml`"), "{err}");
}

/// A kit's readings belong to one of its combinations.
#[test]
fn a_kit_is_measured_in_one_combination() {
    let kit = [
        "diagnose",
        "examples/kit.clutch",
        "larkfield_kit",
        "--reading",
        "slave_travel=11 mm",
    ];
    let (status, out, err) = bitepoint(&kit);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(
        err.contains("readings are of one car: name it and pick"),
        "{err}"
    );
    let (status, out, err) =
        bitepoint(&[&kit[..], &["--pick", "master=yard_19,slave=yard_22"]].concat());
    assert_eq!(status, 1, "{out}{err}");
    assert!(out.contains("drags as measured"), "{out}");
}

#[test]
fn errors_of_the_spec_are_reported_beside_the_answer() {
    let wrong = INCHES.replace("slave { bore = 7/8 in", "slave { bore = 1 1/16 in");
    let folder = folder(&[("car.clutch", &wrong)]);
    let arguments = ["diagnose", "car.clutch", "--reading", "frees=no"];
    let (status, out, err) = common::bitepoint(folder.path(), &arguments);
    assert_eq!(status, 1);
    assert!(
        out.contains("The parts do what the spec says, and that does not free the disc"),
        "{out}"
    );
    assert!(err.contains("has errors of its own"), "{err}");
    // One that cannot be worked out says why, and not what it seems to lack.
    let lost = "system lost from nowhere { measured { slave_travel = 11 mm } }\n";
    let folder = common::folder(&[("lost.clutch", lost)]);
    for more in [&[][..], &["--reading", "master_travel=22 mm"]] {
        let arguments = [&["diagnose", "lost.clutch"], more].concat();
        let (status, out, _) = common::bitepoint(folder.path(), &arguments);
        assert_eq!(status, 1);
        assert!(
            out.contains("lost: not worked out: see the mistake on line 1"),
            "{out}"
        );
    }
}

/// A reading for a part that the car does not have is left out, and a visit without readings is not called healthy.
#[test]
fn readings_without_a_part_on_the_car_are_left_out_and_reported() {
    let spec = "use \"larkfield.clutch\"
system wired from larkfield_cable { measured { slave_travel = 9 mm  bearing_travel = 10 mm } }
system unread from larkfield { measured { } }
";
    let folder = folder(&[
        ("van.clutch", spec),
        (
            "larkfield.clutch",
            include_str!("../examples/larkfield.clutch"),
        ),
        (
            "parts/cylinders.clutch",
            include_str!("../examples/parts/cylinders.clutch"),
        ),
        (
            "parts/covers.clutch",
            include_str!("../examples/parts/covers.clutch"),
        ),
    ]);
    let run = |system| common::bitepoint(folder.path(), &["diagnose", "van.clutch", system]);
    let (status, out, _) = run("wired");
    assert_eq!(status, 0, "{out}");
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        out.contains("so there is no `slave_travel` to read on it: it is left out"),
        "{out}"
    );
    assert!(
        out.contains("Every reading agrees with what is worked out"),
        "{out}"
    );
    let (status, out, _) = run("unread");
    assert_eq!(status, 0);
    assert!(out.contains("Nothing was read on this car yet"), "{out}");
}

/// Titles and file names come from outside and must have no effect.
#[test]
fn nothing_in_a_spec_controls_terminal_or_layout() {
    let title = "::error::x <b>@someone</b> [a](http://x.y) ##[error] | `c`";
    let spec = INCHES.replace("A van in inches", title);
    let folder = folder(&[("::error:: *car*.clutch", &spec)]);
    let file = "./::error:: *car*.clutch";
    for form in ["text", "md", "json"] {
        for more in [&["--reading", "slave_travel=0.42 in"][..], &[]] {
            let arguments = [&["diagnose", file, "--format", form], more].concat();
            let (_, out, err) = common::bitepoint(folder.path(), &arguments);
            for text in [&out, &err] {
                assert!(
                    !text.lines().any(|line| line.trim_start().starts_with("::")),
                    "{text}"
                );
                assert!(!text.contains("##["), "{text}");
            }
            if form == "md" {
                assert!(
                    !out.contains("<b>") && !out.contains("[a](") && !out.contains(" @some"),
                    "{out}"
                );
            }
        }
    }
}
