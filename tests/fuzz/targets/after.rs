#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| bitepoint_fuzz::after::holds(data));
