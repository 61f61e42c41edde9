//! Messages on the wire, in and out, each direction on a thread of its own.

use super::client::rename_capability;
use super::frames::Frames;
use super::log::{self, Timer};
use crate::faces::streams::say;
use crate::faces::sync::lock;
use lsp_types::notification::{LogMessage, Notification};
use lsp_types::{LogMessageParams, MessageType};
use serde::Serialize;
use serde_json::Value;
use std::collections::{HashMap, VecDeque};
use std::io::{self, Read, Write};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use tokio::sync::{Notify, oneshot};
use tower_lsp::jsonrpc::{Error, Id, Request, Response};

/// How many messages are read ahead.
const READ_AHEAD: usize = 64;
/// If more bytes than this wait to be written, no further message is handled.
const MAX_BACKLOG_BYTES: usize = 16 << 20;

/// A message from the client.
#[derive(Debug)]
pub enum Incoming {
    /// A request or a notification, which has no id.
    Request(Request),
    /// The client's answer to a request of the server's.
    Answer(Response),
    /// Something that is not a valid message, with the answer to give.
    Refused(Response),
}

/// Reads messages until the input ends.
pub(crate) fn read(input: impl Read + Send + 'static) -> tokio::sync::mpsc::Receiver<Incoming> {
    let (sender, receiver) = tokio::sync::mpsc::channel(READ_AHEAD);
    std::thread::spawn(move || {
        let mut frames = Frames::new(io::BufReader::new(input));
        while let Ok(Some(frame)) = frames.next() {
            let incoming = match frame {
                Ok(body) => {
                    let incoming = message(&body);
                    log_incoming(incoming.as_ref(), &body);
                    incoming
                }
                Err(why) => Some(refuse(Id::Null, Error::parse_error(), why)),
            };
            if let Some(incoming) = incoming
                && sender.blocking_send(incoming).is_err()
            {
                return;
            }
        }
    });
    receiver
}

fn log_incoming(incoming: Option<&Incoming>, body: &[u8]) {
    match incoming {
        Some(Incoming::Request(request)) => {
            log::message("received", Some(request.method()), request.id(), body);
        }
        Some(Incoming::Answer(answer)) => {
            log::message("received an answer", None, Some(answer.id()), body);
        }
        Some(Incoming::Refused(_)) | None => log::message("received garbage", None, None, body),
    }
}

/// The message in a body. `None` for a response that cannot be read, since a response never gets a reply.
pub fn message(body: &[u8]) -> Option<Incoming> {
    let mut value: Value = match serde_json::from_slice(body) {
        Ok(value) => value,
        Err(error) => return Some(refuse(Id::Null, Error::parse_error(), error.to_string())),
    };
    let id = value
        .get("id")
        .and_then(|id| serde_json::from_value::<Id>(id.clone()).ok());
    let Some(message) = value.as_object_mut() else {
        let why = "a message is an object".to_owned();
        return Some(refuse(Id::Null, Error::invalid_request(), why));
    };
    let method = message.get("method").and_then(Value::as_str);
    if method.is_none() && (message.contains_key("result") || message.contains_key("error")) {
        return serde_json::from_value(value).ok().map(Incoming::Answer);
    }
    let named = method.is_some();
    let has_null_id = message.get("id").is_some_and(Value::is_null);
    let begins = method == Some("initialize");
    // Some clients send empty parameters where there are none.
    if message.get("params").is_some_and(Value::is_null)
        || matches!(method, Some("shutdown" | "exit"))
    {
        message.remove("params");
    }
    if begins && let Some(params) = message.get_mut("params") {
        rename_capability(params);
    }
    match serde_json::from_value(value) {
        Ok(_) if has_null_id => Some(refuse(
            Id::Null,
            Error::invalid_request(),
            "an id is a number or a text".to_owned(),
        )),
        Ok(request) if named => Some(Incoming::Request(request)),
        Ok(_) => Some(refuse(
            id.unwrap_or(Id::Null),
            Error::invalid_request(),
            "a message needs a method".to_owned(),
        )),
        Err(error) => Some(refuse(
            id.unwrap_or(Id::Null),
            Error::invalid_request(),
            error.to_string(),
        )),
    }
}

fn refuse(id: Id, mut error: Error, why: String) -> Incoming {
    error.data = Some(Value::String(why));
    Incoming::Refused(Response::from_error(id, error))
}

/// The queue of messages to the client. They are written in the order in which they are queued, and sending never
/// waits.
#[derive(Clone)]
pub(crate) struct Outgoing {
    sender: Arc<Sender>,
    asked: Arc<Mutex<Asked>>,
}

/// Ends the queue once no sender is left: everything sent before is still written.
struct Sender(Arc<Outbox>);

