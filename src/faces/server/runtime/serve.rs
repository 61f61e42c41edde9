//! A session from its start to its end.

use super::handlers::Server;
use super::session;
use super::shared::{ANALYSTS, Shared, State};
use crate::faces::output::{Product, refuse_name, sentence};
use crate::faces::server::protocol::log::{self, TARGET};
use crate::faces::server::protocol::wire::{self, Outgoing};
use crate::faces::server::state::Analyst;
use crate::faces::streams::say;
use std::io::{self, Read, Write};
use std::path::Path;
use std::process::ExitCode;
use std::sync::{Arc, Mutex, OnceLock};
use tokio::sync::Semaphore;
use tower_lsp::LspService;

/// The log to write, and whether it contains the texts of messages.
#[derive(Clone, Copy, Debug)]
pub struct Log<'a> {
    /// The file to which lines are added.
    pub path: &'a Path,
    /// Whether the texts of messages, which contain specs, are written. Otherwise only names and sizes are.
    pub with_text: bool,
}

/// Serves one client on standard input and output, until it says `exit` or is gone.
pub fn serve(log: Option<Log<'_>>) -> ExitCode {
    if let Some(log) = log
        && let Err(why) = start_log(log)
    {
        say(&why);
        return ExitCode::from(2);
    }
    match serve_on(io::stdin(), io::stdout()) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            say(&format!("the server cannot start: {error}"));
            ExitCode::from(2)
        }
    }
}

fn start_log(log: Log<'_>) -> Result<(), String> {
    refuse_name(log.path, Product::Other("the log"))?;
    log::start(log.path, log.with_text)
        .map_err(|error| format!("there is no log: {}", sentence(log.path, &error)))
}

/// Serves one client that writes to `input` and reads `output`. Says whether it ended the session with `shutdown`.
/// Requests from before the end of the input are still answered.
///
/// # Errors
/// The server cannot start.
pub fn serve_on(
    input: impl Read + Send + 'static,
    output: impl Write + Send + 'static,
) -> io::Result<bool> {
    converse(input, output, Analyst::default())
}

/// Runs one session. Says whether the client ended it with `shutdown`.
pub(super) fn converse(
    input: impl Read + Send + 'static,
    output: impl Write + Send + 'static,
    analyst: Analyst,
) -> io::Result<bool> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_time()
        .max_blocking_threads(ANALYSTS)
        .build()?;
    let shared = runtime.block_on(async {
        let incoming = wire::read(input);
        let (outgoing, written) = Outgoing::write(output);
        let shared = Arc::new(Shared {
            state: Mutex::new(State::new(analyst)),
            client: OnceLock::new(),
            outgoing: outgoing.clone(),
            orphaned: Arc::default(),
            turns: Semaphore::new(ANALYSTS),
        });
        let server = Server(shared.clone());
        // The service's own way to the client is not used: messages are sent in order with the state that they are
        // about.
        let (service, _) = LspService::build(|_| server)
            .custom_method("bitepoint/curve", Server::curve)
            .custom_method("bitepoint/sheet", Server::sheet)
            .finish();
        let gone = async {
            tokio::select! {
                _ = written => {}
                () = shared.orphaned.notified() => {}
            }
        };
        let notify = |notification| shared.notify(notification);
        session::run(service, notify, incoming, outgoing, Box::pin(gone)).await;
        shared
    });
    // An analysis may still be running. Its result is not wanted any more.
    runtime.shutdown_background();
    let shut_down = shared.state().shut_down;
    tracing::info!(target: TARGET, shut_down, "ended");
    Ok(shut_down)
}
