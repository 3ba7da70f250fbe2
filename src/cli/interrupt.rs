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
/// What is taken away where the program is ended.
static HIDDEN: Mutex<Hidden> =
    Mutex::new(Hidden { files: BTreeSet::new(), folders: BTreeSet::new() });

/// What is there and should not be seen yet.
pub(super) struct Hidden {
    /// Hidden files that are not yet in their place.
    pub files: BTreeSet<PathBuf>,
    /// Folders that were made for files, as long as these are not in their places.
    pub folders: BTreeSet<PathBuf>,
}

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

/// What is hidden; as long as it is held the program is not ended by Ctrl-C.
pub(super) fn hidden() -> MutexGuard<'static, Hidden> {
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
    hidden.files.iter().for_each(|file| drop(fs::remove_file(file)));
    // Only an empty folder can be removed; the deepest comes last.
    hidden.folders.iter().rev().for_each(|folder| drop(fs::remove_dir(folder)));
    std::process::exit(i32::from(INTERRUPTED));
}
