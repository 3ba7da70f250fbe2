//! Keeping runs: `runs.jsonl` beside the scenario is read, and one line at a time is appended to it.
//!
//! Writers take turns, and the file itself can be replaced by an editor. A line goes out in one write and is on the disk before the lock is
//! given back; where it cannot be written in full, what was written of it is taken away again. A line that a kill cut off stays where it is:
//! the next one begins on a line of its own.

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use super::args::Sampling;
use super::lock::Lock;
use super::{Failure, out};
use crate::input::{FILE_LIMIT, RUNS_FILE, Run, Runs, read_runs};

/// The file of runs of a scenario, given as a folder or its scenario.toml.
pub(super) fn file(scenario: &Path) -> PathBuf {
    let folder = if scenario.is_dir() { Some(scenario) } else { scenario.parent() };
    folder.unwrap_or(Path::new("")).join(RUNS_FILE)
}

/// The kept runs; none where there is no file. Lines that are no runs are said.
pub(super) fn kept(file: &Path) -> Result<Runs, Failure> {
    let bytes = match File::open(file).and_then(|mut file| whole(&mut file)) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Runs::default()),
        Err(error) => {
            let shown = file.display();
            return Err(Failure {
                code: super::BAD_INPUT,
                message: format!("cannot read {shown}: {error}"),
            });
        }
    };
    let runs = read_runs(&bytes);
    for (line, why) in &runs.broken {
        out::aside(&format!(
            "warning: line {line} of {RUNS_FILE} {why}; the other runs are used, delete the line to be rid of this\n"
        ));
    }
    Ok(runs)
}

/// The bytes of a file, up to the size that any file may have.
fn whole(file: &mut File) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.take(FILE_LIMIT + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > FILE_LIMIT {
        let message = format!("larger than {} MB", FILE_LIMIT / (1024 * 1024));
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, message));
    }
    Ok(bytes)
}

/// What a run was asked beside the scenario.
pub(super) fn options(sampling: &Sampling, seed: u64, due: bool) -> BTreeMap<String, String> {
    // Without a due date samples change nothing of a verdict.
    if !due || sampling.samples == 0 {
        return BTreeMap::from([("samples".to_owned(), "0".to_owned())]);
    }
    let seed = sampling.seed.unwrap_or(seed);
    BTreeMap::from([
        ("samples".to_owned(), sampling.samples.to_string()),
        ("seed".to_owned(), seed.to_string()),
    ])
}

/// Keeps a run beside its scenario and says so. A folder that cannot be written to is a warning, since the answer is given; any other
/// fault is a failure.
pub(super) fn keep(scenario: &Path, run: &Run) -> Result<(), Failure> {
    let file = file(scenario);
    let shown = file.display();
    match append(&file, run) {
        Ok(Kept::New(line)) => out::aside(&format!("run {line} kept in {shown}\n")),
        Ok(Kept::Same(line)) => {
            out::aside(&format!("nothing changed since run {line} in {shown}: not kept again\n"));
        }
        Err(error) if is_read_only(&error) => {
            out::aside(&format!(
                "warning: the run is not kept: cannot write {shown}: {}\n",
                error.kind()
            ));
        }
        Err(error) => {
            return Err(Failure::internal(format!(
                "the run is not kept: cannot write {shown}: {error}"
            )));
        }
    }
    Ok(())
}

fn is_read_only(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem)
}

/// What became of a run, with the line it is on.
enum Kept {
    /// It was appended.
    New(usize),
    /// The last run took the same and came to the same.
    Same(usize),
}

fn append(path: &Path, run: &Run) -> io::Result<Kept> {
    let _lock = Lock::taken(&path.with_file_name(format!("{RUNS_FILE}.lock")))?;
    let is_new = !path.exists();
    let mut file = OpenOptions::new().read(true).create(true).append(true).open(path)?;
    if !file.metadata()?.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "it is no regular file"));
    }
    let before = whole(&mut file)?;
    if let Some((line, last)) = read_runs(&before).good.last()
        && *last == (Run { by: last.by.clone(), ..run.clone() })
    {
        return Ok(Kept::Same(*line));
    }
    let mut text = serde_json::to_vec(run)?;
    text.push(b'\n');
    if before.last().is_some_and(|&byte| byte != b'\n') {
        text.insert(0, b'\n');
    }
    let line = before.iter().chain(&text).filter(|&&byte| byte == b'\n').count();
    if let Err(error) = file.write_all(&text).and_then(|()| file.sync_all()) {
        // What cannot be taken away again is told as a broken line from now on.
        let _ = file.set_len(before.len() as u64);
        return Err(error);
    }
    if is_new {
        sync_folder(path)?;
    }
    Ok(Kept::New(line))
}

/// That a file is there at all is on the disk only when its folder is.
#[cfg(unix)]
fn sync_folder(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}
