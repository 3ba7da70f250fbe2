//! Ctrl-C: what was drawn so far counts, and no file is left half written.
//!
//! While samples are drawn the first one ends the drawing and the answer is given; any other ends the program, after taking away what
//! is not yet in its place. Files of one report are put in place together: an end waits until all of them are.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};

/// The exit code of a program ended by Ctrl-C: 128 and the signal's number.
const INTERRUPTED: i32 = 130;

/// Set while samples are drawn.
static DRAWING: AtomicBool = AtomicBool::new(false);
/// Set when the person has had enough of them.
static ENOUGH: AtomicBool = AtomicBool::new(false);
/// Hidden files that are not yet in their place.
static HIDDEN: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// Draws samples; true is read in the flag once there are enough.
pub(super) fn drawing<T>(draw: impl FnOnce(&AtomicBool) -> T) -> T {
    watch();
    DRAWING.store(true, Ordering::SeqCst);
    let drawn = draw(&ENOUGH);
    DRAWING.store(false, Ordering::SeqCst);
    drawn
}

/// True where Ctrl-C ended the drawing of samples.
pub(super) fn was_enough() -> bool {
    ENOUGH.load(Ordering::SeqCst)
}

/// The hidden files; as long as they are held the program is not ended by Ctrl-C.
pub(super) fn hidden() -> MutexGuard<'static, BTreeSet<PathBuf>> {
    watch();
    HIDDEN.lock().unwrap_or_else(PoisonError::into_inner)
}

fn watch() {
    static ONCE: Once = Once::new();
    // Where signals cannot be caught, Ctrl-C ends the program as ever.
    ONCE.call_once(|| drop(ctrlc::set_handler(interrupted)));
}

fn interrupted() {
    if DRAWING.load(Ordering::SeqCst) && !ENOUGH.swap(true, Ordering::SeqCst) {
        return;
    }
    let hidden = HIDDEN.lock().unwrap_or_else(PoisonError::into_inner);
    for path in hidden.iter() {
        let _ = fs::remove_file(path);
    }
    std::process::exit(INTERRUPTED);
}
