//! No work needs more than about n log n of memory or of allocations. Both are counted, so that the result is the
//! same on every computer. `cargo bench --bench growth` also measures the time.

#[path = "../benches/growth/rows.rs"]
mod rows;

use allocation_counter::measure;
use rows::{MORE, MOST, ROWS};

/// The rows are sized for an optimised program; an unoptimised one gets fewer.
const FEWER: usize = 5;

/// A base cost that everything has, in bytes.
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
