//! Keeping a record: one writer at a time, and a file that is at every moment the old one or the new one.
//!
//! Enters: the folder of a scenario and lines to add. Leaves: the record with them, on the disk.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::Failure;
use super::lock::Lock;
use crate::model::RECORD_FILE;

/// The record of a scenario while nobody else may write it.
pub(super) struct Kept {
    /// As the user named it, for messages.
    named: PathBuf,
    /// Where it really lies: what it may be a link to.
    path: PathBuf,
    folder: PathBuf,
    _lock: Lock,
}

/// Waits until no other writer is at the record of a folder.
pub(super) fn kept(folder: &Path) -> Result<Kept, Failure> {
    let named = folder.join(RECORD_FILE);
    let path = match named.symlink_metadata() {
        Ok(_) => named.canonicalize().map_err(|error| refused(&named, &error))?,
        Err(_) => named.clone(),
    };
    if path.is_dir() {
        let shown = path.display();
        return Err(Failure::usage(format!(
            "{shown} is a folder, expected a file; nothing was recorded"
        )));
    }
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let lock = Lock::taken(&folder.join(format!(".{RECORD_FILE}.lock")));
    let lock = lock.map_err(|error| refused(&path, &error))?;
    Ok(Kept { named, path, folder, _lock: lock })
}

impl Kept {
    /// The record so far, every byte of it; `None` where there is none.
    pub(super) fn text(&self) -> Result<Option<String>, Failure> {
        match fs::read(&self.path) {
            Ok(bytes) => match String::from_utf8(bytes) {
                Ok(text) => Ok(Some(text)),
                Err(_) => Err(Failure::usage(format!(
                    "{} is not UTF-8 text; `flipcount check` says where; nothing was recorded",
                    self.named.display()
                ))),
            },
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(refused(&self.named, &error)),
        }
    }

    /// Puts a text in the place of the record, in one step. Where that fails the record is as it was.
    pub(super) fn replace(&self, text: &str) -> Result<(), Failure> {
        // Only the holder of the lock writes here: what a killed one has left is written over.
        let new = self.folder.join(format!(".{RECORD_FILE}.new"));
        let put = self.written(&new, text).and_then(|()| fs::rename(&new, &self.path));
        if let Err(error) = put {
            let _ = fs::remove_file(&new);
            return Err(refused(&self.named, &error));
        }
        // The name is on the disk when its folder is. Not every system can do that; the record is whole either way.
        let _ = File::open(&self.folder).and_then(|folder| folder.sync_all());
        Ok(())
    }

    fn written(&self, new: &Path, text: &str) -> io::Result<()> {
        let mut file = File::create(new)?;
        if let Ok(meta) = fs::metadata(&self.path) {
            file.set_permissions(meta.permissions())?;
        }
        file.write_all(text.as_bytes())?;
        file.sync_all()
    }

    /// Where it lies, as the user named it.
    pub(super) fn named(&self) -> &Path {
        &self.named
    }
}

/// A record that cannot be written, in words a person can act on.
fn refused(path: &Path, error: &io::Error) -> Failure {
    let what = match error.kind() {
        io::ErrorKind::PermissionDenied => "you have no right to write there".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk can only be read".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::QuotaExceeded => "your share of the disk is full".to_owned(),
        io::ErrorKind::FileTooLarge => "it would be larger than files may be here".to_owned(),
        _ => error.to_string(),
    };
    let shown = path.display();
    Failure::internal(format!(
        "cannot write {shown}: {what}; nothing was recorded, what was there is as it was"
    ))
}
