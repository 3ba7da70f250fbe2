//! The text of record.csv, beside a sound scenario, and the project that goes on from it.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| flipcount_fuzz::ground().record(data));
