//! Whole sessions in this process, with a test's own analyst. It does what the real one cannot be made to do, such as
//! to panic or to run until it is stopped.

#[cfg(test)]
mod tests {
    use super::super::serve::converse;
    use crate::analysis::{Report, Work, analyse_after};
    use crate::faces::server::state::{Analyse, Analyst};
    use crate::model::{Files, Source};
    use serde_json::{Value, json};
    use std::io::{BufRead, BufReader, PipeReader, PipeWriter, Read, Write, pipe};
    use std::sync::Arc;
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::thread::JoinHandle;
    use std::time::{Duration, Instant};

    /// How long a test waits; only a server that hangs takes this long.
    const PATIENCE: Duration = Duration::from_secs(60);

    const SPEC: &str = "untitled:car.clutch";

    struct Session {
        input: PipeWriter,
        output: BufReader<PipeReader>,
        server: JoinHandle<bool>,
    }

    impl Session {
        fn start(analyst: Analyse) -> Self {
            let (input, write) = pipe().unwrap();
            let (read, output) = pipe().unwrap();
            let server =
                std::thread::spawn(move || converse(input, output, Analyst(analyst)).unwrap());
            let mut session = Self {
                input: write,
                output: BufReader::new(read),
                server,
            };
            session.ask(0, "initialize", json!({ "capabilities": {} }));
            session.next(|message| message["id"] == 0);
            session.tell("initialized", json!({}));
            session
        }

        fn send(&mut self, message: &Value) {
            let body = message.to_string();
            write!(self.input, "Content-Length: {}\r\n\r\n{body}", body.len()).unwrap();
        }

        fn ask(&mut self, id: i32, method: &str, params: Value) {
            self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        }

        fn tell(&mut self, method: &str, params: Value) {
            self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
        }

        fn open(&mut self, text: &str) {
            let document =
                json!({ "uri": SPEC, "languageId": "clutch", "version": 1, "text": text });
            self.tell("textDocument/didOpen", json!({ "textDocument": document }));
        }

        fn change(&mut self, version: i32, text: &str) {
            let document = json!({ "uri": SPEC, "version": version });
            let params = json!({ "textDocument": document, "contentChanges": [{ "text": text }] });
            self.tell("textDocument/didChange", params);
        }

        fn hover(&mut self, id: i32) {
            let at = json!({ "line": 0, "character": 0 });
            let params = json!({ "textDocument": { "uri": SPEC }, "position": at });
            self.ask(id, "textDocument/hover", params);
        }

        /// The next message that is wanted; others are dropped.
        fn next(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
            loop {
                let mut header = String::new();
                self.output.read_line(&mut header).unwrap();
                let length = header.trim().strip_prefix("Content-Length: ").unwrap();
                let mut body = vec![0; 2 + length.parse::<usize>().unwrap()];
                self.output.read_exact(&mut body).unwrap();
                let message = serde_json::from_slice(&body).unwrap();
                if wanted(&message) {
                    return message;
                }
            }
        }

        fn published(&mut self, version: i32) -> Value {
            self.next(|message| message["params"]["version"] == version)
        }

        fn finish(mut self) {
            self.ask(999, "shutdown", Value::Null);
            assert_eq!(
                self.next(|message| message["id"] == 999)["result"],
                Value::Null
            );
            self.tell("exit", Value::Null);
            assert!(self.server.join().unwrap());
        }
    }

    /// An analyst that panics on some texts.
    fn fragile(
        before: Option<&Report>,
        source: Arc<Source>,
        files: &dyn Files,
        work: &Work<'_>,
    ) -> Report {
        assert!(!source.text.contains("fall"), "as the test wants it");
        analyse_after(before, source, files, work)
    }

    #[test]
    fn a_panic_in_an_analysis_is_reported_and_the_server_continues() {
        let mut session = Session::start(fragile);
        let logged = |message: &Value| message["method"] == "window/logMessage";
        session.open("# fall over this");
        let told = session.next(logged)["params"]["message"].take();
        assert!(
            told.as_str().unwrap().contains("a mistake in Bitepoint"),
            "{told}"
        );
        let found = session.published(1)["params"]["diagnostics"].take();
        assert_eq!(found.as_array().unwrap().len(), 1, "{found}");
        assert_eq!(found[0]["severity"], 1);

        session.hover(1);
        let told = session.next(logged)["params"]["message"].take();
        assert!(
            told.as_str().unwrap().contains("a request failed"),
            "{told}"
        );
        assert_eq!(
            session.next(|message| message["id"] == 1)["error"]["code"],
            -32603
        );

        session.change(2, "let spare = 3 mmm");
        // A change that changes nothing: the typing has ended.
        session.tell(
            "textDocument/didChange",
            json!({ "textDocument": { "uri": SPEC, "version": 3 }, "contentChanges": [] }),
        );
        let found = session.published(3)["params"]["diagnostics"].take();
        assert_eq!(found[0]["code"], "unknown-unit", "{found}");
        session.hover(2);
        assert!(
            session
                .next(|message| message["id"] == 2)
                .get("error")
                .is_none()
        );
        session.finish();
    }

    /// How many analyses began, and how many were stopped.
    static BEGUN: AtomicUsize = AtomicUsize::new(0);
    static STOPPED: AtomicUsize = AtomicUsize::new(0);

    /// An analyst that never finishes some texts until it is stopped.
    fn endless(
        before: Option<&Report>,
        source: Arc<Source>,
        files: &dyn Files,
        work: &Work<'_>,
    ) -> Report {
        if source.text.contains("endless") {
            BEGUN.fetch_add(1, Ordering::SeqCst);
            until(|| work.watch.is_stopped());
            STOPPED.fetch_add(1, Ordering::SeqCst);
        }
        analyse_after(before, source, files, work)
    }

    fn until(so: impl Fn() -> bool) {
        let begun = Instant::now();
        while !so() {
            assert!(begun.elapsed() < PATIENCE, "it never comes");
            std::thread::sleep(Duration::from_millis(1));
        }
    }

    #[test]
    fn an_analysis_is_stopped_once_nobody_waits_for_it() {
        let mut session = Session::start(endless);
        let begun = |count| until(move || BEGUN.load(Ordering::SeqCst) == count);
        let stopped = || STOPPED.load(Ordering::SeqCst);

        session.open("# endless");
        begun(1);
        session.change(2, "# an edit");
        session.published(2);
        assert_eq!(stopped(), 1, "an edit");

        session.change(3, "# endless");
        begun(2);
        let document = json!({ "textDocument": { "uri": SPEC } });
        session.tell("textDocument/didClose", document);
        until(|| stopped() == 2);
        session.open("# endless");
        begun(3);
        session.open("# opened again");
        session.published(1);
        until(|| stopped() == 3);

        // A request for an earlier text is still answered, unless it was cancelled.
        session.change(2, "# endless");
        begun(4);
        session.hover(1);
        session.change(3, "# an edit");
        session.hover(2);
        session.next(|message| message["id"] == 2);
        assert_eq!(stopped(), 3, "somebody waits");
        session.tell("$/cancelRequest", json!({ "id": 1 }));
        assert_eq!(
            session.next(|message| message["id"] == 1)["error"]["code"],
            -32800
        );
        until(|| stopped() == 4);
        session.published(3);
        session.finish();
    }
}
