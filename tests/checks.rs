//! Every check on its own examples: it finds them, its fixes cure them, and its messages are as expected.

mod common;

use bitepoint::analysis::{CureSearch, Report, Work, analyse_with, read_settings, report_settings};
use bitepoint::checks::{CHECKS, Detail, Example, Finding, Found, REFERENCE, run};
use bitepoint::finding::{Place, Severity};
use bitepoint::model::Source;
use common::{Library, with_fix};
use std::collections::BTreeSet;
use std::fmt::Write;
use std::sync::Arc;

fn analysed(text: &str) -> Report {
    // No spec begins like that.
    if text.starts_with('[') {
        let source = Source::plain("bitepoint.toml".into(), text.to_owned());
        let settings = read_settings(&source);
        return report_settings(Arc::new(source), Arc::new(settings));
    }
    let source = Source::new("example.clutch".into(), text.to_owned());
    // Few enough that an example can show what happens to more.
    let work = Work {
        combinations: 3,
        ..Work::default()
    };
    analyse_with(Arc::new(source), &Library::default(), &work)
}

fn text_of(example: Example) -> String {
    match example {
        Example::File(text) | Example::Settings(text) => text.to_owned(),
        Example::System(body) => {
            format!("{REFERENCE}\nsystem example from reference {{\n{body}\n}}\n")
        }
    }
}

/// The findings of an example itself, without those of the system that it starts from.
fn findings(report: &Report) -> impl Iterator<Item = &Finding> {
    report
        .findings
        .iter()
        .filter(|finding| finding.system.as_deref() != Some("reference"))
}

fn raised<'r>(report: &'r Report, check: &str) -> Vec<&'r Finding> {
    findings(report)
        .filter(|finding| finding.check.name() == check)
        .collect()
}

fn errors(report: &Report) -> BTreeSet<&'static str> {
    findings(report)
        .filter(|finding| finding.severity == Severity::Error)
        .map(|finding| finding.check.name())
        .collect()
}

/// For many systems at once, only which check finds something and about which block is recorded. A check must find
/// the same in brief as in full.
#[test]
fn every_check_finds_the_same_in_brief_and_in_full() {
    let mut compared = 0;
    let examples = CHECKS.iter().flat_map(|check| [check.bad, check.good]);
    for text in examples.map(text_of) {
        for worked in analysed(&text).systems {
            let find = |detail| {
                let mut found = Found::new(detail);
                let settings = Default::default();
                let tolerances = worked.tolerances.as_ref();
                run(
                    &worked.system,
                    worked.outcome.as_deref().map_err(|why| *why),
                    tolerances,
                    &settings,
                    &mut found,
                );
                found
            };
            let (full, brief) = (find(Detail::Full), find(Detail::Brief));
            assert!(full.raised.is_empty() && brief.problems.is_empty());
            let told: Vec<_> = full.problems.iter().map(|p| (p.check, p.block)).collect();
            let noted: Vec<_> = brief.raised.iter().map(|r| (r.check, r.block)).collect();
            assert_eq!(told, noted, "{text}");
            compared += told.len();
        }
    }
    assert!(compared > 100, "{compared} findings");
}

/// The only finding of a check about a system with `body` on top of the reference.
#[track_caller]
fn only(check: &str, body: &'static str) -> Finding {
    let report = analysed(&text_of(Example::System(body)));
    match raised(&report, check).as_slice() {
        [finding] => (*finding).clone(),
        other => panic!("{check} is raised {} times by {body}", other.len()),
    }
}

#[track_caller]
fn silent(check: &str, body: &'static str) {
    let report = analysed(&text_of(Example::System(body)));
    let raised = raised(&report, check);
    assert!(
        raised.is_empty(),
        "{check} is raised by {body}: {raised:#?}"
    );
}

fn help(finding: &Finding) -> &str {
    finding.problem.help.as_deref().unwrap_or_default()
}

// ---- every check ----

#[test]
fn names_are_kebab_case_and_unique() {
    let mut seen = BTreeSet::new();
    for check in CHECKS {
        let limits = check.limits.iter().map(|limit| limit.name);
        for name in limits.chain([check.name()]) {
            let kebab = name
                .split('-')
                .all(|word| !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase()));
            assert!(kebab, "{name} is not kebab-case");
        }
        assert!(seen.insert(check.name()), "{} stands twice", check.name());
        let limits: BTreeSet<&str> = check.limits.iter().map(|limit| limit.name).collect();
        assert_eq!(limits.len(), check.limits.len(), "{}", check.name());
    }
}

#[test]
fn every_check_and_every_limit_is_documented() {
    for check in CHECKS {
        for text in [check.finds, check.why] {
            assert!(
                text.ends_with('.') && text.len() > 20,
                "{}: {text}",
                check.name()
            );
        }
        assert!(!check.source.is_empty(), "{} has no source", check.name());
        for limit in check.limits {
            assert!(
                !limit.source.is_empty() && !limit.what.is_empty(),
                "{}: the limit {} has no source",
                check.name(),
                limit.name
            );
            assert!(limit.value.is_finite());
        }
    }
}

