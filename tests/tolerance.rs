//! Effects of tolerances: bands contain every draw, and their ends are reached.

mod common;

use bitepoint::analysis::{Report, analyse};
use bitepoint::model::System;
use bitepoint::schema::ResultId;
use bitepoint::solve::{Outcome, Tolerances, work_out};
use bitepoint::{field, result};
use common::toleranced::system;
use common::{Library, source};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;

fn report(body: &str) -> Report {
    let text = format!(
        "{}\nsystem a from reference {{\n{body}\n}}\n",
        bitepoint::checks::REFERENCE
    );
    analyse(source("a.clutch", &text), &Library::default())
}

/// Nine ordinary tolerances, spread over the chain.
const KIT: &str =
    "pedal { pad_arm = 300 mm ± 1 mm  rod_arm = 50 mm ± 0.5 mm  travel = 150 mm ± 3 mm }
    master { bore = 19.05 mm to 19.12 mm  port_travel = 1 mm ± 0.3 mm }
    line flex { bore = 1/8 in  length = 350 mm ± 5 %  expansion = 0.33 cc/ft / 1000 psi }
    slave { bore = 22.22 mm to 22.30 mm  rest_extension = 6 mm ± 1 mm }
    fork { slave_arm = 112 mm ± 1 %  bearing_arm = 68 mm }";

/// Uncertainties of 0.1, 0.2 and 0.2 add to 0.3 (PyPI `uncertainties` 3.2.3), and at worst to 0.5.
#[test]
fn independent_tolerances_add_as_their_squares_do() {
    let report = report(
        "slave { mount_to_fork = 100 mm ± 0.1 mm  face_to_seat = 20 mm ± 0.2 mm  rest_extension = 6 mm ± 0.2 mm }",
    );
    let tolerances = report.systems[1].tolerances.as_ref().unwrap();
    let spread = tolerances.get(result!(rod_cut_length)).unwrap();
    assert!((spread.rss.low - 113.7).abs() < 1e-9);
    assert!((spread.rss.high - 114.3).abs() < 1e-9);
    assert!((spread.worst.low - 113.5).abs() < 1e-9);
    assert!((spread.worst.high - 114.5).abs() < 1e-9);
    let shares: Vec<f64> = spread
        .shares
        .iter()
        .map(|s| (s * 10.0).round() / 10.0)
        .collect();
    assert_eq!(
        shares,
        [0.4, 0.2, 0.4],
        "rest_extension, mount_to_fork, face_to_seat"
    );
}

#[test]
fn a_system_without_tolerances_has_none() {
    assert!(report("").systems[1].tolerances.is_none());
}

/// The outcome with every toleranced value at the place in its band, 0 to 1, that `pick` chooses.
fn drawn(report: &Report, mut pick: impl FnMut() -> f64) -> Outcome {
    let worked = &report.systems[1];
    let mut system = worked.system.clone();
    for input in &worked.tolerances.as_ref().unwrap().inputs {
        let band = input.band;
        system.hold(input, band.low + (band.high - band.low) * pick());
    }
    work_out(&system).unwrap()
}

fn assert_holds(report: &Report, outcome: &Outcome) {
    let tolerances = report.systems[1].tolerances.as_ref().unwrap();
    for (id, value) in outcome.results.iter() {
        let Some(spread) = tolerances.get(id) else {
            continue;
        };
        let room = 1e-9 * spread.worst.nominal.abs().max(1e-3);
        assert!(
            spread.worst.low - room <= value && value <= spread.worst.high + room,
            "{}: {value} is not in {:?}",
            id.spec().name,
            spread.worst
        );
    }
}

#[test]
fn the_worst_case_holds_ten_thousand_draws() {
    let report = report(KIT);
    let mut random = StdRng::seed_from_u64(7);
    for _ in 0..10_000 {
        assert_holds(&report, &drawn(&report, || random.random()));
    }
}

/// How many random systems are tried, unless `BITEPOINT_TOLERANCED` says otherwise; the number of a system is its
/// seed.
const SYSTEMS: u64 = 40;

