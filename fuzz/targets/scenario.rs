//! The text of scenario.toml, with sound sheets and meshes beside it.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| flipcount_fuzz::ground().scenario_text(data));
