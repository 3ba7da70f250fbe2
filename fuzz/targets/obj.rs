//! OBJ.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| flipcount_fuzz::mesh(data, flipcount::mesh::Format::Obj));