/// Random systems whose stops, load curves and tolerances up to 20 % put extremes at kinks, on ridges and at cliffs
/// inside the bands. Each draw has some inputs at an end of their bands, where the others then matter most, and
/// continues from the worst draw so far.
#[test]
fn no_draw_leaves_the_band_of_a_random_system() {
    let systems = std::env::var("BITEPOINT_TOLERANCED");
    let systems = systems.map_or(SYSTEMS, |count| count.parse().expect("a number"));
    let mut spreads = 0;
    let mut left = Vec::new();
    for seed in 0..systems {
        let nominal = system(seed, 8);
        let outcome = work_out(&nominal).unwrap();
        let tolerances = Tolerances::new(&nominal, &outcome).unwrap();
        let mut beyond = Beyond::new(&nominal, &tolerances);
        let mut random = StdRng::seed_from_u64(seed + 1_000_000);
        for draw in 0..100 {
            let inside = [0.1, 0.3, 1.0][draw % 3];
            let places = tolerances.inputs.iter().map(|_| {
                let place: f64 = random.random();
                let end = f64::from(u8::from(place < 0.5));
                if random.random::<f64>() < inside {
                    place
                } else {
                    end
                }
            });
            beyond.try_at(places.collect());
        }
        for round in 0..8 {
            let step = 0.3 * 0.7_f64.powi(round);
            for mut places in beyond.worst() {
                for place in &mut places {
                    let by = step * (2.0 * random.random::<f64>() - 1.0);
                    if random.random::<f64>() < 0.5 {
                        *place = (*place + by).clamp(0.0, 1.0);
                    }
                }
                beyond.try_at(places);
            }
        }
        spreads += ResultId::all()
            .filter(|id| tolerances.get(*id).is_some())
            .count();
        left.extend(beyond.left.into_iter().map(|(name, by)| (seed, name, by)));
    }
    assert!(spreads > 20 * systems as usize, "{spreads}");
    assert!(left.is_empty(), "of {spreads} bands: {left:#?}");
}

/// Draws from the bands of a system, and those outside of a result's band.
struct Beyond<'a> {
    moved: System,
    tolerances: &'a Tolerances,
    /// The least and the greatest draw of each result, and where each was.
    drawn: BTreeMap<(usize, bool), (f64, Vec<f64>)>,
    /// By how much draws left the band of a result at most, as a share of its greatest value.
    left: BTreeMap<&'static str, f64>,
}

impl<'a> Beyond<'a> {
    fn new(nominal: &System, tolerances: &'a Tolerances) -> Self {
        Self {
            moved: nominal.clone(),
            tolerances,
            drawn: BTreeMap::new(),
            left: BTreeMap::new(),
        }
    }

    fn try_at(&mut self, places: Vec<f64>) {
        for (input, place) in self.tolerances.inputs.iter().zip(&places) {
            let band = input.band;
            self.moved
                .hold(input, band.low + (band.high - band.low) * place);
        }
        let Ok(outcome) = work_out(&self.moved) else {
            return;
        };
        for (id, value) in outcome.results.iter() {
            let Some(spread) = self.tolerances.get(id) else {
                continue;
            };
            let worst = spread.worst;
            let scale = worst.low.abs().max(worst.high.abs()).max(1e-3);
            let over = (worst.low - value).max(value - worst.high) / scale;
            if over > 1e-9 {
                let left = self.left.entry(id.spec().name).or_default();
                *left = left.max(over);
            }
            for most in [false, true] {
                let worth = if most { value } else { -value };
                let known = self.drawn.entry((id.index(), most));
                let known = known.or_insert((worth, places.clone()));
                if worth > known.0 {
                    *known = (worth, places.clone());
                }
            }
        }
    }

    /// Where each result was at its least and at its most.
    fn worst(&self) -> Vec<Vec<f64>> {
        self.drawn
            .values()
            .map(|(_, places)| places.clone())
            .collect()
    }
}

/// The likely band is inside the worst case, even if effects are cut by a stop, one-sided at a peak, or larger one by
/// one than together.
#[test]
fn the_root_sum_square_lies_inside_the_worst_case() {
    let (mut spreads, mut one_sided) = (0, 0);
    for seed in 0..SYSTEMS {
        let nominal = system(seed, 8);
        let outcome = work_out(&nominal).unwrap();
        let tolerances = Tolerances::new(&nominal, &outcome).unwrap();
        for spread in ResultId::all().filter_map(|id| tolerances.get(id)) {
            let (worst, rss) = (spread.worst, spread.rss);
            assert!(worst.low <= rss.low && rss.low <= rss.nominal, "{spread:?}");
            assert!(
                rss.nominal <= rss.high && rss.high <= worst.high,
                "{spread:?}"
            );
            assert_eq!(rss.nominal, worst.nominal);
            spreads += usize::from(worst.low < worst.high);
            one_sided += usize::from((rss.low < rss.nominal) != (rss.nominal < rss.high));
        }
    }
    assert!(spreads > 500 && one_sided > 5, "{one_sided} of {spreads}");
}

