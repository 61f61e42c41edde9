//! Whatever the client writes, reading continues. Every well-formed message is read, whatever is before it, unless
//! that has a header of its own.

use bitepoint::faces::server::frames::Frames;
use bitepoint::faces::server::wire::message;
use std::io::Cursor;

pub fn holds(data: &[u8]) {
    message(data);
    for body in bodies(data.to_vec()) {
        message(&body);
    }
    let (wire, written) = mixed(data);
    assert_eq!(bodies(wire), written);
}

/// The bodies of the messages on a wire.
pub fn bodies(wire: Vec<u8>) -> Vec<Vec<u8>> {
    let mut frames = Frames::new(Cursor::new(wire));
    let next = || frames.next().expect("it lies in memory");
    std::iter::from_fn(next).flatten().collect()
}

/// Messages with garbage before each, and the messages alone.
fn mixed(data: &[u8]) -> (Vec<u8>, Vec<Vec<u8>>) {
    let (mut wire, mut bodies) = (Vec::new(), Vec::new());
    for (i, piece) in data.split(|byte| *byte == 0xff).enumerate() {
        if i % 2 == 0 {
            wire.extend(without_headers(piece));
            continue;
        }
        let header = format!("Content-Length: {}\r\n\r\n", piece.len());
        wire.extend_from_slice(header.as_bytes());
        wire.extend_from_slice(piece);
        bodies.push(piece.to_vec());
    }
    (wire, bodies)
}

/// Garbage without a header, complete or half, that could announce what follows.
fn without_headers(garbage: &[u8]) -> Vec<u8> {
    let mut without = garbage.to_vec();
    for header in [&b"content-length:"[..], b"content-type:"] {
        for at in 0..garbage.len() {
            let behind = without.get(at..at + header.len());
            if behind.is_some_and(|behind| behind.eq_ignore_ascii_case(header)) {
                without[at] = b'?';
            }
        }
    }
    // The next header would be the end of a longer name.
    while without.last() == Some(&b'-') {
        without.pop();
    }
    without
}