#[test]
fn the_reference_is_a_car_without_fault() {
    let report = analysed(REFERENCE);
    let faults: Vec<&Finding> = report
        .findings
        .iter()
        .filter(|finding| finding.severity >= Severity::Warning)
        .collect();
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn a_bad_example_raises_its_check_and_no_other_error() {
    for check in CHECKS {
        let report = analysed(&text_of(check.bad));
        assert!(
            !raised(&report, check.name()).is_empty(),
            "{} is not raised by its bad example: {:#?}",
            check.name(),
            report.findings
        );
        let mut errors = errors(&report);
        errors.remove(check.name());
        assert!(errors.is_empty(), "{} brings {errors:?}", check.name());
    }
}

#[test]
fn a_good_example_raises_neither_its_check_nor_an_error() {
    for check in CHECKS {
        let report = analysed(&text_of(check.good));
        let raised = raised(&report, check.name());
        assert!(raised.is_empty(), "{}: {raised:#?}", check.name());
        assert!(
            errors(&report).is_empty(),
            "{}: {:?}",
            check.name(),
            errors(&report)
        );
    }
}

#[test]
fn a_fix_cures_and_brings_no_new_error() {
    for check in CHECKS {
        fixes_cure(&text_of(check.bad), check.name());
    }
}

/// Applies every fix of a check, one at a time, to the text that raises it.
#[track_caller]
fn fixes_cure(text: &str, check: &str) {
    fixes_cure_in(&analysed(text), check);
}

/// Applies every fix of a check to an analysed text, one at a time. Gives the number of fixes.
#[track_caller]
fn fixes_cure_in(report: &Report, check: &str) -> usize {
    let text = &report.source.text;
    let before = raised(report, check);
    let mut tried = 0;
    for finding in &before {
        for fix in &finding.problem.fixes {
            tried += 1;
            let fixed = with_fix(text, fix);
            let after = analysed(&fixed);
            assert!(
                raised(&after, check).len() < before.len(),
                "{check}: `{}` leaves it standing in {fixed}",
                fix.title
            );
            let new: Vec<_> = errors(&after)
                .difference(&errors(report))
                .copied()
                .collect();
            assert!(
                new.is_empty(),
                "{check}: `{}` brings {new:?} to {fixed}",
                fix.title
            );
        }
    }
    tried
}

/// The wording of every message, in one place for review.
#[test]
fn messages() {
    let mut out = String::new();
    for check in CHECKS {
        let text = text_of(check.bad);
        let report = analysed(&text);
        writeln!(out, "## {} ({})", check.name(), check.severity.name()).unwrap();
        for finding in raised(&report, check.name()) {
            write_finding(&mut out, finding, &text);
        }
        out.push('\n');
    }
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!("check_messages", out);
    });
}

fn write_finding(out: &mut String, finding: &Finding, text: &str) {
    let shown = |place: &Place| common::covered(text, place).replace('\n', " ");
    let problem = &finding.problem;
    writeln!(out, "at `{}`", shown(&problem.place)).unwrap();
    writeln!(out, "  {}", problem.message).unwrap();
    if let Some(help) = &problem.help {
        writeln!(out, "  help: {help}").unwrap();
    }
    for related in &problem.related {
        writeln!(
            out,
            "  see `{}`: {}",
            shown(&related.place),
            related.message
        )
        .unwrap();
    }
    for fix in &problem.fixes {
        let edits: Vec<String> = fix
            .edits
            .iter()
            .map(|(place, new)| format!("`{}` -> `{new}`", shown(place)))
            .collect();
        writeln!(out, "  fix: {} [{}]", fix.title, edits.join(", ")).unwrap();
    }
}

// ---- the numbers in messages, worked out here by hand ----

/// A clutch without any loss: 25 mm at the rod are 25 mm at the slave and 12.5 mm at the
/// fingers, and 1200 N there are 600 N at the slave and 100 N at the pad.
const PLAIN: &str = "
    pedal { ratio = 6  travel = 150 mm  efficiency = 1 }
    master { bore = 20 mm  stroke = 40 mm  efficiency = 1 }
    slave { bore = 20 mm  stroke = 40 mm  efficiency = 1 }
    fork { ratio = 2  efficiency = 1 }
";

fn plain(more: &str) -> String {
    format!("system base {{{PLAIN}}}\nsystem plain from base {{\n{more}\n}}\n")
}

/// The only finding of a check about the lossless clutch with `more` on top of it.
#[track_caller]
fn plain_finding(check: &str, more: &str) -> Finding {
    let report = analysed(&plain(more));
    let of_plain: Vec<&Finding> = raised(&report, check)
        .into_iter()
        .filter(|finding| finding.system.as_deref() == Some("plain"))
        .collect();
    match of_plain.as_slice() {
        [finding] => (*finding).clone(),
        other => panic!(
            "{check} is raised {} times: {:#?}",
            other.len(),
            report.findings
        ),
    }
}