impl Drop for Sender {
    fn drop(&mut self) {
        self.0.end();
    }
}

/// The connection to the client.
struct Outbox {
    queue: Mutex<Queue>,
    /// Notified when there is something to write, or when there will be nothing more.
    more: Condvar,
    /// The output, locked by the thread that writes.
    output: Mutex<Box<dyn Write + Send>>,
    /// How many bytes wait to be written.
    bytes: AtomicUsize,
    less: Notify,
}

/// The messages that wait to be written.
#[derive(Default)]
struct Queue {
    frames: VecDeque<Vec<u8>>,
    ended: bool,
}

impl Outbox {
    fn queue(&self) -> MutexGuard<'_, Queue> {
        lock(&self.queue)
    }

    fn is_long(&self) -> bool {
        self.bytes.load(Ordering::Relaxed) > MAX_BACKLOG_BYTES
    }

    fn put(&self, frame: Vec<u8>) {
        let mut queue = self.queue();
        if !queue.ended {
            self.bytes.fetch_add(frame.len(), Ordering::Relaxed);
            queue.frames.push_back(frame);
        }
    }

    fn end(&self) {
        self.queue().ended = true;
        self.more.notify_one();
    }

    /// Writes the waiting messages, as long as there are any.
    fn write(&self, output: &mut (dyn Write + Send)) {
        loop {
            let Some(frame) = self.queue().frames.pop_front() else {
                return;
            };
            let written = output.write_all(&frame).and_then(|()| output.flush());
            if written.is_err() {
                // The client does not read any more.
                let mut queue = self.queue();
                queue.ended = true;
                queue.frames.clear();
                self.more.notify_one();
                return;
            }
            self.bytes.fetch_sub(frame.len(), Ordering::Relaxed);
            if !self.is_long() {
                self.less.notify_waiters();
            }
        }
    }

    /// Writes messages as they arrive, until the end.
    fn write_all(&self) {
        loop {
            let waits = |queue: &mut Queue| queue.frames.is_empty() && !queue.ended;
            let queue = self.more.wait_while(self.queue(), waits);
            drop(queue.unwrap_or_else(PoisonError::into_inner));
            let mut output = lock(&self.output);
            self.write(&mut **output);
            if self.queue().ended {
                return;
            }
        }
    }

    /// Writes the waiting messages, unless another thread is writing. The writer's own thread then takes care of
    /// them.
    fn write_now(&self) {
        match self.output.try_lock() {
            Ok(mut output) => self.write(&mut **output),
            Err(_) => self.more.notify_one(),
        }
    }
}

/// When dropped, the sending thread itself writes the waiting messages. It may have to wait for the client, but no
/// message waits for another thread to wake up.
pub(crate) struct FlushOnDrop<'a>(&'a Outgoing);

impl FlushOnDrop<'_> {
    pub fn notification<N>(&self, params: &N::Params)
    where
        N: Notification,
    {
        self.0.put_notification::<N>(params);
    }
}

impl Drop for FlushOnDrop<'_> {
    fn drop(&mut self) {
        self.0.outbox().write_now();
    }
}

/// The requests to the client that have no answer yet.
#[derive(Debug, Default)]
struct Asked {
    last: i64,
    waiting: HashMap<i64, oneshot::Sender<Option<Value>>>,
}

/// A notification in the form of the wire.
#[derive(Serialize)]
struct Notice<'a, P> {
    jsonrpc: &'static str,
    method: &'static str,
    params: &'a P,
}

impl<'a, P> Notice<'a, P> {
    fn of<N: Notification<Params = P>>(params: &'a P) -> Self {
        Self {
            jsonrpc: "2.0",
            method: N::METHOD,
            params,
        }
    }
}

impl Outgoing {
    /// Writes messages until told to end, or until the client no longer reads them. The receiver is notified of
    /// either.
    pub fn write(output: impl Write + Send + 'static) -> (Self, oneshot::Receiver<()>) {
        let outbox = Arc::new(Outbox {
            queue: Mutex::default(),
            more: Condvar::new(),
            output: Mutex::new(Box::new(output)),
            bytes: AtomicUsize::new(0),
            less: Notify::new(),
        });
        let (done, ended) = oneshot::channel();
        let writing = outbox.clone();
        std::thread::spawn(move || {
            writing.write_all();
            // No one listens once the server is gone.
            let _ = done.send(());
        });
        let outgoing = Self {
            sender: Arc::new(Sender(outbox)),
            asked: Arc::default(),
        };
        (outgoing, ended)
    }

    fn outbox(&self) -> &Outbox {
        &self.sender.0
    }

