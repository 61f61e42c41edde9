//! The objects of a repository, read through one process of git.

use super::program::{NO_GIT, git};
use crate::faces::sync::lock;
use std::io::{BufRead, BufReader, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Stdio};
use std::sync::Mutex;

/// The objects of a repository, all read through the same process.
pub(super) struct Objects {
    folder: PathBuf,
    process: Mutex<Option<Batch>>,
}

impl Objects {
    pub(super) fn new(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            process: Mutex::default(),
        }
    }

    /// The bytes of an object. Reading stops as soon as there are too many.
    ///
    /// # Errors
    /// Git cannot give it; the error is the end of a sentence that contains the object's name.
    pub(super) fn get(&self, hash: &str, most: usize) -> Result<Vec<u8>, String> {
        self.named(hash, most).map(|(_, bytes)| bytes)
    }

    /// An object by any name, with its hash.
    pub(super) fn named(&self, name: &str, most: usize) -> Result<(String, Vec<u8>), String> {
        let mut process = lock(&self.process);
        let mut batch = match process.take() {
            Some(batch) => batch,
            None => Batch::start(&self.folder).map_err(|error| match error.kind() {
                ErrorKind::NotFound => format!("cannot be read: {NO_GIT}"),
                _ => format!("cannot be read: git does not start: {error}"),
            })?,
        };
        match batch.ask(name, most) {
            Ok(Answer::Whole(hash, bytes)) => {
                *process = Some(batch);
                Ok((hash, bytes))
            }
            // The rest is never read: the next object is read by another process.
            Ok(Answer::Begun(hash, bytes)) => Ok((hash, bytes)),
            Ok(Answer::Missing) => {
                *process = Some(batch);
                Err(format!(
                    "cannot be read: git has no object {name}. The repository is damaged, or a \
                     partial clone; `git fsck` lists what is missing"
                ))
            }
            // The process ends at a damaged object.
            Err(error) => Err(format!(
                "cannot be read: git's object {name} is damaged ({error}); `git fsck` says more"
            )),
        }
    }
}

/// A running `git cat-file --batch`.
struct Batch {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

enum Answer {
    /// The object's hash and all its bytes.
    Whole(String, Vec<u8>),
    /// The hash of an object that is too large, with the bytes read so far.
    Begun(String, Vec<u8>),
    Missing,
}

impl Batch {
    fn start(folder: &Path) -> std::io::Result<Self> {
        let mut child = git(folder, &["cat-file", "--batch"])
            .stdin(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        match (child.stdin.take(), child.stdout.take()) {
            (Some(input), Some(output)) => Ok(Self {
                child,
                input,
                output: BufReader::new(output),
            }),
            _ => Err(ErrorKind::BrokenPipe.into()),
        }
    }

    /// Asks for an object. Reads `<hash> <kind> <size>`, a line break, the object and another line break.
    fn ask(&mut self, name: &str, most: usize) -> std::io::Result<Answer> {
        const LONGEST_HEAD: u64 = 1 << 16;
        writeln!(self.input, "{name}")?;
        let mut head = Vec::new();
        let mut bounded = (&mut self.output).take(LONGEST_HEAD);
        bounded.read_until(b'\n', &mut head)?;
        let head = String::from_utf8_lossy(&head);
        let words: Vec<&str> = head.split_whitespace().collect();
        let [hash, _, size] = words.as_slice() else {
            return match words.last() {
                Some(&"missing") => Ok(Answer::Missing),
                _ => Err(ErrorKind::UnexpectedEof.into()),
            };
        };
        let wrong = |_| std::io::Error::from(ErrorKind::InvalidData);
        let size: usize = size.parse().map_err(wrong)?;
        let read = size.min(most.saturating_add(1));
        let mut bytes = vec![0; read];
        self.output.read_exact(&mut bytes)?;
        if read < size {
            return Ok(Answer::Begun((*hash).to_owned(), bytes));
        }
        let mut line_break = [0];
        self.output.read_exact(&mut line_break)?;
        Ok(Answer::Whole((*hash).to_owned(), bytes))
    }
}

impl Drop for Batch {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