#[test]
fn over_release_names_the_stop_that_cures_it() {
    let found = plain_finding(
        "over-release",
        "pedal { efficiency = 1 }
cover { release_travel = 8 mm to 11 mm  release_load = 1200 N }",
    );
    // 11 mm at the fingers are 22 mm at the rod and 132 mm at the pad.
    assert_eq!(
        found.problem.message,
        "at full pedal the fingers travel 12.5 mm, 1.5 mm past the most that the cover may take, \
         11 mm: the diaphragm is bent too far and its fingers break; they get there at 132 mm \
         of pedal"
    );
    // With a tenth in hand, 10.9 · 2 · 6 = 130.8 mm: 130 / 6 / 2 = 10.833 mm.
    let titles: Vec<&str> = found.problem.fixes.iter().map(|fix| &*fix.title).collect();
    assert!(
        titles.contains(
            &"fit a pedal stop at 130 mm: overtravel margin 0.17 mm, release margin 2.83 mm, effort 100 N"
        ),
        "{titles:#?}"
    );
}

#[test]
fn short_release_names_bores_that_cure_it() {
    let found = plain_finding(
        "short-release",
        "slave { bore = 25 mm }
cover { release_travel = 8.5 mm to 11 mm  release_load = 1200 N }",
    );
    // 12.5 mm · (20/25)² = 8 mm.
    assert_eq!(
        found.problem.message,
        "at full pedal the fingers travel 8 mm, 0.5 mm short of the 8.5 mm that frees the disc: \
         it drags"
    );
    // A 24 mm slave: 12.5 mm and 100 N, both · (20/24)², are 8.681 mm and 69.44 N.
    // A 21 mm master: both · (21/25)² are 8.82 mm and 70.56 N.
    assert_eq!(
        help(&found),
        "use a 24 mm slave: release margin 0.18 mm, effort 69 N; or use a 21 mm master: \
         release margin 0.32 mm, effort 71 N; or let the pedal travel 170 mm: release margin \
         0.57 mm, effort 64 N"
    );
}

#[test]
fn a_stop_that_is_set_too_early_is_moved() {
    let text = plain(
        "pedal { stop = 90 mm }
cover { release_travel = 8 mm to 11 mm  release_load = 1200 N }",
    );
    let found = plain_finding(
        "short-release",
        "pedal { stop = 90 mm }
cover { release_travel = 8 mm to 11 mm  release_load = 1200 N }",
    );
    assert_eq!(common::covered(&text, &found.problem.place), "90 mm");
    assert_eq!(
        found.problem.fixes[0].title,
        "move the pedal stop to 130 mm: release margin 2.83 mm, effort 100 N"
    );
}

#[test]
fn over_pressure_points_at_the_weakest_part() {
    let more = "line hose { bore = 3 mm  length = 400 mm  max_pressure = 1.5 MPa }
slave { max_pressure = 1.8 MPa }
cover { release_travel = 11 mm to 13 mm  release_load = 1200 N }";
    let found = plain_finding("over-pressure", more);
    // 600 N on 314.16 mm².
    assert_eq!(
        found.problem.message,
        "the pressure reaches 1.91 MPa, and the line `hose` is rated for 1.5 MPa: it leaks \
         or bursts, and the clutch fails suddenly"
    );
    assert_eq!(
        common::covered(&plain(more), &found.problem.place),
        "1.5 MPa"
    );
    // 20 mm · √(1.9099/1.5) = 22.57 mm, which would no longer free the disc; and a rating is no size to
    // write another number for.
    assert_eq!(
        help(&found),
        "use parts with a higher rating than that of the line `hose`, or a larger slave with more \
         pedal travel"
    );
    assert!(found.problem.fixes.is_empty());
}

#[test]
fn wear_room_counts_at_the_fingers() {
    let found = plain_finding(
        "no-wear-room",
        "slave { rest_extension = 6 mm }
disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 2 mm }
cover { release_travel = 11 mm to 13 mm  release_load = 1200 N  finger_ratio = 3.6 }",
    );
    // 2 mm · 3.6 = 7.2 mm against 6 mm / 2 = 3 mm; 3 mm are used up after 3 / 3.6 mm of wear.
    assert_eq!(
        found.problem.message,
        "as the disc wears, the fingers push the bearing back 7.2 mm, and it has room for 3 mm: after 0.83 mm \
         of the 2 mm of wear the bearing holds the fingers back, and the clutch slips"
    );
    // (7.2 mm + 0.1 mm in hand) · 2, and what is left of a tenth.
    assert_eq!(found.problem.fixes[0].edits[0].1, "14.7 mm");
}

#[test]
fn slave_overrun_counts_the_rest_extension() {
    let found = plain_finding(
        "slave-overrun",
        "slave { stroke = 28 mm  rest_extension = 6 mm }
cover { release_travel = 8 mm to 13 mm  release_load = 1200 N }",
    );
    assert_eq!(
        found.problem.message,
        "at full pedal the slave's piston would be 31 mm out (6 mm of that at rest), 3 mm past its \
         stroke of 28 mm: it hits its stop, or leaves its bore and the fluid runs out. Where it stops, \
         the pad is at 132 mm"
    );
    // 22 mm of slave are 132 mm of pedal. How far a worn disc brings the piston back is not said, so it
    // is not pushed further home.
    assert!(
        help(&found).starts_with(
            "fit a pedal stop at 131 mm: slave reserve 0.17 mm, release margin 2.92 mm"
        ),
        "{}",
        help(&found)
    );
    assert!(!help(&found).contains("rest extension"), "{}", help(&found));
}

