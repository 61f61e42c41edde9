//! Systems that leave something to choose: every combination, and what combinations share.

mod common;

use bitepoint::analysis::{Report, Watch, Work, analyse, analyse_picked, analyse_with};
use bitepoint::checks::Finding;
use bitepoint::finding::Severity;
use common::{Library, source};
use std::collections::BTreeSet;
use std::fmt::Write;
use std::sync::atomic::{AtomicBool, Ordering};

/// What every kit here has in common.
const REST: &str = "
    line hard { bore = 3.2 mm  length = 900 mm  wall = 0.7 mm }
    line flex { bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }
    fluid { grade = dot4  bulk_modulus = 1.6 GPa }
    cover {
        release_travel = 7 mm to 11 mm
        release_load   = curve { 0 mm: 150 N, 2 mm: 900 N, 5 mm: 1500 N, 8 mm: 1400 N, 11 mm: 1300 N }
    }
";

const PARTS: &str = "
part pedal long { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }
part pedal short { pad_arm = 260 mm  rod_arm = 50 mm  travel = 130 mm  free_play = 6 mm }
part master m16 { bore = 5/8 in  stroke = 36 mm  port_travel = 1 mm }
part master m19 { bore = 3/4 in  stroke = 36 mm  port_travel = 1 mm }
part master m19b { bore = 19 mm  stroke = 36 mm  port_travel = 1 mm }
part slave s19 { bore = 3/4 in  stroke = 32 mm  rest_extension = 6 mm }
part slave s22 { bore = 7/8 in  stroke = 32 mm  rest_extension = 6 mm }
part slave s25 { bore = 1 in  stroke = 32 mm  rest_extension = 6 mm }
part slave s28 { bore = 28 mm  stroke = 32 mm  rest_extension = 6 mm }
part fork f { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between  stiffness = 1200 N/mm }
";

fn report(text: &str) -> Report {
    analyse(source("kit.clutch", text), &Library::default())
}

fn kit(chooses: &str) -> String {
    format!("{PARTS}system kit {{\n{chooses}\n{REST}}}\n")
}

fn errors(report: &Report) -> Vec<&Finding> {
    let findings = report.findings.iter();
    findings.filter(|f| f.severity == Severity::Error).collect()
}

/// The text at which a finding is shown.
fn at<'t>(text: &'t str, finding: &Finding) -> &'t str {
    common::covered(text, &finding.problem.place)
}

#[test]
fn a_part_that_never_works_is_named_and_can_be_left_out() {
    let text = kit("pedal long\nfork f\nchoose master m19, m19b\nchoose slave s22, s28");
    let found = report(&text);
    let short: Vec<_> = errors(&found);
    assert_eq!(short.len(), 1, "{short:?}");
    insta::assert_snapshot!(short[0].problem.message);
    assert_eq!(at(&text, short[0]), "s28");
    let [fix] = &short[0].problem.fixes[..] else {
        panic!("{short:?}")
    };
    let mut mended = text.clone();
    for (place, new) in &fix.edits {
        mended.replace_range(common::range_in(&text, place).range(), new);
    }
    assert!(mended.contains("choose slave s22\n"), "{mended}");
    assert!(errors(&report(&mended)).is_empty());
}

#[test]
fn the_matrix_agrees_with_each_combination_alone() {
    let mut text = String::new();
    for (i, bore) in [15.9, 17.5, 18.0, 19.05, 19.8, 20.6, 21.0, 22.2, 23.8, 25.4]
        .iter()
        .enumerate()
    {
        let _ = writeln!(
            text,
            "part master m{i} {{ bore = {bore} mm  stroke = 36 mm  port_travel = 1 mm }}"
        );
    }
    for i in 0..12 {
        let bore = 19.0 + 0.6 * f64::from(i);
        let _ = writeln!(
            text,
            "part slave s{i} {{ bore = {bore} mm  stroke = 32 mm  rest_extension = 6 mm }}"
        );
    }
    for (i, arm) in [290, 300, 315].iter().enumerate() {
        let _ = writeln!(
            text,
            "part pedal p{i} {{ pad_arm = {arm} mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }}"
        );
        let _ = writeln!(
            text,
            "part fork f{i} {{ slave_arm = {} mm  bearing_arm = 68 mm  stiffness = 1200 N/mm }}",
            105 + 7 * i
        );
    }
    let names = |name: char, count: usize| {
        let names: Vec<String> = (0..count).map(|i| format!("{name}{i}")).collect();
        names.join(", ")
    };
    let (pedals, forks) = (names('p', 3), names('f', 3));
    let (masters, slaves) = (names('m', 10), names('s', 12));
    let kit = format!(
        "{text}system kit {{
            choose pedal {pedals}\nchoose fork {forks}\nchoose master {masters}\nchoose slave {slaves}
            {REST}}}\n"
    );
    let found = report(&kit);
    let tried = &found.systems[0].kit.as_ref().unwrap().tried;
    assert_eq!(tried.count, 1080);
    assert!(tried.failing > 0 && tried.failing < 1080);

    // The same again, each written out as a system of its own.
    let mut all = text;
    for p in 0..3 {
        for f in 0..3 {
            for m in 0..10 {
                for s in 0..12 {
                    let _ = writeln!(
                        all,
                        "system c_{p}_{f}_{m}_{s} {{ pedal p{p}\nfork f{f}\nmaster m{m}\nslave s{s}\n{REST} }}"
                    );
                }
            }
        }
    }
    // A file lists only so many findings; only the errors matter here.
    let mut failing = BTreeSet::new();
    let parts = all.find("system").unwrap();
    for system in all[parts..].split("system c_").skip(1) {
        let alone = report(&format!("{}system c_{system}", &all[..parts]));
        let of_system = |f: &&Finding| f.system.is_some();
        if errors(&alone).into_iter().any(|f| of_system(&f)) {
            failing.insert(system[..system.find(' ').unwrap()].to_owned());
        }
    }
    assert_eq!(tried.failing, failing.len() as u64);
    let pairs = tried
        .pairs
        .iter()
        .find(|p| (p.rows, p.columns) == (2, 3))
        .unwrap();
    for m in 0..10 {
        for s in 0..12 {
            let alone = failing
                .iter()
                .filter(|name| name.ends_with(&format!("_{m}_{s}")));
            let cell = pairs.cells[m * 12 + s];
            assert_eq!(
                (cell.tried, cell.failing),
                (9, alone.count() as u64),
                "m{m} with s{s}"
            );
        }
    }
}