    /// A guard with which this thread writes its messages itself.
    pub fn flushing(&self) -> FlushOnDrop<'_> {
        FlushOnDrop(self)
    }

    /// Waits until a client that is slow to read has caught up.
    pub async fn caught_up(&self) {
        loop {
            let less = self.outbox().less.notified();
            if !self.outbox().is_long() {
                return;
            }
            less.await;
        }
    }

    pub fn response(&self, response: &Response, method: Option<&str>, since: Timer) {
        self.put(response, |body| log::answer(method, response, since, body));
        self.outbox().more.notify_one();
    }

    pub fn notification<N>(&self, params: &N::Params)
    where
        N: Notification,
    {
        self.put_notification::<N>(params);
        self.outbox().more.notify_one();
    }

    fn put_notification<N>(&self, params: &N::Params)
    where
        N: Notification,
    {
        let log = |body: &[u8]| log::message("sent", Some(N::METHOD), None, body);
        self.put(&Notice::of::<N>(params), log);
    }

    /// Writes an error of the server to the client's log.
    pub fn log_error(&self, message: &str) {
        self.notification::<LogMessage>(&LogMessageParams {
            typ: MessageType::ERROR,
            message: message.to_owned(),
        });
    }

    /// Sends a request to the client. The answer comes through the receiver: `None` for an error, and nothing at all
    /// if the client does not answer.
    pub fn request<R>(&self, params: &R::Params) -> oneshot::Receiver<Option<Value>>
    where
        R: lsp_types::request::Request,
    {
        let (sender, receiver) = oneshot::channel();
        let id = {
            let mut asked = self.asked();
            asked.last += 1;
            let id = asked.last;
            // Dropped requests are no longer waited for.
            asked.waiting.retain(|_, waiting| !waiting.is_closed());
            asked.waiting.insert(id, sender);
            id
        };
        let mut message = serde_json::json!({ "jsonrpc": "2.0", "id": id, "method": R::METHOD });
        match serde_json::to_value(params) {
            Ok(Value::Null) | Err(_) => {}
            Ok(params) => message["params"] = params,
        }
        let log = |body: &[u8]| log::message("sent", Some(R::METHOD), Some(&Id::Number(id)), body);
        self.put(&message, log);
        self.outbox().more.notify_one();
        receiver
    }

    /// Passes the client's answer to the one who asked.
    pub fn answered(&self, answer: Response) {
        let (id, result) = answer.into_parts();
        let waiting = match id {
            Id::Number(id) => self.asked().waiting.remove(&id),
            _ => None,
        };
        if let Some(waiting) = waiting {
            // The receiver may be gone.
            let _ = waiting.send(result.ok());
        }
    }

    fn asked(&self) -> MutexGuard<'_, Asked> {
        lock(&self.asked)
    }

    /// Ends the queue: everything sent so far is still written.
    pub fn end(&self) {
        self.outbox().end();
    }

    /// Queues a message.
    fn put(&self, message: &impl Serialize, log: impl FnOnce(&[u8])) {
        match serde_json::to_vec(message) {
            Ok(mut body) => {
                log(&body);
                // Standard output buffers an unfinished line and would write it in two pieces.
                body.push(b'\n');
                let mut frame = format!("Content-Length: {}\r\n\r\n", body.len()).into_bytes();
                frame.append(&mut body);
                self.outbox().put(frame);
            }
            Err(error) => say(&format!("a message cannot be written: {error}")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_invalid_request_is_refused_with_its_id() {
        for (body, id) in [
            (r#"{"jsonrpc":"2.0","id":3}"#, Id::Number(3)),
            (r#"{"jsonrpc":"1.0","id":3,"method":"x"}"#, Id::Number(3)),
            (r#"{"jsonrpc":"2.0","id":null,"method":"x"}"#, Id::Null),
            (r#"{"jsonrpc":"2.0","id":1.5,"method":"x"}"#, Id::Null),
            (r#"{"jsonrpc":"2.0","id":[3],"method":"x"}"#, Id::Null),
            (r#"[{"jsonrpc":"2.0","id":3,"method":"x"}]"#, Id::Null),
            ("{", Id::Null),
        ] {
            let Some(Incoming::Refused(response)) = message(body.as_bytes()) else {
                panic!("{body} was taken");
            };
            assert_eq!(*response.id(), id, "{body}");
        }
        let answer = message(br#"{"jsonrpc":"2.0","id":3,"result":null}"#);
        assert!(matches!(answer, Some(Incoming::Answer(_))));
        let nonsense = message(br#"{"jsonrpc":"2.0","id":{},"result":null}"#);
        assert!(nonsense.is_none());
    }

    #[test]
    fn empty_parameters_are_none() {
        let body = br#"{"jsonrpc":"2.0","id":3,"method":"shutdown","params":null}"#;
        let Some(Incoming::Request(request)) = message(body) else {
            panic!("it was refused");
        };
        assert!(request.params().is_none());
    }
}