#[test]
fn master_bottoms_names_a_stop_with_a_reserve() {
    let found = plain_finding(
        "master-bottoms",
        "master { stroke = 24 mm }
pedal { travel = 150 mm }
cover { release_travel = 8 mm to 13 mm  release_load = 1200 N }",
    );
    assert_eq!(
        found.problem.message,
        "the master's piston has used its stroke of 24 mm at 144 mm of pedal, 6 mm before the \
         pedal ends: from there the foot presses on the cylinder's end, and the pushrod or the firewall bends"
    );
    // 23 mm · 6 = 138 mm leave 1 mm; the whole 150 mm want 25 mm and 1 mm.
    assert!(
        help(&found).starts_with(
            "fit a pedal stop at 137 mm: master reserve 1.17 mm, release margin 3.42 mm, effort 100 N; \
             or use a master with 27 mm of stroke or more: master reserve 2 mm"
        ),
        "{}",
        help(&found)
    );
}

#[test]
fn a_pedal_is_heavy_above_150_newtons() {
    let found = plain_finding(
        "heavy-pedal",
        "cover { release_travel = 8 mm to 13 mm  release_load = 2000 N }",
    );
    // 2000 / 2 / 6.
    assert_eq!(
        found.problem.message,
        "the pedal takes 167 N, 17 N over the 150 N comfort limit for traffic (lecture notes \
         after the textbook Automobile Design, 80 to 150 N)"
    );
    let found = plain_finding(
        "heavy-pedal",
        "cover { release_travel = 12 mm to 13 mm  release_load = 2400 N }",
    );
    // 200 N; any lighter bore or longer lever would not free it any more.
    assert_eq!(
        help(&found),
        "no single change makes it light and still frees the disc: combine a greater pedal ratio \
         with more pedal travel, or fit an assist spring"
    );
}

#[test]
fn bites_are_given_as_shares_of_the_travel() {
    let found = plain_finding(
        "low-bite",
        "cover { release_travel = 11.25 mm to 15 mm  release_load = 1200 N }",
    );
    // 11.25 mm are 135 mm of pedal.
    assert!(
        found.problem.message.starts_with(
            "the disc comes free at 135 mm of 150 mm of pedal: only 15 mm (10 %) is left"
        ),
        "{}",
        found.problem.message
    );
    let found = plain_finding(
        "high-bite",
        "cover { release_travel = 4 mm to 13 mm  release_load = 1200 N }",
    );
    assert!(
        found
            .problem
            .message
            .starts_with("the disc is free at 48 mm of 150 mm of pedal already, 32 % of the way"),
        "{}",
        found.problem.message
    );
}

#[test]
fn each_odd_ratio_is_reported_at_its_field() {
    let report = analysed(
        "system odd {
    pedal { pad_arm = 450 mm  rod_arm = 50 mm  travel = 150 mm }
    master { bore = 30 mm  stroke = 36 mm }
    slave { bore = 15 mm  stroke = 60 mm }
    fork { ratio = 4 }
    cover { release_travel = 7 mm to 20 mm  release_load = 1500 N }
}
",
    );
    let told: Vec<String> = raised(&report, "odd-ratio")
        .iter()
        .map(|finding| {
            let at = common::covered(&report.source.text, &finding.problem.place);
            format!("{at}: {}; {}", finding.problem.message, help(finding))
        })
        .collect();
    // 450/8 to 450/3; 15/√2.5 to 15/√0.6.
    assert_eq!(
        told,
        [
            "50 mm: a pedal ratio of 9 is seldom built; usual is 3 to 8: it is light, but moves \
             the master little; with this pad arm, rod arms are usually 56.2 mm to 150 mm; both \
             count from the pivot",
            "30 mm: slave area over master area of 0.25 is seldom built; usual is 0.6 to 2.5: \
             the slave moves far, but the pedal is heavy; with this slave, masters are usually \
             9.49 mm to 19.4 mm; a master smaller than the slave eases the pedal",
            "4: a fork ratio of 4 is seldom built; usual is 1 to 3: it is light, but the bearing \
             moves little; divide the outer end's travel by the bearing's",
        ]
    );
}

// ---- single checks ----

#[test]
fn requires_count_at_the_stricter_end_of_a_tolerance() {
    let cover = "cover { release_travel = 8 mm to 13 mm  release_load = 1200 N }";
    let found = plain_finding(
        "require-failed",
        "cover { release_travel = 8 mm to 13 mm  release_load = 1200 N }
let knee = 100 N ± 5 N
require pedal_effort <= knee",
    );
    assert_eq!(
        found.problem.message,
        "`pedal_effort` is 100 N, and is required to be at most 95 N"
    );
    let text = plain(&format!("{cover}\nrequire pedal_effort <= 100.5 N"));
    assert!(raised(&analysed(&text), "require-failed").is_empty());
}

#[test]
fn a_require_that_cannot_be_held_says_what_is_missing() {
    let found = plain_finding(
        "require-failed",
        "cover { release_travel = 8 mm to 13 mm  release_load = 1200 N }
require wear_reserve >= 1 mm \"two sets of tyres\"",
    );
    assert_eq!(
        found.problem.message,
        "`wear_reserve` is required to be at least 1 mm, and cannot be worked out: two sets of \
         tyres"
    );
    assert_eq!(
        help(&found),
        "it needs disc.wear, and cover.finger_ratio or diaphragm"
    );
}

