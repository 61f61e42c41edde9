//! A progress bar for long work, on a terminal only.

use crate::analysis::{Watch, Work};
use indicatif::{ProgressBar, ProgressStyle};
use std::sync::OnceLock;

/// Below this number of combinations the work is done before a bar would be seen.
const LONG: u64 = 20_000;

/// Does some work while a bar shows the progress.
pub fn with<T>(work: impl FnOnce(&Work<'_>) -> T) -> T {
    with_bar(|given, _| work(given))
}

/// Does some work with a bar that can also print.
pub fn with_bar<T>(work: impl FnOnce(&Work<'_>, &Bar) -> T) -> T {
    let bar = Bar::default();
    let given = Work {
        watch: &bar,
        ..Work::default()
    };
    let done = work(&given, &bar);
    if let Some(bar) = bar.0.get() {
        bar.finish_and_clear();
    }
    done
}

/// The bar. Indicatif draws it on standard error, and only on a terminal.
#[derive(Default)]
pub struct Bar(OnceLock<ProgressBar>);

impl Bar {
    /// Prints something while the bar is hidden.
    pub fn aside<T>(&self, print: impl FnOnce() -> T) -> T {
        match self.0.get() {
            Some(bar) => bar.suspend(print),
            None => print(),
        }
    }
}

impl Watch for Bar {
    fn combinations(&self, done: u64, all: u64) {
        if all < LONG {
            return;
        }
        let bar = self.0.get_or_init(|| {
            let style = ProgressStyle::with_template(
                "{bar:40} {human_pos} of {human_len} combinations, {eta} left",
            );
            let bar = ProgressBar::new(all);
            style.map_or_else(|_| bar.clone(), |style| bar.clone().with_style(style))
        });
        if bar.length() != Some(all) {
            bar.set_length(all);
        }
        bar.set_position(done);
    }
}
