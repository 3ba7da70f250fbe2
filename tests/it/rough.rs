//! The command as a careless user, or a bad day, meets it: no panic, a word on what is wrong, and no file half written.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::help::project;

/// The command, run in the project, with nothing from outside that could change what it prints.
fn flipcount() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_flipcount"));
    command.env("NO_COLOR", "1").env("COLUMNS", "100").current_dir(project(""));
    command
}

/// Runs the command and holds what is true of every end: no panic, a code of the list, and a word where it is not 0.
fn run(args: &[&str], at: &Path) -> Output {
    let output = flipcount().args(args).current_dir(at).output().expect("the command runs");
    let said = String::from_utf8_lossy(&output.stderr);
    let code = output.status.code();
    assert!(matches!(code, Some(0..=4)), "{args:?}: {code:?} {said}");
    assert!(!said.contains("panicked") && !said.contains("internal fault"), "{args:?}: {said}");
    assert!(code == Some(0) || !said.is_empty(), "{args:?} says nothing");
    output
}

fn refused(args: &[&str], at: &Path, code: i32, word: &str) {
    let output = run(args, at);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{args:?}: {said}");
    assert!(said.contains(word), "{args:?}: {said}");
}

/// A folder with the first scenario in `one`.
fn bench() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    fs::create_dir(dir.path().join("one")).expect("a folder");
    fs::copy(project("scenarios/first-look/scenario.toml"), dir.path().join("one/scenario.toml"))
        .expect("a scenario");
    dir
}

/// All files and folders below one, hidden ones too.
fn everything(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for path in fs::read_dir(folder).expect("a folder").flatten().map(|e| e.path()) {
            if path.is_dir() && !path.is_symlink() {
                folders.push(path.clone());
            }
            found.push(path);
        }
    }
    found.sort();
    found
}

#[test]
fn counts_beyond_reason_are_refused() {
    let dir = bench();
    for (option, value) in [
        ("--iterations", "0"),
        ("--iterations", "4294967296"),
        ("--iterations", "99999999999999999999"),
        ("--copies", "4294967295"),
        ("--copies", "1e3"),
        ("--samples", "4294967295"),
        ("--threads", "0"),
        ("--threads", "65536"),
        ("--seed", "99999999999999999999999"),
    ] {
        refused(&["compare", "one", option, value], dir.path(), 2, option);
    }
    refused(&["compare", "one", "--plan", &"x".repeat(100_000)], dir.path(), 2, "plan");
    refused(&["explain", "one", &"[".repeat(10_000)], dir.path(), 2, "");
    refused(&["explain", "one", "entry:99999999999999999999"], dir.path(), 2, "entry");
    refused(&["explain", "one", "entry:0"], dir.path(), 2, "entry");
}

#[test]
fn a_folder_is_no_file_and_a_file_no_folder() {
    let dir = bench();
    fs::create_dir_all(dir.path().join("two/scenario.toml")).expect("folders");
    fs::write(dir.path().join("file"), "").expect("a file");
    refused(&["check", "two"], dir.path(), 3, "is a folder, expected a file");
    refused(&["check", "file"], dir.path(), 3, "is empty");
    refused(&["check", "one/scenario.toml/"], dir.path(), 3, "");
    refused(&["measure", "one"], dir.path(), 3, "");
    refused(&["budget", "one", "-o", "two"], dir.path(), 2, "is a folder, expected a file");
    refused(&["report", "one", "-o", "file", "--samples", "0"], dir.path(), 2, "is no folder");
    refused(
        &["report", "one", "-o", "file/below", "--samples", "0"],
        dir.path(),
        2,
        "nothing was written",
    );
    refused(&["dip", "one", "-o", "file"], dir.path(), 4, "");
    refused(&["new", "file"], dir.path(), 2, "is a file");
    refused(&["new", "file/below"], dir.path(), 2, "");
    refused(
        &["budget", "one", "-o", "nowhere/b.csv"],
        dir.path(),
        2,
        "make the folder nowhere first",
    );
    let long = format!("{}.csv", "a".repeat(300));
    refused(&["budget", "one", "-o", &long], dir.path(), 1, "cannot write");
    assert_eq!(everything(dir.path()).len(), 5, "nothing was written");
}