/// A pedal stop at the end of the travel: a shorter stop takes travel, a longer one adds none.
#[test]
fn what_only_lowers_a_result_raises_no_band() {
    let report = report("pedal { travel = 150 mm  stop = 150 mm ± 4 mm }");
    let tolerances = report.systems[1].tolerances.as_ref().unwrap();
    let spread = tolerances.get(result!(pedal_travel_used)).unwrap();
    assert!((spread.rss.low - 146.0).abs() < 1e-9, "{spread:?}");
    assert_eq!(spread.rss.high, 150.0);
    assert_eq!(spread.rss, spread.worst);
}

/// This cover's load is highest at 5 mm, at a corner of its curve. The fork ratio decides which finger travel the
/// stroke gives, and whether it meets the corner. The highest effort at full pedal is neither at an end nor in the
/// middle of the band.
#[test]
fn an_extreme_inside_of_a_band_is_found() {
    let body = |ratio: &str| format!("fork {{ ratio = {ratio} }}  pedal {{ travel = 110 mm }}");
    let loose = report(&body("1.8 ± 0.7"));
    let tolerances = loose.systems[1].tolerances.as_ref().unwrap();
    let worst = tolerances.get(result!(pedal_effort_full)).unwrap().worst;
    let mut found = (f64::INFINITY, f64::NEG_INFINITY);
    for i in 0..=1_400 {
        let ratio = 1.1 + f64::from(i) / 1_000.0;
        let report = report(&body(&format!("{ratio}")));
        let outcome = report.systems[1].outcome.as_ref().unwrap();
        let effort = outcome.get(result!(pedal_effort_full)).unwrap();
        found = (found.0.min(effort), found.1.max(effort));
    }
    let width = worst.high - worst.low;
    assert!(
        worst.low <= found.0 + 1e-9 && found.1 <= worst.high + 1e-9,
        "{worst:?} {found:?}"
    );
    assert!(found.0 - worst.low < 0.01 * width && worst.high - found.1 < 0.01 * width);
}

#[test]
fn the_worst_case_is_reached_at_a_corner() {
    let report = report(KIT);
    let tolerances = report.systems[1].tolerances.as_ref().unwrap();
    let count = tolerances.inputs.len();
    assert!(count >= 8);
    let mut least = vec![f64::INFINITY; ResultId::all().count()];
    let mut most = vec![f64::NEG_INFINITY; least.len()];
    for corner in 0..1u32 << count {
        let mut bits = (0..count).map(|i| f64::from(corner >> i & 1));
        let outcome = drawn(&report, || bits.next().unwrap());
        assert_holds(&report, &outcome);
        for (id, value) in outcome.results.iter() {
            least[id.index()] = least[id.index()].min(value);
            most[id.index()] = most[id.index()].max(value);
        }
    }
    for id in [
        result!(release_margin),
        result!(slave_travel),
        result!(line_pressure),
        result!(pedal_effort_full),
        result!(release_point),
        result!(slave_reserve),
    ] {
        let worst = tolerances.get(id).unwrap().worst;
        let width = worst.high - worst.low;
        assert!(width > 0.0, "{}", id.spec().name);
        assert!(
            (least[id.index()] - worst.low).abs() <= 0.01 * width,
            "{}",
            id.spec().name
        );
        assert!(
            (most[id.index()] - worst.high).abs() <= 0.01 * width,
            "{}",
            id.spec().name
        );
    }
}

