//! Frames on the wire: a header with a length, and a body.
//!
//! Reading continues whatever arrives. Something that is no frame is reported once, and the next header is searched
//! for.

use std::io::{self, BufRead, Read};

/// The longest message; longer ones are skipped. No spec comes near it.
const MAX_MESSAGE_BYTES: u64 = 64 << 20;
/// A length beyond this is not taken as a message, since skipping it would wait forever.
const MAX_SKIPPED_BYTES: u64 = 1 << 30;
/// The longest header line. Of a longer line only the end may be a header.
const MAX_HEADER_BYTES: usize = 4 << 10;

/// Bodies of messages, one after the other.
pub struct Frames<R> {
    input: R,
    /// How many bytes of a message that is too long are left to skip.
    skip: u64,
}

/// The header before a body.
#[derive(Default)]
struct Header {
    length: Option<u64>,
    /// Why its length cannot be used.
    flaw: Option<String>,
    /// Why its body cannot be read.
    unreadable: Option<String>,
}

impl<R: BufRead> Frames<R> {
    /// Reads frames from an input, from its beginning.
    pub fn new(input: R) -> Self {
        Self { input, skip: 0 }
    }

    /// The body of the next message, or why there is none; `None` at the end of the input.
    ///
    /// # Errors
    /// The input cannot be read.
    #[allow(clippy::should_implement_trait, reason = "it can fail")]
    pub fn next(&mut self) -> io::Result<Option<Result<Vec<u8>, String>>> {
        io::copy(&mut self.input.by_ref().take(self.skip), &mut io::sink())?;
        self.skip = 0;
        let Some(header) = self.header()? else {
            return Ok(None);
        };
        let length = match (header.length, header.flaw) {
            (_, Some(flaw)) => return Ok(Some(Err(flaw))),
            (None, None) => return Ok(Some(Err("a message without a length".to_owned()))),
            (Some(length), None) => length,
        };
        if length > MAX_MESSAGE_BYTES {
            // A length that cannot be right is not skipped: the next header is searched for.
            self.skip = match length {
                0..=MAX_SKIPPED_BYTES => length,
                _ => 0,
            };
            let why = format!("a message of more than {MAX_MESSAGE_BYTES} bytes");
            return Ok(Some(Err(why)));
        }
        let mut body = Vec::new();
        self.input.by_ref().take(length).read_to_end(&mut body)?;
        if body.len() as u64 != length {
            return Ok(None);
        }
        Ok(Some(match header.unreadable {
            Some(why) => Err(why),
            None => Ok(body),
        }))
    }

    fn header(&mut self) -> io::Result<Option<Header>> {
        let mut header = Header::default();
        let mut begun = false;
        while let Some(line) = self.line()? {
            let line = line.trim_ascii();
            if line.is_empty() && begun {
                return Ok(Some(header));
            }
            begun |= !line.is_empty();
            header.read(line);
        }
        Ok(None)
    }

    /// The next line, or the end of a very long one; `None` at the end of the input.
    fn line(&mut self) -> io::Result<Option<Vec<u8>>> {
        let mut line = Vec::new();
        loop {
            let mut some = self.input.by_ref().take(MAX_HEADER_BYTES as u64);
            if some.read_until(b'\n', &mut line)? == 0 {
                return Ok(None);
            }
            if line.ends_with(b"\n") {
                return Ok(Some(line));
            }
            line.drain(..line.len().saturating_sub(MAX_HEADER_BYTES));
        }
    }
}

impl Header {
    fn read(&mut self, line: &[u8]) {
        // The header may follow directly after the rest of a message with a wrong length.
        if let Some(value) = behind(line, b"content-length:") {
            let text = String::from_utf8_lossy(value);
            match text.parse::<u64>() {
                Err(_) => self.flaw = Some(format!("`{text}` is no length of a message")),
                Ok(length) if self.length.is_some_and(|other| other != length) => {
                    self.flaw = Some("a message with two lengths".to_owned());
                }
                Ok(length) => self.length = Some(length),
            }
        } else if let Some(value) = behind(line, b"content-type:")
            && let Some(charset) = behind(value, b"charset=")
        {
            let charset = String::from_utf8_lossy(charset).to_ascii_lowercase();
            let charset = charset.trim_matches('"');
            // The second spelling is that of early versions of the protocol.
            if !matches!(charset, "utf-8" | "utf8") {
                self.unreadable = Some(format!("messages are in UTF-8, not in `{charset}`"));
            }
        }
    }
}