#[test]
fn the_bearing_goes_against_the_slave_about_a_pivot_between() {
    let raises = |moves: &str, pivot: &str, action: &str| {
        let text = format!(
            "{REFERENCE}
system example from reference {{
    slave {{ moves = {moves} }}
    fork {{ pivot = {pivot} }}
    cover {{ action = {action} }}
}}
"
        );
        fixes_cure(&text, "wrong-way");
        !raised(&analysed(&text), "wrong-way").is_empty()
    };
    for (moves, pivot, action, wrong) in [
        ("rearward", "between", "push", false),
        ("forward", "between", "push", true),
        ("rearward", "outboard", "push", true),
        ("forward", "outboard", "push", false),
        ("rearward", "between", "pull", true),
        ("forward", "between", "pull", false),
        ("rearward", "outboard", "pull", false),
        ("forward", "outboard", "pull", true),
    ] {
        assert_eq!(
            raises(moves, pivot, action),
            wrong,
            "{moves} {pivot} {action}"
        );
    }
}

#[test]
fn a_bearing_of_unknown_direction_has_no_error() {
    silent("wrong-way", "fork { pivot = outboard }");
}

/// A ring-shaped piston can only push towards the engine.
#[test]
fn a_concentric_slave_cannot_pull() {
    let ring = |action: &str| {
        let text = format!(
            "system ring {{
    pedal {{ ratio = 6  travel = 150 mm }}
    master {{ bore = 13/16 in  stroke = 36 mm }}
    slave {{ outer = 44 mm  inner = 32 mm  stroke = 20 mm }}
    cover {{ release_travel = 7 mm to 12 mm  release_load = 1400 N  action = {action} }}
}}
"
        );
        let report = analysed(&text);
        assert!(raised(&report, "way-unknown").is_empty());
        raised(&report, "wrong-way").len()
    };
    assert_eq!((ring("push"), ring("pull")), (0, 1));
}

/// The missing field is reported once, by its name.
#[test]
fn an_unknown_way_names_what_would_settle_it() {
    let told = |body: &'static str| help(&only("way-unknown", body)).to_owned();
    assert_eq!(
        told("cover { action = pull }"),
        "give `slave.moves`; the direction follows from `slave.moves`, `fork.pivot` and `cover.action`",
        "the reference gives its pivot"
    );
    assert_eq!(
        told("fork { stiffness = 900 N/mm }"),
        "give `slave.moves` and `cover.action`; the direction follows from `slave.moves`, `fork.pivot` \
         and `cover.action`"
    );
    silent("way-unknown", "slave { moves = rearward }");
    silent(
        "not-used",
        "fork { pivot = outboard }\ncover { action = pull }",
    );
    let cable = analysed(
        "system cable_car {
    pedal { ratio = 4.5  travel = 150 mm }
    cable { bends = 120 deg  friction = 0.1 }
    fork { ratio = 2.2 }
    cover { release_travel = 7 mm to 16 mm  release_load = 1000 N  action = pull }
}
",
    );
    let found = raised(&cable, "way-unknown");
    assert_eq!(found.len(), 1);
    assert!(help(found[0]).starts_with("give `cable.moves` and `fork.pivot`; "));
}

#[test]
fn an_unused_field_names_what_it_lacks() {
    let told = |body: &'static str| {
        let found = only("not-used", body);
        (found.problem.message.clone(), help(&found).to_owned())
    };
    assert_eq!(
        told("slave { slope = 5 deg }"),
        (
            "`slave.slope` is not used without `slave.chamber`".to_owned(),
            "give `slave.chamber`, or remove `slave.slope`".to_owned()
        )
    );
    assert_eq!(
        told("disc { outer = 228 mm  inner = 150 mm  friction = 0.3 }").0,
        "`disc.outer`, `disc.inner` and `disc.friction` are not used without `cover.clamp_load` or \
         `diaphragm`"
    );
    assert_eq!(
        told("gearbox { input_length = 195 mm }").0,
        "`gearbox.input_length` is not used without `bellhousing.depth` and `gearbox.pilot_reach`"
    );
    silent("not-used", "slave { slope = 5 deg  chamber = 30 mm }");
    silent("not-used", "fluid { coldest = -15 degC }");
    assert!(
        told("fluid { coldest = -15 degC  grade = mineral }")
            .0
            .contains("mineral oil")
    );
    silent(
        "not-used",
        "fluid { coldest = -15 degC  grade = mineral  viscosity = 90 mm^2/s }",
    );
}

/// The name behind `line` is a label, so nothing takes a part of that kind.
#[test]
fn a_part_of_kind_line_is_reported_as_unused() {
    let report = analysed(&format!(
        "part line hose {{ bore = 3.2 mm  length = 350 mm }}\n{REFERENCE}"
    ));
    let found: Vec<&Finding> = raised(&report, "not-used")
        .into_iter()
        .filter(|finding| finding.system.is_none())
        .collect();
    assert_eq!(found.len(), 1);
    assert_eq!(
        common::covered(&report.source.text, &found[0].problem.place),
        "hose"
    );
    assert!(raised(&report, "unused-part").is_empty());
    let library = analysed("part line hose { bore = 3.2 mm  length = 350 mm }\n");
    assert_eq!(raised(&library, "not-used").len(), 1);
}

