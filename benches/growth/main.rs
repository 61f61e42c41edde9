//! How time and memory grow with what is read: `cargo bench --bench growth [name…]`.
//!
//! Each row is a kind of thing of which there may be very many. It is measured with n and with four times n of them.
//! Growth of at most n log n takes little more than four times as long.

mod rows;

use allocation_counter::measure;
use bitepoint::faces::render::{CheckForm, CheckRenderer, Ending, TextStyle};
use bitepoint::finding::Severity;
use cpu_time::ProcessTime;
use rows::{Given, MORE, MOST, ROWS};
use std::time::Duration;

/// Below this time a ratio says more about the computer than about the program.
const LEAST: Duration = Duration::from_millis(3);

/// How often each is measured; the quickest run counts.
const ROUNDS: usize = 3;

/// The least processor time, which other programs do not affect, and the most memory in use at once.
fn cost(given: &Given) -> (Duration, u64) {
    let (mut time, mut memory) = (Duration::MAX, 0);
    for _ in 0..ROUNDS {
        let start = ProcessTime::now();
        memory = measure(|| tell(given)).bytes_max;
        time = time.min(start.elapsed());
    }
    (time, memory)
}

fn tell(given: &Given) {
    let report = given.analyse();
    let style = TextStyle {
        colour: false,
        width: 100,
    };
    for form in [
        CheckForm::Text(style, Severity::Hint),
        CheckForm::Json,
        CheckForm::Sarif,
    ] {
        let mut renderer = CheckRenderer::new(form, None);
        let first = renderer.add(&report);
        let rest = renderer.finish(&Ending::default());
        std::hint::black_box((first, rest.map_or_else(|why| vec![why], |(rest, _)| rest)));
    }
}

fn main() {
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    println!(
        "{:36}{:>9}{:>10}{:>10}{:>7}{:>10}{:>10}{:>7}{:>9}",
        "", "n", "time", "4n", "ratio", "memory", "4n", "ratio", "a byte"
    );
    let mut worse = 0;
    for (name, n, make) in ROWS {
        if !wanted.is_empty() && !wanted.iter().any(|wanted| name.contains(wanted.as_str())) {
            continue;
        }
        let (few, more) = (make(*n), make(MORE * n));
        let ((time, memory), (time_more, memory_more)) = (cost(&few), cost(&more));
        let ratio = time_more.as_secs_f64() / time.as_secs_f64();
        let memory_ratio = memory_more as f64 / memory as f64;
        // What has the square of n in it may take as much more.
        let most = MOST * (more.bytes() as f64 / few.bytes() as f64 / MORE as f64).max(1.0);
        let is_worse = ratio > most && time_more > LEAST || memory_ratio > most;
        worse += usize::from(is_worse);
        let milliseconds = |time: Duration| format!("{:.1} ms", time.as_secs_f64() * 1e3);
        let megabytes = |bytes: u64| format!("{:.1} MB", bytes as f64 / 1e6);
        println!(
            "{name:36}{n:>9}{:>10}{:>10}{ratio:>7.1}{:>10}{:>10}{memory_ratio:>7.1}{:>9.0}{}",
            milliseconds(time),
            milliseconds(time_more),
            megabytes(memory),
            megabytes(memory_more),
            memory_more as f64 / more.bytes() as f64,
            if is_worse { "  worse than n log n" } else { "" },
        );
    }
    if worse > 0 {
        std::process::exit(1);
    }
}