#[test]
fn expressions_that_ask_for_what_is_chosen_are_worked_out_for_each() {
    // The fork's arm follows the slave's bore, so a block that is not chosen varies too.
    let text = kit(
        "pedal long\nmaster m19\nfork { slave_arm = slave.bore * 5  bearing_arm = 68 mm }
         choose slave s19, s22, s25",
    );
    let found = report(&text);
    let tried = &found.systems[0].kit.as_ref().unwrap().tried;
    let ratio = tried
        .ranges
        .iter()
        .find(|r| r.result.spec().name == "fork_ratio");
    let ratio = ratio.unwrap();
    for (slave, value, of) in [("s19", ratio.low, 0.75), ("s25", ratio.high, 1.0)] {
        let picks = [("slave".to_owned(), slave.to_owned())];
        let alone = analyse_picked(
            source("kit.clutch", &text),
            &Library::default(),
            Some("kit"),
            &picks,
        );
        assert_eq!(
            errors(&alone.unwrap()).len(),
            errors(&report(&text.replace("s19, s22, s25", slave))).len()
        );
        if tried.failing == 0 {
            assert!((value - of * 25.4 * 5.0 / 68.0).abs() < 1e-9);
        }
    }
}

#[test]
fn a_block_without_a_name_adds_to_every_choice() {
    let text =
        kit("pedal long\nfork f\nmaster m19\nchoose slave s22, s25\nslave { stroke = 9 mm }");
    let found = report(&text);
    let checks: Vec<_> = errors(&found).iter().map(|f| f.check.name()).collect();
    assert!(checks.contains(&"slave-overrun"), "{checks:?}");
}

#[test]
fn a_derived_system_settles_a_choice_or_chooses_anew() {
    let text = format!(
        "{}\nsystem one from kit {{ slave s22 }}\nsystem two from kit {{ choose slave s19, s22 }}\n",
        kit("pedal long\nfork f\nmaster m19\nchoose slave s22, s25")
    );
    let found = report(&text);
    assert!(found.systems[1].kit.is_none());
    assert!(found.systems[1].outcome.is_ok());
    let kit = found.systems[2].kit.as_ref().unwrap();
    let names: Vec<_> = kit.labels.axes[0].choices.iter().map(|c| &**c).collect();
    assert_eq!(names, ["s19", "s22"]);
}

#[test]
fn an_impossible_choice_is_reported_at_its_place() {
    for (chooses, check, place) in [
        ("choose slave s22, s25, s22", "given-twice", "s22"),
        ("choose slave s22, s99", "unknown-name", "s99"),
        ("choose slave s22\nslave s25", "given-twice", "s25"),
        ("choose slave s22\nchoose slave s25", "given-twice", "slave"),
        ("slave s22\nchoose line hard", "unknown-name", "hard"),
    ] {
        let text = kit(&format!("pedal long\nfork f\nmaster m19\n{chooses}"));
        let found = report(&text);
        let errors = errors(&found);
        assert_eq!(errors.len(), 1, "{chooses}: {errors:?}");
        assert_eq!(
            (errors[0].check.name(), at(&text, errors[0])),
            (check, place)
        );
    }
}

#[test]
fn too_many_combinations_are_refused() {
    let mut text = String::from(PARTS);
    for i in 0..4000 {
        let _ = writeln!(text, "part master a{i} {{ bore = 19 mm  stroke = 36 mm }}");
        let _ = writeln!(text, "part slave b{i} {{ bore = 22 mm  stroke = 36 mm }}");
    }
    let names = |name: &str| {
        (0..4000)
            .map(|i| format!("{name}{i}"))
            .collect::<Vec<_>>()
            .join(", ")
    };
    let _ = writeln!(
        text,
        "system kit {{ pedal long\nfork f\nchoose master {}\nchoose slave {}\n{REST} }}",
        names("a"),
        names("b")
    );
    let found = report(&text);
    let errors = errors(&found);
    assert_eq!(errors.len(), 1);
    assert_eq!(errors[0].check.name(), "too-large");
    insta::assert_snapshot!(errors[0].problem.message);
}