#[test]
fn random_tolerances_on_random_systems_hold_their_draws() {
    let mut random = StdRng::seed_from_u64(11);
    for _ in 0..20 {
        let mut some = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
        let body = format!(
            "pedal {{ travel = {} mm ± {} mm  rod_arm = {} mm ± {} % }}
             master {{ stroke = {} mm ± {} mm  mount_stiffness = {} N/mm ± {} % }}
             slave {{ bore = {} mm ± {} mm  preload = {} N ± 5 N }}
             fork {{ ratio = {} ± {} }}",
            some(130.0, 170.0),
            some(1.0, 8.0),
            some(42.0, 60.0),
            some(0.5, 5.0),
            some(20.0, 36.0),
            some(0.1, 2.0),
            some(300.0, 2000.0),
            some(1.0, 20.0),
            some(19.0, 25.0),
            some(0.02, 0.3),
            some(6.0, 60.0),
            some(1.3, 2.2),
            some(0.01, 0.1),
        );
        let report = report(&body);
        assert!(report.systems[1].outcome.is_ok(), "{body}");
        for _ in 0..500 {
            assert_holds(&report, &drawn(&report, || random.random()));
        }
    }
}

#[test]
fn the_shares_name_the_input_that_takes_the_margin() {
    let report = report("pedal { travel = 150 mm ± 30 mm }  slave { stroke = 30 mm ± 0.1 mm }");
    let finding = report
        .findings
        .iter()
        .find(|finding| finding.check.name() == "thin-margin")
        .expect("30 mm of pedal are more than the margin");
    let help = finding.problem.help.as_deref().unwrap();
    assert!(
        help.starts_with("what takes it: pedal.travel 100 %"),
        "{help}"
    );
    assert_eq!(finding.problem.block, Some(field!(pedal.travel).block));
}

#[test]
fn a_limit_of_the_authors_own_has_a_worst_case_as_well() {
    let report = report("fork { ratio = 1.65 ± 0.2 }\nrequire pedal_effort <= 145 N");
    let messages: Vec<&str> = report
        .findings
        .iter()
        .filter(|finding| finding.check.name() == "thin-margin")
        .map(|finding| finding.problem.message.as_str())
        .collect();
    assert!(
        messages.iter().any(|m| m.starts_with("`pedal_effort` is")),
        "{messages:?}"
    );
}

#[test]
fn the_band_around_the_curve_holds_every_draw() {
    let report = report(
        "pedal { travel = 150 mm ± 3 mm }\nmaster { bore = 19.05 mm ± 0.05 mm  port_travel = 1 mm ± 0.3 mm }\nfork { ratio = 1.65 ± 2 % }",
    );
    let worked = &report.systems[1];
    let nominal = &worked.outcome.as_ref().unwrap().chain;
    let band = worked
        .tolerances
        .as_ref()
        .unwrap()
        .curve(&worked.system, nominal, 41);
    let places = nominal.curve(41);
    let mut random = StdRng::seed_from_u64(3);
    let mut width = 0.0_f64;
    for _ in 0..200 {
        let drawn = drawn(&report, || random.random());
        for (i, place) in places.iter().enumerate() {
            // Held there by a stop, the draw ends its curve at that very travel.
            let Some(there) =
                drawn.with(|chain| chain.pedal.stop = Some(place.pad_travel.max(1e-6)))
            else {
                continue;
            };
            let used = there.get(result!(pedal_travel_used)).unwrap();
            if used < place.pad_travel {
                continue;
            }
            let travel = there.get(result!(finger_travel)).unwrap();
            let (low, high) = (band.low[i].finger_travel, band.high[i].finger_travel);
            // Between its samples a corner's curve is read in a straight line.
            assert!(
                low - 0.01 <= travel && travel <= high + 0.01,
                "{travel} not in {low}..{high}"
            );
            width = width.max(high - low);
        }
    }
    assert!(width > 0.3, "a band that wide at its widest: {width}");
}

/// If a limit has a tolerance, the end that is harder to meet counts, also where a nominal value is compared with it.
#[test]
fn a_limit_with_a_tolerance_is_held_at_its_harder_end() {
    let thin = |limit: &str| {
        let report = report(&format!(
            "{KIT}\nlet most = {limit}\nrequire pedal_effort <= most"
        ));
        let checks: Vec<&str> = report
            .findings
            .iter()
            .filter(|f| f.system.as_deref() == Some("a"))
            .map(|f| f.check.name())
            .filter(|name| matches!(*name, "thin-margin" | "require-failed"))
            .collect();
        let effort = report.systems[1].tolerances.as_ref().unwrap();
        (checks, effort.get(result!(pedal_effort)).unwrap().worst)
    };
    let (_, effort) = thin("500 N");
    let between = f64::midpoint(effort.nominal, effort.high);
    // Its middle is well above all that comes of it, its low end is not.
    let (checks, _) = thin(&format!("{} N ± 100 N", between + 100.0));
    assert_eq!(checks, ["thin-margin"]);
    let (checks, _) = thin(&format!("{} N ± 100 N", effort.high + 101.0));
    assert!(checks.is_empty(), "{checks:?}");
}

