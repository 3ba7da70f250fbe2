//! One writer at a time: what writes beside a scenario takes turns by a lock on a file of its own.
//!
//! The file that is written can then be replaced: whoever waited for a lock on it would hold one on a file that is no longer there.

use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

/// How often a lock is asked for, and how long is waited between: ten seconds together.
const TRIES: u32 = 200;
const PAUSE: Duration = Duration::from_millis(50);

/// A turn, as long as this lives. The system gives it back when its holder ends, however it ends.
pub(super) struct Lock {
    _held: File,
}

impl Lock {
    /// Waits for a turn by the lock file at a path, but not for ever.
    pub(super) fn taken(path: &Path) -> io::Result<Lock> {
        Lock::within(path, TRIES)
    }

    fn within(path: &Path, tries: u32) -> io::Result<Lock> {
        // The file stays: were it taken away, one writer could lock the old and another the new one.
        let file = OpenOptions::new().create(true).truncate(false).write(true).open(path)?;
        for _ in 0..tries {
            match file.try_lock() {
                Ok(()) => return Ok(Lock { _held: file }),
                Err(TryLockError::WouldBlock) => sleep(PAUSE),
                Err(TryLockError::Error(error)) => return Err(error),
            }
        }
        Err(io::Error::new(io::ErrorKind::TimedOut, "another command holds it"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turn_is_waited_for_and_not_for_ever() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("runs.jsonl.lock");
        let first = Lock::taken(&path).expect("nobody else is there");
        let refused = Lock::within(&path, 2).err().map(|error| error.kind());
        assert_eq!(refused, Some(io::ErrorKind::TimedOut));
        let waiting = std::thread::spawn({
            let path = path.clone();
            move || Lock::taken(&path).map(drop)
        });
        drop(first);
        assert!(waiting.join().expect("it ends").is_ok(), "the next one has its turn");
        assert!(path.exists(), "the file stays");
    }
}
