//! The core as a WebAssembly module, for a page and for Node.
//!
//! Three functions that take and return only numbers, so that the module alone is needed to call them. The host
//! asks for [`room`], writes a request there as UTF-8, and calls [`answer`]. The answer is at the address that
//! this returns, and is [`length`] bytes long. `bitepoint::faces::page` lists the requests.

use bitepoint::faces::page::Session;
use std::cell::RefCell;

#[derive(Default)]
struct Page {
    session: Session,
    request: Vec<u8>,
    answer: String,
}

thread_local! {
    static PAGE: RefCell<Page> = RefCell::default();
}

/// Room for a request of so many bytes, until the next call.
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: usize) -> *mut u8 {
    PAGE.with_borrow_mut(|page| {
        page.request = vec![0; bytes];
        page.request.as_mut_ptr()
    })
}

/// Answers the request; where the answer begins, until the next call.
#[unsafe(no_mangle)]
pub extern "C" fn answer() -> *const u8 {
    PAGE.with_borrow_mut(|page| {
        let request = std::mem::take(&mut page.request);
        page.answer = page.session.answer(&String::from_utf8_lossy(&request));
        page.answer.as_ptr()
    })
}

/// How many bytes the answer has.
#[unsafe(no_mangle)]
pub extern "C" fn length() -> usize {
    PAGE.with_borrow(|page| page.answer.len())
}
