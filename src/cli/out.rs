//! Writing: to standard output, to standard error, and files that are there whole or not at all.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::{Failure, interrupt};
use crate::diag::Look;
use crate::report::USUAL_WIDTH;

/// Data to standard output as it is.
pub(super) fn data(bytes: &[u8]) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    out.write_all(bytes)?;
    out.flush()?;
    Ok(())
}

/// Text for a person to standard output; escape sequences are taken away where they are not wanted (no terminal, `NO_COLOR`).
pub(super) fn text(text: &str) -> Result<(), Failure> {
    let mut out = anstream::AutoStream::auto(io::stdout().lock());
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

/// Text to standard error. That it cannot be written changes nothing.
pub(super) fn aside(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

/// Columns of standard output: those of the terminal, or the usual ones.
pub(super) fn width() -> usize {
    let of_terminal =
        || terminal_size::terminal_size_of(io::stdout()).map(|(w, _)| usize::from(w.0));
    let terminal = io::stdout().is_terminal().then(of_terminal).flatten();
    terminal.unwrap_or(USUAL_WIDTH)
}

/// How findings look on standard error.
pub(super) fn look() -> Look {
    let choice = anstream::AutoStream::choice(&io::stderr());
    let width = terminal_size::terminal_size_of(io::stderr()).map(|(w, _)| usize::from(w.0));
    Look { colour: choice != anstream::ColorChoice::Never, width: width.unwrap_or(USUAL_WIDTH) }
}

/// Refuses to replace what is there.
fn refuse_existing(path: &Path) -> Result<(), Failure> {
    match path.symlink_metadata() {
        Ok(_) => Err(Failure::usage(format!(
            "{} is there already; nothing was written (--force replaces it)",
            path.display()
        ))),
        Err(_) => Ok(()),
    }
}

/// Where a file is really written: the path, or what it links to. Whatever is no file is refused, and what is there unless it is replaced.
pub(super) fn target(path: &Path, replace: bool) -> Result<PathBuf, Failure> {
    let shown = path.display();
    let refuse = |why: &str| Err(Failure::usage(format!("{shown} {why}; nothing was written")));
    if path == Path::new("-") {
        return refuse("is no file: without -o the entries go to standard output");
    }
    let ends_as_folder = path.as_os_str().to_string_lossy().ends_with(std::path::is_separator);
    if path.is_dir() || ends_as_folder || path.file_name().is_none() {
        return refuse("is a folder, expected a file to write");
    }
    if !replace {
        refuse_existing(path)?;
    }
    if path.symlink_metadata().is_err() {
        return Ok(path.to_owned());
    }
    match path.canonicalize() {
        Ok(real) if real.is_file() => Ok(real),
        Ok(_) => refuse("is a device or pipe, expected a file to write"),
        Err(_) => refuse("is a link to nothing"),
    }
}

/// Refuses to write over a file that the scenario was read from, or between its price sheets, where every CSV file is taken for one.
pub(super) fn refuse_read(path: &Path, read: &BTreeSet<PathBuf>) -> Result<(), Failure> {
    let same = |file: &&PathBuf| {
        let both = file.canonicalize().ok().zip(path.canonicalize().ok());
        both.is_some_and(|(a, b)| a == b)
    };
    let is_sheet = |path: &Path| path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv"));
    let folder = |path: &Path| match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.canonicalize().ok(),
        _ => Path::new(".").canonicalize().ok(),
    };
    let beside = |file: &&PathBuf| is_sheet(file) && folder(file) == folder(path);
    let why = if read.iter().any(|file| same(&file)) {
        "is part of the scenario"
    } else if is_sheet(path) && read.iter().any(|file| beside(&file)) {
        "would be read as a price sheet"
    } else {
        return Ok(());
    };
    let shown = path.display();
    Err(Failure::usage(format!("{shown} {why}; nothing was written, name another file")))
}

/// A file that is written and not yet in its place.
pub(super) struct Pending {
    file: tempfile::NamedTempFile,
    path: PathBuf,
    replace: bool,
}

/// Writes a file beside its place, a [`target`]. Until it is [`Pending::put`] nothing is seen of it.
pub(super) fn pending(path: &Path, bytes: &[u8], replace: bool) -> Result<Pending, Failure> {
    let mut pending = begun(folder_of(path), path, replace)?;
    pending.add(bytes)?;
    pending.whole()
}

/// The folder a file lies in.
pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Begins a file that is written into a folder until it is put in its place, which is on the same disk.
pub(super) fn begun(folder: &Path, path: &Path, replace: bool) -> Result<Pending, Failure> {
    let file = new_file(folder).map_err(|error| cannot_begin(&error, folder, path))?;
    Ok(Pending { file, path: path.to_owned(), replace })
}

/// Why nothing can be written into a folder.
pub(super) fn cannot_begin(error: &io::Error, folder: &Path, path: &Path) -> Failure {
    let (folder_is_there, folder) = (folder.is_dir(), folder.display());
    Failure::usage(match error.kind() {
        io::ErrorKind::NotFound if !folder_is_there => {
            format!("cannot write {}: make the folder {folder} first", path.display())
        }
        // The error's own text names the hidden file.
        kind => format!("cannot write into {folder}: {kind}"),
    })
}

/// What the names of files begin with that are not yet in their place.
pub(super) const HIDDEN: &str = ".flipcount-";

/// A hidden file that gets the permissions of any other new file.
fn new_file(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(HIDDEN);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut hidden = interrupt::hidden();
    let file = builder.tempfile_in(folder)?;
    hidden.files.insert(file.path().to_owned());
    Ok(file)
}

impl Pending {
    /// Adds bytes.
    pub(super) fn add(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        // Written past the wrapper, whose errors name the hidden file.
        let written = self.file.as_file_mut().write_all(bytes);
        written.map_err(|error| self.cannot(&error))
    }

    /// All is written.
    pub(super) fn whole(self) -> Result<Pending, Failure> {
        match self.file.as_file().sync_all() {
            Ok(()) => Ok(self),
            Err(error) => Err(self.cannot(&error)),
        }
    }

    fn cannot(&self, error: &io::Error) -> Failure {
        Failure::internal(format!("cannot write {}: {error}", self.path.display()))
    }

    /// Puts the file in its place in one step.
    pub(super) fn put(self) -> Result<(), Failure> {
        put_together(vec![self])
    }

    fn place(self) -> Result<(), Failure> {
        let kept = if self.replace {
            self.file.persist(&self.path)
        } else {
            self.file.persist_noclobber(&self.path)
        };
        match kept {
            Ok(_) => Ok(()),
            Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => {
                refuse_existing(&self.path)
            }
            Err(error) => Err(Failure::internal(format!(
                "cannot write {}: {}",
                self.path.display(),
                error.error
            ))),
        }
    }
}

/// Puts files in their places; Ctrl-C in between is heard when all are there.
fn put_together(all: Vec<Pending>) -> Result<(), Failure> {
    let mut hidden = interrupt::hidden();
    for pending in all {
        hidden.files.remove(pending.file.path());
        pending.place()?;
    }
    Ok(())
}

/// Refuses as a folder to write into what is there and is none.
pub(super) fn folder(folder: &Path) -> Result<(), Failure> {
    if folder.symlink_metadata().is_ok() && !folder.is_dir() {
        let shown = folder.display();
        return Err(Failure::usage(format!(
            "{shown} is no folder, expected one to write into; nothing was written"
        )));
    }
    Ok(())
}

/// Writes files into a folder and folders in it, each with its [`target`]: all are written in full before any is put in its place.
/// Folders that are missing are made, and taken away again where a file cannot be written or the program is ended before.
pub(super) fn put_all(
    folder: &Path,
    files: &[(PathBuf, Vec<u8>)],
    replace: bool,
) -> Result<(), Failure> {
    let is_missing = |f: &&Path| !f.as_os_str().is_empty() && f.symlink_metadata().is_err();
    let inner = files.iter().filter_map(|(place, _)| place.parent());
    let folders: BTreeSet<&Path> = inner.chain([folder]).collect();
    // The deepest comes last.
    let missing: BTreeSet<&Path> =
        folders.iter().flat_map(|f| f.ancestors().take_while(is_missing)).collect();
    let written = make_folders(&folders, &missing).and_then(|()| {
        let all = files.iter().map(|(place, bytes)| pending(place, bytes, replace));
        all.collect::<Result<Vec<Pending>, Failure>>()
    });
    let put = match written {
        Ok(all) => put_together(all),
        Err(failure) => {
            // Only an empty folder can be removed, and of those only the ones made here; the deepest first.
            missing.iter().rev().for_each(|folder| drop(fs::remove_dir(folder)));
            Err(failure)
        }
    };
    interrupt::hidden().folders.retain(|folder| !missing.contains(folder.as_path()));
    put
}

/// Makes those of the folders that are missing, with what they lie in; until the files are in their places they do not count as there.
fn make_folders(folders: &BTreeSet<&Path>, missing: &BTreeSet<&Path>) -> Result<(), Failure> {
    let mut hidden = interrupt::hidden();
    hidden.folders.extend(missing.iter().map(|folder| folder.to_path_buf()));
    folders.iter().filter(|folder| missing.contains(**folder)).try_for_each(|folder| {
        fs::create_dir_all(folder).map_err(|error| {
            let (shown, kind) = (folder.display(), error.kind());
            Failure::usage(format!("cannot make the folder {shown}: {kind}; nothing was written"))
        })
    })
}