#[cfg(unix)]
mod unix {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::{PermissionsExt, symlink};
    use std::time::Duration;

    use super::*;

    #[test]
    fn links_in_a_circle_end() {
        let dir = bench();
        let at = |name: &str| dir.path().join(name);
        symlink("b", at("a")).expect("a link");
        symlink("a", at("b")).expect("a link");
        refused(&["check", "a"], dir.path(), 3, "cannot be read");
        refused(&["measure", "a"], dir.path(), 3, "");
        refused(&["new", "a"], dir.path(), 2, "nothing was written");
        refused(
            &["report", "one", "-o", "a", "--samples", "0"],
            dir.path(),
            2,
            "nothing was written",
        );
        refused(&["budget", "one", "-o", "a"], dir.path(), 2, "nothing was written");
        refused(&["budget", "one", "-o", "a", "--force"], dir.path(), 2, "is a link to nothing");
        let text = fs::read_to_string(at("one/scenario.toml")).expect("a scenario");
        for (name, key) in [("sheets", "pricing = \"../a\"\n"), ("mesh", "")] {
            fs::create_dir(at(name)).expect("a folder");
            let text = text.replace("volume   = \"92 cm3\"", "mesh = \"../a.stl\"");
            fs::write(at(name).join("scenario.toml"), format!("{key}{text}")).expect("written");
        }
        symlink("a.stl", at("a.stl")).expect("a link");
        refused(&["check", "sheets"], dir.path(), 3, "cannot be read as a folder");
        refused(&["check", "mesh"], dir.path(), 3, "mesh-unreadable");
        // A folder that contains itself is no trouble: nothing is searched.
        symlink(".", at("one/one")).expect("a link");
        assert_eq!(run(&["check", "one/one/one"], dir.path()).status.code(), Some(0));
    }

    #[test]
    fn what_is_no_file_is_not_read() {
        let dir = bench();
        refused(&["check", "/dev/zero"], dir.path(), 3, "is not a regular file");
        refused(&["check", "/dev/null"], dir.path(), 3, "is not a regular file");
        symlink("/dev/zero", dir.path().join("endless.stl")).expect("a link");
        refused(&["measure", "endless.stl"], dir.path(), 3, "");
        symlink("/dev/full", dir.path().join("full.csv")).expect("a link");
        refused(
            &["budget", "one", "-o", "full.csv", "--force"],
            dir.path(),
            2,
            "is a device or pipe",
        );
    }

    #[test]
    fn names_need_not_be_utf_8() {
        let dir = bench();
        let name = OsStr::from_bytes(b"n\xff\xfe");
        if fs::create_dir(dir.path().join(name)).is_err() {
            return; // A file system that takes no such names.
        }
        fs::copy(dir.path().join("one/scenario.toml"), dir.path().join(name).join("scenario.toml"))
            .expect("a copy");
        let at = |args: &[&str], last: &OsStr| {
            let output =
                flipcount().args(args).arg(last).current_dir(dir.path()).output().expect("it runs");
            let said = String::from_utf8_lossy(&output.stderr).into_owned();
            assert!(!said.contains("panicked"), "{args:?}: {said}");
            output.status.code()
        };
        assert_eq!(at(&["check"], name), Some(0));
        assert_eq!(at(&["compare", "--samples", "0"], name), Some(0));
        assert_eq!(at(&["report", "--samples", "0"], name), Some(0));
        // The folder of a report is named after the scenario, in letters that can be shown.
        let shown = name.to_string_lossy();
        assert!(dir.path().join("reports").join(shown.as_ref()).join("report.html").is_file());
        assert_eq!(at(&["budget", "one", "-o"], OsStr::from_bytes(b"o\xff.csv")), Some(0));
        assert_eq!(at(&["new"], OsStr::from_bytes(b"m\xff")), Some(0));
        assert_eq!(at(&["compare", "one", "--plan"], OsStr::from_bytes(b"p\xff")), Some(2));
        assert_eq!(at(&["explain", "one"], OsStr::from_bytes(b"p\xff")), Some(2));
        assert_eq!(at(&["measure"], OsStr::from_bytes(b"p\xff.stl")), Some(3));
        // A sheet of such a name is none of the eight.
        fs::write(dir.path().join("one").join(OsStr::from_bytes(b"\xff.csv")), "x")
            .expect("a file");
        assert_eq!(at(&["check"], OsStr::new("one")), Some(0));
    }