#[test]
fn only_some_of_very_many_combinations_are_tried_when_time_is_short() {
    let work = Work {
        combinations: 5,
        ..Work::default()
    };
    let text =
        kit("fork f\nchoose pedal long, short\nchoose master m16, m19\nchoose slave s19, s22, s25");
    let found = analyse_with(source("kit.clutch", &text), &Library::default(), &work);
    let kit = found.systems[0].kit.as_ref().unwrap();
    assert_eq!((kit.count, kit.tried.count), (12, 5));
    // Spread over all axes: each choice is tried at least once.
    assert!(
        kit.tried
            .singles
            .iter()
            .flatten()
            .all(|(tried, _)| *tried > 0)
    );
    assert!(
        found
            .findings
            .iter()
            .any(|f| f.check.name() == "not-all-tried")
    );
}

#[test]
fn work_that_nobody_waits_for_stops() {
    /// A watcher that stops the work at the first news.
    #[derive(Default)]
    struct Impatient(AtomicBool);
    impl Watch for Impatient {
        fn combinations(&self, _done: u64, _all: u64) {
            self.0.store(true, Ordering::Relaxed);
        }
        fn is_stopped(&self) -> bool {
            self.0.load(Ordering::Relaxed)
        }
    }
    let mut text = String::new();
    for i in 0..40 {
        let _ = writeln!(
            text,
            "part master a{i} {{ bore = 19 mm  stroke = 36 mm }}\npart slave b{i} {{ bore = 22 mm  stroke = 36 mm }}"
        );
    }
    let names = |name: &str| {
        let names: Vec<String> = (0..40).map(|i| format!("{name}{i}")).collect();
        names.join(", ")
    };
    let chooses = format!("choose master {}\nchoose slave {}", names("a"), names("b"));
    text.push_str(&kit(&format!("fork f\npedal long\n{chooses}")));
    let watch = Impatient::default();
    let work = Work {
        watch: &watch,
        ..Work::default()
    };
    let found = analyse_with(source("kit.clutch", &text), &Library::default(), &work);
    let tried = found.systems[0].kit.as_ref().unwrap().tried.count;
    assert!(tried > 0 && tried < 1600, "{tried}");
}

#[test]
fn a_pick_says_what_it_wants() {
    let text = kit("fork f\npedal long\nchoose master m16, m19\nchoose slave s19, s22, s25");
    let pick = |picks: &[(&str, &str)]| {
        let owned = |(b, p): &(&str, &str)| ((*b).to_owned(), (*p).to_owned());
        let picks: Vec<_> = picks.iter().map(owned).collect();
        analyse_picked(
            source("kit.clutch", &text),
            &Library::default(),
            Some("kit"),
            &picks,
        )
    };
    let worked = pick(&[("master", "m19"), ("slave", "s22")]).unwrap();
    assert!(worked.systems[0].outcome.is_ok());
    let why = |picks: &[(&str, &str)]| pick(picks).unwrap_err();
    insta::assert_snapshot!(
        [
            why(&[("master", "m19")]),
            why(&[("master", "m19"), ("slave", "s2")]),
            why(&[("pedal", "long"), ("slave", "s22")]),
        ]
        .join("\n")
    );
}

/// A table of choices among very many parts shows those that work most often, and says what it leaves out.
#[test]
fn a_table_of_a_hundred_parts_each_way_fits_a_few_screens() {
    let mut text = PARTS.to_owned();
    let (mut masters, mut slaves) = (Vec::new(), Vec::new());
    for i in 0..100 {
        let (master, slave) = (16.0 + 0.08 * f64::from(i), 18.0 + 0.1 * f64::from(i));
        let _ = writeln!(
            text,
            "part master a{i} {{ bore = {master:.2} mm  stroke = 36 mm }}\n\
             part slave b{i} {{ bore = {slave:.2} mm  stroke = 32 mm  rest_extension = 6 mm }}"
        );
        masters.push(format!("a{i}"));
        slaves.push(format!("b{i}"));
    }
    let (masters, slaves) = (masters.join(", "), slaves.join(", "));
    let chooses = format!("pedal long\nfork f\nchoose master {masters}\nchoose slave {slaves}");
    let text = format!("{text}system kit {{\n{chooses}\n{REST}}}\n");
    let at = common::folder(&[("kit.clutch", &text)]);
    let (status, out, _) = common::bitepoint(at.path(), &["calc", "kit.clutch", "kit"]);
    assert_eq!(status, 1, "{out}");
    assert!(out.lines().count() < 150, "{} lines", out.lines().count());
    let said = out.lines().find(|line| line.contains("left out"));
    let said = said.expect("what is left out");
    assert!(said.contains("76 of 100 master"), "{said}");
    assert!(said.contains("of 100 slave"), "{said}");
}
