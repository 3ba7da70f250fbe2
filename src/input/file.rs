//! Reading a file whole, within the stated size limit.
//!
//! Enters: a path. Leaves: the text with the path as the user knows it, or a finding that says why not. It never writes.

use std::fs;
use std::io::{self, Read};
use std::path::Path;
use std::sync::Arc;

use crate::diag::{Code, Diagnostic, File, Log, Place};

/// Greatest size of a scenario or sheet in bytes: 64 MB, refused before reading.
pub const FILE_LIMIT: u64 = 64 * 1024 * 1024;

/// Reads a text file; a byte-order mark is removed. Missing, unreadable, a folder, too large, not UTF-8, empty: each is logged and `None` comes back.
pub fn read_file(path: &Path, log: &mut Log) -> Option<Arc<File>> {
    match read_text(path) {
        Ok(text) => Some(Arc::new(File { path: shown(path), text })),
        Err(finding) => {
            log.push(*finding);
            None
        }
    }
}

fn read_text(path: &Path) -> Result<String, Box<Diagnostic>> {
    let meta = fs::metadata(path).map_err(|error| unreadable(path, &error))?;
    if meta.is_dir() {
        let hint = "name a file inside it, or check for a missing ending such as `.csv`";
        return Err(whole(path, Code::IsFolder, "is a folder, expected a file", hint));
    }
    // A pipe or device has no size to check beforehand and may never end.
    if !meta.is_file() {
        return Err(whole(
            path,
            Code::FileUnreadable,
            "is not a regular file",
            "copy its text into a file and name that",
        ));
    }
    if meta.len() > FILE_LIMIT {
        return Err(too_large(path));
    }
    let file = fs::File::open(path).map_err(|error| unreadable(path, &error))?;
    let mut bytes = Vec::new();
    file.take(FILE_LIMIT + 1).read_to_end(&mut bytes).map_err(|error| unreadable(path, &error))?;
    if bytes.len() as u64 > FILE_LIMIT {
        return Err(too_large(path));
    }
    decoded(path, bytes)
}

fn decoded(path: &Path, bytes: Vec<u8>) -> Result<String, Box<Diagnostic>> {
    let text = String::from_utf8(bytes).map_err(|error| not_utf8(path, &error))?;
    if text.trim_start_matches('\u{feff}').trim().is_empty() {
        let hint = "`flipcount new DIR` writes a file to start from";
        return Err(whole(path, Code::EmptyFile, "is empty", hint));
    }
    Ok(match text.strip_prefix('\u{feff}') {
        Some(rest) => rest.to_string(),
        None => text,
    })
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}

/// A finding about a file as a whole: the place is its name alone.
fn whole(path: &Path, code: Code, message: &str, hint: &str) -> Box<Diagnostic> {
    let file = Arc::new(File { path: shown(path), text: String::new() });
    let place = Place { file, span: 0..0, line: 0, column: 0, cell: None };
    Box::new(Diagnostic::error(code, &place, format!("`{}` {message}", shown(path))).hint(hint))
}

fn too_large(path: &Path) -> Box<Diagnostic> {
    let message =
        format!("is larger than {} MB, the most that is read", FILE_LIMIT / (1024 * 1024));
    whole(
        path,
        Code::FileTooLarge,
        &message,
        "is it the right file? if so, split it or take out rows that are not used",
    )
}

fn unreadable(path: &Path, error: &io::Error) -> Box<Diagnostic> {
    match error.kind() {
        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => whole(
            path,
            Code::FileMissing,
            "does not exist",
            "check the spelling; a path in a file is read from the folder of that file",
        ),
        io::ErrorKind::PermissionDenied => whole(
            path,
            Code::FileUnreadable,
            "cannot be read: permission denied",
            "give yourself the right to read it",
        ),
        _ => whole(
            path,
            Code::FileUnreadable,
            &format!("cannot be read: {error}"),
            "check the path and the disk it is on",
        ),
    }
}

/// Points at the first byte that is not UTF-8: the text before it is sound, so its line can be shown.
fn not_utf8(path: &Path, error: &std::string::FromUtf8Error) -> Box<Diagnostic> {
    let at = error.utf8_error().valid_up_to();
    let byte = error.as_bytes().get(at).copied().unwrap_or_default();
    let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
    let before = text.get(..at).unwrap_or_default();
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    let file = Arc::new(File { path: shown(path), text });
    let place = Place { file, span: at..at + '\u{fffd}'.len_utf8(), line, column, cell: None };
    let message =
        format!("`{}` is not UTF-8 text: byte {byte:#04x} is not valid here", shown(path));
    let hint = "save it again as UTF-8 (in a spreadsheet: `CSV UTF-8`); this byte may be a letter or sign in another encoding";
    Box::new(Diagnostic::error(Code::NotUtf8, &place, message).hint(hint))
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use super::*;

    fn code_of(path: &Path) -> Code {
        let mut log = Log::default();
        assert!(read_file(path, &mut log).is_none());
        assert_eq!(log.found.len(), 1);
        log.found[0].code
    }

    #[test]
    fn text_comes_back_whole() {
        let mut file = tempfile::NamedTempFile::new().unwrap();
        file.write_all("\u{feff}title = \"µ\"\r\n".as_bytes()).unwrap();
        let mut log = Log::default();
        let read = read_file(file.path(), &mut log).unwrap();
        assert_eq!(read.text, "title = \"µ\"\r\n");
        assert!(log.found.is_empty());
    }

    #[test]
    fn every_refusal_has_its_code() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(code_of(&folder.path().join("none.toml")), Code::FileMissing);
        assert_eq!(code_of(folder.path()), Code::IsFolder);
        let blank = folder.path().join("blank.csv");
        fs::write(&blank, "\u{feff} \r\n\n").unwrap();
        assert_eq!(code_of(&blank), Code::EmptyFile);
        assert_eq!(code_of(&blank.join("below-a-file")), Code::FileMissing);
    }

    #[test]
    fn too_large_is_refused_by_its_size_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("huge.csv");
        fs::File::create(&path).unwrap().set_len(FILE_LIMIT + 1).unwrap();
        assert_eq!(code_of(&path), Code::FileTooLarge);
    }

    #[test]
    fn another_encoding_points_at_the_byte() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("latin.csv");
        fs::write(&path, b"item,kind\nst\xe4hle,supply\n").unwrap();
        let mut log = Log::default();
        assert!(read_file(&path, &mut log).is_none());
        let finding = &log.found[0];
        assert_eq!(finding.code, Code::NotUtf8);
        let place = finding.place.as_ref().unwrap();
        assert_eq!((place.line, place.column), (2, 3));
        assert!(finding.message.contains("0xe4"));
    }
}
