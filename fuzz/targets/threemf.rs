//! 3MF: an archive, or the texts of its models.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| flipcount_fuzz::threemf(data));