/// A tolerance on top of another one is a share of the nominal value, as the first one is.
#[test]
fn a_percentage_counts_from_the_nominal_value() {
    let report = report("let full = 150 mm ± 10 mm\npedal { travel = full ± 10 % }");
    let inputs = report.systems[1].system.toleranced();
    let band = inputs[0].band;
    assert!((band.low - 125.0).abs() < 1e-9 && (band.high - 175.0).abs() < 1e-9);
}

/// The tolerance that `thin-margin` proposes is right: with it, the finding is gone.
#[test]
fn the_tolerance_that_is_named_is_the_one_that_saves_the_margin() {
    let body = |travel: &str| {
        format!(
            "pedal {{ travel = 150 mm ± {travel} }}
            slave {{ bore = 7/8 in ± 0.5 mm  rest_extension = 6 mm }}"
        )
    };
    let thin = |travel: &str| {
        let report = report(&body(travel));
        let mut findings = report.findings.iter();
        findings
            .find(|f| f.check.name() == "thin-margin" && f.problem.message.contains("release"))
            .map(|f| f.problem.help.clone().unwrap_or_default())
    };
    let help = thin("30 mm").expect("too much for the margin");
    let (_, rest) = help
        .split_once("hold pedal.travel to about ± ")
        .expect(&help);
    let (width, _) = rest.split_once(" mm").expect("a width");
    let width: f64 = width.parse().unwrap();
    assert_eq!(thin(&format!("{} mm", width * 0.98)), None);
    assert!(thin(&format!("{} mm", width * 1.05)).is_some(), "{help}");
}

/// A window's ends are where the cover was measured to release and to be at its limit. Their tolerances count in the
/// margins in full.
#[test]
fn the_ends_of_a_window_count_with_their_tolerances() {
    let report = report(
        "let frees = 7 mm ± 0.3 mm
        let gives_out = 11 mm ± 0.5 mm
        cover { release_travel = frees to gives_out }",
    );
    let worked = &report.systems[1];
    let tolerances = worked.tolerances.as_ref().unwrap();
    let names: Vec<String> = tolerances
        .inputs
        .iter()
        .map(|input| worked.system.name_of(input))
        .collect();
    assert_eq!(
        names,
        [
            "cover.release_travel near end",
            "cover.release_travel far end"
        ]
    );
    for (id, width) in [
        (result!(release_margin), 0.6),
        (result!(overtravel_margin), 1.0),
    ] {
        let worst = tolerances.get(id).unwrap().worst;
        assert!((worst.high - worst.low - width).abs() < 1e-9, "{worst:?}");
    }
    let margin = tolerances.get(result!(release_margin)).unwrap();
    assert_eq!(margin.shares, [1.0, 0.0]);
    let rss = tolerances.get(result!(release_point)).unwrap().rss;
    assert!(rss.high - rss.low > 0.2);
}

#[test]
fn a_window_that_may_end_before_it_begins_is_refused() {
    let report = report(
        "let frees = 7 mm ± 1 mm
        cover { release_travel = frees to 7.5 mm }",
    );
    let found = report.findings.iter().find(|f| f.system.is_none());
    let found = found.expect("the ends overlap");
    assert_eq!(found.check.name(), "out-of-range");
    assert!(found.problem.message.contains("overlap"));
}

/// All points of a curve go up and down together, as with a strong spring or a gauge that reads high.
#[test]
fn the_points_of_a_curve_count_together() {
    let body = |strength: &str| {
        format!(
            "let strength = {strength}
            slave {{ stroke = 30 mm ± 1 mm }}
            cover {{ release_load = curve {{
                0 mm: 150 N * strength, 2 mm: 900 N * strength, 5 mm: 1500 N * strength,
                8 mm: 1400 N * strength, 11 mm: 1300 N
            }} }}"
        )
    };
    let loose = report(&body("1 ± 8 %"));
    let tolerances = loose.systems[1].tolerances.as_ref().unwrap();
    assert_eq!(tolerances.inputs.len(), 2);
    let effort = tolerances.get(result!(pedal_effort)).unwrap().worst;
    let exact = |strength: &str| {
        let report = report(&body(strength));
        let outcome = report.systems[1].outcome.as_ref().unwrap();
        outcome.get(result!(pedal_effort)).unwrap()
    };
    assert!((effort.low / exact("0.92") - 1.0).abs() < 1e-9);
    assert!((effort.high / exact("1.08") - 1.0).abs() < 1e-9);
    let mut random = StdRng::seed_from_u64(5);
    for _ in 0..300 {
        assert_holds(&loose, &drawn(&loose, || random.random()));
    }
}

