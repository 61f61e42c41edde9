//! One session with a client: messages in order, answers, and the end.

use crate::faces::server::protocol::capabilities::add_untyped;
use crate::faces::server::protocol::client_notification::{ClientNotification, Sorted};
use crate::faces::server::protocol::log::{TARGET, Timer};
use crate::faces::server::protocol::wire::{Incoming, Outgoing};
use std::future::{Future, poll_fn};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::sync::mpsc;
use tokio::task::JoinSet;
use tower_lsp::jsonrpc::{Error, Id, Request, Response};
use tower_service::Service;

/// How long the end may be delayed by unfinished answers or by a client that reads slowly.
const PATIENCE: Duration = Duration::from_secs(2);

/// With this many requests under way, the next message waits until one is answered.
const MOST_RUNNING: usize = 1000;

/// Handles messages until the client sends `exit`, closes the input, or is `gone`: it reads no more, or has ended.
///
/// A notification that changes the state goes to `notify` and is done before the next message. Every other handler
/// first runs up to its first wait. So it sees the state as the messages before it left it.
pub(super) async fn run<S>(
    mut service: S,
    mut notify: impl FnMut(ClientNotification),
    mut incoming: mpsc::Receiver<Incoming>,
    outgoing: Outgoing,
    mut gone: impl Future<Output = ()> + Unpin,
) where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
{
    let mut running = JoinSet::new();
    let mut begun = false;
    loop {
        let next = async {
            outgoing.caught_up().await;
            incoming.recv().await
        };
        let message = tokio::select! {
            biased;
            () = &mut gone => return,
            message = next, if running.len() < MOST_RUNNING => message,
            Some(_) = running.join_next() => continue,
        };
        let request = match message {
            None => {
                let finish = async { while running.join_next().await.is_some() {} };
                // Work that takes longer is not waited for.
                let _ = tokio::time::timeout(PATIENCE, finish).await;
                break;
            }
            Some(Incoming::Refused(response)) => {
                outgoing.response(&response, None, Timer::start());
                continue;
            }
            Some(Incoming::Answer(answer)) => {
                outgoing.answered(answer);
                continue;
            }
            Some(Incoming::Request(request)) if request.method() == "exit" => break,
            Some(Incoming::Request(request)) => request,
        };
        let request = match ClientNotification::read(request) {
            Sorted::Other(request) => request,
            // Before `initialize` nothing may be sent or taken.
            _ if !begun => continue,
            Sorted::Misunderstood(why) => {
                outgoing.log_error(&why);
                continue;
            }
            Sorted::Notification(notification) => {
                let (method, since) = (notification.method(), Timer::start());
                let taken = catch_unwind(AssertUnwindSafe(|| notify(notification)));
                if taken.is_err() {
                    outgoing.log_error(&failure(method));
                }
                tracing::info!(target: TARGET, method, ms = since.ms(), "done");
                continue;
            }
        };
        let begins = request.method() == "initialize";
        if poll_fn(|cx| service.poll_ready(cx)).await.is_err() {
            break;
        }
        let mut answer = Answer::new(&mut service, request, &outgoing);
        match poll_fn(|cx| Poll::Ready(Pin::new(&mut answer).poll(cx))).await {
            Poll::Ready(answered) => {
                let mut answered = answered;
                if begins {
                    begun |= answered.response.as_ref().is_some_and(Response::is_ok);
                    answered.response = answered.response.map(with_all_capabilities);
                }
                send(&outgoing, answered);
            }
            Poll::Pending => {
                let outgoing = outgoing.clone();
                running.spawn(async move { send(&outgoing, answer.await) });
            }
        }
    }
    running.abort_all();
    outgoing.end();
    let _ = tokio::time::timeout(PATIENCE, gone).await;
}

fn with_all_capabilities(response: Response) -> Response {
    let (id, mut result) = response.into_parts();
    if let Ok(result) = &mut result {
        add_untyped(result);
    }
    Response::from_parts(id, result)
}

fn failure(method: &str) -> String {
    format!("`{method}` failed; this is a mistake in Bitepoint")
}

fn send(outgoing: &Outgoing, answered: Answered) {
    if let Some(response) = answered.response {
        outgoing.response(&response, Some(&answered.method), answered.since);
    }
}

/// The result of a handler.
struct Answered {
    response: Option<Response>,
    method: String,
    since: Timer,
}

