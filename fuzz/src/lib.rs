//! What the targets share: the questions of `tests/it/fuzzed.rs`, and a folder to ask them in.

use std::path::Path;
use std::sync::OnceLock;

#[path = "../../tests/it/fuzzed.rs"]
mod fuzzed;

pub use fuzzed::*;

/// The folder of this process, made when it is first asked for. It stays when the process ends: `fuzz/run` takes it away.
pub fn ground() -> &'static Ground {
    static GROUND: OnceLock<Ground> = OnceLock::new();
    GROUND.get_or_init(|| Ground::new(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))))
}
