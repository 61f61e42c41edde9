//! Processor time and memory of a program, as Linux reports them.

use std::process::{Command, Stdio};
use std::time::Duration;

pub struct Usage {
    pub processor: Duration,
    /// The most memory in use, in bytes; `None` where the system does not report it.
    pub memory: Option<u64>,
}

/// Runs a program to its end; its output is discarded.
///
/// # Panics
///
/// Where there is no `/proc`, or when the program says that it could not do all of it.
pub fn of(command: &mut Command) -> Usage {
    command.stdout(Stdio::null()).stderr(Stdio::null());
    let before = children();
    let mut process = command.spawn().expect("it runs");
    let status = format!("/proc/{}/status", process.id());
    let mut memory = None;
    let ended = loop {
        // The most so far; what it says last is the most of all, but for the last millisecond.
        let most = std::fs::read_to_string(&status).ok();
        memory = most.as_deref().and_then(peak).or(memory);
        if let Some(ended) = process.try_wait().expect("it runs") {
            break ended;
        }
        std::thread::sleep(Duration::from_millis(1));
    };
    assert_eq!(ended.code(), Some(1), "each file has a finding");
    Usage {
        processor: children() - before,
        memory,
    }
}

/// The processor time of all programs that this one has run to their end.
fn children() -> Duration {
    let stat = std::fs::read_to_string("/proc/self/stat").expect("Linux");
    // The name of the program stands in parentheses and may hold blanks; then comes field 3.
    let fields: Vec<&str> = stat[stat.rfind(')').expect("a name") + 1..]
        .split_whitespace()
        .collect();
    let ticks: u64 = fields[13..=14]
        .iter()
        .map(|ticks| ticks.parse::<u64>().expect("a number"))
        .sum();
    // A hundred ticks a second on every Linux that tells times to programs.
    Duration::from_millis(ticks * 10)
}

fn peak(status: &str) -> Option<u64> {
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes << 10)
}
