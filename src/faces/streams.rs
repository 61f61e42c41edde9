//! Standard output and standard error.

use super::sanitize::{lines, sanitize};
use std::io::{ErrorKind, Write};
use std::sync::atomic::{AtomicBool, Ordering};

/// Whether something that should have been said on standard error was lost.
static IS_LOST: AtomicBool = AtomicBool::new(false);

/// Writes to standard output, with no line that a CI host would take for a command. A reader that
/// has seen enough and left is no mistake.
///
/// # Errors
/// It cannot be written, as a sentence.
pub fn print(text: &str) -> Result<(), String> {
    print_exactly(&lines(text))
}

/// Writes to standard output what has to arrive as it is.
///
/// # Errors
/// It cannot be written, as a sentence.
pub fn print_exactly(text: &str) -> Result<(), String> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(format!("cannot write the answer: {error}"))
        }
        _ => Ok(()),
    }
}

/// Says something on standard error. Where that cannot be written, [`is_all_said`] knows.
pub fn say(message: &str) {
    say_exactly(&sanitize(&format!("bitepoint: {message}\n")));
}

/// Writes to standard error what is safe already.
pub fn say_exactly(text: &str) {
    let written = std::io::stderr().lock().write_all(text.as_bytes());
    if written.is_err_and(|error| error.kind() != ErrorKind::BrokenPipe) {
        IS_LOST.store(true, Ordering::Relaxed);
    }
}

/// Whether all that was said so far on standard error was written.
pub fn is_all_said() -> bool {
    !IS_LOST.load(Ordering::Relaxed)
}