/// A running handler. Its panic is turned into an answer.
struct Answer<F> {
    id: Option<Id>,
    method: String,
    since: Timer,
    outgoing: Outgoing,
    /// The handler; `None` if it panicked before its first wait.
    handler: Option<Pin<Box<F>>>,
}

impl<F, E> Answer<F>
where
    F: Future<Output = Result<Option<Response>, E>>,
{
    fn new<S>(service: &mut S, request: Request, outgoing: &Outgoing) -> Self
    where
        S: Service<Request, Response = Option<Response>, Error = E, Future = F>,
    {
        Self {
            id: request.id().cloned(),
            method: request.method().to_owned(),
            since: Timer::start(),
            outgoing: outgoing.clone(),
            handler: catch_unwind(AssertUnwindSafe(|| service.call(request)))
                .ok()
                .map(Box::pin),
        }
    }

    fn answered(&mut self, response: Option<Response>) -> Answered {
        Answered {
            response,
            method: std::mem::take(&mut self.method),
            since: self.since,
        }
    }

    fn panicked(&mut self) -> Answered {
        self.outgoing.log_error(&format!(
            "`{}` failed; this is a mistake in Bitepoint",
            self.method
        ));
        let id = self.id.take();
        let response = id.map(|id| Response::from_error(id, Error::internal_error()));
        self.answered(response)
    }
}

impl<F, E> Future for Answer<F>
where
    F: Future<Output = Result<Option<Response>, E>>,
{
    type Output = Answered;

    fn poll(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Self::Output> {
        let response = match &mut self.handler {
            Some(handler) => catch_unwind(AssertUnwindSafe(|| handler.as_mut().poll(cx))),
            None => return Poll::Ready(self.panicked()),
        };
        match response {
            Ok(Poll::Pending) => Poll::Pending,
            Ok(Poll::Ready(response)) => {
                // The service is silent about methods for protocols, `$/…`, that it does not know.
                let unknown = |id| Response::from_error(id, Error::method_not_found());
                let response = response.ok().flatten();
                let response = response.or_else(|| self.id.take().map(unknown));
                Poll::Ready(self.answered(response))
            }
            Err(_) => Poll::Ready(self.panicked()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faces::server::protocol::wire::read;
    use std::future::{Ready, ready};
    use std::io::Write;
    use std::sync::{Arc, Mutex};

    /// Panics when asked to, at once or later. Answers `null` to everything else.
    struct Fragile;

    type Outcome = Result<Option<Response>, std::convert::Infallible>;

    impl Service<Request> for Fragile {
        type Response = Option<Response>;
        type Error = std::convert::Infallible;
        type Future = Pin<Box<dyn Future<Output = Outcome> + Send>>;

        fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
            Poll::Ready(Ok(()))
        }

        fn call(&mut self, request: Request) -> Self::Future {
            let (method, id, _) = request.into_parts();
            assert_ne!(method, "at once");
            let answer: Ready<Outcome> = ready(Ok(
                id.map(|id| Response::from_ok(id, serde_json::Value::Null))
            ));
            Box::pin(async move {
                tokio::task::yield_now().await;
                assert_ne!(method, "later");
                answer.await
            })
        }
    }

    #[derive(Clone, Default)]
    struct Output(Arc<Mutex<Vec<u8>>>);

    impl Write for Output {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }

    #[tokio::test]
    async fn a_panic_is_answered_with_an_error_and_the_session_continues() {
        let wire = ["at once", "later", "fine"]
            .iter()
            .zip(1..)
            .map(|(method, id)| format!(r#"{{"jsonrpc":"2.0","id":{id},"method":"{method}"}}"#))
            .map(|body| format!("Content-Length: {}\r\n\r\n{body}", body.len()))
            .collect::<String>();
        let output = Output::default();
        let (outgoing, gone) = Outgoing::write(output.clone());
        let incoming = read(std::io::Cursor::new(wire));
        let gone = Box::pin(async { drop(gone.await) });
        run(Fragile, drop, incoming, outgoing, gone).await;
        let written = String::from_utf8(output.0.lock().unwrap().clone()).unwrap();
        for id in [1, 2] {
            assert!(
                written.contains(&format!(
                    r#"{{"jsonrpc":"2.0","error":{{"code":-32603,"message":"Internal error"}},"id":{id}}}"#
                )),
                "{written}"
            );
        }
        assert!(written.contains(r#"{"jsonrpc":"2.0","result":null,"id":3}"#));
        assert_eq!(written.matches("window/logMessage").count(), 2);
    }
}
