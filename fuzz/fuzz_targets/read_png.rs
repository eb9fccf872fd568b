#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| solewright_fuzz::read("png", bytes));
