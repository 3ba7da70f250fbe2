//! Where the bytes of a mesh come from: a path or a slice goes in, readers come out.
//!
//! A source is opened once per thread, so that each reads its own stretch. A path must be an ordinary file of at most
//! [`MAX_FILE_BYTES`]: its length is what the counts inside it are checked against.

use std::fs::{self, File};
use std::io::{Cursor, Read, Seek};
use std::path::Path;

use super::MeshError;

/// The largest mesh file that is read: 2,000,000,000 bytes, or 40 million triangles of a binary STL.
pub const MAX_FILE_BYTES: u64 = 2_000_000_000;

/// The bytes of one mesh.
#[derive(Clone, Copy, Debug)]
pub enum Source<'a> {
    /// A file.
    Path(&'a Path),
    /// Bytes in memory.
    Bytes(&'a [u8]),
}

/// Anything that can be read and sought in.
pub(super) trait ReadSeek: Read + Seek {}

impl<T: Read + Seek> ReadSeek for T {}

impl<'a> Source<'a> {
    /// Length in bytes.
    ///
    /// # Errors
    /// When there is no such file, it is not an ordinary one, or it is longer than [`MAX_FILE_BYTES`].
    pub fn len(&self) -> Result<u64, MeshError> {
        let bytes = match self {
            Self::Path(path) => {
                let about = fs::metadata(path)?;
                if !about.is_file() {
                    return Err(MeshError::NotAFile);
                }
                about.len()
            }
            Self::Bytes(bytes) => bytes.len() as u64,
        };
        if bytes > MAX_FILE_BYTES {
            return Err(MeshError::TooLarge { what: "bytes", found: bytes, limit: MAX_FILE_BYTES });
        }
        Ok(bytes)
    }

    /// Whether there is no byte at all.
    ///
    /// # Errors
    /// As [`Source::len`].
    pub fn is_empty(&self) -> Result<bool, MeshError> {
        Ok(self.len()? == 0)
    }

    /// A reader of its own, at the start.
    pub(super) fn open(&self) -> Result<Box<dyn ReadSeek + 'a>, MeshError> {
        Ok(match self {
            Self::Path(path) => Box::new(File::open(path)?),
            Self::Bytes(bytes) => Box::new(Cursor::new(*bytes)),
        })
    }

    /// The first bytes, at most `most` of them.
    pub(super) fn head(&self, most: u64) -> Result<Vec<u8>, MeshError> {
        let mut head = Vec::new();
        self.open()?.take(most).read_to_end(&mut head)?;
        Ok(head)
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;

    #[test]
    fn a_folder_and_a_missing_file_are_refused() {
        let folder = std::env::temp_dir();
        assert_eq!(Source::Path(&folder).len(), Err(MeshError::NotAFile));
        let missing = Source::Path(Path::new("no such folder/no such mesh.stl")).len();
        assert!(matches!(missing, Err(MeshError::Unreadable(_))));
    }

    #[test]
    fn a_file_above_the_limit_is_refused_before_it_is_read() {
        let path = std::env::temp_dir().join(format!("too-large-{}.stl", std::process::id()));
        let file = File::create(&path).unwrap();
        // A sparse file: long, but without content on the disk.
        file.set_len(MAX_FILE_BYTES + 1).unwrap();
        let found = Source::Path(&path).len();
        fs::remove_file(&path).unwrap();
        assert!(matches!(found, Err(MeshError::TooLarge { limit: MAX_FILE_BYTES, .. })));
    }
}