#[test]
fn a_tilted_face_is_checked_against_its_limit() {
    // 0.030 in over a circle of 6 in: atan(0.005).
    let found = only(
        "misaligned-bell",
        "bellhousing { face_runout = 0.030 in  face_circle = 6 in }",
    );
    assert!(
        found.problem.message.starts_with(
            "the gearbox's face reads 0.76 mm, 0.3 deg out of square; the limit is 0.25 mm \
             (0.010 in: "
        ),
        "{}",
        found.problem.message
    );
    silent("misaligned-bell", "bellhousing { face_runout = 0.010 in }");
    let found = only(
        "misaligned-bell",
        "bellhousing { dial = curve { 0 deg: 0.4 mm, 90 deg: 0.1 mm } }",
    );
    assert!(
        found
            .problem
            .message
            .starts_with("2 dial readings do not show")
    );
}

#[test]
fn a_rod_and_its_ends_agree() {
    // √((102 + 13.22 − 6)² + 15.24²) = 110.28 mm, which is 4.3 in and 0.6 in: 4.34 in.
    let found = only(
        "rod-length",
        "slave { mount_to_fork = 102 mm  face_to_seat = 13.22 mm  rod_offset = 15.24 mm  rod_length = 9 in }",
    );
    assert_eq!(
        found.problem.message,
        "the slave's rod is 229 mm long, and the seats of its ends are 110 mm apart: it is 118 mm too long"
    );
    assert_eq!(found.problem.fixes[0].edits[0].1, "4.342 in");
    silent(
        "rod-length",
        "slave { mount_to_fork = 102 mm  face_to_seat = 13.22 mm  rod_offset = 15.24 mm  rod_length = 4.34 in }",
    );
    let found = only(
        "rod-length",
        "slave { mount_to_fork = 3 mm  face_to_seat = 1 mm }",
    );
    assert!(
        found.problem.message.contains("no rod fits"),
        "{}",
        found.problem.message
    );
}

/// A cable has no piston that goes back.
#[test]
fn a_cable_without_wear_room_has_its_own_message() {
    let report = analysed(
        "system cable_car {
    pedal { ratio = 4.5  travel = 150 mm }
    cable { bends = 120 deg  friction = 0.1 }
    fork { ratio = 2.2 }
    bearing { free_play = 0.68 mm }
    cover { release_travel = 7 mm to 16 mm  release_load = 1000 N  finger_ratio = 3.4 }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1.6 mm }
}
",
    );
    let found = raised(&report, "no-wear-room");
    assert_eq!(found.len(), 1, "{:#?}", report.findings);
    // 1.6 mm · 3.4 = 5.44 mm; 0.68 / 3.4 = 0.2 mm; (5.44 − 0.68) · 2.2 = 10.472 mm.
    assert_eq!(
        found[0].problem.message,
        "a worn disc brings the fingers back by 5.44 mm, and the bearing's free play is 0.68 mm: \
         after 0.2 mm of the 1.6 mm of wear the cable holds the clutch partly released, and it \
         slips. An adjuster at the fork's end needs 10.5 mm of travel for all of it"
    );
    assert!(
        help(found[0]).starts_with("fit an adjuster at the fork's end"),
        "{}",
        help(found[0])
    );
}

/// Readings on a car with a cable are compared with the calculated values, as on a hydraulic car.
#[test]
fn readings_of_every_kind_are_read() {
    let cable = |measured: &str| {
        let report = analysed(&format!(
            "system cable_car {{
    pedal {{ ratio = 4.5  travel = 150 mm }}
    cable {{ bends = 120 deg  friction = 0.1 }}
    fork {{ ratio = 2.2 }}
    cover {{ release_travel = 7 mm to 16 mm  release_load = 1000 N }}
    measured {{ {measured} }}
}}
"
        ));
        let found = raised(&report, "reading-off");
        found
            .iter()
            .map(|f| f.problem.message.clone())
            .collect::<Vec<_>>()
    };
    // 150 mm / 4.5 / 2.2 = 15.15 mm.
    assert!(cable("pedal_travel = 150 mm  bearing_travel = 15 mm").is_empty());
    let said = |measured: &str, what: &str| {
        let found = cable(measured);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].starts_with(what), "{found:?}");
    };
    said(
        "pedal_travel = 150 mm  bearing_travel = 9 mm",
        "the bearing moved 9 mm, 6.15 mm less than the 15.2 mm that is worked out. These explain the readings equally well: ",
    );
    // 7 mm · 2.2 · 4.5 = 69.3 mm.
    said(
        "pedal_travel = 150 mm  release_point = 90 mm",
        "the disc came free at 90 mm, 20.7 mm more than the 69.3 mm that is worked out. These explain the readings equally well: ",
    );
    said(
        "pedal_travel = 160 mm  bearing_travel = 15 mm",
        "the pad went to 160 mm, 10 mm more than the 150 mm that is worked out. Likeliest: the pad \
         moves 6.91 mm further than it should",
    );
}