#[test]
fn the_place_of_a_curves_point_has_no_tolerance() {
    let report = report(
        "let there = 2 mm ± 0.1 mm
        cover { release_load = curve { 0 mm: 150 N, there: 900 N, 8 mm: 1400 N } }",
    );
    let found = report.findings.iter().find(|f| f.system.is_none());
    let message = &found.expect("not silent").problem.message;
    assert!(message.contains("has a tolerance"), "{message}");
}

#[test]
fn shares_of_the_variance_are_those_of_the_squares() {
    let report = report(
        "slave { mount_to_fork = 100 mm ± 0.1 mm  face_to_seat = 20 mm ± 0.2 mm  rest_extension = 6 mm ± 0.2 mm }",
    );
    let tolerances = report.systems[1].tolerances.as_ref().unwrap();
    let spread = tolerances.get(result!(rod_cut_length)).unwrap();
    let ninths: Vec<f64> = spread
        .variance_shares()
        .iter()
        .map(|share| (share * 9.0).round())
        .collect();
    assert_eq!(ninths, [4.0, 1.0, 4.0]);
}

/// `thin-margin` looks at every result that another check limits.
#[test]
fn every_margin_has_its_worst_case() {
    let thin = |body: &str, words: &str| {
        let report = report(body);
        let found = report
            .findings
            .iter()
            .find(|f| f.check.name() == "thin-margin" && f.problem.message.starts_with(words));
        assert!(
            found.is_some(),
            "{words}: {:#?}",
            report
                .findings
                .iter()
                .map(|f| &f.problem.message)
                .collect::<Vec<_>>()
        );
    };
    thin("master { stroke = 24 mm ± 2 mm }", "the master reserve is");
    thin(
        "slave { max_pressure = 3 MPa  bore = 7/8 in ± 3 mm }",
        "the line pressure is",
    );
    thin(
        "slave { bore = 7/8 in ± 0.05 mm  max_pressure = 3.4 MPa ± 1 MPa }",
        "the line pressure is",
    );
    thin(
        "bearing { max_travel = 9.2 mm }  pedal { travel = 150 mm ± 9 mm }",
        "the bearing reserve is",
    );
    thin(
        "fork { window = 16 mm }  pedal { travel = 150 mm ± 9 mm }",
        "the fork reserve is",
    );
    thin(
        "pedal { return_force = 1 N ± 0.9 N  assist = curve { 0 mm: 0.5 N, 150 mm: 0.5 N } }",
        "the pedal effort slack is",
    );
    thin(
        "cover { clamp_load = 6 kN ± 20 %  finger_ratio = 3.4 }
        disc { outer = 228 mm  inner = 150 mm  friction = 0.3  clearance = 0.3 mm }
        engine { torque = 200 N*m }",
        "the torque margin is",
    );
    thin(
        "cover { finger_ratio = 3.4 }  pedal { travel = 150 mm ± 9 mm }
        disc { outer = 228 mm  inner = 150 mm  friction = 0.3  clearance = 0.3 mm  cushion = 2 mm }",
        "the lift margin is",
    );
}

#[test]
fn more_tolerances_than_can_be_searched_are_said_to_be_too_many() {
    let lines: String = (0..bitepoint::solve::MAX_TOLERANCED / 2 + 1)
        .map(|i| {
            format!("line l{i} {{ bore = 3 mm ± 0.1 mm  length = 10 mm ± 1 mm  wall = 0.7 mm }}\n")
        })
        .collect();
    let report = report(&lines);
    assert!(report.systems[1].outcome.is_ok());
    assert!(report.systems[1].tolerances.is_none());
    assert!(
        report
            .findings
            .iter()
            .any(|f| f.check.name() == "too-large")
    );
}

