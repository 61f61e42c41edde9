//! Runs very many small pieces of work on all cores.

use super::Work;
use std::sync::atomic::{AtomicU64, Ordering};

/// How many pieces one thread takes at a time.
const BATCH: u64 = 64;

/// Does the pieces `0..count`. Each thread begins with a state of its own; in the end the states are merged. The
/// watcher is told of the progress and can stop the work.
pub(super) fn side_by_side<S: Send>(
    count: u64,
    work: &Work<'_>,
    begin: impl Fn() -> S + Sync,
    piece: impl Fn(&mut S, u64) + Sync,
    merge: impl Fn(&mut S, S),
) -> S {
    let next = AtomicU64::new(0);
    let done = AtomicU64::new(0);
    let run = || {
        let mut state = begin();
        loop {
            let from = next.fetch_add(BATCH, Ordering::Relaxed);
            if from >= count || work.watch.is_stopped() {
                return state;
            }
            let to = (from + BATCH).min(count);
            for index in from..to {
                piece(&mut state, index);
            }
            let done = done.fetch_add(to - from, Ordering::Relaxed) + (to - from);
            work.watch.combinations(done, count);
        }
    };
    let threads = match count {
        0..=BATCH => 1,
        _ => std::thread::available_parallelism().map_or(1, |n| n.get()),
    };
    std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(run)).collect();
        let mut state = run();
        for other in others {
            match other.join() {
                Ok(more) => merge(&mut state, more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        state
    })
}
