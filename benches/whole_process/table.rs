//! The table of ratios.

use std::fmt::{self, Display, Formatter};
use std::time::Duration;

#[derive(Default)]
pub struct Table {
    rows: Vec<[String; 6]>,
}

/// One measurement beside that of a peer.
pub struct Row {
    what: String,
    ours: Duration,
    peer: String,
    theirs: Duration,
    target: String,
}

impl Row {
    pub fn new(what: &str, ours: Duration, peer: &str, theirs: Duration) -> Self {
        Self {
            what: what.to_owned(),
            ours,
            peer: peer.to_owned(),
            theirs,
            target: String::new(),
        }
    }

    /// The target: a ratio, or a time if it has a unit.
    pub fn target(mut self, wanted: &str) -> Self {
        self.target = wanted.to_owned();
        self
    }
}

impl Table {
    pub fn row(&mut self, row: Row) {
        let ratio = row.ours.as_secs_f64() / row.theirs.as_secs_f64();
        let ratio = match ratio {
            ratio if ratio < 0.1 => format!("1/{:.0}", 1.0 / ratio),
            ratio => format!("{ratio:.1}"),
        };
        let (ours, theirs) = (time(row.ours), time(row.theirs));
        self.rows
            .push([row.what, ours, row.peer, theirs, ratio, row.target]);
    }

    /// A time without a comparison.
    pub fn time(&mut self, what: &str, took: Duration, target: &str) {
        self.alone(what, time(took), target);
    }

    pub fn size(&mut self, what: &str, bytes: u64, target: &str) {
        self.alone(what, format!("{} MB", bytes / 1_000_000), target);
    }

    /// A row that could not be measured, and what it needs.
    pub fn missing(&mut self, what: &str, needs: &str) {
        self.alone(what, format!("needs {needs}"), "");
    }

    fn alone(&mut self, what: &str, ours: String, target: &str) {
        let none = String::new;
        self.rows.push([
            what.to_owned(),
            ours,
            none(),
            none(),
            none(),
            target.to_owned(),
        ]);
    }
}

fn time(time: Duration) -> String {
    match time.as_secs_f64() {
        seconds if seconds < 1e-3 => format!("{:.1} µs", seconds * 1e6),
        seconds if seconds < 1.0 => format!("{:.2} ms", seconds * 1e3),
        seconds => format!("{seconds:.2} s"),
    }
}

impl Display for Table {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| what | ours | held against | theirs | ratio | wanted |"
        )?;
        writeln!(f, "|---|---:|---|---:|---:|---:|")?;
        for row in &self.rows {
            writeln!(f, "| {} |", row.join(" | "))?;
        }
        Ok(())
    }
}
