//! The language server as a WebAssembly module, for an editor in a browser.
//!
//! Three functions that take and return only numbers, so that the module alone is needed to call them. The host
//! asks for [`room`], writes a message of the protocol there as UTF-8, and calls [`answer`]. The messages for the
//! client are at the address that this returns: a JSON array of [`length`] bytes.

use bitepoint::faces::server::Embedded;
use std::cell::RefCell;

#[derive(Default)]
struct Worker {
    server: Embedded,
    message: Vec<u8>,
    answer: String,
}

thread_local! {
    static WORKER: RefCell<Worker> = RefCell::default();
}

/// Room for a message of so many bytes, until the next call.
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: usize) -> *mut u8 {
    WORKER.with_borrow_mut(|worker| {
        worker.message = vec![0; bytes];
        worker.message.as_mut_ptr()
    })
}

/// Takes the message; where the messages for the client begin, until the next call.
#[unsafe(no_mangle)]
pub extern "C" fn answer() -> *const u8 {
    WORKER.with_borrow_mut(|worker| {
        let message = std::mem::take(&mut worker.message);
        worker.answer = worker.server.take(&String::from_utf8_lossy(&message));
        worker.answer.as_ptr()
    })
}

/// How many bytes they have.
#[unsafe(no_mangle)]
pub extern "C" fn length() -> usize {
    WORKER.with_borrow(|worker| worker.answer.len())
}
