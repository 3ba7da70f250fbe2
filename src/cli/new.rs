//! `new`: a starter scenario whose comments explain every entry.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::{Failure, out};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Folder to write; it must not exist yet, or be empty
    pub dir: PathBuf,
    /// With price sheets, several parts and every kind of entry
    #[arg(long)]
    pub full: bool,
}

/// A file of a starter scenario: its place in the folder and its text.
type Starter = (&'static str, &'static str);

const SHORT: [Starter; 1] = [("scenario.toml", include_str!("starter/short.toml"))];

const FULL: [Starter; 9] = [
    ("scenario.toml", include_str!("starter/full/scenario.toml")),
    ("pricing/materials.csv", include_str!("starter/full/pricing/materials.csv")),
    ("pricing/supplies.csv", include_str!("starter/full/pricing/supplies.csv")),
    ("pricing/equipment.csv", include_str!("starter/full/pricing/equipment.csv")),
    ("pricing/print_time.csv", include_str!("starter/full/pricing/print_time.csv")),
    ("pricing/services.csv", include_str!("starter/full/pricing/services.csv")),
    ("pricing/delivery.csv", include_str!("starter/full/pricing/delivery.csv")),
    ("pricing/quotes.csv", include_str!("starter/full/pricing/quotes.csv")),
    ("pricing/rates.csv", include_str!("starter/full/pricing/rates.csv")),
];

/// Writes the starter and says what to do next. A folder with anything in it is left alone.
pub(super) fn new(args: &Args) -> Result<(), Failure> {
    let files: &[Starter] = if args.full { &FULL } else { &SHORT };
    refuse_used(&args.dir)?;
    let place = |(name, text): &Starter| (args.dir.join(name), text.as_bytes().to_vec());
    let all: Vec<(PathBuf, Vec<u8>)> = files.iter().map(place).collect();
    out::put_all(&args.dir, &all, false)?;
    let dir = args.dir.display();
    let count =
        if files.len() == 1 { "1 file".to_owned() } else { format!("{} files", files.len()) };
    let sheets =
        if args.full { format!(" and the sheets of {dir}/pricing") } else { String::new() };
    out::text(&format!(
        "{count} written. Replace the numbers in {dir}/scenario.toml{sheets}, then run\n  flipcount compare {}\n",
        quoted(&args.dir.to_string_lossy())
    ))
}

fn refuse_used(dir: &Path) -> Result<(), Failure> {
    let used = |what: &str| {
        let message = format!("{} {what}; nothing was written, name a new folder", dir.display());
        Err(Failure::usage(message))
    };
    match fs::read_dir(dir) {
        Ok(mut entries) => {
            if entries.next().is_some() {
                used("is not empty")
            } else {
                Ok(())
            }
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::NotADirectory => used("is a file"),
        Err(error) => used(&format!("cannot be read ({error})")),
    }
}

/// A path as a shell takes it.
fn quoted(path: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./\\:~".contains(c);
    if path.chars().all(plain) {
        path.to_owned()
    } else {
        format!("'{}'", path.replace('\'', "'\\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_with_blanks_is_quoted() {
        assert_eq!(quoted("a/b-1"), "a/b-1");
        assert_eq!(quoted("my probe"), "'my probe'");
        assert_eq!(quoted("it's"), "'it'\\''s'");
    }
}