#[test]
fn seals_and_fluids() {
    let attacked = |grade: &str, master: &str, slave: &str| {
        let text = format!(
            "{REFERENCE}
system example from reference {{
    fluid {{ grade = {grade} }}
    master {{ seals = {master} }}
    slave {{ seals = {slave} }}
}}
"
        );
        fixes_cure(&text, "fluid-attacks-seals");
        let report = analysed(&text);
        raised(&report, "fluid-attacks-seals")
            .first()
            .map(|finding| (finding.problem.fixes.len(), help(finding).to_owned()))
    };
    for grade in ["dot3", "dot4", "dot5_1"] {
        assert!(attacked(grade, "epdm", "epdm").is_none());
        assert!(attacked(grade, "nbr", "nbr").is_some());
        assert!(attacked(grade, "fkm", "fkm").is_some());
    }
    assert!(attacked("mineral", "nbr", "fkm").is_none());
    for seals in ["epdm", "nbr", "fkm"] {
        assert!(
            attacked("dot5", seals, seals).is_none(),
            "of silicone nothing is said"
        );
    }
    let (fixes, help) = attacked("dot4", "epdm", "nbr").expect("the slave's are attacked");
    assert_eq!(fixes, 0, "no fluid suits both");
    assert!(help.starts_with("no fluid suits the seals of both"));
}

#[test]
fn units_that_slip() {
    let fixes = |body: &str| -> Vec<String> {
        let text = format!("{REFERENCE}\nsystem example from reference {{\n{body}\n}}\n");
        let report = analysed(&text);
        raised(&report, "unit-slip")
            .iter()
            .flat_map(|finding| &finding.problem.fixes)
            .map(|fix| {
                let after = analysed(&with_fix(&text, fix));
                assert!(raised(&after, "unit-slip").is_empty(), "{}", fix.title);
                fix.edits[0].1.clone()
            })
            .collect()
    };
    assert_eq!(fixes("slave { bore = 7/8 mm }"), ["7/8 in", "0.875 cm"]);
    assert_eq!(fixes("slave { bore = 22.225 in }"), ["22.225 mm"]);
    assert_eq!(fixes("slave { bore = 22 in ± 0.1 in }"), ["22 mm ± 0.1 mm"]);
    assert_eq!(fixes("slave { max_pressure = 580 bar }"), ["580 psi"]);
    assert_eq!(fixes("slave { max_pressure = 5 kPa }"), ["5 MPa"]);
    assert_eq!(fixes("fluid { bulk_modulus = 1.6 MPa }"), ["1.6 GPa"]);
    assert_eq!(fixes("line hard { modulus = 205 MPa }"), ["205 GPa"]);
    assert_eq!(fixes("cover { release_load = 1.5 N }"), ["1.5 kN"]);
    // What nothing explains is left alone, and so is what is computed.
    for body in [
        "slave { bore = 7.5 mm }",
        "slave { bore = 7 mm / 8 }",
        "line flex { expansion = 0 cc/ft/psi }",
        "cover { release_load = curve { 0 mm: 1 N, 11 mm: 2 N } }",
    ] {
        assert!(fixes(body).is_empty(), "{body}");
    }
}

#[test]
fn free_play_at_the_pad_and_at_the_rod_agree() {
    // The reference's ratio is 6 and its free play 6 mm.
    silent("over-stated", "master { rod_clearance = 1 mm }");
    silent("over-stated", "master { rod_clearance = 1.05 mm }");
    let found = only(
        "over-stated",
        "pedal { free_play = 6 mm }\nmaster { rod_clearance = 2 mm }",
    );
    assert_eq!(
        found.problem.message,
        "the pedal's free play is given as 6 mm, and the rod's clearance of 2 mm makes it 12 mm \
         at the pad: the free play is counted"
    );
    let texts: Vec<&str> = found
        .problem
        .fixes
        .iter()
        .map(|fix| fix.title.as_str())
        .collect();
    assert_eq!(
        texts,
        ["pedal.free_play = 12 mm", "master.rod_clearance = 1 mm"]
    );
    fixes_cure(
        &text_of(Example::System(
            "pedal { free_play = 6 mm }\nmaster { rod_clearance = 2 mm }",
        )),
        "over-stated",
    );
}

#[test]
fn numbers_without_meaning_are_pointed_at() {
    for (body, place) in [
        ("pedal { free_play = 700 mm }", "700 mm"),
        ("pedal { travel = 2000 mm }", "2000 mm"),
        ("fork { stiffness = 1e-320 N/mm }", "example"),
    ] {
        let text = format!("{REFERENCE}\nsystem example from reference {{\n{body}\n}}\n");
        let report = analysed(&text);
        let found = raised(&report, "not-worked");
        assert_eq!(found.len(), 1, "{body}: {:#?}", report.findings);
        assert_eq!(
            common::covered(&text, &found[0].problem.place),
            place,
            "{body}"
        );
    }
}

