//! Numbers with units, dates, times and hardness.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| flipcount_fuzz::units(data));