    const DEMO: &str = "scenarios/river-sonde";

    /// Standard output is full, or nobody reads it.
    #[test]
    fn an_answer_that_cannot_be_written_is_no_success() {
        let first = "scenarios/first-look";
        let mesh = "scenarios/river-sonde/parts/cable-boot.stl";
        for args in [
            &["compare", DEMO, "--samples", "0"][..],
            &["compare", first, "--json", "--samples", "0"],
            &["compare", first, "--wide"],
            &["compare", first, "--filled"],
            &["budget", DEMO],
            &["buylist", DEMO],
            &["dip", DEMO],
            &["explain", first],
            &["flips", first],
            &["measure", mesh],
            &["--help"],
            &["compare", "--help"],
            &["--version"],
        ] {
            let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("/dev/full");
            let output = flipcount().args(args).stdout(full).output().expect("the command runs");
            let said = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(1), "{args:?}: {said}");
            assert!(said.contains("cannot write the answer"), "{args:?}: {said}");
            // Whoever closes a pipe has read enough.
            let (reader, writer) = std::io::pipe().expect("a pipe");
            drop(reader);
            let output = flipcount().args(args).stdout(writer).output().expect("the command runs");
            let said = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(0), "{args:?}: {said}");
            assert!(!said.contains("panicked"), "{args:?}: {said}");
        }
    }

    /// Findings that nobody can read change no exit code.
    #[test]
    fn a_full_standard_error_changes_nothing() {
        for (args, code) in
            [(&["check", "nowhere"][..], 3), (&["check", DEMO], 0), (&["nonsense"], 2)]
        {
            let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("/dev/full");
            let status = flipcount().args(args).stderr(full).output().expect("it runs").status;
            assert_eq!(status.code(), Some(code), "{args:?}");
        }
    }

    /// True where rights bind whoever runs the tests; they do not bind root.
    fn rights_bind(folder: &Path) -> bool {
        File::create(folder.join("probe")).is_err()
    }

    #[test]
    fn what_may_not_be_read_or_written_is_told() {
        let dir = bench();
        let at = |name: &str| dir.path().join(name);
        fs::create_dir(at("closed")).expect("a folder");
        fs::set_permissions(at("closed"), fs::Permissions::from_mode(0o500)).expect("rights");
        if rights_bind(&at("closed")) {
            refused(
                &["budget", "one", "-o", "closed/b.csv"],
                dir.path(),
                2,
                "cannot write into closed",
            );
            refused(
                &["report", "one", "-o", "closed/r", "--samples", "0"],
                dir.path(),
                2,
                "cannot make the folder",
            );
            refused(&["new", "closed/n"], dir.path(), 2, "cannot make the folder");
            fs::set_permissions(at("one/scenario.toml"), fs::Permissions::from_mode(0o000))
                .expect("rights");
            refused(&["check", "one"], dir.path(), 3, "permission denied");
            fs::set_permissions(at("one/scenario.toml"), fs::Permissions::from_mode(0o600))
                .expect("rights");
        }
        // Nobody may make a file here, root neither.
        if Path::new("/proc/self").is_dir() {
            refused(
                &["budget", "one", "-o", "/proc/b.csv"],
                dir.path(),
                2,
                "cannot write into /proc",
            );
            refused(
                &["report", "one", "-o", "/proc/r", "--samples", "0"],
                dir.path(),
                2,
                "nothing was written",
            );
            refused(&["new", "/proc/n", "--full"], dir.path(), 2, "nothing was written");
        }
    }

    /// A limit of the size of files stands for a disk that is full: all that was begun is taken away.
    #[test]
    fn a_disk_that_fills_up_leaves_nothing() {
        let dir = bench();
        let before = everything(dir.path());
        for command in [
            "report one -o out --samples 0",
            "new out --full",
            "budget one -o b.csv",
            "flips one -o f.csv",
        ] {
            let binary = env!("CARGO_BIN_EXE_flipcount");
            // Blocks of 512 bytes; the signal of the limit is ignored, so that writing fails as on a full disk.
            let script = format!("trap '' XFSZ; ulimit -f 2; exec '{binary}' {command}");
            let output = Command::new("sh")
                .args(["-c", &script])
                .current_dir(dir.path())
                .output()
                .expect("sh runs");
            let said = String::from_utf8_lossy(&output.stderr);
            if output.status.success() {
                // Its files are that small.
                assert!(command.starts_with("budget") || command.starts_with("flips"), "{command}");
                fs::remove_file(dir.path().join("b.csv")).ok();
                fs::remove_file(dir.path().join("b-months.csv")).ok();
                fs::remove_file(dir.path().join("f.csv")).ok();
                continue;
            }
            assert_eq!(output.status.code(), Some(1), "{command}: {said}");
            assert!(
                said.contains("cannot write") && !said.contains(".flipcount-"),
                "{command}: {said}"
            );
            assert_eq!(everything(dir.path()), before, "{command}");
        }
    }

    /// Ctrl-C at any moment of a report: all of its files are there, or none; nothing hidden is left, and no folder that it made.
    #[test]
    fn ctrl_c_leaves_all_files_or_none() {
        let dir = bench();
        let before = everything(dir.path());
        let (mut ended, mut whole) = (0, 0);
        let (own, out) = (dir.path().join("out"), dir.path().join("out/deep"));
        for round in 0..36u64 {
            // In every other round the outer folder is there before, and stays.
            let stays = round % 2 == 1;
            if stays {
                fs::create_dir(&own).expect("a folder");
            }
            let mut child = flipcount()
                .args(["report", "one", "-o", "out/deep", "--force", "--samples", "200"])
                .current_dir(dir.path())
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .expect("the command runs");
            if round < 24 {
                std::thread::sleep(Duration::from_millis(3 + round * 17));
            } else {
                // The moment between the folder and its files.
                while !out.exists() && child.try_wait().expect("a child").is_none() {
                    std::thread::sleep(Duration::from_micros(50));
                }
            }
            for _ in 0..2 {
                let id = child.id().to_string();
                Command::new("kill")
                    .args(["-INT", &id])
                    .stderr(Stdio::null())
                    .status()
                    .expect("kill runs");
                std::thread::sleep(Duration::from_millis(2));
            }
            let code = child.wait().expect("it ends").code();
            assert!(matches!(code, None | Some(0 | 130)), "{code:?}");
            let mut after = everything(dir.path());
            // The run that is kept beside the scenario is a file of its own.
            let is_run = |path: &Path| path.starts_with(dir.path().join("one"));
            after.retain(|path| !before.contains(path) && !is_run(path));
            let files = ["answer.json", "ledger-months.csv", "ledger.csv", "report.html"]
                .map(|name| out.join(name));
            let kept = if stays { vec![own.clone()] } else { Vec::new() };
            if after == kept {
                ended += 1;
            } else {
                let folders = [own.clone(), out.clone()];
                assert_eq!(after, [&folders[..], &files].concat(), "round {round}");
                assert!(files.iter().all(|file| fs::metadata(file).expect("a file").len() > 0));
                whole += 1;
            }
            fs::remove_dir_all(&own).ok();
        }
        println!("{ended} ended early, {whole} whole");
        assert!(ended > 0, "no report was ended early");
    }
}