/// What follows the last occurrence of a word in a line, in any case of letters. `None` if a hyphen precedes it, as
/// the word then ends a longer header name.
fn behind<'a>(line: &'a [u8], word: &[u8]) -> Option<&'a [u8]> {
    let at = line
        .windows(word.len())
        .rposition(|window| window.eq_ignore_ascii_case(word))?;
    if at.checked_sub(1).and_then(|before| line.get(before)) == Some(&b'-') {
        return None;
    }
    line.get(at + word.len()..).map(<[u8]>::trim_ascii)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bodies(wire: &str) -> Vec<Result<String, String>> {
        let mut frames = Frames::new(wire.as_bytes());
        let mut bodies = Vec::new();
        while let Ok(Some(frame)) = frames.next() {
            bodies.push(frame.map(|body| String::from_utf8(body).unwrap()));
        }
        bodies
    }

    #[test]
    fn headers_come_in_any_case_and_with_others() {
        let wire = "content-length: 2\r\nContent-Type: x\r\nX: y\r\n\r\n{}Content-Length:1\n\n1";
        assert_eq!(bodies(wire), [Ok("{}".to_owned()), Ok("1".to_owned())]);
    }

    #[test]
    fn reading_goes_on_behind_garbage() {
        let wire = "hello\r\n\r\nContent-Length: 2\r\n\r\n{}";
        let bodies = bodies(wire);
        assert!(bodies[0].is_err());
        assert_eq!(bodies[1], Ok("{}".to_owned()));
    }

    #[test]
    fn a_header_after_a_body_longer_than_announced_is_found() {
        let wire = "Content-Length: 1\r\n\r\n{}Content-Length: 4\r\n\r\nnull";
        assert_eq!(bodies(wire), [Ok("{".to_owned()), Ok("null".to_owned())]);
    }

    #[test]
    fn a_header_at_the_end_of_a_very_long_line_is_found() {
        for long in MAX_HEADER_BYTES - 30..MAX_HEADER_BYTES + 30 {
            let wire = format!("{}Content-Length: 2\r\n\r\n{{}}", "x".repeat(long));
            assert_eq!(bodies(&wire), [Ok("{}".to_owned())], "{long}");
        }
    }

    #[test]
    fn a_bad_length_is_reported_and_the_next_header_is_found() {
        for wrong in [
            "Content-Length: -2",
            "Content-Length: 2.0",
            "Content-Length:",
            "Content-Length: 99999999999999999999999",
            "Content-Length: 9999999999999",
            "Content-Length: 2\r\nContent-Length: 3",
            "X-Content-Length: 2",
            "Content-Type: application/vscode-jsonrpc; charset=utf-8",
            "Content-Length: 2\r\nContent-Type: x; charset=\"utf-16\"",
        ] {
            let wire = format!("{wrong}\r\n\r\n{{}}Content-Length: 4\r\n\r\nnull");
            let bodies = bodies(&wire);
            assert!(bodies[0].is_err(), "{wrong}");
            assert_eq!(bodies[1..], [Ok("null".to_owned())], "{wrong}");
        }
        for right in [
            "Content-Length: 2\r\nContent-Length: 2",
            "Content-Length: 2\r\nX-Content-Length: 3",
            "Content-Type: x; charset=UTF-8\r\nContent-Length: 2",
            "Content-Type: x; charset=utf8\r\nContent-Length: 2",
        ] {
            let wire = format!("{right}\r\n\r\n{{}}");
            assert_eq!(bodies(&wire), [Ok("{}".to_owned())], "{right}");
        }
    }

    #[test]
    fn a_message_that_is_too_long_is_reported_before_it_is_skipped() {
        let long = MAX_MESSAGE_BYTES + 1;
        let header = format!("Content-Length: {long}\r\n\r\n");
        let rest = "Content-Length: 2\r\n\r\n{}";
        let body = io::repeat(b' ').take(long);
        let input = header.as_bytes().chain(body).chain(rest.as_bytes());
        let mut frames = Frames::new(io::BufReader::new(input));
        let told = frames.next().unwrap().unwrap();
        assert!(told.unwrap_err().contains("more than"));
        assert_eq!(frames.next().unwrap(), Some(Ok(b"{}".to_vec())));
        assert_eq!(frames.next().unwrap(), None);
    }

    #[test]
    fn an_incomplete_message_ends_the_input() {
        assert!(bodies("Content-Length: 9\r\n\r\n{}").is_empty());
        assert!(bodies("Content-Le").is_empty());
    }
}
