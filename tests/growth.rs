//! Nothing takes more than about n log n of memory, or of work as far as it allocates: counted, so
//! that it is the same on every computer. `cargo bench --bench growth` measures the time as well.

#[path = "../benches/growth/rows.rs"]
mod rows;

use allocation_counter::measure;
use rows::{MORE, MOST, ROWS};

/// The rows are made for a program that is optimised.
const FEWER: usize = 5;

/// Less than this is what everything costs.
const LEAST: u64 = 1 << 20;

#[test]
fn four_times_as_much_takes_about_four_times_as_much() {
    let mut worse = Vec::new();
    for (name, n, make) in ROWS {
        let n = (n / FEWER).max(10);
        let (few, more) = (make(n), make(MORE * n));
        // What has the square of n in it may take as much more.
        let longer = more.bytes() as f64 / few.bytes() as f64;
        let most = MOST * (longer / MORE as f64).max(1.0);
        let [few, more] = [few, more].map(|given| measure(|| drop(given.analyse())));
        for (what, few, more) in [
            ("allocations", few.count_total, more.count_total),
            ("bytes in all", few.bytes_total, more.bytes_total),
            ("bytes at once", few.bytes_max, more.bytes_max),
        ] {
            let ratio = more as f64 / few as f64;
            if ratio > most && more > LEAST {
                worse.push(format!(
                    "{name}: {few} {what}, then {more}: {ratio:.1} times"
                ));
            }
        }
    }
    assert!(worse.is_empty(), "{worse:#?}");
}