/// The search against every corner of the bands, with inputs of all kinds on random systems.
#[test]
fn the_search_finds_what_every_corner_would() {
    // Up to eight inputs every corner is tried; beyond, little may be missed.
    assert!(shortest_of(12, 3.0, 8.0) <= 1e-6);
    assert!(shortest_of(6, 10.0, 10.0) <= 0.02);
}

/// By how much the worst case misses the worst corner at most, as a share of the corners' whole range. It is tried on
/// random systems with `least` to `most` inputs.
fn shortest_of(systems: usize, least: f64, most: f64) -> f64 {
    let mut random = StdRng::seed_from_u64(31);
    let mut shortest = 0.0_f64;
    for _ in 0..systems {
        let mut some = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
        let mut candidates = vec![
            format!(
                "pedal.travel = {} mm ± {} mm",
                some(120.0, 170.0),
                some(1.0, 12.0)
            ),
            format!(
                "pedal.rod_arm = {} mm ± {} %",
                some(42.0, 60.0),
                some(0.5, 6.0)
            ),
            format!(
                "pedal.free_play = {} mm ± {} mm",
                some(4.0, 12.0),
                some(0.5, 4.0)
            ),
            format!(
                "pedal.return_force = {} N ± {} N",
                some(5.0, 15.0),
                some(0.5, 5.0)
            ),
            format!(
                "master.stroke = {} mm ± {} mm",
                some(19.0, 30.0),
                some(0.1, 3.0)
            ),
            format!(
                "master.bore = {} mm ± {} mm",
                some(17.5, 20.0),
                some(0.02, 0.5)
            ),
            format!(
                "master.mount_stiffness = {} N/mm ± {} %",
                some(150.0, 2000.0),
                some(1.0, 30.0)
            ),
            format!(
                "master.port_travel = {} mm ± {} mm",
                some(0.6, 2.0),
                some(0.1, 0.5)
            ),
            format!(
                "slave.bore = {} mm ± {} mm",
                some(19.0, 25.0),
                some(0.02, 0.5)
            ),
            format!("slave.preload = {} N ± 5 N", some(6.0, 60.0)),
            format!(
                "fork.stiffness = {} N/mm ± {} %",
                some(200.0, 2000.0),
                some(1.0, 30.0)
            ),
            format!("fluid.air = {} cc ± {} cc", some(1.0, 3.0), some(0.1, 0.9)),
            format!(
                "bearing.free_play = {} mm ± {} mm",
                some(0.5, 2.0),
                some(0.1, 0.4)
            ),
            format!(
                "fork.slave_arm = {} mm ± {} %",
                some(100.0, 125.0),
                some(0.5, 4.0)
            ),
            format!(
                "pedal.stop = {} mm ± {} mm",
                some(125.0, 165.0),
                some(0.5, 8.0)
            ),
        ];
        let fall = some(0.3, 1.0);
        let count = some(least, most + 0.99) as usize;
        while candidates.len() > count {
            candidates.remove(some(0.0, candidates.len() as f64) as usize);
        }
        let mut body = format!(
            "cover {{ release_load = curve {{ 0 mm: 150 N, 2 mm: 900 N, 5 mm: 1500 N, 8 mm: {} N }} }}\n",
            1500.0 * fall
        );
        let mut blocks: BTreeMap<&str, String> = BTreeMap::new();
        for (block, field) in candidates.iter().filter_map(|c| c.split_once('.')) {
            *blocks.entry(block).or_default() += &format!("  {field}");
        }
        for (block, fields) in blocks {
            body.push_str(&format!("{block} {{{fields} }}\n"));
        }
        let report = report(&body);
        let worked = &report.systems[1];
        assert!(worked.outcome.is_ok(), "{body}");
        let tolerances = worked.tolerances.as_ref().unwrap();
        let count = tolerances.inputs.len();
        let corners: Vec<Outcome> = (0..1u32 << count)
            .map(|corner| {
                let mut bits = (0..count).map(|i| f64::from(corner >> i & 1));
                drawn(&report, || bits.next().unwrap())
            })
            .collect();
        for id in ResultId::all() {
            let Some(spread) = tolerances.get(id) else {
                continue;
            };
            let values = corners.iter().filter_map(|outcome| outcome.get(id));
            let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
                (a.min(v), b.max(v))
            });
            let width = high - low;
            if width <= 1e-9 {
                continue;
            }
            for short in [spread.worst.low - low, high - spread.worst.high] {
                shortest = shortest.max(short / width);
            }
        }
    }
    shortest
}
