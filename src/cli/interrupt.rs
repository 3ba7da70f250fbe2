//! Ctrl-C: what was done so far counts, and no file is left half written.
//!
//! While samples are drawn, or points of a sweep worked through, the first one ends that and what is done is given; any other ends the
//! program, after taking away what is not yet in its place. Files of one report are put in place together: an end waits until all of them are.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};

/// The exit code of a program ended by Ctrl-C: 128 and the signal's number.
pub(super) const INTERRUPTED: u8 = 130;

/// Set while there is something that can end early.
static HEEDED: AtomicBool = AtomicBool::new(false);
/// Set when the person has had enough of it.
static ENOUGH: AtomicBool = AtomicBool::new(false);
/// Hidden files that are not yet in their place.
static HIDDEN: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// Does something that can end early; true is read in the flag once it should.
pub(super) fn heeded<T>(work: impl FnOnce(&AtomicBool) -> T) -> T {
    watch();
    HEEDED.store(true, Ordering::SeqCst);
    let done = work(&ENOUGH);
    HEEDED.store(false, Ordering::SeqCst);
    done
}

/// True where Ctrl-C ended something early.
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
    if HEEDED.load(Ordering::SeqCst) && !ENOUGH.swap(true, Ordering::SeqCst) {
        return;
    }
    let hidden = HIDDEN.lock().unwrap_or_else(PoisonError::into_inner);
    for path in hidden.iter() {
        let _ = fs::remove_file(path);
    }
    std::process::exit(i32::from(INTERRUPTED));
}
