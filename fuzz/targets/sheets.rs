//! One price sheet, which the first byte picks; the other seven and the scenario are sound.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| flipcount_fuzz::ground().sheet(data));