/// A part may serve many systems, so that a fix for one system never edits the part.
#[test]
fn a_part_is_never_changed_from_a_system() {
    let text = format!(
        "{REFERENCE}
part slave worn {{ bore = 1 in  stroke = 30 mm }}
system example from reference {{
    slave worn
}}
"
    );
    let report = analysed(&text);
    let found = raised(&report, "short-release");
    assert_eq!(found.len(), 1);
    assert_eq!(common::covered(&text, &found[0].problem.place), "worn");
    let fixes = found[0].problem.fixes.iter();
    let fixed: Vec<String> = fixes.map(|fix| with_fix(&text, fix)).collect();
    let is_of_system = |fixed: &String| fixed.contains("slave worn { bore = 15/16 in }");
    let keeps_part = |fixed: &String| fixed.contains("part slave worn { bore = 1 in ");
    assert!(
        fixed.iter().any(is_of_system) && fixed.iter().all(keeps_part),
        "{fixed:#?}"
    );
    fixes_cure(&text, "short-release");
}

/// Authors in inches are answered in inches.
#[test]
fn an_imperial_spec_gets_a_stop_in_sixteenths() {
    let report = analysed(
        "system old {
    pedal { pad_arm = 12 in  rod_arm = 2 in  travel = 7 1/8 in }
    master { bore = 3/4 in  stroke = 1 1/2 in }
    slave { bore = 7/8 in  stroke = 1 1/4 in }
    fork { slave_arm = 4 1/2 in  bearing_arm = 2 3/4 in }
    cover { release_travel = 9/32 in to 7/16 in  release_load = 340 lbf }
}
",
    );
    let found = raised(&report, "over-release");
    assert_eq!(found.len(), 1, "{:#?}", report.findings);
    let fix = &found[0].problem.fixes[0];
    assert!(
        fix.title.starts_with("fit a pedal stop at 5 13/16 in"),
        "{}",
        fix.title
    );
    assert!(fix.title.ends_with("lbf"), "{}", fix.title);
}

// ---- every fix of the mechanics, over many cars ----

/// Variants of the reference car with one or two values changed so far that many of them fail.
fn many_cars() -> Vec<String> {
    let firsts = [
        "",
        "pedal { travel = 110 mm }",
        "pedal { travel = 190 mm }",
        "pedal { stop = 100 mm }",
        "pedal { pad_arm = 220 mm  arm_angle = -33 deg  travel = 225 mm }",
        "master { bore = 5/8 in }",
        "master { bore = 1 in }",
        "master { stroke = 18 mm }",
        "line flex { length = 1.5 m  expansion = 1 cc/ft / 1000 psi }",
        "line flex { max_pressure = 2.2 MPa }",
        "fluid { air = 3 cc }",
    ];
    let seconds = [
        "",
        "slave { bore = 19 mm }",
        "slave { bore = 28 mm }",
        "slave { stroke = 16 mm  rest_extension = 4 mm }",
        "slave { max_pressure = 20 bar }",
        "fork { slave_arm = 90 mm  window = 17 mm }",
        "fork { slave_arm = 160 mm }",
        "bearing { free_play = 2 mm  max_travel = 10 mm }",
        "cover { release_travel = 5 mm to 9 mm }",
        "cover { release_load = 2200 N }",
        "cover { finger_ratio = 3.6 }
disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 2 mm }",
        "require pedal_effort <= 130 N
require release_margin >= 1.5 mm",
    ];
    let body = |first: &str, second: &str| {
        // A block that neither mentions cannot be added to, so all of them are mentioned.
        let mut body = format!("{first}\n{second}\n");
        for block in ["pedal", "master", "slave"] {
            if !body.contains(&format!("{block} {{")) {
                body.push_str(&format!("{block} {{ efficiency = 0.95 }}\n"));
            }
        }
        format!("{REFERENCE}\nsystem example from reference {{\n{body}}}\n")
    };
    firsts
        .iter()
        .flat_map(|first| seconds.iter().map(move |second| body(first, second)))
        .collect()
}

#[test]
fn every_fix_holds_on_many_cars() {
    let mut tried = 0;
    for text in many_cars() {
        let report = analysed(&text);
        for check in CHECKS {
            tried += fixes_cure_in(&report, check.name());
        }
    }
    assert!(tried > 200, "only {tried} fixes were tried");
}

/// Cures found on request equal those found at once, and nothing is worked out before the request.
#[test]
fn cures_are_worked_out_when_asked_and_are_the_same() {
    let mut curable = 0;
    for check in CHECKS {
        let text = text_of(check.bad);
        let source = || Arc::new(Source::new("a.clutch".into(), text.clone()));
        let at_once = analyse_with(source(), &Library::default(), &Work::default());
        let work = Work {
            cures: CureSearch::WhenAsked,
            ..Work::default()
        };
        let when_asked = analyse_with(source(), &Library::default(), &work);
        let pairs = at_once.findings.iter().zip(&when_asked.findings);
        for (cured, asked) in pairs {
            assert_eq!(cured.problem.message, asked.problem.message);
            let is_open = asked.problem.help.is_none() && asked.problem.fixes.is_empty();
            curable += usize::from(is_open && cured.problem.help.is_some());
            assert_eq!(asked.help(), cured.problem.help.as_deref());
            assert!(asked.fixes().eq(&cured.problem.fixes));
        }
        assert_eq!(at_once.findings.len(), when_asked.findings.len());
    }
    assert!(curable > 15, "only {curable} cures were left for later");
}
