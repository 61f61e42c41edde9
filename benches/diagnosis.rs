//! Fault-finding on many random cars with an injected fault: how often it is found, which faults are confused, and
//! how long an answer takes. `cargo bench --bench diagnosis [cars]`.

#[path = "../tests/common/mod.rs"]
mod common;

use bitepoint::diagnose::FAULTS;
use common::injected::{Injected, Rank};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

/// The most readings that are asked for one after another.
const MOST_ASKED: usize = 8;

/// How often each rank occurred.
#[derive(Clone, Copy, Default)]
struct Tally([usize; 4]);

impl Tally {
    fn add(&mut self, rank: Rank) {
        self.0[rank as usize] += 1;
    }

    fn share(&self, least: Rank) -> f64 {
        let all: usize = self.0.iter().sum();
        let good: usize = self.0[..=least as usize].iter().sum();
        100.0 * good as f64 / all.max(1) as f64
    }
}

fn main() {
    let asked = std::env::args().find_map(|argument| argument.parse().ok());
    let count = asked.unwrap_or(10_000);
    let show = std::env::var("BITEPOINT_SHOW").is_ok();
    let (mut before, mut after) = (Tally::default(), Tally::default());
    let (mut shown, mut shown_after) = (Tally::default(), Tally::default());
    // After every reading that is asked for, until none is.
    let (mut at_end, mut shown_at_end) = (Tally::default(), Tally::default());
    let mut asked_for = 0;
    let mut named: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let mut by_fault: BTreeMap<&str, (Tally, Tally)> = BTreeMap::new();
    // What is named first after the reading asked for, whether or not the fault is like it; and how often the fault
    // stands there with no equal beside it.
    let mut confused: BTreeMap<&str, BTreeMap<&str, usize>> = BTreeMap::new();
    let mut alone: BTreeMap<&str, usize> = BTreeMap::new();
    let mut longest = Duration::ZERO;
    let mut all = Duration::ZERO;
    let (mut answers, mut blamed, mut healthy) = (0, 0, 0);
    let (mut cars, mut seed) = (0, 0);
    while cars < count {
        seed += 1;
        if let Some(car) = Injected::draw(seed, true).filter(|_| seed % 4 == 0) {
            healthy += 1;
            let first = car
                .report()
                .faults
                .first()
                .map(|fault| fault.sized.fault.name());
            blamed += usize::from(first != Some("nothing-wrong"));
        }
        let Some(mut car) = Injected::draw(seed, false) else {
            continue;
        };
        cars += 1;
        let mut timed = |car: &Injected| {
            let start = Instant::now();
            let report = car.report();
            let took = start.elapsed();
            all += took;
            answers += 1;
            longest = longest.max(took);
            report
        };
        let name = car.fault.fault.name();
        let mut report = timed(&car);
        let mut rank = car.rank(&report);
        let of_fault = by_fault.entry(name).or_default();
        before.add(rank);
        let is_shown = !report.agrees;
        if is_shown {
            shown.add(rank);
        }
        of_fault.0.add(rank);
        if show && rank > Rank::LikeFirst {
            println!("seed {seed} {rank:?} {:?} {:?}", car.fault, car.visit.taken);
            for fault in &report.faults {
                println!(
                    "    {:?} {} {:.3} {:?}",
                    fault.sized, fault.explains, fault.plausibility, fault.misses
                );
            }
        }
        if let Some(next) = report.next.first() {
            car.read(next.reading);
            report = timed(&car);
            rank = car.rank(&report);
            if show && rank > Rank::LikeFirst {
                println!(
                    "after: seed {seed} {rank:?} {:?} {:?}",
                    car.fault, car.visit.taken
                );
                for fault in &report.faults {
                    println!(
                        "    {:?} {} {:.3} {:?}",
                        fault.sized, fault.explains, fault.plausibility, fault.misses
                    );
                }
            }
        }
        after.add(rank);
        if is_shown {
            shown_after.add(rank);
        }
        of_fault.1.add(rank);
        let (first_named, rank_after) = (report.clone(), rank);
        for _ in 0..MOST_ASKED {
            let Some(next) = report.next.first() else {
                break;
            };
            car.read(next.reading);
            asked_for += 1;
            report = timed(&car);
            rank = car.rank(&report);
        }
        at_end.add(rank);
        if is_shown {
            shown_at_end.add(rank);
        }
        let (report, rank) = (first_named, rank_after);
        let first = report.faults.first().filter(|fault| fault.explains);
        let named_first = first.map_or("none", |first| first.sized.fault.name());
        *confused
            .entry(name)
            .or_default()
            .entry(named_first)
            .or_default() += 1;
        let equals = report.faults.iter().filter(|fault| fault.equal).count();
        *alone.entry(name).or_default() += usize::from(rank == Rank::First && equals == 1);
        let first = first.map_or("none", |first| match rank {
            // What cannot be told apart is not taken for anything else.
            Rank::LikeFirst => name,
            _ => first.sized.fault.name(),
        });
        *named.entry((name, first)).or_default() += 1;
    }
    let row = |name: &str, before: &Tally, after: &Tally| {
        println!(
            "{name:<16} {:>6} {:>8.1} {:>8.1} {:>8.1} | {:>8.1} {:>8.1} {:>8.1}",
            before.0.iter().sum::<usize>(),
            before.share(Rank::First),
            before.share(Rank::LikeFirst),
            before.share(Rank::Explains),
            after.share(Rank::First),
            after.share(Rank::LikeFirst),
            after.share(Rank::Explains),
        );
    };
    println!("                          before the reading asked for |  after it, % of the cars");
    println!("fault              cars    first  or like explains |    first  or like explains");
    for fault in &FAULTS {
        if let Some((before, after)) = by_fault.get(fault.name) {
            row(fault.name, before, after);
        }
    }
    row("all", &before, &after);
    row("all that is seen", &shown, &shown_after);
    println!("\nafter every reading that is asked for, {asked_for} more:");
    row("all", &after, &at_end);
    row("all that is seen", &shown_after, &shown_at_end);
    println!("\nhealthy cars {healthy}, blamed {blamed}");
    println!("\nthe table of grammar/fault-finding.md:");
    let (mut all_alone, mut all_named) = (0, 0);
    for fault in &FAULTS {
        let (Some((before, after)), Some(row)) =
            (by_fault.get(fault.name), confused.get(fault.name))
        else {
            continue;
        };
        let cars: usize = row.values().sum();
        let share = |count: usize| 100.0 * count as f64 / cars as f64;
        let (named, sole) = (row.get(fault.name).copied().unwrap_or(0), alone[fault.name]);
        all_alone += sole;
        all_named += named;
        let mut others: Vec<_> = row.iter().filter(|(one, _)| **one != fault.name).collect();
        others.sort_by(|a, b| b.1.cmp(a.1));
        let others: Vec<String> = others
            .iter()
            .take(3)
            .map(|(one, count)| format!("`{one}` {:.0}", share(**count)))
            .collect();
        println!(
            "| `{}` | {cars} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | {} |",
            fault.name,
            before.share(Rank::LikeFirst),
            before.share(Rank::Explains),
            after.share(Rank::LikeFirst),
            share(named),
            share(sole),
            others.join(", ")
        );
    }
    println!(
        "| **all** | {cars} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | |",
        before.share(Rank::LikeFirst),
        before.share(Rank::Explains),
        after.share(Rank::LikeFirst),
        100.0 * all_named as f64 / f64::from(cars),
        100.0 * all_alone as f64 / f64::from(cars)
    );
    println!(
        "\nwhat is named first after the reading asked for, where it is not the fault or like it:"
    );
    for ((fault, first), count) in named.iter().filter(|((fault, first), _)| fault != first) {
        println!("{fault:<16} taken for {first:<16} {count:>5}");
    }
    println!(
        "\n{answers} answers, {:.2} ms each, the longest {:.2} ms",
        1e3 * all.as_secs_f64() / f64::from(answers),
        1e3 * longest.as_secs_f64()
    );
}
