//! The log that a user can send with a report: messages and work, when they happened, and how long they took.
//!
//! Events are those of `tracing`. Without [`start`] none is made, and each costs only a check of the level. No event
//! has the text of a message or a spec, only its length, unless texts are asked for.

use std::fs::OpenOptions;
use std::io::Result;
use std::panic;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use tower_lsp::jsonrpc::{Id, Response};
use tracing::level_filters::LevelFilter;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;

/// The target of the server's events. Other libraries have events too, which may contain texts.
pub(crate) const TARGET: &str = "bitepoint";

/// Whether the texts of messages are in the log.
static WITH_TEXT: AtomicBool = AtomicBool::new(false);

/// Starts a log, which is added to as long as the process lives.
///
/// # Errors
/// The file cannot be written.
pub(crate) fn start(path: &Path, with_text: bool) -> Result<()> {
    // An existing log is kept, as an editor restarts a server that has ended.
    let file = OpenOptions::new().append(true).create(true).open(path)?;
    WITH_TEXT.store(with_text, Ordering::Relaxed);
    let lines = tracing_subscriber::fmt::layer()
        .with_ansi(false)
        .with_target(false)
        .with_writer(std::sync::Mutex::new(file));
    let ours = Targets::new().with_target(TARGET, LevelFilter::INFO);
    // There is no other in this process.
    let _ = tracing_subscriber::registry()
        .with(ours)
        .with(lines)
        .try_init();
    log_panics();
    tracing::info!(
        target: TARGET,
        version = crate::faces::VERSION,
        platform = std::env::consts::OS,
        architecture = std::env::consts::ARCH,
        process = std::process::id(),
        texts = with_text,
        "started"
    );
    Ok(())
}

/// Logs panics where they begin. Their message, which may quote a text, is logged only if texts are asked for.
fn log_panics() {
    let before = panic::take_hook();
    panic::set_hook(Box::new(move |panic| {
        let place = panic.location().map(ToString::to_string);
        let thread = std::thread::current();
        let payload = panic.payload();
        let fixed = payload.downcast_ref::<&str>().copied();
        let said = fixed.or_else(|| payload.downcast_ref::<String>().map(String::as_str));
        let said = said.filter(|_| is_with_text());
        tracing::error!(
            target: TARGET,
            place,
            thread = thread.name(),
            said,
            "panic"
        );
        before(panic);
    }));
}

/// Whether anything is logged.
pub(crate) fn is_on() -> bool {
    tracing::enabled!(target: TARGET, tracing::Level::INFO)
}

fn is_with_text() -> bool {
    WITH_TEXT.load(Ordering::Relaxed)
}

/// Logs a message, in or out, in the form of the wire.
pub(crate) fn message(direction: &str, method: Option<&str>, id: Option<&Id>, body: &[u8]) {
    if !is_on() {
        return;
    }
    let id = id.map(ToString::to_string);
    let text = is_with_text().then(|| String::from_utf8_lossy(body));
    tracing::info!(
        target: TARGET,
        method,
        id,
        bytes = body.len(),
        text = text.as_deref(),
        "{direction}"
    );
}

/// Logs the answer to a request, and how long it took since the request was received.
pub(crate) fn answer(method: Option<&str>, response: &Response, since: Timer, body: &[u8]) {
    if !is_on() {
        return;
    }
    let error = response.error().map(|error| error.code.code());
    let text = is_with_text().then(|| String::from_utf8_lossy(body));
    tracing::info!(
        target: TARGET,
        method,
        id = response.id().to_string(),
        ms = since.ms(),
        bytes = body.len(),
        error,
        text = text.as_deref(),
        "answered"
    );
}

/// Measures how long something takes, for the log.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Timer(Instant);

impl Timer {
    pub fn start() -> Self {
        Self(Instant::now())
    }

    /// The milliseconds since it was started.
    pub fn ms(self) -> f64 {
        let elapsed: Duration = self.0.elapsed();
        (elapsed.as_secs_f64() * 1e6).round() / 1e3
    }
}
